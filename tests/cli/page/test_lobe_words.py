"""What a table of lift readings tells: events first, then what stands behind them, in the unit of the table."""

from __future__ import annotations

from pathlib import Path

import pytest

from ...commands import FAULTS, tallstack

GOOD = FAULTS / "lobe_command" / "good.csv"


def test_events_stand_before_shape_and_readings() -> None:
    told = tallstack("lobe", GOOD)
    assert told.status == 0, told.err
    head, *rest = told.out.split("\n\n")
    assert head.startswith(f"LOBE: {GOOD.name}")
    assert "readings at the lifter; cam degrees, lifts in inches" in " ".join(head.split())
    assert len(rest) >= 3


def test_the_same_table_in_millimetres_has_the_same_events(tmp_path: Path) -> None:
    rows = [line.split(",") for line in GOOD.read_text(encoding="utf-8").splitlines()]
    metric = tmp_path / "good.csv"
    numbers = [f"{angle},{float(lift) * 25.4:.5f}" for angle, lift in rows[1:]]
    metric.write_text("\n".join([",".join(rows[0]), *numbers]) + "\n", encoding="utf-8")
    told = tallstack("lobe", metric, "--units", "mm")
    assert "lifts in mm" in " ".join(told.out.split())
    first, second = (
        tallstack("lobe", one, *more, "--json").json
        for one, more in ((GOOD, ()), (metric, ("--units", "mm")))
    )
    same = [key for key, value in first.items() if key.endswith("_deg") and isinstance(value, float)]
    assert same
    assert [second[key] for key in same] == pytest.approx([first[key] for key in same], abs=0.02)
