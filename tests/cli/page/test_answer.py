"""What every answer begins and ends with, for a person and in JSON."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.page.answer import MISSED, Answer, framed
from tallstack.cli.page.model import Break, Heading, Lines, Tag, Words, flat
from tallstack.cli.page.wording import CAUTION

from ...commands import DEMO


def test_a_message_is_a_page_of_its_own_lines() -> None:
    told = Answer("a:  b\n  c", {}, MISSED)
    assert told.text == "a:  b\n  c"
    assert told.blocks == (Lines("a:  b\n  c"),)
    assert told.and_then(Break(), Lines("d")).text == "a:  b\n  c\n\nd"
    assert told.and_then(Words("d", 1)) == ((Lines("a:  b\n  c"), Words("d", 1)), {}, MISSED)


def test_every_answer_is_framed_alike() -> None:
    job = load(DEMO, ("stack.cylinder=5.4",))
    answer = framed("fits", job, [Heading("OWN")], {"own": 1}, MISSED, more=("more",), hand=("by hand",))
    lines = answer.text.split("\n")
    assert lines[0] == f"FITS: {job.title}"
    assert "TRIED, and not in the file: stack.cylinder=5.4" in answer.text
    assert lines.index("  more") < lines.index("OWN") < lines.index("ASSUMED, because it was not entered")
    assert [one.words for one in answer.blocks[-1].blocks] == ["by hand", CAUTION]  # type: ignore[union-attr]
    assert list(answer.document) == ["format", "command", "job", "own", "assumed", "warnings"]
    said = " ".join(answer.text.split())
    for row in answer.document["assumed"]:
        assert row["entry"] in said
        assert row["why"] in said


def test_what_a_sheet_says_once_is_left_out_by_what_it_is() -> None:
    answer = framed("fits", load(DEMO), [Heading("OWN")], {}, assumed=(), without=(Tag.CAUTION,))
    assert list(flat(answer.blocks, (Tag.HEAD, Tag.ASSUMED))) == [Heading("OWN")]
    assert CAUTION not in " ".join(answer.text.split())
    assert answer.document["assumed"] == []
