"""One thing read several times: the mean counts, and its doubt follows from the scatter."""

from __future__ import annotations

import math
import statistics
from pathlib import Path

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.job.reading.repeated import read_repeated
from tallstack.cli.job.reading.values import Dimension, Typed, ValueFault
from tallstack.geometry.doubt.coverage import coverage_factor

from ....commands import BENCH, tallstack

READ = ["5.560 in", "5.566 in", "5.563 in"]


def with_readings(folder: Path) -> Path:
    path = folder / "job.toml"
    text = BENCH.read_text(encoding="utf-8")
    assert text.count('cylinder = "5.563 +/- 0.001 in"') == 1
    listed = ", ".join(f'"{one}"' for one in READ)
    path.write_text(
        text.replace('cylinder = "5.563 +/- 0.001 in"', f"cylinder = [{listed}]"), encoding="utf-8"
    )
    return path


def test_the_mean_is_understood_with_its_degrees_of_freedom(tmp_path: Path) -> None:
    entry = load(with_readings(tmp_path)).entries["stack.cylinder"]
    numbers = [25.4 * float(one.removesuffix(" in")) for one in READ]
    assert entry.value == pytest.approx(statistics.fmean(numbers))
    assert entry.doubt is not None
    assert entry.doubt.standard == pytest.approx(statistics.stdev(numbers) / math.sqrt(3))
    said = tallstack("check", tmp_path / "job.toml").out
    assert "[5.560 in, 5.566 in, 5.563 in]" in said
    assert "(1 sigma, 2 degrees of freedom)" in said


def test_few_readings_widen_the_doubt_of_the_answer(tmp_path: Path) -> None:
    """Put together by hand: the rest of the budget as it was, and the readings' mean with two degrees of freedom."""
    path = with_readings(tmp_path)
    row, plain = (tallstack("pushrods", one, "--json").json["pushrods"][0] for one in (path, BENCH))
    slope = row["growth_per_stack"]
    rest = math.sqrt((plain["doubt_mm"] / 2) ** 2 - (slope * 0.0254) ** 2 / 3)
    mean = slope * 25.4 * statistics.stdev(float(one.removesuffix(" in")) for one in READ) / math.sqrt(3)
    whole = math.hypot(rest, mean)
    freedom = whole**4 / (mean**4 / 2)
    assert 2 < freedom < 20  # few enough to show
    assert row["doubt_mm"] == pytest.approx(coverage_factor(freedom) * whole, rel=1e-4)


@pytest.mark.parametrize(
    ("raw", "step"),
    [
        (["4.93 in", "4.93 in"], 0.254),
        (["3 15/16 in", "3 15/16 in"], 25.4 / 16),
        (["30 thou", "30 thou"], 0.0254),
        ([Typed.of("98.4"), Typed.of("98.4")], 2.54),
        (['0.030"', '0.030"'], 0.0254),
    ],
)
def test_readings_that_agree_are_as_good_as_the_step_they_were_read_to(
    raw: list[object], step: float
) -> None:
    value = read_repeated(raw, Dimension.LENGTH, "in")
    assert value.doubt is not None
    assert value.doubt.standard == pytest.approx(step / math.sqrt(12))
    assert math.isinf(value.doubt.freedom)


def test_a_list_may_be_tried(tmp_path: Path) -> None:
    tried = 'stack.cylinder=["5.560 in", "5.566 in"]'
    rows = tallstack("pushrods", BENCH, "--with", tried, "--json").json["pushrods"]
    same = tallstack("pushrods", BENCH, "--json").json["pushrods"]
    assert rows[0]["overall_mm"] == pytest.approx(same[0]["overall_mm"], abs=1e-4)
    assert rows[0]["doubt_mm"] > 2 * same[0]["doubt_mm"]


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        ([], "no reading in it"),
        (["4.9 in"], "one reading alone is written without brackets"),
        (["4.9 in"] * 101, "at most 100 readings"),
        (["4.93 in", ""], "reading 2 of 2 is left open"),
        (["4.93 in", ["4.93 in"]], "reading 2 is a list"),
        (["4.93 +/- 0.01 in", "4.93 in"], "readings in a list are written without +/-"),
        (["4.93 in", "4,93 in"], "a comma means thousands"),
        (["4.93 in", "98.4 in"], "readings of one thing from 4.93 in to 98.4 in: too far apart"),
        (["4.93 in", "4.93 kg"], '"kg" is no unit of a length'),
        ([True, "4.93 in"], "where a length belongs"),
    ],
)
def test_lists_that_are_no_readings_of_one_thing(raw: list[object], told: str) -> None:
    with pytest.raises(ValueFault) as fault:
        read_repeated(raw, Dimension.LENGTH, "in")
    assert told in str(fault.value)


def test_a_slip_among_readings_of_one_length_is_looked_at_again(tmp_path: Path) -> None:
    path = with_readings(tmp_path)
    assert "LOOK AGAIN" not in tallstack("pushrods", path).out
    path.write_text(path.read_text(encoding="utf-8").replace("5.566 in", "5.663 in"), encoding="utf-8")
    said = " ".join(tallstack("pushrods", path).out.split())
    assert "LOOK AGAIN" in said
    assert "is one of [5.560 in, 5.663 in, 5.563 in] a slip?" in said


def test_check_says_where_the_rounding_of_the_coarsest_is_wider_than_the_scatter(tmp_path: Path) -> None:
    path = with_readings(tmp_path)
    assert "rounding" not in tallstack("check", path).out
    text = path.read_text(encoding="utf-8").replace('"5.560 in", "5.566 in"', '"5.6 in", "5.566 in"')
    path.write_text(text, encoding="utf-8")
    told = tallstack("check", path)
    assert "+/- from the rounding of 5.6 in, written to 0.1 in: wider than the" in told.out
    rows = {row["entry"]: row for row in tallstack("check", path, "--json").json["entries"]}
    assert "5.6 in" in rows["stack.cylinder"]["note"]
