"""Every table that a job names, read for its clearances: lobes and crowns."""

from __future__ import annotations

from typing import TypeVar

from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.piston.over_piston import TABLE

from ..job.file import JobFile
from .lobefile import doubtful_lobes, lobe_tables

J = TypeVar("J", bound=JobFile)


def with_tables(job: J) -> tuple[J, Tables]:
    """Return a job's tables, and the job with what is to be looked at again in them.

    A faulty table raises InputFaultsError.
    """
    tables = lobe_tables(job)
    readings = {name: one.readings for name, one in tables.items()}
    job = job._replace(warnings=(*job.warnings, *doubtful_lobes(job, tables)))
    if not any(path.endswith(TABLE) for path in job.entries):
        return job, Tables(readings)
    from .crownfile import crown_heights, doubtful, mirrored

    crowns = crown_heights(job)
    job, crowns = mirrored(job, crowns)
    return job._replace(warnings=(*job.warnings, *doubtful(job, crowns))), Tables(readings, crowns)
