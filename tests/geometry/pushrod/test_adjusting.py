"""What a turn of an adjuster does to a gear, against the part moved by hand."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.adjusters import Adjuster
from tallstack.geometry.pushrod import adjusting
from tallstack.geometry.pushrod.pushrods import required

from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping
from ...seeded import few


def test_a_turn_of_an_adjuster_is_its_flats_together() -> None:
    mapping = random_mapping(np.random.default_rng(3), kind="hydraulic")
    train = build(mapping).train(TRAIN)  # type: ignore[arg-type]
    none = dict.fromkeys(("axis", "eccentricity", "eccentric_at", "turns_in", "turns_out"))
    screw = Adjuster(kind="pushrod screw", pitch=array(1.0), flats=array(6.0), **none)  # type: ignore[arg-type]
    found = adjusting.setting(train._replace(adjuster=screw), required(train))
    assert found is not None
    assert found.per_turn == pytest.approx(1.0, rel=0.05)  # a longer pushrod goes into the lifter
    assert found.per_flat == pytest.approx(1.0 / 6.0, rel=0.05)


PITCH = 25.4 / 24


def adjuster(kind: str, axis: Array | None = None, **more: Array) -> Adjuster:
    none = dict.fromkeys(("flats", "eccentricity", "eccentric_at", "turns_in", "turns_out"))
    return Adjuster(kind=kind, pitch=array(PITCH), axis=axis, **{**none, **more})  # type: ignore[arg-type]


def shifted(mapping: dict[str, object], entry: str, vector: np.ndarray) -> dict[str, object]:
    moved = {
        f"{TRAIN}.{entry}.{axis}": mapping[f"{TRAIN}.{entry}.{axis}"] + vector[i]
        for i, axis in enumerate("xyz")
    }
    return {**mapping, **moved}


@pytest.mark.parametrize("kind", ["hydraulic", "solid"])
@pytest.mark.parametrize("at", few([0.4, 2.8, 4.0, 1.5, 5.5], 2))  # out of reach, and about either way
@pytest.mark.parametrize("seed", few(range(3), 1))
def test_an_eccentric_is_turned_to_what_the_raw_loop_gives_with_its_pivot_moved_by_hand(
    seed: int, at: float, kind: str
) -> None:
    mapping = random_mapping(np.random.default_rng([seed, 21]), kind=kind)  # type: ignore[arg-type]
    wish = "preload" if kind == "hydraulic" else "lash"
    mapping[f"{TRAIN}.lifter.{wish}"] = 0.4
    train = build(mapping).train(TRAIN)  # type: ignore[arg-type]
    shaft = adjuster("eccentric shaft", eccentricity=array(1.4), eccentric_at=array(at))
    found = adjusting.setting(train._replace(adjuster=shaft), required(train))
    assert found is not None
    length, axis = raw_loop.length(mapping, TRAIN), raw_loop.points(mapping, TRAIN).a
    upright = np.array([0.0, 0.0, 1.0]) - axis[2] * axis
    upright /= np.linalg.norm(upright)

    def given(degrees: float) -> float:
        """Return the preload or lash with the pivot carried round by so many degrees about the shaft's direction."""
        ends = [at, at + np.radians(degrees)]
        spots = [1.4 * (np.cos(one) * upright + np.sin(one) * np.cross(axis, upright)) for one in ends]
        there = shifted(mapping, "rocker.shaft", spots[1] - spots[0])
        if kind == "hydraulic":
            return float(raw_loop.preload(there, TRAIN, length))
        return float(raw_loop.lash(there, TRAIN, length).lash_mm)

    # From where it stands, the way that takes up lash, in steps of 2 degrees as long as it does.
    assert found.turns is None or found.turns * (1 if kind == "hydraulic" else -1) > 0
    step = 2.0 * found.about
    assert (given(step / 20) > given(-step / 20)) == (kind == "hydraulic")
    turns = [way * 2.0 for way in range(-60, 61)]
    values = np.array([given(found.about * one) for one in turns])
    values = values if kind == "hydraulic" else -values
    middle = 60
    up = middle + int(np.logical_and.accumulate(np.diff(values[middle:]) > 0).sum())
    down = middle - int(np.logical_and.accumulate(np.diff(values[: middle + 1])[::-1] > 0).sum())
    zero, wanted = 0.0, 0.4 if kind == "hydraulic" else -0.4
    reached = [float(np.interp(one, values[down : up + 1], turns[down : up + 1])) for one in (zero, wanted)]
    if values[down] < min(zero, wanted) and values[up] > max(zero, wanted):
        assert found.turns is not None
        assert found.turns * 360 == pytest.approx(reached[1] - reached[0], abs=0.2)
        assert found.per_degree == pytest.approx(
            (given(found.about * (reached[0] + 1)) - given(found.about * reached[0])), rel=0.02
        )
    else:
        assert found.turns is None or values[down] < min(zero, wanted) + 0.02
    assert found.per_turn is None
    assert found.shortest is not None
    assert found.longest is not None
    assert found.shortest < length < found.longest
    assert found.longest - found.shortest < 2 * 1.4 * 3
