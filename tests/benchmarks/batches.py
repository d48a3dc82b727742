"""What a pose of the cycle costs in a small batch and in a large one: of lobe, valve gear, piston and two heads."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables, lifted
from tallstack.geometry.cam.law import law_lobe
from tallstack.geometry.clearance.valve_lift import ValveLift, valve_lift
from tallstack.geometry.core.frames import Array
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.crank.crank import crank_of
from tallstack.geometry.engine.engine import build

from ..commands import COORDINATES, DEMO
from .jobs import DEGREES, PEAK_MM
from .timing import seconds_of

TIMES = 5
TRAIN = "front.intake"

Cycle = Callable[[], object]


def gear() -> ValveLift:
    """Return a valve's lift by coordinates, its lobe from a timing card."""
    lobe = Cam(load(DEMO).mapping, Tables()).lobe_of(TRAIN)
    assert isinstance(lobe, CamLobe)
    found = valve_lift(build(load(COORDINATES).mapping).train(TRAIN), lobe)
    assert isinstance(found, ValveLift)
    return found


def cycles(count: int) -> Mapping[str, Cycle]:
    """Return what is timed, by name, over so many crank angles of a cycle."""
    crank: Array = np.radians(np.linspace(-360.0, 360.0, count, endpoint=False))
    valve, law = gear(), law_lobe("4-5-6-7", PEAK_MM, float(np.radians(DEGREES)))
    piston = crank_of(Reader(load(COORDINATES).mapping, ("front.", "")))
    link, cam, lobe = valve.linkage, crank / 2, lifted(valve.lobe, crank)
    assert link is not None
    return {
        "lobe lift, by a law": lambda: law.lift(cam),
        "lobe lift, of a card": lambda: lifted(valve.lobe, crank),
        "piston motion": lambda: piston.descent(crank),
        "valve lift, of the lobe's lifts": lambda: valve.at_lobe(lobe),
        "valve gear's motion, of the lobe's lifts": lambda: link.motion(lobe, link.down),
        "valve lift, of the crank's angles": lambda: valve.at(crank),
    }


def prices(few: int, many: int) -> dict[str, tuple[float, float]]:
    """Return what a pose of each costs in a small batch and in a large one, processor ns."""
    short, long = cycles(few), cycles(many)
    return {
        name: (seconds_of(short[name], TIMES) / few * 1e9, seconds_of(long[name], TIMES) / many * 1e9)
        for name in short
    }
