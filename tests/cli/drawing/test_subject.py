"""What is drawn: values in words, what was entered and what was taken, the heights of the faces."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.lines import Way
from tallstack.cli.drawing.subject import Entered, gear, heights, in_words
from tallstack.cli.job.entries.letters import REQUIRED, Measures, lettered
from tallstack.geometry.core.frames import norm

from ...commands import BENCH
from ...drawn import subject

ENDS = ((0.0, 0.0), (0.0, 1.0))


@pytest.mark.parametrize(
    ("measures", "value", "units", "words"),
    [
        (Measures.LENGTH, 25.4, "mm", "25.40"),
        (Measures.ANGLE, math.radians(12.5), "mm", "12.5 deg"),
        (Measures.ANGLE, -1e-9, "in", "0 deg"),
        (Measures.NUMBER, 1.625, "in", "1.625"),
    ],
)
def test_values_in_words(measures: Measures, value: float, units: str, words: str) -> None:
    said = in_words(measures, value, units)
    assert said.words == words
    assert said.other == ("1.000" if measures is Measures.LENGTH else "")


def test_what_was_assumed_says_so_and_what_has_no_value_is_left_out_or_blank() -> None:
    one = Entered(
        "one", {"stack.cylinder": 100.0, "stack.base_gasket": 0.5}, frozenset(["stack.cylinder"]), "mm", ()
    )
    (typed,) = one.dimension("stack.cylinder", Way.UP, *ENDS)
    (taken,) = one.dimension("stack.base_gasket", Way.UP, *ENDS)
    assert (typed.remark, taken.remark) == ("", "assumed")
    assert one.dimension("stack.head_gasket", Way.UP, *ENDS) == ()
    (blank,) = one.dimension("stack.head_gasket", Way.UP, *ENDS, blank=True)
    assert (blank.value, blank.other) == ("", "")
    (worked,) = one.dimension("stack.head_gasket", Way.UP, *ENDS, worked_out=1.0)
    assert worked.remark == "worked out"
    assert [row.entry for row, _ in one.lettered()] == ["stack.cylinder"]


def test_a_cylinders_own_entry_goes_before_the_engines() -> None:
    mapping = {"stack.cylinder": 100.0, "rear.stack.cylinder": 101.0}
    numbers = [
        Entered(name, mapping, frozenset(), "mm", ()).number("stack.cylinder") for name in ("front", "rear")
    ]
    assert numbers == [100.0, 101.0]


def test_faces_stand_on_each_other() -> None:
    cuts = ('stack.case_cut="1.2 mm"', 'stack.head_cut="0.8 mm"')
    plain, cut = heights(subject("front.intake")), heights(subject("front.intake", cuts))
    assert plain is not None
    assert cut is not None
    assert plain.case_face == plain.case_deck
    assert cut.case_face == pytest.approx(cut.case_deck - 1.2)
    assert plain.head_face - cut.head_face == pytest.approx(1.2)
    assert cut.head_face - cut.gasket_face == pytest.approx(0.8)
    assert cut.cylinder_top - cut.cylinder_foot == pytest.approx(plain.cylinder_top - plain.cylinder_foot)


def test_parts_stand_as_far_apart_as_they_were_entered() -> None:
    one = subject("front.intake")
    found = gear(one)
    assert found is not None
    assert found.contact_centre is not None
    assert found.cup is not None
    assert float(norm(found.contact_centre - found.valve_foot)) == pytest.approx(
        one.number("rocker.valve_arm")
    )
    assert float(norm(found.cup - found.cup_foot)) == pytest.approx(one.number("rocker.pushrod_arm"))
    assert gear(subject("front.intake", path=BENCH)) is None


def test_the_pushrod_is_listed_with_what_is_required_of_it() -> None:
    one = subject("front.intake")
    last = [value for row, value in one.lettered() if row.entry == REQUIRED]
    assert last == [one.required_value]
    assert set(row.letter for row, _ in one.lettered()) <= {row.letter for row in lettered().values()}
