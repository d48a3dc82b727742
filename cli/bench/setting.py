"""What SET asks for, shows and writes: how a valve gear or a cylinder was set, planned beside recorded, line by line.

It goes into the record beside the job by the same code as `tallstack record`. A line is only ever added; one that was a
mistake is withdrawn by another. Plans are worked out beside the page; what was written down is read at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from tallstack.geometry.core.answer import CYLINDER, TRAIN
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.pushrod.ordering import Order
from tallstack.geometry.pushrod.stations import Station

from ..commands import record
from ..commands.record import Said, Wrong
from ..files import OutputRefusedError
from ..guide.blank import usually
from ..job.contradicted import in_a_word
from ..job.entries.catalogue import kind_at
from ..job.faults import InputFaultsError
from ..job.job import Job
from ..page.model import Block, Words
from ..page.setting_words import CLOSED, ZERO_LASH, station_blocks, tighter
from ..page.text import shown
from ..page.vocabulary import said as in_words
from ..record.as_built import Compared, Plan
from ..record.record_words import as_read, behind, cells, doubts, fact_words, said, unit_of, unlikely, word_of
from ..record.recordfile import Fact, append, read, says_the_same, standing
from ..record.recordkinds import (
    BY_NAME,
    CHANGES,
    CONVENTIONS_OF,
    DISTANCE,
    LIFT,
    SHELF,
    TEMPERATURE,
    TURNED_FROM,
    WITHDRAWN,
    figures,
    kinds,
)
from ..tables.tablefile import LARGEST

FIRST = {  # what is asked for at once; of a gear the setting of its lifter stands beside them
    TRAIN: ("pushrod", "turns", "flats", "preload", "lash", "drop", "clay", "valve lift"),
    CYLINDER: ("deck", "squish", "valve to valve", "crank"),
}
FROM = dict(zip(TURNED_FROM, (ZERO_LASH, CLOSED), strict=True))
READ_AS = kind_at(("train", 0, "measured_pushrod", "as"))
SETTING_OF = {"solid": "preload", "hydraulic": "lash"}  # kind of lifter → the setting that it has not got
NOT_WHILE_WRONG = "nothing is written down while the job file cannot be so"
BACK = "taken back at the page"
DEEPER = 2  # what stands under something else
LONGEST = 12_000  # letters of anything typed
TEXTS = ("convention", "turned_from", "by", "tool", "note", "visit", "temperature", "lift", "changed")
TICKS = ("found", "left")
COMMON = {  # what is asked for beside every reading
    "by": "who did it",
    "tool": "with what",
    "note": "anything else",
}
VISIT = {"visit": DISTANCE.words, "temperature": TEMPERATURE.words}


class NotGivenError(ValueError):
    """What nobody can have typed into this screen."""


class Written(NamedTuple):
    """A record as it stands."""

    path: Path
    content: bytes = b""
    facts: tuple[Fact, ...] = ()
    why: str = ""  # why it cannot be read; nothing: it can


class Lines(NamedTuple):
    """Lines that were written down in the record, to be taken back together."""

    facts: tuple[Fact, ...]

    @property
    def told(self) -> str:
        """What they say, the first of them in words."""
        told = [said(fact) for fact in self.facts if fact.what != SHELF]
        more = f" and {len(told) - 1} more" if len(told) > 1 else ""
        return f"{told[0]}{more}" if told else "what was written down"

    @property
    def numbers(self) -> tuple[int, ...]:
        """Their places in the record."""
        return tuple(one.number for one in self.facts)


class Wrote(NamedTuple):
    """What became of something that was to be written down."""

    lines: Lines | None = None
    faults: Mapping[str, str] = {}  # what was given → what is wrong with it; "": with all of it
    said: str = ""


class Thing(NamedTuple):
    """One thing that can be written down."""

    what: str
    words: str
    unit: str  # of a bare number
    usual: str

    @property
    def key(self) -> str:
        """How its field is called in a page."""
        return self.what.replace(" ", "-")


class Form(NamedTuple):
    """What is asked for."""

    told: str  # whose it is
    first: tuple[Thing, ...]
    box: tuple[Thing, ...]  # of the rocker's box
    more: tuple[Thing, ...]
    lift: Thing | None
    read_as: str  # what a convention says of a pushrod's length
    conventions: tuple[tuple[str, str], ...]
    convention: str  # the one that is taken where nobody says another
    turned_from: tuple[tuple[str, str], ...]  # where turns and flats count from, each as it is told
    turned_to: tuple[str, ...]  # which way is tighter
    common: tuple[tuple[str, str], ...]
    visit: tuple[tuple[str, str], ...]
    changes: tuple[tuple[str, str], ...]
    known_by: tuple[str, ...]  # who wrote before
    known_tools: tuple[str, ...]

    @property
    def shape(self) -> str:
        """Which fields there are; of one shape nothing is to be set anew."""
        things = (*self.first, *self.box, *self.more)
        return "|".join((self.told, self.convention, *(one.what for one in things), *self.turned_to))


class Row(NamedTuple):
    """One thing as planned beside as recorded."""

    what: str
    plan: str
    plan_doubt: str
    built: str
    built_doubt: str
    differs: str
    word: str
    is_missed: bool
    is_open: bool
    behind: tuple[str, ...]


class Line(NamedTuple):
    """One line of the record."""

    number: int
    told: str
    stands: bool  # nobody has withdrawn it, and it withdraws no other


class Seen(NamedTuple):
    """What the screen shows."""

    form: Form | None
    why: str  # why nothing can be written down; nothing: it can
    where: tuple[str, ...]  # the crank has to stand, and what to mind there
    or_else: tuple[str, ...]  # the other way to set it
    rows: tuple[Row, ...]
    moved: tuple[str, ...]  # what visits found, in sentences
    is_stale: bool
    is_working: bool
    failed: str
    lines: tuple[Line, ...]  # of this owner
    others: tuple[Line, ...]


# ---- the record


def written(path: Path) -> Written:
    """Return a record as it stands."""
    try:
        content = b""
        if path.is_file() and not path.is_symlink():
            with path.open("rb") as stream:
                content = stream.read(LARGEST + 1)
        return Written(path, content, read(path))
    except InputFaultsError as faults:
        return Written(path, content, (), faults.report())
    except OutputRefusedError as refused:
        return Written(path, content, (), str(refused))
    except OSError as error:
        return Written(path, b"", (), f"{path}: cannot be read: {error.strerror}")


def given(said_: Mapping[str, Any], job: Job) -> Said:
    """Return what was typed, as `tallstack record` takes it.

    Raises:
        NotGivenError: where it is nothing that this screen asks for.
    """
    owner, values = said_.get("owner"), said_.get("values", {})
    if not isinstance(owner, str) or owner not in (*job.names["trains"], *job.names["cylinders"]):
        message = "no valve gear or cylinder of this job"
        raise NotGivenError(message)
    of = TRAIN if owner in job.names["trains"] else CYLINDER
    known = [what for what, one in kinds().items() if one.of == of]
    texts = {name: said_.get(name, "") for name in TEXTS}
    ticks = {name: said_.get(name, False) for name in TICKS}
    is_right = (
        isinstance(values, Mapping)
        and all(what in known for what in values)
        and all(isinstance(one, str) and len(one) <= LONGEST for one in (*values.values(), *texts.values()))
        and all(isinstance(one, bool) for one in ticks.values())
    )
    if not is_right:
        message = "nothing that is written down of it"
        raise NotGivenError(message)
    typed = {what: values[what] for what in known if values.get(what, "").strip()}
    found = Said(of=owner, values=typed, **{name: one.strip() for name, one in texts.items()}, **ticks)
    if "pushrod" not in typed:
        found = found._replace(convention="")
    found = found._replace(turned_from=found.turned_from or TURNED_FROM[0])
    return Said(of=owner) if found.is_nothing else found


def write(job: Job, what: Said) -> Wrote:
    """Write down what was given, all of it or nothing."""
    try:
        there = record.beside(job)
        added, wrong = record.lines(job, what, there)
        if wrong:
            return Wrote(faults=_by_part(wrong))
        warned = append(there.record, added)
        now = read(there.record)
    except InputFaultsError as faults:
        return Wrote(faults={"": faults.report().splitlines()[0]})
    except OutputRefusedError as refused:
        return Wrote(faults={"": str(refused)})
    placed = _placed(now, len(there.before), added)
    told = [said(fact) for fact in added if fact.what != SHELF]
    lines = Lines(placed) if placed else None
    before = unlikely(there.before)
    odd = [in_a_word(one) for one in unlikely(now) if one not in before]
    return Wrote(lines, {}, f"written down: {'; '.join((*told, *([warned] if warned else []), *odd))}")


def _by_part(wrong: Sequence[Wrong]) -> dict[str, str]:
    found: dict[str, list[str]] = {}
    for one in wrong:
        found.setdefault("" if one.part == "of" else one.part, []).append(one.words)
    return {part: "; ".join(dict.fromkeys(each)) for part, each in found.items()}


def _placed(now: Sequence[Fact], after: int, added: Sequence[Fact]) -> tuple[Fact, ...]:
    """Return the lines that were added, as they stand behind those that stood there before; none where they cannot be told."""
    for place in range(after, len(now) - len(added) + 1):
        found = now[place : place + len(added)]
        if all(says_the_same(*each) for each in zip(found, added, strict=True)):
            return tuple(found)
    return ()


def withdraw(job: Job, facts: Sequence[Fact], note: str) -> Mapping[str, str]:
    """Withdraw lines with the reason; return what is wrong with it, or nothing.

    facts : as they were written; where one no longer says the same, none is withdrawn
    """
    try:
        there = record.beside(job)
        added: list[Fact] = []
        for fact in facts:
            found, wrong = record.lines(job, Said(withdraw=fact.number, note=note.strip()), there)
            if wrong:
                return _by_part(wrong)
            added += [one for one in found if one.what == WITHDRAWN]
        append(there.record, added, about=facts)
    except InputFaultsError as faults:
        return {"": faults.report().splitlines()[0]}
    except OutputRefusedError as refused:
        return {"": str(refused)}
    return {}


def again(job: Job, facts: Sequence[Fact]) -> str:
    """Write lines down again that were withdrawn; return why they cannot be, or nothing."""
    try:
        append(record.beside(job).record, [fact._replace(number=0) for fact in facts])
    except InputFaultsError as faults:
        return faults.report().splitlines()[0]
    except OutputRefusedError as refused:
        return str(refused)
    return ""


# ---- what is shown


@lru_cache(maxsize=2)
def places(job: Job) -> Mapping[str, Station]:
    """Return where every cylinder is set, none where that cannot be worked out."""
    try:
        return {one.cylinder: one for one in Plan(job).stations.values()}
    except (GeometryError, InputFaultsError):
        return {}


def cylinder_of(owner: str, job: Job) -> str:
    """Return the cylinder of a valve gear, or the cylinder itself."""
    return owner.rpartition(".")[0] if owner in job.names["trains"] else owner


def stands_at(one: Station) -> float:
    """Return where the crank stands [degrees after compression top centre]: there, or in the middle where both lifters rest."""
    if one.heel is None or one.heel.holds_top_centre:
        return 0.0
    return math.degrees(one.heel.begins + one.heel.ends) / 2


@lru_cache(maxsize=8)
def _planned(job: Job, cylinder: str) -> tuple[str, ...]:
    """Return the figures that are planned for a cylinder."""
    plan = Plan(job)
    every = (what for what in figures() if kinds()[what].of == CYLINDER)
    return tuple(what for what in every if plan.of(what, cylinder, "").value is not None)


def seen(
    job: Job | None,
    owner: str,
    found: Written,
    orders: Sequence[Order],
    built: Sequence[Compared],
    moved: Sequence[tuple[str, str]],
    is_now: bool,
    failed: str,
) -> Seen:
    """Return what the screen shows of an owner.

    built  : plan against as built, as it was last told;  moved : whose, and what visits found moved of it
    is_now : they are of this job and this record
    """
    of_owner, others = _lines(found.facts, owner)
    if job is None:
        why = "something in the job file cannot be so; nothing is written down until it can"
        return Seen(None, why, (), (), (), (), False, False, "", of_owner, others)
    order = next((one for one in orders if one.train.name == owner), None)
    rows = tuple(_row(one, job.units) for one in built if one.of == owner)
    where = [one for one in _where(job, owner, orders) if isinstance(one, Words)]
    is_known = owner in (*job.names["trains"], *job.names["cylinders"])
    form = _form(job, owner, order, found.facts) if is_known else None
    return Seen(
        form,
        found.why,
        tuple(one.words for one in where if one.under < DEEPER),
        tuple(one.words for one in where if one.under == DEEPER),
        rows,
        tuple(told for of, told in moved if of == owner),
        not is_now,
        not is_now and not built,
        failed,
        of_owner,
        others,
    )


def _row(row: Compared, units: str) -> Row:
    _, plan, built, differs = (shown(one) for one in cells(row, units, ""))
    plan_doubt, built_doubt = ("" if one is None else shown(one) for one in doubts(row, units))
    unit = unit_of(row.what, units)
    measured = [f"{one} {unit}".strip() if one else "" for one in (plan, built, differs)]
    return Row(
        f"{row.what}{as_read(row.what, row.convention)}",
        measured[0],
        plan_doubt,
        measured[1],
        built_doubt,
        measured[2],
        word_of(row),
        row.is_missed,
        row.fact is None,
        tuple(behind(row, units)),
    )


def _lines(facts: Sequence[Fact], owner: str) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Return the lines of an owner, and all others."""
    gone = {fact.withdraws for fact in facts}
    every = [
        (fact, Line(fact.number, told.words, fact.what != WITHDRAWN and fact.number not in gone))
        for fact, told in zip(facts, fact_words(facts), strict=True)
    ]
    return (
        tuple(line for fact, line in every if fact.of == owner),
        tuple(line for fact, line in every if fact.of != owner),
    )


def _where(job: Job, owner: str, orders: Sequence[Order]) -> list[Block]:
    """Return where the crank has to stand for an owner, and what to mind there."""
    cylinder = cylinder_of(owner, job)
    one = places(job).get(cylinder)
    there = [each for each in orders if each.train.name.rpartition(".")[0] == cylinder]
    is_filled = any(each.train.lifter.kind != "solid" for each in there)
    found: list[Block] = in_words(job)(station_blocks([one], is_filled, job.units)) if one is not None else []
    return found


def _form(job: Job, owner: str, order: Order | None, facts: Sequence[Fact]) -> Form:
    is_gear = owner in job.names["trains"]
    of = TRAIN if is_gear else CYLINDER
    kind = "" if order is None else order.train.lifter.kind or ""
    of_owner = [what for what, one in kinds().items() if one.of == of and what != SETTING_OF.get(kind, "")]
    planned = () if is_gear else _planned(job, owner)
    first = [what for what in of_owner if what in FIRST[of] or what in planned]
    things = {what: _thing(job, what) for what in of_owner}
    adjuster = None if order is None or order.train.adjuster is None else order.train.adjuster.kind
    counting = standing(facts)
    own_level = (TRAIN, CYLINDER, "") if is_gear else (CYLINDER, "")
    return Form(
        told=owner.replace(".", " "),
        first=tuple(things[what] for what in first),
        box=tuple(things[what] for what in of_owner if what in BY_NAME),
        more=tuple(things[what] for what in of_owner if what not in (*first, *BY_NAME)),
        lift=Thing("lift", LIFT.words, job.units, usually(LIFT)) if is_gear else None,
        read_as=READ_AS.words if READ_AS is not None else "",
        conventions=tuple((one, one) for one in CONVENTIONS_OF["pushrod"]) if is_gear else (),
        convention="" if order is None else order.convention,
        turned_from=tuple(FROM.items()) if is_gear else (),
        turned_to=tuple(tighter([adjuster])) if adjuster else (),
        common=tuple(COMMON.items()),
        visit=tuple(VISIT.items()),
        changes=tuple(
            (what, words.rstrip(",")) for what, (level, words) in CHANGES.items() if level in own_level
        ),
        known_by=tuple(dict.fromkeys(one.by for one in counting if one.by)),
        known_tools=tuple(dict.fromkeys(one.tool for one in counting if one.tool)),
    )


def _thing(job: Job, what: str) -> Thing:
    one = kinds()[what]
    return Thing(what, str(in_words(job)(one.words)), unit_of(what, job.units), usually(one.kind))
