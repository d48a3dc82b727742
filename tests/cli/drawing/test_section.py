"""Sections through the places where valves come closest."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing.lines import Line, Stroke
from tallstack.cli.drawing.section import section
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.clearances import clearances

from ...commands import EXAMPLES, tallstack
from ...geometry.doubt.test_readings import NOTHING

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


def test_sections_are_drawn_where_valves_come_closest(tmp_path: Path) -> None:
    """The face pushed down by the least drop, as drawn, touches the crown as drawn, and no more."""
    job = load(POCKETS)
    found = clearances(job.mapping, NOTHING, {}, {})
    for valve in found.valves:
        view = section(job.mapping, "in", found.situations["barrel"], valve)
        assert view is not None
        crown, pushed = (
            next(one for one in view.items if isinstance(one, Line) and one.stroke is stroke)
            for stroke in (Stroke.OUTLINE, Stroke.INDICATED)
        )
        across, up = (np.array(row) for row in zip(*crown.points, strict=True))
        ends = np.array(pushed.points)
        along = np.linspace(0.0, 1.0, 4001)[:, None]
        face = ends[0] + along * (ends[1] - ends[0])
        room = face[:, 1] - np.interp(face[:, 0], across, up)
        assert room.min() == pytest.approx(0.0, abs=0.03)  # the section is sampled every 0.04 mm
    out = tmp_path / "section.svg"
    ended = tallstack("draw", POCKETS, "barrel.intake", "--section", "-o", out)
    assert ended.status == 0
    assert "1 section, each at its closest" in ended.out
    assert "drop 0.048 in (1.23 mm)" in out.read_text(encoding="utf-8")
