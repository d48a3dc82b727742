"""What something contradicts is met on paper at best, and its reasons stay with it."""

from __future__ import annotations

import pytest
from tallstack.cli.job.contradicted import (
    LOOK_AGAIN,
    concerning,
    in_a_word,
    of_figures,
    told,
    with_reasons,
    word,
)
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.page.wording import VERDICTS
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.pushrod.ordering import Order

from ...commands import BENCH


def order(verdict: Verdict) -> Order:
    return next(one for one in load(BENCH).orders if one.verdict is not None)._replace(
        verdict=verdict, look_again=()
    )


@pytest.mark.parametrize(
    ("verdict", "why", "said"),
    [
        (Verdict.OK, (), VERDICTS[Verdict.OK]),
        (Verdict.OK, ("it contradicts",), LOOK_AGAIN),
        (Verdict.SHORT, ("it contradicts",), VERDICTS[Verdict.SHORT]),
        (None, (), ""),
        (None, ("it contradicts",), LOOK_AGAIN),
    ],
)
def test_a_row_says_what_misses_before_what_is_contradicted(
    verdict: Verdict | None, why: tuple[str, ...], said: str
) -> None:
    assert word(verdict, why) == said


def test_an_answer_with_a_reason_is_no_longer_met_and_keeps_every_reason() -> None:
    once = with_reasons(order(Verdict.OK), ("first",))
    twice = with_reasons(once, ("second",))
    assert twice.verdict is Verdict.UNPROVED
    assert twice.look_again == ("first", "second")
    assert with_reasons(order(Verdict.SHORT), ("first",)).verdict is Verdict.SHORT
    plain = order(Verdict.OK)
    assert with_reasons(plain, ()) is plain


def test_only_what_rests_on_the_entry_is_touched() -> None:
    job = load(BENCH)
    name = job.names["trains"][0]
    sentence = LookAgain(f"{name}.measured_pushrod.length is odd", f"{name}.measured_pushrod.length")
    job = job._replace(warnings=(sentence,))
    entry = f"{name}.measured_pushrod.length"
    assert told(job)(name, [entry]) == (sentence,)
    other = job.names["trains"][1]
    assert told(job)(other, ["stack.cylinder"]) == ()
    assert concerning(job, name, [entry]) == (sentence,)
    figures = of_figures(told(job), name, {"length": order(Verdict.OK)._replace(slopes={entry: 1.0})})  # type: ignore[dict-item]
    assert figures["length"].look_again == (sentence,)


def test_one_word_for_one_thing() -> None:
    """What is merely unusual is not to be looked at again before anything is used, and changes no verdict."""
    assert in_a_word(LookAgain("12 and 13", "stack.bore")) == "LOOK AGAIN: 12 and 13"
    for rare in (LookAgain("12 and 13"), "12 and 13"):
        assert in_a_word(rare) == "UNUSUAL, a slip or a rare engine: 12 and 13"
