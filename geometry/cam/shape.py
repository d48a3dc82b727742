"""What lobes with the numbers of a timing card are like: the most probable, its doubt, its bounds, draws of it.

    upper ┄┄┄┄┄┄┄┄┄╲                    the most probable lobe read a little nearer the nose, and a foot where a
    lift  ──────────╲┄┄┄┄┄┄╲            clearance ramp may hang below the lowest lift stated
    lower ┄┄┄┄┄┄┄┄┄┄┄╲______╲┄┄┄┄       the same read a little further from it

A card's lobe is a guess with a doubt. What the card leaves open is a part of every clearance's doubt, further one
way than the other, and lobes of two valves add up. Its accelerations are not the lobe's: no speed or force is told
from a card. A term for a top that stands still was tried and is not there: it cannot be told from the others, and
made every interval five times as wide.

Sources: the covariance that `prior` leaves, its scale as that of Student's t with NU degrees of freedom. The bounds
are calibrated, see `tests/geometry/cam/test_prior.py`; draws agree with them within 8 thousandths of an inch of lift.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..core.frames import Array, array
from ..core.mapping import Flat, kept
from ..crank.heels import TURN
from .card import (
    INCH,
    RAMP_MM,
    AtAngle,
    Card,
    CardError,
    Left,
    Stated,
    degrees_words,
    impossible,
    number_words,
    used,
)
from .flank import TERMS, Flank, Flanks, flank, flanks, label_at
from .lobe import Lobe, about
from .prior import PRIOR, Solved, most_probable, moved, pieces_of, ramp_factor, summed, sums

NU = 5.0
FLOOR_MM = 0.0003 * INCH  # a bound's least distance
FOOT_MM = 0.007 * INCH  # a clearance ramp may stand so high below the lowest stated lift
SPAN = np.radians(60)  # cam, along which that fades
LONG_GAP = np.radians(60)  # crank: a seat duration so much longer was read on the ramp
ROUNDING = np.radians(1.0)  # crank, to which two durations of a card may be off together
MET_AGAIN = 8  # rounds in which a drawn lobe comes back to its card, at most
MET = 1e-13  # of a duration's logarithm, that a lobe has come back to it
FAR = 0.3  # most of a duration's logarithm that a round goes back: a lobe drawn far off never runs away
REFUSED, REFUSED_MORE, WARNED, RAMPED = 35.0, 10.0, 9.0, 4.0


class CardShape(NamedTuple):
    """The lobe of a card, see `lobe.Curve`: cam angle 0 is its centreline, the nose where the flanks put it."""

    card: Card  # what it was worked out from
    left: Left
    opening: Flank
    closing: Flank
    nose: float  # cam rad after the centreline
    spread: Array  # (20, 20), what the card leaves open of the terms' mean and half difference, times `scale`
    scale: float  # of the variances
    misfit: float  # chi squared
    rows: int
    back: Array  # (20, durations) of terms, for the durations' logarithms: by which a drawn lobe comes back to them

    def at(self, angle: Array, order: int) -> Array:
        """Return lift, or its first or second derivative, see `Curve`."""
        return _both_sides(self.opening, self.closing, about(array(angle) - self.nose), order)

    def angle_doubt(self, angle: Array) -> Array:
        """Return the standard uncertainty of where the lift at cam angles (...) stands [cam rad]."""
        after = about(array(angle) - self.nose)
        return np.where(after < 0, self._doubt(self.opening, -after), self._doubt(self.closing, after))

    def lift_moves(self, angle: Array) -> Array:
        """Return how the lift at cam angles (...) moves with the numbers of which the shape is drawn, (..., 20) [mm]."""
        after = about(array(angle) - self.nose)
        sides = [
            moved(side.growth(side.label(np.maximum(way * after, 0.0))), self._halves(), way < 0)
            for side, way in ((self.opening, -1), (self.closing, 1))
        ]
        moves = np.where((after < 0)[..., None], *sides)
        found: Array = np.abs(self.at(angle, 1))[..., None] * np.sqrt(self.scale) * (moves @ self.root())
        return found

    def lift_doubt(self, angle: Array) -> Array:
        """Return the standard uncertainty of the lift at cam angles (...), to first order [mm]."""
        found: Array = np.abs(self.at(angle, 1)) * self.angle_doubt(angle)
        return found

    def bounds(self, angle: Array) -> tuple[Array, Array]:
        """Return the least and the greatest lift at cam angles (...), about 95 % [mm], as they were calibrated."""
        after = about(array(angle) - self.nose)
        before = after < 0
        if before.all():
            return self.bounds_of(self.opening, -after)
        falling = self.bounds_of(self.closing, after)
        if not before.any():
            return falling
        rising = self.bounds_of(self.opening, -after)
        return np.where(before, rising[0], falling[0]), np.where(before, rising[1], falling[1])

    def _doubt(self, side: Flank, angle: Array) -> Array:
        """Return the doubt of a flank's angle at angles from the nose."""
        halves = self._halves()
        growth = side.growth(side.label(np.maximum(angle, 0.0)))
        moves = moved(growth, halves, side is self.opening)
        found: Array = np.sqrt(np.maximum(self.scale * (moves @ self.spread * moves).sum(axis=-1), 0.0))
        return found

    def root(self) -> Array:
        """Return the symmetric root of what the card leaves open, whatever sign a library gives its vectors."""
        sizes, ways = np.linalg.eigh(self.spread)
        found: Array = (ways * np.sqrt(np.maximum(sizes, 0.0))) @ ways.T
        return found

    def turned_to(self, normals: Array) -> CardShape:
        """Return it with another of the lobes that have its card's numbers in the middle; normals : (20), see `drawn`."""
        terms = _terms(self, normals[None])[0]
        mean, half = terms[:TERMS], terms[TERMS:]
        sides = flank(self.card.peak, mean + half), flank(self.card.peak, mean - half)
        return self._replace(
            opening=sides[0], closing=sides[1], nose=float(_nose(self.card, mean + half, mean - half))
        )

    def _halves(self) -> tuple[Array, Array]:
        """Return how the angles at which the centreline is halved grow with the terms of either flank."""
        if self.card.halved is None:
            return np.zeros(TERMS), np.zeros(TERMS)
        label = label_at(array(self.card.halved), self.card.peak)
        return self.opening.growth(label), self.closing.growth(label)

    def bounds_of(self, side: Flank, angle: Array) -> tuple[Array, Array]:
        """Return the bounds of one flank at angles from the nose (...) [mm]."""
        angle = np.maximum(angle, 0.0)
        off, lift = 2 * self._doubt(side, angle), side.lift(angle)
        foot = self.foot(side, angle, lift)
        upper = np.maximum(side.lift(np.maximum(angle - off, 0.0)), lift) + FLOOR_MM + foot
        lower = np.minimum(side.lift(angle + off), lift) - FLOOR_MM
        return np.maximum(lower, 0.0), np.minimum(upper, side.peak)

    def lowest(self, side: Flank) -> float:
        """Return the lowest lift stated on a flank [mm]."""
        here = [one.lift for one in self.card.lifts if one.opening == (side is self.opening)]
        return min(*(one.lift for one in self.card.durations), np.inf, *here)

    def foot(self, side: Flank, angle: Array, lift: Array) -> Array:
        """Return by how much the bound stands higher below the lowest lift stated on a flank [mm]."""
        height = 0.0 if self.card.hydraulic else FOOT_MM
        low = self.lowest(side)
        begins = self.begins(side)
        q = np.clip((angle - begins) / SPAN, 0.0, 1.0)
        foot: Array = min(height, low) * (1 - np.minimum(lift / low, 1.0)) ** 2 * (1 - q**2) ** 2
        return foot

    def begins(self, side: Flank) -> float:
        """Return the angle from the nose of the lowest lift stated on a flank [cam rad]."""
        return reached(side, self.lowest(side))

    def expected(self, lift: float) -> tuple[float, float, float]:
        """Return the duration at a lift, and the least and greatest of lobes with this card [CRANK rad]."""
        label = label_at(array(lift), self.card.peak)
        spans = [sums(one.terms, array([0.0, float(label)])) for one in (self.opening, self.closing)]
        growth = [one[1][0] for one in spans]
        mean = float(spans[0][0][0] + spans[1][0][0]) / 2
        moves = np.concatenate([growth[0] + growth[1], growth[0] - growth[1]]) / 2
        off = 2 * np.sqrt(max(self.scale * float(moves @ self.spread @ moves), 0.0)) / mean
        return 4 * mean, 4 * mean * float(np.exp(-off)), 4 * mean * float(np.exp(off))


class Bound(NamedTuple):
    """The least or the greatest lift that a lobe of a card may have, see `lobe.Curve`; it has no derivatives.

    Outside the lowest stated lift the upper one is its least so far outward: a foot does not rise again.
    """

    shape: CardShape
    upper: bool
    outward: tuple[
        tuple[Array, Array], tuple[Array, Array]
    ]  # of either flank: angles from the nose, least so far

    def at(self, angle: Array, order: int) -> Array:
        """Return the bound at cam angles (...) [mm].

        Raises:
            ValueError: where a derivative is asked for.
        """
        if order:
            message = "a bound of a lobe has no slope of its own"
            raise ValueError(message)
        least, most = self.shape.bounds(angle)
        if not self.upper:
            return least
        after = about(array(angle) - self.shape.nose)
        for (grid, lowest), away in zip(self.outward, (-after, after), strict=True):
            index = np.searchsorted(grid, away, side="right") - 1
            most = np.where(index < 0, most, np.minimum(most, lowest[np.maximum(index, 0)]))
        return most


def bounded(shape: CardShape) -> tuple[Lobe, Lobe]:
    """Return the lobes of the least and of the greatest lift."""
    outward = []
    for side in (shape.opening, shape.closing):
        grid = shape.begins(side) + np.radians(0.25) * np.arange(720)
        grid = grid[grid < TURN / 2]
        outward.append((grid, np.minimum.accumulate(shape.bounds_of(side, grid)[1])))
    both = (outward[0], outward[1])
    return Lobe(Bound(shape, False, both)), Lobe(Bound(shape, True, both))


def reached(side: Flank, lift: float) -> float:
    """Return the angle from the nose at which a flank stands at a lift in mm [cam rad]."""
    label = label_at(array(lift), side.peak)
    return float(sums(side.terms, array([0.0, float(label)]))[0][0])


def _both_sides(opening: Flank | Flanks, closing: Flank | Flanks, after: Array, order: int) -> Array:
    """Return the lift of two flanks at cam angles after their nose, or a derivative; a flank that is not met is not asked."""
    before = after < 0
    falling = None if before.all() else closing.lift(after, order)
    if falling is not None and not before.any():
        return falling
    rising = opening.lift(-after, order)
    rising = -rising if order == 1 else rising
    return rising if falling is None else np.where(before, rising, falling)


def _shape(card: Card, left: Left, solved: Solved) -> CardShape:
    misfit, rows = solved.misfit, len(solved.rests)
    scale = (NU + misfit) / (NU + rows) * ramp_factor(card, solved.angle_doubts)
    mean, half = solved.terms[:TERMS], solved.terms[TERMS:]
    sides = [flank(card.peak, mean + half), flank(card.peak, mean - half)]
    nose = float(_nose(card, mean + half, mean - half)) if card.lifts else 0.0
    lasts = solved.rows[: len(card.durations)]
    back = PRIOR @ lasts.T @ np.linalg.inv(lasts @ PRIOR @ lasts.T)
    return CardShape(card, left, sides[0], sides[1], nose, solved.spread, scale, misfit, rows, back)


def card_shape(card: Card, mapping: Flat | None = None) -> CardShape:
    """Return what a card tells of its lobe, which checks, valves and doubts all ask for.

    mapping : the engine that it is of, which keeps it; a card that cannot be raises `CardError`, see there
    """
    return kept(mapping, card, lambda: _card_shape(card))


def turned_to(shape: CardShape, normals: tuple[float, ...], mapping: Flat) -> CardShape:
    """Return a card's shape with another of its lobes in the middle, see there; mapping : the engine, which keeps it."""
    return kept(mapping, ("turned", shape.card, shape.left, normals), lambda: shape.turned_to(array(normals)))


def _card_shape(card: Card) -> CardShape:
    """Return what a card tells of its lobe.

    Raises:
        CardError: where its numbers cannot be those of one lobe, in words.
    """
    said = impossible(card)
    if said is not None:
        raise said
    if not card.durations:
        message = "a card needs at least one duration beside its peak lift"
        raise CardError(message)
    counted, left = used(card)
    found = most_probable(counted)
    further = max(len(found.rests) - 2, 0)
    if not found.converged or found.misfit > REFUSED + REFUSED_MORE * further:
        wrong = odd(counted, found.misfit if found.converged else np.inf)
        raise CardError(odd_words(wrong, "cannot go"), *wrong.numbers)
    shape = _shape(counted, left, found)
    if shape.opening.heel + shape.closing.heel >= TURN:
        low = counted.durations[-1]
        message = f"no lobe lasts {degrees_words(low)} at {low.lift:g} mm, rises to {card.peak:g} mm and has a heel; look at both again"
        raise CardError(message, low)
    return shape


class Odd(NamedTuple):
    """The number of a card that goes least with the others, and what those would have it be."""

    number: Stated | AtAngle
    drop: float  # of the misfit without it
    least: float  # crank rad of a duration, mm of a lift
    most: float
    beside: Stated | AtAngle | None  # the only other one, which may as well be the wrong one

    @property
    def numbers(self) -> tuple[Stated | AtAngle, ...]:
        """What is to be looked at again."""
        return (self.number,) if self.beside is None else (self.number, self.beside)


def odd(card: Card, misfit: float) -> Odd:
    """Return which number of a card goes least with the others; at least one duration is kept.

    card : as `used` leaves it, of two numbers or more beside its peak
    """
    everything: list[Stated | AtAngle] = [*card.durations, *card.lifts]
    removable = everything[1:] if len(card.durations) == 1 else everything
    if len(everything) == 2:
        removable = everything[1:]  # either may be wrong: both are named
    rest = [_without(card, one) for one in removable]
    left, number, shape = min(rest, key=lambda found: found[0])
    numbers = [one for one in everything if one != number]
    least, most = np.nan, np.nan
    if shape is not None and isinstance(number, Stated):
        _, least, most = shape.expected(number.lift)
    elif shape is not None and isinstance(number, AtAngle):
        least, most = (float(one) for one in shape.bounds(array(number.angle)))
    return Odd(number, misfit - left, least, most, numbers[0] if len(numbers) == 1 else None)


def _without(card: Card, number: Stated | AtAngle) -> tuple[float, Stated | AtAngle, CardShape | None]:
    card = card._replace(
        durations=tuple(one for one in card.durations if one != number),
        lifts=tuple(one for one in card.lifts if one != number),
    )
    found = most_probable(card)
    if not found.converged:
        return np.inf, number, None
    return found.misfit, number, _shape(card, Left(), found)


def look_again(shape: CardShape) -> Odd | None:
    """Return the number of a card that does not go with the others, or None where all go together."""
    if shape.rows < 2 or shape.misfit <= WARNED:
        return None
    found = odd(shape.card, shape.misfit)
    return found if found.drop > WARNED else None


def odd_words(found: Odd, verb: str = "does not go") -> str:
    """Return in words what is odd about a card's number, lifts in mm at the lifter."""
    number, beside = found.number, found.beside
    others = "the card's other numbers: lobes with those"
    if beside is not None:
        others = f"{number_words(beside)}: lobes with that"
    if not np.isfinite(found.most):
        return f"{number_words(number)} {verb} with {others.partition(':')[0]}; look at both again"
    if isinstance(number, Stated):
        low, high = (round(float(np.degrees(one))) for one in (found.least, found.most))
        told = f"last {low} to {high} degrees there"
    else:
        told = f"lift {found.least:.6g} mm to {found.most:.6g} mm there"
    again = "look at it again" if beside is None else "look at both again"
    return f"{number_words(number)} {verb} with {others} {told}; {again}"


def on_the_ramp(shape: CardShape, lash: float | None = None) -> Stated | None:
    """Return the seat duration of a card that was read on a ramp, or None where nothing says so.

    lash : mm at the lifter, where known
    """
    durations = shape.card.durations
    if len(durations) != 2 or shape.card.lifts or durations[-1].lift >= RAMP_MM:
        return None
    high, seat = durations
    within = lash is not None and lash > 0 and seat.lift < lash + 0.002 * INCH
    long = seat.duration - high.duration > LONG_GAP
    return seat if long or shape.misfit > RAMPED or within else None


def out_of_line(shape: CardShape) -> list[tuple[Stated, float, float]]:
    """Return durations that were left out and that the others do not expect, with what they do expect [crank rad]."""
    found = []
    for one in (*(left for left, _ in shape.left.alike), *shape.left.on_ramp):
        _, least, most = shape.expected(one.lift)
        if not least - ROUNDING <= one.duration <= most + ROUNDING:
            found.append((one, least, most))
    return found


def drawn(shape: CardShape, normals: Array) -> DrawnShape:
    """Return lobes with a card's numbers, drawn from what those leave open, all of one nose.

    normals : (N, 20) standard normal numbers
    """
    terms, card = _terms(shape, normals), shape.card
    mean, half = terms[:, :TERMS], terms[:, TERMS:]
    nose = np.broadcast_to(_nose(card, mean + half, mean - half), len(terms))
    return DrawnShape(flanks(card.peak, mean + half), flanks(card.peak, mean - half), nose)


def _terms(shape: CardShape, normals: Array) -> Array:
    """Return the terms of lobes with a card's numbers, mean and half difference, (N, 20).

    normals : (N, 20), in standard uncertainties from the most probable lobe
    Source: the durations are met again after each draw, by Newton's step.
    """
    terms = (
        np.concatenate([shape.opening.terms + shape.closing.terms, shape.opening.terms - shape.closing.terms])
        / 2
    )
    terms = terms + np.sqrt(shape.scale) * normals @ shape.root()
    table, length, lasts = pieces_of(shape.card)
    for _ in range(MET_AGAIN):
        both = np.stack([terms[:, :TERMS] + terms[:, TERMS:], terms[:, :TERMS] - terms[:, TERMS:]])
        pieces, grown = summed(both, table, length)
        whole = pieces.mean(axis=0)
        by = np.concatenate([grown[0] + grown[1], grown[0] - grown[1]], axis=-1) / 2 / whole[..., None]
        off = np.clip(np.log(lasts / whole), -FAR, FAR)
        if (np.abs(off) < MET).all():
            break
        terms = terms + np.linalg.solve(by @ shape.back, off[..., None])[..., 0] @ shape.back.T
    found: Array = terms
    return found


def _nose(card: Card, opening: Array, closing: Array) -> Array:
    """Return how far after the centreline the nose of flanks with these terms, (..., 10), stands (...) [cam rad]."""
    if card.halved is None:
        return np.zeros(())
    label = array([0.0, float(label_at(array(card.halved), card.peak))])
    until = [sums(one, label)[0][..., 0] for one in (opening, closing)]
    found: Array = (until[0] - until[1]) / 2
    return found


class DrawnShape(NamedTuple):
    """Many lobes of one card, see `lobe.Curve`; the last axis of angles is theirs."""

    opening: Flanks
    closing: Flanks
    nose: Array  # (N,) cam rad after the centreline

    def pick(self, index: NDArray[np.intp]) -> DrawnShape:
        """Return some of them."""
        return DrawnShape(self.opening.pick(index), self.closing.pick(index), self.nose[index])

    def at(self, angle: Array, order: int) -> Array:
        """Return lifts, or their first or second derivatives, see `Curve`."""
        return _both_sides(self.opening, self.closing, about(array(angle) - self.nose), order)
