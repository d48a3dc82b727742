"""Quantiles and chances against closed forms."""

from __future__ import annotations

import math

import pytest
from scipy.special import chdtrc  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.doubt.distributions import beyond, student


@pytest.mark.parametrize("share", [0.01, 0.5, 0.8, 0.9772, 0.99999])
def test_students_with_one_and_two_degrees_of_freedom(share: float) -> None:
    assert student(share, 1) == pytest.approx(math.tan(math.pi * (share - 0.5)), rel=1e-9, abs=1e-12)
    exact = (2 * share - 1) / math.sqrt(2 * share * (1 - share))
    assert student(share, 2) == pytest.approx(exact, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("square", [0.0, 0.3, 4.0, 40.0])
def test_chi_squared_with_one_two_and_four_degrees_of_freedom(square: float) -> None:
    half = square / 2
    assert beyond(square, 1) == pytest.approx(math.erfc(math.sqrt(half)), rel=1e-12)
    assert beyond(square, 2) == pytest.approx(math.exp(-half), rel=1e-12)
    assert beyond(square, 4) == pytest.approx(math.exp(-half) * (1 + half), rel=1e-12)
    assert beyond(square, 0) == 1.0


@pytest.mark.parametrize("freedom", [1, 2, 3, 7, 12, 45, 200, 3001])
@pytest.mark.parametrize("share", [1e-9, 0.2, 0.9, 1.0, 1.2, 3.0])
def test_chi_squared_as_a_library_has_it(freedom: int, share: float) -> None:
    square = share * freedom
    assert beyond(square, freedom) == pytest.approx(float(chdtrc(freedom, square)), rel=1e-11, abs=1e-300)


def test_the_chance_of_no_number_is_none() -> None:
    assert math.isnan(beyond(math.nan, 3))
    assert beyond(math.inf, 3) == 0.0
    assert beyond(-1e-18, 3) == 1.0
