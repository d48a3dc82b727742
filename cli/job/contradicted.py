"""Answers that something entered contradicts: none of them is called met, and each says why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from tallstack.geometry.core.targets import SHARE, Limit
from tallstack.geometry.core.verdict import Verdict, at_best_unproved

from ..page.wording import VERDICTS
from .look_again import Touching, touching

if TYPE_CHECKING:
    from tallstack.geometry.clearance.clearances import Clearances
    from tallstack.geometry.doubt.result import Result
    from tallstack.geometry.pushrod.ordering import Order

    from .file import JobFile

LOOK_AGAIN = "LOOK AGAIN"
UNUSUAL = "UNUSUAL, a slip or a rare engine"
J = TypeVar("J", "Result", "Order")


def is_wrong(warning: str) -> bool:
    """Say whether a warning is of two things that were entered and cannot both be so; else it is merely unusual."""
    return bool(getattr(warning, "about", ()))


def in_a_word(warning: str) -> str:
    """Return a warning with the word for what it is."""
    return f"{LOOK_AGAIN if is_wrong(warning) else UNUSUAL}: {warning}"


def word(verdict: Verdict | None, look_again: Iterable[str]) -> str:
    """Return a verdict as a row shows it: what misses its limit says so, what is contradicted is to be looked at again."""
    if verdict is Verdict.SHORT or not tuple(look_again):
        return "" if verdict is None else VERDICTS[verdict]
    return LOOK_AGAIN


def told(job: JobFile) -> Touching:
    """Return what tells the sentences that touch an answer of a job."""
    follows = {path: one.follows for path, one in job.entries.items()}
    return touching(job.warnings, job.quantities, job.names["trains"], follows)


def resting_on(one: Result | Order, of: str) -> tuple[str, ...]:
    """Return what an answer rests on: the entries that move it, the limits that it is held against, of what they are shares."""
    held = () if one.limits is None else tuple(one.limits)
    targets = [each.target for each in held if isinstance(each, Limit) and each.target is not None]
    limits = [path for each in targets for path in (each.path, f"{each.path}.{SHARE}")]
    wholes = [f"{of}.{each.share_of}" for each in targets if each.share_of]
    return (*one.slopes, *getattr(one, "beside", ()), *limits, *wholes)


def concerning(job: JobFile, subject: str, moving: Iterable[str]) -> tuple[str, ...]:
    """Return what is to be looked at again in a job that an answer rests on, what is merely unusual included.

    moving : entries that the answer is worked out from
    """
    paths = tuple(moving)
    touched = told(job)(subject, paths)

    def rests_on(one: str) -> bool:
        if getattr(one, "about", ()):
            return one in touched
        entry = one.split()[0].rstrip(":,")
        return entry not in job.entries or entry in paths or entry.startswith(f"{subject}.")

    return tuple(one for one in job.warnings if rests_on(one))


def with_reasons(answer: J, why: tuple[str, ...]) -> J:
    """Return an answer that is no longer called met where there is a reason to look again."""
    if not why:
        return answer
    return answer._replace(verdict=at_best_unproved(answer.verdict), look_again=(*answer.look_again, *why))


def of_orders(job: JobFile, found: tuple[Order, ...]) -> tuple[Order, ...]:
    """Return pushrods, those that something contradicts no longer called met."""
    why = told(job)
    return tuple(with_reasons(one, why(one.train.name, resting_on(one, one.train.name))) for one in found)


def of_clearances(job: JobFile, found: Clearances) -> Clearances:
    """Return clearances, those that something contradicts no longer called met."""
    why = told(job)

    def seen(one: Result | None, subject: str) -> Result | None:
        return None if one is None else with_reasons(one, why(subject, resting_on(one, subject)))

    valves = tuple(
        one._replace(
            piston=seen(one.piston, one.train),
            room=seen(one.room, one.train),
            bore=seen(one.bore, one.train),
            at_speed=None if one.at_speed is None else one.at_speed.seen(partial(seen, subject=one.train)),
        )
        for one in found.valves
    )
    gears = job.names["trains"]
    pairs = tuple(
        one._replace(judged=seen(one.judged, _with_gears(one.cylinder, gears))) for one in found.pairs
    )
    return found._replace(valves=valves, pairs=pairs)


def _with_gears(cylinder: str, gears: tuple[str, ...]) -> str:
    return ", ".join((cylinder, *(name for name in gears if name.rpartition(".")[0] == cylinder)))


def of_figures(why: Touching, subject: str, found: Mapping[str, Result]) -> dict[str, Result]:
    """Return figures of one subject, those that something contradicts no longer called met."""
    return {key: with_reasons(one, why(subject, resting_on(one, subject))) for key, one in found.items()}
