"""The sketch of two valves pushed together: each reading is drawn where it is taken."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.lines import Way
from tallstack.cli.drawing.touch_sketch import LEAN, OPEN, dimensions, on_valve

from ...commands import BENCH, EXAMPLES, tallstack
from ...drawn import job_of

JOB = EXAMPLES / "twin_by_dial_and_protractor" / "job.toml"


@pytest.mark.parametrize("side", [0, 1])
def test_points_of_a_valve_go_up_its_stem_and_square_to_it(side: int) -> None:
    foot, up, aside = on_valve(side, 0.0), on_valve(side, 10.0), on_valve(side, 0.0, 5.0)
    assert math.dist(foot, up) == pytest.approx(10.0)
    assert abs(math.atan2(up[0] - foot[0], up[1] - foot[1])) == pytest.approx(LEAN)
    assert (up[0] < foot[0]) == (side == 0)
    along, across = (up[0] - foot[0], up[1] - foot[1]), (aside[0] - foot[0], aside[1] - foot[1])
    assert along[0] * across[0] + along[1] * across[1] == pytest.approx(0.0)
    assert on_valve(side, 10.0, opened=10.0) == pytest.approx(foot)


def test_edges_and_angles_are_drawn_where_they_are_read() -> None:
    found = {one.entry.partition(".")[2]: one for one in dimensions(pages.cylinder_of(job_of(JOB), "rear"))}
    assert [one.letter for one in found.values()] == ["EZ", "FA", "FB", "FC"]
    for port, opened in zip(("intake", "exhaust"), OPEN, strict=True):
        edge = found[f"edge_{port}"]
        assert math.dist(edge.start, edge.end) == pytest.approx(opened)
    assert found["edge_intake"].value == "0.231"
    assert found["edge_exhaust"].value == "over 0.350"
    stems = found["between_stems"]
    assert stems.way is Way.ANGLE
    angles = [math.atan2(one[1] - stems.apex[1], one[0] - stems.apex[0]) for one in (stems.start, stems.end)]
    assert angles[1] - angles[0] == pytest.approx(2 * LEAN)


def test_it_is_drawn_by_its_name_where_two_valves_were_pushed_together(tmp_path: Path) -> None:
    out = tmp_path / "valves.svg"
    ended = tallstack("draw", JOB, "front.valves", "-o", out)
    assert (ended.status, out.exists()) == (0, True)
    assert "the two valves of cylinder front" in ended.out
    text = out.read_text(encoding="utf-8")
    assert all(letter in text for letter in (">EZ<", ">FA<", ">FB<", ">FC<"))
    assert pages.sketches(job_of(BENCH)) == {}
    assert tallstack("draw", BENCH, "front.valves", "-o", tmp_path / "none.svg").status == 2
