"""What has changed since a reading: a line that adds up, cut metal asked for, and the same cut entered twice."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain
from tallstack.geometry.engine.since_read import adding_up, since_read

from ...commands import BENCH, DEMO, TWIN, tallstack

HERE = """\
format = 1
units = "{units}"
[crank]
stroke = {stroke}
conrod_length = 188
[piston]
compression_height = 36
[stack]
cylinder = {cylinder}
head_gasket = {gasket}
{cuts}
[[cylinder]]
name = "one"
[[train]]
cylinder = "one"
port = "intake"
lifter = {{ kind = "hydraulic", preload = "1.0 mm" }}
[train.measured_pushrod]
length = "282.0 +/- 0.1 mm"
as = "overall"
plunger = "top"
lean = 3
stack = {{ cylinder = 121.5, head_gasket = 1.0 }}
[train.measured_drop]
drop = "6.0 +/- 0.05 mm"
lean = 24
meets = "crown"
stack = {{ cylinder = 121.5, head_gasket = 1.0 }}
crank = {{ stroke = 100 }}
"""


def job(folder: Path, **more: object) -> Path:
    known = {"units": "mm", "stroke": 100, "cylinder": 121.2, "gasket": 1.6, "cuts": "head_cut = 0.8"}
    made = folder / "job.toml"
    made.write_text(HERE.format(**{**known, **more}), encoding="utf-8")
    return made


def test_the_terms_add_up_to_the_rounded_sum() -> None:
    numbers = np.random.default_rng(4)
    for step in (0.01, 0.0254):
        for terms in numbers.uniform(-2, 2, (400, 5)):
            total, rounded = adding_up(terms.tolist(), step)
            assert math.isclose(math.fsum(rounded), total, abs_tol=1e-9)
            assert abs(total - math.fsum(terms)) <= step / 2 + 1e-12
            assert max(abs(one - other) for one, other in zip(terms, rounded, strict=True)) < step * 1.5
    total, rounded = adding_up([0.004, 0.004, 0.004], 0.01)
    assert (total, rounded) == (0.01, [0.01, 0.0, 0.0])  # the missing unit goes to the first of equals


@pytest.mark.parametrize("units", ["mm", "in"])
def test_pushrods_and_clearance_say_what_has_changed(tmp_path: Path, units: str) -> None:
    told = " ".join(tallstack("pushrods", job(tmp_path)).out.split())
    assert (
        "one intake: 0.50 mm lower than when read: cylinder -0.30, head gasket +0.60, head cut -0.80" in told
    )
    less = tallstack("pushrods", job(tmp_path, cylinder=121.5, gasket=1.0, cuts="")).out
    assert "the stack is as tall as when read" in " ".join(less.split())
    taller = " ".join(tallstack("pushrods", BENCH).out.split())
    assert "SINCE IT WAS READ" in taller
    del units


def test_the_piston_is_told_where_it_moved_too(tmp_path: Path) -> None:
    loaded = load(job(tmp_path, stroke=106))
    found = since_read(loaded.mapping, "one.intake", "measured_drop")
    assert found is not None
    assert found.piston == pytest.approx({"crank.stroke": 3.0})
    assert found.growth == pytest.approx(-0.5)
    assert found.higher == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("cylinder", "cuts", "cut"),
    [
        (120.9, "case_cut = 0.6", "0.600 mm (0.0236 in) is cut from the case: the same"),
        (120.9, "head_cut = 0.6", "0.600 mm (0.0236 in) is cut from the head: the same"),
        (
            120.9,
            "case_cut = 0.2\nhead_cut = 0.4",
            "is cut from the case and 0.400 mm (0.0157 in) is cut from the head",
        ),
        (120.9, "case_cut = 0.2\nhead_cut = 0.6", "and 0.600 mm (0.0236 in) is cut from the head: the same"),
        (120.7, "case_cut = 0.6", ""),
        (120.7, "head_cut = 0.6", ""),
        (122.1, "head_cut = 0.6", ""),
    ],
)
def test_the_same_cut_twice_is_asked_about(tmp_path: Path, cylinder: float, cuts: str, cut: str) -> None:
    found = load(job(tmp_path, cylinder=cylinder, gasket=1.0, cuts=cuts)).warnings
    twice = [one for one in found if "the same cut twice?" in one]
    assert bool(twice) == bool(cut)
    assert all(isinstance(one, LookAgain) and one.about and cut in one for one in twice)


def test_one_cut_at_both_faces_is_asked_about(tmp_path: Path) -> None:
    told = [load(job(tmp_path, cuts=f"case_cut = 0.5\nhead_cut = {head}")).warnings for head in (0.5, 0.7)]
    assert ["entered at both faces?" in " ".join(one) for one in told] == [True, False]


def test_stacks_of_then_and_now_exchanged_are_asked_about(tmp_path: Path) -> None:
    exchanged = job(
        tmp_path, stroke=110, cylinder=116.5, gasket=1.0, cuts=""
    )  # the piston 5 up, the stack 5 down
    told = tallstack("check", exchanged, "--json").json["warnings"]
    assert any("were the stacks of then and now exchanged?" in one for one in told)
    right = job(tmp_path, stroke=110, cylinder=126.5, gasket=1.0, cuts="")
    assert not any("exchanged?" in one for one in tallstack("check", right, "--json").json["warnings"])


@pytest.mark.wide
def test_cut_metal_is_asked_for(tmp_path: Path) -> None:
    groups = tallstack("measure", TWIN, "--json").json["groups"]
    cut = next(one for one in groups if one["for"].startswith("CUT SINCE IT WAS READ"))
    assert [one["entry"] for one in cut["readings"]] == ["stack.case_cut", "stack.head_cut"]
    entered = tmp_path / "job.toml"
    entered.write_text(
        TWIN.read_text(encoding="utf-8").replace("[stack]\n", "[stack]\ncase_cut = 0\nhead_cut = 0\n", 1),
        encoding="utf-8",
    )
    for name in ("intake.csv", "exhaust.csv"):
        (tmp_path / name).write_bytes((DEMO.parent / name).read_bytes())
    groups = tallstack("measure", entered, "--json").json["groups"]
    assert not any(one["for"].startswith("CUT SINCE") for one in groups)
