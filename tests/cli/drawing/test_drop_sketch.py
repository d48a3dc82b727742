"""The sketch of a drop measured at top centre: each reading is drawn where it is taken."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.drop_sketch import DROP, LEAN, dimensions, on_valve
from tallstack.cli.drawing.lines import Way

from ...commands import BENCH, DEMO
from ...drawn import subject


def test_points_of_the_valve_go_up_its_stem_and_square_to_it() -> None:
    foot, up, aside = on_valve(0.0), on_valve(10.0), on_valve(0.0, 5.0)
    assert math.dist(foot, up) == pytest.approx(10.0)
    assert math.atan2(foot[0] - up[0], up[1] - foot[1]) == pytest.approx(LEAN)
    assert (up[0] - foot[0]) * (aside[0] - foot[0]) + (up[1] - foot[1]) * (
        aside[1] - foot[1]
    ) == pytest.approx(0.0)
    assert on_valve(10.0, pushed=10.0) == pytest.approx(foot)


def test_drop_and_lean_are_drawn_where_they_are_read() -> None:
    found = {one.entry: one for one in dimensions(subject("front.intake", path=BENCH))}
    drop, lean = found["measured_drop.drop"], found["measured_drop.lean"]
    assert math.dist(drop.start, drop.end) == pytest.approx(DROP)
    assert lean.way is Way.ANGLE
    angles = [math.atan2(one[0] - lean.apex[0], one[1] - lean.apex[1]) for one in (lean.start, lean.end)]
    assert angles[0] - angles[1] == pytest.approx(LEAN)


def test_a_blank_is_shown_only_of_what_is_asked() -> None:
    """Where the valve meets the crown there is no room beside a pocket's wall to be read."""
    bare = {one.entry: one.value for one in dimensions(subject("front.intake", path=BENCH))}
    assert set(bare.values()) == {""}
    read = {one.entry: one.value for one in dimensions(subject("front.intake", path=DEMO))}
    assert all(read.values())
    assert set(read) == set(bare)
    on_crown = ('front.intake.measured_drop={ drop = "8 mm", lean = 20, meets = "crown" }',)
    told = {one.entry: one.value for one in dimensions(subject("front.intake", on_crown, BENCH))}
    assert set(bare) - set(told) == {"measured_drop.room"}
    assert all(told.values())
