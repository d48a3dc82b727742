"""A document read against the model: every entry as understood, every fault of single entries in one walk."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

import pytest
from tallstack.cli.job.reading.document import read_document
from tallstack.cli.job.reading.values import Typed, Value

TEXT = """
format = 1
units = "in"
[stack]
cylinder = "5.4 +/- 0.001"
head_gasket = "1 mm"
[[cylinder]]
name = "front"
[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
seat = [1, "2 mm", 3]
"""


def document(text: str) -> Mapping[str, object]:
    return tomllib.loads(text, parse_float=Typed.of)


def test_entries_are_understood_in_the_files_unit_or_in_their_own() -> None:
    read = read_document(document(TEXT))
    assert not read.faults
    values = {leaf.path: leaf.value for leaf in read.leaves}
    cylinder, gasket = values["stack.cylinder"], values["stack.head_gasket"]
    assert isinstance(cylinder, Value)
    assert isinstance(gasket, Value)
    assert (cylinder.number, gasket.number) == (pytest.approx(137.16), 1.0)
    seat = [values[path] for path in values if path.startswith("front.intake.lifter.seat")]
    numbers = [
        one.number
        for row in seat
        for one in (row if isinstance(row, tuple) else (row,))
        if isinstance(one, Value)
    ]
    assert numbers == pytest.approx([25.4, 2.0, 76.2])
    assert [gear.name for gear in read.gears] == ["front.intake"]
    assert [name for name, _ in read.cylinders] == ["front"]


@pytest.mark.parametrize(
    ("more", "loc", "said"),
    [
        ("cylnder = 1", ("stack", "cylnder"), "cylinder"),
        ("bore = -1", ("stack", "bore"), "greater than 0"),
        ("bore = [1, 2]", ("stack", "bore"), ""),
        ("[crank]\nstroke = true", ("crank", "stroke"), ""),
        ("[rocker]\nshaft = [1, 2, 3]", ("rocker",), "train"),
    ],
)
def test_a_fault_is_told_at_its_entry_and_nothing_else_is_blamed(
    more: str, loc: tuple[str, ...], said: str
) -> None:
    read = read_document(document(TEXT.replace('head_gasket = "1 mm"', more)))
    assert [one.loc for one in read.faults] == [loc]
    assert said in read.faults[0].message


def test_what_could_not_be_read_may_be_in_the_file_all_the_same() -> None:
    read = read_document(document(TEXT.replace('head_gasket = "1 mm"', 'head_gasket = "1 parsec"')))
    assert read.unsure("stack.head_gasket")
    assert not read.unsure("stack.cylinder")
    assert read_document(document(TEXT), ["bore"]).unsure("stack.bore")


def test_a_row_without_the_name_that_ties_it_says_so() -> None:
    read = read_document(document(TEXT.replace('port = "intake"', "")))
    assert [one.loc for one in read.faults] == [("train", 0, "port")]
    assert read.faults[0].message.startswith("missing; ")
