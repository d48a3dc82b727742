from __future__ import annotations

import math

from tallstack.cli.bench.poses.drop import FRAME, drop, pushed
from tallstack.cli.bench.poses.marks import path
from tallstack.cli.drawing import drop_sketch as sketch

from .looking import points, read, spots, spots_of

DROP, ROOM = "measured_drop.drop", "measured_drop.room"


def test_on_a_crown_the_rim_comes_just_to_it() -> None:
    rim = sketch.on_valve(0.0, -sketch.RADIUS, pushed("crown"))
    assert math.isclose(rim[1], sketch.CROWN)
    assert pushed("crown") < pushed("pocket") == pushed("")


def test_a_crown_has_no_pocket() -> None:
    floor = path((FRAME.at(sketch.on_valve(-sketch.DROP, sketch.NEAR_WALL)),)).removeprefix("M")
    pocket, crown = (drop({}, {"meets": one}).svg for one in ("pocket", "crown"))
    assert floor in pocket
    assert floor not in crown


def test_a_drop_is_told_from_the_closed_valve_to_where_it_touches() -> None:
    def reach(meets: str) -> float:
        (group,) = spots_of(read(drop(spots([DROP]), {"meets": meets}).svg))
        return max(down for _, down in points(group)) - min(down for _, down in points(group))

    assert reach("pocket") > sketch.DROP


def test_the_caption_says_what_it_meets_where_somebody_looked() -> None:
    assert "floor of the pocket" in drop({}, {"meets": "pocket"}).caption
    assert "touches the crown" in drop({}, {"meets": "crown"}).caption
    assert drop({}, {}).caption.endswith("pushed down until it touches.")


def test_a_room_that_was_entered_stays_on_the_page_with_a_crown() -> None:
    assert len(spots_of(read(drop(spots([ROOM]), {"meets": "crown"}).svg))) == 1
