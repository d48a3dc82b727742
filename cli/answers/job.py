"""A job as a program asks it: its answers by name, other values tried, two compared, a drawing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from html import escape
from operator import attrgetter
from pathlib import Path
from typing import Any, Self

from tallstack.geometry.engine.before import STEM

from ..job import job as worked
from ..job.contradicted import in_a_word
from ..job.entries.fields import did_you_mean
from ..job.loading import load as read
from ..job.loading import understood
from ..page.answer import assumed_part, tried
from ..page.text import lines
from .compared import Changes, changes
from .gathered import GROUPS, answers
from .picture import Picture, picture
from .results import Missing, Result, Results


def load(path: str | Path, variations: str | Sequence[str] = ()) -> Job:
    """Return the job of a file, with other values tried in place of some of its own.

    variations : "entry=value" as after --with, one or several

    A faulty one raises JobError with every fault found.

    Raises:
        TypeError: for what is no path, or no texts.
    """
    if not isinstance(path, (str, Path)):
        message = f"path={path!r}: give the path of a job file as a text or a Path"
        raise TypeError(message)
    tried_ = (variations,) if isinstance(variations, str) else variations
    if not isinstance(tried_, Sequence) or not all(isinstance(one, str) for one in tried_):
        message = f'variations={variations!r}: give texts, "stack.cylinder=5.362 in"'
        raise TypeError(message)
    return _asked(read(Path(path), tried_))


def _asked(job: worked.Job) -> Job:
    return Job(**{one.name: getattr(job, one.name) for one in fields(job)})


def _again(path: Path, source: str, variations: Sequence[str]) -> Job:
    """Return a job that was pickled or copied."""
    return _asked(understood(path, source, variations))


@dataclass(frozen=True, eq=False, repr=False)
class Job(worked.Job):
    """One job, asked for what the commands answer. Lengths are mm, angles degrees, names those of `--json`.

    answers, find : its answers as `Result`, or as `Missing` with what they need
    with_         : the same job with other values tried;  compare : what that does to every pushrod
    record        : what was written down beside it, at assembly and at every visit
    draw          : a drawing;  mapping : every entry as a number in mm, rad or mm³, for `tallstack.build`

    `title`, `units`, `entries`, `blanks`, `assumed` and `warnings` say what its file holds by itself; `look_again()` says all that looks
    wrong, tables and readings beside the entries included, as the screens do. The other fields are its own.
    """

    def answers(self, group: str = "") -> Results:
        """Return its answers as results, with what is missing for the others: "pushrods", "clearance" or "fits"; else all.

        A group it does not know raises ValueError, a faulty table InputFaultsError, what is no text TypeError.
        """
        _check_text("group", group)
        known = self.settled._gathered
        for each in (group,) if group else GROUPS:
            if each not in known:
                known[each] = answers(self.settled if each == "pushrods" else self._fitted, each)
        return known[group] if group else Results(one for each in GROUPS for one in known[each])

    @cached_property
    def _fitted(self) -> Self:
        """The job as it is answered with the pushrods of its shelf in it."""
        from ..record.remembered import with_its_rods

        return with_its_rods(self.settled)

    @cached_property
    def _gathered(self) -> dict[str, Results]:
        return {}

    def look_again(self) -> tuple[str, ...]:
        """Return what looks wrong or unusual in the job, as every screen says it above its answer."""
        return tuple(map(str, self.settled.warnings))

    def find(self, answer: str, of: str = "") -> Result | Missing:
        """Return one answer, by its name in the commands' JSON without the unit, and of what it is.

        of : "front.intake", "front"; may be left out where one thing alone has such an answer

        What is no text raises TypeError.

        Raises:
            LookupError: where there is none, or more than one.
        """
        for name, given in (("answer", answer), ("of", of)):
            _check_text(name, given)
        every = self.answers()
        found = [one for one in every if one.answer == answer and of in ("", one.of)]
        if len(found) == 1:
            return found[0]
        there = list(dict.fromkeys(one.of for one in every if one.answer == answer))
        names = list(dict.fromkeys(one.answer for one in every))
        if there and of and of not in there:
            message = (
                f"{answer}: there is none of {of}{did_you_mean(of, there) or f'; it is of {_listed(there)}'}"
            )
        elif there:
            message = f"{answer}: say of what: {_listed(there)}"
        else:
            near = did_you_mean(answer, names)
            message = f"{answer}: no such answer{near or f'; there are {_listed(names)}'}"
        raise LookupError(message)

    def with_(self, changes: Mapping[str, object]) -> Job:
        """Return the job with other values tried in place of its own, as after --with.

        changes : entry → a number, a word, or a text with unit and ±

        What is no value there raises JobError.

        Raises:
            TypeError: for what is none anywhere.
        """
        if not isinstance(changes, Mapping):
            message = (
                f'give a mapping of entries, {{"stack.cylinder": "5.362 +/- 0.001 in"}}, not {changes!r}'
            )
            raise TypeError(message)
        for entry, value in changes.items():
            if isinstance(value, bool) or not isinstance(value, (str, float, int)):
                message = (
                    f"{entry}: {value!r} is no value; give a number or a text. For many engines at once vary the mapping: "
                    "tallstack.build(job.mapping.with_({entry: array}))"
                )
                raise TypeError(message)
        if isinstance(self.whole, Job):  # what stood before is varied where it is said
            was = self.whole.with_({f"{STEM}{entry}": value for entry, value in changes.items()}).before
            assert isinstance(was, Job)
            return was
        further = (f"{entry}={value}" for entry, value in changes.items())
        return _asked(understood(self.path, self.source, (*self.variations, *further)))

    def compare(self, before: Job | None = None) -> Changes:
        """Return what going to this job from another does to every pushrod, cause by cause.

        before : None takes what the job itself says of what stood before; ValueError where it says nothing of that

        Raises:
            TypeError: for what is no job.
        """
        if before is not None and not isinstance(before, worked.Job):
            message = f"{before!r} is no job; load it first"
            raise TypeError(message)
        return changes(before, self)

    def record(self) -> dict[str, Any]:
        """Return what was written down beside it: as built, at every visit, every line; as `record --json` says it.

        Each part is a list of mappings, empty where nothing is written down. A faulty record raises JobError.
        """
        from ..record.as_built import Plan, compared
        from ..record.document import document
        from ..record.recordfile import read as lines_of
        from ..record.remembered import record_of, shelf_of
        from ..record.visits import visits
        from ..tables.shelf import load_shelf

        path = record_of(self)
        facts = lines_of(path)
        shelf = shelf_of(self, None, facts).path
        plan = Plan(self, () if shelf is None else load_shelf(shelf, self.units))
        return document(path, (), compared(plan, facts), visits(plan, facts), facts)

    def draw(self, of: str = "", at: float = 0.0) -> Picture:
        """Return the drawing of a valve gear, a cylinder, or the "engine"; nothing: the first valve gear.

        at : of the engine, crank degrees from the first cylinder's overlap top centre

        What is not there, or cannot be drawn, raises ValueError, what is no text TypeError.
        """
        _check_text("of", of)
        return picture(self, of, at)

    def __str__(self) -> str:
        """Return its title and file, and what was tried that does not stand there."""
        return "\n".join((f"{self.title} ({self.path})", *tried(self)))

    def __repr__(self) -> str:
        """Return its title, its file and how much there is of it."""
        return f"<Job {self.title!r} from {str(self.path)!r}, {len(self.names['trains'])} valve gears>"

    def __reduce__(self) -> tuple[Callable[..., Any], tuple[Any, ...]]:
        """Return how it is pickled and copied: its text and what was tried in it; of what stood before, the job that says so."""
        if self.whole is not None:
            return attrgetter("before"), (self.whole,)
        return _again, (self.path, self.source, self.variations)

    def _repr_html_(self) -> str:
        said = "".join(f"<p>{escape(one)}</p>" for one in tried(self))
        again = "".join(f"<p>{escape(in_a_word(one))}</p>" for one in self.at_hand.warnings)
        assumed = "".join(
            f"<p>{escape(line)}</p>" for line in lines([assumed_part(self.assumed, self.units)])
        )
        shown = self.answers("pushrods")._repr_html_()
        return f"<h3>{escape(self.title)}</h3>{said}{again}{shown}{assumed}"


def _check_text(name: str, given: object) -> None:
    """Refuse what is no text.

    Raises:
        TypeError: naming the argument.
    """
    if not isinstance(given, str):
        message = f"{name}={given!r}: give a text"
        raise TypeError(message)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names)
