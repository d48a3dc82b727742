"""Invented valve gears, drawn at random over more lean than an engine would have.

Each is made backwards: first the closed rocker is posed, then the valve is put under its contact, then the
lifter under its cup, so that every draw can be assembled, while no draw rests on a solver.

Frame: cylinder frame, see `raw_loop`. The entries are flat, path to number, in millimetres and radians, for
the one cylinder `front` with the one train `front.intake`.
"""

from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation  # type: ignore[import-untyped, unused-ignore]

Array: TypeAlias = NDArray[np.float64]
Entries: TypeAlias = dict[str, object]

TRAIN = "front.intake"
PEAK = 8.0  # [mm] every gear of `random_mapping` follows its lifter at least this far


def random_mapping(
    rng: np.random.Generator,
    *,
    kind: Literal["hydraulic", "solid"] | None = None,
    lash_at: Literal["valve", "pushrod"] | None = None,
) -> Entries:
    """Return a gear that can be assembled, and lifts its valve over `PEAK` of lifter lift.

    Args:
        rng: the source of the draw.
        kind: of lifter; None draws it.
        lash_at: where a solid lifter's lash is measured; None draws it.

    Returns:
        A flat mapping, entry path to number.
    """
    return _assembled(rng, kind, lash_at, toggles=False)


def random_unreachable(
    rng: np.random.Generator,
    *,
    why: Literal["closed", "toggle"] | None = None,
) -> Entries:
    """Return a gear that cannot do its work.

    Args:
        rng: the source of the draw.
        why: `"closed"`, the contact cannot touch the stem tip at any turn; `"toggle"`, it assembles, then the
            pushrod lines up with its arm before the lifter has risen by `PEAK`; None draws one.

    Returns:
        A flat mapping, entry path to number.
    """
    if why is None:
        why = "closed" if rng.random() < 0.5 else "toggle"
    if why == "toggle":
        return _assembled(rng, None, None, toggles=True)
    mapping = random_mapping(rng)
    return mapping | {f"{TRAIN}.valve.length": _out_of_reach(rng, mapping)}


def _assembled(rng: np.random.Generator, kind: str | None, lash_at: str | None, *, toggles: bool) -> Entries:
    """Draw poses until one opens its valve, then put stack, valve, and lifter to it."""
    while True:
        shaft_direction = rng.choice([-1.0, 1.0]) * _tilted(rng, np.array([0.0, 1.0, 0.0]), 20.0)
        stem = _tilted(rng, np.array([0.0, 0.0, 1.0]), 35.0)
        lean = np.radians(rng.uniform(-12.0, 12.0, 2))
        rise = _unit(np.array([np.tan(lean[0]), np.tan(lean[1]), 1.0]))
        valve_arm, pushrod_arm = rng.uniform(25.0, 45.0), rng.uniform(15.0, 30.0)
        arm_angle = np.radians(rng.uniform(120.0, 200.0))

        outward = _unit(np.cross(shaft_direction, stem)) * rng.choice([-1.0, 1.0])
        e_v = _turned(outward, shaft_direction, np.radians(rng.uniform(-30.0, 30.0)))
        opening = shaft_direction * -np.sign(np.cross(shaft_direction, e_v)[2])
        e_p = _turned(e_v, opening, arm_angle)
        pushrod = _tilted(rng, rise, 15.0)
        if (
            abs(np.cross(shaft_direction, e_v)[2]) > 0.3
            and np.cross(opening, e_v) @ stem < -0.5
            and np.cross(opening, e_p) @ pushrod > 0.25
            and _stands_right(float(e_p @ pushrod), pushrod_arm, toggles)
            and 0.9 < valve_arm / pushrod_arm < 2.4
        ):
            break

    stack = {
        "case_deck": rng.uniform(120.0, 160.0),
        "base_gasket": rng.uniform(0.3, 1.0),
        "cylinder": rng.uniform(110.0, 160.0),
        "head_gasket": rng.uniform(0.8, 1.6),
        "case_cut": _sometimes(rng, 0.8),
        "head_cut": _sometimes(rng, 0.8),
    }
    standing = stack["case_deck"] + stack["base_gasket"] + stack["cylinder"] + stack["head_gasket"]
    gasket_face = np.array([0.0, 0.0, standing - stack["case_cut"] - stack["head_cut"]])
    shaft = np.array([rng.uniform(-45.0, 45.0), rng.uniform(-35.0, 35.0), rng.uniform(115.0, 150.0)])
    valve_station, pushrod_station = rng.uniform(-35.0, 35.0, 2)
    tip_radius, length, sink = rng.uniform(4.0, 12.0), rng.uniform(90.0, 130.0), _sometimes(rng, 1.0)

    contact = shaft + valve_station * shaft_direction + valve_arm * e_v - tip_radius * stem
    tip = contact + rng.uniform(0.0, 3.0) * _turned(outward, stem, rng.uniform(-np.pi, np.pi))
    face = tip - (length + sink) * stem

    preload, lowered = rng.uniform(0.2, 2.5), _sometimes(rng, 1.5)
    cup = gasket_face + shaft + pushrod_station * shaft_direction + pushrod_arm * e_p
    below = cup[2] - stack["case_deck"] - rng.uniform(-40.0, 15.0)
    seat = cup - (below / pushrod[2]) * pushrod + (preload + lowered) * rise - [0.0, 0.0, stack["case_deck"]]

    kind = kind or rng.choice(["hydraulic", "solid"])
    mapping: Entries = {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "front.lean": float(np.radians(rng.uniform(-45.0, 45.0))),
        f"{TRAIN}.lifter.kind": str(kind),
        **{f"stack.{part}": float(value) for part, value in stack.items()},
        **_components("lifter.seat", seat),
        **_components("lifter.lean", lean),
        **_components("rocker.shaft", shaft),
        **_components("rocker.direction", shaft_direction * rng.uniform(0.5, 2.0)),
        **_components("valve.face", face),
        **_components("valve.lean", np.arctan(stem[:2] / stem[2])),
    }
    numbers = {
        "lifter.lowered": lowered,
        "rocker.valve_arm": valve_arm,
        "rocker.pushrod_arm": pushrod_arm,
        "rocker.arm_angle": arm_angle,
        "rocker.valve_station": valve_station,
        "rocker.pushrod_station": pushrod_station,
        "rocker.tip_radius": tip_radius,
        "valve.length": length,
        "valve.sink": sink,
    }
    if kind == "hydraulic":
        numbers |= {"lifter.preload": preload, "lifter.plunger_travel": preload + rng.uniform(0.5, 2.5)}
    else:
        numbers["lifter.lash"] = rng.uniform(0.03, 0.5)
        mapping[f"{TRAIN}.lifter.lash_at"] = str(lash_at or rng.choice(["valve", "pushrod"]))
    return mapping | {f"{TRAIN}.{entry}": float(value) for entry, value in numbers.items()}


def _stands_right(height: float, arm: float, toggles: bool) -> bool:
    """Say whether a cup, `height` arms above its shaft axis along the pushrod, has the right rise before it.

    A height of 1 is toggle. The pushrod leans from the lifter, hence the allowances on the rise.
    """
    if toggles:
        return 0.75 < height < 0.93 and height + 0.9 * PEAK / arm > 1.1
    return height > -0.75 and height + 1.15 * (PEAK + 0.5) / arm < 0.95


def _out_of_reach(rng: np.random.Generator, mapping: Entries) -> float:
    """Draw a valve length that puts the tip above, or below, all that the valve arm can touch."""

    def vector(entry: str) -> Array:
        return np.array([mapping[f"{TRAIN}.{entry}.{axis}"] for axis in "xyz"], dtype=float)

    def number(entry: str) -> float:
        return float(str(mapping[f"{TRAIN}.{entry}"]))

    lean_x, lean_y = (float(str(mapping[f"{TRAIN}.valve.lean.{axis}"])) for axis in "xy")
    stem = _unit(np.array([np.tan(lean_x), np.tan(lean_y), 1.0]))
    direction = _unit(vector("rocker.direction"))
    foot = vector("rocker.shaft") + number("rocker.valve_station") * direction
    reach = number("rocker.valve_arm") * float(np.linalg.norm(np.cross(direction, stem)))
    middle = float((foot - vector("valve.face")) @ stem) - number("rocker.tip_radius") - number("valve.sink")
    return middle + float(rng.choice([-1.0, 1.0])) * (reach + rng.uniform(0.05, 5.0))


def _components(entry: str, vector: Array) -> Entries:
    return {f"{TRAIN}.{entry}.{axis}": float(value) for axis, value in zip("xyz", vector, strict=False)}


def _sometimes(rng: np.random.Generator, most: float) -> float:
    return float(rng.uniform(0.0, most)) if rng.random() < 0.4 else 0.0


def _tilted(rng: np.random.Generator, axis: Array, most_deg: float) -> Array:
    """Tip a unit vector over by up to so much, towards any side."""
    square = _unit(np.cross(axis, [1.0, 0.0, 0.0]))
    hinge = _turned(square, axis, rng.uniform(-np.pi, np.pi))
    return _turned(axis, hinge, np.radians(rng.uniform(0.0, most_deg)))


def _turned(vector: Array, axis: Array, angle: float) -> Array:
    image: Array = Rotation.from_rotvec(angle * axis).apply(vector)
    return image


def _unit(vector: Array) -> Array:
    return vector / np.linalg.norm(vector)
