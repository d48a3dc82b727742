"""A spigot as a solid, and the search of the nearest place on it."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.fits import spigot


@pytest.mark.parametrize("at", [0.0, 0.2, 0.5, 0.7, 1.0])
def test_golden_cuts_close_in_from_either_side(at: float) -> None:
    """Of `_golden` alone, at both ends of its reach."""
    found = spigot._golden(lambda share: np.abs(share - at), (1,), spigot.FINE)
    assert found == pytest.approx([0.0], abs=1e-6)
