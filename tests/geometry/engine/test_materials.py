"""Every material has figures of the trade, in the steps that handbooks give."""

from __future__ import annotations

import pytest
from tallstack.geometry.engine.materials import MATERIALS


def test_moduli_are_in_whole_giga_pascals_and_strengths_in_fives() -> None:
    for one in MATERIALS.values():
        assert one.modulus % 1000.0 == 0.0
        assert one.strength % 5.0 == 0.0
        assert one.expansion * 1e7 == pytest.approx(round(one.expansion * 1e7))
