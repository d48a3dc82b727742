"""What runs in a cylinder: as wide and high as it was entered, its crown as it is, bare where it is not known."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.lines import Circle, Fill, Line
from tallstack.cli.drawing.running import CROWN_ABOVE_PIN, conrod, half_bore, piston, walls, web
from tallstack.cli.drawing.subject import Entered

PISTON = {
    "piston.compression_height": 33.0,
    "piston.skirt_below_pin": 25.0,
    "piston.diameter": 90.0,
    "piston.skirt_inner": 70.0,
}


def entered(crown: tuple[tuple[float, float], ...] = (), **more: float) -> Entered:
    mapping = {name.replace("__", "."): value for name, value in more.items()}
    return Entered("one", mapping, frozenset(mapping), "mm", crown)


def test_a_piston_is_as_it_was_entered() -> None:
    whole = Entered("one", PISTON, frozenset(PISTON), "mm", ())
    body = piston(whole, 100.0)[0]
    assert isinstance(body, Line)
    assert body.fill is Fill.GREY
    across, up = zip(*body.points, strict=True)
    assert (min(across), max(across), min(up), max(up)) == (-45.0, 45.0, 75.0, 133.0)
    assert {35.0, -35.0} <= set(across)
    for lacking in ("piston.compression_height", "piston.skirt_below_pin", "piston.diameter"):
        part = {name: value for name, value in PISTON.items() if name != lacking}
        bare = piston(Entered("one", part, frozenset(part), "mm", ()))[0]
        assert isinstance(bare, Line)
        assert bare.fill is Fill.WHITE
        assert bare.stroke.dashes


def test_its_crown_is_cut_where_it_is_cut() -> None:
    crown = ((-45.0, 0.0), (-20.0, 0.0), (-15.0, -4.0), (0.0, -4.0), (5.0, 0.0), (45.0, 0.0))
    body = piston(Entered("one", PISTON, frozenset(PISTON), "mm", crown))[0]
    assert isinstance(body, Line)
    assert {(u, 33.0 + v) for u, v in crown} <= set(body.points)
    outline = piston(entered(crown))[1]  # a crown that is known on a piston that is not is drawn whole
    assert isinstance(outline, Line)
    assert not outline.stroke.dashes
    assert max(v for _, v in outline.points) == CROWN_ABOVE_PIN


def test_a_rod_joins_its_two_centres_as_wide_as_its_beam() -> None:
    low, high = (30.0, 40.0), (0.0, 180.0)
    beam = conrod(entered(crank__conrod_beam_width=22.0), low, high)[0]
    assert isinstance(beam, Line)
    assert beam.fill is Fill.GREY
    assert math.dist(beam.points[0], beam.points[3]) == pytest.approx(22.0)
    assert math.dist(beam.points[0], beam.points[1]) == pytest.approx(math.dist(low, high))
    centres = [one.centre for one in conrod(entered(), low, high) if isinstance(one, Circle)]
    assert set(centres) == {low, high}


def test_a_web_reaches_to_its_pin_and_its_weight_lies_opposite() -> None:
    turn = math.radians(40.0)
    weight, arm, *_ = web(entered(crank__counterweight_radius=60.0), 50.0, turn)
    assert isinstance(weight, Line)
    assert isinstance(arm, Line)
    way = (math.sin(turn), math.cos(turn))
    assert max(u * way[0] + v * way[1] for u, v in weight.points) == pytest.approx(0.0, abs=1e-9)
    assert max(math.hypot(*one) for one in weight.points) == pytest.approx(60.0)
    assert max(u * way[0] + v * way[1] for u, v in arm.points) == pytest.approx(65.0, abs=0.2)


def test_walls_stand_at_the_bore() -> None:
    assert half_bore(entered(stack__bore=90.0)) == (45.0, True)
    assert half_bore(entered())[1] is False
    left, right = walls(entered(stack__bore=90.0), 10.0, 150.0, True, 52.0)
    assert isinstance(left, Line)
    assert isinstance(right, Line)
    assert {abs(u) for u, _ in left.points} == {45.0, 52.0}
    assert {v for _, v in right.points} == {10.0, 150.0}
