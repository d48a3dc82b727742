"""The worked examples' expected answers, worked out a second way from what the job files say.

By coordinates: general root finding on the raw loop (`oracles/raw_loop`). By the bench route: plain
arithmetic on the typed numbers, with fractions for the units. Both share no code with the answers.
"""

from __future__ import annotations

import json
import math
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from tallstack.cli.jobfile.job import load

from .commands import EXAMPLES, tallstack
from .oracles import raw_loop

FOLDERS = sorted(path for path in EXAMPLES.iterdir() if path.is_dir())
CLOSE_MM = 0.002  # expected answers are written to 0.01 mm; half of that is for rounding
INCH = Fraction(254, 10)


def millimetres(typed: object, units: str) -> float:
    """Return a typed length in mm."""
    text = str(typed).split("+/-")[0].strip() if isinstance(typed, str) else str(typed)
    inches = units == "in" or "in" in str(typed)
    number = text.removesuffix("in").removesuffix("mm").strip()
    whole, _, fraction = number.rpartition(" ") if "/" in number else (number, "", "0")
    return float((Fraction(whole or 0) + Fraction(fraction)) * (INCH if inches else 1))


def plain(typed: object) -> float:
    return float(str(typed).split("+/-")[0])


def beyond(ends: dict[str, Any], convention: str, gauge: object, units: str) -> float:
    """Return what both ball ends add to the length between centres."""
    total = 0.0
    for side in ("low", "high"):
        radius = millimetres(ends[f"ball_diameter_{side}"], units) / 2
        flat = {"overall": ends[f"hole_{side}"], "gauge": gauge}.get(convention)
        total += radius if flat is None else math.sqrt(radius**2 - (millimetres(flat, units) / 2) ** 2)
    return total


def by_hand(document: dict[str, Any], cylinder: str, train: dict[str, Any]) -> float:
    """Return the overall length that a bench reading asks for, as one would on a box lid."""
    units = document["units"]
    first = document["train"][0]
    lifter = {**first.get("lifter", {}), **train.get("lifter", {})}
    ends = {**first.get("pushrod", {}), **train.get("pushrod", {})}
    read = train["measured_pushrod"]
    if "checking_rod" in read:
        rod = read["checking_rod"]
        length = millimetres(rod["closed"], units) + plain(rod["turns"]) * 25.4 / rod["threads_per_inch"]
    else:
        length = millimetres(read["length"], units)
    if "stack" not in read:  # read on this very stack: only the lash is left to take off
        rocker = train["rocker"]
        ratio = plain(rocker["valve_arm"]) / plain(rocker["pushrod_arm"])
        return length - millimetres(lifter["lash"], units) / ratio
    own = next(one for one in document["cylinder"] if one["name"] == cylinder).get("stack", {})
    now = {**document["stack"], **own}
    grown = sum(
        millimetres(now[part], units) - millimetres(before, units) for part, before in read["stack"].items()
    )
    centres = length - beyond(ends, read["as"], ends.get("gauge"), units)
    lean = math.radians(plain(read["lean"]))
    taller = math.hypot(centres * math.sin(lean), centres * math.cos(lean) + grown)
    return taller + millimetres(lifter["preload"], units) + beyond(ends, "overall", None, units)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_expected_answers(folder: Path) -> None:
    expected = json.loads((folder / "expected.json").read_text(encoding="utf-8"))["overall_mm"]
    rows = tallstack("pushrods", folder / "job.toml", "--json").json["pushrods"]
    assert {row["train"] for row in rows} == expected.keys()
    for row in rows:
        assert row["overall_mm"] == pytest.approx(expected[row["train"]], abs=0.005 + CLOSE_MM)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_expected_answers_a_second_way(folder: Path) -> None:
    expected = json.loads((folder / "expected.json").read_text(encoding="utf-8"))["overall_mm"]
    path = folder / "job.toml"
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    for train in document["train"]:
        name = f"{train['cylinder']}.{train['port']}"
        if "measured_pushrod" in train:
            again = by_hand(document, train["cylinder"], train)
        else:
            job = load(path)
            ends = {
                key: job.mapping[f"{name}.pushrod.{key}"]
                for key in ("ball_diameter_low", "hole_low", "ball_diameter_high", "hole_high")
            }
            again = raw_loop.length(job.mapping, name) + beyond(ends, "overall", None, "mm")
        assert again == pytest.approx(expected[name], abs=0.005 + CLOSE_MM), name


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_every_folder_is_whole(folder: Path) -> None:
    assert {"page.md", "job.toml", "expected.json"} <= {path.name for path in folder.iterdir()}
    assert tallstack("check", folder / "job.toml").status == 0


def test_the_two_routes_of_one_engine_agree_within_the_stated_doubt() -> None:
    bench, coordinates = (
        {
            row["train"]: row
            for row in tallstack("pushrods", EXAMPLES / name / "job.toml", "--json").json["pushrods"]
        }
        for name in ("taller_twin_by_bench", "taller_twin_by_coordinates")
    )
    assert bench.keys() == coordinates.keys()
    for name, row in bench.items():
        assert abs(row["overall_mm"] - coordinates[name]["overall_mm"]) < row["doubt_mm"]
