"""A valve's head: its rim is a circle about the stem, at the face and at the top of its margin."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array, from_lean, norm, point
from tallstack.geometry.piston.head import Head, rim

TURN = np.linspace(0.0, 2 * np.pi, 25)
HEADS = Head(
    np.stack([point(-20.0, 0.0, 8.0), point(18.0, 3.0, 6.0)]), from_lean([-0.4, 0.3], [0.0, 0.1]), array([20.0, 17.0]), array([1.3, 1.0])
)  # fmt: skip


@pytest.mark.parametrize("up", [0.0, 1.0, 0.5])
def test_the_rim_lies_at_its_radius_square_to_the_stem(up: float) -> None:
    seen = rim(HEADS.spread(), TURN, up) - HEADS.spread().centre
    assert seen.shape == (2, 25, 3)
    along = np.vecdot(seen, HEADS.spread().stem)
    np.testing.assert_allclose(along, (up * HEADS.margin)[:, None] * np.ones(25), atol=1e-12)
    across = norm(seen - along[..., None] * HEADS.spread().stem)
    np.testing.assert_allclose(across, HEADS.radius[:, None] * np.ones(25), rtol=1e-12)
    np.testing.assert_allclose(seen[:, 0], seen[:, -1], atol=1e-12)  # once round


def test_some_of_a_batch_are_those_heads() -> None:
    assert HEADS.shape == (2,)
    second = HEADS.pick((2,), np.array([False, True]))
    np.testing.assert_array_equal(second.centre, HEADS.centre[1:])
    np.testing.assert_array_equal(rim(second, TURN[:1]), rim(Head(*(one[1] for one in HEADS)), TURN[:1]))
