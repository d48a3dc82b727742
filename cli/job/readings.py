"""The checks of a job laid beside its entries: the job as all of them together leave it."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

from .checks.words import in_both_units
from .file import JobFile
from .look_again import FAR_MM, LookAgain

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tallstack.geometry.cam.cam import Tables
    from tallstack.geometry.doubt.readings import Fused
    from tallstack.geometry.sure.bench_checks import Check


J = TypeVar("J", bound=JobFile)


class Laid(NamedTuple, Generic[J]):
    """A job with its checks."""

    job: J  # its entries moved, their doubts tied together
    checks: tuple[Check, ...]
    fused: Fused | None  # None: there is no check, or they cannot be used
    lacks: dict[str, tuple[str, ...]]  # check → entries that it needs to be foretold
    problem: str  # why they cannot be used, in words


def has_readings(job: JobFile) -> bool:
    """Say whether a job holds a reading besides its entries."""
    return any(path.startswith("reading.") for path in job.entries)


def measured_beside(job: JobFile) -> bool:
    """Say whether anything was measured of a valve gear that is known by coordinates too."""
    beside = (".measured_pushrod.", ".measured_drop.")
    return any(
        path.startswith(f"{name}.") and any(one in path for one in beside)
        for name in job.names["trains"]
        if f"{name}.rocker.shaft.x" in job.entries
        for path in job.entries
    )


def laid(job: J, tables: Tables) -> Laid[J]:
    """Return a job with its readings, and with what was measured beside coordinates, laid beside its entries.

    The entries move only where there is a reading: what was measured beside coordinates is told as a check in any
    case, and decides by itself what it is of.
    """
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.core.mapping import Flat
    from tallstack.geometry.doubt.readings import fused
    from tallstack.geometry.sure.bench_checks import by_shapes, checks, moves_of, rows, shape_doubts

    mapping, quantities, doubts = job.mapping, job.quantities, job.doubts
    found = checks(mapping, tables)
    if not found.checks:
        return Laid(job, (), None, found.lacks, "")
    known = {name: doubt for name, doubt in doubts.items() if name in quantities}
    shapes = shape_doubts(mapping, tables)
    quantities = {**quantities, **{name: {name: 1.0} for name in shapes}}
    known |= shapes

    def moved(shift: dict[str, float]) -> Flat:
        return job.moved(moves_of(quantities, shift)).mapping

    def brought_together(these: Sequence[Check]) -> Fused:
        each = fused(lambda shift: rows(these, moved(dict(shift)), tables, quantities, known), known)
        # No entry is to be looked at where the shape of a lobe is off.
        return each._replace(entries=tuple(one for one in each.entries if one.name not in shapes))

    try:
        told = brought_together(found.checks)
    except GeometryError as error:
        problem = str(error) or "where they would have the entries, not all of them can be worked out"
        warned = warned_of(job, f"the readings are not used: {problem}", found.checks)
        return Laid(warned if has_readings(job) else job, found.checks, None, found.lacks, problem)
    far = [one for one in told.checks if one.fixed and abs(one.excess) > FAR_MM]
    allowed = {}
    if far and shapes:
        allowed = {one.name: by_shapes(one) for one in rows(found.checks, mapping, tables, quantities, known)}
    job = _far_off(job, found.checks, told, allowed)
    if not has_readings(job) or told.tied is None:
        kept, each = list(found.checks), told
        while each.worst is not None:  # one that is worse hides no other
            name, off = each.worst.name, in_both_units(abs(each.worst.excess))
            stands_out = f"{DISAGREE}; {name} stands out, by {off}, and the answers rest on it"
            job = warned_of(job, stands_out, [one for one in kept if one.name == name])
            kept = [one for one in kept if one.name != name]
            try:
                each = brought_together(kept) if kept else each._replace(worst=None)
            except GeometryError:
                job = warned_of(job, f"{DISAGREE}; without {name} the others cannot be compared", kept)
                break
        return Laid(job, found.checks, told, found.lacks, "")
    if told.worst is None:
        after = job.moved(moves_of(quantities, told.shift))._replace(tied=told.tied)
        return Laid(after, found.checks, told, found.lacks, "")
    worst, left = told.worst.name, None
    kept = [one for one in found.checks if one.name != worst]
    if kept:
        with suppress(GeometryError):
            left = brought_together(kept)
    if left is None or left.worst is not None or left.tied is None:
        warned = warned_of(job, f"{DISAGREE}; none of the readings is used", found.checks)
        return Laid(warned, found.checks, told, found.lacks, "")
    after = job.moved(moves_of(quantities, left.shift))._replace(tied=left.tied)
    left_out = [one for one in found.checks if one.name == worst]
    called = ", ".join(f"{one.kind}, {one.of.replace('.', ' ')}" for one in left_out)
    warned = warned_of(after, f"{DISAGREE}; {worst} is left out ({called})", left_out)
    return Laid(warned, found.checks, told, found.lacks, "")


DISAGREE = "readings and entries disagree by more than their +/- allow, see the checks of `tallstack risk`"


def _far_off(job: J, checks: Sequence[Check], told: Fused, allowed: Mapping[str, float]) -> J:
    """Return a job that says which readings, compared for want of a +/-, stand too far off to be of this engine.

    allowed : check → mm that the shapes of cards' lobes may make of it
    """
    for check, judged in zip(checks, told.checks, strict=True):
        limit = FAR_MM + allowed.get(check.name, 0.0)
        if judged.fixed and check.kind != "chamber" and abs(judged.excess) > limit:
            off = in_both_units(abs(judged.excess))
            why = f"{judged.name}: what was read and what the other entries foretell differ by {off}: one of them is wrong"
            job = warned_of(job, why, [check])
    return job


def warned_of(job: J, why: str, checks: Sequence[Check]) -> J:
    """Return a job that says why checks contradict it, and of which valve gears and cylinders."""
    about = dict.fromkeys(one.of for one in checks)
    return job._replace(warnings=(*job.warnings, LookAgain(why, *about)))
