"""What stops the work and what to watch, at the head of every answer."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.page.band import NOTHING, Band, band, blocks, of_clearance, shortfall
from tallstack.cli.page.text import lines
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget
from tallstack.geometry.doubt.draws import Chance
from tallstack.geometry.doubt.result import Builds

from ...commands import DEMO
from ...results import result

JOB = load(DEMO)


def test_what_cannot_be_stands_first_then_what_is_short_then_what_looks_wrong() -> None:
    found = [
        result(1.0, least=2.0, verdict=Verdict.SHORT, of="front.intake", key="room"),
        result(0.5, least=2.0, verdict=Verdict.SHORT, of="rear.intake", key="room"),
        result(9.0, least=2.0, verdict=Verdict.OK, of="rear.exhaust", key="room"),
    ]
    again = (LookAgain("merely rare"), LookAgain("wrong", "front.intake"))
    told = band(JOB._replace(warnings=again), found, ["they meet"])
    assert told.stop == (
        "they meet",
        "SHORT: rear intake, room: 0.020 in, limit 0.079 in; front intake: 0.039 in",
        "LOOK AGAIN: wrong",
    )
    assert told.watch == ("UNUSUAL, a slip or a rare engine: merely rare",)


def test_only_a_clearance_that_its_own_pumped_up_one_makes_short_is_told_by_that() -> None:
    drop = result(3.7, least=2.0, verdict=Verdict.SHORT, of="front.intake", key="drop")
    drop = drop._replace(figure=drop.figure._replace(pumped_as="drop_pumped"))
    bore = result(1.8, least=1.0, verdict=Verdict.SHORT, of="front.intake", key="bore")
    up = result(-0.1, least=0.0, verdict=Verdict.SHORT, of="front.intake", key="drop_pumped")
    rod = result(-1.0, least=0.0, verdict=Verdict.SHORT, of="front.intake", key="goes_in")
    told = "; ".join(band(JOB._replace(warnings=()), [drop, bore, up, rod]).stop)
    assert "drop:" not in told
    assert all(f"front intake, {one}:" in told for one in ("bore", "drop_pumped", "goes_in"))
    assert "drop:" in "; ".join(band(JOB._replace(warnings=()), [drop, rod]).stop)


def test_what_is_close_unproved_or_unknown_is_watched() -> None:
    bare = Budget(0.0, {}, ("front.intake.rocker.ratio", "rear.intake.rocker.ratio", "stack.bore"))
    found = [
        result(2.1, 0.2, least=2.0, verdict=Verdict.TIGHT, of="front", key="squish"),
        result(5.0, least=2.0, verdict=Verdict.UNPROVED, of="front.intake", key="room")._replace(budget=bare),
        result(5.0, least=2.0, verdict=Verdict.UNPROVED, of="rear", key="room")._replace(look_again=("why",)),
    ]
    told = band(JOB, found, unknown=["rear pushrod"]).watch
    assert told[0] == "TIGHT: front, squish"  # nothing was drawn
    drawn = found[0]._replace(builds=Builds(missed=Chance(0.12, 0.01), looked=1000))
    assert band(JOB, [drawn]).watch[0] == "TIGHT: front, squish, misses its limit in 12 % of builds"
    assert told[1:] == (
        "UNPROVED: front intake, room: no +/- for rocker's ratio (front intake, rear intake), bore",
        "NOT KNOWN: rear pushrod",
    )


def test_what_rests_on_coordinates_alone_says_so() -> None:
    one = result(1.0, 0.2, least=0.5, verdict=Verdict.UNPROVED, of="rear.intake", key="lash")
    assert band(JOB, [one._replace(is_estimate=True)]).watch == (
        "UNPROVED: rear intake, lash: from coordinates alone",
    )
    assert band(JOB, [one]).watch == ("UNPROVED: rear intake, lash",)


def test_a_band_is_never_absent() -> None:
    assert lines(blocks(Band((), ()))) == [NOTHING]
    assert lines(blocks(Band(("a", "b"), ("c", "d")))) == [
        "STOP, 2 things before anything goes together",
        "  a",
        "  b",
        "WATCH  c",
        "       d",
    ]


def test_what_falls_furthest_short_of_its_limit_comes_first() -> None:
    short, shorter, above = (result(value, least=2.0) for value in (1.0, 0.5, 3.0))
    assert shortfall(shorter) < shortfall(short) < 0 < shortfall(above)


def test_a_valve_and_a_pair_of_valves_have_names() -> None:
    assert of_clearance("front.intake") == "front intake to its piston"
    assert of_clearance("front") == "front valve to valve"
