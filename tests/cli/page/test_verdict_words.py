"""What misses a limit and what is to be looked at again, at the head of every answer."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.page.text import lines
from tallstack.cli.page.verdict_words import summary
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget
from tallstack.geometry.doubt.result import Result

from ...results import result
from ..job.test_look_again import LASH


def test_a_summary_of_verdicts_names_each_that_stops() -> None:
    def row(of: str, verdict: Verdict | None, *why: str) -> Result:
        return result(1.0, least=2.0, verdict=verdict, of=of, key="what")._replace(
            look_again=why, budget=Budget(0.0, {}, ("x",))
        )

    rows = [
        row("a", Verdict.OK),
        row("b", Verdict.SHORT, "x"),
        row("c.d", Verdict.UNPROVED, "x"),
        row("e", None, "x"),
    ]
    assert [line.split() for line in lines(summary(load(LASH), rows))[1:]] == [
        ["b,", "what", "1.00", "mm", "2.00", "mm", "SHORT"],
        ["LOOK", "AGAIN:", "c", "d:", "what"],
        ["LOOK", "AGAIN:", "e:", "what"],
        ["judged", "besides:", "1", "OK"],
    ]
    assert lines(summary(load(LASH), [row("a", Verdict.TIGHT)])) == [
        "  nothing that is judged here misses its limit",
        "  judged besides: 1 TIGHT",
    ]
    assert "misses" not in "".join(lines(summary(load(LASH), [row("a", Verdict.OK)], ["they meet"])))
