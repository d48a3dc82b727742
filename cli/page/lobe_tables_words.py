"""What a lobe's table tells against itself, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ..job.entries.fields import INCH
from .wording import length

if TYPE_CHECKING:
    from tallstack.geometry.cam.fit import Fit
    from tallstack.geometry.cam.follower import Carried


SMALL_MM, SMALL_IN = 3, 4  # decimals where tenths of a thousandth count


def two_rests(fitted: Fit, units: str) -> str:
    """Return in words that a table rests at two levels."""
    return (
        f"one of its two rests stands {small(fitted.higher, units)} above the other, and a lobe has one heel; the lower "
        "one is taken as zero: did the dial slip, did the lifter bleed down? Read it again"
    )


def carried_over(under: Carried, units: str) -> list[tuple[str, bool]]:
    """Return what a lobe carried over to another follower tells against itself, in words, and whether it is wrong."""
    told = []
    if under.impossible:
        told.append(
            (
                "no tip of this radius can have made this reading: check the tip's radius, cam or crank degrees",
                True,
            )
        )
    if under.hollow is not None:
        told.append(
            (
                f"no grinding wheel gets into a hollow of {length(under.hollow, units)}: are these cam or crank degrees, is "
                "the base radius right?",
                True,
            )
        )
    if under.folds:
        at = ", ".join(f"{math.degrees(one):.1f}" for one in under.folds)
        told.append(
            (
                f"the engine's follower bridges a hollow: at {at} deg of the cam it rests on two places",
                False,
            )
        )
    return told


def by_other_degrees(open_for: float, crank: bool) -> str:
    """Return in words what a table counted in the other's degrees would make of the duration, given in crank rad."""
    whose, other, factor = ("crank", "cam", 2.0) if crank else ("cam", "crank", 0.5)
    shown = math.degrees(open_for)
    return f"counted as {whose} degrees it is open for {shown:.0f} deg of crank; as {other} degrees, {factor * shown:.0f}"


def degree_words(value: float) -> str:
    """Return an angle [deg] with two decimals."""
    return f"{round(value, 2) + 0.0:.2f}"


def lift_words(value: float, units: str) -> str:
    """Return a lift [mm] in both units."""
    inch, mm = f"{value / INCH:.3f} in", f"{value:.2f} mm"
    return f"{inch} ({mm})" if units == "in" else f"{mm} ({inch})"


def small(value: float, units: str) -> str:
    """Return a length [mm] in both units where tenths of a thousandth count."""
    inch, mm = f"{value / INCH + 0.0:.{SMALL_IN}f} in", f"{value + 0.0:.{SMALL_MM}f} mm"
    return f"{inch} ({mm})" if units == "in" else f"{mm} ({inch})"
