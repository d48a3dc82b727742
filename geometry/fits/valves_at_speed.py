"""What is left between a valve and its piston at speed, at least, and how stiff a valve gear is.

The piston stands higher by all that closes the gap together (`piston.rise`) and rocks towards the valve, the cam's
drive lets the intake open so much earlier or the exhaust close so much later as its play allows, and lifts that were
read at the valve on its running springs come back to what a stiff gear would give:

    drop and gap   found anew through the cycle with the crown raised and the lobe shifted, no factor needed
    wall           the same, less how far the crown moves sideways: c/2 + c/L · (crown's height above the pin)
    F(h)/k         what a valve gear of stiffness k, bent by its springs' force F, took from a reading of lift

A valve gear in contact only ever pushes, so bending takes lift away and is not counted; where it loses contact the
valve flies on by millimetres: above the speed at which the rigid gear leaves the cam nothing here holds.

    k = (F₂ - F₁) / (h₁ - h₂)   from the lift on the nose on checking and on running springs

Sources: the envelope theorem, as in `moving`; a spring in series with the gear.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

import numpy as np

from ..cam.cam import CamLobe, Tables
from ..clearance.clearances import (
    AT_LEAST,
    GAP_AT_LEAST,
    WALL_AT_LEAST,
    AtSpeed,
    Clearances,
    ValveClearance,
    judged_on,
    nearest,
)
from ..clearance.moving import Weighed, budgets
from ..clearance.situation import Asked, Situation, situation
from ..clearance.valve_over_piston import ByCoordinates, OverValve
from ..core.answer import TRAIN, Figure, Found, Missing, Value, answers, of_cylinder
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, Reader, frozen
from ..core.minima import Minimum
from ..core.targets import DROP_AT_SPEED
from ..core.verdict import judge
from ..crank.crank import RAISED
from ..doubt.budget import Doubt, budget
from ..doubt.derivatives import THREE, derivatives
from ..doubt.result import Result, results
from ..piston.bore_read import play_in_bore
from ..piston.rise import Rise, arm_of_rim, rise
from .springs import leaves_the_cam, springs_of

SIDEWAYS = "sideways"
DROP = Figure("piston, stem, at speed", least=DROP_AT_SPEED, zero=True, at_nought="MAY MEET")
GAP = Figure("piston, gap, at speed", least=DROP_AT_SPEED, zero=True, at_nought="MAY MEET")
WALL = Figure("pocket wall, at speed", zero=True, at_nought="MAY MEET")
PLAY, GEAR_PLAY, GEAR_RADIUS = "cam.backlash", "cam.gear_backlash", "cam.gear_radius"
FLOATS = (
    "at {} rpm these springs no longer hold the valve to the cam: valve to piston at that speed is not known, and no "
    "clearance makes it safe"
)
HOLDS = "holds while the valve keeps contact with its cam: this gear first leaves it at {} rpm, or sooner"
NEAR = 0.95  # of the speed at which the rigid gear leaves its cam; a real one does sooner
UNKNOWN_HOLD = "holds while the valve keeps contact with its cam; up to which speed is not known"
STIFFER = "no bending could be seen; it is stiffer than {} N/mm"


def with_speed(
    mapping: Flat, found: Clearances, quantities: Quantities, doubts: Mapping[str, Doubt], tables: Tables
) -> Clearances:
    """Return clearances with what is left of each at speed; as they are where no speed is entered.

    quantities, doubts : as for `clearances`
    """
    if Reader(mapping, ("running.",)).find("speed") is None:
        if Reader(mapping, ("targets.",)).find("drop_at_speed") is None:
            return found
        lacking = AtSpeed(lacks=("running.speed",))
        return found._replace(valves=tuple(one._replace(at_speed=lacking) for one in found.valves))
    mapping = frozen(mapping)
    valves = [
        one._replace(at_speed=_valve(mapping, found, one, quantities, doubts, tables)) for one in found.valves
    ]
    return found._replace(valves=tuple(valves))


def _valve(
    mapping: Flat,
    found: Clearances,
    one: ValveClearance,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
    tables: Tables,
) -> AtSpeed | None:
    """Return one valve at speed; None where it is not known at rest, which is told there."""
    name, cylinder = one.train, one.train.rpartition(".")[0]
    rest = found.situations.get(cylinder)
    if one.piston is None or rest is None:
        return None
    speed = float(Reader(mapping, ("running.",)).number("speed"))
    rises, lobe = rise(mapping, cylinder), rest.lifts[name].lobe
    play = drive_play(mapping)
    lacks = [
        *(rises.entries if isinstance(rises, Missing) else ()),
        *(play.entries if isinstance(play, Missing) else ()),
    ]
    back = _gives_back(mapping, name, lobe)
    lacks += back.entries if isinstance(back, Missing) else ()
    if isinstance(rises, Missing) or isinstance(play, Missing) or isinstance(back, Missing):
        return AtSpeed(
            speed=speed,
            lacks=tuple(dict.fromkeys(lacks)),
            why=rises.why if isinstance(rises, Missing) else "",
        )
    rpm = speed * 60 / (2 * np.pi)
    leaves = leaves_the_cam(mapping, name, lobe)
    first = np.inf if isinstance(leaves, Missing) else float(leaves["leaves_the_cam"].value)
    if rpm >= first:
        return AtSpeed(speed=speed, why=FLOATS.format(f"{rpm:.0f}"))
    near = rpm > NEAR * first
    arm = _arm(mapping, cylinder, rest.valves[name])
    if not np.isfinite(arm):
        return AtSpeed(speed=speed, lacks=("stack.bore",))
    here = _situation(mapping, found, name, arm, float(play), back)
    drops, gap = nearest(here.valves[name])
    if not drops:
        return AtSpeed(speed=speed, why="the drop is not known at that place of the cycle")
    asked = [
        Asked(name, "drop", drops[0].angle),
        *([Asked(name, "gap", gap.angle)] if gap is not None else []),
    ]
    weighed = budgets(mapping, here, asked, quantities, doubts, tables)
    falling = [f"{name}.measured_drop.room"] if one.unfinished else []
    bare = [
        *falling,
        *rises.unsaid,
        *((leaves.entries or (f"lobe.{lobe.name}.table",)) if isinstance(leaves, Missing) else ()),
        *((f"{name}.spring",) if near else ()),
    ]
    lift, place = here.lifts[name], array(drops[0].angle)
    bent = lift._replace(lobe=lift.lobe._replace(gives_back=None))
    back_mm = float(lift.at(place) - bent.at(place))
    off = 0.0
    if back is not None:
        stiff = results(mapping, stiffness, name, quantities, doubts)
        assert not isinstance(stiff, Missing)
        there = stiff["gear_stiffness"]
        bare += there.budget.undoubted
        off = back_mm * there.budget.standard / there.value
    off = float(np.hypot(off, Doubt(rises.allowed).standard))
    on_gap = judged_on(drops[0], gap)[0] == "gap"
    along = DROP.without_limits() if on_gap else DROP
    drop = _result(mapping, name, AT_LEAST, along, drops[0], weighed[asked[0].key], off, bare)
    straight = None
    if gap is not None:
        aside = GAP if on_gap else GAP.without_limits()
        straight = _result(mapping, name, GAP_AT_LEAST, aside, gap, weighed[asked[1].key], off, bare)
    return AtSpeed(
        drop=drop,
        gap=straight,
        wall=_wall(mapping, here, name, quantities, doubts, tables, bare),
        rises=float(rises.at(array(arm))),
        in_parts=_in_parts(rises, arm),
        earlier=float(play),
        gives_back=back_mm,
        speed=speed,
        holds=_holds(leaves, near),
        here=here,
    )


def _wall(
    mapping: Flat,
    here: Situation,
    train: str,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
    tables: Tables,
    bare: Sequence[str],
) -> Result | None:
    """Return the room to a pocket's wall at speed; None where there is none, or how the piston rocks is not known."""
    cylinder, least = here.cylinder, here.valves[train].least_wall()
    aside = sideways(mapping, cylinder)
    if least is None or aside is None:
        return None
    asked = Asked(train, "wall", least.angle)
    weighed = budgets(mapping, here, [asked], quantities, doubts, tables)[asked.key]

    def values(varied: Flat) -> dict[str, Array]:
        found = sideways(varied, cylinder)
        return {SIDEWAYS: array(np.nan) if found is None else found}

    slopes = derivatives(mapping, quantities, values, THREE)[SIDEWAYS] if quantities else {}
    own = budget({entry: slope for entry, slope in slopes.items() if slope}, doubts, mapping)
    return _result(
        mapping,
        train,
        WALL_AT_LEAST,
        WALL,
        least._replace(value=least.value - float(aside)),
        weighed,
        own.standard,
        [*bare, *own.undoubted],
    )


def sideways(mapping: Flat, cylinder: str) -> Array | None:
    """Return how far a crown moves sideways in its bore, at most [mm]; None where its play is not known."""
    reader = of_cylinder(mapping, cylinder)
    play, length = play_in_bore(reader), reader.find("piston.skirt_contact_length")
    height = reader.find("piston.compression_height")
    return None if play is None or length is None or height is None else play / 2 + play / length * height


def _holds(leaves: Found, near: bool) -> str:
    """Return until when a clearance at speed holds, in words."""
    if isinstance(leaves, Missing):
        return f"{UNKNOWN_HOLD}{f': {leaves.why}' if leaves.why else ''}"
    told = HOLDS.format(f"{float(leaves['leaves_the_cam'].value):.0f}")
    return f"{told}, too near to that speed to prove anything" if near else told


def _in_parts(rises: Rise, arm: float) -> tuple[tuple[str, float], ...]:
    if not rises.in_parts:
        return (("one figure for all growth", float(rises.least)),)
    allowed = "crank, allowed" if rises.allowed else "crank"
    parts = (
        ("connecting rod", rises.stretch),
        ("play", rises.play),
        (allowed, rises.crank),
        ("piston's rock", rises.rock * arm),
    )
    return tuple((words, float(value)) for words, value in parts)


def _situation(
    mapping: Flat, found: Clearances, train: str, arm: float, play: float, back: tuple[float, float] | None
) -> Situation:
    """Return a valve's cylinder as it runs."""
    cylinder = train.rpartition(".")[0]
    runs = partial(raised, cylinder=cylinder, arm=arm)
    here = situation(runs(mapping), cylinder, found.cam)
    lift = here.lifts[train]
    way = 1.0 if train.endswith(".intake") else -1.0
    lobe = lift.advanced(way * play).lobe._replace(gives_back=back)
    moved = lift._replace(lobe=lobe)
    later = {entry: -way * slope for entry, slope in _play_slopes(mapping).items()}
    return here._replace(
        lifts={**here.lifts, train: moved},
        valves={**here.valves, train: here.valves[train]._replace(lift=moved)},
        runs=runs,
        later=later,
    )


def raised(mapping: Flat, cylinder: str, arm: float) -> Flat:
    """Return an engine, or a batch, with a cylinder's crown where it is at speed so far from the pin [mm]."""
    found = rise(mapping, cylinder)
    assert isinstance(found, Rise)
    return frozen(mapping).with_({f"{cylinder}.{RAISED}": found.at(array(arm))})


def drive_play(mapping: Flat) -> Array | Missing:
    """Return the play of the cam's drive [crank rad]: entered or by the teeth of its gears, the greater."""
    reader = Reader(mapping, ("",))
    entered = reader.find(PLAY)
    teeth, radius = reader.find(GEAR_PLAY), reader.find(GEAR_RADIUS)
    if teeth is not None and radius is not None:
        by_teeth = 2 * teeth / radius
        return by_teeth if entered is None else np.maximum(entered, by_teeth)
    if entered is not None:
        return entered
    if teeth is None and radius is None:
        return Missing.of((PLAY,))
    return Missing.of((GEAR_PLAY if teeth is None else GEAR_RADIUS,))


def _play_slopes(mapping: Flat) -> dict[str, float]:
    """Return how much the entries of the cam's drive move its play, crank rad for one of each."""
    reader = Reader(mapping, ("",))
    entered = reader.find(PLAY)
    if entered is not None and drive_play(mapping) == entered:
        return {PLAY: 1.0}
    teeth, radius = float(reader.number(GEAR_PLAY)), float(reader.number(GEAR_RADIUS))
    return {GEAR_PLAY: 2 / radius, GEAR_RADIUS: -2 * teeth / radius**2}


def _arm(mapping: Flat, cylinder: str, over: OverValve) -> float:
    """Return how far a valve's rim stands from the wrist pin across it, at most [mm]; the crown's rim where nobody knows."""
    reader = of_cylinder(mapping, cylinder)
    whole = float(arm_of_rim(reader)) if reader.find("stack.bore") is not None else np.inf
    if not isinstance(over, ByCoordinates):
        return whole
    offset = reader.find("piston.pin_offset")
    head, lift = over.head, float(over.lift.at_lobe(array(over.lift.lobe.peak[1])))
    aside = abs(float(head.centre[..., 0]) - (0.0 if offset is None else float(offset)))
    return min(whole, aside + float(head.radius) + lift * abs(float(head.stem[..., 0])))


def _gives_back(mapping: Flat, train: str, lobe: CamLobe) -> tuple[float, float] | None | Missing:
    """Return what lifts read at the valve on running springs lack of a stiff gear's: mm, and mm for each of lift."""
    if not lobe.at_valve:
        return None
    entry = f"lobe.{lobe.name}.read_on_springs"
    said = Reader(mapping, ("",)).word(entry)
    if not said:
        return Missing.of((entry,))
    if said == "checking":
        return None
    stiff, springs = stiffness(mapping, train), springs_of(mapping, train)
    if isinstance(stiff, Missing) or isinstance(springs, Missing):
        return Missing.of(
            [entry for one in (stiff, springs) if isinstance(one, Missing) for entry in one.entries]
        )
    by = float(stiff["gear_stiffness"].value)
    at_seat = sum(float(one.force(one.installed)) for one in springs) / by
    return at_seat, sum(float(one.rate) for one in springs) / by


def _result(
    mapping: Flat,
    of: str,
    key: str,
    figure: Figure,
    least: Minimum,
    weighed: Weighed,
    off: float,
    bare: Sequence[str],
) -> Result:
    """Return an answer; off : mm, standard uncertainty beside its linear budget;  bare : what it rests on that nobody entered."""
    whole = weighed.budget.widened(off) if off else weighed.budget
    whole = whole._replace(undoubted=tuple(dict.fromkeys((*bare, *whole.undoubted))))
    limit, _ = figure.limits(mapping)
    verdict = (
        None if limit is None else judge(least.value, limit.value, None, whole.expanded, not whole.undoubted)
    )
    lobes = () if weighed.shape is None else weighed.shape.lobes
    return Result(
        of,
        key,
        figure,
        least.value,
        whole,
        weighed.slopes,
        least=limit,
        verdict=verdict,
        at=least.angle,
        lobes=lobes,
    )


@answers(
    TRAIN,
    "VALVE GEAR'S STIFFNESS",
    asked_by=(".nose_lift.",),
    gear_stiffness=Figure("stiffness of the valve gear, at the valve", "n_per_mm", lost=STIFFER),
    gear_bends=Figure("lift that its running springs take from it", main=False),
)
def stiffness(mapping: Flat, train: str) -> Found:
    """Return how stiff a valve gear is, from its lift on the nose on two springs."""
    reader = Reader(mapping, (f"{train}.nose_lift.",))
    light, heavy = reader.number("checking"), reader.number("running")
    first, second = reader.number("checking_force"), reader.number("running_force")
    if reader.missing:
        return Missing.of(reader.missing)
    lost = light - heavy
    if np.ndim(lost) == 0 and lost <= 0:
        return Missing.of((), "no bending could be seen: the lift on the running springs is no less")
    with np.errstate(divide="ignore", invalid="ignore"):
        stiff = np.where(lost > 0, (second - first) / lost, np.nan)
    return {"gear_stiffness": Value(stiff), "gear_bends": Value(lost, note="on the nose")}
