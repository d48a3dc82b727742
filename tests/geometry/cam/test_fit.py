"""A lobe from noisy readings, against lobes that are known exactly."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.cam import fit as lobe_fit
from tallstack.geometry.cam.fit import Fit, fit
from tallstack.geometry.cam.readings import Readings
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.frames import array

from ...known_lobes import NOISE, THOU, Array, cubed, dwelling, eccentric, passes, quiet, read
from ...seeded import few as few_cases

Known = Callable[[Array], Array]
FIVE = np.arange(-180.0, 180.0, 5.0)
TWO = np.arange(-180.0, 180.0, 2.0)
TEN = np.arange(-180.0, 180.0, 10.0)
DENSE = np.arange(-180.0, 180.0, 1.0)
NEAR = np.arange(-40.0, 41.0)  # of the nose
LIFTED = np.arange(-75.0, 76.0)
SEEDS = 40
MANY = 100


@cache
def fit_of(known: Known, step: float, seed: int) -> Fit:
    """Return the fit of a lobe read every so many degrees, worked out once for all tests."""
    cam = np.arange(-180.0, 180.0, step)
    return fit(read(cam, known(cam), np.random.default_rng([seed, 9])))


def fits(known: Known, step: float, seeds: int) -> list[Fit]:
    return [fit_of(known, step, seed) for seed in range(seeds)]


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
    found = fits(eccentric, 5.0, MANY)
    off = np.array([misses(one, eccentric) for one in found])
    assert np.sqrt((off**2).mean()) < 0.7
    assert (off < 0.7).mean() >= 0.9
    noise = np.array([one.noise for one in found]) / NOISE
    assert (np.abs(noise - 1) < 0.2).mean() >= 0.9
    assert all(one.heel is None for one in found)  # nothing of it is flat
    assert sum(bool(one.suspects) for one in found) <= 0.02 * MANY


@pytest.mark.wide
@pytest.mark.parametrize("known", [dwelling, quiet])
def test_lobe_with_heel_and_ramps_read_every_two_degrees(known: Known) -> None:
    found = fits(known, 2.0, SEEDS)
    missed = np.abs([events_missed(one, known, 0.508) for one in found])
    assert (missed < 1.0).mean() >= (0.97 if known is dwelling else 0.92)
    centre = np.abs([sum(events_missed(one, known, 1.27)) / 2 for one in found])
    assert (centre < 0.3).mean() >= 0.97
    noise = np.array([one.noise for one in found]) / NOISE
    assert (np.abs(noise - 1) < 0.2).mean() >= 0.95
    assert np.median([misses(one, known) for one in found]) < 0.45
    assert sum(bool(one.suspects) for one in found) <= max(0.02 * SEEDS, 2)


def test_lobe_read_every_five_degrees() -> None:
    found = fits(dwelling, 5.0, SEEDS)
    missed = np.abs([events_missed(one, dwelling, 0.508) for one in found])
    assert (missed < 1.0).mean() >= 0.85
    centre = np.abs([sum(events_missed(one, dwelling, 1.27)) / 2 for one in found])
    assert (centre < 0.3).mean() >= 0.9


@cache
def few(known: Known, seeds: int, noise: float = NOISE) -> list[tuple[Fit, float]]:
    """Return fits of 36 readings noted to half a thousandth, and where the nose stood between two of them."""
    found = []
    for seed in range(seeds):
        rng = np.random.default_rng([seed, 21])
        nose = rng.uniform(0, 10)
        readings = read(TEN, known(TEN - nose), rng, noise)
        found.append((fit(readings._replace(lift=np.round(readings.lift / THOU * 2) / 2 * THOU)), nose))
    return found


@pytest.mark.parametrize(
    ("known", "most", "miss"),
    [
        (cubed, 11, 0.9),
        *(
            pytest.param(one, most, 1.1, marks=pytest.mark.wide)
            for one, most in ((dwelling, 15), (quiet, 16))
        ),
    ],
)
def test_36_readings_are_smoothed(known: Known, most: float, miss: float) -> None:
    """And not passed through, where the lobe lifts, so that nothing is left there to tell the noise."""
    found = few(known, MANY)
    effective = np.array([one.effective for one, _ in found])
    assert np.percentile(effective, 95) < most
    assert effective.max() < 22
    lifts = [np.abs(one.off[known(TEN - nose) > 0.1]).max() for one, nose in found]
    assert (np.array(lifts) > 0.1 * NOISE).mean() >= 0.97
    noise = np.array([one.noise for one, _ in found]) / NOISE
    assert np.mean(noise) == pytest.approx(1, abs=0.04)
    assert (np.abs(noise - 1) < 0.2).mean() >= 0.75  # 25 degrees of freedom tell it to 14 % one time in three
    off = np.array([one.lobe.lift(np.radians(LIFTED + nose)) - known(LIFTED) for one, nose in found])
    near = np.abs(LIFTED) <= 40
    assert np.sqrt((off[:, near] ** 2).mean()) < miss * NOISE
    doubt = np.array([one.lift_doubt(np.radians(LIFTED + nose)) for one, nose in found])
    inside = np.abs(off) < 2 * doubt
    assert 0.94 <= inside[:, near].mean() <= 0.995
    assert 0.93 <= inside.mean() <= 0.992  # on the flanks each reading has the curve to itself


def test_36_readings_have_a_heel_and_no_run_out() -> None:
    found = [one for one, _ in few(cubed, MANY)]
    assert sum(one.heel is None for one in found) <= 0.02 * MANY
    assert sum(one.rest.runout > 0 for one in found) <= 0.01 * MANY


def test_lift_doubt_counts_where_the_lift_is_zero() -> None:
    """An eccentric has no heel: its lowest point is as uncertain as its highest."""
    found = fits(eccentric, 5.0, SEEDS)
    off = np.array([one.lobe.lift(np.radians(NEAR)) - eccentric(NEAR) for one in found])
    doubt = np.array([one.lift_doubt(np.radians(NEAR)) for one in found])
    assert 0.94 <= (np.abs(off) < 2 * doubt).mean() <= 0.995


@pytest.mark.parametrize("seed", few_cases(range(20), 6))
def test_the_heel_comes_out_flat_and_the_lift_not_below_it(seed: int) -> None:
    one = fit_of(dwelling, 2.0, seed)
    assert one.heel is not None
    begins, ends = one.heel
    assert 170 < np.degrees(ends - begins) < 225
    on_heel = one.lobe.lift(np.linspace(begins, ends, 400))
    assert np.abs(on_heel).max() < 0.15 * THOU
    assert one.lobe.lift(np.radians(DENSE)).min() > -1.5 * NOISE


@pytest.mark.parametrize("check", [0.508, 1.27])
@pytest.mark.parametrize("step", [5.0, *(pytest.param(one, marks=pytest.mark.wide) for one in (2.0, 10.0))])
def test_event_doubt_covers_what_is_missed(step: float, check: float) -> None:
    inside = []
    for one in fits(dwelling, step, SEEDS):
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


@pytest.mark.parametrize("seed", few_cases(range(10), 4))
def test_run_out_and_offset_are_taken_off(seed: int) -> None:
    amplitude = 0.05
    rng = np.random.default_rng([seed, 3])
    lift = dwelling(TWO) + amplitude * np.cos(np.radians(TWO - 40))
    found = fit(read(TWO, lift, rng, off=-1.7))
    assert found.rest.runout == pytest.approx(amplitude, abs=0.02)
    assert misses(found, dwelling) < 0.9


@pytest.mark.parametrize("seed", few_cases(range(10), 4))
def test_both_ways_of_turning_are_halved(seed: int) -> None:
    play = 1.0  # cam degrees
    cam = np.append(TWO, TWO[::-1])
    way = np.append(np.ones(len(TWO)), -np.ones(len(TWO)))
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


def test_doubt_of_a_lobe_read_only_where_it_lifts() -> None:
    cam = np.arange(-100.0, 101.0, 5.0)
    found = [fit(read(cam, cubed(cam), np.random.default_rng([seed, 8]))) for seed in range(SEEDS)]
    off = np.array([one.lobe.lift(np.radians(NEAR)) - cubed(NEAR) for one in found])
    doubt = np.array([one.lift_doubt(np.radians(NEAR)) for one in found])
    assert 0.93 <= (np.abs(off) < 2 * doubt).mean() <= 0.995
    assert np.mean([one.noise for one in found]) == pytest.approx(NOISE, rel=0.06)


def odd_tables() -> dict[str, tuple[Array, Array]]:
    """Return tables, in degrees and mm, that leave a fit little to go by."""
    two = np.zeros(36)
    two[17:19] = 5.0
    on_one_spot = np.append(TEN, np.full(14, 170.0))
    return {
        "two readings lift": (TEN, two),
        "one angle of the heel read often": (on_one_spot, dwelling(on_one_spot)),
        "noted to a millimetre": (TEN, np.round(dwelling(TEN))),
        "every reading three times": (np.repeat(TEN, 3), dwelling(np.repeat(TEN, 3))),
        "eight readings": (np.arange(0.0, 311.0, 39.0), dwelling(np.arange(0.0, 311.0, 39.0) - 160)),
    }


@pytest.mark.parametrize("name", odd_tables())
def test_odd_tables_end_in_a_curve(name: str) -> None:
    cam, lift = odd_tables()[name]
    found = fit(Readings(np.radians(cam), lift))
    curve = found.lobe.lift(np.radians(DENSE))
    assert np.isfinite(curve).all()
    assert np.abs(curve).max() < 2 * np.ptp(lift)
    assert np.isfinite(found.lift_doubt(np.radians(DENSE))).all()


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


def tangent(cam: Array, roller: float = 10.0) -> Array:
    """Return the lift of a roller on a lobe of straight flanks: heel 14, nose 6 at 17, in closed form [mm].

    cam : degrees from the nose
    """
    away = np.radians(np.abs((cam + 180) % 360 - 180))
    flank = np.radians(61.9275)
    begins = flank - away
    edge = np.arctan2((6 + roller) * np.sin(flank), 17 + (6 + roller) * np.cos(flank))
    with np.errstate(invalid="ignore"):
        nose = 17 * np.cos(away) + np.sqrt((6 + roller) ** 2 - (17 * np.sin(away)) ** 2) - 14 - roller
    straight = (14 + roller) * (1 - np.cos(begins)) / np.cos(begins)
    return np.where(away >= flank, 0.0, np.where(away < edge, nose, straight))


@pytest.mark.parametrize("step", [2.0, 4.0])
def test_a_table_that_begins_where_the_lift_does_gets_its_heel(step: float) -> None:
    """As lobes are published, and with flanks that leave the heel at once."""
    cam = np.arange(-62.0, 62.5, step)
    found = fit(Readings(np.radians(cam), np.round(tangent(cam), 3)))
    assert found.bridged
    assert found.higher == 0.0
    assert misses(found, tangent) < 0.6
    assert np.abs(found.lobe.lift(np.radians([-100.0, 180.0, 100.0]))).max() < 0.005


def test_a_table_that_begins_on_the_flank_does_not() -> None:
    """Its lowest reading is no rest: how far above the heel it stands nobody read."""
    cam = np.arange(-56.0, 57.0, 4.0)
    with pytest.raises(GeometryError, match="no reading over 248 degrees of the cam"):
        fit(Readings(np.radians(cam), tangent(cam)))


@pytest.mark.parametrize(("cam", "noise"), [(TWO, 0.01), (np.arange(-90.0, 91.0, 2.0), 0.01), (TWO, 0.0)])
def test_of_two_rests_the_lower_is_the_zero(cam: Array, noise: float) -> None:
    """The dial slipped by 0.15 mm at the nose: no lift comes out less than it may be."""
    lift = dwelling(cam) + np.where(cam > 0, 0.15, 0.0) + 0.3
    found = fit(Readings(np.radians(cam), lift + np.random.default_rng(1).normal(0, noise, len(cam))))
    assert found.higher == pytest.approx(0.15, abs=0.02)
    assert float(found.lobe.lift(np.radians([-110.0]))[0]) == pytest.approx(0.0, abs=0.01)
    assert float(found.lobe.lift(np.radians([30.0]))[0]) == pytest.approx(
        float(dwelling(np.array(30.0))) + 0.15, abs=0.03
    )


def test_one_rest_is_one_rest() -> None:
    for seed in range(12):
        known, cam = (dwelling, quiet, cubed, eccentric)[seed % 4], (TWO, FIVE, TEN)[seed % 3]
        rng = np.random.default_rng([seed, 5])
        runout = 0.03 * np.cos(np.radians(cam - 70)) if seed % 2 else 0.0
        found = fit(read(cam, known(cam) + runout, rng))
        assert found.higher == 0.0
        assert not found.runs


def test_neighbours_off_the_same_way_are_shape_and_one_alone_is_a_misreading() -> None:
    cam = np.arange(-180.0, 180.0, 1.0)
    bump = np.where(
        np.abs(cam - 40.0) < 3.5, 0.03 * (1 + np.cos(np.radians(51.4 * (cam - 40)))), 0.0
    )  # seven readings
    rng = np.random.default_rng(3)
    found = fit(Readings(np.radians(cam), dwelling(cam) + bump + rng.normal(0, 0.003, len(cam))))
    seven = set(np.nonzero(bump)[0].tolist())
    assert not {one.row for one in found.suspects} & seven
    there = np.radians(cam[sorted(seven)])
    off = found.lobe.lift(there) - (dwelling(cam) + bump)[sorted(seven)]
    assert (np.abs(off) <= 3 * found.lift_doubt(there)).all()
    lift = dwelling(cam) + rng.normal(0, 0.003, len(cam))
    lift[[100, 220]] += 0.06, -0.06
    assert {one.row for one in fit(Readings(np.radians(cam), lift)).suspects} == {100, 220}


@pytest.mark.parametrize("known", [dwelling, quiet, cubed])
def test_a_wrong_reading_that_goes_unnamed_is_in_the_doubt(known: Known) -> None:
    """Every ten degrees each reading has the curve to itself: 0.25 mm wrong shows in no residual."""
    inside, unnamed = [], 0
    for seed in range(12):
        rng = np.random.default_rng(seed)
        lift = known(TEN) + 0.3 + rng.normal(0, 0.005, len(TEN))
        row = int(rng.choice(np.nonzero(np.abs(TEN) < 60)[0]))
        lift[row] += 0.25 * rng.choice([-1.0, 1.0])
        found = fit(Readings(np.radians(TEN), lift))
        unnamed += all(one.row != row for one in found.suspects)
        off = found.lobe.lift(np.radians(TEN[[row]])) - known(TEN[[row]])
        inside.append(float(np.abs(off / found.lift_doubt(np.radians(TEN[[row]])))[0]))
    assert max(inside) < 2.0
    assert unnamed >= 2 or known is cubed


@pytest.mark.parametrize(("step", "lash", "noise"), [(5, 0.2, 0.005), (4, 0.3, 0.005), (2, 0.2, 0.002)])
def test_where_a_valve_leaves_its_seat_by_its_lash_no_reading_is_called_wrong(
    step: int, lash: float, noise: float
) -> None:
    cam = np.arange(-180.0, 180.0, step)
    rng = np.random.default_rng(0)
    lift = np.maximum(1.5 * cubed(cam) - lash, 0.0) + rng.normal(0, noise, len(cam))
    read_at_valve = Readings(np.radians(cam), np.round(lift, 3), leaves_by_lash=True)
    found, plain = fit(read_at_valve), fit(read_at_valve._replace(leaves_by_lash=False))
    assert plain.suspects  # of a lobe that corner would be a misreading
    assert not found.suspects
    assert found.corner
    seat = 84 * 2 / np.pi * np.arccos((lash / 1.5 / 8.08) ** (1 / 3))
    assert all(abs(abs(cam[row]) - seat) < 3.5 * step for row in found.corner)
    rows = np.asarray(found.corner)
    assert (found.lift_doubt(np.radians(cam))[rows] >= np.abs(found.off[rows])).all()


def test_a_misreading_beside_that_corner_and_one_elsewhere_are_named_all_the_same() -> None:
    cam = np.arange(-180.0, 180.0, 4)
    lift = np.maximum(1.5 * cubed(cam) - 0.3, 0.0) + np.random.default_rng(0).normal(0, 0.005, len(cam))
    wrong = [int(np.argmin(abs(cam - at))) for at in (-72.0, 30.0)]
    lift[wrong] += 0.6
    named = {one.row for one in fit(Readings(np.radians(cam), lift, leaves_by_lash=True)).suspects}
    assert named == set(wrong)


def test_of_many_that_stand_off_those_are_named_that_do_so_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of twenty readings three may be named.

    Of `_judged`, with residuals that no table leaves exactly so: in place of `_shape`, `_judge` and `_zeroed`, on bare `_Rows`.
    """
    off = array([*[0.1] * 14, 40.0, -50.0, 45.0, 60.0, -55.0, 42.0])
    shape = SimpleNamespace(noise=1.0, effective=5.0, rest=None, heel=None)
    monkeypatch.setattr(lobe_fit, "_shape", lambda *_: shape)
    monkeypatch.setattr(lobe_fit, "_judge", lambda *_, **__: (off, off))
    monkeypatch.setattr(lobe_fit, "_zeroed", lambda *_: (None, None, None))
    found = lobe_fit._judged(lobe_fit._Rows(off, off, None, (off[:0], off[:0]), 0.0))
    assert [one.row for one in found.suspects] == [15, 17, 18]


def test_residuals_are_studentised_with_the_reading_left_out() -> None:
    """Source: t = r·√((ν − 1)/(ν − r²)), at least a twentieth of ν beneath.

    Of `_judge` alone: what it divides by is in no answer.
    """
    off = array([2.0, -1.0, 0.5, 3.5, *[0.1] * 8])
    count = len(off)
    smooth = SimpleNamespace(coefficients=np.zeros(1), spread=np.zeros((1, 1)))
    rest = SimpleNamespace(at=np.zeros_like)
    shape: Any = SimpleNamespace(smooth=smooth, rest=rest, noise=1.0, effective=2.0)
    rows: Any = SimpleNamespace(angle=off * 0, way=None, lift=off)
    _, found = lobe_fit._judge(rows, np.ones((count, 1)), np.ones(count, dtype=bool), shape, robust=False)
    assert found[:3] == pytest.approx([2 * np.sqrt(9 / 6), -1.0, 0.5 * np.sqrt(9 / 9.75)])
    assert found[3] == pytest.approx(3.5 * np.sqrt(9 / 0.5))
