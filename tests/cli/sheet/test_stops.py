"""What stops the work and what to watch: every such word of every answer, the worst first."""

from __future__ import annotations

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.sheet import stops
from tallstack.cli.sheet.work import Work, work
from tallstack.geometry.core.verdict import Verdict

from ...commands import EXAMPLES


@pytest.fixture(scope="module")
def found() -> Work:
    return work(load(EXAMPLES / "valves_too_close_to_each_other" / "job.toml"), None, 100, is_drawn=False)


def test_every_answer_that_is_short_stops_the_work(found: Work) -> None:
    short = [one for one in stops.answers(found) if one.verdict is Verdict.SHORT]
    assert short
    told = stops.stops(found)
    for one in short:
        assert any(line.startswith(f"SHORT: {one.of.replace('.', ' ')}, {one.figure.title}") for line in told)


def test_every_answer_that_is_tight_or_unproved_is_watched(found: Work) -> None:
    watched = " ".join(stops.banded(found).watch)
    for verdict, word in ((Verdict.TIGHT, "TIGHT"), (Verdict.UNPROVED, "UNPROVED")):
        assert (word in watched) is any(one.verdict is verdict for one in stops.answers(found))


def test_what_is_short_is_never_cut_for_what_looks_wrong(found: Work) -> None:
    again = tuple(LookAgain(f"wrong {one}", "left") for one in range(9))
    told = stops.stops(found._replace(job=found.job._replace(warnings=again)))
    short = [place for place, one in enumerate(told) if one.startswith("SHORT")]
    assert short
    assert max(short) < min(place for place, one in enumerate(told) if one.startswith("LOOK AGAIN"))
    assert stops.blocking(found) == [one for one in told if not one.startswith("LOOK AGAIN")]


def test_what_looks_wrong_is_not_watched_as_unproved(found: Work) -> None:
    assert found.risk is not None
    groups = tuple(
        group._replace(
            answers=tuple(
                one._replace(verdict=Verdict.UNPROVED, look_again=("why",)) for one in group.answers
            )
        )
        for group in found.risk.groups
    )
    assert "UNPROVED" not in " ".join(
        stops.banded(found._replace(risk=found.risk._replace(groups=groups))).watch
    )
