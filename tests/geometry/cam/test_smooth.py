"""The smoothed series of a lobe: waves told exactly, derivatives and penalty against sums, its strength against every fit."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.cam import smooth as lobe_smooth
from tallstack.geometry.cam.smooth import (
    FINE,
    FLAT,
    INFLATION,
    LEAST_FREE,
    STRENGTHS,
    columns,
    derivative,
    mean_columns,
    on_fine,
    penalty,
    smoothed,
    strength,
)

from ...known_lobes import NOISE, cubed, quiet
from ...seeded import few


def test_a_single_wave_on_the_fine_grid() -> None:
    for order in (2, 3):
        wave = np.zeros(7)
        wave[order] = 1.0
        assert lobe_smooth.on_fine(wave) == pytest.approx(np.cos(order * lobe_smooth.FINE), abs=1e-12)


def test_the_spread_of_a_fit_is_that_of_its_readings() -> None:
    angle = np.radians(np.arange(-180.0, 180.0, 10.0)[:31])
    terms = np.r_[0:4, lobe_smooth.HARMONICS + 1 : lobe_smooth.HARMONICS + 4]
    design = lobe_smooth.columns(angle)[:, terms]
    found = lobe_smooth.smoothed(design, np.cos(angle) ** 2, np.diag(np.arange(1.0, 7.0)), 0.1)
    assert ((design @ found.spread) ** 2).sum(axis=1) == pytest.approx(found.leverage)


def test_series_and_its_derivatives_against_differences() -> None:
    terms = np.random.default_rng(3).normal(size=121) / np.append(1, np.tile(np.arange(1, 61) ** 2, 2))
    np.testing.assert_allclose(on_fine(terms), columns(FINE) @ terms, atol=1e-12)
    by_differences = (columns(FINE + 1e-6) - columns(FINE - 1e-6)) @ terms / 2e-6
    np.testing.assert_allclose(on_fine(derivative(terms, 1)), by_differences, atol=1e-6)
    thrice = derivative(derivative(derivative(terms, 1), 1), 1)
    np.testing.assert_allclose(derivative(terms, 3), thrice, rtol=1e-12)
    flat = (FINE > 1) & (FINE < 4)
    np.testing.assert_allclose(mean_columns(flat), columns(FINE[flat]).mean(axis=0), atol=1e-12)


def test_penalty_against_sums_over_the_turn() -> None:
    rng = np.random.default_rng(4)
    weight, flat, harmonics = rng.uniform(0.2, 2, 720), (FINE > 1) & (FINE < 4), 30
    cubes = np.tile(np.arange(1.0, harmonics + 1) ** 3, 2)
    own = rng.normal(size=2 * harmonics)
    terms = np.append(0.0, own / cubes)
    jerk, slope = on_fine(derivative(terms, 3)), on_fine(derivative(terms, 1))
    expected = (weight * jerk**2).mean() + FLAT * (flat * slope**2).mean()
    assert own @ penalty(weight, flat, harmonics) @ own == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("step", few([10.0, 3.0], 1))  # fewer readings than terms, and more
def test_strength_against_every_fit_by_least_squares(step: float) -> None:
    cam = np.radians(np.arange(0.0, 360.0, step))
    lift = cubed(np.degrees(cam) - 183) + np.random.default_rng(6).normal(0, NOISE, len(cam))
    rough = penalty(np.ones(720), (FINE > 5) & (FINE < 6), 30)
    design = columns(cam, 30)
    count = len(lift)
    roots = np.linalg.cholesky(rough).T * np.tile(np.arange(1.0, 31.0) ** 3, 2)
    scores = {}
    for strong in STRENGTHS[STRENGTHS > 1e-9]:
        held = np.hstack([np.zeros((60, 1)), np.sqrt(count * strong) * roots])
        solved = np.linalg.lstsq(np.vstack([design, held]), np.eye(count + 60)[:, :count], rcond=None)[0]
        hat = design @ solved
        free = 1 - INFLATION * np.trace(hat) / count
        if free > LEAST_FREE:
            scores[float(strong)] = float(((lift - hat @ lift) ** 2).sum() / free**2)
    best = min(scores, key=lambda one: scores[one])
    assert strength(design, lift, rough) == pytest.approx(best)
    held = np.vstack([design, np.hstack([np.zeros((60, 1)), np.sqrt(count * best) * roots])])
    by_least_squares = np.linalg.lstsq(held, np.append(lift, np.zeros(60)), rcond=None)[0]
    found = smoothed(design, lift, rough, best)
    np.testing.assert_allclose(found.fitted, design @ by_least_squares, atol=1e-7)
    np.testing.assert_allclose(found.coefficients, by_least_squares, atol=1e-7)
    hat = design @ np.linalg.lstsq(held, np.eye(count + 60)[:, :count], rcond=None)[0]
    np.testing.assert_allclose(found.leverage, np.diag(hat), atol=1e-7)
    np.testing.assert_allclose(design @ found.carried, hat, atol=1e-7)
    np.testing.assert_allclose(((design @ found.spread) ** 2).sum(axis=1), np.diag(hat), atol=1e-7)


def test_strength_of_many_readings_without_noise() -> None:
    """Hardly any penalty is asked for: what rounding leaves of shares that are nothing must not decide."""
    cam = np.arange(-180.0, 180.0, 1.5)
    lift = quiet(cam)
    design, rough = columns(np.radians(cam), 30), penalty(np.ones(720), np.zeros(720, dtype=bool), 30)

    def score(strong: float) -> float:
        found = smoothed(design, lift, rough, strong)
        free = 1 - INFLATION * found.leverage.sum() / len(cam)
        return float(((lift - found.fitted) ** 2).sum() / free**2)

    assert score(strength(design, lift, rough)) == pytest.approx(min(map(score, STRENGTHS[:40])), rel=1e-4)
