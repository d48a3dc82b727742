"""Laws of a lobe: they rise from nothing to all, against their closed forms and derivatives."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from tallstack.geometry.cam.law import LAWS, law_lobe, rise

PEAK_FACTORS = [  # closed forms for a rise of 1 in an angle of 1; Norton, Design of Machinery,
    # table 8-3 (from memory; its digits differ by up to 0.2 %), each derived from the law itself
    ("cycloidal", 2.0, 2 * np.pi),
    ("3-4-5", 15 / 8, 10 / np.sqrt(3)),
    ("4-5-6-7", 35 / 16, 84 * np.sqrt(5) / 25),
    ("modified-sine", 4 * np.pi / (4 + np.pi), 4 * np.pi**2 / (4 + np.pi)),
]


@pytest.mark.parametrize("law", LAWS)
def test_laws_rise_from_nothing_to_all_and_are_symmetric(law: str) -> None:
    share = np.linspace(0.0, 1.0, 2001)
    lift = rise(law, share)
    assert lift[0] == pytest.approx(0.0, abs=1e-15)
    assert lift[-1] == pytest.approx(1.0, abs=1e-14)
    assert (np.diff(lift) > 0).all()
    np.testing.assert_allclose(lift + lift[::-1], 1.0, atol=1e-14)


@pytest.mark.parametrize(("law", "velocity", "acceleration"), PEAK_FACTORS)
def test_peak_factors_of_the_laws(law: str, velocity: float, acceleration: float) -> None:
    share = np.linspace(0.0, 1.0, 400_001)
    assert rise(law, share, 1).max() == pytest.approx(velocity, rel=1e-9)
    assert rise(law, share, 2).max() == pytest.approx(acceleration, rel=1e-9)
    assert rise(law, share, 2).min() == pytest.approx(-acceleration, rel=1e-9)


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("order", [1, 2])
def test_derivatives_of_the_laws_are_those_of_their_lift(law: str, order: int) -> None:
    share = np.linspace(0.01, 0.99, 971)
    step = 1e-5
    slope = (rise(law, share + step, order - 1) - rise(law, share - step, order - 1)) / (2 * step)
    np.testing.assert_allclose(rise(law, share, order), slope, atol=2e-3 if order == 2 else 1e-7)


def test_no_law_of_another_name() -> None:
    with pytest.raises(ValueError, match="no motion law is called harmonic"):
        rise("harmonic", np.zeros(1))


@pytest.mark.parametrize("law", LAWS)
def test_crossings_of_a_law_against_a_root_of_its_lift(law: str) -> None:
    checks = np.array([0.01, 0.05, 0.508, 1.27, 5.0, 7.99])
    found = law_lobe(law, 8.0, np.radians(290)).crossings(checks)
    for check, opens, closes in zip(checks, *found, strict=True):
        share = brentq(lambda x, c=check: 8.0 * float(rise(law, np.asarray(x))) - c, 0.0, 1.0, xtol=1e-15)
        half = np.radians(290) / 4 * (1 - share)
        assert (opens, closes) == (pytest.approx(-half, abs=1e-10), pytest.approx(half, abs=1e-10))


def test_the_area_of_a_law_is_half_its_height_times_its_length() -> None:
    """Derived: a rise that is symmetric about its middle lies as much above as below the straight line."""
    for law in LAWS:
        area = law_lobe(law, 8.0, np.radians(280)).area()
        assert area == pytest.approx(8.0 / 2 * np.radians(140), rel=1e-6)
