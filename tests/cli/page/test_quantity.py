"""A quantity in its units: the job's first, and no more digits than its doubt supports."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.page.quantity import SHOWN, cell, shown_as, units_of

from ...commands import BENCH, COORDINATES


def test_the_unit_of_the_job_comes_first() -> None:
    inches, mm = load(BENCH), load(COORDINATES)
    assert [name for name, *_ in units_of(inches, "mm")] == ["in", "mm"]
    assert [name for name, *_ in units_of(mm, "mm")] == ["mm", "in"]
    assert shown_as(inches, 25.4, "mm") == "1.000 in (25.40 mm)"
    assert shown_as(mm, 100.0, "n") == "100 N (22 lbf)"


def test_a_doubt_takes_digits_and_a_suggestion_is_rounded_its_own_way() -> None:
    unit = SHOWN["mm"][0]
    assert cell(1.2345, unit, 0.25).shown() == "1.23 mm"
    assert cell(12.345, unit, 2.5).shown() == "12.3 mm"
    assert cell(1.2311, unit, way=1.0).shown() == "1.24 mm"
    assert cell(1.2311, unit, bare=True).shown() == "1.23"
    assert cell(3.21, SHOWN["cc"][0], bare=True).shown() == "3.2"
