"""The sketch of a bore's readings: each is drawn where it is taken, and as wide as the worn wall it lies on."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.bore_sketch import LEVELS, MIDDLES, ROUND, dimensions, wall
from tallstack.geometry.piston.bore_entries import ALONG, HEIGHTS, LARGEST

from ...commands import BENCH, tallstack
from ...drawn import job_of

READ = (
    *(f"front.bore_readings.{one}_across={3.816 - place / 1000} in" for place, one in enumerate(HEIGHTS)),
    *(f"front.bore_readings.{one}_along={3.815 - place / 1000} in" for place, one in enumerate(HEIGHTS)),
)


def test_every_reading_stands_at_its_height_between_its_walls() -> None:
    found = {
        one.entry.partition(".")[2]: one
        for one in dimensions(pages.cylinder_of(job_of(BENCH, READ), "front"))
    }
    assert [one.letter for one in found.values()] == "FK FL FM FN FP FQ FR FS FT".split()
    for way in MIDDLES:
        for height in HEIGHTS:
            one = found[f"{height}_{way}"]
            assert one.start[1] == one.end[1] == LEVELS[height]
            assert one.start in wall(way, -1.0)
            assert one.end in wall(way, 1.0)
            assert one.value == f"{3.816 - (way == ALONG) / 1000 - HEIGHTS.index(height) / 1000:.3f}"
    for height in HEIGHTS:
        one = found[f"{height}_{LARGEST}"]
        assert math.dist(one.start, one.end) == pytest.approx(2 * ROUND)
        assert one.value == ""


def test_it_is_drawn_by_its_name_where_a_bore_was_read(tmp_path: Path) -> None:
    out = tmp_path / "bore.svg"
    options = [part for one in READ for part in ("--with", one)]
    ended = tallstack("draw", BENCH, "front.bore", "-o", out, *options)
    assert (ended.status, out.exists()) == (0, True)
    assert "the bore of cylinder front" in ended.out
    assert all(f">{letter}<" in out.read_text(encoding="utf-8") for letter in "FK FL FN FP FR FS".split())
    assert tallstack("draw", BENCH, "front.bore", "-o", tmp_path / "none.svg").status == 2
