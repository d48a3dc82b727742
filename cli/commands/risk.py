"""`tallstack risk`: how sure every answer is, how likely it misses its target, and which reading costs most."""

from __future__ import annotations

import sys
import time
from collections.abc import Generator, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple

from tallstack.geometry.clearance.clearances import (
    AT_LEAST,
    BORE,
    DROP,
    GAP,
    GAP_AT_LEAST,
    PAIR,
    PAIR_PUMPED,
    PUMPED,
    WALL,
    WALL_AT_LEAST,
    Clearances,
)
from tallstack.geometry.clearance.situation import Asked as Angle
from tallstack.geometry.clearance.situation import Situation
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.doubt.readings import untied
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.alone import each_alone, those_of
from tallstack.geometry.sure import risk, what_next
from tallstack.geometry.sure.bench_checks import possible, shape_doubts
from tallstack.geometry.sure.bench_checks import rows as rows_of
from tallstack.geometry.sure.risk_clearance import Assembled, prepared
from tallstack.geometry.sure.what_next import Worth

from ..files import quoted
from ..guide.narrowing import Rest, Rests, candidates, is_shape
from ..job.entries.meanings import called
from ..job.entries.wanted import VALVES
from ..job.file import JobFile
from ..job.job import Job
from ..job.readings import Laid
from ..page import band, clearance_words, fits_words
from ..page.answer import INTERRUPTED, OK, UNUSABLE, Answer, framed, labelled, status_of
from ..page.band import Band
from ..page.check_words import check_blocks, check_words, checks_row, kind_of, take_again
from ..page.model import Block, Form, Row, Words
from ..page.risk_words import (
    Group,
    brief_blocks,
    group_blocks,
    next_blocks,
    next_words,
    rest_blocks,
    row,
    worth_row,
)
from ..record.remembered import with_its_rods

if TYPE_CHECKING:
    from tallstack.geometry.cam.cam import Tables

FEWEST, MOST = 100, 1_000_000
MOST_SEED = 2**32 - 1
MOST_CORES = 64
TOOLS = "what tools reach is common practice, from memory; the numbers are taken to stay as they are"
UP = {PUMPED: DROP, PAIR_PUMPED: PAIR}  # with the lifters pumped up → what is searched
SEARCHED = {**UP, AT_LEAST: DROP, GAP_AT_LEAST: GAP}
AS_IT_RUNS = (AT_LEAST, GAP_AT_LEAST, WALL_AT_LEAST)
MOST_NEXT = 2  # readings that one screen names
PATIENT_S = 1.0  # before progress is shown


class Found(NamedTuple):
    """Everything that is told of a job."""

    groups: tuple[Group, ...]
    meeting: tuple[str, ...]  # cylinders whose valve heads meet with the lifters pumped up
    unknown: tuple[str, ...]  # valve gears and cylinders whose clearance cannot be worked out yet
    bottomless: tuple[str, ...]  # entries without which the room below a plunger is not known
    laid: Laid[Job]
    costs: tuple[Worth, ...]
    next: tuple[Worth, ...]
    done: bool  # no verdict is likely enough to be wrong to be worth another reading
    wanted: int
    drawn: int
    seed: int

    @property
    def answers(self) -> list[Result]:
        """Those of every group."""
        return [one for group in self.groups for one in group.answers]

    @property
    def next_words(self) -> list[str]:
        """What to read next, in sentences."""
        return self._after_again(self.next, brief=False)

    @property
    def next_in_brief(self) -> list[str]:
        """What to read next, for one screen."""
        return self._after_again(self.next[:MOST_NEXT], brief=True)

    def _after_again(self, worth: Sequence[Worth], brief: bool) -> list[str]:
        """Return what to read next, behind what stands out and is taken again first."""
        again = take_again(self.laid)
        done = self.done and not again
        told = next_words(worth, done, self.bare, self.unknown, self.bottomless, brief)
        return [*again, *(one for one in told if not (again and one.startswith("stop measuring")))]

    @property
    def bare(self) -> list[str]:
        """Entries that move what is judged and carry no doubt."""
        judged = (one for one in self.answers if one.verdict is not None)
        return list(dict.fromkeys(entry for one in judged for entry in one.budget.undoubted))


def answer(job: Job, wanted: int, seed: int, cores: int = 1, strict: bool = False) -> Answer:
    """Return how sure every answer of a job is.

    wanted : builds to draw;  seed : of the draws;  cores : processes that draw them
    """
    for name, value, least, most in (
        ("--draws", wanted, FEWEST, MOST),
        ("--seed", seed, 0, MOST_SEED),
        ("--cores", cores, 1, MOST_CORES),
    ):
        if not least <= value <= most:
            return Answer(f"{name} {value}: a whole number from {least} to {most}", {}, UNUSABLE)
    told = worked_out(with_its_rods(job.settled), wanted, seed, cores)
    if told is None:
        return Answer(
            f"{job.path}: nothing that can be worked out yet; `tallstack check {quoted(job.path)}` says more",
            {},
            UNUSABLE,
        )
    found, stopped = told
    if stopped and found.drawn == 0:
        sooner = "--draws 1000 answers sooner" if wanted > FEWEST * 10 else "nothing was drawn"
        return Answer(f"{job.path}: stopped before the first builds were drawn; {sooner}", {}, INTERRUPTED)
    job = found.laid.job
    lacking = any("." in one for one in found.unknown)  # of a valve, as in `clearance`
    lacking = lacking or fits_words.has_limit_untold(job, job.fits.answers)
    lacking = lacking or clearance_words.has_limit_untold(job, job.clearances)
    ended = INTERRUPTED if stopped else status_of(job, found.answers, strict, lacking)
    return answered(found, ended)


def worked_out(job: Job, wanted: int, seed: int = 0, cores: int = 1) -> tuple[Found, bool] | None:
    """Return how sure every answer is, and whether the draws were stopped; None where there is no answer.

    wanted : builds to draw; 0 for what the budgets tell, readings and their worth included
    """
    beside, tables = job.laid, job.tables
    job = job.settled
    kinds, rests, meeting, unknown, bottomless = every_answer(job)
    if not any(asked for _, asked in kinds):
        return None
    run = risk.Run(
        job.mapping, job.quantities, job.doubts, [one for _, asked in kinds for one in asked], wanted, seed
    )
    stopped = wanted > 0 and _drawn(run, cores)
    answers = iter(run.results())
    groups = tuple(Group(title, tuple(next(answers) for _ in asked)) for title, asked in kinds)
    every = [one for group in groups for one in group.answers]
    return Found(
        groups,
        meeting,
        unknown,
        bottomless,
        beside,
        *_worth(job, tables, beside, every, run, rests),
        wanted,
        run.drawn,
        seed,
    ), stopped


def _worth(
    job: JobFile, tables: Tables, beside: Laid[Job], answers: list[Result], run: risk.Run, rests: Rests
) -> tuple[tuple[Worth, ...], tuple[Worth, ...], bool]:
    """Return what each reading's doubt costs, what further readings would be worth, and whether none is needed."""
    tied = run.tied or untied({**run.doubts, **shape_doubts(job.mapping, tables)})
    open_ = {(one.of, one.name) for one in answers if what_next.doubtful(one)}
    narrower = candidates(job.mapping, [one for one in rests if one[0] in open_])
    perfectly = [*what_next.perfectly(run.doubts), *(one for one in narrower if is_shape(one.name))]
    costs = what_next.ranked(answers, perfectly, tied)
    could, flat = possible(job.mapping, tables, beside.checks)
    rows = rows_of(could, flat, tables, job.quantities, run.doubts)
    kinds = {one.name: one.kind for one in could}
    called = {one.name: f"{one.kind}, {one.of.replace('.', ' ')}" for one in could}
    made = rows_of(beside.checks, job.mapping, tables, job.quantities, run.doubts)
    made_of = {one.name: one.kind for one in beside.checks}
    called |= {one.name: f"{one.kind} once more, {one.of.replace('.', ' ')}" for one in beside.checks}
    could_be = [
        one._replace(name=called[one.name])
        for one in (*what_next.not_yet(rows, kinds), *what_next.once_more(made, made_of))
    ] + what_next.again(run.doubts, lambda name: kind_of(job, name))
    could_be += [one for one in narrower if not is_shape(one.name)]
    return (
        tuple(costs),
        tuple(what_next.ranked(answers, could_be, tied)),
        what_next.settled(answers),
    )


Kinds = list[tuple[str, list[risk.Asked]]]


def every_answer(
    job: Job,
) -> tuple[Kinds, Rests, tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Return every answer of a job and how it is drawn, kind by kind, what rests on cards, and `Found` up to `laid`.

    job : as its tables and readings leave it
    """
    doubts, clear, built = job.doubts, job.clearances, Assembled()
    ordered = [one for one in job.orders if one.required is not None]
    needed = risk.Needed(
        {one.train.name: one for one in ordered if one.budget is not None and not one.is_estimate},
        {name: doubts[wish] for name in job.names["trains"] if (wish := f"{name}.lifter.preload") in doubts},
        built,
    )
    fitted = job.fits
    figures = [
        one
        for subject in (*job.names["cylinders"], *job.names["trains"])
        for each in fitted.of(subject)
        if not isinstance(each.found, Missing)
        for one in risk.of_figures(each.group, subject, fitted.known.get(subject), each.found.values())
    ]
    across = [risk.Asked(one, None) for one in fitted.crossing.sure.values()]
    meeting = tuple(
        pair.cylinder
        for pair in clear.pairs
        if pair.pumped is not None and pair.pumped.value <= 0 and pair.pumped_counts
    )
    cleared = list(_of_clearances(job, clear, needed, built))
    kinds = [
        ("PUSHRODS", risk.of_pushrods(ordered, built)),
        ("CLEARANCES", [one for one, _ in cleared]),
        ("FITS", [*figures, *across]),
    ]
    asks = VALVES in job.wanted or any(
        path.startswith("lobe.") or ".measured_drop." in path for path in job.mapping
    )
    unknown = [valve.train for valve in clear.valves if valve.piston is None]
    unknown += [pair.cylinder for pair in clear.pairs if pair.judged is None]
    below = tuple(one for order in ordered if order.room is not None for one in order.room.lacks)
    rests = [one for _, one in cleared if one is not None]
    return kinds, rests, meeting, tuple(unknown) if asks else (), below


def _of_clearances(
    job: Job, clear: Clearances, needed: risk.Needed, built: Assembled
) -> Iterator[tuple[risk.Asked, Rest | None]]:
    """Yield every clearance as it is drawn, and where and on which cards' lobes it rests."""
    mapping, quantities = job.mapping, job.quantities
    told: list[tuple[Result | None, Mapping[str, float]]] = []
    runs: dict[str, Situation | None] = {}
    alone = each_alone(mapping)
    ours = {cylinder: those_of(quantities, own) for cylinder, own in alone.items()}
    for valve in clear.valves:
        up = valve.up, {valve.train: valve.pumped_per_preload}
        told += [(valve.piston, {}), up, (valve.room, {}), (valve.bore, {})]
        told += [] if valve.at_speed is None else [(valve.at_speed.piston, {}), (valve.at_speed.wall, {})]
        runs |= {} if valve.at_speed is None else {valve.train: valve.at_speed.here}
    for pair in clear.pairs:
        told += [(pair.judged, {}), (pair.up, pair.up_per_preload)]
    for judged, per_preload in told:
        if judged is None:
            continue
        here = clear.situations[judged.of if judged.of in clear.situations else judged.of.rpartition(".")[0]]
        is_up, fast = judged.name in UP, runs.get(judged.of) if judged.name in AS_IT_RUNS else None
        asked, least = Angle(judged.of, SEARCHED.get(judged.name, judged.name), judged.angle, is_up), None
        if _can_be_drawn(judged, asked.what, bool(here.over.crown_table)):
            together = built if fast is None else Assembled()
            there = here if fast is None else fast
            own, moving = alone[here.cylinder], ours[here.cylinder]
            least = prepared(own, there, asked, moving, job.tables, judged.budget.expanded, together)
        found = risk.of_clearance(judged, least, needed if is_up else None, per_preload)
        yield found, ((judged.of, judged.name), here, asked, judged.lobes) if judged.lobes else None


def _can_be_drawn(judged: Result, what: str, by_heights: bool) -> bool:
    """Say whether a clearance is drawn: not where heads stand in one another, nor over measured heights, nor in a bore.

    How far a head is from its bore, and a wall from a piston that rocks, hangs on a handful of places, and evenly so.
    """
    if what in (BORE, WALL_AT_LEAST):
        return False
    if what == PAIR:
        return judged.value > 0
    return not by_heights or what == WALL


def _drawn(run: risk.Run, cores: int) -> bool:
    """Draw every block of a run; say whether it was stopped before the last."""
    try:
        run.look()
        watched = sys.stderr is not None and sys.stderr.isatty()
        with _blocks(run, cores) as rows:
            started, shown = time.monotonic(), False
            for (_, builds), values in zip(run.blocks(), rows, strict=True):
                run.take(builds, values)
                if watched and time.monotonic() - started > PATIENT_S:
                    shown = True
                    sys.stderr.write(f"\r{run.drawn:,} of {run.wanted:,} builds")
                    sys.stderr.flush()
            if shown:
                sys.stderr.write("\r\033[K")
    except KeyboardInterrupt:
        return True
    return False


@contextmanager
def _blocks(run: risk.Run, cores: int) -> Generator[Iterator[list[Any]], None, None]:
    """Yield the values of every block in turn, worked out here or by as many processes as are asked for.

    They are the same either way; a system whose processes cannot be forked works them out here.
    """
    import multiprocessing

    forks = cores > 1 and "fork" in multiprocessing.get_all_start_methods()
    if not forks or len(run.blocks()) == 1:
        yield (run.block(*each) for each in run.blocks())
        return
    with multiprocessing.get_context("fork").Pool(cores, _Worker.begin, (run,)) as pool:
        yield pool.imap(_Worker.block, run.blocks())


class _Worker:
    """One of the processes that are forked, which finds in place what it works on."""

    run: risk.Run

    @classmethod
    def begin(cls, run: risk.Run) -> None:
        """Take up the work, and leave an interruption to the process that waits for this one."""
        import signal

        signal.signal(signal.SIGINT, signal.SIG_IGN)
        cls.run = run

    @classmethod
    def block(cls, each: tuple[int, int]) -> list[Any]:
        """Return the values of one block."""
        return cls.run.block(*each)


def answered(found: Found, status: int = OK) -> Answer:
    """Return how sure every answer is, as an answer."""
    job = found.laid.job
    stopped = "" if found.drawn == found.wanted else f", STOPPED before {found.wanted:,} were"
    more = f"{found.drawn:,} builds drawn{stopped}, with seed {found.seed}"
    return framed(
        "risk",
        job,
        lambda: _page(job, found),
        _document(found),
        status,
        brief=_brief(job, found),
        told=_told(job, found),
        more=(more,),
        assumed=job.assumed,
    )


def _band(job: JobFile, found: Found) -> Band:
    meeting = [
        f"{name}: with the lifters pumped up the two valve heads MEET: SHORT" for name in found.meeting
    ]
    told = found.laid.job
    more = [*fits_words.half_asked(job, told.fits.answers), *clearance_words.not_told(job, told.clearances)]
    return band.band(job, found.answers, meeting, [*map(band.of_clearance, found.unknown)], more)


def _brief(job: JobFile, found: Found) -> list[Block]:
    """Return the answer for one screen: what is least sure of all that is judged."""
    return [*band.blocks(_band(job, found)), *brief_blocks(job, found.groups)]


def _told(job: JobFile, found: Found) -> list[Row]:
    """Return what that screen says in a line each."""
    lacks = ", ".join(map(called, found.bottomless))
    bottom = [f"room to the plunger's bottom, and no preload proved, without {lacks}"] if lacks else []
    return [
        *labelled("CHECKS", check_words(job, found.laid)),
        *labelled("NOT KNOWN", bottom),
        *labelled(
            "READ NEXT",
            found.next_in_brief,
        ),
    ]


def _page(job: JobFile, found: Found) -> list[Block]:
    """Return the answer for a person."""
    blocks = [*band.blocks(_band(job, found)), *check_blocks(job, found.laid)]
    for group in found.groups:
        blocks += group_blocks(job, group)
    if found.unknown:
        named = ", ".join(map(band.of_clearance, found.unknown))
        told = f"clearances NOT KNOWN: {named}; `tallstack clearance {quoted(job.path)}` says what they lack"
        blocks.append(Words(told, 1, Form.ITEM))
    if found.bottomless:
        told = f"room to the plunger's bottom NOT KNOWN, and no preload proved, without {', '.join(found.bottomless)}"
        blocks.append(Words(told, 1, Form.ITEM))
    blocks += rest_blocks(job, found.groups, found.costs, found.drawn)
    blocks += next_blocks(found.next_words)
    return [*blocks, Words(TOOLS, 1)]


def _document(found: Found) -> dict[str, Any]:
    return {
        "draws": found.drawn,
        "draws_wanted": found.wanted,
        "seed": found.seed,
        "answers": [row(group.title, one) for group in found.groups for one in group.answers],
        "heads_meet_pumped_up": list(found.meeting),
        "checks": checks_row(found.laid),
        "costs": [worth_row(one) for one in found.costs],
        "next": [worth_row(one) for one in found.next],
        "clearances_not_known": list(found.unknown),
        "room_to_bottom_needs": list(found.bottomless),
        "stop_measuring": found.done and not found.bottomless and not found.unknown,
    }
