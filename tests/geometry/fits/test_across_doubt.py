"""How sure the distances across the cylinders are."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.targets import ACROSS, SPIGOTS
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.fits.across import (
    ARCH,
    conrod_to_spigot,
    mover,
    piston_to_piston,
    piston_to_spigot,
    spigot_of,
    spigot_to_spigot,
)
from tallstack.geometry.fits.across_doubt import (
    CONROD,
    FIGURES,
    PASSING,
    PISTON,
    PISTONS,
    SEATED,
    Gap,
    judged_gaps,
)
from tallstack.geometry.fits.cut_tube import Apart

from ...seeded import few
from .test_across import V


def varied_v(entry: str, by: float) -> Flat:
    whole: Flat = {
        **V,
        "front.lean": np.radians(26.0),
        "rear.lean": np.radians(-26.0),
        "rear.offset": 3.0,
        "crank.conrod_beam_width": 22.0,
        "crank.turns": "forward",
        "piston.pin_offset": 0.8,
        "front.spigot.length": 34.0,
        "front.spigot.outer_diameter": 99.0,
        "piston.arch_width": 30.0,
        "piston.arch_height": 8.0,
    }
    return {**whole, entry: array(whole[entry]) + by}


ENTRIES = (
    "crank.stroke",
    "crank.conrod_length",
    "crank.conrod_beam_width",
    "piston.compression_height",
    "piston.skirt_below_pin",
    "piston.pin_offset",
    "piston.diameter",
    "stack.bore",
    "stack.case_deck",
    "front.lean",
    "rear.lean",
    "rear.offset",
    "rear.spigot.length",
    "rear.spigot.outer_diameter",
    "front.spigot.length",
    "front.spigot.outer_diameter",
    *ARCH,
)


@pytest.mark.parametrize("kind", few([SEATED, PISTON, CONROD, PISTONS], 1))
def test_the_derivatives_of_a_least_distance_are_those_at_its_angle(kind: str) -> None:
    """Against differences of the least distance itself, its angle found anew for every engine."""

    def least(mapping: Flat) -> tuple[float, float | None, Apart | None]:
        moving, stands = mover(mapping, "front", with_rod=True), spigot_of(mapping, "rear")
        assert not isinstance(moving, Missing)
        assert not isinstance(stands, Missing)
        if kind == PISTONS:
            second = mover(mapping, "rear")
            assert not isinstance(second, Missing)
            pair = piston_to_piston(mapping, moving, second)
            return pair.gap, pair.at, None
        if kind == SEATED:
            own = spigot_of(mapping, "front")
            assert not isinstance(own, Missing)
            seated = spigot_to_spigot(("front", "rear"), own, stands).apart
            return seated.gap, None, seated
        found = piston_to_spigot(moving, stands) if kind == PISTON else conrod_to_spigot(moving, stands)
        assert found is not None
        return found.gap, found.at, found.apart

    here = varied_v("crank.stroke", 0.0)
    value, at, apart = least(here)
    assert value > 0
    gap = Gap(kind, "front", "rear", value, at, apart)
    groups = {entry: {entry: 1.0} for entry in ENTRIES}
    (found,) = judged_gaps(here, [gap], groups, {entry: Doubt(0.05) for entry in ENTRIES})
    step = 0.02
    for entry in ENTRIES:
        away = step / 100 if entry.endswith("lean") else step
        ends = [least(varied_v(entry, way * away))[0] for way in (1.0, -1.0)]
        slope = (ends[0] - ends[1]) / (2 * away)
        assert found.slopes.get(entry, 0.0) == pytest.approx(slope, abs=0.01 * max(1.0, abs(slope))), entry
    squares = sum((slope * 0.05) ** 2 / 3 for slope in found.slopes.values())
    assert found.budget.expanded == pytest.approx(2 * np.sqrt(squares))
    assert found.proved


@pytest.mark.parametrize("kind", [PISTON, PISTONS, SEATED, PASSING])
def test_what_meets_is_short_whatever_the_limit(kind: str) -> None:
    """A distance of parts that stand in one another is told as nought, or as nearly that as rounding leaves it."""
    wished: Flat = {ACROSS.path: 0.0, SPIGOTS.path: 0.0}
    for value in (0.0, -3e-14, 3e-14):
        assert FIGURES[kind].meets(value)
        assert FIGURES[kind].falls_short(wished, value)
    assert not FIGURES[kind].falls_short(wished, 1e-6)
