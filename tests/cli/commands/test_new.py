"""Guided `tallstack new`: the session itself, driven with strings, and as a person meets it, on a terminal."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Generator, Sequence
from pathlib import Path

import pytest
from tallstack.cli.guide.answers import kind_of
from tallstack.cli.guide.guide import Guide
from tallstack.cli.guide.questions import ROUTES, Question, questions
from tallstack.cli.guide.told import ENTRIES, WORDS
from tallstack.cli.guide.words import help_lines
from tallstack.cli.job.editing import Edited
from tallstack.cli.job.entries.catalogue import kind_at
from tallstack.cli.job.entries.fields import Choice
from tallstack.cli.job.faults import Loc
from tallstack.cli.job.loading import understood

from ...commands import EXAMPLES, tallstack
from ...documents import BLOCK, ROOT, files_shown

SINGLE = files_shown(ROOT / "README.md")["single.toml"]
START = ("in", "Single on a taller cylinder", "bench", "1", "", "both", "h")
STACK = ("4.310 +/- 0.001 in", "", "", "", "")
INTAKE = (
    *("0.040 in", "0.140 +/- 0.003 in", "9.482 +/- 0.003 in", "overall", "top", "3 +/- 1"),
    *("yes", "4.150 +/- 0.001 in", "", ""),
)
EXHAUST = (
    *("0.040 in", "0.140 +/- 0.003 in", "9.455 +/- 0.003 in", "o", "top", "4 +/- 1"),
    *("=", "", ""),  # its stack was that of the cylinder's other port
)
ENDS = ("",) * 8
WHOLE = (*START, *STACK, *INTAKE, *EXHAUST, *ENDS, "no")
CLEAR = (
    *("in", "Clear", "bench", "1", "", "intake", "hydraulic"),
    *(
        "4.3 +/- 0.001",
        "0.02",
        "0.04 +/- 0.002",
        *("0", "0"),
        "0.04",
        "0.14 +/- 0.003",
        "9.482 +/- 0.003",
        "overall",
        "top",
        "3 +/- 1",
        "no",
    ),
    *("", "", "", "", "yes", "4.000 +/- 0.002", "7.200 +/- 0.005", "card", "lifter", "0.300 +/- 0.002"),
    *(
        "0.050",
        "236",
        "0.006",
        "270",
        "107 +/- 1",
        "",
        "1.5 +/- 0.02",
        "0.312 +/- 0.002 in",
        "23 +/- 1",
        "pocket",
    ),
    *("0.070", "no", "0.08"),
)
FULL = (
    *("mm", "By coordinates", "coordinates", "1", "", "intake", "hydraulic"),
    *("143.65 +/- 0.05", "142.6 +/- 0.02", "0.5", "1.1", "0", "0"),
    *(
        "1.2",
        "3.8",
        "-23, 64, -12",
        "[1.0, -1.5]",
        "-37.5, 30, 135.5",
        "0, 1, 0",
        "36",
        "22",
        "157",
        "-30",
        "24",
        "6",
    ),
    *("-24.5, 0, 14", "-23, 0", "116", "no", "7.94", "7.94", "2", "2", "no"),
)


def told(guide: Guide, answers: Sequence[str]) -> list[str]:
    """Give these answers; each must be taken. Returns all that was said to them."""
    said: list[str] = []
    for line in answers:
        assert guide.asked is not None, f"nothing is asked any more, left: {line}"
        reply = guide.say(line)
        assert reply.taken, (line, guide.question(), reply.lines)
        said += reply.lines
    return said


def after(*answers: str, path: Path = Path("job.toml")) -> Guide:
    guide = Guide(path)
    told(guide, answers)
    return guide


def asked(guide: Guide) -> str:
    return " ".join(" ".join(guide.question()).split())


def lengths(path: Path) -> list[object]:
    rows = tallstack("pushrods", path, "--json").json["pushrods"]
    return [(one["train"], one["overall_mm"], one["doubt_mm"], one["verdict"]) for one in rows]


def test_the_answers_of_the_readme_give_the_job_of_the_readme(tmp_path: Path) -> None:
    path, same = tmp_path / "asked.toml", tmp_path / "single.toml"
    guide = after(*WHOLE, path=path)
    assert guide.asked is None
    path.write_text(guide.text, encoding="utf-8")
    same.write_text(SINGLE, encoding="utf-8")
    assert lengths(path) == lengths(same)
    assert tallstack("check", path).status == 0  # no answer waits for what is blank
    assert "no faults found" not in tallstack("check", path).err


def test_the_bench_route_goes_on_to_a_clearance(tmp_path: Path) -> None:
    path = tmp_path / "clear.toml"
    guide = after(*CLEAR, path=path)
    assert guide.asked is None
    path.write_text(guide.text, encoding="utf-8")
    (valve,) = tallstack("clearance", path, "--json").json["valves"]
    assert valve["drop_mm"] > 0
    assert valve["target_mm"] == pytest.approx(0.08 * 25.4)
    assert valve["basis"] == "measured_drop"


def test_the_full_route_asks_for_coordinates_and_gives_an_estimate(tmp_path: Path) -> None:
    path = tmp_path / "full.toml"
    guide = after(*FULL, path=path)
    assert guide.asked is None
    path.write_text(guide.text, encoding="utf-8")
    (row,) = tallstack("pushrods", path, "--json").json["pushrods"]
    assert row["estimate"] is True
    assert row["needs"] == {}
    assert row["overall_mm"] == pytest.approx(297.7449, abs=1e-4)  # of the engine with these coordinates


def test_every_question_tells_how_the_range_and_what_for() -> None:
    guide = Guide(Path("x.toml"))
    for line in CLEAR:
        text = "\n".join(guide.question()).split("\n")
        assert text[0] == ""
        assert all(len(one) <= 80 and one.isascii() for one in text)
        assert guide.asked is not None
        if len(guide.asked.loc) > 1 and guide.asked.name not in ("name", "other stack"):
            assert any(one.startswith("  How: ") for one in text)
            assert any(one.startswith("  For: ") for one in text)
        guide.say(line)
    guide = after(*START)
    assert "Usually: 50 to 260 mm, 2 to 10 in" in asked(guide)


def test_whatever_can_be_asked_stands_in_the_model_with_its_meaning() -> None:
    rows = [
        {"cylinder": "a", "port": port, "lifter": {"kind": kind}}
        for port in ("intake",)
        for kind in ("solid", "hydraulic")
    ]
    lobes: list[dict[str, object]] = [
        {"card": {}, "table": "", "measured_at": "valve"},
        *({"table": "", "read_with": one} for one in ({"tip": ""}, {"roller": ""}, "flat")),
    ]
    seen: set[Loc] = set()
    both = [*rows, {**rows[1], "port": "exhaust"}]
    both = [{**one, "lifter": {**dict(one["lifter"]), "follower": {"roller": ""}}} for one in both]
    for remarks, lobe in (
        (remarks, lobe)
        for remarks in (["# By coordinates: where each part of the valve gear stands."], [])
        for lobe in lobes
    ):
        for measured in ({}, {"measured_pushrod": {"stack": {}}, "measured_drop": {"drop": 1, "stack": {}}}):
            job = {
                "cylinder": [{"name": "a"}, {"name": "b"}],
                "train": [{**row, **measured} for row in both],
                "crank": {},
                "lobe": {"intake": lobe},
            }
            found = list(questions(job, remarks))
            assert len({one.key for one in found}) == len(found)
            seen |= {one.loc for one in found if one.loc and not one.options and one.name != "name"}
    for loc in seen:
        assert kind_at(loc) is not None, loc
    assert {_name(loc) for loc in seen} - {"title"} == ENTRIES.keys()


def _name(loc: Loc) -> str:
    """Return by which name an entry's words at the bench are found."""
    below = loc[2:] if loc[0] == "train" else (loc[0], *loc[2:]) if loc[0] in ("lobe", "cylinder") else loc
    return ".".join(map(str, below))


BY_TABLE = {
    "lobes": "table",
    "lobe.intake.table": "intake.csv",
    "lobe.intake.base_radius": "0.55",
    "lobe.intake.read_offset": "0",
    "train.0.lifter.follower.roller": "0.425",
    "train.0.lifter.follower_offset": "0",
    "lobe.intake.ground_for": "flat",
    "lobe.intake.lash_read": "0.010",
    "lobe.intake.dialled.lifter": "0.260",
    "lobe.intake.dialled.valve": "0.402",
    "clearances": "yes",
}


@pytest.mark.parametrize(
    ("more", "asks", "never"),
    [
        (
            {"lobe.intake.measured_at": "lifter", "read with 0": "tip", "lobe.intake.read_with.tip": "1/16", "follower 0": "roller"},
            {"lobe.intake.read_with.tip": "1/16", "lobe.intake.base_radius": "0.55", "lobe.intake.read_offset": 0, "train.0.lifter.follower.roller": "0.425", "train.0.lifter.follower_offset": 0},
            "dialled",
        ),
        (
            {"lobe.intake.measured_at": "lifter", "read with 0": "flat", "follower 0": "flat"},
            {"lobe.intake.read_with": "flat", "lobe.intake.base_radius": "0.55", "lobe.intake.ground_for": "flat", "train.0.lifter.follower": "flat"},
            "read_offset",
        ),
        ({"lobe.intake.measured_at": "lifter", "read with 0": "the"}, {"lobe.intake.read_with": "the engine's own follower"}, "base_radius"),
        ({"lobe.intake.measured_at": "valve"}, {"lobe.intake.lash_read": "0.010", "lobe.intake.dialled.lifter": "0.260", "lobe.intake.dialled.valve": "0.402"}, "read_with"),
    ],
)  # fmt: skip
def test_a_table_asks_what_rode_on_its_lobe(
    tmp_path: Path, more: dict[str, str], asks: dict[str, object], never: str
) -> None:
    (tmp_path / "intake.csv").touch()
    guide = after(*START[:5], "intake", "hydraulic", path=tmp_path / "job.toml")
    said = {**BY_TABLE, **more}
    while guide.asked is not None:
        reply = guide.say(said.get(guide.asked.key, ""))
        assert reply.taken, (guide.question(), reply.lines)
    for path, value in asks.items():
        loc = tuple(int(one) if one.isdigit() else one for one in path.split("."))
        found = guide.edited.get(loc)
        assert str(found) == str(value) or found == float(str(value)), path
    assert never not in guide.text
    again = [
        one.name
        for one in Guide(tmp_path / "job.toml", guide.text)._questions()
        if not guide._is_answered(one)
    ]
    assert not {"read with", "follower"} & set(again)


def test_an_answer_is_told_as_understood_in_both_units() -> None:
    guide = after(*START)
    assert told(guide, ["3 15/16 in"]) == ["  Understood: 3.9375 in = 100.0125 mm"]
    assert told(guide, ["30 thou"]) == ["  Understood: 0.03 in = 0.762 mm"]
    assert told(guide, ["0.043"]) == ["  Understood: 0.043 in = 1.0922 mm"]
    assert 'cylinder = "3 15/16 in"' in guide.text


@pytest.mark.parametrize(
    ("before", "line", "why"),
    [
        (START, "4,310", '"4,310": a comma means thousands to some'),
        (START, "4.310 furlong", '"furlong" is no unit of a length'),
        (START, "-3", "must be greater than 0"),
        (START, "100", "was it typed in mm?"),
        (START, '""', "no value between the quotes"),
        (START, '{ read = "4 in" }', "by is missing"),
        (START, "{ of = 4 }", "a table in braces where one value belongs"),
        (START, "4\x07", "characters that no job file can hold"),
        (START, "\udcff", "characters that no job file can hold"),
        (START, "=", "a reading is taken at every valve gear"),
        ((), "cm", '"cm" where "mm" or "in" belongs'),
        (START[:2], "both", '"both" where "bench" or "coordinates" belongs'),
        (START[:3], "2.5", '"2.5": a whole number from 1 to 12'),
        (START[:3], "0", "a whole number from 1 to 12"),
        (START[:4], "front cylinder", "a name takes letters, digits"),
        (START[:4], "stack", "the name of a table of the job file"),
        ((*START, *STACK, *INTAKE[:2]), "{ trns = 3 }", "did you mean turns"),
        ((*FULL[:15],), "-23, 64", "2 values where 3 belong"),
        ((*FULL[:15],), "-23, x, 5", "not a number"),
        ((*FULL[:15],), "3,5", 'a comma between two digits; write "3.5" if decimals are meant'),
    ],
)
def test_a_bad_answer_is_asked_again_with_the_reason(before: Sequence[str], line: str, why: str) -> None:
    guide = after(*before)
    text, key = guide.text, guide.asked
    reply = guide.say(line)
    assert not reply.taken
    assert why in " ".join(" ".join(reply.lines).split())
    assert (guide.asked, guide.text) == (key, text)


def test_a_contradiction_is_refused_in_the_words_of_the_job_file() -> None:
    guide = after(*START, "4.31 in", "0.02 in", "0.04 in", "0", "0", "0.040 in")
    text = guide.text
    reply = guide.say("0.030 in")
    assert not reply.taken
    assert "is more than the plunger's whole travel" in " ".join(" ".join(reply.lines).split())
    assert guide.text == text
    assert guide.say("0.150 in").taken


def test_a_name_that_is_there_already_is_refused() -> None:
    guide = after("in", "", "bench", "2", "left")
    reply = guide.say("left")
    assert not reply.taken
    assert "is there twice" in " ".join(reply.lines)


def test_what_is_unlikely_is_said_and_taken() -> None:
    guide = after(*START)
    said = told(guide, ["1.2 in"])
    assert any(one.startswith("  Look again: stack.cylinder") for one in said)


def test_help_says_where_it_stands_and_how_to_write_it() -> None:
    guide = after(*START, *STACK, *INTAKE, *EXHAUST[:2])
    reply = guide.say("?")
    text = " ".join(" ".join(reply.lines).split())
    assert not reply.taken
    assert "In the file: train.measured_pushrod.length" in text
    assert "4.935 +/- 0.002 in" in text
    assert 'closed = "11.000 in", turns = 4.25' in text


def test_the_letters_are_those_of_drawings_and_of_the_blank_file(tmp_path: Path) -> None:
    path = tmp_path / "blank.toml"
    tallstack("new", path, "--blank")
    told_in = path.read_text(encoding="utf-8")
    (line,) = [
        one for one in after(*START, *STACK, *INTAKE[:3]).text.splitlines() if one.startswith("length = ")
    ]
    comment = line.partition("# ")[2]
    letter = comment.partition(": ")[0]
    assert letter.isalnum()
    assert comment in told_in
    guide = after(*START, *STACK, *INTAKE[:2])
    assert f"; {letter} in every drawing and list" in " ".join(" ".join(guide.say("?").lines).split())


def test_a_checking_rod_by_its_turns_stands_in_place_of_the_length() -> None:
    guide = after(*START, *STACK, *INTAKE[:2])
    told(guide, ['{ closed = "9.000 +/- 0.001 in", turns = "9.64 +/- 0.05", threads_per_inch = 20 }'])
    assert "as: how the length was read" in asked(guide)
    told(guide, INTAKE[3:])
    job = understood(Path("x.toml"), guide.text)
    assert job.entries["single.intake.measured_pushrod.checking_rod.turns"].value == 9.64
    assert "single.intake.measured_pushrod.length" not in {one.path for one in job.blanks}


def test_going_back_corrects_an_answer_and_keeps_the_ones_after_it() -> None:
    guide = after(*START, "4.130 in", "0.020 in")
    assert "head gasket" in asked(guide)
    assert guide.say("<").taken
    assert guide.say("back").taken
    assert "Now: 4.130 in; Enter keeps it" in asked(guide)
    told(guide, ["4.310 in"])
    assert "head gasket" in asked(guide)  # where it was left
    guide.say("<")
    guide.say("<")
    told(guide, [""])
    assert "head gasket" in asked(guide)
    stack = tomllib.loads(guide.text)["stack"]
    assert (stack["cylinder"], stack["base_gasket"]) == ("4.310 in", "0.020 in")


def test_going_back_over_what_the_file_holds_undoes_it() -> None:
    guide = after("in", "", "bench", "2")
    assert guide.say("<").taken
    assert "cylinder" not in tomllib.loads(guide.text)
    told(guide, ["1", "only", "intake", "solid"])
    assert [one["cylinder"] for one in tomllib.loads(guide.text)["train"]] == ["only"]
    for _ in range(9):
        guide.say("<")
    assert "nothing was asked before this" in " ".join(guide.say("<").lines)


def test_a_cylinder_renamed_later_takes_its_valve_gears_along() -> None:
    guide = after("in", "", "bench", "1", "", "intake", "solid", "4 in")
    for _ in range(4):
        guide.say("<")
    told(guide, ["upper"])
    document = tomllib.loads(guide.text)
    assert document["cylinder"][0]["name"] == document["train"][0]["cylinder"] == "upper"
    understood(Path("x.toml"), guide.text)


def test_units_are_not_changed_under_numbers() -> None:
    guide = after(*START, "4.31")
    for _ in range(8):
        guide.say("<")
    assert "Units of numbers" in asked(guide)
    assert "numbers stand in the file already" in " ".join(guide.say("mm").lines)


def test_the_other_stack_can_be_taken_back() -> None:
    guide = after(*START, *STACK, *INTAKE[:6], "no")
    assert "read on the stack above" in guide.text
    guide.say("<")
    told(guide, ["yes", "4.150 in"])
    assert "read on the stack above" not in guide.text
    for _ in range(2):
        guide.say("<")
    said = " ".join(" ".join(guide.say("no").lines).split())
    assert (
        "Taken out, it does not go with that: single.intake.measured_pushrod.stack.cylinder = 4.150 in"
        in said
    )
    assert "4.150" not in guide.text
    assert guide.say("<").taken
    assert tomllib.loads(guide.text)["train"][0]["measured_pushrod"]["stack"]["cylinder"] == "4.150 in"


def test_where_a_rod_was_read_stands_with_its_entries_after_a_change_of_mind() -> None:
    guide = after(*START, *STACK, *INTAKE[:6], "yes")
    guide.say("<")
    told(guide, ["no"])
    lines = guide.text.splitlines()
    at = lines.index("# read on the stack above")
    assert lines[at - 1].startswith("lean = ")
    assert lines[at + 1] == ""


@pytest.mark.parametrize(
    ("before", "back", "slip", "out"),
    [
        ((*START, *STACK, "0.04", "0.14"), 8, "solid", ("preload", "plunger_travel")),
        ((*CLEAR[:26], "table"), 1, "card", ("table",)),
        ((*CLEAR[:26], "card", "lifter", "0.3"), 3, "table", ("card",)),
        (CLEAR[:-2], 2, "crown", ("room",)),
    ],
    ids=["lifters", "card", "table", "crown"],
)
def test_an_answer_that_is_altered_leaves_no_blank_that_cannot_be_filled(
    before: Sequence[str], back: int, slip: str, out: tuple[str, ...]
) -> None:
    guide = after(*before)
    for _ in range(back):
        guide.say("<")
    text = guide.text
    assert guide.say(slip).taken
    for one in out:
        assert f"\n{one} = " not in guide.text
        assert f".{one}]" not in guide.text
    guide.say("<")
    for line in text.splitlines():
        assert line in guide.text  # as before the slip


def test_a_solid_lifters_rod_by_coordinates_has_no_plunger() -> None:
    solid = ["0.1", "valve", *FULL[15:-6], "yes"]
    guide = after(*FULL[:6], "solid", *FULL[7:13], *solid)
    assert "measured_pushrod" in guide.text
    assert "\nplunger = " not in guide.text


def test_what_one_went_back_over_is_reached_again() -> None:
    guide = after(*START, *STACK, "0.04", "0.14")
    for _ in range(3):
        guide.say("<")
    told(guide, ["0.02"])  # head_cut, before both
    for key in ("head_cut", "plunger_travel", "preload"):
        assert guide.say("<").taken
        assert guide.asked is not None
        assert guide.asked.key.endswith(key)


def test_another_session_goes_back_over_what_the_one_before_entered_and_ends_anywhere() -> None:
    guide = Guide(Path("job.toml"), after(*START, "0.431 in").text)
    assert guide.say("<").taken
    assert "Now: 0.431 in; Enter keeps it" in asked(guide)
    told(guide, ["4.31 in"])
    assert guide.say(".").taken
    assert guide.ended
    assert tomllib.loads(guide.text)["stack"]["cylinder"] == "4.31 in"


def test_after_the_last_question_what_looks_wrong_is_told_and_one_can_still_go_back() -> None:
    guide = after(*CLEAR[:-1], "25")
    assert guide.asked is None
    assert "Look again: targets.drop_intake" in asked(guide)
    assert guide.say("<").taken
    told(guide, ["0.08"])
    assert "targets.drop_intake" not in asked(guide)
    assert not guide.ended
    assert guide.say("").taken
    assert guide.ended


def test_what_an_entry_before_contradicts_says_how_to_mend_that_one() -> None:
    guide = after(*START, *STACK, "0.40 in")
    refused = " ".join(" ".join(guide.say("0.14 in").lines).split())
    assert "If what was entered before is the slip: < goes back to it." in refused


def test_every_word_that_a_question_takes_is_explained() -> None:
    gear = {"cylinder": "a", "port": "intake", "measured_pushrod": {}, "measured_drop": {"drop": 1}}
    by_lifter = {"table": "x.csv", "measured_at": "lifter", "read_with": "flat"}
    by_valve = {"table": "x.csv", "measured_at": "valve", "dialled": {"lifter": 1, "valve": 2}}
    seen = dict[str, Question]()
    for kind, lobe, route in (("solid", by_valve, "bench"), ("hydraulic", by_lifter, "coordinates")):
        train = {**gear, "lifter": {"kind": kind}}
        job = {"cylinder": [{"name": "a"}], "train": [train], "crank": {}, "lobe": {"intake": lobe}}
        for one in questions(job, [ROUTES[route]]):
            if isinstance(kind_of(one), Choice):
                seen[one.name if one.options else str(one.loc[-1])] = one
    assert {*seen} == {*WORDS}
    for one in seen.values():
        choice = kind_of(one)
        assert isinstance(choice, Choice)
        lines = [line.strip() for line in help_lines(one, choice, False)]
        for word in choice.options:
            assert any(line.startswith(f"{word}: ") for line in lines), (one.key, word)


def test_lifter_and_valve_are_dialled_at_two_places(tmp_path: Path) -> None:
    (tmp_path / "intake.csv").write_text("angle,lift\n0,5\n", encoding="utf-8")
    guide = after(
        *CLEAR[:26], "table", "intake.csv", "valve", "0.01", "0.26", "0.40", path=tmp_path / "job.toml"
    )
    assert "dialled at half lift too?" in asked(guide)
    told(guide, ["yes", "0.13 in", "0.19 in"])
    lobe = tomllib.loads(guide.text)["lobe"]["intake"]
    assert lobe["dialled"] == [{"lifter": 0.26, "valve": 0.40}, {"lifter": "0.13 in", "valve": "0.19 in"}]
    assert guide.asked is not None
    assert guide.asked.name != "dialled again"


def test_solid_lifters_are_asked_for_lash_and_the_ratio_it_needs() -> None:
    guide = after(*START[:6], "s", *STACK)
    assert "lash: wanted lash of a solid lifter" in asked(guide)
    told(guide, ["0.004 in", "valve"])
    assert "ratio" in asked(guide)
    told(guide, ["1.5 +/- 0.05", "9.482 in", "overall"])
    assert "lean" in asked(guide)  # no plunger


@pytest.mark.wide
@pytest.mark.parametrize(
    "answers",
    [WHOLE, CLEAR, FULL],
    ids=["whole", "clear", "full"],
)
def test_a_session_broken_off_anywhere_goes_on_with_what_is_blank(answers: Sequence[str]) -> None:
    path = Path("job.toml")
    guide, given, left = Guide(path), list[str](), list[str]()
    for line in answers:
        assert guide.asked is not None
        key = guide.asked.key
        told(guide, [line])
        if line:
            given.append(key)
        elif "." in key:
            left.append(key)
        understood(path, guide.text)  # loads at every moment
        again = Guide(path, guide.text)
        rest = [one.key for one in _left(again)]
        assert not {*given} & {*rest} - {"clearances", "measured too 0"}
        assert {*left} <= {*rest}
    assert guide.asked is None


def _left(guide: Guide) -> Generator[Question]:
    """Yield the questions that are left, each answered by Enter alone."""
    while guide.asked is not None:
        yield guide.asked
        assert guide.say("").taken


def test_going_on_asks_only_for_what_is_blank() -> None:
    text = after(*START, "4.310 in", "", "0.040 in", "0", "0").text
    guide = Guide(Path("x.toml"), text)
    assert "preload" in asked(guide)
    told(guide, [""] * 5)
    assert "lean" in asked(guide)
    keys = [one.key for one in _left(guide)]
    assert keys[-2:] == ["clearances", "stack.base_gasket"]


def test_what_was_answered_by_mistake_is_emptied_again() -> None:
    for empty in ("-", '""'):
        guide = after(*START, "4.310 in", "4.290 in")
        assert guide.say("<").taken
        assert "Now: 4.290 in; Enter keeps it, - empties it" in asked(guide)
        assert guide.say(empty).taken
        assert guide.edited.get(("stack", "base_gasket")) == ""
        assert "head gasket" in asked(guide)


@pytest.mark.parametrize(
    "train",
    ['port = "intake"\nlifter = { kind = "hydraulic", preload = "0.04 in" }',
     'port = "intake"\nlifter = { kind = "hydraulic" }\n'
     '[train.measured_pushrod]\nlength = "9.4 in"\nas = "overall"\nlean = 3'],
    ids=["no reading", "a reading without its plunger"],
)  # fmt: skip
def test_a_file_begun_by_hand_without_a_blank_is_gone_on_with(folder: Path, train: str) -> None:
    text = f'format = 1\nunits = "in"\n[stack]\ncylinder = "4.31 in"\n[[cylinder]]\nname = "a"\n[[train]]\ncylinder = "a"\n{train}\n'
    (folder / "a.toml").write_text(text, encoding="utf-8")
    session = Terminal(folder, "new", "a.toml")
    assert "going on after the last answer" in session.read()
    session.interrupt()
    assert session.ended() == 130


def test_two_questions_of_a_card_are_not_named_alike() -> None:
    guide = after(*CLEAR[: CLEAR.index("0.050")])
    assert asked(guide).startswith("intake lobe, duration at:")


def test_room_is_asked_for_until_it_is_known_that_there_is_no_pocket() -> None:
    for meets, then in (("", "room"), ("pocket", "room"), ("crown", "other stack")):
        guide = after(*CLEAR[:-4], meets)
        assert guide.asked is not None
        assert then in guide.asked.key


def test_a_blank_file_can_be_gone_on_with(tmp_path: Path) -> None:
    path = tmp_path / "blank.toml"
    assert tallstack("new", path, "--blank").status == 0
    text = path.read_text(encoding="utf-8")
    guide = Guide(path, text)
    keys = [one.key for one in _left(guide)]
    assert "stack.cylinder" in keys
    assert "train.1.measured_pushrod.length" in keys
    assert guide.text.startswith(text[:2000])


def test_comments_and_order_of_a_hand_written_file_stay() -> None:
    text = (
        '# mine\nformat = 1\nunits = "in"\n\n[stack] # bench 2\ncylinder = ""   # Bob measures\n'
        'head_gasket = "0.04 in"\n[[cylinder]]\nname = "a"\n\n[[train]]\ncylinder = "a"\nport = "intake"\n'
        'lifter = { kind = "hydraulic", preload = "" }\n'
    )
    guide = Guide(Path("x.toml"), text)
    answers = {"title": "title", "stack.cylinder": "4.31 in", "train.0.lifter.preload": "0.04 in"}
    while guide.asked is not None:
        told(guide, [answers.get(guide.asked.key, "")])
    wanted = text.replace('cylinder = ""   # Bob', 'cylinder = "4.31 in"  # Bob')
    wanted = wanted.replace('preload = "" }', 'preload = "0.04 in", plunger_travel = ""}')
    lines = [line for line in wanted.splitlines() if line]
    assert [line for line in guide.text.splitlines() if line in lines] == lines


@pytest.mark.parametrize(
    "value", ['0.030"', "it's", "4.310 ± 0.001 in", "=x", "both \" and '", "\\", "#", "3 15/16 in"]
)
def test_whatever_is_typed_comes_back(value: str) -> None:
    edited = Edited('title = "x" # kept\n')
    edited.put(("title",), value)
    assert tomllib.loads(edited.text) == {"title": value}
    assert edited.text.endswith("# kept\n")


def test_the_session_that_a_page_shows_is_what_is_printed() -> None:
    page = (EXAMPLES / "file_of_your_own" / "page.md").read_text(encoding="utf-8")
    (block,) = [one["body"] for one in BLOCK.finditer(page) if one["language"] == "text"]
    guide = after(*START, *STACK, *INTAKE[:2])
    shown = [*guide.question()[1:], f"> {INTAKE[2]}", *guide.say(INTAKE[2]).lines]
    assert block == "\n".join(shown) + "\n"


# On a terminal


class Terminal:
    """A session as a person meets it."""

    def __init__(self, folder: Path, *words: str) -> None:
        pty = pytest.importorskip("pty")
        pytest.importorskip("termios")
        self.master, slave = pty.openpty()
        code = "from tallstack.cli.app import main; main()"
        self.process = subprocess.Popen(
            [sys.executable, "-c", code, *words],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            cwd=folder,
            env={**os.environ, "NO_COLOR": "1", "TERM": "dumb"},
            start_new_session=True,
            preexec_fn=_own_terminal,
        )
        os.close(slave)
        self.seen = ""

    def read(self, until: str | None = "\n> ") -> str:
        """Return what appears up to a text, or to the end."""
        import select

        new, end = "", time.monotonic() + 30
        while time.monotonic() < end:
            ready, _, _ = select.select([self.master], [], [], 0.2)
            try:
                part = os.read(self.master, 4096).decode() if ready else ""
            except OSError:
                break
            if ready and not part:
                break
            new += part.replace("\r\n", "\n")
            if until is not None and new.endswith(until):
                break
        self.seen += new
        return new

    def say(self, line: str) -> str:
        """Answer, and return what appears up to the next prompt."""
        os.write(self.master, f"{line}\n".encode())
        return self.read()

    def interrupt(self) -> None:
        """Press Ctrl-C as a person does: again, where it fell between the prompt and the wait for a key."""
        for _ in range(30):
            with contextlib.suppress(OSError):
                os.write(self.master, b"\x03")
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(timeout=1)
                return

    def ended(self) -> int:
        """Wait for the end."""
        self.read(None)
        os.close(self.master)
        return self.process.wait(timeout=30)


def _own_terminal() -> None:
    import fcntl
    import termios

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # which tests run in the background inherit ignored


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "single.toml").write_text(SINGLE, encoding="utf-8")
    return tmp_path


def test_a_whole_session_on_a_terminal_gives_the_lengths_of_the_readme(folder: Path) -> None:
    session = Terminal(folder, "new", "asked.toml")
    assert "asked.toml: a new job." in session.read()
    for line in WHOLE[:-1]:
        session.say(line)
    bad = session.say("perhaps")
    assert 'Not taken: "perhaps" where "no" or "yes" belongs' in " ".join(bad.split())
    more = session.say("?")
    assert "Write no or yes; the first letters will do." in more
    assert "That was the last question. Enter ends" in session.say("no")
    os.write(session.master, b"\n")
    assert session.ended() == 0
    assert (
        "asked.toml is written. Then run:\ntallstack check asked.toml\ntallstack pushrods asked.toml"
        in session.seen
    )
    assert lengths(folder / "asked.toml") == lengths(folder / "single.toml")
    assert session.seen.isascii()
    assert "\x1b" not in session.seen
    assert max(map(len, session.seen.splitlines())) <= 80
    assert sorted(one.name for one in folder.iterdir()) == ["asked.toml", "single.toml"]


def test_a_correction_on_a_terminal(folder: Path) -> None:
    session = Terminal(folder, "new", "a.toml", "--units", "mm")
    assert "What is this engine to be called?" in session.read()
    for line in ("", "bench", "1", "", "intake", "solid", "109.5", "<", "109.4"):
        shown = session.say(line)
    assert "base gasket" in shown
    session.process.kill()
    session.ended()
    document = tomllib.loads((folder / "a.toml").read_text(encoding="utf-8"))
    assert (document["units"], document["stack"]["cylinder"]) == ("mm", 109.4)


@pytest.mark.parametrize("how", ["interrupt", "end of input"])
def test_what_was_entered_is_kept_and_gone_on_with(folder: Path, how: str) -> None:
    session = Terminal(folder, "new", "a.toml")
    session.read()
    for line in (*START, STACK[0]):
        session.say(line)
    session.interrupt() if how == "interrupt" else os.write(session.master, b"\x04")
    assert session.ended() == 130
    assert "a.toml keeps what was entered; to go on:\ntallstack new a.toml" in session.seen
    before = (folder / "a.toml").read_bytes()
    assert tallstack("check", folder / "a.toml").status == 1
    session = Terminal(folder, "new", "a.toml")
    first = session.read()
    assert "going on after the last answer" in first
    assert "base gasket" in first
    for line in (*STACK[1:], *INTAKE, *EXHAUST, *ENDS):
        session.say(line)
    os.write(session.master, b".\n")
    assert session.ended() == 0
    assert lengths(folder / "a.toml") == lengths(folder / "single.toml")
    assert (folder / "a.toml.bak").read_bytes() == before


def test_a_terminal_that_is_gone_ends_a_session_that_was_told_to_outlive_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = _own_terminal

    def outliving() -> None:
        own()
        signal.signal(signal.SIGHUP, signal.SIG_IGN)

    monkeypatch.setattr(sys.modules[__name__], "_own_terminal", outliving)
    session = Terminal(folder, "new", "a.toml")
    session.read()
    for line in (*START, STACK[0]):
        session.say(line)
    os.close(session.master)
    assert session.process.wait(timeout=30) == 2  # nothing could be printed any more
    assert tomllib.loads((folder / "a.toml").read_text(encoding="utf-8"))["stack"]["cylinder"] == STACK[0]


def test_a_kill_loses_at_most_the_answer_being_typed(folder: Path) -> None:
    session = Terminal(folder, "new", "a.toml")
    session.read()
    for line in (*START, STACK[0]):
        session.say(line)
    os.write(session.master, b"0.0")
    session.process.send_signal(signal.SIGKILL)
    session.ended()
    assert tomllib.loads((folder / "a.toml").read_text(encoding="utf-8"))["stack"]["cylinder"] == STACK[0]
    assert sorted(one.name for one in folder.iterdir()) == ["a.toml", "single.toml"]


def test_a_whole_job_is_not_touched(folder: Path) -> None:
    before = (folder / "single.toml").read_bytes()
    session = Terminal(folder, "new", "single.toml")
    assert session.ended() == 2
    assert "single.toml: exists and is not overwritten; nothing in it is blank" in " ".join(
        session.seen.split()
    )
    assert (folder / "single.toml").read_bytes() == before


def test_what_is_no_job_is_not_touched(folder: Path) -> None:
    (folder / "notes.toml").write_text("not a job = [\n", encoding="utf-8")
    session = Terminal(folder, "new", "notes.toml")
    assert session.ended() == 2
    assert "notes.toml:1" in session.seen
    assert (folder / "notes.toml").read_text(encoding="utf-8") == "not a job = [\n"


def test_a_file_that_somebody_else_changed_is_left_alone(folder: Path) -> None:
    session = Terminal(folder, "new", "a.toml")
    session.read()
    session.say("in")
    (folder / "a.toml").write_text("format = 1\n# edited\n", encoding="utf-8")
    os.write(session.master, b"Title\n")
    assert session.ended() == 2
    assert "was changed by somebody else meanwhile" in " ".join(session.seen.split())
    assert (folder / "a.toml").read_text(encoding="utf-8") == "format = 1\n# edited\n"


def test_without_a_terminal_it_says_what_is_missing(tmp_path: Path) -> None:
    ended = tallstack("new", tmp_path / "job.toml")
    assert ended.status == 2
    assert re.match(r"no terminal to ask on; run it on one, or add --blank", ended.err)
    assert not list(tmp_path.iterdir())
    ended = tallstack("new", tmp_path / "job.toml", "--units", "cm")
    assert ended.err == '--units cm: takes "mm" or "in"\n'
