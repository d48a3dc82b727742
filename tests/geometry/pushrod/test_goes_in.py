"""Whether a pushrod goes in, against a rocker turned by root finding and a ball tipped past a lip by brute force.

20 random valve gears of each kind every time, 600 as a study; the rocker is pushed open by 0 to 5 mm, the plunger is
on its bottom, the ratio is dialled over the lifter's first 2 mm.

Figures, measured on two cores with CPython 3.11, least, 5 %, median, 95 % and greatest of our room less the true, mm;
above nought we promise too much:

- as built: -0.005 -0.001 0.002 0.009 0.023; no pushrod 6 degrees aside, ratios changing by up to a third: -0.269
  -0.046 0.009 0.038 0.156; leaning up to 28 degrees: -0.161 -0.019 0.044 0.176 0.263
- the ratio dialled over half a millimetre: as built -0.015 to 0.040; arms' ratio: as built -0.092 to 0.056, others to
  1.05 mm
- the cup's own rise instead of a ratio: as built 0.000 to 0.010, upright to 0.026, leaning to 0.154: a pushrod aside
  gains less than the plunger's travel
- a rocker 0.5 mm off its stem lowers the cup by that over the ratio: as built within 0.001; leaning -0.030 to 0.006
- ball over a lip: depth less a²/(2·L) within 0.002, of which the latter is 0.012 to 0.061
"""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.pushrod.goes_in import FINGERS_MM, spare

from ...hydraulic_gears import some
from ...measured import Told
from ...oracles import grown_loop

DIALLED = 2.0  # [mm] of lifter lift
OPEN = 5.0
OFF = 0.5
CASES = {  # kind: least, most, most by the cup's own rise [mm]
    "built": (-0.02, 0.03, 0.015),
    "upright": (-0.3, 0.2, 0.03),
    "leaning": (-0.3, 0.3, 0.17),
}
PLAIN = [("built", 20), ("leaning", 20)]


def to_spare(
    zero_lash: float,
    shortest: float,
    cup: float,
    travel: float,
    opened: float = 0.0,
    backed_out: float = 0.0,
    allowance: float = 0.0,
) -> float:
    lengths = (array(one) for one in (zero_lash, shortest, cup, travel, opened, backed_out))
    zero, short, deep, down, rise, out = lengths
    return float(spare(zero, short, deep, down, rise, out, allowance))


def test_a_pushrod_worked_by_hand() -> None:
    assert to_spare(268.80, 270.00, 3.0, 3.6) == pytest.approx(-0.6)
    assert to_spare(268.80, 270.00, 3.0, 3.6, opened=0.978 / 1.63) == pytest.approx(0.0, abs=1e-9)
    assert to_spare(268.80, 267.50, 3.0, 3.6) == pytest.approx(1.9)
    assert to_spare(268.80, 270.00, 3.0, 3.6, backed_out=2.5) == pytest.approx(1.9)
    fingers = spare(*(array(one) for one in (268.80, 270.00, 3.0, 3.6, 0.0, 0.0)))
    assert float(fingers) == pytest.approx(-0.6 - FINGERS_MM)


@pytest.mark.parametrize(
    ("kind", "many"), [*PLAIN, *(pytest.param(one, 600, marks=pytest.mark.study) for one in CASES)]
)
def test_the_room_against_a_rocker_turned_by_hand(kind: str, many: int, measured: Told) -> None:
    """By the cup's own rise, all that is left is the pushrod's angle to the plunger's way: we promise too much."""
    least, most, by_cup = CASES[kind]
    by_ratio: list[float] = []
    by_rise: list[float] = []
    for gear in some(kind, 717, many):
        held = grown_loop.Held(gear.mapping, gear.train)
        travel, valve = gear.rng.uniform(2.5, 5.0), gear.rng.uniform(0.0, OPEN)
        zero_lash, room = held.between(0.0, 0.0), held.between(valve, travel)
        ratio = float(grown_loop.opened(gear.mapping, gear.train, [DIALLED])[0]) / DIALLED
        cup, shortest = gear.rng.uniform(1.0, 4.0), zero_lash + gear.rng.uniform(-2.0, 2.0)
        truth = room - shortest - cup
        for opened, off in ((valve / ratio, by_ratio), (held.between(valve, 0.0) - zero_lash, by_rise)):
            off.append(to_spare(zero_lash, shortest, cup, travel, opened) - truth)
    measured(
        f"room to put a pushrod in, {kind}", "raw loop, rocker turned by hand", by_ratio, most, least=least
    )
    assert min(by_rise) > -1e-9
    assert max(by_rise) < by_cup


@pytest.mark.parametrize("many", [20, pytest.param(600, marks=pytest.mark.study)])
@pytest.mark.parametrize(("kind", "most"), [("built", 0.002), ("leaning", 0.035)])
def test_a_cup_that_rises_opens_the_valve_and_a_rocker_off_its_stem_lowers_the_cup(
    kind: str, most: float, many: int
) -> None:
    for gear in some(kind, 719, many):
        held = grown_loop.Held(gear.mapping, gear.train)
        ratio = grown_loop.opened(gear.mapping, gear.train, [grown_loop.READ_AT])[0] / grown_loop.READ_AT
        there = held.between(0.0, 0.0)
        assert held.between(OFF, 0.0) > there > held.between(-OFF, 0.0)
        assert there - held.between(-OFF, 0.0) == pytest.approx(OFF / ratio, abs=most)


def test_a_ball_passes_a_lip_with_the_cups_depth_less_what_the_rod_tips() -> None:
    rng = np.random.default_rng(721)
    for _ in range(40):
        ball, rod = rng.uniform(3.0, 5.0), rng.uniform(180.0, 300.0)
        depth = rng.uniform(1.2, 1.0 * ball)
        lip = np.sqrt(ball**2 - (ball - depth) ** 2) * rng.uniform(1.0, 1.08)
        needs = grown_loop.room_over_lip(depth, lip, ball, rod)
        assert needs == pytest.approx(depth - lip**2 / (2 * rod), abs=0.003)
        assert depth - 0.08 < needs < depth
