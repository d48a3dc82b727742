"""Springs, columns, contact, displacement and expansion against published examples.

Read in public companion notebooks and tables, not in the books themselves, unless said otherwise; each value
carries its book, edition or example. Computed digits are exact evaluations of the same formula.
"""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.engine.materials import MATERIALS
from tallstack.geometry.fits.column import buckling_load, contact_pressure
from tallstack.geometry.fits.springs import rate
from tallstack.geometry.fits.volume import displacement

INCH = 25.4
LBF = 4.4482216152605
PSI = 6894.757293168361e-6


def test_spring_rate_wentzell_example_8_2() -> None:
    """Wentzell, Machine Design, Ex. 8.2 (p. 163): d 0.105, D 0.620 in, G 11.85e6 psi, k 70.00 lb/in."""
    coils = 10.792261282245477
    found = rate(array(0.105 * INCH), array(0.620 * INCH), array(coils), array(11.85e6 * PSI))
    assert float(found) / (LBF / INCH) == pytest.approx(70.00, abs=0.005)


def test_spring_rate_jindal_example_8_1() -> None:
    """Jindal, Machine Design, Ex. 8-1 (p. 224): d 5, D 30 mm, G 84 GPa, n 15, k 16.2 N/mm."""
    assert float(rate(array(5.0), array(30.0), array(15.0), array(84000.0))) == pytest.approx(
        16.203703703703702
    )


def test_spring_rate_shigley_example_10_1() -> None:
    """Shigley, Mechanical Engineering Design, Ex. 10-1, from memory: k 4.13 lbf/in."""
    found = rate(array(0.037 * INCH), array(0.363 * INCH + 0.037 * INCH), array(10.5), array(11.85e6 * PSI))
    assert float(found) / (LBF / INCH) == pytest.approx(4.131102650669641, rel=1e-9)


def solid(diameter: float, length: float, modulus: float, strength: float) -> float:
    return float(buckling_load(array(length), array(diameter), array(0.0), array(modulus), array(strength)))


def test_euler_column_wentzell_example_3_5() -> None:
    """Wentzell, Ex. 3.5 (p. 53): round 5/8 in, L 30 in, E 30e6, Sy 42000 psi, pinned: 2464 lb."""
    found = solid(0.625 * INCH, 30 * INCH, 30e6 * PSI, 42000 * PSI) / LBF
    assert found == pytest.approx(2464, abs=0.5)


def test_tube_pinned_at_both_ends() -> None:
    """A public exercise: OD 44.5, wall 2.5 mm, L 2.7 m, E 200 GPa; and at 1.5 m with Sy 324 MPa, where Johnson rules."""
    outer, inner = array(44.5), array(39.5)
    slender = buckling_load(array(2700.0), outer, inner, array(200000.0), array(324.0))
    assert float(slender) == pytest.approx(19764.507667340808, rel=1e-9)
    stocky = buckling_load(array(1500.0), outer, inner, array(200000.0), array(324.0))
    assert float(stocky) == pytest.approx(62282.88634, rel=1e-8)


def test_johnson_column_shigley_example_4_17() -> None:
    """Shigley, Ex. 4-17, from memory: a 37.48 mm round, L 1.5 m, carries 88 kN; 19.02 mm at 375 mm needs Johnson."""
    assert solid(37.484895130094095, 1500.0, 207000.0, 500.0) == pytest.approx(88000.0, rel=1e-6)


def test_johnson_meets_euler_where_they_change_over() -> None:
    modulus, strength, outer = 207000.0, 500.0, 10.0
    slender = np.sqrt(2 * np.pi**2 * modulus / strength)
    length = slender * outer / 4  # radius of gyration of a round bar
    below, above = (solid(outer, length * share, modulus, strength) for share in (1 - 1e-9, 1 + 1e-9))
    assert below == pytest.approx(above, rel=1e-6)
    assert below == pytest.approx(np.pi / 4 * outer**2 * strength / 2, rel=1e-6)


def test_ball_in_a_cup() -> None:
    """5/16 in ball in a cup of radius 0.160 in, 300 lbf, E 30e6 psi, nu 0.29: derived with Hertz's formulas."""
    found = contact_pressure(
        array(300 * LBF), array(5 / 32 * INCH), array(0.160 * INCH), array(30e6 * PSI), 0.29
    )
    assert float(found) / PSI == pytest.approx(70495.91228, rel=1e-8)


@pytest.mark.parametrize(
    ("bore", "stroke", "swept"),
    [
        (250.0, 375.0, 18407.769454627694),  # Rajput, Internal Combustion Engines, Ex. 3.8 (p. 89-96)
        (
            200.0,
            250.0,
            7853.981633974483,
        ),  # Gupta, Fundamentals of Internal Combustion Engines, Ex. 2.1 (p. 44)
        (97.0, 108.0, 798.0996224959),  # half of a two-cylinder engine of 1596.199 cm3, derived
    ],
)
def test_swept_volume(bore: float, stroke: float, swept: float) -> None:
    mapping = {"stack.bore": bore, "crank.stroke": stroke, "crank.conrod_length": 4 * stroke}
    found = displacement(mapping, "front")
    assert isinstance(found, dict)
    assert float(found["displacement"].value) == pytest.approx(swept, rel=1e-9)


def test_linear_expansions_of_callister() -> None:
    """Callister, Fundamentals of Materials Science and Engineering, Appendix B, Table B.6, 1e-6 per C."""
    printed = {
        "aluminium": 23.6,
        "cast aluminium": 21.5,
        "grey iron": 11.4,
        "ductile iron": 11.2,
        "steel": 12.3,
        "mild steel": 11.7,
        "stainless steel": 17.2,
        "titanium": 8.6,
    }
    assert {name: round(one.expansion * 1e6, 6) for name, one in MATERIALS.items()} == printed
