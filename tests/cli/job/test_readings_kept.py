"""A reading that two jobs hold stays on the stack that it was taken on."""

from __future__ import annotations

from pathlib import Path

import pytest

from ...commands import BENCH, tallstack


def test_a_reading_both_jobs_hold_stays_on_the_stack_it_was_taken_on(tmp_path: Path) -> None:
    """Copied into the job after the change, a reading without a stack of its own would seem to be new."""
    bare = BENCH.read_text(encoding="utf-8")
    for stack in ("5.362", "5.360"):
        bare = bare.replace(
            f'stack = {{ cylinder = "{stack} +/- 0.001 in", head_gasket = "0.030 +/- 0.002 in" }}', ""
        )
    before, after = tmp_path / "before.toml", tmp_path / "after.toml"
    before.write_text(bare.replace('cylinder = "5.563', 'cylinder = "5.362'), encoding="utf-8")
    after.write_text(bare, encoding="utf-8")
    document = tallstack("swap", after, "--from", before, "--json").json
    front = document["trains"][0]
    assert front["change_mm"] == pytest.approx(0.201 * 25.4, abs=0.01)
    assert document["notes"]
