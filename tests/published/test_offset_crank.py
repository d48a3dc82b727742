"""The dead centres of a slider-crank whose pin line passes the crank at a distance.

Reference: none; no stored textbook page has the formulas. DERIVED: with throw r, rod l, offset e,
x = r·cos t + √(l² - (r·sin t - e)²) is greatest where crank and rod lie in one line, at
t = asin(e/(l + r)), with x = √((l + r)² - e²), and least at t = 180° + asin(e/(l - r)). The table's
digits were worked out apart from this project and agree with a numerical search to 1e-12.

Tolerance: 1e-12 mm, four digits above what a double leaves of 200 mm.
"""

from __future__ import annotations

from math import cos, degrees, radians, sin, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.core.frames import array
from tallstack.geometry.crank.crank import Crank

# r, l, e mm; top dead centre deg, bottom deg, stroke mm, downstroke deg
TABLE = [
    (50.0, 150.0, 10.0, 2.8659839825988622, 185.73917047726678, 100.25109984371979, 182.87318649466792),
    (45.5, 151.0, 1.6, 0.466535675540121, 180.86897404534778, 91.00561929625962, 180.40243836980767),
]
CLOSE_MM = 1e-12


def pin(throw: float, rod: float, offset: float, turn: float) -> float:
    return throw * cos(turn) + sqrt(rod**2 - (throw * sin(turn) - offset) ** 2)


def crank(throw: float, rod: float, offset: float, height: float = 0.0) -> Crank:
    return Crank(array(throw), array(rod), array(height), array(offset))


def dead_centre(throw: float, rod: float, offset: float, about: float) -> float:
    """Return the turn [rad] near one guess at which the pin stands still, by its slope's zero."""

    def slope(turn: float) -> float:
        side = throw * sin(turn) - offset
        return -throw * sin(turn) - side * throw * cos(turn) / sqrt(rod**2 - side**2)

    return float(brentq(slope, about - 0.5, about + 0.5, xtol=1e-15))


@pytest.mark.parametrize(("throw", "rod", "offset", "top_deg", "bottom_deg", "stroke", "down_deg"), TABLE)
def test_table(
    throw: float, rod: float, offset: float, top_deg: float, bottom_deg: float, stroke: float, down_deg: float
) -> None:
    top, bottom = (dead_centre(throw, rod, offset, about) for about in (0.0, radians(180.0)))
    assert degrees(top) == pytest.approx(top_deg, abs=1e-10)
    assert degrees(bottom) == pytest.approx(bottom_deg, abs=1e-10)
    assert degrees(bottom - top) == pytest.approx(down_deg, abs=1e-10)
    highest = float(crank(throw, rod, offset).top)
    assert highest == pytest.approx(pin(throw, rod, offset, radians(top_deg)), abs=CLOSE_MM)
    assert highest - pin(throw, rod, offset, bottom) == pytest.approx(stroke, abs=CLOSE_MM)


@pytest.mark.parametrize("seed", range(10))
def test_highest_against_a_search(seed: int) -> None:
    rng = np.random.default_rng([71, seed])
    throw, rod, offset, height = (
        float(rng.uniform(*span)) for span in ((30, 65), (120, 200), (-12, 12), (25, 50))
    )
    found = minimize_scalar(
        lambda turn: -pin(throw, rod, offset, turn),
        bounds=(-0.5, 0.5),
        method="bounded",
        options={"xatol": 1e-12},
    )
    assert float(crank(throw, rod, offset, height).top) == pytest.approx(
        height - float(found.fun), abs=CLOSE_MM
    )


def test_central_pin_and_either_side() -> None:
    assert float(crank(50.0, 150.0, 0.0, 30.0).top) == 230.0
    assert float(crank(50.0, 150.0, 7.0).top) == float(crank(50.0, 150.0, -7.0).top)


def test_batches_are_their_elements() -> None:
    for shape in ((), (1,), (2,), (3,), (4,), (2, 3)):
        offsets = np.linspace(-8.0, 8.0, int(np.prod(shape))).reshape(shape)
        together = Crank(array(50.0), array(150.0), array(0.0), offsets).top
        assert together.shape == shape
        for at in np.ndindex(*shape):
            assert together[at] == crank(50.0, 150.0, float(offsets[at])).top
