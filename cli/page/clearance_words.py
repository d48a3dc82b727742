"""The clearances of an engine, in words: the closest of each first, then what stands behind it."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from tallstack.geometry.clearance.clearances import (
    Clearances,
    PairClearance,
    ValveClearance,
    pumped_up,
)
from tallstack.geometry.clearance.situation import CAM, LIFT
from tallstack.geometry.clearance.timing import Row
from tallstack.geometry.clearance.valve_over_piston import COORDINATES, READING
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.piston.cycle import Minimum

from ..guide.narrowing import named, narrowing
from ..job.contradicted import word
from ..job.entries.meanings import meant
from ..job.file import JobFile
from .remedy_words import Mended, remedy_lines
from .wording import both_units, length, number, paragraph, steady, train_name, whose

WHAT = {
    "drop": "along the stem",
    "gap": "straight gap",
    "wall": "pocket wall",
    "bore": "cylinder's bore",
    "between": "valve to valve",
    "pumped": "  pumped up",
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
    "checking springs and with lifters that cannot bleed down, then two slow turns by hand. A clearance here is "
    "computed from what was entered; nothing here says that the engine may be run."
)


def summary_lines(job: JobFile, found: Clearances) -> list[str]:
    """Return one line for each clearance that has a target."""
    units = both_units(job.units)
    rows = []
    for valve in found.valves:
        name = valve.train.replace(".", " ")
        if valve.piston is None:
            why = "CANNOT BE WORKED OUT" if valve.problem else "NOT KNOWN"
            rows.append(f"  {name:<15}{why}, see below")
        else:
            rows.append(_row(name, valve.piston, job))
            rows += _pumped_row(name, valve, job)
        rows += [_row(name, one, job) for one in (valve.room, valve.bore) if one is not None]
    for pair in found.pairs:
        if pair.judged is not None:
            rows.append(_row(pair.cylinder, pair.judged, job))
        elif any(valve.piston is not None for valve in _of(found, pair.cylinder)):
            rows.append(f"  {pair.cylinder:<15}{WHAT['between']:<16}NOT KNOWN, see below")
    heading = f"  {'valve':<15}{'least clearance':<16}{units[0]:>8}{units[1]:>8}{'+/- ' + units[0]:>10}{'limit ' + units[0]:>10}  verdict"
    return ["", heading, *rows]


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
        verdict is Verdict.TIGHT and valve.piston.spare > _doubt(valve.piston)
    )


def _pumped_row(name: str, valve: ValveClearance, job: JobFile) -> list[str]:
    """Return the row of the lifter pumped up, where a verdict comes from that."""
    return [] if valve.up is None or not _by_pumping(valve) else [_row(name, valve.up, job)]


def _row(name: str, judged: Result, job: JobFile) -> str:
    doubt = _doubt(judged)
    lengths = "".join(f"{number(judged.value, unit, doubt):>8}" for unit in both_units(job.units))
    stated = number(doubt, job.units, doubt) if _proved(judged) else ""
    if _heads_meet(judged):
        lengths, stated = f"{'THEY MEET':>16}", ""
    limit = number(judged.limit.value, job.units)
    return f"  {name:<15}{WHAT[judged.name]:<16}{lengths}{stated:>10}{limit:>10}  {word(judged.verdict, judged.look_again)}"


def valve_lines(
    job: JobFile, one: ValveClearance, mended: Sequence[Mended], wall: Sequence[Mended]
) -> list[str]:
    """Return what stands behind one valve's clearances."""
    name = train_name(one.train)
    if one.piston is None:
        return [f"{name}: not computed", *_why_not(one), *_bore(job, one)]
    assert one.basis is not None
    lines = [name, f"  {BASIS[one.basis]}", *_closest(job, one), *_pumped(job, one)]
    lines += [*_limit(job, one.piston), *_undoubted(job, one.piston, one.train), *_known(job, one)]
    if mended:
        lines += remedy_lines(job, mended, one.piston, one.train)
    lines += _wall(job, one)
    if wall and one.room is not None:
        lines += remedy_lines(job, wall, one.room, one.train)
    return [*lines, *_bore(job, one), *_motion(job, one)]


def _why_not(one: ValveClearance) -> list[str]:
    lines = [paragraph(sentence, 2, 2) for sentence in one.problem]
    for route, lacks in one.lacks.items():
        lines.append(paragraph(f"{ROUTES[route]}: {_meant(lacks, one.train)}", 2, 4))
    return lines


def _closest(job: JobFile, one: ValveClearance) -> list[str]:
    assert one.piston is not None
    lines = [_line("piston to valve, along the stem", one.drop[0], job)]
    if one.gap is not None:
        lines.append(_line("straight gap", one.gap, job))
    else:
        lines.append(
            paragraph(
                "straight gap: to the floor the same; to the pocket's edge not known from this reading", 2, 2
            )
        )
    if one.drop[0].value <= 0:
        lines.append("  THEY MEET: less than nothing is how far the valve would have to be drawn back")
    lines += [_line("close again, along the stem", other, job) for other in one.drop[1:]]
    return lines


def _line(what: str, least: Minimum, job: JobFile) -> str:
    return paragraph(f"{what}: {length(least.value, job.units)}, {at_crank(least.angle)}", 2, 2)


def at_crank(angle: float) -> str:
    """Return a crank angle from overlap top centre, in words."""
    degrees = math.degrees(angle)
    if abs(degrees) < 0.05:
        return "at overlap top centre"
    return f"{steady(abs(degrees)):.1f} degrees {'after' if degrees > 0 else 'before'} overlap top centre"


def _limit(job: JobFile, judged: Result) -> list[str]:
    who = whose(judged.limit)
    text = f"limit {length(judged.limit.value, job.units)}: {who} (targets.{judged.limit.name})"
    spare = judged.spare
    more = "more than " if _heads_meet(judged) else ""
    short = f"SHORT by {more}{length(-spare, job.units)}"
    way = f"to spare {length(spare, job.units)}" if spare >= 0 and not more else short
    basis = "" if judged.name in ("wall", "bore", "between") else f", on the {_named(judged)}"
    return [paragraph(f"{text}; {way}{basis}", 2, 2)]


def _named(judged: Result) -> str:
    return "straight gap" if judged.name == "gap" else "drop along the stem"


def _pumped(job: JobFile, one: ValveClearance) -> list[str]:
    if one.pumped is not None and one.pumped_doubt is not None:
        value, doubt = one.pumped.value, one.pumped_doubt
        sure = "" if doubt.undoubted else f" +/- {number(doubt.expanded, job.units)} {job.units}"
        text = f"with the lifter pumped up, along the stem: {length(value, job.units)}{sure}, {at_crank(one.pumped.angle)}"
        if value <= 0:
            text += ": THEY MEET, whatever the limit says: SHORT"
        elif pumped_up(value, doubt) is Verdict.TIGHT:
            text += ": within its own doubt they meet: TIGHT, whatever the limit says"
        return [paragraph(text, 2, 2), *_also_bare(job, doubt, one.piston, one.train)]
    if one.no_pumped:
        return [
            paragraph(
                f"with the lifter pumped up: UNPROVED, not known without {_meant(one.no_pumped, one.train)}",
                2,
                2,
            )
        ]
    return []


def _meant(entries: Sequence[str], train: str) -> str:
    return ", ".join(
        LOBE.format(entry) if LONE.fullmatch(entry) else meant(entry, train) for entry in entries
    )


def _wall(job: JobFile, one: ValveClearance) -> list[str]:
    if one.wall is None or one.room is None:
        if one.in_pocket:
            return ["  to the pocket's wall: none, the rim is never below the crown"]
        return []
    return [
        _line("to the pocket's wall", one.wall, job),
        *_limit(job, one.room),
        *_undoubted(job, one.room, one.train),
    ]


def _bore(job: JobFile, one: ValveClearance) -> list[str]:
    if one.bore_lacks:
        return [
            paragraph(
                f"to the cylinder's bore: not looked at without {_meant(one.bore_lacks, one.train)}", 2, 2
            )
        ]
    if one.bore is None:
        return []
    least = Minimum(one.bore.value, one.bore.angle)
    lines = [_line(f"to the cylinder's bore, the {one.bore_part} nearest", least, job)]
    if one.bore.value <= 0:
        lines.append("  THEY MEET: less than nothing is how far the head would stand in it")
    if one.bore_pumped is not None:
        up = one.bore_pumped
        meet = ": THEY MEET, whatever the limit says: SHORT" if up.value <= 0 else ""
        lines.append(
            paragraph(
                f"with the lifter pumped up: {length(up.value, job.units)}, {at_crank(up.angle)}{meet}", 2, 2
            )
        )
    return [*lines, *_limit(job, one.bore), *_undoubted(job, one.bore, one.train)]


def _motion(job: JobFile, one: ValveClearance) -> list[str]:
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
    return [paragraph("; ".join(parts), 2, 2)]


def _known(job: JobFile, one: ValveClearance) -> list[str]:
    lines = []
    if one.lash_unknown:
        by_card = one.lash_unknown.endswith("card.lash")
        beyond = "it" if by_card else "what it is more than the lash to be set"
        lines.append(
            f"the lash that these lifts were read with is not entered ({one.lash_unknown}): the lobe lifts the valve by "
            f"that much more than was read, and {beyond} comes off every clearance here: 0.1 mm takes 0.1 mm along the stem"
        )
    if one.unlike:
        lines.append(
            "the drop was read over a pocket, and no [train.pocket] is entered: known by the reading alone, coordinates "
            "would put a plain crown there"
        )
    if one.assumed_to_meet:
        lines.append(f"not said whether it meets a pocket or the crown: taken as {one.assumed_to_meet}")
    if one.known is not None:
        ends = [
            f"{steady(abs(math.degrees(angle))):.0f} degrees {way}"
            for angle, way in zip(one.known, ("before", "after"), strict=True)
        ]
        text = f"known from {ends[0]} to {ends[1]} top centre: beyond, the rim leaves the floor, and the drop is not known from this reading"
        if one.unfinished:
            text += "; it is still falling there, so this least is not proved"
        lines.append(text)
    if one.differ is not None:
        way = "more" if one.differ > 0 else "less"
        lines.append(
            f"the coordinates would say {length(abs(one.differ), job.units)} {way}; the reading stands"
        )
    return [paragraph(text, 2, 2) for text in lines]


def _undoubted(job: JobFile, judged: Result, train: str) -> list[str]:
    if _heads_meet(judged):
        return ["  no +/- is known: how deep they stand in one another is not worked out"]
    if _proved(judged):
        most = [
            f"{entry.removeprefix(f'{train}.')} ({share:.0%})"
            for entry, share in list(judged.budget.shares.items())[:2]
        ]
        of = f", most of it from {' and '.join(most)}" if most else ""
        text = f"+/- {length(_doubt(judged), job.units, _doubt(judged))}{of}"
        return [paragraph(text, 2, 2), *_of_shapes(job, judged)]
    stated = f"; the stated ones alone make +/- {length(_doubt(judged), job.units)}" if _doubt(judged) else ""
    bare = f"{_bare(job, judged.budget.undoubted, train)}{stated}"
    return [paragraph(bare, 2, 2), *_of_shapes(job, judged)]


def _of_shapes(job: JobFile, judged: Result) -> list[str]:
    """Return between what a clearance lies where lobes are known by their cards, and what would tell more."""
    ends = judged.ends
    if ends is None:
        return []
    low, high = (length(one, job.units) for one in ends)
    text = f"lobes with the card's numbers give {low} to {high}"
    if not ends[0] < judged.limit.value < ends[1]:
        far = ", all of it short of the limit" if ends[1] <= judged.limit.value else ""
        return [paragraph(f"{text}{far}", 2, 2)]
    asked = [entry for lobe in judged.lobes for entry in narrowing(job.mapping, lobe)[:2]]
    would = f"; {' and then '.join(named(entry) for entry in asked)} would tell" if asked else ""
    return [paragraph(f"{text}: the limit lies between them, look at it{would}", 2, 2)]


def _bare(job: JobFile, undoubted: Sequence[str], train: str) -> str:
    shown = [_named_entry(job, one, train) for one in undoubted]
    more = f" and {len(shown) - 6} more" if len(shown) > 6 else ""
    return f"no +/- entered for {', '.join(shown[:6])}{more}"


def _also_bare(job: JobFile, pumped: Budget, judged: Result | None, subject: str) -> list[str]:
    """Return what has no +/- that moves a clearance with the lifter pumped up alone."""
    told = () if judged is None else judged.budget.undoubted
    bare = [entry for entry in pumped.undoubted if entry not in told]
    return [paragraph(f"UNPROVED so: {_bare(job, bare, subject)}", 4, 2)] if bare else []


def _named_entry(job: JobFile, entry: str, train: str) -> str:
    """Return an entry without its valve gear's name; one that names a table with its file."""
    table = job.entries.get(entry)
    name = entry.removeprefix(f"{train}.")
    return f"{name} ({table.value})" if table is not None and isinstance(table.value, str) else name


def pair_lines(job: JobFile, one: PairClearance, mended: Sequence[Mended]) -> list[str]:
    """Return what stands behind the distance between a cylinder's two valves."""
    name = f"valve to valve, {one.cylinder}"
    if one.judged is None or one.least is None:
        lacks = ", ".join(one.lacks)
        because = "; ".join(one.problem) or f"it lacks {lacks}"
        return [f"{name}: not computed", paragraph(because, 2, 4)]
    lines = [name]
    if _heads_meet(one.judged):
        lines.append(paragraph(f"the two heads: THEY MEET, {at_crank(one.least.angle)}", 2, 2))
    else:
        lines.append(_line("the two heads", one.least, job))
    if one.pumped is not None:
        at = at_crank(one.pumped.angle)
        text = f"{length(one.pumped.value, job.units)}, {at}"
        if one.pumped.value <= 0:
            text = f"THEY MEET, {at}, whatever the limit says: SHORT"
        lines.append(paragraph(f"with the lifters pumped up: {text}", 2, 2))
        if one.up is not None:
            lines += _also_bare(job, one.up.budget, one.judged, one.cylinder)
    elif one.no_pumped:
        lacks = _meant(one.no_pumped, one.cylinder)
        lines.append(paragraph(f"with the lifters pumped up: UNPROVED, not known without {lacks}", 2, 2))
    lines += [*_limit(job, one.judged), *_undoubted(job, one.judged, one.cylinder)]
    return [*lines, *(remedy_lines(job, mended, one.judged, one.cylinder) if mended else ())]


def source_lines(found: Clearances) -> list[str]:
    """Return what each lobe was taken from."""
    lobes = {}
    for here in found.situations.values():
        for lift in here.lifts.values():
            lobes[lift.lobe.name] = SOURCES[lift.lobe.source] + (
                ", read at the valve" if lift.lobe.at_valve else ""
            )
    return [paragraph(f"lobe {name}: {source}", 2, 2) for name, source in lobes.items()]


def timing_lines(job: JobFile, found: Clearances, rows: Sequence[Row]) -> list[str]:
    """Return clearance against cam timing, a table for each cylinder."""
    lines = ["", "AGAINST CAM TIMING, crank degrees; the smaller of drop and straight gap"]
    for cylinder in found.situations:
        valves = [one.train for one in _of(found, cylinder) if one.piston is not None]
        if not valves:
            continue
        limits = {one.train: one.piston.limit.value for one in found.valves if one.piston is not None}
        pair = next((one.judged for one in found.pairs if one.cylinder == cylinder and one.judged), None)
        heads = "".join(f"{name.replace('.', ' ') + ' ' + job.units:>20}" for name in valves)
        last = f"{'valve to valve ' + job.units:>20}" if pair is not None else ""
        lines += ["", f"  {'cam':<10}{heads}{last}"]
        for row in rows:
            cells = [_cell(row.piston.get(name), limits[name], job) for name in valves]
            if pair is not None:
                cells.append(_cell(row.between.get(cylinder), pair.limit.value, job, heads=True))
            lines.append(f"  {_way(row.advance):<10}" + "".join(f"{cell:>20}" for cell in cells))
    if any(one.judged is not None for one in found.pairs):
        lines += ["", paragraph("Both lobes turn together: the distance between two valves stays.", 2, 2)]
    return lines


def _way(advance: float) -> str:
    degrees = math.degrees(advance)
    if abs(degrees) < 1e-6:
        return "as it is"
    return f"{abs(degrees):g} {'earlier' if degrees > 0 else 'later'}"


def _cell(value: float | None, limit: float, job: JobFile, heads: bool = False) -> str:
    if value is None:
        return "not known"
    if heads and value <= 0:
        return "THEY MEET"
    return f"{'SHORT ' if value < limit else ''}{number(value, job.units)}"


def _doubt(judged: Result) -> float:
    return judged.budget.expanded


def _heads_meet(judged: Result) -> bool:
    """Say whether two heads stand in one another: their distance is 0 then, and no number says how deep."""
    return judged.name == "between" and judged.value <= 0


def _proved(judged: Result) -> bool:
    return judged.proved
