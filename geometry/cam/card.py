"""What a timing card states of a lobe: durations, lifts at an angle, and which of its numbers contradict each other.

    lift          peak
              ╭────┴────╮              nose: need not be at the centreline where the flanks differ
     lift 2  ●┄┄┄┄┄┄┄┄┄┄┄●             ●: durations
            ╱             ╲
     lift 1●┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄┄●          ○: a lift at an angle
     ─────╯        │        ╰────
              centreline, halved at a lift

What a lobe with these numbers is like, and whether there is one, is worked out in `shape`.

Of two durations at nearly one lift one counts, and of several that may be on a ramp the highest: half a degree
between two check lifts that hardly differ would decide the flank.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.errors import GeometryError
from .lobe import CENTRE_LIFT_MM

INCH = 25.4
RAMP_MM, RAMP_FADES_MM = 0.014 * INCH, 0.004 * INCH  # below this, or so, a duration may be read on a ramp
LEAST_ANGLE = np.radians(0.1)  # cam, the least doubt of where a lift was read
FOOT_OF_LOBE_MM = 0.004 * INCH  # a lift read below this tells nothing
NOSE = 0.97  # of the peak, above which a lift tells nothing of its angle
ALIKE = 0.2  # of the higher of two check lifts: durations nearer to each other are one
LONGEST = np.radians(360)  # of crank, above any check lift
UNLIKE_ANGLE = np.radians(
    2.0
)  # cam, by which one flank may stand off the other away from where the middle is halved


class CardError(GeometryError):
    """Numbers of a card that cannot be those of one lobe."""

    def __init__(self, message: str, *numbers: Stated | AtAngle) -> None:
        super().__init__(message)
        self.numbers = numbers


class Stated(NamedTuple):
    """How long a card says the lobe lifts past a check lift, about its centreline."""

    lift: float  # mm
    duration: float  # CRANK rad


class AtAngle(NamedTuple):
    """A lift at one angle."""

    lift: float  # mm
    angle: float  # CAM rad after the centreline, negative before it
    lift_doubt: float = 0.0  # mm, standard uncertainty
    angle_doubt: float = 0.0  # cam rad, standard uncertainty

    @property
    def opening(self) -> bool:
        """Whether it is on the opening flank."""
        return self.angle < 0


class Card(NamedTuple):
    """What a card states of a lobe, lifts at the lifter."""

    peak: float  # mm
    durations: tuple[Stated, ...]
    lifts: tuple[AtAngle, ...] = ()
    halved: float | None = CENTRE_LIFT_MM  # mm, where the centreline is halved; None: it is the nose
    hydraulic: bool = False  # the lifter: its lobe has no clearance ramp


class Left(NamedTuple):
    """Numbers of a card that the lobe is not worked out from."""

    alike: tuple[tuple[Stated, Stated], ...] = ()  # left, and the one in whose place it stands
    on_ramp: tuple[Stated, ...] = ()  # below another one that may itself be on a ramp
    in_foot: tuple[AtAngle, ...] = ()
    on_nose: tuple[AtAngle, ...] = ()


def used(card: Card) -> tuple[Card, Left]:
    """Return a card without the numbers that would say nothing, or too much, and those numbers.

    Of durations at nearly one lift the one nearest to where the centreline is halved counts, of several that may be on a ramp the
    highest. A lift in the foot or on the nose tells nothing.
    """
    asked = CENTRE_LIFT_MM if card.halved is None else card.halved
    kept: list[Stated] = []
    alike = []
    for one in sorted(card.durations, key=lambda one: (abs(one.lift - asked), one)):
        near = next((k for k in kept if abs(k.lift - one.lift) < ALIKE * max(k.lift, one.lift)), None)
        if near is None:
            kept.append(one)
        else:
            alike.append((one, near))
    low = sorted((one for one in kept if one.lift < RAMP_MM), reverse=True)
    on_ramp = tuple(low[1:])
    lifts, foot, nose = [], [], []
    for reading in card.lifts:
        if reading.lift < max(FOOT_OF_LOBE_MM, 2 * reading.lift_doubt):
            foot.append(reading)
        elif reading.lift > NOSE * card.peak:
            nose.append(reading)
        else:
            lifts.append(reading)
    # The highest lift first, as their labels stand.
    durations = tuple(sorted((one for one in kept if one not in on_ramp), reverse=True))
    left = Left(tuple(alike), on_ramp, tuple(foot), tuple(nose))
    return card._replace(durations=durations, lifts=tuple(lifts)), left


def impossible(card: Card) -> CardError | None:
    """Return which numbers of a card contradict each other by their order alone, in words, or None."""
    rows = sorted(card.durations)
    for row in rows:
        wrong = _no_duration(row, card.peak)
        if wrong:
            return CardError(wrong, row)
    for low, high in zip(rows, rows[1:], strict=False):
        if high.lift == low.lift and high.duration != low.duration:
            said = (
                f"durations {degrees_words(low)} and {degrees_words(high)} are both stated at {low.lift:g} mm"
            )
            return CardError(said, low, high)
        if high.lift > low.lift and high.duration >= low.duration:
            said = (
                f"duration {degrees_words(high)} at {high.lift:g} mm is not shorter than {degrees_words(low)} at "
                f"{low.lift:g} mm; a lobe is narrower the higher it is looked at"
            )
            return CardError(said, high, low)
    return next((found for one in card.lifts if (found := _misplaced(card, one)) is not None), None)


def _no_duration(row: Stated, peak: float) -> str:
    """Return why a duration cannot be, or nothing."""
    if not 0 < row.lift < peak:
        limit = "not above zero" if row.lift <= 0 else f"not below the peak lift of {peak:g} mm"
        return f"check lift {row.lift:g} mm is {limit}; one of the two is wrong"
    if row.duration <= 0:
        return f"at {row.lift:g} mm the lobe closes {-_degrees_of(row):g} degrees before it opens; exchange or correct the two events"
    if row.duration >= LONGEST * 2:
        return f"duration {degrees_words(row)} at {row.lift:g} mm is longer than the 720 degrees of a whole cycle"
    if row.duration > LONGEST:
        return (
            f"duration {degrees_words(row)} at {row.lift:g} mm leaves no heel, at most 360 degrees of crank do; "
            "are these degrees counted twice?"
        )
    return ""


def _misplaced(card: Card, one: AtAngle) -> CardError | None:
    """Return that a lift at an angle does not lie between the lifts of the durations about it, or None."""
    if not 0 <= one.lift <= card.peak:
        limit = "below zero" if one.lift < 0 else f"above the peak lift of {card.peak:g} mm"
        return CardError(f"a lift of {one.lift:g} mm at an angle is {limit}; one of the two is wrong", one)
    angle, off = abs(one.angle), 2 * max(one.angle_doubt, LEAST_ANGLE)
    for row in card.durations:
        is_halved = card.halved is not None and abs(row.lift - card.halved) < ALIKE * row.lift
        slack = off + (0.0 if is_halved else UNLIKE_ANGLE)
        outside, inside = angle - slack > row.duration / 4, angle + slack < row.duration / 4
        if (outside and one.lift - 2 * one.lift_doubt > row.lift) or (
            inside and one.lift + 2 * one.lift_doubt < row.lift
        ):
            way = "below" if outside else "above"
            return CardError(
                f"{number_words(one)} cannot go with {number_words(row)}: it is {way} {row.lift:g} mm there; "
                "look at both again",
                one,
                row,
            )
    return None


def number_words(number: Stated | AtAngle) -> str:
    """Return a number of a card in words, its lift in mm at the lifter."""
    if isinstance(number, Stated):
        return f"duration {degrees_words(number)} at {number.lift:g} mm"
    side = "before" if number.opening else "after"
    return f"a lift of {number.lift:g} mm {abs(round(2 * float(np.degrees(number.angle)), 2)):g} degrees {side} the centreline"


def _degrees_of(row: Stated) -> float:
    return round(float(np.degrees(row.duration)), 6)


def degrees_words(row: Stated) -> str:
    """Return how long a duration is, in words."""
    return f"{_degrees_of(row):g} degrees"
