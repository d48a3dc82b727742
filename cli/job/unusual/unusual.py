"""Values that most engines do not have: possibly a slip, possibly a rare engine, never a fault."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from tallstack.geometry.core.mapping import Flat, Reader, names
from tallstack.geometry.engine.before import ON
from tallstack.geometry.engine.defaults import PARTS
from tallstack.geometry.engine.since_read import SinceRead, since_read

from ..checks.words import in_both_units, in_mm, stands_over_piston
from ..contents import Entries, Entry
from ..entries.fields import INCH, SHOWN_SCALE, SHOWN_UNIT, Kind, Parts, Quantity
from ..look_again import LookAgain
from ..reading.values import Dimension
from .beside import of_beside

MOST_LOST_MM = 1.0
MOST_GROWN_MM = 15.0
OVERHANG_MM = 0.2  # of a head gasket into the bore
SAME_CUT_MM = 0.013  # 0.0005 in
CUT_FROM = {"case_cut": "the case", "head_cut": "the head"}
EXCHANGED_MM = 1.5
WIDEST_DEG = 15.0  # either way, of an angle that somebody read
MOST_SCATTER_MM = 0.15  # standard deviation of readings of one length
COMPARED = ("crank.stroke", "crank.conrod_length", "stack.bore", "stack.case_deck", "stack.cylinder")
MOST_UNLIKE = 2.0


def unlikely(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every value that is unusual: possibly a slip, possibly a rare engine."""
    for path, entry in entries.items():
        copied = entry.origin and not entry.origin.startswith("--")
        if not copied and isinstance(entry.value, float) and entry.value != 0:
            yield from unusual_value(path, entry, entry.value)
    yield from unlikely_together(entries, mapping)


def unlikely_together(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for what is unusual only as values stand beside each other."""
    yield from _of_readings(entries, mapping)
    yield from _of_followers(entries)
    yield from of_beside(mapping)
    if any(path.endswith(".rocker.shaft.x") for path in entries):
        from .places import of_assembly, of_neighbours

        yield from of_assembly(mapping)
        yield from of_neighbours(mapping)
    if stands_over_piston(entries) or any(path.startswith("lobe.") for path in entries):
        from .clearances import of_clearances
        from .places import of_places

        yield from of_clearances(entries, mapping)
        yield from of_places(entries, mapping)
    if any(path.endswith(".cup_above_gasket") for path in entries):
        from .heights import of_heights

        yield from of_heights(entries, mapping)
    if any(".bore_readings." in path for path in entries):
        from .bores import of_bores

        yield from of_bores(mapping)
    for cylinder in ("", *(f"{name}." for name in names(mapping, "cylinders"))):
        reader = Reader(mapping, (cylinder,))
        bore, stroke = reader.find("stack.bore"), Reader(mapping, ("",)).find("crank.stroke")
        if bore is not None and stroke is not None and not 0.6 <= bore / stroke <= 1.7:
            thrown = ", and whether that is the throw" if bore > 1.7 * stroke else ""
            yield LookAgain(
                f"{cylinder}stack.bore {in_both_units(bore)} and crank.stroke {in_both_units(stroke)} make an unusual pair: "
                f"look at the units of both{thrown}",
                f"{cylinder}stack.bore",
                "crank.stroke",
            )
        ring = reader.find("chamber.gasket_bore")
        if bore is not None and ring is not None and ring < bore - OVERHANG_MM:
            yield LookAgain(
                f"{cylinder}chamber.gasket_bore {in_both_units(float(ring))} is less than the bore of "
                f"{in_both_units(float(bore))}: it would stand over the piston; is it a radius?",
                f"{cylinder}chamber.gasket_bore",
            )
        yield from _of_spigot(entries, mapping, cylinder)
        cut = [reader.find(f"stack.{one}") for one in CUT_FROM]
        if cut[0] is not None and cut[1] is not None and cut[0] > SAME_CUT_MM:
            if abs(cut[0] - cut[1]) <= SAME_CUT_MM:
                yield (
                    f"{cylinder}stack.case_cut and {cylinder}stack.head_cut are both {in_both_units(cut[0])}: is it one cut, "
                    "entered at both faces?"
                )
        heads = [reader.find(f"{port}.valve.head_diameter") for port in ("intake", "exhaust")]
        if cylinder and heads[0] is not None and heads[1] is not None and heads[1] > heads[0]:
            yield LookAgain(
                f"{cylinder}exhaust.valve.head_diameter {in_both_units(heads[1])} is larger than the intake's "
                f"{in_both_units(heads[0])}: are the two ports swapped?",
                f"{cylinder}intake",
                f"{cylinder}exhaust",
            )


def _of_spigot(entries: Entries, mapping: Flat, cylinder: str) -> Iterator[str]:
    """Yield that another base gasket is tried under a spigot that is counted from the case deck, or a spigot too wide."""
    length = entries.get(f"{cylinder}spigot.length")
    if length is None:
        return
    gasket = next(
        (entries[one] for one in (f"{cylinder}stack.base_gasket", "stack.base_gasket") if one in entries),
        None,
    )
    if gasket is not None and gasket.origin.startswith("--") and not length.origin.startswith("--"):
        yield LookAgain(
            f"{cylinder}spigot.length counts from the case deck: another base gasket lifts the cylinder, and its spigot "
            "hangs less deep by as much; try it too",
            f"{cylinder}spigot",
        )
    reader = Reader(mapping, (cylinder, ""))
    outer, mouth = reader.find("spigot.outer_diameter"), reader.find("stack.mouth_width")
    if outer is not None and mouth is not None and outer > mouth:
        yield LookAgain(
            f"{cylinder}spigot.outer_diameter {in_both_units(float(outer))} does not go into a case mouth of "
            f"{in_both_units(float(mouth))}: look at both",
            f"{cylinder}spigot.outer_diameter",
            reader.path("stack.mouth_width"),
        )


def unusual_value(path: str, entry: Entry, value: float) -> Iterator[str]:
    """Yield that one value lies where few engines have it, or that it was read in the wrong unit.

    path : what it is called
    """
    kind = entry.kind
    if isinstance(kind, Quantity) and kind.dimension is Dimension.LENGTH:
        yield from _scattered(path, entry)
    if isinstance(kind, (Quantity, Parts)) and kind.dimension is Dimension.ANGLE and entry.doubt is not None:
        if math.degrees(entry.doubt.half_width) > WIDEST_DEG:
            yield LookAgain(
                f"{path} = {entry.typed}: no tool reads an angle as badly as {math.degrees(entry.doubt.half_width):g} "
                "degrees either way: is it a slip?",
                path,
            )
    if not isinstance(kind, (Quantity, Parts)) or kind.usual is None:
        return
    asked = list(diameter_typed(f"{path} = {entry.typed}", kind, value))
    if asked:
        yield asked[0]
        return
    number = value / SHOWN_SCALE[kind.dimension]
    low, high = kind.usual
    if low <= (number if isinstance(kind, Quantity) else abs(number)) <= high:
        return
    unit = SHOWN_UNIT[kind.dimension]
    shown = f"{path} = {entry.typed} reads as {number:g}{unit}"
    if kind.dimension is Dimension.LENGTH:
        shown += f" ({number / INCH:.4g} in)"
        for factor, other in ((INCH, "inches"),) if in_mm(entry) else ((1 / INCH, "millimetres"),):
            if low <= number * factor <= high:
                yield LookAgain(
                    f"{shown}; {number * factor:.4g} mm would be usual: was it typed in {other}?", path
                )
                return
    elif path.startswith("lobe."):
        for factor, question in (
            (2, "are these degrees of the cam"),
            (0.5, "were the degrees counted twice"),
        ):
            if low <= number * factor <= high:
                yield LookAgain(
                    f"{shown}; {number * factor:g} deg of the crank would be usual: {question}?", path
                )
                return
    inches = f" ({low / INCH:.2g} and {high / INCH:.2g} in)" if kind.dimension is Dimension.LENGTH else ""
    yield f"{shown}; most engines lie between {low:g} and {high:g}{unit}{inches}"


def diameter_typed(shown: str, kind: Kind | None, number: float) -> Iterator[str]:
    """Yield that a radius is larger than such radii are, and half of it would be usual.

    shown : what it is called, as typed;  number : mm
    """
    if not isinstance(kind, Quantity) or kind.radius is None or kind.usual is None:
        return
    if number > kind.radius and kind.usual[0] <= number / 2 <= kind.radius:
        yield (
            f"{shown} reads as a radius of {in_both_units(number)}; most are at most {in_both_units(kind.radius)}, common "
            f"practice, and half of it, {in_both_units(number / 2)}, would be usual: is it a diameter?"
        )


def _scattered(path: str, entry: Entry) -> Iterator[str]:
    """Yield that readings of one length lie further apart than readings do."""
    if entry.doubt is None or not math.isfinite(entry.doubt.freedom):
        return
    scatter = entry.doubt.standard * math.sqrt(entry.doubt.freedom + 1.0)
    if scatter > MOST_SCATTER_MM:
        yield LookAgain(
            f"{path}: readings of one length scatter by {in_both_units(scatter)}, one standard deviation: is one of "
            f"{entry.typed} a slip?",
            path,
        )


def unlike(after: Flat, before: Flat) -> Iterator[str]:
    """Yield a sentence for every size in which two jobs of one engine differ too much to be one's successor."""
    for path in COMPARED:
        one, other = (Reader(flat, ("",)).find(path) for flat in (after, before))
        if one is None or other is None or min(one, other) <= 0:
            continue
        if max(one, other) > MOST_UNLIKE * min(one, other):
            yield (
                f"{path} is {in_both_units(float(one))} here and {in_both_units(float(other))} in the job before: "
                "are both in the units they say?"
            )
    yield from _cut_twice(after, before)


def _cut_twice(after: Flat, before: Flat) -> Iterator[str]:
    """Yield that what a face lost is entered twice: as a cut, and in places that are counted from it."""

    def lower(path: str) -> float | None:
        one, other = (Reader(flat, ("",)).find(path) for flat in (after, before))
        return None if one is None or other is None else float(other) - float(one)

    cuts = {cut: -(lower(f"stack.{cut}") or 0.0) for cut in CUT_FROM}
    case, head = ({cut: cuts[cut]} for cut in CUT_FROM)
    for path, of in (("stack.case_deck", case), ("stack.cylinder", cuts)):
        by = lower(path)
        cut = "" if by is None else _same_cut(of, by, SAME_CUT_MM)
        if by is not None and cut:
            yield (
                f"{path} is {in_both_units(by)} less than in the job before and {cut}: the same cut twice? After decking "
                "or milling, enter the cut and leave the rest as it was"
            )
    for train in names(after, "trains"):
        places = [lower(f"{train}.{entry}.z") for entry in ("valve.face", "rocker.shaft")]
        if all(by is not None and _same_cut(head, by, SAME_CUT_MM) for by in places):
            yield (
                f"{train}'s valve.face and rocker.shaft stand {in_both_units(head['head_cut'])} lower than in the job before, "
                "and as much is cut from the head: the same cut twice? Places in the head are entered as they were before it"
            )


def _same_cut(cuts: Mapping[str, float], shorter: float, near: float) -> str:
    """Return in words which cut, or both together, is by how much something else became shorter; nothing: none.

    cuts : entry → mm that were cut, of CUT_FROM;  shorter, near : mm
    """
    made = [(cut, size) for cut, size in cuts.items() if size > SAME_CUT_MM]
    for some in (*([one] for one in made), made):
        size = math.fsum(by for _, by in some)
        if some and abs(shorter - size) <= near:
            each = [f"{in_both_units(by)} is cut from {CUT_FROM[cut]}" for cut, by in some]
            return " and ".join(each)
    return ""


def _of_followers(entries: Entries) -> Iterator[str]:
    """Yield that a lobe's heel is entered, which counts with another follower, and not what the table was read with."""
    for path in entries:
        lobe = path.removesuffix(".base_radius")
        if lobe == path or any(one.startswith(f"{lobe}.read_with") for one in entries):
            continue
        yield LookAgain(
            f"{path} is entered, and {lobe}.read_with is not: what rode on the lobe when its table was read? It counts as "
            "the engine's own follower",
            lobe,
        )


def _of_readings(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield what is odd about the stacks on which pushrods and drops were read."""
    for reading, entry, what in (
        ("measured_pushrod", "length", "its pushrod was measured"),
        ("measured_drop", "drop", "its drop was read"),
    ):
        read, own, said = [], set[str](), set[str]()
        for name in names(mapping, "trains"):
            train = Reader(mapping, (f"{name}.",))
            if not train.has(f"{reading}.{entry}") and not train.has(f"{reading}.checking_rod"):
                continue
            read.append(name)
            stack = f"{name}.{reading}.stack."
            if any(path.startswith(stack) and not one.is_taken for path, one in entries.items()):
                own.add(name)
            if f"{name}.{reading}.{ON}" in entries:  # it says on which stack
                said.add(name)
            since = since_read(mapping, name, reading)
            assert since is not None
            yield from _twice(entries, since)
            yield from _exchanged(since)
            grown = math.fsum(
                by for part, by in since.stack.items() if part in PARTS
            )  # cuts are no sign of a slip
            if grown < -MOST_LOST_MM:
                yield LookAgain(
                    f"the stack of {name} is now {in_both_units(-grown)} lower than when {what}: "
                    "are then and now swapped?",
                    f"{name}.{reading}",
                )
            elif grown > MOST_GROWN_MM:
                yield LookAgain(
                    f"the stack of {name} is now {in_both_units(grown)} taller than when {what}: look at both",
                    f"{name}.{reading}",
                )
        for name in read:
            if own and name not in own | said:
                told = "reading" if reading == "measured_pushrod" else "drop"
                yield LookAgain(
                    f"{name}'s {told} gives no stack ({name}.{reading}.stack), but {_named(read, own)} does: is it forgotten?",
                    f"{name}.{reading}",
                )


def _named(read: list[str], own: set[str]) -> str:
    return f"that of {next(one for one in read if one in own)}"


def _twice(entries: Entries, since: SinceRead) -> Iterator[str]:
    """Yield that a cylinder became shorter by just what was cut from the case, the head or both."""
    cuts = {cut: -since.stack.get(cut, 0.0) for cut in CUT_FROM}
    cylinder, shorter = since.train.rpartition(".")[0], -since.stack.get("cylinder", 0.0)
    paths = (f"{cylinder}.stack.cylinder", "stack.cylinder", f"{since.train}.{since.reading}.stack.cylinder")
    doubts = (entries[path].doubt for path in paths if path in entries)
    near = max(SAME_CUT_MM, *(doubt.half_width for doubt in doubts if doubt is not None), 0.0)
    cut = _same_cut(cuts, shorter, near) if shorter > 0 else ""
    if cut:
        yield LookAgain(
            f"{since.train}: the cylinder is {in_both_units(shorter)} shorter than when {_read(since)} and {cut}: the same "
            "cut twice? If the cylinder itself was not shortened, leave it as it was",
            f"{since.train}.{since.reading}",
        )


def _exchanged(since: SinceRead) -> Iterator[str]:
    """Yield that the stack moved the other way than its piston: the one before and the one after were exchanged."""
    if abs(since.growth - since.higher) > EXCHANGED_MM and (
        abs(since.growth + since.higher) < abs(since.growth - since.higher) - EXCHANGED_MM
    ):
        stack, piston = (
            ("taller" if since.growth > 0 else "lower"),
            ("higher" if since.higher > 0 else "lower"),
        )
        yield LookAgain(
            f"{since.train}: since {_read(since)} the stack got {in_both_units(abs(since.growth))} {stack} while the piston "
            f"came to stand {in_both_units(abs(since.higher))} {piston}: were the stacks of then and now exchanged?",
            f"{since.train}.{since.reading}",
        )


def _read(since: SinceRead) -> str:
    return "its pushrod was measured" if since.reading == "measured_pushrod" else "its drop was read"
