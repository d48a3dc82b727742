"""How each entry that is asked for is measured, and what it is used for.

What an entry means and where most engines lie is told by the job file's own model, see `catalogue`; only what a
person does at the bench stands here.
"""

from __future__ import annotations

from typing import NamedTuple


class Told(NamedTuple):
    """What a person at the bench needs to know of an entry."""

    how: str  # how to measure it
    used: str  # what it is used for


ROD = "Turn a checking rod out until it just touches: no up-and-down shake, no load on the plunger."
ORDER = "the length to order"
STACK_NOW = Told(
    "Micrometer or depth gauge, in three places, as it will be built.",
    "how much longer the pushrods get than the one that was measured",
)
STACK_THEN = Told(
    "The part that was in place when the rod was read.",
    "the stack that the measured pushrod fits",
)
OVER_PISTON = "how close the valves come to the piston"
DROPPED_ON = Told("The part that was in place when the drop was read.", OVER_PISTON)
POINT = "Depth gauge and height gauge; three values with commas: x, y, z."
COMPUTED = "an estimate of the length, ratio and sweep"
ENDS = "turning one length convention into another"

ENTRIES: dict[str, Told] = {
    "stack.case_deck": Told("Height gauge from the crank's centre to the case deck.", COMPUTED),
    "stack.cylinder": STACK_NOW,
    "stack.base_gasket": STACK_NOW._replace(how="Micrometer, on a used one; as compressed."),
    "stack.head_gasket": STACK_NOW._replace(how="Micrometer, on a used one; as compressed."),
    "stack.case_cut": Told(
        "Height gauge before and after; 0 where none was taken off.", "how much lower all of it stands now"
    ),
    "stack.head_cut": Told(
        "Height gauge before and after; 0 where none was taken off.", "how much lower the head stands now"
    ),
    "stack.bore": Told("Bore gauge.", "where the valves stand over the piston"),
    "cylinder.lean": Told("Protractor, or the angle between the cylinders.", "where the parts stand"),
    "lifter.preload": Told("Nothing to measure: what you want.", ORDER),
    "lifter.plunger_travel": Told(
        "Lifter out and drained: depth gauge, plunger up against its clip, then pressed to its bottom. Or its maker's sheet.",
        ORDER,
    ),
    "lifter.lash": Told("Nothing to measure: what you want.", ORDER),
    "lifter.lash_at": Told("Where your feeler goes.", ORDER),
    "lifter.seat": Told(POINT, COMPUTED),
    "lifter.lean": Told("Protractor, seen from two sides: two values with a comma.", COMPUTED),
    "lifter.follower.roller": Told("Micrometer over the roller, and half of that.", OVER_PISTON),
    "lifter.follower_offset": Told("The maker's drawing; 0 where it points at the cam's axis.", OVER_PISTON),
    "rocker.ratio": Told(
        "Two dials, lifter and valve, or both arms by calipers.", "lash at the valve, and the valve's lift"
    ),
    "rocker.shaft": Told(POINT, COMPUTED),
    "rocker.direction": Told("Along the shaft; 0, 1, 0 where it lies along the crankshaft.", COMPUTED),
    "rocker.valve_arm": Told("Calipers, on the rocker alone.", COMPUTED),
    "rocker.pushrod_arm": Told("Calipers, on the rocker alone.", COMPUTED),
    "rocker.arm_angle": Told("Protractor, on the rocker alone.", COMPUTED),
    "rocker.valve_station": Told("Calipers along the shaft, from the point given.", COMPUTED),
    "rocker.pushrod_station": Told("Calipers along the shaft, from the point given.", COMPUTED),
    "rocker.tip_radius": Told("Radius gauge on the rocker's pad or roller.", COMPUTED),
    "valve.face": Told(POINT, COMPUTED),
    "valve.lean": Told("Protractor, seen from two sides: two values with a comma.", COMPUTED),
    "valve.length": Told("Calipers.", COMPUTED),
    "valve.head_diameter": Told("Calipers.", OVER_PISTON),
    "valve.margin": Told("Calipers, at the rim.", OVER_PISTON),
    "measured_pushrod.length": Told(
        f"Valve closed, lifter on the base circle. {ROD} Then read its length.", ORDER
    ),
    "measured_pushrod.as": Told(
        "overall: calipers over both ends; gauge: over sharp-edged seats.",
        "without it a length means nothing",
    ),
    "measured_pushrod.plunger": Told("Look where the plunger stood while you read.", ORDER),
    "measured_pushrod.lean": Told(
        "Look along a protractor; a degree or two of +/- is good enough.",
        "how much of the stack's growth the pushrod takes up",
    ),
    "measured_pushrod.stack.cylinder": STACK_THEN,
    "measured_pushrod.stack.base_gasket": STACK_THEN,
    "measured_pushrod.stack.head_gasket": STACK_THEN,
    "pushrod.ball_diameter_low": Told("Calipers, on the pushrod to be ordered.", ENDS),
    "pushrod.ball_diameter_high": Told("Calipers, on the pushrod to be ordered.", ENDS),
    "pushrod.hole_low": Told("Drill shank or calipers; 0 for none.", ENDS),
    "pushrod.hole_high": Told("Drill shank or calipers; 0 for none.", ENDS),
    "crank.stroke": Told("Dial or depth gauge on the piston, bottom to top.", OVER_PISTON),
    "crank.conrod_length": Told("Calipers over both bores, less half of each.", OVER_PISTON),
    "piston.compression_height": Told("Calipers, pin's top to crown, and half the pin.", OVER_PISTON),
    "lobe.measured_at": Told("Where the card or the dial took its lifts.", OVER_PISTON),
    "lobe.lash_read": Told(
        "Feeler at the valve on the lobe's heel, as the lifter and adjuster stood when the table was read; 0 where nothing "
        "was slack.",
        OVER_PISTON,
    ),
    "lobe.dialled.lifter": Told(
        "A dial on the lifter and one on the retainer at once, at full lift: the lifter's. A second place at half lift can "
        "be added in the file.",
        OVER_PISTON,
    ),
    "lobe.dialled.valve": Told("The other dial, without turning anything.", OVER_PISTON),
    "lobe.read_with.tip": Told("Micrometer over the ball, and half of that.", OVER_PISTON),
    "lobe.read_with.roller": Told("Micrometer over the roller, and half of that.", OVER_PISTON),
    "lobe.read_offset": Told("Square and scale; 0 where it points at the cam's axis.", OVER_PISTON),
    "lobe.base_radius": Told(
        "Calipers across nose and heel, less the peak lift, and half of that.", OVER_PISTON
    ),
    "lobe.ground_for": Told(
        "The cam maker's sheet; a straightedge rocks on a flank that is not hollow.", OVER_PISTON
    ),
    "lobe.centreline": Told("From the card, or degreed in.", OVER_PISTON),
    "lobe.card.peak": Told("From the timing card.", OVER_PISTON),
    "lobe.card.ratio": Told("The ratio that the card counts with.", OVER_PISTON),
    "lobe.card.duration.at": Told("The check lift that the card names.", OVER_PISTON),
    "lobe.card.duration.degrees": Told("From the timing card, crank degrees.", OVER_PISTON),
    "lobe.card.seat.at": Told("The check lift of the advertised duration.", OVER_PISTON),
    "lobe.card.seat.degrees": Told("The advertised duration, crank degrees.", OVER_PISTON),
    "lobe.card.top_centre": Told(
        "Not on most cards: dial on the lifter from the heel to overlap top centre, the cam as it stands for its centreline. It "
        "tells more of the lobe than any duration; durations alone say 'far away' or 'look at it'.",
        OVER_PISTON,
    ),
    "lobe.table": Told("A CSV file beside the job with the columns angle and lift.", OVER_PISTON),
    "measured_drop.drop": Told(
        "Valve closed, piston at top centre, a light checking spring: push the valve down until it touches, by dial.",
        OVER_PISTON,
    ),
    "measured_drop.lean": Told("Protractor on the stem.", OVER_PISTON),
    **{f"measured_drop.stack.{part}": DROPPED_ON for part in ("cylinder", "base_gasket", "head_gasket")},
    "measured_drop.meets": Told(
        "Marking blue on the rim, or clay: is the mark in a pocket's cut or on the crown? Not looked: Enter; the room to a "
        "pocket's wall is needed then.",
        OVER_PISTON,
    ),
    "measured_drop.room": Told(
        "Clay or a wire between the rim and the pocket's wall; without it, and unless it meets the crown, no clearance.",
        OVER_PISTON,
    ),
    "targets.drop_intake": Told("Nothing to measure: your limit.", "the verdict; else common practice"),
    "targets.drop_exhaust": Told("Nothing to measure: your limit.", "the verdict; else common practice"),
    "targets.valve_to_valve": Told("Nothing to measure: your limit.", "the verdict; else common practice"),
}
