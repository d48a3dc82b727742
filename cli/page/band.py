"""What stops the work, and what to watch: what heads every answer, whatever it is of.

STOP is what misses a limit, what cannot be put together and what was entered and looks wrong; WATCH is what is met by
less than its doubt, or on paper alone, or is not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result

from ..job.contradicted import LOOK_AGAIN, UNUSUAL, is_wrong
from ..job.entries.catalogue import owned
from ..job.entries.meanings import called_together
from ..job.file import JobFile
from .answer import warnings
from .chance_words import least_sure, misses_of
from .model import Block, Column, Part, Row, Table, Tag
from .quantity import cell, units_of

NOTHING = "Nothing here misses a limit that was asked."
UNSURE = (Verdict.TIGHT, Verdict.UNPROVED)
FEW = 2  # kinds of answers that are named


class Band(NamedTuple):
    """What heads an answer, in sentences, the worst first."""

    stop: tuple[str, ...]
    watch: tuple[str, ...]


def band(
    job: JobFile,
    found: Sequence[Result],
    impossible: Sequence[str] = (),
    unknown: Sequence[str] = (),
    more: Sequence[str] = (),
    before: JobFile | None = None,
) -> Band:
    """Return what stops the work and what to watch of what is judged.

    impossible : what cannot be, in sentences
    unknown    : names of what was asked and is not known
    more       : what else is to be watched, in sentences
    before     : the job that this one is compared with
    """
    told = warnings(job, before)
    stop = (*impossible, *short(job, found), *again(told, impossible), *reasons(found, told))
    return Band(tuple(dict.fromkeys(stop)), (*unusual(told), *watched(job, found, unknown), *more))


def blocks(found: Band) -> list[Block]:
    """Return the band as every answer begins with it."""
    several = "1 thing" if len(found.stop) == 1 else f"{len(found.stop)} things"
    heads = Row((f"STOP, {several} before anything goes together" if found.stop else NOTHING,), 0)
    watched = (Row((("" if place else "WATCH"), one), 0) for place, one in enumerate(found.watch))
    stopping = (Row((one,), 1) for one in found.stop)
    table = Table((Column(room=7), Column(wide=True)), (heads, *stopping, *watched))
    return [Part(Tag.BAND, (table,))]


def short(job: JobFile, found: Sequence[Result]) -> Iterator[str]:
    """Yield what misses a limit, the worst first; those of the same kind and limit in one sentence."""
    alike: dict[tuple[str, str], list[Result]] = {}
    missed = [one for one in found if one.verdict is Verdict.SHORT and one.figure.alone]
    # What keeps its own limit and is SHORT with the lifter pumped up alone is told by that.
    told = {(one.of, one.key) for one in missed}
    own = [one for one in missed if shortfall(one) <= 0.0 or (one.of, one.figure.pumped_as) not in told]
    for one in sorted(own, key=shortfall):
        limit = one.nearer_bound
        against = "" if limit is None else f", limit {_shown(job, one, limit)}"
        alike.setdefault((one.figure.title, against), []).append(one)
    for (title, against), each in alike.items():
        first, *others = ((one.of.replace(".", " "), _worth(job, one)) for one in each)
        more = "".join(f"; {of}: {value}" for of, value in others)
        figure = each[0].figure
        meet = f", {figure.at_nought}" if each[0].value <= 0 and figure.zero and not each[0].meets else ""
        means = "".join(f", {one}" for one in each[0].means) if not meet and not each[0].meets else ""
        yield f"SHORT: {first[0]}, {title}: {first[1]}{meet}{means}{against}{more}"


def _worth(job: JobFile, one: Result) -> str:
    """Return what an answer is worth, or that two parts meet where that is all there is to say."""
    if one.meets:
        return one.figure.at_nought if one.figure.zero else one.figure.below_zero or ""
    return _shown(job, one, one.value)


def _shown(job: JobFile, one: Result, value: float) -> str:
    """Return a value or a limit of an answer in the job's unit."""
    return cell(value, units_of(job, one.figure.unit)[0], finer=one.figure.finer).shown()


def again(told: Sequence[str], stopping: Sequence[str] = ()) -> list[str]:
    """Return what looks wrong, two things that were entered and cannot both be so, in sentences.

    stopping : what stops the work besides; what it says is not said again
    """
    wrong = [one for one in told if is_wrong(one)]
    return [f"{LOOK_AGAIN}: {one}" for one in wrong if not any(one in other for other in stopping)]


def reasons(found: Sequence[Result], told: Sequence[str]) -> list[str]:
    """Return why answers are to be looked at again where nothing that is told of the entries says it."""
    every = dict.fromkeys(why for one in found for why in one.look_again)
    return [f"{LOOK_AGAIN}: {why}" for why in every if not any(why in one or one in why for one in told)]


def unusual(told: Sequence[str]) -> list[str]:
    """Return what is merely unusual, a slip or a rare engine, in sentences."""
    return [f"{UNUSUAL}: {one}" for one in told if not is_wrong(one)]


def watched(job: JobFile, found: Sequence[Result], unknown: Sequence[str] = ()) -> Iterator[str]:
    """Yield what to watch: alike things together, the least sure first."""
    unsure = [one for one in found if one.figure.alone and one.verdict in UNSURE and not one.look_again]
    unsure.sort(key=least_sure)
    tight = [one for one in unsure if one.verdict is Verdict.TIGHT]
    if tight:
        alike: dict[str, list[Result]] = {}
        for one in tight:
            alike.setdefault(one.figure.title, []).append(one)
        yield f"TIGHT: {'; '.join(_close(title, each) for title, each in alike.items())}"
    bare = [one for one in unsure if one.verdict is Verdict.UNPROVED]
    if bare:
        lacks = [entry for one in bare for entry in one.budget.undoubted]
        owners = (*job.names["cylinders"], *job.names["trains"])
        bare_ones = [entry for entry in lacks if entry in job.mapping]
        absent = [entry for entry in lacks if entry not in job.mapping]
        told_of = [f"needs {_needed(absent, owners)}"] if absent else []
        told_of += [f"no +/- for {called_together(bare_ones, owners)}"] if bare_ones else []
        why = f": {'; '.join(told_of)}" if lacks else ""
        why = why or (": from coordinates alone" if all(one.is_estimate for one in bare) else "")
        kinds: dict[str, list[str]] = {}
        for one in bare:
            kinds.setdefault(one.figure.title, []).append(one.of.replace(".", " "))
        told = (f"{', '.join(of)}, {title}" for title, of in kinds.items())
        many = f"UNPROVED, {len(bare)} answers" if len(kinds) > FEW else f"UNPROVED: {'; '.join(told)}"
        yield f"{many}{why}"
    if unknown:
        yield f"NOT KNOWN: {', '.join(unknown)}"


def _needed(entries: Sequence[str], owners: Sequence[str]) -> str:
    """Return the names of entries that nobody made; those of the engine as they are written in the file."""
    own = [entry for entry in dict.fromkeys(entries) if owned(entry)[0]]
    of_engine = [entry for entry in dict.fromkeys(entries) if not owned(entry)[0]]
    more = f" and {len(of_engine) - FEW} more" if len(of_engine) > FEW else ""
    told = [f"{', '.join(of_engine[:FEW])}{more}"] if of_engine else []
    return "; ".join((*told, *([called_together(own, owners)] if own else ())))


def _close(title: str, each: Sequence[Result]) -> str:
    """Return whose answers of a kind are close to their limit, with the chance of the least sure where builds were drawn.

    A budget alone would tell another chance than draws do, of the same answer.
    """
    of = [one.of.replace(".", " ") for one in each]
    who = ", ".join(of) if len(of) <= FEW else f"{of[0]} and {len(of) - 1} more"
    chance = misses_of(each[0]) if each[0].builds.missed is not None else ""
    missing = f", misses its limit in {chance} of builds{' at most' if len(of) > 1 else ''}" if chance else ""
    return f"{who}, {title}{missing}"


def name(one: Result) -> str:
    """Return what an answer is, of what."""
    return f"{one.of.replace('.', ' ')}, {one.figure.title}"


def of_clearance(unknown: str) -> str:
    """Return whose clearance is not known, a valve gear's or the two valves' of a cylinder, as a person says it."""
    return f"{unknown.replace('.', ' ')} to its piston" if "." in unknown else f"{unknown} valve to valve"


def shortfall(one: Result) -> float:
    """Return by how much a value keeps its limits, as a share of the limit; below nought where it misses one."""
    least, most = one.bounds
    margins = [] if least is None else [(one.value - least) / max(abs(least), 1.0)]
    margins += [] if most is None else [(most - one.value) / max(abs(most), 1.0)]
    return round(min(margins, default=0.0), 9)
