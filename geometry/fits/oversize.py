"""The next oversize: which piston on offer cleans up every cylinder for sure, and what to bore to.

    finished          diameter of the piston, as measured, and the clearance wanted
    cleans up         finished ≥ new size + n·(loosest - new size) + least cut: n = 2 where the bar is centred on the
                      unworn end and parallel to the bore, since no place lies further out than the wear on the diameter;
                      else 4, since a bar on the worn bore stands aside, and the wear below may lie the other way
    cannot clean up   finished < loosest + least cut; between the two it depends on what the bar is centred on
    bored to          finished less what is left for the hone
    wall              (spigot's or liner's outer diameter - finished) / 2, less what the bar may stand aside

All cylinders are bored alike: the smallest piston that cleans up all of them for sure, or else the largest on offer.
For sure is said of a bore alone that was swept round for its largest at three heights, and whose new size is entered.

Sources: the rules held against random worn bores, `tests/oracles/worn_bore.py`; a ring's gap grows by π times the bore.
The least cut is common practice, from memory.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.answer import CYLINDER, Figure, Found, Missing, Value, Values, answers, in_both, of_cylinder
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader, frozen, names
from ..core.targets import CYLINDER_WALL, SQUISH_AT_SPEED
from ..piston.bore_entries import MOST_ON_OFFER, READINGS
from .at_speed import squish_at_least
from .bore_fit import Fitted, fitted
from .volume import compression

NOTHING = 1e-9  # mm: rounding
LEAST_CUT = 0.05  # mm on the diameter
PLATED = "a plated bore is not bored: send it"
SWEPT = f"{READINGS}.top_largest"
NOT_SURE = "not for sure: sweep the gauge for the largest at three heights, and enter new_size"
DEPENDS = "depends on whether the bar is centred on the worn bore or on its unworn end"
CANNOT = "cannot clean up: it is smaller than the loosest place and a cut"
NONE_ON_OFFER = (
    "no piston on offer: write each that could be had as a [[oversize.piston]], with its measured diameter"
)
MEASURE_FIRST = "nominal oversizes only choose which to order: measure the piston in hand before boring"


class Needed(NamedTuple):
    """What one bore needs; mm on the diameter."""

    bore: Fitted
    new: Array
    surely: Array  # the least finished size that cleans up for sure
    never: Array  # no less can
    unsaid: tuple[str, ...]
    taken: str = ""  # what was not entered, in words


def needed(mapping: Flat, cylinder: str) -> Needed | Missing:
    """Return what a cylinder's bore needs to clean up, or what is lacking for that."""
    found, reader, boring = (
        fitted(mapping, cylinder),
        of_cylinder(mapping, cylinder),
        Reader(mapping, ("oversize.",)),
    )
    if isinstance(found, Missing):
        return found
    if reader.word(f"{READINGS}.plated") == "yes":
        return Missing.of((), PLATED)
    new = reader.find(f"{READINGS}.new_size")
    unsaid = [] if new is not None else [f"{cylinder}.{READINGS}.new_size"]
    unsaid += [] if found.read.is_swept else [f"{cylinder}.{SWEPT}"]
    # No bore wears tighter: a new size above a reading is not taken for it.
    base = found.read.tightest if new is None else np.minimum(new, found.read.tightest)
    worn = np.maximum(found.read.loosest - base, 0.0)
    bar = boring.word("bar") == "unworn end"
    stated, hone = boring.find("cut_least"), boring.find("hone")
    cut = array(LEAST_CUT) if stated is None else stated
    cut = (
        cut if hone is None else np.maximum(cut, hone)
    )  # what is left for the hone is no place that the bar cleaned
    taken = (
        []
        if stated is not None
        else [f"{LEAST_CUT} mm (0.002 in) of least cut, common practice, from memory"]
    )
    taken += [] if boring.word("bar") else ["a bar centred on the worn bore"]
    return Needed(
        found,
        base,
        base + (2.0 if bar else 4.0) * worn + cut,
        found.read.loosest + cut,
        tuple(unsaid),
        f"taken: {' and '.join(taken)}" if taken else "",
    )


def chosen(mapping: Flat) -> tuple[int, bool, str] | Missing:
    """Return which piston on offer is taken for all cylinders, whether it cleans up all for sure, and why that one.

    By the numbers as they are; of a batch, by their means.
    """
    boring, cylinders = Reader(mapping, ("oversize.",)), names(mapping, "cylinders")
    offers = [(place, boring.find(f"piston.{place}.diameter")) for place in range(MOST_ON_OFFER)]
    on_offer = sorted((float(np.mean(one)), place) for place, one in offers if one is not None)
    wanted = boring.number("clearance")
    if not on_offer:
        return Missing.of((*boring.missing, "oversize.piston"), NONE_ON_OFFER)
    if boring.missing:
        return Missing.of(boring.missing)
    wants: dict[str, float] = {}
    for name in cylinders:
        bore = needed(mapping, name)
        if isinstance(bore, Missing):
            return Missing.of(bore.entries, "; ".join(part for part in (name, bore.why) if part))
        wants[name] = float(np.mean(bore.surely)) - float(np.mean(wanted))
    each = {
        name: next((one for one in on_offer if one[0] >= least - NOTHING), None)
        for name, least in wants.items()
    }
    sizes = dict.fromkeys(each.values())
    if None in sizes:
        return on_offer[-1][1], False, "none on offer cleans up every cylinder for sure: the largest"
    taken = max(one for one in sizes if one is not None)
    told = ""
    if len(sizes) > 1:
        alone = ", ".join(f"{name} {in_both(one[0], 1)}" for name, one in each.items() if one is not None)
        told = f"alone they would take {alone}: the larger for all"
    return taken[1], True, told


@answers(
    CYLINDER,
    "NEXT OVERSIZE",
    asked_by=(".oversize.",),
    of_all=True,
    cleans_up_from=Figure("bore from which it cleans up for sure", finer=1, main=False),
    cannot_clean_below=Figure("bore under which it cannot clean up", finer=1, main=False),
    oversize_piston=Figure("piston to take, its diameter", finer=1, headline=True),
    oversize_bore=Figure("bore, finished", finer=1, main=False),
    bore_to=Figure("bore to, the rest is the hone's", finer=1, main=False),
    bore_removes=Figure("to remove, at the tightest", finer=1, main=False),
    bore_removes_least=Figure("to remove, at the loosest", finer=1, main=False),
    cleans_up_by=Figure(
        "left over the most that it can take",
        finer=1,
        zero=True,
        at_nought="IT MAY NOT CLEAN UP",
        below_zero="it may not clean up",
    ),
    wall_after=Figure(
        "wall left after boring", least=CYLINDER_WALL, below_zero="the bar comes through the wall"
    ),
    ratio_bored=Figure("compression ratio, bored so", "", main=False),
    squish_at_least_bored=Figure(
        "squish at speed, at least, bored so",
        least=SQUISH_AT_SPEED,
        below_zero="the crown would reach the head at that speed",
        left_by="oversize_piston",
        main=False,
    ),
    ring_gap_grows=Figure("gap of the rings fitted now grows by", main=False),
)
def oversize(mapping: Flat, cylinder: str) -> Found:
    """Return which piston on offer to take, and what to bore a cylinder to for it."""
    bore, choice = needed(mapping, cylinder), chosen(mapping)
    if isinstance(bore, Missing):
        return bore
    told: Values = {
        "cleans_up_from": Value(
            bore.surely,
            unsaid=bore.unsaid,
            note="; ".join(filter(None, (NOT_SURE if bore.unsaid else "", bore.taken))),
        ),
        "cannot_clean_below": Value(bore.never, unsaid=bore.unsaid),
    }
    if isinstance(choice, Missing):
        return choice
    boring, reader = Reader(mapping, ("oversize.",)), of_cylinder(mapping, cylinder)
    place, _, why = choice
    piston = boring.number(f"piston.{place}.diameter")
    finished = piston + boring.number("clearance")
    hone = boring.find("hone")
    told["oversize_piston"] = Value(piston, note="; ".join(one for one in (why, MEASURE_FIRST) if one))
    told["oversize_bore"] = Value(finished)
    if hone is not None:
        told["bore_to"] = Value(
            finished - hone, note="manuals leave 0.01 to 0.03 mm, a coarse hone takes 0.08 mm"
        )
    told["bore_removes"] = Value(finished - bore.bore.tightest)
    told["bore_removes_least"] = Value(finished - bore.bore.loosest)
    told["cleans_up_by"] = Value(finished - bore.surely, note=_stands(finished, bore), unsaid=bore.unsaid)
    aside = np.maximum(bore.bore.read.loosest - bore.new, 0.0)
    outer = reader.find("liner.outer_diameter")
    outer = reader.find("spigot.outer_diameter") if outer is None else outer
    if outer is not None:
        note = "at its thinnest, with the bar as far aside as the wear"
        told["wall_after"] = Value((outer - finished) / 2 - aside, note=note, unsaid=bore.unsaid)
    anew = frozen(mapping).with_(
        {f"{cylinder}.stack.bore": finished, f"{cylinder}.piston.skirt_clearance": boring.number("clearance")}
    )
    for key, group, of in (
        ("ratio_bored", compression, "compression_ratio"),
        ("squish_at_least_bored", squish_at_least, "squish_at_least"),
    ):
        there = group(anew, cylinder)
        if not isinstance(there, Missing):
            told[key] = there[of]._replace(note="with this bore, and the clearance that is wanted in it")
    across = (bore.bore.tightest + bore.bore.loosest) / 2
    told["ring_gap_grows"] = Value(np.pi * (finished - across), note="0.003 in for each 0.001 in of bore")
    return told


def _stands(finished: Array, bore: Needed) -> str:
    """Return in words whether a finished size cleans up, of one engine."""
    if np.ndim(finished) or np.ndim(bore.never) or np.ndim(bore.surely):
        return ""
    if finished < bore.never:
        return CANNOT
    if finished < bore.surely:
        return DEPENDS
    return NOT_SURE if bore.unsaid else ""
