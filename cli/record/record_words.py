"""Plan against as-built, in words and for JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from tallstack.geometry.core.answer import CYLINDER
from tallstack.geometry.sure.planned import Standing

from ..job.contents import Entry
from ..job.contradicted import LOOK_AGAIN
from ..job.entries.fields import Kind
from ..job.reading.values import Dimension, Value
from ..job.unusual.unusual import unusual_value
from ..page.model import Block, Cell, Column, Form, Heading, Length, Number, Row, Table, Words
from ..page.wording import decimals, length, number, whose
from .as_built import Compared
from .recordfile import Fact, standing
from .recordkinds import CHANGED, FOUND, LIFT, NOTE, SHELF, TEMPERATURE, WITHDRAWN, kinds

WORDS = {
    Standing.AS_PLANNED: "AS PLANNED",
    Standing.BEYOND: "BEYOND THE DOUBT",
    Standing.OFF: "NOT AS PLANNED",
    Standing.MISSES: "LIMIT MISSED",
    Standing.TIGHT: "TIGHT",
    Standing.WITHIN: "WITHIN LIMITS",
    Standing.UNJUDGED: "NOT JUDGED",
    Standing.UNPLANNED: "NOT PLANNED",
    Standing.OPEN: "not recorded yet",
}
MEANS = {
    Standing.AS_PLANNED: "no further from the plan than the +/- of both explain",
    Standing.BEYOND: "further from the plan than the +/- of both explain",
    Standing.OFF: "no limit is missed, but it gives another setting than is wanted, and nothing turns it right",
    Standing.MISSES: "a limit is missed",
    Standing.TIGHT: "within its limits, but by less than its own +/-",
    Standing.WITHIN: "by more than its own +/-; nothing else is planned of it",
    Standing.UNJUDGED: "one side has no +/-, or one so wide that it tells nothing",
}
NOTHING = "Nothing is planned that could be worked out, and nothing is recorded yet."
DEGREES = 180 / math.pi
TURNED = ("turns", "flats")
BACK = "turns and flats below nought: back from zero lash, which makes room"
BARE = "what was recorded has no +/-"
LEFT_OUT = 4  # entries without a +/- that are named


def standing_out(rows: Sequence[Compared]) -> list[str]:
    """Return what was recorded and misses a limit or its plan, in sentences."""
    return [
        f"{word_of(row)}: {row.of.replace('.', ' ')}, {row.what}{_now(row)}" for row in rows if row.is_missed
    ]


def _now(row: Compared) -> str:
    """Return what something is now, where that is another than was read."""
    told = "; ".join(one for one in (row.since, _again(row).removeprefix(": ")) if one)
    return f": {told}" if told else ""


def unsure(rows: Sequence[Compared]) -> list[str]:
    """Return what was recorded and is met by less than its doubt, or cannot be judged, in sentences."""
    return [
        f"{word_of(row)}: {row.of.replace('.', ' ')}, {row.what}{_again(row) or _bare(row)}"
        for row in rows
        if row.standing in (Standing.TIGHT, Standing.UNJUDGED) and row.fact is not None and not row.is_missed
    ]


def _bare(row: Compared) -> str:
    return f": {BARE}" if row.standing is Standing.UNJUDGED and row.built_doubt is None else ""


def _again(row: Compared) -> str:
    """Return why something is to be read again; what contradicts the entries is told of them."""
    return f": {row.look_again[-1]}" if row.look_again and kinds()[row.what].least is not None else ""


def still_open(rows: Sequence[Compared]) -> list[str]:
    """Return what is planned and not recorded yet, alike things together."""
    alike: dict[str, list[str]] = {}
    for row in rows:
        if row.fact is None:
            alike.setdefault(row.of, []).append(row.what)
    same: dict[str, list[str]] = {}
    for of, whats in alike.items():
        same.setdefault(", ".join(whats), []).append(of.replace(".", " "))
    return [f"{', '.join(names)}: {whats}" for whats, names in same.items()]


def brief_blocks(rows: Sequence[Compared], units: str) -> list[Block]:
    """Return for one screen a row for each thing that was recorded, and what their words mean."""
    recorded = [row for row in rows if row.fact is not None]
    if not recorded:
        return [] if rows else [Words(NOTHING)]
    means = (Words(one, 1) for one in meanings(recorded) if not one.startswith(WORDS[Standing.AS_PLANNED]))
    now = (
        Words(f"{row.of.replace('.', ' ')}, {row.what}{_now(row)}", 1)
        for row in recorded
        if row.since and not row.is_missed
    )
    return [_table(recorded, units), *now, *means]


def compared_blocks(rows: Sequence[Compared], units: str) -> list[Block]:
    """Return one row for each thing, in the job's units, and under the table what stands behind each."""
    if not rows:
        return [Words(NOTHING)]
    behind = [block for row in rows if row.fact is not None for block in _behind(row, units)]
    return [_table(rows, units), *(Words(one, 1) for one in meanings(rows)), *behind]


def _table(rows: Sequence[Compared], units: str) -> Table:
    columns = (
        Column(f"lengths ({units})", 32),
        *(
            Column("planned", 10, right=True),
            Column("as built", 10, right=True),
            Column("differs", 9, right=True),
        ),
        Column(),
    )
    return Table(columns, tuple(Row((*cells(row, units, "-"), word_of(row)), 1) for row in rows), 0)


def cells(row: Compared, units: str, absent: str) -> tuple[Cell, ...]:
    """Return what a thing is, its plan, as it was built, and how far they differ; absent : what stands for none."""
    return (
        f"{row.of.replace('.', ' ')}, {row.what}",
        _cell(row, row.plan.value, units, row.plan.doubt) or absent,
        _cell(row, row.built, units, row.built_doubt) or absent,
        _cell(row, row.difference, units, None, signed=True) or absent,
    )


def doubts(row: Compared, units: str) -> tuple[Cell | None, Cell | None]:
    """Return how sure the plan is and how sure what was recorded, None where that is not known or is nothing."""
    plan, built = row.plan.doubt or None, row.built_doubt or None
    return _cell(row, plan, units, plan), _cell(row, built, units, built)


def unit_of(what: str, units: str) -> str:
    """Return the unit of a bare number of a thing, nothing where it has none."""
    return {Dimension.LENGTH: units, Dimension.ANGLE: "deg"}.get(_dimension(what), "")


def word_of(row: Compared) -> str:
    """Return how a thing stands against its plan, as every list of them says it."""
    if row.look_again and row.standing is Standing.UNJUDGED:
        return LOOK_AGAIN
    return WORDS[row.standing]


def meanings(rows: Sequence[Compared]) -> list[str]:
    """Return what the words of a list mean."""
    there = {row.standing for row in rows if word_of(row) == WORDS[row.standing]}
    back = any((one or 0.0) < 0 for row in rows if row.what in TURNED for one in (row.plan.value, row.built))
    return [
        *([BACK] if back else []),
        *(f"{WORDS[one]}: {told}" for one, told in MEANS.items() if one in there),
    ]


def _cell(
    row: Compared, value: float | None, units: str, doubt: float | None, signed: bool = False
) -> Length | Number | None:
    """Return a number in the job's units; None where there is none."""
    if value is None:
        return None
    dimension = _dimension(row.what)
    if dimension is Dimension.LENGTH:
        return Length(value, doubt or 0.0, units, bare=True, signed=signed)
    if dimension is Dimension.ANGLE:
        return Number(value * DEGREES, 1, signed=signed)
    return Number(value, decimals(doubt or 0.0, 2) if row.what in ("turns", "flats") else 0, signed=signed)


def _behind(row: Compared, units: str) -> list[Block]:
    """Return what stands behind one row of the table: both values with their doubts, limits, who and when."""
    title = f"{row.of.replace('.', ' ')}, {row.what}{as_read(row.what, row.convention)}: {word_of(row)}"
    return [Heading(title), *(Words(one, 1) for one in behind(row, units))]


def behind(row: Compared, units: str) -> list[str]:
    """Return what stands behind one row in sentences: what was recorded, if anything, its plan, its limits, and why."""
    fact, told = row.fact, [planned(row, units), _limits(row, units)]
    if fact is None:
        return [*(one for one in told if one), *(row.look_again[-1:])]
    built = f"recorded {fact.typed}"
    if fact.value is not None and _dimension(row.what) is Dimension.LENGTH:
        other = "mm" if "mm" not in fact.typed else "in"
        built += f" = {number(fact.value.number, other, row.built_doubt or 0.0)} {other}"
    told.insert(0, f"{built}; {signed_by(fact)}")
    if row.told:
        told.append(f"nothing turns it right here: it {row.told}")
    if row.standing is Standing.UNJUDGED:
        told.append(_unjudged(row))
    if row.look_again and row.standing is not Standing.UNJUDGED and kinds()[row.what].least is not None:
        told.append(row.look_again[-1])
    if row.since:
        told.append(row.since)
    if fact.note:
        told.append(f"note: {fact.note}")
    return [one for one in told if one]


def planned(row: Compared, units: str) -> str:
    """Return the plan of one thing with its doubt, or why there is none, in words."""
    plan = row.plan
    if plan.value is None:
        if plan.why:
            return f"no plan to hold it against: {plan.why}"
        if plan.lacks:
            return f"no plan to hold it against: it lacks {', '.join(plan.lacks)}"
        if plan.least is None and plan.most is None:
            return "no plan to hold it against"
        return "anywhere between the limits will do"
    if _dimension(row.what) is not Dimension.LENGTH:
        doubt = f" +/- {plan.doubt:.2f}" if plan.doubt else ""
        shown = _cell(row, plan.value, units, plan.doubt)
        assert shown is not None
        return f"planned {shown.shown()}{doubt} {row.what}"
    text = f"planned {length(plan.value, units, plan.doubt or 0.0)}"
    return f"{text} +/- {length(plan.doubt, units, plan.doubt)}" if plan.doubt else text


def _limits(row: Compared, units: str) -> str:
    plan = row.plan
    ends = [
        f"{word} {_limit(row, end, units)}{f', {what},' if what else ''}"
        for word, end, what in (("at least", plan.least, ""), ("at most", plan.most, plan.most_is))
        if end is not None
    ]
    if not ends:
        return ""
    if row.standing is Standing.MISSES and row.built is not None and not row.told:
        judged = row.built if row.now is None else min(row.built, row.now)
        under = plan.least is not None and judged < plan.least
        edge = plan.least if under else plan.most
        off = abs(judged - (edge or 0.0))
        as_now = ", as it is now," if judged != row.built else ""
        ends.append(f"{'below' if under else 'above'} them{as_now} by {_limit(row, off, units)}")
    who = "; ".join(dict.fromkeys(whose(one) for one in plan.limits if not one.is_set))
    return f"limits: {', '.join(ends).rstrip(',')}{f'; {who}' if who and not plan.limits_are_set else ''}"


def _limit(row: Compared, value: float, units: str) -> str:
    return f"{value * DEGREES:z.1f} deg" if row.what == "crank" else length(value, units)


def _unjudged(row: Compared) -> str:
    """Return why a difference cannot be judged."""
    parts = list(row.look_again if kinds()[row.what].least is not None else ())
    if row.look_again and not parts:
        parts = ["something that was entered contradicts the plan"]
    parts += [BARE] if row.built_doubt is None else []
    if row.plan.doubt and row.built_doubt is not None and row.built_doubt > row.plan.doubt:
        parts.append("its own +/- is so wide that it tells nothing of how far it is off")
    parts += ["it stands further from the plan than the plan's own +/-"] if row.is_off else []
    if row.plan.value is not None and row.plan.doubt is None and not row.plan.undoubted:
        parts.append("how sure the plan is cannot be worked out")
    undoubted = row.plan.undoubted
    if undoubted and row.plan.value is not None:
        more = f" and {len(undoubted) - LEFT_OUT} more" if len(undoubted) > LEFT_OUT else ""
        parts.append(f"the plan rests on {', '.join(undoubted[:LEFT_OUT])}{more}, without a +/-")
    if row.plan.unknown:
        parts.append(f"a limit is not known without {', '.join(row.plan.unknown)}")
    return f"cannot be judged: {'; '.join(parts)}" if parts else ""


def unlikely(facts: Sequence[Fact]) -> tuple[str, ...]:
    """Return what is unusual about the facts that count: possibly a slip, possibly a rare engine.

    Little that was found at a visit, or that is no more than its own ±, is a finding and no slip of the unit.
    """
    told: dict[str, None] = {}
    for fact in standing(facts):
        line = f"line {fact.number} of the record"
        if fact.value is not None and not _is_little(fact):
            told |= _unusual(f"{line}: {fact.of} {fact.what}", fact.value, kinds()[fact.what].kind)
        if fact.heat is not None:  # of all that was read at one visit once
            told |= _unusual(
                f"the record: temperature at {fact.distance or 'assembly'}", fact.heat, TEMPERATURE
            )
        if fact.lift_value is not None:
            told |= _unusual(f"{line}: the lift at which {fact.what} was read", fact.lift_value, LIFT)
    return tuple(told)


def _unusual(called: str, value: Value, kind: Kind) -> dict[str, None]:
    if value.number == 0:
        return {}
    return dict.fromkeys(unusual_value(called, Entry(value.number, kind, value.typed, ()), value.number))


def _is_little(fact: Fact) -> bool:
    """Say whether a reading is so little that it is told by what it is held against."""
    usual = getattr(kinds()[fact.what].kind, "usual", None)
    if fact.value is None or usual is None or _dimension(fact.what) is not Dimension.LENGTH:
        return False
    doubt = fact.value.doubt
    is_nothing = doubt is not None and doubt.half_width >= abs(fact.value.number)
    return bool(fact.value.number < usual[0]) and (FOUND in fact.states or is_nothing)


def fact_words(facts: Sequence[Fact]) -> Iterator[Words]:
    """Yield the record as it stands, line by line; what no longer counts is marked."""
    counting = {fact.number for fact in standing(facts)}
    gone = {fact.withdraws for fact in facts}
    for fact in facts:
        text = f"{fact.number}. {said(fact)}; {signed_by(fact)}"
        if fact.note:
            text += f"; {fact.note}" if fact.what != NOTE else ""
        if fact.number in gone:
            text += " [WITHDRAWN]"
        elif fact.number not in counting and fact.what != WITHDRAWN:
            text += " [a later line counts]"
        yield Words(text, 1, Form.STEP)


def said(fact: Fact) -> str:
    """Return what one line of a record says."""
    where = f"{fact.of.replace('.', ' ')}, " if fact.of else ""
    if fact.what == NOTE:
        return f"{where}note: {fact.note}{_at_visit(fact)}"
    if fact.what == WITHDRAWN:
        return f"{where}line {fact.typed} ({fact.convention}) withdrawn"
    if fact.what == SHELF:
        return f"pushrods taken from {fact.typed}"
    if fact.what == CHANGED:
        return f"{where}{fact.typed} changed{_at_visit(fact)}"
    lift = f" at lift {fact.lift}" if fact.lift else ""
    return f"{where}{fact.what} {fact.typed}{as_read(fact.what, fact.convention)}{lift}{_at_visit(fact)}"


def _at_visit(fact: Fact) -> str:
    """Return at which visit a line was written, how the thing stood there, and how warm the engine was."""
    state = f" {fact.state}" if fact.state else ""
    heat = f", engine at {fact.temperature}" if fact.temperature else ""
    return f",{state} at {fact.distance}{heat}" if fact.distance else heat


def as_read(what: str, convention: str) -> str:
    """Return in which convention a length was read, or from where turns count, as it stands behind its name."""
    if not convention:
        return ""
    word = {"lash": " at the ", "turns": " from ", "flats": " from "}.get(what, " as ")
    return f"{word}{convention}"


def signed_by(fact: Fact) -> str:
    """Return when, by whom and with which tool."""
    parts = [fact.when.replace("T", " ", 1)]
    parts += [f"by {fact.by}"] if fact.by else []
    parts += [f"with {fact.tool}"] if fact.tool else []
    return ", ".join(parts)


def compared_row(row: Compared) -> dict[str, Any]:
    """Return one thing for JSON."""
    suffix, scale = _unit(row.what)
    plan, fact = row.plan, row.fact
    of = "cylinder" if kinds()[row.what].of == CYLINDER else "train"
    numbers = {
        "planned": plan.value,
        "planned_doubt": plan.doubt,
        "built": row.built,
        "built_doubt": row.built_doubt,
        "difference": row.difference,
        "now": row.now,
        "least": plan.least,
        "most": plan.most,
    }
    return {
        "what": row.what.replace(" ", "_"),
        of: row.of,
        "as": row.convention or None,
        **{f"{name}{suffix}": None if one is None else one * scale for name, one in numbers.items()},
        "limits_are_set": plan.limits_are_set if (plan.least, plan.most) != (None, None) else None,
        "verdict": row.standing.value,
        "look_again": list(row.look_again),
        "without_doubt": list(plan.undoubted),
        "needs": [*plan.lacks, *plan.unknown],
        "why": row.told or plan.why,
        "since": row.since,
        "line": None if fact is None else fact.number,
        **_signed(fact),
    }


def fact_row(fact: Fact, counts: bool) -> dict[str, Any]:
    """Return one line of a record for JSON."""
    return {
        "line": fact.number,
        "what": fact.what.replace(" ", "_"),
        "of": fact.of or None,
        "as": fact.convention or None,
        "value": fact.typed or None,
        "state": fact.state or None,
        "distance": fact.distance or None,
        "temperature": fact.temperature or None,
        "lift": fact.lift or None,
        **_signed(fact),
        "counts": counts,
    }


def _signed(fact: Fact | None) -> dict[str, str | None]:
    if fact is None:
        return dict.fromkeys(("when", "by", "tool", "note"))
    return {"when": fact.when, "by": fact.by or None, "tool": fact.tool or None, "note": fact.note or None}


def _dimension(what: str) -> Dimension:
    return getattr(kinds()[what].kind, "dimension", Dimension.NUMBER)


def _unit(what: str) -> tuple[str, float]:
    return {Dimension.LENGTH: ("_mm", 1.0), Dimension.ANGLE: ("_deg", DEGREES)}.get(
        _dimension(what), ("", 1.0)
    )
