"""Everything that a sheet is made from: a job and all that can be worked out of it, each part None where it cannot."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import NamedTuple

import numpy as np
from tallstack.geometry.clearance.clearances import Clearances
from tallstack.geometry.clearance.turning import Turning

from ..commands import clearance as clearance_command
from ..commands import fits as fits_command
from ..commands import pushrods as pushrods_command
from ..commands import risk as risk_command
from ..commands import swap as swap_command
from ..drawing import pages
from ..drawing.engine import Engine
from ..job.earlier import earlier
from ..job.fitted import fitted
from ..job.job import Job
from ..page.answer import UNUSABLE, Answer
from ..record.as_built import Compared, Plan, compared
from ..record.record_words import unlikely
from ..record.recordfile import Fact, read
from ..record.remembered import record_of, shelf_of, unread_record
from ..record.visits import Visits, visits
from ..tables.shelf import load_shelf

DRAWS, SEED = 10_000, 1
WHOLE_DEGREES = np.radians(np.arange(-360.0, 361.0))


class Work(NamedTuple):
    """One job, worked out."""

    job: Job  # as its readings leave it
    entered: Job  # as it was entered
    pushrods: pushrods_command.Found | None
    clear: Clearances | None
    fits: fits_command.Found
    risk: risk_command.Found | None
    turning: Turning | None
    engine: Engine | None  # as it is drawn
    facts: tuple[Fact, ...]  # of the record beside the job
    built: tuple[Compared, ...]  # plan against as-built
    visits: Visits  # what was found and left since
    told: dict[str, Answer]  # command → its whole answer, where it has one
    mended: clearance_command.Mends  # what would mend each clearance that is SHORT, where answers are told
    before: Job | None  # the engine as it was
    hash: str  # of the file; empty where it was no plain file, which cannot be read twice


def work(
    entered: Job,
    shelf: Path | None,
    draws: int = DRAWS,
    is_drawn: bool = True,
    before: Job | None = None,
    is_told: bool = True,
) -> Work:
    """Return everything that can be worked out of a job.

    shelf    : what the pushrods are chosen from
    draws    : builds that tell how sure the answers are
    is_drawn : the engine is drawn too, at every degree
    before   : the engine as it was, to say what changed; None: what the job itself says of it
    is_told  : every command's whole answer too
    """
    facts = read(record_of(entered))
    taken = shelf_of(entered, shelf, facts)
    more = (*taken.warned, *unread_record(entered), *unlikely(facts))
    entered = entered._replace(warnings=(*entered.warnings, *more))
    first, asked = entered, shelf
    entered, shelf = entered.saying(*taken.told), taken.path
    job = entered.settled
    other, before = before, earlier(job, before)
    pushrods = pushrods_command.found_of(job, shelf)
    wanted, job = job, fitted(job, pushrods.chosen)
    fits = fits_command.found_of(job, before)
    found = risk_command.worked_out(job, draws, SEED)
    sure = None if found is None else found[0]
    told: dict[str, Answer] = {}
    mended = clearance_command.Mends({}, {})
    if is_told:
        mended = clearance_command.remedies_of(job, job.clearances)
        told = {
            "pushrods": pushrods_command.told(wanted, pushrods),
            "clearance": clearance_command.told(job, job.clearances, mended=mended),
            "fits": fits_command.told(job, fits, before),
        }
        told = {name: answer for name, answer in told.items() if answer.status != UNUSABLE}
        told |= {} if sure is None else {"risk": risk_command.answered(sure)}
        told |= {} if before is None else {"swap": swap_command.answer(first, other, asked)}
    rods = () if shelf is None else load_shelf(shelf, entered.units)
    plan = Plan(entered, rods)
    turned = pages.turned(job, WHOLE_DEGREES) if is_drawn else None
    return Work(
        job,
        entered,
        pushrods if pushrods.is_usable else None,
        job.clearances if job.clearances.is_usable else None,
        fits,
        sure,
        turned if turned is not None and turned.own else None,
        pages.engine_of(job, turned) if turned is not None and turned.own else None,
        facts,
        compared(plan, facts),
        visits(plan, facts),
        told,
        mended,
        before,
        _hash(Path(entered.path)),
    )


def _hash(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
