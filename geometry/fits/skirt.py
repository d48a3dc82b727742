"""The connecting rod's swing, and how close it and the piston's skirt come to what turns and stands below.

The plane of swing, with the cylinder's axis upright; x as in the cylinder frame, zero on the axis:

            │   │ e
        ┌───┼───●───┐   wrist pin            skirt edge: half the inner width to either side,
        │   │    ╲  │                        `skirt_below_pin` under the pin
        └─  │     ╲ ┘ skirt's edge           beam: half of `conrod_beam_width` to either side of the
     ━━━━━┓ │      ╲ ┏━━ spigot, bore               line from pin to crank pin
          ┃ │       ╲┃
          ┗━         ●━  case mouth          counterweights: a full round about the crank centre, which is
                   crank pin                  what one is near bottom centre: opposite its pin it points up there

Every distance is square to the beam; the least through the turn is at the greatest swing for the skirt, and
found by closer and closer rows of angles for spigot and mouth. What stands to what at bottom centre is in closed form,
the wrist pin √((l - r)² - e²) over the crank centre. For the oil ring the bore ends where it first opens: at the highest
relief of the spigot, or its lower edge, and a chamfer above that.

Source: plane geometry of a slider-crank with offset.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.answer import (
    CYLINDER,
    Figure,
    Found,
    Measured,
    Missing,
    Value,
    answers,
    lacking,
    lacking_but_height,
    of_cylinder,
)
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..core.targets import OIL_RING, SKIRT, SKIRT_OUT
from ..crank.crank import Crank, crank_of, turns_forward
from ..engine.alternatives import case_deck
from ..engine.defaults import completed
from .cut_tube import MOST_RELIEFS

NO_CHAMFER = "above the spigot's lower edge, whose chamfer nobody entered"
SAME_MM = 1e-9
ROW = 361  # angles of the turn looked at first
CLOSER = 17
LOOKS = 9  # each an eighth as wide as the last
TOGETHER = 200  # builds that are looked at together, whose angles a processor still has at hand


@answers(
    CYLINDER,
    "CONNECTING ROD'S SWING",
    swing_forward=Figure("connecting rod's swing towards +x", "deg"),
    swing_backward=Figure("connecting rod's swing towards -x", "deg"),
)
def swing(mapping: Flat, cylinder: str) -> Found:
    """Return the connecting rod's greatest angle to the cylinder's axis, to either side."""
    reader = of_cylinder(mapping, cylinder)
    moving = crank_of(reader)
    missing = lacking_but_height([reader])
    if missing is not None:
        return missing
    forward = turns_forward(mapping)
    found = {}
    for side, way in (("forward", 1.0), ("backward", -1.0)):
        sine = (moving.throw - way * moving.pin_offset) / moving.conrod_length
        # The crank pin stands square to the axis on that side: 90 degrees after, or before, it points up.
        turned = way * (1.0 if forward else -1.0) * np.pi / 2
        found[f"swing_{side}"] = Value(np.degrees(np.arcsin(sine)), at=_from_top(moving, forward, turned))
    return found


@answers(
    CYLINDER,
    "SKIRT TO CONNECTING ROD",
    skirt_to_conrod=Figure(
        "skirt to connecting rod",
        least=SKIRT,
        below_zero="the skirt and the connecting rod meet",
        measured=Measured("skirt to connecting rod at their closest", (0.5, 20)),
    ),
)
def skirt_to_beam(mapping: Flat, cylinder: str) -> Found:
    """Return the least distance from the skirt's lower edge to the connecting rod's beam."""
    reader = of_cylinder(mapping, cylinder)
    moving = crank_of(reader)
    inner, below = reader.number("piston.skirt_inner"), reader.number("piston.skirt_below_pin")
    beam = reader.number("crank.conrod_beam_width")
    missing = lacking_but_height([reader])
    if missing is not None:
        return missing
    forward = turns_forward(mapping)
    ways = []
    for way in (1.0, -1.0):
        sine = (moving.throw - way * moving.pin_offset) / moving.conrod_length
        cosine = np.sqrt((1 - sine) * (1 + sine))
        aside = inner / 2 - way * moving.pin_offset  # from the pin to the skirt's inside, on that side
        turned = way * (1.0 if forward else -1.0) * np.pi / 2
        ways.append((aside * cosine - below * sine - beam / 2, _from_top(moving, forward, turned)))
    (first, at), (second, other) = ways
    nearer = first <= second
    return {"skirt_to_conrod": Value(np.where(nearer, first, second), at=np.where(nearer, at, other))}


@answers(
    CYLINDER,
    "SKIRT TO COUNTERWEIGHT",
    skirt_to_counterweight=Figure(
        "skirt to counterweight",
        least=SKIRT,
        below_zero="the skirt and the counterweight meet",
        measured=Measured("skirt to counterweight at their closest", (0.5, 20)),
    ),
)
def skirt_to_counterweight(mapping: Flat, cylinder: str) -> Found:
    """Return the least distance from the skirt's lower edge to the counterweights, near bottom centre."""
    return _over_counterweight(mapping, cylinder, "piston.skirt_below_pin", "skirt_to_counterweight")


@answers(
    CYLINDER,
    "PIN BOSSES TO COUNTERWEIGHT",
    bosses_to_counterweight=Figure(
        "pin bosses to counterweight",
        least=SKIRT,
        below_zero="the pin bosses and the counterweight meet",
        measured=Measured("pin bosses to counterweight at their closest", (0.5, 20)),
    ),
)
def bosses_to_counterweight(mapping: Flat, cylinder: str) -> Found:
    """Return the least distance from the piston's pin bosses to the counterweights, near bottom centre."""
    return _over_counterweight(mapping, cylinder, "piston.boss_below_pin", "bosses_to_counterweight")


def _over_counterweight(mapping: Flat, cylinder: str, lowest: str, key: str) -> Found:
    """Return how far what hangs lowest below the wrist pin is over the counterweights, near bottom centre."""
    reader = of_cylinder(mapping, cylinder)
    moving = crank_of(reader)
    radius, below = reader.number("crank.counterweight_radius"), reader.number(lowest)
    missing = lacking_but_height([reader])
    if missing is not None:
        return missing
    forward, pin = turns_forward(mapping), _lowest_pin(moving)
    at = (
        np.pi
        + np.arcsin(moving.aside(forward) / (moving.conrod_length - moving.throw))
        - moving.from_upright(forward)
    )
    return {
        key: Value(
            pin - below - radius,
            at=np.broadcast_to(at, np.shape(pin)),
            note="counterweights taken as a full round",
        )
    }


def _lowest_pin(moving: Crank) -> Array:
    """Return how high the wrist pin is over the crank centre at its lowest [mm]."""
    short = moving.conrod_length - moving.throw
    return np.sqrt((short - moving.pin_offset) * (short + moving.pin_offset))


@answers(
    CYLINDER,
    "CONNECTING ROD TO SPIGOT",
    conrod_to_spigot=Figure(
        "connecting rod to its spigot",
        least=SKIRT,
        below_zero="the connecting rod and the spigot meet",
        measured=Measured("connecting rod to its spigot at their closest", (0.5, 20)),
    ),
)
def beam_to_spigot(mapping: Flat, cylinder: str) -> Found:
    """Return the least distance from the beam to the lower edge of its own spigot."""
    full, _ = completed(mapping)
    reader, own = of_cylinder(full, cylinder), Reader(full, (f"{cylinder}.",))
    length, bore = own.number("spigot.length"), reader.number("stack.bore")
    return _beam_to_edge(full, (reader, own), "conrod_to_spigot", bore / 2, length)


@answers(
    CYLINDER,
    "CONNECTING ROD TO CASE MOUTH",
    conrod_to_mouth=Figure(
        "connecting rod to the case mouth",
        least=SKIRT,
        below_zero="the connecting rod and the case mouth meet",
        measured=Measured("connecting rod to the case mouth at their closest", (0.5, 20)),
    ),
)
def beam_to_mouth(mapping: Flat, cylinder: str) -> Found:
    """Return the least distance from the beam to the case mouth under the cylinder."""
    full, _ = completed(mapping)
    reader = of_cylinder(full, cylinder)
    width = reader.number("stack.mouth_width")
    below = reader.find("stack.mouth_below")
    return _beam_to_edge(
        full, (reader,), "conrod_to_mouth", width / 2, array(0.0) if below is None else below
    )


@answers(
    CYLINDER,
    "SKIRT AND OIL RING BELOW THE SPIGOT",
    skirt_hangs=Figure("skirt below the spigot"),
    skirt_out=Figure(
        "skirt out of the bore",
        most=SKIRT_OUT,
        more=("skirt out of the bore against a limit of yours", (SKIRT_OUT,)),
        main=False,
        measured=Measured("skirt out of the bore at bottom centre", (1, 30), signed=True),
    ),
    skirt_out_share=Figure("skirt out of the bore, share of it below the pin", "", main=False),
    oil_ring_hangs=Figure("oil ring below the spigot"),
)
def hanging(mapping: Flat, cylinder: str) -> Found:
    """Return how far skirt and oil ring hang below the spigot at bottom centre; negative: they stay inside.

    `skirt_out` counts from the end of the bore, above the spigot's chamfer; a relief does not count.
    """
    full, _ = completed(mapping)
    spigot = _Spigot.of(full, cylinder)
    reader = spigot.cylinder
    skirt, ring = reader.find("piston.skirt_below_pin"), reader.find("piston.oil_ring")
    if skirt is None and ring is None:
        reader.number("piston.skirt_below_pin")
    lacks = lacking if skirt is None or ring is not None else lacking_but_height
    missing = lacks([reader, spigot.own])
    if missing is not None:
        return missing
    pin = _lowest_pin(spigot.moving)
    found = {}
    if skirt is not None:
        below = spigot.edge - (pin - skirt)
        found["skirt_hangs"] = Value(below, note=_side(below))
        out = below + spigot.chamfer
        found["skirt_out"] = Value(out, note=spigot.note, unsaid=spigot.unsaid)
        share = np.maximum(out, 0.0) / skirt
        found["skirt_out_share"] = Value(share, note=spigot.note, unsaid=spigot.unsaid)
    if ring is not None:
        below = spigot.edge - (pin + spigot.moving.compression_height - ring)
        found["oil_ring_hangs"] = Value(below, note=_side(below))
    return found


@answers(
    CYLINDER,
    "OIL RING AT THE END OF THE BORE",
    oil_ring_room=Figure(
        "oil ring above the end of the bore",
        least=OIL_RING,
        below_zero="the oil ring leaves the bore and will catch going back up: do not assemble",
        measured=Measured("oil ring above the end of the bore at bottom centre", (0.5, 30), signed=True),
    ),
)
def oil_ring_room(mapping: Flat, cylinder: str) -> Found:
    """Return how far the oil ring's lower side stays above the end of the bore at bottom centre."""
    full, _ = completed(mapping)
    spigot = _Spigot.of(full, cylinder)
    ring = spigot.cylinder.number("piston.oil_ring")
    missing = lacking([spigot.cylinder, spigot.own])
    if missing is not None:
        return Missing.of((*missing.entries, *spigot.unsaid))
    crown = _lowest_pin(spigot.moving) + spigot.moving.compression_height
    raised = spigot.relief
    opens = (
        f"{spigot.note}; its bore ends at the top of its highest relief"
        if raised is not None
        else spigot.note
    )
    end = spigot.edge + spigot.chamfer + (0.0 if raised is None else raised)
    return {
        "oil_ring_room": Value(crown - ring - end, note=f"at bottom centre; {opens}", unsaid=spigot.unsaid)
    }


class _Spigot(NamedTuple):
    """Where the bore ends in a cylinder's spigot, mm over the crank centre, and what moves in it."""

    cylinder: Reader
    own: Reader
    moving: Crank
    edge: Array  # its lower edge
    chamfer: Array
    relief: Array | None  # how high its highest relief reaches above that edge
    note: str
    unsaid: tuple[str, ...]

    @classmethod
    def of(cls, full: Flat, cylinder: str) -> _Spigot:
        """Return it; what is absent is noted in its readers."""
        reader, own = of_cylinder(full, cylinder), Reader(full, (f"{cylinder}.",))
        edge = case_deck(reader) - reader.number("stack.case_cut") - own.number("spigot.length")
        chamfer = own.find("spigot.chamfer")
        heights = [own.find(f"spigot.reliefs.{index}.height") for index in range(MOST_RELIEFS)]
        there = [one for one in heights if one is not None]
        return cls(
            reader,
            own,
            crank_of(reader),
            edge,
            array(0.0) if chamfer is None else chamfer,
            np.maximum.reduce(np.broadcast_arrays(*there)) if there else None,
            NO_CHAMFER if chamfer is None else "above the spigot's chamfer",
            (own.path("spigot.chamfer"),) if chamfer is None else (),
        )


def _side(below: Array) -> str:
    """Return in words to which side of the spigot's lower edge something stands at bottom centre."""
    if np.ndim(below):
        return ""
    told = "stays above" if below < 0 else "hangs below"
    return f"it {told} the spigot's lower edge, at bottom centre"


def _beam_to_edge(full: Flat, readers: tuple[Reader, ...], key: str, half: Array, below_deck: Array) -> Found:
    """Return the beam's least distance to an edge at half a width to either side, so far below the case deck.

    readers : of the cylinder, and those that read the edge
    """
    reader = readers[0]
    moving = crank_of(reader)
    beam = reader.number("crank.conrod_beam_width")
    edge = case_deck(reader) - reader.number("stack.case_cut") - below_deck
    missing = lacking_but_height(readers)
    if missing is not None:
        return missing
    parts = np.broadcast_arrays(*moving, half, edge, beam)
    builds = np.stack([np.reshape(one, -1) for one in parts])
    found = [
        _nearest_beside(Crank(*some[:4]), turns_forward(full), *some[4:])
        for some in np.array_split(builds, -(-builds.shape[1] // TOGETHER), axis=1)
    ]
    value, at = (np.concatenate(one).reshape(parts[0].shape) for one in zip(*found, strict=True))
    if not np.isfinite(value).all():
        return Missing.of((), "the connecting rod never passes that height")
    return {key: Value(value, at=at)}


def _nearest_beside(
    moving: Crank, forward: bool, half: Array, high: Array, beam: Array
) -> tuple[Array, Array]:
    """Return the beam's least distance to an edge, and the crank angle at which it is; all of them (N,)."""
    wide = Crank(*(one[:, None] for one in moving))
    middle, width = np.zeros((len(half), 1)), np.pi
    value, at = np.full(len(half), np.inf), np.zeros(len(half))
    for look in range(LOOKS):
        steps = np.linspace(-1.0, 1.0, ROW if look == 0 else CLOSER)
        angle = middle + width * steps
        room = _beside_beam(wide, forward, angle, half[:, None], high[:, None]) - beam[:, None] / 2
        near = (
            SAME_MM if look == 0 else 0.0
        )  # both sides of a rod that swings evenly are as near: the first is told
        place = (room <= room.min(axis=-1, keepdims=True) + near).argmax(axis=-1)[:, None]
        least, here = (np.take_along_axis(one, place, axis=-1)[:, 0] for one in (room, angle))
        at = np.where(least <= value, here, at)
        value = np.minimum(value, least)
        middle, width = at[:, None], width * (2.0 / ROW if look == 0 else 1 / 8)
    return value, at


def _beside_beam(moving: Crank, forward: bool, angle: Array, half: Array, high: Array) -> Array:
    """Return how far an edge at either side stands from the beam's middle line; infinite where it passes by."""
    aside, turned = moving.aside(forward), angle + moving.from_upright(forward)
    across, up = moving.throw * np.sin(turned), moving.throw * np.cos(turned)
    top = moving.height(angle, forward) - moving.compression_height
    share = (high - up) / (top - up)  # of the way from crank pin to wrist pin
    line = across + share * (aside - across)
    lean = (top - up) / moving.conrod_length
    room = np.minimum(half - line, half + line) * lean
    return np.where((share >= 0) & (share <= 1), room, np.inf)


def _from_top(moving: Crank, forward: bool, turned: Array | float) -> Array:
    """Return a crank angle from the piston's highest point, of one counted from the throw standing upright."""
    return turned - moving.from_upright(forward)
