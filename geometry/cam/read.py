"""What a lobe was read with, what rides on it in the engine, and its lift as the engine has it.

Entries: `read_with`, `read_offset`, `base_radius` and `ground_for` of the lobe; `follower`, `follower_offset` and
`foot_width` of the lifter. A table that says nothing was read through the engine's own follower, and its lift is
the engine's.

What rode on a lobe is part of its reading. Readings are fitted first, by the program's own smoothing, and the curve
is carried over (`follower`); never the readings one by one, which fold at every jitter. A flat foot's reading, and
a larger roller's, is refused for a roller, since what lies under its bridge is not in it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array
from ..core.mapping import Flat, Reader, kept
from .fit import Fit
from .follower import Carried, Follower, beside, carried
from .lobe import GRID, Lobe, Pieces, Series

OWN = "the engine's own follower"
FLAT = "flat"
ROUND = ("tip", "roller")
TO_ENGINE = (
    "read_with",
    "read_with.tip",
    "read_with.roller",
    "read_offset",
    "base_radius",
)  # of a lobe: what shapes its lift under another follower
OF_LIFTER = ("follower", "follower.roller", "follower_offset")


class Riding(NamedTuple):
    """The two followers of one lobe."""

    base: float  # mm, radius of the heel
    read: Follower
    run: Follower
    ground_flat: bool  # no flank of it is hollow
    foot: float | None  # mm, width of the engine's flat foot


def shapes(path: str, lobe: str, train: str) -> bool:
    """Say whether an entry makes a lobe's lift another one under the engine's follower."""
    return path in {
        *(f"lobe.{lobe}.{one}" for one in TO_ENGINE),
        *(f"{train}.lifter.{one}" for one in OF_LIFTER),
    }


def is_read_otherwise(job: Reader, lobe: str) -> bool:
    """Say whether a lobe was read with something else than the engine's own follower."""
    return job.word(f"lobe.{lobe}.read_with") == FLAT or any(
        job.find(f"lobe.{lobe}.read_with.{one}") is not None for one in ROUND
    )


def riding(job: Reader, train: str, lobe: str) -> Riding | tuple[str, ...] | None:
    """Return the two followers of a lobe and its valve gear, or the entries they lack; None where there is one."""
    if not is_read_otherwise(job, lobe):
        return None
    stem, lifter = f"lobe.{lobe}", f"{train}.lifter"
    run = _follower(job, f"{lifter}.follower", f"{lifter}.follower_offset")
    read = _follower(job, f"{stem}.read_with", f"{stem}.read_offset")
    base = job.find(f"{stem}.base_radius")
    if base is None or run is None or read is None:
        lacks = (f"{stem}.base_radius",) if base is None else ()
        return (*lacks, *((f"{lifter}.follower",) if run is None else ()))
    foot = job.find(f"{lifter}.foot_width")
    flat = job.word(f"{stem}.ground_for") == FLAT
    return Riding(float(base), read, run, flat, None if foot is None else float(foot))


def _follower(job: Reader, entry: str, offset: str) -> Follower | None:
    off = job.find(offset)
    aside = 0.0 if off is None else float(off)
    if job.word(entry) == FLAT:
        return Follower(None, aside)
    radius = next((found for one in ROUND if (found := job.find(f"{entry}.{one}")) is not None), None)
    return None if radius is None else Follower(float(radius), aside)


def refusal(one: Riding) -> tuple[str, str] | None:
    """Return why a lobe cannot be carried over between two followers, and what to do; None where it can."""
    if beside(one.base, one.read) or beside(one.base, one.run):
        return "the follower passes beside the cam", "look at its offset"
    if one.ground_flat:
        return None
    if one.read.radius is None and one.run.radius is not None:
        return (
            "a flat foot bridges hollow flanks, and lobes for rollers often have them; what lies under the bridge "
            "cannot be known from these readings",
            "read it again with the roller, or with a ball tip smaller than it",
        )
    if one.read.radius is not None and one.run.radius is not None and one.read.radius > one.run.radius:
        return (
            "a larger follower bridges hollows that the engine's dips into",
            "read it with a tip no larger than the engine's follower",
        )
    return None


def under_the_engine(fitted: Fit, one: Riding, mapping: Flat | None = None) -> Carried:
    """Return the lobe that the engine's follower sees where another one read it; mapping : of the engine, which keeps it.

    Raises:
        GeometryError: in words, where these readings do not tell it.
    """
    why = refusal(one)
    if why is not None:
        message = "; ".join(why)
        raise GeometryError(message)
    curve = fitted.lobe.curve
    assert isinstance(curve, Series)
    key = (curve.mean, curve.cosines.tobytes(), curve.sines.tobytes(), one.base, one.read, one.run)
    found = kept(mapping, key, lambda: carried(curve, one.base, one.read, one.run))
    if one.run.radius is None and one.foot is not None:
        wanders = float(np.abs(found.lobe.velocity(GRID) - one.run.offset).max())
        if one.foot / 2 < wanders:
            message = (
                f"the foot is too narrow: contact runs off its edge, {wanders:.2f} mm off its middle, and it is "
                f"{one.foot:.2f} mm wide"
            )
            raise GeometryError(message)
    return found


def lobe_as_run(
    fitted: Fit, found: Riding | None, mapping: Flat | None = None
) -> tuple[Lobe, Carried | None]:
    """Return a lobe as the engine's follower has it, and what was carried over to it; mapping : as above."""
    if found is None:
        curve = fitted.lobe.curve
        return Lobe(Pieces.of(curve)) if isinstance(curve, Series) else fitted.lobe, None
    under = under_the_engine(fitted, found, mapping)
    return under.lobe, under


def carried_doubt(fitted: Fit, under: Carried | None, angle: Array) -> Array:
    """Return the standard uncertainty of a lobe's lift at cam angles (n), from the noise of its readings [mm]."""
    if under is None:
        return fitted.lift_doubt(angle)
    read_at, factor = under.doubt_at(angle)
    return factor * fitted.lift_doubt(read_at)
