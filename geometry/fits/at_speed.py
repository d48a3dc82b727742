"""The squish that is left at speed, and what heat does to it.

    squish_at_speed   at rest less the connecting rod's stretch alone, an estimate
    squish_at_least   at rest less all that closes it together, at the crown's rim: see `piston.rise`

Heat is told in two states, at rest and with all that speed takes: warm through, and the piston, its connecting rod and
the crank hot in a cylinder and a case that are still cold. Each part grows by its material's expansion times the heat of its own.

Source: a plain sum, all parts of which pull the same way at the same time; linear growth.
"""

from __future__ import annotations

import numpy as np

from ..core.answer import CYLINDER, Figure, Found, Missing, Value, answers, in_both, of_cylinder
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..core.targets import SQUISH_AT_SPEED
from ..crank.crank import crank_of, turns_forward
from ..engine.alternatives import case_deck
from ..engine.defaults import completed
from ..engine.materials import PER_MILLION
from ..piston.bore_entries import GROWS_BY
from ..piston.rise import BEAM, arm_of_rim, rise, stretch_of
from .volume import squish

MEET = "the crown would reach past the head's gasket face at that speed"
UPWARD, DOWNWARD = (
    ("case", "cylinder"),
    ("conrod", "crank", "piston"),
)  # from the crank to the head, and to the crown


@answers(
    CYLINDER,
    "SQUISH AT SPEED",
    conrod_stretch=Figure("connecting rod's stretch at speed", main=False),
    squish_at_speed=Figure("squish less the rod's stretch alone", below_zero=MEET),
)
def squish_at_speed(mapping: Flat, cylinder: str) -> Found:
    """Return an estimate of the squish left at speed, from the connecting rod's stretch alone."""
    reader = of_cylinder(mapping, cylinder)
    at_rest, speed, beam = squish(mapping, cylinder), reader.number("running.speed"), reader.find(BEAM)
    moving = crank_of(reader)
    stretch = (
        stretch_of(reader, moving, turns_forward(mapping), array(0.0) if beam is None else beam) * speed**2
    )
    missing = (*reader.missing, *(at_rest.entries if isinstance(at_rest, Missing) else ()))
    if missing or isinstance(at_rest, Missing):
        return Missing.of(missing)
    note = "an estimate: rod stretch alone, without bearing play"
    note += "" if beam is not None else "; the mass of the rod's beam is not counted"
    unsaid = () if beam is not None else (BEAM,)
    return {
        "conrod_stretch": Value(stretch, note=note, unsaid=unsaid),
        "squish_at_speed": Value(at_rest["squish"].value - stretch, note=note, unsaid=unsaid),
    }


@answers(
    CYLINDER,
    "SQUISH LEFT AT SPEED, AT LEAST",
    asked_by=GROWS_BY,
    rise_by_rod=Figure("by the connecting rod's stretch", finer=1, main=False),
    rise_by_play=Figure("by play in big end, pin and mains", finer=1, main=False),
    rise_by_crank=Figure("by crank, pins and case bending", finer=1, main=False),
    rise_by_rock=Figure("by the piston's rocking, at its rim", finer=1, main=False),
    piston_rise=Figure("crown's rim above where it is at rest", finer=1, main=False),
    squish_at_least=Figure(
        "squish at speed, at least", least=SQUISH_AT_SPEED, below_zero=MEET, zero=True, at_nought="MAY MEET"
    ),
)
def squish_at_least(mapping: Flat, cylinder: str) -> Found:
    """Return the least squish at speed at the crown's rim: at rest, less all that closes it together."""
    found, at_rest, reader = (
        rise(mapping, cylinder),
        squish(mapping, cylinder),
        of_cylinder(mapping, cylinder),
    )
    arm = arm_of_rim(reader)
    lacks = [
        *(found.entries if isinstance(found, Missing) else ()),
        *(at_rest.entries if isinstance(at_rest, Missing) else ()),
        *reader.missing,
    ]
    if lacks or isinstance(found, Missing) or isinstance(at_rest, Missing):
        return Missing.of(lacks, found.why if isinstance(found, Missing) else "")
    parts = (
        {}
        if not found.in_parts
        else {
            "rise_by_rod": Value(found.stretch),
            "rise_by_play": Value(found.play),
            "rise_by_crank": Value(found.crank, note=found.why, unsaid=found.unsaid, allowed=found.allowed),
            "rise_by_rock": Value(found.rock * arm),
        }
    )
    whole, rest = found.at(arm), at_rest["squish"].value
    unsaid = (*found.unsaid, *at_rest["squish"].unsaid)
    beside = "" if np.ndim(rest) else f", beside {in_both(float(rest))} at rest"
    note = f"all that closes it together, at the crown's rim{beside}; no heat is in it"
    return {
        **parts,
        "piston_rise": Value(whole, note=found.told(arm), unsaid=found.unsaid, allowed=found.allowed),
        "squish_at_least": Value(rest - whole, note=note, unsaid=unsaid, allowed=found.allowed),
    }


@answers(
    CYLINDER,
    "SQUISH, COLD TO HOT",
    asked_by=(".running.hot_piston", ".running.hot_conrod", ".running.hot_crank"),
    squish_warm_through=Figure(
        "squish at rest, warm through", below_zero="the crown would stand past the head's face"
    ),
    squish_at_least_hot=Figure(
        "squish at speed, at least, hot",
        least=SQUISH_AT_SPEED,
        below_zero=MEET,
        zero=True,
        at_nought="MAY MEET",
        main=False,
    ),
    squish_piston_first=Figure(
        "squish at rest, piston hot, cylinder still cold",
        below_zero="the crown would stand past the head's face",
    ),
)
def squish_hot(mapping: Flat, cylinder: str) -> Found:
    """Return the squish at rest with everything hot, and in the first minutes with cylinder and case still cold."""
    full, _ = completed(mapping)
    reader, running, stuff = (
        of_cylinder(full, cylinder),
        Reader(full, ("running.",)),
        Reader(full, ("materials.",)),
    )
    at_rest, moving = squish(full, cylinder), crank_of(reader)
    cold = running.number("cold")
    lengths = {
        "case": case_deck(reader) - reader.number("stack.case_cut"),
        "cylinder": reader.number("stack.cylinder"),
        "conrod": moving.conrod_length,
        "crank": moving.throw,
        "piston": moving.compression_height,
    }
    grown: dict[str, Array] = {}
    lacks: list[str] = []
    for part, length in lengths.items():
        expansion = stuff.find(f"expansion_{part}")
        lacks += [] if expansion is not None or stuff.word(part) else [f"materials.{part}"]
        hot = running.number(f"hot_{part}")
        grown[part] = array(np.nan) if expansion is None else expansion * PER_MILLION * length * (hot - cold)
    entries = at_rest.entries if isinstance(at_rest, Missing) else ()
    lacks = [*running.missing, *lacks, *reader.missing, *entries]
    if lacks or isinstance(at_rest, Missing):
        return Missing.of(lacks)
    down = sum((grown[one] for one in DOWNWARD), array(0.0))
    up = sum((grown[one] for one in UPWARD), array(0.0))
    rest = at_rest["squish"].value
    note = "at rest"
    told = {
        "squish_warm_through": Value(rest + up - down, note=note),
        "squish_piston_first": Value(rest - down, note=note),
    }
    fast = squish_at_least(full, cylinder)
    if not isinstance(fast, Missing):
        lost = np.maximum(down - up, down)
        note = "the smaller of both heats, less all that speed takes; both at their worst together"
        told["squish_at_least_hot"] = fast["squish_at_least"]._replace(
            value=fast["squish_at_least"].value - lost, note=note
        )
    return told
