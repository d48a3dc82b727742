"""One entry as a field of a page: what it is called, what stands there, how that is understood, what is wrong with it.

Words, letters, tools and ranges are those of the entry's declaration; a screen adds none.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from tallstack.geometry.engine.before import BEFORE
from tomlkit.items import Float, Integer

from ..guide import words
from ..guide.blank import letter_at, usually
from ..guide.layout import is_blank
from ..guide.needs import path_of
from ..guide.questions import SAME_OFFERED
from ..guide.same import SAME, same_as
from ..guide.told import ENTRIES, WORDS, Told
from ..job.contents import Entry
from ..job.document import Document
from ..job.editing import Edited
from ..job.entries.catalogue import kind_at, meaning_at
from ..job.entries.fields import Choice, FileName, Kind, NameList, Parts, Quantity, Several, YesNo
from ..job.entries.tables import spaced
from ..job.faults import InputFaultsError, Loc
from ..job.file import JobFile
from ..job.job import Job
from ..job.loading import understood
from ..job.reading.values import UNITS, Dimension
from ..job.variations import raw_at
from ..page.vocabulary import said
from ..page.wording import assumed_value, entry_value
from .poses.lobe import WORDS as CARD_WORDS
from .screens import Only, Option, Part, Way

TYPED, RECKONED, ASSUMED, LACKING, FAULTY = "typed", "reckoned", "assumed", "lacking", "faulty"
STATES = {  # of a field or of its part of a drawing, in words
    TYPED: "entered",
    RECKONED: "taken over or worked out",
    ASSUMED: "taken as given, nobody entered it",
    LACKING: "not yet",
    FAULTY: "cannot be so",
}
YES, NO = "true", "false"
SAME_PARTS: Loc = (BEFORE, "same")  # which is not varied, and is entered all the same
SAY_LITTLE = (
    "at",
    "degrees",
    "x",
    "y",
    "z",
    "lean",
    "length",
    "lifter",
    "valve",
    "kind",
    "name",
    "diameter",
    "height",
)  # alone
PLAIN_MOST = 12  # letters of a value that a drawing shows
BARE = (Dimension.LENGTH, Dimension.ANGLE, Dimension.NUMBER)  # whose numbers may stand without a unit
UNITS_MOST = 3  # that are offered
LIKE = "like "  # how the origin of what was copied begins
DOUBT = re.compile(r"\+/-\s*[\d.]+\s*[a-z]*")


class Field(NamedTuple):
    """One entry of a page."""

    key: str  # of its place, unique in a page
    loc: Loc
    path: str  # as the job calls it
    letter: str
    called: str  # its own name in words
    whose: str
    words: str  # what it means
    form: str  # "text", "choice" of one word, "ticks" of some
    options: tuple[tuple[str, str], ...]  # words it takes, each with what it means
    value: str  # as typed
    was: str  # what stands in the file, JSON
    state: str
    understood: tuple[str, ...]
    fault: str
    look: tuple[str, ...]  # what looks wrong or unusual about it
    how: str
    used: str
    usual: str
    tool: str
    decimal: bool  # a number may be typed with a device's own keys
    unit: str  # the job's, of a bare number; nothing where it has none

    @property
    def shown(self) -> str:
        """What a drawing shows of it."""
        first = self.value or (self.understood[0].partition(" (")[0] if self.understood else "")
        plain = first.partition("+/-")[0].partition(" =")[0].strip()
        return plain if len(plain) <= PLAIN_MOST else f"{plain[: PLAIN_MOST - 1]}…"

    @property
    def stood(self) -> str:
        """What stands there without being typed; nothing where something was."""
        is_not = self.state in (RECKONED, ASSUMED) and not self.value and bool(self.understood)
        return self.understood[0].partition(" =")[0] if is_not else ""

    @property
    def origin(self) -> str:
        """Where what was not typed comes from, in a word or few."""
        told = self.understood[1] if self.state == RECKONED and len(self.understood) > 1 else ""
        return "assumed" if self.state == ASSUMED else told or "worked out" if self.state == RECKONED else ""

    @property
    def ticked(self) -> tuple[str, ...]:
        """The words that stand there."""
        return tuple(one.strip() for one in self.value.split(",") if one.strip())

    @property
    def stands(self) -> str:
        """How it stands, for a reader."""
        return STATES[self.state]


class Chosen(NamedTuple):
    """A choice between ways to say something, with the fields of the one that stands."""

    key: str
    way: Way
    whose: str
    option: Option
    state: (
        str  # the job says so, another valve gear does, it is taken for granted, or it is but offered first
    )
    origin: str  # whose it is where it is taken over, in words
    fields: tuple[Field, ...]


class Shown(NamedTuple):
    """What of a document its fields are made from; worked out once for a page."""

    document: Document
    job: (
        Job | None
    )  # as far as it goes without a table that cannot be used; None: something else is wrong with it
    plain: Mapping[str, Any]
    faults: Mapping[Loc, str]
    by_loc: Mapping[Loc, tuple[tuple[str, Entry], ...]]
    assumed: Mapping[str, tuple[str, str]]  # path → value and why
    warnings: tuple[str, ...] = ()


def shown(document: Document) -> Shown:
    """Return what fields are made from."""
    found = document.job()
    plain = document.edited.plain
    faults: dict[Loc, str] = {}
    if isinstance(found, InputFaultsError):
        faults = {one.loc: one.message for one in found.faults}
        without = _without_tables(document, faults)
        if without is None:
            return Shown(document, None, plain, faults, {}, {})
        found = without
    by_loc: dict[Loc, list[tuple[str, Entry]]] = {}
    for path, entry in found.entries.items():
        if not entry.follows:
            by_loc.setdefault(entry.loc, []).append((path, entry))
    was = [one._replace(entry=f"{BEFORE}.{one.entry}") for one in found.assumed_before]
    taken = {one.entry: (assumed_value(one, found.units), one.why) for one in (*found.assumed, *was)}
    kept = {loc: tuple(each) for loc, each in by_loc.items()}
    return Shown(document, found, plain, faults, kept, taken, tuple(map(str, found.warnings)))


def _without_tables(document: Document, faults: Mapping[Loc, str]) -> Job | None:
    """Return a job without the tables that cannot be used, where nothing else is wrong with it; else None."""
    if not all(isinstance(kind_at(loc) if loc else None, FileName) for loc in faults):
        return None
    edited = Edited(document.text)
    for loc in faults:
        edited.put(loc, "")
    try:
        return understood(document.path, edited.text)
    except InputFaultsError:
        return None


def key_of(loc: Loc) -> str:
    """Return the key of a place."""
    return "-".join(map(str, loc))


def whose(loc: Loc, job: Mapping[str, Any]) -> str:
    """Return whose an entry is, nothing of the engine's; job : the document as it stands."""
    if len(loc) > 2 and isinstance(loc[1], int) and raw_at(loc[:2], job) is not None:
        return words.whose(job, (*loc[:2], ""))
    return str(loc[1]) if loc[0] == "lobe" and len(loc) > 2 else ""


def named(loc: Loc, job: Mapping[str, Any]) -> str:
    """Return an entry as a person says it, whose it is first; job : the document as it stands."""
    kind, of = entry_at(loc), whose(loc, job)
    name = spaced(str(loc[-1])) if kind is None else _called(loc, kind)
    return f"{of}: {name}" if of else name


def entry_at(loc: Loc) -> Kind | None:
    """Return the meaning of what can be entered at a place, None where nothing can."""
    return meaning_at(loc) if loc == SAME_PARTS else kind_at(loc)


def field(of: Shown, loc: Loc, owner: str) -> Field | None:
    """Return an entry as a field, or None where no entry can stand."""
    kind = entry_at(loc)
    if kind is None:
        return None
    path = path_of(loc, of.plain)
    raw = raw_at(loc, of.plain)
    value = "" if raw is None or is_blank(raw) else _typed(of.document.edited.get(loc))
    fault = of.faults.get(loc, "")
    understood, state = _understood(of, loc, path, value)
    tables = _tables(of, value) if isinstance(kind, FileName) and not kind.is_made else ()
    own = ".".join(str(one) for one in _own(loc) if not isinstance(one, int))
    told = ENTRIES.get(own)
    tool = kind.read_with if kind.is_measured else ""
    found = Field(
        key_of(loc),
        loc,
        path,
        letter_at(loc),
        _called(loc, kind),
        owner,
        kind.words,
        "choice" if tables else _form(kind),
        tuple((one, "") for one in tables) or _options(kind, loc),
        value,
        json.dumps(raw if raw is None else _plain(raw)),
        FAULTY if fault else state,
        understood,
        fault,
        tuple(one for one in of.warnings if path in one.split()) if path else (),
        _how(told) if told else "",
        told.used if told else "",
        usually(kind),
        tool,
        isinstance(kind, (Quantity, Parts)),
        _unit(kind, of),
    )
    return found if of.job is None else _worded(of.job, found)


def _how(told: Told) -> str:
    """Return how an entry is measured, and what becomes of it where nobody does."""
    without = f"Without it: {told.without}." if told.without else ""
    return " ".join(one for one in (told.how, without) if one)


def _worded(job: JobFile, found: Field) -> Field:
    """Return a field in the words that an engine has; what was typed stays."""
    put = said(job)
    told = {name: put(getattr(found, name)) for name in ("called", "words", "how", "used", "usual", "tool")}
    return found._replace(**told)


def _plain(raw: object) -> Any:
    """Return what stands in a document as JSON has it; what it has no form for as it is written."""
    try:
        json.dumps(raw)
    except (TypeError, ValueError):
        return str(raw)
    return raw


def _own(loc: Loc) -> Loc:
    """Return a place without its owner."""
    if loc[:1] == (BEFORE,):
        return _own(loc[1:])
    if loc[0] in ("train", "cylinder") and len(loc) > 2 and isinstance(loc[1], int):
        return (
            loc[2:]
            if loc[0] == "train"
            else ("cylinder", *loc[2:])
            if loc[2] in ("valves_touch", "lean")
            else loc[2:]
        )
    return ("lobe", *loc[2:]) if loc[0] == "lobe" and len(loc) > 2 else loc


def _called(loc: Loc, kind: Kind) -> str:
    """Return what an entry is called: as its drawing or its legend says, a choice by what it means, else by its own name."""
    within = [str(one) for one in loc if not isinstance(one, int)]
    of_card = CARD_WORDS.get(".".join(within[-2:]), CARD_WORDS.get(within[-1])) if "card" in within else None
    if of_card or isinstance(kind, Choice) or kind.called:
        return of_card or kind.called or kind.words
    last, above = within[-1], within[-2] if len(within) > 1 else ""
    of_table = last in SAY_LITTLE and above not in ("", "train", "cylinder")
    return spaced(f"{above} {last}" if of_table else last)


def _typed(found: Any) -> str:
    """Return what stands in the file, as a person would type it."""
    if isinstance(found, bool):
        return YES if found else NO
    if isinstance(found, (Float, Integer)):
        return found.as_string()
    return words.typed(found)


def _form(kind: Kind) -> str:
    if isinstance(kind, (Several, NameList)):
        return "ticks"
    return "choice" if isinstance(kind, (Choice, YesNo)) else "text"


def _tables(of: Shown, value: str) -> tuple[str, ...]:
    """Return the tables that stand beside the job, and the one that it names."""
    there = (
        one.name for one in of.document.path.parent.glob("*.csv") if one.is_file() and not one.is_symlink()
    )
    found = sorted(one for one in there if not one.endswith(".record.csv"))
    return tuple(dict.fromkeys((*found, *([value] if value else []))))


def _options(kind: Kind, loc: Loc) -> tuple[tuple[str, str], ...]:
    if isinstance(kind, YesNo):
        return ((YES, "yes"), (NO, "no"))
    if isinstance(kind, NameList):
        return tuple((one, "") for one in SAME_OFFERED)
    if not isinstance(kind, Choice):
        return ()
    told = WORDS.get(str(loc[-1]), {})
    return tuple((one, told.get(one, "")) for one in kind.options)


def _unit(kind: Kind, of: Shown) -> str:
    if not isinstance(kind, (Quantity, Parts)):
        return ""
    if kind.dimension is Dimension.LENGTH:
        return str(of.plain.get("units", ""))
    return "deg" if kind.dimension is Dimension.ANGLE else ""


def _understood(of: Shown, loc: Loc, path: str, value: str) -> tuple[tuple[str, ...], str]:
    """Return how an entry is understood in the job as a whole, and whether it was typed, worked out or assumed."""
    if value:
        return (() if of.job is None else _of_entries(of.job, loc, of)), TYPED
    if of.job is None:
        return (), LACKING
    there = of.job.entries.get(path)
    if there is not None:
        source = there.source.replace(".", " ") if there.source else there.origin
        return (entry_value(there, of.job.units), f"as {source}" if source else ""), RECKONED
    if path in of.assumed:
        return of.assumed[path], ASSUMED
    return (), LACKING


def _of_entries(job: JobFile, loc: Loc, of: Shown) -> tuple[str, ...]:
    """Return the values that an entry came to, in both units, and what its doubt rests on."""
    found: list[str] = []
    for at, each in of.by_loc.items():
        if at[: len(loc)] == loc:
            for _, entry in each:
                found += [one for one in (entry_value(entry, job.units), entry.note) if one]
    return tuple(dict.fromkeys(found))


Place = Callable[[str], Loc | None]  # an entry of a part → where it stands


def asked_of(entries: Sequence[str | Way], part: Part, of: Shown, place: Place) -> Iterator[str | Way]:
    """Yield entries and ways of a part, those that are asked as the job stands."""
    for one in entries:
        name = one.key if isinstance(one, Way) else one
        rules = [rule for rule in part.only if name in rule.names]
        if all(_holds(rule, of, place) != rule.unless for rule in rules):
            yield one


def _holds(rule: Only, of: Shown, place: Place) -> bool:
    if rule.way is not None:
        return option_of(rule.way, of, place)[0].word == rule.word
    of_engine = rule.entry.startswith("/")
    loc = tuple(rule.entry.removeprefix("/").split(".")) if of_engine else place(rule.entry)
    return _says(of, loc, rule.word) if rule.word else _stands(of, loc)


def option_of(way: Way, of: Shown, loc: Place) -> tuple[Option, bool]:
    """Return which way a job goes, and whether it says so: the one whose words stand there, else whose entries do.

    loc : entry → its place
    """
    for one in way.options:
        if one.writes and all(_says(of, loc(entry), word) for entry, word in one.writes.items()):
            return one, True
    for one in way.options:
        if one.table and _stands(of, loc(one.table)):
            return one, True
        if one.remark and _is_remarked(of, loc(way.table) if way.table else (), one.remark):
            return one, True
    entered = {one.word: [_stands(of, loc(entry)) for entry in one.entries] for one in way.options}
    there = [one for one in way.options if any(entered[one.word])]
    whole = [one for one in there if all(entered[one.word])]
    found = next(iter((*whole, *there)), None)
    return (way.options[0], False) if found is None else (found, True)


def standing(way: Way, option: Option, of: Shown, loc: Place) -> tuple[str, str]:
    """Return how an option of a way came to stand, and of whom it is taken over, in words.

    loc : entry → its place
    """
    places = [place for entry in (*option.writes, *option.entries) if (place := loc(entry)) is not None]
    raw = [raw_at(one, of.plain) for one in places]
    table = loc(option.table) if option.table else None
    entered = any(one is not None and not is_blank(one) for one in raw)
    remarked = bool(option.remark) and _is_remarked(of, loc(way.table) if way.table else (), option.remark)
    if entered or remarked or (table is not None and raw_at(table, of.plain) is not None):
        return TYPED, ""
    copied = next((one for place in places if (one := _copied(of, place)) is not None), None)
    if copied is not None:
        return RECKONED, f"as {copied.origin.removeprefix(LIKE).replace('.', ' ')}"
    if all(one is None for one in raw):
        return LACKING, ""
    return (ASSUMED, "") if option is way.options[0] else (TYPED, "")  # what is laid out blank, or was chosen


def _is_remarked(of: Shown, table: Loc | None, remark: str) -> bool:
    """Say whether a remark stands in a table, or anywhere where it is of none."""
    edited = of.document.edited
    if not table:
        return table is not None and any(remark in one for one in edited.remarks)
    return edited.remarked(table, remark)


def _says(of: Shown, loc: Loc | None, word: str) -> bool:
    """Say whether a word stands at a place, or is taken over there."""
    if loc is None or raw_at(loc, of.plain) == word:
        return loc is not None
    copied = _copied(of, loc)
    return copied is not None and raw_at(loc, of.plain) is None and copied.value == word


def _stands(of: Shown, loc: Loc | None) -> bool:
    """Say whether something stands at a place, open or not, or is that of another valve gear."""
    if loc is None or raw_at(loc, of.plain) is not None:
        return loc is not None
    return _copied(of, loc) is not None


def _copied(of: Shown, loc: Loc) -> Entry | None:
    """Return what a valve gear that is a copy has of another one, None where it has nothing of it."""
    entry = None if of.job is None else of.job.entries.get(path_of(loc, of.plain))
    return entry if entry is not None and entry.origin.startswith(LIKE) else None


class Offer(NamedTuple):
    """What can be put into a field by a tap."""

    says: str
    typed: str = ""  # in place of what stands there, and taken at once
    more: str = ""  # behind it
    by: str = ""  # the instrument that it was read by


def offers_of(of: Shown, one: Field) -> tuple[Offer, ...]:
    """Return what can be put into a field by a tap: what stands for another owner, the last ± of such a reading, instruments."""
    kind = kind_at(one.loc)
    same = same_as(one.loc, of.plain)
    found = []
    if same is not None and not one.value and one.state != RECKONED:
        found.append(Offer(f"as at {same.whose}: {words.typed(same.value)}", typed=SAME))
    if not isinstance(kind, (Quantity, Parts)) or not kind.is_measured:
        return tuple(found)
    if isinstance(kind, Quantity) and kind.dimension not in BARE and not re.search("[a-z]", one.value):
        found += [Offer(unit, more=f" {unit}") for unit in list(UNITS[kind.dimension])[:UNITS_MOST]]
    if "+/-" not in one.value:
        found += [Offer(doubt, more=f" {doubt}") for doubt in _doubts(of, kind)]
    if "by" not in one.value and isinstance(kind, Quantity) and kind.dimension is Dimension.LENGTH:
        rows = of.plain.get("instrument", [])
        names = (
            (row.get("name") for row in rows if isinstance(row, Mapping)) if isinstance(rows, list) else ()
        )
        found += [Offer(f"by {name}", by=str(name)) for name in names if name]
    return tuple(found)


def _doubts(of: Shown, kind: Quantity | Parts) -> tuple[str, ...]:
    """Return the last ± that the job has of what is read with the same tool, as it was typed."""
    entries = () if of.job is None else of.job.entries.values()
    alike = (
        found[0]
        for entry in entries
        if entry.kind.read_with == kind.read_with
        and isinstance(entry.kind, (Quantity, Parts))
        and entry.kind.dimension is kind.dimension
        and (found := DOUBT.search(entry.typed)) is not None
    )
    return tuple(dict.fromkeys(reversed(list(alike))))[:1]
