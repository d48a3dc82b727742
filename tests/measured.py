"""What second methods found, in the tests' own report: how far ours was from theirs at most, beside its limit.

A test asks for `measured` and tells what was compared, by which method, and every difference. The numbers of all tests
of a run stand together behind it; `pytest --measured PAGE.md` writes them as a page, so that none is kept in prose.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from numpy.typing import ArrayLike

KEY = "measured"
Told = Callable[..., None]


class Row(NamedTuple):
    """One comparison of a run."""

    what: str
    method: str  # that shares no code with ours
    cases: int
    least: float  # of ours less theirs
    most: float
    limits: tuple[float, float]
    unit: str

    def and_of(self, other: Row) -> Row:
        """Return both as one."""
        return self._replace(
            cases=self.cases + other.cases,
            least=min(self.least, other.least),
            most=max(self.most, other.most),
        )


@pytest.fixture
def measured(record_property: Callable[[str, object], None]) -> Told:
    """Tell a comparison: it fails where a difference is past its limits, and stands in the report."""

    def tell(
        what: str, method: str, off: ArrayLike, limit: float, unit: str = "mm", least: float | None = None
    ) -> None:
        """Tell the differences, ours less theirs; limit : either way, or upwards where `least` says how far down."""
        found = np.asarray(off, dtype=float).ravel()
        low = -limit if least is None else least
        assert found.size, what
        assert np.isfinite(found).all(), what
        row = Row(what, method, found.size, float(found.min()), float(found.max()), (low, limit), unit)
        record_property(KEY, row._asdict())
        assert low <= row.least, row
        assert row.most <= limit, row

    return tell


def rows(properties: Iterable[tuple[str, Any]]) -> list[Row]:
    """Return the comparisons of a run, those that were told in parts as one."""
    found: dict[tuple[str, str], Row] = {}
    for key, told in properties:
        if key == KEY:
            row = Row(**{**told, "limits": tuple(told["limits"])})
            there = found.get((row.what, row.method))
            found[row.what, row.method] = row if there is None else there.and_of(row)
    return sorted(found.values())


def page(found: Iterable[Row]) -> str:
    """Return the comparisons as a table."""
    head = "| what | second method | cases | ours less theirs | limits |\n|---|---|---|---|---|\n"
    body = "".join(
        f"| {one.what} | {one.method} | {one.cases:,} | {one.least:+.2g} to {one.most:+.2g} {one.unit} | "
        f"{one.limits[0]:+.2g} to {one.limits[1]:+.2g} |\n"
        for one in found
    )
    return f"# What second methods found\n\n{head}{body}"


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let a run be asked for the page."""
    parser.addoption("--measured", type=Path, help="write what second methods found to a page")


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Tell what the tests of this run measured, and write it where a page was asked for."""
    stats: Mapping[str, list[Any]] = terminalreporter.stats
    calls = [each for reports in stats.values() for each in reports if getattr(each, "when", "") == "call"]
    told = [one for each in calls for one in each.user_properties]
    found = rows(told)
    to: Path | None = terminalreporter.config.getoption("--measured")
    if found:
        terminalreporter.section("second methods")
        for one in found:
            terminalreporter.write_line(
                f"{one.what} against {one.method}: {one.least:+.2g} to {one.most:+.2g} {one.unit}, {one.cases:,} cases"
            )
    if to is not None:
        to.write_text(page(found), encoding="utf-8")
