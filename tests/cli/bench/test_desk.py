"""What is entered at the page: taken, refused, told as a digit, chosen the other way, taken back; the file whole all the while."""

from __future__ import annotations

import json
import os
import tomllib
from pathlib import Path

import pytest
from tallstack.cli.bench.desk import OpenJob, beside
from tallstack.cli.bench.places import loc_of
from tallstack.cli.bench.screens import CAM, ROD, STACK, Option, Part, Way
from tallstack.cli.bench.view import begun_with
from tallstack.cli.job.faults import Loc

from .jobs import HALF, half, twin

CYLINDER: Loc = ("stack", "cylinder")
LENGTH: Loc = ("train", 0, "measured_pushrod", "length")


def choice(key: str) -> tuple[Way, Part]:
    return next(
        (one, part)
        for screen in (STACK, ROD)
        for part in screen.parts
        for one in part.entries
        if isinstance(one, Way) and one.key == key
    )


def choose(job: OpenJob, key: str, word: str, owner: str = "") -> str:
    way, part = choice(key)
    option = next(one for one in way.options if one.word == word)
    assert job.document is not None
    plain = job.document.edited.plain
    told = job.choose(way, option, lambda entry: loc_of(part, entry, owner, plain))
    return told.fault


def test_a_value_is_written_with_the_remark_behind_it_and_taken_back_to_the_byte(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert job.enter(CYLINDER, "109.7 +/- 0.1", "109.5 +/- 0.1").fault == ""
    assert '"109.7 +/- 0.1"    # read in three places' in path.read_text(encoding="utf-8")
    assert job.would_undo == "cylinder back to 109.5 +/- 0.1"
    assert (path.with_name("half.toml.bak")).read_text(encoding="utf-8") == HALF
    assert job.undo().fault == ""
    assert path.read_text(encoding="utf-8") == HALF
    assert job.would_undo == ""
    assert job.undo().fault


@pytest.mark.parametrize(
    ("typed", "stands"),
    [
        ("5 11/32 +/- 0.001 in", "5 11/32 +/- 0.001 in"),
        ("30 thou", "30 thou"),
        ("109.5, 109.6, 109.55", None),
        ('["109.5", "109.6", "109.55"]', ["109.5", "109.6", "109.55"]),
        ('{ read = "109.5", by = "mic A" }', {"read": "109.5", "by": "mic A"}),
    ],
)
def test_a_value_is_read_as_in_the_job_file(tmp_path: Path, typed: str, stands: object) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    told = job.enter(CYLINDER, typed, "109.5 +/- 0.1")
    found = tomllib.loads(path.read_text(encoding="utf-8"))["stack"]["cylinder"]
    if stands is None:
        assert told.fault
        assert found == "109.5 +/- 0.1"
    elif not told.fault:
        assert found == stands
    else:
        assert "mic A" in told.fault  # no such instrument in this job


def test_a_faulty_value_is_never_written(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    for typed in ("0,3", "-4", "far", "12 kg", "3000", '""'):
        told = job.enter(CYLINDER, typed, "109.5 +/- 0.1")
        assert told.fault, typed
        assert path.read_text(encoding="utf-8") == HALF
    assert job.would_undo == ""


def test_emptied_it_stands_open_and_its_line_stays(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert job.enter(CYLINDER, " ", "109.5 +/- 0.1").fault == ""
    assert 'cylinder = ""                 # read in three places' in path.read_text(encoding="utf-8")
    assert job.enter(("stack", "bore"), "", None).fault == ""
    assert "bore" not in path.read_text(encoding="utf-8")


def test_what_somebody_else_wrote_there_is_told_and_written_over_at_the_second_time(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    path.write_text(HALF.replace("109.5", "111.1"), encoding="utf-8")
    told = job.enter(CYLINDER, "109.7", "109.5 +/- 0.1")
    assert told.conflict
    assert "111.1 +/- 0.1" in told.fault
    assert "111.1" in path.read_text(encoding="utf-8")
    assert job.enter(CYLINDER, "109.7", "111.1 +/- 0.1").fault == ""
    assert "cylinder = 109.7 " in path.read_text(encoding="utf-8")


def test_what_somebody_else_wrote_elsewhere_stays(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    path.write_text(HALF.replace('"276.0 +/- 0.2"', '"277.0 +/- 0.2"'), encoding="utf-8")
    assert job.enter(CYLINDER, "109.7", "109.5 +/- 0.1").fault == ""
    assert '"277.0 +/- 0.2"' in path.read_text(encoding="utf-8")


def test_a_file_that_cannot_be_read_is_told_and_not_written(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    broken = HALF.replace("[stack]", "[stack")
    path.write_text(broken, encoding="utf-8")
    assert job.refresh()
    assert "half.toml:5" in job.broken
    assert job.enter(CYLINDER, "109.7", "109.5 +/- 0.1").fault
    assert path.read_text(encoding="utf-8") == broken
    path.write_text(HALF, encoding="utf-8")
    assert job.refresh()
    assert job.broken == ""
    assert job.enter(CYLINDER, "109.7", "109.5 +/- 0.1").fault == ""


def test_a_link_in_the_jobs_place_is_refused(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    other = half(tmp_path, "other")
    path.unlink()
    os.symlink(other, path)
    assert "link" in job.enter(CYLINDER, "109.7", "109.5 +/- 0.1").fault
    assert other.read_text(encoding="utf-8") == HALF
    job.refresh()
    assert "link" in job.broken


def test_a_file_that_was_taken_away_is_not_made_anew(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert job.enter(CYLINDER, "109.7", "109.5 +/- 0.1").fault == ""
    path.rename(tmp_path / "elsewhere.toml")
    assert job.refresh()
    assert "gone" in job.broken
    assert "gone" in job.enter(CYLINDER, "109.8", 109.7).fault
    assert "gone" in choose(job, "read", "turns", "front.intake")
    assert "gone" in job.undo().fault
    assert not path.exists()
    (tmp_path / "elsewhere.toml").rename(path)
    assert job.refresh()
    assert job.undo().fault == ""
    assert path.read_text(encoding="utf-8") == HALF


def test_a_full_disk_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = half(tmp_path)
    job = OpenJob(path)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        assert "No space left" in job.enter(CYLINDER, "109.7", "109.5 +/- 0.1").fault
    assert path.read_text(encoding="utf-8") == HALF
    assert sorted(one.name for one in tmp_path.iterdir()) in (["half.toml"], ["half.toml", "half.toml.bak"])
    assert job.enter(CYLINDER, "109.7", "109.5 +/- 0.1").fault == ""


def test_one_entry_that_moves_a_length_far_is_asked_about(tmp_path: Path) -> None:
    job = OpenJob(twin(tmp_path))
    told = job.enter(CYLINDER, "6.342 +/- 0.001 in", "5.342 +/- 0.001 in")
    assert told.fault == ""
    assert "this moved front intake by" in told.asks
    assert "a digit?" in told.asks
    assert told.former == "5.342 +/- 0.001 in"
    assert job.enter(CYLINDER, told.former, "6.342 +/- 0.001 in").asks  # and back again, as far
    assert job.enter(CYLINDER, "5.343 +/- 0.001 in", "5.342 +/- 0.001 in").asks == ""
    wish: Loc = ("train", 0, "lifter", "preload")
    assert job.enter(wish, "0.060 in", "0.030 +/- 0.004 in").asks == ""  # wanted, not read


def test_another_way_takes_out_what_the_first_held_and_brings_it_back(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert choose(job, "read", "turns", "front.intake") == ""
    rod = tomllib.loads(path.read_text(encoding="utf-8"))["train"][0]["measured_pushrod"]
    assert "length" not in rod
    assert rod["checking_rod"] == {"closed": "", "turns": "", "threads_per_inch": ""}
    assert job.undo().fault == ""
    assert path.read_text(encoding="utf-8") == HALF


def test_solid_lifters_take_out_what_belongs_to_hydraulic_ones_of_copies_too(tmp_path: Path) -> None:
    path = twin(tmp_path)
    before = path.read_bytes()
    job = OpenJob(path)
    assert choose(job, "lifter", "solid", "front.intake") == ""
    found = tomllib.loads(path.read_text(encoding="utf-8"))["train"]
    assert "plunger" not in found[0]["measured_pushrod"]
    assert found[0]["lifter"] == {"kind": "solid", "lash": "", "lash_at": ""}
    assert job.job is not None
    assert job.undo().fault == ""
    assert path.read_bytes() == before


def test_a_plunger_held_down_and_back(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert choose(job, "plunger", "down", "front.intake") == ""
    plunger: Loc = ("train", 0, "measured_pushrod", "plunger", "down")
    assert job.enter(plunger, "0.8 mm", "").fault == ""
    assert choose(job, "plunger", "top", "front.intake") == ""
    assert tomllib.loads(path.read_text(encoding="utf-8"))["train"][0]["measured_pushrod"]["plunger"] == "top"
    for _ in range(3):
        assert job.undo().fault == ""
    assert path.read_text(encoding="utf-8") == HALF


def test_a_choice_that_something_contradicts_is_refused_whole(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    way, part = choice("form")
    odd = Option("odd", "", (), {"stack.cylinder": "no height"})
    assert job.document is not None
    plain = job.document.edited.plain
    assert job.choose(way, odd, lambda entry: loc_of(part, entry, "", plain)).fault
    assert path.read_text(encoding="utf-8") == HALF


def test_the_same_as_another_valve_gear(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    as_: Loc = ("train", 1, "measured_pushrod", "as")
    assert job.enter(as_, "=", None).fault == ""
    text = path.read_text(encoding="utf-8")
    assert 'as = "overall"' in text.partition('port = "exhaust"')[2]
    assert "as at front intake" in text
    assert job.enter(("train", 1, "measured_pushrod", "length"), "=", None).fault  # read at each


def test_all_of_the_file_rests_on_its_units(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert job.enter(("units",), "in", "mm").fault
    assert job.enter(("nothing", "here"), "1", None).fault
    assert path.read_text(encoding="utf-8") == HALF


def test_a_table_that_is_not_there_is_wrong_at_its_field_alone(tmp_path: Path) -> None:
    path = twin(tmp_path)
    before = path.read_bytes()
    job = OpenJob(path)
    told = job.enter(("lobe", "intake", "table"), "nowhere.csv", None)
    assert told.fault
    assert path.read_bytes() == before
    assert len(job.orders()) == 4


def test_what_goes_beside_an_entry() -> None:
    job = {
        "train": [
            {"cylinder": "a", "port": "intake"},
            {"cylinder": "b", "port": "intake", "like": "a.intake"},
        ]
    }
    gone = beside(("train", 0, "lifter", "kind"), "solid", job)
    assert ("train", 0, "lifter", "preload") in gone
    assert ("train", 1, "measured_pushrod", "plunger") in gone
    assert beside(("train", 0, "measured_drop", "meets"), "crown", job) == (
        ("train", 0, "measured_drop", "room"),
    )
    assert beside(("stack", "bore"), "98", job) == ()


def test_which_stack_a_rod_was_read_on_is_said(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    for word, on in (("now", "now"), ("other", None), ("before", "before")):
        assert choose(job, "measured_pushrod_read_on", word, "front.intake") == ""
        rod = tomllib.loads(path.read_text(encoding="utf-8"))["train"][0]["measured_pushrod"]
        assert rod.get("on") == on
        assert ("stack" in rod) == (word == "other")
    assert job.would_undo == "chosen: Which stack was it read on? the engine as it was, whole"
    for _ in range(3):
        assert job.undo().fault == ""
    assert path.read_text(encoding="utf-8") == HALF


def test_a_stack_that_is_entered_otherwise_says_what_counts_as_read_on_it(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    told = job.enter(CYLINDER, "109.6 +/- 0.1", "109.5 +/- 0.1")
    assert told.said.startswith("front intake's rod: counted as read on the stack as it is entered now")
    assert choose(job, "measured_pushrod_read_on", "other", "front.intake") == ""
    assert job.enter(CYLINDER, "109.7 +/- 0.1", "109.6 +/- 0.1").said == ""


def test_what_was_read_on_the_former_stack_says_so_by_one_tap_and_moves_as_much_as_it_should(
    tmp_path: Path,
) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    before = job.orders()[0].length
    told = job.enter(CYLINDER, "114.5 +/- 0.1", "109.5 +/- 0.1")
    assert told.readings
    assert "1 of them" in job.read_on(CYLINDER, told.former).said
    after, gear = job.orders()[0].length, tomllib.loads(path.read_text(encoding="utf-8"))["train"][0]
    assert gear["measured_pushrod"]["stack"]["cylinder"] == "109.5 +/- 0.1"
    assert before is not None
    assert after is not None
    assert 4.9 < after.value - before.value <= 5.0  # mm: along a rod that leans
    assert job.read_on(CYLINDER, told.former).fault == "nothing counts as read on it"
    assert job.would_undo == "chosen: read on 109.5 +/- 0.1"
    assert job.undo().fault == ""
    assert job.orders()[0].length == before
    assert job.read_on(CYLINDER, "much").fault
    assert job.read_on(("stack", "bore"), "70").fault == "nothing counts as read on it"


@pytest.mark.parametrize("typed", ["70.00", "71", "0.50"])
def test_a_page_that_cannot_tell_70_from_70_0_is_no_conflict(tmp_path: Path, typed: str) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    bore: Loc = ("stack", "bore")
    assert job.enter(bore, typed, None).fault == ""
    shown = json.loads(json.dumps(float(typed)))
    shown = int(shown) if shown == int(shown) else shown  # as a browser sends it
    told = job.enter(bore, "72.5", shown)
    assert not told.conflict
    assert tomllib.loads(path.read_text(encoding="utf-8"))["stack"]["bore"] == 72.5


def test_the_engine_as_it_was_is_begun_and_goes_out_whole(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert choose(job, "before", "yes") == ""
    assert job.enter(("before", "same"), "crank, piston", "").fault == ""
    assert job.enter(("before", "stack", "cylinder"), "108", "").fault == ""
    found = tomllib.loads(path.read_text(encoding="utf-8"))["before"]
    assert found["same"] == ["crank", "piston"]
    assert found["stack"]["cylinder"] == 108
    assert choose(job, "before", "no") == ""
    assert "before" not in tomllib.loads(path.read_text(encoding="utf-8"))
    assert job.undo().fault == ""
    assert tomllib.loads(path.read_text(encoding="utf-8"))["before"] == found
    for _ in range(3):
        assert job.undo().fault == ""
    assert path.read_text(encoding="utf-8") == HALF


@pytest.mark.parametrize(
    "loc", [("lobe", "intake", "centreline"), ("lobe", "intake", "card", "duration", "at")]
)
def test_what_needs_something_beside_it_is_taken_with_that_left_open(tmp_path: Path, loc: Loc) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert job.shown is not None
    begins = begun_with(job.shown, CAM, "intake", loc)
    assert job.enter(loc, "1.5" if loc[-1] == "at" else "105", None, begins).fault == ""
    card = tomllib.loads(path.read_text(encoding="utf-8"))["lobe"]["intake"]["card"]
    assert card["peak"] == card["duration"]["degrees"] == ""
    assert job.job is not None
    assert job.undo().fault == ""
    assert path.read_text(encoding="utf-8") == HALF


def test_a_direction_by_two_angles(tmp_path: Path) -> None:
    path = half(tmp_path)
    job = OpenJob(path)
    assert job.enter(("train", 0, "rocker", "direction"), "90, -20", None).fault == ""
    found = tomllib.loads(path.read_text(encoding="utf-8"))["train"][0]["rocker"]["direction"]
    assert found == {"around": 90, "up": -20}


def test_the_stack_of_a_reading_is_chosen_before_where_the_plunger_stood(tmp_path: Path) -> None:
    """In another order than the page asks in: what has to stand beside it is begun, open."""
    path = half(tmp_path)
    head, _, tail = HALF.partition("[train.measured_pushrod]")
    path.write_text(head + tail[tail.index("\n\n") :], encoding="utf-8")
    job = OpenJob(path)
    assert choose(job, "measured_pushrod_read_on", "now", "front.intake") == ""
    rod = tomllib.loads(path.read_text(encoding="utf-8"))["train"][0]["measured_pushrod"]
    assert rod["on"] == "now"
    assert rod["plunger"] == ""


def test_another_number_opens_nothing_beside_it_that_was_left_out(tmp_path: Path) -> None:
    """What is to be asked beside a reading is asked when it is first entered; what was left out then stays as it was."""
    path = twin(tmp_path)
    loc: Loc = ("train", 0, "measured_drop", "drop")
    said = 'stack = { cylinder = "5.342 +/- 0.001 in", base_gasket = "0.018 +/- 0.001 in", head_gasket = "0.030 +/- 0.002 in" }'
    less = path.read_text(encoding="utf-8").replace(said, 'stack = { head_gasket = "0.030 +/- 0.002 in" }', 1)
    path.write_text(less, encoding="utf-8")
    job = OpenJob(path)
    begins = [(*loc[:-1], "stack", part) for part in ("base_gasket", "cylinder")]
    assert job.enter(loc, "0.123 +/- 0.002 in", "0.122 +/- 0.002 in", begins).fault == ""
    assert path.read_text(encoding="utf-8") == less.replace('drop = "0.122', 'drop = "0.123', 1)
    assert job.enter(loc, "0.122 +/- 0.002 in", "0.123 +/- 0.002 in", begins).fault == ""
    assert path.read_text(encoding="utf-8") == less
    first: Loc = ("train", 0, "measured_drop", "room")
    job.enter(first, "", "0.090 +/- 0.010 in")
    assert job.enter(first, "0.090 +/- 0.010 in", "", begins).fault == ""
    assert 'cylinder = ""' in path.read_text(encoding="utf-8")
