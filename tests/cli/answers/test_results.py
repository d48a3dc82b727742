"""Results as rows and lines: nothing in them can be changed, nothing that looks wrong is left out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import tallstack as ts
from tallstack.cli.job.look_again import LookAgain

from ...commands import EXAMPLES, TWIN
from ...test_library import GASKETS


def test_rows_are_plain_enough_for_any_table(job: ts.Job) -> None:
    rows = job.answers().rows()
    assert len({tuple(row) for row in rows}) == 1
    assert json.loads(json.dumps(rows)) == rows


def test_what_looks_wrong_is_in_the_results(tmp_path: Path) -> None:
    text = GASKETS.read_text(encoding="utf-8").replace("head_cut = 0.0", 'head_cut = ""', 1)
    text = text.replace('stack.head_gasket = "2.00 +/- 0.02"', 'stack.head_gasket = ""', 1)
    file = tmp_path / "job.toml"
    file.write_text(text, encoding="utf-8")
    found = ts.load(file).find("overall", "single.intake")
    assert isinstance(found, ts.Result)
    assert any("left blank" in one for one in found.look_again)
    assert "LOOK AGAIN" in str(found)


def test_an_estimate_is_never_a_bare_length(tmp_path: Path) -> None:
    job = ts.load(EXAMPLES / "taller_twin_by_coordinates" / "job.toml")
    found = job.find("overall", "front.intake")
    assert isinstance(found, ts.Result)
    assert (found.verdict, found.uncertainty) == ("unproved", None)
    for shown in (str(found), found._repr_html_(), found.row()["note"], job._repr_html_()):
        assert "ESTIMATE, NOT FOR ORDERING" in shown
    (change, *_) = job.with_({"stack.cylinder": "150 mm"}).compare(job)
    assert "ESTIMATE, NOT FOR ORDERING" in str(change)
    assert change.row()["note"] == "ESTIMATE, NOT FOR ORDERING"


def test_a_limit_says_whose_it_is_and_what_is_unproved_says_why(job: ts.Job) -> None:
    demo = ts.load(TWIN)
    found = demo.find("drop", "front.intake")
    assert isinstance(found, ts.Result)
    assert found.limit == ts.Limit(2.032, None, "common practice, set your own")
    assert "UNPROVED, no ± for lobe.intake.centreline, " in str(found)
    assert found.row()["limit_is"] == "common practice, set your own"
    assert found.row()["without_doubt"].startswith("lobe.intake.centreline, ")
    pumped = demo.find("drop_pumped", "front.intake")
    assert isinstance(pumped, ts.Result)
    assert pumped.limit == ts.Limit(0.0, None, "the parts' own limit")
    squish = job.find("squish")
    assert isinstance(squish, ts.Result)
    assert squish.limit == ts.Limit(1.0, None, "yours")


def test_what_was_answered_cannot_be_changed(job: ts.Job) -> None:
    found = job.find("squish")
    assert isinstance(found, ts.Result)
    with pytest.raises(TypeError):
        found.moved_by["crank.stroke"] = 99.0  # type: ignore[index]


def test_a_length_told_from_another_by_a_ball_that_looks_wrong_is_not_met() -> None:
    job = ts.load(EXAMPLES / "in_line_with_lash_for_hot" / "job.toml")
    odd = LookAgain("the ball is odd", "one.exhaust.pushrod.ball_diameter_low")
    for gear in job.names["trains"]:  # all of them are like the first
        told = {
            one.answer: one for one in job._replace(warnings=(odd,)).answers("pushrods") if one.of == gear
        }
        overall, centres = told["overall"], told["centres"]
        assert isinstance(overall, ts.Result)
        assert isinstance(centres, ts.Result)
        assert (overall.verdict, overall.look_again) == ("ok", ())
        assert (centres.verdict, centres.look_again) == ("unproved", (odd,))
