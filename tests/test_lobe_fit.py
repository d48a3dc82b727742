"""A lobe from noisy readings, against lobes that are known exactly."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.stats import t as students_t
from tallstack.geometry.errors import GeometryError
from tallstack.geometry.lobe_fit import Fit, fit, student
from tallstack.geometry.lobe_readings import Readings

from .known_lobes import NOISE, THOU, Array, dwelling, eccentric, passes, quiet, read

Known = Callable[[Array], Array]
FIVE = np.arange(-180.0, 180.0, 5.0)
TWO = np.arange(-180.0, 180.0, 2.0)
DENSE = np.arange(-180.0, 180.0, 1.0)
SEEDS = 60
MANY = 200


def fits(known: Known, cam: Array, seeds: int) -> list[Fit]:
    return [fit(read(cam, known(cam), np.random.default_rng([seed, 9]))) for seed in range(seeds)]


def misses(found: Fit, known: Known) -> float:
    """Return the root mean square by which a fit misses a known lobe, in thousandths of an inch."""
    off = found.lobe.lift(np.radians(DENSE)) - known(DENSE)
    return float(np.sqrt((off**2).mean())) / THOU


def events_missed(found: Fit, known: Known, check: float) -> tuple[float, float]:
    """Return by how many crank degrees opening and closing at a check lift are missed."""
    crossed = found.lobe.crossings(np.asarray(check))
    opens, closes = (float(np.degrees(one)) for one in crossed)
    first, last = passes(known, check)
    return tuple(2 * ((one + 180) % 360 - 180) for one in (opens - first, closes - last))  # type: ignore[return-value]


def test_eccentric_read_every_five_degrees() -> None:
    found = fits(eccentric, FIVE, MANY)
    off = np.array([misses(one, eccentric) for one in found])
    assert np.sqrt((off**2).mean()) < 0.7
    assert (off < 0.7).mean() >= 0.9
    noise = np.array([one.noise for one in found]) / NOISE
    assert (np.abs(noise - 1) < 0.2).mean() >= 0.9
    assert all(one.heel is None for one in found)  # nothing of it is flat
    assert sum(bool(one.suspects) for one in found) <= 0.02 * MANY


@pytest.mark.parametrize("known", [dwelling, quiet])
def test_lobe_with_heel_and_ramps_read_every_two_degrees(known: Known) -> None:
    found = fits(known, TWO, SEEDS)
    missed = np.abs([events_missed(one, known, 0.508) for one in found])
    assert (missed < 1.0).mean() >= (0.97 if known is dwelling else 0.92)
    centre = np.abs([sum(events_missed(one, known, 1.27)) / 2 for one in found])
    assert (centre < 0.3).mean() >= 0.97
    noise = np.array([one.noise for one in found]) / NOISE
    assert (np.abs(noise - 1) < 0.2).mean() >= 0.95
    assert np.median([misses(one, known) for one in found]) < 0.45
    assert sum(bool(one.suspects) for one in found) <= max(0.02 * SEEDS, 2)


def test_lobe_read_every_five_degrees() -> None:
    found = fits(dwelling, FIVE, SEEDS)
    missed = np.abs([events_missed(one, dwelling, 0.508) for one in found])
    assert (missed < 1.0).mean() >= 0.85
    centre = np.abs([sum(events_missed(one, dwelling, 1.27)) / 2 for one in found])
    assert (centre < 0.3).mean() >= 0.9


def test_the_heel_comes_out_flat_and_the_lift_not_below_it() -> None:
    for one in fits(dwelling, TWO, 20):
        assert one.heel is not None
        begins, ends = one.heel
        assert 170 < np.degrees(ends - begins) < 225
        on_heel = one.lobe.lift(np.linspace(begins, ends, 400))
        assert np.abs(on_heel).max() < 0.15 * THOU
        assert one.lobe.lift(np.radians(DENSE)).min() > -1.5 * NOISE


@pytest.mark.parametrize("check", [0.508, 1.27])
@pytest.mark.parametrize("step", [2.0, 5.0, 10.0])
def test_event_doubt_covers_what_is_missed(step: float, check: float) -> None:
    inside = []
    for one in fits(dwelling, np.arange(-180.0, 180.0, step), SEEDS):
        found = one.lobe.crossings(np.asarray(check))
        doubt = 2 * np.degrees(one.angle_doubt(np.array([found.opens, found.closes])))
        inside += list(np.abs(events_missed(one, dwelling, check)) < 2 * doubt)
    assert 0.91 <= np.mean(inside)


@pytest.mark.parametrize("seed", range(12))
def test_three_wrong_readings_are_named(seed: int) -> None:
    rng = np.random.default_rng([seed, 7])
    lift = eccentric(FIVE)
    wrong = rng.choice(len(FIVE), 3, replace=False)
    readings = read(FIVE, lift, rng)
    readings.lift[wrong] += 8 * NOISE * rng.choice([-1, 1], 3) + 0.0
    found = fit(readings)
    assert {one.row for one in found.suspects} >= set(wrong.tolist())
    assert len(found.suspects) <= 4
    assert misses(found, eccentric) < 1.2
    assert all(abs(one.sigmas) > 3.5 for one in found.suspects)


def test_run_out_and_offset_are_taken_off() -> None:
    amplitude = 0.05
    for seed in range(10):
        rng = np.random.default_rng([seed, 3])
        lift = dwelling(TWO) + amplitude * np.cos(np.radians(TWO - 40))
        found = fit(read(TWO, lift, rng, off=-1.7))
        assert found.rest.runout == pytest.approx(amplitude, abs=0.02)
        assert misses(found, dwelling) < 0.9


def test_both_ways_of_turning_are_halved() -> None:
    play = 1.0  # cam degrees
    cam = np.append(TWO, TWO[::-1])
    way = np.append(np.ones(len(TWO)), -np.ones(len(TWO)))
    for seed in range(10):
        rng = np.random.default_rng([seed, 5])
        readings = read(cam, dwelling(cam + way * play / 2), rng)._replace(way=way)
        found = fit(readings)
        assert found.play is not None
        assert np.degrees(found.play) == pytest.approx(play, abs=0.15)
        assert np.abs(events_missed(found, dwelling, 1.27)).max() < 0.5
        one_way = fit(Readings(readings.angle[: len(TWO)], readings.lift[: len(TWO)]))
        assert np.abs(sum(events_missed(one_way, dwelling, 1.27)) / 2) > 0.6  # it moved by half the play


def test_readings_at_the_valve_are_undone_by_the_train() -> None:
    def valve(lift: Array) -> Array:
        return 1.6 * lift + 0.01 * lift**2

    def lifter(lift: Array) -> Array:
        return (-1.6 + np.sqrt(np.maximum(1.6**2 + 0.04 * lift, 0))) / 0.02

    rng = np.random.default_rng(1)
    found = fit(read(TWO, valve(dwelling(TWO)), rng), lifter)
    assert misses(found, dwelling) < 0.6
    assert found.noise == pytest.approx(NOISE / 1.6, rel=0.25)


def test_order_spacing_and_whole_turns_do_not_matter() -> None:
    rng = np.random.default_rng(2)
    cam = np.sort(rng.uniform(-180, 180, 200))
    lift = dwelling(cam) + rng.normal(0, NOISE, 200)
    mixed = rng.permutation(200)
    one = fit(Readings(np.radians(cam), lift))
    other = fit(Readings(np.radians(cam[mixed] + 360), lift[mixed]))
    np.testing.assert_allclose(
        one.lobe.lift(np.radians(DENSE)), other.lobe.lift(np.radians(DENSE)), atol=1e-6
    )
    assert misses(one, dwelling) < 0.7


def test_readings_without_noise_are_followed() -> None:
    for known in (eccentric, dwelling):
        found = fit(Readings(np.radians(TWO), known(TWO)))
        assert misses(found, known) < 0.03
        assert np.abs(events_missed(found, known, 0.508)).max() < 0.1


def test_a_lobe_read_only_where_it_lifts_rests_elsewhere() -> None:
    cam = np.arange(-100.0, 101.0, 4.0)
    rng = np.random.default_rng(4)
    found = fit(read(cam, dwelling(cam), rng))
    assert found.bridged
    assert misses(found, dwelling) < 1.0


def test_a_gap_in_the_lift_is_refused() -> None:
    cam = np.setdiff1d(TWO, np.arange(20.0, 62.0, 2.0))
    with pytest.raises(
        GeometryError, match=r"no reading over 44 degrees of the cam, from 18 degrees on; a gap"
    ):
        fit(read(cam, dwelling(cam), np.random.default_rng(0)))
    with pytest.raises(GeometryError, match="7 readings; a lobe needs at least 8"):
        fit(Readings(np.arange(7.0), np.arange(7.0)))
    with pytest.raises(GeometryError, match="the lift is the same all round"):
        fit(Readings(np.arange(0, 6, 0.5), np.ones(12)))


def test_students_quantile_against_a_table() -> None:
    for share in (0.9, 0.99, 0.9999, 0.99999):
        for free in (10, 20, 50, 200):
            assert student(share, free) == pytest.approx(
                students_t.ppf(share, free), rel=2e-2 if free < 20 else 3e-3
            )


@pytest.mark.study
@pytest.mark.parametrize("known", [eccentric, dwelling, quiet])
@pytest.mark.parametrize("cam", [FIVE, TWO], ids=["five", "two"])
def test_false_alarms_of_many_tables(known: Known, cam: Array) -> None:
    found = fits(known, cam, 1000)
    assert sum(bool(one.suspects) for one in found) <= 20


@pytest.mark.study
def test_three_wrong_readings_of_many_tables() -> None:
    """A planted error of 8 noises carries its own noise too, so that a few stand at less than 6."""
    missed = 0
    for seed in range(1000):
        rng = np.random.default_rng([seed, 17])
        readings = read(FIVE, eccentric(FIVE), rng)
        wrong = rng.choice(len(FIVE), 3, replace=False)
        readings.lift[wrong] += 8 * NOISE * rng.choice([-1, 1], 3)
        missed += not {one.row for one in fit(readings).suspects} >= set(wrong.tolist())
    assert missed <= 10
