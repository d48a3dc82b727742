"""What visits found and left in words: never surer than that it fits, and the maker's manual where something is to be done."""

from __future__ import annotations

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.page.text import text
from tallstack.cli.record.as_built import Plan
from tallstack.cli.record.recordfile import Fact
from tallstack.cli.record.visit_words import (
    BESIDE,
    MEANS,
    misses,
    rate_row,
    rate_words,
    stopping,
    visit_blocks,
    visit_row,
    watching,
    word_of,
)
from tallstack.cli.record.visits import ASSEMBLY, Rate, Visits, visits
from tallstack.geometry.sure.trend import Trend

from ...commands import EXAMPLES, FAULTS
from .test_visits import BUILT, IN, OUT, drifting, lines

EVEN = Trend(-2e-5, 2e-6, 0.5)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return Plan(load(FAULTS / "record" / "job.toml"))


def found_of(plan: Plan, *said: str) -> Visits:
    return visits(plan, lines(*said))


def page(found: Visits, units: str = "mm", is_full: bool = True) -> str:
    return " ".join(text(visit_blocks(found, units, is_full)).split())


def test_what_moved_stands_first_and_says_what_to_do_after_the_manual(plan: Plan) -> None:
    found = found_of(plan, BUILT, f"lash {IN} 0.07 +/- 0.01 mm; found; 500 miles")
    (told,) = stopping(found, "mm")
    assert told == "LOOK AGAIN: barrel intake, lash closed by 0.05 +/- 0.02 mm between assembly and 500 miles"
    (inches,) = stopping(found, "in")
    assert "closed by 0.002 +/- 0.001 in" in inches
    assert misses(found)
    for is_full in (True, False):
        shown = page(found, is_full=is_full)
        assert "set it anew, look at that seat" in shown.lower()
        assert " ".join(BESIDE.split()) in shown
        assert "no temperature is written down for both" in shown
    full = page(found)
    assert "any of these alone fits" in full
    assert "do not tell which" in full
    assert "what would tell: the stem tip's height over the spring seat" in full


def test_no_change_is_none_that_these_readings_can_show(plan: Plan) -> None:
    found = found_of(plan, BUILT, f"lash {IN} 0.125 +/- 0.01 mm; found and left; 500 miles")
    assert stopping(found, "mm") == []
    assert not misses(found, strict=True)
    assert MEANS[word_of(found.rows[0])] == "no change that these readings can show"
    assert BESIDE.split(",")[0] not in page(found)


@pytest.mark.parametrize(
    ("half", "word"),
    [("", "NOT JUDGED"), (" +/- 0.01", "CLOSED"), (" +/- 0.06", "NOT JUDGED"), (" +/- 0.4", "NOT JUDGED")],
)
def test_a_doubt_left_out_or_wide_leaves_what_moved_at_the_top(plan: Plan, half: str, word: str) -> None:
    found = found_of(plan, BUILT, f"lash {IN} 0.06{half} mm; found; 500 km")
    (told,) = stopping(found, "mm")
    assert told.startswith("LOOK AGAIN: barrel intake, lash")
    assert misses(found)
    assert word_of(found.rows[0]) == word


@pytest.mark.parametrize(
    ("half", "lash", "units", "told"),
    [
        (0.02, 0.06, "mm", "closed by 0.04 +/- 0.03 mm"),
        (0.02, 0.06, "in", "closed by 0.002 +/- 0.001 in"),
        (0.025, 0.055, "in", "closed by 0.0018 +/- 0.0016 in"),  # so that it shows which is more
    ],
)
def test_the_drift_of_the_text_in_words(plan: Plan, half: float, lash: float, units: str, told: str) -> None:
    found = found_of(plan, f"lash {IN} 0.10 +/- {half} mm", f"lash {IN} {lash} +/- {half} mm; found; 500 km")
    assert told in stopping(found, units)[0]


@pytest.mark.parametrize(
    ("said", "word"),
    [
        ("lash {} 0.12 +/- 0.01 mm; left; 500 km", "NOT COMPARED"),
        ("lash {} 0.12 mm; found; 500 km", "NOT JUDGED"),
    ],
)
def test_what_cannot_be_said_is_watched_and_counts_where_it_is_asked_strictly(
    plan: Plan, said: str, word: str
) -> None:
    found = found_of(plan, BUILT, said.format(IN))
    assert any(one.startswith(word) for one in watching(found))
    assert not misses(found)
    assert misses(found, strict=True)


def test_a_limit_missed_now_stops_and_one_that_was_set_right_is_watched() -> None:
    twin = Plan(load(EXAMPLES / "in_line_with_pivot_nuts" / "job.toml"))
    of = twin.job.names["trains"][0]
    slack = f"preload {of} 0.05 +/- 0.02 mm; found; 500 km"
    found = found_of(twin, slack)
    assert stopping(found, "mm") == [f"LIMIT MISSED: {of.replace('.', ' ')}, preload found at 500 km"]
    assert misses(found)
    plan = twin.of("preload", of, "")
    right = found_of(twin, slack, f"preload {of} {plan.value} +/- 0.02 mm; left; 500 km")
    assert stopping(right, "mm") == []
    assert any("found past its limit, and left within it" in one for one in watching(right))
    assert not misses(right)


def test_what_is_dated_after_the_visit_that_it_is_held_against_is_looked_at_again(plan: Plan) -> None:
    built, found = lines(BUILT, f"lash {IN} 0.12 +/- 0.01 mm; found; 500 km")
    assert watching(visits(plan, [built, found])) == []
    (told,) = watching(visits(plan, [built._replace(when="2026-06-01T10:00:00+02:00"), found]))
    assert told.startswith("LOOK AGAIN: barrel intake, lash at 500 km")


def test_what_is_met_by_less_than_its_doubt_is_watched(plan: Plan) -> None:
    held = found_of(plan, BUILT, f"lash {IN} 0 +/- 0.01 mm; found; 500 km")
    assert any(one.startswith("TIGHT: barrel intake, lash at 500 km") for one in watching(held))


@pytest.mark.parametrize(
    ("lash", "words"), [((0.06, 0.08), "has in common"), ((0.06, 0.30), "nothing in common")]
)
def test_settling_may_be_and_is_never_more(plan: Plan, lash: tuple[float, float], words: str) -> None:
    found = found_of(
        plan,
        BUILT,
        f"lash {OUT} 0.20 +/- 0.01 mm",
        f"lash {IN} {lash[0]} +/- 0.01 mm; found; 500 km",
        f"lash {OUT} {lash[1]} +/- 0.01 mm; found; 500 km",
    )
    told = page(found)
    assert ("MAY be head and cylinder settling" in told) == (words == "has in common")
    assert ("have nothing in common" in told) == (words != "has in common")
    assert "is settling" not in told


def test_what_opens_both_valves_is_no_settling(plan: Plan) -> None:
    opened = [f"lash {of} {lash} +/- 0.01 mm; found; 500 km" for of, lash in ((IN, 0.2), (OUT, 0.3))]
    told = page(found_of(plan, BUILT, f"lash {OUT} 0.20 +/- 0.01 mm", *opened))
    assert "that is no settling" in told
    assert "look at the lobe" in told


@pytest.mark.parametrize(
    ("tip", "told"),
    [
        (46.16, "higher: the seat sunk or the valve stretched, as its height tells that leaves nothing"),
        (46.10, "shows no change: nothing that these readings show is the seat's"),
        (46.30, "which fits wear of pushrod, lifter or heel"),
        (46.00, "lower: the stem tip worn"),
    ],
)
def test_a_tips_height_tells(plan: Plan, tip: float, told: str) -> None:
    found = found_of(
        plan,
        BUILT,
        f"tip height {IN} 46.10 +/- 0.01 mm",
        f"lash {IN} 0.06 +/- 0.01 mm; found; 500 km",
        f"tip height {IN} {tip:.2f} +/- 0.01 mm; found; 500 km",
    )
    assert told in page(found)


def test_a_rate_says_how_much_further(plan: Plan) -> None:
    found = found_of(plan, BUILT, *drifting(0.30, 0.28, 0.26, 0.24, 0.22))
    assert "fine today; at this rate" in page(found)
    assert "km more until it is not" in page(found)


@pytest.mark.parametrize(
    ("rate", "told"),
    [
        (Rate("lash", IN, 4, EVEN, (8123.0, 12345.0), 0.0, "", "500 km"), "8,100 to 13,000 km more until it is not"),
        (Rate("lash", IN, 4, EVEN, (8123.0, 12345.0), 0.0, "", "5 miles"), "5,000 to 7,700 miles more until"),
        (Rate("lash", IN, 4, EVEN, (0.0, 95.2), 0.0, "", "500 km"), "0 to 96 km more until it is not"),
        (Rate("lash", IN, 4, EVEN._replace(chance=0.01), None, None, "", "5 km"), "does not lie on a line"),
        (Rate("lash", IN, 4, EVEN._replace(rate=1e-6), None, None, "", "5 km"), "no rate that these readings can show"),
        (Rate("lash", IN, 4, None, None, None, "a reading has no +/-", "5 km"), "no rate is told: a reading has no +/-"),
    ],
)  # fmt: skip
def test_a_rate_in_words(rate: Rate, told: str) -> None:
    assert told in " ".join(rate_words(rate, "mm"))
    assert rate_row(rate)["visits_after_the_first"] == 4


def test_json_has_every_number_with_its_unit(plan: Plan) -> None:
    found = found_of(plan, BUILT, f"lash {IN} 0.07 +/- 0.01 mm; found; 500 miles;18 C")
    row = visit_row(found.rows[0])
    assert (row["train"], row["distance"], row["since"], row["verdict"]) == (
        IN,
        "500 miles",
        ASSEMBLY,
        "closed",
    )
    assert row["moved_mm"] == pytest.approx(-0.05)
    assert {one["cause"] for one in row["fits"]} == {"seat_or_valve", "head_or_cylinder"}
    assert row["warmer_k"] is None
    assert all(name.endswith(("_mm", "_km", "_k")) or not isinstance(value, float) or name == "ratio_at_seat" for name, value in row.items())  # fmt: skip


def test_nothing_found_or_left_is_nothing_said() -> None:
    assert visit_blocks(Visits((), ()), "mm") == []
    assert stopping(Visits((), ()), "mm") == watching(Visits((), ())) == []
    assert not misses(Visits((), ()), strict=True)
    assert Fact("2026", "note", "", "", "", None).run == -1.0


def test_what_stopped_stays_at_the_top_where_a_later_visit_only_found(plan: Plan) -> None:
    said = (BUILT, f"lash {IN} 0 +/- 0.01 mm; found; 500 km")
    later = f"lash {IN} 0.01 +/- 0.02 mm; found; 1000 km"
    (first,) = stopping(found_of(plan, *said), "mm")
    found = found_of(plan, *said, later)
    assert stopping(found, "mm") == [f"{first}; nothing is written down as left since"]
    assert misses(found)
    for is_full in (True, False):
        assert "at 500 km" in page(found, is_full=is_full)
    right = found_of(plan, *said, later, f"lash {IN} 0.12 +/- 0.01 mm; left; 1000 km")
    assert stopping(right, "mm") == []
    assert "at 500 km" not in page(right, is_full=False)


def test_found_twice_stands_at_the_top_until_one_is_withdrawn(plan: Plan) -> None:
    said = (BUILT, f"lash {IN} 0.02 +/- 0.01 mm; found; 500 km", f"lash {IN} 0.12 +/- 0.01 mm; left; 500 km")
    found = found_of(plan, *said, f"lash {IN} 0.12 +/- 0.01 mm; found; 500 km")
    (told,) = stopping(found, "mm")
    assert told == (
        "LOOK AGAIN: barrel intake, lash found more than once at 500 km, 0.02 +/- 0.01 mm (line 2) and "
        "0.12 +/- 0.01 mm (line 4), further apart than the readings explain; the last counts: withdraw what is wrong"
    )
    assert misses(found)
    assert "found more than once at 500 km" in page(found)
    assert visit_row(found.rows[0])["found_otherwise_mm"] == [0.02]


def test_a_visit_dated_after_one_that_had_run_further_stops(plan: Plan) -> None:
    facts = lines(BUILT, *(f"lash {IN} 0.12 +/- 0.01 mm; found and left; {run} km" for run in (200, 500)))
    facts[1] = facts[1]._replace(when="2026-03-01")
    found = visits(plan, facts)
    (told,) = stopping(found, "mm")
    assert told.startswith(
        "LOOK AGAIN: the visit at 200 km is dated 2026-03-01, after that at 500 km, 2026-01-01"
    )
    assert "at 200 km" in page(found, is_full=False)
    assert (misses(found), misses(found, strict=True)) == (False, True)


def test_heat_that_could_hide_a_drift_says_by_how_much(plan: Plan) -> None:
    hot = Plan(load(EXAMPLES / "hot_lash_lost" / "job.toml"))
    of = "single.exhaust"
    slope = hot.by_heat(of)
    assert slope is not None
    within = 0.10 - 0.6 * abs(slope) * 10.0
    found = found_of(
        hot, f"lash {of} 0.10 +/- 0.002 mm;;; 20 C", f"lash {of} {within:.4f} +/- 0.002 mm; found; 9 km"
    )
    (told,) = stopping(found, "mm")
    assert "of both readings; with what heat may have done it is +/-" in told
    assert "--temperature" in told
    assert misses(found)
    assert "with what up to 10 K do to it, +/-" in page(found, is_full=False)
    assert "given: the engine was as cold" not in page(found)
