"""How near two valve heads come by where they can first touch, against whole heads as bodies; and what is refused.

`tests/oracles/valve_pair.py` pushes two solid heads together: 8 pairs of each kind every time, 300 as a study, each at
5 pairs of lifts. The edges are read of the bodies; angles of 12 to 66 degrees between the stems.

Figures, measured on two cores with CPython 3.11, 300 pairs of each kind, least, 5 %, median, 95 % and greatest of ours
less the bodies' least, mm; their own bracket is never wider than 0.00011:

- straight gap, stems in one plane, while the nearest place lies on an edge or a side: sharp 0.0000 0.0000 0.0001 0.0001
  0.0001; edges broken 0.5 mm: -0.295 -0.240 0.000 0.000 0.000, exact to 45 degrees between the stems
- the same above a margin: sharp -3.7 -1.9 -0.27 0.00 0.00; broken -4.1 -2.1 -0.23 0.00 0.00
- broken edges and shanks, lifts to 14 mm: -8.4 -5.4 -0.83 0.00 0.00
- stems up to 10 degrees out of one plane and 9 mm aside, spread up to 25 degrees: -4.6 -1.5 -0.031 0.000 0.002; without
  the cosine -4.6 -1.4 0.000 0.071 0.336
- how much further both, where one edge meets the other's side: sharp within 0.0001; broken -0.27 -0.13 0.00 0.00 0.00;
  elsewhere down to -35, where the heads all but pass each other

With the cosine 2 of 84 000 other pairs of lifts were past 0.01 mm, none past 0.013; sought by climbing, 16 degrees
apart, 10 degrees out of plane and 9 mm aside, it is 0.023 mm of a gap of 3. That is with tips as far from both faces;
with 30 mm more of one stem than of the other, 0.022 among those drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from itertools import islice
from typing import Any, NamedTuple

import numpy as np
import pytest
from scipy.optimize import lsq_linear  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.piston.valves_touch import (
    ALLOWED_MM,
    ANGLES,
    MOST_SPREAD,
    Touch,
    Unsure,
    both_further,
    edge_of,
    has_touch,
    straight_gap,
    touch_of,
)

from ...measured import Told
from ...oracles import valve_pair
from ...oracles.valve_pair import Pair, Valve
from ...seeded import held

BY_HAND = [  # lifts of both, how much further both, straight gap, of edges 5.20 and 4.90, 52 degrees
    (3.0, 5.6, 2.20, 1.7336),
    (4.0, 4.6, 1.20, 0.9456),
    (4.6, 4.0, 0.90, 0.7107),
    (5.4, 3.2, 1.70, 1.3396),
    (2.0, 6.0, 3.20, 2.5216),
    (7.0, 1.0, 3.90, 3.0732),
    (5.4, 5.1, -0.20, 0.0),
]
BY_BODIES_MM = 0.0005  # to which the bodies tell edges and distances
BROKEN_MM = 0.5
SHANK_MM = 3.5
FEW = 8  # pairs of valves of a kind
LIFTS = 5  # pairs of lifts of each pair of valves
SKEW = (float(np.radians(10.0)), 9.0)  # most between the planes of two stems [rad], and aside [mm]
KINDS = ("sharp", "broken", "whole", "skew")


def some(*kinds: str) -> list[Any]:
    """Return kinds of pairs with how many of each, the larger ones as studies."""
    larger = (pytest.param(kind, 300, marks=pytest.mark.study) for kind in kinds)
    return [*((kind, FEW) for kind in kinds), *larger]


class Drawn(NamedTuple):
    """Two valves as bodies, and what was read of them; mm, rad."""

    pair: Pair
    edges: tuple[float, float]
    between: float
    spread: float
    shares: Array  # of how far each is opened, of LIFTS pairs of lifts

    @property
    def side(self) -> tuple[float, float]:
        """Length of each head's side, from its broken edge up its margin."""
        intake, exhaust = self.pair.intake, self.pair.exhaust
        return intake.margin - intake.broken, exhaust.margin - exhaust.broken

    def short(self, lifts: Array) -> Array:
        return array(self.edges) - lifts

    def gap(self, lifts: Array) -> float:
        s, r = self.short(lifts)
        return float(straight_gap(s, r, array(self.between)))

    @property
    def less(self) -> float:
        """How much less than the truth the gap beside a side may be, for edges broken at 45 degrees.

        A quadrant of lifts ends in a corner that a broken edge does not fill where the stems are further apart.
        """
        missing = self.pair.intake.broken * max(1.0 - 1.0 / np.tan(self.between), 0.0)
        return float(2.0 * missing * np.sin(self.between / 2))

    def meets_a_side(self, s: float, r: float) -> bool:
        """Whether, opened as much further, the edge that lacks more meets the other's side."""
        return -self.side[0] < s - r < self.side[1]

    def beside(self, lifts: Array) -> bool:
        """Whether the nearest place of the rule lies on an edge or a side, and not above a margin."""
        (s, r), cosine = self.short(lifts), np.cos(self.between)
        return bool(max(s, r) > 0 and s * cosine - r < self.side[1] and r * cosine - s < self.side[0])

    def lifts(self, most: float | None = None) -> Array:
        """Return pairs of lifts drawn over both, up to 1 mm past their edges or to something."""
        ends = array(self.edges) + 1.0 if most is None else array(most)
        return self.shares * ends


def leaning(lean: float, tilt: float) -> Array:
    """Return the direction of a stem that leans along the line of the heads, and tilts out of it."""
    along = np.array([np.sin(lean), np.tan(tilt) * np.cos(lean), np.cos(lean)])
    return array(along / np.linalg.norm(along))


def spread_off(intake: Valve, exhaust: Valve, lengths: Array) -> float:
    """Return atan(y / x), seen along the cylinder with the line through the faces' centres [rad].

    x is how much further apart the stems' tips are along it than the centres, y how far the line of tips drifts
    sideways.
    """
    centres = (exhaust.centre - intake.centre)[:2]
    tips = centres + (lengths[1] * exhaust.stem - lengths[0] * intake.stem)[:2]
    along = centres / np.linalg.norm(centres)
    x, y = (tips - centres) @ along, tips @ np.array([-along[1], along[0]])
    return float(np.arctan2(abs(y), x))


def valves(kind: str, rng: np.random.Generator) -> tuple[Valve, Valve]:
    """Return two valves of a kind that lean apart upwards; sharp ones in one plane have their edges at 2 to 9 mm."""
    between, share = rng.uniform(*ANGLES), rng.uniform(0.3, 0.7)
    tilt, aside = rng.uniform(-1.0, 1.0, 2) * SKEW / 2 if kind == "skew" else (0.0, 0.0)
    broken = {"sharp": 0.0, "skew": BROKEN_MM * rng.integers(2)}.get(kind, BROKEN_MM)
    edge = rng.uniform(3.0, 8.0)
    found = []
    for side, lean in ((-1.0, -between * share), (1.0, between * (1.0 - share))):
        radius, stem = rng.uniform(14.0, 25.0), leaning(lean, -side * tilt)
        rim = rng.uniform(edge - 1.0, edge + 1.0) * stem - np.array([0.0, side * aside, 0.0])
        centre = rim + radius * np.array([side * np.cos(lean), 0.0, -side * np.sin(lean)])
        shank = SHANK_MM if kind == "whole" else 0.0
        found.append(Valve(centre, stem, radius, rng.uniform(0.8, 2.5), broken, shank=shank))
    return found[0], found[1]


def drawn(kind: str, many: int) -> Iterator[Drawn]:
    """Return pairs of valves of a kind that the rule is for."""
    rng = np.random.default_rng(KINDS.index(kind))
    while many:
        both = valves(kind, rng)
        between = float(np.arccos(both[0].stem @ both[1].stem))
        spread = spread_off(*both, rng.uniform(95.0, 105.0, 2))
        if ANGLES[0] < between < ANGLES[1] and spread < MOST_SPREAD:
            pair = valve_pair.pair(*both)
            many -= 1
            yield Drawn(pair, pair.edges(), between, spread, rng.random((LIFTS, 2)))


@cache
def kept(kind: str) -> tuple[Drawn, ...]:
    return tuple(drawn(kind, FEW))


def pairs(kind: str, many: int) -> Iterable[Drawn]:
    """Return so many pairs of valves of a kind; the few of the plain run are made once."""
    return kept(kind) if many == FEW else drawn(kind, many)


def nearest(one: Drawn, side: int, lift: float) -> float:
    """Return the least distance at a lift of one valve, over all lifts of the other."""
    return valve_pair.nearest(lambda other: one.pair.distance(*((other, lift) if side else (lift, other))))


class Compared(NamedTuple):
    """The rule beside the bodies at many pairs of lifts [mm]."""

    gap: Array
    with_cosine: Array
    least: Array  # that the distance can be
    greatest: Array
    beside: Array  # whether the nearest place lies on a side
    less: Array  # how much less than the truth the gap may be there


@cache
def compared(kind: str, many: int) -> Compared:
    found = []
    for one in pairs(kind, many):
        for lifts in one.lifts(14.0 if kind == "whole" else None):
            gap = one.gap(lifts)
            bracket = one.pair.bracket(*lifts)
            found.append((gap, gap * np.cos(one.spread), *bracket, one.beside(lifts), one.less))
    return Compared(*np.array(found).T)


@pytest.mark.parametrize(("intake", "exhaust", "further", "gap"), BY_HAND)
def test_lifts_worked_by_hand(intake: float, exhaust: float, further: float, gap: float) -> None:
    touch = Touch((array(5.2), array(4.9)), (False, False), array(np.radians(52.0)), None)
    lifts = array(intake), array(exhaust)
    assert float(touch.further(*lifts)) == pytest.approx(further)
    assert float(touch.gap(*lifts)) == pytest.approx(gap, abs=0.5e-4)
    off = touch._replace(spread=array(np.radians(20.0)))
    assert float(off.gap(*lifts)) == pytest.approx(gap * 0.93969, abs=0.5e-4)
    assert off.further(*lifts) == touch.further(*lifts)


def test_leading_axes_broadcast() -> None:
    intake, exhaust, further, gap = array(BY_HAND).T
    between = np.radians([[52.0], [30.0]])
    found = straight_gap(5.2 - intake, 4.9 - exhaust, between)
    assert found.shape == (2, len(BY_HAND))
    np.testing.assert_allclose(found[0], gap, atol=0.5e-4)
    alone = [
        straight_gap(array(5.2 - a), array(4.9 - b), between[1, 0])
        for a, b in zip(intake, exhaust, strict=True)
    ]
    np.testing.assert_allclose(found[1], alone)
    np.testing.assert_allclose(both_further(5.2 - intake[:, None], array(4.9 - exhaust))[1, 2], 1.2)
    np.testing.assert_allclose(both_further(5.2 - intake, 4.9 - exhaust), further)


@held(100, 5000)
def test_the_gap_is_the_least_between_two_quadrants_of_lifts(seed: int) -> None:
    """Against least squares between bounds."""
    rng = np.random.default_rng(seed)
    (s, r), between = rng.uniform(-8.0, 8.0, 2), rng.uniform(np.radians(5.0), np.radians(90.0))
    ways = np.array([[-1.0, np.cos(between)], [0.0, np.sin(between)]])  # of the intake's lift, the exhaust's
    least = lsq_linear(ways, np.zeros(2), ([s, r], np.inf), tol=1e-14)
    found = float(straight_gap(array(s), array(r), array(between)))
    assert found == pytest.approx(np.linalg.norm(ways @ least.x), abs=1e-6)
    assert found == pytest.approx(float(straight_gap(array(r), array(s), array(between))), abs=1e-12)


@pytest.mark.parametrize(("kind", "many"), some("sharp", "broken", "whole", "skew"))
def test_the_gap_is_never_more_than_between_whole_heads(kind: str, many: int, measured: Told) -> None:
    found = compared(kind, many)
    gap, allowed = (found.with_cosine, ALLOWED_MM) if kind == "skew" else (found.gap, BY_BODIES_MM)
    assert np.ptp(found.greatest) > 2.0
    measured(
        f"two valves by their edges, {kind}", "whole heads as bodies", gap - found.least, allowed, least=-20.0
    )


@pytest.mark.parametrize(("kind", "many"), some("sharp", "broken"))
def test_the_gap_beside_a_side_is_the_truth_but_for_what_was_broken_off(kind: str, many: int) -> None:
    found = compared(kind, many)
    beside = found.beside.astype(bool)
    assert beside.mean() > 0.3
    assert (found.greatest - found.gap - found.less)[beside].max() < BY_BODIES_MM


@pytest.mark.parametrize("many", [FEW, pytest.param(300, marks=pytest.mark.study)])
def test_without_the_cosine_the_gap_is_more_than_the_truth_where_stems_spread(many: int) -> None:
    found = compared("skew", many)
    assert (found.gap - found.greatest).max() > 2 * ALLOWED_MM


@pytest.mark.parametrize(("kind", "many"), some("sharp", "broken", "skew"))
def test_both_can_always_be_opened_as_much_further_as_it_says(kind: str, many: int) -> None:
    """And no further, of sharp heads in one plane whose one edge then meets the other's side."""
    exact = []
    for one in pairs(kind, many):
        for lifts in one.lifts():
            s, r = one.short(lifts)
            ours, truth = float(both_further(s, r)), one.pair.further(*lifts)
            assert ours < truth + BY_BODIES_MM
            if kind == "sharp" and one.meets_a_side(s, r):
                exact.append(ours == pytest.approx(truth, abs=BY_BODIES_MM))
    assert all(exact)
    assert bool(exact) == (kind == "sharp")


@pytest.mark.parametrize(("kind", "many"), some("sharp", "broken", "skew"))
def test_below_its_edge_a_valve_never_touches_and_past_it_it_can(kind: str, many: int) -> None:
    before = 0.05
    for one in pairs(kind, many):
        for side, edge in enumerate(one.edges):
            clear = nearest(one, side, edge - before)
            assert clear > 0.9 * before * np.sin(one.between) * np.cos(one.spread)
            assert nearest(one, side, edge + before) == 0.0


@pytest.mark.parametrize(("kind", "many"), some("sharp", "broken", "skew"))
def test_the_edges_are_the_least_by_trying(kind: str, many: int) -> None:
    for one in islice(pairs(kind, many), max(many // 4, 2)):
        assert one.pair.edges_by_trying() == pytest.approx(one.edges, abs=0.001)


@pytest.mark.parametrize(("kind", "many"), some("sharp", "broken", "skew"))
def test_opened_together_they_touch_past_both_edges(kind: str, many: int) -> None:
    """At the greater of both, of sharp heads in one plane whose one edge then meets the other's side."""
    for one in pairs(kind, many):
        past = one.pair.together() - max(one.edges)
        assert past > -BY_BODIES_MM
        if kind == "sharp" and one.meets_a_side(*one.edges):
            assert past < BY_BODIES_MM


@pytest.mark.parametrize(("kind", "many"), some("sharp", "broken", "skew"))
def test_a_line_between_two_pairs_that_touch_is_past_touching(kind: str, many: int) -> None:
    """So that lifts taken from it are too great: the pairs of lifts that overlap fill a convex set."""
    past = []
    for one in pairs(kind, many):
        ends = []
        for more in ((0.0, 0.7), (0.7, 0.0)):
            lifts = np.add(one.edges, more)
            ends.append(lifts + one.pair.further(*lifts))
        past.append(-one.pair.further(*np.mean(ends, axis=0)))
    assert min(past) > -BY_BODIES_MM
    assert np.median(past) > 0.1


def cylinder(**more: object) -> dict[str, object]:
    """Return what was read of a cylinder's two valves; a value of None leaves an entry out."""
    entries = {
        "edge_intake": 5.2,
        "edge_exhaust": 4.9,
        "between_stems": np.radians(52.0),
        "spread_off": np.radians(8.0),
    } | {path.replace("__", "."): value for path, value in more.items()}
    return {f"front.valves_touch.{path}": value for path, value in entries.items() if value is not None}


def told(**more: object) -> Touch | Unsure:
    return touch_of(cylinder(**more), "front")  # type: ignore[arg-type]


def read(edge: str, **more: object) -> tuple[float | None, bool]:
    found, is_bound = edge_of(Reader(cylinder(**more), ("front.",)), edge)  # type: ignore[arg-type]
    return None if found is None else float(found), is_bound


def sure(**more: object) -> Touch:
    found = told(**more)
    assert isinstance(found, Touch)
    return found


def unsure(**more: object) -> Unsure:
    found = told(**more)
    assert isinstance(found, Unsure)
    return found


def test_what_was_read_of_a_cylinder() -> None:
    found = sure()
    assert [float(edge) for edge in found.edges] == [5.2, 4.9]
    assert found.bounded == (False, False)
    assert found.between == np.radians(52.0)
    assert found.spread == np.radians(8.0)
    assert sure(spread_off=np.radians(-8.0)).spread == np.radians(8.0)


def test_another_cylinders_valves_are_not_these() -> None:
    entries = cylinder()
    assert has_touch(Reader(entries, ("front.",)))  # type: ignore[arg-type]
    assert not has_touch(Reader(entries, ("rear.",)))  # type: ignore[arg-type]
    found = touch_of(entries, "rear")  # type: ignore[arg-type]
    assert isinstance(found, Unsure)
    assert found.lacks == ("rear.valves_touch.edge_intake", "rear.valves_touch.edge_exhaust")


def test_stems_that_nobody_looked_at_along_the_cylinder_are_taken_to_lie_in_one_plane() -> None:
    found = sure(spread_off=None)
    assert found.spread is None
    lifts = array(4.0), array(4.6)
    assert found.gap(*lifts) == pytest.approx(0.9456, abs=0.5e-4)
    assert sure().gap(*lifts) == pytest.approx(0.9456 * np.cos(np.radians(8.0)), abs=0.5e-4)


def test_one_edge_missing() -> None:
    assert unsure(edge_exhaust=None) == Unsure(("front.valves_touch.edge_exhaust",))
    assert unsure(edge_intake=None, together=6.0) == Unsure(("front.valves_touch.edge_intake",))


def test_how_far_both_opened_together_tells_no_edge() -> None:
    found = unsure(edge_intake=None, edge_exhaust=None, together=6.0)
    assert len(found.lacks) == 2
    assert "their edges can differ" in found.why
    assert found.touch is None
    assert not unsure(edge_intake=None, edge_exhaust=None).why


def test_without_the_angle_it_tells_how_much_further_alone() -> None:
    found = unsure(between_stems=None)
    assert found.lacks == ("front.valves_touch.between_stems",)
    assert found.touch is not None
    assert float(found.touch.further(array(4.0), array(4.6))) == pytest.approx(1.2)
    assert np.isnan(found.touch.gap(array(4.0), array(4.6)))


@pytest.mark.parametrize(
    ("degrees", "is_told"), [(11.9, False), (12.1, True), (65.9, True), (66.1, False), (0.0, False)]
)
def test_stems_at_angles_that_were_not_tried(degrees: float, is_told: bool) -> None:
    found = told(between_stems=np.radians(degrees))
    assert isinstance(found, Touch) == is_told
    if isinstance(found, Unsure):
        assert not found.lacks
        assert "less than 12 or more than 66 degrees" in found.why
        assert found.touch is not None
        assert float(found.touch.further(array(4.0), array(4.6))) == pytest.approx(1.2)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_stems_that_spread_too_far_off_the_line(sign: float) -> None:
    assert isinstance(told(spread_off=sign * np.radians(24.9)), Touch)
    found = unsure(spread_off=sign * np.radians(25.1))
    assert not found.lacks
    assert "spread more than 25 degrees" in found.why
    assert found.touch is not None


def test_a_batch_is_refused_for_one_of_its_engines() -> None:
    assert sure(edge_intake=array([5.2, 5.3])).gap(array(4.0), array(4.6)).shape == (2,)
    for other in (11.0, 70.0):
        assert not unsure(between_stems=np.radians([52.0, other])).lacks
    assert not unsure(spread_off=np.radians([8.0, 26.0])).lacks


def test_an_edge_that_was_not_met_is_at_least_as_far_as_was_tried() -> None:
    more: dict[str, object] = {"edge_intake": None, "edge_intake__none_up_to": 9.0}
    found = sure(**more)
    assert found.bounded == (True, False)
    assert [float(edge) for edge in found.edges] == [9.0, 4.9]
    assert read("edge_intake", **more) == (9.0, True)
    assert read("edge_exhaust", **more) == (4.9, False)
    assert read("edge_intake", edge_intake__none_up_to=9.0) == (5.2, False)  # met after all
    assert read("edge_intake", edge_intake=None)[0] is None


def test_what_was_not_tried_far_enough_is_told_where_the_heads_may_meet_for_all_that_is_known() -> None:
    found = sure(edge_intake=None, edge_intake__none_up_to=9.0)
    assert found.untried(array(9.5), array(5.0)) == ("edge_intake",)
    assert found.untried(array(8.9), array(5.0)) == ()
    assert found.untried(array(9.5), array(4.8)) == ()
    assert sure().untried(array(9.5), array(5.0)) == ()
    both = found._replace(bounded=(True, True))
    assert both.untried(array(9.0), array(4.9)) == ("edge_intake", "edge_exhaust")


def test_a_valve_sunk_touches_so_much_later() -> None:
    found = sure()
    for side, edges in enumerate(([5.7, 4.9], [5.2, 5.4])):
        raised = found.raised(side, 0.5)
        assert [float(edge) for edge in raised.edges] == pytest.approx(edges)
        assert raised._replace(edges=found.edges) == found
    assert float(found.raised(1, 0.5).further(array(4.0), array(4.9))) == pytest.approx(1.2)
    assert float(found.raised(0, 0.5).further(array(4.0), array(4.9))) == pytest.approx(1.7)


@pytest.mark.parametrize(("side", "kind"), [(0, "sharp"), (1, "broken")])
def test_a_valve_sunk_touches_so_much_later_by_bodies(side: int, kind: str) -> None:
    for one in kept(kind):
        both = [one.pair.intake, one.pair.exhaust]
        both[side] = both[side]._replace(centre=both[side].opened(-0.5))
        sunk = list(one.edges)
        sunk[side] += 0.5
        assert valve_pair.pair(*both).edges() == pytest.approx(sunk, abs=BY_BODIES_MM)
