"""Shelves of pushrods as tables."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.tables.shelf import load_shelf

SHELF = """label,kind,length,shortest,longest,as,units,ball_diameter,threads_per_inch,flats,count
A7,fixed,11.390,,,overall,in,5/16,,,2
ADJ,adjustable,,11.200,11.520,overall,in,,24,6,4
"""


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_shelf_may_be_written_with_any_of_three_separators(tmp_path: Path, separator: str) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text("\ufeff" + SHELF.replace(",", separator), encoding="utf-8")
    first, second = load_shelf(path, "mm")
    assert (first.label, first.shortest, first.ball_diameter) == ("A7", 289.306, 7.9375)
    assert (second.kind, second.pitch, second.flats, second.count) == ("adjustable", 25.4 / 24, 6, 4)


@pytest.mark.parametrize(
    ("length", "told"), [("0", True), ("0.1", False), ("1999", False), ("2000", True), ("-3", True)]
)
def test_a_pushrod_has_a_length_that_one_can_have(tmp_path: Path, length: str, told: bool) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(f"label,kind,length,as,units,count\nA,fixed,{length},overall,mm,1\n", encoding="utf-8")
    if told:
        with pytest.raises(InputFaultsError, match="must be greater than 0 and below 2000 mm"):
            load_shelf(path, "mm")
    else:
        assert load_shelf(path, "mm")[0].shortest == float(length)
