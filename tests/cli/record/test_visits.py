"""What visits found and left: what is held against what, what is refused, what is said of a slow creep."""

from __future__ import annotations

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.record.as_built import Plan
from tallstack.cli.record.recordfile import Fact, understood
from tallstack.cli.record.recordkinds import CHANGED, kinds
from tallstack.cli.record.visit_words import to_do, word_of
from tallstack.cli.record.visits import ONLY_LEFT, Day, Rate, Visited, visits
from tallstack.geometry.fits.heat import per_kelvin
from tallstack.geometry.sure.drift import Cause
from tallstack.geometry.sure.planned import Standing

from ...commands import EXAMPLES, FAULTS

IN, OUT = "barrel.intake", "barrel.exhaust"


@pytest.fixture(scope="module")
def plan() -> Plan:
    """A single with screws in its solid lifters, lash at the valve, 0.12 and 0.20 mm."""
    return Plan(load(FAULTS / "record" / "job.toml"))


@pytest.fixture(scope="module")
def heated() -> Plan:
    """A single that says how hot its parts get."""
    return Plan(load(EXAMPLES / "hot_lash_lost" / "job.toml"))


@pytest.fixture(scope="module")
def hydraulic() -> Plan:
    """A twin in line with pivot nuts."""
    return Plan(load(EXAMPLES / "in_line_with_pivot_nuts" / "job.toml"))


def lines(*said: str) -> list[Fact]:
    """Return facts from "what of value; state; distance; temperature", numbered."""
    found = []
    for number, one in enumerate(said, 1):
        head, state, distance, temperature = (*(part.strip() for part in one.split(";")), "", "", "")[:4]
        words = head.split()
        place = next(index for index, word in enumerate(words) if "." in word or word in ("barrel", "-"))
        what, of, typed = " ".join(words[:place]), words[place].strip("-"), " ".join(words[place + 1 :])
        value = understood(kinds()[what].kind, typed) if what in kinds() else None
        convention = {"lash": "valve", "turns": "zero lash", "flats": "zero lash"}.get(what, "")
        fact = Fact("2026-01-01", what, of, convention, typed, value, number=number)
        found.append(fact._replace(state=state, distance=distance, temperature=temperature))
    return found


def seen(plan: Plan, *said: str) -> list[Visited]:
    return list(visits(plan, lines(*said)).rows)


def rates(plan: Plan, *said: str) -> list[Rate]:
    return list(visits(plan, lines(*said)).rates)


BUILT = f"lash {IN} 0.12 +/- 0.01 mm"


def test_it_is_found_less_what_was_left_last(plan: Plan) -> None:
    first, second = seen(
        plan,
        BUILT,
        f"lash {IN} 0.08 +/- 0.01 mm; found; 500 miles",
        f"lash {IN} 0.15 +/- 0.01 mm; left; 500 miles",
        f"lash {IN} 0.11 +/- 0.01 mm; found; 1500 miles",
    )
    assert [one.since for one in (first, second)] == ["assembly", "500 miles"]
    assert first.moved is not None
    assert second.moved is not None
    assert (first.moved.drift, second.moved.drift) == (pytest.approx(-0.04), pytest.approx(-0.04))
    assert (first.is_latest, second.is_latest) == (False, True)
    assert second.again
    assert len(to_do(second)) == 2


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ((BUILT, f"lash {IN} 0.12 +/- 0.01 mm; left; 500 km"), ONLY_LEFT),
        ((f"lash {IN} 0.12 +/- 0.01 mm; found; 500 km",), "Nothing was written down before as left"),
        (
            (BUILT, f"lash {IN} 0.1 +/- 0.01 mm; found; 500 km", f"lash {IN} 0.1 +/- 0.01 mm; found; 900 km"),
            "500 km has what was found and not what was left",
        ),
        (
            (BUILT, f"changed {IN} pushrod;; 100 km", f"lash {IN} 0.1 +/- 0.01 mm; found; 500 km"),
            "Other pushrod since: drift is not computed across it.",
        ),
        (
            (BUILT, f"changed {IN} lifter;; 100 km", f"lash {IN} 0.1 +/- 0.01 mm; found; 500 km"),
            "Other lifter since: drift is not computed across it.",
        ),
        (
            (BUILT, "changed barrel head;; 100 km", f"lash {IN} 0.1 +/- 0.01 mm; found; 500 km"),
            "Head off since: drift is not computed across it.",
        ),
        (
            (BUILT, "changed - camshaft;; 100 km", f"lash {IN} 0.1 +/- 0.01 mm; found; 500 km"),
            "Other camshaft since: drift is not computed across it.",
        ),
        (
            (f"{BUILT};;; 5 C", f"lash {IN} 0.1 +/- 0.01 mm; found; 500 km; 16 C"),
            "The engine was 11 K warmer",
        ),
    ],
)
def test_what_is_refused_is_refused_in_words(plan: Plan, said: tuple[str, ...], why: str) -> None:
    row = seen(plan, *said)[-1]
    assert row.moved is None
    assert row.refused.startswith(why)
    assert word_of(row) == "NOT COMPARED"


@pytest.mark.parametrize(
    ("said", "compared"),
    [
        (f"changed {OUT} pushrod;; 100 km", True),  # of the other valve
        (f"changed {IN} pushrod;; 500 km", True),  # at a visit it is found first, then something is changed
        (f"changed {IN} pushrod;; 900 km", True),
        (f"changed {IN} pushrod;; 499 km", False),
    ],
)
def test_only_what_was_changed_between_keeps_two_readings_apart(
    plan: Plan, said: str, compared: bool
) -> None:
    row = seen(plan, BUILT, said, f"lash {IN} 0.1 +/- 0.01 mm; found; 500 km")[-1]
    assert (row.moved is not None) == compared


def test_what_was_left_after_a_change_is_compared_with_and_what_was_left_as_found_before_it_is_not(
    plan: Plan,
) -> None:
    change = f"changed {IN} pushrod;; 500 km"
    after = f"lash {IN} 0.1 +/- 0.01 mm; found; 900 km"
    left = seen(plan, BUILT, change, f"lash {IN} 0.12 +/- 0.01 mm; left; 500 km", after)[-1]
    assert left.moved is not None
    kept = seen(plan, BUILT, f"lash {IN} 0.12 +/- 0.01 mm; found and left; 500 km", change, after)[-1]
    assert kept.refused.startswith("Other pushrod since")


def test_a_creep_that_no_visit_shows_is_shown_from_when_it_was_set(plan: Plan) -> None:
    rows = seen(
        plan,
        BUILT,
        *(
            f"lash {IN} {0.12 - 0.012 * at:.3f} +/- 0.01 mm; found and left; {500 * at} km"
            for at in (1, 2, 3)
        ),
    )
    assert [word_of(one) for one in rows] == ["NO CHANGE SHOWN", "CLOSED", "CLOSED"]
    assert rows[-1].since == "assembly"
    assert rows[-1].moved is not None
    assert rows[-1].moved.drift == pytest.approx(-0.036)


def test_ten_kelvin_are_let_pass_and_said(plan: Plan) -> None:
    row = seen(plan, f"{BUILT};;; 5 C", f"lash {IN} 0.08 +/- 0.01 mm; found; 500 km; 15 C")[-1]
    assert row.moved is not None
    assert (row.moved.kelvin, row.moved.by_heat) == (10.0, None)


def test_where_the_job_knows_what_heat_does_it_is_taken_off(heated: Plan) -> None:
    of = "single.exhaust"
    slope = per_kelvin(heated.job.mapping, of)
    assert isinstance(slope, float)
    row = seen(
        heated, f"lash {of} 0.10 +/- 0.02 mm;;; 0 C", f"lash {of} 0.06 +/- 0.02 mm; found; 500 km; 25 C"
    )[-1]
    assert row.moved is not None
    assert row.moved.drift == pytest.approx(-0.04 - 25 * slope)


def test_what_explains_it_closing_and_opening(plan: Plan) -> None:
    closed, opened = (
        seen(plan, BUILT, f"lash {IN} {lash} +/- 0.01 mm; found; 500 km")[-1] for lash in (0.02, 0.22)
    )
    assert closed.seat is not None
    ratio, cosine = closed.seat.ratio, closed.seat.cosine
    assert ratio is not None
    assert cosine is not None
    assert dict(closed.fits) == {
        Cause.SINKS: pytest.approx(0.10),
        Cause.SETTLES: pytest.approx(0.10 * closed.seat.along / (ratio * cosine)),
    }
    assert dict(opened.fits) == {
        Cause.TIP_WEARS: pytest.approx(0.10),
        Cause.GEAR_WEARS: pytest.approx(0.10 * closed.seat.along / ratio),
    }
    assert seen(plan, BUILT, f"lash {IN} 0.125 +/- 0.01 mm; found; 500 km")[-1].fits == ()


def test_what_both_valves_of_a_cylinder_share_may_be_settling(plan: Plan) -> None:
    both = seen(
        plan,
        BUILT,
        f"lash {OUT} 0.20 +/- 0.01 mm",
        f"lash {IN} 0.06 +/- 0.01 mm; found; 500 km",
        f"lash {OUT} 0.08 +/- 0.01 mm; found; 500 km",
    )
    for row in both:
        assert row.together is not None
        assert row.seat is not None
        assert row.together.common == pytest.approx(0.06 * row.seat.along / (row.seat.ratio or 0.0), rel=1e-3)
    assert both[1].together is not None
    assert both[1].together.own[OUT].rest == pytest.approx(both[1].together.common, rel=1e-3)
    assert both[1].together.own[OUT].is_shown
    assert "tighten" not in to_do(both[1])[0]
    alike = seen(
        plan,
        BUILT,
        f"lash {OUT} 0.20 +/- 0.01 mm",
        f"lash {IN} 0.06 +/- 0.01 mm; found; 500 km",
        f"lash {OUT} 0.14 +/- 0.01 mm; found; 500 km",
    )
    assert all(to_do(row)[0].startswith("tighten the head anew if the gasket's maker asks") for row in alike)


def test_a_stem_tips_height_tells_the_seat(plan: Plan) -> None:
    told = (
        BUILT,
        f"tip height {IN} 46.10 +/- 0.01 mm",
        f"lash {IN} 0.06 +/- 0.01 mm; found; 500 km",
        f"tip height {IN} 46.16 +/- 0.01 mm; found; 500 km",
        f"lash {OUT} 0.20 +/- 0.01 mm",
        f"lash {OUT} 0.13 +/- 0.01 mm; found; 500 km",
    )
    row = next(one for one in seen(plan, *told) if one.of == IN and one.what == "lash")
    assert row.tip is not None
    assert row.tip.drift == pytest.approx(0.06)
    assert row.together is not None
    assert row.together.own[IN].rest == pytest.approx(0.0, abs=1e-9)  # all of it is the seat's
    assert row.together.common == 0.0
    without = next(one for one in seen(plan, *told[:1], *told[2:]) if one.of == IN and one.what == "lash")
    assert without.tip_lacks


def test_a_preload_is_worked_out_from_turns_to_zero_lash(hydraulic: Plan) -> None:
    of = hydraulic.job.names["trains"][0]
    worth = hydraulic.per_turn(of, in_flats=False)
    assert worth is not None
    row = seen(hydraulic, f"turns {of} 1.0 +/- 0.05", f"turns {of} 1.5 +/- 0.05; found; 500 km")[-1]
    assert row.what == "preload"
    assert row.moved is not None
    assert row.moved.drift == pytest.approx(0.5 * worth)
    assert row.moved.standard == pytest.approx(0.05 * worth * (2 / 3) ** 0.5)
    assert word_of(row) == "CLOSED"
    mixed = seen(
        hydraulic, f"preload {of} {worth:.4f} +/- 0.01 mm", f"turns {of} 1.5 +/- 0.05; found; 500 km"
    )[-1]
    assert mixed.moved is not None
    assert mixed.moved.drift == pytest.approx(0.5 * worth, abs=1e-4)


def test_flats_that_were_counted_are_known_to_half_a_flat(hydraulic: Plan) -> None:
    of = hydraulic.job.names["trains"][0]
    a_flat = hydraulic.per_turn(of, in_flats=True)
    if a_flat is None:
        return
    row = seen(hydraulic, f"flats {of} 6", f"flats {of} 7; found; 500 km")[-1]
    assert row.moved is not None
    assert row.moved.standard == pytest.approx(0.5 * a_flat * (2 / 3) ** 0.5)


def test_without_a_doubt_it_is_not_judged(plan: Plan) -> None:
    row = seen(plan, BUILT, f"lash {IN} 0.01 mm; found; 500 km")[-1]
    assert word_of(row) == "NOT JUDGED"
    assert not row.has_moved
    assert row.found_stands is Standing.UNJUDGED


def test_what_was_left_is_held_against_its_limits_and_the_plan(hydraulic: Plan) -> None:
    of = hydraulic.job.names["trains"][0]
    said = (f"preload {of} 0.02 +/- 0.01 mm; found; 500 km", f"preload {of} 9 +/- 0.01 mm; left; 500 km")
    (row,) = seen(hydraulic, *said)
    assert (row.found_stands, row.left_stands, row.stands) == (Standing.MISSES,) * 3


def drifting(*lash: float, state: str = "found and left", start: int = 0) -> list[str]:
    return [
        f"lash {IN} {one} +/- 0.01 mm; {state}; {1000 * (start + at)} km" for at, one in enumerate(lash, 1)
    ]


def test_no_rate_from_two_visits_after_the_first(plan: Plan) -> None:
    assert rates(plan, BUILT, *drifting(0.10, 0.09, 0.08)) == []
    (three,) = rates(plan, BUILT, *drifting(0.10, 0.09, 0.08, 0.07))
    assert three.visits == 3
    assert three.trend is not None


def test_the_first_visit_does_not_count(plan: Plan) -> None:
    """What settled until then moves no rate."""
    (even,) = rates(plan, BUILT, *drifting(0.30, 0.28, 0.26, 0.24, 0.22))
    (bedded,) = rates(plan, f"lash {IN} 0.90 +/- 0.01 mm", *drifting(0.30, 0.28, 0.26, 0.24, 0.22))
    assert even.trend == bedded.trend
    assert even.trend is not None
    assert even.trend.rate == pytest.approx(-2e-5)
    assert even.until is not None
    assert even.until[0] < 0.22 / 2e-5 < even.until[1]


def test_a_setting_reset_at_every_visit_sums_its_drifts(plan: Plan) -> None:
    said = [BUILT]
    for at in range(1, 6):
        said += [
            f"lash {IN} 0.09 +/- 0.01 mm; found; {1000 * at} km",
            f"lash {IN} 0.12 +/- 0.01 mm; left; {1000 * at} km",
        ]
    (found,) = rates(plan, *said)
    assert (found.visits, found.why) == (4, "")
    assert found.trend is not None
    assert found.trend.rate == pytest.approx(-3e-5)


def test_a_rate_begins_anew_after_a_change(plan: Plan) -> None:
    said = (BUILT, *drifting(0.30, 0.28, 0.26, 0.24, 0.22), f"changed {IN} valve;; 5500 km")
    assert rates(plan, *said, *drifting(0.20, 0.18, start=5)) == []


def test_a_reading_without_a_doubt_has_no_rate(plan: Plan) -> None:
    said = (BUILT, *drifting(0.30, 0.28, 0.26, 0.24), f"lash {IN} 0.22 mm; found and left; 5000 km")
    (found,) = rates(plan, *said)
    assert (found.trend, found.until, found.why) == (None, None, "a reading has no +/-")


def test_a_rate_goes_to_the_limit_that_heat_leaves(heated: Plan) -> None:
    of = "single.exhaust"
    least = heated.hot_least(of)
    assert least is not None
    assert least > 0.05  # heat takes lash here, and 0.05 mm are wanted hot
    said = [f"lash {of} 0.40 +/- 0.01 mm"]
    said += [
        f"lash {of} {0.40 - 0.02 * at:.2f} +/- 0.01 mm; found and left; {1000 * at} km" for at in range(1, 6)
    ]
    (found,) = rates(heated, *said)
    assert found.toward == pytest.approx(least)
    assert found.until is not None
    assert found.until[0] < (0.30 - least) / 2e-5 < found.until[1]


def test_things_that_are_no_setting_are_told_without_causes(plan: Plan) -> None:
    row = seen(plan, f"tip height {IN} 46.1 +/- 0.01 mm", f"tip height {IN} 46.2 +/- 0.01 mm; found; 500 km")[
        -1
    ]
    assert (word_of(row), row.fits, to_do(row)) == ("MORE", (), [])


def test_what_was_changed_is_no_reading(plan: Plan) -> None:
    assert seen(plan, BUILT, f"{CHANGED} {IN} pushrod;; 500 km") == []


def test_a_valve_gear_that_the_job_no_longer_has_is_compared_all_the_same(plan: Plan) -> None:
    (row,) = seen(
        plan, "lash gone.intake 0.12 +/- 0.01 mm", "lash gone.intake 0.07 +/- 0.01 mm; found; 500 km"
    )
    assert word_of(row) == "CLOSED"
    assert row.plan.why == "gone.intake is not in this job"
    assert dict(row.fits)[Cause.SETTLES] is None


def test_a_change_at_a_visit_makes_the_next_one_the_first(plan: Plan) -> None:
    said = [f"changed {IN} lifter;; 1000 km", f"lash {IN} 0.30 +/- 0.01 mm; left; 1000 km"]
    assert rates(plan, *said, *drifting(0.28, 0.26, 0.24, start=1)) == []
    assert len(rates(plan, *said, *drifting(0.28, 0.26, 0.24, 0.22, start=1))) == 1


def test_what_nobody_wrote_down_as_left_joins_no_two_visits(plan: Plan) -> None:
    """Found at 4,000 and not left: by what it was set there is no drift."""
    said = [*drifting(0.30, 0.28, 0.26), *drifting(0.24, state="found", start=3)]
    (found,) = rates(plan, BUILT, *said, *drifting(0.60, 0.58, start=4))
    assert found.trend is not None
    assert found.trend.rate == pytest.approx(-2e-5)
    assert found.visits == 4


def test_a_rate_takes_heat_off(heated: Plan) -> None:
    of = "single.exhaust"
    slope = per_kelvin(heated.job.mapping, of)
    assert isinstance(slope, float)
    said = [f"lash {of} 0.40 +/- 0.01 mm;;; 20 C"]
    for at, warm in enumerate((20, 5, 30, 12, 25), 1):
        lash = 0.40 - 0.01 * at + slope * (warm - 20)
        said.append(f"lash {of} {lash:.5f} +/- 0.01 mm; found and left; {1000 * at} km; {warm} C")
    (found,) = rates(heated, *said)
    assert found.trend is not None
    assert found.trend.rate == pytest.approx(-1e-5, rel=1e-3)


FIRST = (BUILT, f"lash {IN} 0 +/- 0.01 mm; found; 500 km")


@pytest.mark.parametrize(
    ("later", "is_open"),
    [
        (f"lash {IN} 0.01 +/- 0.02 mm; found; 1000 km", True),
        (f"lash {IN} 0.01 +/- 0.02 mm; found and left; 1000 km", True),  # nobody set it
        (f"lash {IN} 0.12 +/- 0.02 mm; left; 1000 km", False),
        (f"lash {IN} 0.12 +/- 0.01 mm; left; 500 km", False),
        (
            f"lash {OUT} 0.20 +/- 0.01 mm; left; 1000 km",
            None,
        ),  # of the other valve: it is still its last visit
    ],
)
def test_what_was_found_stands_until_something_is_left(plan: Plan, later: str, is_open: bool | None) -> None:
    found = visits(plan, lines(*FIRST, later))
    row = next(one for one in found.rows if one.distance == "500 km" and one.of == IN)
    assert row.is_open is bool(is_open)
    assert word_of(row) == "CLOSED"
    assert (row in found.standing) is (is_open is not False or row.is_latest)


def test_a_room_in_the_box_is_cleared_by_another_reading(plan: Plan) -> None:
    rooms = [
        f"cover room closed {IN} {room} +/- 0.1 mm; found; {run} km" for room, run in ((0.5, 500), (3, 900))
    ]
    first, second = seen(plan, *rooms)
    assert first.found_stands is Standing.MISSES
    assert (first.is_open, second.is_open) == (False, False)


def test_no_rate_says_fine_today_beside_what_still_stands(plan: Plan) -> None:
    said = (BUILT, *drifting(0.30, 0.28, 0.26, 0.24, 0.22, start=1))
    (free,) = rates(plan, *said)
    (held,) = rates(plan, *said, f"lash {IN} 0.02 +/- 0.01 mm; found; 500 km")
    assert free.until is not None
    assert held.until is None


def test_two_readings_found_at_one_visit_that_differ_contradict_one_another(plan: Plan) -> None:
    first, left = f"lash {IN} 0.02 +/- 0.01 mm; found; 500 km", f"lash {IN} 0.12 +/- 0.01 mm; left; 500 km"
    for typed in ("0.12 +/- 0.01 mm", "0.12 mm", "0.12 +/- 0.09 mm"):
        (row,) = seen(plan, BUILT, first, left, f"lash {IN} {typed}; found; 500 km")
        assert [one.fact.number for one in row.otherwise] == [2]
    (alike,) = seen(plan, BUILT, first, left, f"lash {IN} 0.03 +/- 0.01 mm; found; 500 km")
    assert alike.otherwise == ()
    (kept,) = seen(plan, BUILT, first, f"lash {IN} 0.12 +/- 0.01 mm; found and left; 500.0 km")
    assert [one.fact.number for one in kept.otherwise] == [2]
    withdrawn = [*lines(BUILT, first, left, f"lash {IN} 0.12 +/- 0.01 mm; found; 500 km")]
    withdrawn.append(Fact("2026-01-01", "withdrawn", IN, "lash", "2", None, number=5))
    (cleared,) = visits(plan, withdrawn).rows
    assert cleared.otherwise == ()
    (warmer,) = seen(plan, BUILT, f"{first};5 C", f"lash {IN} 0.12 +/- 0.01 mm; found; 500 km;40 C")
    assert len(warmer.otherwise) == 1  # what 35 K do is not known, so it explains nothing


def test_visits_whose_days_contradict_their_distances_are_named_and_shown(plan: Plan) -> None:
    facts = lines(
        BUILT,
        f"lash {IN} 0.12 +/- 0.01 mm; found and left; 500 km",
        f"lash {OUT} 0.20 +/- 0.01 mm; found and left; 200 km",
        f"lash {IN} 0.12 +/- 0.01 mm; found and left; 200 km",
    )
    assert visits(plan, facts).days == ()
    facts[3] = facts[3]._replace(when="2026-03-01T10:00:00+00:00")
    found = visits(plan, facts)
    assert found.days == (Day("200 km", "2026-03-01", "500 km", "2026-01-01"),)
    assert {(one.of, one.distance) for one in found.shown} == {
        (IN, "500 km"),
        (IN, "200 km"),
        (OUT, "200 km"),
    }


def test_a_job_that_knows_what_heat_does_is_not_told_less_where_no_temperature_is_written_down(
    heated: Plan,
) -> None:
    of = "single.exhaust"
    built = f"lash {of} 0.10 +/- 0.002 mm;;; 20 C"
    slope = per_kelvin(heated.job.mapping, of)
    assert isinstance(slope, float)
    within = 0.10 - 0.6 * abs(slope) * 10.0  # more than both readings explain, less than 10 K may do
    row = seen(heated, built, f"lash {of} {within:.4f} +/- 0.002 mm; found; 500 km")[-1]
    assert row.is_apart
    assert word_of(row) == "NOT JUDGED"
    told = seen(heated, built, f"lash {of} {within:.4f} +/- 0.002 mm; found; 500 km; 20 C")[-1]
    assert word_of(told) == ("CLOSED" if within < 0.10 else "OPENED")
