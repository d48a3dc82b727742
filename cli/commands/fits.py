"""`tallstack fits`: what a taller, longer-stroke stack breaks besides the valve gear."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from tallstack.geometry.core.answer import Missing
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.before import STEM
from tallstack.geometry.fits import (
    across,
    drop_on,
    ports,
)
from tallstack.geometry.fits.cut_tube import CutTube

from ..files import OutputRefusedError, ending, free, quoted, write
from ..job.earlier import earlier, which
from ..job.file import JobFile
from ..job.fits import Answered, Crossing, Fits
from ..job.job import Job
from ..page import band
from ..page.across_words import (
    across_rows,
    crossing_blocks,
    drop_rows,
    lowering_words,
    never_lowered,
    one_way,
    piston_rows,
    spigot_rows,
)
from ..page.answer import UNUSABLE, Answer, framed, labelled, status_of
from ..page.band import Band
from ..page.fits_words import (
    brief_table,
    half_asked,
    has_limit_untold,
    lacking_blocks,
    not_asked_blocks,
    part_blocks,
    row,
    titles_of,
    to_watch,
)
from ..page.model import Block, Break, Lines, Row
from ..page.ports_words import face_rows, facing_rows, port_blocks, spacer_words
from ..page.vocabulary import said as said_of
from ..record.remembered import with_its_rods

NAMED = 4  # of what is not measured
HAND = (
    "Each of these is computed from what was entered, and none of them says that the engine may be run. Before final "
    "assembly turn it by hand, slowly, twice, with every part in place, and look at each of these places with a "
    "feeler, clay or a lamp."
)


class Found(NamedTuple):
    """Every fit of a job, and how its ports moved against those of another."""

    fits: Fits
    moved: tuple[ports.Moved, ...] = ()
    facing: tuple[ports.Facing, ...] = ()
    ports_lack: tuple[Missing, ...] = ()

    @property
    def answers(self) -> tuple[Answered, ...]:
        """Those of the cylinders, then those of the valve gears."""
        return self.fits.answers

    @property
    def crossing(self) -> Crossing:
        """Those across the cylinders."""
        return self.fits.crossing


def answer(
    job: Job,
    before: Job | None = None,
    strict: bool = False,
    plot: Path | None = None,
    force: bool = False,
) -> Answer:
    """Return the fits of a job; before : the job to compare its ports with.

    Raises:
        OutputRefusedError: where a picture is asked for and there is nothing to lower.
    """
    sources = job.files if before is None else (*job.files, *before.files)
    if plot is not None:
        ending(plot)
        free(plot, force, sources)
    job = with_its_rods(job.at_hand)
    said, before = which(job, before), earlier(job, before)
    found = found_of(job, before)
    answered = told(job, found, before, strict, said)
    if answered.status == UNUSABLE:
        return answered
    if plot is not None:
        if not found.crossing.drop_on:
            message = f"{plot}: nothing to draw; lowering a cylinder needs both spigots, pistons and connecting rods"
            raise OutputRefusedError(message)
        from ..drawing.plots.drop import written

        drawn = written(job, _lowerings(job, found.crossing), found.crossing.room, ending(plot))
        write(plot, drawn, force, sources)
        beside = f"{plot}: the room while a cylinder is lowered, at every crank angle"
        return answered.and_then(Break(), Lines(beside))
    return answered


def found_of(job: Job, before: Job | None = None) -> Found:
    """Return the fits of a job; before : the job to compare its ports with."""
    if before is None:
        return Found(job.fits)
    moved, lacks = ports.moved(before.mapping, job.mapping, "" if before.whole is None else STEM)
    return Found(job.fits, tuple(moved), tuple(ports.facing(moved, job.mapping)), tuple(lacks))


def told(
    job: JobFile,
    found: Found,
    before: JobFile | None = None,
    strict: bool = False,
    said: Sequence[str] = (),
) -> Answer:
    """Return the fits of a job as an answer.

    job  : as its readings leave it
    said : which of two engines before it is compared with
    """
    answers = found.answers
    if not found.moved and all(isinstance(one.found, Missing) or not one.found for one in answers):
        blocks = [
            Lines(f"{job.path}: no fit can be worked out yet"),
            *lacking_blocks(answers)[1:],
            Lines(f"`tallstack check {quoted(job.path)}` says more"),
        ]
        return Answer(said_of(job)(blocks), {}, UNUSABLE)
    lacking = bool(never_lowered(found.crossing)) or has_limit_untold(job, answers)
    ended = status_of(job, judged(found), strict, lacking)
    return framed(
        "fits",
        job,
        lambda: _page(job, found, before),
        _document(job, found),
        ended,
        brief=_brief(job, found, before),
        told=_told(job, found),
        assumed=job.assumed,
        before=before,
        more=said,
        hand=(HAND,),
    )


def _lowerings(job: JobFile, found: Crossing) -> list[tuple[drop_on.DropOn, across.Mover, CutTube]]:
    """Return every lowering with the parts it is worked out from."""
    rows = []
    for one in found.drop_on:
        moving, stands = (
            across.mover(job.mapping, one.fitted, with_rod=True),
            across.spigot_of(job.mapping, one.lowered),
        )
        assert isinstance(moving, across.Mover)
        assert isinstance(stands, CutTube)
        rows.append((one, moving, stands))
    return rows


def judged(found: Found) -> list[Result]:
    """Return every figure that is told and misses a limit by itself."""
    return [one for one in found.fits.told if one.figure.alone]


def _brief(job: JobFile, found: Found, before: JobFile | None) -> list[Block]:
    """Return the answer for one screen."""
    return [*band.blocks(_band(job, found, before)), brief_table(job, judged(found))]


def _told(job: JobFile, found: Found) -> list[Row]:
    """Return what that screen says in a line each."""
    lacks = [one.group.title for one in found.answers if isinstance(one.found, Missing)]
    asks = f"`tallstack measure {quoted(job.path)} --for fits` asks for it"
    lacking = [f"{titles_of(lacks, NAMED)}; {asks}"] if lacks else []
    return [
        *labelled("LOWERING", lowering_words(job, found.crossing)),
        *labelled("SPACERS", spacer_words(job, found.facing)),
        *labelled("NOT MEASURED", lacking),
    ]


def _band(job: JobFile, found: Found, before: JobFile | None) -> Band:
    more = [*half_asked(job, found.answers), *to_watch(found.answers), *one_way(found.crossing)]
    return band.band(job, judged(found), never_lowered(found.crossing), more=more, before=before)


def _page(job: JobFile, found: Found, before: JobFile | None) -> list[Block]:
    answers = found.answers
    return [
        *band.blocks(_band(job, found, before)),
        *part_blocks(job, answers),
        *crossing_blocks(job, found.crossing),
        *port_blocks(job, found.moved, found.facing, found.ports_lack, before),
        *lacking_blocks(answers),
        *not_asked_blocks(job.mapping, found.fits),
    ]


def _document(job: JobFile, found: Found) -> dict[str, Any]:
    swept = [one.told["displacement"].value for one in found.answers if "displacement" in one.told]
    whole = sum(swept) if len(swept) == len(job.names["cylinders"]) else None
    return {
        "displacement_cc": whole,
        "cylinders": [{"cylinder": name, **row(found.fits.of(name))} for name in job.names["cylinders"]],
        "trains": [{"train": name, **row(found.fits.of(name))} for name in job.names["trains"]],
        "across": across_rows(found.crossing),
        "pistons": piston_rows(found.crossing),
        "spigots": spigot_rows(found.crossing),
        "drop_on": drop_rows(found.crossing),
        "faces": face_rows(found.moved),
        "facing": facing_rows(found.facing),
    }
