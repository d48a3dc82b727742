"""Where pistons stand: against published displacements, exact dead centres, which way it turns."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.crank.crank import Crank, turns_forward


def test_a_crank_turns_forward_unless_it_is_said_to_turn_backward() -> None:
    assert turns_forward({})
    assert turns_forward({"crank.turns": "forward"})
    assert not turns_forward({"crank.turns": "backward"})


def test_crank_against_the_published_displacements() -> None:
    """OpenFOAM tutorial geometry kivaTest (VERIFIED): connecting rod 0.147, stroke 0.08423; computed digits, m."""
    crank = Crank(array(84.23 / 2), array(147.0), array(0.0), array(0.0))
    expected = {
        10: 0.821848440069356,
        30: 7.158383293616399,
        60: 25.654041189302562,
        90: 48.27705491771758,
        180: 84.23,
    }
    for degrees, descent in expected.items():
        assert crank.descent(array(np.radians(degrees))) == pytest.approx(descent, abs=1e-11)


@pytest.mark.parametrize(
    ("throw", "rod", "offset", "stroke"),
    [(50.0, 150.0, 10.0, 100.25109984371979), (45.5, 151.0, 1.6, 91.00561929625962)],
)
@pytest.mark.parametrize("forward", [True, False])
def test_offset_crank_has_its_dead_centres_where_the_crank_and_rod_are_in_line(
    throw: float, rod: float, offset: float, stroke: float, forward: bool
) -> None:
    """DERIVED: stroke √((l+r)² - e²) - √((l-r)² - e²); angle 0 is the highest point, whichever way it turns."""
    crank = Crank(array(throw), array(rod), array(0.0), array(offset))
    assert crank.travel == pytest.approx(stroke, abs=1e-11)
    angles = np.radians(np.arange(-180.0, 180.0, 0.01))
    heights = crank.height(angles, forward)
    assert heights.max() <= crank.top + 1e-12
    assert abs(angles[heights.argmax()]) < 1e-9
    assert heights.max() - heights.min() == pytest.approx(stroke, abs=1e-6)
