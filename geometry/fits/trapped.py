"""The compression that the closing intake traps, and what a gauge may read when the engine is cranked.

    trapped ratio   (V_top + A·y(θ_c)) / V_top, y how far the piston stands below its highest point where the intake's
                    lift, through its valve gear, comes down to a check lift
    gauge           p_a·(ratio^n - 1), n from 1.2 to 1.3: two numbers, never one; gauges tend to the lower
    air             p_a = 101.325·(1 - 2.25577e-5·H)^5.25588 kPa at H metres

A compression release that holds a valve open to an angle traps what is left there. One that lets gas out by a hole is
followed through the stroke in quarter degrees: polytropic, and out of a nozzle as long as the pressure lasts.

Which fuel or spark an engine takes is not computed. Sources: the polytropic law; the standard atmosphere, ISO 2533;
the flow of a nozzle, choked or not.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..cam.cam import CARD, LAW, CamLobe
from ..clearance.valve_lift import ValveLift, valve_lift
from ..core.answer import TRAIN, Figure, Found, Missing, Value, Values, answers, of_cylinder
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..crank.crank import Crank, crank_of, turns_forward
from ..engine.engine import train_of
from .full_lift import lobe_of, peak_of
from .volume import CC, compression

CHECKS = {
    "_006": 0.15,
    "_020": 0.508,
    "_050": 1.27,
}  # mm: 0.006, 0.020 and 0.050 in, by how the figures' names end
SPOKEN = {"_006": "0.15 mm (0.006 in)", "_020": "0.5 mm (0.020 in)", "_050": "1.27 mm (0.050 in)"}
CHECKED = "at {} of the valve's lift"
LOW, HIGH, MIDDLE = 1.2, 1.3, 1.25  # polytropic exponents
SEA, PER_METRE, POWER = 101.325, 2.25577e-5, 5.25588  # kPa
FLOWS, SLOWER, FASTER = (0.6, 0.8), 0.7, 1.3
STEP = np.radians(0.25)
PAST = np.radians(15.0)  # after top centre
WARM, GAS, KAPPA = 300.0, 287.0, 1.4
ROW = np.radians(np.arange(0.0, 361.0))  # crank, after the peak
CLOSER = 12  # steps between two of them, more than a smooth lobe asks for
NOT_TOLD = "the card does not say when the valve really closes"
ESTIMATE = "an ESTIMATE, throttle open, warm, sound rings; which fuel it takes is not computed"


def air(height: Array) -> Array:
    """Return the pressure of the standard atmosphere at a height in metres [kPa]."""
    found: Array = SEA * (1 - PER_METRE * height) ** POWER
    return found


class Cylinder(NamedTuple):
    """A cylinder as it is cranked."""

    crank: Crank
    forward: bool
    at_top: Array  # mm³
    area: Array  # mm²

    def volume(self, angle: Array) -> Array:
        """Return the volume over the piston at crank angles from its own top [mm³]."""
        return self.at_top + self.area * self.crank.descent(angle, self.forward)

    def trapped(self, closes: Array) -> Array:
        """Return the ratio that is trapped where the intake closes, crank rad after bottom centre; at bottom, if before."""
        return self.volume(np.pi + np.maximum(closes, 0.0)) / self.at_top


@answers(
    TRAIN,
    "TRAPPED COMPRESSION",
    asked_by=(".release_", ".running.altitude", ".cranking_speed"),
    takes=lobe_of,
    intake_closes=Figure("intake closes after bottom centre", "deg", main=False),
    trapped_ratio=Figure("trapped ratio", "", headline=True),
    intake_closes_020=Figure("intake closes, by the middle check lift", "deg", main=False),
    trapped_ratio_020=Figure("trapped ratio, by the middle check lift", "", main=False),
    intake_closes_050=Figure("intake closes, by the large check lift", "deg", main=False),
    trapped_ratio_050=Figure("trapped ratio, by the large check lift", "", main=False),
    cranking_low=Figure("gauge when cranked, from", "kpa", main=False),
    cranking_high=Figure("gauge when cranked, to", "kpa", main=False),
)
def trapped(mapping: Flat, train: str, lobe: CamLobe | None) -> Found:
    """Return what an intake traps; nothing of an exhaust."""
    if train.endswith(".exhaust"):
        return {}
    cylinder = train.rpartition(".")[0]
    static, reader, running = (
        compression(mapping, cylinder),
        of_cylinder(mapping, cylinder),
        Reader(mapping, ("running.",)),
    )
    bore, moving = reader.number("stack.bore"), crank_of(reader)
    entries = static.entries if isinstance(static, Missing) else ()
    lift = None if lobe is None else valve_lift(train_of(mapping, train), _placed(mapping, lobe))
    lacks = [*entries, *(lift if isinstance(lift, tuple) and not isinstance(lift, ValveLift) else ())]
    if lacks or isinstance(static, Missing) or lobe is None or not isinstance(lift, ValveLift):
        why = static.why if isinstance(static, Missing) else ""
        return Missing.of(lacks, why or ("" if lacks else "the intake's lobe is not known"))
    closed = Cylinder(moving, turns_forward(mapping), static["volume_at_top"].value * CC, np.pi / 4 * bore**2)
    shape: tuple[str, ...] = ()  # of what the closing rests on: lobe, timing and gear, no volume
    note = ""
    if lobe.source in (CARD, LAW):
        told_by = "card" if lobe.source == CARD else "law"
        shape, note = (f"lobe.{lobe.name}.{told_by}",), "the lobe's own shape is not varied"
    shape += (lift.lash_unknown,) if lift.lash_unknown else ()
    unsaid = (*static["compression_ratio"].unsaid, *shape)
    higher = peak_of(mapping, lobe) / lobe.peak[1]
    release = reader.find("chamber.release_closes")
    told: Values = {}
    for key, check in CHECKS.items():
        if lobe.card is not None and check < _least_stated(lift, lobe):
            continue
        closes = _closes(lift, lobe, higher, check) - np.pi
        if np.isnan(closes).any():
            continue
        by = np.degrees(closes)
        closes = closes if release is None else np.maximum(closes, release)
        held = "" if release is None else "; a release holds a valve open for longer"
        said = f"the intake closed {CHECKED.format(SPOKEN[key])}{held}"
        ratio = Value(closed.trapped(closes), note=said, unsaid=unsaid)
        down = CHECKED.format(SPOKEN[key])
        shut = Value(by, note="; ".join(one for one in (down, note) if one), unsaid=shape)
        if key != "_006":
            told |= {f"intake_closes{key}": shut, f"trapped_ratio{key}": ratio}
        if "cranking_low" not in told:  # what leads: the least lift of which the lobe is known
            told = {"intake_closes": shut, "trapped_ratio": ratio, **told}
            found = _cranking(reader, running, closed, closes, key)
            if isinstance(found, Missing):
                return found
            told |= {name: one._replace(unsaid=(*unsaid, *one.unsaid)) for name, one in found.items()}
    return told or Missing.of((f"lobe.{lobe.name}.card.seat",), NOT_TOLD)


def _placed(mapping: Flat, lobe: CamLobe) -> CamLobe:
    """Return a lobe where the engine's own entries put it on the crank."""
    reader, place = Reader(mapping, ("",)), lobe.placed
    advance, centre = reader.find("cam.advance"), reader.find(f"lobe.{lobe.name}.centreline")
    if advance is not None:
        place = place._replace(advance=advance)  # type: ignore[arg-type]
    by_centre = reader.word(f"lobe.{lobe.name}.zero") != "top centre" and not reader.has(
        f"lobe.{lobe.name}.card.events"
    )
    if centre is not None and by_centre:
        place = place._replace(centreline=centre)  # type: ignore[arg-type]
    return lobe._replace(placed=place)


def _least_stated(lift: ValveLift, lobe: CamLobe) -> float:
    """Return the least lift of the valve at which a card says when it closes [mm]."""
    assert lobe.card is not None
    lifts = [one.lift for one in lobe.card.card.durations]
    return min((float(np.mean(lift.at_lobe(array(one)))) for one in lifts), default=np.inf) - 1e-6


def _closes(lift: ValveLift, lobe: CamLobe, higher: Array, check: float) -> Array:
    """Return where a valve comes down to a lift, crank rad from overlap top centre; NaN where it does not.

    Source: where a row of angles after the peak first goes below it, found by halving the row, as a valve closes while
    its lobe falls; between two of them by the Illinois rule.
    """
    place = lift.lobe.placed
    row = np.minimum.accumulate(place.lobe.lift(lobe.peak[0] + ROW / 2))

    def over(lobes: Array) -> Array:
        return lift.at_lobe(np.maximum(lobes, 0.0) * higher) - check

    known = (over(row[0]) >= 0) & (over(row[-1]) < 0)
    above, below = (np.full(known.shape, one) for one in (0, len(row) - 1))
    while (below - above > 1).any():
        middle = (above + below) // 2
        is_above = over(row[middle]) >= 0
        above, below = np.where(is_above, middle, above), np.where(is_above, below, middle)
    (low, high), (more, less) = (ROW[above], ROW[below]), (over(row[above]), over(row[below]))
    again = np.zeros(known.shape)  # 1 where the last step moved `low`, -1 where it moved `high`
    for _ in range(CLOSER):
        with np.errstate(invalid="ignore", divide="ignore"):
            found = np.where(more > less, low + (high - low) * more / (more - less), low)
        there = over(place.lobe.lift(lobe.peak[0] + found / 2))
        is_above = there >= 0
        low, high = np.where(is_above, found, low), np.where(is_above, high, found)
        kept_more, kept_less = np.where(again < 0, more / 2, more), np.where(again > 0, less / 2, less)
        more, less = np.where(is_above, there, kept_more), np.where(is_above, kept_less, there)
        again = np.where(is_above, 1.0, -1.0)
    top = place.at + 2 * (lobe.peak[0] - place.middle)
    return np.where(known, top + found, np.nan)


def _cranking(reader: Reader, running: Reader, closed: Cylinder, closes: Array, key: str) -> Values | Missing:
    """Return between what a gauge may read when the engine is cranked."""
    stated, hole = running.find("altitude"), reader.find("chamber.release_hole")
    outside = air(array(0.0) if stated is None else stated)
    unsaid = () if stated is not None else ("running.altitude",)
    note = f"the intake closed {CHECKED.format(SPOKEN[key])}; {ESTIMATE}"
    note += "; at the height above the sea of running.altitude" if stated is not None else "; at sea level"
    ratio = closed.trapped(closes)
    if hole is None:
        low, high = (outside * (ratio**power - 1) for power in (LOW, HIGH))
    else:
        speed = running.number("cranking_speed")
        if running.missing:
            return Missing.of(running.missing, "what a hole lets out depends on how fast it is cranked")
        begins = np.pi + np.maximum(closes, 0.0)
        low, high = (
            through_hole(closed, begins, outside, hole, flow, speed * way)
            for flow, way in ((FLOWS[1], SLOWER), (FLOWS[0], FASTER))
        )
        note += "; out of its release hole, by how a hole flows and 30 % of the cranking speed"
    return {
        "cranking_low": Value(low, note=note, unsaid=unsaid),
        "cranking_high": Value(high, note=note, unsaid=unsaid),
    }


def through_hole(
    closed: Cylinder,
    begins: Array,
    outside: Array,
    hole: Array,
    flow: Array | float,
    speed: Array,
    step: float = STEP,
) -> Array:
    """Return the greatest pressure over the air outside with a hole open through the stroke [kPa].

    begins : crank rad from the piston's own top where the valve closes;  outside : kPa;  hole : mm
    flow   : coefficient of discharge;  speed : rad/s of the crank;  step : rad
    """
    shape = np.broadcast_shapes(
        *(np.shape(one) for one in (begins, outside, hole, flow, speed, closed.at_top))
    )
    steps = int(np.ceil((2 * np.pi + PAST - float(np.min(begins))) / step))
    wide = np.broadcast_to(begins, shape)
    around = array(outside) * 1000.0
    area = np.pi / 4 * (array(hole) / 1000.0) ** 2
    pressure, volume = np.broadcast_to(around, shape), closed.volume(wide) / 1e9
    mass = pressure * volume / (GAS * WARM)
    most = np.zeros(shape)
    choked = np.sqrt(KAPPA) * (2 / (KAPPA + 1)) ** ((KAPPA + 1) / (2 * (KAPPA - 1)))
    for place in range(1, steps + 1):
        nxt = closed.volume(wide + place * step) / 1e9
        squeezed = pressure * (volume / nxt) ** MIDDLE
        mean = (pressure + squeezed) / 2
        heat = mean * (volume + nxt) / 2 / (mass * GAS)
        share = np.minimum(around / mean, 1.0)
        slow = np.sqrt(
            np.maximum(2 * KAPPA / (KAPPA - 1) * (share ** (2 / KAPPA) - share ** ((KAPPA + 1) / KAPPA)), 0)
        )
        out = flow * area * mean / np.sqrt(GAS * heat) * np.where(share < 0.528, choked, slow) * step / speed
        left = mass - out
        pressure, mass, volume = squeezed * (left / mass) ** MIDDLE, left, nxt
        most = np.maximum(most, pressure - around)
    return most / 1000.0
