"""Sections through the places where valves come closest."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing.lines import Line, Stroke, Text
from tallstack.cli.drawing.section import fitted, section
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
        cut = section(job.mapping, "in", found.situations["barrel"], valve)
        assert cut is not None
        view = cut.view
        outline, pushed = (
            next(one for one in view.items if isinstance(one, Line) and one.stroke is stroke)
            for stroke in (Stroke.OUTLINE, Stroke.INDICATED)
        )
        crown = Line(outline.points[1:-1])  # without the foot that it stands on
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
    drawn = out.read_text(encoding="utf-8")
    assert ">drop 0.048 in</text>" in drawn
    assert ">SHORT</text>" in drawn
    assert ">limit 0.080 in</text>" in drawn


@pytest.mark.parametrize("room", [(285.0, 80.0), (137.0, 170.0), (70.0, 60.0)])
def test_a_section_fits_its_room_and_points_into_its_gap(room: tuple[float, float]) -> None:
    """Its leader ends between the face and where the face would meet."""
    job = load(POCKETS)
    for valve in job.clearances.valves:
        cut = section(job.mapping, "in", job.clearances.situations["barrel"], valve)
        assert cut is not None
        view, wide, high = fitted(cut, *room)
        assert wide <= room[0] + 1e-6
        assert high <= room[1] + 1e-6
        for mark in view.on_page():
            points = mark.corners() if isinstance(mark, Text) else getattr(mark, "points", ())
            for u, v in points:
                assert -0.01 <= u <= wide + 0.01
                assert -0.01 <= v <= high + 0.01
        pushed = next(one for one in view.items if isinstance(one, Line) and one.stroke is Stroke.INDICATED)
        (u, v), (p, q) = pushed.points
        way = ((p - u) / math.dist(*pushed.points), (q - v) / math.dist(*pushed.points))
        off = (cut.gap[1] - v) * way[0] - (cut.gap[0] - u) * way[1]
        assert off == pytest.approx(valve.drop[0].value / 2, abs=1e-6)
