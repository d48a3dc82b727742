"""Every table that a job names, read for its clearances: lobes and crowns."""

from __future__ import annotations

from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.piston.over_piston import TABLE

from ..job.faults import InputFaultsError
from ..job.job import JobFile
from .lobefile import doubtful_lobes, lobe_tables


def with_tables(job: JobFile) -> tuple[JobFile, Tables]:
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


def warned(job: JobFile) -> JobFile:
    """Return a job with what is to be looked at again in its tables, for an answer that rests on them.

    It is as it was where they cannot be used, which is told where they are needed.
    """
    if not any(path.endswith((".table", TABLE)) for path in job.entries):
        return job
    try:
        return with_tables(job)[0]
    except InputFaultsError:
        return job
