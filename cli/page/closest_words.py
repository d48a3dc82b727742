"""How close the valves come, one screen of it: of each valve what comes closest to its piston, the two valves, and the rest."""

from __future__ import annotations

from collections.abc import Sequence

from tallstack.geometry.clearance.clearances import Clearances
from tallstack.geometry.core.targets import TOLD_ALONE, Source
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result

from .clearance_words import at_overlap, cells
from .model import Block, Cell, Column, Row, Table, Words
from .wording import WHOSE, in_one

NAMED_ONE_BY_ONE = (Verdict.SHORT, Verdict.TIGHT)
MARKS = {
    Source.COMMON: ("*", WHOSE[Source.COMMON]),
    Source.MEMORY: ("**", WHOSE[Source.MEMORY]),
}  # behind a limit that nobody set
ALONG, STEM = "along the stem", "stem"  # in a table, where there is little room
PAST_ALL = 1e6  # mm, more than any clearance


def every(found: Clearances) -> list[Result]:
    """Return every clearance that is judged, those with the lifters pumped up included."""
    up = [*(one.up for one in found.valves), *(one.up for one in found.pairs)]
    return [*found.judged, *(one for one in up if one is not None)]


def closest_blocks(
    head: str,
    units: str,
    found: Clearances,
    worst_first: bool = False,
    is_full: bool = False,
) -> list[Block]:
    """Return what comes closest, a row each; of what leaves more the least of its kind alone, unless all is asked for."""
    first = {id(one.piston) for one in found.valves} | {id(one.judged) for one in found.pairs}
    first |= {id(one.at_speed.piston) for one in found.valves if one.at_speed is not None}
    judged = every(found)
    shown = [one for one in judged if is_full or id(one) in first or one.verdict in NAMED_ONE_BY_ONE]
    if worst_first:
        shown.sort(key=worst)
    columns = (
        Column(head, 37, own_line=True),
        Column(units, 7, right=True),
        Column("limit", 8, right=True),
        Column("+/-", 6, right=True),
        Column("degrees of overlap"),
    )
    alike: dict[tuple[str, tuple[Cell, ...]], list[str]] = {}
    for one in shown:
        alike.setdefault((one.figure.title, _cells(units, one)), []).append(one.of.replace(".", " "))
    rows = [
        Row((f"{', '.join(names)}, {title.replace(ALONG, STEM)}", *told))
        for (title, told), names in alike.items()
    ]
    rest = [one for one in judged if one not in shown and one.verdict is not None]
    told = least_of_the_rest(units, rest)
    more = [Words(f"further above their limits: {'; '.join(told)}", 1)] if told else []
    more += [Words(one, 1) for one in besides(units, found)]
    marks = dict.fromkeys(MARKS[one.limit.source] for one in shown if one.limit.source in MARKS)
    told = [f"{mark} {said}" for mark, said in marks]
    owners = [Words("; ".join(told), 1)] if told else []
    return [Table(columns, tuple(rows), under=0), *more, *owners]


def besides(units: str, found: Clearances) -> list[str]:
    """Return what has to be said of the clearances of a job besides how large each is."""
    return [*_told_alone(units, found), *_counted(units, found), *_at_least(found), *_further(units, found)]


def _told_alone(units: str, found: Clearances) -> list[str]:
    """Return what lifters do pumped up where that is told, and not counted."""
    told = least_of_the_rest(units, [one for one in every(found) if one.verdict is None])
    told += [
        f"{one.cylinder.replace('.', ' ')}, the two valve heads MEET"
        for one in found.pairs
        if not one.pumped_counts and one.pumped is not None and one.pumped.value <= 0
    ]
    return [f"{TOLD_ALONE}: {'; '.join(told)}"] if told else []


def _at_least(found: Clearances) -> list[str]:
    """Return of whose valves the distance is at least what is told."""
    known = [one for one in found.pairs if one.at_least and one.judged is not None]
    told = ", ".join(f"{one.cylinder} ({' and '.join(map(_edge, one.at_least))})" for one in known)
    return [f"at least so much, no touch was found: {told}"] if told else []


def _edge(edge: str) -> str:
    return f"the {edge.removeprefix('edge_')}'s edge"


def _further(units: str, found: Clearances) -> list[str]:
    """Return how much further both valves of a cylinder could open, where that is known from where they touch."""
    known = [(one.cylinder, one.further.value) for one in found.pairs if one.further is not None]
    told = ", ".join(f"{cylinder} {in_one(value, units)}" for cylinder, value in known if value > 0)
    past = ", ".join(f"{cylinder} {in_one(-value, units)}" for cylinder, value in known if value <= 0)
    return [
        *([f"before the two valves may touch, both could open further: {told}"] if told else []),
        *([f"both open past where the two valves may touch: {past}"] if past else []),
    ]


def _counted(units: str, found: Clearances) -> list[str]:
    """Return what a job lets count of a pumped-up lifter, where that is less than all of it."""
    rises = [(one.rises, one.can_rise) for one in found.valves if one.pumped_whole is not None]
    counts = [f"{in_one(rise, units)} of {in_one(whole, units)}" for rise, whole in rises if rise and whole]
    told = ", ".join(dict.fromkeys(counts))
    return [f"pumped up counts for {told} of rise: targets.pumped"] if counts else []


def least_of_the_rest(units: str, found: Sequence[Result]) -> list[str]:
    """Return the least of every kind among clearances, each with its word."""
    kinds: dict[str, list[Result]] = {}
    for one in found:
        kinds.setdefault(one.figure.title, []).append(one)
    return [_least(units, title, each) for title, each in kinds.items()]


def _least(units: str, title: str, each: list[Result]) -> str:
    """Return the least of a kind with its word, and how the others stand where they stand otherwise."""
    one = min(each, key=worst)
    shown = cells(one, units)
    value = shown.both[0].shown() if shown.both else "MEET"
    value += ", THEY MEET" if one.verdict is None and one.value <= 0 else ""
    who = one.of.replace(".", " ") + (f" and {len(each) - 1} more" if len(each) > 1 else "")
    words = [cells(other, units).stands for other in each]
    others = [f"{words.count(word)} {word}" for word in dict.fromkeys(words) if word != shown.stands]
    worse = f"; of the others {', '.join(others)}" if others else ""
    stands = f" {shown.stands}" if shown.stands else ""
    return f"{title} {value}{stands} ({who}{worse})"


def worst(one: Result) -> float:
    """Return what sorts clearances: what is left above the limit, what is SHORT before all others."""
    return round(one.spare - (PAST_ALL if one.verdict is Verdict.SHORT else 0.0), 6)


def _cells(units: str, one: Result) -> tuple[Cell, ...]:
    """Return a clearance with its limit, how it stands, and where in the cycle."""
    shown = cells(one, units, bare=True)
    value: Cell = shown.both[0] if shown.both else "MEET"
    mark = MARKS.get(one.limit.source, ("", ""))[0]
    limit: Cell = "contact" if one.limit.source is Source.PARTS else shown.limit._replace(mark=mark)
    return value, limit, shown.doubt, f"{shown.stands}, {at_overlap(one.angle)}"
