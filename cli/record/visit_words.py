"""What visits found and left, in words and for JSON: what moved stands first, with what would fit it and what to do.

Readings of a setting alone never say which part moved: nothing here is surer of that than that it fits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from tallstack.geometry.core.answer import CYLINDER
from tallstack.geometry.sure.drift import MOST_K, Cause, closes
from tallstack.geometry.sure.planned import Standing

from ..job.contradicted import LOOK_AGAIN
from ..job.reading.values import UNITS, Dimension
from ..page.model import Block, Cell, Column, Heading, Length, Row, Table, Words
from ..page.wording import decimals, length, number, steady
from .record_words import WORDS, signed_by
from .recordkinds import KEPT, TIP_HEIGHT, kinds
from .visits import ASSEMBLY, Day, Rate, Stood, Visited, Visits, at_pushrod

CLOSED, OPENED, MORE, LESS = "CLOSED", "OPENED", "MORE", "LESS"
SAME, UNSURE, NOT_COMPARED = "NO CHANGE SHOWN", "NOT JUDGED", "NOT COMPARED"
MEANS = {
    CLOSED: "less room in the valve gear than it was left with, by more than the +/- of both readings",
    OPENED: "more room in the valve gear than it was left with, by more than the +/- of both readings",
    MORE: "more than it was left with, by more than the +/- of both readings",
    LESS: "less than it was left with, by more than the +/- of both readings",
    SAME: "no change that these readings can show",
    UNSURE: "a reading has no +/-, or one so wide that it tells nothing",
    NOT_COMPARED: "nothing can be said of what moved",
}
CAUSES = {
    Cause.SINKS: "the seat sunk or the valve stretched",
    Cause.SETTLES: "head and cylinder settled",
    Cause.TIP_WEARS: "stem tip or rocker's pad worn",
    Cause.GEAR_WEARS: "pushrod's ends, cups, lifter or the lobe's heel worn",
}
HEADS = ("before", "found", "moved", "left")
READ_TIP = f'the stem tip\'s height over the spring seat, at both visits (--figure "{TIP_HEIGHT} = ...")'
RESET = "set it anew, look at that seat, the exhaust's first, and read it again after half the distance"
TWICE = "the second time the same way: a leak-down check, and the stem tip's height"
LOOK = "look at the lobe, the lifter's roller or foot and the lock nut before it is set anew"
RETORQUE = "tighten the head anew if the gasket's maker asks for it, then set the valves anew"
BESIDE = (
    "On a cold engine, its crank turned by hand to where that valve is closed; take a spring's load and a filled lifter's "
    "pressure off first. Which clearance, when and how tight: the engine maker's manual comes first."
)
BY_HEAT, BY_OPTION = "write down with both how cold the engine was", ", --temperature"
THOUSAND = 1000.0
SHOWS = 0.005  # mm


def word_of(row: Visited) -> str:
    """Return how a thing moved since it was left."""
    if row.moved is None:
        return NOT_COMPARED
    if row.moved.expanded is None or row.is_apart:
        return UNSURE
    if not row.moved.is_shown:
        return SAME
    if row.is_setting:
        return CLOSED if closes(row.what, row.moved.drift) else OPENED
    return MORE if row.moved.drift > 0 else LESS


def name(row: Visited) -> str:
    """Return what was read, of what."""
    return f"{row.of.replace('.', ' ')}, {row.what}"


def stopping(found: Visits, units: str) -> list[str]:
    """Return what misses a limit at the last visit, and what moved, in sentences: what was left first."""
    latest = found.standing
    missed = [
        f"{WORDS[Standing.MISSES]}: {name(row)} {_which(row)} at {row.distance}{f': {row.now}' if row.now else ''}"
        f"{_since(row)}"
        for row in latest
        if row.stands is Standing.MISSES
    ]
    beyond = [
        f"{WORDS[row.left_stands]}: {name(row)} left at {row.distance}"
        for row in latest
        if row.left_stands in (Standing.BEYOND, Standing.OFF)
    ]
    moved = [
        f"{LOOK_AGAIN}: {said(row, units)}{_since(row)}" for row in latest if row.has_moved or row.is_apart
    ]
    twice = [f"{LOOK_AGAIN}: {one}" for row in latest for one in _otherwise(row)]
    return [*missed, *beyond, *moved, *twice, *map(_of_day, found.days)]


def _since(row: Visited) -> str:
    """Return that what a visit found still stands, or nothing."""
    return "; nothing is written down as left since" if row.is_open else ""


def _otherwise(row: Visited) -> Iterator[str]:
    """Yield what a thing was found with too at the same visit, and what to do about it."""
    if not row.otherwise or row.found is None:
        return
    each = [f"{one.fact.typed} (line {one.fact.number})" for one in (*row.otherwise, row.found)]
    yield (
        f"{name(row)} found more than once at {row.distance}, {', '.join(each[:-1])} and {each[-1]}, further apart than the "
        "readings explain; the last counts: withdraw what is wrong"
    )


def _of_day(one: Day) -> str:
    return (
        f"{LOOK_AGAIN}: the visit at {one.distance} is dated {one.day}, after that at {one.further}, {one.further_day}: "
        "which distance or day is right? What moved goes by distance"
    )


def watching(found: Visits) -> list[str]:
    """Return what was found to miss a limit and is set right, what is tight, and what nothing can be said of."""
    told = []
    for row in found.standing:
        at = f"{name(row)} at {row.distance}"
        if row.found_stands is Standing.MISSES and row.stands is not Standing.MISSES:
            told.append(f"{at}: found past its limit, and left within it")
        if row.stands in (Standing.TIGHT, Standing.UNJUDGED):
            told.append(f"{WORDS[row.stands]}: {at}")
        if row.read_again:
            told.append(f"{LOOK_AGAIN}: {at}: {row.read_again}")
        if _is_out_of_order(row):
            told.append(f"{LOOK_AGAIN}: {at}: what it is held against was written down for a later day")
        if row.refused and row.is_setting:
            told.append(f"{NOT_COMPARED}: {at}: {row.refused}")
        elif row.moved is not None and row.moved.expanded is None and not row.is_apart:
            told.append(f"{UNSURE}: {at}: {MEANS[UNSURE]}")
    return told


def misses(found: Visits, strict: bool = False) -> bool:
    """Say whether anything misses a limit at the last visit, or moved; strict : what cannot be said counts too."""
    doubtful = (Standing.TIGHT, Standing.UNJUDGED) if strict else ()
    ended = (Standing.MISSES, Standing.BEYOND, Standing.OFF, *doubtful)
    return (strict and bool(found.days)) or any(
        row.stands in ended
        or row.has_moved
        or row.is_apart
        or bool(row.otherwise)
        or (strict and row.is_setting and word_of(row) in (UNSURE, NOT_COMPARED))
        for row in found.standing
    )


def _is_out_of_order(row: Visited) -> bool:
    """Say whether what was read at assembly is dated after what is held against it; visits are told of all together."""
    if row.before is None or row.found is None or row.since != ASSEMBLY:
        return False
    days = (datetime.fromisoformat(one.fact.when).date() for one in (row.before, row.found))
    return next(days) > next(days)


def _which(row: Visited) -> str:
    return "left" if row.left is not None else "found"


def said(row: Visited, units: str, option: str = BY_OPTION) -> str:
    """Return in a sentence by how much a thing moved; option : of the command line that would help, where it is one."""
    since = "assembly" if row.since == ASSEMBLY else row.since
    return f"{name(row)} {by(row, units, option)} between {since} and {row.distance}"


def by(row: Visited, units: str, option: str = BY_OPTION) -> str:
    """Return by how much a thing moved, in words; option : as in `said`."""
    moved = row.moved
    assert moved is not None
    word = word_of(row)
    if word == SAME:
        hidden = length(abs(moved.drift) + (moved.expanded or 0.0), units, moved.expanded or 0.0)
        return f"{MEANS[SAME]}; as much as {hidden} may be hidden in them"
    if moved.is_hidden_by_heat:
        sizes = (moved.drift, moved.by_readings or 0.0, moved.expanded or 0.0)
        apart, own, whole = _apart_in_digits([abs(one) for one in sizes], units)
        return (
            f"{apart} {units} apart, more than the +/- {own} of both readings; with what heat may have done it is +/- {whole}, "
            f"so it cannot be judged ({BY_HEAT + option if moved.kelvin is None else 'read it as cold as then'}),"
        )
    if moved.expanded is None or moved.is_apart:
        off = moved.expanded or 0.0
        return (
            f"{number(abs(moved.drift), units, off)} {units} apart, which cannot be judged ({MEANS[UNSURE]}),"
        )
    size, doubt = abs(moved.drift), moved.expanded
    verb = {CLOSED: "closed by", OPENED: "opened by", MORE: "more by", LESS: "less by"}[word]
    return f"{verb} {_in_digits(size, doubt, units)}"


def _in_digits(size: float, doubt: float, units: str) -> str:
    """Return a length with its doubt in one unit, to the digits that the doubt supports, and that show which is more."""
    shown = _apart_in_digits((size, doubt), units)
    return f"{shown[0]} +/- {shown[1]} {units}"


def _apart_in_digits(sizes: Sequence[float], units: str) -> list[str]:
    """Return sizes to the digits that the second of them supports, a doubt, and that show which is more."""
    size, doubt, *_ = sizes
    shown = [number(one, units, doubt) for one in sizes]
    if size > doubt and len(set(shown)) < len(shown):
        scale, places = (1.0, 3) if units == "mm" else (25.4, 4)
        shown = [f"{steady(one / scale):.{places}f}" for one in sizes]
    return shown


def visit_blocks(found: Visits, units: str, is_full: bool = True) -> list[Block]:
    """Return what visits found and left: a row for each, and what stands behind it."""
    rows = found.rows if is_full else found.shown
    if not rows:
        return []
    columns = (
        Column(f"found and left since ({units})", 30),
        *(Column(head, 8, right=True) for head in HEADS),
        Column(),
    )
    lines: list[Row | Words] = []
    for place, row in enumerate(rows):
        if not place or rows[place - 1].run != row.run:
            lines.append(Words(f"at {row.distance}", 1))
        lines.append(Row((*cells(row, units, "-"), word_of(row)), 2))
    blocks: list[Block] = [Table(columns, tuple(lines), 0)]
    blocks += [Words(one, 1) for one in meanings(rows)]
    if is_full:
        blocks += [block for row in rows for block in _behind(row, units)]
    else:
        given: dict[str, list[str]] = {}
        for row in filter(_is_seen, rows):
            for one in _heat(row, units):
                given.setdefault(one, []).append(name(row))
        blocks += [Words(f"{'; '.join(of)}: {one}", 1) for one, of in given.items()]
        told = dict.fromkeys(one for row in rows if row.has_moved for one in to_do(row))
        blocks += [Words(f"{one[0].upper()}{one[1:]}.", 1) for one in told]
    blocks += [Words(one, 1) for rate in found.rates for one in rate_words(rate, units)]
    if any(row.has_moved for row in rows):
        blocks.append(Words(BESIDE, 1))
    return blocks


def cells(row: Visited, units: str, absent: str) -> tuple[Cell, ...]:
    """Return what a thing is, how it was left before, found, how far it moved, and how it was left."""
    moved = row.moved
    return (
        name(row),
        _cell(row.before, units) or absent,
        _cell(row.found, units) or absent,
        absent
        if moved is None
        else Length(moved.drift, moved.expanded or 0.0, units, bare=True, signed=True),
        _cell(row.left, units) or absent,
    )


def meanings(rows: Sequence[Visited]) -> list[str]:
    """Return what the words of a list mean."""
    there = {word_of(row) for row in rows}
    return [f"{one}: {told}" for one, told in MEANS.items() if one in there]


def _cell(stood: Stood | None, units: str) -> Cell | None:
    if stood is None:
        return None
    if stood.reading is None:
        return stood.fact.typed
    doubt = stood.reading.doubt
    return Length(stood.reading.value, 0.0 if doubt is None else 2.0 * doubt.standard, units, bare=True)


def _behind(row: Visited, units: str) -> list[Block]:
    """Return what stands behind one row: who read what, what would fit it, what would tell, what to do."""
    told = list(_signed(row, units))
    told += [one for one in (row.read_again, row.now) if one]
    if row.refused:
        told.append(row.refused)
    elif row.moved is not None:
        told.append(f"{by(row, units)}, since {row.since}")
        told += _heat(row, units)
    told += _otherwise(row)
    if row.found_stands is not None and row.found_stands is not Standing.UNPLANNED:
        told.append(f"found: {WORDS[row.found_stands]}")
    if (
        row.left_stands is not None
        and row.left is not row.found
        and row.left_stands is not Standing.UNPLANNED
    ):
        told.append(f"left: {WORDS[row.left_stands]}")
    if row.has_moved and row.is_setting:
        told += fit_words(row, units)
        told += [f"to do: {one}" for one in to_do(row)]
    return [Heading(f"{name(row)}, {row.distance}: {word_of(row)}"), *(Words(one, 1) for one in told)]


def _signed(row: Visited, units: str) -> Iterator[str]:
    """Yield what was written down of a row, and by whom."""
    done = set()
    for what, stood in (("found", row.found), ("left", row.left)):
        if stood is None or stood.fact.number in done:
            continue
        done.add(stood.fact.number)
        state = KEPT if stood.fact.state == KEPT else what
        shown = stood.fact.typed
        if stood.fact.what != row.what and stood.reading is not None:
            shown = f"{stood.fact.what} {shown} to zero lash, worth {length(stood.reading.value, units)}"
        yield f"{state} {shown}; {signed_by(stood.fact)}"


def _heat(row: Visited, units: str) -> Iterator[str]:
    """Yield what heat did to the setting, or that it is taken to have done nothing."""
    moved = row.moved
    if moved is None or not row.is_setting:
        return
    if moved.by_heat:
        apart = moved.kelvin or 0.0
        way = "warmer" if apart > 0 else "colder"
        yield f"{length(moved.by_heat, units)} of the difference is heat's, the engine {abs(apart):.0f} K {way}: taken off"
    elif moved.kelvin is None and moved.by_readings is not None and moved.by_readings != moved.expanded:
        yield (
            f"no temperature is written down for both: with what up to {MOST_K:.0f} K do to it, +/- "
            f"{length(moved.expanded or 0.0, units, moved.by_readings)} in place of {length(moved.by_readings, units)}"
        )
    elif moved.kelvin is None:
        yield "given: the engine was as cold as when it was left; no temperature is written down for both"
    elif moved.kelvin:
        yield f"given: the {abs(moved.kelvin):.0f} K between the two cold engines did nothing to it"


def _is_seen(row: Visited) -> bool:
    """Say whether what heat did, or is given to have done, shows in the digits."""
    moved = row.moved
    return moved is not None and (moved.by_heat is None or abs(moved.by_heat) >= SHOWS)


def fit_words(row: Visited, units: str) -> Iterator[str]:
    """Yield what would fit a drift, what the valves of a cylinder have in common, and which reading would tell."""
    if row.moved is None or row.moved.expanded is None:
        return
    doubt = row.moved.expanded
    alone = [
        f"{CAUSES[cause]} by {number(size, units, doubt)} {units}"
        if size is not None
        else f"{CAUSES[cause]} (by how much: {_lacking(row)})"
        for cause, size in row.fits
    ]
    yield f"any of these alone fits: {'; '.join([*alone, 'a slipped adjuster'])}. Readings of the setting do not tell which"
    if row.seat is not None and row.seat.nominal:
        yield "the rocker's ratio is one number for all of the lift: near the seat it may be another"
    yield from _in_common(row, units)
    yield from _tip_tells(row, units)


def _lacking(row: Visited) -> str:
    ratio = row.seat is None or row.seat.ratio is None
    return f"it lacks {row.of}.rocker.ratio" if ratio else "the pushrod's lean is not known"


def _in_common(row: Visited, units: str) -> Iterator[str]:
    """Yield what the valves of a cylinder have in common, and what this one has alone."""
    if row.together is None:
        return
    common, own = row.together.common, row.together.own[row.of]
    cylinder = row.of.rpartition(".")[0]
    doubt = own.expanded
    tips = "apart from what stem tips' heights tell, " if row.tip is not None else ""
    if common > 0:
        cosine = (row.seat.cosine if row.seat is not None else None) or 1.0
        yield (
            f"{tips}{number(common, units, doubt)} {units} of it at the pushrod, which all valves of {cylinder} read here "
            f"have in common, MAY be head and cylinder settling, by {number(common / cosine, units, doubt)} {units}"
        )
    elif common < 0:
        yield (
            f"{tips}{number(-common, units, doubt)} {units} of it at the pushrod is common to all valves of {cylinder} read "
            "here; a stack that settles closes, so that is no settling"
        )
    else:
        yield f"{tips}the valves of {cylinder} read here have nothing in common that these readings show"
    if own.is_shown and common:
        yield f"{_in_digits(abs(own.rest), doubt, units)} at the pushrod it has alone: that is this valve's gear"
    elif common:
        yield "what it has alone is less than these readings can show"


def _tip_tells(row: Visited, units: str) -> Iterator[str]:
    """Yield what the stem tip's height tells of the seat, or that it would."""
    if row.tip_lacks or row.tip is None or row.tip.expanded is None:
        yield f"what would tell: {READ_TIP}"
        return
    tip = row.tip
    if not tip.is_shown:
        yield "the stem tip's height shows no change: nothing that these readings show is the seat's or the stem tip's"
    else:
        way = "higher: the seat sunk or the valve stretched" if tip.drift > 0 else "lower: the stem tip worn"
        assert tip.expanded is not None
        yield f"the stem tip stands {_in_digits(abs(tip.drift), tip.expanded, units)} {way}, as its height tells"
    rest = at_pushrod(row)
    if rest is None:
        return
    move, off = rest[0], 2.0 * rest[1]
    if abs(move) <= off:
        yield "that leaves nothing that these readings can show"
    else:
        what = (
            "MAY be settling, where the other valves show it too"
            if move > 0
            else "fits wear of pushrod, lifter or heel"
        )
        yield f"that leaves {_in_digits(abs(move), off, units)} at the pushrod, which {what}"


def to_do(row: Visited) -> list[str]:
    """Return what to do about a setting that moved."""
    if not row.is_setting or not row.has_moved:
        return []
    if word_of(row) == OPENED:
        return [LOOK, *([TWICE] if row.again else [])]
    alike = row.together is not None and row.together.is_alike and row.together.common > 0
    return [RETORQUE if alike else RESET, *([TWICE] if row.again else [])]


def rate_words(rate: Rate, units: str) -> Iterator[str]:
    """Yield how fast a setting drifts, and how much further until its limit."""
    what = f"{rate.of.replace('.', ' ')}, {rate.what}"
    found = rate.trend
    if found is None:
        yield f"{what}: no rate is told: {rate.why}"
        return
    if not found.is_even:
        yield f"{what}: no rate is told: what it moved by from visit to visit does not lie on a line"
        return
    if not found.is_shown:
        yield f"{what}: over {rate.visits} visits after the first no rate that these readings can show"
        return
    scale, unit = _scale(rate)
    per, off = found.rate * scale * THOUSAND, found.expanded * scale * THOUSAND
    yield (
        f"{what}: over {rate.visits} visits after the first it drifts by {_signed_in(per, off, units)} "
        f"in 1,000 {unit}"
    )
    if rate.until is not None:
        least, most = _rounded(rate.until[0] / scale), _rounded(rate.until[1] / scale, up=True)
        yield f"{what}: fine today; at this rate {least:,} to {most:,} {unit} more until it is not"


def _signed_in(value: float, doubt: float, units: str) -> str:
    finer = 1 + decimals(doubt if units == "mm" else doubt / 25.4, 4)
    places = min(4, finer)
    scale = 1.0 if units == "mm" else 25.4
    return f"{value / scale:+.{places}f} +/- {doubt / scale:.{places}f} {units}"


def _scale(rate: Rate) -> tuple[float, str]:
    """Return the km in one of the unit in which distances were typed, and that unit."""
    if "km" in rate.distance.lower():
        return 1.0, "km"
    return float(UNITS[Dimension.DISTANCE]["mile"]), "miles"


def _rounded(distance: float, up: bool = False) -> int:
    """Return a distance to two digits, the lesser or the greater."""
    size: int = max(1, 10 ** (len(str(int(distance))) - 2))
    return size * (math.ceil if up else math.floor)(steady(distance / size))


def visit_row(row: Visited) -> dict[str, Any]:
    """Return one thing at one visit for JSON."""
    of = "cylinder" if kinds()[row.what].of == CYLINDER else "train"
    moved, tip = row.moved, row.tip
    group = row.together
    return {
        "what": row.what.replace(" ", "_"),
        of: row.of,
        "as": row.lash_at or None,
        "distance": row.distance,
        "distance_km": row.run,
        "since": row.since or None,
        "left_before_mm": _mm(row.before),
        "found_mm": _mm(row.found),
        "left_mm": _mm(row.left),
        "found_otherwise_mm": [_mm(one) for one in row.otherwise],
        "is_open": row.is_open,
        "moved_mm": None if moved is None else moved.drift,
        "moved_doubt_mm": None if moved is None else moved.expanded,
        "by_heat_mm": None if moved is None else moved.by_heat,
        "warmer_k": None if moved is None else moved.kelvin,
        "verdict": word_of(row).lower().replace(" ", "_"),
        "found_verdict": None if row.found_stands is None else row.found_stands.value,
        "left_verdict": None if row.left_stands is None else row.left_stands.value,
        "least_mm": row.plan.least,
        "most_mm": row.plan.most,
        "is_latest": row.is_latest,
        "why": row.refused,
        "read_again": row.read_again,
        "ratio_at_seat": None if row.seat is None else row.seat.ratio,
        "fits": [{"cause": cause.value, "by_mm": size} for cause, size in row.fits],
        "in_common_at_pushrod_mm": None if group is None else group.common,
        "alone_at_pushrod_mm": None if group is None else group.own[row.of].rest,
        "alone_doubt_mm": None if group is None else group.own[row.of].expanded,
        "tip_higher_mm": None if tip is None else tip.drift,
        "tip_higher_doubt_mm": None if tip is None else tip.expanded,
        "to_do": to_do(row),
        "lines": sorted({one.fact.number for one in (row.before, row.found, row.left) if one is not None}),
    }


def rate_row(rate: Rate) -> dict[str, Any]:
    """Return how fast one setting drifts, for JSON."""
    found = rate.trend
    return {
        "what": rate.what,
        "train": rate.of,
        "visits_after_the_first": rate.visits,
        "mm_per_1000_km": None if found is None else found.rate * THOUSAND,
        "doubt_mm_per_1000_km": None if found is None else found.expanded * THOUSAND,
        "is_even": None if found is None else found.is_even,
        "is_shown": None if found is None else found.is_shown,
        "limit_mm": rate.toward,
        "until_limit_km": None if rate.until is None else list(rate.until),
        "why": rate.why,
    }


def _mm(stood: Stood | None) -> float | None:
    return None if stood is None or stood.reading is None else stood.reading.value
