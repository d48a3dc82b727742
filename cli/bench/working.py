"""What takes time, worked out in a process beside the page: the newest text first, told for the text that it belongs to.

A process, not a thread: what computes cannot be interrupted, and has to be where somebody goes on typing. It looks for a
newer text between two stages; one that has been at a stage for long when a newer text comes is ended, and the one that
stands ready goes on. All of it is told as plain data, blocks and numbers.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from multiprocessing.context import SpawnProcess

    from ..job.faults import Loc
    from ..page.band import Band
    from ..page.model import Block, Row
    from ..record.as_built import Compared

PATIENCE_S = 0.4  # that a stage may have lasted when a newer text comes
REST_S = 0.7  # before the next one is made ready: the edit that is typed comes first
DRAWS = 1000
PAPER = "a4"
NICER = 5
CURVE_STEP, CURVE_LEAST_MM = 4.0, 0.02
ENDED = "the process that works it out was ended; the next entry asks for it again"
CLEARANCE, BUILT, WHOLE, MENDS, SHEET, FOLDER = "clearance", "built", "whole", "mends", "sheet", "folder"


class Asked(NamedTuple):
    """A text to be worked out, or a folder of which every job is."""

    path: Path
    text: str  # nothing: of a folder
    hash: str
    sheet: Path | None = None  # where the sheet of it is to be written, and nothing else


class Closest(NamedTuple):
    """One clearance."""

    of: str
    title: str
    shown: str  # with its unit
    doubt: str
    limit: str
    word: str
    at: str


class Lack(NamedTuple):
    """One reading to take."""

    entry: str  # its path
    loc: Loc | None  # where it is entered, None where it has no entry of its own
    words: str
    tool: str
    why: str  # what it is for
    stands_there: bool  # it was taken, and is to be taken again or said how sure it is
    is_left_blank: bool  # and nothing that is wanted waits for it


Curve = tuple[tuple[float, float], ...]  # crank degrees from overlap top centre, and mm


class Clearance(NamedTuple):
    """How close the valves come."""

    closest: tuple[Closest, ...]
    unknown: tuple[tuple[str, tuple[str, ...]], ...]  # whose is not known, and what it lacks
    curves: tuple[tuple[str, Curve], ...]  # lobe → its lift


class Built(NamedTuple):
    """What was written down of it."""

    rows: tuple[Compared, ...]  # plan against as built
    moved: tuple[tuple[str, str], ...]  # whose, and what visits found moved of it, in a sentence


class Whole(NamedTuple):
    """Where the whole job stands."""

    band: Band
    blocks: tuple[Block, ...]  # lengths, clearances and fits
    lacks: tuple[Lack, ...]  # in the order of `tallstack measure`


Mends = tuple[tuple[str, tuple["Row", ...]], ...]


class Told(NamedTuple):
    """What came of a stage."""

    path: Path
    hash: str
    stage: str
    found: Any  # a Clearance, a Built, a Whole, Mends, a State; a text: why it is not known
    last: bool = False


def stages(asked: Asked) -> Iterator[tuple[str, Any]]:
    """Yield what is worked out of a text, the quickest first."""
    from ..job.faults import InputFaultsError
    from ..job.loading import understood

    if not asked.text:
        from ..commands import folder

        yield from ((FOLDER, folder.state(path)) for path in folder.jobs(asked.path)[0])
        return
    try:
        job = understood(asked.path, asked.text)
    except InputFaultsError:
        return
    if asked.sheet is not None:
        yield SHEET, _sheet(job, asked.sheet)
        return
    for stage, find in ((CLEARANCE, _clearance), (BUILT, _built), (WHOLE, _whole), (MENDS, _mends)):
        yield stage, _tried(find, job)


def _tried(find: Callable[[Any], Any], job: Any) -> Any:
    """Return what is found of a job, or in words why it is not."""
    from tallstack.geometry.core.errors import GeometryError

    from ..files import OutputRefusedError
    from ..job.faults import InputFaultsError

    try:
        return find(job)
    except InputFaultsError as faults:
        return faults.report().splitlines()[0]
    except (GeometryError, OutputRefusedError) as error:
        return str(error)


def _clearance(job: Any) -> Clearance | None:
    from ..page.clearance_words import at_overlap, cells
    from ..page.closest_words import every, worst
    from ..page.wording import whose
    from ..record.remembered import with_its_rods

    job = with_its_rods(job.settled)
    found = job.clearances
    rows = []
    for one in sorted(every(found), key=worst):
        told = cells(one, job.units)
        rows.append(
            Closest(
                one.of,
                one.figure.title,
                told.both[0].shown() if told.both else "THEY MEET",
                told.doubt if isinstance(told.doubt, str) else told.doubt.shown(),
                f"{told.limit.shown()}, {whose(one.limit)}",
                told.stands,
                at_overlap(one.angle),
            )
        )
    unknown = tuple(
        (one.train, tuple(dict.fromkeys(entry for lacks in one.lacks.values() for entry in lacks)))
        for one in found.valves
        if one.piston is None
    )
    return Clearance(tuple(rows), unknown, tuple(_curves(job)))


def _curves(job: Any) -> Iterator[tuple[str, Curve]]:
    """Yield the lift of every lobe that is known."""
    import numpy as np
    from tallstack.geometry.cam.cam import Cam, CamLobe, lifted
    from tallstack.geometry.core.errors import GeometryError

    cam, degrees, seen = Cam(job.mapping, job.tables), np.arange(-360.0, 361.0, CURVE_STEP), set()
    for train in job.names["trains"]:
        try:
            lobe = cam.lobe_of(train)
        except GeometryError:
            continue
        if not isinstance(lobe, CamLobe) or lobe.name in seen:
            continue
        seen.add(lobe.name)
        lift = lifted(lobe, np.radians(degrees))
        up = np.flatnonzero(lift > CURVE_LEAST_MM)
        if up.size:
            shown = slice(max(int(up[0]) - 1, 0), int(up[-1]) + 2)
            yield lobe.name, tuple(zip(degrees[shown].tolist(), lift[shown].tolist(), strict=True))


def _lacks(job: Any, found: Any) -> Iterator[Lack]:
    """Yield what is still to be read, or to be read again."""
    import tomllib

    from ..commands.measure import USUAL
    from ..guide.measuring import LEFT_BLANK, STAND_THERE, to_measure
    from ..page.vocabulary import said

    document = tomllib.loads(job.source)
    for group in said(job)(to_measure(job, job.wanted or USUAL, found)):
        for one in group.asked:
            yield Lack(
                one.entry,
                _place(one.entry, document),
                one.words,
                one.tool,
                group.title,
                group.title in STAND_THERE,
                group.title == LEFT_BLANK,
            )


def _place(name: str, document: Mapping[str, Any]) -> Loc | None:
    """Return where a reading is entered, None where it has no entry of its own."""
    from ..guide.needs import places_of
    from ..job.entries.catalogue import kind_at

    found = places_of(name, document) if "," not in name else ()
    return found[0] if found and kind_at(found[0]) is not None else None


def _whole(job: Any) -> Whole:
    from ..sheet.stops import banded
    from ..sheet.work import work

    found = work(job, None, DRAWS, is_drawn=False, is_told=False)
    return Whole(
        banded(found),
        tuple(_stands(found)),
        tuple(_lacks(job, found.risk)),
    )


def _built(job: Any) -> Built:
    """Return the plan against what was built, and what visits found."""
    from ..commands.record import beside
    from ..record import visit_words
    from ..record.as_built import Plan, compared
    from ..record.visits import visits

    there = beside(job)
    plan = Plan(job, there.rods)
    found = visits(plan, there.before).rows
    moved = ((row.of, visit_words.said(row, job.units, option="")) for row in found if row.moved is not None)
    return Built(compared(plan, there.before), tuple(moved))


def _stands(found: Any) -> Iterator[Block]:
    """Yield where the whole job stands: what to order, what is closest, the rest of the stack."""
    from ..commands.fits import judged
    from ..page.closest_words import closest_blocks
    from ..page.fits_words import brief_table, lacking_blocks
    from ..page.order_words import order_table

    units = found.job.units
    if found.pushrods is not None:
        yield order_table(found.pushrods.orders, found.pushrods.chosen, units, reasons=True)
    if found.clear is not None:
        yield from closest_blocks("CLOSEST", units, found.clear, worst_first=True, is_full=True)
    if found.fits.fits.told:
        yield brief_table(found.job, judged(found.fits))
    yield from lacking_blocks(found.fits.answers)


def _mends(job: Any) -> Mends:
    """Return whose clearance is short, and what would mend it."""
    from ..commands.clearance import remedies_of
    from ..page.remedy_words import brief_rows
    from ..record.remembered import with_its_rods

    job = with_its_rods(job.settled)
    mended, walls = remedies_of(job, job.clearances)
    every = (*mended.items(), *walls.items())
    return tuple((of, tuple(brief_rows(job, each))) for of, each in every if each)


def _sheet(job: Any, out: Path) -> str:
    """Write the sheet of a job; return why it could not be, or nothing."""
    from ..commands import sheet
    from ..files import OutputRefusedError
    from ..job.faults import InputFaultsError

    try:
        sheet.answer(job, out, PAPER, None, None, force=True)
    except InputFaultsError as faults:
        return faults.report().splitlines()[0]
    except OutputRefusedError as refused:
        return str(refused)
    return ""


def work_beside(pipe: Connection) -> None:
    """Answer texts as long as somebody asks; runs in a process of its own."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever asks ends it
    if hasattr(os, "nice"):
        os.nice(NICER)
    _load()
    pipe.send(None)  # ready
    asked: Asked | None = None
    while True:
        try:
            asked = asked or pipe.recv()
            while pipe.poll():
                asked = pipe.recv()
            assert asked is not None
            current, asked = asked, None
            for stage, found in stages(current):
                pipe.send(Told(current.path, current.hash, stage, found))
                if pipe.poll():
                    break
            else:
                pipe.send(Told(current.path, current.hash, "", None, last=True))
        except (EOFError, OSError):
            return


def _load() -> None:
    """Load what the first text would wait for."""
    from ..commands import overview  # noqa: F401
    from ..sheet import stops, work  # noqa: F401


@dataclass
class Helper:
    """A process beside this one."""

    process: SpawnProcess
    pipe: Connection
    asked: Asked | None = None
    since: float = 0.0  # its stage has lasted


class Working:
    """The processes beside the page: one that works, one that stands ready.

    told : called with everything that is told, in a thread of its own
    """

    def __init__(self, told: Callable[[Told], None], clock: Callable[[], float] = time.monotonic) -> None:
        self._told = told
        self._clock = clock
        self._lock = threading.RLock()
        self._closed = False
        self._waiting: dict[tuple[Path, bool], Asked] = {}  # the newest last
        self._helper: Helper | None = None
        self._spare: Helper | None = None
        self._timer: threading.Timer | None = None

    def ask(self, asked: Asked) -> None:
        """Have a text worked out before everything else; what was at work of another one goes on after it."""
        with self._lock:
            sheet = self._waiting.get((asked.path, True))
            if sheet is not None and asked.sheet is None:
                self._waiting[asked.path, True] = asked._replace(sheet=sheet.sheet)
            self._wait(asked)
            self._go_on()

    def _wait(self, asked: Asked, first: bool = False) -> None:
        """Put a text among those that wait, as the newest, or behind all others."""
        key = asked.path, asked.sheet is not None
        others = {one: each for one, each in self._waiting.items() if one != key}
        self._waiting = {key: asked, **others} if first else {**others, key: asked}

    def _go_on(self) -> None:
        """Give the newest text to the process that works."""
        if self._closed or not self._waiting:
            return
        newest = next(reversed(self._waiting.values()))
        helper = self._helper
        if helper is not None and helper.asked is not None:
            kept = helper.asked
            if (kept.path, kept.sheet is None) != (newest.path, newest.sheet is None):
                again = kept if kept.path != newest.path else newest._replace(sheet=kept.sheet)
                self._wait(again, first=True)
            if self._clock() - helper.since > PATIENCE_S:
                self._end(helper)
                self._helper = helper = None
        if helper is None:
            self._helper = helper = self._spare or self._started()
            self._spare = None
            self._later()
        del self._waiting[newest.path, newest.sheet is not None]
        helper.asked, helper.since = newest, self._clock()
        try:
            helper.pipe.send(newest)
        except OSError:  # the system has ended it, which is seen where it is listened to
            return

    def _started(self) -> Helper:
        context = multiprocessing.get_context("spawn")
        here, there = context.Pipe()
        process = context.Process(target=work_beside, args=(there,), daemon=True)
        process.start()
        there.close()
        helper = Helper(process, here)
        threading.Thread(target=self._listen, args=(helper,), daemon=True).start()
        return helper

    def _later(self) -> None:
        """Make another one ready, once whoever types has had their answer."""

        def ready() -> None:
            with self._lock:
                if not self._closed and self._spare is None:
                    self._spare = self._started()

        if self._timer is not None:
            self._timer.cancel()
        self._timer = threading.Timer(REST_S, ready)
        self._timer.daemon = True
        self._timer.start()

    def _listen(self, helper: Helper) -> None:
        while True:
            try:
                told = helper.pipe.recv()
            except (EOFError, OSError, TypeError):  # TypeError: closed by `_end` in the middle of a message
                self._gone(helper)
                return
            with self._lock:
                helper.since = self._clock()
                current = helper is self._helper
                asked = helper.asked
                of = (
                    told is not None
                    and asked is not None
                    and (told.path, told.hash) == (asked.path, asked.hash)
                )
                if of and told.last:
                    helper.asked = None
                    self._go_on()
            if of and current:
                self._told(told)

    def _gone(self, helper: Helper) -> None:
        """Say so where the system has ended a process that was at work."""
        with self._lock:
            if self._closed or helper is not self._helper:
                return
            self._helper = None
            asked = helper.asked
        if asked is not None:
            self._told(Told(asked.path, asked.hash, WHOLE, ENDED))

    def _end(self, helper: Helper) -> None:
        helper.process.kill()
        helper.pipe.close()

    def processes(self) -> tuple[int, ...]:
        """Return the processes that there are, the one that works first."""
        with self._lock:
            there = [one for one in (self._helper, self._spare) if one is not None]
            return tuple(one.process.pid for one in there if one.process.pid is not None)

    def close(self) -> None:
        """End all of them."""
        with self._lock:
            self._closed = True
            if self._timer is not None:
                self._timer.cancel()
            self._waiting.clear()
            for helper in (self._helper, self._spare):
                if helper is not None:
                    self._end(helper)
            self._helper = self._spare = None
