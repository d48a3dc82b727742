"""Lobes known exactly, to be read with noise: a round eccentric, and a lobe with heel, ramps and dwell."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from tallstack.geometry.cam.readings import Readings

Array = NDArray[np.float64]
THOU = 0.0254  # mm
NOISE = THOU  # of one reading: a thousandth of an inch


def eccentric(cam: Array) -> Array:
    """Return the lift of a round cam of radius 30, 10 off centre, under a roller of radius 10 [mm].

    cam : degrees from the nose.  Derived: the centre of the roller stays 40 from that of the round.
    """
    turned = np.radians(cam)
    return 10 * np.cos(turned) + np.sqrt(40.0**2 - (10 * np.sin(turned)) ** 2) - 30


def rise_4567(share: Array) -> Array:
    """Return the textbook rise, written out on its own."""
    x = np.clip(share, 0.0, 1.0)
    return 35 * x**4 - 84 * x**5 + 70 * x**6 - 20 * x**7


def dwelling(cam: Array) -> Array:
    """Return a 4-5-6-7 lobe of 8.9 mm with a heel of 220 degrees, quiet ramps and a short dwell [mm].

    cam : degrees from the nose
    """
    away = np.abs((cam + 180) % 360 - 180)
    return 0.2 * rise_4567((70 - away) / 18) + 8.7 * rise_4567((62 - away) / 59)


def quiet(cam: Array) -> Array:
    """Return the same with slower ramps, on which an event is hard to place [mm]."""
    away = np.abs((cam + 180) % 360 - 180)
    return 0.25 * rise_4567((80.5 - away) / 20) + 7.75 * rise_4567((72.5 - away) / 69.5)


def read(
    cam: Array, lift: Array, rng: np.random.Generator, noise: float = NOISE, off: float = 0.3
) -> Readings:
    """Return readings of lifts at cam degrees, with a dial that stood off zero."""
    return Readings(np.radians(cam), lift + off + rng.normal(0.0, noise, len(cam)))


def cubed(cam: Array) -> Array:
    """Return a lobe of 8.08 mm without ramps, a cosine to the third power over 168 degrees [mm].

    cam : degrees from the nose
    """
    away = np.abs((cam + 180) % 360 - 180)
    return 8.08 * np.cos(np.pi / 2 * np.minimum(away / 84, 1.0)) ** 3


@cache
def passes(lobe: object, check: float) -> tuple[float, float]:
    """Return where a known lobe passes a check lift, cam degrees, from a grid of a thousandth."""
    cam = np.arange(-180.0, 180.0, 0.001)
    above = cam[lobe(cam) > check]  # type: ignore[operator]
    return float(above[0]), float(above[-1])


CAM = np.arange(-180.0, 180.0, 2.5)


def written(path: Path, cam: Array, lift: Array, scale: float = 25.4, places: int = 4) -> Path:
    rows = [f"{angle:g},{one / scale:.{places}f}" for angle, one in zip(cam, lift, strict=True)]
    path.write_text("\n".join(["angle,lift", *rows]) + "\n", encoding="utf-8")
    return path


def noisy(seed: int = 1, cam: Array = CAM) -> Array:
    return dwelling(cam) + 0.2 + np.random.default_rng(seed).normal(0, NOISE, len(cam))
