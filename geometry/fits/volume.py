"""Displacement, compression ratio, deck and squish of a cylinder.

    swept volume       piston area × travel
    volume at top      chamber + gasket bore × gasket + bore × deck + what the crown adds
    compression ratio  (swept + at top) / at top
    sunk valves        sink × head area of each, added to the chamber: sunk "since", so after it was measured
    deck               the cylinder's top face above the crown plane at top centre; negative: it stands out
    squish             deck + head gasket, flat crown against the head's gasket face

The crown adds its pockets and dish and takes away a dome: entered as `crown_volume`, or worked out from the
crown's entries, each pocket in closed form as the part of its tilted round cut below the crown plane. A crown of
which nothing is entered is taken as flat and a gasket without a bore of its own as wide as the bore: told, and then
nothing that counts it is proved.

A sunk valve makes the chamber larger than it was read; like everything done since, it counts as done after the
reading.

Sources: plane geometry; the ungula of a cylinder by integrating over its floor's chords.
"""

from __future__ import annotations

import numpy as np

from ..core.answer import (
    CYLINDER,
    Figure,
    Found,
    Measured,
    Missing,
    Refused,
    Value,
    answers,
    lacking,
    lacking_but_height,
    of_cylinder,
)
from ..core.frames import Array, array, norm
from ..core.mapping import Flat, Reader, names
from ..core.search import Flags, circle_of
from ..core.targets import COMPRESSION_RATIO, SQUISH_LEAST, SQUISH_MOST
from ..crank.crank import crank_of
from ..engine.alternatives import case_deck, pocket_centre
from ..engine.defaults import completed, signed
from ..piston.crown import Pocket, pocket

CC = 1000.0  # mm³
NO_ROOM = (
    "nothing is left over the piston at the top: look at chamber.volume, piston.crown_volume and the deck"
)
UNDER_HEAD = ("base_gasket", "cylinder", "case_cut")


@answers(CYLINDER, "DISPLACEMENT", displacement=Figure("displacement of the cylinder", "cc", headline=True))
def displacement(mapping: Flat, cylinder: str) -> Found:
    """Return a cylinder's swept volume."""
    reader = of_cylinder(mapping, cylinder)
    moving = crank_of(reader)
    bore = reader.number("stack.bore")
    missing = lacking_but_height([reader])
    if missing is not None:
        return missing
    moving = moving._replace(compression_height=array(0.0))
    return {"displacement": Value(np.pi / 4 * bore**2 * moving.travel / CC)}


@answers(
    CYLINDER,
    "DECK AND SQUISH",
    deck=Figure(
        "crown below the cylinder's top",
        headline=True,
        measured=Measured("crown below the cylinder's top at top centre", (-3, 8), signed=True),
    ),
    squish=Figure(
        "squish at rest",
        least=SQUISH_LEAST,
        most=SQUISH_MOST,
        below_zero="the crown stands past the head's gasket face",
        more=("head gasket for a wanted squish", (SQUISH_LEAST, SQUISH_MOST)),
        measured=Measured("crown to head at top centre", (0.3, 4)),
    ),
    gasket_for_squish_least=Figure(
        "head gasket for the least squish",
        refused=Refused("any", "the deck alone leaves that much"),
        rounded=1.0,
        main=False,
    ),
    gasket_for_squish_most=Figure(
        "head gasket for the most squish",
        refused=Refused("not possible", "the deck alone is {} more than that"),
        rounded=-1.0,
        main=False,
    ),
)
def squish(mapping: Flat, cylinder: str) -> Found:
    """Return deck and squish at top centre."""
    full, _ = completed(mapping)
    reader = of_cylinder(full, cylinder)
    top = crank_of(reader).top
    face = case_deck(reader) + sum(signed(part) * reader.number(f"stack.{part}") for part in UNDER_HEAD)
    gasket = reader.number("stack.head_gasket")
    missing = lacking([reader])
    if missing is not None:
        return missing
    found = {
        "deck": Value(face - top),
        "squish": Value(face - top + gasket, note="at rest, flat crown against the head's gasket face"),
    }
    targets = Reader(full, ("targets.",))
    for side in ("least", "most"):
        wanted = targets.find(f"squish_{side}")
        if wanted is not None:
            found[f"gasket_for_squish_{side}"] = Value(wanted - (face - top))
    return found


def _left_by(suggestion: str, which: str) -> Figure:
    """Return the squish that a suggestion would leave."""
    return Figure(
        f"squish that {which} would leave",
        least=SQUISH_LEAST,
        most=SQUISH_MOST,
        below_zero="the crown would stand past the head's gasket face",
        left_by=suggestion,
        main=False,
    )


@answers(
    CYLINDER,
    "COMPRESSION",
    asked_by=(".chamber.volume",),
    volume_at_top=Figure("volume over the piston at the top", "cc", main=False),
    crown_volume=Figure("of it, what the crown adds", "cc", main=False),
    sunk_volume=Figure("of it, what sunk valves add", "cc", main=False),
    compression_ratio=Figure(
        "compression ratio",
        "",
        headline=True,
        more=("head gasket or deck for a wanted ratio", (COMPRESSION_RATIO,)),
    ),
    gasket_for_ratio=Figure(
        "head gasket for the ratio wanted",
        refused=Refused("not possible", "it would be {} less than none; look at deck and chamber"),
        main=False,
    ),
    squish_with_gasket_for_ratio=_left_by("gasket_for_ratio", "gasket"),
    deck_for_ratio=Figure("or deck for it", main=False),
    squish_with_deck_for_ratio=_left_by("deck_for_ratio", "deck"),
)
def compression(mapping: Flat, cylinder: str) -> Found:
    """Return the compression ratio and the volumes behind it."""
    full, _ = completed(mapping)
    reader = of_cylinder(full, cylinder)
    chamber, bore = reader.number("chamber.volume"), reader.number("stack.bore")
    ring = reader.find("chamber.gasket_bore")
    gasket_bore = bore if ring is None else ring
    sunk, untold = _since(full, cylinder)
    found = squish(mapping, cylinder), displacement(mapping, cylinder)
    missing = list(reader.missing)
    missing += [entry for one in found if isinstance(one, Missing) for entry in one.entries]
    crown = crown_volume(full, cylinder)
    if isinstance(crown, Missing):
        missing += crown.entries
    if missing or isinstance(crown, Missing):
        return Missing.of(missing)
    deck, swept = (one for one in found if not isinstance(one, Missing))
    gasket = reader.number("stack.head_gasket")
    flat = "" if _crown_is_told(full, cylinder) else "nothing is entered of the crown: taken as flat"
    pockets = _pockets_untold(full, cylinder)
    open_ring = "" if ring is not None else "chamber.gasket_bore is not entered: taken as the bore"
    unsaid = (
        *(("piston.crown_volume",) if flat or pockets else ()),
        *(("chamber.gasket_bore",) if open_ring else ()),
        *(("chamber.volume",) if untold else ()),
    )
    over = np.pi / 4 * (gasket_bore**2 * gasket + bore**2 * deck["deck"].value) + crown + chamber + sunk
    if np.ndim(over) == 0 and over <= 0:
        return Missing.of((), NO_ROOM)
    displaced = swept["displacement"].value
    answer = {
        "volume_at_top": Value(over / CC, note="; ".join(filter(None, (untold, open_ring))), unsaid=unsaid),
        "crown_volume": Value(
            crown / CC, note="; ".join(filter(None, (flat, pockets))), unsaid=unsaid[: bool(flat or pockets)]
        ),
    }
    if np.any(sunk != 0):
        note = (
            "counts as sunk after the chamber was measured; if it was before, enter the chamber less by this"
        )
        answer["sunk_volume"] = Value(sunk / CC, note=note)
    answer["compression_ratio"] = Value((displaced + over / CC) / (over / CC), unsaid=unsaid)
    wanted = Reader(full, ("targets.",)).find("compression_ratio")
    if wanted is not None:
        more = displaced / (wanted - 1) - over / CC
        thicker, lower = (more * CC / (np.pi / 4 * across**2) for across in (gasket_bore, bore))
        left = deck["squish"]
        answer["gasket_for_ratio"] = Value(gasket + thicker, unsaid=unsaid)
        answer["squish_with_gasket_for_ratio"] = left._replace(value=left.value + thicker, unsaid=unsaid)
        answer["deck_for_ratio"] = Value(deck["deck"].value + lower, unsaid=unsaid)
        answer["squish_with_deck_for_ratio"] = left._replace(value=left.value + lower, unsaid=unsaid)
    return answer


def _since(mapping: Flat, cylinder: str) -> tuple[Array, str]:
    """Return what valves sunk since add to the chamber [mm³], and in words what is not counted."""
    total, untold = array(0.0), []
    for name in names(mapping, "trains"):
        reader = Reader(mapping, (f"{name}.",))
        sink, head = reader.find("valve.sink"), reader.find("valve.head_diameter")
        if name.rpartition(".")[0] != cylinder or sink is None:
            continue
        if head is not None:
            total = total + sink * np.pi / 4 * head**2
        elif np.any(sink != 0):
            untold.append(f"{name}.valve.sink is not counted: that takes valve.head_diameter")
    holder = of_cylinder(mapping, cylinder)
    cut, gone = holder.find("stack.head_cut"), holder.find("chamber.head_cut")
    if cut is not None and np.any(cut != (0.0 if gone is None else gone)):
        why = "head_cut is not counted: how wide the chamber is there is not known, measure it again"
        untold.append(f"{why} and enter chamber.head_cut, what was gone by then")
    return total, "; ".join(untold)


def _pockets_untold(mapping: Flat, cylinder: str) -> str:
    """Return in words that a pocket is known by a drop alone, so that its volume is not counted."""
    if of_cylinder(mapping, cylinder).find("piston.crown_volume") is not None:
        return ""
    known = {reader.prefixes[0] for reader, _ in _pockets(mapping, cylinder)}
    for name in names(mapping, "trains"):
        reader = Reader(mapping, (f"{name}.",))
        meets = name.rpartition(".")[0] == cylinder and reader.word("measured_drop.meets") == "pocket"
        if meets and f"{name}." not in known:
            return "pockets that a drop alone tells of are not counted: measure piston.crown_volume"
    return ""


def _crown_is_told(mapping: Flat, cylinder: str) -> bool:
    """Say whether anything is entered of a crown's shape."""
    reader = of_cylinder(mapping, cylinder)
    shapes = ("crown_volume", "crown_table", "dome", "dish")
    return any(reader.has(f"piston.{one}") for one in shapes) or bool(_pockets(mapping, cylinder))


def crown_volume(mapping: Flat, cylinder: str) -> Array | Missing:
    """Return what the crown adds to the volume over its plane [mm³]: entered, or from the crown's entries."""
    reader = of_cylinder(mapping, cylinder)
    entered = reader.find("piston.crown_volume")
    if entered is not None:
        return entered
    if reader.has("piston.crown_table"):
        return Missing.of(("piston.crown_volume",), "a table of heights does not reach to the crown's edge")
    total = _caps(reader)
    cuts = _pockets(mapping, cylinder)
    readers = [reader, *(one for one, _ in cuts)]
    missing = lacking(readers)
    if missing is not None:
        return missing
    pockets = [cut for _, cut in cuts]
    if pockets and (reader.has("piston.dome") or reader.has("piston.dish") or _meet(pockets)):
        return Missing.of(
            ("piston.crown_volume",),
            "pockets that meet each other, a dome or a dish share volume: measure it",
        )
    return total + sum((pocket_volume(one) for one in pockets), array(0.0))


def volume_by_shape(mapping: Flat, cylinder: str) -> tuple[float, float] | None:
    """Return between what a crown's shape alone says of its volume over the plane [mm³]; None where nothing says it.

    Of one engine. What a dome, a dish and pockets that meet share is not worked out: of each by itself and all together.
    Without end upwards where not every valve's pocket is entered: a pocket that nobody entered may be there.
    """
    reader = of_cylinder(mapping, cylinder)
    if reader.has("piston.crown_table"):
        return None
    cap = float(_caps(reader))
    cuts = _pockets(mapping, cylinder)
    if lacking([reader, *(one for one, _ in cuts)]) is not None or not (cap or cuts):
        return None
    each = [float(pocket_volume(cut)) for _, cut in cuts]
    whole = sum(each)
    gears = [one for one in names(mapping, "trains") if one.rpartition(".")[0] == cylinder]
    open_ = np.inf if len(cuts) < len(gears) else 0.0
    if cap < 0:  # a pocket takes away of the dome too
        return cap + whole, whole + open_
    return max([cap, *each]) if cap or _meet([cut for _, cut in cuts]) else whole, cap + whole + open_


def _caps(reader: Reader) -> Array:
    """Return what a dish adds and a dome takes away [mm³]; what is absent of one is noted and NaN."""
    total = array(0.0)
    for table, entry, way in (("dome", "height", -1.0), ("dish", "depth", 1.0)):
        if reader.has(f"piston.{table}.{entry}"):
            high, wide = (reader.number(f"piston.{table}.{one}") for one in (entry, "diameter"))
            total = total + way * cap_volume(high, wide / 2)
    return total


def _pockets(mapping: Flat, cylinder: str) -> list[tuple[Reader, Pocket]]:
    found = []
    for name in names(mapping, "trains"):
        train = Reader(mapping, (f"{name}.",))
        if name.rpartition(".")[0] == cylinder and (
            train.has("pocket.centre") or train.has("pocket.deepest")
        ):
            lean, diameter = train.lean("pocket.lean"), train.number("pocket.diameter")
            found.append((train, pocket(pocket_centre(train), lean, diameter, train.number("pocket.depth"))))
    return found


def _meet(pockets: list[Pocket]) -> bool:
    """Say whether two pockets share volume below the crown plane, in any engine of a batch.

    Source: places all over one cut, from its floor up to the plane, held against the other.
    """
    shares, turns = np.sqrt(np.linspace(0.02, 1.0, 9)), np.arange(36) * (2 * np.pi / 36)
    across, turn = (one.ravel() for one in np.meshgrid(shares, turns))
    wide = [one.spread() for one in pockets]
    for one in wide:
        place = one.centre + across[:, None] * (
            circle_of(one.centre, one.axis, one.radius, turn) - one.centre
        )
        for up in np.linspace(0.0, 1.0, 7):
            high = place + (one.sunk * (up - 1.0))[..., None] * one.axis
            if any(
                bool(np.any(_inside(other, high) & (high[..., 2] < 0))) for other in wide if other is not one
            ):
                return True
    return False


def _inside(one: Pocket, seen: Array) -> Flags:
    """Say whether points lie in a cut, (..., 3) to (...)."""
    offset = seen - one.centre
    along = np.vecdot(offset, one.axis)
    inside: Flags = (norm(offset - along[..., None] * one.axis) < one.radius) & (along > -one.sunk)
    return inside


def cap_volume(height: Array, radius: Array) -> Array:
    """Return the volume of a spherical cap, π·h·(3a² + h²)/6 [mm³]."""
    volume: Array = np.pi * height * (3 * radius**2 + height**2) / 6
    return volume


def pocket_volume(one: Pocket) -> Array:
    """Return how much of a pocket's tilted round cut lies below the crown plane [mm³].

    Source: over the floor the cut is sunk + x·tan λ high along its axis, x towards the deep side; the chords
    beyond x₀ = -sunk/tan λ, where it is none, do not count.
    """
    radius, sunk = one.radius, one.sunk
    slope = np.hypot(one.axis[..., 0], one.axis[..., 1]) / one.axis[..., 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        begins = np.where(slope > 1e-12, -sunk / slope, np.where(sunk > 0, -np.inf, np.inf))
    start = np.clip(begins, -radius, radius)
    half = np.sqrt((radius - start) * (radius + start))
    area = radius**2 * np.arccos(start / radius) - start * half
    volume: Array = sunk * area + slope * (2.0 / 3.0) * half**3
    return np.maximum(volume, 0.0)
