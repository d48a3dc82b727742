"""Which reading would tell most: those taken again and better, and the checks not yet made, each with its tool.

A verdict may be wrong: the engine as it is may lie on the other side of a limit than the one computed. What a reading
is worth is by how much it lessens the chance of that, summed over every answer with a limit, were the numbers to
stay as they are.

    answer a, reading k     variance of a falls by cov(a, k)² / (var k + u²)

Source: conditional normal distribution. The tools' doubts are common practice, from memory: half-widths that a
careful hand reaches on a cold engine.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ..core.ranking import ranked as largest_first
from ..doubt.budget import Doubt
from ..doubt.readings import Row, Tied
from ..doubt.result import Result, by_budget
from .risk import wrong

NONE: Mapping[tuple[str, str], float] = MappingProxyType({})
NOTHING = 1e-9  # a chance that is rounding
LENGTH, ANGLE, VOLUME, TIMING = "length", "angle", "volume", "timing"


class Tool(NamedTuple):
    """What a reading is made with, and what it is good for."""

    name: str
    half_width: float  # mm, rad or mm³


BETTER = {  # kind of entry → the tool that reads it again
    LENGTH: Tool("a micrometer or a dial", 0.01),
    ANGLE: Tool("a protractor with a vernier", math.radians(0.1)),
    VOLUME: Tool("a burette", 200.0),
    TIMING: Tool("a degree wheel and a dial", math.radians(0.3)),
}
WITH = {  # kind of check → its tool
    "pushrod": Tool("a checking rod and calipers", 0.05),
    "valve lift": Tool("two dials", 0.02),
    "valve lift at overlap": Tool("a dial and a degree wheel", 0.03),
    "clay": Tool("clay and calipers", 0.2),
    "drop": Tool("a dial on the retainer", 0.03),
    "deck": Tool("a bridge and a dial", 0.02),
    "stem tip": Tool("a depth gauge", 0.05),
    "port gap": Tool("calipers", 0.1),
    "chamber": Tool("a burette", 200.0),
    "valve to valve": Tool("drill shanks or a wire", 0.05),
}
UNLIKELY = 1e-5  # that a verdict is wrong: no reading is looked for that would make it surer
WORTH = 1e-3  # of a verdict: less than this is not worth another reading


class Candidate(NamedTuple):
    """A reading that could be taken."""

    name: str  # entry, or "clay front.intake"
    tool: Tool
    slopes: Mapping[str, float]  # quantity → derivative of what it reads
    takes: Mapping[tuple[str, str], float] = (
        NONE  # answer's `of` and `what` → variance that it takes off, where no slope tells that
    )


class Worth(NamedTuple):
    """What a reading would be worth."""

    name: str
    tool: Tool
    saves: float  # of the chances of a wrong verdict, summed over all answers
    most_of: str  # the answer that it does most for
    share: float  # of that answer's variance


def perfectly(doubts: Mapping[str, Doubt]) -> list[Candidate]:
    """Return every quantity as if it could be read without any doubt: what it then saves is what its doubt costs."""
    return [Candidate(name, Tool("", 0.0), {name: 1.0}) for name, one in doubts.items() if one.half_width > 0]


def again(doubts: Mapping[str, Doubt], kind_of: Callable[[str], str]) -> list[Candidate]:
    """Return every quantity that a better tool could read again; kind_of : its kind, or nothing where none reads it."""
    found = []
    for name, doubt in doubts.items():
        tool = BETTER.get(kind_of(name))
        if tool is not None and doubt.standard > Doubt(tool.half_width).standard:
            found.append(Candidate(name, tool, {name: 1.0}))
    return found


def not_yet(rows: Sequence[Row], kinds: Mapping[str, str]) -> list[Candidate]:
    """Return the checks that could be made; rows : as they would be, kinds : which each of them is of."""
    return [Candidate(row.name, WITH[kinds[row.name]], row.slopes) for row in rows if row.slopes]


def once_more(rows: Sequence[Row], kinds: Mapping[str, str]) -> list[Candidate]:
    """Return the checks that were made, as if each were made a second time, what was read then having its own error.

    rows : as they are;  kinds : which each of them is of; those of another kind are entries, and not told here
    """
    return [
        Candidate(
            row.name,
            WITH[kinds[row.name]],
            {name: one for name, one in row.slopes.items() if name != row.own},
        )
        for row in rows
        if kinds.get(row.name) in WITH
    ]


def ranked(answers: Sequence[Result], candidates: Sequence[Candidate], tied: Tied) -> list[Worth]:
    """Return readings by what each would be worth, the best first; those that tell nothing are left out."""
    limited = [one for one in answers if by_budget(one) is not None and one.budget.standard > 0]
    goes_with = [tied.covariance(one.slopes) for one in limited]
    now = [wrong(one, one.budget.standard) for one in limited]
    touched: dict[str, list[int]] = {}  # quantity → the answers that go with it
    called: dict[tuple[str, str], list[int]] = {}
    for place, (one, with_answer) in enumerate(zip(limited, goes_with, strict=True)):
        called.setdefault((one.of, one.name), []).append(place)
        for name, together in with_answer.items():
            if together != 0.0:
                touched.setdefault(name, []).append(place)
    found = []
    for each in candidates:
        own = tied.covariance(each.slopes)
        spread = sum(slope * own.get(name, 0.0) for name, slope in each.slopes.items())
        spread += Doubt(each.tool.half_width).standard ** 2
        if spread <= 0.0 and not each.takes:
            continue
        saves = 0.0
        parts: list[tuple[float, float, str]] = []  # of each answer: what is saved, the share, its name
        told = {place for name in each.slopes for place in touched.get(name, ())}
        told |= {place for key in each.takes for place in called.get(key, ())}
        for place in sorted(told):
            one, with_answer = limited[place], goes_with[place]
            shared = sum(slope * with_answer.get(name, 0.0) for name, slope in each.slopes.items())
            less = shared * shared / spread if spread > 0.0 else 0.0
            less += each.takes.get((one.of, one.name), 0.0)
            left = math.sqrt(max(one.budget.standard**2 - less, 0.0))
            saved = now[place] - wrong(one, left)
            saves += saved
            if less > 0.0 and saved >= 0.0:
                parts.append((saved, less / one.budget.standard**2, f"{one.of} {one.name}"))
        if parts:
            top = max(one[0] for one in parts)
            alike = [one for one in parts if one[0] >= (1.0 - NOTHING) * top]  # but for rounding
            _, share, most_of = max(alike, key=lambda one: round(one[1], 9))
            found.append(Worth(each.name, each.tool, saves, most_of, share))
    return largest_first(found, lambda one: one.saves if one.saves > NOTHING else 0.0, lambda one: one.share)


def settled(answers: Sequence[Result]) -> bool:
    """Say whether no verdict is likely enough to be wrong to be worth another reading."""
    chances = [wrong(one, one.budget.standard) for one in answers if by_budget(one) is not None]
    return bool(np.sum(chances) < WORTH)


def doubtful(one: Result) -> bool:
    """Say whether a verdict is likely enough to be wrong that something may make it surer."""
    return by_budget(one) is not None and wrong(one, one.budget.standard) > UNLIKELY
