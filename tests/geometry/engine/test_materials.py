"""Every material has figures of the trade, in the steps that handbooks give."""

from __future__ import annotations

import pytest
from tallstack.geometry.engine.materials import MATERIALS, Material


def test_moduli_are_in_whole_giga_pascals_and_strengths_in_fives() -> None:
    for one in MATERIALS.values():
        assert one.modulus % 1000.0 == 0.0
        assert one.strength % 5.0 == 0.0
        assert one.expansion * 1e7 == pytest.approx(round(one.expansion * 1e7))


def test_every_material_has_its_figures() -> None:
    for name, one in MATERIALS.items():
        assert isinstance(one, Material)
        assert 5e-6 < one.expansion < 30e-6, name
        assert 40000 < one.modulus < 250000, name
