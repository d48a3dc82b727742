"""What entries mean together over a piston: valves, pockets, the crown, a drop read at top centre.

Only plain arithmetic while all is well; what takes longer is loaded where two heads come close.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from tallstack.geometry.core.mapping import Flat, Reader, names

from ..contents import Entries
from ..faults import Fault, Where
from .blame import Teller
from .words import in_both_units

MOST_MARGIN = 0.25  # of the head's diameter
LEAST_PISTON = 0.8  # of the bore
LEAST_POCKET = 0.75  # of the head's diameter; narrower is no pocket of this valve
THIN_MM = 0.5  # a margin nobody measured, and none is thinner
TOUCHING_MM = 1e-3
MOST_CHANGE_MM = 40.0  # no crank or piston differs by more from the one a drop was read on
UNDER_CROWN = ("crank.stroke", "crank.conrod_length", "piston.compression_height")


def number(reader: Reader, entry: str) -> float | None:
    """Return a number in mm or rad, or None."""
    found = reader.find(entry)
    return None if found is None else float(found)


def row(reader: Reader, entry: str, axes: str) -> tuple[float, ...] | None:
    """Return the numbers of a row, or None where one of them is not known."""
    found = [number(reader, f"{entry}.{axis}") for axis in axes]
    known = tuple(one for one in found if one is not None)
    return known if len(known) == len(axes) else None


def of_clearances(
    entries: Entries, mapping: Flat, where: Where, is_open: Callable[[str], bool]
) -> Iterator[Fault]:
    """Yield contradictions among valves, pockets, crown and a measured drop."""
    teller = Teller(entries, where)
    for cylinder in names(mapping, "cylinders") or ("",):
        prefixes = (f"{cylinder}.", "") if cylinder else ("",)
        yield from _of_piston(Reader(mapping, prefixes), teller)
    for train in names(mapping, "trains"):
        under = Reader(mapping, (f"{train.rpartition('.')[0]}.", ""))
        gear = Reader(mapping, (f"{train}.",))
        yield from _of_valve(gear, under, teller)
        yield from _of_pocket(gear, under, teller)
        if any(path.startswith(f"{train}.measured_drop.") for path in entries):
            yield from _of_drop(gear, under, teller, is_open)
    yield from _of_pairs(mapping, teller)


def crown_across(cylinder: Reader) -> tuple[float, str] | None:
    """Return how wide a crown is [mm], with the entry that says so: the piston, or else the bore."""
    for entry in ("piston.diameter", "stack.bore"):
        across = number(cylinder, entry)
        if across is not None:
            return across, cylinder.path(entry)
    return None


def _of_piston(piston: Reader, teller: Teller) -> Iterator[Fault]:
    skirt, bore = number(piston, "piston.diameter"), number(piston, "stack.bore")
    if skirt is not None and bore is not None and skirt < LEAST_PISTON * bore:
        found = f"a piston of {in_both_units(skirt)} does not fill a bore of {in_both_units(bore)}"
        paths = piston.path("piston.diameter"), piston.path("stack.bore")
        yield from teller.fault(found, "look at the units of both", *paths)
    shapes = [shape for shape in ("dome", "dish", "crown_table") if piston.has(f"piston.{shape}")]
    if len(shapes) > 1:
        tables = [teller.table(piston.prefixes, f"piston.{shape}") for shape in reversed(shapes)]
        yield from teller.fault(f"{' and '.join(shapes)} are both given", "a crown has one of them", *tables)
    crown = crown_across(piston)
    for shape, size, way in (("dome", "height", "high"), ("dish", "depth", "deep")):
        across, far = number(piston, f"piston.{shape}.diameter"), number(piston, f"piston.{shape}.{size}")
        paths = piston.path(f"piston.{shape}.diameter"), piston.path(f"piston.{shape}.{size}")
        if across is not None and crown is not None and across > crown[0]:
            found = f"a {shape} of {in_both_units(across)} across is wider than a crown of {in_both_units(crown[0])}"
            yield from teller.fault(found, "look at the units of both", paths[0], crown[1])
        if across is not None and far is not None and far > across / 2:
            found = f"a {shape} {in_both_units(far)} {way} is more than half of its {in_both_units(across)} across"
            yield from teller.fault(found, "no part of a ball is; are the two exchanged?", paths[1], paths[0])
    height = number(piston, "piston.compression_height")
    for entry, words in (
        ("crown_thickness", "a crown {} thick reaches down to the pin"),
        ("ring_land", "a top ring groove {} down lies below the pin"),
        ("dish.depth", "a dish {} deep reaches down to the pin"),
    ):
        down = number(piston, f"piston.{entry}")
        if height is not None and down is not None and down >= height:
            found = f"{words.format(in_both_units(down))}, {in_both_units(height)} below the crown plane"
            paths = piston.path(f"piston.{entry}"), piston.path("piston.compression_height")
            yield from teller.fault(found, "look at the units of both", *paths)
    inner = number(piston, "piston.skirt_inner")
    if inner is not None and skirt is not None and inner >= skirt:
        found = f"{in_both_units(inner)} inside is not less than a piston of {in_both_units(skirt)}"
        paths = piston.path("piston.skirt_inner"), piston.path("piston.diameter")
        yield from teller.fault(found, "are the two exchanged?", *paths)
    yield from _of_pin(piston, teller)


def _of_pin(piston: Reader, teller: Teller) -> Iterator[Fault]:
    offset, stroke = number(piston, "piston.pin_offset"), number(piston, "crank.stroke")
    rod = number(piston, "crank.conrod_length")
    if offset is None or stroke is None:
        return
    at = piston.path("piston.pin_offset")
    if abs(offset) >= stroke / 2:
        found = f"a pin {in_both_units(abs(offset))} off the cylinder's axis is further out than the throw of {in_both_units(stroke / 2)}"
        yield from teller.fault(found, "it is 0 or a few mm", at, piston.path("crank.stroke"))
    elif rod is not None and rod > stroke / 2 and abs(offset) >= rod - stroke / 2:
        found = (
            f"a pin {in_both_units(abs(offset))} off the cylinder's axis cannot be reached by a rod of "
            f"{in_both_units(rod)} on a throw of {in_both_units(stroke / 2)} all the way round"
        )
        yield from teller.fault(found, "it is 0 or a few mm", at, piston.path("crank.conrod_length"))


def _of_valve(gear: Reader, cylinder: Reader, teller: Teller) -> Iterator[Fault]:
    head, bore = number(gear, "valve.head_diameter"), number(cylinder, "stack.bore")
    at, bore_at = gear.path("valve.head_diameter"), cylinder.path("stack.bore")
    face = row(gear, "valve.face", "xyz")
    if head is not None and bore is not None and head >= bore:
        found = f"a valve head of {in_both_units(head)} does not go into a bore of {in_both_units(bore)}"
        yield from teller.fault(found, "look at the units of both", at, bore_at)
    if face is not None and bore is not None and math.hypot(*face[:2]) >= bore / 2:
        off = in_both_units(math.hypot(*face[:2]))
        found = f"its centre lies {off} off the cylinder's axis, outside a bore of {in_both_units(bore)}"
        remedy = "the first two numbers count from the axis, across and along the crankshaft"
        yield from teller.fault(found, remedy, gear.path("valve.face"), bore_at)
    stem = number(gear, "valve.stem_diameter")
    if head is not None and stem is not None and stem >= head:
        found = f"a stem of {in_both_units(stem)} is not thinner than its head of {in_both_units(head)}"
        yield from teller.fault(found, "are the two exchanged?", gear.path("valve.stem_diameter"), at)
    margin = number(gear, "valve.margin")
    if head is not None and margin is not None and margin > MOST_MARGIN * head:
        found = f"{in_both_units(margin)} is no margin of a head of {in_both_units(head)}"
        remedy = "it is the straight edge between face and seat, about 1 to 2 mm (0.04 to 0.08 in)"
        yield from teller.fault(found, remedy, gear.path("valve.margin"), at)
    tip = number(gear, "valve.tip_height")
    if face is not None and tip is not None and tip <= face[2]:
        found = f"the stem's tip at {in_both_units(tip)} is not above the face at {in_both_units(face[2])}"
        remedy = "both count from the head's gasket face"
        yield from teller.fault(found, remedy, gear.path("valve.tip_height"), gear.path("valve.face"))


def _of_pocket(gear: Reader, cylinder: Reader, teller: Teller) -> Iterator[Fault]:
    across, depth = number(gear, "pocket.diameter"), number(gear, "pocket.depth")
    crown = crown_across(cylinder)
    at = gear.path("pocket.diameter")
    if crown is not None:
        yield from _off_the_crown(gear, across, crown, teller)
    if across is not None and crown is not None and across >= crown[0]:
        found = (
            f"a pocket of {in_both_units(across)} across is as wide as a crown of {in_both_units(crown[0])}"
        )
        yield from teller.fault(found, "look at the units of both", at, crown[1])
    head = number(gear, "valve.head_diameter")
    if across is not None and head is not None and across < LEAST_POCKET * head:
        found = f"a head of {in_both_units(head)} does not go into a pocket of {in_both_units(across)}"
        yield from teller.fault(found, "look at the units of both", at, gear.path("valve.head_diameter"))
    for entry, words in (
        ("piston.crown_thickness", "goes through a crown {} thick"),
        ("piston.compression_height", "reaches down to the pin, {} below the crown plane"),
    ):
        metal = number(cylinder, entry)
        if depth is not None and metal is not None and depth >= metal:
            found = f"a pocket {in_both_units(depth)} deep {words.format(in_both_units(metal))}"
            remedy = "both count from the crown plane" if "pin" in words else "look at both again"
            yield from teller.fault(found, remedy, gear.path("pocket.depth"), cylinder.path(entry))


def _off_the_crown(
    gear: Reader, across: float | None, crown: tuple[float, str], teller: Teller
) -> Iterator[Fault]:
    """Yield that a pocket lies beside the crown."""
    centre, deepest = row(gear, "pocket.centre", "xy"), row(gear, "pocket.deepest", "xy")
    remedy = "both numbers count from the piston's axis, across and along the crankshaft"
    if centre is not None and across is not None and math.hypot(*centre) >= (crown[0] + across) / 2:
        found = (
            f"its axis meets the crown plane {in_both_units(math.hypot(*centre))} off the piston's axis, where a cut of "
            f"{in_both_units(across)} across misses a crown of {in_both_units(crown[0])}"
        )
        yield from teller.fault(found, remedy, gear.path("pocket.centre"), crown[1])
    if deepest is not None and math.hypot(*deepest) >= crown[0] / 2:
        found = (
            f"its deepest point lies {in_both_units(math.hypot(*deepest))} off the piston's axis, beside a crown of "
            f"{in_both_units(crown[0])} across"
        )
        yield from teller.fault(found, remedy, gear.path("pocket.deepest"), crown[1])


def _of_drop(
    gear: Reader, cylinder: Reader, teller: Teller, is_open: Callable[[str], bool]
) -> Iterator[Fault]:
    table = gear.path("measured_drop")
    drop, stroke = number(gear, "measured_drop.drop"), number(cylinder, "crank.stroke")
    if drop is None and not is_open(f"{table}.drop"):
        message = 'missing; write how far the closed valve went down until it touched, for example drop = "0.312 in"'
        yield from teller.lacking(table, "drop", message)
    leans = f"{table}.lean", gear.path("valve.lean")
    if number(gear, "measured_drop.lean") is None and row(gear, "valve.lean", "xy") is None:
        if not any(is_open(one) for one in leans):
            message = "missing; the stem's angle to the cylinder axis says how the piston's way counts along it: write for example lean = 23"
            yield from teller.lacking(table, "lean", message)
    if drop is not None and stroke is not None and drop >= stroke:
        found = f"a valve does not go down by {in_both_units(drop)} over a stroke of {in_both_units(stroke)}"
        yield from teller.fault(
            found, "look at the units of both", f"{table}.drop", cylinder.path("crank.stroke")
        )
    room = number(gear, "measured_drop.room")
    if room is not None and gear.mapping.get(f"{table}.meets") == "crown":
        found = f"{in_both_units(room)} to a pocket's wall, where the valve meets the plain crown"
        yield from teller.fault(
            found, 'leave it out, or say meets = "pocket"', f"{table}.room", f"{table}.meets"
        )
    for entry in UNDER_CROWN:
        then, now = number(gear, f"measured_drop.{entry}"), number(cylinder, entry)
        if then is not None and now is not None and abs(then - now) > MOST_CHANGE_MM:
            found = f"{in_both_units(then)} when the drop was read, against {in_both_units(now)} now"
            remedy = "no engine changes so much; look at the units of both"
            yield from teller.fault(found, remedy, f"{table}.{entry}", cylinder.path(entry))


def _of_pairs(mapping: Flat, teller: Teller) -> Iterator[Fault]:
    """Yield that two heads of one cylinder stand in one another while both valves are closed."""
    gears: dict[str, list[str]] = {}
    for train in names(mapping, "trains"):
        gears.setdefault(train.rpartition(".")[0], []).append(train)
    for trains in gears.values():
        for index, second in enumerate(trains):
            for first in trains[:index]:
                yield from _of_pair(Reader(mapping, (f"{first}.",)), Reader(mapping, (f"{second}.",)), teller)


def _of_pair(first: Reader, second: Reader, teller: Teller) -> Iterator[Fault]:
    face, other = row(second, "valve.face", "xyz"), row(first, "valve.face", "xyz")
    head, beside = number(second, "valve.head_diameter"), number(first, "valve.head_diameter")
    leans = row(second, "valve.lean", "xy"), row(first, "valve.lean", "xy")
    if face is None or other is None or head is None or beside is None or None in leans:
        return
    apart = math.dist(face, other)
    paths = second.path("valve.face"), first.path("valve.face")
    if apart == 0 and teller.is_copy(paths[0]):  # not said yet where its valve is, see `unusual.clearances`
        return
    if teller.blamed(*paths, second.path("valve.head_diameter"), first.path("valve.head_diameter")):
        return
    if apart >= (head + beside) / 2 or not _meet(first, second):
        return
    found = (
        f"its centre is {in_both_units(apart)} from that of the other valve, and the two heads of "
        f"{in_both_units(head)} and {in_both_units(beside)} stand in one another while both are closed"
    )
    yield from teller.fault(found, "look at the signs of both places and at the diameters", *paths)


def _meet(first: Reader, second: Reader) -> bool:
    """Say whether two closed heads meet, by the distance between the two bodies."""
    import numpy as np
    from tallstack.geometry.core.frames import array
    from tallstack.geometry.piston.head import Head
    from tallstack.geometry.piston.pair import between

    def head(gear: Reader) -> Head:
        stem, radius = gear.lean("valve.lean"), gear.number("valve.head_diameter") / 2
        centre = gear.point("valve.face") + (number(gear, "valve.sink") or 0.0) * stem
        return Head(centre, stem, radius, array(number(gear, "valve.margin") or THIN_MM))

    least = between(head(first), head(second))
    return bool(np.isfinite(least) and least < TOUCHING_MM)
