"""What every answer has in common: its status, its JSON, what it begins and ends with."""

from __future__ import annotations

import json

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.page.answer import MISSED, OK, Answer, status_of
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget

from ...commands import BENCH
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
