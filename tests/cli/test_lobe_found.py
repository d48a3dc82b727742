"""What the readings of a table say: events against the curve they were made from, and lifts that are too high."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.lobe_found import Found, accelerations, at_overlap, centre_level, durations_known, examined
from tallstack.cli.lobe_leads import Asked
from tallstack.geometry.cam.lobe import CENTRE_LIFT_MM

from ..known_lobes import CAM, dwelling, passes, written


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Found:
    """A lobe whose every reading is exact to a hundredth of a thousandth of an inch, its centreline said."""
    path = written(tmp_path_factory.mktemp("lobe") / "a.csv", CAM, dwelling(CAM), places=6)
    return examined(path, Asked(centreline=110.0), (2.0, 20.0))


def test_events_are_those_of_the_curve_that_was_read(found: Found) -> None:
    middle = sum(passes(dwelling, CENTRE_LIFT_MM)) / 2
    assert 2.0 in [one.check for one in found.events]
    for one in found.events:
        opens, closes = passes(dwelling, one.check)
        assert one.opens == pytest.approx(2 * (middle - opens), abs=0.6)
        assert one.closes == pytest.approx(2 * (closes - middle), abs=0.6)
        assert one.level == one.check
    assert found.peak[1] == pytest.approx(8.9, abs=0.01)


def test_a_lift_that_it_does_not_reach_is_told(found: Found) -> None:
    assert found.too_high == (20.0,)


def test_at_overlap_the_lifter_stands_where_its_centreline_puts_it(found: Found) -> None:
    assert at_overlap(found) == pytest.approx(float(dwelling(np.array(-55.0))), abs=0.02)
    assert centre_level(found) == CENTRE_LIFT_MM
    assert durations_known(found)


def test_accelerations_are_those_of_the_lobe_at_each_angle(found: Found) -> None:
    angles = np.linspace(-1.0, 1.0, 9)
    assert accelerations(found, angles) == pytest.approx(found.lobe.acceleration(angles))
    assert isinstance(found.path, Path)
