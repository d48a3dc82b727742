"""How each entry that is asked for is measured, and what it is used for.

What an entry means, where most engines lie and what it is read with is declared in `job.entries`; only what a person does
at the bench stands here, and names no other tool. It is loaded where it is shown, never at the start.
"""

from __future__ import annotations

from typing import NamedTuple


class Told(NamedTuple):
    """What a person at the bench needs to know of an entry."""

    how: str  # how to measure it
    used: str  # what it is used for
    without: str = ""  # what becomes of it where nobody reads it


ROD = "Turn a checking rod out until it just touches: no up-and-down shake, no load on the plunger."
ORDER = "the length to order"
STACK_NOW = Told(
    "Height gauge or large micrometer, in three places, as it will be built.",
    "how much longer the pushrods get than the one that was measured",
)
STACK_THEN = Told(
    "The part that was in place when the rod was read.",
    "the stack that the measured pushrod fits",
)
OVER_PISTON = "how close the valves come to the piston"
TWO_VALVES = "how near the two valves come"
DROPPED_ON = Told("The part that was in place when the drop was read.", OVER_PISTON)
POINT = "Depth gauge and height gauge; three values with commas: x, y, z."
COMPUTED = "an estimate of the length, ratio and sweep"
ENDS = "turning one length convention into another"

ENTRIES: dict[str, Told] = {
    "stack.case_deck": Told("Height gauge from the crank's centre to the case deck.", COMPUTED),
    "stack.cylinder": STACK_NOW._replace(
        how="Height gauge or large micrometer, in three places, as it will be built; block: part of the block."
    ),
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
    "lifter.lash_at": Told("Nothing to measure: where you set it.", ORDER),
    "lifter.seat": Told(POINT, COMPUTED),
    "lifter.lean": Told("Protractor, seen from two sides: two values with a comma.", COMPUTED),
    "lifter.follower.roller": Told("Micrometer over the roller, and half of that.", OVER_PISTON),
    "lifter.follower_offset": Told("The maker's drawing; 0 where it points at the cam's axis.", OVER_PISTON),
    "rocker.ratio": Told(
        "Two dials, lifter and valve, or calipers on both arms.", "lash at the valve, and the valve's lift"
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
    "pushrod.ball_diameter_low": Told("Micrometer, on the pushrod to be ordered.", ENDS),
    "pushrod.ball_diameter_high": Told("Micrometer, on the pushrod to be ordered.", ENDS),
    "pushrod.hole_low": Told("The largest drill shank that goes in; 0 for none.", ENDS),
    "pushrod.hole_high": Told("The largest drill shank that goes in; 0 for none.", ENDS),
    "crank.stroke": Told("Dial or depth gauge on the piston, lowest to highest.", OVER_PISTON),
    "crank.conrod_length": Told("Calipers over both bores, less half of each.", OVER_PISTON),
    "piston.compression_height": Told("Depth gauge, crown to the pin's top, and half the pin.", OVER_PISTON),
    "lobe.measured_at": Told("Where the card or the dial took its lifts.", OVER_PISTON),
    "lobe.lash_read": Told(
        "Feeler at the valve on the lobe's heel, as the lifter and adjuster stood when the table was read; 0 where nothing "
        "was slack.",
        OVER_PISTON,
    ),
    "lobe.dialled.lifter": Told(
        "A dial on the lifter and one on the retainer at once, at full lift: the lifter's. Half lift is asked for next.",
        OVER_PISTON,
    ),
    "lobe.dialled.valve": Told("The other dial, without turning anything.", OVER_PISTON),
    "lobe.read_with.tip": Told("Micrometer over the tip, and half of that.", OVER_PISTON),
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
    "lobe.angle": Told(
        "Were the degrees counted on the crank or on the cam? The cam turns half as far.", OVER_PISTON
    ),
    "lobe.table": Told("A CSV file beside the job with the columns angle and lift.", OVER_PISTON),
    "measured_drop.drop": Told(
        "Valve closed, piston at top centre, a light checking spring: push the valve down until it touches, by dial.",
        OVER_PISTON,
    ),
    "measured_drop.lean": Told("Protractor on the stem.", OVER_PISTON),
    **{f"measured_drop.stack.{part}": DROPPED_ON for part in ("cylinder", "base_gasket", "head_gasket")},
    "measured_drop.meets": Told(
        "Marking blue on the rim, or clay: is the mark in a pocket's cut or on the crown?",
        OVER_PISTON,
        "not looked; the room to a pocket's wall is needed then",
    ),
    "measured_drop.room": Told(
        "Clay or a wire between the rim and the pocket's wall, or calipers at the rim; without it, and unless it meets the crown, no clearance.",
        OVER_PISTON,
    ),
    "cylinder.valves_touch.edge_intake": Told(
        "Open both by equal steps until they touch. Hold the exhaust half a millimetre (0.020 in) further, open the intake until "
        "it touches; again with the exhaust held a step of half a margin further and less, and go on either way until the "
        'reading gets no smaller: the least is it. Never touched: "none up to 9 mm", that valve held there and the other '
        "pushed through its whole travel.",
        TWO_VALVES,
    ),
    "cylinder.valves_touch.edge_exhaust": Told(
        "The same with the intake held and the exhaust opened.", TWO_VALVES
    ),
    "cylinder.valves_touch.between_stems": Told("Along both stems; 0 when they are parallel.", TWO_VALVES),
    "cylinder.valves_touch.spread_off": Told(
        "Seen along the cylinder, over the two heads' centres: x, how much further apart the tips are along that line than the "
        "centres; y, how far the tips drift off it. Without it the gap is never PROVED.",
        TWO_VALVES,
    ),
    "cylinder.valves_touch.together": Told(
        "A check: it is never less than either edge.", TWO_VALVES, "left out"
    ),
    "targets.drop_intake": Told("Nothing to measure: your limit.", "the verdict; else common practice"),
    "targets.drop_exhaust": Told("Nothing to measure: your limit.", "the verdict; else common practice"),
    "targets.valve_to_valve": Told("Nothing to measure: your limit.", "the verdict; else common practice"),
}

HALF_LIFT = Told("The same two dials at about half lift: the lifter's.", OVER_PISTON)

WORDS: dict[
    str, dict[str, str]
] = {  # question, or an entry's last name -> each word it takes, in plain terms
    "units": {"in": "inches.", "mm": "millimetres."},
    "route": {
        "bench": "you mock the engine up, read a checking rod, and for clearances a dial over the valve.",
        "coordinates": "you measure where lifter, rocker and valve stand; gives ratio and sweep, a length only to estimate.",
    },
    "ports": {
        "both": "one intake and one exhaust for each cylinder.",
        "intake": "the intakes alone.",
        "exhaust": "the exhausts alone.",
    },
    "lifters": {
        "hydraulic": "oil-filled, set with preload: the plunger gives under the thumb when it is drained.",
        "solid": "nothing in it gives; set with lash.",
    },
    "measured too": {"no": "an estimate is enough for now.", "yes": "its reading is asked for next."},
    "read alike": {
        "no": "each is asked for all of it.",
        "yes": "the reading alone is asked at each, what is beside it is written as it was here.",
        "all": "so at the other port's too.",
    },
    "layout": {
        "in line": "all upright, one behind the other.",
        "otherwise": "the lean of each is asked for.",
    },
    "deck": {
        "bridge": "a dial on a bridge over the piston at top centre, one reading for all cylinders.",
        "bridge at each": "the same, read at every cylinder.",
        "heights": "worked out from the deck's height above the crank, the rod and the piston.",
    },
    "same": {
        "no": "it is asked for here too.",
        "yes": "all that is entered of the other is written here as well, and the file says so.",
    },
    "read before": {
        "no": "it was read on the engine as it will be built.",
        "yes": "it is of the stack, crank and piston that stood then.",
    },
    "form": {
        "on a case": "each cylinder stands on a gasket on the case, and is measured by itself.",
        "in a block": "no cylinder and no base gasket; the block's deck is one figure.",
    },
    "changed": {
        "no": "what stood before is not entered.",
        "yes": "you say next which parts are the same, and then what stood in place of the others.",
    },
    "other stack": {
        "no": "the parts named above were in place.",
        "yes": "you say next which cylinder and gaskets were in place then.",
        "before": "it was read on the engine as it was, whole.",
    },
    "lobes": {
        "card": "the numbers a cam maker prints: peak lift, durations at check lifts, centreline. Quick; many lobes have the "
        "same card, so the clearance it gives is wide.",
        "table": "your own readings: lift every few degrees by dial and degree wheel, one line each in a CSV file beside the "
        "job. The lobe itself, with its doubt.",
    },
    "dialled again": {"no": "one place is enough for now.", "yes": "the two lifts there are asked for next."},
    "read with": {
        "the engine's own follower": "the lifter that will run in this engine.",
        "tip": "a dial's ball tip, right on the lobe.",
        "roller": "another roller than the engine's.",
        "flat": "a flat foot, on the dial or on another lifter.",
    },
    "follower": {"roller": "the lifter has a wheel.", "flat": "the lifter has a foot, flat or nearly so."},
    "lash_at": {
        "valve": "feeler between rocker and stem.",
        "pushrod": "feeler or dial at the pushrod's end of the rocker.",
    },
    "as": {
        "overall": "calipers over both ends.",
        "theoretical": "end to end as if the balls had no oil holes; worked out, not read.",
        "gauge": "between two sharp-edged seats of a length gauge.",
        "centres": "between the two ball centres; worked out, not read.",
    },
    "plunger": {
        "top": "up against its clip; the rod bore no load.",
        "bottomed": "pressed down to its end.",
        "solid checking lifter": "a lifter made solid was in its place, as tall as the plunger at its top stop.",
    },
    "angle": {
        "cam": "degrees of the cam itself: half as many.",
        "crank": "degrees of the crank: 720 to one turn of the cam.",
    },
    "measured_at": {
        "lifter": "lifts of the lobe itself; no rocker in them.",
        "valve": "lifts at the retainer: the rocker's ratio and the lash are in them.",
    },
    "ground_for": {
        "flat": "a flat lifter's cam: no flank is hollow.",
        "roller": "a roller's cam: its flanks may be hollow.",
    },
    "meets": {
        "pocket": "the rim meets the floor of the cut made for it.",
        "crown": "the rim meets the crown itself, no cut under it.",
    },
}
