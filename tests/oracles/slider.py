"""A crank and its piston as a person would write them down, in plain trigonometry; it shares no code with tallstack."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def descent(angle: Array, throw: float, rod: float) -> Array:
    """Return how far a piston over a central pin stands below its highest point [mm]; angle : crank rad from its top."""
    return throw + rod - (throw * np.cos(angle) + np.sqrt(rod**2 - (throw * np.sin(angle)) ** 2))


def polynomial_lift(angle: Array, peak: float, duration: float) -> Array:
    """Return a lobe's lift whose fall is 1 - 35x⁴ + 84x⁵ - 70x⁶ + 20x⁷ [mm].

    angle : crank rad from the peak;  duration : crank rad, all of it
    """
    x = np.minimum(np.abs(angle) / (duration / 2), 1.0)
    return peak * (1 - 35 * x**4 + 84 * x**5 - 70 * x**6 + 20 * x**7)


def sea_level_air(height: float) -> float:
    """Return the pressure of the standard atmosphere [kPa], by its lapse of 6.5 K to the kilometre."""
    return 101.325 * (1 - 0.0065 * height / 288.15) ** (9.80665 * 0.0289644 / (8.314462618 * 0.0065))


def nozzle(pressure: float, outside: float, temperature: float, area: float, flows: float) -> float:
    """Return the mass flow out of a hole [kg/s], choked or not; pressures in Pa, area in m²."""
    kappa, gas = 1.4, 287.0
    if pressure <= outside:
        return 0.0
    ratio = max(outside / pressure, (2 / (kappa + 1)) ** (kappa / (kappa - 1)))
    speed = math.sqrt(2 * kappa / (kappa - 1) * (ratio ** (2 / kappa) - ratio ** ((kappa + 1) / kappa)))
    return flows * area * pressure / math.sqrt(gas * temperature) * speed
