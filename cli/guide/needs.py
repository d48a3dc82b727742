"""What the answers that somebody wants still lack, in the order in which the hands reach it.

Which entries an answer needs it says itself (`core.answer.Missing`); here stands only which answers belong to what is
wanted, and which part of the engine comes before which. An answer that lacks nothing is not worked out to say so twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from tallstack.geometry.core.answer import CYLINDER, Group, Missing, Value
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.fits import (
    at_speed,
    bore_fit,
    column,
    heat,
    oversize,
    put_in,
    skirt,
    springs,
    studs,
    trapped,
    tubes,
    valves_at_speed,
    volume,
)
from tallstack.geometry.fits import groups as fit_groups

from ..job.contents import READINGS
from ..job.entries.catalogue import entries_of, owned, steps
from ..job.entries.wanted import ASSEMBLY, BORES, COMPRESSION, HOT, PORTS, SPEED, SPRINGS
from ..job.faults import Loc
from ..job.job import Job
from ..job.variations import raw_at

ANSWERS: dict[str, tuple[Group[Any], ...]] = {
    COMPRESSION: (
        volume.displacement,
        volume.squish,
        volume.compression,
        studs.base_gasket,
        studs.head_gasket,
        trapped.trapped,
    ),
    SPEED: (
        at_speed.squish_at_speed,
        at_speed.squish_at_least,
        springs.leaves_the_cam,
        valves_at_speed.stiffness,
    ),
    BORES: (bore_fit.bore_fit, oversize.oversize),
    ASSEMBLY: (
        skirt.swing,
        skirt.skirt_to_beam,
        skirt.skirt_to_counterweight,
        skirt.bosses_to_counterweight,
        skirt.beam_to_spigot,
        skirt.beam_to_mouth,
        skirt.hanging,
        skirt.oil_ring_room,
        studs.engagement,
        tubes.tube_length,
        tubes.tube_room,
        put_in.put_in,
    ),
    SPRINGS: (
        springs.seat,
        springs.at_full_lift,
        springs.coil_bind,
        springs.coil_bind_pumped,
        springs.retainer,
        springs.retainer_pumped,
        column.column,
        column.cups,
    ),
    HOT: (heat.hot, at_speed.squish_hot),
}


class Beside(NamedTuple):
    """Entries that are asked for beside what single answers lack."""

    of: str  # "cylinder" or "train", each of them; empty: the engine's
    entries: tuple[str, ...]
    title: str  # of the answer that they are for
    several: bool = False  # only where there are several cylinders


ACROSS = "one cylinder beside the other"
FACES = ("intake_face.centre", "intake_face.normal", "exhaust_face.centre", "exhaust_face.normal")
BESIDE = {  # by what is wanted
    ASSEMBLY: (
        Beside("", ("piston.diameter",), ACROSS, several=True),
        Beside("cylinder", ("offset", "pin", "spigot.length", "spigot.outer_diameter"), ACROSS, several=True),
    ),
    PORTS: (Beside("cylinder", FACES, "ports that moved apart"),),
    SPRINGS: (Beside("train", ("spring.solid_height",), springs.coil_bind.title),),
}
OTHERS_COUNT_FROM = ("cylinder", 0, "pin")  # the first cylinder's own says nothing
HANDS = (  # in which order one comes to it; what has no place here comes last
    *("stack", "crank", "piston", "chamber", "studs", "spigot", "liner", "bore_readings", "oversize"),
    *("lifter", "rocker", "valve", "pocket", "pushrod", "tube", "spring", "masses", "nose_lift", "assembly"),
    *("intake_face", "exhaust_face", "cam", "running", "materials"),
)
OWN_TABLES = ("stack", "piston", "chamber", "studs")  # that a cylinder may have instead of the engine's


def answers_of(word: str) -> tuple[Group[Any], ...]:
    """Return the answers that belong to what is wanted; one that is declared and stands nowhere here to what goes together."""
    placed = {id(group) for groups in ANSWERS.values() for group in groups}
    more = [group for group in fit_groups.GROUPS if id(group) not in placed] if word == ASSEMBLY else []
    return (*ANSWERS.get(word, ()), *more)


class Need(NamedTuple):
    """One entry that answers wait for."""

    loc: Loc
    answers: tuple[str, ...]  # by their titles


class Known:
    """Which answers lacked nothing when they were last looked at; as long as nothing is taken out of the file they do not."""

    def __init__(self) -> None:
        self.whole: dict[tuple[str, str], tuple[str, ...]] = {}  # with what each rests on that nobody entered
        self.memory: dict[tuple[str, tuple[str, ...]], tuple[Need, ...]] = {}

    def needs(self, job: Job, document: Mapping[str, Any], wanted: Sequence[str]) -> tuple[Need, ...]:
        """Return what is lacking, kept by the text of the job."""
        key = (job.source, tuple(wanted))
        if key not in self.memory:
            self.memory = {key: self._needs(job, document, wanted)}
        return self.memory[key]

    def forget(self) -> None:
        """Look at every answer anew: something was taken out."""
        self.whole.clear()

    def _needs(self, job: Job, document: Mapping[str, Any], wanted: Sequence[str]) -> tuple[Need, ...]:
        found: dict[Loc, dict[str, None]] = {}
        for entry, title in self._lacking(job, wanted):
            for loc in places_of(entry, document):
                found.setdefault(loc, {})[title] = None
        for title, loc in (
            each for one in wanted for beside in BESIDE.get(one, ()) for each in _beside(beside, document)
        ):
            found.setdefault(loc, {})[title] = None
        needs = (Need(loc, tuple(titles)) for loc, titles in found.items() if not _is_given(document, loc))
        return tuple(sorted(needs, key=_hand))

    def _lacking(self, job: Job, wanted: Sequence[str]) -> Iterator[tuple[str, str]]:
        """Yield each entry that is lacking, with the title of the answer that waits for it."""
        mapping = job.mapping
        for one in wanted:
            for group in answers_of(one):
                for name in job.names["cylinders" if group.of == CYLINDER else "trains"]:
                    if (group.title, name) in self.whole:
                        yield from ((entry, group.title) for entry in self.whole[group.title, name])
                        continue
                    try:
                        worth = group.work_out(mapping, name)
                    except GeometryError:
                        continue
                    entries = worth.entries if isinstance(worth, Missing) else _unsaid(worth)
                    if not isinstance(worth, Missing):
                        self.whole[group.title, name] = entries
                    yield from ((entry, group.title) for entry in entries)


def _beside(one: Beside, document: Mapping[str, Any]) -> Iterator[tuple[str, Loc]]:
    """Yield where each of such entries is written, with the title of the answer that it is for."""
    if one.several and len(document.get("cylinder", [])) < 2:
        return
    for entry in one.entries:
        if not one.of:
            yield from ((one.title, loc) for loc in places_of(entry, document))
            continue
        parts = entry.split(".")
        for index, row in enumerate(document.get(one.of, [])):
            loc: Loc = (one.of, index, *parts)
            in_rows = isinstance(row.get(parts[0]), list)  # nested springs
            if "like" not in row and not in_rows and loc != OTHERS_COUNT_FROM:
                yield one.title, loc


def _is_given(document: Mapping[str, Any], loc: Loc) -> bool:
    """Say whether something stands at a place of a document that is not blank."""
    return raw_at(loc, document) not in (None, "", [], {})


def _unsaid(worth: Mapping[str, Value]) -> tuple[str, ...]:
    """Return what an answer rests on that nobody entered, so that nothing with it is proved."""
    return tuple(dict.fromkeys(entry for one in worth.values() for entry in one.unsaid))


def places_of(entry: str, document: Mapping[str, Any]) -> tuple[Loc, ...]:
    """Return where an entry is written: in the original of a copy, in each cylinder's own table where they have one."""
    owner, _ = owned(entry)
    parts = steps(entry.split("."))
    trains, cylinders = document.get("train", []), document.get("cylinder", [])
    if "." in owner:
        cylinder, port = owner.split(".")
        index = _row(trains, cylinder=cylinder, port=port)
        while index is not None and "like" in trains[index] and str(parts[2]) not in READINGS:
            of, _, other = str(trains[index]["like"]).partition(".")
            index = _row(trains, cylinder=of, port=other)
        return () if index is None else (("train", index, *parts[2:]),)
    if owner:
        index = _row(cylinders, name=owner)
        return () if index is None else (("cylinder", index, *parts[1:]),)
    if any(parts[0] in own_tables(row) for row in cylinders):
        return tuple(("cylinder", index, *parts) for index in range(len(cylinders)))
    return (parts,)


def own_tables(row: Mapping[str, Any]) -> tuple[str, ...]:
    """Return which of the engine's tables a cylinder has of its own; a deck read at each makes no stack of its own."""
    return tuple(one for one in OWN_TABLES if row.get(one, {}).keys() - {"measured_deck"})


def path_of(loc: Loc, document: Mapping[str, Any]) -> str:
    """Return the path by which a job calls what stands at a place of its document."""
    keys = {"train": ("cylinder", "port"), "cylinder": ("name",)}.get(str(loc[0]))
    if keys is None or len(loc) < 2 or not isinstance(loc[1], int):
        return ".".join(map(str, loc))
    row = document[str(loc[0])][loc[1]]
    return ".".join(str(one) for one in (*(row.get(key, "") for key in keys), *loc[2:]))


def _row(rows: Sequence[Mapping[str, Any]], **keys: str) -> int | None:
    return next(
        (
            index
            for index, row in enumerate(rows)
            if all(row.get(key) == value for key, value in keys.items())
        ),
        None,
    )


def _hand(need: Need) -> tuple[int, int, int, int]:
    """Return by what needs are sorted: the part of the engine, whose it is, the entry's place in its table."""
    loc = need.loc
    table = next((str(one) for one in loc if one in HANDS), "")
    place = HANDS.index(table) if table else len(HANDS)
    row = loc[1] if isinstance(loc[1], int) else 0
    names = entries_of(loc[:-1])
    within = names.index(str(loc[-1])) if str(loc[-1]) in names else len(names)
    is_gear = int(loc[0] == "train")
    return (is_gear, row if is_gear else place, place if is_gear else row, within)
