"""Chances and intervals in words."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.page.risk_words import Group, rest_blocks
from tallstack.cli.page.text import text
from tallstack.geometry.doubt.result import by_budget

from ...commands import DEMO
from ...geometry.sure.test_risk import with_draws
from ...results import result


def test_a_flat_point_is_told_where_the_budget_says_nothing() -> None:
    """A square at its top: no slope, and still a doubt (JCGM 101:2008, 9.4)."""
    rng = np.random.default_rng(1)
    answer = with_draws(result(1.0, 0.0, 0.9), 1.0 - rng.normal(0.0, 0.2, 20_000) ** 2)
    assert by_budget(answer) == 0.0
    assert answer.builds.missed is not None
    exact = math.erfc(math.sqrt(0.1) / 0.2 / math.sqrt(2.0))
    assert answer.builds.missed.share == pytest.approx(exact, abs=4 * answer.builds.missed.error)
    said = " ".join(text(rest_blocks(load(DEMO), [Group("FITS", (answer,))], [], 20_000)).split())
    assert "where it stands, nothing moves it by a little" in said


def test_builds_that_cannot_be_count_as_missed() -> None:
    values = np.concatenate([np.full(150, np.nan), np.linspace(1.0, 2.0, 850)])
    answer = with_draws(result(1.5, 0.3, 0.5), values)
    assert answer.builds.impossible == 150
    assert answer.builds.missed is not None
    assert answer.builds.missed.share == pytest.approx(0.15)
    said = " ".join(text(rest_blocks(load(DEMO), [Group("FITS", (answer,))], [], 1000)).split())
    assert "150 of the builds cannot be put together; they count as missed" in said
