"""One job that lies open: what is entered in it, what is chosen, what is taken back, and what stood there before.

Everything goes through the document of the job, so that whoever else writes to the file loses nothing; nothing of it is
kept here but what can be taken back and what was worked out for the text that stands there.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.engine.before import BEFORE, ON
from tallstack.geometry.engine.defaults import PARTS
from tallstack.geometry.pushrod.ordering import Order

from ..commands.record import Said
from ..files import OutputRefusedError
from ..guide.answers import by_two_angles, raw_of
from ..guide.blank import meaning
from ..guide.layout import BESIDE, blanks, is_blank, lay_out
from ..guide.needs import path_of
from ..guide.questions import INSTEAD, KIND, Question, together
from ..guide.same import AS_THERE, SAME, same_as
from ..guide.tables_named import judged
from ..guide.words import typed as as_typed
from ..job.document import UNDONE_MOST, Change, ConflictError, ContradictedError, Disk, Document
from ..job.editing import Edited
from ..job.entries.catalogue import kind_at
from ..job.entries.fields import Choice, FileName, Kind, NameList, Several, YesNo
from ..job.faults import InputFaultsError, Loc
from ..job.job import Job
from ..job.reading.values import Blank, ValueFault
from ..page.wording import length
from ..record.recordfile import Fact, record_path
from ..record.remembered import record_of
from . import setting
from .fields import YES, Shown, entry_at, named, shown
from .places import cylinders, rows_of, trains
from .screens import Option, Way
from .setting import Lines, Written, Wrote, written

A_DIGIT = 5.0  # doubts of a length by which one entry moves it before it is asked about
FIXED: tuple[Loc, ...] = (("format",), ("written_for",), ("units",))  # what a file rests on
NOTHING_TYPED = "nothing typed; empty the field to leave it for later"


class Told(NamedTuple):
    """What became of something that was entered."""

    fault: str = ""  # why it was not taken; nothing: it was
    conflict: bool = False  # somebody else changed it meanwhile
    asks: str = ""  # whether it is a slip, where it moves an answer far
    former: str = ""  # what stood there then, as typed
    said: str = ""  # what else there is to say
    readings: bool = False  # whether it says which readings count as taken on what was entered


class Done(NamedTuple):
    """A change of the file, to be taken back."""

    told: str


class Gone(NamedTuple):
    """Lines of the record that were withdrawn with a reason, to be written down again."""

    facts: tuple[Fact, ...]
    told: str
    of: Lines | None  # with which they were written down


class OpenJob:
    """A job that lies open.

    A file that cannot be read now is kept as what is wrong with it; nothing is written then.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.broken = ""  # why the file cannot be read as it stands, in the reader's words
        self.document: Document | None = None
        self.backward: list[Done | Lines | Gone] = []  # what can be taken back, the last one last
        self.seen: Shown | None = None
        self._seen_of = ""
        self._record: Written | None = None
        self._record_path = record_path(path)
        self.refresh()

    def refresh(self) -> bool:
        """Take over what the file holds now; say whether anything changed for a page."""
        before = self.broken, self.hash
        self._record = None
        try:
            self._refuse_gone()
            if self.document is None:
                self.document = Document(self.path, Disk(self.path))
            else:
                self.document.refresh()
            self.broken = ""
        except InputFaultsError as faults:
            self.broken = faults.report()
        except OutputRefusedError as refused:
            self.broken = str(refused)
        return (self.broken, self.hash) != before

    def _refuse_gone(self) -> None:
        """Let nothing be written anew where the file was taken away.

        Raises:
            OutputRefusedError: in words.
        """
        if not os.path.lexists(self.path):
            message = f"{self.path}: gone, moved or renamed; put it back, or open the other one"
            raise OutputRefusedError(message)

    @property
    def text(self) -> str:
        """The text as it was last read or written."""
        return "" if self.document is None else self.document.text

    @property
    def record(self) -> Written:
        """The record as it was last read, or as this page left it."""
        job = self.job
        if job is not None:
            self._record_path = record_of(job)
        if self._record is None or self._record.path != self._record_path:
            self._record = written(self._record_path)
        return self._record

    @property
    def hash(self) -> str:
        """Which text it is, and which record stands beside it."""
        return hash_of(self.text, self.record.content)

    @property
    def version(self) -> str:
        """What pages show of it: which text and record, and why the file does not hold that any more where it does not."""
        return self.hash + (hash_of(self.broken, b"") if self.broken else "")

    @property
    def shown(self) -> Shown | None:
        """What its fields are made from, None where nothing of it can be read."""
        if self.document is None:
            return None
        if self.seen is None or self._seen_of != self.document.text:
            self.seen, self._seen_of = shown(self.document), self.document.text
        return self.seen

    @property
    def job(self) -> Job | None:
        """The job as it is understood, None where something is wrong with it."""
        found = self.shown
        return None if found is None else found.job

    def orders(self) -> tuple[Order, ...]:
        """Return every pushrod, none where something is wrong with the job."""
        job = self.job
        if job is None:
            return ()
        try:
            return job.at_hand.orders
        except GeometryError:
            return ()

    def enter(self, loc: Loc, typed: str, was: object, begins: Sequence[Loc] = ()) -> Told:
        """Set one entry to what was typed; nothing typed leaves it open.

        was    : what stood there when it was typed, plain
        begins : entries that stand open as soon as it does; not again where another number is entered
        """
        kind = entry_at(loc)
        if self.document is None or kind is None:
            return Told(self.broken or "no such entry")
        rows = (loc[: place + 1] for place, step in enumerate(loc) if isinstance(step, int))
        if any(self.document.get(row) is None for row in rows):
            return Told("no such row in the file")
        if not self._is_in_a_table(loc):
            return Told("no such entry; a point or a direction is entered whole")
        if loc in FIXED:
            return Told(f"{loc[0]} is not changed here, all of the file rests on it; change it in the file")
        before, stood = self.orders(), self.document.get(loc)
        was = stood if _is_as(was, stood) else was
        try:
            self._put(loc, typed, was, kind, begins)
        except ConflictError as other:
            return Told(str(other), conflict=True)
        except (ContradictedError, ValueFault, OutputRefusedError) as refused:
            return Told(str(refused))
        except InputFaultsError as faults:
            self.broken = faults.report()
            return Told(
                f"not written, the file cannot be read as it stands: {faults.report().splitlines()[0]}"
            )
        if stood is None or is_blank(stood) or not kind.is_measured:
            return Told()
        said = self._read_on_it(loc)
        return Told(asks=self._digit(before), former=as_typed(stood), said=said, readings=bool(said))

    def _is_in_a_table(self, loc: Loc) -> bool:
        """Say whether what stands above a place, where anything does, is a table all the way."""
        assert self.document is not None
        above = (self.document.get(loc[:place]) for place, step in enumerate(loc) if isinstance(step, str))
        return isinstance(loc[-1], str) and all(one is None or isinstance(one, Mapping) for one in above)

    def _put(self, loc: Loc, typed: str, was: object, kind: Kind, begins: Sequence[Loc]) -> None:
        assert self.document is not None
        self._refuse_gone()
        document = self.document
        line = typed.strip()
        if not line:
            if document.get(loc) is not None:
                self._done(document.blank(loc, was))
            return
        same = same_as(loc, document.edited.plain) if line == SAME else None
        raw = self._raw(loc, line, kind) if same is None else same.value
        if not isinstance(raw, Mapping) or raw.keys() & {"read", "by"}:
            if isinstance(kind.parse(raw, self._units), Blank):
                raise ValueFault(NOTHING_TYPED)
        if isinstance(kind, FileName):
            self._refuse_table(loc, str(raw))

        stood = document.get(loc)
        is_first = stood is None or is_blank(stood)

        def put(edited: Edited) -> None:
            for other in (*begins, *together(loc, edited.plain, edited.remarks)) if is_first else ():
                if other != loc:
                    blanks(edited, other[:-1], (str(other[-1]),))
            for other in beside(loc, raw, edited.plain):
                edited.drop(other)
            edited.forget_beside(loc, AS_THERE)
            edited.put(loc, raw, meaning(loc, kind))
            if same is not None:
                edited.remark_beside(loc, f"{AS_THERE}{same.whose}")

        self._done(self._changed(document, put, {loc: was}))

    def _changed(
        self, document: Document, change: Callable[[Edited], None], was: Mapping[Loc, object]
    ) -> Change:
        """Change the document; what has to stand beside what was entered is begun, if only open.

        Raises:
            ContradictedError: where that does not mend it.
        """
        lacking: list[Loc] = []

        def whole(edited: Edited) -> None:
            change(edited)
            for one in lacking:
                blanks(edited, one[:-1], (str(one[-1]),))

        while True:
            try:
                return document.change(whole, was)[0]
            except ContradictedError as refused:
                new = [
                    one.loc for one in refused.faults if self._is_lacking(one.loc) and one.loc not in lacking
                ]
                if not new:
                    raise
                lacking += new

    def _is_lacking(self, loc: Loc) -> bool:
        """Say whether an entry could stand at a place where nothing does."""
        return (
            bool(loc)
            and kind_at(loc) is not None
            and self.document is not None
            and self.document.get(loc) is None
        )

    def _refuse_table(self, loc: Loc, name: str) -> None:
        """Refuse a table that cannot be used.

        Raises:
            ValueFault: in words.
        """
        job = self.job
        assert self.document is not None
        if job is None:
            return
        found = judged(name, path_of(loc, self.document.edited.plain), job)
        if found.faults:
            raise ValueFault(found.faults[0])

    def _raw(self, loc: Loc, line: str, kind: Kind) -> object:
        """Return what was typed as a job file would hold it."""
        if isinstance(kind, YesNo):
            return line == YES
        if isinstance(kind, (Several, NameList)):
            return [one for one in (part.strip() for part in line.split(",")) if one]
        return line if isinstance(kind, Choice) else by_two_angles(raw_of(line, kind), loc)

    @property
    def _units(self) -> str:
        assert self.document is not None
        return str(self.document.get(("units",)) or "in")

    def choose(self, way: Way, option: Option, place: Callable[[str], Loc | None]) -> Told:
        """Say something in another way: what the others hold goes out, what belongs to this one is begun blank.

        place : entry → its place
        """
        if self.document is None:
            return Told(self.broken)
        keep = {*option.entries, *option.writes}
        out = {
            loc
            for one in way.options
            for entry in (*one.entries, *one.writes)
            if entry not in keep and (loc := place(entry)) is not None
        }
        tables = {one.table for one in way.options if one.table and one is not option}
        out |= {loc for table in tables if (loc := place(table)) is not None}
        asked = Question(way.question, (place(way.table) or ()) if way.table else ())
        into = {loc: word for entry, word in option.writes.items() if (loc := place(entry)) is not None}
        blank = [loc for entry in option.entries if (loc := place(entry)) is not None]

        def change(edited: Edited) -> None:
            for loc in sorted(out, key=lambda one: (-len(one), tuple(map(str, one)))):
                _drop_whole(edited, loc)
            if way.question:
                lay_out(edited, asked, option.answer)
            for loc, word in into.items():
                for other in beside(loc, word, edited.plain):
                    edited.drop(other)
                _put_new(edited, loc, word)
            for loc in blank:
                if edited.get(loc) is None:
                    _put_new(edited, loc, "")

        try:
            self._refuse_gone()
            done = self._changed(self.document, change, {})
        except (ConflictError, ContradictedError, OutputRefusedError) as refused:
            return Told(str(refused))
        except InputFaultsError as faults:
            return Told(
                f"not written, the file cannot be read as it stands: {faults.report().splitlines()[0]}"
            )
        self._done(done, f"{way.asks} {option.told}")
        held = [
            f"{path_of(loc, done_plain)} = {as_typed(leaf.value)}"
            for loc, leaf, done_plain in self._gone(done)
        ]
        return Told(said=f"taken out, undo brings it back: {', '.join(held)}" if held else "")

    def _gone(self, done: Change) -> Iterator[tuple[Loc, Any, Mapping[str, Any]]]:
        """Yield what a change took out and was no blank."""
        plain = Edited(done.before).plain
        for loc, (before, after) in done.entries.items():
            if before is not None and after is None and not is_blank(before.value):
                yield loc, before, plain

    def undo(self) -> Told:
        """Take the last change of this run back."""
        if not self.backward or self.document is None:
            return Told("nothing was entered since the page was opened")
        last = self.backward[-1]
        if isinstance(last, Lines):
            return Told(self.withdraw(last))
        if isinstance(last, Gone):
            return Told(self._write_again(last))
        try:
            self._refuse_gone()
            self.document.undo()
        except (ConflictError, ContradictedError, OutputRefusedError) as refused:
            return Told(str(refused))
        except InputFaultsError as faults:
            return Told(faults.report().splitlines()[0])
        self.backward.pop()
        return Told()

    def write_down(self, given: Said) -> Wrote:
        """Write down in the record what was set."""
        job = self.job
        if job is None:
            return Wrote(faults={"": setting.NOT_WHILE_WRONG})
        wrote = setting.write(job, given)
        self._record = None
        if wrote.lines is not None:
            self.backward.append(wrote.lines)
        return wrote

    def withdraw(self, lines: Lines) -> str:
        """Take lines of the record back; return why it cannot be, or nothing.

        Those that somebody has withdrawn meanwhile are left as they are.
        """
        gone = {one.withdraws for one in written(self.record.path).facts}
        left = [one for one in lines.facts if one.number not in gone]
        why = self._withdraw(left, setting.BACK) if left else {}
        if not why:
            self._forget(lines.numbers)
        return "; ".join(why.values())

    def withdraw_line(self, number: int, note: str) -> Mapping[str, str]:
        """Take one line of the record back with the reason; return what is wrong with it, or nothing."""
        found = [one for one in self.record.facts if one.number == number]
        if not found:
            return {"": self.record.why or f"the record has no line {number}"}
        why = self._withdraw(found, note)
        if not why:
            of = next((one for one in self._lines() if number in one.numbers), None)
            self._forget((number,))
            self.backward.append(Gone(tuple(found), f"line {number} is written down again", of))
        return why

    def _lines(self) -> Iterator[Lines]:
        return (one for one in self.backward if isinstance(one, Lines))

    def _withdraw(self, facts: Sequence[Fact], note: str) -> Mapping[str, str]:
        job = self.job
        if job is None:
            return {"": setting.NOT_WHILE_WRONG}
        why = setting.withdraw(job, facts, note)
        self._record = None
        return why

    def _write_again(self, gone: Gone) -> str:
        """Write lines down again that were withdrawn; return why it cannot be, or nothing."""
        job = self.job
        if job is None:
            return setting.NOT_WHILE_WRONG
        stood = {one.number for one in self.record.facts}
        why = setting.again(job, gone.facts)
        self._record = None
        if why:
            return why
        new = tuple(one for one in self.record.facts if one.number not in stood)
        left = self.backward[:-1]
        if gone.of is not None and new:
            rest = next((one for one in self._lines() if {*one.numbers} & {*gone.of.numbers}), None)
            if rest is None:
                left.append(Lines(new))
            else:
                left[left.index(rest)] = Lines((*rest.facts, *new))
        self.backward = left
        return ""

    def _forget(self, numbers: Sequence[int]) -> None:
        """Leave lines out of what can be taken back."""
        kept: list[Done | Lines | Gone] = []
        for one in self.backward:
            if isinstance(one, Lines):
                facts = tuple(each for each in one.facts if each.number not in numbers)
                kept += [one._replace(facts=facts)] if facts else []
            else:
                kept.append(one)
        self.backward = kept

    @property
    def would_undo(self) -> str:
        """What taking back would do, in a few words; nothing where there is nothing to take back."""
        if not self.backward:
            return ""
        last = self.backward[-1]
        return last.told

    def _done(self, change: Change, chosen: str = "") -> None:
        """Keep a change to be taken back; chosen : what was chosen by it, in words."""
        if change.before == change.after or self.document is None:
            return
        told = [f"chosen: {chosen}"] if chosen else []
        for loc, (before, after) in () if chosen else change.entries.items():
            then = "not yet" if before is None or is_blank(before.value) else as_typed(before.value)
            if not told or (after is not None and not is_blank(after.value)):
                told.insert(0, f"{named(loc, self.document.edited.plain)} back to {then}")
        done = Done(told[0] if told else "a remark")
        self.backward = [*self.backward, done][-UNDONE_MOST:]

    def _counted_on(self, loc: Loc) -> list[tuple[Loc, str]]:
        """Return the rods and drops that count as read on a part of the stack: the place of each, and whose it is."""
        if self.document is None or "stack" not in loc[:3:2] or str(loc[-1]) not in PARTS:
            return []
        plain, cylinder = self.document.edited.plain, ""
        if loc[0] == "cylinder" and isinstance(loc[1], int):
            cylinder = cylinders(plain)[loc[1]]
        elif loc[0] != "stack":
            return []
        return [
            (("train", index, reading), f"{name.replace('.', ' ')}'s {told}")
            for index, (name, row) in enumerate(zip(trains(plain), rows_of(plain, "train"), strict=True))
            if cylinder in ("", name.partition(".")[0])
            for reading, told in (("measured_pushrod", "rod"), ("measured_drop", "drop"))
            if _is_read_now(row.get(reading))
        ]

    def _read_on_it(self, loc: Loc) -> str:
        """Return what counts as read on a stack that was entered otherwise, in a sentence; nothing of anything else."""
        found = [told for _, told in self._counted_on(loc)]
        return f"{', '.join(found)}: counted as read on the stack as it is entered now" if found else ""

    def read_on(self, loc: Loc, typed: str) -> Told:
        """Write beside everything that counts as read on a part of the stack which one it was read on.

        loc   : of the part, of the stack that will be built
        typed : the one that stood there
        """
        kind = entry_at(loc)
        if self.document is None or kind is None:
            return Told(self.broken or "no such entry")
        readings = [one for one, _ in self._counted_on(loc)]
        if not readings:
            return Told("nothing counts as read on it")

        def change(edited: Edited) -> None:
            for one in readings:
                there = (*one, "stack", loc[-1])
                edited.drop((*one, ON))
                edited.put(there, raw, meaning(there, kind))

        try:
            self._refuse_gone()
            raw = self._raw(loc, typed.strip(), kind)
            kind.parse(raw, self._units)
            done = self._changed(self.document, change, {})
        except (ConflictError, ContradictedError, ValueFault, OutputRefusedError) as refused:
            return Told(str(refused))
        except InputFaultsError as faults:
            return Told(
                f"not written, the file cannot be read as it stands: {faults.report().splitlines()[0]}"
            )
        self._done(done, f"read on {typed}")
        return Told(said=f"written beside {len(readings)} of them: read on {typed}")

    def _digit(self, before: tuple[Order, ...]) -> str:
        """Return whether one entry moved a length by more than it is doubted, as a question; nothing where it did not."""
        job = self.job
        was = {one.train.name: one.length for one in before}
        for order in self.orders():
            now, then = order.length, was.get(order.train.name)
            if now is None or then is None or job is None:
                continue
            moved, doubt = now.value - then.value, max(now.doubt or 0.0, then.doubt or 0.0)
            if doubt and abs(moved) > A_DIGIT * doubt:
                return (
                    f"this moved {order.train.name.replace('.', ' ')} by {length(moved, job.units)}, "
                    f"{abs(moved) / doubt:.0f} times its doubt: a digit?"
                )
        return ""


def _is_read_now(reading: object) -> bool:
    """Say whether a reading was made, and is not said to be of another stack than the one that will be built."""
    if not isinstance(reading, Mapping) or "stack" in reading or reading.get(ON) == BEFORE:
        return False
    return any(not is_blank(reading.get(one, "")) for one in ("length", "checking_rod", "drop"))


def _is_as(shown: object, stands: object) -> bool:
    """Say whether a page shows what stands there: its numbers do not tell 70 from 70.0."""
    if isinstance(shown, list) and isinstance(stands, list):
        return len(shown) == len(stands) and all(map(_is_as, shown, stands))
    numbers = [isinstance(one, (int, float)) and not isinstance(one, bool) for one in (shown, stands)]
    return shown == stands and (all(numbers) or type(shown) is type(stands))


def hash_of(text: str, record: bytes) -> str:
    """Return which text it is, beside which record."""
    found = hashlib.sha256(text.encode("utf-8", "surrogatepass"))
    found.update(b"\0" + record)
    return found.hexdigest()[:16]


def beside(loc: Loc, value: object, job: Mapping[str, Any]) -> tuple[Loc, ...]:
    """Return what does not go with an entry that is set: the same said in another way, or what belongs to another word.

    Where valve gears are copies of the one it is of, theirs too; job : the document as it stands
    """
    name = str(loc[-1])
    out: list[Loc] = [(*loc[:-1], one) for one in INSTEAD.get(name, ())]
    of_lifter = loc[-2:] == ("lifter", "kind")
    stem, what = (loc[:-2], KIND) if of_lifter else (loc[:-1], name)
    stems = [stem, *(("train", index) for index in copies_of(loc, job))] if of_lifter else [stem]
    return (*out, *((*each, *one.split(".")) for each in stems for one in BESIDE.get((what, str(value)), ())))


def copies_of(loc: Loc, job: Mapping[str, Any]) -> Iterator[int]:
    """Yield which rows are copies of the valve gear that an entry is of, or copies of those."""
    rows = rows_of(job, "train")
    names = trains(job)
    like = {names[loc[1]]} if loc[0] == "train" and isinstance(loc[1], int) and loc[1] < len(names) else set()
    for _ in rows:
        like |= {names[index] for index, row in enumerate(rows) if row.get("like") in like}
    yield from (index for index, row in enumerate(rows) if row.get("like") in like)


def _drop_whole(edited: Edited, loc: Loc) -> None:
    """Take an entry out, and tables that are empty without it."""
    edited.drop(loc)
    for count in range(len(loc) - 1, 2, -1):
        above = loc[:count]
        if isinstance(above[-1], str) and edited.get(above) is not None and not edited.get(above):
            edited.drop(above)


def _put_new(edited: Edited, loc: Loc, value: object) -> None:
    kind = kind_at(loc)
    edited.put(loc, value, meaning(loc, kind) if kind is not None else "")
