"""The lift of a valve: against the raw loop, by a ratio, as it was read at the valve.

Figures, measured on two cores with CPython 3.11:

- valve lifts through the cycle against the raw loop, 25 random trains, running and pumped up: within 1e-8 mm;
  limit: 1e-6 mm
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.cam.law import law_lobe
from tallstack.geometry.cam.lobe import Placed
from tallstack.geometry.clearance.situation import situation
from tallstack.geometry.clearance.valve_lift import ValveLift, apart, shape, valve_lift
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.engine.engine import build

from ...clearance_jobs import by_coordinates
from ...oracles import raw_loop
from ...oracles.random_trains import PEAK, TRAIN, random_mapping, random_unreachable

NAME = "one.intake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


def test_a_sweep_is_as_wide_as_its_ends_are_apart(job: JobFile) -> None:
    found = shape(situation(job.mapping, "one", Cam(job.mapping, Tables())).lifts[NAME])
    assert found.contact is not None
    least, greatest = found.contact
    assert found.sweep == pytest.approx(greatest - least)
    assert found.sweep is not None
    assert found.sweep > 0


LAW = law_lobe("4-5-6-7", PEAK, np.radians(300))


LOBE = CamLobe("intake", "law", Placed(LAW, "intake", np.radians(106), 0.0, 0.0), (0.0, PEAK), False, None)


def lift_of(mapping: Mapping[str, object]) -> ValveLift:
    found = valve_lift(build(mapping).train(TRAIN), LOBE)  # type: ignore[arg-type]
    assert isinstance(found, ValveLift)
    return found


@pytest.mark.parametrize("seed", range(25))
def test_a_valves_lift_is_the_raw_loops(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng([seed, 4]))
    lift = lift_of(mapping)
    assert apart(lift) == ()
    crank = np.radians(np.array([-20.0, 10.0, 60.0, 106.0]))  # rising, as the oracle follows it
    length = raw_loop.length(mapping, TRAIN)
    down = float(mapping["front.intake.lifter.preload"]) if lift.pumps else 0.0  # type: ignore[arg-type]
    risen = LAW.lift((crank - np.radians(106)) / 2)
    expected, _ = raw_loop.motion(mapping, TRAIN, risen, length, down=down)
    np.testing.assert_allclose(lift.at(crank), expected, atol=1e-8)
    fallen = np.radians(212) - crank
    np.testing.assert_allclose(lift.at(fallen), expected, atol=1e-8)
    if lift.pumps:
        pumped, _ = raw_loop.motion(mapping, TRAIN, risen, length, down=0.0)
        np.testing.assert_allclose(lift._replace(pumped=True).at(crank), pumped, atol=1e-8)
        assert (lift._replace(pumped=True).at(crank) > lift.at(crank)).all()


@pytest.mark.parametrize("seed", range(15))
def test_what_is_undone_is_the_lifters_lift(seed: int) -> None:
    lift = lift_of(random_mapping(np.random.default_rng([seed, 5]), kind="hydraulic"))
    assert lift.linkage is not None
    risen = np.linspace(0.1, PEAK, 9)
    np.testing.assert_allclose(lift.linkage.lifter_lift(lift.at_lobe(risen)), risen, atol=1e-9)


def test_a_gear_that_comes_apart_is_said_in_words() -> None:
    rng, said = np.random.default_rng(6), 0
    for _ in range(8):
        mapping = random_unreachable(rng, why="toggle")
        sentences = apart(lift_of(mapping))
        assert len(sentences) == 1
        assert "from a lifter lift of" in sentences[0]
        said += 1
    assert said == 8


def test_a_ratio_multiplies_what_lash_leaves() -> None:
    mapping: Flat = {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "front.intake.lifter.kind": "solid",
        "front.intake.lifter.lash": 0.24,
        "front.intake.rocker.ratio": 1.6,
    }
    lift = lift_of(mapping)
    risen = np.array([0.0, 0.1, 0.15, 2.0])
    np.testing.assert_allclose(lift.at_lobe(risen), [0.0, 0.0, 0.0, 1.6 * (2.0 - 0.15)], atol=1e-12)
    assert not lift.pumps


def test_readings_at_the_valve_are_its_lift() -> None:
    mapping: Flat = {"cylinders": ("front",), "trains": (TRAIN,), "front.intake.lifter.kind": "hydraulic"}
    read = LOBE._replace(at_valve=True)
    found = valve_lift(build(mapping).train(TRAIN), read)
    assert isinstance(found, ValveLift)
    assert found.at(array(np.radians(106))) == pytest.approx(PEAK)
    assert found.no_pumped == ("front.intake.lifter.preload", "front.intake.rocker.ratio")


@pytest.mark.parametrize("then", [0.0, 0.15, 0.4])
@pytest.mark.parametrize(
    ("kind", "lash_at"), [("solid", "valve"), ("solid", "pushrod"), ("hydraulic", "valve")]
)
def test_lifts_read_with_one_lash_and_run_with_another(then: float, kind: str, lash_at: str) -> None:
    """Of a lobe through one ratio the valve's lift is what that leaves above its lash, then and now."""
    lash, ratio = 0.2, 1.6
    mapping: Flat = {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "front.intake.lifter.kind": kind,
        "front.intake.rocker.ratio": ratio,
        **(
            {"front.intake.lifter.lash": lash, "front.intake.lifter.lash_at": lash_at}
            if kind == "solid"
            else {}
        ),
    }
    found = valve_lift(build(mapping).train(TRAIN), LOBE._replace(at_valve=True, lash=then))
    assert isinstance(found, ValveLift)
    risen = np.linspace(0.0, 6.0, 601)
    read = np.maximum(ratio * risen - then, 0.0)
    runs = 0.0 if kind == "hydraulic" else lash * (ratio if lash_at == "pushrod" else 1.0)
    seen = read >= 0.05
    np.testing.assert_allclose(
        found.at_lobe(read)[seen], np.maximum(ratio * risen - runs, 0.0)[seen], atol=1e-12
    )
    assert float(found.at_lobe(array(0.0))) == 0.0
    plain = found._replace(lobe=found.lobe._replace(lash=None, lash_entry="lobe.intake.lash_read"))
    assert plain.lash_unknown == ("" if kind == "hydraulic" else "lobe.intake.lash_read")


def test_shape_of_a_gear_by_coordinates(tmp_path: Path) -> None:
    job = load(by_coordinates(tmp_path))
    here = situation(job.mapping, "one", Cam(job.mapping, Tables()))
    found = shape(here.lifts["one.intake"])
    crank = np.radians(np.arange(-360.0, 360.0, 0.1))
    lifts = here.lifts["one.intake"].at(crank)
    assert found.peak_lift == pytest.approx(float(lifts.max()), abs=1e-6)
    assert found.peak_at == pytest.approx(float(crank[lifts.argmax()]), abs=np.radians(0.1))
    assert found.sweep is not None
    assert 0 < found.sweep < 2
