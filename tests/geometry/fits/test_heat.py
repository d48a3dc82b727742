"""What is left of a setting hot."""

from __future__ import annotations

import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.fits import heat


@pytest.mark.parametrize(
    ("there", "kind", "said"),
    [(0.1, "lash", ""), (0.1, "preload", ""), (0.0, "lash", "held off its seat"), (-0.1, "preload", "slack")],
)
def test_what_is_left_hot(there: float, kind: str, said: str) -> None:
    """Of `_held_open` alone: exactly at nought."""
    found = heat._held_open(array(there), kind)
    assert said in found
    assert bool(found) == bool(said)
