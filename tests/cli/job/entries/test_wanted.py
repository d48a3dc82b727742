"""What may be wanted of an engine: each word with its meaning, and with answers or questions behind it."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.guide.needs import ANSWERS, BESIDE
from tallstack.cli.job.entries.wanted import PUSHRODS, RECORD, VALVES, WANTED
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import understood

TOP = 'format = 1\nunits = "mm"\n'


def test_each_word_leads_to_something() -> None:
    assert {*WANTED} == {*ANSWERS, *BESIDE, PUSHRODS, VALVES, RECORD}


def test_a_job_keeps_what_is_wanted_in_the_order_of_the_words() -> None:
    for said, kept in (
        ('["valves", "pushrods", "valves"]', ("pushrods", "valves")),
        ('"hot"', ("hot",)),
        ('""', ()),
    ):
        assert understood(Path("job.toml"), f"{TOP}wanted = {said}\n[stack]\n").wanted == kept


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ('["valve"]', "did you mean valves"),
        ("3", 'a list of words belongs; write \\["pushrods", "valves"\\]'),
        ("[3]", "belongs"),
    ],
)
def test_another_word_is_a_fault(said: str, why: str) -> None:
    with pytest.raises(InputFaultsError, match=why):
        understood(Path("job.toml"), f"{TOP}wanted = {said}\n[stack]\n")
