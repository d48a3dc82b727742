"""Two jobs compared, cause by cause."""

from __future__ import annotations

from pathlib import Path

import pytest
import tallstack as ts

from ...commands import DEMO, tallstack
from ...test_library import SHELF


def test_another_value_is_tried_and_compared_cause_by_cause(job: ts.Job) -> None:
    taller = job.with_({"stack.cylinder": "124.6 +/- 0.02 mm", "stack.head_gasket": 1.1})
    assert taller.variations == ("stack.cylinder=124.6 +/- 0.02 mm", "stack.head_gasket=1.1")
    assert job.find("overall", "single.intake") == job.find("overall", "single.intake")
    for change in taller.compare(job):
        before, after = (one.find("overall", change.of) for one in (job, taller))
        assert isinstance(before, ts.Result)
        assert isinstance(after, ts.Result)
        assert change.change == pytest.approx(after.value - before.value, abs=1e-9)
        assert list(change.causes) == ["head gasket", "cylinder"]
        assert sum(change.causes.values()) == pytest.approx(change.change, abs=1e-9)
    rows = taller.compare(job).rows()
    assert [row["of"] for row in rows] == ["single.intake", "single.exhaust"]
    assert str(taller.compare(job)).startswith("single.intake, overall: +0.400 mm: head gasket -0.1")
    again = taller.with_({"stack.head_gasket": "1.2 +/- 0.02"})
    assert again.find("overall", "single.intake").row()["value"] == pytest.approx(
        job.find("overall", "single.intake").row()["value"] + 0.4997, abs=1e-4
    )


def test_a_swap_of_two_files_keeps_a_reading_on_its_stack() -> None:
    after, before = (ts.load(SHELF / name) for name in ("job.toml", "before.toml"))
    told = tallstack("swap", SHELF / "job.toml", "--from", SHELF / "before.toml", "--json").json["trains"]
    for change, row in zip(after.compare(before), told, strict=True):
        assert change.of == row["train"]
        assert change.change == pytest.approx(row["change_mm"], abs=1e-6)


def test_a_comparison_repeats_what_looks_wrong(tmp_path: Path) -> None:
    demo = ts.load(DEMO)
    changes = demo.with_({"stack.cylinder": "5.0 in"}).compare(demo)
    assert all(one.look_again for one in changes)
    assert "LOOK AGAIN: " in str(changes)
    assert all(row["look_again"] for row in changes.rows())
