"""JCGM 101:2008, 9.3 (mass calibration) and 9.4 (comparison loss, with the flat point where a linear budget says nothing).

Estimates and first-order uncertainties as a public regression file for the same examples has them; exact values of
the comparison loss from the moments of squares of normal variates.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from tallstack.geometry.core.frames import Array
from tallstack.geometry.doubt.budget import Doubt, budget
from tallstack.geometry.doubt.draws import chance, differs, draws, shortest, symmetric, told, tolerance

MASS = {
    "mR": Doubt(0.050, 1.0),
    "dmR": Doubt(0.020, 1.0),
    "air": Doubt(0.10),
    "W": Doubt(1000.0),
    "R": Doubt(50.0),
}


def mass(number: int, count: int = 10_000) -> Array:
    """Return the deviation of a mass from nominal in one block of draws [mg]."""
    off = draws(MASS, count, 1, number)
    conventional = 100000.000 + off["mR"] + 1.234 + off["dmR"]
    air = 1.20 + off["air"]
    return conventional * (1 + (air - 1.2) * (1 / (8000.0 + off["W"]) - 1 / (8000.0 + off["R"]))) - 100000.0


def many_masses() -> Array:
    return np.concatenate([mass(number) for number in range(100)])


def test_mass_calibration() -> None:
    found = told(many_masses())
    assert found.steady
    assert found.mean == pytest.approx(1.2340, abs=0.00075)  # steady to 0.0005 by two standard deviations
    assert found.standard == pytest.approx(0.0754, abs=0.0005)
    assert tuple(found.symmetric) == pytest.approx((1.0842, 1.3837), abs=0.002)
    assert tuple(found.shortest) == pytest.approx((1.0850, 1.3845), abs=0.003)


def test_its_linear_budget_differs_from_the_draws_and_says_so() -> None:
    slopes = {"mR": 1.0, "dmR": 1.0, "air": 0.0, "W": 0.0, "R": 0.0}
    linear = budget(slopes, MASS, 0.0)
    assert linear.standard == pytest.approx(0.05385164807134505)
    assert differs(1.234, linear.expanded, told(many_masses()))


@pytest.mark.parametrize(
    ("away", "mean", "standard", "first_order"),
    [
        (0.0, 5e-5, 5e-5, 0.0),
        (0.010, 1.5e-4, 1.118033988749895e-4, 1e-4),
        (0.050, 2.55e-3, 5.024937810560445e-4, 5e-4),
    ],
)
def test_comparison_loss(away: float, mean: float, standard: float, first_order: float) -> None:
    doubts = {"x1": Doubt(0.005, 1.0), "x2": Doubt(0.005, 1.0)}

    def loss(seed: int) -> Array:
        off = draws(doubts, 100_000, seed)
        return (away + off["x1"]) ** 2 + off["x2"] ** 2

    found = told(np.concatenate([loss(seed) for seed in range(10)]))
    assert found.mean == pytest.approx(mean, rel=0.01)
    assert found.standard == pytest.approx(standard, rel=0.01)
    linear = budget({"x1": 2 * away, "x2": 0.0}, doubts, 0.0)
    assert linear.standard == pytest.approx(first_order)
    if away == 0.0:
        assert found.shortest.low == pytest.approx(0.0, abs=2e-6)
        assert found.shortest.high == pytest.approx(-2 * 0.005**2 * math.log(0.05), rel=0.01)
        assert differs(0.0, linear.expanded, found)


def test_each_quantity_has_its_own_stream() -> None:
    few = draws({"a": Doubt(1.0), "b": Doubt(1.0)}, 1000, 7)
    more = draws({"b": Doubt(1.0), "c": Doubt(2.0, 1.0), "a": Doubt(1.0)}, 1000, 7)
    assert (few["a"] == more["a"]).all()
    assert (few["b"] == more["b"]).all()
    assert abs(float(np.corrcoef(few["a"], few["b"])[0, 1])) < 0.1
    assert not (draws({"a": Doubt(1.0)}, 1000, 8)["a"] == few["a"]).any()


@pytest.mark.parametrize(
    ("doubt", "law"),
    [
        (Doubt(0.3), stats.uniform(-0.3, 0.6)),
        (Doubt(0.3, 1.0), stats.norm(0, 0.3)),
        (Doubt(0.3, 2.0), stats.norm(0, 0.15)),
        (Doubt(0.3, 1.0, 4.0), stats.t(4, scale=0.3)),
    ],
)
def test_draws_follow_what_was_stated(doubt: Doubt, law: object) -> None:
    found = draws({"entry": doubt}, 20_000, 3)["entry"]
    assert stats.kstest(found, law.cdf).pvalue > 0.01  # type: ignore[attr-defined]


def test_intervals_of_a_known_law() -> None:
    ordered = np.sort(stats.expon.ppf((np.arange(100_000) + 0.5) / 100_000))
    assert tuple(symmetric(ordered)) == pytest.approx((-math.log(0.975), -math.log(0.025)), abs=1e-3)
    assert tuple(shortest(ordered)) == pytest.approx((0.0, -math.log(0.05)), abs=1e-3)
    assert told(ordered).number == 100_000


def test_a_chance_has_its_error() -> None:
    assert chance(250, 1000) == pytest.approx((0.25, math.sqrt(0.25 * 0.75 / 1000)))
    never = chance(0, 1000)
    assert never.share == 0.0
    assert (1 - never.error) ** 1000 == pytest.approx(0.05)


def test_the_tolerance_is_half_of_the_last_digit() -> None:
    assert tolerance(0.035, 2) == pytest.approx(0.0005)
    assert tolerance(0.035, 1) == pytest.approx(0.005)
    assert tolerance(0.0) == 0.0


def test_the_end_gauge_drawn_has_the_second_order_terms() -> None:
    """JCGM 100:2008, H.1.7: products of small quantities, which a linear budget leaves out, make 32 nm 34."""
    off = draws(
        {
            "lS": Doubt(25.0, 1.0),
            "d": Doubt(9.681941953967707, 1.0),
            "alpha": Doubt(2e-6),
            "d alpha": Doubt(1e-6),
            "theta": Doubt(math.hypot(0.2, 0.5 / math.sqrt(2.0)), 1.0),
            "d theta": Doubt(0.05),
        },
        1_000_000,
        1,
    )
    standard = 50000623.0 + off["lS"]
    grown = off["d alpha"] * (-0.1 + off["theta"]) + (11.5e-6 + off["alpha"]) * off["d theta"]
    length = standard + 215.0 + off["d"] - standard * grown
    assert float(length.std()) == pytest.approx(33.80654542952218, abs=4 * 33.8 / math.sqrt(2e6))
    assert float(length.mean()) == pytest.approx(50000838.0, abs=0.15)
