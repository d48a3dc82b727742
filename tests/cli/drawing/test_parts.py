"""A part on paper moves with its two points."""

from __future__ import annotations

import pytest
from tallstack.cli.drawing.lines import Circle, Line
from tallstack.cli.drawing.parts import Moved, Part


def test_a_part_is_turned_and_shortened_with_its_two_points() -> None:
    part = Part(
        "bar",
        (Line(((0.0, 0.0), (0.0, 2.0), (1.0, 0.0))), Circle((0.0, 1.0), 0.5)),
        Moved((1.0, 1.0), (("s", (1.0, 0.0)),)),
        Moved((1.0, 1.0), (("s", (0.0, 0.0)),)),
        ((0.0, 0.0), (0.0, 2.0)),
    )
    line, circle = part.posed({"s": 1.0})  # from (2, 1) to (1, 1): a quarter turn, half as large
    assert isinstance(line, Line)
    assert isinstance(circle, Circle)
    for found, wanted in zip(line.points, ((2.0, 1.0), (1.0, 1.0), (2.0, 1.5)), strict=True):
        assert found == pytest.approx(wanted, abs=1e-12)
    assert circle.centre == pytest.approx((1.5, 1.0))
    assert circle.radius == pytest.approx(0.25)
