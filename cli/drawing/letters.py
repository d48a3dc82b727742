"""Which letter stands for which entry, the same in every drawing and in every list of what to measure.

The order is the one in which one measures. Letters are never given anew: a further entry goes to the
end of the table. I and O are left out, since they read as 1 and 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ"


class Measures(Enum):
    """What an entry measures."""

    LENGTH = "length"
    ANGLE = "angle"
    NUMBER = "number"


REQUIRED = "pushrod"  # not an entry: the length that is worked out

_LENGTH, _ANGLE, _NUMBER = Measures.LENGTH, Measures.ANGLE, Measures.NUMBER

# The rest of the stack: piston and crank, spigot and mouth, studs, ports; drawn on a cylinder's own page.
OF_CYLINDER: tuple[tuple[str, Measures], ...] = (
    ("piston.diameter", _LENGTH),
    ("piston.skirt_below_pin", _LENGTH),
    ("piston.skirt_inner", _LENGTH),
    ("piston.oil_ring", _LENGTH),
    ("crank.conrod_beam_width", _LENGTH),
    ("crank.counterweight_radius", _LENGTH),
    ("spigot.length", _LENGTH),
    ("spigot.outer_diameter", _LENGTH),
    ("stack.mouth_width", _LENGTH),
    ("stack.mouth_below", _LENGTH),
    ("chamber.gasket_bore", _LENGTH),
    ("studs.stands", _LENGTH),
    ("studs.head_seat", _LENGTH),
    ("studs.washer", _LENGTH),
    ("studs.nut_height", _LENGTH),
    ("studs.diameter", _LENGTH),
    ("intake_face.centre.x", _LENGTH),
    ("intake_face.centre.y", _LENGTH),
    ("intake_face.centre.z", _LENGTH),
    ("exhaust_face.centre.x", _LENGTH),
    ("exhaust_face.centre.y", _LENGTH),
    ("exhaust_face.centre.z", _LENGTH),
    *(
        (f"spigot.reliefs.{index}.{part}", _ANGLE if part == "at" else _LENGTH)
        for index in range(4)
        for part in ("at", "width", "height")
    ),
)

ENTRIES: tuple[tuple[str, Measures], ...] = (
    # the stack, from the case outwards
    ("stack.base_gasket", _LENGTH),
    ("stack.cylinder", _LENGTH),
    ("stack.head_gasket", _LENGTH),
    ("stack.case_cut", _LENGTH),
    ("stack.head_cut", _LENGTH),
    ("stack.bore", _LENGTH),
    # the rod that was read on the mock-up, and its ends
    ("measured_pushrod.length", _LENGTH),
    ("measured_pushrod.checking_rod.closed", _LENGTH),
    ("measured_pushrod.checking_rod.turns", _NUMBER),
    ("measured_pushrod.checking_rod.threads_per_inch", _NUMBER),
    ("measured_pushrod.checking_rod.pitch", _LENGTH),
    ("measured_pushrod.lean", _ANGLE),
    ("measured_pushrod.plunger.down", _LENGTH),
    ("pushrod.ball_diameter_low", _LENGTH),
    ("pushrod.hole_low", _LENGTH),
    ("pushrod.ball_diameter_high", _LENGTH),
    ("pushrod.hole_high", _LENGTH),
    (REQUIRED, _LENGTH),
    # crank and piston
    ("crank.stroke", _LENGTH),
    ("crank.conrod_length", _LENGTH),
    ("piston.compression_height", _LENGTH),
    ("piston.pin_offset", _LENGTH),
    ("stack.case_deck", _LENGTH),
    ("stack.measured_deck.below", _LENGTH),
    # coordinates: the lifter on the case, then rocker and valve on the head
    ("lifter.seat.x", _LENGTH),
    ("lifter.seat.y", _LENGTH),
    ("lifter.seat.z", _LENGTH),
    ("lifter.lean.x", _ANGLE),
    ("lifter.lean.y", _ANGLE),
    ("lifter.lowered", _LENGTH),
    ("rocker.shaft.x", _LENGTH),
    ("rocker.shaft.y", _LENGTH),
    ("rocker.shaft.z", _LENGTH),
    ("rocker.direction", _NUMBER),
    ("rocker.valve_arm", _LENGTH),
    ("rocker.pushrod_arm", _LENGTH),
    ("rocker.arm_angle", _ANGLE),
    ("rocker.valve_station", _LENGTH),
    ("rocker.pushrod_station", _LENGTH),
    ("rocker.tip_radius", _LENGTH),
    ("valve.face.x", _LENGTH),
    ("valve.face.y", _LENGTH),
    ("valve.face.z", _LENGTH),
    ("valve.lean.x", _ANGLE),
    ("valve.lean.y", _ANGLE),
    ("valve.length", _LENGTH),
    ("valve.head_diameter", _LENGTH),
    ("valve.margin", _LENGTH),
    ("valve.stem_diameter", _LENGTH),
    ("valve.sink", _LENGTH),
    # other ways to say some of these
    ("rocker.ratio", _NUMBER),
    ("rocker.span", _LENGTH),
    ("rocker.cup.x", _LENGTH),
    ("rocker.cup.y", _LENGTH),
    ("rocker.cup.z", _LENGTH),
    ("valve.tip_height", _LENGTH),
    # what else belongs to a reading, to a setting and to a pushrod
    ("measured_pushrod.stack.base_gasket", _LENGTH),
    ("measured_pushrod.stack.cylinder", _LENGTH),
    ("measured_pushrod.stack.head_gasket", _LENGTH),
    ("measured_pushrod.stack.case_cut", _LENGTH),
    ("measured_pushrod.stack.head_cut", _LENGTH),
    ("measured_pushrod.lean.x", _ANGLE),
    ("measured_pushrod.lean.y", _ANGLE),
    ("lifter.plunger_travel", _LENGTH),
    ("lifter.preload", _LENGTH),
    ("lifter.lash", _LENGTH),
    ("pushrod.cup_rim", _LENGTH),
    ("pushrod.gauge", _LENGTH),
    ("pushrod.diameter", _LENGTH),
    *OF_CYLINDER,
    # springs and tubes, of one valve gear
    ("valve.retainer_to_seal", _LENGTH),
    *(
        (f"spring.{index}{part}", _LENGTH)
        for index in ("", "0.", "1.")
        for part in ("installed", "free_length", "solid_height", "wire", "mean_diameter")
    ),
    *((f"tube.seat_{end}.{axis}", _LENGTH) for end in ("low", "high") for axis in "xyz"),
    ("tube.shortest", _LENGTH),
    ("tube.longest", _LENGTH),
    ("tube.inner_diameter", _LENGTH),
    ("pushrod.wall", _LENGTH),
    ("pushrod.cup_radius_low", _LENGTH),
    ("pushrod.cup_radius_high", _LENGTH),
    # pockets and a drop that was read
    ("pocket.centre.x", _LENGTH),
    ("pocket.centre.y", _LENGTH),
    ("pocket.lean.x", _ANGLE),
    ("pocket.lean.y", _ANGLE),
    ("pocket.diameter", _LENGTH),
    ("pocket.depth", _LENGTH),
    ("measured_drop.drop", _LENGTH),
    ("measured_drop.lean", _ANGLE),
    ("measured_drop.room", _LENGTH),
    ("measured_drop.stack.base_gasket", _LENGTH),
    ("measured_drop.stack.cylinder", _LENGTH),
    ("measured_drop.stack.head_gasket", _LENGTH),
)


@dataclass(frozen=True, slots=True)
class Lettered:
    """An entry with its letter."""

    letter: str
    entry: str  # as in the job file, without the valve gear's or the cylinder's name
    measures: Measures


def letter_at(index: int) -> str:
    """Return the letter at a place of the table: A to Z, AA to AZ, BA and so on, without I and O."""
    first, last = divmod(index, len(ALPHABET))
    return (letter_at(first - 1) if first else "") + ALPHABET[last]


TABLE: dict[str, Lettered] = {
    entry: Lettered(letter_at(index), entry, measures) for index, (entry, measures) in enumerate(ENTRIES)
}


def letter_of(entry: str) -> str:
    """Return the letter of an entry, without the valve gear's or the cylinder's name; empty where it has none."""
    whole = "rocker.direction" if entry.startswith("rocker.direction.") else entry
    return TABLE[whole].letter if whole in TABLE else ""


def letters_of(entry: str) -> str:
    """Return the letters of an entry, or of the parts of a point or a lean pair: "Y", "Y, Z"; empty where it has none."""
    letter = letter_of(entry)
    if letter:
        return letter
    return ", ".join(one for one in (letter_of(f"{entry}.{axis}") for axis in "xyz") if one)
