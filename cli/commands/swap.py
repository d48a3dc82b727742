"""`tallstack swap`: what a change does to every pushrod and clearance, and what caused how much of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.engine.before import STEM, is_same, quantities_before, renamed
from tallstack.geometry.fits import ports
from tallstack.geometry.pushrod.swap import Side, Swapped, change_budgets, swap

from ..files import OutputRefusedError
from ..job import contradicted
from ..job.contradicted import LOOK_AGAIN
from ..job.earlier import earlier, lacking, which
from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.fitted import fitted
from ..job.job import Job
from ..job.readings_kept import readings_kept
from ..page import band
from ..page.across_words import never_lowered, one_way
from ..page.answer import Answer, framed, labelled, status_of
from ..page.model import Block, Break, Cell, Column, Form, Heading, Length, Row, Table, Words, under
from ..page.order_words import not_possible, waits_for
from ..page.ports_words import spacer_words
from ..page.shelf_words import set_row, set_words, shelf_blocks
from ..page.wording import both_units, degrees, length, number, train_name
from ..record.remembered import shelf_of, with_shelf
from .pushrods import Found as Pushrods
from .pushrods import from_shelf

if TYPE_CHECKING:
    from tallstack.geometry.clearance.clearances import Clearances
    from tallstack.geometry.core.answer import Figure, Value
    from tallstack.geometry.doubt.budget import Budget
    from tallstack.geometry.doubt.result import Result
    from tallstack.geometry.engine.defaults import Assumed

    Sides = tuple[Clearances | None, Clearances | None]  # before, after

SAME_MM = 5e-4
NOTHING = 1e-9  # a derivative that is rounding
FITTED = ("crank.", "piston.", "chamber.", "studs.")  # entries that fits are worked out from
MEASURABLE_MM = 0.0254  # a thousandth of an inch: what calipers tell apart
UNKNOWN = "unknown"
CHAMBER = "chamber.volume"
GUESSED = ("piston.crown_volume", "chamber.gasket_bore")  # what is taken for these where nobody entered them
SKIMMED = "chamber.volume is one for both and counts as read after the head was cut"
ENTER_BOTH = ": enter what it held before too, under [before] with the other parts of the head named one by one in same"
ENTER_THERE = ": enter what it held before in {}"
LARGER = 1.01  # of a volume, to see what it moves
NAMED = 4  # entries without a doubt
FIRST = (
    "What decides a swap, in this order: which convention the two lengths count in, where the lifter's plunger "
    "stood when a rod was measured, the gaskets as compressed, and metal cut from case or head."
)


def answer(after: Job, other: Job | None = None, shelf: Path | None = None) -> Answer:
    """Return what going to a job does from what stood before: as the job itself says, or from another one.

    shelf : what the pushrods after it are chosen from

    Raises:
        OutputRefusedError: where neither is there.
    """
    taken = shelf_of(after, shelf)
    after = with_shelf(after.at_hand, taken)
    before = earlier(after, other)
    if before is None:
        message = (
            f"{after.path}: nothing is said of what stood before; enter it under [before] in the job, or name the job of "
            "the engine as it was: --from BEFORE.toml"
        )
        raise OutputRefusedError(message)
    before = before.at_hand
    offers, chosen = (None, None) if taken.path is None else from_shelf(after, after.orders, taken.path)
    kept, notes = readings_kept(after, before)
    taken_from = which(after, other)
    names = dict.fromkeys((*before.names["trains"], *after.names["trains"]))
    found = [_said_of(swap(before.mapping, kept, name), after, before) for name in names]
    sure = {}
    if before.whole is not None and not notes:  # a reading that is left on another stack moves with that
        sure = change_budgets(after.mapping, found, after.quantities, after.doubts)
    again = _look_again(after, before)
    built = fitted(after, chosen)
    kept_built = kept if built is after else readings_kept(built, before)[0]
    sides = _clearances(before, before.mapping), _clearances(built, kept_built)
    both = [one for one in after.names["cylinders"] if one in before.names["cylinders"]]
    alone = _alone(after, before)
    rest = _rest(before.mapping, kept, both)
    alone += _not_compared(after, before, found, sides, both)
    alone += _unknown(rest, before)
    no_set = offers is not None and chosen is None
    is_lacking = no_set or not found or any(one.why_not for one in found) or any(one.short for one in rest)
    across = after.fits.crossing if any(".spigot." in path for path in after.entries) else None
    judged = [*_judged(after, sides[1]), *(() if across is None else across.sure.values())]
    ended = status_of(after, judged, lacking=is_lacking)
    waits = Pushrods(after.orders, (), offers, chosen).waiting
    missed = [*not_possible((), no_set and not waits)]
    missed += [f"SHORT: {text}" for text in _rest_words(after, [one for one in rest if one.short])]
    missed += [] if across is None else never_lowered(across)
    alone += [] if across is None else one_way(across)
    headed = band.band(after, judged, missed, more=[*waits_for(waits), *alone], before=before)
    facing = ports.facing(ports.moved(before.mapping, after.mapping)[0], after.mapping)
    more = f"in place of {before.named}: {before.title}"
    return framed(
        "swap",
        after,
        lambda: [
            *band.blocks(headed),
            *_page(after, found, sure, again, notes, sides, rest),
            *([] if offers is None else shelf_blocks(offers, chosen, after.units)),
        ],
        {
            **_document(after, before, found, sure, again, [*taken_from, *notes, *alone], sides, rest),
            **({} if offers is None else {"set": set_row(chosen)}),
        },
        ended,
        brief=[*band.blocks(headed), *_brief(after, found, sure, before.whole is not None, again, sides)],
        told=[
            *labelled("MADE UP OF", _made_up_of(found, after.units)),
            *labelled("FROM THE SHELF", [] if chosen is None else [set_words(chosen, after.units)]),
            *labelled("SPACERS", spacer_words(after, facing)),
            *labelled(
                "THE REST", _rest_words(after, [one for one in rest if one.figure.headline or one.short])
            ),
            *labelled("NOTE", notes),
        ],
        more=(more, *taken_from),
        assumed=_assumed(after, before),
        before=before,
    )


def _assumed(after: Job, before: Job) -> list[Assumed]:
    """Return what is taken for what nobody entered, of the engine and of what stood before where the job says that."""
    cold = [one for one in after.assumed if one.kind != "expansion"]
    if before.whole is not None:
        cold += [
            one._replace(entry=f"{STEM}{one.entry}") for one in before.assumed if one.kind != "expansion"
        ]
    return cold


def _said_of(one: Swapped, after: Job, before: Job) -> Swapped:
    """Return a swap that says, where it compares nothing, what is not said of what stood before."""
    if before.whole is None or not one.why_not:
        return one
    sides = (
        next((each for each in side.orders if each.train.name == one.train), None) for side in (before, after)
    )
    was, now = (() if side is None else _nearest(side.missing) for side in sides)
    stood = (*was, *(entry for entry in now if entry.startswith(STEM)))
    lacks = tuple(entry for entry in now if not entry.startswith(STEM))
    if lacks:  # of the engine itself: nothing is known of it either
        return one._replace(why_not=f"it needs {', '.join(map(meant, lacks))}")
    return one._replace(why_not=lacking(stood, after)) if stood else one


def _nearest(missing: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Return what the route that lacks least still needs."""
    return min((one for one in missing.values() if one), key=len, default=())


def _not_compared(
    after: Job, before: Job, found: Sequence[Swapped], sides: Sides, cylinders: Sequence[str]
) -> list[str]:
    """Return what is known of the engine and not of what stood before it, in sentences: nothing of it is compared."""
    if before.whole is None:
        return []
    told: dict[str, list[str]] = {}
    for one in found:
        if one.why_not:
            told.setdefault(one.why_not, []).append(one.train.replace(".", " "))
    pushrods = [f"NOT COMPARED: pushrod ({', '.join(of)}): {why}" for why, of in told.items()]
    alike: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    if any(path.startswith(FITTED) or ".spigot." in path for path in after.mapping):
        from tallstack.geometry.core.answer import CYLINDER, Missing
        from tallstack.geometry.fits import groups

        for cylinder in cylinders:
            for group in (one for one in groups.GROUPS if one.of == CYLINDER):
                was, now = (group.work_out(flat, cylinder) for flat in (before.mapping, after.mapping))
                if isinstance(was, Missing) and was.entries and now and not isinstance(now, Missing):
                    alike.setdefault((group.title.lower(), tuple(was.entries)), []).append(cylinder)
    if sides[1] is not None:
        for valve in sides[1].valves:
            there = (
                None
                if sides[0] is None
                else next((one for one in sides[0].valves if one.train == valve.train), None)
            )
            if valve.piston is None or (there is not None and there.piston is not None):
                continue
            lacks = () if there is None else next((one for one in there.lacks.values() if one), ())
            lacks = lacks or ("lobe",)
            alike.setdefault(("piston to valve", tuple(lacks)), []).append(valve.train.replace(".", " "))
    by_lack: dict[str, dict[str, list[str]]] = {}
    for (title, lacks), of in alike.items():
        by_lack.setdefault(lacking(lacks, after), {}).setdefault(title, []).extend(of)
    rest = []
    for why, titles in by_lack.items():
        what = ", ".join(f"{title} ({', '.join(of)})" for title, of in titles.items())
        rest.append(f"NOT COMPARED: {what}: {why}")
    return [*pushrods, *rest]


def _alone(after: Job, before: Job) -> list[str]:
    """Return which cylinders one of the jobs has alone, in sentences: nothing of them is compared."""
    told = []
    for one, other in ((after, before), (before, after)):
        names = [name for name in one.names["cylinders"] if name not in other.names["cylinders"]]
        there = ", ".join(other.names["cylinders"]) or "none"
        if names:
            told.append(
                f"NOT COMPARED: {', '.join(names)}: no such cylinder in {other.named}, which has {there}; name what is the "
                "same one alike in both jobs"
            )
    return told


def _brief(
    job: Job,
    found: list[Swapped],
    sure: Mapping[str, Budget],
    is_told: bool,
    again: Mapping[str, tuple[str, ...]],
    sides: Sides,
) -> list[Block]:
    """Return the answer for one screen: every pushrod and every clearance, before and after."""
    units = job.units
    rows: dict[tuple[Cell, ...], list[str]] = {}
    for one in found:
        looked = LOOK_AGAIN if again.get(one.train) else ""
        why = "NOT COMPARED" if one.why_not and is_told else one.why_not
        told = looked or why or _in_short(sure.get(one.train), units)
        rows.setdefault(_numbers(one.before.length, one.after.length, units, told), []).append(
            one.train.replace(".", " ")
        )
    columns = (
        Column(f"PUSHROD, {units}", 39, own_line=True),
        *(Column(head, 8, right=True) for head in ("before", "after", "change")),
        Column(),
    )
    blocks: list[Block] = [
        Table(columns, tuple(Row((", ".join(names), *cells)) for cells, names in rows.items()), 0)
    ]
    close = []
    for name, of in (
        *((name, valve_of) for name in job.names["trains"]),
        *((name, pair_of) for name in job.names["cylinders"]),
    ):
        both = [None if side is None else of(side, name) for side in sides]
        if any(both):
            was, now = (None if one is None else one.value for one in both)
            stands = "" if both[1] is None else contradicted.word(both[1].verdict, _reasons(both))
            what = next(one.figure.title for one in both if one is not None)
            close.append(Row((f"{name.replace('.', ' ')}, {what}", *_numbers(was, now, units, stands))))
    head = (Column(f"CLEARANCE, {units}", 39, own_line=True), *columns[1:])
    return [*blocks, Table(head, tuple(close), 0)] if close else blocks


def _in_short(known: Budget | None, units: str) -> str:
    """Return how sure a change is, for one screen."""
    if known is None or known.undoubted:
        return ""
    return f"+/- {number(known.expanded, units)}"


def _numbers(was: float | None, now: float | None, units: str, stands: str) -> tuple[Cell, ...]:
    """Return what stood, what stands, by how much it changed, and how it stands."""
    change = None if was is None or now is None else now - was
    cells = [
        blank if value is None else Length(value, unit=units, bare=True, signed=signed)
        for value, signed, blank in ((was, False, UNKNOWN), (now, False, UNKNOWN), (change, True, ""))
    ]
    return (*cells, stands)


def _made_up_of(found: list[Swapped], units: str) -> list[str]:
    """Return what the change of every pushrod is made up of, alike ones together."""
    alike: dict[str, list[str]] = {}
    for one in found:
        parts = ", ".join(
            f"{part.cause} {'+' if part.change > 0 else ''}{number(part.change, units)}"
            for part in one.parts
            if float(number(part.change, units))
        )
        if parts:
            alike.setdefault(parts, []).append(one.train.replace(".", " "))
    return [
        parts if len(names) == len(found) else f"{', '.join(names)}: {parts}"
        for parts, names in alike.items()
    ]


def _look_again(after: Job, before: Job) -> dict[str, tuple[str, ...]]:
    """Return what contradicts the pushrod of each valve gear, in either job."""
    told: dict[str, list[str]] = {}
    for job, beside in ((after, ""), (before, f" ({before.named})")):
        for order in job.orders:
            told.setdefault(order.train.name, []).extend(f"{one}{beside}" for one in order.look_again)
    return {name: tuple(why) for name, why in told.items()}


def _judged(after: JobFile, side: Clearances | None) -> list[Result]:
    """Return every clearance of the job after that is shown."""
    if side is None:
        return []
    valves = [valve_of(side, train) for train in after.names["trains"]]
    shown = [*valves, *(pair_of(side, cylinder) for cylinder in after.names["cylinders"])]
    return [one for one in shown if one is not None]


def _short(judged: Result | None) -> str:
    """Return in words that a clearance is SHORT; nothing where it is not."""
    if judged is None or judged.verdict is not Verdict.SHORT:
        return ""
    return ", SHORT of its limit" if judged.spare < 0 else ", SHORT with the lifter pumped up"


def _clearances(job: Job, mapping: Flat) -> Clearances | None:
    """Return a job's clearances, or None where it says nothing of a lobe."""
    if not any(path.startswith("lobe.") for path in job.entries):
        return None
    from tallstack.geometry.clearance.clearances import clearances

    found = clearances(mapping, job.tables, job.quantities, job.doubts)
    return contradicted.of_clearances(job, found)


def _rest(before: Flat, after: Flat, cylinders: Sequence[str]) -> list[Changed]:
    """Return every fit of a cylinder that the change moves, where both jobs tell it."""
    if not any(path.startswith(FITTED) or ".spigot." in path for path in after):
        return []
    from tallstack.geometry.core.answer import CYLINDER, Missing
    from tallstack.geometry.fits import groups

    rows = []
    for cylinder in cylinders:
        skimmed = _skimmed(before, after, cylinder)
        for group in (one for one in groups.GROUPS if one.of == CYLINDER):
            first, second = group.work_out(before, cylinder), group.work_out(after, cylinder)
            if isinstance(first, Missing) or isinstance(second, Missing):
                continue
            other = group.work_out(_other_chamber(before, cylinder), cylinder) if skimmed else first
            for key, there in second.items():
                if key not in first:
                    continue
                was, now = float(first[key].value), float(there.value)
                row = Changed(cylinder, key, group.figures[key], was, now, after)
                is_of_now = not isinstance(other, Missing) and float(other[key].value) != was
                row = _half_known(row, first[key], there, is_of_now)
                if row.why or abs(now - was) > SAME_MM:
                    rows.append(row)
    return rows


def _half_known(row: Changed, was: Value, now: Value, is_of_now: bool) -> Changed:
    """Return a fit without the side that rests on what was entered for the other one alone.

    is_of_now : the side before rests on a chamber that was read after its head was cut
    """
    lacks = [one for one in GUESSED if one in was.unsaid and one not in now.unsaid]
    lacks_now = [one for one in GUESSED if one in now.unsaid and one not in was.unsaid]
    why = [f"{one} before is not entered" for one in lacks] + [f"{one} is not entered" for one in lacks_now]
    why += [SKIMMED] if is_of_now else []
    return row._replace(
        before=None if lacks or is_of_now else row.before,
        after=None if lacks_now else row.after,
        why="; ".join(why),
    )


def _skimmed(before: Flat, after: Flat, cylinder: str) -> bool:
    """Say whether a head has been cut since and its chamber holds the same on both sides: it was read on one of them."""
    sides = [Reader(flat, (f"{cylinder}.", "")) for flat in (before, after)]
    held, cut = ([one.find(entry) for one in sides] for entry in (CHAMBER, "stack.head_cut"))
    if held[0] is None or held[1] is None or float(held[0]) != float(held[1]):
        return False
    first, second = (0.0 if one is None else float(one) for one in cut)
    return abs(second - first) > SAME_MM


def _other_chamber(mapping: Flat, cylinder: str) -> Flat:
    """Return a mapping with the chamber of a cylinder a little larger."""
    path = CHAMBER if f"{cylinder}.{CHAMBER}" not in mapping else f"{cylinder}.{CHAMBER}"
    return {**mapping, path: Reader(mapping, ("",)).number(path) * LARGER}


def _unknown(rest: Sequence[Changed], before: Job) -> list[str]:
    """Return which fits are not compared, since one of their sides is not known, in sentences."""
    alike: dict[tuple[str, str], list[str]] = {}
    for one in rest:
        if one.why and one.figure.headline:
            alike.setdefault((one.figure.title, one.why), []).append(one.cylinder)
    enter = ENTER_THERE.format(before.named) if before.whole is None else ENTER_BOTH
    return [
        f"NOT COMPARED: {title} ({', '.join(of)}): {why}{enter if SKIMMED in why else ''}"
        for (title, why), of in alike.items()
    ]


class Changed(NamedTuple):
    """One fit of a cylinder on both sides."""

    cylinder: str
    key: str
    figure: Figure
    before: float | None  # None: it is not known, as for the other
    after: float | None
    mapping: Flat  # of the job after
    why: str = ""  # one of them is not known, in words

    @property
    def short(self) -> bool:
        """Whether what is after misses a limit, or its parts meet."""
        return self.after is not None and self.figure.falls_short(self.mapping, self.after)


def _rest_words(job: JobFile, rest: list[Changed]) -> list[str]:
    """Return the fits that changed, in sentences, cylinders that are alike together."""
    from ..page.fits_words import value_of

    alike: dict[str, list[str]] = {}
    for one in rest:
        was, now = (
            "NOT KNOWN" if value is None else value_of(job, one.figure, value)
            for value in (one.before, one.after)
        )
        told = [f"{one.figure.title}: {was} before, {now} after"]
        told += ["SHORT of its limit"] if one.short else []
        told += [one.figure.below_zero] if (one.after or 0.0) < 0 and one.figure.below_zero else []
        alike.setdefault("; ".join([", ".join(told), *([one.why] if one.why else [])]), []).append(
            one.cylinder
        )
    return [f"{', '.join(names)}, {text}" for text, names in alike.items()]


def _rest_rows(rest: list[Changed]) -> list[dict[str, Any]]:
    rows = []
    for one in rest:
        unit = one.figure.suffix
        rows.append(
            {
                "cylinder": one.cylinder,
                "figure": one.key,
                f"before{unit}": one.before,
                f"after{unit}": one.after,
                "verdict": "short" if one.short else None,
                "why_not": one.why or None,
            }
        )
    return rows


def _document(
    after: JobFile,
    before: JobFile,
    found: list[Swapped],
    sure: Mapping[str, Budget],
    again: Mapping[str, tuple[str, ...]],
    notes: list[str],
    sides: Sides,
    rest: list[Changed],
) -> dict[str, Any]:
    return {
        "from": before.title,
        "from_file": before.named,
        "trains": [
            {
                **_row(one),
                **_sure_row(one, sure),
                "look_again": list(again.get(one.train, ())),
                "clearance": _clearance_row(one.train, sides, after, before),
            }
            for one in found
        ],
        "pairs": _pair_rows(after, sides),
        "rest": _rest_rows(rest),
        "notes": notes,
    }


def _row(one: Swapped) -> dict[str, Any]:
    change = _change(one)
    return {
        "train": one.train,
        "as": one.convention or None,
        "before": _side_row(one.before),
        "after": _side_row(one.after),
        "change_mm": change,
        "parts": [{"cause": part.cause, "change_mm": part.change} for part in one.parts],
        "cylinder_alone_mm": one.naive,
        "why_not": one.why_not or None,
    }


def _sure_row(one: Swapped, sure: Mapping[str, Budget]) -> dict[str, Any]:
    """Return how sure a pushrod's change is, where both lengths are of one job."""
    known = sure.get(one.train)
    if known is None:
        return {"change_doubt_mm": None, "change_rests_on": []}
    return {
        "change_doubt_mm": None if known.undoubted else known.expanded,
        "change_rests_on": list(known.undoubted or known.shares),
    }


def _change_of(train: str, sides: Sides, after: JobFile, before: JobFile) -> tuple[float, Budget] | None:
    """Return by how much a valve's least clearance changes and how sure that is; None where one job does not say both.

    Each is held at its own place, as in `clearance`; what is one part now and before moves both.
    Source: the difference of two linear budgets, slope by slope.
    """
    was, now = (None if side is None else valve_of(side, train) for side in sides)
    if was is None or now is None or before.whole is None:
        return None
    from tallstack.geometry.doubt.budget import budget

    named = {name: whole for whole, name in renamed(quantities_before(after.quantities)).items()}
    slopes = dict(now.slopes)
    for name, slope in was.slopes.items():
        root = named.get(name, name)
        slopes[root] = slopes.get(root, 0.0) - slope
    whole = budget(
        {name: slope for name, slope in slopes.items() if abs(slope) > NOTHING}, after.doubts, after.mapping
    )
    for name in dict.fromkeys((*was.beside, *now.beside)):
        (first, doubt), (second, other) = (side.beside.get(name, (0.0, None)) for side in (was, now))
        stated = other or doubt
        apart = abs(second - first) if is_same(after.mapping, "", "lobe") else math.hypot(first, second)
        if stated is not None:
            whole = whole.widened(apart * stated.standard)
    further = (
        one for one in (*was.budget.undoubted, *now.budget.undoubted) if named.get(one, one) not in slopes
    )
    known = dict.fromkeys((*whole.undoubted, *further))
    return now.value - was.value, whole._replace(undoubted=tuple(known))


def _clearance_row(train: str, sides: Sides, after: JobFile, before: JobFile) -> dict[str, Any]:
    """Return a valve's least clearance to the piston on both sides."""
    changed = _change_of(train, sides, after, before)
    sure = None if changed is None or changed[1].undoubted else changed[1].expanded
    row: dict[str, Any] = {"change_doubt_mm": sure}
    for word, side in zip(("before", "after"), sides, strict=True):
        judged = None if side is None else valve_of(side, train)
        row[word] = (
            None
            if judged is None
            else {
                "least_mm": judged.value,
                "at_deg": math.degrees(judged.angle),
                "look_again": list(judged.look_again),
            }
        )
    return row


def _pair_rows(after: JobFile, sides: Sides) -> list[dict[str, Any]]:
    rows = []
    for cylinder in after.names["cylinders"]:
        found = [None if side is None else pair_of(side, cylinder) for side in sides]
        rows.append(
            {
                "cylinder": cylinder,
                "before_mm": None if found[0] is None else found[0].value,
                "after_mm": None if found[1] is None else found[1].value,
                "look_again": list(_reasons(found)),
            }
        )
    return rows


def _reasons(found: Sequence[Result | None]) -> tuple[str, ...]:
    """Return what contradicts a clearance on either side."""
    return tuple(dict.fromkeys(why for one in found if one is not None for why in one.look_again))


def valve_of(side: Clearances, train: str) -> Result | None:
    """Return what one valve's verdict stands on."""
    return next((one.piston for one in side.valves if one.train == train), None)


def pair_of(side: Clearances, cylinder: str) -> Result | None:
    """Return the distance between a cylinder's valves."""
    return next((one.judged for one in side.pairs if one.cylinder == cylinder), None)


def _side_row(side: Side) -> dict[str, Any]:
    return {
        "length_mm": side.length,
        "lean_deg": None if side.lean is None else math.degrees(side.lean),
        "ratio_at_seat": side.ratio,
        "contact_across_mm": side.across,
    }


def _change(one: Swapped) -> float | None:
    if one.before.length is None or one.after.length is None:
        return None
    return one.after.length - one.before.length


def _page(
    after: JobFile,
    found: list[Swapped],
    sure: Mapping[str, Budget],
    again: Mapping[str, tuple[str, ...]],
    notes: list[str],
    sides: Sides,
    rest: list[Changed],
) -> list[Block]:
    blocks: list[Block] = [Words(FIRST)]
    for one in found:
        blocks += _block(one, after.units, LOOK_AGAIN if again.get(one.train) else "")
        blocks += _sure(one, sure, after.units)
        blocks += _clearance(one.train, sides, after.units)
    pairs = _pairs(after, sides)
    blocks += [Break(), *pairs] if pairs else []
    blocks += under("THE REST OF THE STACK", (Words(one, 1, Form.ITEM) for one in _rest_words(after, rest)))
    blocks += [Break(), *(Words(note, 1) for note in notes)] if notes else []
    return blocks


def _sure(one: Swapped, sure: Mapping[str, Budget], units: str) -> list[Words]:
    """Return how sure a pushrod's change is, in words: what is one part now and before is in it once."""
    known = sure.get(one.train)
    if known is None:
        return []
    if known.undoubted:
        told = ", ".join(known.undoubted[:NAMED])
        return [Words(f"how sure the change is, is not known: no +/- stands beside {told}", 2)]
    return [
        Words(
            f"the change is sure to +/- {length(known.expanded, units)}: a part that is the same counts once",
            2,
        )
    ]


def _block(one: Swapped, units: str, looked: str) -> list[Block]:
    name = train_name(one.train)
    change = _change(one)
    if one.why_not or change is None:
        return [Heading(f"{name}: no comparison"), Words(one.why_not, 1)]
    both = both_units(units)

    def row(label: str, value: float | None, under: int, signed: bool = True) -> Row:
        assert value is not None
        shown = (Length(value, unit=unit, alone=True, bare=True, signed=signed) for unit in both)
        return Row((label, *shown, ""), under)

    rows = [row("before", one.before.length, 2, False), row("after", one.after.length, 2, False)]
    total = row("change", change, 2)
    rows += [total._replace(cells=(*total.cells[:-1], looked))]
    rows += [row(part.cause[:40], part.change, 3) for part in one.parts]
    columns = (
        Column(one.convention.upper(), 30),
        *(Column(unit, 10, right=True) for unit in both),
        Column(),
    )
    return [Heading(name), Table(columns, tuple(rows)), *_naive(one, units), *_sides(one, units)]


def _clearance(train: str, sides: Sides, units: str) -> list[Words]:
    """Return a valve's least clearance to the piston before and after, where either is known."""
    found = [None if side is None else valve_of(side, train) for side in sides]
    return _both("piston to valve, the smaller of drop and straight gap", found, units, 2)


def _pairs(after: JobFile, sides: Sides) -> list[Words]:
    told: list[Words] = []
    for cylinder in after.names["cylinders"]:
        found = [None if side is None else pair_of(side, cylinder) for side in sides]
        told += _both(f"valve to valve, {cylinder}", found, after.units, 1)
    return told


def _both(what: str, found: list[Result | None], units: str, under: int) -> list[Words]:
    if found[0] is None and found[1] is None:
        return []
    said = ["not known" if one is None else length(one.value, units) for one in found]
    looked = f", {LOOK_AGAIN}" if _reasons(found) else ""
    short = _short(found[1]) or looked
    change = ""
    if found[0] is not None and found[1] is not None:
        by = found[1].value - found[0].value
        more = f"{length(abs(by), units)} {'more' if by > 0 else 'less'}"
        change = f", {more if abs(by) >= SAME_MM else 'unchanged'}"
    return [Words(f"{what}: {said[0]} before, {said[1]} after{change}{short}", under)]


def _naive(one: Swapped, units: str) -> list[Words]:
    """Return how far adding the cylinder's difference would have been off."""
    by_cylinder = [part.change for part in one.parts if part.cause == "cylinder"]
    if one.naive is None or not by_cylinder or one.naive == 0:
        return []
    off = one.naive - by_cylinder[0]
    thou = f"{off / 0.0254:+.1f} thou"
    verdict = "below what can be measured" if abs(off) < MEASURABLE_MM else "more than calipers miss"
    text = f"adding the cylinder's whole {length(one.naive, units)} for it would be {thou} off: {verdict}"
    return [Words(text, 2)]


def _sides(one: Swapped, units: str) -> list[Words]:
    before, after = one.before, one.after
    rows = []
    if before.lean is not None and after.lean is not None:
        rows.append(f"lean {degrees(before.lean)} before, {degrees(after.lean)} after")
    if before.ratio is not None and after.ratio is not None:
        rows.append(f"ratio at the seat {before.ratio:.3f} before, {after.ratio:.3f} after")
    if before.across is not None and after.across is not None:
        shown = [length(side, units) for side in (before.across, after.across)]
        rows.append(f"contact off the stem tip's centre {shown[0]} before, {shown[1]} after")
    return [Words(row, 2) for row in rows]
