"""What stands over a piston of a job by coordinates, and what is missing of it."""

from __future__ import annotations

import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.piston.over_piston import over_piston

from ...commands import COORDINATES


def test_over_the_piston_of_the_worked_example() -> None:
    job = load(COORDINATES)
    found = over_piston(job.mapping, "front", {})
    assert not any(found.lacks.values())
    assert found.missing == ()
    assert found.below is not None
    assert found.heads.keys() == {"front.intake", "front.exhaust"}
    top = 53.0 + 188.0 + 36.0  # crank and connecting rod in line, then the compression height
    face = 138.2 + 0.45 + 141.3 + 1.05 + 13.2
    assert found.heads["front.intake"].centre == pytest.approx([-23.0, 0.0, face - top], abs=1e-9)
    rear = over_piston(job.mapping, "rear", {})
    assert rear.heads["rear.intake"].centre == pytest.approx([23.0, 0.0, face - 0.05 - top], abs=1e-9)


def test_what_is_missing_over_a_piston_is_named() -> None:
    mapping = {
        path: value
        for path, value in load(COORDINATES).mapping.items()
        if path not in ("crank.stroke", "front.intake.valve.margin")
    }
    found = over_piston(mapping, "front", {})
    assert found.below is None
    assert "crank.stroke" in found.missing
    assert found.lacks["front.intake"] == ("front.intake.valve.margin",)
    assert "front.intake" not in found.heads
