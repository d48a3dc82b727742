"""The least value of a clearance near where one engine has it, for many builds of that engine at once.

Where a clearance is least on a curve of the head or the crown, the turn along it is known for the engine as entered;
a build that is a little off has its least near that turn and that crank angle. Nine places about it make a paraboloid,
nine closer ones about its lowest point another. Where the least lies at a jump (a rim over a pocket's edge) the jump is
closed in on by halving, at a few crank angles. A build whose values do neither (a kink, a least too far off) is not
told here.

Source: least squares on a three by three grid; Newton's step on the fitted paraboloid.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.search import COARSE, SPACING, TURNS, Curve, Flags, P

ANGLE = float(np.radians(2.0))  # of the crank, from place to place of the first look
TURN = float(np.radians(6.0))  # along the curve
CLOSER = 0.25  # size of the second look
FAR = 1.4  # steps from the middle of a look, beyond which its paraboloid is not believed
OFF_MM = 1e-3  # by which the least may lie below the lowest place of the last look
LEVEL = 1e-9  # mm, a bend that is none
MOST_SEEDS = 8  # more are the places of a level stretch, which has its least anywhere
APART = 3 * SPACING  # turns closer than this lead to one least
JUMP_MM, JUMP = (
    0.5,
    6.0,
)  # a rise to the next turn that is a jump: at least so much, and times that on the other side
REACH = float(np.radians(9.0))  # of a turn, within which a jump is looked for
HALVINGS = 14
ABOUT: Array = array(np.arange(-2, 3))  # places along one line

SIDES: Array = array([-1.0, 0.0, 1.0])
_GRID = np.array([(u, v) for u in SIDES for v in SIDES])
U, V = _GRID.T

PoseAt = Callable[[Array], P]  # crank angles from where builds are looked for, (S, N) or (S, 1), to poses


class Seed(NamedTuple, Generic[P]):
    """A curve and the turn about which its least is looked for."""

    curve: Curve[P]
    turn: float
    way: float = 0.0  # 1 or -1: the least lies at a jump, upwards in that direction


class Told(NamedTuple):
    """A value of every build and whether it is told."""

    value: Array  # (N,) mm; infinite: nothing there
    sure: Flags  # (N,)
    bound: Array  # (N,) mm, below which it is not, told or not
    across: Array  # (N,) steps of ANGLE from where it was looked for
    lowest: Array  # (N,) mm, the least that was seen


def seeds(
    curves: Sequence[Curve[P]],
    pose: P,
    margin: float,
    known: Callable[[P, Array, Array], Flags] | None = None,
) -> list[Seed[P]] | None:
    """Return where the least may lie on curves, at poses of one engine; None where that is not plain to see.

    margin : mm, how far above the least a local minimum may become the least of a build
    known  : poses, turns and values to which of those places need not be looked at: they have a closed form
    """
    count = int(np.prod(pose.shape))
    rows = [
        np.broadcast_to(curve.value(pose.spread(), TURNS), (*pose.shape, COARSE)).reshape(count, COARSE)
        for curve in curves
    ]
    least = min(float(row.min()) for row in rows)
    found: list[Seed[P]] = []
    for curve, row in zip(curves, rows, strict=True):
        before, after = np.roll(row, 1, axis=-1), np.roll(row, -1, axis=-1)
        low = (row <= before) & (row <= after) & (row <= least + margin)
        if known is not None:
            low &= ~known(pose, TURNS, row.reshape(*pose.shape, COARSE)).reshape(count, COARSE)
        for at in zip(*np.nonzero(low), strict=True):
            way = _jumps(float(before[at] - row[at]), float(after[at] - row[at]))
            if way is None:
                return None
            one = Seed(curve, float(TURNS[at[1]] + way * SPACING / 2), way)
            if all(
                _between(one.turn, other.turn) > APART or one.way != other.way
                for other in found
                if other.curve is curve
            ):
                found.append(one)
    return found if len(found) <= MOST_SEEDS else None


def _jumps(before: float, after: float) -> float | None:
    """Return in which direction a value jumps from a low place, 0 where in neither; None: in both.

    before, after : mm, by how much more it is at the turns beside it
    """
    low, high = sorted((before, after))
    if not np.isfinite(low):
        return None
    if high < max(JUMP_MM, JUMP * low):
        return 0.0
    return 1.0 if after > before else -1.0


def _between(one: float, other: float) -> float:
    return abs((one - other + np.pi) % (2 * np.pi) - np.pi)


def first_look(seeds: Sequence[Seed[P]], pose_at: PoseAt[P], away: Array) -> P | None:
    """Return the poses at which curves are looked at first, (3, 1, N): the builds last, which is the quickest."""
    smooth = any(not one.way for one in seeds)
    return pose_at(away + ANGLE * SIDES[:, None, None]) if smooth else None


class _Look(NamedTuple):
    """What nine places about a turn and a crank angle of every build tell."""

    angle: Array  # (N,) rad, of the lowest point of their paraboloid
    turn: Array  # (N,) rad
    lowest: Array  # (N,) mm, the least that was seen
    least: Array  # (N,) mm, that or the paraboloid's
    off: Array  # (N,) mm, how far the one is from the other; infinite where nothing is seen
    near: Flags  # (N,) whether the paraboloid is believed

    @property
    def below(self) -> Array:
        """What it is not below where the paraboloid is not believed, (N,) [mm]."""
        known = np.isfinite(self.off)
        return np.where(known, self.least - np.where(known, self.off, 0.0) - OFF_MM, -np.inf)

    @property
    def told(self) -> Told:
        """What it tells of every build."""
        sure = self.near & (self.off < OFF_MM)
        value = np.where(sure, self.least, self.lowest)
        return Told(value, sure, np.where(sure, self.least, self.below), self.angle / ANGLE, self.lowest)


def followed(
    seeds: Sequence[Seed[P]], pose_at: PoseAt[P], first: P | None, builds: int, away: Array
) -> list[Told]:
    """Return the least of every build on each curve, about its turn and the crank angle that it is looked for at.

    first : poses of the first look, as at `first_look`; None where every curve's least lies at a jump
    away  : (N,) or () rad, from where the builds are looked for

    What cannot become the least of any build is not looked at again.
    """
    looks = {
        place: _look(one, first, builds, away, array(one.turn), 1.0)
        for place, one in enumerate(seeds)
        if first is not None and not one.way
    }
    found = []
    most = np.minimum.reduce([look.lowest for look in looks.values()]) if looks else np.full(builds, np.inf)
    for place, one in enumerate(seeds):
        look = looks.get(place)
        if look is None:
            found.append(_at_a_jump(one, pose_at, builds, away))
            continue
        if (look.below > most).all():
            found.append(look.told._replace(sure=np.zeros(builds, dtype=bool), bound=look.below))
            continue
        closer = pose_at(look.angle + CLOSER * ANGLE * SIDES[:, None, None])
        found.append(_look(one, closer, builds, look.angle, look.turn, CLOSER).told)
    return found


def _look(seed: Seed[P], pose: P, builds: int, angle: Array, turn: Array, size: float) -> _Look:
    """Return what nine places tell; pose : at the three crank angles, the builds last, which is the quickest."""
    seen = seed.curve.value(pose, turn + size * TURN * SIDES[:, None])
    seen = np.broadcast_to(seen, (3, 3, builds)).reshape(9, builds)
    bowl = _bowl(seen)
    lowest = seen.min(axis=0)
    there = np.isfinite(bowl.value)
    off = np.where(there, np.abs(np.where(there, lowest, 0.0) - np.where(there, bowl.value, 0.0)), np.inf)
    return _Look(
        angle + size * ANGLE * bowl.across,
        turn + size * TURN * bowl.along,
        lowest,
        np.minimum(bowl.value, lowest),
        off,
        bowl.sure,
    )


def _at_a_jump(seed: Seed[P], pose_at: PoseAt[P], builds: int, away: Array) -> Told:
    """Return the least of every build at a jump of a curve."""
    pose = pose_at(away + ANGLE * ABOUT[:, None])
    shape = (len(ABOUT), builds)

    def value(turns: Array) -> Array:
        return np.broadcast_to(seed.curve.value(pose, turns), shape)

    inside, outside = (np.full(shape, seed.turn + side * seed.way * REACH) for side in (-1.0, 1.0))
    seen, beyond = value(inside), value(outside)
    start = seen
    with np.errstate(invalid="ignore"):
        limit = np.where(np.isfinite(beyond), (seen + beyond) / 2, np.inf)
        sound = np.isfinite(seen) & (beyond - seen > JUMP_MM / 2)
        for _ in range(HALVINGS):
            middle = (inside + outside) / 2
            found = value(middle)
            within = found < limit
            inside, outside = np.where(within, middle, inside), np.where(within, outside, middle)
            seen = np.where(within, found, seen)
        sound &= seen <= start + OFF_MM
    least = lowest(np.where(np.isfinite(seen), seen, np.inf))
    sure = least.sure & sound.all(axis=0)
    return least._replace(
        sure=sure, bound=np.where(sure, least.value, -np.inf), across=away / ANGLE + least.across
    )


class _Bowl(NamedTuple):
    """The paraboloid through nine places, in steps of them."""

    value: Array
    across: Array
    along: Array
    sure: Flags


def _bowl(seen: Array) -> _Bowl:
    """Return the lowest point of the paraboloid nearest to values on the grid, (9, N)."""
    with np.errstate(invalid="ignore", divide="ignore"):
        whole, across, along = seen.sum(axis=0), (U * seen.T).sum(axis=1) / 6, (V * seen.T).sum(axis=1) / 6
        square_u, square_v = (U * U * seen.T).sum(axis=1), (V * V * seen.T).sum(axis=1)
        bend_u, bend_v = square_u - whole / 1.5, square_v - whole / 1.5  # twice the coefficients
        twist = (U * V * seen.T).sum(axis=1) / 4
        middle = (5 * whole - 3 * square_u - 3 * square_v) / 9
        bend_u, bend_v = np.maximum(bend_u, LEVEL), np.maximum(bend_v, LEVEL)
        det = bend_u * bend_v - twist * twist
        whole_bowl = det > LEVEL * np.maximum(bend_u, bend_v)
        step_u = np.where(whole_bowl, (twist * along - bend_v * across) / det, -across / bend_u)
        step_v = np.where(whole_bowl, (twist * across - bend_u * along) / det, -along / bend_v)
        sure = np.isfinite(whole) & (np.abs(step_u) < FAR) & (np.abs(step_v) < FAR)
        step_u, step_v = np.clip(step_u, -FAR, FAR), np.clip(step_v, -FAR, FAR)
        value = middle + across * step_u + along * step_v
        value += 0.5 * (bend_u * step_u**2 + bend_v * step_v**2) + twist * step_u * step_v
    finite = np.isfinite(whole)
    return _Bowl(
        np.where(finite, value, np.inf),
        np.where(finite, step_u, 0.0),
        np.where(finite, step_v, 0.0),
        sure,
    )


def lowest(rows: Array, step: float = 1.0) -> Told:
    """Return the least of curves (K, N) that were looked at in even steps, on the parabola through their lowest.

    step : steps of ANGLE from one to the next
    What is not known at a place (NaN) counts as far away there.
    """
    seen = np.where(np.isnan(rows), np.inf, rows)
    at = seen.argmin(axis=0)
    middle = np.clip(at, 1, len(seen) - 2)
    before, here, after = (np.take_along_axis(seen, (middle + one)[None], axis=0)[0] for one in (-1, 0, 1))
    with np.errstate(invalid="ignore", divide="ignore"):
        bend = before - 2 * here + after
        aside = np.clip(0.5 * (before - after) / bend, -1.0, 1.0)
        vertex = here + 0.5 * aside * (after - before) + 0.5 * aside**2 * bend
    least = seen.min(axis=0)
    bent = np.isfinite(vertex) & (bend > 0)
    value: Array = np.where(bent, np.minimum(vertex, least), least)
    across = middle - len(seen) // 2 + np.where(bent, aside, at - middle)
    sure = bent & (at > 0) & (at < len(seen) - 1)
    beside = np.where(at < middle, here, np.where(at > middle, here, np.maximum(before, after)))
    with np.errstate(invalid="ignore"):
        below = least - 2 * (beside - least) - OFF_MM  # it may go on falling as fast, and faster
    bound = np.where(sure | np.isinf(least), value, np.where(np.isfinite(below), below, -np.inf))
    return Told(value, sure, bound, step * across, least)


def together(found: Sequence[Told]) -> Told:
    """Return the least of several, told where none that is not told could be it."""
    value = np.minimum.reduce([one.value for one in found])
    bound = np.minimum.reduce([one.bound for one in found])
    which = np.stack([one.value for one in found]).argmin(axis=0)[None]
    across, low = (
        np.take_along_axis(np.stack(part), which, axis=0)[0]
        for part in ([one.across for one in found], [one.lowest for one in found])
    )
    return Told(value, np.isfinite(value) & (bound >= value), bound, across, low)


def nothing(shape: tuple[int, ...]) -> Told:
    """Return that of no build anything is told."""
    far = np.full(shape, np.inf)
    return Told(far, np.zeros(shape, dtype=bool), -far, np.zeros(shape), far)
