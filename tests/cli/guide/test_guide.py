"""A guided session, driven with strings: what is asked, corrected, gone back over and gone on with."""

from __future__ import annotations

import tomllib
from collections.abc import Generator, Sequence
from pathlib import Path

import pytest
from tallstack import cli as tallstack_cli
from tallstack.cli.guide.guide import Guide
from tallstack.cli.guide.needs import Known
from tallstack.cli.guide.questions import MORE_OUT, Question, wanted_of
from tallstack.cli.job.loading import understood

from ...commands import EXAMPLES, tallstack
from ...documents import BLOCK
from ...sessions import CLEAR, FULL, INTAKE, SIX, STACK, START, TWIN, WHOLE, after, answers_to, asked, told


def test_the_bench_route_goes_on_to_a_clearance(tmp_path: Path) -> None:
    path = tmp_path / "clear.toml"
    guide = after(*CLEAR, path=path)
    assert guide.asked is None
    path.write_text(guide.text, encoding="utf-8")
    (valve,) = tallstack("clearance", path, "--json").json["valves"]
    assert valve["drop_mm"] > 0
    assert valve["target_mm"] == pytest.approx(0.08 * 25.4)
    assert valve["basis"] == "measured_drop"


TWO_VALVES = (
    *(
        "in",
        "Twin",
        "pushrods",
        "bench",
        "1",
        "",
        "both",
        "h",
        "no",
        "4.3 +/- 0.001",
        "0.02 +/- 0.001",
        "0.04 +/- 0.002",
        "0",
        "0",
    ),
    *(
        *("0.04 +/- 0.01", "0.14 +/- 0.003", "9.482 +/- 0.003", "overall", "top", "3 +/- 1", "no") * 2,
        *[""] * 8,
    ),
    *("valves", "4.000 +/- 0.002", "7.200 +/- 0.005", "card"),
    *(*("lifter", "0.300 +/- 0.002", "0.050", "236", "0.006", "270", "107 +/- 1", "") * 2,),
    *(*("1.5 +/- 0.02", "0.312 +/- 0.002 in", "23 +/- 1", "pocket", "0.070", "no") * 2,),
    *("yes", "0.230 +/- 0.002", "none up to 0.330", "48 +/- 1", "3 +/- 2", "", "", "", "", "no"),
)


def test_two_valves_that_were_pushed_together_are_asked_for_where_they_touch(tmp_path: Path) -> None:
    path = tmp_path / "touch.toml"
    guide = after(*TWO_VALVES, path=path)
    assert guide.asked is None
    path.write_text(guide.text, encoding="utf-8")
    (pair,) = tallstack("clearance", path, "--json").json["pairs"]
    assert pair["basis"] == "valves_touch"
    assert pair["at_least"] == ["edge_exhaust"]


def test_the_full_route_asks_for_coordinates_and_gives_an_estimate(tmp_path: Path) -> None:
    path = tmp_path / "full.toml"
    guide = after(*FULL, path=path)
    assert guide.asked is None
    path.write_text(guide.text, encoding="utf-8")
    (row,) = tallstack("pushrods", path, "--json").json["pushrods"]
    assert row["estimate"] is True
    assert row["needs"] == {}
    assert row["overall_mm"] == pytest.approx(297.7449, abs=1e-4)  # of the engine with these coordinates


LOBE = (Path(tallstack_cli.__file__).parent / "demo" / "intake.csv").read_text(encoding="utf-8")
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
    "more to find out": "valves",
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
    """All that another session would ask at once is seen in `_questions` and `_is_answered` alone."""
    (tmp_path / "intake.csv").write_text(LOBE, encoding="utf-8")
    guide = after(*START[:6], "intake", "hydraulic", "no", path=tmp_path / "job.toml")
    said = {**BY_TABLE, **more}
    while guide.asked is not None:
        again = guide.asked.name == MORE_OUT and '"valves"' in guide.text
        reply = guide.say("no" if again else said.get(guide.asked.key, said.get(guide.asked.name, "")))
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


def test_a_table_is_judged_when_it_is_named(tmp_path: Path) -> None:
    (tmp_path / "intake.csv").write_text(LOBE, encoding="utf-8")
    (tmp_path / "bad.csv").write_text("angle,lift\n0,5\n", encoding="utf-8")
    guide = after(*CLEAR[:28], "table", "cam", path=tmp_path / "job.toml")
    refused = " ".join(guide.say("bad.csv").lines)
    assert "a lobe needs at least 8" in " ".join(refused.split())
    assert "bad.csv" not in guide.text
    assert any("peak" in one for one in told(guide, ["intake.csv"]))


def test_a_contradiction_is_refused_in_the_words_of_the_job_file() -> None:
    guide = after(*START, "4.31 in", "0.02 in", "0.04 in", "0", "0", "0.040 in")
    text = guide.text
    reply = guide.say("0.030 in")
    assert not reply.taken
    assert "is more than the plunger's whole travel" in " ".join(" ".join(reply.lines).split())
    assert guide.text == text
    assert guide.say("0.150 in").taken


def test_a_name_that_is_there_already_is_refused() -> None:
    guide = after("in", "", "", "bench", "2", "left")
    reply = guide.say("left")
    assert not reply.taken
    assert "is there twice" in " ".join(reply.lines)


def test_what_is_unlikely_is_said_and_taken() -> None:
    guide = after(*START)
    said = told(guide, ["1.2 in"])
    assert any(one.startswith("  Unusual, a slip or a rare engine: stack.cylinder") for one in said)


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
    guide = after("in", "", "", "bench", "2")
    assert guide.say("<").taken
    assert "cylinder" not in tomllib.loads(guide.text)
    told(guide, ["1", "only", "intake", "solid"])
    assert [one["cylinder"] for one in tomllib.loads(guide.text)["train"]] == ["only"]
    for _ in range(10):
        guide.say("<")
    assert "nothing was asked before this" in " ".join(guide.say("<").lines)


def test_a_cylinder_renamed_later_takes_its_valve_gears_along() -> None:
    guide = after("in", "", "", "bench", "1", "", "intake", "solid", "no", "4 in")
    for _ in range(5):
        guide.say("<")
    told(guide, ["upper"])
    document = tomllib.loads(guide.text)
    assert document["cylinder"][0]["name"] == document["train"][0]["cylinder"] == "upper"
    understood(Path("x.toml"), guide.text)


def test_units_are_not_changed_under_numbers() -> None:
    guide = after(*START, "4.31")
    for _ in range(10):
        guide.say("<")
    assert "Units of numbers" in asked(guide)
    assert "numbers stand in the file already" in " ".join(guide.say("mm").lines)


def test_the_other_stack_can_be_taken_back() -> None:
    guide = after(*START, *STACK, *INTAKE[:6], "no")
    assert tomllib.loads(guide.text)["train"][0]["measured_pushrod"]["on"] == "now"
    guide.say("<")
    told(guide, ["yes", "4.150 in"])
    assert "on" not in tomllib.loads(guide.text)["train"][0]["measured_pushrod"]
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
    at = next(place for place, line in enumerate(lines) if line.startswith('on = "now"'))
    assert lines[at - 1].startswith("lean = ")
    assert lines[at + 1] == ""


@pytest.mark.parametrize(
    ("before", "back", "slip", "out"),
    [
        ((*START, *STACK, "0.04", "0.14"), 9, "solid", ("preload", "plunger_travel")),
        ((*CLEAR[:28], "table"), 1, "card", ("table",)),
        ((*CLEAR[:28], "card", "lifter", "0.3"), 3, "table", ("card",)),
        (CLEAR[:-3], 2, "crown", ("room",)),
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
    solid = ["0.1", "valve", *FULL[17:-6], "yes"]
    guide = after(*FULL[:7], "solid", *FULL[8:15], *solid)
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
    guide = after(*CLEAR[:-2], "25", "no")
    assert guide.asked is None
    assert "Unusual, a slip or a rare engine: targets.drop_intake" in asked(guide)
    assert guide.say("<").taken
    guide.say("<")
    told(guide, ["0.08", "no"])
    assert "targets.drop_intake" not in asked(guide)
    assert not guide.ended
    assert guide.say("").taken
    assert guide.ended


def test_what_an_entry_before_contradicts_says_how_to_mend_that_one() -> None:
    guide = after(*START, *STACK, "0.40 in")
    refused = " ".join(" ".join(guide.say("0.14 in").lines).split())
    assert "If what was entered before is the slip: < goes back to it." in refused


def test_lifter_and_valve_are_dialled_at_two_places(tmp_path: Path) -> None:
    (tmp_path / "intake.csv").write_text(LOBE, encoding="utf-8")
    guide = after(
        *CLEAR[:28], "table", "cam", "intake.csv", "valve", "0.01", "0.26", "0.40", path=tmp_path / "job.toml"
    )
    assert "dialled at half lift too?" in asked(guide)
    told(guide, ["yes", "0.13 in", "0.19 in"])
    lobe = tomllib.loads(guide.text)["lobe"]["intake"]
    assert lobe["dialled"] == [{"lifter": 0.26, "valve": 0.40}, {"lifter": "0.13 in", "valve": "0.19 in"}]
    assert guide.asked is not None
    assert guide.asked.name != "dialled again"


def test_solid_lifters_are_asked_for_lash_and_the_ratio_it_needs() -> None:
    guide = after(*START[:7], "s", "no", *STACK)
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
        assert not {*given} & {*rest} - {"more to find out 9", "more to find out 8", "measured too 0"}
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
    assert keys[-2:] == ["more to find out 9", "stack.base_gasket"]


def test_what_was_answered_by_mistake_is_emptied_again() -> None:
    for empty in ("-", '""'):
        guide = after(*START, "4.310 in", "4.290 in")
        assert guide.say("<").taken
        assert "Now: 4.290 in; Enter keeps it, - empties it" in asked(guide)
        assert guide.say(empty).taken
        assert guide.edited.get(("stack", "base_gasket")) == ""
        assert "head gasket" in asked(guide)


def test_two_questions_of_a_card_are_not_named_alike() -> None:
    guide = after(*CLEAR[: CLEAR.index("0.050")])
    assert asked(guide).startswith("intake lobe, duration at:")


def test_room_is_asked_for_until_it_is_known_that_there_is_no_pocket() -> None:
    for meets, then in (("", "room"), ("pocket", "room"), ("crown", "other stack")):
        guide = after(*CLEAR[:-5], meets)
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
    there = iter(guide.text.splitlines())
    assert all(line in there for line in text.splitlines())  # each still, and in its order


def test_the_session_that_a_page_shows_is_what_is_printed() -> None:
    page = (EXAMPLES / "file_of_your_own" / "page.md").read_text(encoding="utf-8")
    (block,) = [one["body"] for one in BLOCK.finditer(page) if one["language"] == "text"]
    guide = after(*START, *STACK, *INTAKE[:2])
    shown = [*guide.question()[1:], f"> {INTAKE[2]}", *guide.say(INTAKE[2]).lines]
    assert block == "\n".join(shown) + "\n"


@pytest.mark.wide
def test_an_in_line_six_is_asked_for_in_at_most_ninety_answers() -> None:
    guide = Guide(Path("six.toml"))
    assert len(answers_to(guide, SIX)) <= 90
    job = tomllib.loads(guide.text)
    assert job["stack"]["cylinder"] == "block"
    assert [row["fires_at"] for row in job["cylinder"]] == [0, 480, 240, 600, 120, 360]
    assert [row.get("like") for row in job["train"][:4]] == [None, None, "one.intake", "one.exhaust"]
    assert {row["measured_pushrod"]["as"] for row in job["train"]} == {"overall"}
    assert '"3 +/- 1"' in guide.text
    assert "as at one intake" in guide.text  # what was taken over says so
    assert len({row["measured_pushrod"]["length"] for row in job["train"]}) == 12


@pytest.mark.wide
def test_a_twin_is_asked_for_everything_that_any_answer_needs(tmp_path: Path) -> None:
    """With the engine before and what goes together across it, from nothing to a sheet."""
    path = tmp_path / "twin.toml"
    guide = Guide(path)
    typed = answers_to(guide, TWIN)
    assert len(typed) < 260
    path.write_text(guide.text, encoding="utf-8")
    job = understood(path, guide.text)
    left = Known().needs(job, guide.edited.plain, wanted_of(guide.edited.plain))
    asked_for = {key for key, _ in typed}
    missing = {".".join(map(str, one.loc)) for one in left if not guide.edited.get(one.loc)}
    assert missing - asked_for <= {"stack.case_deck", "oversize.piston"}  # by a bridge; a row of its own
    swapped = tallstack("swap", path, "--json")
    assert swapped.status in (0, 1)
    assert all(row["change_mm"] > 0 for row in swapped.json["trains"])
    assert tallstack("sheet", path, "-o", tmp_path / "twin.html").status in (0, 1)


def test_a_part_is_passed_over_and_what_is_alike_is_taken_over() -> None:
    guide = Guide(Path("twin.toml"))
    said = {**TWIN, "find out": "assembly", "changed": "no"}
    asked_of = [one for one in said if one.startswith("spigot")]
    assert asked_of
    typed = list[str]()
    while guide.asked is not None:
        key, name = guide.asked.key, guide.asked.name
        line = (
            ">" if key == "studs.stands" else said.get(key, said.get(name, said.get(key.split(".")[-1], "")))
        )
        if name == "same":
            line = "yes"
        assert guide.say(line).taken, (key, line)
        typed.append(key)
    assert "studs.head_seat" not in typed
    front, rear = tomllib.loads(guide.text)["cylinder"]
    assert rear["spigot"] == front["spigot"]
    assert "the same as at front" in guide.text


def test_exceptions_of_what_is_alike_are_entered_by_themselves() -> None:
    guide = after(*START[:4], "3", "", "", "1-3-2", "both", "hydraulic", "all but two exhaust, three")
    likes = [row.get("like") for row in tomllib.loads(guide.text)["train"]]
    assert likes == [None, None, "one.intake", None, None, None]
    assert tomllib.loads(guide.text)["train"][3]["lifter"]["kind"] == "hydraulic"
    reply = after(*START[:4], "3", "", "", "", "both", "hydraulic").say("all but four")
    assert "write all, mirrored, none, or all but" in " ".join(" ".join(reply.lines).split())


def test_cylinders_that_differ_are_asked_for_each() -> None:
    guide = after(*START[:4], "2", "", "", "0", "0", "both", "hydraulic", "none", "no", "stack")
    assert "cylinder front" in asked(guide)
    told(guide, ["4.3", "", "", "", ""])
    assert "cylinder rear" in asked(guide)


def test_an_answer_may_be_looked_up_by_a_word() -> None:
    guide = after(*START)
    many = guide.say("/plunger travel").lines
    assert many[0].startswith("  /1 single.intake.lifter.plunger_travel: ")
    assert guide.say("/1").taken
    assert "plunger, top stop to bottom" in asked(guide)
    told(guide, ["0.14 in"])
    assert guide.edited.get(("train", 0, "lifter", "plunger_travel")) == "0.14 in"
    assert "no entry has" in " ".join(guide.say("/flux").lines)
