"""How a piston fits its bore: clearance cold, taper, out of round, wear, and when the room is gone hot.

    for scuffing          tightest place less piston          for wear and rattle   loosest place less piston
    both as if at 20 °C   X·(1 - α·(T - 20))
    room gone             K = clearance at one common temperature / (α of the piston · piston): so many kelvin may the
                          skirt be hotter than its bore

Pistons differ by four times in what they want: nothing is judged but by a limit of the job. A rigid round is assumed;
real skirts are oval and give, so that contact is no seizure: a bound.

A liner of radii a, b held by a jacket b, c of another metal grows with both, while it grips:

    α = α_l + (α_j - α_l) · [2b² / (E_l(b² - a²))] / (C_l + C_j)
    C_l = [(b² + a²)/(b² - a²) - ν_l]/E_l,   C_j = [(c² + b²)/(c² - b²) + ν_j]/E_j

Sources: linear growth; thick rings that press on one another (Lamé). Usual marks of taper and out of round are of
workshop manuals, common practice, from memory.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.answer import CYLINDER, Figure, Found, Measured, Missing, Value, answers, of_cylinder
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..core.targets import OUT_OF_ROUND, PISTON_CLEARANCE_LEAST, PISTON_CLEARANCE_MOST, TAPER
from ..engine.materials import MATERIALS, PER_MILLION
from ..piston.bore_entries import DIRECTIONS, HEIGHTS, READINGS
from ..piston.bore_read import BoreRead, bore_read

COLD = 20.0  # °C, what sizes are reduced to
ROOM_K = 8.0  # by which a room is warmer or colder, where nobody read it
WARM = 110.0  # °C, a bore that is warm through
ONE_READING = "one reading is not a bore: no taper, no out of round, no wear"
NOT_IN = "the piston does not go in: one of the two is misread, or it is for the next oversize"
SWEEP = (
    "two fixed directions see only a part of the out of round if the wear stands between them: sweep the gauge for the "
    "largest and the smallest"
)
DISAGREE = "the gauge and the ring gap tell different bores: read both again"
NO_ROOM = "no room is left hot, of a rigid round: a bound, and no seizure"
NO_ROOM_WARM = "no room is left with both as warm as 110 C, of a rigid round: a bound, and no seizure"
JUST_IN = "within its own +/- the piston does not go in"
BOUND = "a rigid round, which real skirts are not: a bound, and no seizure"


class Ring(NamedTuple):
    """One of two rings that press on one another; mm, N/mm², 1/K."""

    inner: Array
    outer: Array
    modulus: float
    poisson: float
    expansion: Array


def gripping(liner: Ring, jacket: Ring) -> Array:
    """Return how the bore of a liner grows that its jacket grips [1/K]; see the module."""
    a, b, c = liner.inner, liner.outer, jacket.outer
    of_liner = ((b**2 + a**2) / (b**2 - a**2) - liner.poisson) / liner.modulus
    of_jacket = ((c**2 + b**2) / (c**2 - b**2) + jacket.poisson) / jacket.modulus
    share = 2 * b**2 / (liner.modulus * (b**2 - a**2)) / (of_liner + of_jacket)
    found: Array = liner.expansion + (jacket.expansion - liner.expansion) * share
    return found


class Growth(NamedTuple):
    """How a bore grows; two numbers where only bounds are known."""

    least: Array  # 1/K
    most: Array
    note: str = ""


def expansion_of(stuff: Reader, part: str) -> Array | None:
    """Return how a part's material grows [1/K]: as entered, or by its material's table; None where nobody said."""
    entered, named = stuff.find(f"expansion_{part}"), stuff.word(part)
    if entered is not None:
        return entered * PER_MILLION
    return array(MATERIALS[named].expansion) if named in MATERIALS else None


def bore_growth(mapping: Flat, cylinder: str, bore: Array) -> Growth | None:
    """Return how a cylinder's bore grows with heat; None where nobody said what it is made of."""
    stuff, reader = Reader(mapping, ("materials.",)), of_cylinder(mapping, cylinder)
    jacket, liner = expansion_of(stuff, "cylinder"), stuff.word("liner")
    if jacket is None:
        return None
    if liner not in MATERIALS:
        return Growth(jacket, jacket)
    own = MATERIALS[liner]
    outer, around = reader.find("liner.outer_diameter"), reader.find("liner.jacket_diameter")
    alone = array(own.expansion)
    held = MATERIALS.get(stuff.word("cylinder"))
    if outer is None or around is None or held is None:
        note = "liner.outer_diameter and jacket_diameter are not entered: between the liner's growth and the jacket's"
        return Growth(np.minimum(alone, jacket), np.maximum(alone, jacket), note)
    found = gripping(
        Ring(bore / 2, outer / 2, own.modulus, own.poisson, alone),
        Ring(outer / 2, around / 2, held.modulus, held.poisson, jacket),
    )
    return Growth(found, found, "a liner that its jacket grips")


class Fitted(NamedTuple):
    """A bore and its piston as they stand against each other; mm at 20 °C."""

    read: BoreRead
    tightest: Array
    loosest: Array
    piston: Array | None
    growth: Growth | None
    piston_growth: Array | None
    unsaid: tuple[str, ...]
    allowed: float = 0.0  # half-width of what it is off by where nobody said how warm both were


def fitted(mapping: Flat, cylinder: str) -> Fitted | Missing:
    """Return a cylinder's bore with its piston, or what they lack."""
    reader, stuff = of_cylinder(mapping, cylinder), Reader(mapping, ("materials.",))
    read = bore_read(reader)
    if read is None:
        return Missing.of(
            [f"{cylinder}.{READINGS}.{height}_{one}" for height in HEIGHTS for one in DIRECTIONS]
        )
    if len(read.every) < 2:
        return Missing.of(read.lacks(f"{cylinder}."), ONE_READING)
    growth, of_piston = bore_growth(mapping, cylinder, read.loosest), expansion_of(stuff, "piston")
    unsaid = list(read.lacks(f"{cylinder}."))
    piston = reader.find("piston.diameter")
    warm = [reader.find(f"{READINGS}.{one}_temperature") for one in ("bore", "piston")]
    tightest, loosest = read.tightest, read.loosest
    together = reader.word(f"{READINGS}.lay_together") == "yes"
    known = [one for one in warm if one is not None]
    if together and len(known) == 1:
        warm = [known[0], known[0]]  # as warm as one another, whichever was read
    if warm[0] is not None and warm[1] is not None:
        if growth is None or of_piston is None:
            unsaid += ["materials.cylinder"] if growth is None else []
            unsaid += ["materials.piston"] if of_piston is None else []
        else:
            cooler = growth.most * (warm[0] - COLD)
            tightest, loosest = tightest * (1 - cooler), loosest * (1 - growth.least * (warm[0] - COLD))
            piston = None if piston is None else piston * (1 - of_piston * (warm[1] - COLD))
    elif not together:
        unsaid.append(f"{cylinder}.{READINGS}.lay_together")
    allowed = 0.0
    if together and not known and growth is not None and of_piston is not None:  # nobody said how warm
        apart = np.maximum(abs(of_piston - growth.least), abs(of_piston - growth.most))
        allowed = float(np.mean(apart * read.loosest)) * ROOM_K
    return Fitted(read, tightest, loosest, piston, growth, of_piston, tuple(unsaid), allowed)


@answers(
    CYLINDER,
    "PISTON IN ITS BORE",
    asked_by=(".bore_readings.",),
    bore_tightest=Figure(
        "bore at its tightest", finer=1, main=False, measured=Measured("bore at its tightest", (35, 150))
    ),
    bore_loosest=Figure(
        "bore at its loosest", finer=1, main=False, measured=Measured("bore at its loosest", (35, 150))
    ),
    bore_taper=Figure("taper of the bore", finer=1, most=TAPER, main=False),
    bore_out_of_round=Figure("bore out of round", finer=1, most=OUT_OF_ROUND, main=False),
    bore_wear=Figure("wear of the bore", finer=1, main=False),
    piston_clearance=Figure(
        "piston in its bore, at the tightest",
        finer=1,
        least=PISTON_CLEARANCE_LEAST,
        below_zero=NOT_IN,
        headline=True,
        watched=JUST_IN,
    ),
    piston_clearance_loosest=Figure(
        "piston in its bore, at the loosest",
        finer=1,
        most=PISTON_CLEARANCE_MOST,
        below_zero=NOT_IN,
        headline=True,
    ),
    room_gone_cold=Figure("room gone, the skirt hotter by, from 20 C", "k", main=False),
    room_gone_warm=Figure(
        "room gone, the skirt hotter by, from 110 C", "k", main=False, watched=NO_ROOM_WARM
    ),
    clearance_hot=Figure("piston in its bore, hot", finer=1, main=False, headline=True, watched=NO_ROOM),
    gauge_less_gap=Figure("taper by ring gap less that by gauge", finer=1, main=False, nought=DISAGREE),
)
def bore_fit(mapping: Flat, cylinder: str) -> Found:
    """Return how a piston fits its bore."""
    found, reader = fitted(mapping, cylinder), of_cylinder(mapping, cylinder)
    if isinstance(found, Missing):
        return found
    read, unsaid = found.read, found.unsaid
    swept = "" if read.is_swept else SWEEP
    told = {
        "bore_tightest": Value(read.tightest, note="as it was read", unsaid=read.lacks(f"{cylinder}.")),
        "bore_loosest": Value(read.loosest, note="as it was read", unsaid=read.lacks(f"{cylinder}.")),
    }
    if read.taper is not None:
        told["bore_taper"] = Value(read.taper, note="manuals allow 0.03 to 0.10 mm (0.001 to 0.004 in)")
    if read.out_of_round is not None:
        note = "manuals allow 0.03 to 0.05 mm (0.001 to 0.002 in)"
        told["bore_out_of_round"] = Value(
            read.out_of_round, note="; ".join(one for one in (note, swept) if one)
        )
    new = reader.find(f"{READINGS}.new_size")
    against = (
        "over the new size" if new is not None else "over its tightest place, new_size not being entered"
    )
    told["bore_wear"] = Value(
        read.loosest - (read.tightest if new is None else np.minimum(new, read.tightest)),
        note=against,
        unsaid=() if new is not None else (f"{cylinder}.{READINGS}.new_size",),
    )
    if found.piston is not None:
        told |= _with_piston(mapping, found, found.piston, unsaid)
    gaps = [reader.find(f"{READINGS}.gap_{one}") for one in ("top", "bottom")]
    ends = [(read.across[place], read.along[place]) for place in (0, 2)]
    if gaps[0] is not None and gaps[1] is not None and all(one is not None for end in ends for one in end):
        (top, other_top), (bottom, other_bottom) = ends
        assert top is not None
        assert other_top is not None
        assert bottom is not None
        assert other_bottom is not None
        by_gauge = (top + other_top - bottom - other_bottom) / 2
        note = "a ring's gap grows by pi times the bore: a free check of the gauge"
        told["gauge_less_gap"] = Value((gaps[0] - gaps[1]) / np.pi - by_gauge, note=note)
    return told


def _with_piston(mapping: Flat, found: Fitted, piston: Array, unsaid: tuple[str, ...]) -> dict[str, Value]:
    """Return the figures that need the piston's diameter."""
    cold = "as if both were at 20 C"
    told = {
        "piston_clearance": Value(
            found.tightest - piston, note=f"for scuffing; {cold}", unsaid=unsaid, allowed=found.allowed
        ),
        "piston_clearance_loosest": Value(
            found.loosest - piston, note=f"for wear and rattle; {cold}", unsaid=unsaid, allowed=found.allowed
        ),
    }
    growth, own = found.growth, found.piston_growth
    if own is None or growth is None:
        return told
    note = "; ".join(one for one in (BOUND, growth.note) if one)
    for key, common in (("room_gone_cold", COLD), ("room_gone_warm", WARM)):
        left = found.tightest * (1 + growth.least * (common - COLD)) - piston * (1 + own * (common - COLD))
        none = "none is left there already" if np.ndim(left) == 0 and left <= 0 else ""
        said = "; ".join(one for one in (none, note) if one)
        told[key] = Value(left / (own * piston), note=said, unsaid=unsaid)
    running = Reader(mapping, ("running.",))
    bore, skirt = running.find("hot_cylinder"), running.find("hot_piston")
    if bore is not None and skirt is not None:
        hot = found.tightest * (1 + growth.least * (bore - COLD)) - piston * (1 + own * (skirt - COLD))
        told["clearance_hot"] = Value(hot, note=note, unsaid=unsaid)
    return told
