"""How far a piston stands above where it stands at rest when the engine runs: everything that closes a gap, together.

At top centre of the exhaust stroke nothing but its own inertia holds a piston back:

    stretch   of the connecting rod: l/(E·A) · [m_p·a + m_b·r·ω²·(1/2 + λ/3)], m_p on its small end, m_b the beam
              between its eyes, λ = r/l, a the piston's acceleration at its highest point
    play      of big end, small end and main bearings, on the diameter: all of it where the piston lay pressed down when
              the deck was read, half of it where the deck is by distances of centres, none where it was pulled up
    crank     how far crank, pins and case bend: an allowance, growing with the square of the speed; or what is left of a
              squish at which piston and head just touched
    rock      skirt clearance / length of the skirt that touches, as an angle: at the rim, (R + |pin offset|) times it

All of them pull the same way at the same time: a plain sum. One figure for all of it may stand in their place, and
counts where it is the greater. A valve gear that bends is none of it: while it keeps contact it only takes lift away.

Sources: the acceleration by differentiating the slider-crank twice; a bar under its own inertia, integrated; plane
geometry of a skirt in a bore. The allowance for the crank is common practice, from memory, and proves nothing.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.answer import Missing, in_both, of_cylinder
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..crank.crank import Crank, crank_of, turns_forward
from .bore_entries import ROCKED, SHARES
from .bore_read import play_in_bore, unread

METRE = 1000.0  # mm
BENDING_MM, BENDING_AT = 0.05, 6000.0 * 2 * np.pi / 60  # 2 thou at 6,000 rpm, of a stiff built-up twin crank
BENDING = "crank.bending"
ALLOWED = (
    f"an allowance that nobody measured: {in_both(BENDING_MM)} at 6,000 rpm, as the square of the speed, of a stiff "
    "built-up twin crank, common practice, from memory; a soft crank bends several times that"
)
EXPLAINED = "the other parts explain that piston and head just touched: nothing is left for the crank"
NEEDS_ROD = (
    "stretch needs the piston's mass and the connecting rod's section; weigh and measure, or enter one figure for all "
    "growth: running.growth"
)
ROD = ("piston.mass", "crank.conrod_area", "crank.conrod_modulus")
BEAM = "crank.conrod_beam_mass"
PLAYS = ("crank.big_end_clearance", "piston.pin_clearance", "crank.main_clearance")


class Rise(NamedTuple):
    """What a piston rises by at speed; mm, rad."""

    stretch: Array
    play: Array
    crank: Array
    rock: Array  # rad, about the wrist pin
    least: Array  # one figure for all of it, nought where there is none
    unsaid: tuple[str, ...] = ()  # entries that it rests on and that nobody made
    allowed: float = 0.0  # half-width of the allowance
    why: str = ""  # what stands behind the crank's share, in words
    in_parts: bool = True  # False: one figure for all of it alone is known

    def at(self, arm: Array) -> Array:
        """Return how far the crown rises so far from the wrist pin, at right angles to it [mm]."""
        return np.maximum(self.parts(arm), self.least)

    def parts(self, arm: Array) -> Array:
        """Return what the parts come to so far from the wrist pin [mm]."""
        return self.stretch + self.play + self.crank + self.rock * arm

    def told(self, arm: Array) -> str:
        """Return in words which of the two counts, for one engine."""
        if not self.in_parts:
            return "one figure for all growth (running.growth)"
        if not np.any(self.least):
            return ""
        if np.ndim(self.least) == 0 and np.ndim(self.parts(arm)) == 0 and self.parts(arm) > self.least:
            return "the parts that were entered come to more than running.growth: they count"
        return "one figure for all growth (running.growth), more than the parts come to"


def rise(mapping: Flat, cylinder: str) -> Rise | Missing:
    """Return what a cylinder's piston rises by at `running.speed`, or what that lacks.

    mapping : one engine, or a batch whose numbers broadcast
    """
    reader = of_cylinder(mapping, cylinder)
    least, speed = reader.find("running.growth"), reader.number("running.speed")
    if reader.missing:
        return Missing.of(reader.missing)
    parts = _parts(mapping, cylinder, speed)
    if least is None:
        return parts
    if isinstance(parts, Missing):
        nothing = array(0.0)
        return Rise(nothing, nothing, nothing, nothing, least, in_parts=False)
    return parts._replace(least=least)


def _parts(mapping: Flat, cylinder: str, speed: Array) -> Rise | Missing:
    """Return it part by part."""
    reader, rod = (of_cylinder(mapping, cylinder) for _ in range(2))
    moving = crank_of(reader)._replace(compression_height=array(0.0))
    per_pull = stretch_of(rod, moving, turns_forward(mapping), rod.number(BEAM))
    bearings = sum((reader.number(one) for one in PLAYS), array(0.0))
    rocked = reader.word("running.deck_read") == ROCKED
    room, length = (
        play_in_bore(reader),
        array(1.0) if rocked else reader.number("piston.skirt_contact_length"),
    )
    if room is None and not rocked:
        reader.lack("piston.skirt_clearance")
    missing = [one for one in (*rod.missing, *reader.missing) if not one.endswith("compression_height")]
    if missing:
        return Missing.of(missing, NEEDS_ROD if any(one.endswith(ROD) for one in missing) else "")
    play = bearings * SHARES[reader.word("running.play_was", "pressed down")]
    rock = array(0.0) if rocked or room is None else np.maximum(room, 0.0) / length
    found = Rise(per_pull * speed**2, play, array(0.0), rock, array(0.0))
    found = _with_bending(reader, speed, per_pull, found)
    entered = rocked or reader.find("piston.skirt_clearance") is not None
    return found._replace(unsaid=(*found.unsaid, *(() if entered else unread(reader))))


def stretch_of(rod: Reader, moving: Crank, forward: bool, beam: Array) -> Array:
    """Return a connecting rod's stretch at its piston's highest point for a crank that turns 1 rad/s [mm]; NaN where entries lack.

    rod  : reads a cylinder's entries; what it lacks is noted in it
    beam : kg, mass between the rod's eyes
    """
    mass, area, modulus = (rod.number(one) for one in ROD)
    throw, length = moving.throw, moving.conrod_length
    inertia = mass * acceleration(moving, array(0.0), forward) + beam * throw * (0.5 + throw / length / 3)
    return inertia / METRE * length / (modulus * area)


def acceleration(moving: Crank, angle: Array, forward: bool) -> Array:
    """Return how hard a piston is held back at crank angles from its highest point, the crank turning 1 rad/s [mm/s²].

    angle : (...) [rad];  positive: it pulls the connecting rod upwards
    Source: the height of the pin, r·cos t + √(l² - s²) with s = r·sin t - e, differentiated twice.
    """
    turned = angle + moving.from_upright(forward)
    across, up = moving.throw * np.sin(turned), moving.throw * np.cos(turned)
    aside = across - moving.aside(forward)
    root = np.sqrt((moving.conrod_length - aside) * (moving.conrod_length + aside))
    found: Array = up + (up**2 - aside * across) / root + (aside * up) ** 2 / root**3
    return found


def arm_of_rim(reader: Reader) -> Array:
    """Return how far a crown's rim stands from the wrist pin's middle across it [mm]: as wide as the bore."""
    offset = reader.find("piston.pin_offset")
    return reader.number("stack.bore") / 2 + (array(0.0) if offset is None else np.abs(offset))


def _with_bending(reader: Reader, speed: Array, per_pull: Array, found: Rise) -> Rise:
    """Return a rise with what crank, pins and case bend by: as entered or by a touch, the greater; or else an allowance."""
    entered = reader.find(BENDING)
    if entered is not None:
        stated = reader.find(f"{BENDING}_at")
        at = array(BENDING_AT) if stated is None else stated
        unsaid = () if stated is not None else (f"{BENDING}_at",)
        found = found._replace(crank=entered * (speed / at) ** 2, unsaid=unsaid)
    squish, at_speed = (reader.find(f"crank.just_touched.{one}") for one in ("squish", "speed"))
    if squish is not None and at_speed is not None:
        arm = arm_of_rim(reader)
        left = squish - per_pull * at_speed**2 - found.play - found.rock * arm
        why = "" if bool(np.any(left > 0)) or entered is not None else EXPLAINED
        by_touch = np.maximum(left, 0.0) * (speed / at_speed) ** 2
        return found._replace(crank=np.maximum(by_touch, found.crank), why=why)
    if entered is not None:
        return found
    allowance = BENDING_MM * (speed / BENDING_AT) ** 2
    return found._replace(crank=allowance, unsaid=(BENDING,), allowed=float(np.mean(allowance)), why=ALLOWED)
