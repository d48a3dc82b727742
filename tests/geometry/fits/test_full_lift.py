"""What a valve gear does at full lift: it follows the entries that say how high its lobe is, its ratio and its preload."""

from __future__ import annotations

import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.core.mapping import frozen
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.fits.full_lift import (
    FullLift,
    Known,
    full_lift,
    full_lift_of,
    known,
    noise_of,
    peak_of,
)

from ...clearance_jobs import by_coordinates

NAME = "one.exhaust"  # whose lobe is a card's


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(tmp_path_factory.mktemp("lift")))


@pytest.fixture(scope="module")
def gear(job: JobFile) -> Known:
    lobe = Cam(job.mapping, Tables()).lobe_of(NAME)
    assert isinstance(lobe, CamLobe)
    found = known(train_of(job.mapping, NAME), lobe)
    assert found is not None
    return found


def at(job: JobFile, gear: Known, entry: str, by: float) -> FullLift:
    mapping = frozen(job.mapping)
    return full_lift(mapping.with_({entry: mapping[entry] + by}), gear)


def test_a_cards_peak_lifts_the_lobe_by_itself_and_the_valve_by_its_ratio(job: JobFile, gear: Known) -> None:
    peak = f"lobe.{gear.lobe.name}.card.peak"
    low, high = (at(job, gear, peak, by) for by in (-0.01, 0.01))
    assert low.lobe_lift is not None
    assert high.lobe_lift is not None
    assert low.valve_lift is not None
    assert high.valve_lift is not None
    assert low.ratio_at_peak is not None
    assert float(high.lobe_lift - low.lobe_lift) == pytest.approx(0.02)
    slope = float(high.valve_lift - low.valve_lift) / 0.02
    assert slope == pytest.approx(float(low.ratio_at_peak), rel=1e-3)


def test_what_readings_scatter_by_adds_to_their_highest(gear: Known) -> None:
    """A lobe of readings has no entry for its height: it is as high as they say, and off by what stands beside them."""
    lobe = gear.lobe._replace(source="readings", card=None)
    mapping = {noise_of(lobe): 0.07}
    assert float(peak_of(mapping, lobe)) == pytest.approx(lobe.peak[1] + 0.07)
    assert float(peak_of({}, lobe)) == lobe.peak[1]


def test_pumped_up_a_valve_opens_by_what_its_plunger_stood_below_its_stop(job: JobFile, gear: Known) -> None:
    mapping = frozen(job.mapping)
    found = full_lift(mapping, gear)
    assert found.pumps
    assert found.pumped is not None
    assert found.valve_lift is not None
    preload = float(mapping[f"{NAME}.lifter.preload"])
    assert found.ratio_at_peak is not None
    more = float(found.pumped - found.valve_lift)
    assert more == pytest.approx(preload * float(found.ratio_at_peak), rel=0.1)
    solid = mapping.with_({f"{NAME}.lifter.kind": "solid", f"{NAME}.lifter.lash": 0.2})
    stands = full_lift(solid, gear)
    assert not stands.pumps
    assert stands.pumped is None


def test_of_a_valve_gear_that_is_not_known_nothing_is(job: JobFile) -> None:
    assert full_lift_of(job.mapping, None) == (FullLift(),)
