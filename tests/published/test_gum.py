"""JCGM 100:2008, annex H.1: an end gauge compared with a standard of the same nominal length.

The model is l = lS + d - lS (dα θ + αS dθ); the inputs, their uncertainties and degrees of freedom are those of the
annex, as a published package for the same purpose has them in its examples. Lengths in nm.
"""

from __future__ import annotations

import math
import statistics

import pytest
from tallstack.geometry.doubt.budget import Budget, Doubt, budget, repeated
from tallstack.geometry.doubt.coverage import SHARE, coverage_factor, quantile

STANDARD = 50000623.0
SLOPES = {
    "lS": 1.0,
    "d, repeated": 1.0,
    "d, random": 1.0,
    "d, systematic": 1.0,
    "d alpha": -STANDARD * -0.1,
    "d theta": -STANDARD * 11.5e-6,
}
DOUBTS = {
    "lS": Doubt(25.0, 1.0, 18.0),
    "d, repeated": Doubt(5.8, 1.0, 24.0),
    "d, random": Doubt(3.9, 1.0, 5.0),
    "d, systematic": Doubt(6.7, 1.0, 8.0),
    "d alpha": Doubt(1e-6, None, 50.0),
    "d theta": Doubt(0.05, None, 2.0),
}


@pytest.fixture
def gauge() -> Budget:
    return budget(SLOPES, DOUBTS, 0.0)


def test_combined_uncertainty_and_its_degrees_of_freedom(gauge: Budget) -> None:
    assert gauge.standard == pytest.approx(31.663879111008633, rel=1e-12)  # published: 32 nm
    assert gauge.freedom == pytest.approx(16.751855737627242, rel=1e-12)  # published: 16, cut down
    assert math.fsum(gauge.shares.values()) == pytest.approx(1.0)
    assert gauge.undoubted == ()


def test_contributions(gauge: Budget) -> None:
    parts = {entry: math.sqrt(share) * gauge.standard for entry, share in gauge.shares.items()}
    assert parts["lS"] == pytest.approx(25.0)
    assert parts["d alpha"] == pytest.approx(2.8867873148698995, rel=1e-12)
    assert parts["d theta"] == pytest.approx(16.599027060501925, rel=1e-12)
    of_difference = math.hypot(*(part for entry, part in parts.items() if entry.startswith("d,")))
    assert of_difference == pytest.approx(9.681941953967707, rel=1e-12)


def test_expanded_uncertainty(gauge: Budget) -> None:
    assert quantile(0.99, 16) == pytest.approx(2.9207816224251, rel=1e-12)  # published: 2.92
    assert quantile(0.99, 16) * gauge.standard == pytest.approx(92.483276202, rel=1e-9)
    assert quantile(0.95, 16) * gauge.standard == pytest.approx(67.12442512132839, rel=1e-9)
    assert gauge.expanded == pytest.approx(quantile(SHARE, 16) * gauge.standard, rel=1e-12)


@pytest.mark.parametrize(
    ("free", "factor"),
    [(1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (5, 2.65), (6, 2.52), (7, 2.43), (8, 2.37), (10, 2.28),
     (20, 2.13), (50, 2.05), (100, 2.025)],
)  # fmt: skip
def test_the_factor_is_that_of_table_g2(free: int, factor: float) -> None:
    """Its column of 95.45 percent."""
    assert coverage_factor(free) == pytest.approx(factor, abs=0.0051)
    assert coverage_factor(free + 0.99) == coverage_factor(free)


def test_the_factor_ends_at_two() -> None:
    assert coverage_factor(math.inf) == 2.0
    assert coverage_factor(0.4) == coverage_factor(1)
    assert coverage_factor(1999) == pytest.approx(2.0, abs=2e-3)


def test_repeated_readings() -> None:
    read = [4.935, 4.936, 4.9345]
    mean, doubt = repeated(read)
    assert mean == pytest.approx(statistics.fmean(read))
    assert doubt.standard == pytest.approx(statistics.stdev(read) / math.sqrt(3))
    assert doubt.freedom == 2


def test_what_is_widened_is_known_better() -> None:
    """Another doubt of endless degrees of freedom, by the formula for all of them at once."""
    one = budget({"a": 2.0}, {"a": Doubt(0.3, 1.0, 4.0)}, 0.0)
    both = budget({"a": 2.0, "b": 1.0}, {"a": Doubt(0.3, 1.0, 4.0), "b": Doubt(0.5, 1.0)}, 0.0)
    assert one.widened(0.5).standard == pytest.approx(both.standard)
    assert one.widened(0.5).freedom == pytest.approx(both.freedom)
    assert one.widened(0.5).expanded < coverage_factor(4) * both.standard
