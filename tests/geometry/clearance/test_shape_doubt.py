"""What a card leaves open of a clearance: against the ends of its bounds, and what one more number would be worth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.guide.narrowing import candidates
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.cam.shape import bounded
from tallstack.geometry.cam.shape_entries import shape_entries
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.clearance.shape_doubt import shape_doubt
from tallstack.geometry.clearance.situation import Asked, Situation, situation
from tallstack.geometry.doubt.draws import Block
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.piston.cycle import least_between
from tallstack.geometry.sure.risk_clearance import Assembled, drawn, prepared

from ...clearance_jobs import by_coordinates


def test_the_ends_of_a_clearance_are_those_of_the_bounds(tmp_path: Path) -> None:
    """The exhaust has a card, the intake a law that leaves nothing open."""
    job = load(by_coordinates(tmp_path))
    found = clearances(job.mapping, Tables(), job.quantities, job.doubts)
    intake, exhaust = (one.piston for one in found.valves)
    assert intake is not None
    assert exhaust is not None
    assert intake.ends is None
    assert exhaust.ends is not None
    assert exhaust.budget is not None
    assert exhaust.lobes == ("exhaust",)
    assert exhaust.value - exhaust.ends[0] == pytest.approx(exhaust.budget.expanded)
    here = found.situations["one"]
    one = Asked("one.exhaust", exhaust.name, exhaust.angle)
    shape = shape_doubt(here, one, ("one.exhaust",))
    assert shape is not None
    lobe = here.lifts["one.exhaust"].lobe
    assert lobe.card is not None
    for bound, sign, told in zip(bounded(lobe.card), (1, -1), (shape.above, shape.below), strict=True):
        place = lobe.placed._replace(lobe=bound)
        lift = here.lifts["one.exhaust"]._replace(lobe=lobe._replace(placed=place))
        at = exhaust.angle + np.radians(np.arange(-20, 20, 0.1))
        drop = float(here.valves["one.exhaust"].drop(at, lift.at(at)).min())
        assert sign * (drop - exhaust.value) == pytest.approx(told, abs=2e-4)
    assert exhaust.budget.shares[shape.entry] == pytest.approx(
        (shape.below / exhaust.budget.expanded) ** 2, rel=0.02
    )


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> tuple[JobFile, Situation, Result, Asked]:
    """Return a job whose exhaust has a card, and that valve's clearance with nothing else in doubt."""
    job = load(by_coordinates(tmp_path_factory.mktemp("card")))
    found = clearances(job.mapping, Tables(), {}, {})
    exhaust = found.valves[1].piston
    assert exhaust is not None
    return job, found.situations["one"], exhaust, Asked("one.exhaust", exhaust.name, exhaust.angle)


def test_what_a_number_would_be_worth_is_what_it_takes_once_it_is_read(
    bare: tuple[JobFile, Situation, Result, Asked],
) -> None:
    """Told beforehand, against the job with that number in it; at top centre this card already tells the lift."""
    job, here, exhaust, asked = bare
    answer = ("one.exhaust", exhaust.name)
    told = {
        one.name: one.takes[answer] for one in candidates(job.mapping, [(answer, here, asked, ("exhaust",))])
    }
    shape = shape_doubt(here, asked, ("one.exhaust",))
    assert shape is not None
    assert told.pop(shape.entry) == pytest.approx((shape.below / 2) ** 2)
    assert sorted(told) == [f"lobe.exhaust.card.{one}" for one in ("closing", "duration", "lift")]
    assert max(told, key=lambda name: told[name]) == "lobe.exhaust.card.lift"
    lobe = here.lifts["one.exhaust"].lobe
    lift = float(lobe.placed.lift(np.radians(-10.0)))
    then = {
        **job.mapping,
        "lobe.exhaust.card.lift.at": lift,
        "lobe.exhaust.card.lift.angle": np.radians(-10.0),
    }
    after = situation(then, "one", Cam(then, Tables()))
    narrower = shape_doubt(after, asked, ("one.exhaust",))
    assert narrower is not None
    assert told["lobe.exhaust.card.lift"] == pytest.approx(
        (shape.below / 2) ** 2 - (narrower.below / 2) ** 2, rel=1e-4
    )


def test_two_lobes_shapes_add_up_where_they_are_alike(tmp_path: Path) -> None:
    """Builds whose flanks at overlap are one lobe's reach as far as the ends of valve to valve say, which add both parts.

    Builds of two lobes that have nothing to do with each other reach as far as the root of their squares.
    """
    path, numbers = (
        by_coordinates(tmp_path),
        "duration = { at = 1.27, degrees = 256 }, seat = { at = 0.2, degrees = 302 }",
    )
    text = path.read_text(encoding="utf-8")
    begins, ends = text.index("[lobe.intake]"), text.index("[[train]]")
    lobes = "".join(
        f"[lobe.{one}]\ncard = {{ peak = 8.0, {numbers} }}\ncentreline = 107\n"
        for one in ("intake", "exhaust")
    )
    path.write_text(text[:begins] + lobes + text[ends:], encoding="utf-8")
    mapping = load(path).mapping
    here = situation(mapping, "one", Cam(mapping, Tables()))
    trains, valves = tuple(here.trains), here.heads_apart()
    assert valves is not None
    least = least_between(*valves)
    asked = Asked("one", "between", least.angle)
    shape = shape_doubt(here, asked, trains)
    assert shape is not None
    assert shape.lobes == ("intake", "exhaust")
    parts = []
    for lobe in shape.lobes:
        card_of_it = here.lifts[f"one.{lobe}"].lobe.card
        assert card_of_it is not None
        sure = card_of_it._replace(scale=0.0, card=card_of_it.card._replace(hydraulic=True))
        alone = shape_doubt(here, asked, trains, {lobe: sure})
        assert alone is not None
        parts.append((shape.below - alone.below, shape.above - alone.above))
    below, above = np.array(parts).T
    assert min(below.min(), above.min()) > 0.03
    assert below.sum() == pytest.approx(shape.below, abs=0.02)  # what is left is each bound's least distance
    builds = 600
    rng = np.random.default_rng(8)
    one, other = rng.normal(size=(2, builds, 20))
    swapped = np.where(np.arange(20) < 10, 1.0, -1.0)  # its closing flank is the other's opening one

    ready = prepared(mapping, here, asked, {}, Tables(), shape.below, Assembled())

    def spread(intake: np.ndarray, exhaust: np.ndarray) -> tuple[float, float]:
        normals = {"intake": intake, "exhaust": exhaust}
        off = {
            entry: normals[lobe][:, index]
            for lobe in normals
            for index, entry in enumerate(shape_entries(lobe))
        }
        told = drawn(ready, mapping, Block(off, builds, 1, 0))
        low, high = np.quantile(told, [0.025, 0.975])
        return least.value - float(low), float(high) - least.value

    alike, apart = spread(one, one * swapped), spread(one, other)
    assert alike == pytest.approx((shape.below, shape.above), rel=0.25)
    assert apart == pytest.approx((np.hypot(*below), np.hypot(*above)), rel=0.25)
    assert apart[0] < 0.85 * alike[0]
    assert max(apart[0] - shape.below, apart[1] - shape.above) < 0
