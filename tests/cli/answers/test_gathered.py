"""Every answer of a job, in the order of the screens."""

from __future__ import annotations

import pytest
import tallstack as ts

from ...commands import DEMO, EXAMPLES, tallstack


def test_answers_stand_in_the_order_of_the_screens(job: ts.Job) -> None:
    groups = [job.answers(group) for group in ("pushrods", "clearance", "fits")]
    assert tuple(job.answers()) == sum(map(tuple, groups), ())
    assert list(dict.fromkeys(one.of for one in groups[0])) == ["single.intake", "single.exhaust"]
    assert job.answers("clearance") is job.answers("clearance")
    with pytest.raises(
        ValueError, match="nothing: no such group of answers; there are pushrods, clearance, fits"
    ):
        job.answers("nothing")


def test_what_is_missing_names_its_entries(job: ts.Job) -> None:
    found = job.find("valve_to_valve")
    assert isinstance(found, ts.Missing)
    assert "single.intake.valve.face" in found.needs["coordinates"]
    assert list(found.needs) == ["valves_touch", "coordinates"]
    assert str(found).startswith("single, valve to valve: NOT KNOWN, needs single.valves_touch.edge_intake,")
    assert found.row()["needs"].startswith("single.valves_touch.edge_intake")
    assert found.row().keys() == job.find("squish").row().keys()


@pytest.mark.wide
def test_what_misses_is_in_the_length_too(job: ts.Job) -> None:
    demo = ts.load(DEMO)
    short = demo.with_({"front.intake.lifter.preload": "0.090 in"}).find("overall", "front.intake")
    assert isinstance(short, ts.Result)
    assert short.verdict == "short"
    assert "the verdict is on the preload it gives" in str(short)


@pytest.mark.wide
def test_lowering_a_cylinder_is_among_the_answers() -> None:
    job = ts.load(EXAMPLES / "which_cylinder_first" / "job.toml")
    for row in tallstack("fits", EXAMPLES / "which_cylinder_first" / "job.toml", "--json").json["drop_on"]:
        found = job.find("margin", f"{row['fitted']}, {row['lowered']}")
        assert isinstance(found, ts.Result)
        assert found.value == pytest.approx(row["margin_mm"], abs=1e-6)
        assert f"{row['fitted']} fitted, {row['lowered']} lowered" in found.note
        assert ("none leaves the room" in found.note) is (not row["windows_deg"])
        assert ("NOT LOOKED AT" in found.note) is bool(row["not_looked_at"])
