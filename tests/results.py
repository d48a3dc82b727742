"""Answers as the tests of what stands on them need them: a number, its doubt and its limit."""

from __future__ import annotations

from collections.abc import Mapping

from tallstack.geometry.core.answer import Figure
from tallstack.geometry.core.targets import Limit, Source
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget
from tallstack.geometry.doubt.result import Result


def result(
    value: float,
    standard: float = 0.0,
    least: float | None = None,
    verdict: Verdict | None = None,
    of: str = "one",
    key: str = "squish",
    slopes: Mapping[str, float] | None = None,
) -> Result:
    """Return a length; standard : mm, of its doubt."""
    limit = None if least is None else Limit(least, None, Source.SET)
    budget = Budget(standard, {}, ())
    return Result(of, key, Figure(key), value, budget, slopes or {}, least=limit, verdict=verdict)
