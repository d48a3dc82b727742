"""One cylinder's stack on paper: heights that add up, crank and rod in one line with the piston at its highest."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.lines import Dimension, Fill, Line, Way
from tallstack.cli.drawing.stack import dimensions, moving, outline
from tallstack.cli.drawing.subject import Entered, heights

ENTRIES: dict[str, object] = {
    "crank.stroke": 60.0,
    "crank.conrod_length": 100.0,
    "piston.compression_height": 30.0,
    "piston.pin_offset": 0.0,
    "stack.case_deck": 120.0,
    "stack.base_gasket": 0.5,
    "stack.cylinder": 42.0,
    "stack.head_gasket": 1.5,
    "stack.bore": 80.0,
}


def entered(**more: float | None) -> Entered:
    mapping = ENTRIES | {name.replace("__", "."): value for name, value in more.items()}
    mapping = {name: value for name, value in mapping.items() if value is not None}
    return Entered("one", mapping, frozenset(mapping), "mm", ())


def measured(subject: Entered) -> dict[str, Dimension]:
    faces = heights(subject)
    assert faces is not None
    return {one.entry: one for one in dimensions(subject, faces)}


def test_the_piston_at_its_highest_has_crank_and_rod_in_one_line() -> None:
    central = moving(entered())
    assert central is not None
    assert (central.throw, central.crank_pin, central.wrist_pin, central.crown) == (
        30.0,
        (0.0, 30.0),
        (0.0, 130.0),
        160.0,
    )
    aside = moving(entered(piston__pin_offset=78.0))  # 78, 104, 130
    assert aside is not None
    assert aside.wrist_pin == pytest.approx((78.0, 104.0))
    assert aside.crank_pin == pytest.approx((18.0, 24.0))
    assert aside.crown == pytest.approx(134.0)


def test_a_pin_out_of_reach_or_a_rod_that_is_not_entered_is_not_drawn() -> None:
    assert moving(entered(piston__pin_offset=130.0)) is None
    assert moving(entered(crank__conrod_length=None)) is None


def test_every_height_is_as_long_as_its_entry_and_they_stand_on_each_other() -> None:
    found = measured(entered(stack__case_cut=0.3, stack__head_cut=0.2))
    for entry in ("case_deck", "base_gasket", "cylinder", "head_gasket", "case_cut", "head_cut"):
        one = found[f"stack.{entry}"]
        assert one.end[1] - one.start[1] == pytest.approx(float(one.value)), entry
    assert found["stack.base_gasket"].start[1] == pytest.approx(119.7)  # the deck less what was cut
    assert found["stack.base_gasket"].end == found["stack.cylinder"].start
    assert found["stack.cylinder"].end == found["stack.head_gasket"].start
    rod = found["crank.conrod_length"]
    assert math.dist(rod.start, rod.end) == pytest.approx(100.0)


def test_without_the_deck_it_stands_on_the_case_and_no_crank_is_drawn() -> None:
    subject = entered(stack__case_deck=None, crank__stroke=None)
    faces = heights(subject)
    assert faces is not None
    assert not faces.from_crank
    assert faces.case_face == 0.0
    assert not {"crank.stroke", "crank.conrod_length", "stack.case_deck"} & set(measured(subject))
    assert heights(entered(stack__cylinder=None)) is None


def fills(subject: Entered) -> dict[Fill, int]:
    faces = heights(subject)
    assert faces is not None
    shapes = [one for one in outline(subject, faces) if isinstance(one, Line) and one.closed]
    return {fill: sum(one.fill is fill for one in shapes) for fill in Fill}


def test_a_bore_that_is_not_entered_leaves_the_walls_dashed() -> None:
    """Two walls grey with it, none without; both gaskets are black either way."""
    known, bare = fills(entered()), fills(entered(stack__bore=None))
    assert known[Fill.GREY] - bare[Fill.GREY] == 2
    assert known[Fill.BLACK] == bare[Fill.BLACK] == 4
    assert "stack.bore" not in measured(entered(stack__bore=None))
    assert measured(entered())["stack.bore"].way is Way.ACROSS


def test_the_piston_is_grey_where_all_of_it_is_entered() -> None:
    assert fills(entered(piston__skirt_below_pin=20.0))[Fill.GREY] == fills(entered())[Fill.GREY] + 1
