"""A lobe's readings-off against brute force, the laws against closed forms, its place on the crank."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from tallstack.geometry.cam.law import LAWS, law_lobe, rise
from tallstack.geometry.cam.lobe import GRID, Lobe, Pieces, Series, placed

PEAK_FACTORS = [  # closed forms for a rise of 1 in an angle of 1; Norton, Design of Machinery,
    # table 8-3 (from memory; its digits differ by up to 0.2 %), each derived from the law itself
    ("cycloidal", 2.0, 2 * np.pi),
    ("3-4-5", 15 / 8, 10 / np.sqrt(3)),
    ("4-5-6-7", 35 / 16, 84 * np.sqrt(5) / 25),
    ("modified-sine", 4 * np.pi / (4 + np.pi), 4 * np.pi**2 / (4 + np.pi)),
]


def lopsided() -> Lobe:
    """A smooth lobe with unlike flanks: a bell of the angle and its own harmonic, as a series."""
    cosines, sines = np.zeros(12), np.zeros(12)
    cosines[:5] = (3.0, 1.4, 0.4, 0.05, 0.01)
    sines[:4] = (0.3, 0.25, 0.1, 0.02)
    return Lobe(Series(1.0, cosines, sines))


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


@pytest.mark.parametrize("lobe", [*(law_lobe(law, 8.0, np.radians(290)) for law in LAWS), lopsided()])
def test_velocity_and_acceleration_are_the_lifts_derivatives(lobe: Lobe) -> None:
    angle = np.linspace(-3.0, 9.0, 4001)
    step = 1e-5
    slope = (lobe.lift(angle + step) - lobe.lift(angle - step)) / (2 * step)
    bend = (lobe.velocity(angle + step) - lobe.velocity(angle - step)) / (2 * step)
    np.testing.assert_allclose(lobe.velocity(angle), slope, atol=1e-3)
    np.testing.assert_allclose(lobe.acceleration(angle), bend, atol=2e-2)
    np.testing.assert_allclose(lobe.lift(angle), lobe.lift(angle + 2 * np.pi), atol=1e-12)


@pytest.mark.parametrize("shape", [(), (1,), (4,), (2, 3)])
def test_every_shape_of_angles_and_checks(shape: tuple[int, ...]) -> None:
    lobe = lopsided()
    assert lobe.lift(np.full(shape, 0.3)).shape == shape
    assert law_lobe("3-4-5", 8.0, 5.0).lift(np.full(shape, 0.3)).shape == shape
    found = lobe.crossings(np.full(shape, 2.0))
    assert found.opens.shape == found.closes.shape == shape


@pytest.mark.parametrize("law", LAWS)
def test_crossings_of_a_law_against_a_root_of_its_lift(law: str) -> None:
    checks = np.array([0.01, 0.05, 0.508, 1.27, 5.0, 7.99])
    found = law_lobe(law, 8.0, np.radians(290)).crossings(checks)
    for check, opens, closes in zip(checks, *found, strict=True):
        share = brentq(lambda x, c=check: 8.0 * float(rise(law, np.asarray(x))) - c, 0.0, 1.0, xtol=1e-15)
        half = np.radians(290) / 4 * (1 - share)
        assert (opens, closes) == (pytest.approx(-half, abs=1e-10), pytest.approx(half, abs=1e-10))


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


def test_the_area_of_a_law_is_half_its_height_times_its_length() -> None:
    """Derived: a rise that is symmetric about its middle lies as much above as below the straight line."""
    for law in LAWS:
        area = law_lobe(law, 8.0, np.radians(280)).area()
        assert area == pytest.approx(8.0 / 2 * np.radians(140), rel=1e-6)


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
