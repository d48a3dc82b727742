"""`tallstack record`: what was set and measured at assembly and at each visit, written down, beside what was planned."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tallstack.geometry.core.answer import CYLINDER, TRAIN

from ..job.entries.fields import Choice, Kind, Quantity, Text, did_you_mean
from ..job.faults import Fault, InputFaultsError
from ..job.file import JobFile
from ..job.job import Job
from ..job.reading.values import Blank, Dimension, Value, ValueFault, echo
from ..page import band
from ..page.answer import MISSED, OK, Answer, framed, labelled, warnings
from ..page.model import Row, Tag, under
from ..record import visit_words
from ..record.as_built import Compared, Plan, compared, misses
from ..record.document import document
from ..record.record_words import (
    brief_blocks,
    compared_blocks,
    fact_words,
    said,
    standing_out,
    still_open,
    unlikely,
    unsure,
)
from ..record.recordfile import NOW, Fact, append, read, standing
from ..record.recordkinds import (
    AT_LIFT,
    BY_NAME,
    CHANGED,
    CHANGES,
    CONVENTIONS_OF,
    DISTANCE,
    FOUND,
    KEPT,
    LEFT,
    LIFT,
    NOTE,
    SHELF,
    TEMPERATURE,
    WITHDRAWN,
    figures,
    kinds,
)
from ..record.remembered import Shelved, record_of, shelf_of, unread_record
from ..record.visits import visits

if TYPE_CHECKING:
    from tallstack.geometry.pushrod.shelf import Rod

OWN_OPTION = ("squish", "deck")  # of the figures
ONE_LINE = Text("text of one line")
NO_VALUE = "no value"
AT_WHICH = (  # in words, and with the option's name
    'at which visit? add how far it had run, for example "500 miles"',
    'at which visit? add how far it had run, --visit "500 miles"',
)


class Said(NamedTuple):
    """What was given to be written down, as it was typed."""

    of: str = ""
    values: Mapping[str, str] = {}  # kind of fact → value
    convention: str = ""  # of a pushrod's length
    turned_from: str = "zero lash"
    by: str = ""
    tool: str = ""
    note: str = ""
    when: str = ""
    withdraw: int = 0  # the number of a line, 0 for none
    figures: tuple[str, ...] = ()  # of the rest of the stack, as "NAME = VALUE"
    visit: str = ""  # how far the engine had run; empty: at assembly
    found: bool = False  # so it was found there
    left: bool = False  # so it was left there
    temperature: str = ""  # of the cold engine
    lift: str = ""  # the valve's, of a room in the rocker's box at full lift
    changed: str = ""  # at the visit

    @property
    def is_nothing(self) -> bool:
        """Whether the record is only to be shown."""
        told = (self.values, self.figures, self.note, self.withdraw, self.changed)
        return not any(told)

    @property
    def state(self) -> str:
        """How a thing stood at its visit."""
        return KEPT if self.found and self.left else FOUND if self.found else LEFT if self.left else ""


class Wrong(NamedTuple):
    """What is wrong with something that was given."""

    part: str  # of what was given: one of `Said`, or the kind of fact
    outside: str  # how it was given in the command line
    words: str
    in_command: str = ""  # the same with the names of options, where it names any

    @property
    def fault(self) -> Fault:
        """It as a fault of the command line."""
        return Fault((), "", self.in_command or self.words, outside=self.outside)


class Beside(NamedTuple):
    """What a job has beside it: its record, and the shelf that its pushrods are taken from."""

    record: Path
    before: tuple[Fact, ...]  # what the record holds
    shelf: Shelved
    rods: tuple[Rod, ...]


def beside(job: JobFile, shelf: Path | None = None) -> Beside:
    """Return what a job has beside it; shelf : named in place of its own.

    A faulty record or shelf raises InputFaultsError, another thing in the record's place OutputRefusedError.
    """
    path = record_of(job)
    before = read(path)
    taken = shelf_of(job, shelf, before)
    if taken.path is None:
        return Beside(path, before, taken, ())
    from ..tables.shelf import load_shelf

    return Beside(path, before, taken, load_shelf(taken.path, job.units))


def lines(
    job: JobFile, given: Said, there: Beside, names_shelf: bool = False
) -> tuple[tuple[Fact, ...], tuple[Wrong, ...]]:
    """Return the lines that what was given makes, and what is wrong with it: then nothing is to be written.

    names_shelf : the shelf was named with it, and goes over what the record says of one
    """
    wrong: list[Wrong] = []
    given = given._replace(values={**given.values, **_figures(given.figures, wrong)})
    if given.is_nothing:
        _idle(given, wrong)
        return (), tuple(wrong)
    added = tuple(_facts(job, given, there.before, wrong))
    is_new = names_shelf or not any(fact.what == SHELF for fact in standing(there.before))
    if there.shelf.path is not None and added and is_new:
        added = (*_of_shelf(job, there.shelf.path, there.before, added[0]), *added)
    return added, tuple(wrong)


def answer(job: Job, given: Said, shelf: Path | None = None, strict: bool = False) -> Answer:
    """Write down what was given, if anything, and return the plan against everything recorded.

    Raises:
        InputFaultsError: where something given cannot be used; nothing is written then.
    """
    there = beside(job, shelf)
    path, taken = there.record, there.shelf
    added, wrong = lines(job, given, there, names_shelf=shelf is not None)
    if wrong:
        raise InputFaultsError(job.path, [one.fault for one in wrong])
    warned = append(path, added) if added else ""
    facts = read(path)
    plan = Plan(job, there.rods)
    rows, seen = compared(plan, facts), visits(plan, facts)
    job = job.at_hand
    more_warned = (*shelf_of(job, shelf, facts).warned, *unread_record(job), *unlikely(facts))
    job = job.saying(*taken.told)._replace(warnings=(*job.warnings, *more_warned))
    ended = MISSED if misses(rows, strict) or visit_words.misses(seen, strict) else OK
    more = (_from_record(path, added, facts), *([warned] if warned else []))
    found = band.Band(
        (*visit_words.stopping(seen, job.units), *standing_out(rows), *band.again(warnings(job))),
        (*band.unusual(warnings(job)), *unsure(rows), *visit_words.watching(seen)),
    )
    page = [
        *band.blocks(found),
        *compared_blocks(rows, job.units),
        *visit_words.visit_blocks(seen, job.units),
        *under("AS WRITTEN DOWN", fact_words(facts)),
    ]
    return framed(
        "record",
        job,
        page,
        document(path, added, rows, seen, facts),
        ended,
        brief=[
            *band.blocks(found),
            *brief_blocks(rows, job.units),
            *visit_words.visit_blocks(seen, job.units, is_full=False),
        ],
        told=_told(rows, facts),
        more=more,
        assumed=(),
        without=(Tag.ASSUMED,),
    )


def _told(rows: Sequence[Compared], facts: Sequence[Fact]) -> list[Row]:
    """Return what one screen says in a line each."""
    lines = "1 line is written down" if len(facts) == 1 else f"{len(facts)} lines are written down"
    return [
        *labelled("STILL OPEN", still_open(rows)),
        *labelled("WRITTEN DOWN", [f"{lines}; --full lists them"] if facts else []),
    ]


def _from_record(path: Path, added: tuple[Fact, ...], facts: tuple[Fact, ...]) -> str:
    if added:
        return f"written down in {path}: {'; '.join(said(fact) for fact in added)}"
    return f"and from {path}" if facts else f"nothing is written down yet; it would stand in {path}"


def _of_shelf(job: JobFile, shelf: Path, before: tuple[Fact, ...], signed: Fact) -> tuple[Fact, ...]:
    """Return the line that says which shelf the pushrods are taken from, where the record does not say so yet."""
    try:
        named = os.path.relpath(shelf.resolve(), job.path.parent.resolve()).replace(os.sep, "/")
    except ValueError:  # on another drive
        named = str(shelf.resolve())
    if any(fact.what == SHELF and fact.typed == named for fact in standing(before)):
        return ()
    own = signed._replace(what=SHELF, of="", convention="", typed=named, value=None, tool="", note="")
    return (own._replace(state="", distance="", temperature="", lift=""),)


def _figures(given: Sequence[str], wrong: list[Wrong]) -> dict[str, str]:
    """Return figures of the rest of the stack by their names, with what was typed of each."""
    found = {}
    for one in given:
        name, sign, typed = (part.strip() for part in one.partition("="))
        known = (*figures(), *BY_NAME)
        if name not in known:
            near = did_you_mean(name, known) or f"; there are {', '.join(known)}"
            wrong.append(Wrong("figures", f"--figure {echo(one)}", f"no such figure{near}"))
        elif not sign or not typed:
            wrong.append(Wrong("figures", f"--figure {echo(one)}", f'write "{name} = VALUE"'))
        else:
            found[name] = typed
    return found


def _idle(given: Said, wrong: list[Wrong]) -> None:
    """Note what was given beside nothing to write down."""
    for name in ("by", "tool", "when", "visit", "temperature", "lift"):
        text = getattr(given, name)
        if text:
            message = "nothing to write down with it; add what was set"
            wrong.append(Wrong(name, f"--{name} {echo(text)}", message))
    if given.of:
        message = "nothing to write down of it; add what was set"
        wrong.append(Wrong("of", given.of, message, f'{message}, for example --preload "0.040 in"'))


def _facts(job: JobFile, given: Said, before: tuple[Fact, ...], wrong: list[Wrong]) -> list[Fact]:
    """Return what was given as facts; what is wrong with it goes to the list of what is wrong."""
    when = _when(given.when, wrong)
    texts: list[str] = []
    for name, text in (("by", given.by), ("tool", given.tool), ("note", given.note)):
        try:
            found = ONE_LINE.parse(text, job.units)
        except ValueFault as fault:
            wrong.append(Wrong(name, f"--{name} {echo(text)}", str(fault)))
            found = ""
        texts.append(found if isinstance(found, str) else "")
    by, tool, note = texts
    distance, temperature, lift = _of_visit(job, given, wrong)
    signed = Fact(when, "", given.of, "", "", None, by, tool, note, 0, "", distance, temperature)
    _check_place(job, given, wrong)
    if given.withdraw:
        return _withdrawal(given, signed, before, wrong)
    changed = _changed(job, given, signed, wrong)
    if not given.values:
        return changed or [signed._replace(what=NOTE)]
    signed = signed._replace(state=given.state)
    if given.convention and "pushrod" not in given.values:
        message = "says how a pushrod's length was read; add "
        outside = f"--as {given.convention}"
        wrong.append(Wrong("convention", outside, f"{message}that length", f"{message}--pushrod"))
    facts = (
        [] if given.state != LEFT else changed
    )  # a thing is found, then something is changed, then it is left
    for what, typed in given.values.items():
        value = _value(job, what, typed, wrong)
        convention = _convention(job, given, what, wrong)
        if value is not None:
            read_at = lift if what in AT_LIFT else ""
            facts.append(
                signed._replace(
                    what=what, convention=convention, typed=value.typed, value=value, lift=read_at
                )
            )
    return facts if given.state == LEFT else [*facts, *changed]


def _of_visit(job: JobFile, given: Said, wrong: list[Wrong]) -> tuple[str, str, str]:
    """Return distance, temperature and lift with their units; what is wrong with how a visit is said goes to the list."""
    if given.values and given.visit and not given.state:
        outside = f"--visit {echo(given.visit)}"
        words = "say whether it was so found or left, or both"
        wrong.append(Wrong("found", outside, words, "say whether it was so --found or --left, or both"))
    state = "found" if given.found else "left"
    if given.state and not given.visit:
        wrong.append(Wrong("visit", f"--{state}", *AT_WHICH))
    elif given.state and not given.values:
        wrong.append(Wrong(state, f"--{state}", "nothing to write down with it; add a reading"))
    at_lift = [what for what in given.values if what in AT_LIFT]
    if at_lift and not given.lift:
        message = "add the valve's lift that it was read at"
        wrong.append(Wrong("lift", f"--figure {at_lift[0]}", message, f"{message}, --lift"))
    elif given.lift and not at_lift:
        message = f"belongs to {' or '.join(AT_LIFT)}"
        wrong.append(Wrong("lift", f"--lift {echo(given.lift)}", message))
    found = []
    for name, kind, typed in (
        ("visit", DISTANCE, given.visit),
        ("temperature", TEMPERATURE, given.temperature),
        ("lift", LIFT, given.lift),
    ):
        found.append(_typed(job, name, kind, typed, wrong) if typed else "")
    return found[0], found[1], found[2]


def _typed(job: JobFile, name: str, kind: Kind, typed: str, wrong: list[Wrong]) -> str:
    """Return what was typed, with its unit written out."""
    try:
        value = kind.parse(typed, job.units)
    except ValueFault as fault:
        wrong.append(Wrong(name, f"--{name} {echo(typed)}", str(fault)))
        return ""
    if not isinstance(value, Value):
        wrong.append(Wrong(name, f"--{name}", NO_VALUE, f"{NO_VALUE} after it"))
        return ""
    return _with_unit(job, value, kind)


def _changed(job: JobFile, given: Said, signed: Fact, wrong: list[Wrong]) -> list[Fact]:
    """Return the line that says what was changed at a visit, where it was said."""
    if not given.changed:
        return []
    outside = f"--changed {echo(given.changed)}"
    if given.changed not in CHANGES:
        near = did_you_mean(given.changed, CHANGES) or f"; there are {', '.join(CHANGES)}"
        wrong.append(Wrong("changed", outside, f"nothing that is changed{near}"))
        return []
    if not given.visit:
        wrong.append(Wrong("visit", outside, *AT_WHICH))
    level = CHANGES[given.changed][0]
    there = {TRAIN: job.names["trains"], CYLINDER: job.names["cylinders"]}.get(level, ())
    of = given.of
    if level == CYLINDER and of in job.names["trains"]:
        of = of.rpartition(".")[0]  # what is written down beside it is of one of its valves
    if level and of not in there:
        what = "a cylinder" if level == CYLINDER else "a valve gear"
        named = ", ".join(there)
        message = f"is of {what}; name one after the file: {named}"
        wrong.append(Wrong("changed", outside, f"is of {what}; there are {named}", message))
    own = signed._replace(what=CHANGED, of=of if level else "", typed=given.changed, tool="", temperature="")
    return [own]


def _value(job: JobFile, what: str, typed: str, wrong: list[Wrong]) -> Value | None:
    """Return a value with its unit written out."""
    kind = kinds()[what].kind
    outside = f"{option(what)} {echo(typed)}"
    try:
        value = kind.parse(typed, job.units)
    except ValueFault as fault:
        wrong.append(Wrong(what, outside, str(fault)))
        return None
    if isinstance(value, Blank) or not isinstance(value, Value):
        wrong.append(Wrong(what, option(what), NO_VALUE, f"{NO_VALUE} after it"))
        return None
    return replace(value, typed=_with_unit(job, value, kind))


def _with_unit(job: JobFile, value: Value, kind: Kind) -> str:
    """Return a value as it was typed, with its unit written out."""
    shown = value.typed.strip()
    if value.bare and isinstance(kind, Quantity):
        unit = {Dimension.LENGTH: job.units, Dimension.ANGLE: "deg"}.get(kind.dimension, "")
        number, bracket, sigma = shown.partition("(")
        shown = f"{number.strip()} {unit} {bracket}{sigma}".strip() if unit else shown
    return shown


def _convention(job: JobFile, given: Said, what: str, wrong: list[Wrong]) -> str:
    """Return the convention of a fact."""
    if what == "lash":
        entry = job.entries.get(f"{given.of}.lifter.lash_at")
        return "valve" if entry is None else str(entry.value)
    counted = ("turned_from", "--turned-from", given.turned_from)
    words = {"pushrod": ("convention", "--as", given.convention), "turns": counted, "flats": counted}
    if what not in words:
        return ""
    part, name, said_as = words[what]
    options = CONVENTIONS_OF[what]
    if not said_as:
        message, shown = "a length means nothing without its convention; add ", ", ".join(options)
        wrong.append(Wrong(part, option(what), f"{message}{shown}", f"{message}--as {shown}"))
        return ""
    try:
        Choice("", options).parse(said_as, job.units)
    except ValueFault as fault:
        one = Wrong(part, f"{name} {echo(said_as)}", str(fault))
        wrong += [] if one in wrong else [one]
    return said_as


def _check_place(job: JobFile, given: Said, wrong: list[Wrong]) -> None:
    """Note where a fact is of something else than was named."""
    trains, cylinders = job.names["trains"], job.names["cylinders"]
    if given.of and given.of not in (*trains, *cylinders):
        known = (*trains, *cylinders)
        near = did_you_mean(given.of, known) or f"; there are {', '.join(known) or 'none in this job'}"
        wrong.append(Wrong("of", given.of, f"no such valve gear or cylinder{near}"))
        return
    for what in given.values:
        wanted = kinds()[what].of
        there = cylinders if wanted == CYLINDER else trains
        if given.of in there:
            continue
        of = "a cylinder" if wanted == CYLINDER else "a valve gear"
        named = f"{given.of} is not one" if given.of else "none is named"
        shown = ", ".join(there) or ("none in this job" if wanted == TRAIN else "none")
        message = f"is of {of}, and {named}"
        in_command = f"{message}; name one after the file: {shown}"
        wrong.append(Wrong(what, option(what), f"{message}; there are {shown}", in_command))


def _withdrawal(given: Said, signed: Fact, before: tuple[Fact, ...], wrong: list[Wrong]) -> list[Fact]:
    """Return the line that withdraws another."""
    outside = f"--withdraw {given.withdraw}"
    if given.values or given.of or given.visit or given.changed:
        message = "stands alone, with the reason{}; write down what is right after it"
        wrong.append(Wrong("withdraw", outside, message.format(""), message.format(" in --note")))
    there = next((fact for fact in before if fact.number == given.withdraw), None)
    if there is None or there.what == WITHDRAWN:
        found = f"the record has {len(before)} lines" if there is None else "that line withdraws another"
        wrong.append(Wrong("withdraw", outside, f"no line to withdraw; {found}"))
    elif any(fact.withdraws == given.withdraw for fact in before):
        wrong.append(Wrong("withdraw", outside, "withdrawn already"))
    if not signed.note:
        message = "a line is withdrawn with the reason"
        wrong.append(Wrong("note", outside, message, f'{message}; add --note "..."'))
    if there is None:
        return []
    return [signed._replace(what=WITHDRAWN, of=there.of, convention=there.what, typed=str(there.number))]


def _when(typed: str, wrong: list[Wrong]) -> str:
    """Return the moment, by default now, with its offset."""
    if not typed:
        return _now().isoformat(timespec="seconds")
    try:
        moment = datetime.fromisoformat(typed)
        moment = moment if moment.tzinfo is not None else moment.astimezone()
    except (ValueError, OverflowError):
        message = f"no date of ISO 8601; write for example {NOW}"
        wrong.append(Wrong("when", f"--when {echo(typed)}", message))
        return typed
    return moment.isoformat(timespec="seconds")


def _now() -> datetime:
    try:
        return datetime.now().astimezone()
    except ValueError:  # TZ names an offset of a day or more, which no date can carry
        return datetime.now(UTC)


def option(what: str) -> str:
    """Return how a kind of fact is given in the command line."""
    if (what in figures() and what not in OWN_OPTION) or what in BY_NAME:
        return f'--figure "{what} = ..."'
    return f"--{what.replace(' ', '-')}"
