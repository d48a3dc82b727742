"""Plan against as-built in words: numbers in the job's unit with their sign, who wrote what, and the same for JSON."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.job.contradicted import LOOK_AGAIN
from tallstack.cli.page.text import lines as set_as_text
from tallstack.cli.page.text import shown
from tallstack.cli.record.as_built import Compared
from tallstack.cli.record.record_words import (
    MEANS,
    WORDS,
    cells,
    compared_blocks,
    compared_row,
    fact_row,
    fact_words,
    meanings,
    said,
    signed_by,
    unlikely,
    word_of,
)
from tallstack.cli.record.recordfile import Fact
from tallstack.geometry.sure.planned import Planned, Standing

FACT = Fact("2026-03-04T10:20:30+00:00", "squish", "front", "", "1.1 mm", None, "Ada", "feeler", "", 1)


def row(
    what: str = "squish",
    built: float | None = 1.1,
    planned: float | None = 1.0,
    standing: Standing = Standing.AS_PLANNED,
) -> Compared:
    differs = None if built is None or planned is None else built - planned
    return Compared(what, "front", "", Planned(planned, 0.05), built, 0.1, differs, standing, None)


@pytest.mark.parametrize(
    ("what", "value", "units", "cell"),
    [("squish", 25.4, "in", 1.0), ("squish", 25.4, "mm", 25.4), ("crank", math.pi / 6, "mm", 30.0), ("turns", 1.25, "mm", 1.25), ("flats", 3.0, "in", 3.0)],
)  # fmt: skip
def test_a_number_stands_in_the_jobs_unit(what: str, value: float, units: str, cell: float) -> None:
    _, _, built, _ = cells(row(what, value), units, "-")
    assert float(shown(built).split()[0]) == cell


def test_a_difference_has_its_sign_and_nothing_is_a_stroke() -> None:
    def difference(built: float | None) -> str:
        return shown(cells(row(built=built), "mm", "-")[3])

    assert difference(1.1).startswith("+")
    assert difference(0.9).startswith("-")
    assert not difference(1.0).startswith("+")
    assert difference(None) == "-"


def test_every_standing_has_its_word_and_a_contradicted_plan_is_to_be_looked_at() -> None:
    assert set(WORDS) == set(Standing)
    assert set(MEANS) <= set(Standing)
    contradicted = row(standing=Standing.UNJUDGED)._replace(look_again=("why",))
    assert word_of(contradicted) == LOOK_AGAIN
    assert word_of(row(standing=Standing.MISSES)._replace(look_again=("why",))) == WORDS[Standing.MISSES]
    assert meanings([row(), row(), contradicted]) == [
        f"{WORDS[Standing.AS_PLANNED]}: {MEANS[Standing.AS_PLANNED]}"
    ]


def test_one_line_a_thing_and_words_where_there_is_none() -> None:
    lines = set_as_text(compared_blocks([row(), row("deck", None, 0.2, Standing.OPEN)], "mm"))
    told = [line for line in lines if line.startswith("  front, ")]
    assert [line.split()[1] for line in told] == ["squish", "deck"]
    assert "Nothing is planned" in " ".join(set_as_text(compared_blocks([], "mm")))


def test_who_wrote_what_and_what_no_longer_counts() -> None:
    assert signed_by(FACT) == "2026-03-04 10:20:30+00:00, by Ada, with feeler"
    assert said(FACT).startswith("front, squish")
    again = FACT._replace(typed="1.2 mm", number=2)
    first, second = (one.words for one in fact_words([FACT, again]))
    assert first != second.replace("1.2", "1.1")  # the earlier one is marked
    assert list(fact_words([])) == []
    assert unlikely([FACT]) == ()


def test_numbers_of_json_are_in_mm_and_degrees() -> None:
    found = compared_row(row())
    assert found["planned_mm"] == 1.0
    assert found["as_built_mm" if "as_built_mm" in found else "built_mm"] == 1.1
    turned = compared_row(row("crank", math.pi / 2, 0.0))
    assert 90.0 in [pytest.approx(one) for one in turned.values() if isinstance(one, float)]
    assert fact_row(FACT, counts=True)["line"] == 1
