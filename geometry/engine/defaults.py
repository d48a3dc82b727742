"""Every value that was not entered: what is taken for it, and why.

Nothing is assumed anywhere else. `as_taken` writes down the stack, crank and piston a reading was
taken on before anything is varied; `completed` adds the defaults, so that they are entries like
any other and can be varied and doubted.

A measured pushrod, drop or deck was taken on a stack of its own. The entries that `as_taken` writes down *follow*
the ones they came from. As one reading with one error they move together, so that a cylinder measured once cancels
out where it should; as a change of plan only the engine's own entry moves, and another part that is tried has a
doubt of its own: the readings stay on the old one.

What was cut or moved since counts as done after a reading: `case_cut`, `head_cut`, `lowered` and `sink` say what
was done "since". Laid over a reading as its stack is, they would have been there already and would change nothing,
and a decked case would order pushrods too long without a word. A reading on a case already cut says so itself.

A lifter's angle nobody measured is taken as in line with the pushrod; with the whole leans of both, the angle lies
between their difference and their sum, and half that range is carried as doubt. A pushrod's lean nobody looked at
is 3 ± 3 degrees, counted in the doubt. Both are shown as assumed.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from ..core.mapping import Flat, Frozen, Reader, frozen, names
from .before import NOW, ON, STEM, was_read_before
from .materials import MATERIALS, SPREAD

STACK = ("base_gasket", "cylinder", "head_gasket", "case_cut", "head_cut")
PARTS = STACK[:3]  # what is there, and can be another one
CUTS = STACK[3:]  # what has been removed since
SINCE = ("lifter.lowered", "valve.sink")  # what else has been done since
CUT_ENTRIES = tuple(f"stack.{part}" for part in CUTS)
PART_ENTRIES = tuple(f"stack.{part}" for part in PARTS)
UNDER_CROWN = (
    "crank.stroke",
    "crank.conrod_length",
    "piston.compression_height",
    "piston.pin_offset",
)
HEATED = ("cylinder", "case", "head", "valve", "rocker", "pushrod", "lifter")
UNDER_HEAT = ("piston", "conrod", "crank")  # what moves in the cylinder and gets hot
BELOW_DECK = "lifter.below_deck"  # the height without which none is taken for the others
LEAN_RAD = np.radians(3.0)  # a pushrod's lean nobody looked at: 0 to 6 degrees


class Assumed(NamedTuple):
    """A value that was not entered and what is taken for it."""

    entry: str  # its path
    value: float | str  # mm, rad or plain; a word; or what it amounts to, in words
    kind: str  # "length", "angle", "expansion", "number", "word" or "note"
    why: str
    half_width: float | None = None  # its doubt, rectangular


def signed(part: str) -> int:
    """Return how a part of the stack counts towards its height: what was cut away, against it."""
    return -1 if part in CUTS else 1


def has_coordinates(train: Reader) -> bool:
    """Say whether any coordinate of a valve gear was entered."""
    return train.has("lifter.seat") or train.has("rocker.shaft") or train.has("valve.face")


def has_heights(train: Reader) -> bool:
    """Say whether the heights of a valve gear that count when it gets hot were begun."""
    return train.has(BELOW_DECK)


def as_taken(mapping: Flat) -> tuple[dict[str, str], list[Assumed]]:
    """Return which entries each reading took from the engine as described, and what that assumes.

    A measured pushrod, drop or deck says only what was different when it was read. The other parts
    were as the job says, and stay so when the job is varied later. What the job says was removed or
    moved since counts as done after the reading, see `completed`.
    Returns: {path under the reading: path of the entry it equals}, assumptions
    """
    mapping = frozen(mapping)
    ties: dict[str, str] = {}
    assumed: list[Assumed] = []
    for name in names(mapping, "trains"):
        train = Reader(mapping, (f"{name}.",))
        cylinder = Reader(mapping, (f"{name.rpartition('.')[0]}.", ""))
        for reading, tables in (("measured_pushrod", ()), ("measured_drop", UNDER_CROWN)):
            if not train.has(reading):
                continue
            earlier = was_read_before(train, reading)
            there = _stood(mapping, name) if earlier else cylinder
            for entry in (*PART_ENTRIES, *tables, *(CUT_ENTRIES if earlier else ())):
                full = f"{name}.{reading}.{entry}"
                if full not in mapping and there.find(entry) is not None:
                    ties[full] = there.path(entry)
            gear = f"{STEM}{name}" if earlier else name
            since = SINCE if reading == "measured_pushrod" else SINCE[1:]
            own = [f"{gear}.{entry}" for entry in (since if earlier else ())]
            if reading == "measured_drop":
                own += [path for path in mapping if path.startswith(f"{gear}.pocket.")]
            named = {f"{name}.{reading}.{path[len(gear) + 1 :]}": path for path in own if path in mapping}
            ties |= {full: path for full, path in named.items() if full not in mapping}
            if earlier:
                continue  # what is not said of what stood before is lacking
            assumed += [one for one in _unsaid(train, cylinder, name, reading) if one not in assumed]
    for name in names(mapping, "cylinders"):
        cylinder = Reader(mapping, (f"{name}.", ""))
        if cylinder.has("stack.measured_deck.below"):
            earlier = was_read_before(cylinder, "stack.measured_deck")
            there = _stood(mapping, name) if earlier else cylinder
            for entry in (*PART_ENTRIES, *UNDER_CROWN, *(CUT_ENTRIES if earlier else ())):
                full = f"{name}.stack.measured_deck.{entry}"
                written = f"stack.measured_deck.{entry}"
                if cylinder.find(written) is None and there.find(entry) is not None:
                    ties[full] = there.path(entry)
    return ties, assumed


def _stood(mapping: Flat, owner: str) -> Reader:
    """Return what stood before of a cylinder, or of a valve gear's: its own, or else the engine's."""
    return Reader(mapping, (f"{STEM}{owner.partition('.')[0]}.", STEM))


def _unsaid(train: Reader, cylinder: Reader, name: str, reading: str) -> list[Assumed]:
    """Return what is taken for the parts of the stack that a reading does not mention."""
    if train.word(f"{reading}.{ON}") == NOW:
        return []
    if not train.has(f"{reading}.stack"):
        why = "no stack is given with this reading: it was taken on the stack of this job"
        return [Assumed(f"{name}.{reading}.stack", "as in [stack]", "word", why)]
    assumed = []
    for part in PARTS:
        if train.has(f"{reading}.stack.{part}"):
            continue
        why = "not given with the reading: the same now as then"
        path = f"{name}.{reading}.stack.{part}"
        if cylinder.find(f"stack.{part}") is None:
            path, why = f"stack.{part}", "not entered: the same now as when the reading was taken"
        assumed.append(Assumed(path, "unchanged", "note", why))
    return assumed


def completed(mapping: Flat) -> tuple[Frozen, list[Assumed]]:
    """Return the mapping with every default added, and the list of what was added.

    A mapping that was completed before comes back unchanged, and a frozen one remembers what it was completed to.
    """
    if isinstance(mapping, Frozen) and mapping.is_complete:
        return mapping, []
    if isinstance(mapping, Frozen) and mapping.completed is not None:
        return mapping.completed
    still = frozen(mapping)
    added, assumed = _completed(still)
    found = still.with_(added)
    found.is_complete = True
    still.completed = found, assumed
    return found, assumed


def _pin_counts(cylinder: Reader) -> bool:
    """Say whether a cylinder's pin, of which nothing is said, moves its piston."""
    counts = cylinder.has("crank.stroke") or cylinder.has("stack.measured_deck.below")
    return counts and cylinder.find("piston.pin_offset") is None


def _completed(mapping: Frozen) -> tuple[dict[str, Any], list[Assumed]]:
    """Return the defaults that a mapping lacks, and what is to be said of them."""
    assumed: list[Assumed] = []
    if names(mapping, "trains") or names(mapping, "cylinders"):
        why = "no metal removed from that face since the points were measured"
        for entry in ("stack.case_cut", "stack.head_cut"):
            assumed.append(Assumed(entry, 0.0, "length", why))
        if any(_pin_counts(Reader(mapping, (f"{name}.", ""))) for name in names(mapping, "cylinders")):
            assumed.append(Assumed("piston.pin_offset", 0.0, "length", "the pin taken as central"))
    for name in names(mapping, "trains"):
        train = Reader(mapping, (f"{name}.",))
        assumed += _of_lifter(train, name)
        if has_coordinates(train):
            assumed.append(Assumed(f"{name}.valve.sink", 0.0, "length", "not sunk since it was measured"))
        cylinder = Reader(mapping, (f"{name.rpartition('.')[0]}.", ""))
        if train.has("measured_pushrod"):
            assumed += _of_reading(train, name)
            assumed += _done_since(train, f"{name}.measured_pushrod", SINCE)
        if train.has("measured_drop"):
            assumed += _done_since(train, f"{name}.measured_drop", SINCE[1:])
        for reading in ("measured_pushrod", "measured_drop"):
            if train.has(reading):
                assumed += _done_since(cylinder, f"{name}.{reading}", CUT_ENTRIES)
    for name in names(mapping, "cylinders"):
        cylinder = Reader(mapping, (f"{name}.", ""))
        if cylinder.has("stack.measured_deck.below"):
            assumed += _done_since(cylinder, f"{name}.stack.measured_deck", CUT_ENTRIES)
    assumed += _of_materials(mapping)
    if Reader(mapping, ("running.",)).has("hot_case"):
        for name in names(mapping, "trains"):
            assumed += _of_heat(Reader(mapping, (f"{name}.",)), name)
    assumed += _of_lifts(mapping)
    assumed += _of_followers(mapping)
    added = [one for one in assumed if one.entry not in mapping]
    lacked = {one.entry: one.value for one in added if one.kind != "note"}
    return lacked, [one for one in added if one.why]


def _done_since(now: Reader, reading: str, entries: tuple[str, ...]) -> list[Assumed]:
    """Return that nothing was removed or moved yet when a reading was taken; said where it matters."""
    assumed = []
    for entry in entries:
        value = now.find(entry)
        done = value is not None and bool(np.any(value != 0))
        why = f"{entry} counts as done after this reading; if it was before, write it here" if done else ""
        assumed.append(Assumed(f"{reading}.{entry}", 0.0, "length", why))
    return assumed


def _of_lifter(train: Reader, name: str) -> list[Assumed]:
    assumed = []
    if train.word("lifter.kind") == "solid" and train.has("lifter.lash"):
        why = "not entered; the feeler goes to the valve, along the stem"
        assumed.append(Assumed(f"{name}.lifter.lash_at", "valve", "word", why))
    if train.has("lifter"):
        why = "lifter and base circle as they were measured"
        assumed.append(Assumed(f"{name}.lifter.lowered", 0.0, "length", why))
    return assumed


def _of_materials(mapping: Flat) -> list[Assumed]:
    """Return how far what gets hot grows, as its material's tables say."""
    stuff = Reader(mapping, ("materials.",))
    named = {f"materials.expansion_{part}": stuff.word(part) for part in (*HEATED, *UNDER_HEAT)}
    named["materials.expansion_lifter"] = stuff.word("lifter", "steel")
    for train in names(mapping, "trains"):
        named[f"{train}.pushrod.expansion"] = Reader(mapping, (f"{train}.",)).word("pushrod.material")
    assumed = []
    for entry, material in named.items():
        part = entry.rpartition("_")[2] if entry.startswith("materials.") else "pushrod"
        heated = "case" if part == "lifter" and "running.hot_lifter" not in mapping else part
        if material in MATERIALS and f"running.hot_{heated}" in mapping:
            per_million = MATERIALS[material].expansion * 1e6
            why = f"millionths per kelvin, {material}; tables differ by as much between sources"
            assumed.append(Assumed(entry, per_million, "expansion", why, round(SPREAD * per_million, 1)))
    return assumed


def _of_heat(train: Reader, name: str) -> list[Assumed]:
    """Return the heights that count when a valve gear gets hot and that nobody read, and how low a hot valve sits."""
    cam = "cam's axis up to the pushrod's ball, not entered: cam and lifter are steel, their case is not"
    seat = "a hot valve head outgrows its seat and sits lower, which was not worked out"
    low = 0.05 if name.endswith(".exhaust") else 0.025
    found = [Assumed(f"{name}.lifter.above_cam", 70.0, "length", cam, 15.0)]
    if train.word("lifter.kind") == "hydraulic":  # a lash it would only add to
        found.append(Assumed(f"{name}.valve.sits_lower_hot", low, "length", seat, low))
    if not has_heights(train):
        return found
    found += [
        Assumed(f"{name}.rocker.shaft_above_cup", 0.0, "length", "not entered", 12.0),
        Assumed(f"{name}.rocker.shaft_above_tip", 0.0, "length", "not entered", 14.0),
    ]
    maker = train.find("rocker.ratio")
    if maker is not None and np.ndim(maker) == 0:
        why = "taken as rocker.ratio, since nobody dialled it near the seat"
        off = round(0.06 * float(maker), 3)
        found.append(Assumed(f"{name}.rocker.ratio_at_seat", float(maker), "number", why, off))
    return found


def _of_lifts(mapping: Flat) -> list[Assumed]:
    """Return where the lifts of a lobe's table or card count, and a table's degrees; a motion law says both."""
    known = dict.fromkeys(tuple(path.split(".")[1:3]) for path in mapping if path.startswith("lobe."))
    where = (
        "not entered; lifts that were read at the valve are more by the rocker's ratio, and have to say so"
    )
    whose = "not entered; degrees of the crank are twice as many, and have to say so"
    return [
        Assumed(f"lobe.{lobe}.{entry}", word, "word", why)
        for entry, word, why, sources in (
            ("measured_at", "lifter", where, ("table", "card")),
            ("angle", "cam", whose, ("table",)),
        )
        for lobe, source in known
        if source in sources
    ]


def _of_followers(mapping: Flat) -> list[Assumed]:
    """Return that followers run straight at the cam's axis where a lobe was read with another than the engine's."""
    why = "not entered; its line of travel taken straight at the cam's axis"
    lobes = {
        path.split(".")[1]
        for path in mapping
        if path.startswith("lobe.") and path.split(".")[2].startswith("read_with")
    }
    found = [
        Assumed(path.replace(".table", ".read_with"), "the engine's own follower", "word", "not entered")
        for path in mapping
        if path.startswith("lobe.") and path.endswith(".table") and not _is_at_valve(mapping, path)
        if path.split(".")[1] not in lobes
    ]
    found += [Assumed(f"lobe.{one}.read_offset", 0.0, "length", why) for one in sorted(lobes)]
    for train in names(mapping, "trains"):
        if Reader(mapping, (f"{train}.",)).word("lobe", train.rpartition(".")[2]) in lobes:
            found.append(Assumed(f"{train}.lifter.follower_offset", 0.0, "length", why))
    return found


def _is_at_valve(mapping: Flat, table: str) -> bool:
    return mapping.get(table.replace(".table", ".measured_at")) == "valve"


def _of_reading(train: Reader, name: str) -> list[Assumed]:
    assumed = []
    if not train.has("measured_pushrod.lean"):
        why = "not entered; 0 to 6 degrees covers ordinary engines, and counts as doubt"
        assumed.append(Assumed(f"{name}.measured_pushrod.lean", LEAN_RAD, "angle", why, LEAN_RAD))
    if train.word("lifter.kind") == "hydraulic" and not train.has("lifter.lean"):
        why = "not entered; a lifter 5 degrees off costs 0.4 % of the preload"
        assumed.append(Assumed(f"{name}.lifter.lean", "in line with the pushrod", "note", why))
    return assumed
