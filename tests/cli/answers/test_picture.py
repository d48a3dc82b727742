"""Drawings for a program: those of the command."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import tallstack as ts

from ...commands import tallstack
from ...test_library import GASKETS


@pytest.mark.parametrize("of", ["single", "engine"])
def test_cylinder_and_engine_are_drawn_as_the_command_draws_them(
    job: ts.Job, of: str, tmp_path: Path
) -> None:
    drawn = tmp_path / "page.svg"
    tallstack("draw", GASKETS, of, "-o", drawn)
    assert job.draw(of).svg == drawn.read_text(encoding="utf-8")


def test_what_cannot_be_drawn_is_said(job: ts.Job) -> None:
    with pytest.raises(ValueError, match="double: no such valve gear or cylinder; there are single.intake"):
        job.draw("double")


@pytest.mark.parametrize("at", [float("nan"), float("inf"), 1e4, "20"])
def test_no_drawing_at_an_angle_that_is_none(job: ts.Job, at: Any) -> None:
    with pytest.raises(ValueError, match="crank degrees from -720 to 720"):
        job.draw("engine", at=at)
    with pytest.raises(ValueError, match="only the engine is drawn at a crank angle"):
        job.draw("single.intake", at=20.0)
