"""Each adjuster's effect against solving the raw geometry again with the part moved by hand.

Figures, measured on two cores with CPython 3.11:

- turns of four kinds of adjuster, 160 random trains, against the raw loop solved with the part moved by hand:
  within 1e-9 mm; limit: 1e-9 mm
"""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry import build, required
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.gear.adjusters import (
    Adjuster,
    lash_after,
    length_after,
    preload_after,
    turned,
    turns_to,
)
from tallstack.geometry.gear.train import Drawn

from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping
from ...seeded import few

KINDS = ("pushrod screw", "valve screw", "pivot nut", "lifter screw")
PITCH = 25.4 / 24


def adjuster(kind: str, axis: Array | None = None, **more: Array) -> Adjuster:
    none = dict.fromkeys(("flats", "eccentricity", "eccentric_at", "turns_in", "turns_out"))
    return Adjuster(kind=kind, pitch=array(PITCH), axis=axis, **{**none, **more})  # type: ignore[arg-type]


def drawn_of(mapping: dict[str, object]) -> Drawn:
    drawn = build(mapping).train(TRAIN).drawn  # type: ignore[arg-type]
    assert drawn is not None
    return drawn


def shifted(mapping: dict[str, object], entry: str, vector: np.ndarray) -> dict[str, object]:
    moved = {
        f"{TRAIN}.{entry}.{axis}": mapping[f"{TRAIN}.{entry}.{axis}"] + vector[i]
        for i, axis in enumerate("xyz")
    }
    return {**mapping, **moved}


def arm_to(mapping: dict[str, object], place: np.ndarray, which: str) -> dict[str, object]:
    """Return the mapping with one end of the rocker at another place, the other end where it was."""
    at, pose = raw_loop.points(mapping, TRAIN), raw_loop.closed_angle(mapping, TRAIN)
    offset = place - at.P
    station = float(offset @ at.a)
    radial = offset - station * at.a
    long, short = (radial, pose.e_p) if which == "valve" else (pose.e_v, radial)
    # The angle by way of the underside: the way the valve arm first turns when it opens.
    long = long / np.linalg.norm(long)
    down = np.cross(pose.sense * at.a, long)
    angle = float(np.arctan2(short @ down, short @ long)) % (2 * np.pi)
    return {
        **mapping,
        f"{TRAIN}.rocker.{which}_arm": float(np.linalg.norm(radial)),
        f"{TRAIN}.rocker.{which}_station": station,
        f"{TRAIN}.rocker.arm_angle": angle,
    }


def by_hand(
    mapping: dict[str, object], kind: str, travel: float, axis: np.ndarray | None
) -> dict[str, object]:
    at, pose = raw_loop.points(mapping, TRAIN), raw_loop.closed_angle(mapping, TRAIN)
    if kind == "lifter screw":
        return shifted(mapping, "lifter.seat", travel * at.u)
    if kind == "pivot nut":
        return shifted(
            mapping, "rocker.shaft", -travel * (np.array([0.0, 0.0, 1.0]) if axis is None else axis)
        )
    if kind == "pushrod screw":
        way = (at.S - pose.U) / np.linalg.norm(at.S - pose.U) if axis is None else -axis
        return arm_to(mapping, pose.U + travel * way, "pushrod")
    return arm_to(mapping, pose.Q - travel * (at.n if axis is None else axis), "valve")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(12))
def test_turns_against_the_part_moved_by_hand(kind: str, seed: int) -> None:
    rng = np.random.default_rng([seed, 3])
    mapping = random_mapping(rng, kind="hydraulic")
    axis = None
    if seed % 2:
        axis = np.array([*rng.uniform(-0.2, 0.2, 2), 1.0])
        axis /= np.linalg.norm(axis)
    length = raw_loop.length(mapping, TRAIN)
    turns = float(rng.uniform(-0.8, 0.8))
    found = preload_after(drawn_of(mapping), adjuster(kind, axis), array(length), array(turns))
    moved = by_hand(mapping, kind, PITCH * turns, axis)
    assert found == pytest.approx(raw_loop.preload(moved, TRAIN, length), abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", few(range(10), 2))
def test_the_setting_found_gives_the_preload_that_was_wanted(kind: str, seed: int) -> None:
    mapping = random_mapping(np.random.default_rng([seed, 4]), kind="hydraulic")
    drawn, screw = drawn_of(mapping), adjuster(kind)
    length = required(build(mapping).train(TRAIN)).lengths["centres"]  # type: ignore[arg-type]
    wanted = array([0.0, 0.4, 1.9])
    turns = turns_to(drawn, screw, length, wanted)
    there = preload_after(drawn, screw, length, turns[0]), preload_after(drawn, screw, length, turns[2])
    assert there[0] == pytest.approx(0.0, abs=1e-9)
    assert there[1] == pytest.approx(1.9, abs=1e-9)
    assert turns[0] < turns[1] < turns[2]


@pytest.mark.parametrize("at", ["valve", "pushrod"])
def test_the_setting_found_gives_the_lash_that_was_wanted(at: str) -> None:
    mapping = random_mapping(np.random.default_rng(9), kind="solid", lash_at=at)
    drawn, screw = drawn_of(mapping), adjuster("pushrod screw")
    length = required(build(mapping).train(TRAIN)).lengths["centres"]  # type: ignore[arg-type]
    lash = float(mapping[f"{TRAIN}.lifter.lash"])  # type: ignore[arg-type]
    assert turns_to(drawn, screw, length, array(lash), at) == pytest.approx(0.0, abs=1e-9)
    assert turns_to(drawn, screw, length, array(lash + 0.1), at) < 0  # out makes room


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("at", few(["valve", "pushrod"], 1))
@pytest.mark.parametrize("seed", few(range(3), 1))
def test_solid_lifters_find_zero_lash_and_the_wanted_one(kind: str, at: str, seed: int) -> None:
    mapping = random_mapping(np.random.default_rng([seed, 5]), kind="solid", lash_at=at)
    drawn, screw = drawn_of(mapping), adjuster(kind)
    length = required(build(mapping).train(TRAIN)).lengths["centres"]  # type: ignore[arg-type]
    lash = float(mapping[f"{TRAIN}.lifter.lash"])  # type: ignore[arg-type]
    assert turns_to(drawn, screw, length, array(lash), at) == pytest.approx(0.0, abs=1e-8)
    zero = turns_to(drawn, screw, length, array(0.0), at)
    assert 0 < zero < 2
    assert lash_after(drawn, screw, length, zero, at) == pytest.approx(0.0, abs=1e-9)


def straight_rocker(ratio: float) -> dict[str, object]:
    """Everything upright and in one plane: the textbook rocker, whose factors are exact at first order."""
    arm = 20.0
    place = {"x": 0.0, "y": 0.0, "z": 0.0}
    entries: dict[str, object] = {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "front.lean": 0.0,
        **{f"stack.{part}": 0.0 for part in ("base_gasket", "head_gasket", "case_cut", "head_cut")},
        "stack.case_deck": 100.0,
        "stack.cylinder": 100.0,
        f"{TRAIN}.lifter.kind": "hydraulic",
        f"{TRAIN}.lifter.preload": 1.0,
    }
    points = {
        "lifter.seat": {**place, "x": -arm},
        "lifter.lean": {"x": 0.0, "y": 0.0},
        "rocker.shaft": {**place, "z": 100.0},
        "rocker.direction": {**place, "y": 1.0},
        "valve.face": {**place, "x": arm * ratio},
        "valve.lean": {"x": 0.0, "y": 0.0},
    }
    for entry, parts in points.items():
        entries |= {f"{TRAIN}.{entry}.{axis}": value for axis, value in parts.items()}
    rocker = {"valve_arm": arm * ratio, "pushrod_arm": arm, "arm_angle": np.pi, "tip_radius": 5.0}
    entries |= {f"{TRAIN}.rocker.{name}": value for name, value in rocker.items()}
    entries |= {f"{TRAIN}.rocker.{end}_station": 0.0 for end in ("valve", "pushrod")}
    return {**entries, f"{TRAIN}.valve.length": 95.0}


@pytest.mark.parametrize(
    ("kind", "factor"),
    [
        ("pushrod screw", lambda ratio: 1.0),
        ("lifter screw", lambda ratio: 1.0),
        ("pivot nut", lambda ratio: 1.0 + 1.0 / ratio),
        ("valve screw", lambda ratio: 1.0 / ratio),
    ],
)
@pytest.mark.parametrize("ratio", [1.5, 1.7])
def test_first_order_factors_of_a_straight_rocker(kind: str, factor: object, ratio: float) -> None:
    mapping = straight_rocker(ratio)
    drawn, length = drawn_of(mapping), array(raw_loop.length(mapping, TRAIN))
    small = 1e-5
    up, down = (preload_after(drawn, adjuster(kind), length, array(way * small)) for way in (1, -1))
    assert (up - down) / (2 * small) == pytest.approx(PITCH * factor(ratio), rel=1e-6)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("pitch_in", "ratio", "turns", "at_lifter_in"),
    [(1 / 24, 1.5, 1.0, 0.06944444), (1 / 20, 1.7, 0.5, 0.03970588)],
)
def test_pivot_nut_of_the_published_threads(
    pitch_in: float, ratio: float, turns: float, at_lifter_in: float
) -> None:
    """DERIVED: thread × turns × (1 + 1/ratio), one turn of 3/8-24 and half a turn of 7/16-20."""
    mapping = straight_rocker(ratio)
    drawn, length = drawn_of(mapping), array(raw_loop.length(mapping, TRAIN))
    nut = adjuster("pivot nut")
    nut = nut._replace(pitch=array(pitch_in * 25.4))
    moved = preload_after(drawn, nut, length, array(turns)) - preload_after(drawn, nut, length, array(0.0))
    assert moved / 25.4 == pytest.approx(
        at_lifter_in, rel=2e-3
    )  # the rocker swings: exact only at first order


def test_an_eccentric_shaft_turned_all_the_way_is_back_where_it_was() -> None:
    mapping = random_mapping(np.random.default_rng(6), kind="hydraulic")
    shaft = adjuster("eccentric shaft", eccentricity=array(0.8), eccentric_at=array(0.3))
    drawn = drawn_of(mapping)
    np.testing.assert_allclose(turned(drawn, shaft, array(1.0)).shaft, drawn.shaft, atol=1e-12)
    there = turned(drawn, shaft, array(0.25)).shaft - drawn.shaft
    assert np.linalg.norm(there) == pytest.approx(0.8 * np.sqrt(2), abs=1e-12)
    assert abs(there @ drawn.axis) < 1e-12


def test_a_shorter_pushrod_is_made_up_by_turning_in() -> None:
    mapping = random_mapping(np.random.default_rng(12), kind="hydraulic")
    drawn, screw = drawn_of(mapping), adjuster("pivot nut")
    shorter = length_after(drawn, screw, array(2.0), array(0.7), array(0.0))
    assert turns_to(drawn, screw, shorter, array(0.7)) == pytest.approx(2.0, abs=1e-9)
    assert shorter < length_after(drawn, screw, array(0.0), array(0.7), array(0.0))


def test_a_setting_out_of_reach_is_not_a_number_of_turns() -> None:
    mapping = random_mapping(np.random.default_rng(12), kind="hydraulic")
    drawn = drawn_of(mapping)
    length = array(raw_loop.length(mapping, TRAIN))
    assert np.isnan(turns_to(drawn, adjuster("lifter screw"), length - 60.0, array(0.7)))
