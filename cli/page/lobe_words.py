"""What the readings of a lobe say, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from tallstack.geometry.cam.lobe import CENTRE_LIFT_MM
from tallstack.geometry.core.frames import array

from ..job.entries.fields import INCH
from .lobe_tables_words import by_other_degrees, carried_over, degree_words, lift_words, small, two_rests
from .model import Block, Break, Column, Form, Heading, Number, Part, Row, Table, Tag, Words
from .wording import length

if TYPE_CHECKING:
    from tallstack.geometry.cam.follower import Follower
    from tallstack.geometry.gear.at_valve import AtValve

    from ..lobe_found import Found


EVENTS = (
    Column("crank degrees\nat a lifter lift of", 28),
    Column("opens before\ncentreline", 12, right=True),
    Column("closes after\ncentreline", 14, right=True),
    Column("\nduration", 10, right=True),
    Column("\n+/-", 7, right=True),
)
LABEL = (Column(room=25), Column(wide=True))  # of a value that has a line of its own


def _head(found: Found) -> Part:
    """Return how the answer begins: what looks wrong, and what it is of."""
    looks = _look_again(found)
    suspects = [str(found.table.lines[one.row]) for one in found.fit.suspects]
    if suspects:
        several = f"lines {', '.join(suspects)} stand" if len(suspects) > 1 else f"line {suspects[0]} stands"
        looks.append(
            Words(f"SUSPICIOUS: {several} off the curve through the others; left out, read again", 1)
        )
    return Part(Tag.HEAD, (Heading(f"LOBE: {found.path.name}"), *looks, *_source(found)))


def page(found: Found) -> list[Block]:
    """Return the answer for a person: the events first, then what stands behind them."""
    head = _head(found)
    blocks: list[Block] = [head, Break(), *_events(found)]
    for one in (_followers(found), _place(found), _shape(found), _readings(found), _wheel(found)):
        blocks += one
    return blocks


def brief(found: Found) -> list[Block]:
    """Return the answer for one screen: what looks wrong, the events, and where the lobe stands."""
    noise = f"one reading is known to {small(found.fit.noise, found.asked.units)}, standard deviation; --full has the shape"
    return [_head(found), Break(), *_events(found), *_place(found), *_wheel(found), Words(noise)]


def _source(found: Found) -> list[Words]:
    from ..lobe_found import durations_known

    asked, count = found.asked, len(found.table.readings.angle)
    where = "the lifter"
    if found.at_valve is not None:
        where = "the valve, brought to the lobe by two places where both were dialled"
        if found.at_valve.beta == 0:
            where = f"the valve, divided by {1 / found.at_valve.alpha:.5g}"
    said = f"from {found.path}: {count} readings at {where}; {asked.angle} degrees, lifts in {'inches' if asked.units == 'in' else 'mm'}"
    crank = asked.angle == "crank"
    at = f"at {length(found.looks.check, asked.units)}"
    if found.at_valve is not None:
        at = f"{at} of the valve's lift as read over {1 / float(found.at_valve.alpha):.5g}, no lash counted back"
        at += "; the durations below are at lifts of the lobe itself" if durations_known(found) else ""
    counted = f"{by_other_degrees(found.looks.open_for, crank)} ({at})"
    return [Words(said, 1), Words(counted, 1)]


def _look_again(found: Found) -> list[Words]:
    told = [two_rests(found.fit, found.asked.units)] if found.fit.higher else []
    if found.under is not None:
        told += [why for why, wrong in carried_over(found.under.carried, found.asked.units) if wrong]
    return [Words(f"LOOK AGAIN: {one}", 1) for one in (*told, *found.unlikely)]


def _events(found: Found) -> list[Block]:
    from ..lobe_found import durations_known

    units = found.asked.units
    middle = (
        f"centreline at {degree_words(_on_its_scale(found))} deg of the cam on the table's own scale, halfway "
        "between equal lifts at 0.050 in"
    )
    blocks: list[Block] = [
        Words(f"peak lift {length(found.peak[1], units)} at the lifter", 1),
        Words(middle, 1),
        Break(),
    ]
    if not durations_known(found):
        said = (
            "durations NOT KNOWN: with what lash the valve was read was not said, and it takes 5 to 13 deg off them; the "
            "peak is low by lash/ratio. Take one feeler reading on the heel and add --lash; 0 where nothing could be felt"
        )
        return [*blocks, Words(said, 1)]
    rows: list[Row | Words] = [
        Row(
            (
                lift_words(one.check, units),
                *_degrees(one.opens, one.closes, one.opens + one.closes, one.lasts),
            )
        )
        for one in found.events
    ]
    if found.bare:
        rows.append(Words(f"no +/- was typed for {', '.join(found.bare)}: the +/- here lack it", 1))
    rows += [Row((lift_words(one, units), "never lifts so far")) for one in found.too_high]
    unseen = "not seen: the valve stands still there"
    rows += [Row((lift_words(one, units), unseen)) for one in found.unseen]
    blocks.append(Table(EVENTS, tuple(rows)))
    if found.at_valve is not None and found.at_valve.lash > 0:
        lash = length(float(found.at_valve.lash), units)
        said = (
            f"read with {lash} of lash at the {found.at_valve.lash_at}: below {length(found.at_valve.unseen, units)} the "
            "lobe was not seen, so that its ramp and heel are not known from this table. Run without lash, as with a "
            f"hydraulic lifter, the valve comes nearer to its piston by {_at_the_valve(found.at_valve, units)}"
        )
        blocks += [Break(), Words(said, 1)]
    return blocks


def _on_its_scale(found: Found) -> float:
    """Return where the centreline stands, in degrees of the cam as the table counts them."""
    middle, angles = math.degrees(found.middle), found.table.readings.angle
    halfway = math.degrees(float(np.min(angles)) + float(np.max(angles))) / 2
    return middle - 360.0 * round((middle - halfway) / 360.0)


def _degrees(*values: float) -> tuple[Number, ...]:
    return tuple(Number(one, 1) for one in values)


def _at_the_valve(one: AtValve, units: str) -> str:
    return length(float(one.lash if one.lash_at == "valve" else one.lash / one.alpha), units)


def _followers(found: Found) -> list[Block]:
    if found.under is None:
        return []
    under, units = found.under, found.asked.units
    read, run = (_rider(one, units) for one in (under.riding.read, under.riding.run))
    heading = (
        f"Read with {read}; all of this is for {run}, the heel's radius {length(under.riding.base, units)}"
    )
    columns = (
        Column("duration, crank degrees", 28),
        Column("as read", 10, right=True),
        Column("as run", 10, right=True),
    )
    rows = tuple(
        Row((lift_words(one.check, units), *_degrees(one.opens + one.closes, as_run.opens + as_run.closes)))
        for one, as_run in zip(under.as_read, found.events, strict=False)
    )
    told = [Words(why, 1) for why, wrong in carried_over(under.carried, units) if not wrong]
    return [Heading(heading), Table(columns, rows), *told]


def _rider(one: Follower, units: str) -> str:
    aside = f", {length(one.offset, units)} beside the cam's axis" if one.offset else ""
    return f"a flat foot{aside}" if one.radius is None else f"a radius of {length(one.radius, units)}{aside}"


def _place(found: Found) -> list[Block]:
    from ..lobe_found import at_overlap, durations_known

    if found.placed is None:
        return []
    asked, units = found.asked, found.asked.units
    assert asked.centreline is not None
    way = "after" if asked.port == "intake" else "before"
    lifted, shown = at_overlap(found), float(found.placed.lift(array(0.0)))
    valve = (
        ""
        if found.at_valve is None
        else f", {length(shown / float(found.at_valve.alpha), units)} at the valve"
    )
    proof = (
        f"at overlap top centre the lifter has risen by {length(lifted, units)}{valve}; set the crank "
        "there and look, it is the quickest proof of the cam's timing"
    )
    rows = []
    for one in found.events if durations_known(found) else ():
        opening = found.placed.opening(one.level)
        if opening is not None:
            opens, closes = (math.degrees(angle) for angle in opening)
            rows.append(Row((lift_words(one.check, units), _timed(asked.port, opens, closes))))
    return [
        Heading(
            f"On the crank, as an {asked.port} lobe, centreline {asked.centreline:g} deg {way} overlap top centre"
        ),
        Words(proof, 1),
        Table((Column(room=26), Column()), tuple(rows)),
    ]


def _timed(port: str, opens: float, closes: float) -> str:
    """Return events from overlap top centre as a timing card counts them."""
    if port == "intake":
        first, second = (-opens, "top"), (closes - 180, "bottom")
    else:
        first, second = (-180 - opens, "bottom"), (closes, "top")

    def said(angle: float, ahead: str, behind: str, centre: str) -> str:
        return f"{abs(angle):.1f} {ahead if angle >= 0 else behind} {centre}"

    return (
        f"opens {said(first[0], 'before', 'after', first[1])}, "
        f"closes {said(second[0], 'after', 'before', second[1])}"
    )


def _shape(found: Found) -> list[Block]:
    from ..lobe_found import accelerations

    lobe, degree = found.lobe, math.pi / 180
    angles = np.radians(np.arange(0.0, 360.0, 0.25))
    velocity, acceleration = lobe.velocity(angles) * degree, accelerations(found, angles) * degree**2
    area = 2 * math.degrees(lobe.area())
    longer = 2 * math.degrees(lobe.asymmetry(min(CENTRE_LIFT_MM, 0.5 * found.peak[1])))
    flank = "as long as the opening one" if abs(longer) < 0.05 else ""
    way = "longer" if longer > 0 else "shorter"
    rows = (
        Row(("area under the lift", f"{area:.0f} mm deg of crank ({area / INCH:.2f} in deg)")),
        Row(("per degree of the cam",)),
        Row(("velocity", _rates(velocity, 4, 5)), 2),
        Row(("acceleration", _rates(acceleration, 5, 6)), 2),
        Row(("closing flank", flank or f"{abs(longer):.1f} deg of crank {way} than the opening one")),
    )
    blocks: list[Block] = [Heading("Shape, at the lifter"), Table(LABEL, rows)]
    seen = found.looks
    if seen.long_ramps:
        opening, closing = (math.degrees(one) for one in seen.ramps)
        said = (
            f"long clearance ramps: from 0.002 to 0.020 in the lift takes {opening:.0f} deg of crank at opening and "
            f"{closing:.0f} at closing. What is read below 0.020 in moves by many degrees with a little lash"
        )
        blocks.append(Words(said, 1, Form.ITEM))
    if seen.flat_nose:
        said = (
            f"flat nose: within half a hundredth of its peak for {math.degrees(seen.nose):.0f} deg of crank. Where it is "
            "highest says nothing of its centreline; halve between equal lifts on the flanks"
        )
        blocks.append(Words(said, 1, Form.ITEM))
    return blocks


def _rates(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]], mm: int, inch: int) -> str:
    low, high = float(values.min()), float(values.max())
    return f"{low:.{mm}f} to {high:.{mm}f} mm ({low / INCH:.{inch}f} to {high / INCH:.{inch}f} in)"


def _readings(found: Found) -> list[Block]:
    fitted, units = found.fit, found.asked.units
    rows = [("noise of one reading", f"{small(fitted.noise, units)}, standard deviation")]
    if fitted.heel is None:
        rows.append(("heel", "none: nothing is flat, the lowest point counts as zero"))
    else:
        begins, ends = (math.degrees(one) for one in fitted.heel)
        rows.append(("heel", f"{ends - begins:.0f} deg of the cam, taken as zero"))
    if fitted.rest.runout > 0:
        out = f"runs out by {small(2 * fitted.rest.runout, units)} in a turn, taken off"
        rows.append(("base circle", out))
    if fitted.play is not None:
        rows.append(("turned both ways", f"{2 * math.degrees(fitted.play):.2f} deg of crank apart, halved"))
    if fitted.bridged:
        rows.append(("not read", "a stretch at rest, taken as heel"))
    told = []
    for run in fitted.runs:
        lines = sorted(found.table.lines[row] for row in run.rows)
        side = "above" if run.off > 0 else "below"
        told.append(
            f"lines {lines[0]} to {lines[-1]}: {len(lines)} neighbours all {side} the curve, by {small(abs(run.off), units)} "
            "in the middle; shape that the curve does not follow, kept, and counted in the +/-"
        )
    if fitted.corner:
        lines_of = ", ".join(str(one) for one in sorted(found.table.lines[row] for row in fitted.corner))
        most = max(abs(float(fitted.off[row])) for row in fitted.corner)
        told.append(
            f"line{'s' if len(fitted.corner) > 1 else ''} {lines_of}: beside where the valve leaves its seat by its lash, "
            f"a corner that the curve rounds off, by {small(most, units)} at most; no misreading, kept, and counted in the +/-"
        )
    for one in fitted.suspects:
        side = "above" if one.off > 0 else "below"
        told.append(
            f"SUSPICIOUS, line {found.table.lines[one.row]}: {small(abs(one.off), units)} {side} the "
            f"curve through the others, {abs(one.sigmas):.0f} times the noise; left out, read it again"
        )
    return [Heading("Readings"), Table(LABEL, tuple(map(Row, rows))), *(Words(one, 1) for one in told)]


def _wheel(found: Found) -> list[Block]:
    if found.top_centre is None:
        return []
    at, held = (math.degrees(one) for one in found.top_centre)
    moved = (
        "the pointer is right"
        if abs(at) < 0.05
        else f"turn the wheel or move the pointer by {abs(at):.2f} deg"
    )
    stands = (
        f"top centre stands at {degree_words(at)} deg on the wheel, halfway between the two readings; the stop "
        f"holds the piston {held:.2f} deg to either side; {moved}"
    )
    return [Heading("Degree wheel, by the positive stop"), Words(stands, 1)]
