"""The symbolic derivation against the numbers, and its derivatives against central differences.

`geometry/pushrod/derive.py` shares no formula with `geometry/gear/train.py` and `geometry/gear/bench.py`: it follows
angles about the shaft where they follow vectors. Where both give one length, and every slope of it,
to all the digits a difference leaves, neither has slipped.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from math import radians

import numpy as np
import pytest
import sympy as sp  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry import MissingEntryError, UnreachableError, build, required
from tallstack.geometry.core.frames import Array
from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.doubt.derivatives import derivatives
from tallstack.geometry.engine.defaults import completed
from tallstack.geometry.engine.engine import COORDINATES, MEASURED
from tallstack.geometry.pushrod import derive
from tallstack.geometry.pushrod.derive import Derivation, derivation, entry_symbol

from ...geometry.engine.test_alternatives import (
    Entries,
    own,
    tied,
    with_bridge,
    with_cup,
    with_ratio_for,
    with_span,
    with_tip_height,
    without,
    worn,
)
from ...oracles.random_trains import TRAIN, random_mapping, random_unreachable
from ...seeded import few

CLOSE_MM = 1e-9
SLOPE_RELATIVE, SLOPE_ABSOLUTE = 1e-6, 1e-8
ROD = f"{TRAIN}.measured_pushrod"


@cache
def slopes_of(expression: sp.Expr) -> tuple[list[str], Callable[..., list[float]]]:
    """Return the symbols of an expression and a function of them: itself, then its slopes.

    The expression is taken apart into its repeated parts and each part is differentiated, which is a
    hundred times faster than differentiating the whole; `test_slopes_of_the_whole_expression` does that.
    """
    symbols = sorted(expression.free_symbols, key=str)
    pieces, (last,) = sp.cse(expression)
    rates: dict[sp.Symbol, dict[sp.Symbol, sp.Expr]] = {one: {one: sp.Integer(1)} for one in symbols}
    lines: list[tuple[sp.Symbol, sp.Expr]] = []

    def named(value: sp.Expr) -> sp.Symbol:
        lines.append((sp.Dummy(), value))
        return lines[-1][0]

    whole = sp.Dummy()
    for name, piece in [*pieces, (whole, last)]:
        lines.append((name, piece))
        totals: dict[sp.Symbol, sp.Expr] = {}
        for inner in piece.free_symbols:
            partial = named(sp.diff(piece, inner))
            for symbol, rate in rates[inner].items():
                totals[symbol] = totals.get(symbol, 0) + partial * rate
        rates[name] = {symbol: named(total) for symbol, total in totals.items()}
    answers = [whole, *(rates[whole][symbol] for symbol in symbols)]
    return [str(one) for one in symbols], sp.lambdify(symbols, answers, cse=lambda _: (lines, answers))


def symbolic(found: Derivation) -> tuple[float, dict[str, float]]:
    """Return the length and its slope by every entry that enters, from the one expression."""
    names, function = slopes_of(found.length())
    length, *slopes = function(*(found.entries[name] for name in names))
    kept = dict(zip(names, slopes, strict=True))
    return length, {path: kept.get(path, 0.0) for path in found.entries}


def numbers(mapping: Mapping[str, object]) -> list[str]:
    return [path for path, value in mapping.items() if not isinstance(value, (str, tuple))]


def agree(mapping: Entries) -> Derivation:
    """Hold length and all slopes of one engine against the numeric route; return the derivation."""
    full, _ = completed(mapping)  # type: ignore[arg-type]
    found = derivation(mapping, TRAIN)  # type: ignore[arg-type]
    length, slopes = symbolic(found)

    def numeric(varied: Flat) -> dict[str, Array]:
        return {"length": required(build(varied).train(TRAIN)).lengths[found.convention]}

    answer = float(numeric(full)["length"])
    assert length == pytest.approx(answer, abs=CLOSE_MM)
    assert found.steps[-1].value == pytest.approx(answer, abs=CLOSE_MM)
    alone = {path: {path: 1.0} for path in numbers(full)}
    differences = derivatives(full, alone, numeric)["length"]
    assert set(slopes) <= set(differences)
    for path, difference in differences.items():
        slope = slopes.get(path, 0.0)  # what does not enter the derivation must not move the length
        near = pytest.approx(difference, rel=SLOPE_RELATIVE, abs=SLOPE_ABSOLUTE)
        assert slope == near, f"{path}: {slope} symbolic, {difference} by differences"
    return found


KINDS = {
    "hydraulic": {"kind": "hydraulic"},
    "solid, lash at the valve": {"kind": "solid", "lash_at": "valve"},
    "solid, lash at the pushrod": {"kind": "solid", "lash_at": "pushrod"},
}


@pytest.mark.parametrize("kind", few(KINDS, 1))
def test_random_gears_by_coordinates(kind: str) -> None:
    """Ten gears of each kind, of either side of the stem and either sense of the opening turn."""
    seen = set()
    for seed in range(10):
        mapping = random_mapping(np.random.default_rng([61, seed]), **KINDS[kind])  # type: ignore[arg-type]
        found = agree(mapping)
        assert found.basis == COORDINATES
        seen.add(tuple(step.value for step in found.steps if step.symbol in ("σ", "τ")))
        growth = required(build(mapping).train(TRAIN)).growth_per_stack  # type: ignore[arg-type]
        assert symbolic(found)[1]["stack.cylinder"] == pytest.approx(float(growth), abs=1e-12)
    assert {contact for contact, _ in seen} == {opening for _, opening in seen} == {1, -1}


def with_shaft_lean(mapping: Mapping[str, object]) -> Entries:
    """Say the shaft's direction as a lean pair, which points up: stations count the other way if it did not."""
    said = without(mapping, *(f"rocker.direction.{axis}" for axis in "xyz"))
    along = np.array([own(mapping, f"rocker.direction.{axis}") for axis in "xyz"])
    pair = np.arctan(along[:2] / along[2])
    said |= {f"{TRAIN}.rocker.direction.{axis}": float(at) for axis, at in zip("xy", pair, strict=True)}
    stations = ("rocker.valve_station", "rocker.pushrod_station")
    return said | {f"{TRAIN}.{one}": float(np.sign(along[2])) * own(mapping, one) for one in stations}


SAID: dict[str, tuple[str, Callable[[Entries], Entries]]] = {
    "ratio for the pushrod arm, span, tip height, bridge": (
        "hydraulic",
        lambda one: tied(with_bridge(with_tip_height(with_ratio_for("pushrod_arm")(with_span(one))))),
    ),
    "cup, tip height": ("solid, lash at the valve", lambda one: with_tip_height(with_cup(one))),
    "ratio for the valve arm, shaft as a lean pair, bridge untied": (
        "solid, lash at the pushrod",
        lambda one: with_bridge(with_ratio_for("valve_arm")(with_shaft_lean(one)), -1.3, "front."),
    ),
}


@pytest.mark.wide
@pytest.mark.parametrize("way", few(SAID, 1))
def test_alternatives_by_coordinates(way: str) -> None:
    """Three engines each, faces cut and valve sunk.

    Arms clear of straight, where an angle by its span has no slope and differences lose their digits.
    """
    kind, said = SAID[way]
    for seed in range(3):
        mapping = worn(np.random.default_rng([62, seed]), **KINDS[kind])
        mapping[f"{TRAIN}.rocker.arm_angle"] = radians((148.0, 157.0, 199.0)[seed])
        found = agree(said(mapping))
        assert found.steps[-1].value == pytest.approx(
            float(required(build(mapping).train(TRAIN)).lengths["centres"]),  # type: ignore[arg-type]
            abs=CLOSE_MM,
        )


def test_span_of_arms_that_rise() -> None:
    mapping = worn(np.random.default_rng(63), kind="hydraulic") | {
        f"{TRAIN}.rocker.arm_angle": radians(204.0)
    }
    said = with_span(mapping)
    assert said[f"{TRAIN}.rocker.arms"] == "rise"
    agree(said)


def read_rod(rng: np.random.Generator, rod: Entries, rest: Entries) -> Entries:
    """Return an invented engine known by one measured pushrod on a lower stack, with some entries more.

    rod, rest : entries of the measured pushrod, and of the train
    """

    def near(value: float, by: float) -> float:
        return float(value + rng.uniform(-by, by))

    return {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "stack.base_gasket": near(0.45, 0.1),
        "front.stack.cylinder": near(131.0, 3.0),
        "stack.head_gasket": near(1.1, 0.2),
        "stack.case_cut": near(0.3, 0.2),
        f"{ROD}.plunger": "top",
        f"{ROD}.stack.base_gasket": near(0.45, 0.1),
        f"{ROD}.stack.cylinder": near(126.3, 2.0),
        f"{ROD}.stack.head_gasket": near(0.8, 0.2),
        f"{ROD}.stack.case_cut": 0.0,
        **{f"{TRAIN}.{entry}": value for entry, value in rest.items()},
        **{f"{ROD}.{entry}": value for entry, value in rod.items()},
    }


HYDRAULIC: Entries = {"lifter.kind": "hydraulic", "lifter.preload": 1.15, "lifter.plunger_travel": 3.7}
SOLID: Entries = {"lifter.kind": "solid", "lifter.lash": 0.21}
BALLS: Entries = {
    "pushrod.ball_diameter_low": 7.94,
    "pushrod.ball_diameter_high": 9.52,
    "pushrod.hole_low": 1.6,
    "pushrod.hole_high": 2.4,
    "pushrod.gauge": 3.55,
}
IN_VIEWS: Entries = {"lean.x": radians(2.4), "lean.y": radians(-3.3)}
LIFTER: Entries = {"lifter.lean.x": radians(-4.0), "lifter.lean.y": radians(6.0)}

# Of the measured pushrod, of the rest of the train.
READ: dict[str, tuple[Entries, Entries]] = {
    "between centres, in line with the lifter, lean not entered": (
        {"length": 262.3, "as": "centres"},
        HYDRAULIC,
    ),
    "checking rod by pitch, in two views, seat lowered and valve sunk since": (
        {
            "checking_rod.closed": 251.0,
            "checking_rod.turns": 7.35,
            "checking_rod.pitch": 1.25,
            "as": "overall",
            "plunger.down": 0.6,
            "lifter.lowered": 0.1,
            "valve.sink": 0.05,
            **IN_VIEWS,
        },
        {**HYDRAULIC, **BALLS, **LIFTER, "lifter.lowered": 0.7, "valve.sink": 0.45, "rocker.ratio": 1.62},
    ),
    "over gauge seats with ends of its own, bottomed, whole leans only": (
        {
            "length": 259.1,
            "as": "gauge",
            "plunger": "bottomed",
            "lean": radians(4.2),
            "ball_diameter_low": 7.14,
            "ball_diameter_high": 7.93,
            "gauge": 3.2,
        },
        {**HYDRAULIC, **BALLS, **LIFTER},
    ),
    "theoretical with a cup, lash over the entered ratio": (
        {"length": 266.0, "as": "theoretical", "lean": radians(1.1), "end_high": "cup"},
        {**SOLID, **BALLS, "rocker.ratio": 1.58},
    ),
    "overall to a cup's rim, lash over the ratio of the arms, valve sunk since": (
        {"length": 266.0, "as": "overall", "lean": radians(5.0), "valve.sink": 0.0, **IN_VIEWS},
        {
            **SOLID,
            **BALLS,
            **LIFTER,
            "pushrod.end_high": "cup",
            "pushrod.cup_rim": -0.7,
            "rocker.valve_arm": 37.0,
            "rocker.pushrod_arm": 22.4,
            "valve.sink": 0.4,
        },
    ),
    "checking rod by threads, lash over the ratio of arm and cup": (
        {
            "checking_rod.closed": 251.0,
            "checking_rod.turns": 5.2,
            "checking_rod.threads_per_inch": 20.0,
            "as": "centres",
            "lean": radians(2.0),
        },
        {
            **SOLID,
            "rocker.valve_arm": 37.0,
            "rocker.cup.x": 21.0,
            "rocker.cup.y": 14.0,
            "rocker.cup.z": 131.0,
            "rocker.shaft.x": -1.5,
            "rocker.shaft.y": 3.0,
            "rocker.shaft.z": 128.0,
            "rocker.direction.x": 0.1,
            "rocker.direction.y": 1.9,
            "rocker.direction.z": -0.2,
        },
    ),
    "lash at the pushrod, sink then but not now, no ratio": (
        {"length": 266.0, "as": "centres", "lean": radians(2.7), "valve.sink": 0.2},
        {**SOLID, "lifter.lash_at": "pushrod"},
    ),
    "as read, its ends not measured": (
        {"length": 266.0, "as": "overall", "lean": radians(2.7)},
        {**HYDRAULIC, **LIFTER},
    ),
}


@pytest.mark.parametrize("make", READ)
@pytest.mark.parametrize("seed", few(range(2), 1))
def test_measured_pushrods(make: str, seed: int) -> None:
    """Two stacks each. The slope by the stack is the growth per stack where rod and lifter are in line.

    Elsewhere that figure is the rod's before the plunger moved, p·sin²θ/L smaller or larger: below 2e-4.
    """
    rod, rest = READ[make]
    mapping = read_rod(np.random.default_rng([64, seed]), rod, rest)
    found = agree(mapping)
    assert found.basis == MEASURED
    slope = symbolic(found)[1]["front.stack.cylinder"]
    growth = float(required(build(mapping).train(TRAIN)).growth_per_stack)  # type: ignore[arg-type]
    assert slope == pytest.approx(growth, abs=2e-4 if f"{TRAIN}.lifter.lean.x" in mapping else 1e-12)


@pytest.mark.parametrize("places", [1, 2])
@pytest.mark.parametrize("kind", ["solid", "hydraulic"])
def test_a_ratio_that_was_dialled(kind: str, places: int) -> None:
    """Of two places the higher tells it; where nobody read a hydraulic lifter's lash there is none."""
    rod: Entries = {"length": 266.0, "as": "centres", "lean": radians(2.7), "valve.sink": 0.0}
    setting: Entries = {**SOLID, "valve.sink": 0.3} if kind == "solid" else {**HYDRAULIC, "valve.sink": 0.3}
    dialled: Entries = {"lobe.intake.measured_at": "valve"}
    dialled |= {"lobe.intake.lash_read": 0.15} if kind == "solid" else {}
    for index, (lifter, valve) in enumerate([(6.6, 10.45), (3.3, 5.02)][:places]):
        stem = "lobe.intake.dialled" if places == 1 else f"lobe.intake.dialled.{index}"
        dialled |= {f"{stem}.lifter": lifter, f"{stem}.valve": valve}
    found = agree(read_rod(np.random.default_rng(73), rod, setting) | dialled)
    (ratio,) = (step.value for step in found.steps if step.symbol == "i")
    assert ratio == pytest.approx((10.45 + (0.15 if kind == "solid" else 0.0)) / 6.6)


def test_a_plunger_on_its_bottom_before_is_that_of_the_lifter_that_stood_there() -> None:
    rod: Entries = {"length": 266.0, "as": "centres", "lean": radians(2.7), "plunger": "bottomed"}
    mapping = read_rod(np.random.default_rng(74), rod, {**HYDRAULIC, "lifter.plunger_travel": 4.0})
    parts = {f"{ROD}.stack.head_cut": 0.0, f"before.{TRAIN}.lifter.plunger_travel": 5.0}
    same = ("stack.base_gasket", "stack.cylinder", "stack.head_gasket")
    found = agree(mapping | parts | {f"{ROD}.on": "before", "before_same": same})
    assert found.entries[f"before.{TRAIN}.lifter.plunger_travel"] == 5.0


def test_a_rod_measured_at_its_preload_is_the_rod() -> None:
    """Plunger as far down as it is to be: whatever the angle to the lifter, only the stack has moved."""
    rest = {**HYDRAULIC, "lifter.lean.x": radians(6.0), "lifter.lean.y": 0.0, "lifter.preload": 3.5}
    rod: Entries = {
        "length": 270.0,
        "as": "centres",
        "plunger.down": 3.5,
        "lean.x": radians(-3.0),
        "lean.y": 0.0,
    }
    mapping = read_rod(np.random.default_rng(71), rod, rest)
    parts = [("front.stack.cylinder", "cylinder", 1), ("stack.case_cut", "case_cut", -1)]
    parts += [(f"stack.{one}", one, 1) for one in ("base_gasket", "head_gasket")]
    growth = sum(
        sign * (float(str(mapping[now])) - own(mapping, f"measured_pushrod.stack.{part}"))
        for now, part, sign in parts
    )
    carried = np.hypot(270.0 * np.sin(radians(3.0)), 270.0 * np.cos(radians(3.0)) + growth)
    found = required(build(mapping).train(TRAIN))  # type: ignore[arg-type]
    assert float(found.lengths["centres"]) == pytest.approx(carried, abs=CLOSE_MM)


def test_measured_pushrod_goes_before_coordinates() -> None:
    drawn = worn(np.random.default_rng(65), kind="hydraulic")
    mapping = drawn | {f"{ROD}.length": 255.0, f"{ROD}.as": "centres", f"{ROD}.plunger": "top"}
    found = agree(mapping)
    assert found.basis == MEASURED
    assert f"{TRAIN}.rocker.arm_angle" not in found.entries


def test_steps_stand_in_order_and_carry_their_numbers() -> None:
    """Every symbol is an entry or an earlier step, and each value is its expression's."""
    for mapping in (
        worn(np.random.default_rng(66), kind="solid", lash_at="valve"),
        with_cup(worn(np.random.default_rng(66), kind="hydraulic")),
        read_rod(
            np.random.default_rng(66),
            *READ["over gauge seats with ends of its own, bottomed, whole leans only"],
        ),
    ):
        found = derivation(mapping, TRAIN)  # type: ignore[arg-type]
        known = {entry_symbol(path): value for path, value in found.entries.items()}
        for step in found.steps:
            assert step.words
            assert step.unit in {"mm", "rad", ""}
            parts = list(step.expression) if len(step.names) > 1 else [step.expression]
            values = step.value if isinstance(step.value, tuple) else (step.value,)
            for name, part, value in zip(step.names, parts, values, strict=True):
                assert part.free_symbols <= set(known), step.symbol
                assert sp.Symbol(name, real=True) not in known
                assert float(part.subs(known)) == pytest.approx(value, rel=1e-12, abs=1e-12)
            known |= {sp.Symbol(name, real=True): one for name, one in zip(step.names, values, strict=True)}
        assert found.steps[-1].symbol == "L"
        used = {str(symbol) for step in found.steps for symbol in sp.Matrix([step.expression]).free_symbols}
        assert set(found.entries) <= used
        unused = {step.symbol for step in found.steps if not used & set(step.names)}
        assert unused in ({"L"}, {"L", "φ"})  # with lash at the valve φ only settles the signs


def test_length_is_in_entries_alone() -> None:
    mapping = worn(np.random.default_rng(67))
    expression = derivation(mapping, TRAIN).length()  # type: ignore[arg-type]
    assert {str(symbol) for symbol in expression.free_symbols} <= set(numbers(completed(mapping)[0]))  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", few(KINDS, 1))
def test_slopes_of_the_whole_expression(kind: str) -> None:
    """A few entries, by differentiating the one expression as it stands."""
    mapping = worn(np.random.default_rng(70), **KINDS[kind])
    found = derivation(mapping, TRAIN)  # type: ignore[arg-type]
    _, slopes = symbolic(found)
    at = {entry_symbol(path): value for path, value in found.entries.items()}
    for path in ("stack.cylinder", f"{TRAIN}.lifter.seat.x", f"{TRAIN}.rocker.tip_radius"):
        slope = sp.diff(found.length(), entry_symbol(path))
        assert float(slope.xreplace(at)) == pytest.approx(slopes[path], rel=1e-9, abs=1e-12)


def test_refusals() -> None:
    unreachable = random_unreachable(np.random.default_rng(69), why="closed")
    with pytest.raises(UnreachableError, match="the rocker cannot meet the stem tip"):
        derivation(unreachable, TRAIN)  # type: ignore[arg-type]
    mapping = worn(np.random.default_rng(69), kind="hydraulic")
    with pytest.raises(MissingEntryError, match="tip_radius"):
        derivation(without(mapping, "rocker.tip_radius"), TRAIN)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        derivation(mapping | {"stack.cylinder": np.array([130.0, 131.0])}, TRAIN)


def test_an_arm_angle_by_the_cup_is_told_within_one_turn() -> None:
    for seed in range(2):
        mapping = worn(np.random.default_rng(seed), kind="hydraulic")
        (told,) = (
            step
            for step in derive.derivation(with_cup(mapping), TRAIN).steps  # type: ignore[arg-type]
            if step.symbol == "ψ"
        )
        assert abs(told.value) == pytest.approx(mapping[f"{TRAIN}.rocker.arm_angle"])


def test_a_gauge_does_not_measure_a_cup() -> None:
    """Of `_end` alone, on a bare `_Chain`: an engine with a cup is not asked for its gauge."""
    mapping: Flat = {"a.end_low": "cup", "a.cup_rim": 1.5, "a.ball_diameter_low": 8.0, "a.gauge": 5.0}
    found = {
        one: derive._end(derive._Chain(mapping, None), Reader(mapping, ("a.",)), "low", one)
        for one in ("centres", "overall", "gauge")
    }
    assert found["centres"] == 0
    assert str(found["overall"]) == str(derive.entry_symbol("a.cup_rim"))
    assert found["gauge"] is None
