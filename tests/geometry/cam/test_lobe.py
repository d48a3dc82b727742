"""A lobe's readings-off against brute force, series and splines, its place on the crank."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tallstack.geometry.cam.law import LAWS, law_lobe
from tallstack.geometry.cam.lobe import GRID, Lobe, Pieces, Series, Spline, about, placed
from tallstack.geometry.crank.heels import TURN


def lopsided() -> Lobe:
    """A smooth lobe with unlike flanks: a bell of the angle and its own harmonic, as a series."""
    cosines, sines = np.zeros(12), np.zeros(12)
    cosines[:5] = (3.0, 1.4, 0.4, 0.05, 0.01)
    sines[:4] = (0.3, 0.25, 0.1, 0.02)
    return Lobe(Series(1.0, cosines, sines))


@pytest.mark.parametrize("lobe", [*(law_lobe(law, 8.0, np.radians(290)) for law in LAWS), lopsided()])
def test_velocity_and_acceleration_are_the_lifts_derivatives(lobe: Lobe) -> None:
    angle = np.linspace(-3.0, 9.0, 4001)
    step = 1e-5
    slope = (lobe.lift(angle + step) - lobe.lift(angle - step)) / (2 * step)
    bend = (lobe.velocity(angle + step) - lobe.velocity(angle - step)) / (2 * step)
    np.testing.assert_allclose(lobe.velocity(angle), slope, atol=1e-3)
    np.testing.assert_allclose(lobe.acceleration(angle), bend, atol=2e-2)
    np.testing.assert_allclose(lobe.lift(angle), lobe.lift(angle + 2 * np.pi), atol=1e-12)


@pytest.mark.parametrize("angle", [0.0, 0.3, -3.1, 3.1])
def test_angles_about_nought_are_the_same_any_turns_later(angle: float) -> None:
    turned = angle + TURN * np.arange(-3, 4)
    np.testing.assert_allclose(about(turned), angle, atol=1e-14)


@pytest.mark.parametrize("shape", [(), (1,), (4,), (2, 3)])
def test_every_shape_of_angles_and_checks(shape: tuple[int, ...]) -> None:
    lobe = lopsided()
    assert lobe.lift(np.full(shape, 0.3)).shape == shape
    assert law_lobe("3-4-5", 8.0, 5.0).lift(np.full(shape, 0.3)).shape == shape
    found = lobe.crossings(np.full(shape, 2.0))
    assert found.opens.shape == found.closes.shape == shape


def test_crossings_lie_on_the_lobe_and_a_lobe_that_stays_below_has_none() -> None:
    lobe = lopsided()
    angle, peak = lobe.peak()
    assert lobe.velocity(np.asarray(angle)) == pytest.approx(0.0, abs=1e-9)
    assert peak >= lobe.lift(GRID).max()
    checks = np.linspace(0.3, peak - 1e-3, 40)
    found = lobe.crossings(checks)
    np.testing.assert_allclose(lobe.lift(found.opens), checks, atol=1e-9)
    np.testing.assert_allclose(lobe.lift(found.closes), checks, atol=1e-9)
    assert (lobe.velocity(found.opens) > 0).all()
    assert (lobe.velocity(found.closes) < 0).all()
    assert np.isnan(lobe.crossings(np.array([peak + 1e-6, 99.0])).opens).all()
    assert np.isnan(lobe.crossings(np.asarray(lobe.lift(GRID).min() - 1)).closes)  # never so low


def test_the_middle_of_unlike_flanks_is_not_the_peak() -> None:
    lobe = lopsided()
    found = lobe.crossings(np.asarray(1.27))
    assert lobe.middle() == pytest.approx(float(found.opens + found.closes) / 2)
    assert abs(lobe.middle() - lobe.peak()[0]) > np.radians(0.2)
    assert abs(lobe.asymmetry()) > np.radians(0.2)
    assert law_lobe("cycloidal", 8.0, 5.0).asymmetry() == pytest.approx(0.0, abs=1e-9)


def test_the_crank_turns_twice_as_fast_as_the_cam() -> None:
    lobe = law_lobe("4-5-6-7", 8.0, np.radians(280))
    on_crank = placed(lobe, "intake", np.radians(108), np.radians(3))
    assert np.degrees(on_crank.at) == pytest.approx(105)
    assert on_crank.lift(np.radians(105.0)) == pytest.approx(8.0)
    assert on_crank.lift(np.radians([105 - 140.5, 105 + 140.5])) == pytest.approx([0, 0])
    crank, step = np.radians(60.0), 1e-6
    slope = (on_crank.lift(crank + step) - on_crank.lift(crank - step)) / (2 * step)
    assert on_crank.velocity(crank) == pytest.approx(slope, rel=1e-6)


@given(
    durations=st.tuples(st.floats(200, 300), st.floats(200, 300)),
    centres=st.tuples(st.floats(95, 120), st.floats(95, 120)),
    advance=st.floats(-8, 8),
)
def test_the_timing_identities(
    durations: tuple[float, float], centres: tuple[float, float], advance: float
) -> None:
    """Common practice: overlap = half the durations' sum - 2 lobe separations; the events add up."""
    check = 1.0
    lobes = [law_lobe("cycloidal", 9.0, np.radians(one)) for one in durations]
    intake, exhaust = (
        placed(lobe, port, np.radians(centre), np.radians(advance))
        for lobe, port, centre in zip(lobes, ("intake", "exhaust"), centres, strict=True)
    )
    opens = [one.opening(check) for one in (intake, exhaust)]
    assert opens[0] is not None
    assert opens[1] is not None
    length = [float(lobe.crossings(np.asarray(check)).duration) * 2 for lobe in lobes]
    separation = (intake.at - exhaust.at) / 2  # of the cam
    assert np.degrees(separation) == pytest.approx(sum(centres) / 2)
    assert opens[1].closes - opens[0].opens == pytest.approx(sum(length) / 2 - 2 * separation)
    opened, closed = -opens[0].opens, opens[0].closes - np.pi  # before top, after bottom centre
    assert opened + closed + np.pi == pytest.approx(length[0])
    assert length[0] / 2 - opened == pytest.approx(np.radians(centres[0] - advance))


def test_a_lobe_that_never_lifts_so_far_has_no_opening() -> None:
    assert placed(law_lobe("3-4-5", 2.0, 5.0), "intake", 1.9).opening(3.0) is None


@pytest.mark.parametrize("order", [0, 1, 2])
def test_a_series_in_pieces_is_the_series(order: int) -> None:
    rng = np.random.default_rng(4)
    size = 5.0 / np.arange(1, 61) ** 1.5
    whole = Series(1.3, rng.normal(size=60) * size, rng.normal(size=60) * size)
    at = np.append(rng.uniform(-9, 9, 5000), [0.0, 2 * np.pi, -np.pi])
    np.testing.assert_allclose(
        Pieces.of(whole).at(at, order), whole.at(at, order), rtol=0, atol=(1e-12, 2e-9, 1e-5)[order]
    )


@pytest.mark.parametrize("order", [0, 1, 2])
def test_the_spline_through_a_wave_is_the_wave(order: int) -> None:
    even = 2 * np.pi * np.arange(1440) / 1440
    curve = Spline.through(np.cos(3 * even) + 0.5 * np.sin(5 * even))
    at = np.linspace(-9.0, 9.0, 400)
    exact = 3.0**order * np.cos(3 * at + order * np.pi / 2) + 0.5 * 5.0**order * np.sin(
        5 * at + order * np.pi / 2
    )
    np.testing.assert_allclose(curve.at(at, order), exact, atol=(1e-9, 1e-6, 1e-3)[order])
