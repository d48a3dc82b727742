"""Kinds of entry: bounds at their edges, what each takes and refuses, near misses, and that the schema agrees."""

from __future__ import annotations

import json
import math

import jsonschema
import pytest
from tallstack.cli.job.entries.engine_tables import CYLINDER
from tallstack.cli.job.entries.fields import (
    SHOWN_SCALE,
    SHOWN_UNIT,
    Choice,
    Format,
    Kind,
    Name,
    Parts,
    Quantity,
    Sign,
    Text,
    YesNo,
    did_you_mean,
    nearest_names,
)
from tallstack.cli.job.reading.values import Blank, Dimension, Value, ValueFault

LENGTH = Quantity("a length", sign=Sign.POSITIVE, below=2000.0)


def number(kind: Kind, raw: object, units: str = "mm") -> float:
    found = kind.parse(raw, units)
    assert isinstance(found, Value)
    return found.number


@pytest.mark.parametrize(
    ("sign", "taken", "refused"),
    [(Sign.POSITIVE, [1, 1999.9], [0, -1, 2000]), (Sign.ZERO_UP, [0, 1], [-1, 2000]), (Sign.ANY, [-1999, 0], [-2000, 2000])],
)  # fmt: skip
def test_bounds_at_their_edges(sign: Sign, taken: list[float], refused: list[float]) -> None:
    kind = Quantity("a length", sign=sign, below=2000.0)
    assert [number(kind, one) for one in taken] == taken
    for one in refused:
        with pytest.raises(ValueFault, match=r"must be"):
            kind.parse(one, "mm")


def test_a_cylinder_may_lean_to_either_end_of_the_turn_and_no_further() -> None:
    """180 degrees, a cylinder that hangs upside down, is as good a lean as 179.9."""
    kind = CYLINDER.parts["lean"]
    assert isinstance(kind, Quantity)
    assert [number(kind, one) for one in (180, -180, 179.9)] == [math.pi, -math.pi, math.radians(179.9)]
    for one in (180.1, -180.1):
        with pytest.raises(ValueFault, match="must be between -180 and 180"):
            kind.parse(one, "mm")


def test_nearer_to_nought_than_anything_is_measured_is_refused() -> None:
    with pytest.raises(ValueFault, match="nearer to 0"):
        LENGTH.parse("1e-10", "mm")


def test_a_bare_number_far_too_large_in_inches_is_asked_about_mm() -> None:
    with pytest.raises(ValueFault, match="was it typed in mm"):
        LENGTH.parse(100, "in")
    with pytest.raises(ValueFault) as caught:
        LENGTH.parse("100 in", "in")
    assert "was it typed" not in str(caught.value)


def test_a_reading_by_an_instrument_is_a_length_that_was_measured() -> None:
    by = {"read": "4.9 in", "by": "mic A"}
    found = LENGTH.parse(by, "mm")
    assert isinstance(found, Value)
    assert (found.number, found.by) == (pytest.approx(124.46), "mic A")
    for kind, raw in (
        (Quantity("an angle", Dimension.ANGLE), by),
        (Quantity("a wish", wish=True), by),
        (LENGTH, {"read": 1}),
        (LENGTH, {"by": "mic A"}),
        (LENGTH, {**by, "at": 1}),
    ):
        with pytest.raises(ValueFault):
            kind.parse(raw, "mm")


def test_a_row_of_numbers_is_whole_or_blank() -> None:
    point = Parts("a point")
    found = point.parse([1, "1 in", 3], "mm")
    assert isinstance(found, tuple)
    assert [one.number for one in found] == pytest.approx([1.0, 25.4, 3.0])
    assert isinstance(point.parse(["", "", ""], "mm"), Blank)
    for raw, inside in (([1, "", 3], (1,)), ([1, "x", "y"], (1, 2)), ([1, 2], ()), (5, ())):
        with pytest.raises(ValueFault) as caught:
            point.parse(raw, "mm")
        assert tuple(place for place, _ in caught.value.inside) == inside


def test_two_of_a_direction_are_leans_and_three_are_plain() -> None:
    direction = Parts("a direction", (2, 3), Dimension.NUMBER)
    assert direction.dimension_of(2) is Dimension.ANGLE
    assert direction.dimension_of(3) is Dimension.NUMBER


@pytest.mark.parametrize(
    ("kind", "taken", "refused"),
    [
        (Choice("a word", ("top", "bottomed")), ["top", ""], ["up", 1, None]),
        (Format("the format"), [1], [2, True, "1", 1.0]),
        (YesNo("whether"), [True, False, ""], ["yes", 1]),
        (Text("words"), ["a b", ""], ["a\nb", "x" * 201, 5]),
        (Name("a name", ("stack",)), ["front-1", "zw\u00f6lf"], ["a b", "a.b", "stack"]),
    ],
)
def test_what_each_kind_takes_and_refuses_and_the_schema_agrees_where_it_can(
    kind: Kind, taken: list[object], refused: list[object]
) -> None:
    for raw in taken:
        kind.parse(raw, "mm")
    for raw in refused:
        with pytest.raises(ValueFault):
            kind.parse(raw, "mm")
    schema = json.loads(json.dumps(kind.shape()))
    for raw in taken:
        if not (isinstance(kind, YesNo) and raw == ""):
            jsonschema.validate(raw, schema)


def test_a_word_of_the_trade_is_suggested_before_one_that_looks_alike() -> None:
    with pytest.raises(ValueFault, match="did you mean top"):
        Choice("a word", ("top", "bottomed")).parse("up", "mm")


def test_the_nearest_names_and_those_as_near() -> None:
    assert nearest_names("cylnder", ["cylinder", "crank"]) == ("cylinder",)
    assert nearest_names("Head Gasket", ["head_gasket", "base_gasket"]) == ("head_gasket",)
    assert nearest_names("hole_lo", ["hole_low", "hole_high"]) == ("hole_low",)
    assert did_you_mean("stroke", ["colour"]) == ""


def test_every_dimension_is_shown_in_a_unit_of_its_own() -> None:
    assert set(SHOWN_SCALE) == set(SHOWN_UNIT)
    assert set(Dimension) - set(SHOWN_SCALE) == set()
    for dimension, unit in SHOWN_UNIT.items():
        typed = f"2{unit}" if unit else "2"
        value = Quantity("any", dimension).parse(typed, "mm")
        assert isinstance(value, Value)
        assert Quantity("any", dimension).shown(value.number) == pytest.approx(2.0), dimension


def test_what_is_wished_counted_or_said_needs_no_plus_minus() -> None:
    assert LENGTH.is_measured
    assert not Quantity("a wish", wish=True).is_measured
    assert not Quantity("a count", exact=True).is_measured
    assert not Text("words").is_measured
    assert Quantity("a wish", wish=True).read_with == "your choice"
    assert Quantity("a length", tool="dial").read_with == "dial"


@pytest.mark.parametrize("typed", ["-300 C", "-273.15 C", "-459.67 F", "-1000 +/- 5 F"])
def test_nothing_is_colder_than_absolute_zero(typed: str) -> None:
    kind = Quantity("a temperature", Dimension.TEMPERATURE, usual=(5, 40))
    with pytest.raises(ValueFault, match=r"must be above -273.15 C \(-459.67 F\)"):
        kind.parse(typed, "mm")
    assert number(kind, "-273 C") == -273.0
