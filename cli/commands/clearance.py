"""`tallstack clearance`: how close every valve comes to its piston and to the other valve, and what would mend it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from tallstack.geometry.clearance.clearances import (
    WALL,
    AtSpeed,
    Clearances,
    PairClearance,
    ValveClearance,
)
from tallstack.geometry.clearance.situation import Situation
from tallstack.geometry.clearance.timing import Row as Advanced
from tallstack.geometry.clearance.timing import against_timing
from tallstack.geometry.clearance.valve_over_piston import COORDINATES, ByCoordinates
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.alone import each_alone
from tallstack.geometry.engine.defaults import Assumed
from tallstack.geometry.engine.since_read import READINGS

from ..files import OutputRefusedError, ending, free, quoted, write
from ..job.entries.fields import INCH
from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.job import Job
from ..page import band
from ..page.answer import UNUSABLE, Answer, framed, labelled, status_of
from ..page.band import Band
from ..page.clearance_words import (
    ARE_SOLID,
    BY_HAND,
    HAND,
    SOLID,
    begun_at_speed,
    by_hand,
    has_limit_untold,
    not_possible,
    not_told,
    pair_blocks,
    source_blocks,
    summary,
    timing_blocks,
    valve_blocks,
)
from ..page.closest_words import closest_blocks, every, worst
from ..page.model import Block, Break, Column, Heading, Lines, Row, Table, Words
from ..page.remedy_words import Mended, brief_rows, remedy_row
from ..page.since_words import EVERY_GEAR, changed, changed_blocks
from ..page.text import lines
from ..page.vocabulary import said
from ..page.wording import number, train_name, whose
from ..record.remembered import with_its_rods

MOST_WAYS = 3  # to mend a clearance that one screen names
STEP_MM = {"mm": 0.01, "in": 0.001 * INCH}  # to which a remedy is rounded up
STEP_RAD = math.radians(0.5)
MOST_AROUND = 60.0
ROWS = 4  # of the table against timing, to either side


class Mends(NamedTuple):
    """What would mend each clearance that falls short."""

    pieces: dict[str, tuple[Mended, ...]]  # valve gear or cylinder → what would mend its clearance
    walls: dict[str, tuple[Mended, ...]]  # valve gear → what would mend the room to its pocket's wall


class Found(NamedTuple):
    """Everything that is known of a job's clearances."""

    all: Clearances
    mended: dict[str, tuple[Mended, ...]]  # valve gear or cylinder → what would mend its clearance
    walls: dict[str, tuple[Mended, ...]]  # valve gear → what would mend the room to its pocket's wall
    timing: tuple[Advanced, ...]
    assumed: tuple[Assumed, ...]


def answer(
    job: Job,
    strict: bool = False,
    around: float | None = None,
    plot: Path | None = None,
    force: bool = False,
) -> Answer:
    """Return the clearances of a job.

    around : crank degrees to either side, for the table against the cam's timing

    Raises:
        OutputRefusedError: where a picture is asked for and no valve's distance to its piston is known.
    """
    if around is not None and not 0 < around <= MOST_AROUND:
        said = f"--timing {around:g}: crank degrees to either side, more than 0 and at most {MOST_AROUND:g}"
        return Answer(said, {}, UNUSABLE)
    if plot is not None:
        ending(plot)
        free(plot, force, job.files)
    job = with_its_rods(job.settled)
    found = job.clearances
    answered = told(job, found, strict, around)
    if plot is None or answered.status == UNUSABLE:
        return answered
    if not any(one.piston is not None for one in found.valves):
        message = f"{plot}: nothing to draw; no valve's distance to its piston can be worked out"
        raise OutputRefusedError(message)
    from ..drawing.plots.clearance import written

    write(plot, written(job, found, ending(plot)), force, job.files)
    sections = any(
        isinstance(over, ByCoordinates) for here in found.situations.values() for over in here.valves.values()
    )
    beside = ", with a section of each valve at its closest" if sections else ""
    return answered.and_then(Break(), Lines(f"{plot}: drop against crank angle{beside}"))


def told(
    job: JobFile,
    found: Clearances,
    strict: bool = False,
    around: float | None = None,
    mended: Mends | None = None,
) -> Answer:
    """Return a job's clearances as an answer, with what would mend the short ones; mended : that, where it is known."""
    if not found.is_usable:
        return Answer(said(job)(_unusable(job, found)), {}, UNUSABLE)
    lacking = any(valve.piston is None for valve in found.valves) or any(pair.problem for pair in found.pairs)
    lacking = lacking or any(one.at_speed is not None and one.at_speed.floats for one in found.valves)
    lacking = lacking or bool(begun_at_speed(job, found)) or has_limit_untold(job, found)
    ended = status_of(job, found.judged, strict, lacking)
    everything = Found(
        found,
        *(mended or remedies_of(job, found)),
        _timing(found, around),
        _assumed(job, found),
    )
    return framed(
        "clearance",
        job,
        lambda: _page(job, everything),
        _document(job, everything),
        ended,
        brief=_brief(job, everything),
        told=_told(job, everything),
        assumed=everything.assumed,
        hand=(by_hand(job, HAND, SOLID),),
    )


def _unusable(job: JobFile, found: Clearances) -> list[Block]:
    """Return why no clearance can be worked out, a paragraph for each thing that is missing."""
    blocks: list[Block] = [Lines(f"{job.path}: no clearance can be worked out yet")]
    if not found.valves:
        blocks.append(Words("no [[train]] in this job: write one for each valve gear", 1))
    for one in found.valves:
        blocks.append(Words(f"{train_name(one.train)}:", 1))
        for route, lacks in one.lacks.items():
            blocks.append(Words(f"{route}: {', '.join(meant(entry, one.train) for entry in lacks)}", 2))
    return [*blocks, Lines(f"`tallstack check {quoted(job.path)}` says more")]


def remedies_of(job: JobFile, found: Clearances) -> Mends:
    """Return what would mend each clearance that falls short; worked out only where one does."""
    mended: dict[str, tuple[Mended, ...]] = {}
    walls: dict[str, tuple[Mended, ...]] = {}
    judged = [(one.train, one.piston, one.room) for one in found.valves]
    pairs = [(one.cylinder, one.judged) for one in found.pairs]
    if not any(_short(one) for _, *both in judged for one in both) and not any(
        _short(one) for _, one in pairs
    ):
        return Mends(mended, walls)
    from tallstack.geometry.clearance.remedy.effects import effects
    from tallstack.geometry.clearance.remedy.piston import piston_remedies
    from tallstack.geometry.clearance.remedy.remedy import Steps, wanted_pumped
    from tallstack.geometry.clearance.remedy.room import pair_remedies, wall_remedy

    steps = Steps(STEP_MM[job.units], STEP_RAD)
    now = {name: one for name, one, _ in judged} | dict(pairs)
    alone = each_alone(job.mapping)
    for valve in found.valves:
        here = found.situations[valve.train.rpartition(".")[0]]
        name, own = valve.train, alone[here.cylinder]
        if valve.piston is not None and _short(valve.piston):
            pumped = wanted_pumped(valve, steps)
            remedies = piston_remedies(own, found.cam, here, name, valve.piston, steps, pumped)
            mended[name] = tuple(
                Mended(one, effects(own, found.cam, here, name, one, now)) for one in remedies
            )
        if valve.room is not None and _short(valve.room):
            wider = wall_remedy(own, found.cam, here, name, valve.room, steps)
            walls[name] = (Mended(wider, effects(own, found.cam, here, name, wider, now)),)
    for cylinder, one in pairs:
        if one is not None and _short(one):
            here = found.situations[cylinder]
            mended[cylinder] = tuple(
                Mended(remedy, effects(alone[cylinder], found.cam, here, cylinder, remedy, now))
                for remedy in pair_remedies(alone[cylinder], found.cam, here, one, steps)
            )
    return Mends(mended, walls)


def _short(judged: Result | None) -> bool:
    return judged is not None and judged.verdict is Verdict.SHORT


def _timing(found: Clearances, around: float | None) -> tuple[Advanced, ...]:
    if around is None:
        return ()
    steps = [math.radians(around) * step / ROWS for step in range(-ROWS, ROWS + 1)]
    return against_timing(found.situations, steps)


def _assumed(job: JobFile, found: Clearances) -> tuple[Assumed, ...]:
    """Return what a clearance rests on that was not entered."""
    kept = [one for one in job.assumed if ".measured_pushrod" not in one.entry and "preload" not in one.entry]
    full = job.mapping
    for cylinder, here in found.situations.items():
        reader = Reader(full, (f"{cylinder}.", ""))
        for lift in here.lifts.values():
            if lift.lobe.lash_entry and lift.lobe.lash is None and not lift.lash_unknown:
                why = "not entered; a hydraulic lifter has none, if these lifts were read with it and it had not bled down"
                kept.append(Assumed(lift.lobe.lash_entry, 0.0, "length", why))
        if any(one.bore is not None for one in found.valves if one.train in here.trains):
            if reader.find("chamber.gasket_bore") is None:
                kept.append(_as_the_bore(float(reader.number("stack.bore"))))
        if not here.valves:
            continue
        offset = reader.find("piston.pin_offset")
        if not reader.word("crank.turns") and offset is not None and offset != 0:
            kept.append(
                Assumed(
                    "crank.turns", "forward", "word", "not entered; it decides which way the offset counts"
                )
            )
        if here.over.crown_table and any(isinstance(one, ByCoordinates) for one in here.valves.values()):
            kept += _by_heights(here)
    for valve in found.valves:
        if valve.assumed_to_meet:
            why = "not entered; the reading does not say which"
            kept.append(Assumed(f"{valve.train}.measured_drop.meets", valve.assumed_to_meet, "word", why))
    for judged in found.judged:
        if not judged.limit.is_set:
            entry = f"targets.{judged.limit.name}"
            kept.append(Assumed(entry, judged.limit.value, "length", whose(judged.limit)))
    return tuple(dict.fromkeys(kept))


def _as_the_bore(bore: float) -> Assumed:
    why = "not entered; the head gasket is taken to end where the bore does, and to be met there"
    return Assumed("chamber.gasket_bore", bore, "length", why)


def _by_heights(here: Situation) -> list[Assumed]:
    """Return what a crown is taken for that was measured at some of its places."""
    flat = Assumed(
        here.over.crown_table,
        "flat between the points that were measured, in the crown plane beyond them",
        "word",
        "a bend between two points does not show in a table",
    )
    why = "the crown's table holds what is cut there: no pocket is cut from it again"
    walls = [Assumed(f"{name}.pocket", "its wall alone", "word", why) for name in here.over.own_pockets]
    return [flat, *walls]


def _band(job: JobFile, found: Clearances) -> Band:
    unknown = [one.train for one in found.valves if one.piston is None and not one.problem]
    unknown += [one.cylinder for one in found.pairs if one.judged is None and not one.problem]
    return band.band(
        job,
        every(found),
        [*not_possible(found)],
        [*map(band.of_clearance, unknown)],
        not_told(job, found),
    )


def _brief(job: JobFile, everything: Found) -> list[Block]:
    """Return the answer for one screen: what stops it, what comes closest, and what would mend the worst."""
    found = everything.all
    blocks = [*band.blocks(_band(job, found)), *closest_blocks("CLOSEST", job.units, found)]
    blocks += timing_blocks(job, found, everything.timing) if everything.timing else []
    short = sorted((one for one in found.judged if _short(one)), key=worst)
    mends = {**everything.mended, **{f"{name}, wall": one for name, one in everything.walls.items()}}
    named = [(f"{one.of}, wall" if one.name == WALL else one.of, one) for one in short]
    for key, one in [pair for pair in named if mends.get(pair[0])][:1]:
        columns = (
            Column(_needs_one_of(one), 32),
            Column("what else moves", wide=True),
        )
        rows = brief_rows(job, mends[key])
        left = len(rows) - MOST_WAYS
        rows = [*rows[:MOST_WAYS], Row((f"and {left} more ways: --full has them",))] if left > 1 else rows
        blocks.append(Table(columns, tuple(rows)))
        others = ", ".join(band.name(other) for _, other in named if other is not one)
        clear = one.limit.value + one.budget.expanded
        clears = f"targets.{one.limit.name} = {number(clear, job.units)} {job.units}"
        told = f"to the limit itself; clear of its +/- too: {clears}"
        blocks += [Words(told, 1)] if one.spare < 0 and one.budget.expanded > 0 else []
        blocks += [Words(f"what mends {others}: --full", 1)] if others else []
    return blocks


def _needs_one_of(one: Result) -> str:
    of = one.of.replace(".", " ").upper()
    return f"{of} NEEDS ONE OF" if "." in one.of else f"{of}'S VALVES NEED ONE OF"


def _told(job: JobFile, everything: Found) -> list[Row]:
    """Return what that screen says in a line each."""
    changes = [told if who == EVERY_GEAR else f"{who}: {told}" for who, told in changed(job, READINGS[1:])]
    return [
        *labelled("ON THIS STACK", changes),
        *labelled("CHECK BY HAND", [by_hand(job, BY_HAND, ARE_SOLID)]),
    ]


def _page(job: JobFile, everything: Found) -> list[Block]:
    """Return the answer for a person: the closest of each first, then what stands behind it."""
    found = everything.all
    blocks = [*band.blocks(_band(job, found)), *summary(job, found), *changed_blocks(job, READINGS[1:])]
    alike: dict[tuple[str, ...], tuple[list[str], list[Block]]] = {}
    for valve in found.valves:
        mended, wall = everything.mended.get(valve.train, ()), everything.walls.get(valve.train, ())
        (heading, *rest), name = valve_blocks(job, valve, mended, wall), train_name(valve.train)
        assert isinstance(heading, Heading)
        alike.setdefault((heading.words.removeprefix(name), *lines(rest)), ([], rest))[0].append(name)
    for (told, *_), (names, rest) in alike.items():
        blocks += [Heading(f"{', '.join(names)}{told}"), *rest]
    for pair in found.pairs:
        blocks += pair_blocks(job, pair, everything.mended.get(pair.cylinder, ()))
    blocks += source_blocks(found)
    if everything.timing:
        blocks += timing_blocks(job, found, everything.timing)
    return blocks


def _document(job: JobFile, everything: Found) -> dict[str, Any]:
    """Return the answer for a program, in mm and degrees."""
    found = everything.all
    against = {} if not everything.timing else {"timing": [_timing_row(row) for row in everything.timing]}
    return {
        "valves": [_valve_row(one, everything) for one in found.valves],
        "pairs": [_pair_row(one, everything.mended.get(one.cylinder, ())) for one in found.pairs],
        **against,
    }


def _valve_row(one: ValveClearance, everything: Found) -> dict[str, Any]:
    shape, gap, wall, pumped = one.motion, one.gap, one.wall, one.pumped
    least = one.drop[0] if one.drop else None
    lift = everything.all.situations[one.train.rpartition(".")[0]].lifts.get(one.train)
    return {
        "train": one.train,
        "basis": None
        if one.basis is None
        else "coordinates"
        if one.basis == COORDINATES
        else "measured_drop",
        "lobe": None if lift is None else lift.lobe.name,
        "lobe_from": None if lift is None else lift.lobe.source,
        "peak_lift_mm": None if shape is None else shape.peak_lift,
        "peak_at_deg": None if shape is None else math.degrees(shape.peak_at),
        "ratio_at_seat": None if shape is None else shape.ratio_at_seat,
        "ratio_at_peak": None if shape is None else shape.ratio_at_peak,
        "sweep_mm": None if shape is None else shape.sweep,
        "drop_mm": None if least is None else least.value,
        "drop_at_deg": None if least is None else math.degrees(least.angle),
        "minima": [{"drop_mm": at.value, "at_deg": math.degrees(at.angle)} for at in one.drop],
        "drop_pumped_mm": None if pumped is None else pumped.value,
        "drop_pumped_at_deg": None if pumped is None else math.degrees(pumped.angle),
        "drop_pumped_doubt_mm": None if one.pumped_doubt is None else one.pumped_doubt.expanded,
        "pumped_rise_mm": one.rises,
        "pumped_rise_by_heat_mm": one.hot_gain if one.rises is not None else None,
        "drop_pumped_whole_mm": None if one.pumped_whole is None else one.pumped_whole.value,
        "pumped_meets_after_mm": None if one.meets is None else one.meets.value,
        "pumped_meets_after_doubt_mm": None if one.meets_after is None else one.meets_after.doubt,
        "gap_mm": None if gap is None else gap.value,
        "gap_at_deg": None if gap is None else math.degrees(gap.angle),
        "wall_mm": None if wall is None else wall.value,
        "wall_at_deg": None if wall is None else math.degrees(wall.angle),
        **_judged_row(one.piston, ""),
        "judged_on": None if one.piston is None else one.piston.name,
        **_judged_row(one.room, "wall_"),
        "bore_mm": None if one.bore is None else one.bore.value,
        "bore_at_deg": None if one.bore is None else math.degrees(one.bore.angle),
        "bore_pumped_mm": None if one.bore_pumped is None else one.bore_pumped.value,
        "bore_nearest": one.bore_part or None,
        "bore_needs": list(one.bore_lacks),
        **_judged_row(one.bore, "bore_"),
        **_speed_row(one.at_speed),
        "lash_read_needs": one.lash_unknown or None,
        "known_deg": None if one.known is None else [math.degrees(angle) for angle in one.known],
        "still_falling": one.unfinished,
        "coordinates_differ_mm": one.differ,
        "cannot_assemble": list(one.problem),
        "needs": {route: list(lacks) for route, lacks in one.lacks.items()},
        "pumped_needs": [*one.no_pumped, *one.hot_lacks],
        "remedies": [remedy_row(each) for each in everything.mended.get(one.train, ())],
        "wall_remedies": [remedy_row(each) for each in everything.walls.get(one.train, ())],
    }


def _speed_row(one: AtSpeed | None) -> dict[str, Any]:
    """Return what is left of a valve's drop at speed; everything in it is absent where nobody asks."""
    found = one or AtSpeed()
    drop, gap = found.drop, found.gap
    return {
        "drop_at_least_mm": None if drop is None else drop.value,
        "drop_at_least_at_deg": None if drop is None else math.degrees(drop.angle),
        "gap_at_least_mm": None if gap is None else gap.value,
        "crown_rises_at_speed_mm": None if drop is None else found.rises,
        "lift_given_back_mm": None if drop is None else found.gives_back,
        "at_speed_needs": list(found.lacks),
        "at_speed_why": found.why or found.holds or None,
        "wall_at_least_mm": None if found.wall is None else found.wall.value,
        **_judged_row(found.piston, "drop_at_least_"),
        "at_speed_judged_on": None if found.piston is None else found.piston.name,
        **_judged_row(found.wall, "wall_at_least_"),
    }


def _judged_row(judged: Result | None, prefix: str) -> dict[str, Any]:
    budget, verdict = (None, None) if judged is None else (judged.budget, judged.verdict)
    return {
        f"{prefix}target_mm": None if judged is None else judged.limit.value,
        f"{prefix}target_is_set": None if judged is None else judged.limit.is_set,
        f"{prefix}meets": None if verdict is None else verdict is not Verdict.SHORT,
        f"{prefix}verdict": None if verdict is None else verdict.value,
        f"{prefix}spare_mm": None if judged is None else judged.spare,
        f"{prefix}doubt_mm": None if budget is None else budget.expanded,
        f"{prefix}between_mm": None if judged is None or judged.ends is None else list(judged.ends),
        f"{prefix}without_doubt": [] if budget is None else list(budget.undoubted),
        f"{prefix}look_again": [] if judged is None else list(judged.look_again),
    }


def _pair_row(one: PairClearance, mended: Sequence[Mended]) -> dict[str, Any]:
    return {
        "cylinder": one.cylinder,
        "valve_to_valve_mm": None if one.least is None else one.least.value,
        "at_deg": None if one.least is None else math.degrees(one.least.angle),
        "valve_to_valve_pumped_mm": None if one.pumped is None else one.pumped.value,
        "pumped_meets_after_mm": one.meets_after,
        "basis": one.basis,
        "both_further_mm": None if one.further is None else one.further.value,
        "both_further_at_deg": None if one.further is None else math.degrees(one.further.angle),
        "both_further_doubt_mm": None if one.further is None else one.further.doubt,
        "at_least": list(one.at_least),
        "coordinates_differ_mm": one.differ,
        "feelers": [
            {"at_deg": math.degrees(each.angle), "read_mm": each.read, "foretold_mm": each.foretold}
            for each in one.feelers
        ],
        **_judged_row(one.judged, ""),
        **({"doubt_mm": None} if one.least is not None and one.least.value <= 0 else {}),
        "cannot_assemble": list(one.problem),
        "needs": list(one.lacks),
        "why": one.why or None,
        "remedies": [remedy_row(each) for each in mended],
    }


def _timing_row(row: Advanced) -> dict[str, Any]:
    return {
        "advance_deg": math.degrees(row.advance),
        "valves": [{"train": name, "least_mm": value} for name, value in row.piston.items()],
        "pairs": [{"cylinder": name, "valve_to_valve_mm": value} for name, value in row.between.items()],
    }
