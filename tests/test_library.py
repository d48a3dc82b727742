"""`import tallstack`: a job asked by a program says what its screens say, and engines of arrays are what engines alone are."""

from __future__ import annotations

import copy
import json
import pickle
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tallstack as ts

from .clearance_jobs import by_coordinates
from .commands import DEMO, EXAMPLES, tallstack
from .seeded import few

GASKETS = EXAMPLES / "eleven_head_gaskets_from_python" / "job.toml"
SHELF = EXAMPLES / "pushrods_from_the_shelf"


@pytest.fixture(scope="module")
def job() -> ts.Job:
    return ts.load(str(GASKETS))


def test_nothing_is_loaded_before_it_is_asked_for() -> None:
    code = "import sys, tallstack; print(*sys.modules); tallstack.load; tallstack.Missing"
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"numpy", "tallstack.cli.job.job", "typer"} & set(ended.stdout.split())


def test_every_name_is_there_and_no_other() -> None:
    assert dir(ts) == sorted(ts.__all__)
    assert all(getattr(ts, name).__name__ for name in ts.__all__)
    with pytest.raises(AttributeError, match="module 'tallstack' has no attribute 'nothing'"):
        _ = ts.nothing


@pytest.mark.parametrize("path", few([GASKETS, "coordinates"], 1))
def test_an_answer_is_what_the_command_says(path: Path | str, tmp_path: Path) -> None:
    file = by_coordinates(tmp_path) if isinstance(path, str) else path
    job = ts.load(file)
    for row in tallstack("pushrods", file, "--json").json["pushrods"]:
        for key in ("centres", "theoretical", "overall"):
            assert_same(job.find(key, row["train"]), row[f"{key}_mm"])
        found = job.find(row["ordered_as"], row["train"])
        if not row["without_doubt"] and not row["estimate"]:
            assert isinstance(found, ts.Result)
            assert found.uncertainty == pytest.approx(row["doubt_mm"], abs=1e-6)
    document = tallstack("clearance", file, "--json").json
    for row in document["valves"]:
        judged = job.find(row["judged_on"], row["train"])
        assert isinstance(judged, ts.Result)
        assert judged.limit is not None
        assert (judged.verdict, judged.limit.least) == (row["verdict"], row["target_mm"])
        for key in ("drop", "gap"):
            assert_same(job.find(key, row["train"]), row[f"{key}_mm"])
    for row in document["pairs"]:
        assert_same(job.find("valve_to_valve", row["cylinder"]), row["valve_to_valve_mm"])
    for row in tallstack("fits", file, "--json").json["cylinders"]:
        for key, unit in (("displacement", "_cc"), ("squish", "_mm"), ("compression_ratio", "")):
            if f"{key}{unit}" in row or key != "compression_ratio":
                assert_same(job.find(key, row["cylinder"]), row.get(f"{key}{unit}"))


def assert_same(found: ts.Result | ts.Missing, told: float | None) -> None:
    if told is None:
        assert isinstance(found, ts.Missing)
    else:
        assert isinstance(found, ts.Result)
        assert found.value == pytest.approx(told, abs=1e-6)


def test_answers_stand_in_the_order_of_the_screens(job: ts.Job) -> None:
    groups = [job.answers(group) for group in ("pushrods", "clearance", "fits")]
    assert tuple(job.answers()) == sum(map(tuple, groups), ())
    assert list(dict.fromkeys(one.of for one in groups[0])) == ["single.intake", "single.exhaust"]
    assert job.answers("clearance") is job.answers("clearance")
    with pytest.raises(
        ValueError, match="nothing: no such group of answers; there are pushrods, clearance, fits"
    ):
        job.answers("nothing")


def test_what_is_missing_names_its_entries(job: ts.Job) -> None:
    found = job.find("valve_to_valve")
    assert isinstance(found, ts.Missing)
    assert "single.intake.valve.face" in found.needs["coordinates"]
    assert str(found).startswith("single, valve to valve: NOT KNOWN, needs single.intake.valve.face,")
    assert found.row()["needs"].startswith("single.intake.valve.face")
    assert found.row().keys() == job.find("squish").row().keys()


@pytest.mark.parametrize(
    ("answer", "of", "said"),
    [
        ("overall", "", "overall: say of what: single.intake, single.exhaust"),
        ("nothing", "", "nothing: no such answer; there are centres, theoretical, overall"),
        (
            "squish",
            "single.intake",
            "squish: there is none of single.intake; did you mean single|it is of single",
        ),
    ],
)
def test_what_is_asked_for_in_vain_is_said(job: ts.Job, answer: str, of: str, said: str) -> None:
    with pytest.raises(LookupError, match=said):
        job.find(answer, of)


def test_another_value_is_tried_and_compared_cause_by_cause(job: ts.Job) -> None:
    taller = job.with_({"stack.cylinder": "124.6 +/- 0.02 mm", "stack.head_gasket": 1.1})
    assert taller.variations == ("stack.cylinder=124.6 +/- 0.02 mm", "stack.head_gasket=1.1")
    assert job.find("overall", "single.intake") == job.find("overall", "single.intake")
    for change in taller.compare(job):
        before, after = (one.find("overall", change.of) for one in (job, taller))
        assert isinstance(before, ts.Result)
        assert isinstance(after, ts.Result)
        assert change.change == pytest.approx(after.value - before.value, abs=1e-9)
        assert list(change.causes) == ["head gasket", "cylinder"]
        assert sum(change.causes.values()) == pytest.approx(change.change, abs=1e-9)
    rows = taller.compare(job).rows()
    assert [row["of"] for row in rows] == ["single.intake", "single.exhaust"]
    assert str(taller.compare(job)).startswith("single.intake, overall: +0.400 mm: head gasket -0.1")
    again = taller.with_({"stack.head_gasket": "1.2 +/- 0.02"})
    assert again.find("overall", "single.intake").row()["value"] == pytest.approx(
        job.find("overall", "single.intake").row()["value"] + 0.4997, abs=1e-4
    )


def test_a_swap_of_two_files_keeps_a_reading_on_its_stack() -> None:
    after, before = (ts.load(SHELF / name) for name in ("job.toml", "before.toml"))
    told = tallstack("swap", SHELF / "job.toml", "--from", SHELF / "before.toml", "--json").json["trains"]
    for change, row in zip(after.compare(before), told, strict=True):
        assert change.of == row["train"]
        assert change.change == pytest.approx(row["change_mm"], abs=1e-6)


def test_every_fault_of_a_file_is_in_the_error(tmp_path: Path) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(
        'format = 1\nunits = "mm"\n[stack]\ncylinder = "x"\nhead_gasket = "y"\n', encoding="utf-8"
    )
    with pytest.raises(ts.JobError) as caught:
        ts.load(file)
    assert len(caught.value.faults) == 2
    assert str(caught.value) == caught.value.report()
    assert "wrong.toml:5" in str(caught.value)


def test_a_million_engines_and_one_go_through_the_same_call(job: ts.Job) -> None:
    gaskets = np.linspace(0.8, 1.8, 1001)
    engines = ts.build(job.mapping.with_({"stack.head_gasket": gaskets}))
    lengths = ts.required(engines.train("single.intake")).lengths["overall"]
    for index in (0, 500, 1000):
        alone = job.with_({"stack.head_gasket": float(gaskets[index])}).find("overall", "single.intake")
        assert isinstance(alone, ts.Result)
        assert lengths[index] == pytest.approx(alone.value, abs=1e-9)


@pytest.mark.parametrize(
    ("mapping", "error", "said"),
    [
        ({"stack.cylinder": [1.0, 2.0]}, TypeError, "stack.cylinder: a list is no value of an entry"),
        ({"stack.cilinder": 1.0}, ValueError, "stack.cilinder: no such entry; did you mean cylinder"),
        (
            {"stack.cylinder": "5 in"},
            TypeError,
            "stack.cylinder: '5 in' stands where a number in mm or rad belongs",
        ),
        (
            {"trains": ("a.intake",), "a.intake.lifter.kind": 1.0},
            TypeError,
            "1.0 stands where a word belongs",
        ),
        ({"trains": ("a.intake",), "a.intake.lifter.seed.x": 1.0}, ValueError, "no such entry"),
        ({"trains": "a.intake"}, TypeError, "trains: a tuple of names belongs here"),
        (("stack.cylinder", 1.0), TypeError, "a tuple is no engine"),
    ],
)
def test_what_is_no_engine_is_refused_in_words(mapping: Any, error: type[Exception], said: str) -> None:
    with pytest.raises(error, match=said):
        ts.build(mapping)


def test_a_mapping_of_ones_own_is_taken_where_it_is_one(tmp_path: Path) -> None:
    from tallstack.cli.job.loading import load

    for file in (GASKETS, by_coordinates(tmp_path)):
        entered: Mapping[str, Any] = {path: entry.value for path, entry in load(file).entries.items()}
        names = load(file).names
        own = ts.build({**entered, **names})
        theirs = ts.build(load(file).mapping)
        for name in names["trains"]:
            assert ts.required(own.train(name)).lengths == ts.required(theirs.train(name)).lengths


def test_a_notebook_shows_a_job_its_answers_and_a_drawing(job: ts.Job, tmp_path: Path) -> None:
    shown = job._repr_html_()
    assert shown.startswith("<h3>Single, eleven head gaskets on the table</h3><table>")
    assert "<td>single.intake</td><td>length OVERALL</td><td>243.4" in shown
    result = job.find("squish")
    assert "<td>1.500</td><td>mm</td><td>+/- 0.15" in result._repr_html_()
    told = job.with_({"stack.base_gasket": "9 mm"})
    assert "<p>LOOK AGAIN: " in told._repr_html_()
    picture = job.draw("single.intake")
    assert picture._repr_svg_() == picture.svg == job.draw().svg
    drawn = tmp_path / "gear.svg"
    tallstack("draw", GASKETS, "single.intake", "-o", drawn)
    assert drawn.read_text(encoding="utf-8") == picture.svg
    picture.save(tmp_path / "same.svg")
    assert (tmp_path / "same.svg").read_bytes() == drawn.read_bytes()
    with pytest.raises(FileExistsError):
        picture.save(tmp_path / "same.svg")
    with pytest.raises(ValueError, match=r"gear\.gif: a drawing is written as \.svg"):
        picture.save("gear.gif")


@pytest.mark.parametrize("of", ["single", "engine"])
def test_cylinder_and_engine_are_drawn_as_the_command_draws_them(
    job: ts.Job, of: str, tmp_path: Path
) -> None:
    drawn = tmp_path / "page.svg"
    tallstack("draw", GASKETS, of, "-o", drawn)
    assert job.draw(of).svg == drawn.read_text(encoding="utf-8")


def test_what_cannot_be_drawn_is_said(job: ts.Job) -> None:
    with pytest.raises(ValueError, match="double: no such valve gear or cylinder; there are single.intake"):
        job.draw("double")


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


def test_what_misses_is_in_the_length_too(job: ts.Job) -> None:
    demo = ts.load(DEMO)
    short = demo.with_({"front.intake.lifter.preload": "0.090 in"}).find("overall", "front.intake")
    assert isinstance(short, ts.Result)
    assert short.verdict == "short"
    assert "the verdict is on the preload it gives" in str(short)


def test_a_comparison_repeats_what_looks_wrong(tmp_path: Path) -> None:
    demo = ts.load(DEMO)
    changes = demo.with_({"stack.cylinder": "5.0 in"}).compare(demo)
    assert all(one.look_again for one in changes)
    assert "LOOK AGAIN: " in str(changes)
    assert all(row["look_again"] for row in changes.rows())


def test_a_limit_says_whose_it_is_and_what_is_unproved_says_why(job: ts.Job) -> None:
    demo = ts.load(DEMO)
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


def test_lowering_a_cylinder_is_among_the_answers() -> None:
    job = ts.load(EXAMPLES / "which_cylinder_first" / "job.toml")
    for row in tallstack("fits", EXAMPLES / "which_cylinder_first" / "job.toml", "--json").json["drop_on"]:
        found = job.find("margin", f"{row['fitted']}, {row['lowered']}")
        assert isinstance(found, ts.Result)
        assert found.value == pytest.approx(row["margin_mm"], abs=1e-6)
        assert f"{row['fitted']} fitted, {row['lowered']} lowered" in found.note
        assert ("none leaves the room" in found.note) is (not row["windows_deg"])
        assert ("NOT LOOKED AT" in found.note) is bool(row["not_looked_at"])


def test_what_was_tried_is_said(job: ts.Job) -> None:
    demo = ts.load(DEMO, "stack.cylinder=5.4 in")
    tried = demo.with_({"front.intake.lifter.preload": "0.05 in"})
    for shown in (str(tried), tried._repr_html_()):
        assert "TRIED, and not in the file: stack.cylinder=5.4 in" in shown
        assert (
            "TRIED, and not in the file: front.intake.lifter.preload=0.05 in; front exhaust and rear intake"
            in shown
        )
    assert "ASSUMED, because it was not entered" in tried._repr_html_()


def test_what_was_answered_cannot_be_changed(job: ts.Job) -> None:
    found = job.find("squish")
    assert isinstance(found, ts.Result)
    with pytest.raises(TypeError):
        found.moved_by["crank.stroke"] = 99.0  # type: ignore[index]


@pytest.mark.parametrize(
    ("more", "error", "said"),
    [
        ({"stack.hed_gasket": 0.8}, ValueError, "stack.hed_gasket: no such entry; did you mean head_gasket"),
        ({"stack.head_gasket": "0.9 mm"}, TypeError, "'0.9 mm' stands where a number"),
        ({"stack.head_gasket": (0.8, 0.9)}, TypeError, "stands where a number"),
        ({"single.intake.lifter.kind": np.array([1.0])}, TypeError, "stands where a word belongs"),
        ({"stack.head_gasket": np.array([1.0, None])}, TypeError, "a object array is no value"),
        ({"stack.head_gasket": np.array([1.0 + 1j])}, TypeError, "a complex128 array is no value"),
        ({"stack.head_gasket": True}, TypeError, "a bool is no value"),
        ({"stack.head_gasket": float("inf")}, ValueError, "stack.head_gasket: inf is not finite"),
        (
            {"stack.head_gasket": np.ones(2), "stack.cylinder": np.ones(3)},
            ValueError,
            r"stack.cylinder has the shape \(3,\) and stack.head_gasket \(2,\): arrays of one engine go together",
        ),
    ],
)
def test_a_job_s_mapping_is_looked_at_as_any_other(
    job: ts.Job, more: Any, error: type[Exception], said: str
) -> None:
    with pytest.raises(error, match=said):
        ts.required(ts.build(job.mapping.with_(more)).train("single.intake"))


def test_a_name_that_is_not_there_is_answered_with_those_that_are(job: ts.Job) -> None:
    from tallstack.geometry.fits.volume import squish

    with pytest.raises(KeyError, match="single.intak: no such valve gear; there are single.intake"):
        ts.build(job.mapping).train("single.intak")
    with pytest.raises(KeyError, match="singel: no such cylinder; there are single"):
        squish(job.mapping, "singel")
    with pytest.raises(
        LookupError, match=r"overall: there is none of single.intak; did you mean single.intake\?"
    ):
        job.find("overall", "single.intak")
    with pytest.raises(LookupError, match=r"overal: no such answer; did you mean overall\?"):
        job.find("overal")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (lambda job: job.with_("stack.cylinder=1"), "give a mapping of entries"),
        (lambda job: job.with_({"stack.cylinder": np.ones(2)}), "For many engines at once vary the mapping"),
        (lambda job: job.with_({"stack.cylinder": None}), "None is no value"),
        (lambda job: job.compare("job.toml"), "'job.toml' is no job; load it first"),
    ],
)
def test_what_is_no_value_or_no_job_is_said(job: ts.Job, wrong: Any, said: str) -> None:
    with pytest.raises(TypeError, match=said):
        wrong(job)


@pytest.mark.parametrize("at", [float("nan"), float("inf"), 1e4, "20"])
def test_no_drawing_at_an_angle_that_is_none(job: ts.Job, at: Any) -> None:
    with pytest.raises(ValueError, match="crank degrees from -720 to 720"):
        job.draw("engine", at=at)
    with pytest.raises(ValueError, match="only the engine is drawn at a crank angle"):
        job.draw("single.intake", at=20.0)


def test_parts_that_contradict_each_other_are_an_error_of_their_own() -> None:
    job = ts.load(EXAMPLES / "taller_twin_by_coordinates" / "job.toml")
    with pytest.raises(ts.GeometryError, match="ratio"):
        ts.build(job.mapping.with_({"front.intake.rocker.ratio": np.array([1.628, 3.0])}))
    alike = np.array([1.6279, 1.628])
    assert ts.build(job.mapping.with_({"front.intake.rocker.ratio": alike})).trains


def test_a_job_is_shown_in_a_line_copied_and_pickled(job: ts.Job) -> None:
    tried = job.with_({"stack.head_gasket": 1.0})
    assert (
        repr(tried)
        == f"<Job 'Single, eleven head gaskets on the table' from {str(GASKETS)!r}, 2 valve gears>"
    )
    for again in (copy.deepcopy(tried), pickle.loads(pickle.dumps(tried))):
        assert again.find("squish").row() == tried.find("squish").row()
    assert len(repr(job.draw())) < 400
