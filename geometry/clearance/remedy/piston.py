"""What mends a valve that comes too close to its piston, each remedy alone.

thicker gasket    the head stands higher over the piston; a plain crown never gets closer by it, a leaning
valve over a deep pocket can
deeper pocket     see `pocket`
cam timing        both valves move together
less lobe lift    at the timing as it is
valve sunk        face and tip go into the head along the stem
less preload      where they meet with the lifter pumped up alone
"""

from __future__ import annotations

import numpy as np

from ...cam.cam import Cam
from ...core.frames import array
from ...core.mapping import Flat, Reader, frozen
from ...doubt.result import Result
from ..situation import Situation
from ..valve_over_piston import OverValve
from .pocket import cut_pocket
from .remedy import LEAST_LIFT, MOST_SINK_MM, MOST_TIMING, Case, Remedy, Steps, none, solve, solved

MOST_GASKET_MM = {"head gasket": 3.0, "base gasket": 6.0}


def piston_remedies(
    mapping: Flat, cam: Cam, here: Situation, name: str, short: Result, steps: Steps, pumped: float | None
) -> tuple[Remedy, ...]:
    """Return what would mend one valve's clearance to the piston, each alone.

    short  : the clearance that falls short, on drop or straight gap
    pumped : mm, the drop wanted with the lifter pumped up, where that brings contact
    """
    case = Case(mapping, cam, here, name, short, steps, pumped, short.value - short.limit.value)
    if pumped is not None:
        case = case._replace(now=case.spare(case.over()))
    found = [_gasket(case, "head gasket"), _gasket(case, "base gasket"), cut_pocket(case)]
    found += [_timing(case), _lobe_lift(case), _sink(case), _preload(case)]
    return tuple(case.then(one) for one in found if one is not None)


def _gasket(case: Case, kind: str) -> Remedy | None:
    entry = f"stack.{kind.replace(' ', '_')}"
    reader = Reader(case.mapping, (f"{case.here.cylinder}.", ""))
    now = reader.find(entry)
    if now is None or (kind == "base gasket" and reader.find("stack.cylinder") == 0.0):  # part of the block
        return None
    own = f"{case.here.cylinder}.{entry}"

    def changed(by: float) -> Flat:
        return frozen(case.mapping).with_({own: float(now) + by})

    found = solved(case, changed, MOST_GASKET_MM[kind], case.now)
    if found is None:
        return none(kind, own, f"none up to {MOST_GASKET_MM[kind]:g} mm thicker is enough")
    there, also = changed(found), {}
    reader = Reader(case.mapping, (f"{case.here.cylinder}.", ""))
    free = reader.find(f"{own[own.index('stack.') :]}_free")
    if (
        free is not None and float(free) < float(now) + found
    ):  # another gasket, crushed by as much as this one
        also = {f"{own}_free": float(free) + found}
        there = frozen(there).with_(also)
    return Remedy(kind, own, found, float(now) + found, case.gives(case.over(there)), "", None, also, there)


def _sink(case: Case) -> Remedy | None:
    entry = f"{case.name}.valve.sink"
    now = Reader(case.mapping, ("",)).find(entry)
    sunk = 0.0 if now is None else float(now)

    def changed(by: float) -> Flat:
        return frozen(case.mapping).with_({entry: sunk + by})

    found = solved(case, changed, MOST_SINK_MM, case.now)
    if found is None:
        return none("valve sink", entry, f"up to {MOST_SINK_MM:g} mm are not enough")
    there = changed(found)
    return Remedy("valve sink", entry, found, sunk + found, case.gives(case.over(there)), "", None, {}, there)


def _preload(case: Case) -> Remedy | None:
    """Return less preload, where a lifter meets nothing but when it is pumped up; the plunger then rises by less."""
    entry = f"{case.name}.lifter.preload"
    now = Reader(case.mapping, ("",)).find(entry)
    if case.pumped is None or now is None or case.short.value < case.short.limit.value:
        return None

    def changed(by: float) -> Flat:
        return frozen(case.mapping).with_({entry: float(now) + by})

    found = solved(case, changed, -float(now), case.now)
    if found is None or float(now) + found < 0:
        return none("preload", entry, "none is little enough")
    there = changed(found)
    return Remedy(
        "preload", entry, found, float(now) + found, case.gives(case.over(there)), "", None, {}, there
    )


def _timing(case: Case) -> Remedy:
    over = case.over()
    assert over is not None

    def turned(by: float) -> OverValve:
        return over._replace(lift=over.lift.advanced(by))

    rises = (
        float(over.lift.at(array(case.short.angle + 1e-4)) - over.lift.at(array(case.short.angle - 1e-4)))
        / 2e-4
    )
    way = 1.0 if rises < 0 else -1.0  # the valve closing there: earlier helps
    guess = (case.short.limit.value - case.short.value) / max(abs(rises), 0.5)
    found = solve(
        lambda by: case.spare(turned(by)), way * guess, way * float(MOST_TIMING), case.steps.angle, case.now
    )
    entry = "cam.advance"
    if found is None:
        earlier = "earlier" if way > 0 else "later"
        return none(
            "cam timing", entry, f"up to {np.degrees(MOST_TIMING):.0f} degrees {earlier} are not enough"
        )
    there = frozen(case.mapping).with_({entry: case.cam.advance + found})
    return Remedy(
        "cam timing",
        entry,
        found,
        case.cam.advance + found,
        case.gives(turned(found)),
        "",
        None,
        {},
        there,
        found,
    )


def _lobe_lift(case: Case) -> Remedy:
    over = case.over()
    assert over is not None
    lobe = over.lift.lobe
    _, peak = lobe.peak

    def scaled(by: float) -> OverValve:
        return over._replace(lift=over.lift._replace(scale=1.0 + by / peak))

    entry = f"lobe.{lobe.name}"
    most = -(1.0 - LEAST_LIFT) * peak
    found = solve(
        lambda by: case.spare(scaled(by)),
        case.short.value - case.short.limit.value,
        most,
        case.steps.length,
        case.now,
    )
    if found is None:
        return none(
            "lobe lift", entry, f"no lobe down to {LEAST_LIFT:.0%} of this one's lift clears at this timing"
        )
    return Remedy(
        "lobe lift",
        entry,
        found,
        peak + found,
        case.gives(scaled(found)),
        "",
        None,
        {},
        None,
        0.0,
        1.0 + found / peak,
    )
