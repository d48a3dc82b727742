"""The valve gear of a pushrod engine from what can be measured on the bench.

    import tallstack as ts
    job = ts.load("twin.toml")                     # a job file; JobError carries every fault
    job.find("overall", "front.intake")            # a Result, or Missing with what it needs
    job.answers("clearance")                       # in the order of the screen; .rows() for a table
    taller = job.with_({"stack.cylinder": "5.362 +/- 0.001 in"})
    taller.compare(job)                            # cause by cause
    job.record()["visits"]                         # what moved since assembly
    job.draw("front.intake").svg                   # a notebook shows job, result and drawing as they are
    ts.build(job.mapping.with_({...}))             # arrays: one engine and a million through the same call

Nothing is loaded before it is asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tallstack.cli.answers.compared import Change, Changes
    from tallstack.cli.answers.flat import build
    from tallstack.cli.answers.job import Job, load
    from tallstack.cli.answers.picture import Picture
    from tallstack.cli.answers.results import Limit, Missing, Result, Results
    from tallstack.cli.job.faults import InputFaultsError as JobError
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.engine.engine import Engine
    from tallstack.geometry.pushrod.pushrods import Required, required

_ROOMS = {
    "Change": "cli.answers.compared",
    "Changes": "cli.answers.compared",
    "Engine": "geometry.engine.engine",
    "GeometryError": "geometry.core.errors",
    "Job": "cli.answers.job",
    "JobError": "cli.job.faults",
    "Limit": "cli.answers.results",
    "Missing": "cli.answers.results",
    "Picture": "cli.answers.picture",
    "Required": "geometry.pushrod.pushrods",
    "Result": "cli.answers.results",
    "Results": "cli.answers.results",
    "build": "cli.answers.flat",
    "load": "cli.answers.job",
    "required": "geometry.pushrod.pushrods",
}

__all__ = [
    "Change",
    "Changes",
    "Engine",
    "GeometryError",
    "Job",
    "JobError",
    "Limit",
    "Missing",
    "Picture",
    "Required",
    "Result",
    "Results",
    "build",
    "load",
    "required",
]


def __getattr__(name: str) -> Any:
    """Return one of the names above, its module loaded now.

    Raises:
        AttributeError: for any other.
    """
    room = _ROOMS.get(name)
    if room is None:
        message = f"module 'tallstack' has no attribute {name!r}"
        raise AttributeError(message)
    from importlib import import_module

    return getattr(import_module(f"tallstack.{room}"), "InputFaultsError" if name == "JobError" else name)


def __dir__() -> list[str]:
    """Return the names above."""
    return sorted(__all__)
