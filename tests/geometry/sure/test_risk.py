"""How sure every answer is: each build against second methods, chances against exact ones, and what a person sees.

Figures, measured on two cores with CPython 3.11:

- least clearances of builds, four jobs of 12 builds, against each engine worked out alone: within 1e-3 mm; limit:
  1e-3 mm
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.commands import risk as command
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.cli.tables.jobtables import with_tables
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.clearance.situation import Asked
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.core.targets import Limit, Source
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.draws import block_of
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.engine import build
from tallstack.geometry.pushrod.pushrods import required
from tallstack.geometry.sure.risk import Asked as AskedOfBuilds
from tallstack.geometry.sure.risk import Run, Tally, varied
from tallstack.geometry.sure.risk_clearance import drawn, many, near, prepared

from ...clearance_jobs import by_coordinates
from ...commands import BENCH, COORDINATES, DEMO, EXAMPLES, SINGLE, tallstack
from ...oracles import raw_loop
from ...results import result
from ...seeded import few

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"
BETWEEN = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"
CAM = EXAMPLES / "cam_known_from_36_readings" / "job.toml"
BUILDS = 40
AGAIN = SINGLE.format(preload="1.4", length="242.24 +/- 0.6")


def one_build(flat: Mapping[str, Any], place: int, builds: int) -> dict[str, Any]:
    """Return one engine of a batch."""
    return {
        path: float(value[place]) if isinstance(value, np.ndarray) and value.shape == (builds,) else value
        for path, value in flat.items()
    }


def drawn_from(job: JobFile, builds: int, seed: int = 3) -> tuple[Any, Any]:
    """Return the mapping of a block of builds of a job, and that block."""
    quantities = job.quantities
    doubts = {name: doubt for name, doubt in job.doubts.items() if name in quantities}
    block = block_of(doubts, builds, seed)
    return varied(job.mapping, quantities, block), block


@pytest.mark.parametrize(
    "path",
    few((DEMO, BETWEEN, POCKETS, CAM), 1),
    ids=lambda path: path.parent.name,
)
def test_the_least_clearance_of_every_build_is_that_of_its_own_engine(path: Path) -> None:
    """The engine of each build worked out alone, through the whole cycle, with its own cam."""
    job, tables = with_tables(load(path))
    quantities = {name: paths for name, paths in job.quantities.items() if not name.startswith("lobe.")}
    job_doubts = {name: doubt for name, doubt in job.doubts.items() if name in quantities}
    found = clearances(job.mapping, tables, quantities, job_doubts)
    block = block_of(job_doubts, BUILDS, 5)
    flat = varied(job.mapping, quantities, block)
    alone = [clearances(one_build(flat, place, BUILDS), tables, {}, {}) for place in range(12)]
    count = 0
    for at, valve in enumerate(found.valves):
        here = found.situations[valve.train.rpartition(".")[0]]
        for what in ("drop", "wall"):
            least = valve.drop[0] if what == "drop" and valve.drop else valve.wall if what == "wall" else None
            if least is None:
                continue
            asked = Asked(valve.train, what, least.angle)
            ready = prepared(job.mapping, here, asked, quantities, tables, 0.2)
            values = _without_noise(ready, flat, block)
            for place, engine in enumerate(alone):
                other = engine.valves[at]
                exact = other.drop[0] if what == "drop" else other.wall
                if exact is None:
                    assert np.isinf(values[place])
                    continue
                assert values[place] == pytest.approx(exact.value, abs=1e-3)
                count += 1
    for at, pair in enumerate(found.pairs):
        if pair.least is None or pair.judged is None:
            continue
        asked = Asked(pair.cylinder, "between", pair.least.angle)
        ready = prepared(job.mapping, found.situations[pair.cylinder], asked, quantities, tables, 0.2)
        values = _without_noise(ready, flat, block)
        for place, engine in enumerate(alone):
            exact = engine.pairs[at].least
            assert exact is not None
            assert values[place] == pytest.approx(exact.value, abs=1e-3)
            count += 1
    assert count >= 12


def _without_noise(ready: Any, flat: Any, block: Any) -> Array:
    lobes = {name: lobe._replace(noise=0.0) for name, lobe in ready.lobes.items()}
    values: Array = drawn(ready._replace(lobes=lobes), flat, block._replace(still=True))
    return values


@pytest.mark.wide
@pytest.mark.parametrize(
    "entry",
    ["lobe.intake.card.duration.degrees", "lobe.intake.centreline"],
)
def test_a_lobe_that_is_off_moves_a_build_as_the_whole_cam_worked_out_anew(entry: str) -> None:
    job, tables = with_tables(load(BETWEEN))
    entry = entry if entry in job.entries else "lobe.intake.centreline"
    quantities = {entry: {entry: 1.0}}
    doubts = {entry: Doubt(math.radians(1.0))}
    found = clearances(job.mapping, tables, quantities, doubts)
    block = block_of(doubts, 10, 2)
    flat = varied(job.mapping, quantities, block)
    valve = found.valves[0]
    ready = prepared(
        job.mapping,
        found.situations["left"],
        Asked(valve.train, "drop", valve.drop[0].angle),
        quantities,
        tables,
        0.3,
    )
    values = drawn(ready, flat, block)
    moved = []
    for place in range(10):
        exact = clearances(one_build(flat, place, 10), tables, {}, {}).valves[0].drop[0].value
        moved.append(abs(exact - valve.drop[0].value))
        assert values[place] == pytest.approx(exact, abs=2e-3 + 0.02 * moved[-1])
    assert max(moved) > 0.05


def test_the_lengths_of_every_build_are_those_of_the_second_solver() -> None:
    job = load(COORDINATES)
    flat, _ = drawn_from(job, BUILDS)
    for train in ("front.intake", "rear.exhaust"):
        lengths = required(build(flat).train(train)).lengths["centres"]
        for place in range(8):
            mapping = one_build(flat, place, BUILDS)
            exact = raw_loop.length(mapping, train)
            assert lengths[place] == pytest.approx(exact, abs=1e-7)


def squish_answer(document: dict[str, Any]) -> dict[str, Any]:
    return next(one for one in document["answers"] if one["what"] == "squish")


def test_the_chance_of_too_little_squish_is_that_of_a_sum_of_even_chances(tmp_path: Path) -> None:
    """Squish is a sum of lengths: with three of them in doubt alike, the exact chance is Irwin and Hall's."""
    path = tmp_path / "job.toml"
    text = """format = 1
units = "mm"
[crank]
stroke = 100
conrod_length = 200
[piston]
compression_height = "40.00 +/- 0.10"
[stack]
bore = 90
case_deck = 150
base_gasket = 0.5
cylinder = "139.5 +/- 0.10"
head_gasket = "1.00 +/- 0.10"
[targets]
squish_least = LIMIT
[[cylinder]]
name = "one"
"""
    path.write_text(text.replace("LIMIT", '"0.90 mm"'), encoding="utf-8")
    answer = squish_answer(tallstack("risk", path, "--draws", "40000", "--json").json)
    assert answer["value_mm"] == pytest.approx(1.0)
    at = 1.5 - 0.1 / 0.2  # of a sum of three even chances between 0 and 1
    exact = sum((-1) ** k * math.comb(3, k) * max(at - k, 0.0) ** 3 for k in range(4)) / 6
    assert answer["chance"] == pytest.approx(exact, abs=4 * answer["chance_error"])
    assert answer["chance_error"] == pytest.approx(math.sqrt(exact * (1 - exact) / 40000), rel=0.05)
    assert answer["standard_mm"] == pytest.approx(0.1, rel=1e-6)
    assert answer["drawn_standard_mm"] == pytest.approx(0.1, rel=0.01)
    low = next(x for x in np.linspace(0, 1.5, 30001) if x**3 / 6 > 0.025 or x > 1)  # quantile of the sum
    assert answer["symmetric_mm"][0] == pytest.approx(1.0 + 0.2 * (low - 1.5), abs=0.003)
    assert [share for share in answer["shares"].values() if share] == [0.3333] * 3  # a third each, exactly


def test_more_draws_hold_the_first_ones() -> None:
    """What was drawn is in `_drawn` alone, answers tell what came of it."""
    job = load(BENCH)
    rows = []
    for wanted in (10_000, 20_000):
        run = Run(job.mapping, job.quantities, job.doubts, [], wanted, 1)
        rows.append(run._drawn(0, 10_000)[1].off)  # noqa: SLF001
    assert all(np.array_equal(rows[0][name], rows[1][name]) for name in rows[0])


def with_draws(answer: Result, values: Array) -> Result:
    tally = Tally(answer)
    tally.add(values)
    return tally.result()


@pytest.mark.wide
def test_builds_that_stay_clear_of_a_wall_miss_nothing() -> None:
    """The valve enters its pocket in most builds, not in all: neither an infinite mean nor a fault."""
    job = load(POCKETS, ["stack.head_gasket=0.030 +/- 0.002"])
    answer = command.answer(job, 2000, 1)
    wall = next(one for one in answer.document["answers"] if one["what"] == "wall")
    assert 50 < wall["absent"] < 500
    assert math.isfinite(wall["mean_mm"])
    assert wall["impossible"] == 0
    told = " ".join(answer.text.split())
    assert f"in {wall['absent']} of the builds the valve stays clear of its pocket" in told


def test_a_check_made_once_can_be_made_once_more(tmp_path: Path) -> None:
    """Worth what a second entry of it would be: the chance of a wrong verdict with one and with two."""
    path = tmp_path / "job.toml"
    reading = """
[[reading]]
of = "pushrod"
train = "single.intake"
value = "246.30 +/- {}"
as = "overall"
plunger = "top"
"""
    again = AGAIN + "[targets]\npreload_most = 1.524\n"
    text = again + reading.format(0.3)
    path.write_text(text, encoding="utf-8")
    once = tallstack("risk", path, "--json").json
    first = next(one for one in once["next"] if one["reading"] == "pushrod once more, single intake")
    path.write_text(text + reading.format(0.05), encoding="utf-8")
    twice = tallstack("risk", path, "--json").json
    chances = [
        next(one["chance_by_budget"] for one in told["answers"] if one["what"] == "preload")
        for told in (once, twice)
    ]
    assert chances[0] > 0.1
    assert first["saves"] == pytest.approx(chances[0] - chances[1], rel=0.02)


def test_what_a_reading_costs_is_what_knowing_it_perfectly_would_save() -> None:
    document = tallstack("risk", CAM, "--draws", "1000", "--json").json
    dearest = document["costs"][0]
    assert dearest["reading"] == "lobe.intake.centreline"
    known = tallstack(
        "risk", CAM, "--draws", "1000", "--json", "--with", "lobe.intake.centreline=106 +/- 0.0001"
    ).json
    chances = [
        sum(one["chance_by_budget"] for one in run["answers"] if one["chance_by_budget"] is not None)
        for run in (document, known)
    ]
    assert chances[0] - chances[1] == pytest.approx(dearest["saves"], abs=2e-4)


def test_looking_nearby_tells_most_builds() -> None:
    """What is not told takes the whole search: dearer, and never wrong; here it would show as a slow command."""
    job, tables = with_tables(load(BETWEEN))
    found = clearances(job.mapping, tables, job.quantities, job.doubts)
    flat, block = drawn_from(job, 300)
    pair = found.pairs[0]
    assert pair.least is not None
    asked = Asked("left", "between", pair.least.angle)
    ready = prepared(job.mapping, found.situations["left"], asked, job.quantities, tables, 0.2)
    assert near(many(ready, flat, block)).sure.mean() > 0.9


@pytest.mark.wide
def test_the_budget_of_every_answer_has_every_entry_that_moves_it(tmp_path: Path) -> None:
    """What a budget left out the draws would show: an entry of the whole engine, a reading that is copied."""
    more = """[studs]
stands = "225 +/- 0.3"
head_seat = "66 +/- 0.2"
washer = "2 +/- 0.1"
diameter = "10 +/- 0.05"
[running]
speed = "5500 +/- 200 rpm"
"""
    path = by_coordinates(tmp_path, more=more)
    document = tallstack("risk", path, "--draws", "2500", "--json").json
    count = 0
    for one in document["answers"]:
        unit = next(
            (key.removeprefix("drawn_standard") for key in one if key.startswith("drawn_standard")), ""
        )
        drawn_standard, linear = one[f"drawn_standard{unit}"], one[f"standard{unit}"]
        if not drawn_standard or drawn_standard < 1e-4:
            continue
        assert linear == pytest.approx(drawn_standard, rel=0.2), one["what"]
        count += 1
    assert count >= 10
    assert any(one["what"] == "thread_in_nut" for one in document["answers"])


@pytest.mark.wide
def test_contact_with_the_lifter_pumped_up_is_an_answer_with_a_chance() -> None:
    words = ("--with", 'front.intake.measured_drop.drop="0.119 +/- 0.002 in"')
    clear = tallstack("clearance", DEMO, *words, "--json").json["valves"][0]
    document = tallstack("risk", DEMO, *words, "--json").json
    row = next(one for one in document["answers"] if one["what"] == "pumped" and one["of"] == "front.intake")
    assert row["value_mm"] == pytest.approx(clear["drop_pumped_mm"], abs=1e-6)
    assert row["doubt_mm"] == pytest.approx(clear["drop_pumped_doubt_mm"], abs=1e-6)
    assert row["least_mm"] == 0.0
    assert (row["chance"] > 0.5) == (clear["drop_pumped_mm"] < 0)
    # Its cam is known by a card: the budget takes the bounds of the lobe's shape, the draws the shapes themselves.
    by_shape = next(share for part, share in row["shares"].items() if part.startswith("the shape of"))
    others = row["standard_mm"] * math.sqrt(1.0 - by_shape)
    job, tables = with_tables(load(DEMO, words[1:]))
    found = clearances(job.mapping, tables, {}, {})
    angle = found.valves[0].drop[0].angle
    ready = prepared(
        job.mapping, found.situations["front"], Asked("front.intake", "drop", angle), {}, tables, 0.2
    )
    shapes = float(np.std(drawn(ready, job.mapping, block_of({}, 400, 3))))
    assert 0.02 < shapes < row["standard_mm"] * math.sqrt(by_shape)
    assert row["drawn_standard_mm"] == pytest.approx(math.hypot(others, shapes), rel=0.05)


BENCH_PUMPED = """
format = 1
units = "mm"
[crank]
stroke = "100 +/- 0.05"
conrod_length = "180 +/- 0.1"
[stack]
cylinder = "109.47 +/- 0.03"
head_gasket = "1.0 +/- 0.03"
[[cylinder]]
name = "single"
[lobe.intake]
law = {{ name = "4-5-6-7", peak = "8.3 +/- 0.03", degrees = "330 +/- 1" }}
centreline = "108 +/- 1"
[[train]]
cylinder = "single"
port = "intake"
lifter = {{ kind = "hydraulic", preload = "{preload}" }}
rocker = {{ ratio = "1.6" }}
[train.measured_pushrod]
length = "242.24 +/- {rod}"
as = "overall"
plunger = "top"
lean = "3 +/- 1"
stack = {{ cylinder = "105.41 +/- 0.03" }}
[train.measured_drop]
drop = "6.0 +/- 0.05"
lean = "20 +/- 1"
meets = "pocket"
room = "6 +/- 0.3"
"""


@pytest.mark.parametrize(("rod", "preload"), [(0.05, "1.0"), (0.5, "1.0"), (0.05, "1.0 +/- 0.4")])
def test_pumped_up_counts_what_the_preload_is_off_by(tmp_path: Path, rod: float, preload: str) -> None:
    """Against plain draws: a rod that asks for more length has that much less preload, at the valve times the ratio."""
    path = tmp_path / "job.toml"
    path.write_text(BENCH_PUMPED.format(rod=rod, preload=preload), encoding="utf-8")
    told = tallstack("risk", path, "--draws", "20000", "--json").json["answers"]
    drop, pumped = (next(one for one in told if one["what"] == what) for what in ("drop", "pumped"))
    rng = np.random.default_rng(3)
    rods, cylinders, before = (rng.uniform(-one, one, 400_000) for one in (rod, 0.03, 0.03))
    wished = rng.uniform(-0.4, 0.4, 400_000) if "+/-" in preload else 0.0
    needed = rods + math.cos(math.radians(3.0)) * (cylinders - before)
    off = 1.6 * (wished - needed)
    own = rng.normal(0.0, drop["standard_mm"], 400_000)
    apart = float(np.std(own - off))
    assert pumped["standard_mm"] == pytest.approx(apart, rel=0.03)
    assert pumped["drawn_standard_mm"] == pytest.approx(apart, rel=0.03)
    assert pumped["value_mm"] < drop["value_mm"] - 1.5


def test_a_single_build_is_drawn() -> None:
    run = Run({}, {}, {}, [AskedOfBuilds(result(1.0), lambda *_: array([1.0]))], 1, 0)
    (row,) = run.block(0, 1)
    assert row is not None


def test_builds_are_counted_by_what_they_come_to() -> None:
    tally = Tally(result(1.0, least=1.5))
    tally.add(array([1.0, 2.0, np.inf, np.inf, np.nan]))
    assert (tally.looked, tally.impossible, tally.absent, tally.missed) == (5, 1, 2, 1)


def test_where_no_build_can_be_put_together_all_of_them_miss() -> None:
    told = with_draws(result(1.0, least=0.5), np.full(200, np.nan)).builds
    assert told.told is None
    assert told.missed is not None
    assert told.missed.share == 1.0


def test_a_build_that_misses_both_of_two_limits_is_missed_once() -> None:
    """A limit of somebody's own may stand below a least one of common practice, and leave nothing between them."""
    answer = result(0.6, least=0.9)._replace(most=Limit(0.4, None, Source.SET))
    told = with_draws(answer, np.array([0.5, 0.6, 0.7])).builds
    assert told is not None
    assert told.missed is not None
    assert told.missed.share == 1.0
