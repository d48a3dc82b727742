"""A job as a program asks it: its answers by name, other values tried, two compared, a drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from html import escape
from pathlib import Path

from ..job import job as worked
from ..job.loading import load as read
from ..job.loading import understood
from .compared import Changes, changes
from .gathered import GROUPS, answers
from .picture import Picture, picture
from .results import Missing, Result, Results


def load(path: str | Path, variations: Sequence[str] = ()) -> Job:
    """Return the job of a file, with other values tried in place of some of its own.

    variations : "entry=value", as after --with

    A faulty one raises JobError with every fault found.
    """
    return _asked(read(Path(path), variations))


def _asked(job: worked.Job) -> Job:
    return Job(**{one.name: getattr(job, one.name) for one in fields(job)})


@dataclass(frozen=True, eq=False)
class Job(worked.Job):
    """One job; lengths of its answers in mm, angles in degrees."""

    def answers(self, group: str = "") -> Results:
        """Return its answers as results, with what is missing for the others: "pushrods", "clearance" or "fits"; else all.

        A group it does not know raises ValueError, a faulty table InputFaultsError.
        """
        job = self.settled
        for each in (group,) if group else GROUPS:
            if each not in job._gathered:
                job._gathered[each] = answers(job, each)
        return (
            job._gathered[group] if group else Results(one for each in GROUPS for one in job._gathered[each])
        )

    @cached_property
    def _gathered(self) -> dict[str, Results]:
        return {}

    def find(self, answer: str, of: str = "") -> Result | Missing:
        """Return one answer, by its name in the commands' JSON without the unit, and of what it is.

        of : "front.intake", "front"; may be left out where one thing alone has such an answer

        Raises:
            LookupError: where there is none, or more than one.
        """
        every = self.answers()
        found = [one for one in every if one.answer == answer and of in ("", one.of)]
        if len(found) == 1:
            return found[0]
        there = dict.fromkeys(one.of for one in every if one.answer == answer)
        if there:
            message = f"{answer}: say of what: {', '.join(there)}"
        else:
            message = (
                f"{answer}: no such answer; there are {', '.join(dict.fromkeys(one.answer for one in every))}"
            )
        raise LookupError(message)

    def with_(self, changes: Mapping[str, object]) -> Job:
        """Return the job with other values tried in place of its own, as after --with.

        changes : entry → a number, a word, or a text with unit and ±
        """
        tried = (f"{entry}={value}" for entry, value in changes.items())
        return _asked(understood(self.path, self.source, (*self.variations, *tried)))

    def compare(self, before: Job) -> Changes:
        """Return what going to this job from another does to every pushrod, cause by cause."""
        return changes(before, self)

    def draw(self, of: str = "", at: float = 0.0) -> Picture:
        """Return the drawing of a valve gear, a cylinder, or the "engine"; nothing: the first valve gear.

        at : of the engine, crank degrees from the first cylinder's overlap top centre

        What is not there, or cannot be drawn, raises ValueError.
        """
        return picture(self, of, at)

    def __str__(self) -> str:
        """Return its title and file."""
        return f"{self.title} ({self.path})"

    def _repr_html_(self) -> str:
        again = "".join(f"<p>LOOK AGAIN: {escape(one)}</p>" for one in self.at_hand.warnings)
        shown = self.answers("pushrods")._repr_html_()
        return f"<h3>{escape(self.title)}</h3>{again}{shown}"
