"""A job worked out: its tables, its readings and what they do to each other, and its answers, each once, kept by the job.

Every command asks one of these, so that nothing is worked out twice and no two pages rest on different numbers. What takes
time to load is loaded where it is first asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from .faults import InputFaultsError
from .file import JobFile

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tallstack.geometry.cam.cam import Tables
    from tallstack.geometry.clearance.clearances import Clearances
    from tallstack.geometry.pushrod.ordering import Order

    from ..answers.compared import Changes
    from ..answers.picture import Picture
    from ..answers.results import Missing, Result, Results
    from .fits import Fits
    from .readings import Laid


@dataclass(frozen=True, eq=False)
class Job(JobFile):
    """One job, and what is worked out of it."""

    known_tables: Tables | None = None  # where they were read; its warnings hold what they tell
    known_laid: Laid | None = None  # how its readings lie beside its entries, where they are settled
    is_settled: bool = False  # what readings do to its entries is done

    @cached_property
    def tabled(self) -> Job:
        """The job with what is to be looked at again in its tables; a faulty one raises InputFaultsError."""
        if self.known_tables is not None:
            return self
        from ..tables.jobtables import with_tables

        job, tables = with_tables(self)
        return job._replace(known_tables=tables)

    @property
    def tables(self) -> Tables:
        """The tables that it names, read; a faulty one raises InputFaultsError."""
        tables = self.tabled.known_tables
        assert tables is not None
        return tables

    @cached_property
    def laid(self) -> Laid:
        """The job with its readings, laid beside its entries."""
        if self.known_laid is not None:
            return self.known_laid
        from .readings import laid

        return laid(self.tabled, self.tables)

    @cached_property
    def settled(self) -> Job:
        """The job as its tables and readings leave it, with all that is to be looked at again in it.

        What was measured beside coordinates and contradicts them is told. A faulty table raises InputFaultsError.
        """
        if self.is_settled:
            return self
        from .readings import has_readings, measured_beside

        if has_readings(self) or measured_beside(self):
            return self.laid.job._replace(known_laid=self.laid, is_settled=True)
        return self.tabled._replace(is_settled=True)

    @cached_property
    def at_hand(self) -> Job:
        """The job settled, or as it was entered where a table cannot be used, which is told.

        For what rests on no table, or says itself what it lacks without one.
        """
        try:
            return self.settled
        except InputFaultsError as error:
            warnings = (*self.warnings, error.report().splitlines()[0])
            return self._replace(warnings=warnings, is_settled=True)

    @cached_property
    def orders(self) -> tuple[Order, ...]:
        """The pushrod of every valve gear, those that something contradicts no longer called met."""
        from tallstack.geometry.pushrod.ordering import orders

        from .contradicted import of_orders

        return of_orders(self, orders(self.mapping, self.quantities, self.doubts))

    @cached_property
    def clearances(self) -> Clearances:
        """Every clearance, those that something contradicts no longer called met."""
        from tallstack.geometry.clearance.clearances import clearances

        from .contradicted import of_clearances

        return of_clearances(self, clearances(self.mapping, self.tables, self.quantities, self.doubts))

    @cached_property
    def fits(self) -> Fits:
        """Every fit, those that something contradicts no longer called met."""
        from .fits import fits

        return fits(self)

    def answers(self, group: str = "") -> Results:
        """Return its answers as results, with what is missing for the others: "pushrods", "clearance" or "fits"; else all.

        A group it does not know raises ValueError, a faulty table InputFaultsError.
        """
        from ..answers.gathered import GROUPS, answers
        from ..answers.results import Results

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
        there = sorted({one.of for one in every if one.answer == answer})
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
        from .loading import understood

        tried = (f"{entry}={value}" for entry, value in changes.items())
        return understood(self.path, self.source, (*self.variations, *tried))

    def compare(self, before: Job) -> Changes:
        """Return what going to this job from another does to every pushrod, cause by cause."""
        from ..answers.compared import changes

        return changes(before, self)

    def draw(self, of: str = "", at: float = 0.0) -> Picture:
        """Return the drawing of a valve gear, a cylinder, or the "engine"; nothing: the first valve gear.

        at : of the engine, crank degrees from the first cylinder's overlap top centre

        What is not there, or cannot be drawn, raises ValueError.
        """
        from ..answers.picture import picture

        return picture(self, of, at)

    def __str__(self) -> str:
        """Return its title and file."""
        return f"{self.title} ({self.path})"

    def _repr_html_(self) -> str:
        from html import escape

        again = "".join(f"<p>LOOK AGAIN: {escape(one)}</p>" for one in self.at_hand.warnings)
        shown = self.answers("pushrods")._repr_html_()
        return f"<h3>{escape(self.title)}</h3>{again}{shown}"
