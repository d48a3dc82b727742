"""Invented whole engines, drawn at random in batches, and what may be done to one without changing its answers.

An engine is a single of two valves, or a twin whose second cylinder has a piston and a spigot but no valves:
enough for every clearance and fit. Each entry is drawn about a middle one, all independently, but for the case
deck, which is put under a squish of 0.4 to 2 mm. Flat mappings as `geometry.core.mapping` takes them, mm and rad.
`gears` stacks valve gears of `random_trains`, which lean every way.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation  # type: ignore[import-untyped, unused-ignore]

from .oracles.random_trains import Array, Entries, random_mapping

Crown: TypeAlias = Literal["plain", "pockets", "dome", "dish"]
Kind: TypeAlias = Literal["hydraulic", "valve", "pushrod"]  # of lifter; a solid one by where its lash is
CROWNS: tuple[Crown, ...] = ("plain", "pockets", "dome", "dish")
KINDS: tuple[Kind, ...] = ("hydraulic", "valve", "pushrod")
TRAINS = ("one.intake", "one.exhaust")

ENGINE = {  # entry: middle, half-width; mm and degrees
    "crank.stroke": (96, 6),
    "crank.conrod_length": (176, 12),
    "crank.counterweight_radius": (68, 3),
    "crank.conrod_beam_width": (22, 2),
    "piston.compression_height": (34, 2),
    "piston.pin_offset": (0, 1.5),
    "piston.diameter": (91.8, 0.1),
    "piston.skirt_below_pin": (22, 3),
    "piston.skirt_inner": (82, 2),
    "stack.bore": (92, 0),
    "stack.base_gasket": (0.5, 0.2),
    "stack.cylinder": (125, 5),
    "stack.head_gasket": (1.1, 0.4),
    "stack.case_cut": (0.2, 0.2),
    "stack.head_cut": (0.2, 0.2),
    "one.lean": (25, 4),
    "two.lean": (-25, 4),
    "one.spigot.length": (30, 4),
    "one.spigot.outer_diameter": (100, 2),
    "two.spigot.length": (30, 4),
    "two.spigot.outer_diameter": (100, 2),
}
GEAR = {  # of an intake; an exhaust is its mirror image
    "lifter.seat.x": (-20.5, 2),
    "lifter.seat.y": (57, 2),
    "lifter.seat.z": (-14, 3),
    "lifter.lean.x": (1.2, 2),
    "lifter.lean.y": (-1, 2),
    "lifter.lowered": (0.3, 0.3),
    "rocker.shaft.x": (-32.4, 1.5),
    "rocker.shaft.y": (28, 1.5),
    "rocker.shaft.z": (128.2, 1),
    "rocker.direction.x": (0, 0.03),
    "rocker.direction.y": (1, 0),
    "rocker.direction.z": (0, 0.03),
    "rocker.valve_arm": (35, 1),
    "rocker.pushrod_arm": (21.5, 1),
    "rocker.arm_angle": (158, 5),
    "rocker.valve_station": (-28, 1),
    "rocker.pushrod_station": (23, 1),
    "rocker.tip_radius": (5.5, 1.5),
    "valve.face.x": (-21.5, 1.5),
    "valve.face.y": (0, 1.5),
    "valve.face.z": (7.6, 1),
    "valve.lean.x": (-22, 3),
    "valve.lean.y": (0, 3),
    "valve.length": (118, 0.5),
    "valve.sink": (0.2, 0.2),
    "valve.head_diameter": (37, 3),
    "valve.margin": (1.3, 0.3),
}
POCKET = {
    "pocket.centre.x": (-19.6, 1.5),
    "pocket.centre.y": (0, 1.5),
    "pocket.lean.x": (-22, 3),
    "pocket.lean.y": (0, 3),
    "pocket.diameter": (45, 3),
    "pocket.depth": (4, 2),
}
CAPS: dict[str, dict[str, tuple[float, float]]] = {
    "dome": {"height": (3, 2), "diameter": (70, 10)},
    "dish": {"depth": (2, 1.5), "diameter": (70, 10)},
}
ANGLES = (".lean", ".lean.x", ".lean.y", ".arm_angle")
PLAIN = (
    *ANGLES,
    "degrees",
    "centreline",
    ".direction.x",
    ".direction.y",
    ".direction.z",
    "fires_at",
    "ratio",
)


def engines(rng: np.random.Generator, many: int, crown: Crown, kind: Kind, twin: bool = False) -> Entries:
    """Return a batch of engines: every number an array of so many, the lobes' numbers common to all."""

    def drawn(table: dict[str, tuple[float, float]], stem: str = "", mirrored: bool = False) -> Entries:
        found: Entries = {}
        for entry, (middle, half) in table.items():
            value = middle + half * rng.uniform(-1, 1, many)
            value = -value if mirrored and entry.endswith(".x") else value
            found[stem + entry] = np.radians(value) if entry.endswith(ANGLES) else value
        return found

    engine: Entries = {
        "cylinders": ("one", "two") if twin else ("one",),
        "trains": TRAINS,
        "crank.turns": str(rng.choice(["forward", "backward"])),
        **drawn(ENGINE),
        **_lobes(rng),
    }
    for name in TRAINS:
        mirrored = name.endswith("exhaust")
        engine |= drawn(GEAR, f"{name}.", mirrored)
        engine |= drawn(POCKET, f"{name}.", mirrored) if crown == "pockets" else {}
        engine |= _setting(rng, many, f"{name}.lifter.", kind)
    if crown in CAPS:
        engine |= drawn(CAPS[crown], f"piston.{crown}.")
    throw, rod, aside = (
        _of(engine, one) for one in ("crank.stroke", "crank.conrod_length", "piston.pin_offset")
    )
    top = np.sqrt((throw / 2 + rod) ** 2 - aside**2) + _of(engine, "piston.compression_height")
    under = (
        _of(engine, "stack.base_gasket") + _of(engine, "stack.cylinder") + _of(engine, "stack.head_gasket")
    )
    cuts = _of(engine, "stack.case_cut") + _of(engine, "stack.head_cut")
    engine["stack.case_deck"] = top + rng.uniform(0.4, 2.0, many) - under + cuts
    if twin:
        return engine
    return {path: value for path, value in engine.items() if not path.startswith("two.")}


def gears(rng: np.random.Generator, many: int, kind: Kind) -> Entries:
    """Return a batch of the valve gears of `random_trains`, all with one kind of lifter."""
    if kind == "hydraulic":
        return stacked([random_mapping(rng, kind="hydraulic") for _ in range(many)])
    return stacked([random_mapping(rng, kind="solid", lash_at=kind) for _ in range(many)])


def stacked(mappings: list[Entries]) -> Entries:
    """Return engines of the same entries and words as a batch."""
    first = mappings[0]
    return {
        path: np.array([one[path] for one in mappings]) if isinstance(value, float) else value
        for path, value in first.items()
    }


def picked(mapping: Entries, which: int | NDArray[np.intp]) -> Entries:
    """Return one engine of a batch, its numbers plain, or some of them as a batch."""

    def pick(value: object) -> object:
        if not isinstance(value, np.ndarray):
            return value
        return float(value[which]) if isinstance(which, int) else value[which]

    return {path: pick(value) for path, value in mapping.items()}


def mirrored(mapping: Entries) -> Entries:
    """Return engines with x reversed: points, leans, directions, angles about one; stations and arm angles stay."""
    turned = (".x", ".eccentric_at")
    return {path: -_of(mapping, path) if path.endswith(turned) else value for path, value in mapping.items()}


def scaled(mapping: Entries, by: float) -> Entries:
    """Return engines with every length so many times as long."""

    def is_length(path: str, value: object) -> bool:
        return isinstance(value, float | np.ndarray) and not path.endswith(PLAIN)

    return {
        path: by * _of(mapping, path) if is_length(path, value) else value for path, value in mapping.items()
    }


def turned(mapping: Entries, angle: float) -> Entries:
    """Return engines with all points and directions of the valve gears and pockets turned about the cylinder's axis."""
    spin = Rotation.from_rotvec([0.0, 0.0, angle])
    found = dict(mapping)
    for path in mapping:
        stem = path.removesuffix(".x")
        if stem == path:
            continue
        x, y = _of(mapping, f"{stem}.x"), _of(mapping, f"{stem}.y")
        if stem.endswith(".lean"):
            there = spin.apply(_rows(np.tan(x), np.tan(y), np.ones_like(x)))
            found |= {f"{stem}.x": np.arctan(there[..., 0]), f"{stem}.y": np.arctan(there[..., 1])}
        else:
            there = spin.apply(_rows(x, y, np.zeros_like(x)))
            found |= {f"{stem}.x": there[..., 0], f"{stem}.y": there[..., 1]}
    return found


def changed(mapping: Entries, path: str, how: Callable[[Array], Array]) -> Entries:
    """Return engines with one entry changed."""
    return {**mapping, path: how(_of(mapping, path))}


def _lobes(rng: np.random.Generator) -> Entries:
    """Draw an intake's law and an exhaust's card, each a plain number: a lobe is one for the whole batch."""
    numbers = {
        "intake.law.peak": rng.uniform(7, 9),
        "intake.law.degrees": np.radians(rng.uniform(280, 310)),
        "intake.centreline": np.radians(rng.uniform(100, 112)),
        "exhaust.card.peak": rng.uniform(7, 9),
        "exhaust.card.duration.at": 1.27,
        "exhaust.card.duration.degrees": np.radians(rng.uniform(215, 235)),
        "exhaust.card.seat.at": 0.2,
        "exhaust.card.seat.degrees": np.radians(rng.uniform(270, 285)),
        "exhaust.centreline": np.radians(rng.uniform(104, 116)),
    }
    found: Entries = {f"lobe.{entry}": float(value) for entry, value in numbers.items()}
    return {**found, "lobe.intake.law.name": str(rng.choice(["4-5-6-7", "cycloidal", "modified-sine"]))}


def _setting(rng: np.random.Generator, many: int, stem: str, kind: Kind) -> Entries:
    if kind == "hydraulic":
        preload = rng.uniform(0.4, 1.6, many)
        return {
            f"{stem}kind": "hydraulic",
            f"{stem}preload": preload,
            f"{stem}plunger_travel": preload + rng.uniform(0.5, 2.5, many),
        }
    return {f"{stem}kind": "solid", f"{stem}lash_at": kind, f"{stem}lash": rng.uniform(0.03, 0.4, many)}


def _of(mapping: Entries, path: str) -> Array:
    return np.asarray(mapping[path], dtype=np.float64)


def _rows(*components: Array) -> Array:
    return np.stack(components, axis=-1)
