"""A table as it was read, carried to the follower that the engine has, or refused in words."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from tallstack.geometry.cam.fit import fit
from tallstack.geometry.cam.follower import Follower
from tallstack.geometry.cam.read import Riding, refusal, under_the_engine
from tallstack.geometry.cam.readings import Readings
from tallstack.geometry.core.errors import GeometryError

from ...geometry.cam.test_follower import arcs_of, tangent_of

Array = NDArray[np.float64]


Lift = Callable[[Array, float | None], Array]  # cam degrees from the nose, radius of the follower or flat


TIP, ROLLER, AHEAD, FLAT = Follower(1.5), Follower(10.0), Follower(10.0, 3.0), Follower(None)


def from_nose(cam: Array) -> Array:
    return np.radians(np.abs((np.asarray(cam, dtype=float) + 180) % 360 - 180))


TANGENT, ARCS = tangent_of(14, 6, 17), arcs_of(14, 60, 5, 17.5)


def riding(read: Follower, run: Follower, flat: bool = False, foot: float | None = None) -> Riding:
    return Riding(14.0, read, run, flat, foot)


def test_what_cannot_be_told_is_refused() -> None:
    for one, why in (
        (riding(FLAT, ROLLER), "a flat foot bridges hollow flanks"),
        (riding(Follower(12.0), ROLLER), "a larger follower bridges hollows"),
        (riding(Follower(2.0, 16.0), ROLLER), "the follower passes beside the cam"),
        (riding(TIP, Follower(10.0, -24.0), True), "the follower passes beside the cam"),
    ):
        said = refusal(one)
        assert said is not None
        assert said[0].startswith(why)
    for one in (
        riding(TIP, ROLLER),
        riding(TIP, FLAT),
        riding(FLAT, ROLLER, True),
        riding(ROLLER, TIP, True),
    ):
        assert refusal(one) is None


def test_a_foot_that_is_too_narrow_is_told_by_how_far_contact_wanders() -> None:
    cam = np.radians(np.arange(-180.0, 180.0, 2.0))
    found = fit(Readings(cam, ARCS(np.degrees(cam), 1.5)))
    with pytest.raises(
        GeometryError, match=r"runs off its edge, 1\d\.\d\d mm off its middle, and it is 20\.00"
    ):
        under_the_engine(found, riding(TIP, FLAT, foot=20.0))
    under_the_engine(found, riding(TIP, FLAT, foot=32.0))
