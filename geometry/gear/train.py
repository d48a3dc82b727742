"""One valve gear from coordinates: lifter, pushrod, rocker and valve as a closed loop.

All points stand in the cylinder frame (`frames`). The rocker turns about its shaft; the opening
turn is positive and carries the valve arm towards the underside, the side facing the head's
gasket face (-z). The closed valve with the rocker on its stem is the zero of that turn.

          e_p (cup)      a (shaft, towards you)      e_v (contact)
        U ●───────── rp ──────── P ──────── rv ───────── Q      arm_angle ψ is measured on the
          ┊                      ╰───── ψ ─────╯         ┊ρ     underside: 180° straight,
          ┊ pushrod L                                  ━━┷━━ T  less and both arms droop
        B ●  ball, S + (s - p)·u                         ║
          ╨  lifter axis u                               ║ n, out of the chamber

The contact centre Q has to stand ρ above the flat tip: n·(Q - T) = ρ. With the pushrod's length
L the cup's ball centre U(ω) has to stay L away from the lifter's: |U(ω) - B(s)| = L, which is
α·cos ω + β·sin ω = κ. Both have two roots; the closed valve takes the one that puts the contact
nearest the stem tip, the motion keeps the branch it was assembled on.

Source: loop closure of one revolute, one sliding and two ball joints, solved in closed form; the
root is written with the four sides |L² - near²|·|far² - L²| under the square root, which keeps its
digits near toggle where an arc cosine loses them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, cross, dot, hypot, norm, unit


class Drawn(NamedTuple):
    """A valve gear known by coordinates, in the cylinder frame; lengths in mm, angle in radians."""

    seat: Array  # (..., 3) S: pushrod ball centre, lifter on the base circle, plunger at its top stop
    lift_axis: Array  # (..., 3) u: unit, the way the lifter rises
    shaft: Array  # (..., 3) P: a point on the rocker shaft
    axis: Array  # (..., 3) a: unit, along the shaft; stations count along it
    valve_arm: Array  # rv: shaft axis to contact centre
    pushrod_arm: Array  # rp: shaft axis to the cup's ball centre
    arm_angle: Array  # ψ: between the arms, on the underside [rad]
    valve_station: Array  # yv: of the valve arm, along a from P
    pushrod_station: Array  # yp: of the pushrod arm
    tip_radius: Array  # ρ: roller, pad crown or foot ball
    tip: Array  # (..., 3) T: centre of the stem tip, valve closed
    stem: Array  # (..., 3) n: unit, out of the chamber


class Closed(NamedTuple):
    """The rocker with the valve closed and its contact on the stem tip: the zero of the turn."""

    valve_dir: Array  # (..., 3) unit, shaft to contact centre
    valve_moves: Array  # (..., 3) unit, the way that centre sets out as the turn opens
    cup_dir: Array  # (..., 3) unit, shaft to cup
    cup_moves: Array  # (..., 3) unit, the way the cup sets out
    turn: Array  # (..., 3) unit, the shaft's direction about which opening is positive
    cup: Array  # (..., 3) U(0), mm
    reach: Array  # mm the tip may move along the stem before the arm cannot meet it; negative: it cannot
    across: Array  # mm, contact off the tip's centre, square to the shaft, positive away from it
    along: Array  # mm, the same along the shaft
    opening: Array  # mm/rad, how fast the turn opens the valve; not above 0: it cannot


class Motion(NamedTuple):
    """Where the valve gear stands at each lifter lift; elements out of reach are NaN."""

    lift: Array  # mm, valve lift, not below zero
    clear: Array  # mm, signed: negative is lash still to be taken up at the valve
    ratio: Array  # valve travel for lifter travel at this point, dh/ds
    cosine: Array  # of the rocker's turn from the closed valve
    sine: Array
    reach: Array  # mm of pushrod length to the nearest toggle; negative: the loop cannot close


def _solve_contact(train: Drawn, gap: Array) -> tuple[Array, Array, Array, Array]:
    """Return valve-arm directions of both roots, the share along the stem and the reach in mm."""
    along_axis = dot(train.stem, train.axis)
    square = train.stem - along_axis[..., None] * train.axis  # the stem, seen along the shaft
    size = norm(square)
    towards = unit(square)
    station = train.shaft + train.valve_station[..., None] * train.axis
    wanted = train.tip_radius + gap - dot(train.stem, station - train.tip)
    reach = train.valve_arm * size - np.abs(wanted)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(reach >= 0, wanted / (train.valve_arm * size), np.nan)
        rest = np.sqrt((1 - share) * (1 + share))
    base = share[..., None] * towards
    swing = rest[..., None] * cross(train.axis, towards)
    return base + swing, base - swing, station, reach


def closed(train: Drawn) -> Closed:
    """Return the rocker's place with the valve closed, the root nearest the stem tip.

    Valid: `reach` not negative and `opening` above zero; elsewhere elements are NaN.
    Source: n·(Q - T) = ρ with Q on a circle about the shaft.
    """
    plus, minus, station, reach = _solve_contact(train, array(0.0))
    arm = train.valve_arm[..., None]
    nearer = norm(station + arm * plus - train.tip) <= norm(station + arm * minus - train.tip)
    valve_dir = np.where(nearer[..., None], plus, minus)
    # The turn that first carries the valve arm towards -z opens; stations and signs of the shaft's
    # direction do not enter, so a mirrored engine opens too.
    sense = -np.sign(cross(train.axis, valve_dir)[..., 2])
    turn = sense[..., None] * train.axis
    valve_moves = cross(turn, valve_dir)
    cosine, sine = np.cos(train.arm_angle)[..., None], np.sin(train.arm_angle)[..., None]
    cup_dir = cosine * valve_dir + sine * valve_moves
    cup = train.shaft + train.pushrod_station[..., None] * train.axis + train.pushrod_arm[..., None] * cup_dir
    contact = station + arm * valve_dir - train.tip
    across_dir = across_tip(train, valve_dir)
    return Closed(
        valve_dir=valve_dir,
        valve_moves=valve_moves,
        cup_dir=cup_dir,
        cup_moves=cross(turn, cup_dir),
        turn=turn,
        cup=cup,
        reach=reach,
        across=dot(contact, across_dir),
        along=dot(contact, cross(train.stem, across_dir)),
        opening=-train.valve_arm * dot(train.stem, valve_moves),
    )


def across_tip(train: Drawn, valve_dir: Array) -> Array:
    """Return the unit direction across the stem tip, square to the shaft, away from it: (..., 3)."""
    across = unit(cross(train.axis, train.stem))
    return np.where(dot(across, valve_dir)[..., None] < 0, -across, across)


def turn_at_gap(train: Drawn, pose: Closed, gap: Array) -> tuple[Array, Array, Array]:
    """Return cosine and sine of the turn that leaves a gap at the tip, and the reach.

    gap : (...) [mm]  contact above the closed stem tip, along the stem; negative is valve lift
    Returns: cos ω (...), sin ω (...), reach (...) [mm]; NaN where reach is negative
    """
    plus, minus, _, reach = _solve_contact(train, gap)
    # The two roots lie on opposite sides of the stem's direction seen along the shaft, and a turn
    # that leaves neither toggle behind keeps its side.
    same = dot(plus, across_tip(train, pose.valve_dir)) >= 0
    there = np.where(same[..., None], plus, minus)
    return (
        dot(there, pose.valve_dir),
        dot(there, pose.valve_moves),
        reach,
    )


def cup_at(train: Drawn, pose: Closed, cosine: Array, sine: Array) -> Array:
    """Return the cup's ball centre after a turn: U(ω), (..., 3) [mm]."""
    away = cosine[..., None] * pose.cup_dir + sine[..., None] * pose.cup_moves
    centre = train.shaft + train.pushrod_station[..., None] * train.axis
    return centre + train.pushrod_arm[..., None] * away


def close_loop(
    spoke: Array, turned: Array, ball: Array, length: Array, arm: Array, branch: Array
) -> tuple[Array, Array, Array, Array]:
    """Return the turn at which an arm's end stands a given length from a ball.

    spoke  : (..., 3)  unit, the arm at turn zero
    turned : (..., 3)  unit, the arm at turn 90°
    ball   : (..., 3) [mm]  the other end, from the centre of the arm's circle
    length, arm : (...) [mm];  branch : (...)  +1 or -1, the sign of d(α·cos ω + β·sin ω)/dω
    Returns: cos ω, sin ω, slope (that derivative, mm), reach (mm of length to the nearest toggle)
    Valid: reach not negative; elsewhere NaN.
    """
    alpha = dot(spoke, ball)
    beta = dot(turned, ball)
    radial = hypot(alpha, beta)
    axial = dot(cross(spoke, turned), ball)
    near = hypot(axial, radial - arm)
    far = hypot(axial, radial + arm)
    reach = np.minimum(far - length, length - near)
    sides = (length - near) * (length + near) * (far - length) * (far + length)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = branch * np.sqrt(np.where(reach >= 0, sides, np.nan)) / (2 * arm)
        kappa = (arm * arm + radial * radial + axial * axial - length * length) / (2 * arm)
        cosine = (alpha * kappa + beta * slope) / (radial * radial)
        sine = (beta * kappa - alpha * slope) / (radial * radial)
    return cosine, sine, slope, reach


def motion(train: Drawn, pose: Closed, length: Array, lifter_lift: Array, plunger_down: Array) -> Motion:
    """Return where the valve gear stands at given lifter lifts.

    length       : (...) [mm]  pushrod, ball centre to ball centre
    lifter_lift  : (...) [mm]  s, above the base circle
    plunger_down : (...) [mm]  p, below the top stop; 0 for a solid lifter
    Returns: arrays of the broadcast shape; to follow K lifts of N engines give the engines a
    trailing axis of one.
    Valid: `reach` not negative. Source: see the module; dh/ds by implicit differentiation.
    """
    rise = array(lifter_lift) - plunger_down
    centre = train.shaft + train.pushrod_station[..., None] * train.axis
    rest = train.seat - array(plunger_down)[..., None] * train.lift_axis
    ball = train.seat + rise[..., None] * train.lift_axis
    cosine, sine, slope, reach = close_loop(
        pose.cup_dir,
        pose.cup_moves,
        ball - centre,
        array(length),
        train.pushrod_arm,
        assembled_branch(train, pose, rest),
    )
    closing, opening = dot(train.stem, pose.valve_dir), dot(train.stem, pose.valve_moves)
    clear = -train.valve_arm * ((cosine - 1) * closing + sine * opening)
    falling = -train.valve_arm * (cosine * opening - sine * closing)
    span = cup_at(train, pose, cosine, sine) - ball
    with np.errstate(invalid="ignore", divide="ignore"):
        turning = -dot(span, train.lift_axis) / (train.pushrod_arm * slope)
    return Motion(
        lift=np.maximum(clear, 0.0),
        clear=clear,
        ratio=falling * turning,
        cosine=cosine,
        sine=sine,
        reach=reach,
    )


def lift_at(train: Drawn, pose: Closed, length: Array, lifter_lift: Array, plunger_down: Array) -> Array:
    """Return the valve's lift alone at given lifter lifts, (...) [mm]: what `motion` says of it, without its ratio.

    Arguments and axes as for `motion`; leading axes may also be those of the lifts alone.
    Source: the same closure. The ball rises along a line, so that its place along the arm, across it and along the
    shaft is linear in the lift, and the rocker's ends are linear in the cosine and sine of its turn. The branch is that
    of `assembled_branch`.
    """
    rise = array(lifter_lift) - plunger_down
    arm, square, up = train.pushrod_arm, length * length, train.lift_axis
    start = train.seat - train.shaft - train.pushrod_station[..., None] * train.axis
    aside, by_rise = dot(pose.cup_moves, start), dot(pose.cup_moves, up)
    alpha = dot(pose.cup_dir, start) + dot(pose.cup_dir, up) * rise
    beta = aside + by_rise * rise
    axial = dot(pose.turn, start) + dot(pose.turn, up) * rise
    radial = alpha * alpha + beta * beta
    kappa = (radial + axial * axial + (arm * arm - square)) / (2 * arm)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = np.sign(aside - by_rise * plunger_down) * np.sqrt(radial - kappa * kappa)
        cosine = (alpha * kappa + beta * slope) / radial
        sine = (beta * kappa - alpha * slope) / radial
    closing, opening = dot(train.stem, pose.valve_dir), dot(train.stem, pose.valve_moves)
    lifted: Array = np.maximum(-train.valve_arm * ((cosine - 1) * closing + sine * opening), 0.0)
    return lifted


def assembled_branch(train: Drawn, pose: Closed, ball: Array) -> Array:
    """Return the branch of the closure on which the closed valve stands, -1 where a rise opens it.

    ball : (..., 3) [mm]  the lifter's ball centre at rest
    """
    centre = train.shaft + train.pushrod_station[..., None] * train.axis
    side: Array = dot(pose.cup_moves, ball - centre)
    return np.sign(side)


def tip_sweep(train: Drawn, pose: Closed, cosine: Array, sine: Array) -> tuple[Array, Array]:
    """Return the least and the greatest offset of the contact across the tip during a turn.

    cosine, sine : (...)  of the turn at which the sweep ends; it starts at the closed valve
    Returns: least (...), greatest (...) [mm] from the tip's centre, positive away from the shaft
    Source: the offset is c + A·cos ω + B·sin ω; its turning point counts only where the slope
    changes sign on the way.
    """
    across = across_tip(train, pose.valve_dir)
    level = train.valve_arm * dot(across, pose.valve_dir)
    swing = train.valve_arm * dot(across, pose.valve_moves)
    start = pose.across
    end = start - level + level * cosine + swing * sine
    inside = swing * (swing * cosine - level * sine) < 0
    summit = start - level + np.sign(swing) * hypot(level, swing)
    least = np.minimum(start, end)
    greatest = np.maximum(start, end)
    return (
        np.where(inside & (swing < 0), np.minimum(summit, least), least),
        np.where(inside & (swing > 0), np.maximum(summit, greatest), greatest),
    )


def plunger_for(train: Drawn, pose: Closed, length: Array) -> tuple[Array, Array]:
    """Return how far a pushrod pushes the plunger down with the valve closed, and the reach.

    length : (...) [mm]
    Returns: depth below the top stop (...) [mm], negative is slack; reach (...) [mm]
    Source: |U(0) - S + p·u| = L, the root near zero written without cancellation.
    """
    span = pose.cup - train.seat
    along = dot(span, train.lift_axis)
    aside = norm(span - along[..., None] * train.lift_axis)
    reach = length - aside
    with np.errstate(invalid="ignore"):
        chord = np.sqrt(np.where(reach >= 0, (length - aside) * (length + aside), np.nan))
    straight = norm(span)
    return (length - straight) * (length + straight) / (along + chord), reach
