"""One flank: exact where its pace is even, and its table against integrals and differences where it is not."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.cam.flank import TERMS, flank, flanks, label_at, lift_of, powers

PEAK = 8.0
UNEVEN = 0.3 * np.random.default_rng(5).normal(size=TERMS) / (1 + np.arange(TERMS))


@pytest.mark.parametrize("length", [1.0, 1.3])
def test_an_even_pace_makes_the_simple_curve_of_its_length(length: float) -> None:
    """Lift 8 (1 - x²)³, x : share of the length; its derivatives by hand."""
    terms = np.zeros(TERMS)
    terms[0] = np.log(length)
    found = flank(PEAK, terms)
    assert found.heel == pytest.approx(length, rel=1e-13)
    x = np.linspace(0.0, 1.2, 40)
    rest = np.maximum(1 - x**2, 0.0)
    np.testing.assert_allclose(found.lift(length * x), PEAK * rest**3, atol=1e-10)
    np.testing.assert_allclose(found.lift(length * x, 1), -6 * PEAK * x * rest**2 / length, atol=1e-9)
    bend = 6 * PEAK * rest * (5 * x**2 - 1) / length**2
    np.testing.assert_allclose(found.lift(length * x, 2), bend, atol=1e-8)


def test_the_angle_of_a_label_is_the_integral_of_its_pace() -> None:
    found = flank(PEAK, UNEVEN)
    for label in (0.05, 0.37, 0.72, 1.0):
        angle, _ = quad(lambda w: (np.exp(powers(np.array(w)) @ UNEVEN)).item(), 0.0, label, epsabs=1e-13)
        assert float(found.label(np.array(angle - 1e-12))) == pytest.approx(label, abs=1e-7)
    assert float(found.heel) == pytest.approx(angle, abs=1e-10)


def test_lift_falls_all_the_way_and_its_derivatives_are_those_of_one_curve() -> None:
    found = flank(PEAK, UNEVEN)
    angle, step = np.linspace(0.01, float(found.heel) - 0.01, 300), 1e-5
    assert (np.diff(found.lift(angle)) < 0).all()
    for order in (1, 2):
        by_difference = (found.lift(angle + step, order - 1) - found.lift(angle - step, order - 1)) / (
            2 * step
        )
        np.testing.assert_allclose(found.lift(angle, order), by_difference, atol=2e-4 * PEAK)
    label = found.label(angle)
    np.testing.assert_allclose(found.speed(label), -found.lift(angle, 1), rtol=1e-4)
    assert found.lift(np.array([0.0]), 1) == pytest.approx(0.0)


def test_what_a_term_does_to_an_angle_against_a_difference() -> None:
    label, step = np.array([0.1, 0.5, 0.9]), 1e-6
    growth = flank(PEAK, UNEVEN).growth(label)
    for term in range(TERMS):
        ends = []
        for way in (step, -step):
            terms = UNEVEN.copy()
            terms[term] += way
            moved = flank(PEAK, terms)
            low, high = np.zeros(3), np.full(3, float(moved.heel))
            for _ in range(60):  # the angle at which the label is reached, by halving
                middle = (low + high) / 2
                under = moved.label(middle) < label
                low, high = np.where(under, middle, low), np.where(under, high, middle)
            ends.append((low + high) / 2)
        np.testing.assert_allclose(growth[:, term], (ends[0] - ends[1]) / (2 * step), atol=2e-4)


def test_many_flanks_are_each_alone() -> None:
    some = np.stack([UNEVEN, -UNEVEN, np.zeros(TERMS)])
    angle = np.array([0.2, 0.4, 0.6])
    together = flanks(PEAK, some).lift(angle)
    alone = [float(flank(PEAK, one).lift(at)) for one, at in zip(some, angle, strict=True)]
    assert together == pytest.approx(alone)


def test_label_and_lift_are_inverses_between_nought_and_the_peak() -> None:
    lift = np.array([0.0, 0.3, 5.0, PEAK])
    assert lift_of(label_at(lift, PEAK), PEAK) == pytest.approx(lift)
    assert label_at(np.array([-1.0, 9.0]), PEAK).tolist() == [1.0, 0.0]
