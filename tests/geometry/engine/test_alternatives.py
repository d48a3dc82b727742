"""Every other way to say an entry, against the plain entries of the same valve gear.

What a builder would have read is worked out from the plain entries by means that share no code with
the alternatives: the cup's place from the searched pose of `oracles/raw_loop.py`, the piston's
highest point by numerical maximisation, the rest by plane trigonometry written here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import asin, cos, pi, radians, sin, sqrt, tan
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize_scalar  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry import DisagreementError, UnreachableError, build, required
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.engine import alternatives
from tallstack.geometry.engine.alternatives import disagreements
from tallstack.geometry.engine.defaults import as_taken

from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping

CLOSE_MM = 1e-9
SEEDS = range(8)
Entries = dict[str, object]


def number(mapping: Mapping[str, object], path: str) -> float:
    return float(str(mapping[path]))


def own(mapping: Mapping[str, object], entry: str) -> float:
    return number(mapping, f"{TRAIN}.{entry}")


def without(mapping: Mapping[str, object], *entries: str) -> Entries:
    """Return the mapping less some entries of the train, or of the engine where they start with stack."""
    paths = tuple(entry if entry.startswith("stack.") else f"{TRAIN}.{entry}" for entry in entries)
    return {path: value for path, value in mapping.items() if path not in paths}


def length(mapping: Mapping[str, object]) -> float:
    return float(required(build(mapping).train(TRAIN)).lengths["centres"])  # type: ignore[arg-type]


def worn(rng: np.random.Generator, **kind: str) -> Entries:
    """Return a random gear with both faces cut, a sunk valve and a lowered seat."""
    mapping = random_mapping(rng, **kind)  # type: ignore[arg-type]
    return mapping | {
        "stack.case_cut": float(rng.uniform(0.1, 0.8)),
        "stack.head_cut": float(rng.uniform(0.1, 0.8)),
        f"{TRAIN}.valve.sink": float(rng.uniform(0.1, 1.0)),
        f"{TRAIN}.lifter.lowered": float(rng.uniform(0.1, 1.5)),
    }


def with_cup(mapping: Mapping[str, object]) -> Entries:
    """Say arm, station and arm angle by the cup's place in the head, read before the valve was sunk."""
    new = dict(mapping) | {f"{TRAIN}.valve.sink": 0.0}
    shaft = raw_loop.points(new, TRAIN).P
    in_head = [own(mapping, f"rocker.shaft.{axis}") for axis in "xyz"]
    cup = raw_loop.closed_angle(new, TRAIN).U - shaft + in_head
    said = without(mapping, "rocker.pushrod_arm", "rocker.pushrod_station", "rocker.arm_angle")
    return said | {f"{TRAIN}.rocker.cup.{axis}": float(at) for axis, at in zip("xyz", cup, strict=True)}


def with_cup_alone(mapping: Mapping[str, object]) -> Entries:
    """Return only the cup's three entries; used beside entries that already lack the arms."""
    said = with_cup(mapping)
    return {path: value for path, value in said.items() if ".rocker.cup." in path}


def with_span(mapping: Mapping[str, object]) -> Entries:
    """Say the arm angle by the span over both contact centres and the way the arms go."""
    long, short, angle = (own(mapping, f"rocker.{one}") for one in ("valve_arm", "pushrod_arm", "arm_angle"))
    span = sqrt((long - short * cos(angle)) ** 2 + (short * sin(angle)) ** 2)
    arms = "droop" if angle < pi else "rise"
    said = without(mapping, "rocker.arm_angle")
    return said | {f"{TRAIN}.rocker.span": span, f"{TRAIN}.rocker.arms": arms}


def with_ratio_for(arm: str) -> Callable[[Mapping[str, object]], Entries]:
    def said(mapping: Mapping[str, object]) -> Entries:
        ratio = own(mapping, "rocker.valve_arm") / own(mapping, "rocker.pushrod_arm")
        return without(mapping, f"rocker.{arm}") | {f"{TRAIN}.rocker.ratio": ratio}

    return said


def with_tip_height(mapping: Mapping[str, object]) -> Entries:
    """Say the valve's length by how high its tip stands over the head's face, before it was sunk."""
    slant = sqrt(1 + sum(tan(own(mapping, f"valve.lean.{axis}")) ** 2 for axis in "xy"))
    height = own(mapping, "valve.face.z") + own(mapping, "valve.length") / slant
    return without(mapping, "valve.length") | {f"{TRAIN}.valve.tip_height": height}


def crown_at_top(throw: float, rod: float, aside: float, height: float) -> float:
    """Return how high the crown gets, by searching the turn of the crank."""

    def below(turn: float) -> float:
        return -(throw * cos(turn) + sqrt(rod**2 - (throw * sin(turn) - aside) ** 2))

    found = minimize_scalar(below, bounds=(-0.5, 0.5), method="bounded", options={"xatol": 1e-12})
    return -float(found.fun) + height


def with_bridge(mapping: Mapping[str, object], offset: float = 1.6, under: str = "") -> Entries:
    """Say the case deck by a depth over the piston, measured on the stack of the mapping."""
    throw, rod, height = 46.3, 163.7, 38.2
    top = crown_at_top(throw, rod, offset, height)
    face = number(mapping, "stack.case_deck") - number(mapping, "stack.case_cut")
    face += number(mapping, "stack.base_gasket") + number(mapping, "stack.cylinder")
    return without(mapping, "stack.case_deck") | {
        f"{under}stack.measured_deck.below": face - top,
        "crank.stroke": 2 * throw,
        "crank.conrod_length": rod,
        f"{under}piston.compression_height": height,
        f"{under}piston.pin_offset": offset,
    }


def tied(mapping: Mapping[str, object]) -> Entries:
    """Return the mapping with everything a reading was taken on written down, as the job file does."""
    ties, _ = as_taken(mapping)  # type: ignore[arg-type]
    return dict(mapping) | {path: mapping[source] for path, source in ties.items()}


SAID: dict[str, Callable[[Mapping[str, object]], Entries]] = {
    "cup": with_cup,
    "span": with_span,
    "ratio for the pushrod arm": with_ratio_for("pushrod_arm"),
    "ratio for the valve arm": with_ratio_for("valve_arm"),
    "tip height": with_tip_height,
    "bridge": with_bridge,
    "bridge, pin central": lambda mapping: with_bridge(mapping, 0.0),
    "bridge, of one cylinder": lambda mapping: with_bridge(mapping, -2.1, "front."),
    "span and ratio and tip height": lambda one: with_tip_height(
        with_ratio_for("pushrod_arm")(with_span(one))
    ),
    "cup and tip height": lambda one: with_tip_height(with_cup(one)),
    "cup and ratio for the valve arm": lambda one: with_ratio_for("valve_arm")(one) | with_cup_alone(one),
}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("way", SAID)
def test_each_way_gives_the_same_pushrod(way: str, seed: int) -> None:
    mapping = worn(np.random.default_rng([31, seed]))
    assert length(SAID[way](mapping)) == pytest.approx(length(mapping), abs=CLOSE_MM)
    plain = mapping | {"stack.case_cut": 0.0, "stack.head_cut": 0.0, f"{TRAIN}.valve.sink": 0.0}
    assert length(SAID[way](plain)) == pytest.approx(length(plain), abs=CLOSE_MM)


@pytest.mark.parametrize("arms", ["droop", "rise"])
def test_span_both_ways(arms: str) -> None:
    angle = radians(151.0 if arms == "droop" else 203.5)
    for seed in SEEDS:
        mapping = worn(np.random.default_rng([32, seed])) | {f"{TRAIN}.rocker.arm_angle": angle}
        said = with_span(mapping)
        assert said[f"{TRAIN}.rocker.arms"] == arms
        assert length(said) == pytest.approx(length(mapping), abs=CLOSE_MM)


def test_span_over_straight_arms() -> None:
    """A straight rocker's span is the sum of its arms, typed as such; tenths of a µm for rounding of acos."""
    for seed in range(40):
        rng = np.random.default_rng([43, seed])
        long, short = round(float(rng.uniform(30.0, 45.0)), 2), round(float(rng.uniform(18.0, 28.0)), 2)
        mapping = worn(rng) | {f"{TRAIN}.rocker.valve_arm": long, f"{TRAIN}.rocker.pushrod_arm": short}
        straight = length(mapping | {f"{TRAIN}.rocker.arm_angle": pi})
        said = without(mapping, "rocker.arm_angle") | {f"{TRAIN}.rocker.span": long + short}
        assert length(said) == pytest.approx(straight, abs=2e-6)


def test_impossible_span_says_by_how_much() -> None:
    mapping = with_span(worn(np.random.default_rng(33)))
    arms = own(mapping, "rocker.valve_arm") + own(mapping, "rocker.pushrod_arm")
    with pytest.raises(UnreachableError) as caught:
        build(mapping | {f"{TRAIN}.rocker.span": arms + 0.25})  # type: ignore[arg-type]
    assert caught.value.margin_mm == pytest.approx(-0.25, abs=CLOSE_MM)


def test_alternatives_in_a_batch() -> None:
    """Each element of a batch is the single engine; an impossible span is NaN in its element alone."""
    mapping = worn(np.random.default_rng(34))
    for way in (with_cup, with_tip_height, with_bridge):
        said = way(mapping)
        grown = number(said, "stack.cylinder") + np.array([[0.0, 1.0], [2.0, 3.0], [4.0, 5.0]])
        batch = required(build(tied(said) | {"stack.cylinder": grown}).train(TRAIN))  # type: ignore[arg-type]
        for at in np.ndindex(grown.shape):
            one = length(tied(said) | {"stack.cylinder": float(grown[at])})
            assert batch.lengths["centres"][at] == pytest.approx(one, abs=CLOSE_MM)
    said = with_span(mapping)
    spans = own(said, "rocker.span") + np.array([0.0, 100.0])
    batch = required(build(said | {f"{TRAIN}.rocker.span": spans}).train(TRAIN))  # type: ignore[arg-type]
    assert np.isfinite(batch.lengths["centres"]).tolist() == [True, False]


@pytest.mark.parametrize("seed", SEEDS)
def test_bridge_stays_with_the_stack_it_was_read_on(seed: int) -> None:
    """A job whose stack, crank and piston change after the reading keeps its case deck."""
    rng = np.random.default_rng([35, seed])
    mapping = worn(rng)
    said = tied(with_bridge(mapping))
    changes: Entries = {
        path: number(mapping, path) + float(rng.uniform(0.05, 3.0))
        for path in ("stack.base_gasket", "stack.cylinder", "stack.head_gasket", "stack.case_cut")
    }
    piston: Entries = {"crank.stroke": 101.0, "piston.compression_height": 34.0, "piston.pin_offset": 0.0}
    assert length(said | changes | piston) == pytest.approx(length(mapping | changes), abs=CLOSE_MM)


@pytest.mark.parametrize(
    "under",
    [
        "",
        "front.",
    ],
)
def test_bridge_without_a_pin_offset_takes_the_pin_as_central(under: str) -> None:
    mapping = worn(np.random.default_rng(36))
    said = with_bridge(mapping, 0.0, under)
    del said[f"{under}piston.pin_offset"]
    assert length(said) == pytest.approx(length(mapping), abs=CLOSE_MM)


def read_rod(rng: np.random.Generator) -> Entries:
    """Return an invented engine known by one measured pushrod, on a stack that has grown since."""
    rod = f"{TRAIN}.measured_pushrod"
    return {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "stack.base_gasket": 0.45,
        "stack.cylinder": 131.0,
        "stack.head_gasket": 1.1,
        f"{TRAIN}.lifter.kind": "hydraulic",
        f"{TRAIN}.lifter.preload": 1.1,
        f"{rod}.length": float(rng.uniform(240.0, 290.0)),
        f"{rod}.as": "centres",
        f"{rod}.plunger": "top",
        f"{rod}.lean": radians(3.1),
        f"{rod}.stack.cylinder": 126.3,
        f"{rod}.stack.head_gasket": 0.8,
    }


@pytest.mark.parametrize("thread", ["pitch", "threads_per_inch"])
@pytest.mark.parametrize("seed", SEEDS)
def test_checking_rod(thread: str, seed: int) -> None:
    mapping = read_rod(np.random.default_rng([37, seed]))
    turns = 0.35 + 1.7 * seed
    pitch, entered = {"pitch": (0.75, 0.75), "threads_per_inch": (25.4 / 28, 28.0)}[thread]
    rod = f"{TRAIN}.measured_pushrod.checking_rod"
    said = without(mapping, "measured_pushrod.length") | {
        f"{rod}.closed": own(mapping, "measured_pushrod.length") - turns * pitch,
        f"{rod}.turns": turns,
        f"{rod}.{thread}": entered,
    }
    assert length(said) == pytest.approx(length(mapping), abs=CLOSE_MM)


def test_ratio_of_a_measured_engine_comes_from_arms_or_cup() -> None:
    """Lash over ratio: entered, from both arms, or from the valve arm and the cup's place."""
    drawn = worn(np.random.default_rng(38), kind="solid", lash_at="valve")
    solid = without(read_rod(np.random.default_rng(38)), "lifter.preload")
    solid |= {f"{TRAIN}.lifter.kind": "solid", f"{TRAIN}.lifter.lash": 0.4}
    arms = {path: drawn[path] for path in (f"{TRAIN}.rocker.valve_arm", f"{TRAIN}.rocker.pushrod_arm")}
    ratio = own(drawn, "rocker.valve_arm") / own(drawn, "rocker.pushrod_arm")
    rocker = {path: value for path, value in with_cup(drawn).items() if ".rocker." in path}
    plain = length(solid | {f"{TRAIN}.rocker.ratio": ratio})
    assert length(solid | arms) == pytest.approx(plain, abs=CLOSE_MM)
    by_cup = build(solid | rocker).train(TRAIN)  # type: ignore[arg-type]
    assert float(required(by_cup).lengths["centres"]) == pytest.approx(plain, abs=CLOSE_MM)
    assert length(solid | {f"{TRAIN}.rocker.ratio": 1e9}) - plain == pytest.approx(0.4 / ratio, abs=1e-8)


def said_twice(mapping: Mapping[str, object]) -> Entries:
    """Return the mapping with every alternative given beside the plain entries, all agreeing."""
    ratio = own(mapping, "rocker.valve_arm") / own(mapping, "rocker.pushrod_arm")
    lean, diameter, depth = (0.31, -0.12), 34.0, 6.5
    slope = sqrt(tan(lean[0]) ** 2 + tan(lean[1]) ** 2)
    axis = np.array([tan(lean[0]), tan(lean[1])]) / slope
    # Along the slope of the floor: depth/tan λ back from the axis' mouth less what the floor's half takes.
    whole = np.arctan(slope)
    sunk = (depth - diameter / 2 * sin(whole)) / cos(whole)
    deepest = np.array([4.0, -9.0]) - sunk * sin(whole) * axis + diameter / 2 * cos(whole) * axis
    rod = f"{TRAIN}.measured_pushrod"
    pocket: Entries = {
        f"{TRAIN}.pocket.lean.x": lean[0],
        f"{TRAIN}.pocket.lean.y": lean[1],
        f"{TRAIN}.pocket.diameter": diameter,
        f"{TRAIN}.pocket.depth": depth,
        f"{TRAIN}.pocket.centre.x": 4.0,
        f"{TRAIN}.pocket.centre.y": -9.0,
        f"{TRAIN}.pocket.deepest.x": float(deepest[0]),
        f"{TRAIN}.pocket.deepest.y": float(deepest[1]),
    }
    rods: Entries = {
        f"{rod}.length": 262.0,
        f"{rod}.as": "centres",
        f"{rod}.plunger": "top",
        f"{rod}.lean": 0.04,
        f"{rod}.checking_rod.closed": 255.0,
        f"{rod}.checking_rod.turns": 5.6,
        f"{rod}.checking_rod.pitch": 1.25,
        f"{rod}.checking_rod.threads_per_inch": 25.4 / 1.25,
        f"{TRAIN}.rocker.adjuster.pitch": 25.4 / 24,
        f"{TRAIN}.rocker.adjuster.threads_per_inch": 24.0,
    }
    bridge = {path: value for path, value in with_bridge(mapping).items() if path not in mapping}
    return {
        **mapping,
        **with_cup_alone(mapping),
        **{path: value for path, value in with_span(mapping).items() if path not in mapping},
        f"{TRAIN}.rocker.ratio": ratio,
        f"{TRAIN}.valve.tip_height": with_tip_height(mapping)[f"{TRAIN}.valve.tip_height"],
        **pocket,
        **rods,
        **bridge,
    }


@pytest.mark.parametrize("seed", SEEDS)
def test_no_disagreement_where_both_ways_say_the_same(seed: int) -> None:
    mapping = said_twice(worn(np.random.default_rng([39, seed])))
    assert list(disagreements(mapping)) == []  # type: ignore[arg-type]


LENGTH_MM, ANGLE_RAD = 0.05, radians(0.2)
ROD = ("measured_pushrod.length", "measured_pushrod.checking_rod.closed")
TIP = ("valve.length", "valve.tip_height")
DECK = ("stack.case_deck", "stack.measured_deck.below")
# Entry that is moved, how far the pair may differ, the pairs that then contradict.
CONTRADICTIONS = {
    "rocker.ratio": (0.002, {("rocker.ratio", "rocker.valve_arm")}),
    "rocker.pushrod_station": (LENGTH_MM, {("rocker.pushrod_station", "rocker.cup")}),
    "rocker.arm_angle": (ANGLE_RAD, {("rocker.arm_angle", "rocker.cup")}),
    "rocker.span": (LENGTH_MM, {("rocker.span", "rocker.arm_angle")}),
    "valve.length": (LENGTH_MM, {TIP}),
    "valve.tip_height": (LENGTH_MM, {TIP}),
    "measured_pushrod.length": (LENGTH_MM, {ROD}),
    "measured_pushrod.checking_rod.closed": (LENGTH_MM, {ROD}),
    "rocker.adjuster.pitch": (0.002, {("rocker.adjuster.pitch", "rocker.adjuster.threads_per_inch")}),
    "pocket.deepest.x": (LENGTH_MM, {("pocket.deepest.x", "pocket.centre.x")}),
    "pocket.centre.y": (LENGTH_MM, {("pocket.deepest.y", "pocket.centre.y")}),
    "stack.case_deck": (LENGTH_MM, {DECK}),
    "stack.measured_deck.below": (LENGTH_MM, {DECK}),
}


def room(mapping: Mapping[str, object], entry: str) -> float:
    """Return how far an entry may move before its pair differs by more than the slack."""
    slack, _ = CONTRADICTIONS[entry]
    if entry in ("rocker.ratio", "rocker.adjuster.pitch"):
        return slack * own(mapping, entry)
    if entry == "valve.tip_height":  # the height of the tip moves less than the length along the stem
        return slack * float(raw_loop.points(mapping, TRAIN).n[2])
    return slack


def contradictions(mapping: Mapping[str, object]) -> set[tuple[str, str]]:
    found = list(disagreements(mapping))  # type: ignore[arg-type]
    assert all(isinstance(one, DisagreementError) for one in found)
    pairs = [tuple(path.removeprefix(f"{TRAIN}.") for path in one.entries) for one in found]
    assert len(set(pairs)) == len(pairs)
    return {(first, second) for first, second in pairs}


@pytest.mark.parametrize("entry", CONTRADICTIONS)
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_each_contradiction_is_found_at_its_slack(entry: str, sign: float) -> None:
    """Just inside the slack the two agree, just outside they are reported, and no other pair is."""
    path = entry if entry.startswith("stack.") else f"{TRAIN}.{entry}"
    for seed in SEEDS:
        mapping = said_twice(worn(np.random.default_rng([40, seed])))
        at, slack = number(mapping, path), sign * room(mapping, entry)
        # A ratio's slack is of the ratio entered, so that it is itself a little off: 0.2 % of 0.2 %.
        assert contradictions(mapping | {path: at + 0.99 * slack}) == set()
        assert contradictions(mapping | {path: at + 1.01 * slack}) == CONTRADICTIONS[entry][1]


def test_a_span_and_a_ratio_are_held_against_the_cup_where_nothing_else_stands() -> None:
    mapping = said_twice(worn(np.random.default_rng(44)))
    for gone in ("arm_angle", "pushrod_arm", "pushrod_station"):
        del mapping[f"{TRAIN}.rocker.{gone}"]
    assert contradictions(mapping) == set()
    longer = {f"{TRAIN}.rocker.span": own(mapping, "rocker.span") - 3.0}
    assert contradictions(mapping | longer) == {("rocker.span", "rocker.cup")}
    steeper = {f"{TRAIN}.rocker.ratio": own(mapping, "rocker.ratio") * 1.1}
    assert ("rocker.ratio", "rocker.cup") in contradictions(mapping | steeper)


def test_a_wrong_pushrod_arm_contradicts_ratio_and_cup() -> None:
    mapping = said_twice(worn(np.random.default_rng(41)))
    found = contradictions(
        mapping | {f"{TRAIN}.rocker.pushrod_arm": own(mapping, "rocker.pushrod_arm") + 0.5}
    )
    assert ("rocker.ratio", "rocker.valve_arm") in found
    assert ("rocker.pushrod_arm", "rocker.cup") in found


def test_a_disagreement_carries_both_numbers() -> None:
    mapping = said_twice(worn(np.random.default_rng(42))) | {f"{TRAIN}.measured_pushrod.length": 262.25}
    (found,) = disagreements(mapping)  # type: ignore[arg-type]
    assert found.numbers == ("262.250 mm (10.3248 in)", "262.000 mm (10.3150 in)")
    assert str(found) == (
        "measured pushrod: front.intake.measured_pushrod.length says 262.250 mm (10.3248 in), "
        "front.intake.measured_pushrod.checking_rod.closed says 262.000 mm (10.3150 in); "
        "keep the one you measured and leave the other out"
    )


def test_dead_centre_of_the_bridge_oracle() -> None:
    """The searched top used above is the closed form's: a check of the oracle, not of the code."""
    throw, rod, aside = 46.3, 163.7, 1.6
    turn = asin(aside / (rod + throw))
    assert crown_at_top(throw, rod, aside, 0.0) == pytest.approx((rod + throw) * cos(turn), abs=1e-11)


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
