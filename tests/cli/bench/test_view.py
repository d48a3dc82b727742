"""What a page shows of its answers: those of the commands, and marked where they are of the value before."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.bench.desk import OpenJob
from tallstack.cli.bench.fields import Shown
from tallstack.cli.bench.places import owners
from tallstack.cli.bench.screens import CAM, DROP, GEARS, ROD, SCREENS, STACK, Screen
from tallstack.cli.bench.view import (
    NONE,
    SOME,
    STOPPED,
    WHOLE_OF_IT,
    Answers,
    address,
    answered,
    fields_of,
    heard,
    mark_of,
    next_card,
    shelves,
    stopping,
    strip,
    tabs,
)
from tallstack.cli.bench.working import CLEARANCE, Asked, Whole, stages
from tallstack.cli.page.band import Band

from ...commands import EXAMPLES, TWIN, tallstack
from .jobs import HALF, half, twin


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> OpenJob:
    """The twin with one preload that leaves no room below its plunger."""
    path = tmp_path_factory.mktemp("jobs") / "twin.toml"
    text = TWIN.read_text(encoding="utf-8")
    path.write_text(text.replace('preload = "0.045 in"', 'preload = "0.148 in"', 1), encoding="utf-8")
    return OpenJob(path)


def shown_of(job: OpenJob) -> Shown:
    assert job.shown is not None
    return job.shown


@pytest.fixture(scope="module")
def told(job: OpenJob) -> Answers:
    found = Answers()
    for stage, one in stages(Asked(job.path, job.text, job.hash)):
        found.found[stage] = (job.hash, one)
    return found


def test_lengths_doubts_and_words_are_those_of_the_command(job: OpenJob) -> None:
    rows = answered("twin", shown_of(job), job.orders(), Answers(), job.hash, "rear.intake")
    printed = tallstack("pushrods", str(job.path), "--json").json["pushrods"]
    assert [one.of for one in rows] == [one["train"] for one in printed]
    for row, one in zip(rows, printed, strict=True):
        assert float(row.length.split()[0]) == pytest.approx(
            one[f"{one['ordered_as']}_mm"] / 25.4, abs=0.00051
        )
        assert float(row.doubt.split()[0]) == pytest.approx(one["doubt_mm"] / 25.4, abs=0.00051)
        assert row.word == ("LOOK AGAIN" if one["look_again"] else one["verdict"].upper())
        assert row.is_here == (one["train"] == "rear.intake")


def test_clearances_are_those_of_the_command(job: OpenJob, told: Answers) -> None:
    rows = {one.of: one for one in answered("twin", shown_of(job), job.orders(), told, job.hash, "")}
    for one in tallstack("clearance", str(job.path), "--json").json["valves"]:
        near = rows[one["train"]].closest
        assert near is not None
        assert near.word == ("LOOK AGAIN" if one["look_again"] else one["verdict"].upper())
        assert not rows[one["train"]].is_stale


def test_the_distance_between_two_valves_stands_at_the_last_gear_of_their_cylinder() -> None:
    path = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"
    opened = OpenJob(path)
    stage, clear = next(stages(Asked(path, opened.text, opened.hash)))
    assert stage == CLEARANCE
    rows = answered(
        "job", shown_of(opened), opened.orders(), Answers({stage: (opened.hash, clear)}), opened.hash, ""
    )
    assert [one.of for one in rows if one.between is not None] == ["left.exhaust"]
    (printed,) = tallstack("clearance", str(path), "--json").json["pairs"]
    near = rows[-1].between
    assert near is not None
    assert near.word == printed["verdict"].upper()
    assert float(near.shown.split()[0]) == pytest.approx(printed["valve_to_valve_mm"], abs=0.0051)


def test_what_stops_the_work_is_what_the_overview_says(job: OpenJob, told: Answers) -> None:
    found = stopping(job.job, job.orders(), told, job.hash)
    printed = tallstack("overview", str(job.path), "--json").json
    assert set(printed["stop"]) <= set(found.stop)
    assert set(printed["watch"]) <= set(found.watch)
    assert found.before == ()


def test_what_stopped_the_value_before_stays_and_says_so(job: OpenJob, told: Answers) -> None:
    found = stopping(job.job, job.orders(), told, "another text")
    whole = told.of("whole", Whole)
    assert {*found.stop, *found.before} >= set(whole.band.stop)
    assert whole.band.stop
    rows = answered("twin", shown_of(job), job.orders(), told, "another text", "")
    assert all(one.is_stale for one in rows)


def test_what_stops_a_block_speaks_of_a_block(tmp_path: Path) -> None:
    """A block has a deck where other engines have a case and cylinders on it."""
    path = tmp_path / "job.toml"
    path.write_text('format = 1\nunits = "mm"\n[stack]\ncylinder = "block"\n', encoding="utf-8")
    opened = OpenJob(path)
    assert opened.job is not None
    whole = Whole(Band(("LOOK AGAIN: the cut off the case",), ()), (), ())
    told = Answers({"whole": (opened.hash, whole)})
    for text, of in ((opened.hash, "stop"), ("another text", "before")):
        assert "LOOK AGAIN: the cut off the block" in getattr(stopping(opened.job, (), told, text), of)


def test_what_a_reader_hears(job: OpenJob, told: Answers) -> None:
    rows = answered("twin", shown_of(job), job.orders(), told, job.hash, "rear.intake")
    here = next(one for one in rows if one.is_here)
    said = heard(rows, stopping(job.job, job.orders(), told, job.hash))
    assert said.startswith(
        f"rear intake: {here.length}, +/- {here.doubt or 'not known'}, {here.word}. STOP: "
    )
    assert heard((), stopping(None, (), Answers(), "")) == ""


def test_how_far_each_screen_has_come(tmp_path: Path, job: OpenJob) -> None:
    assert job.shown is not None
    assert mark_of(job.shown, GEARS, job.orders()) == WHOLE_OF_IT
    one = OpenJob(half(tmp_path))
    assert one.shown is not None
    marks = {
        screen.key: mark_of(one.shown, screen, one.orders()) for screen in (STACK, GEARS, ROD, DROP, CAM)
    }
    assert marks == {"stack": SOME, "gears": SOME, "rod": SOME, "drop": NONE, "cam": NONE}
    one.path.write_text(HALF.replace("276.0 +/- 0.2", "276.0 kg"), encoding="utf-8")
    assert one.refresh()
    assert one.shown is not None
    assert mark_of(one.shown, ROD, ()) == STOPPED


def test_the_strip_and_the_owners_lead_to_what_there_is(job: OpenJob) -> None:
    assert job.shown is not None
    found = strip("a job", job.shown, ROD, "rear.intake", job.orders())
    assert [one.told for one in found] == [one.title for one in SCREENS.values()]
    assert [one.is_here for one in found].index(True) == 2
    assert found[3].href == "/jobs/a%20job/drop/rear.intake"
    assert found[4].href == "/jobs/a%20job/cam/intake"
    assert [one.told for one in tabs("twin", job.shown, CAM, "intake")] == ["intake", "exhaust"]
    assert tabs("twin", job.shown, STACK, "") == ()
    assert address("a/b", ROD, "front.intake") == "/jobs/a%2Fb/rod/front.intake" or "%2F" in address(
        "a/b", ROD
    )


def test_every_field_of_a_screen_stands_once(job: OpenJob) -> None:
    assert job.shown is not None
    for screen in (STACK, ROD, DROP, CAM):
        for owner in owners(screen, job.shown.plain):
            keys = [one.key for one in fields_of(shelves(job.shown, screen, owner))]
            assert len(keys) == len(set(keys)), (screen.key, owner)


@pytest.mark.wide
def test_what_stands_out_is_next(tmp_path: Path) -> None:
    one = OpenJob(twin(tmp_path))
    told = Answers({stage: (one.hash, found) for stage, found in stages(Asked(one.path, one.text, one.hash))})
    assert one.shown is not None
    card = next_card("twin", one.shown, told)
    assert card is not None
    assert card.title.startswith("deck, rear: it stands out")


def test_what_is_next_is_what_the_list_asks_for_first(job: OpenJob, tmp_path: Path) -> None:
    assert job.shown is not None
    assert next_card("twin", job.shown, Answers()) is None
    one = OpenJob(half(tmp_path))
    first = Answers(
        {stage: (one.hash, found) for stage, found in stages(Asked(one.path, one.text, one.hash))}
    )
    assert one.shown is not None
    card = next_card("half", one.shown, first)
    assert card is not None
    assert card.href == "/jobs/half/stack#stack-base_gasket"
    assert one.enter(("stack", "base_gasket"), "0.5 +/- 0.05", "").fault == ""
    after = next_card("half", one.shown, first)  # of the text before, and the entry is given since
    assert after is not None
    assert after.href != card.href


def test_a_solid_lifter_is_asked_for_no_plunger_and_a_crown_for_no_pocket(tmp_path: Path) -> None:
    path = half(tmp_path)

    def asked(screen: Screen, text: str) -> str:
        path.write_text(text, encoding="utf-8")
        shown = OpenJob(path).shown
        assert shown is not None
        return " ".join(
            str(item.chosen.key if item.chosen else item.field and item.field.key)
            for shelf in shelves(shown, screen, "front.intake")
            for item in shelf.items
        )

    solid = HALF.replace('kind = "hydraulic", preload', 'kind = "solid", lash').replace(
        'plunger = "top"\n', ""
    )
    assert "plunger-front.intake" in asked(ROD, HALF)
    assert "plunger-front.intake" not in asked(ROD, solid)
    crown = HALF.replace(
        '[[train]]\ncylinder = "front"\nport = "exhaust"',
        '[train.measured_drop]\nmeets = "crown"\ndrop = "6"\nlean = 20\n[[train]]\ncylinder = "front"\nport = "exhaust"',
    )
    assert "measured_drop-room" in asked(DROP, HALF)
    assert "measured_drop-room" not in asked(DROP, crown)
