"""A question of a guided session in words, and what is said to an answer.

The question comes first, then how to measure it and what for, then the prompt, each on a line of its own, so that it
reads well aloud.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tallstack.geometry.piston.touch_entries import NONE_UP_TO

from ..job.contradicted import LOOK_AGAIN, UNUSUAL, is_wrong
from ..job.entries.catalogue import entries_of, meaning_at
from ..job.entries.fields import Choice, Kind, Parts, Quantity
from ..job.entries.wanted import WANTED
from ..job.faults import Loc
from ..job.file import JobFile
from ..job.reading.values import EXAMPLES
from ..page.text import paragraph
from ..page.wording import entry_value
from .blank import letter_at, usually
from .finding import Match
from .questions import Question
from .told import WORDS

PROMPT = "> "
FOUND_MOST = 12  # entries that are listed
ANSWERS = (
    "Answer as in a job file: 4.310, 4.310 +/- 0.001 in, 98.4 mm, 3 15/16 in, 30 thou. What stands after +/- is the "
    "most you could be wrong by.",
    "Enter alone: not yet; what it is for waits until then. > passes over the rest of this part. < goes back, as often as you "
    "like. ? tells more. /word looks any entry up. A full stop alone ends here, Ctrl-C stops at once; both keep what was entered.",
)


def opening_lines(path: str, resumed: bool) -> tuple[str, ...]:
    """Return what is said before the first question."""
    going_on = f"{path}: going on after the last answer; what was left blank before it comes at the end."
    first = going_on if resumed else f"{path}: a new job."
    return (paragraph(first), *(paragraph(one) for one in ANSWERS))


def question_lines(
    asked: Question, kind: Kind | None, present: str, drawn: Sequence[str] = ()
) -> tuple[str, ...]:
    """Return a question with its hints; present : what stands in the file for it;  drawn : from where it counts, and which way."""
    named = _named(asked.loc) if asked.loc and not asked.asks else ""
    if asked.alone and len(asked.loc) > 2 and isinstance(asked.loc[1], int):
        named = " ".join(str(one) for one in asked.loc[2:] if not isinstance(one, int)).replace("_", " ")
    before = ", ".join(one for one in (asked.whose, named) if one)
    asks = asked.asks or ("" if kind is None else f"{kind.words}?")
    lines = ["", paragraph(f"{before}: {asks}" if before else asks, 0, 2)]
    lines += [f"    {one}".rstrip() for one in drawn]
    how = asked.told.how or ("" if kind is None or not kind.is_measured else f"{kind.read_with}.")
    if how:
        lines.append(
            paragraph(f"How: {how[:1].upper()}{how[1:]}" if not asked.told.how else f"How: {how}", 2, 2)
        )
    usual = "" if kind is None else usually(kind)
    if usual:
        lines.append(paragraph(f"Usually: {usual}", 2, 2))
    if isinstance(kind, Choice):
        lines.append(paragraph(f"One of: {', '.join(kind.options)}", 2, 2))
    elif asked.options:
        said = [f"{one}: {WANTED[one]}" for one in asked.options if one in WANTED]
        lines += [paragraph(one, 4, 6) for one in said or _meant(asked)]
    if asked.told.used:
        lines.append(paragraph(f"For: {asked.told.used}", 2, 2))
    alone = asked.default or asked.told.without
    if alone and not present:
        lines.append(paragraph(f"Enter: {alone}", 2, 2))
    if present:
        lines.append(paragraph(f"Now: {present}; Enter keeps it, - empties it", 2, 2))
    return tuple(lines)


def _meant(asked: Question) -> list[str]:
    """Return the words that a question takes, entries with what they mean."""
    kinds = {one: meaning_at((*asked.loc, one)) if asked.loc else None for one in asked.options}
    if not any(kinds.values()):
        return [f"One of: {', '.join(asked.options)}"]
    return [f"{one}: {kind.words}" for one, kind in kinds.items() if kind is not None]


def found_lines(typed: str, found: Sequence[Match]) -> tuple[str, ...]:
    """Return the entries that were looked for, each with the number that brings it up."""
    if not found:
        return refused_lines(
            f'no entry has "{typed}" in its name or its meaning' if typed else "type / and a word"
        )
    lines = [
        paragraph(f"/{place} {one.path}: {one.words}", 2, 6)
        for place, one in enumerate(found[:FOUND_MOST], 1)
    ]
    more = len(found) - FOUND_MOST
    return (*lines, *((paragraph(f"and {more} more; add a word", 2, 2),) if more > 0 else ()))


def _named(loc: Loc) -> str:
    """Return what an entry is called beside the valve gear or lobe it belongs to; of a card what it is of, too."""
    within = loc[3:] if loc[0] == "lobe" and "card" in loc else loc[2:] if "dialled" in loc else loc[-1:]
    return " ".join(map(str, within)).replace("_", " ")


def help_lines(asked: Question, kind: Kind | None, same: bool) -> tuple[str, ...]:
    """Return more help with a question; same : "=" has something to take over."""
    lines = []
    if asked.loc:
        place = ".".join(str(part) for part in asked.loc if not isinstance(part, int))
        letter = letter_at(asked.loc)
        known = f"; {letter} in every drawing and list" if letter else ""
        lines.append(f"In the file: {place}{known}")
    if isinstance(kind, Quantity):
        lines.append(f"Write {EXAMPLES[kind.dimension]}; with its doubt behind it, as 4.935 +/- 0.002 in.")
        if kind.is_measured:
            lines.append('Read several times: ["4.935 in", "4.936 in", "4.9345 in"].')
    elif isinstance(kind, Parts) and kind.may_be_one:
        lines.append("Write for example 3 +/- 1; or two views, as [1.0, -1.5].")
    elif isinstance(kind, Parts) and "around" in entries_of(asked.loc):
        lines.append(f"Write two angles, around and up, as 90, -20; or a vector, as {kind.example}.")
    elif isinstance(kind, Parts):
        lines.append(f"Write for example {kind.example}, or the same without brackets.")
    elif isinstance(kind, Choice):
        lines.append(f"Write {' or '.join(kind.options)}; the first letters will do.")
        told = WORDS.get(asked.name) or WORDS.get(str(asked.loc[-1]) if asked.loc else "", {})
        lines += [f"{one}: {told[one]}" for one in kind.options if one in told]
    if asked.loc[-1:] == ("length",) and "measured_pushrod" in asked.loc:
        lines.append(
            'A checking rod by its turns: { closed = "11.000 in", turns = 4.25, threads_per_inch = 20 }'
        )
    if asked.loc[-1:] == ("plunger",):
        lines.append('Held down by a known amount: { down = "0.060 in" }')
    lines.append("= takes over what stands for the same port of another cylinder." if same else "")
    alone = f"the same as {asked.default}" if asked.default else "not yet, or keeps what stands there"
    lines.append(f"Enter alone: {alone}. < or back: the question before.")
    return tuple(paragraph(one, 2, 2) for one in lines if one)


def refused_lines(why: str) -> tuple[str, ...]:
    """Return why an answer was not taken."""
    return (paragraph(f"Not taken: {why}", 2, 2),)


def contradicted_lines(why: str) -> tuple[str, ...]:
    """Return why an answer was not taken that is sound by itself, and how to mend the other one."""
    mending = (
        "If what was entered before is the slip: < goes back to it. Enter alone leaves this one for later."
    )
    return (*refused_lines(why), paragraph(mending, 2, 2))


def taken_out_lines(found: Sequence[str]) -> tuple[str, ...]:
    """Return what does not go with an answer and was taken out for it."""
    told = f"Taken out, it does not go with that: {', '.join(found)}. < brings it back."
    return (paragraph(told, 2, 2),) if found else ()


def closing_lines(warnings: Sequence[str]) -> tuple[str, ...]:
    """Return what is said when nothing more is asked; warnings : what looks wrong still."""
    told = "That was the last question. Enter ends; < goes back to the one before."
    return ("", paragraph(told, 0, 2), *unlikely_lines(warnings))


def understood_lines(job: JobFile, loc: Loc) -> tuple[str, ...]:
    """Return how an answer was understood, in both units."""
    shown: list[str] = []
    for path, each in job.entries.items():
        if each.loc[: len(loc)] == loc and not each.follows:
            said = "at least " if path.endswith(f".{NONE_UP_TO}") else ""
            shown += [one for one in (f"{said}{entry_value(each, job.units)}", each.note) if one]
    return (paragraph(f"Understood: {'; '.join(shown)}", 2, 2),) if shown else ()


def together_lines(job: Mapping[str, Any]) -> tuple[str, ...]:
    """Return which pistons stand at top centre together, by which an order of firing is checked on the engine."""
    at: dict[float, list[str]] = {}
    for row in job["cylinder"]:
        at.setdefault(float(row["fires_at"]) % 360.0, []).append(str(row["name"]))
    pairs = [" with ".join(one) for one in at.values() if len(one) > 1]
    told = f"Then these stand at top centre together: {'; '.join(pairs)}. Look down the bores: is it so?"
    return (paragraph(told, 2, 2),) if pairs else ()


def held_lines(found: Sequence[str]) -> tuple[str, ...]:
    """Return what a table holds that was just named."""
    return tuple(paragraph(one, 2, 4) for one in found)


def unlikely_lines(found: Sequence[str]) -> tuple[str, ...]:
    """Return what cannot be so, and what is possible but unlikely."""
    words = ((LOOK_AGAIN if is_wrong(one) else UNUSUAL, one) for one in found)
    return tuple(paragraph(f"{word.capitalize()}: {one}", 2, 2) for word, one in words)


def typed(found: object) -> str:
    """Return what stands in the file, as a person would type it."""
    if isinstance(found, Mapping):
        return "{ " + ", ".join(f"{key} = {typed(value)}" for key, value in found.items()) + " }"
    return ", ".join(map(typed, found)) if isinstance(found, list) else str(found)


def whose(job: Mapping[str, Any], loc: Loc) -> str:
    """Return which valve gear, cylinder or table an entry belongs to."""
    if len(loc) > 2 and isinstance(loc[1], int):
        row = job[str(loc[0])][loc[1]]
        name = " ".join(str(row.get(key, "")) for key in ("cylinder", "port", "name")).strip()
        return " ".join([name, *map(str, loc[2:-1])]).replace("_", " ")
    return " ".join(map(str, loc[:-1])).replace("_", " ")
