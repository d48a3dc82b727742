"""What the shelf's pushrods give stands in place of what is wanted, in every answer but the choice itself."""

from __future__ import annotations

from pathlib import Path

import pytest
import tallstack as ts
from tallstack.cli.job.fitted import fitted, from_its_shelf
from tallstack.cli.job.loading import load
from tallstack.cli.record.remembered import with_its_rods

from ...commands import TWIN, screen, tallstack

HEAD, LONGER_MM = "label,kind,length,as,units,count\n", 0.3
KEYS = ("drop_mm", "drop_pumped_mm", "gap_mm", "pumped_meets_after_mm")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A twin by the bench route whose shelf holds pushrods that are all a little longer than is wanted."""
    path = tmp_path / "twin.toml"
    for one in TWIN.parent.glob("*.csv"):
        (tmp_path / one.name).write_bytes(one.read_bytes())
    path.write_text('shelf = "shelf.csv"\n' + TWIN.read_text(encoding="utf-8"), encoding="utf-8")
    needed = [order.required.lengths["overall"] for order in load(TWIN).orders if order.required is not None]
    rods = (
        f"rod {place},fixed,{float(one) + LONGER_MM!r},overall,mm,1\n" for place, one in enumerate(needed)
    )
    (tmp_path / "shelf.csv").write_text(HEAD + "".join(rods), encoding="utf-8")
    return path


def test_every_answer_is_that_of_the_preload_tried_by_hand(job: Path) -> None:
    entered = load(job)
    there = with_its_rods(entered.settled)
    gears = entered.names["trains"]
    given = {name: float(str(there.mapping[f"{name}.lifter.preload"])) for name in gears}
    wanted = {name: float(str(entered.mapping[f"{name}.lifter.preload"])) for name in gears}
    assert all(LONGER_MM / 2 < given[name] - wanted[name] < 1.01 * LONGER_MM for name in gears)
    by_hand = [f"{name}.lifter.preload={value!r} mm" for name, value in given.items()]
    tried = load(job, by_hand)
    for order in tried.orders:  # each of the shelf's rods is just what is needed for what it gives
        assert order.required is not None
        assert f"{float(order.required.lengths['overall']):.4f}" in {
            f"{float(line.split(',')[2]):.4f}"
            for line in (job.parent / "shelf.csv").read_text(encoding="utf-8").splitlines()[1:]
        }
    alone = job.parent / "alone.toml"  # the same without a shelf
    alone.write_text(job.read_text(encoding="utf-8").partition("\n")[2], encoding="utf-8")
    words = [word for one in by_hand for word in ("--with", one)]
    for command in ("clearance", "fits"):
        first, second = tallstack(command, job, "--json"), tallstack(command, alone, "--json", *words)
        assert first.status == second.status
        for one, other in zip(_numbers(first.json), _numbers(second.json), strict=True):
            assert one == pytest.approx(other, abs=2e-6)
    assert [one.value for one in ts.load(job).answers("clearance") if isinstance(one, ts.Result)] == pytest.approx(
        [one.value for one in ts.load(alone).with_({one.partition("=")[0]: one.partition("=")[2] for one in by_hand})
         .answers("clearance") if isinstance(one, ts.Result)], abs=2e-6
    )  # fmt: skip


def _numbers(found: object) -> list[float]:
    """Return every number of the answers of a document, in its order."""
    if isinstance(found, dict):
        kept = (
            one for key, one in found.items() if key not in ("job", "assumed", "said", "tried", "warnings")
        )
        return [value for one in kept for value in _numbers(one)]
    if isinstance(found, list):
        return [value for one in found for value in _numbers(one)]
    return [found] if isinstance(found, float) else []


def test_screens_say_so_and_the_record_plans_it(job: Path) -> None:
    for command in ("overview", "clearance", "fits"):
        said = " ".join(screen(command, job).out.split())
        assert "preload as the shelf's pushrods give it, front intake " in said, command
    (row,) = [
        one
        for one in tallstack("record", job, "--json").json["compared"]
        if (one.get("train"), one["what"]) == ("front.intake", "preload")
    ]
    there = with_its_rods(load(job).settled)
    assert row["planned_mm"] == pytest.approx(
        float(str(there.mapping["front.intake.lifter.preload"])), abs=1e-6
    )


def test_a_job_without_a_shelf_or_a_set_is_as_it_is_wanted(job: Path) -> None:
    entered = load(TWIN)
    assert fitted(entered, None) is entered
    assert from_its_shelf(entered, None) is entered
    (job.parent / "shelf.csv").write_text(
        f"{HEAD}short,fixed,100,overall,mm,4\n", encoding="utf-8"
    )  # none of them fits
    settled = load(job).settled
    assert with_its_rods(settled) is settled
