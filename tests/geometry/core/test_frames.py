"""Where points stand: the stack, cuts, sunk valves, lowered lifters, and the engine frame."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry import build, required
from tallstack.geometry.core.frames import (
    combined_lean,
    from_angles,
    from_lean,
    norm,
    point,
    to_engine,
    whole_lean,
)

from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping

CLOSE_MM = 1e-9


def length(mapping: dict[str, object]) -> float:
    return float(required(build(mapping).train(TRAIN)).lengths["centres"])  # type: ignore[arg-type]


def moved(mapping: dict[str, object], entry: str, vector: np.ndarray) -> dict[str, object]:
    """Return the mapping with one raw point moved by a vector, by plain addition."""
    shifted = {
        f"{TRAIN}.{entry}.{axis}": mapping[f"{TRAIN}.{entry}.{axis}"] + vector[i]
        for i, axis in enumerate("xyz")
    }
    return {**mapping, **shifted}


def raised(mapping: dict[str, object], entry: str, by: float) -> dict[str, object]:
    return {**mapping, entry: float(mapping.get(entry, 0.0)) + by}  # type: ignore[arg-type]


def down(lean: str, mapping: dict[str, object], by: float) -> np.ndarray:
    tangents = np.tan([mapping[f"{TRAIN}.{lean}.{axis}"] for axis in "xy"])
    vector = np.array([*tangents, 1.0])
    return by * vector / np.sqrt(vector @ vector)


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.parametrize("cut", ["stack.case_cut", "stack.head_cut"])
def test_a_cut_of_a_quarter_millimetre_lowers_the_head_s_points(seed: int, cut: str) -> None:
    mapping = random_mapping(np.random.default_rng(seed))
    by_hand = mapping
    for entry in ("rocker.shaft", "valve.face"):
        by_hand = moved(by_hand, entry, np.array([0.0, 0.0, -0.25]))
    expected = raw_loop.length(by_hand, TRAIN)
    assert length(raised(mapping, cut, 0.25)) == pytest.approx(expected, abs=CLOSE_MM)
    assert abs(expected - length(mapping)) > 0.1  # the cut does change the length


@pytest.mark.parametrize("seed", range(25))
def test_a_valve_sunk_moves_face_and_tip_into_the_head(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng(seed))
    by_hand = moved(mapping, "valve.face", down("valve.lean", mapping, 0.3))
    expected = raw_loop.length(by_hand, TRAIN)
    assert length(raised(mapping, f"{TRAIN}.valve.sink", 0.3)) == pytest.approx(expected, abs=CLOSE_MM)
    assert abs(expected - length(mapping)) > 0.05


@pytest.mark.parametrize("seed", range(25))
def test_a_lifter_lowered_moves_its_seat_back_along_its_axis(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng(seed))
    by_hand = moved(mapping, "lifter.seat", -down("lifter.lean", mapping, 0.4))
    expected = raw_loop.length(by_hand, TRAIN)
    assert length(raised(mapping, f"{TRAIN}.lifter.lowered", 0.4)) == pytest.approx(expected, abs=CLOSE_MM)
    assert abs(expected - length(mapping)) > 0.3


def test_a_taller_cylinder_moves_the_head_by_as_much_along_the_axis() -> None:
    mapping = random_mapping(np.random.default_rng(3))
    grown = length(raised(mapping, "stack.cylinder", 5.0)) - length(mapping)
    assert 4.0 < grown < 5.0


@pytest.mark.parametrize(
    ("vee", "twice_sine", "cosine"),
    [  # cylinder axes at plus and minus half the V angle, exact special cases
        (45, 0.7653668647301796, 0.9238795325112867),
        (52, 0.8767422935781548, 0.898794046299167),
        (60, 1.0, 0.8660254037844387),
        (72, 1.1755705045849463, 0.8090169943749475),
        (90, 1.4142135623730951, 0.7071067811865476),
        (120, 1.7320508075688772, 0.5),
    ],
)
def test_heads_of_a_vee_move_apart_and_up(vee: int, twice_sine: float, cosine: float) -> None:
    lean = np.radians([vee / 2, -vee / 2])
    rise = to_engine(point(0.0, 0.0, 1.0), lean)
    assert rise[0, 0] - rise[1, 0] == pytest.approx(twice_sine, abs=1e-15)
    assert rise[:, 2] == pytest.approx([cosine, cosine], abs=1e-15)


def test_the_cylinder_frame_is_right_handed_in_the_engine_frame() -> None:
    lean = np.radians(33.0)
    x, y, z = (to_engine(point(*np.eye(3)[i]), lean) for i in range(3))
    np.testing.assert_allclose(np.cross(y, z), x, atol=1e-15)
    np.testing.assert_allclose(z, [np.sin(lean), 0.0, np.cos(lean)], atol=1e-15)


def test_whole_lean_of_two_views() -> None:
    pair = np.radians([12.0, -5.0])
    assert whole_lean(from_lean(*pair)) == pytest.approx(combined_lean(*pair), abs=1e-15)
    assert whole_lean(from_lean(np.radians(1e-6), 0.0)) == pytest.approx(np.radians(1e-6), rel=1e-12)


@pytest.mark.parametrize("shape", [(), (1,), (2,), (3,), (4,), (2, 3)])
def test_directions_broadcast_over_any_leading_shape(shape: tuple[int, ...]) -> None:
    assert from_lean(np.zeros(shape), 0.1).shape == (*shape, 3)
    assert whole_lean(from_lean(np.full(shape, 0.2), 0.0)).shape == shape


@pytest.mark.parametrize("count", [1, 5000])
def test_lengths_of_few_and_many_vectors(count: int) -> None:
    assert norm(np.tile([3.0, 4.0], (count, 1))).tolist() == [5.0] * count
    assert norm(np.tile([2.0, 3.0, 6.0], (count, 1))).tolist() == [7.0] * count


def test_a_direction_by_two_angles_is_the_vector_that_has_them() -> None:
    """Against the angles measured back from random vectors, to 1e-12, and the three axes."""
    rng = np.random.default_rng(22)
    vectors = rng.normal(size=(1000, 3))
    vectors /= np.linalg.norm(vectors, axis=-1)[:, None]
    around = np.arctan2(vectors[:, 0], vectors[:, 1])
    up = np.arcsin(vectors[:, 2])
    assert np.abs(from_angles(around, up) - vectors).max() < 1e-12
    axes = from_angles(np.radians([90.0, 0.0, 0.0]), np.radians([0.0, 0.0, 90.0]))
    assert np.abs(axes - np.eye(3)).max() < 1e-15
