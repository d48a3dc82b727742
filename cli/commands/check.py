"""`tallstack check`: what a job file holds, what it lacks, and what moves its answers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from tallstack.geometry.core.ranking import ranked
from tallstack.geometry.engine.before import SAME, SHARED, STEM
from tallstack.geometry.engine.defaults import CUT_ENTRIES
from tallstack.geometry.pushrod.ordering import Order, orders
from tallstack.geometry.pushrod.pushrods import SETTING

from ..job.contents import Entry, Open
from ..job.entries.catalogue import owned
from ..job.entries.fields import INCH, SHOWN_SCALE, SHOWN_UNIT
from ..job.entries.letters import letters_of
from ..job.entries.meanings import called_together, meant
from ..job.entries.model import VERSIONS
from ..job.file import JobFile
from ..job.job import Job
from ..job.judged_since import changes
from ..job.look_again import LookAgain
from ..job.reading.values import Dimension
from ..job.stood import called
from ..page.answer import MISSED, OK, Answer, framed, warning_blocks
from ..page.model import Block, Column, Form, Heading, Row, Table, Tag, Words, under
from ..page.wording import DECIDED, dimension_of, entry_value, train_name

if TYPE_CHECKING:
    from tallstack.geometry.clearance.clearances import Clearances, ValveClearance

ASKING = (".measured_drop.", ".valve.face.", "piston.crown_table")  # entries that are there for clearances
CLOSEST = {"drop": "along the stem", "gap": "straight gap"}
UNITS = {  # in JSON
    Dimension.LENGTH: "mm",
    Dimension.ANGLE: "deg",
    Dimension.VOLUME: "cc",
    Dimension.AREA: "mm2",
    Dimension.MASS: "g",
    Dimension.FORCE: "n",
    Dimension.RATE: "n_per_mm",
    Dimension.PRESSURE: "bar",
    Dimension.MODULUS: "gpa",
    Dimension.TEMPERATURE: "c",
    Dimension.SPEED: "rpm",
    Dimension.HEIGHT: "m",
    Dimension.DISTANCE: "km",
    Dimension.NUMBER: "",
}
NAMED = ("lobe", "cylinder")  # tables of tables
ROCKER = "rocker"
SMALLEST = 5e-5  # mm: a derivative shown as 0.0000 is left out
STEPS = {Dimension.NUMBER: 0.01}  # of what has no unit, or a direction; of anything else, 1
NAMED_AT_MOST = 8  # entries that are said of neither
MOST_MOVES = 8  # shown for one answer


def answer(job: Job) -> Answer:
    """Return what a job file holds; status 1 while blanks are open."""
    job, clear = _clearances(job)
    close = () if clear is None else clear.valves
    found = orders(job.mapping, job.quantities, job.doubts)
    blanks = _blanks(job, found, clear)
    page, document = _page(job, found, close, blanks), _document(job, found, close, blanks)
    status = MISSED if blanks.needed else OK
    return framed("check", job, page, document, status, assumed=job.assumed, without=(Tag.CAUTION,))


def moved_by(job: Job) -> dict[str, Any]:
    """Return what of that a trial can move: all but what was entered."""
    found = answer(job).document
    return {key: value for key, value in found.items() if key != "entries"}


class Blanks(NamedTuple):
    """What is left blank of a job: what something that was begun waits for, and what would tell more."""

    needed: tuple[Open, ...]
    optional: tuple[Open, ...]


def _blanks(job: JobFile, found: tuple[Order, ...], clear: Clearances | None) -> Blanks:
    """Return which blanks hold something up: each, while a pushrod or a clearance that was begun is not known.

    Else those that the setting, the plunger's room or the distance between valves lacks, and those that count as
    something that they need not be, see `look_again`.
    """
    lacks = [
        one for order in found for one in (*order.missing.get(SETTING, ()), *order.missing.get(ROCKER, ()))
    ]
    lacks += [one for order in found if order.room is not None for one in order.room.lacks]
    waiting = not found or any(order.required is None for order in found)
    if clear is not None:
        waiting = waiting or any(one.piston is None for one in clear.valves)
        lacks += [one for pair in clear.pairs for one in pair.lacks]
    said = [one for one in job.warnings if isinstance(one, LookAgain)]

    def holds_up(blank: Open) -> bool:
        named = any(
            f"{one}.".startswith(f"{blank.path}.") or blank.path.startswith(f"{one}.") for one in lacks
        )
        return waiting or named or any(why.startswith(f"{blank.path} is left blank") for why in said)

    needed = tuple(one for one in job.blanks if holds_up(one))
    return Blanks(needed, tuple(one for one in job.blanks if one not in needed))


def _clearances(job: Job) -> tuple[Job, Clearances | None]:
    """Return the clearances of a job that says something of them, none of any other; the job with all that is to be looked at again."""
    if not any(path.startswith("lobe.") or any(one in path for one in ASKING) for path in job.entries):
        return job._replace(warnings=job.at_hand.warnings), None
    from tallstack.geometry.clearance.clearances import clearances

    job = job.tabled
    job = job._replace(warnings=job.settled.warnings)
    return job, clearances(job.mapping, job.tables, job.quantities, job.doubts)


def _document(
    job: JobFile, found: tuple[Order, ...], close: tuple[ValveClearance, ...], blanks: Blanks
) -> dict[str, Any]:
    return {
        "entries": [_entry_row(path, entry) for path, entry in job.entries.items()],
        "open": [one.path for one in job.blanks],
        "optional": [one.path for one in blanks.optional],
        "needs": [
            {"train": order.train.name, "answer": "pushrods", "route": route, "entries": list(lacks)}
            for order in found
            for route, lacks in (order.missing or order.train.lacks).items()
        ]
        + [
            {"train": one.train, "answer": "clearance", "route": route, "entries": list(lacks)}
            for one in close
            if one.piston is None
            for route, lacks in one.lacks.items()
        ],
        "moves": [
            {"train": train, "answer": answer, "entry": entry, f"per_{UNITS[dimension] or 'one'}": slope}
            for train, answer, slopes in _answers(found, close)
            for entry, slope, dimension in _moves(job, slopes)
        ],
        "judged_differently": list(changes(job)),
    }


def _entry_row(path: str, entry: Entry) -> dict[str, Any]:
    row: dict[str, Any] = {"entry": path, "typed": entry.typed, "from": entry.origin or "the file"}
    if isinstance(entry.value, str):
        return {**row, "word": entry.value}
    dimension = dimension_of(entry)
    scale = SHOWN_SCALE[dimension]
    suffix = f"_{UNITS[dimension]}" if UNITS[dimension] else ""
    row[f"value{suffix}"] = entry.value / scale
    if entry.doubt is not None:
        row[f"half_width{suffix}"] = entry.doubt.half_width / scale
        row["sigmas"] = entry.doubt.sigmas
    if entry.note:
        row["note"] = entry.note
    return row


def _answers(
    found: tuple[Order, ...], close: tuple[ValveClearance, ...]
) -> list[tuple[str, str, Mapping[str, float]]]:
    """Return valve gear, answer and what moves it."""
    rows = [(one.train.name, f"{one.convention}_mm", one.slopes) for one in found]
    for one in close:
        if one.piston is not None:
            rows.append((one.train, f"{one.piston.name}_mm", one.piston.slopes))
    return rows


def _moves(job: JobFile, slopes: Mapping[str, float]) -> list[tuple[str, float, Dimension]]:
    """Return entry, derivative in mm per mm, degree or 1, and what the entry measures, the largest first."""
    rows = []
    for path, slope in slopes.items():
        entry = job.entries.get(path)
        dimension = Dimension.LENGTH if path.startswith("instrument.") else Dimension.ANGLE
        dimension = dimension if entry is None else dimension_of(entry)
        per = slope * SHOWN_SCALE[dimension]
        if abs(per) >= SMALLEST:
            rows.append((path, per, dimension))
    return ranked(rows, lambda row: abs(row[1]))


def _page(
    job: JobFile, found: tuple[Order, ...], close: tuple[ValveClearance, ...], blanks: Blanks
) -> list[Block]:
    return [
        Words(_verdict(job, found, blanks)),
        *warning_blocks(job),
        Heading("AS TYPED, AND AS UNDERSTOOD"),
        *_entered(job),
        *_items("THE SAME BEFORE AND NOW", _same(job)),
        *_items("STILL BLANK", (f"{one.path}: {_with_letter(one)}" for one in blanks.needed)),
        *_items("BLANK, AND NO ANSWER WAITS FOR IT", (_of_optional(job, one) for one in blanks.optional)),
        *_needs(found, close),
        *_moving(job, found, close),
        *_since(job),
    ]


def _same(job: JobFile) -> list[str]:
    """Return which parts are said to be the same before and now, and what is said of neither."""
    parts = job.names.get(SAME)
    if parts is None:
        return []
    own = {path.removeprefix(STEM) for path in job.entries if path.startswith(STEM)}
    lacks = [
        path
        for path, one in job.entries.items()
        if not one.is_taken
        and not path.startswith((STEM, *SHARED, "reading.", "instrument."))
        and path not in own
        if ".measured_" not in path and not path.endswith(CUT_ENTRIES)
    ]
    told = [", ".join(called(parts)) if parts else "nothing is"]
    told += (
        [f"neither entered before nor the same: {called_together(lacks, most=NAMED_AT_MOST)}"]
        if lacks
        else []
    )
    return told


def _items(heading: str, told: Iterable[str]) -> list[Block]:
    return under(heading, (Words(one, 1, Form.ITEM) for one in told))


def _entered(job: JobFile) -> Iterator[Words]:
    """Yield every entry, as typed and as understood."""
    for path, entry in job.entries.items():
        if entry.is_taken:
            continue
        yield Words(f"{path}   [{entry.origin}]" if entry.origin else path, 1, Form.LINE)
        shown = entry_value(entry, job.units)
        yield Words(shown if entry.typed == shown else f"{entry.typed}  ->  {shown}", 3, Form.LINE)
        if entry.note:
            yield Words(entry.note, 4)


def _since(job: JobFile) -> list[Block]:
    """Return what is judged differently since the job was written."""
    told = list(changes(job))
    seen = f'once you have read this, write written_for = "{VERSIONS[-1]}" at the top of the file'
    before = f"version {job.written_for or VERSIONS[0]}"
    return _items(f"JUDGED DIFFERENTLY SINCE {before.upper()}", (*told, seen)) if told else []


def _of_optional(job: JobFile, one: Open) -> str:
    """Return what an entry means that is left blank, what it would be used for, and what counts until then."""
    from ..guide.told import ENTRIES  # loaded only where it is shown

    words = f"{one.path}: {_with_letter(one)}"
    stem = (
        one.loc[2:]
        if one.loc[0] == "train"
        else (one.loc[0], *one.loc[2:])
        if one.loc[0] in NAMED
        else one.loc
    )
    told = ENTRIES.get(".".join(str(step) for step in stem if not isinstance(step, int)))
    words += f"; for {told.used}" if told is not None else ""
    assumed = any(each.entry == one.path for each in job.assumed)
    return f"{words}; until then as under ASSUMED below" if assumed else words


def _with_letter(one: Open) -> str:
    """Return what a blank entry means, with its letter in every drawing."""
    letter = letters_of(one.path.removeprefix(f"{owned(one.path)[0]}."))
    return f"{letter}: {one.kind.words}" if letter else one.kind.words


def _verdict(job: JobFile, found: tuple[Order, ...], blanks: Blanks) -> str:
    if blanks.needed:
        count = len(blanks.needed)
        return f"NOT WHOLE: {count} {'entry is' if count == 1 else 'entries are'} still blank, see below."
    lacking = sum(order.required is None for order in found)
    if lacking:
        return (
            f"WHOLE, no faults found; {lacking} of {len(found)} pushrods cannot be worked out yet, see below."
        )
    count = len(blanks.optional)
    more = (
        f" {count} {'entry is' if count == 1 else 'entries are'} blank that no answer waits for, see below."
    )
    return f"WHOLE: {len(job.entries)} entries, no faults found.{more if count else ''}"


def _needs(found: tuple[Order, ...], close: tuple[ValveClearance, ...]) -> list[Block]:
    rows: list[tuple[str, str, tuple[str, ...]]] = []  # valve gear, what for, the entries it lacks
    for order in found:
        for route, lacks in (order.missing or order.train.lacks).items():
            without = "" if order.required is None else " (the length is known without it)"
            rows.append((order.train.name, f"{route}{without}", lacks))
    for one in close:
        for route, lacks in one.lacks.items() if one.piston is None else ():
            rows.append((one.train, f"clearance, {route}", lacks))
    read = [(train, what, [one for one in lacks if not _is_wish(one)]) for train, what, lacks in rows]
    decided = [(train, what, [one for one in lacks if _is_wish(one)]) for train, what, lacks in rows]
    return [*_lacking("STILL TO BE MEASURED", read), *_lacking(DECIDED, decided)]


def _is_wish(entry: str) -> bool:
    kind = owned(entry)[1]
    return kind is not None and kind.wish


def _lacking(heading: str, rows: Iterable[tuple[str, str, Sequence[str]]]) -> list[Block]:
    """Return under a heading what valve gears lack; rows : valve gear, what for, entries."""
    told = (
        f"{train_name(train)}, {what}: {', '.join(meant(one, train) for one in lacks)}"
        for train, what, lacks in rows
        if lacks
    )
    return _items(heading, told)


def _moving(job: JobFile, found: tuple[Order, ...], close: tuple[ValveClearance, ...]) -> list[Block]:
    blocks: list[Block] = []
    for order in found:
        heading = f"WHAT MOVES THE PUSHROD, {train_name(order.train.name)} ({order.convention})"
        blocks += _table(job, heading, order.slopes)
    for one in close:
        if one.piston is not None:
            heading = f"WHAT MOVES THE CLEARANCE, {train_name(one.train)} ({CLOSEST[one.piston.name]})"
            blocks += _table(job, heading, one.piston.slopes)
    return blocks


def _table(job: JobFile, heading: str, slopes: Mapping[str, float]) -> list[Block]:
    """Return what moves one answer most, in the job's unit; the order is the same in both units."""
    every = _moves(job, slopes)
    steps = ((path, slope * STEPS.get(one, 1.0), one) for path, slope, one in every)
    rows = ranked((row for row in steps if abs(row[1]) >= SMALLEST), lambda row: abs(row[1]))
    if not rows:
        return []
    shown: list[Row | Words] = [
        Row((_shown(slope, one, job.units), path)) for path, slope, one in rows[:MOST_MOVES]
    ]
    more = len(every) - min(len(rows), MOST_MOVES)
    if more > 0:
        less = "1 more entry moves" if more == 1 else f"{more} more entries move"
        shown.append(Words(f"{less} it less; --json has every one", 1))
    return [Heading(heading), Table((Column(room=27), Column()), tuple(shown))]


def _shown(slope: float, dimension: Dimension, units: str) -> str:
    """Return a derivative in the job's unit, per so much of what the entry measures."""
    if dimension is Dimension.LENGTH:  # the same number in both, at the same place of its column
        return f"{slope:>10.4f} mm per mm" if units == "mm" else f"{slope:>9.4f}  in per in"
    per = f"{STEPS[dimension]:g}" if dimension in STEPS else f"1{SHOWN_UNIT[dimension]}"
    per = "degree" if dimension is Dimension.ANGLE else per
    number = f"{slope:>10.4f}" if units == "mm" else f"{slope / INCH:>10.5f}"
    return f"{number} {units} per {per}"
