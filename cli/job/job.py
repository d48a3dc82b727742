"""A job worked out: its tables, its readings and what they do to each other, and its answers, each once, kept by the job.

Every command asks one of these, so that nothing is worked out twice and no two pages rest on different numbers. What takes
time to load is loaded where it is first asked for.

`at_hand` goes on without a table that cannot be used, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Self

from .faults import InputFaultsError
from .file import JobFile

if TYPE_CHECKING:
    from tallstack.geometry.cam.cam import Tables
    from tallstack.geometry.clearance.clearances import Clearances
    from tallstack.geometry.pushrod.ordering import Order

    from .fits import Fits
    from .readings import Laid

TABLES = (".table", ".crown_table")  # the ends of entries that name one


@dataclass(frozen=True, eq=False)
class Job(JobFile):
    """One job, and what is worked out of it."""

    known_tables: Tables | None = None  # where they were read; its warnings hold what they tell
    known_laid: Laid[Self] | None = None  # how its readings lie beside its entries, where they are settled
    is_settled: bool = False  # what readings do to its entries is done

    @cached_property
    def tabled(self) -> Self:
        """The job with what is to be looked at again in its tables; a faulty one raises InputFaultsError."""
        if self.known_tables is not None:
            return self
        if not any(path.endswith(TABLES) for path in self.entries):
            from tallstack.geometry.cam.cam import Tables

            return self._replace(known_tables=Tables())
        from ..tables.jobtables import with_tables

        job, tables = with_tables(self)
        return job._replace(known_tables=tables)

    @property
    def before(self) -> Self | None:
        """What stood before, as a job of its own, or None where nothing is said of it; as its readings leave both."""
        was = super().before
        return None if was is None else was._replace(known_tables=None, known_laid=None, is_settled=False)

    @property
    def tables(self) -> Tables:
        """The tables that it names, read; a faulty one raises InputFaultsError."""
        tables = self.tabled.known_tables
        assert tables is not None
        return tables

    @cached_property
    def laid(self) -> Laid[Self]:
        """The job with its readings, laid beside its entries."""
        if self.known_laid is not None:
            return self.known_laid
        from .readings import laid

        return laid(self.tabled, self.tables)

    @cached_property
    def settled(self) -> Self:
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
    def at_hand(self) -> Self:
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

        doubted = self.quantities, self.doubts
        found = clearances(self.mapping, self.tables, *doubted)
        if "running.speed" in self.mapping or "targets.drop_at_speed" in self.mapping:
            from tallstack.geometry.fits.valves_at_speed import with_speed

            found = with_speed(self.mapping, found, *doubted, self.tables)
        return of_clearances(self, found)

    @cached_property
    def fits(self) -> Fits:
        """Every fit, those that something contradicts no longer called met."""
        from .fits import fits

        return fits(self, lambda: self.tables)
