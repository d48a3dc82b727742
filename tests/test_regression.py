"""No number of a worked example has moved unnoticed; see `tests/regression`."""

from __future__ import annotations

import pytest
from tallstack.cli.guide.blank import blank_job

from .regression import BLANK, HERE, JOBS, numbers


@pytest.mark.gate
@pytest.mark.parametrize("name", JOBS)
def test_no_number_of_a_worked_example_has_moved(name: str) -> None:
    lines = (HERE / f"{name}.txt").read_text(encoding="utf-8").splitlines()
    known = [float(one) for line in lines for one in line.split(" ")[1:]]
    found = list(numbers(JOBS[name]))
    moved = [
        (place, value, before)
        for (place, value), before in zip(found, known, strict=False)
        if value != pytest.approx(before, rel=1e-6, abs=2e-6)
    ]
    assert not moved, moved[:5]
    assert len(found) == len(known)


def test_every_worked_example_has_its_values() -> None:
    assert {path.stem for path in HERE.glob("*.txt")} == JOBS.keys()


def test_no_entry_its_meaning_or_usual_range_has_moved() -> None:
    assert blank_job("mm") == BLANK.read_text(encoding="utf-8")
