"""What every answer has in common: its status, its JSON, what it begins and ends with."""

from __future__ import annotations

import json

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.page.answer import MISSED, OK, Answer, framed, status_of, warning_blocks
from tallstack.cli.page.model import Break, Heading, Lines, Tag, Words, flat
from tallstack.cli.page.wording import CAUTION
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget

from ...commands import BENCH, DEMO
from ...results import result


@pytest.mark.parametrize(
    ("verdict", "plain", "strict"),
    [(Verdict.OK, OK, OK), (Verdict.TIGHT, OK, MISSED), (Verdict.UNPROVED, OK, MISSED), (Verdict.SHORT, MISSED, MISSED), (None, OK, OK)],
)  # fmt: skip
def test_one_rule_for_the_status(verdict: Verdict | None, plain: int, strict: int) -> None:
    job = load(BENCH)._replace(warnings=())
    found = [result(1.0, verdict=Verdict.OK), result(1.0, verdict=verdict)]
    assert status_of(job, found) == plain
    assert status_of(job, found, strict=True) == strict
    assert status_of(job, found, lacking=True) == MISSED
    assert status_of(job._replace(warnings=("look",)), found[:1], strict=True) == MISSED


def test_what_cannot_be_so_and_what_is_merely_unusual_stand_under_their_own_words() -> None:
    rare, wrong = LookAgain("rows stand off their curve"), LookAgain("two bores", "stack.bore")
    job = load(BENCH)._replace(warnings=(rare, wrong))
    assert [one.words for one in warning_blocks(job) if isinstance(one, (Heading, Words))] == [
        "LOOK AGAIN, before using any of this",
        "two bores",
        "UNUSUAL, a slip or a rare engine",
        "rows stand off their curve",
    ]
    assert not any("LOOK AGAIN" in str(one) for one in warning_blocks(job._replace(warnings=(rare,))))


def test_what_is_not_entered_and_only_takes_away_is_missed() -> None:
    job = load(BENCH)._replace(warnings=())
    bare = result(1.0, verdict=Verdict.UNPROVED)._replace(budget=Budget(0.0, {}, ("lobe.intake.lash_read",)))
    assert status_of(job, [bare]) == MISSED
    assert status_of(job, [bare._replace(verdict=None)]) == OK  # of what nobody judges


def test_a_number_between_two_digits_is_the_same_in_every_json() -> None:
    def shown(value: float) -> object:
        return json.loads(Answer([], {"value": [value, {"deep": value}]}).shown(as_json=True))["value"]

    assert shown(0.1234564999999) == [0.123456, {"deep": 0.123456}]
    assert str(shown(-1e-9)) == "[0.0, {'deep': 0.0}]"


def test_a_message_is_a_page_of_its_own_lines() -> None:
    told = Answer("a:  b\n  c", {}, MISSED)
    assert told.text == "a:  b\n  c"
    assert told.blocks == (Lines("a:  b\n  c"),)
    assert told.and_then(Break(), Lines("d")).text == "a:  b\n  c\n\nd"
    assert told.and_then(Words("d", 1)) == ((Lines("a:  b\n  c"), Words("d", 1)), {}, MISSED, ())


def test_every_answer_is_framed_alike() -> None:
    job = load(DEMO, ("stack.cylinder=5.4",))
    answer = framed("fits", job, [Heading("OWN")], {"own": 1}, MISSED, more=("more",), hand=("by hand",))
    lines = answer.text.split("\n")
    assert lines[0] == f"FITS: {job.title}"
    assert "TRIED, and not in the file: stack.cylinder=5.4" in answer.text
    assert lines.index("  more") < lines.index("OWN") < lines.index("ASSUMED, because it was not entered")
    assert [one.words for one in answer.blocks[-1].blocks] == ["by hand", CAUTION]  # type: ignore[union-attr]
    assert list(answer.document) == ["format", "command", "job", "tried", "own", "assumed", "warnings"]
    said = " ".join(answer.text.split())
    for row in answer.document["assumed"]:
        assert row["entry"] in said
        assert row["why"] in said


def test_what_a_sheet_says_once_is_left_out_by_what_it_is() -> None:
    answer = framed("fits", load(DEMO), [Heading("OWN")], {}, assumed=(), without=(Tag.CAUTION,))
    assert list(flat(answer.blocks, (Tag.HEAD, Tag.ASSUMED))) == [Heading("OWN")]
    assert CAUTION not in " ".join(answer.text.split())
    assert answer.document["assumed"] == []
