"""The valves of a job as the program in C reads them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.law import Law
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates, over_valve
from tallstack.geometry.core.frames import Array
from tallstack.geometry.engine.engine import build
from tallstack.geometry.piston.cycle import least_drop
from tallstack.geometry.piston.over_piston import over_piston


class ValvesTold(NamedTuple):
    """What the program reads, and what tallstack finds of it."""

    numbers: str
    least: list[float]  # mm, the least drop of each


def valves_told(job: Path) -> ValvesTold:
    """Return the valves of a job by coordinates, its lobes by a law."""
    read = load(job).tabled
    lines, least = [], []
    for name in (one.name for one in build(read.mapping).trains):
        cylinder = name.rpartition(".")[0]
        over = over_piston(read.mapping, cylinder, read.tables.crowns)
        here = read.clearances.situations[cylinder].lifts[name]
        valve = over_valve(read.mapping, name, over, here)
        assert isinstance(valve, ByCoordinates)
        assert here.linkage is not None
        lowest = least_drop(valve.below, valve.valve)[0]
        placed, crank = here.lobe.placed, valve.below.crank
        law = placed.lobe.curve
        assert isinstance(law, Law)
        drawn, pockets = here.linkage.drawn, valve.below.crown.pockets
        parts: list[Array | float] = [crank.throw, crank.conrod_length, crank.aside(valve.below.forward)]
        parts += [law.height, law.half, placed.at, lowest.angle, *drawn, here.linkage.down]
        parts += [valve.head.centre, valve.head.stem, valve.head.radius, len(pockets)]
        parts += [part for one in pockets for part in one]
        lines.append(" ".join(_words(parts)))
        least.append(lowest.value)
    return ValvesTold("\n".join(lines), least)


def _words(parts: list[Array | float]) -> Iterator[str]:
    for part in parts:
        yield from (repr(float(one)) for one in np.ravel(part))
