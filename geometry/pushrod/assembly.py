"""Why a valve gear cannot be put together, or comes apart on the way, in words with the numbers.

For one engine, not a batch. An impossible geometry is an answer: these sentences are what a person
reads where an array holds NaN.
"""

from __future__ import annotations

import numpy as np

from ..core.frames import Array, array
from ..engine.engine import Train
from ..gear.train import Closed, Drawn, assembled_branch, closed, motion, turn_at_gap

STEPS = 256  # lifter lifts looked at before the first unreachable one is refined


def obstacles(train: Train) -> tuple[str, ...]:
    """Return why the closed valve gear cannot be assembled from its coordinates; empty: it can.

    Each sentence names the quantity, by how much it misses, and which entries to look at.
    """
    drawn = train.drawn
    if drawn is None:
        return ()
    pose = closed(drawn)
    if np.isnan(pose.reach):
        return ("the rocker shaft's direction has no length: rocker.direction names a direction, not zeros",)
    if pose.reach < 0:
        return (
            f"the rocker cannot meet the stem tip: the tip stands {-float(pose.reach):.2f} mm too far "
            f"along the stem for a valve arm of {float(drawn.valve_arm):.2f} mm; "
            f"look at rocker.shaft, valve.length, valve.lean and rocker.direction",
        )
    if not pose.opening > 0:
        return (
            "turning the valve arm towards the head would lift it off the stem instead of opening the valve; "
            "look at rocker.shaft and valve.face: the valve arm stands almost upright",
        )
    sentences = []
    ball = _resting_ball(train, drawn)
    if assembled_branch(drawn, pose, ball) >= 0:
        sentences.append(
            "a rising lifter would turn the rocker away from the valve: the cup stands on the wrong side "
            "of the shaft; look at rocker.arm_angle, rocker.shaft and lifter.seat"
        )
    lash = train.lifter.lash
    if lash is not None and train.lifter.kind == "solid" and train.lifter.lash_at == "valve":
        _, _, reach = turn_at_gap(drawn, pose, lash)
        if reach < 0:
            sentences.append(
                f"the rocker cannot be turned back far enough to leave {float(lash):.3f} mm at the valve: "
                f"{-float(reach):.3f} mm are missing; look at lifter.lash"
            )
    return tuple(sentences)


def comes_apart_at(train: Train, length: Array, highest: float) -> float | None:
    """Return the least lifter lift [mm] at which the loop cannot close, or None up to the highest.

    length : (0-d) [mm]  pushrod between ball centres
    Source: the sign of `reach` on a fine row of lifts, refined by halving to 1e-9 mm.
    """
    drawn = train.drawn
    if drawn is None:
        return None
    pose = closed(drawn)
    down = train.lifter.down if train.lifter.down is not None else array(0.0)
    lifts = np.linspace(0.0, highest, STEPS + 1)
    apart = ~(_reach(drawn, pose, length, lifts, down) >= 0)
    if not apart.any():
        return None
    first = int(np.argmax(apart))
    if first == 0:
        return 0.0
    low, high = float(lifts[first - 1]), float(lifts[first])
    while high - low > 1e-9:
        middle = (low + high) / 2
        holds = _reach(drawn, pose, length, array(middle), down) >= 0
        low, high = (middle, high) if holds else (low, middle)
    return high


def _reach(drawn: Drawn, pose: Closed, length: Array, lifts: Array, down: Array) -> Array:
    return motion(drawn, pose, length, lifts, down).reach


def _resting_ball(train: Train, drawn: Drawn) -> Array:
    down = train.lifter.down
    return drawn.seat if down is None else drawn.seat - down[..., None] * drawn.lift_axis
