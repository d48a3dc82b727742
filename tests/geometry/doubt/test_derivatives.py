"""Derivatives through the mapping; a slope of rounding is none."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.doubt.derivatives import derivatives, told


def test_a_slope_of_rounding_is_none() -> None:
    mapping = {"moves": 3.0, "does not": 4.0}

    def answers(varied):  # type: ignore[no-untyped-def]
        noise = np.where(np.asarray(varied["does not"]) != 4.0, 300 * np.finfo(float).eps, 0.0)
        return {"length": 290.0 + 1e-6 * array(varied["moves"]) + noise}

    slopes = derivatives(mapping, {"moves": {"moves": 1.0}, "does not": {"does not": 1.0}}, answers)["length"]
    assert slopes["does not"] == 0.0
    assert slopes["moves"] == pytest.approx(1e-6, rel=1e-3)
    assert told(array([1e-12, 1.0]), array(np.inf)).tolist() == [0.0, 1.0]
