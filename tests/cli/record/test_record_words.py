"""Plan against as-built in words: numbers in the job's unit with their sign, who wrote what, and the same for JSON."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.job.contradicted import LOOK_AGAIN
from tallstack.cli.page.model import Table, Words
from tallstack.cli.page.text import shown, text
from tallstack.cli.record.as_built import Compared
from tallstack.cli.record.record_words import (
    MEANS,
    WORDS,
    behind,
    brief_blocks,
    cells,
    compared_blocks,
    compared_row,
    doubts,
    fact_row,
    fact_words,
    meanings,
    said,
    signed_by,
    standing_out,
    unit_of,
    unlikely,
    unsure,
    word_of,
)
from tallstack.cli.record.recordfile import Fact, understood
from tallstack.cli.record.recordkinds import kinds
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
    name, planned, built, differs = (shown(one) for one in cells(row(what, value, 2 * value), units, "-"))
    assert name == f"front, {what}"
    assert (float(planned), float(built)) == (2 * cell, cell)
    assert float(differs) == -cell


def test_a_difference_has_its_sign_and_nothing_is_what_stands_for_it() -> None:
    assert shown(cells(row(built=1.1), "mm", "-")[3]).startswith("+")
    assert shown(cells(row(built=0.9), "mm", "-")[3]).startswith("-")
    assert not shown(cells(row(built=1.0), "mm", "-")[3]).startswith("+")
    assert cells(row(built=None), "mm", "none")[2:] == ("none", "none")


def test_a_doubt_of_nothing_is_not_said_and_neither_is_what_is_not_there() -> None:
    sure = row(built=1.1)._replace(built_doubt=0.0, plan=Planned(1.0, 0.05))
    plan, built = doubts(sure, "mm")
    assert plan is not None
    assert (shown(plan), built) == ("0.05", None)
    open_row = row(built=None, standing=Standing.OPEN)._replace(fact=None, plan=Planned(1.0, 0.05, least=0.5))
    assert [one.partition(" ")[0] for one in behind(open_row, "mm")] == ["planned", "limits:"]
    assert (unit_of("squish", "in"), unit_of("crank", "in"), unit_of("flats", "in")) == ("in", "deg", "")


def test_every_standing_has_its_word_and_a_contradicted_plan_is_to_be_looked_at() -> None:
    assert set(WORDS) == set(Standing)
    assert set(MEANS) <= set(Standing)
    contradicted = row(standing=Standing.UNJUDGED)._replace(look_again=("why",))
    assert word_of(contradicted) == LOOK_AGAIN
    assert word_of(row(standing=Standing.MISSES)._replace(look_again=("why",))) == WORDS[Standing.MISSES]
    assert meanings([row(), row(), contradicted]) == [
        f"{WORDS[Standing.AS_PLANNED]}: {MEANS[Standing.AS_PLANNED]}"
    ]


def test_one_row_a_thing_and_words_where_there_is_none() -> None:
    blocks = compared_blocks([row(), row("deck", None, 0.2, Standing.OPEN)], "mm")
    (table,) = [one for one in blocks if isinstance(one, Table)]
    assert [one.cells[0] for one in table.rows] == ["front, squish", "front, deck"]
    assert [one.cells[-1] for one in table.rows] == [WORDS[Standing.AS_PLANNED], WORDS[Standing.OPEN]]
    assert compared_blocks([], "mm") == [
        Words("Nothing is planned that could be worked out, and nothing is recorded yet.")
    ]


def test_who_wrote_what_and_what_no_longer_counts() -> None:
    assert signed_by(FACT) == "2026-03-04 10:20:30+00:00, by Ada, with feeler"
    assert said(FACT) == "front, squish 1.1 mm"
    again = FACT._replace(typed="1.2 mm", number=2)
    first, second = fact_words([FACT, again])
    assert first.words.endswith("[a later line counts]")
    assert not second.words.endswith("]")
    assert list(fact_words([])) == []
    assert unlikely([FACT]) == ()


@pytest.mark.parametrize(
    ("fact", "words"),
    [
        (FACT._replace(state="found", distance="500 miles"), "front, squish 1.1 mm, found at 500 miles"),
        (
            FACT._replace(state="found and left", distance="800 km", temperature="18 C"),
            "front, squish 1.1 mm, found and left at 800 km, engine at 18 C",
        ),
        (FACT._replace(temperature="18 C"), "front, squish 1.1 mm, engine at 18 C"),
        (FACT._replace(what="cover room full", lift="12 mm"), "front, cover room full 1.1 mm at lift 12 mm"),
        (FACT._replace(what="changed", typed="head", distance="800 km"), "front, head changed, at 800 km"),
        (FACT._replace(what="note", note="dry", distance="800 km"), "front, note: dry, at 800 km"),
    ],
)
def test_a_line_of_a_visit_says_so(fact: Fact, words: str) -> None:
    assert said(fact) == words
    row = fact_row(fact, counts=True)
    assert (row["state"], row["distance"]) == (fact.state or None, fact.distance or None)
    assert (row["temperature"], row["lift"]) == (fact.temperature or None, fact.lift or None)


def test_a_room_that_is_to_be_read_again_says_why() -> None:
    again = row("cover room full", planned=None, standing=Standing.UNJUDGED)._replace(
        fact=FACT, look_again=("read at lift 12 mm; the new lift is more: read again",)
    )
    (told,) = unsure([again])
    assert told == "LOOK AGAIN: front, cover room full: read at lift 12 mm; the new lift is more: read again"


def test_numbers_of_json_are_in_mm_and_degrees() -> None:
    found = compared_row(row())
    assert found["planned_mm"] == 1.0
    assert found["as_built_mm" if "as_built_mm" in found else "built_mm"] == 1.1
    turned = compared_row(row("crank", math.pi / 2, 0.0))
    assert 90.0 in [pytest.approx(one) for one in turned.values() if isinstance(one, float)]
    assert fact_row(FACT, counts=True)["line"] == 1


def reading(what: str, typed: str, **more: str) -> Fact:
    return Fact(
        "2026-01-01", what, "front.intake", "", typed, understood(kinds()[what].kind, typed), number=1
    )._replace(
        **more  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("fact", "asked"),
    [
        (reading("lash", "0.01 mm"), True),
        (reading("lash", "0.01 mm", state="left", distance="500 km"), True),
        (
            reading("lash", "0.01 mm", state="found", distance="500 km"),
            False,
        ),  # little lash is what a visit is for
        (reading("lash", "0.004 +/- 0.002 mm", state="found and left", distance="500 km"), False),
        (reading("lash", "0.01 +/- 0.02 mm"), False),  # no more than its own ±
        (reading("spring height", "1.6 mm"), True),
        (reading("spring height", "1000 mm", state="found", distance="500 km"), True),
    ],
)
def test_little_that_was_found_is_no_slip_of_the_unit(fact: Fact, asked: bool) -> None:
    told = " ".join(unlikely([fact]))
    assert ("was it typed in" in told or "most engines lie between" in told) is asked


def test_a_temperature_and_a_lift_are_looked_at_too() -> None:
    cold = reading("lash", "0.2 mm", state="found", distance="500 km", temperature="-40 C")
    (told,) = unlikely([cold, cold._replace(of="front.exhaust", number=2)])  # once of a visit
    assert told.startswith("the record: temperature at 500 km = -40 C")
    (lift,) = unlikely([reading("cover room full", "2 mm", lift="0.5 mm")])
    assert "the lift at which cover room full was read = 0.5 mm" in lift


def test_a_room_that_misses_as_it_is_now_says_what_it_is_now_and_by_how_much() -> None:
    missed = Compared(
        *("cover room closed", "front.intake", "", Planned(least=1.524), 2.0, 0.1, None, Standing.MISSES),
        reading("cover room closed", "2.0 +/- 0.1 mm"),
        since="0.50 mm now",
        now=0.5,
    )
    assert standing_out([missed]) == ["LIMIT MISSED: front intake, cover room closed: 0.50 mm now"]
    told = " ".join(text(compared_blocks([missed], "mm")).split())
    assert "below them, as it is now, by 1.02 mm" in told
    assert compared_row(missed)["now_mm"] == 0.5
    within = missed._replace(standing=Standing.WITHIN, since="2.50 mm now", now=2.5)
    assert "cover room closed: 2.50 mm now" in " ".join(text(brief_blocks([within], "mm")).split())
    asked = missed._replace(look_again=("read again",))
    assert standing_out([asked])[0].endswith("0.50 mm now; read again")
