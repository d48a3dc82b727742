"""What stands in for places that nobody entered: a valve gear that goes together, and keeps what is known."""

from __future__ import annotations

import math
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.stand_in import Standing, follows, standing
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.valve_lift import comes_apart_at
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine import alternatives
from tallstack.geometry.gear.train import closed, lift_at
from tallstack.geometry.pushrod.assembly import obstacles
from tallstack.geometry.pushrod.pushrods import by_coordinates

from ...commands import BENCH, DEMO, EXAMPLES

CRANK = np.radians(np.arange(-360.0, 361.0, 15.0))


def stood(path: Path, *variations: str) -> Standing:
    job = load(path, variations)
    return standing(job.mapping, job.tables, pages.turned(job, CRANK))


def leaning(lean: float, ratio: float, bore: float) -> Standing:
    return stood(
        BENCH,
        f'front.intake.measured_drop={{ drop = "8 mm", lean = {lean:g}, meets = "crown" }}',
        f"front.intake.rocker.ratio={ratio:g}",
        f"stack.bore={bore:g} mm",
    )


@pytest.mark.parametrize(("lean", "ratio", "bore"), [*product((0, 8, 20, 40), (1.0, 1.7), (50.0, 110.0))])
def test_an_invented_valve_gear_goes_together_and_lifts(lean: float, ratio: float, bore: float) -> None:
    """To a third of its bore's seventh part, whatever lean, ratio and bore were entered; pushrods up over the deck."""
    there = leaning(lean, ratio, bore)
    for train in there.trains.values():
        assert not obstacles(train)
        assert train.drawn is not None
        pose = closed(train.drawn)
        length = by_coordinates(train, pose).lengths["centres"]
        assert comes_apart_at(train, length, 0.1 * bore) is None
        here = follows(train, np.linspace(0.0, 0.13 * bore, 9))
        assert np.isfinite(here.lifter).all()
        assert (np.diff(here.lifter) > 0).all()
    train = there.trains["front.intake"]
    assert train.drawn is not None
    assert math.acos(float(train.drawn.stem[2])) == pytest.approx(math.radians(lean), abs=1e-9)
    assert float(train.drawn.valve_arm / train.drawn.pushrod_arm) == pytest.approx(ratio)
    assert not there.to_scale


def test_a_gear_stands_where_its_valve_says() -> None:
    there = stood(DEMO)
    train = there.trains["rear.exhaust"]
    assert train.drawn is not None
    lift = np.array([0.0, 2.0, 9.5])
    here = follows(train, lift)
    pose = closed(train.drawn)
    length = by_coordinates(train, pose).lengths["centres"]
    assert train.lifter.down is not None
    again = lift_at(train.drawn, pose, length, here.lifter, train.lifter.down)
    assert again == pytest.approx(lift, abs=1e-6)


def test_what_is_known_stays_and_one_deck_carries_all_cylinders() -> None:
    there = stood(DEMO)
    job = load(DEMO)
    for name, value in job.mapping.items():
        if name.startswith(("stack.", "crank.", "front.lean", "rear.lean")):
            assert there.mapping[name] == value
    decks = {
        float(alternatives.case_deck(Reader(there.mapping, (f"{one}.", "")))) for one in ("front", "rear")
    }
    assert len(decks) == 1


def test_valves_stand_on_their_own_sides() -> None:
    """The intakes of a V towards each other, the exhausts outside; and an upright one's as far apart."""
    there = stood(DEMO)
    sides = {
        name: math.copysign(1.0, float(one.drawn.tip[0]))
        for name, one in there.trains.items()
        if one.drawn is not None
    }
    assert sides == {"front.intake": -1.0, "front.exhaust": 1.0, "rear.intake": 1.0, "rear.exhaust": -1.0}


def test_an_engine_whose_places_are_all_entered_needs_nothing() -> None:
    path = EXAMPLES / "sheet_for_the_job_folder" / "job.toml"
    job = load(path)
    there = standing(job.mapping, job.tables, pages.turned(job, CRANK))
    assert there.to_scale
    assert there.mapping is job.mapping
    assert there.notes == ()
    lacking = stood(EXAMPLES / "taller_twin_by_coordinates" / "job.toml")
    assert lacking.to_scale
    assert "Drawn closed, its lift is not known" in lacking.notes[0]
