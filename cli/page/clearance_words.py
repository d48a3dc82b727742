"""The clearances of an engine, in words: the closest of each first, then what stands behind it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from tallstack.geometry.clearance.clearances import (
    AT_LEAST,
    GAP_AT_LEAST,
    TOUCH,
    WALL_AT_LEAST,
    AtSpeed,
    Clearances,
    PairClearance,
    ValveClearance,
    pumped_up,
)
from tallstack.geometry.clearance.situation import CAM, LIFT
from tallstack.geometry.clearance.timing import Row as Advanced
from tallstack.geometry.clearance.valve_over_piston import COORDINATES, READING
from tallstack.geometry.core import targets
from tallstack.geometry.core.minima import Minimum
from tallstack.geometry.core.targets import TOLD_ALONE
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.before import STEM
from tallstack.geometry.piston.bore_entries import GROWS_BY

from ..guide.narrowing import named, narrowing
from ..job.contradicted import word
from ..job.entries.meanings import meant
from ..job.file import JobFile
from .model import Block, Break, Cell, Column, Form, Heading, Length, Row, Table, Words
from .remedy_words import Mended, remedy_blocks
from .wording import both_units, in_one, length, number, steady, train_name, whose

WHAT = {
    "drop": "along the stem",
    "gap": "straight gap",
    "wall": "pocket wall",
    "bore": "cylinder's bore",
    "between": "valve to valve",
    "pumped": "  pumped up",
    AT_LEAST: "  at speed",
    GAP_AT_LEAST: "  gap, at speed",
    WALL_AT_LEAST: "  wall, at speed",
    "pumped pair": "  pumped up",
}
BASIS = {
    COORDINATES: "from coordinates",
    READING: "from the drop that was measured at top centre",
}
ROUTES = {
    COORDINATES: "by coordinates it lacks",
    READING: "by a measured drop it lacks",
    LIFT: "the valve's lift lacks",
    CAM: "the cam lacks",
}
LONE = re.compile(r"lobe\.[^.]+")
LOBE = "[{}] with a table of readings, a timing card or a motion law"
SOURCES = {
    "table": "lift from readings",
    "card": "lift from a timing card, the most probable lobe that has its numbers",
    "law": "lift by a motion law",
}
HAND = (
    "Check by hand before the engine goes together for good: clay or a dial at the angles named above, with light "
    "checking springs{}, then two slow turns by hand. A clearance here is computed from what was entered; nothing here "
    "says that the engine may be run."
)
BY_HAND = "clay or dial at these angles{}; two slow turns"
SOLID, ARE_SOLID = " and with lifters that cannot bleed down", ", lifters solid"


def by_hand(job: JobFile, told: str, stands_in: str) -> str:
    """Return what is to be checked by hand; stands_in : what is said of lifters that could bleed down meanwhile."""
    bleeds = any(job.mapping.get(f"{name}.lifter.kind") == "hydraulic" for name in job.names["trains"])
    return told.format(stands_in if bleeds else "")


def not_possible(found: Clearances) -> Iterator[str]:
    """Yield what cannot be, in sentences."""
    for valve in found.valves:
        if valve.problem:
            yield f"CANNOT BE WORKED OUT: {valve.train.replace('.', ' ')}: {'; '.join(valve.problem)}"
        if valve.at_speed is not None and valve.at_speed.floats:
            yield f"{valve.train.replace('.', ' ')}: {valve.at_speed.why}"
    for pair in found.pairs:
        if pair.judged is not None and pair.judged.value <= 0:
            yield f"SHORT: {pair.cylinder}: the two valve heads meet"
        elif pair.pumped is not None and pair.pumped.value <= 0 and pair.pumped_counts:
            yield f"SHORT: {pair.cylinder}: with the lifters pumped up the two valve heads meet"


def summary(job: JobFile, found: Clearances) -> list[Block]:
    """Return one row for each clearance that has a target."""
    rows: list[Row] = []
    for valve in found.valves:
        name = valve.train.replace(".", " ")
        if valve.piston is None:
            rows.append(Row((name, f"{'CANNOT BE WORKED OUT' if valve.problem else 'NOT KNOWN'}, see below")))
        else:
            rows.append(_row(name, valve.piston, job))
            if valve.up is not None and _by_pumping(valve):
                rows.append(_row(name, valve.up, job))
        rows += [_row(name, one, job) for one in (valve.room, valve.bore) if one is not None]
    for pair in found.pairs:
        if pair.judged is not None:
            rows.append(_row(pair.cylinder, pair.judged, job))
        elif any(valve.piston is not None for valve in _of(found, pair.cylinder)):
            rows.append(Row((pair.cylinder, WHAT["between"], "NOT KNOWN, see below")))
    columns = (
        *(Column("valve", 17, strong=True), Column("least clearance", 16)),
        *(Column(unit, 8, right=True) for unit in both_units(job.units)),
        *(Column(f"{head} {job.units}", 10, right=True) for head in ("+/-", "limit")),
        Column("verdict"),
    )
    return [Break(), Table(columns, tuple(rows))]


def _of(found: Clearances, cylinder: str) -> list[ValveClearance]:
    return [one for one in found.valves if one.train.rpartition(".")[0] == cylinder]


def _by_pumping(valve: ValveClearance) -> bool:
    """Say whether a verdict comes from the lifter pumped up, the headline being better."""
    if valve.piston is None or valve.up is None:
        return False
    verdict = valve.piston.verdict
    if valve.piston.spare < 0 or valve.up.verdict is not verdict:
        return False
    return verdict is Verdict.SHORT or (
        verdict is Verdict.TIGHT and valve.piston.spare > valve.piston.budget.expanded
    )


class Cells(NamedTuple):
    """What every table of clearances shows of one."""

    what: str
    both: tuple[Length, ...]  # the job's unit first; none where two heads stand in one another
    doubt: Length | str
    limit: Length
    stands: str


def cells(judged: Result, units: str, bare: bool = False) -> Cells:
    """Return what a clearance's row shows; bare : the heads name the units."""
    doubt, meet = judged.budget.expanded, _heads_meet(judged)
    return Cells(
        WHAT[judged.name],
        ()
        if meet
        else tuple(Length(judged.value, doubt, one, alone=True, bare=bare) for one in both_units(units)),
        Length(doubt, doubt, units, bare=bare) if judged.proved and not meet else "",
        Length(judged.limit.value, unit=units, bare=bare),
        word(judged.verdict, judged.look_again),
    )


def _row(name: str, judged: Result, job: JobFile) -> Row:
    one = cells(judged, job.units, bare=True)
    return Row((name, one.what, *(one.both or ("", "THEY MEET")), one.doubt, one.limit, one.stands))


def valve_blocks(
    job: JobFile, one: ValveClearance, mended: Sequence[Mended], wall: Sequence[Mended]
) -> list[Block]:
    """Return what stands behind one valve's clearances."""
    name = train_name(one.train)
    if one.piston is None:
        return [Heading(f"{name}: not computed"), *_why_not(one), *_bore(job, one)]
    assert one.basis is not None
    blocks: list[Block] = [Heading(name), Words(BASIS[one.basis], 1)]
    blocks += [*_closest(job, one), *_pumped(job, one)]
    blocks += [*_limit(job, one.piston), *_undoubted(job, one.piston, one.train), *_known(job, one)]
    blocks += _at_speed(job, one)
    if mended:
        blocks += remedy_blocks(job, mended, one.piston, one.train)
    blocks += _wall(job, one)
    if wall and one.room is not None:
        blocks += remedy_blocks(job, wall, one.room, one.train)
    return [*blocks, *_bore(job, one), *_motion(job, one)]


def _why_not(one: ValveClearance) -> list[Words]:
    words = [Words(sentence, 1) for sentence in one.problem]
    for route, lacks in one.lacks.items():
        words.append(Words(f"{ROUTES[route]}: {_meant(lacks, one.train)}", 1, Form.ITEM))
    return words


def _closest(job: JobFile, one: ValveClearance) -> list[Words]:
    assert one.piston is not None
    words = [_line("piston to valve, along the stem", one.drop[0], job)]
    if one.gap is not None:
        words.append(_line("straight gap", one.gap, job))
    else:
        words.append(
            Words("straight gap: to the floor the same; to the pocket's edge not known from this reading", 1)
        )
    if one.drop[0].value <= 0:
        words.append(
            Words("THEY MEET: less than nothing is how far the valve would have to be drawn back", 1)
        )
    words += [_line("close again, along the stem", other, job) for other in one.drop[1:]]
    return words


def _line(what: str, least: Minimum, job: JobFile) -> Words:
    return Words(f"{what}: {length(least.value, job.units)}, {at_crank(least.angle)}", 1)


def at_crank(angle: float) -> str:
    """Return a crank angle from overlap top centre, in words."""
    degrees = math.degrees(angle)
    if abs(degrees) < 0.05:
        return "at overlap top centre"
    return f"{steady(abs(degrees)):.1f} degrees {'after' if degrees > 0 else 'before'} overlap top centre"


def at_overlap(angle: float) -> str:
    """Return a crank angle from overlap top centre, in whole degrees."""
    degrees = math.degrees(angle)
    whole = f"{steady(abs(degrees)):.0f}"
    return "at 0" if whole == "0" else f"{whole} {'after' if degrees >= 0 else 'before'}"


def _limit(job: JobFile, judged: Result) -> list[Words]:
    who = whose(judged.limit)
    text = f"limit {length(judged.limit.value, job.units)}: {who} (targets.{judged.limit.name})"
    spare = judged.spare
    more = "more than " if _heads_meet(judged) else ""
    short = f"SHORT by {more}{length(-spare, job.units)}"
    way = f"to spare {length(spare, job.units)}" if spare >= 0 and not more else short
    basis = "" if judged.name in ("wall", "bore", "between") else f", on the {_named(judged)}"
    return [Words(f"{text}; {way}{basis}", 1)]


def _named(judged: Result) -> str:
    return "straight gap" if judged.name == "gap" else "drop along the stem"


def _pumped(job: JobFile, one: ValveClearance) -> list[Words]:
    if one.pumped is not None and one.pumped_doubt is not None:
        value, doubt = one.pumped.value, one.pumped_doubt
        sure = "" if doubt.undoubted else f" +/- {number(doubt.expanded, job.units)} {job.units}"
        risen = _risen(job, one)
        text = f"{risen}, along the stem: {length(value, job.units)}{sure}, {at_crank(one.pumped.angle)}"
        if one.told_alone:
            text += f": {TOLD_ALONE}"
        elif value <= 0:
            text += ": THEY MEET, whatever the limit says: SHORT"
        elif pumped_up(value, doubt) is Verdict.TIGHT:
            text += ": within its own doubt they meet: TIGHT, whatever the limit says"
        words = [Words(text, 1), *_also_bare(job, doubt, one.piston, one.train)]
        return [*words, *(Words(told, 1) for told in rising(one, job.units))]
    if one.no_pumped:
        return [
            Words(
                f"with the lifter pumped up: UNPROVED, not known without {_meant(one.no_pumped, one.train)}",
                1,
            )
        ]
    return []


def _at_speed(job: JobFile, one: ValveClearance) -> list[Words]:
    """Return what is left of a drop at speed, and of what the rest was taken."""
    fast = one.at_speed
    if fast is None:
        return []
    told = f"at {rpm(fast.speed)}" if fast.speed else "at speed"
    if fast.drop is None:
        why = fast.why or f"not known without {_meant(fast.lacks, one.train)}"
        return [Words(f"{told}: {why}", 1)]
    least = Minimum(fast.drop.value, fast.drop.angle)
    parts = [f"{words} {in_one(value, job.units)}" for words, value in fast.in_parts]
    taken = f"the crown {in_one(fast.rises, job.units)} nearer ({', '.join(parts)})"
    taken += (
        f", the lobe {steady(math.degrees(fast.earlier)):.1f} crank degrees nearer" if fast.earlier else ""
    )
    back = fast.gives_back
    taken += f", {in_one(back, job.units)} of lift that its running springs had bent away" if back else ""
    gap = "" if fast.gap is None else f"; straight gap {length(fast.gap.value, job.units)}"
    meet = ": THEY MAY MEET" if fast.drop.value <= 0 else ""
    return [
        Words(
            f"{told} at least {length(least.value, job.units)} along the stem, {at_crank(least.angle)}{meet}{gap}",
            1,
        ),
        Words(f"{taken}; the lifter as it is set, nothing hot; {fast.holds}", 2),
        *_undoubted(job, fast.piston or fast.drop, one.train),
        *_wall_at_speed(job, one, fast),
    ]


def _wall_at_speed(job: JobFile, one: ValveClearance, fast: AtSpeed) -> list[Words]:
    if fast.wall is None:
        lacks = "piston.skirt_clearance, piston.skirt_contact_length"
        told = f"at {rpm(fast.speed)} to the pocket's wall: not known without {lacks}"
        return [Words(told, 1)] if one.room is not None else []
    meet = " THEY MAY MEET" if fast.wall.value <= 0 else ""
    what = f"at {rpm(fast.speed)} to the pocket's wall, at least"
    return [_line(f"{what}{meet}", Minimum(fast.wall.value, fast.wall.angle), job)]


def begun_at_speed(job: JobFile, found: Clearances) -> list[str]:
    """Return what of the clearances at speed was begun in a job and cannot be told yet, in a sentence each."""
    begun = (*GROWS_BY, ".cam.backlash", ".cam.gear_", ".drop_at_speed")
    if not any(part in f".{path}" for path in job.entries if not path.startswith(STEM) for part in begun):
        return []
    told: dict[str, list[str]] = {}
    for one in found.valves:
        fast = one.at_speed
        if fast is not None and fast.lacks:
            why = f"{fast.why}; " if fast.why else ""
            needs = ", ".join(entry.removeprefix(f"{one.train.rpartition('.')[0]}.") for entry in fast.lacks)
            when = f"at {rpm(fast.speed)}" if fast.speed else "at speed"
            said = f"piston {when}: {why}needs {needs}"
            told.setdefault(said, []).append(one.train.replace(".", " "))
    return [f"NOT KNOWN: {_and_more(of)}, {what}" for what, of in told.items()]


def beside_floors(found: Clearances) -> list[str]:
    """Return of which valves no more than the drop to a pocket's floor was read, in a sentence."""
    by_drop = [one for one in found.valves if one.piston is not None and one.basis == READING]
    of = [one.train.replace(".", " ") for one in by_drop if one.gap is None or one.assumed_to_meet]
    told = "to a pocket's edge and wall: the drop that was read tells its floor alone"
    return [f"NOT KNOWN: {_and_more(of)}, {told}"] if of else []


def beside_bores(found: Clearances) -> list[str]:
    """Return of which valves it was not looked how near they come to the cylinder's bore, in a sentence each."""
    told: dict[str, list[str]] = {}
    for one in found.valves:
        if one.bore_lacks:
            told.setdefault(", ".join(one.bore_lacks), []).append(one.train.replace(".", " "))
    return [
        f"NOT KNOWN: {_and_more(of)}, to the cylinder's bore: needs {needs}" for needs, of in told.items()
    ]


def not_told(job: JobFile, found: Clearances) -> list[str]:
    """Return what is not known of clearances that are told, in a sentence each."""
    return [*beside_floors(found), *beside_bores(found), *begun_at_speed(job, found)]


def has_limit_untold(job: JobFile, found: Clearances) -> bool:
    """Say whether a job sets a limit for a clearance that is not known."""
    untold = {
        targets.VALVE_TO_BORE: any(one.bore is None for one in found.valves),
        targets.WALL: bool(beside_floors(found)),
        targets.VALVE_TO_VALVE: any(one.judged is None for one in found.pairs),
    }
    return any(target.set_in(job.mapping) is not None and lacks for target, lacks in untold.items())


def _and_more(of: Sequence[str]) -> str:
    return of[0] if len(of) == 1 else f"{of[0]} and {len(of) - 1} more"


def rpm(speed: float) -> str:
    """Return a speed in rad/s as a person says it."""
    return f"{steady(speed * 30 / math.pi):.0f} rpm"


def _risen(job: JobFile, one: ValveClearance) -> str:
    """Return how far the plunger is taken to have risen, in words."""
    if one.pumped_whole is None or one.rises is None or one.can_rise is None:
        return "with the lifter pumped up"
    whole = length(one.can_rise, job.units)
    return f"with the plunger {length(one.rises, job.units)} up of its {whole}, as far as it counts (targets.pumped)"


def rising(one: ValveClearance, units: str) -> Iterator[str]:
    """Yield how far a plunger rises before its valve meets the piston, in sentences."""
    if one.meets is None or one.can_rise is None:
        return
    known = one.meets_after
    stated = "" if known is None or known.doubt is None else f" +/- {length(known.doubt, units, known.doubt)}"
    whole = length(one.can_rise, units)
    if one.hot_gain > 0:
        whole += f" ({in_one(one.hot_gain, units)} of it as heat presses it deeper, at most)"
    if one.hot_lacks:
        whole = f"at least {whole}"
    if one.meets.value >= one.can_rise and one.hot_lacks:
        yield f"pumped up they would meet after {length(one.meets.value, units)}{stated} of rise; there is {whole}"
    elif one.meets.value >= one.can_rise:
        yield f"pumped up they never meet: it would take {length(one.meets.value, units)}{stated} of rise, of {whole} there is"
    elif one.meets.value > 0:
        yield f"pumped up they meet after {length(one.meets.value, units)}{stated} of the {whole} that the plunger can rise"
    if one.pumped_whole is not None:
        yield f"with all of that rise: {length(one.pumped_whole.value, units)} along the stem"


def _meant(entries: Sequence[str], train: str) -> str:
    return ", ".join(
        LOBE.format(entry) if LONE.fullmatch(entry) else meant(entry, train) for entry in entries
    )


def _wall(job: JobFile, one: ValveClearance) -> list[Words]:
    if one.wall is None or one.room is None:
        if one.in_pocket:
            return [Words("to the pocket's wall: none, the rim is never below the crown", 1)]
        return []
    return [
        _line("to the pocket's wall", one.wall, job),
        *_limit(job, one.room),
        *_undoubted(job, one.room, one.train),
    ]


def _bore(job: JobFile, one: ValveClearance) -> list[Words]:
    if one.bore_lacks:
        return [
            Words(f"to the cylinder's bore: not looked at without {_meant(one.bore_lacks, one.train)}", 1)
        ]
    if one.bore is None:
        return []
    least = Minimum(one.bore.value, one.bore.angle)
    words = [_line(f"to the cylinder's bore, the {one.bore_part} nearest", least, job)]
    if one.bore.value <= 0:
        words.append(Words("THEY MEET: less than nothing is how far the head would stand in it", 1))
    if one.bore_pumped is not None:
        up = one.bore_pumped
        meet = ": THEY MEET, whatever the limit says: SHORT" if up.value <= 0 else ""
        if up.value > 0 and one.hot_lacks and not one.told_alone:
            meet = f": UNPROVED, not known without {_meant(one.hot_lacks, one.train)}"
        words.append(
            Words(f"with the lifter pumped up: {length(up.value, job.units)}, {at_crank(up.angle)}{meet}", 1)
        )
    return [*words, *_limit(job, one.bore), *_undoubted(job, one.bore, one.train)]


def _motion(job: JobFile, one: ValveClearance) -> list[Words]:
    shape = one.motion
    if shape is None:
        return []
    parts = [f"lifts {length(shape.peak_lift, job.units)}, {at_crank(shape.peak_at)}"]
    if shape.ratio_at_seat is not None and shape.ratio_at_peak is not None:
        same = abs(shape.ratio_at_seat - shape.ratio_at_peak) < 5e-4
        parts.append(
            f"ratio {shape.ratio_at_seat:.3f}"
            if same
            else f"ratio {shape.ratio_at_seat:.3f} off the seat, {shape.ratio_at_peak:.3f} at full lift"
        )
    if shape.sweep is not None:
        parts.append(f"sweeps {length(shape.sweep, job.units)} across the stem tip")
    return [Words("; ".join(parts), 1)]


def _known(job: JobFile, one: ValveClearance) -> list[Words]:
    told = []
    if one.lash_unknown:
        by_card = one.lash_unknown.endswith("card.lash")
        beyond = "it" if by_card else "what it is more than the lash to be set"
        told.append(
            f"the lash that these lifts were read with is not entered ({one.lash_unknown}): the lobe lifts the valve by "
            f"that much more than was read, and {beyond} comes off every clearance here: 0.1 mm takes 0.1 mm along the stem"
        )
    if one.unlike:
        told.append(
            "the drop was read over a pocket, and no [train.pocket] is entered: known by the reading alone, coordinates "
            "would put a plain crown there"
        )
    if one.assumed_to_meet:
        told.append(f"not said whether it meets a pocket or the crown: taken as {one.assumed_to_meet}")
    if one.known is not None:
        ends = [
            f"{steady(abs(math.degrees(angle))):.0f} degrees {way}"
            for angle, way in zip(one.known, ("before", "after"), strict=True)
        ]
        text = f"known from {ends[0]} to {ends[1]} top centre: beyond, the rim leaves the floor, and the drop is not known from this reading"
        if one.unfinished:
            text += "; it is still falling there, so this least is not proved"
        told.append(text)
    if one.differ is not None:
        way = "more" if one.differ > 0 else "less"
        told.append(
            f"the coordinates would say {length(abs(one.differ), job.units)} {way}; the reading stands"
        )
    return [Words(text, 1) for text in told]


def _undoubted(job: JobFile, judged: Result, train: str) -> list[Words]:
    if _heads_meet(judged):
        return [Words("no +/- is known: how deep they stand in one another is not worked out", 1)]
    if judged.proved:
        most = [
            f"{entry.removeprefix(f'{train}.')} ({share:.0%})"
            for entry, share in list(judged.budget.shares.items())[:2]
        ]
        of = f", most of it from {' and '.join(most)}" if most else ""
        text = f"+/- {length(judged.budget.expanded, job.units, judged.budget.expanded)}{of}"
        return [Words(text, 1), *_of_shapes(job, judged)]
    stated = (
        f"; the stated ones alone make +/- {length(judged.budget.expanded, job.units)}"
        if judged.budget.expanded
        else ""
    )
    bare = f"{_bare(job, judged.budget.undoubted, train)}{stated}"
    return [Words(bare, 1), *_of_shapes(job, judged)]


def _of_shapes(job: JobFile, judged: Result) -> list[Words]:
    """Return between what a clearance lies where lobes are known by their cards, and what would tell more."""
    ends = judged.ends
    if ends is None:
        return []
    low, high = (length(one, job.units) for one in ends)
    text = f"lobes with the card's numbers give {low} to {high}"
    if not ends[0] < judged.limit.value < ends[1]:
        far = ", all of it short of the limit" if ends[1] <= judged.limit.value else ""
        return [Words(f"{text}{far}", 1)]
    asked = [entry for lobe in judged.lobes for entry in narrowing(job.mapping, lobe)[:2]]
    would = f"; {' and then '.join(named(entry) for entry in asked)} would tell" if asked else ""
    return [Words(f"{text}: the limit lies between them, look at it{would}", 1)]


def _bare(job: JobFile, undoubted: Sequence[str], train: str) -> str:
    told = []
    for said, of in ("not known without", False), ("no +/- entered for", True):
        shown = [_named_entry(job, one, train) for one in undoubted if (one in job.mapping) is of]
        more = f" and {len(shown) - 6} more" if len(shown) > 6 else ""
        told += [f"{said} {', '.join(shown[:6])}{more}"] if shown else []
    return "; ".join(told)


def _also_bare(job: JobFile, pumped: Budget, judged: Result | None, subject: str) -> list[Words]:
    """Return what has no +/- that moves a clearance with the lifter pumped up alone."""
    told = () if judged is None else judged.budget.undoubted
    bare = [entry for entry in pumped.undoubted if entry not in told]
    return [Words(f"UNPROVED so: {_bare(job, bare, subject)}", 2)] if bare else []


def _named_entry(job: JobFile, entry: str, train: str) -> str:
    """Return an entry without its valve gear's name; one that names a table with its file."""
    table = job.entries.get(entry)
    name = entry.removeprefix(f"{train}.")
    return f"{name} ({table.value})" if table is not None and isinstance(table.value, str) else name


def pair_blocks(job: JobFile, one: PairClearance, mended: Sequence[Mended]) -> list[Block]:
    """Return what stands behind the distance between a cylinder's two valves."""
    name = f"valve to valve, {one.cylinder}"
    if one.judged is None or one.least is None:
        lacks = ", ".join(meant(entry, one.cylinder) for entry in one.lacks)
        because = "; ".join(one.problem) or "; ".join(
            part for part in (one.why, f"it lacks {lacks}" if lacks else "") if part
        )
        if any(f".{TOUCH}." in entry for entry in one.lacks) and not one.why:
            because += "; or the coordinates of both valves' heads"
        told = [Words(because, 1, Form.ITEM), *(Words(text, 1) for text in _by_touch(job, one))]
        return [Heading(f"{name}: not computed"), *told]
    blocks: list[Block] = [Heading(name)]
    if one.basis == TOUCH:
        blocks.append(Words("from the lifts at which each can first touch the other, as they were read", 1))
    if _heads_meet(one.judged):
        blocks.append(Words(f"the two heads: THEY MEET, {at_crank(one.least.angle)}", 1))
    else:
        blocks.append(_line("the two heads, straight gap", one.least, job))
    blocks += [Words(text, 1) for text in _by_touch(job, one)]
    if one.pumped is not None:
        at = at_crank(one.pumped.angle)
        text = f"{length(one.pumped.value, job.units)}, {at}"
        if one.pumped.value <= 0:
            text = f"THEY MEET, {at}"
            text += ", whatever the limit says: SHORT" if one.pumped_counts else ""
        text += "" if one.pumped_counts else f": {TOLD_ALONE}"
        blocks.append(Words(f"with the lifters pumped up: {text}", 1))
        if one.meets_after is not None and one.pumped.value <= 0:
            rise = length(one.meets_after, job.units)
            blocks.append(Words(f"they may meet after both plungers rose by {rise}", 1))
        if one.up is not None:
            blocks += _also_bare(job, one.up.budget, one.judged, one.cylinder)
    elif one.no_pumped:
        lacks = _meant(one.no_pumped, one.cylinder)
        blocks.append(Words(f"with the lifters pumped up: UNPROVED, not known without {lacks}", 1))
    blocks += [*_limit(job, one.judged), *_undoubted(job, one.judged, one.cylinder)]
    return [*blocks, *(remedy_blocks(job, mended, one.judged, one.cylinder) if mended else ())]


def _by_touch(job: JobFile, one: PairClearance) -> Iterator[str]:
    """Yield what where two valves touch tells besides their straight gap, and what was felt between them."""
    if one.further is not None:
        doubt = one.further.doubt
        stated = "" if doubt is None else f" +/- {length(doubt, job.units, doubt)}"
        at = at_crank(one.further.angle)
        if one.further.value > 0:
            text = f"both could open {length(one.further.value, job.units)}{stated} further before they may touch, {at}"
        else:
            text = f"both are {length(-one.further.value, job.units)}{stated} past where they may touch, {at}"
        if doubt is not None and abs(one.further.value) <= doubt:
            text += ": contact within the doubt"
        yield text
        yield "check: hold both at their lifts there, and try a wire as thick as the gap between the heads"
    for edge in one.at_least:
        yield f"{edge.replace('_', ' of the ')} was not found as far as it was tried: the gap is at least so much"
    if one.in_one_plane:
        yield "the stems are taken to lie in one plane, which proves nothing: read spread_off"
    if one.differ is not None:
        way = "more" if one.differ > 0 else "less"
        yield f"the coordinates would say {length(abs(one.differ), job.units)} {way}; what was read stands"
    for each in one.feelers:
        foretold = "" if each.foretold is None else f", foretold at least {length(each.foretold, job.units)}"
        yield f"a wire of {length(each.read, job.units)} passed {at_crank(each.angle)}{foretold}"
    if one.judged is None and one.feelers:
        least = min(each.read for each in one.feelers)
        many = f"{len(one.feelers)} angles" if len(one.feelers) > 1 else "one angle"
        yield f"least of the {many} tried: {length(least, job.units)}; not the least of the cycle"


def source_blocks(found: Clearances) -> list[Block]:
    """Return what each lobe was taken from."""
    lobes = {}
    for here in found.situations.values():
        for lift in here.lifts.values():
            lobes[lift.lobe.name] = SOURCES[lift.lobe.source] + (
                ", read at the valve" if lift.lobe.at_valve else ""
            )
    return [Break(), *(Words(f"lobe {name}: {source}", 1) for name, source in lobes.items())]


def timing_blocks(job: JobFile, found: Clearances, rows: Sequence[Advanced]) -> list[Block]:
    """Return clearance against cam timing, a table for each cylinder."""
    blocks: list[Block] = [Heading("AGAINST CAM TIMING, crank degrees; the smaller of drop and straight gap")]
    for cylinder in found.situations:
        valves = [one.train for one in _of(found, cylinder) if one.piston is not None]
        if not valves:
            continue
        limits = {one.train: one.piston.limit.value for one in found.valves if one.piston is not None}
        pair = next((one.judged for one in found.pairs if one.cylinder == cylinder and one.judged), None)
        named = [name.replace(".", " ") for name in valves] + (["valve to valve"] if pair else [])
        columns = (Column("cam", 12), *(Column(f"{one} {job.units}", 20, right=True) for one in named))
        shown = []
        for row in rows:
            cells = [_cell(row.piston.get(name), limits[name], job) for name in valves]
            if pair is not None:
                cells.append(_cell(row.between.get(cylinder), pair.limit.value, job, heads=True))
            shown.append(Row((_way(row.advance), *cells)))
        blocks += [Break(), Table(columns, tuple(shown))]
    if any(one.judged is not None for one in found.pairs):
        blocks += [Break(), Words("Both lobes turn together: the distance between two valves stays.", 1)]
    return blocks


def _way(advance: float) -> str:
    degrees = math.degrees(advance)
    if abs(degrees) < 1e-6:
        return "as it is"
    return f"{abs(degrees):g} {'earlier' if degrees > 0 else 'later'}"


def _cell(value: float | None, limit: float, job: JobFile, heads: bool = False) -> Cell:
    if value is None:
        return "not known"
    if heads and value <= 0:
        return "THEY MEET"
    return Length(value, unit=job.units, bare=True, before="SHORT " if value < limit else "")


def _heads_meet(judged: Result) -> bool:
    """Say whether two heads stand in one another: their distance is 0 then, and no number says how deep."""
    return judged.name == "between" and judged.value <= 0
