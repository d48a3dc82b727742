"""Small exact cases at the edges of single functions: limits, signs, what two equal things come to."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam import card as lobe_card
from tallstack.geometry.cam import fit as lobe_fit
from tallstack.geometry.cam import heel as lobe_heel
from tallstack.geometry.cam import readings as lobe_readings
from tallstack.geometry.cam import smooth as lobe_smooth
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.cam.card import Card, Stated
from tallstack.geometry.clearance import clearances as clearance
from tallstack.geometry.clearance import moving as clearance_doubt
from tallstack.geometry.clearance import pumped, situation, turning, valve_over_piston
from tallstack.geometry.clearance.valve_lift import shape
from tallstack.geometry.core import minima, search
from tallstack.geometry.core.errors import DisagreementError
from tallstack.geometry.core.frames import Array, array, point
from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.crank.crank import turns_forward
from tallstack.geometry.doubt import draws
from tallstack.geometry.doubt.budget import Budget, Doubt
from tallstack.geometry.engine import alternatives, defaults
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.adjusters import Adjuster
from tallstack.geometry.gear.train import close_loop, closed, motion
from tallstack.geometry.piston import cycle, flat_to_flat, nearby
from tallstack.geometry.piston import drop as valvehead
from tallstack.geometry.piston import gap as valvegap
from tallstack.geometry.piston import pair as valvepair
from tallstack.geometry.piston import table as crown_table
from tallstack.geometry.piston.crown import Crown, Pocket, pocket
from tallstack.geometry.piston.cycle import Minimum
from tallstack.geometry.piston.head import Head
from tallstack.geometry.piston.nearby import Told
from tallstack.geometry.pushrod import adjusting, derive, ordering, shelf
from tallstack.geometry.pushrod.assembly import comes_apart_at
from tallstack.geometry.pushrod.pushrods import fit, required
from tallstack.geometry.pushrod.stations import stations
from tallstack.geometry.sure import risk_clearance
from tallstack.geometry.sure.risk import Answer, Asked, Run, Tally

from .clearance_jobs import by_coordinates
from .oracles.random_trains import PEAK, TRAIN, random_mapping, random_unreachable

UP = point(0.0, 0.0, 1.0)
NAME = "one.intake"
PLAIN_ENGINE: Flat = {
    "cylinders": ("one",),
    "trains": (),
    "crank.stroke": 90.0,
    "crank.conrod_length": 160.0,
    "crank.turns": "forward",
    "piston.compression_height": 34.0,
    "piston.pin_offset": 0.0,
    "stack.case_cut": 0.0,
    "stack.base_gasket": 0.5,
    "stack.cylinder": 100.0,
    "stack.head_gasket": 1.0,
}


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


# A valve over its piston


def test_a_valve_rests_on_its_coordinates_until_its_drop_was_read() -> None:
    nothing: Any = None
    plain = valve_over_piston.ByCoordinates(nothing, nothing, None, nothing, None)
    assert plain.basis == "coordinates"
    assert plain._replace(differ=array(0.2)).basis == "measured drop"


def test_a_drop_that_is_told_about_top_centre_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    reading: Any = SimpleNamespace(
        measured=None, forward=True, crank=SimpleNamespace(descent=lambda crank, _: np.abs(crank))
    )

    def within(_: object, descent: Array, __: Array) -> SimpleNamespace:
        return SimpleNamespace(known=descent < 0.003)

    monkeypatch.setattr(valve_over_piston, "traced", within)
    lift: Any = None
    found = valve_over_piston.ByReading(reading, lift).known()
    assert found is not None
    assert found == pytest.approx((-0.003, 0.003), abs=2e-5)


def test_a_rim_is_seen_at_most_half_a_spacing_away() -> None:
    half = 2 * np.pi / 96 / 2
    at, far = cycle._rim_missed(array([0.0, 50.0]), 20.0)
    assert at == pytest.approx(half * 20.0)
    assert far == pytest.approx((half * 20.0) ** 2 / 2 * (1 / (50.0 - half * 20.0) + 1 / 20.0))


def test_sides_count_only_between_their_rims() -> None:
    def head(centre: Array, stem: Array, margin: float) -> Head:
        return Head(centre, stem, array(3.0), array(margin))

    lying = head(
        point(-1.0, 20.0, 5.0), point(1.0, 0.0, 0.0), 2.0
    )  # its nearest point is 1 mm from either end
    for margin, apart in ((4.0, np.inf), (6.0, 20.0 - 3.0 - 3.0)):
        upright = head(point(0.0, 0.0, 0.0), UP, margin)
        for one, other in ((upright, lying), (lying, upright)):
            assert float(valvepair.between_sides(valvepair.Pair(one, other))) == pytest.approx(apart)


def test_a_clearance_is_known_by_its_words_and_not_by_where_they_stand(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(situation, "between_at", lambda *_, **__: array(1.5))
    monkeypatch.setattr(situation, "_as_valve", lambda one: one)
    asked = situation.Asked("one", "".join(["bet", "ween"]), 0.0)
    pair: Any = (None, None)
    assert float(situation.clearance_at(asked, pair)) == 1.5


def test_a_point_is_under_a_face_within_its_radius() -> None:
    head = Head(point(0.0, 0.0, 12.0), UP, array(5.0), array(1.0))
    pose: Any = SimpleNamespace(head=head)
    seen = array([[4.9, 0.0, 2.0], [0.0, -4.9, 2.0], [5.1, 0.0, 2.0], [3.0, 3.0, 13.0]])
    assert valvehead._way_to(seen, pose).tolist() == [10.0, 10.0, np.inf, -1.0]


@pytest.mark.parametrize(
    ("radius", "aside", "deeper"), [(14.0, 0.0, 3.0), (14.0, 1.5, 0.0), (20.0, 0.0, 0.0)]
)
def test_a_valve_that_is_wider_than_the_room_in_its_pocket_rests_on_the_crown_plane(
    radius: float, aside: float, deeper: float
) -> None:
    """A pocket of 15 mm radius, 3 mm deep."""
    crown = Crown((pocket(point(0.0, 0.0, 0.0), UP, array(30.0), array(3.0)),), None)
    head = Head(point(aside, 0.0, 5.0), UP, array(radius), array(1.0))
    _, sure = valvehead.to_one_floor(valvehead.Pose(crown, head))
    assert bool(sure) == (deeper > 0)
    assert valvehead.drop(crown, head) == pytest.approx(5.0 + deeper)


def test_a_valve_square_to_its_pockets_wall_and_more_rests_on_the_crown_beside_the_floor() -> None:
    """Both lean by 50 degrees, away from each other; the floor meets the crown plane 13 mm beside the bore's axis.

    The rim's lowest point comes to the crown plane 15 mm beside it, where nothing is cut: 2 mm along the stem.
    """
    sine, cosine = float(np.sin(np.radians(50.0))), float(np.cos(np.radians(50.0)))
    own = Pocket(point(0.0, 0.0, 0.0), point(sine, 0.0, cosine), array(20.0), array(10.0))
    stem = point(-sine, 0.0, cosine)
    centre = point(-15.0, 0.0, 0.0) + 5.0 * point(cosine, 0.0, sine) + 2.0 * stem
    head = Head(centre, stem, array(5.0), array(1.0))
    assert valvehead.drop(Crown((own,), None), head) == pytest.approx(2.0)


@pytest.mark.parametrize(("apart", "what"), [(0.1, "gap"), (0.0, "drop"), (-0.1, "drop")])
def test_a_valve_is_judged_on_the_smaller_of_drop_and_gap_and_of_equals_on_the_drop(
    apart: float, what: str
) -> None:
    found = clearance.judged_on(Minimum(1.0, 0.1), Minimum(1.0 - apart, 0.2))
    assert found == (what, Minimum(0.9, 0.2) if what == "gap" else Minimum(1.0, 0.1))


@pytest.mark.parametrize(
    ("value", "verdict"), [(0.0, Verdict.SHORT), (0.1, Verdict.TIGHT), (0.3, Verdict.OK)]
)
def test_a_verdict_is_no_better_than_that_with_the_lifter_pumped_up(value: float, verdict: Verdict) -> None:
    """A clearance that is surely enough, and one that is pumped up with a doubt of 0.2 mm."""
    sure, pumped = (clearance_doubt.Weighed(Budget(one, {}, ()), {}) for one in (0.01, 0.1))
    target = clearance.Target("", 1.0, True)
    piston = clearance.Judged("drop", 3.0, 0.0, target, None, Verdict.UNPROVED)
    one: Any = dict.fromkeys(clearance.ValveClearance._fields)
    one |= {"train": NAME, "piston": piston, "pumped": Minimum(value, 0.0)}
    found = clearance._weighed(
        clearance.ValveClearance(**one), {f"{NAME} drop": sure, f"{NAME} drop pumped": pumped}, {}
    )
    assert found.piston is not None
    assert found.piston.verdict is verdict


def test_a_point_is_of_the_surface_where_it_lies_on_it_and_is_not_cut_away() -> None:
    crown: Any = SimpleNamespace(
        surface=lambda seen: seen[..., 0] * 0, cut_away=lambda seen: seen[..., 1] > 0
    )
    seen = array([[1.0, 0.0, 0.0], [1.0, 0.0, 1.0], [1.0, 0.0, -1.0], [1.0, 1.0, 0.0]])
    assert valvegap._is_surface(crown, seen).tolist() == [True, False, False, False]


@pytest.mark.parametrize("lean", [0.1, -0.1])
def test_the_room_of_a_leaning_valve_is_that_at_the_top_of_its_margin(lean: float) -> None:
    """On its pocket's axis, all of it below the crown: the face is as wide as its radius, the margin's top further over."""
    own = pocket(point(0.0, 0.0, 0.0), UP, array(50.0), array(15.0))
    stem = point(float(np.sin(lean)), 0.0, float(np.cos(lean)))
    head = Head(point(0.0, 0.0, -10.0), stem, array(20.0), array(3.0))
    out = 20.0 * np.cos(lean) + 3.0 * np.sin(abs(lean))
    assert out > 20.0
    assert valvehead.wall(own, head) == pytest.approx(25.0 - out)


# Flats, crowns, curves


def test_taking_the_lean_out_again() -> None:
    lean = flat_to_flat.Place(array(0.3), array(0.4))
    here: Any = SimpleNamespace(lean=lean)
    at = flat_to_flat._unleaned(here, flat_to_flat.Place(array(1.0), array(2.0)))
    along = lean.x * at.x + lean.y * at.y
    assert float(at.x - along * lean.x) == pytest.approx(1.0)
    assert float(at.y - along * lean.y) == pytest.approx(2.0)


def test_places_where_disc_and_leaning_cylinder_meet_are_on_both() -> None:
    lean = flat_to_flat.Place(array(0.35), array(-0.2))
    aside = flat_to_flat.Place(array(-4.0), array(2.5))
    flat = flat_to_flat.Place(array(0.0), array(0.0))
    line = (array(-1.0), array(0.0), array(0.0))
    region = flat_to_flat._Region(array(9.0), line, lean, aside, array(-60.0), flat, array(0.0))
    for at in flat_to_flat._both_rounds(region, *flat_to_flat._oval(region)):
        assert float(np.hypot(at.x, at.y)) == pytest.approx(9.0)
        assert float(region.square(at)) == pytest.approx(0.0, abs=1e-9)


def test_one_diagonal_above_another_away_from_the_origin() -> None:
    low = array([[[1.0, 1.0, 0.0]], [[3.0, 3.0, 2.0]]])
    high = array([[[1.0, 3.0, 5.0]], [[3.0, 1.0, 5.0]]])
    assert crown_table._above(low, high) == pytest.approx([4.0])
    assert crown_table._above(high, low) == pytest.approx([-4.0])


@pytest.mark.parametrize(("off", "on"), [(0.0, True), (0.3, False)])
def test_ends_on_one_circle(off: float, on: bool) -> None:
    """Of 5 mm about (2, 1)."""
    low = array([[[5.0, 5.0, 0.0]], [[-2.0, -2.0, 0.0]]])
    high = array([[[6.0, -2.0, 0.0]], [[2.0, 6.0 + off, 0.0]]])
    assert crown_table._on_one_circle(low, high).tolist() == [on]


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_least_is_looked_for_one_step_beyond_the_row(way: float) -> None:
    angles = array(np.arange(-5.0, 6.0) * minima.STEP)
    (found,) = minima.minima(lambda angle, _: way * angle, angles)
    assert found.angle == pytest.approx(-6.0 * way * minima.STEP, abs=1e-12)


@pytest.mark.parametrize(("apart", "count"), [(0.4, 1), (0.7, 2)])
def test_minima_are_two_where_they_are_more_than_half_a_step_apart(apart: float, count: int) -> None:
    found = [Minimum(1.0, 0.1), Minimum(1.0, 0.1 + apart * minima.STEP)]
    assert len(minima._distinct(found)) == count


def test_of_two_valleys_within_a_step_the_lower_one_is_told() -> None:
    """The other comes after it, less than its first rise higher."""
    angles = array(np.arange(-5.0, 6.0) * minima.STEP)
    low, high = -0.25 * minima.STEP, 0.25 * minima.STEP

    def curve(angle: Array, _: bool) -> Array:
        return np.minimum(10.0 * np.abs(angle - low), 10.0 * np.abs(angle - high) + 0.01)

    least = minima.minima(curve, angles)[0]
    assert least == pytest.approx((0.0, low), abs=1e-7)


def test_a_closer_look_goes_from_one_neighbour_to_the_other_in_even_steps() -> None:
    assert (search.STEPS[0], search.STEPS[-1]) == (-1.0, 1.0)
    assert np.diff(search.STEPS) == pytest.approx(search.CLOSER)


class _Still:
    """One pose of nothing that moves."""

    shape = (1,)

    def spread(self) -> _Still:
        return self

    def pick(self, *_: object) -> _Still:
        return self


def test_a_least_between_two_equal_turns_of_a_closer_look_is_closed_in_on() -> None:
    """Its neighbour on one side is no higher; on the other side it rises."""
    place = float(search.TURNS[40]) + 2.5 * search.SPACING * search.CLOSER

    def value(_: object, turns: Array) -> Array:
        return np.abs(np.round(turns - place, 12))

    pose: Any = _Still()
    assert search.least([search.Curve(value)], pose, (1,), refine=True) == pytest.approx([0.0], abs=1e-6)


@pytest.mark.parametrize(("apart", "count"), [(0.52, 2), (0.13, 1)])
def test_two_valleys_are_two_seeds_unless_they_are_close(apart: float, count: int) -> None:
    places = search.TURNS[20], search.TURNS[20] + apart

    def value(_: object, turns: Array) -> Array:
        return np.minimum.reduce([np.abs(turns - one) for one in places])

    pose: Any = _Still()
    found = nearby.seeds([search.Curve(value)], pose, 0.01)
    assert found is not None
    assert len(found) == count


def test_a_least_at_the_end_of_a_row_is_not_told() -> None:
    rows = array([4.0, 1.0, 0.0])
    assert not nearby.lowest(rows[:, None]).sure[0]
    assert not nearby.lowest(rows[::-1, None]).sure[0]
    assert nearby.lowest(array([1.0, 0.0, 1.0])[:, None]).sure[0]


@pytest.mark.parametrize(("bound", "sure"), [(0.5, False), (2.0, True)])
def test_the_least_of_two_is_told_unless_the_other_may_be_below(bound: float, sure: bool) -> None:
    def told(value: float, is_sure: bool, bound: float) -> Told:
        one = array([value])
        return Told(one, np.array([is_sure]), array([bound]), one * 0, one)

    found = nearby.together([told(1.0, True, 1.0), told(3.0, False, bound)])
    assert found.sure.tolist() == [sure]
    assert found.value.tolist() == [1.0]


def test_places_over_a_floor_are_known_by_their_value(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(risk_clearance, "face_to_floor", lambda *_: array([2.5]))
    monkeypatch.setattr(risk_clearance, "floor_to_face", lambda *_: array([2.0]))
    asked = SimpleNamespace(asked=SimpleNamespace(what="gap"))
    plain: Any = SimpleNamespace(one=asked, crown=SimpleNamespace(pockets=(None,)))
    known = risk_clearance._of_a_floor(plain, None, search.TURNS[:3], array([[2.0, 2.5, -2.0]]))
    assert known.tolist() == [[True, False, False]]


def test_among_rivals_a_value_must_come_below_what_makes_the_least_sum() -> None:
    limit = search._limit(array([1.0, 1.0, 3.0]), (3,), array([0.0, 5.0, -1.0]))
    assert limit.tolist() == [1.0, -4.0, 2.0]


# Lobes


def test_a_single_wave_on_the_fine_grid() -> None:
    for order in (2, 3):
        wave = np.zeros(7)
        wave[order] = 1.0
        assert lobe_smooth.on_fine(wave) == pytest.approx(np.cos(order * lobe_smooth.FINE), abs=1e-12)


def test_the_spread_of_a_fit_is_that_of_its_readings() -> None:
    angle = np.radians(np.arange(-180.0, 180.0, 10.0)[:31])
    terms = np.r_[0:4, lobe_smooth.HARMONICS + 1 : lobe_smooth.HARMONICS + 4]
    design = lobe_smooth.columns(angle)[:, terms]
    found = lobe_smooth.smoothed(design, np.cos(angle) ** 2, np.diag(np.arange(1.0, 7.0)), 0.1)
    assert ((design @ found.spread) ** 2).sum(axis=1) == pytest.approx(found.leverage)


def test_of_many_that_stand_off_those_are_named_that_do_so_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of twenty readings three may be named."""
    off = array([*[0.1] * 14, 40.0, -50.0, 45.0, 60.0, -55.0, 42.0])
    shape = SimpleNamespace(noise=1.0, effective=5.0, rest=None, heel=None)
    monkeypatch.setattr(lobe_fit, "_shape", lambda *_: shape)
    monkeypatch.setattr(lobe_fit, "_judge", lambda *_, **__: (off, off))
    monkeypatch.setattr(lobe_fit, "_zeroed", lambda *_: (None, None, None))
    found = lobe_fit._judged(lobe_fit._Rows(off, off, None, (off[:0], off[:0]), 0.0))
    assert [one.row for one in found.suspects] == [15, 17, 18]


def test_a_lifter_that_never_moves_rests_at_the_ends_of_a_gap() -> None:
    (gap,) = lobe_readings.gaps(np.radians(np.arange(0.0, 300.0, 10.0)), np.zeros(30))
    assert gap.at_rest


def test_a_heel_without_any_noise_is_where_the_lift_is_nothing() -> None:
    """A lobe that rises as a squared sine over 160 degrees and rests over 200; 5 degrees count off either end."""
    cam = np.degrees(lobe_smooth.FINE)
    curve = np.where(cam < 160.0, 8.0 * np.sin(np.pi * cam / 160.0) ** 2, 0.0)
    found = lobe_heel.find_heel(curve, lobe_smooth.FINE, curve, 0.0)
    assert found is not None
    flat = cam[found.flat]
    assert 160.0 < flat.min() < 190.0
    assert flat.min() + flat.max() == pytest.approx(160.0 + 360.0, abs=1.0)
    assert found.rest == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize(("scatter", "rests"), [(0.005, True), (0.1, False)])
def test_a_curve_that_waves_on_the_heel_rests_where_its_readings_do(scatter: float, rests: bool) -> None:
    """The same lobe, its curve 0.1 mm too high for 20 degrees amid the heel; the noise is said to be 0.01 mm."""
    cam = np.degrees(lobe_smooth.FINE)
    lift = np.where(cam < 160.0, 8.0 * np.sin(np.pi * cam / 160.0) ** 2, 0.0)
    curve = lift + np.where(np.abs(cam - 260.0) < 10.0, 0.1, 0.0)
    read = lift + scatter * np.resize([-1.0, 0.0, 1.0], len(cam))
    assert (lobe_heel.find_heel(curve, lobe_smooth.FINE, read, 0.01) is not None) == rests


def test_residuals_are_studentised_with_the_reading_left_out() -> None:
    """Source: t = r·√((ν − 1)/(ν − r²)), at least a twentieth of ν beneath."""
    off = array([2.0, -1.0, 0.5, 3.5, *[0.1] * 8])
    count = len(off)
    smooth = SimpleNamespace(coefficients=np.zeros(1), spread=np.zeros((1, 1)))
    rest = SimpleNamespace(at=np.zeros_like)
    shape: Any = SimpleNamespace(smooth=smooth, rest=rest, noise=1.0, effective=2.0)
    rows: Any = SimpleNamespace(angle=off * 0, way=None, lift=off)
    _, found = lobe_fit._judge(rows, np.ones((count, 1)), np.ones(count, dtype=bool), shape, robust=False)
    assert found[:3] == pytest.approx([2 * np.sqrt(9 / 6), -1.0, 0.5 * np.sqrt(9 / 9.75)])
    assert found[3] == pytest.approx(3.5 * np.sqrt(9 / 0.5))


def test_one_lift_stated_twice_is_told_however_it_was_written() -> None:
    rows = [Stated(float(text), duration) for text, duration in (("1.27", 3.9), ("1.270", 3.8))]
    said = lobe_card.impossible(Card(8.0, tuple(rows)))
    assert "both stated at 1.27 mm" in str(said)


@pytest.mark.parametrize(("zero", "at"), [("top centre", 1.8), ("peak", None)])
def test_readings_from_top_centre_stand_where_they_were_read(
    monkeypatch: pytest.MonkeyPatch, zero: str, at: float | None
) -> None:
    lobe = SimpleNamespace(middle=lambda _: 0.9, peak=lambda: (0.9, 8.0), curve=None)
    none: Any = None
    cam = Cam({"lobe.intake.zero": zero}, Tables({"intake": none}))
    fitted: Any = SimpleNamespace(lobe=lobe)
    monkeypatch.setattr(lobe_fit, "fit_once", lambda *_: fitted)
    found = cam.lobe_of(NAME)
    if at is None:
        assert found == ("lobe.intake.centreline",)
    else:
        assert isinstance(found, CamLobe)
        assert found.placed.at == pytest.approx(at)


@pytest.mark.parametrize(("port", "opens", "closes"), [("intake", 20.0, 60.0), ("exhaust", 60.0, 20.0)])
def test_a_card_of_events_stands_halfway_between_them(port: str, opens: float, closes: float) -> None:
    """Open for 20 + 180 + 60 degrees: the middle of that is 130 - 20 degrees after overlap, or before it."""
    card = f"lobe.{port}.card"
    said = {"peak": 8.0, "events.at": 1.27}
    said |= {f"events.{name}": np.radians(one) for name, one in (("opens", opens), ("closes", closes))}
    found = Cam({f"{card}.{name}": one for name, one in said.items()}, Tables()).lobe_of(f"one.{port}")
    assert isinstance(found, CamLobe)
    assert found.placed.at == pytest.approx(np.radians(110.0 if port == "intake" else -110.0))


def test_a_quantity_that_shifts_the_lobes(job: JobFile) -> None:
    def off(port: str) -> dict[str, float]:
        placed = SimpleNamespace(port=port)
        lobe = SimpleNamespace(name="cam", placed=placed, lift_doubt=lambda _: 0.0, gear=None, carried=None)
        here: Any = SimpleNamespace(lifts={NAME: SimpleNamespace(lobe=lobe)})
        quantities = {"turned": {"cam.advance": 1.0}, "ground": {"lobe.cam.centreline": 1.0}}
        asked = situation.Asked(NAME, "drop", 0.0)
        return dict(risk_clearance._off(job.mapping, here, NAME, asked, quantities, Tables()).later)

    assert off("intake") == {"turned": -1.0, "ground": 1.0}
    assert off("exhaust") == {"turned": -1.0, "ground": -1.0}


def test_a_sweep_is_as_wide_as_its_ends_are_apart(job: JobFile) -> None:
    found = shape(situation.situation(job.mapping, "one", Cam(job.mapping, Tables())).lifts[NAME])
    assert found.contact is not None
    least, greatest = found.contact
    assert found.sweep == pytest.approx(greatest - least)
    assert found.sweep is not None
    assert found.sweep > 0


# Draws


def test_some_builds_are_drawn_as_among_all() -> None:
    block = draws.block_of({"a": Doubt(0.1)}, 9, seed=4, number=2)
    chosen = np.array([1, 4, 6])
    for draw in (draws.Block.normal, draws.Block.rectangular):
        assert draw(block.some(chosen), "b").tolist() == draw(block, "b")[chosen].tolist()


def test_blocks_are_steady_where_they_agree_with_each_other() -> None:
    alike = (0.0, 1.0, -2.0, 2.0)
    assert draws._steady([alike] * 10, 1.0)
    assert not draws._steady([(float(place),) * 4 for place in range(10)], 1.0)


def test_a_budget_that_tells_the_interval_of_the_draws_does_not_differ() -> None:
    ends = draws.Interval(0.0, 2.0)
    drawn = draws.Drawn(1.0, 0.5, ends, ends, 1000, steady=True)
    assert not draws.differs(1.0, 1.0, drawn)
    assert draws.differs(1.0, 1.2, drawn)


def answer(least: float | None = None) -> Answer:
    return Answer("", "", "mm", 1.0, Budget(0.0, 0.0, {}, ()), {}, least, None, None)


def test_a_single_build_is_drawn() -> None:
    run = Run({}, {}, {}, [Asked(answer(), lambda *_: array([1.0]))], 1, 0)
    (row,) = run.block(0, 1)
    assert row is not None


def test_builds_are_counted_by_what_they_come_to() -> None:
    tally = Tally(answer(1.5))
    tally.add(array([1.0, 2.0, np.inf, np.inf, np.nan]))
    assert (tally.looked, tally.impossible, tally.absent, tally.missed) == (5, 1, 2, 1)


# Gears


def test_a_doubt_of_the_length_is_multiplied_where_the_lash_is_measured_at_the_valve(job: JobFile) -> None:
    train = build(job.mapping).train(NAME)._replace(ratio=array(1.5))
    for lash_at, ratio, found in (("valve", 1.5, 0.3), ("pushrod", 1.5, 0.2), ("valve", None, 0.2)):
        own = train._replace(
            ratio=None if ratio is None else array(ratio), lifter=train.lifter._replace(lash_at=lash_at)
        )
        assert ordering._at_lash(own, 0.2) == pytest.approx(found)


@pytest.mark.parametrize("seed", range(6))
def test_a_solid_lifter_comes_apart_where_its_loop_just_closes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    train = build(random_unreachable(rng, why="toggle")).train(TRAIN)  # type: ignore[arg-type]
    train = train._replace(lifter=train.lifter._replace(kind="solid", preload=None))
    assert train.drawn is not None
    assert train.lifter.down is None
    length = required(train._replace(lifter=train.lifter._replace(lash=array(0.0)))).lengths["centres"]
    found = comes_apart_at(train, length, 2 * PEAK)
    assert found is not None
    if found > 0:
        ends = motion(train.drawn, closed(train.drawn), length, array([found - 1e-6, found]), array(0.0))
        assert ends.reach[0] >= 0
        assert not ends.reach[1] >= 0


@pytest.mark.parametrize(("length", "known"), [(5.0, True), (1.0, True), (5.1, False), (0.9, False)])
def test_at_its_toggle_a_loop_closes_and_has_no_slope(length: float, known: bool) -> None:
    """An arm of 2 mm and a ball 3 mm from its shaft: 1 mm apart at the least, 5 at the most."""
    arm, branch = array(2.0), array(1.0)
    spoke, turned, ball = point(1.0, 0.0, 0.0), point(0.0, 1.0, 0.0), point(0.0, 3.0, 0.0)
    cosine, sine, slope, reach = close_loop(spoke, turned, ball, array(length), arm, branch)
    assert bool(reach >= 0) == known
    if known:
        assert (float(reach), float(slope), float(cosine)) == (0.0, 0.0, 0.0)
        assert float(sine) == (-1.0 if length > 3.0 else 1.0)
    else:
        assert np.isnan(slope)


@pytest.mark.parametrize("length", [1.5, 2.0, 3.0, 4.5])
@pytest.mark.parametrize("branch", [1.0, -1.0])
def test_a_loop_closes_by_the_law_of_cosines(length: float, branch: float) -> None:
    """An arm of 2 mm and a ball 3 mm from its shaft."""
    spoke, turned, ball = point(1.0, 0.0, 0.0), point(0.0, 1.0, 0.0), point(0.0, 3.0, 0.0)
    cosine, sine, slope, _ = close_loop(spoke, turned, ball, array(length), array(2.0), array(branch))
    between = np.arccos((2.0**2 + 3.0**2 - length**2) / (2 * 2.0 * 3.0))
    assert float(sine) == pytest.approx(np.cos(between))
    assert float(cosine) == pytest.approx(branch * np.sin(between))
    assert float(slope) == pytest.approx(branch * 3.0 * np.sin(between))


def test_a_gear_whose_lobe_rests_is_drawn_unturned(job: JobFile) -> None:
    lift = situation.situation(job.mapping, "one", Cam(job.mapping, Tables())).lifts[NAME]
    found = turning.opening(lift, None, NAME, array([2 * np.pi]))
    assert found.cosine is not None
    assert found.sine is not None
    assert found.cosine == pytest.approx([1.0])
    assert found.sine == pytest.approx([0.0], abs=1e-9)


@pytest.mark.parametrize(
    ("flats", "longest", "miss", "said"),
    [
        (0, 260.0, 0.1, "short, fully closed"),
        (3, 260.0, 0.1, "short"),
        (3, 250.0, 0.1, "short, as long as it gets"),
        (0, 260.0, 0.0, "short"),
    ],
)
def test_a_thread_that_is_at_its_end_is_told_where_a_pushrod_misses(
    flats: int, longest: float, miss: float, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = SimpleNamespace(preload=None, lash=array(0.3))
    monkeypatch.setattr(shelf, "fit", lambda *_: given)
    monkeypatch.setattr(shelf, "_miss", lambda *_: (miss, miss, "", "short"))
    ends = SimpleNamespace(low=SimpleNamespace(ball_diameter=None))
    lifter = SimpleNamespace(plunger_travel=None)
    order: Any = SimpleNamespace(train=SimpleNamespace(name=NAME, ends=ends, lifter=lifter), budget=None)
    rod = shelf.Rod("a", "adjustable", 250.0, longest, "centres", None, 1.0, 6, None, None, 1)
    assert shelf._judged(order, rod, 250.0, 0.0, flats).why == said


@pytest.mark.parametrize(("half_width", "moves"), [(0.0, {}), (0.1, {f"{NAME}.lifter.preload": 0.7})])
def test_a_preload_moves_a_pumped_up_clearance_where_it_has_a_doubt(
    half_width: float, moves: dict[str, float]
) -> None:
    before = clearance_doubt.Weighed(Budget(0.0, {}, ()), {})
    doubts = {f"{NAME}.lifter.preload": Doubt(half_width)}
    assert pumped.with_preload(before, {NAME: 0.7}, {}, doubts).slopes == moves


@pytest.mark.parametrize("crank", [-6.2, -0.1, 0.0, 6.2])
def test_a_cycle_is_counted_from_half_a_cycle_before_to_half_a_cycle_after(crank: float) -> None:
    flat: Any = {"cylinders": ("one",), "trains": (), "one.lean": 0.0}
    for cycles in (-1, 0, 1):
        found = turning.turning(flat, {}, array([crank + cycles * 4 * np.pi]))
        assert found.own["one"] == pytest.approx([crank])


def test_a_turn_of_an_adjuster_is_its_flats_together() -> None:
    mapping = random_mapping(np.random.default_rng(3), kind="hydraulic")
    train = build(mapping).train(TRAIN)  # type: ignore[arg-type]
    none = dict.fromkeys(("axis", "eccentricity", "eccentric_at", "turns_in", "turns_out"))
    screw = Adjuster(kind="pushrod screw", pitch=array(1.0), flats=array(6.0), **none)  # type: ignore[arg-type]
    found = adjusting.setting(train._replace(adjuster=screw), required(train))
    assert found is not None
    assert found.per_turn == pytest.approx(1.0, rel=0.05)  # a longer pushrod goes into the lifter
    assert found.per_flat == pytest.approx(1.0 / 6.0, rel=0.05)


def test_a_deck_entered_and_read_otherwise_is_told() -> None:
    mapping: Any = {
        **PLAIN_ENGINE,
        "stack.measured_deck.below": 0.2,
    }
    right = 45.0 + 160.0 + 34.0 + 0.2 - 100.5
    assert not list(alternatives.disagreements({**mapping, "stack.case_deck": right}))
    (found,) = alternatives.disagreements({**mapping, "stack.case_deck": right + 0.3})
    assert isinstance(found, DisagreementError)
    assert not list(alternatives.disagreements(mapping))


def test_an_arm_angle_by_the_cup_is_told_within_one_turn() -> None:
    from .geometry.engine.test_alternatives import with_cup, worn

    for seed in range(2):
        mapping = worn(np.random.default_rng(seed), kind="hydraulic")
        (told,) = (
            step
            for step in derive.derivation(with_cup(mapping), TRAIN).steps  # type: ignore[arg-type]
            if step.symbol == "ψ"
        )
        assert abs(told.value) == pytest.approx(mapping[f"{TRAIN}.rocker.arm_angle"])


def test_a_gauge_does_not_measure_a_cup() -> None:
    mapping: Flat = {"a.end_low": "cup", "a.cup_rim": 1.5, "a.ball_diameter_low": 8.0, "a.gauge": 5.0}
    found = {
        one: derive._end(derive._Chain(mapping, None), Reader(mapping, ("a.",)), "low", one)
        for one in ("centres", "overall", "gauge")
    }
    assert found["centres"] == 0
    assert str(found["overall"]) == str(derive.entry_symbol("a.cup_rim"))
    assert found["gauge"] is None


MEASURED: Flat = {
    "cylinders": ("one",),
    "trains": (NAME,),
    f"{NAME}.lifter.kind": "solid",
    f"{NAME}.lifter.lash": 0.0,
    f"{NAME}.lifter.lash_at": "pushrod",
    f"{NAME}.rocker.ratio": 1.6,
    f"{NAME}.measured_pushrod.length": 260.0,
    f"{NAME}.measured_pushrod.as": "overall",
    f"{NAME}.measured_pushrod.lean": 0.0,
}


def test_a_rod_whose_ends_were_not_measured_is_known_as_it_was_read_and_lacks_the_rest() -> None:
    found = required(build(MEASURED).train(NAME))
    assert set(found.lengths) == {"overall"}
    assert set(found.lacks) == {"centres", "theoretical", "gauge"}


@pytest.mark.parametrize(("long", "held"), [(0.5, 0.8), (0.0, 0.0), (-0.5, 0.0)])
def test_too_long_a_rod_holds_the_valve_open_by_its_ratio(long: float, held: float) -> None:
    found = fit(build(MEASURED).train(NAME), array(260.0 + long))
    assert found.lash is not None
    assert found.held_open is not None
    assert float(found.lash) == pytest.approx(-long)
    assert float(found.held_open) == pytest.approx(held)


@pytest.mark.parametrize(
    ("preload", "limits", "miss"),
    [
        (1.3, True, (0.0, 0.3)),
        (1.7, True, (0.2, 0.7)),
        (1.3, False, (np.inf, np.inf)),
        (None, True, (np.inf, np.inf)),
    ],
)
def test_a_preload_is_held_against_its_limits_where_it_has_both(
    preload: float | None, limits: bool, miss: tuple[float, float]
) -> None:
    order: Any = SimpleNamespace(
        train=SimpleNamespace(lifter=SimpleNamespace(preload=array(1.0), lash=None, plunger_travel=None)),
        limits=SimpleNamespace(least=0.5, most=1.5) if limits else None,
        most_preload=1.5,
    )
    assert shelf._miss(order, preload, None)[:2] == pytest.approx(miss)


@pytest.mark.parametrize(
    ("lash", "miss", "way"),
    [
        (0.50, (0.0, 0.0), ""),
        (0.52, (0.0, 0.02), ""),
        (0.60, (0.1, 0.1), "too short"),
        (0.40, (0.1, 0.1), "too long"),
    ],
)
def test_a_lash_within_a_thou_of_the_wish_misses_by_nothing(
    lash: float, miss: tuple[float, float], way: str
) -> None:
    lifter = SimpleNamespace(preload=None, lash=array(0.5))
    order: Any = SimpleNamespace(train=SimpleNamespace(lifter=lifter), limits=None)
    found = shelf._miss(order, None, lash)
    assert found[:2] == pytest.approx(miss)
    assert found[2] == way


def test_a_crank_turns_forward_unless_it_is_said_to_turn_backward() -> None:
    assert turns_forward({})
    assert turns_forward({"crank.turns": "forward"})
    assert not turns_forward({"crank.turns": "backward"})


def test_a_mapping_that_lost_an_entry_is_completed_anew() -> None:
    mapping: Any = {"cylinders": (), "trains": (), "stack.bore": 90.0}
    assert "stack.bore" in defaults.completed(mapping)[0]
    del mapping["stack.bore"]
    assert "stack.bore" not in defaults.completed(mapping)[0]


def test_the_next_cylinder_to_fire_is_named() -> None:
    mapping: Any = {
        "cylinders": ("one", "two"),
        "trains": (),
        "crank.turns": "forward",
        "one.lean": 0.0,
        "two.lean": 0.0,
        "two.fires_at": 2 * np.pi,
    }
    found = stations(mapping, {})
    assert [(one.cylinder, one.next_cylinder) for one in found] == [("one", "two"), ("two", "one")]
    assert [one.to_next for one in found] == pytest.approx([2 * np.pi, 2 * np.pi])
