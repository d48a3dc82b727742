"""A four-bar linkage from a public homework page, both circuits to 0.0001°.

Reference: a public course page's homework solution (no author or year given): ground d 10, crank
a 35, coupler b 25, output c 15 in, input angle 30°.
How it was read: VERIFIED, inputs and answers stand on the page. The full digits are DERIVED.

Tolerance: half the last printed digit, 0.00005°; the exact digits are held to 1e-9°.
"""

from __future__ import annotations

from math import cos, radians

import pytest

from .fourbar import output_and_coupler_deg

GROUND, INPUT, COUPLER, OUTPUT, TURN_DEG = 10.0, 35.0, 25.0, 15.0, 30.0
# circuit → t3 and t4 as printed, t3 and t4 in full
CIRCUITS = {
    "open": ((254.1745, 334.0983), (254.17449838014085, 334.0983400628047)),
    "crossed": ((187.3223, 107.3985), (187.3223227512189, 107.39848106855503)),
}


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_both_circuits(circuit: str) -> None:
    """One branch of the closure is the page's open circuit, the other its crossed one."""
    printed, full = CIRCUITS[circuit]
    branch = 1.0 if circuit == "open" else -1.0
    t4, t3 = output_and_coupler_deg(GROUND, INPUT, COUPLER, OUTPUT, TURN_DEG, branch)
    assert (t3 % 360.0, t4 % 360.0) == pytest.approx(printed, abs=0.00005)
    assert (t3 % 360.0, t4 % 360.0) == pytest.approx(full, abs=1e-9)
    k3 = (INPUT**2 - COUPLER**2 + OUTPUT**2 + GROUND**2) / (2 * INPUT * OUTPUT)
    out, turn = radians(t4), radians(TURN_DEG)
    residual = GROUND / INPUT * cos(out) - GROUND / OUTPUT * cos(turn) + k3 - cos(turn - out)
    assert residual == pytest.approx(0.0, abs=1e-13)
