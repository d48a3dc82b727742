"""Heads over measured heights: exact special cases, and two second methods that know nothing of triangles' faces.

Figures, measured on two cores with CPython 3.11:

- drop and gap over 200 random tables of heights, 7 of them in the plain run, against places looked at one by
  one: never more, at most 0.01 mm less; limit: never more
- gap over 6 such tables, 48 poses, against a collision library's distances of meshes: between the two meshes,
  0.001 mm apart; limit: between them
- least drop and gap over 150 such tables, two valves each, against a scan at 0.02°, `-m study`, 2 min: within
  1e-5 mm; limit: 0.001 mm
- a finely sampled sphere against dome and dish: within 1.5 times its sag; limit: its sag, along a leaning stem
"""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import Array, array, from_lean, norm, point, unit
from tallstack.geometry.piston import table as crown_table
from tallstack.geometry.piston.crown import Cap, Crown, first_metal
from tallstack.geometry.piston.cycle import drop_at, gap_at, least_drop, least_gap, least_wall
from tallstack.geometry.piston.drop import drop
from tallstack.geometry.piston.gap import gap
from tallstack.geometry.piston.head import Head
from tallstack.geometry.piston.table import Heights, heights

from ...geometry.piston.test_cycle import engine
from ...oracles.crown_mesh import apart, face, model
from ...oracles.heights import Ground
from ...seeded import few

UPRIGHT = point(0.0, 0.0, 1.0)
PLAIN = Crown((), None)


def over(ground: Heights) -> Crown:
    return Crown((), None, ground)


def grid(count: int, half: float = 45.0) -> Array:
    steps = np.linspace(-half, half, count)
    return np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)


def scattered(rng: np.random.Generator, count: int, half: float = 45.0) -> Array:
    return array(rng.uniform(-half, half, (count, 2)))


def raised(flat: Array, high: Array) -> Heights:
    return heights(np.column_stack([flat, np.broadcast_to(high, flat.shape[:1])]))


def heads(rng: np.random.Generator, count: int, low: float = 1.0, high: float = 10.0) -> Head:
    sideways = rng.uniform(-24, 24, count), rng.uniform(-12, 12, count)
    leans = rng.uniform(-0.5, 0.5, count), rng.uniform(-0.2, 0.2, count)
    centre = point(*sideways, rng.uniform(low, high, count) + 6.0)
    return Head(centre, from_lean(*leans), array(rng.uniform(13, 24, count)), array(1.4))


def each(many: Head) -> list[Head]:
    return [many.pick(many.shape, np.array([at])) for at in range(int(np.prod(many.shape)))]


def alone(one: Head) -> Head:
    """Return a head of a batch of one without its axis."""
    return Head(one.centre.reshape(3), one.stem.reshape(3), one.radius.reshape(()), one.margin)


def bumpy(rng: np.random.Generator, flat: Array) -> Array:
    """Return heights of a crown with a slope, a dome or a dish, steps and single bumps."""
    high = flat @ rng.uniform(-0.05, 0.05, 2) + rng.uniform(-4, 4) * np.exp(-((flat / 30) ** 2).sum(axis=-1))
    high -= rng.uniform(0, 5) * (norm(flat - rng.uniform(-20, 20, 2)) < 18)
    return array(high + rng.normal(0, 0.05, len(flat)) + 2.5 * (rng.uniform(size=len(flat)) < 0.02))


@pytest.mark.parametrize("kind", ["grid", "scattered"])
def test_a_flat_table_is_the_plain_crown(kind: str) -> None:
    rng = np.random.default_rng(4)
    flat = grid(12) if kind == "grid" else scattered(rng, 130, 12.0)  # under a part of each head alone
    crown, posed = over(raised(flat, array(0.0))), heads(rng, 200, -8.0)
    np.testing.assert_allclose(drop(crown, posed), drop(PLAIN, posed), atol=1e-12)
    np.testing.assert_allclose(gap(crown, posed), gap(PLAIN, posed), atol=1e-12)


@pytest.mark.parametrize("kind", ["grid", "scattered"])
def test_a_table_of_a_leaning_plane_is_that_plane(kind: str) -> None:
    """Drop and gap to a plane by hand: the rim's nearest place is radius·sin below the face's centre."""
    rng = np.random.default_rng(8)
    flat, rise = grid(25, 160.0) if kind == "grid" else scattered(rng, 900, 160.0), np.array([0.06, -0.04])
    posed = heads(rng, 120, 8.0, 16.0)
    normal = unit(point(-rise[0], -rise[1], 1.0))
    crown = over(raised(flat, flat @ rise))
    above = posed.centre @ normal
    cosine = posed.stem @ normal
    nearest = above - posed.radius * norm(normal - cosine[:, None] * posed.stem)
    assert (nearest > 0).any()
    np.testing.assert_allclose(drop(crown, posed), nearest / cosine, atol=1e-11)
    clear = nearest > 0
    np.testing.assert_allclose(gap(crown, posed)[clear], nearest[clear], atol=1e-11)


def test_grid_and_scattered_points_of_one_plane_agree() -> None:
    rng = np.random.default_rng(5)
    posed, rise = heads(rng, 50, 10.0, 18.0), np.array([0.03, 0.05])
    pair = [over(raised(flat, flat @ rise)) for flat in (grid(17, 150.0), scattered(rng, 400, 150.0))]
    np.testing.assert_allclose(drop(pair[0], posed), drop(pair[1], posed), atol=1e-11)
    np.testing.assert_allclose(gap(pair[0], posed), gap(pair[1], posed), atol=1e-11)


@pytest.mark.parametrize(("x", "under"), [(3.0, True), (-14.0, True), (26.0, False)])
def test_a_single_spike(x: float, under: bool) -> None:
    """A tip 8 mm high on a foot a fiftieth of a millimetre wide: what is met is the tip."""
    foot = 0.01 * np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]]) + np.array([x, 2.0])
    flat = np.concatenate([grid(10), foot, [[x, 2.0]]])
    crown = over(raised(flat, array([0.0] * (len(flat) - 1) + [8.0])))
    head = Head(point(0.0, 0.0, 12.0), from_lean(0.3, 0.0), array(20.0), array(1.4))
    offset = head.centre - np.array([x, 2.0, 8.0])
    along = float(offset @ head.stem)
    aside = float(norm(offset - along * head.stem))
    assert (aside < head.radius) == under
    expected = min(along if under else np.inf, float(drop(PLAIN, head)))
    assert float(drop(crown, head)) == pytest.approx(expected, abs=1e-12)
    nearest = min(float(gap(PLAIN, head)), np.hypot(along, max(aside - float(head.radius), 0.0)))
    assert float(gap(crown, head)) == pytest.approx(nearest, abs=1e-12)


def test_a_step_beside_the_table_counts() -> None:
    """A table 3 mm below the crown plane, and its wall: a head leaning out of it meets the plane's edge."""
    crown = over(raised(grid(9, 20.0), array(-3.0)))
    head = Head(point(0.0, 0.0, 5.0), UPRIGHT, array(19.0), array(1.4))
    assert float(drop(crown, head)) == pytest.approx(8.0, abs=1e-12)
    assert float(drop(crown, head._replace(radius=array(21.0)))) == pytest.approx(5.0, abs=1e-12)
    inside = head._replace(centre=point(0.0, 0.0, -1.0))
    assert float(drop(crown, inside)) == pytest.approx(2.0, abs=1e-12)
    assert float(gap(crown, inside)) == pytest.approx(1.0, abs=1e-12)  # sideways, to the wall
    standing = over(raised(grid(9, 20.0), array(3.0)))
    beside = Head(point(32.0, 0.0, 1.0), UPRIGHT, array(10.0), array(1.4))
    assert float(gap(standing, beside)) == pytest.approx(1.0, abs=1e-12)  # down to the plane
    assert float(gap(standing, beside._replace(centre=point(30.5, 0.0, 1.0)))) == pytest.approx(
        0.5, abs=1e-12
    )


def test_a_wall_that_goes_through_the_plane_has_no_metal_above_both() -> None:
    """Along one side of a square it comes down from 1 mm above the plane to 1 mm below it."""
    corners = array([[-20.0, -20.0, 1.0], [20.0, -20.0, -1.0], [20.0, 20.0, -1.0], [-20.0, 20.0, 1.0]])
    crown = over(heights(corners))
    for x, nearest in ((10.0, 1.0), (0.0, 1.0), (-10.0, np.hypot(0.5, 0.5))):  # half a millimetre high there
        beside = Head(point(x, -21.0, 1.0), UPRIGHT, array(0.5), array(1.4))
        assert float(gap(crown, beside)) == pytest.approx(nearest, abs=1e-2)
        assert float(drop(crown, beside)) == pytest.approx(1.0, abs=1e-12)


def hold_against_places(seed: int) -> None:
    """Hold drop and gap over one random surface against every place of it, looked at one by one."""
    rng = np.random.default_rng([seed, 41])
    flat = scattered(rng, int(rng.integers(30, 250)), rng.uniform(25, 50))
    points = np.column_stack([flat, bumpy(rng, flat)])
    crown, slow = over(heights(points)), Ground(points)
    head = alone(each(heads(rng, 1))[0])
    further, found = slow.drop(head), float(drop(crown, head))
    assert further - 0.01 < found <= further + 1e-9
    if found < 0.05:  # drawn back, so that there is a gap to compare
        head = head._replace(centre=head.centre + (0.5 - found) * head.stem)
    away, found = slow.gap(head), float(gap(crown, head))
    assert away - 0.01 < found <= away + 1e-9


@pytest.mark.parametrize("seed", few(range(14), 7))
def test_against_places_looked_at_one_by_one(seed: int) -> None:
    hold_against_places(seed)


@pytest.mark.study
@pytest.mark.parametrize("seed", range(14, 200))
def test_against_places_of_200_surfaces(seed: int) -> None:
    hold_against_places(seed)


@pytest.mark.parametrize("seed", range(6))
def test_gap_lies_between_the_distances_of_two_meshes(seed: int) -> None:
    """A general-purpose collision library's, the face meshed a little too large and a little too small."""
    rng = np.random.default_rng([seed, 43])
    flat = scattered(rng, 200)
    ground = raised(flat, bumpy(rng, flat))
    mesh, crown = model(list(ground.vertices[ground.triangles])), over(ground)
    many = heads(rng, 8)
    further = drop(crown, many)
    clear = many._replace(centre=many.centre + np.maximum(0.2 - further, 0.0)[:, None] * many.stem)
    for head in each(clear):
        one = alone(head)
        least, most = apart(mesh, face(one, True)), apart(mesh, face(one, False))
        assert least - 1e-7 <= float(gap(crown, one)) <= most + 1e-7
        assert most - least < 1e-3


@pytest.mark.wide
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_finely_sampled_sphere_is_that_dome_or_dish_within_its_sag(way: float) -> None:
    """Chords of a square of side s lie at most s²/4ρ inside a sphere of radius ρ."""
    rng = np.random.default_rng(12)
    cap, count, half = Cap(array(way * 14.0), array(75.0)), 121, 52.0
    exact = Crown((), cap)
    flat = grid(count, half)
    posed = heads(rng, 60, 4.0 if way < 0 else 16.0, 14.0 if way < 0 else 22.0)
    posed = posed._replace(centre=posed.centre - np.array([0.0, 0.0, 14.0 if way < 0 else 0.0]))
    crown = over(raised(flat, exact.surface(point(flat[:, 0], flat[:, 1], 0.0))))
    sag = (2 * half / (count - 1)) ** 2 / (4 * float(cap.sphere))
    assert sag < 2.5e-3
    for found, known in ((drop(crown, posed), drop(exact, posed)), (gap(crown, posed), gap(exact, posed))):
        off = way * (found - known)
        assert off.min() > -1e-6
        assert off.max() < 1.5 * sag  # along a stem that leans to the surface


def test_lines_from_above_meet_the_surface_where_it_was_measured_and_halfway() -> None:
    rng = np.random.default_rng(2)
    flat = scattered(rng, 150)
    points = np.column_stack([flat, bumpy(rng, flat)])
    ground = heights(points)
    inner = points[norm(points[:, :2]) < 35]
    start = inner + 30 * UPRIGHT
    np.testing.assert_allclose(first_metal(over(ground), start, UPRIGHT), -30.0, atol=1e-9)
    ends = ground.vertices[ground.edges]
    ends = ends[(norm(ends[..., :2]) < 35).all(axis=-1)]
    middle = ends.mean(axis=1)
    np.testing.assert_allclose(first_metal(over(ground), middle, UPRIGHT), 0.0, atol=1e-8)
    leaning = from_lean(rng.uniform(-0.4, 0.4, 300), rng.uniform(-0.4, 0.4, 300))
    start = point(*rng.uniform(-30, 30, (2, 300)), 20.0)
    met = start + first_metal(over(ground), start, leaning)[:, None] * leaning
    np.testing.assert_allclose(met[:, 2], Ground(points).at(met[:, :2])[:, 2], atol=1e-9)
    far = point(70.0, 70.0, 2.0)
    assert float(first_metal(over(ground), far, UPRIGHT)) == pytest.approx(-2.0)
    assert float(first_metal(over(ground), 100 * far, UPRIGHT)) == pytest.approx(-200.0)


@pytest.mark.parametrize("step", [0.1, 1.7])
def test_a_line_straight_down_on_a_point_of_level_ground_meets_it(step: float) -> None:
    """It touches every triangle that meets there, and rounding may let it pass each of them by."""
    flat = grid(17, 8 * step)
    inner = flat[(np.abs(flat) < 7.5 * step).all(axis=-1)]
    found = first_metal(over(raised(flat, array(2.0))), point(inner[:, 0], inner[:, 1], 5.0), UPRIGHT)
    assert found == pytest.approx(np.full(len(inner), -3.0))


@pytest.mark.parametrize("lean", [0.2, -0.35])
def test_a_leaning_head_is_as_far_from_finely_measured_level_ground_as_its_lowest_point(lean: float) -> None:
    """Its lowest point stands 1 mm over a place between the points of a grid of half a millimetre."""
    stem = array([np.sin(lean), 0.0, np.cos(lean)])
    lowest = point(0.23, 0.11, 1.0)
    centre = lowest + 20.0 * array([-np.cos(lean), 0.0, np.sin(lean)]) * np.sign(lean)
    head = Head(centre, stem, array(20.0), array(1.4))
    crown = over(raised(grid(13, 3.0), array(0.0)))
    assert gap(crown, head) == pytest.approx(1.0, abs=1e-9)
    assert drop(crown, head) == pytest.approx(1.0 / np.cos(lean), abs=1e-9)


@pytest.mark.parametrize("half", [100.0, 300.0, 500.0])
def test_the_plane_goes_on_around_a_table_of_any_size(half: float) -> None:
    ground = over(raised(grid(5, half), array(0.5)))
    head = Head(point(half + 40.0, 0.0, 3.0), UPRIGHT, array(20.0), array(1.4))
    assert drop(ground, head) == pytest.approx(3.0)


def test_four_points_of_a_grid_are_joined_along_the_higher_diagonal() -> None:
    rng = np.random.default_rng(3)
    count = 13
    high = rng.uniform(-3, 3, (count, count))
    ground = raised(grid(count), high.reshape(-1))
    steps = np.linspace(-45, 45, count)
    middle = (steps[1:] + steps[:-1]) / 2
    seen = np.stack(np.meshgrid(middle, middle), axis=-1)
    expected = np.maximum(high[:-1, :-1] + high[1:, 1:], high[1:, :-1] + high[:-1, 1:]) / 2
    found = first_metal(over(ground), point(seen[..., 0], seen[..., 1], 0.0), UPRIGHT)
    np.testing.assert_allclose(found, expected, atol=1e-9)
    mirror = np.array([-1.0, 1.0])
    other = raised(grid(count) * mirror, high.reshape(-1))
    found = first_metal(over(other), point(-seen[..., 0], seen[..., 1], 0.0), UPRIGHT)
    np.testing.assert_allclose(found, expected, atol=1e-9)


@pytest.mark.parametrize("shape", [(1,), (2,), (3,), (4,), (2, 3)])
def test_batches_are_their_elements(shape: tuple[int, ...]) -> None:
    rng = np.random.default_rng(7)
    flat = scattered(rng, 120)
    crown, row = over(raised(flat, bumpy(rng, flat))), heads(rng, int(np.prod(shape)), 2.0)
    many = Head(
        row.centre.reshape(*shape, 3), row.stem.reshape(*shape, 3), row.radius.reshape(shape), row.margin
    )
    for asked in (drop, gap):
        together = asked(crown, many)
        assert together.shape == shape
        expected = [float(asked(crown, alone(one))) for one in each(row)]
        np.testing.assert_allclose(together.reshape(-1), expected, atol=1e-12)
    upright = many._replace(stem=UPRIGHT)  # one stem for all of them
    expected = [float(gap(crown, alone(one)._replace(stem=UPRIGHT))) for one in each(row)]
    np.testing.assert_allclose(gap(crown, upright).reshape(-1), expected, atol=1e-12)


def test_lots_make_no_difference(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(9)
    flat = scattered(rng, 90)
    crown, many = over(raised(flat, bumpy(rng, flat))), heads(rng, 40)
    whole = drop(crown, many), gap(crown, many)
    monkeypatch.setattr(crown_table, "SHEET", 1000)
    np.testing.assert_allclose(drop(crown, many), whole[0], atol=1e-12)
    np.testing.assert_allclose(gap(crown, many), whole[1], atol=1e-12)


def test_where_the_head_has_met_the_metal_the_gap_is_its_way_back() -> None:
    rng = np.random.default_rng(10)
    flat = scattered(rng, 90)
    crown, many = over(raised(flat, bumpy(rng, flat))), heads(rng, 60, -9.0, -4.0)
    further = drop(crown, many)
    assert (further < 0).any()
    met = further <= 0
    np.testing.assert_allclose(gap(crown, many)[met], (further * many.stem[:, 2])[met], atol=1e-12)
    touching = many._replace(centre=many.centre - further[:, None] * many.stem)
    np.testing.assert_allclose(drop(crown, touching), 0.0, atol=1e-9)


@pytest.mark.parametrize("seed", few(range(5), 2))
def test_least_drop_and_gap_against_a_scan(seed: int) -> None:
    rng = np.random.default_rng([seed, 61])
    below, valves = engine(rng, "dome")
    flat = scattered(rng, 400)
    seen = first_metal(below.crown, point(flat[:, 0], flat[:, 1], 0.0), UPRIGHT)
    below = below._replace(crown=below.crown._replace(heights=raised(flat, seen + rng.normal(0, 0.02, 400))))
    for valve in valves:
        best = least_drop(below, valve)[0]
        around = best.angle + np.radians(np.arange(-3.0, 3.0, 0.01))
        near = drop_at(below, valve, around)
        assert best.value <= near.min() + 1e-9
        assert near.min() - best.value < 0.001
        assert best.value <= drop_at(below, valve, np.radians(np.arange(-360.0, 360.0, 0.5))).min() + 1e-9
        close = least_gap(below, valve, best.angle)
        window = best.angle + np.radians(np.arange(-24.0, 24.0, 0.05))
        assert close.value <= gap_at(below, valve, window).min() + 1e-6
        assert close.value <= max(best.value, 0.0) + 1e-9
        plain = below._replace(crown=below.crown._replace(heights=None))
        assert least_wall(below, valve) == least_wall(plain, valve)


@pytest.mark.study
@pytest.mark.parametrize("seed", range(150))
def test_least_drop_and_gap_over_150_tables(seed: int) -> None:
    rng = np.random.default_rng([seed, 77])
    below, valves = engine(rng, ("dome", "dish", "pockets")[seed % 3])
    flat = scattered(rng, int(rng.integers(80, 500)), rng.uniform(30, 50))
    seen = first_metal(below.crown, point(flat[:, 0], flat[:, 1], 0.0), UPRIGHT)
    seen = seen + (bumpy(rng, flat) if seed % 2 else rng.normal(0, 0.03, len(flat)))
    below = below._replace(crown=below.crown._replace(heights=raised(flat, seen)))
    for valve in valves:
        best = least_drop(below, valve)[0]
        near = drop_at(below, valve, np.radians(np.arange(-60.0, 60.0, 0.02))).min()
        assert near - 0.001 < best.value <= near + 1e-6
        close = least_gap(below, valve, best.angle)
        window = best.angle + np.radians(np.arange(-24.0, 24.0, 0.05))
        assert close.value <= gap_at(below, valve, window).min() + 1e-5
