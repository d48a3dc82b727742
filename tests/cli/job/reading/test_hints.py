"""What was probably meant: the trade's other words are one option's alone, letters among figures are named."""

from __future__ import annotations

import pytest
from tallstack.cli.job.entries.fields import Choice, Kind
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.entries.tables import Either, Named, Part, Rows, Table
from tallstack.cli.job.reading.hints import OTHER_WORDS, digits_meant, other_word, straightened


def choices(part: Part) -> list[Choice]:
    """Return every choice among words that a part of the model holds."""
    if isinstance(part, Choice):
        return [part]
    if isinstance(part, Kind):
        return []
    if isinstance(part, Table):
        return [one for inner in part.parts.values() for one in choices(inner)]
    if isinstance(part, Either):
        return [*choices(part.table), *choices(part.other)]
    return choices(part.table if isinstance(part, Rows) else part.part if isinstance(part, Named) else part)


def test_no_other_word_is_an_option_itself_where_it_would_mean_another() -> None:
    found = choices(JOB)
    assert len(found) > 15
    for one in found:
        for option in one.options:
            for word in OTHER_WORDS.get(option, ()):
                assert word == option or word not in one.options, (one.words, option, word)


def test_every_other_word_is_of_an_option_that_is_there() -> None:
    there = {option for one in choices(JOB) for option in one.options} | {"pushrod"}
    assert set(OTHER_WORDS) <= there


def test_a_word_of_the_trade_is_suggested_and_one_that_could_be_two_names_both() -> None:
    assert other_word("Inlet", ("intake", "exhaust")) == "; did you mean intake?"
    assert other_word("topped-out", ("top", "bottomed")) == "; did you mean top?"
    assert other_word("down", ("top", "bottomed", "droop")) == "; did you mean bottomed or droop?"
    assert other_word("sideways", ("top", "bottomed")) == ""


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("4.9O5", "4.905"), ("l.25", "1.25"), ("I2", "12"), ("Ol5", "015"), ("4.905", None), ("in", None), ("12 lb", None)],
)  # fmt: skip
def test_letters_among_figures(typed: str, meant: str | None) -> None:
    found = digits_meant(typed)
    assert (None if found is None else found[1]) == meant
    if found is not None:
        assert "the letter" in found[0]


def test_an_l_among_volumes_may_be_a_litre() -> None:
    assert digits_meant("0.5l", also_l=False) is None
    assert digits_meant("5O cc", also_l=False) == ("the letter O stands for a zero in it", "50 cc")


def test_curly_quotes_are_straightened_only_outside_straight_ones() -> None:
    assert straightened("\u201c4.9 in\u201d") == '"4.9 in"'
    assert straightened('"a \u201cb\u201d"') is None
    assert straightened("4.9") is None
