"""What stands where it hardly can: a crown in its cylinder, a pocket in the bore, a rocker on its stem; never a fault.

Each is worked out by `geometry` as it would be for an answer, and only where everything it needs is entered.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from tallstack.cli.jobfile.checks import in_both_units
from tallstack.cli.jobfile.contents import Entries
from tallstack.cli.jobfile.unusual_clearances import own
from tallstack.geometry.mapping import Flat, Reader, names

MOST_BELOW_MM = 15.0  # of a crown below its cylinder's top, at top centre
PAST_MM = 1.0  # of a pocket's rim beyond the bore's wall
TURNS = np.linspace(0.0, 2 * np.pi, 2881)
OF_CROWN = "crank.stroke, crank.conrod_length, piston.compression_height and the entries of [stack]"


def of_places(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for everything that stands where it hardly can."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):  # entries at fault are looked at too
        for cylinder in names(mapping, "cylinders"):
            yield from _of_crown(entries, mapping, cylinder)
        for train in names(mapping, "trains"):
            if own(entries, f"{train}.pocket."):
                yield from _of_rim(mapping, train)
            if own(entries, f"{train}.rocker.", f"{train}.valve."):
                yield from _of_contact(mapping, train)


def _of_crown(entries: Entries, mapping: Flat, cylinder: str) -> Iterator[str]:
    """Yield that a crown comes out of its cylinder too far for its gasket, or stays far down in it."""
    has_own = own(entries, f"{cylinder}.stack.", f"{cylinder}.piston.")
    if cylinder != names(mapping, "cylinders")[0] and not has_own:
        return
    under = Reader(mapping, (f"{cylinder}.", ""))
    if any(
        under.find(entry) is None for entry in ("stack.cylinder", "crank.stroke", "piston.compression_height")
    ):
        return
    from tallstack.geometry.fits.part import Lacking
    from tallstack.geometry.fits.volume import squish

    found = squish(mapping, cylinder)
    if isinstance(found, Lacking):
        return
    below, left = float(found["deck"].value), float(found["squish"].value)
    who = f"{cylinder}'s crown" if has_own else "the crown"
    if left < 0:
        yield (
            f"at top centre {who} stands {in_both_units(-below)} out of its cylinder, further than the head gasket's "
            f"{in_both_units(left - below)}: it would meet a flat head; look at {OF_CROWN}"
        )
    elif below > MOST_BELOW_MM:
        yield (
            f"at top centre {who} stands {in_both_units(below)} below its cylinder's top; most stand within a "
            f"millimetre or two of it: look at {OF_CROWN}"
        )


def _of_rim(mapping: Flat, train: str) -> Iterator[str]:
    """Yield that a pocket's rim, an ellipse on the crown where the cutter leans, runs past the bore's wall."""
    gear = Reader(mapping, (f"{train}.",))
    bore = Reader(mapping, (f"{train.rpartition('.')[0]}.", "")).find("stack.bore")
    where = "centre" if gear.has("pocket.centre.x") else "deepest"
    needs = ("diameter", "depth", "lean.x", "lean.y", f"{where}.x", f"{where}.y")
    if bore is None or any(gear.find(f"pocket.{one}") is None for one in needs):
        return
    from tallstack.geometry.alternatives import pocket_centre
    from tallstack.geometry.crown import Crown, pocket
    from tallstack.geometry.crown_edges import edges

    across, depth = gear.number("pocket.diameter"), gear.number("pocket.depth")
    crown = Crown((pocket(pocket_centre(gear), gear.lean("pocket.lean"), across, depth),), None)
    seen = np.concatenate([edge(crown, TURNS) for edge in edges(crown)])
    past = float(
        np.max(np.hypot(seen[:, 0], seen[:, 1]), initial=0.0, where=np.isfinite(seen[:, 0])) - bore / 2
    )
    if past > PAST_MM:
        yield (
            f"{train}'s pocket runs {in_both_units(past)} past the bore's wall: look at pocket.{where}, pocket.lean and "
            "pocket.diameter"
        )


def _of_contact(mapping: Flat, train: str) -> Iterator[str]:
    """Yield that a rocker stands beside its stem's tip while the valve is closed."""
    stem = Reader(mapping, (f"{train}.",)).find("valve.stem_diameter")
    if stem is None:
        return
    from tallstack.geometry.engine import train_of
    from tallstack.geometry.errors import GeometryError
    from tallstack.geometry.train import closed

    try:
        drawn = train_of(mapping, train).drawn
    except GeometryError:  # told as a fault
        return
    off = np.nan if drawn is None else float(closed(drawn).across)
    if abs(off) > stem / 2:
        way = "away from" if off > 0 else "towards"
        yield (
            f"with the valve closed {train}'s rocker bears {in_both_units(abs(off))} off the centre of the stem's tip, "
            f"{way} the shaft, and the stem's radius is {in_both_units(stem / 2)}: it misses the tip; look at "
            "rocker.shaft, rocker.valve_arm and where the valve stands"
        )
