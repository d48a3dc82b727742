"""Tables of a lobe as they stand: remarks in them, and lobes that were published."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ...commands import PUBLISHED, tallstack
from ...known_lobes import CAM, noisy, written


def test_remarks_before_the_header_are_no_fault(tmp_path: Path) -> None:
    """Even one that says direction, which is no column then."""
    path = written(tmp_path / "intake.csv", CAM, noisy())
    plain = tallstack("lobe", path, "--json").json
    path.write_text(
        "# read by hand, direction forward\n\n# on the bench\n" + path.read_text(), encoding="utf-8"
    )
    assert tallstack("lobe", path, "--json").json == plain


@pytest.mark.parametrize("port", ["intake", "exhaust"])
def test_two_published_lobes_are_read_as_they_stand(port: str) -> None:
    """Valve lift against crank degrees of a pushrod research engine, OSTI 1501884, Figure 3, read off the print.

    The chart's own wiggles run over several readings: no more than a few edges of them are called misreadings.
    """
    path = PUBLISHED / f"lobe-osti-1501884-{port}.csv"
    told = tallstack("lobe", path, "--angle", "crank", "--units", "mm", "--json").json
    assert told["bridged"]
    assert len(told["suspicious"]) <= 6
    assert told["rests_apart_mm"] < 0.1
    read = np.loadtxt(path, delimiter=",", skiprows=2)
    assert told["peak_mm"] == pytest.approx(read[:, 1].max(), abs=0.02)
