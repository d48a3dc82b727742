"""A new job, asked for question by question: what is asked, what an answer does to the file, what is asked next.

Nothing here reads or prints: a line comes in, lines for a person go out, and what is answered stands in the document, so
that a session that was broken off goes on from it. Somebody else may write to it meanwhile.

What was asked and left open stands there blank, the route and "read on the stack above" as remarks, so that a
session goes on from a blank file too. An answer is taken when the job with it has no fault that it had not before.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from tallstack.geometry.engine.before import BEFORE, ON

from ..job.document import ConflictError, ContradictedError, Document, Kept, Store
from ..job.editing import Edited
from ..job.entries.catalogue import kind_at, owned, steps, table_at
from ..job.entries.fields import Choice, FileName
from ..job.entries.model import VERSIONS
from ..job.faults import Loc
from ..job.file import JobFile
from ..job.job import Job
from ..job.reading.values import Blank, ValueFault
from ..page.vocabulary import said
from . import words
from .answers import STRUCTURE, by_two_angles, holds, kind_of, raw_of, standing, word_of
from .blank import OPENING, WRITING, meaning
from .finding import Match, matches
from .layout import READING_OF, RefusedError, blank_places, blanks, is_blank, lay_out, left_out
from .needs import Known, path_of
from .pictures import picture, situation
from .questions import (
    AGAIN,
    COUNT,
    FIND_OUT,
    FIRING,
    FOLLOWER,
    INSTEAD,
    KIND,
    MEASURED,
    MORE,
    MORE_OUT,
    NAME,
    NAMES_OF_ALL,
    OTHER_STACK,
    READ_ALIKE,
    READ_BEFORE,
    READ_WITH,
    SAME_PARTS,
    SAME_STACK,
    TOUCH,
    UNITS,
    Question,
    questions,
    wanted_of,
)
from .same import AS_THERE, SAME, Same, same_as
from .tables_named import Judged, judged

BACK = ("<", "back")
END = "."
ONWARD = ">"
SEEK = "/"
EMPTY = ("-", '""', "''")
NO_VALUE = "no value between the quotes; - empties what stands there"


class Reply(NamedTuple):
    """What a line led to."""

    lines: tuple[str, ...]  # for a person
    taken: bool = False  # the next question is up


class Step(NamedTuple):
    """One question that was passed, and what the file held around it."""

    key: str
    name: str
    before: str = ""
    after: str = ""  # nothing: of another session
    took_out: bool = False  # something that did not go with the answer


READ_AGAIN = "a reading is taken at every valve gear: read this one too, or leave it for later"
KEPT = (
    OTHER_STACK,
    READ_BEFORE,
    SAME_PARTS,
    FIND_OUT,
    MORE_OUT,
    TOUCH,
)  # answers that stay when one goes back


def begun(units: str = "") -> str:
    """Return the text that a new job begins with."""
    edited = Edited(f'{OPENING}{WRITING}\nformat = 1\nwritten_for = "{VERSIONS[-1]}"\n')
    if units:
        blanks(edited, (), ("units",))
        edited.put(("units",), units)
    return edited.text


class Guide:
    """Where a session stands.

    store    : where the job is kept; else it is kept nowhere, and begins with `text`
    encoding : of the terminal, which may have lines to draw with
    """

    def __init__(
        self, path: Path, text: str = "", units: str = "", store: Store | None = None, encoding: str = ""
    ) -> None:
        self.path = path
        self.encoding = encoding  # of the terminal
        self.document = Document(path, store or Kept(text or None), begun(units))
        self.known = Known()
        self.passed: set[str] = set()
        self.later: set[str] = set()  # left blank before the last answer of another session
        self.steps: list[Step] = []
        self.ahead: list[Step] = []  # those that one went back over, the nearest last
        self.found: tuple[Match, ...] = ()  # what was looked for last
        self.asked: Question | None = None  # nothing: all was asked
        self.ended = False
        found = self.document.job()
        self.warned = set(found.warnings) if isinstance(found, JobFile) else set()
        if self.document.known is not None:
            if units and self.edited.get(("units",)) is None:
                self.document.change(lambda edited: edited.put(("units",), units))
            self.later = self._left_blank()
            self.steps = [Step(one.key, one.name) for one in self._questions() if self._is_answered(one)]
            self.passed = {one.key for one in self._questions() if one.name == MORE}
        self._next()

    @property
    def edited(self) -> Edited:
        """The document, entry by entry."""
        return self.document.edited

    @property
    def text(self) -> str:
        """What the file holds, or is to hold once something is answered."""
        return self.document.text

    @property
    def units(self) -> str:
        """Units of bare numbers, inches until they are known."""
        found = self.edited.get(("units",))
        return str(found) if found in ("mm", "in") else "in"

    def question(self) -> tuple[str, ...]:
        """Return the question that is up, for a person: first what is asked, then how and what for.

        Where nothing more is asked it tells all that looks wrong in the job.
        """
        if self.asked is None:
            job = self.document.job()
            return words.closing_lines(job.warnings if isinstance(job, JobFile) else ())
        drawn = self._picture(self.asked)
        stands = self._present(self.asked)
        if self.asked.name in STRUCTURE and self._is_answered(self.asked):
            stands = standing(self.edited, self.asked)
        job = self.document.job()
        asked = said(job)(self.asked) if isinstance(job, JobFile) else self.asked
        return words.question_lines(asked, kind_of(self.asked), stands, drawn)

    def _picture(self, asked: Question) -> tuple[str, ...]:
        """Return what shows from where an entry counts and which way, where it counts from somewhere."""
        if not asked.loc or asked.name in STRUCTURE:
            return ()
        path, job = path_of(asked.loc, self._job()), self.document.job()
        known = job.mapping if isinstance(job, JobFile) else {}
        own = path.removeprefix(f"{BEFORE}.")
        return picture(own, situation(known, owned(own)[0], self.encoding)) or ()

    def say(self, line: str) -> Reply:
        """Take one line of a person's."""
        line, asked = line.strip(), self.asked
        if line.startswith(SEEK):
            return self._seek(line[1:].strip())
        if asked is None and line.lower() in BACK:
            return self._back()
        if asked is None and line not in ("", END):
            return Reply(
                words.refused_lines(
                    "nothing is asked any more; Enter ends, < goes back, /word looks an entry up"
                )
            )
        if asked is None or line == END:
            self.ended = True
            return Reply((), True)
        if line == "?":
            return Reply(words.help_lines(asked, kind_of(asked), self._same(asked) is not None))
        if line.lower() in BACK:
            return self._back()
        if line == ONWARD:
            return self._pass_over(asked)
        if not line and asked.name in STRUCTURE and self._is_answered(asked):
            self._pass(Step(asked.key, asked.name, self.text, self.text))
            return Reply((), True)
        if not line.isprintable():
            return Reply(words.refused_lines("characters that no job file can hold; type it again"))
        was = {asked.loc: self.document.get(asked.loc)} if asked.loc and asked.name not in STRUCTURE else {}
        shown = self._present(asked)
        try:
            change, (told, out) = self.document.change(
                lambda edited: self._answer(asked, line or asked.default), was
            )
        except ConflictError as other:
            return Reply(words.refused_lines(str(other)))
        except ContradictedError as refused:
            return Reply(words.contradicted_lines(str(refused)))
        except (RefusedError, ValueFault) as refused:
            return Reply(words.refused_lines(str(refused)))
        if out or (shown and shown != self._present(asked)):
            self.known.forget()
        self._pass(Step(asked.key, asked.name, change.before, change.after, bool(out)))
        understood = self._how_understood(told) if told else ()
        if asked.name == FIRING and line:
            understood = words.together_lines(self._job())
        return Reply((*understood, *words.taken_out_lines(out), *self._look_again(asked)), True)

    def _pass(self, step: Step) -> None:
        """Go on behind a question."""
        self.passed.add(step.key)
        self._forward(step.key)
        self.steps.append(step)
        self._next()

    def _pass_over(self, asked: Question) -> Reply:
        """Leave the rest of a part for later: every question about the same table."""
        table = asked.loc[:-1] if asked.name not in STRUCTURE else asked.loc
        over = [one.key for one in self._questions() if one.loc[: len(table)] == table and table]
        self.passed |= {asked.key, *over}
        self.steps.append(Step(asked.key, asked.name, self.text, self.text))
        self._next()
        return Reply((), True)

    def _seek(self, typed: str) -> Reply:
        """Bring up the question of any entry, found by its words or its letter."""
        if typed.isdigit() and 0 < int(typed) <= len(self.found):
            self.found = (self.found[int(typed) - 1],)
        elif typed:
            self.found = matches(self._job(), typed)
        if len(self.found) != 1:
            return Reply(words.found_lines(typed, self.found))
        (one,) = self.found
        self.asked = next(
            (each for each in self._questions() if each.loc == one.loc and each.name not in STRUCTURE),
            Question(".".join(map(str, one.loc)), one.loc, whose=self._owner(one.loc), alone=True),
        )
        return Reply((), True)

    def _forward(self, key: str) -> None:
        """Count as passed again what one went back over and is answered, so that going back reaches it again."""
        answered = {one.key for one in self._questions() if self._is_answered(one)} if self.ahead else set()
        again = [one for one in reversed(self.ahead) if one.key != key and one.key in answered]
        self.steps += again
        self.passed |= {one.key for one in again}
        self.ahead = []

    def _next(self) -> None:
        """Bring the next question up: the first that is neither answered nor was passed, those left blank before last."""
        left = [one for one in self._questions() if one.key not in self.passed and not self._is_answered(one)]
        self.asked = min(left, key=lambda one: one.key in self.later, default=None)

    def _left_blank(self) -> set[str]:
        """Return the questions that were passed before the last one that the file answers."""
        open_ones, passed = list[str](), 0
        for one in self._questions():
            if self._is_answered(one):
                passed = len(open_ones)
            else:
                open_ones.append(one.key)
        return set(open_ones[:passed])

    def _back(self) -> Reply:
        """Bring the question before up again; entries stay, what the file holds is undone where nothing followed."""
        there = {one.key: one for one in self._questions()}
        while self.steps and self.steps[-1].key not in there and self._of_key(self.steps[-1].key) is None:
            self.steps.pop()
        if not self.steps:
            return Reply(words.refused_lines("nothing was asked before this"))
        step = self.steps.pop()
        self.ahead.append(step)
        self.asked = there.get(step.key) or self._of_key(step.key)
        if step.before != step.after == self.text and (
            (step.name in STRUCTURE and step.name not in KEPT) or step.took_out
        ):
            self.document.undo()
        self.known.forget()
        self.passed.discard(step.key)
        return Reply((), True)

    def _owner(self, loc: Loc) -> str:
        """Return whose an entry is: a valve gear, a cylinder, or the table of the engine that it stands in."""
        row = len(loc) > 2 and isinstance(loc[1], int)
        return words.whose(self._job(), (*loc[:2], "") if row else loc)

    def _of_key(self, key: str) -> Question | None:
        """Return the question of an entry that no answer lacks any more, by its key; None where it is of none."""
        loc = steps(key.split("."))
        if kind_at(loc) is None or self.edited.get(loc) is None:
            return None
        return Question(key, loc, whose=self._owner(loc), alone=True)

    def _questions(self) -> Iterator[Question]:
        """Yield every question, and at the end one for each blank of the file that is none of them."""
        job = self._job()
        known = set[Loc]()
        understood = self.document.job()
        wanted = wanted_of(job)
        needs = self.known.needs(understood, job, wanted) if isinstance(understood, Job) else ()
        for one in questions(job, self.edited.remarks, needs):
            known.add(one.loc)
            if one.name == KIND:
                known |= {("train", index, "lifter", "kind") for index in range(len(job["train"]))}
            yield one
        for loc in blank_places(job):
            if loc not in known and kind_at(loc) is not None:
                yield Question(".".join(map(str, loc)), loc, whose=words.whose(job, loc))

    def _job(self) -> Mapping[str, Any]:
        return self.edited.plain

    def _present(self, asked: Question) -> str:
        """Return what stands in the file for a question about an entry, as typed."""
        found = self.edited.get(asked.loc) if asked.loc and asked.name not in STRUCTURE else None
        return "" if found is None or is_blank(found) else words.typed(found)

    def _is_answered(self, asked: Question) -> bool:
        """Say whether the file holds the answer."""
        job = self._job()
        if asked.name in (NAME, NAMES_OF_ALL):
            return not any(
                step.key == COUNT and step.after for step in self.steps
            )  # else this session gave it
        if asked.name == READ_ALIKE:
            return self._is_read_alike(asked)
        if asked.name == OTHER_STACK:
            there = self.edited.get(asked.loc)
            return there is not None and (
                bool({"stack", ON} & {*there}) or self.edited.remarked(asked.loc, SAME_STACK)
            )
        if asked.name == READ_BEFORE:
            return self.edited.get((*asked.loc, ON)) is not None
        if asked.name == MEASURED:
            return "measured_pushrod" in self.edited.get(asked.loc)
        if asked.name == TOUCH:
            return any("valves_touch" in one for one in job["cylinder"])
        if asked.name in (READ_WITH, FOLLOWER):
            there = self.edited.get((*asked.loc, asked.name.replace(" ", "_")))
            return isinstance(there, Mapping) or bool(there)
        if asked.name == AGAIN:
            return isinstance(self.edited.get(asked.loc), list)
        if asked.name in STRUCTURE:
            return holds(job, asked.name, self.edited.remarks)
        found = self.edited.get(asked.loc)
        if found is not None and not is_blank(found):
            return True
        table = self.edited.get(asked.loc[:-1])
        return any(one in table for one in INSTEAD.get(str(asked.loc[-1]), ())) if table else False

    def _same(self, asked: Question) -> Same | None:
        """Return what "=" takes over and from where, or None.

        The stack that a rod or a drop was read on is the one of its own cylinder's other port.
        """
        if asked.name == OTHER_STACK:
            return same_as(asked.loc, self._job(), ("stack",), of_cylinder=True)
        return same_as(asked.loc, self._job()) if kind_of(asked) is not None and asked.loc else None

    def _is_read_alike(self, asked: Question) -> bool:
        """Say whether another valve gear of the port, which is a copy, has something beside its reading."""
        first, table = asked.loc[1], str(asked.loc[2])
        trains = self._job()["train"]
        return any(
            index != first
            and one.get("port") == trains[first].get("port")
            and "like" in one
            and any(
                name not in READING_OF[table] and not is_blank(value)
                for name, value in one.get(table, {}).items()
            )
            for index, one in enumerate(trains)
        )

    def _answer(self, asked: Question, line: str) -> tuple[Loc | None, tuple[str, ...]]:
        """Change the file by an answer; return which entry is to be told as understood, and what was taken out for it.

        Raises:
            RefusedError: where it cannot be taken.
        """
        if line in EMPTY and self._present(asked):
            self.edited.put(asked.loc, "")
            return None, ()
        kind = kind_of(asked)
        same = self._same(asked) if line == SAME else None
        if line == SAME and same is None:
            is_read = kind is not None and kind.is_measured
            message = READ_AGAIN if is_read else "nothing stands there for another cylinder or port"
            raise RefusedError(message)
        if same is not None and asked.name == OTHER_STACK:
            lay_out(self.edited, asked, "yes")
            for name, value in same.value.items():
                self.edited.put((*asked.loc, "stack", name), value)
            return (*asked.loc, "stack"), ()
        if same is not None:
            taken = self._entered(asked, same.value)
            if kind is not None and kind.is_measured:
                self.edited.remark_beside(asked.loc, f"{AS_THERE}{same.whose}")
            return taken
        if isinstance(kind, Choice) and not line.startswith("{"):
            line = word_of(kind, line)
        if asked.name in STRUCTURE:
            if isinstance(kind, Choice):
                kind.parse(line, self.units)
            lay_out(self.edited, asked, line)
            return None, left_out(self.edited, asked, line)
        if not line:
            self._blank_group(asked)
            return None, ()
        return self._entered(asked, raw_of(line, kind))

    def _entered(self, asked: Question, raw: object) -> tuple[Loc, tuple[str, ...]]:
        """Set an entry and return it, and what was taken out for it.

        Raises:
            RefusedError: where it is no value for it.
        """
        kind, loc = kind_of(asked), asked.loc
        assert kind is not None
        self._blank_group(asked)
        raw = by_two_angles(raw, loc)
        if isinstance(raw, Mapping) and not raw.keys() & {"read", "by"}:
            loc = self._table_for(loc, raw)
        elif isinstance(kind.parse(raw, self.units), Blank):
            raise RefusedError(NO_VALUE)
        if asked.key == UNITS and self.edited.get(loc) not in (None, raw) and "stack" in self._job():
            message = "numbers stand in the file already; change its units there"
            raise RefusedError(message)
        if asked.name == NAME:
            self._rename(asked, str(raw))
        if isinstance(kind, FileName):
            faults = self._judged(loc, str(raw)).faults
            if faults:
                raise RefusedError(faults[0])
        self.edited.forget_beside(loc, AS_THERE)
        self.edited.put(loc, raw, meaning(loc, kind))
        return loc, left_out(self.edited, asked, raw)

    def _judged(self, loc: Loc, name: str) -> Judged:
        """Return what a table holds that is named for an entry."""
        job = self.document.job()
        return judged(name, path_of(loc, self._job()), job) if isinstance(job, JobFile) else Judged()

    def _how_understood(self, loc: Loc) -> tuple[str, ...]:
        """Return how an answer was understood in the job as a whole; of a table that it names, what that holds."""
        job = self.document.job()
        lines = words.understood_lines(job, loc) if isinstance(job, JobFile) else ()
        if not isinstance(kind_at(loc), FileName):
            return lines
        found = self._judged(loc, str(self.document.get(loc)))
        return (*lines, *words.held_lines(found.told), *words.unlikely_lines(found.suspicious))

    def _look_again(self, asked: Question) -> tuple[str, ...]:
        """Return what is unlikely now: about the entry at once, about all that belongs together at its end."""
        job = self.document.job()
        if not isinstance(job, JobFile):
            return ()
        path = next(
            (path for path, one in job.entries.items() if one.loc and one.loc == asked.loc), "no entry"
        )
        ended = self.asked is None or self.asked.group != asked.group
        new = [one for one in job.warnings if one not in self.warned and (ended or path in one)]
        self.warned.update(new)
        return words.unlikely_lines(new)

    def _table_for(self, loc: Loc, raw: Mapping[str, object]) -> Loc:
        """Return where a table in braces goes: in place of a length it says how a checking rod stood.

        Raises:
            RefusedError: where no table can stand.
        """
        rod: Loc = (*loc[:-1], "checking_rod")
        if loc[-1] == "length" and table_at(rod) is not None:
            self.edited.drop(loc)
            return rod
        if table_at(loc) is None:
            message = "a table in braces where one value belongs"
            raise RefusedError(message)
        return loc

    def _blank_group(self, asked: Question) -> None:
        """Write the entries that belong together, blank where nothing stands yet."""
        if asked.alone:
            return
        for one in [one for one in self._questions() if one.group == asked.group and not one.alone]:
            if one.loc and one.name not in (*STRUCTURE, NAME, UNITS) and not self._is_answered(one):
                blanks(self.edited, one.loc[:-1], (str(one.loc[-1]),))

    def _rename(self, asked: Question, name: str) -> None:
        """Carry a cylinder's new name into its valve gears."""
        before = self.edited.get(asked.loc)
        for index, train in enumerate(self._job().get("train", [])):
            if train.get("cylinder") == before:
                self.edited.put(("train", index, "cylinder"), name)
