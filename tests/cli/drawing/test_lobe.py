"""The lobe on paper: its metal meets the lifter at every angle, and is known only where all of it was entered."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tallstack.cli.drawing import lobe
from tallstack.cli.drawing.lines import Fill, Line
from tallstack.cli.drawing.solids import FRONT, SIDE
from tallstack.cli.drawing.subject import Subject

from ...drawn import gear_of, subject

LIFTS = 9.0 * np.cos(np.clip(lobe.angles() / 4 - 0.2, -math.pi / 2, math.pi / 2)) ** 8


def with_(**more: object) -> Subject:
    one = subject("front.intake")
    return replace(
        one, mapping={**one.mapping, **{name.replace("__", "."): value for name, value in more.items()}}
    )


FLAT = {"lobe__intake__base_radius": 17.0, "front__intake__lifter__follower": "flat"}
ROLLER = {"lobe__intake__base_radius": 17.0, "front__intake__lifter__follower__roller": 9.5}


@pytest.mark.parametrize("follower", [FLAT, ROLLER])
def test_turned_by_half_the_crank_it_holds_the_follower_at_its_lift(follower: dict[str, object]) -> None:
    """A flat foot lies on its highest metal; a roller comes as near as its radius and no nearer."""
    one = lobe.metal(with_(**follower), LIFTS)
    assert one.known
    ring = np.array(one.ring)
    out = 9.5 if follower is ROLLER else 0.0
    for place in (0, 90, 170, 190, 230, 300):
        turn = -lobe.angles()[place] / 2  # to the right
        cosine, sine = math.cos(turn), math.sin(turn)
        across, up = ring[:, 0] * cosine - ring[:, 1] * sine, ring[:, 0] * sine + ring[:, 1] * cosine
        if out:
            away = np.hypot(across, up - (17.0 + out + LIFTS[place])).min()
            assert away == pytest.approx(out, abs=0.02)
        else:
            assert up.max() == pytest.approx(17.0 + LIFTS[place], abs=0.02)


def test_it_is_dashed_where_base_circle_follower_or_lift_is_not_known() -> None:
    assert not lobe.metal(with_(), LIFTS).known
    assert not lobe.metal(with_(**FLAT), None).known
    assert not lobe.metal(with_(lobe__intake__base_radius=17.0), LIFTS).known


def test_lifts_that_are_not_all_known_are_not_drawn() -> None:
    """As of a rocker that comes off its stem on the way."""
    some = LIFTS.copy()
    some[100:120] = math.nan
    one = lobe.metal(with_(**FLAT), some)
    assert not one.known
    assert np.isfinite(one.ring).all()
    assert one.ring == lobe.metal(with_(**FLAT), None).ring


def test_at_rest_its_heel_meets_the_lifter_and_its_nose_points_away() -> None:
    where = gear_of("front.intake")
    one = replace(with_(**FLAT), lobe_lifts=LIFTS)
    at, way = lobe.foot(where, FRONT)
    body, _ = lobe.lines(one, where, FRONT)
    assert isinstance(body, Line)
    assert body.fill is Fill.GREY
    along = [(u - at[0]) * way[0] + (v - at[1]) * way[1] for u, v in body.points]
    assert max(along) == pytest.approx(0.0, abs=0.02)
    assert min(along) == pytest.approx(-2 * 17.0 - LIFTS.max(), abs=0.05)
    (edge,) = lobe.lines(one, where, SIDE)
    assert isinstance(edge, Line)
    assert len(edge.points) == 4
