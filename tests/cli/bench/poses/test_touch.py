from __future__ import annotations

from tallstack.cli.bench.poses.spots import WIDE
from tallstack.cli.bench.poses.touch import touch

from .looking import read, spots, spots_of, tap


def test_each_edge_stands_beside_its_own_valve() -> None:
    found = touch(spots(["valves_touch.edge_intake", "valves_touch.edge_exhaust"]), {})
    intake, exhaust = (tap(one) for one in spots_of(read(found.svg)))
    assert intake.right < WIDE / 2 < exhaust.left


def test_an_entry_is_known_with_its_table_and_without() -> None:
    long, short = spots(["valves_touch.together"]), spots(["together"])
    assert touch(long, {}).svg == touch(short, {}).svg.replace("of together", "of valves_touch.together")
    assert "piston far down" in touch({}, {}).caption
