"""The textbook four-bar linkage, the planar special case of the valve gear's closure.

Reference: R. L. Norton, Design of Machinery, McGraw-Hill, Example 4-1 (5th ed. 2012; the example
stands in every edition): d 100, a 40, b 120, c 80 mm, input angle 40°; printed to 0.01°.
How it was read: from memory. The full digits are DERIVED, worked out apart from this project.

Tolerance: half the last printed digit is 0.005°. Two of the remembered figures, 57.33 and -98.01, lie
0.0051° from the exact 57.3249 and -98.0050, so 0.0055° is allowed; the exact digits are held to 1e-9°.

Freudenstein's equation K1·cos t4 - K2·cos t2 + K3 = cos(t2 - t4): VERIFIED in the public package
pylinkage 1.3.0, `synthesis/function_generation.py`.
"""

from __future__ import annotations

from math import cos, radians

import pytest

from .fourbar import output_and_coupler_deg

GROUND, INPUT, COUPLER, OUTPUT, TURN_DEG = 100.0, 40.0, 120.0, 80.0, 40.0
# circuit → t3 and t4 as printed, t3 and t4 in full
CIRCUITS = {
    "open": ((20.30, 57.33), (20.297882788196492, 57.3248800703608)),
    "crossed": ((-60.98, -98.01), (-60.97796679586447, -98.00496407802872)),
}


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_example_4_1(circuit: str) -> None:
    printed, full = CIRCUITS[circuit]
    branch = 1.0 if circuit == "open" else -1.0
    t4, t3 = output_and_coupler_deg(GROUND, INPUT, COUPLER, OUTPUT, TURN_DEG, branch)
    assert (t3, t4) == pytest.approx(printed, abs=0.0055)
    assert (t3, t4) == pytest.approx(full, abs=1e-9)


@pytest.mark.parametrize("branch", [1.0, -1.0])
@pytest.mark.parametrize("turn_deg", [-130.0, -40.0, 0.0, 40.0, 111.0, 179.0])
def test_freudenstein(turn_deg: float, branch: float) -> None:
    t4, _ = output_and_coupler_deg(GROUND, INPUT, COUPLER, OUTPUT, turn_deg, branch)
    k1, k2 = GROUND / INPUT, GROUND / OUTPUT
    k3 = (INPUT**2 - COUPLER**2 + OUTPUT**2 + GROUND**2) / (2 * INPUT * OUTPUT)
    assert (k1, k2, k3) == pytest.approx((2.5, 1.25, 0.5625), abs=1e-15)
    out, turn = radians(t4), radians(turn_deg)
    assert k1 * cos(out) - k2 * cos(turn) + k3 - cos(turn - out) == pytest.approx(0.0, abs=1e-13)
