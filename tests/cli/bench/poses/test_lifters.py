from __future__ import annotations

from tallstack.cli.bench.poses.lifters import DEEP, lifter
from tallstack.cli.drawing.lines import Line


def floor(plunger: str) -> float:
    """Return how far the plunger's foot stands over the bottom of its bore."""
    hollow, held = (one for one in lifter(plunger)[:2] if isinstance(one, Line))
    inner = {high for across, high in hollow.points if abs(across) == 9.0}
    return min(high for _, high in held.points) - min(inner)


def test_a_plunger_comes_down_to_the_bottom_of_its_bore() -> None:
    assert floor("top") > floor("down") > floor("bottomed") == 0.0


def test_the_rod_s_ball_stays_where_it_is() -> None:
    plungers = {lifter(one)[1] for one in DEEP}
    assert len(plungers) == 1


def test_a_solid_lifter_is_one_body() -> None:
    assert len(lifter("solid")) == 1
    assert lifter("solid") == lifter("solid checking lifter")
