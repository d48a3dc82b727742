"""What each visit found and left, how far every setting moved since it was left, and what would explain that.

A visit is the distance that the engine had run. What was found at one is held against what was left last, at an earlier visit
or at assembly; nothing is compared across a part that was changed. As-built lines stay what they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import NamedTuple

from tallstack.geometry.core.answer import CYLINDER, TRAIN
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.sure import drift
from tallstack.geometry.sure.drift import LASH, PRELOAD, Cause, Moved, Reading, Seat, Shared
from tallstack.geometry.sure.planned import WHOLE, Planned, Standing, standing_of
from tallstack.geometry.sure.trend import LEAST, Sighting, Trend, further, trend

from ..job.entries.fields import Quantity
from ..job.reading.values import Dimension
from .as_built import Plan, last_digit
from .recordfile import Fact, standing
from .recordkinds import CHANGED, CHANGES, FOUND, KEPT, LEFT, TIP_HEIGHT, kinds

SETTINGS = (LASH, PRELOAD)
TURNED = ("turns", "flats")
ASSEMBLY = "assembly"
ONLY_LEFT = "This visit has only what was left, so nothing can be said of what moved."
NOTHING_BEFORE = "Nothing was written down before as left, so nothing can be said of what moved."
NOT_LEFT = "{} has what was found and not what was left, so nothing can be said of what moved since."
ACROSS = "{} since: drift is not computed across it."
OTHER_PLACE = "Felt at the {} then and at the {} now, which are two things."
NO_THREAD = "Turns are worth nothing without the thread that they go by."
HEAT = "The engine was {:.0f} K {} and what that does to the setting is not known, so nothing can be said of what moved."


class Stood(NamedTuple):
    """One thing as it was read once."""

    fact: Fact
    reading: Reading | None  # None: it does not follow from what was written down


class Visited(NamedTuple):
    """One thing at one visit; lengths in mm."""

    what: str
    of: str
    distance: str  # of the visit, as typed
    run: float  # km
    since: str  # when it was left before: the distance of that visit, or ASSEMBLY; empty: never
    before: Stood | None  # as it was left then
    found: Stood | None
    left: Stood | None  # as it was left now; where it was left as it was found, the same
    moved: Moved | None
    refused: str  # why nothing is said of what moved
    plan: Planned
    found_stands: Standing | None
    left_stands: Standing | None
    is_latest: bool
    seat: Seat | None = None
    fits: tuple[tuple[Cause, float | None], ...] = ()  # what would explain all of it alone, and by how much
    tip: Moved | None = None  # the stem tip's height, as much higher
    tip_lacks: bool = False  # it was not read at both
    together: Shared | None = None  # with the other valves of its cylinder
    again: bool = False  # the second time the same way
    read_again: str = ""  # why a room in the rocker's box is to be read again
    now: str = ""  # what that is now, in words
    is_open: bool = False  # what it was found with still stands: nothing was left since
    otherwise: tuple[Stood, ...] = ()  # found otherwise at the same visit, by more than both readings explain

    @property
    def is_setting(self) -> bool:
        """Whether it is set: a lash or a preload."""
        return self.what in SETTINGS

    @property
    def has_moved(self) -> bool:
        """Whether it moved by more than both readings' doubt explains."""
        return self.moved is not None and self.moved.is_shown

    @property
    def is_apart(self) -> bool:
        """Whether it stands further off than its surer reading explains, and the other tells nothing."""
        return self.moved is not None and self.moved.is_apart

    @property
    def stands(self) -> Standing | None:
        """How what stands at the end of the visit stands against its limits."""
        return self.left_stands or self.found_stands

    @property
    def lash_at(self) -> str:
        """Where a lash was felt."""
        return self.found.fact.convention if self.found is not None and self.what == LASH else ""


class Rate(NamedTuple):
    """How fast a setting drifts, or why that is not told."""

    what: str
    of: str
    visits: int  # drifts after the first visit
    trend: Trend | None
    until: tuple[float, float] | None  # km until its limit, at least and at most; None: not told
    toward: float | None  # mm, the limit it goes to
    why: str  # why no rate is told
    distance: str = ""  # of the last visit, as typed: its unit


class Day(NamedTuple):
    """A visit that is dated after one that had run further."""

    distance: str
    day: str
    further: str
    further_day: str


class Visits(NamedTuple):
    """All that was found and left since assembly."""

    rows: tuple[Visited, ...]
    rates: tuple[Rate, ...]
    days: tuple[Day, ...] = ()

    @property
    def latest(self) -> tuple[Visited, ...]:
        """Of each thing its last visit."""
        return tuple(one for one in self.rows if one.is_latest)

    @property
    def standing(self) -> tuple[Visited, ...]:
        """Of each thing its last visit, and every earlier one whose finding nothing that came later has cleared."""
        return tuple(one for one in self.rows if one.is_latest or one.is_open or one.otherwise)

    @property
    def shown(self) -> tuple[Visited, ...]:
        """What one screen shows: what stands, and visits whose distance and day contradict one another."""
        named = {distance for one in self.days for distance in (one.distance, one.further)}
        there = self.standing
        return tuple(one for one in self.rows if one in there or one.distance in named)


Roles = dict[str, Stood]  # FOUND, LEFT → as it stood
Lines = dict[float, Roles]  # km of a visit → as it stood there


def visits(plan: Plan, facts: Sequence[Fact]) -> Visits:
    """Return what every visit found and left, in the order of distances."""
    counting = standing(facts)
    changed = [fact for fact in counting if fact.what == CHANGED]
    every = _lines(plan, counting)
    rows: list[Visited] = []
    rates: list[Rate] = []
    for (what, of), lines in every.items():
        here = _changes(plan, changed, of)
        told = list(_visited(plan, what, of, lines, here, every.get((TIP_HEIGHT, of), {})))
        told = [row._replace(otherwise=_otherwise(plan, row, facts)) for row in _opened(told)]
        rows += told if kinds()[what].least is None else (_in_box(plan, row, facts) for row in told)
        if what in SETTINGS:
            rates += _rates(plan, what, of, lines, here, told)
    owners = [*plan.job.names["trains"], *plan.job.names["cylinders"]]
    order = list(kinds())

    def place(row: Visited) -> tuple[float, int, int]:
        return row.run, owners.index(row.of) if row.of in owners else len(owners), order.index(row.what)

    rows.sort(key=place)
    return Visits(tuple(_together(rows)), tuple(rates), tuple(_days(counting)))


def _opened(rows: Sequence[Visited]) -> list[Visited]:
    """Return one thing's visits, those marked whose finding still stands since nothing was left since.

    What is left as it was found clears nothing; a room in the rocker's box is cleared by another reading.
    """
    told: list[Visited] = []
    is_cleared = False
    for row in reversed(rows):
        says = row.has_moved or row.is_apart or row.found_stands is Standing.MISSES
        is_room = kinds()[row.what].least is not None
        is_open = says and row.left is None and not (row.is_latest or is_cleared or is_room)
        told.append(row._replace(is_open=is_open))
        is_cleared = is_cleared or (row.left is not None and row.left.fact.state == LEFT)
    return told[::-1]


def _otherwise(plan: Plan, row: Visited, facts: Sequence[Fact]) -> tuple[Stood, ...]:
    """Return what one thing was found with at the same visit too, where both readings do not explain how far apart."""
    if row.found is None or row.found.reading is None:
        return ()
    last, gone = row.found.fact, {fact.withdraws for fact in facts}
    told = []
    for fact in facts:
        is_same = fact.of == row.of and FOUND in fact.states and f"{fact.run:.3f}" == f"{row.run:.3f}"
        if fact.number in (*gone, last.number) or not is_same or fact.value is None:
            continue
        what = PRELOAD if _is_preload(plan, fact) else fact.what
        if what != row.what or (what == LASH and fact.convention != last.convention):
            continue
        stood = Stood(fact, _reading(plan, fact))
        if stood.reading is None:
            continue
        moved, _ = _moved(plan, what, row.of, stood, row.found)
        if moved is None:  # too much warmer for what heat did to be known: as read
            moved = drift.moved(stood.reading._replace(heat=None), row.found.reading)
        if moved is not None and (moved.is_shown or moved.is_apart):
            told.append(stood)
    return tuple(told)


def _days(counting: Sequence[Fact]) -> Iterator[Day]:
    """Yield the visits that are dated after one that had run further: distance or day is wrong."""
    there: dict[float, list[Fact]] = {}
    for fact in counting:
        if fact.run >= 0.0:
            there.setdefault(fact.run, []).append(fact)
    runs = sorted(there)
    for place, run in enumerate(runs):
        last = max(there[run], key=_day)
        later = [min(there[one], key=_day) for one in runs[place + 1 :]]
        before = next((one for one in later if _day(one) < _day(last)), None)
        if before is not None:
            yield Day(last.distance, str(_day(last)), before.distance, str(_day(before)))


def _day(fact: Fact) -> date:
    """Return the day on which a line was written."""
    return datetime.fromisoformat(fact.when).date()


def _lines(plan: Plan, counting: Sequence[Fact]) -> dict[tuple[str, str], Lines]:
    """Return every thing as it stood at assembly, as LEFT before any distance, and at each visit."""
    found: dict[tuple[str, str], Lines] = {}
    for fact in sorted(counting, key=lambda one: (one.what not in TURNED, one.number)):
        if fact.what not in kinds() or fact.value is None:
            continue
        what = PRELOAD if _is_preload(plan, fact) else fact.what
        stood = Stood(fact, _reading(plan, fact))
        for role in fact.states or (LEFT,):
            found.setdefault((what, fact.of), {}).setdefault(fact.run, {})[role] = stood
    return {
        key: dict(sorted(lines.items()))
        for key, lines in found.items()
        if any(run >= 0.0 for run in lines) and (key[0] not in TURNED)
    }


def _is_preload(plan: Plan, fact: Fact) -> bool:
    """Say whether turns or flats were counted to zero lash of a plunger, and so say its preload."""
    order = plan.order(fact.of)
    is_counted = fact.what in TURNED and fact.convention == "zero lash"
    return is_counted and order is not None and order.train.lifter.kind == "hydraulic"


def _reading(plan: Plan, fact: Fact) -> Reading | None:
    """Return a length as it was read, a preload also where it was counted in turns."""
    assert fact.value is not None
    value, doubt = fact.value.number, fact.value.doubt
    if fact.what in TURNED:
        worth = plan.per_turn(fact.of, fact.what == "flats") if _is_preload(plan, fact) else None
        if worth is None:
            return None
        if fact.what == "flats" and doubt is None and float(value).is_integer():
            doubt = WHOLE  # zero lash is felt between two of them
        value *= worth
        doubt = None if doubt is None else doubt._replace(half_width=doubt.half_width * abs(worth))
    elif not isinstance(kind := kinds()[fact.what].kind, Quantity) or kind.dimension is not Dimension.LENGTH:
        return None
    heat = fact.heat
    rounding = last_digit(fact) if doubt is None and fact.what not in TURNED else 0.0
    warm, unsure = (None, None) if heat is None else (heat.number, heat.doubt)
    return Reading(value, doubt, warm, unsure, rounding)


def _changes(plan: Plan, changed: Sequence[Fact], of: str) -> list[Fact]:
    """Return what was changed that keeps one thing from being compared across it."""
    names = plan.job.names
    gears = [one for one in names["trains"] if one == of or one.rpartition(".")[0] == of]
    cylinder = of if of in names["cylinders"] else of.rpartition(".")[0]
    found = []
    for fact in changed:
        level = CHANGES[fact.typed][0]
        touched = {TRAIN: fact.of in (of, *gears), CYLINDER: fact.of == cylinder}.get(level, True)
        found += [fact] if touched else []
    return found


def _visited(
    plan: Plan, what: str, of: str, lines: Lines, changed: Sequence[Fact], tips: Lines
) -> Iterator[Visited]:
    """Yield one thing at every visit that says something of it."""
    last = max(lines)
    before: Visited | None = None
    for run, roles in lines.items():
        if run < 0.0:
            continue
        found, left = roles.get(FOUND), roles.get(LEFT)
        stood = left or found
        assert stood is not None
        then, since, refused = _before(lines, run, found, changed)
        moved = None
        if not refused and then is not None and found is not None:
            moved, refused = _moved(plan, what, of, then, found)
            was_set = _was_set(lines, run, changed)
            if moved is not None and not moved.is_shown and was_set is not None:
                crept, _ = _moved(plan, what, of, was_set, found)
                if crept is not None and crept.is_shown:
                    moved, then, since = crept, was_set, was_set.fact.distance or ASSEMBLY
        planned = plan.of(what, of, stood.fact.convention)
        limits = planned._replace(value=None, doubt=None, undoubted=())
        kept = left is not None and left.fact.state == KEPT
        row = Visited(
            *(what, of, stood.fact.distance, run, since, then, found, left, moved, refused, planned),
            _stands(limits, found),
            _stands(limits if kept or what not in SETTINGS else planned, left),
            is_latest=run == last,
        )
        row = _explained(plan, row, tips) if row.is_setting and row.moved is not None else row
        if before is not None and row.has_moved and before.has_moved and row.is_setting:
            row = row._replace(again=_closing(row) == _closing(before))
        yield row
        before = row


def _in_box(plan: Plan, row: Visited, facts: Sequence[Fact]) -> Visited:
    """Return a room in the rocker's box as it is now."""
    stood = row.left or row.found
    now = None if stood is None else plan.in_box(stood.fact, facts)
    if now is None:
        return row
    stands = row.stands
    left, found = (
        None if one is None else now.standing_of(one) for one in (row.left_stands, row.found_stands)
    )
    told = now.told if stands is None else now.told_of(stands)
    return row._replace(left_stands=left, found_stands=found, read_again=now.again, now=told)


def _stands(plan: Planned, stood: Stood | None) -> Standing | None:
    if stood is None:
        return None
    if stood.reading is None:
        return Standing.UNPLANNED
    return standing_of(plan, stood.reading.value, stood.reading.doubt)


def _before(
    lines: Lines, run: float, found: Stood | None, changed: Sequence[Fact]
) -> tuple[Stood | None, str, str]:
    """Return how a thing was left before a visit, since when, and why nothing can be said of what moved, or nothing."""
    earlier = [(at, roles) for at, roles in lines.items() if at < run]
    then = next((roles[LEFT] for _, roles in reversed(earlier) if LEFT in roles), None)
    since = "" if then is None else then.fact.distance or ASSEMBLY
    if found is None:
        return then, since, ONLY_LEFT
    if then is None:
        return None, "", NOTHING_BEFORE
    open_at = next((roles[FOUND] for _, roles in reversed(earlier) if LEFT not in roles), None)
    if open_at is not None and open_at.fact.run > then.fact.run:
        return then, since, NOT_LEFT.format(open_at.fact.distance)
    for fact in changed:
        # at one visit a thing is found, then something is changed, then it is left
        after = fact.run > then.fact.run or (fact.run == then.fact.run and then.fact.state == KEPT)
        if after and fact.run < run:
            return then, since, ACROSS.format(CHANGES[fact.typed][1])
    if then.fact.convention != found.fact.convention and then.fact.what == found.fact.what == LASH:
        return then, since, OTHER_PLACE.format(then.fact.convention, found.fact.convention)
    return then, since, ""


def _was_set(lines: Lines, run: float, changed: Sequence[Fact]) -> Stood | None:
    """Return how a thing was left when it was last set, where it was left as it was found since; else None.

    What creeps by less at each visit than its readings show may have moved by more in all.
    """
    kept = [roles[LEFT] for at, roles in lines.items() if at < run and LEFT in roles]
    while kept and kept[-1].fact.state == KEPT:
        last = kept.pop()
        if any(
            fact.run >= (kept[-1].fact.run if kept else last.fact.run) for fact in changed if fact.run < run
        ):
            return None
    return kept[-1] if kept else None


def _moved(plan: Plan, what: str, of: str, then: Stood, found: Stood) -> tuple[Moved | None, str]:
    """Return how far a thing moved, or why that is not known."""
    if then.reading is None or found.reading is None:
        return None, NO_THREAD if what == PRELOAD else "Not a length."
    per_kelvin = plan.by_heat(of) if what in SETTINGS and of in plan.job.names["trains"] else None
    moved = drift.moved(then.reading, found.reading, per_kelvin)
    if moved is None:
        apart = drift.heat_apart(then.reading, found.reading) or 0.0
        return None, HEAT.format(abs(apart), "warmer" if apart > 0 else "colder")
    return moved, ""


def _closing(row: Visited) -> bool:
    return row.moved is not None and drift.closes(row.what, row.moved.drift)


def _explained(plan: Plan, row: Visited, tips: Lines) -> Visited:
    """Return a setting that was found with what would explain its drift alone."""
    assert row.moved is not None
    assert row.before is not None
    try:
        seat = drift.seat(plan.job.mapping, row.of)
    except (GeometryError, KeyError):
        seat = Seat(None, None)
    size = row.moved.drift
    fits: list[tuple[Cause, float | None]] = []
    for cause, lever in drift.levers(row.what, row.lash_at, seat).items():
        way = (cause in (Cause.SINKS, Cause.SETTLES)) == drift.closes(row.what, size)
        if way and row.has_moved:
            fits.append((cause, None if lever is None else size / lever))
    then, now = (_tip(tips, run) for run in (row.before.fact.run, row.run))
    tip = None if then is None or now is None else drift.moved(then, now)
    return row._replace(seat=seat, fits=tuple(fits), tip=tip, tip_lacks=tip is None)


def _tip(tips: Lines, run: float) -> Reading | None:
    """Return the stem tip's height as it was read at a visit or at assembly."""
    roles = tips.get(run, {})
    stood = roles.get(FOUND) or roles.get(LEFT)
    return None if stood is None else stood.reading


def _together(rows: Sequence[Visited]) -> Iterator[Visited]:
    """Yield what was found with what the valves of one cylinder have in common."""
    alike: dict[tuple[str, float, str], dict[str, tuple[float, float]]] = {}
    for row in rows:
        movement = at_pushrod(row)
        if movement is not None:
            alike.setdefault(_group(row), {})[row.of] = movement
    for row in rows:
        group = alike.get(_group(row), {})
        yield row._replace(together=drift.shared(group)) if len(group) > 1 and row.of in group else row


def _group(row: Visited) -> tuple[str, float, str]:
    return row.of.rpartition(".")[0], row.run, row.since


def at_pushrod(row: Visited) -> tuple[float, float] | None:
    """Return how far the pushrod's end moved, positive closing, and its standard uncertainty [mm].

    What the stem tip's height tells of the seat is taken off where it was read at both.
    """
    if row.seat is None or row.moved is None or row.moved.standard is None:
        return None
    factor = drift.at_pushrod(row.what, row.lash_at, row.seat)
    if factor is None:
        return None
    move, standard = factor * row.moved.drift, abs(factor) * row.moved.standard
    if row.tip is None or row.tip.standard is None or row.seat.ratio is None:
        return move, standard
    seat = row.seat.along / row.seat.ratio
    return move - row.tip.drift * seat, math.hypot(standard, row.tip.standard * seat)


def _rates(
    plan: Plan, what: str, of: str, lines: Lines, changed: Sequence[Fact], rows: Sequence[Visited]
) -> Iterator[Rate]:
    """Yield how fast one setting drifts, where there are visits enough to ask."""
    last_change = max((fact.run for fact in changed), default=-1.0)
    since = [row for row in rows if row.run > last_change]
    if not since or plan.job.names["trains"].count(of) == 0:
        return
    first, *later = since
    drifts = [row for row in later if row.moved is not None]
    if len(drifts) < LEAST:
        return
    readings = {run: lines[run] for run in (first.run, *(row.run for row in later))}
    seen, now, why = _seen(plan, of, readings)
    found = None if why else trend(seen)
    if found is None or now is None:
        yield Rate(
            what, of, len(drifts), None, None, None, why or "no setting was read twice", rows[-1].distance
        )
        return
    limit = _limit(plan, what, of, rows[-1], found.rate)
    keeps = (
        limit is not None
        and (limit - now.value) * found.rate > 0
        and Standing.MISSES not in (rows[-1].found_stands, rows[-1].left_stands)
        and not any(row.is_open for row in rows)
    )
    until = further(found, seen, now, limit) if keeps and limit is not None else None
    yield Rate(what, of, len(drifts), found, until, limit, "", rows[-1].distance)


def _limit(plan: Plan, what: str, of: str, row: Visited, rate: float) -> float | None:
    """Return the limit that a setting drifts to [mm]: cold, or where heat takes more of it, that."""
    if rate > 0:
        return row.plan.most
    hot = plan.hot_least(of)
    known = [one for one in (row.plan.least, hot) if one is not None]
    return max(known, default=None)


def _seen(plan: Plan, of: str, lines: Mapping[float, Roles]) -> tuple[list[Sighting], Sighting | None, str]:
    """Return every reading of a setting from the first visit on, how it stands now, and why no line is laid, or nothing."""
    per_kelvin = plan.by_heat(of)
    seen: list[Sighting] = []
    now: Sighting | None = None
    setting, cold = 0, None
    for run, roles in lines.items():
        found, left = roles.get(FOUND), roles.get(LEFT)
        kept = left is not None and left.fact.state == KEPT and found is not None and found.fact == left.fact
        for role, stood in ((FOUND, None if run == min(lines) and not kept else found), (LEFT, left)):
            if stood is None or (role == LEFT and kept):
                continue
            if stood.reading is None or stood.reading.doubt is None:
                return [], None, "a reading has no +/-"
            heat = stood.reading.heat
            cold = heat if cold is None else cold
            apart = drift.MOST_K if heat is None or cold is None else heat - cold
            if per_kelvin is None and heat is not None and abs(apart) > drift.MOST_K:
                return [], None, "it was not read at the same heat"
            off = 0.0 if per_kelvin is None else per_kelvin * apart
            standard = math.hypot(stood.reading.doubt.standard, Doubt(abs(off)).standard)
            value = stood.reading.value - (off if heat is not None else 0.0)
            if role == LEFT:
                setting += 1
            now = Sighting(run, value, standard, setting)
            seen.append(now)
        if left is None:
            setting += 1  # nobody knows how it was left: what is found next is of another
    return seen, now, ""
