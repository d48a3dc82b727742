"""What a pushrod's doubt does to a clearance with the lifter pumped up: slopes against differences."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance import moving as clearance_doubt
from tallstack.geometry.clearance import pumped
from tallstack.geometry.doubt.budget import Budget, Doubt
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.engine import build
from tallstack.geometry.pushrod.pushrods import required

from ...clearance_jobs import by_coordinates
from ...commands import BENCH, COORDINATES

NAME = "one.intake"


@pytest.mark.parametrize(("half_width", "moves"), [(0.0, {}), (0.1, {f"{NAME}.lifter.preload": 0.7})])
def test_a_preload_moves_a_pumped_up_clearance_where_it_has_a_doubt(
    half_width: float, moves: dict[str, float]
) -> None:
    before = clearance_doubt.Weighed(Budget(0.0, {}, ()), {})
    doubts = {f"{NAME}.lifter.preload": Doubt(half_width)}
    assert pumped.with_preload({}, before, {NAME: 0.7}, {}, doubts).slopes == moves


def test_a_preload_that_nobody_measured_nor_said_proves_nothing() -> None:
    before = clearance_doubt.Weighed(Budget(0.0, {}, ()), {})
    wish = f"{NAME}.lifter.preload"
    assert pumped.with_preload({}, before, {NAME: 0.7}, {}, {}).budget.undoubted == (wish,)
    assert pumped.with_preload({}, before, {NAME: 0.0}, {}, {}).budget.undoubted == ()
    assert pumped.with_preload({}, before, {NAME: 0.7}, {NAME: {}}, {}).budget.undoubted == ()
    assert pumped.with_preload({}, before, {NAME: 0.7}, {}, {wish: Doubt(0.1)}).budget.undoubted == ()


def test_what_moves_a_measured_pushrod_against_differences_and_an_estimate_is_moved_by_nothing() -> None:
    job = load(BENCH, ())
    found = pumped.length_slopes(job.mapping, job.quantities, [one.name for one in build(job.mapping).trains])
    assert set(found) == {one.name for one in build(job.mapping).trains}
    (entry, paths) = next(
        (name, paths) for name, paths in job.quantities.items() if name == "stack.head_gasket"
    )
    for name, slopes in found.items():
        ends = []
        for way in (1e-3, -1e-3):
            moved = {path: float(job.mapping[path]) + way * sign for path, sign in paths.items()}
            rod = required(build({**job.mapping, **moved}).train(name))
            ends.append(float(next(iter(rod.lengths.values()))))
        assert slopes.get(entry, 0.0) == pytest.approx((ends[0] - ends[1]) / 2e-3, abs=1e-6)
        assert slopes.get(entry, 0.0) > 0.9  # a thicker gasket asks for a longer rod
    drawn = load(COORDINATES, ())
    gears = [one.name for one in build(drawn.mapping).trains if one.measured is None]
    assert pumped.length_slopes(drawn.mapping, drawn.quantities, gears) == {}


def test_what_asks_for_a_longer_rod_than_was_ordered_takes_preload_away() -> None:
    before = clearance_doubt.Weighed(Budget(0.0, {}, ()), {"stack.cylinder": 0.5})
    lengths = {NAME: {"stack.cylinder": 1.0, "one.intake.measured_pushrod.length": -1.0}}
    doubts = {"stack.cylinder": Doubt(0.1), "one.intake.measured_pushrod.length": Doubt(0.2)}
    after = pumped.with_preload({}, before, {NAME: 0.7}, lengths, doubts)
    assert after.slopes == pytest.approx({"stack.cylinder": -0.2, "one.intake.measured_pushrod.length": 0.7})
    assert after.budget.standard == pytest.approx(((0.2 * 0.1) ** 2 / 3 + (0.7 * 0.2) ** 2 / 3) ** 0.5)


def test_how_sure_a_rise_is_against_differences(tmp_path: Path) -> None:
    """What a crown's height moves of how far a plunger may rise, by two whole engines."""
    path = by_coordinates(tmp_path, exhaust=False)
    entry, step = "piston.compression_height", 0.02

    def rises(by: float) -> Result:
        found = load(path, [f"{entry}={34.0 + by!r} +/- 0.05"]).clearances.valves[0].meets_after
        assert found is not None
        return found

    slope = (rises(step).value - rises(-step).value) / (2 * step)
    assert abs(slope) > 0.5
    assert rises(0.0).slopes[entry] == pytest.approx(slope, rel=0.01)
    others = rises(0.0).budget
    assert others.standard == pytest.approx(
        abs(slope) * 0.05 / 3**0.5 / others.shares[entry] ** 0.5, rel=0.01
    )
