from __future__ import annotations

from tallstack.cli.bench.poses.bore import bore
from tallstack.cli.drawing.bore_sketch import HEIGHTS
from tallstack.geometry.piston.bore_entries import ACROSS

from .looking import read, spots, spots_of, tap


def test_the_top_reading_stands_over_the_bottom_one() -> None:
    found = bore(spots([f"bore_readings.{one}_{ACROSS}" for one in HEIGHTS]), {})
    tops = {one.get("data-for", ""): tap(one).top for one in spots_of(read(found.svg))}
    order = sorted(tops, key=lambda one: tops[one])
    assert order == [f"of bore_readings.{one}_{ACROSS}" for one in ("top", "middle", "bottom")]


def test_an_entry_is_known_with_its_table_and_without() -> None:
    assert len(spots_of(read(bore(spots(["top_across"]), {}).svg))) == 1
    assert "swept round" in bore({}, {}).caption
