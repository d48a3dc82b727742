"""How a job is begun at the page: a form in place of the first questions of a guided session, which answer it all the same.

Each of its fields is the answer to a question of the guide, which reads it and lays the file out; whatever the form does not ask
stays open.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from ..files import OutputRefusedError, write
from ..guide.guide import Guide
from ..guide.layout import READING_OF, is_blank
from ..guide.needs import OWN_TABLES
from ..guide.questions import (
    ALIKE,
    ALL,
    BENCH,
    BOTH,
    CHANGED,
    COUNT,
    DIFFER,
    FIND_OUT,
    FIRING,
    FULL,
    IN_LINE,
    KIND,
    LAYOUT,
    MIRRORED,
    NAME,
    NAMES_OF_ALL,
    NO,
    NONE,
    OTHERWISE,
    PORTS,
    ROUTE,
    TITLE,
    UNITS,
    YES,
)
from ..job.document import leaves
from ..job.editing import Edited
from ..job.entries.wanted import PUSHRODS, VALVES, WANTED
from ..job.reading.opened import text_of

FILE, LEANS = "file", "leans"
FILE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,59}")
READ_ON_IT = (
    *READING_OF,
    "bore_readings",
    "valves_touch",
    "measured_deck",
)  # tables of what was read on an engine


class NotBegunError(Exception):
    """A form that cannot be taken; faults : field → why."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        self.faults = dict(faults)
        super().__init__("; ".join(faults.values()))


class Asked(NamedTuple):
    """One field of the form."""

    key: str
    asks: str
    form: str  # "text", "choice", "words"
    default: str = ""
    options: tuple[tuple[str, str], ...] = ()  # word and what it means
    more: str = ""


def asked() -> tuple[Asked, ...]:
    """Return the fields of the form, each with what one tap takes."""
    words = tuple((one, told) for one, told in WANTED.items())
    return (
        Asked(FILE, "What is the job to be called? Its file gets this name.", "text", "job"),
        Asked(
            UNITS,
            "Units of numbers without a unit of their own",
            "choice",
            "in",
            (("in", "inches"), ("mm", "millimetres")),
        ),
        Asked(FIND_OUT, "What do you want to know of it?", "words", f"{PUSHRODS}, {VALVES}", words),
        Asked(
            ROUTE,
            "How are the valve gears measured?",
            "choice",
            BENCH,
            ((BENCH, "checking rod and dial"), (FULL, "coordinates")),
        ),
        Asked(COUNT, "How many cylinders?", "text", "2"),
        Asked(NAMES_OF_ALL, "What are they called? With commas; empty: as usual.", "text"),
        Asked(
            LEANS,
            "How far does each lean from upright? Degrees, with commas, forward positive; empty: not yet.",
            "text",
        ),
        Asked(
            PORTS,
            "Which valve gears?",
            "choice",
            BOTH,
            ((BOTH, "intake and exhaust"), ("intake", "intakes alone"), ("exhaust", "exhausts alone")),
        ),
        Asked(
            KIND, "Which lifters?", "choice", "hydraulic", (("hydraulic", "hydraulic"), ("solid", "solid"))
        ),
        Asked(
            ALIKE,
            "Are the other cylinders' valve gears built like the first one's?",
            "choice",
            ALL,
            ((ALL, "all alike"), (MIRRORED, "alike, turned round"), (NONE, "each entered by itself")),
        ),
        Asked(
            DIFFER,
            "What differs between the cylinders as they will be built? Nothing ticked: entered once for all.",
            "words",
            "",
            tuple((one, one) for one in OWN_TABLES),
        ),
        Asked(
            CHANGED,
            "Was the engine changed, and is it known what stood before?",
            "choice",
            NO,
            ((NO, "no"), (YES, "yes")),
        ),
    )


def begin(folder: Path, said: Mapping[str, str]) -> str:
    """Write a new job; return its name.

    said : field of the form → what was answered

    Raises:
        NotBegunError: where an answer cannot be taken, or the file cannot be written.
    """
    name = _free_name(folder, said.get(FILE, ""))
    path = folder / f"{name}.toml"
    _refuse_uneven(said)
    guide = Guide(path)
    while (question := guide.asked) is not None:
        key = question.name
        answer = _answer_to(key, question.key, said)
        if answer is None:
            break
        before = guide.asked
        told = guide.say(answer)
        if not told.taken or guide.asked is before:
            raise NotBegunError({_field(key, question.key): " ".join(" ".join(told.lines).split())})
    _write(path, guide.text)
    return name


def _refuse_uneven(said: Mapping[str, str]) -> None:
    """Refuse names or leans that are not as many as the cylinders.

    Raises:
        NotBegunError: in words.
    """
    count = said.get(COUNT, "").strip()
    for key, what in ((NAMES_OF_ALL, "name"), (LEANS, "lean")):
        given = len(_parts(said.get(key, "")))
        if given and count.isdigit() and given != int(count):
            raise NotBegunError(
                {
                    key: f"{given} {what}{'' if given == 1 else 's'} for {count} cylinders; one for each, or none"
                }
            )


def _field(key: str, of: str) -> str:
    """Return which field of the form a question belongs to."""
    if of.endswith(".lean"):
        return LEANS
    return NAMES_OF_ALL if key == NAME else key


def _answer_to(key: str, of: str, said: Mapping[str, str]) -> str | None:
    """Return what the form says to a question, None where it has no field for it."""
    if key == NAME:
        names = _parts(said.get(NAMES_OF_ALL, ""))
        place = int(of.rpartition(" ")[2])
        return names[place] if place < len(names) else ""
    if of.endswith(".lean"):
        leans = _parts(said.get(LEANS, ""))
        place = int(of.split(".")[1])
        return leans[place] if place < len(leans) else ""
    if key == LAYOUT:
        upright = {one.partition("+/-")[0].strip() for one in _parts(said.get(LEANS, ""))}
        return IN_LINE if upright == {"0"} else OTHERWISE
    if key == DIFFER:
        return said.get(DIFFER, "") or NONE
    if key == NAMES_OF_ALL:
        return said.get(NAMES_OF_ALL, "")
    return {TITLE: said.get(FILE, ""), FIRING: ""}.get(key, said.get(key))


def _parts(text: str) -> list[str]:
    return [one.strip() for one in text.split(",") if one.strip()]


def _free_name(folder: Path, typed: str) -> str:
    """Return the name of a new job.

    Raises:
        NotBegunError: where it is none, or taken.
    """
    name = typed.strip().removesuffix(".toml").strip()
    if not FILE_NAME.fullmatch(name):
        raise NotBegunError(
            {FILE: "letters, digits, blanks, - and _, the first a letter or a digit, 60 at most"}
        )
    taken = {path.name.lower() for path in folder.iterdir()}
    if f"{name}.toml".lower() in taken:
        raise NotBegunError({FILE: f"{name}.toml is there already; choose another name"})
    return name


def _write(path: Path, text: str) -> None:
    """Write the file.

    Raises:
        NotBegunError: where it cannot be.
    """
    try:
        write(path, text.encode())
    except OutputRefusedError as refused:
        raise NotBegunError({FILE: str(refused)}) from None


def copy(folder: Path, of: Path, typed: str) -> str:
    """Write a job as another one is, without what was read on that; return its name. What stands in its way raises NotBegunError."""
    name = _free_name(folder, typed)
    edited = Edited(text_of(of))
    for loc, value in leaves(edited.plain):
        if (
            any(step in READ_ON_IT for step in loc)
            and not is_blank(value)
            and isinstance(value, (str, int, float, list))
        ):
            edited.put(loc, "")
    if "title" in edited.plain:
        edited.put(("title",), name)
    if "record" in edited.plain:
        edited.drop(("record",))
    _write(folder / f"{name}.toml", edited.text)
    return name
