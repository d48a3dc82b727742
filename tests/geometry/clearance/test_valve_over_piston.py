"""Where a valve stands over its piston: by coordinates, by one dial reading, and where both are there."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance import valve_over_piston
from tallstack.geometry.clearance.clearances import Clearances, clearances
from tallstack.geometry.clearance.situation import situation
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates, ByReading
from tallstack.geometry.core.frames import Array, array, whole_lean
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.piston.drop import drop

from ...clearance_jobs import by_coordinates


def test_a_valve_rests_on_its_coordinates_until_its_drop_was_read() -> None:
    nothing: Any = None
    plain = valve_over_piston.ByCoordinates(nothing, nothing, None, nothing, None)
    assert plain.basis == "coordinates"
    assert plain._replace(differ=array(0.2)).basis == "measured drop"


def test_a_drop_that_is_told_about_top_centre_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    reading: Any = SimpleNamespace(
        measured=None, forward=True, crank=SimpleNamespace(descent=lambda crank, _: np.abs(crank))
    )

    def within(_: object, descent: Array, __: Array) -> SimpleNamespace:
        return SimpleNamespace(known=descent < 0.003)

    monkeypatch.setattr(valve_over_piston, "traced", within)
    lift: Any = None
    found = valve_over_piston.ByReading(reading, lift).known()
    assert found is not None
    assert found == pytest.approx((-0.003, 0.003), abs=2e-5)


def found_in(job: JobFile) -> Clearances:
    return clearances(job.mapping, Tables(), job.quantities, job.doubts)


def read_off(job: JobFile, meets: str, room: float | None, stack: float) -> Flat:
    """Return the job by the bench: its drop at top centre read off the geometry, the cylinder shorter then."""
    here = situation(job.mapping, "one", Cam(job.mapping, Tables()))
    mapping: dict[str, object] = {
        path: value
        for path, value in job.mapping.items()
        if not path.startswith(
            ("one.intake.valve", "one.intake.rocker", "one.intake.pocket", "one.exhaust", "stack.case_deck")
        )
        and not path.startswith("one.intake.lifter.")
    }
    over = here.valves["one.intake"]
    assert isinstance(over, ByCoordinates)
    then = over.head._replace(centre=over.head.centre - np.array([0.0, 0.0, stack]))
    mapping |= {
        "trains": ("one.intake",),
        "one.intake.lifter.kind": "solid",
        "one.intake.lifter.lash": 0.0,
        "one.intake.rocker.ratio": 1.62,
        "one.intake.measured_drop.drop": float(drop(over.below.crown, then)),
        "one.intake.measured_drop.lean": float(whole_lean(over.head.stem)),
        "one.intake.measured_drop.stack.cylinder": float(job.mapping["stack.cylinder"]) - stack,  # type: ignore[arg-type]
    }
    if meets:
        mapping["one.intake.measured_drop.meets"] = meets
    if room is not None:
        mapping["one.intake.measured_drop.room"] = room
    return mapping  # type: ignore[return-value]


@pytest.mark.parametrize("stack", [0.0, 0.7])
def test_the_bench_route_gives_what_coordinates_give_on_a_plain_crown(tmp_path: Path, stack: float) -> None:
    job = load(by_coordinates(tmp_path, pockets=False))
    exact = situation(job.mapping, "one", Cam(job.mapping, Tables())).valves["one.intake"]
    assert isinstance(exact, ByCoordinates)
    for meets in ("crown", ""):
        mapping = read_off(job, meets, None if meets else 6.0, stack)
        by_reading = situation(mapping, "one", Cam(mapping, Tables())).valves["one.intake"]
        assert isinstance(by_reading, ByReading)
        same_lift = exact._replace(lift=by_reading.lift)
        there, here = same_lift.least_drop()[0], by_reading.least_drop()[0]
        if meets:
            assert here.value == pytest.approx(there.value, abs=1e-6)
            assert here.angle == pytest.approx(there.angle, abs=1e-4)
            gap = by_reading.least_gap(here.angle)
            assert gap is not None
            assert gap.value == pytest.approx(
                there.value * float(np.cos(by_reading.reading.measured.lean)), abs=1e-6
            )
        else:
            assert here.value <= there.value + 1e-9


def test_without_its_room_a_pockets_reading_tells_nothing(tmp_path: Path) -> None:
    mapping = read_off(load(by_coordinates(tmp_path, pockets=False)), "pocket", None, 0.0)
    here = situation(mapping, "one", Cam(mapping, Tables()))
    assert here.valves == {}
    assert here.lacks["one.intake"] == {"measured drop": ("one.intake.measured_drop.room",)}


@pytest.mark.wide
def test_a_reading_beside_coordinates_decides_how_high_the_valve_stands(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path)
    plain = found_in(load(path))
    here = plain.situations["one"].valves["one.intake"]
    assert isinstance(here, ByCoordinates)
    computed = float(drop(here.below.crown, here.head))
    text = path.read_text(encoding="utf-8")
    reading = f'[train.measured_drop]\ndrop = "{computed - 0.25:.6f} +/- 0.03"\nlean = 22\nmeets = "pocket"\nroom = 3.0\n'
    path.write_text(
        text.replace(
            '[[train]]\ncylinder = "one"\nport = "exhaust"',
            reading + '[[train]]\ncylinder = "one"\nport = "exhaust"',
        ),
        encoding="utf-8",
    )
    both = found_in(load(path))
    assert both.valves[0].basis == "measured drop"
    assert both.valves[0].differ == pytest.approx(0.25, abs=1e-5)
    assert both.valves[0].drop[0].value == pytest.approx(plain.valves[0].drop[0].value - 0.25, abs=1e-5)
    assert both.valves[0].piston is not None
    assert both.valves[0].piston.budget is not None
    assert "one.intake.measured_drop.drop" in both.valves[0].piston.budget.shares
    deeper = found_in(load(path, ["one.intake.pocket.depth=5.5 mm"]))  # cut after the reading was taken
    assert deeper.valves[0].drop[0].value - both.valves[0].drop[0].value == pytest.approx(
        0.5 / np.cos(np.radians(22)), abs=0.03
    )


def with_drops(text: str, by: dict[str, float], meets: str = "pocket") -> str:
    """Return a job with a drop read at each valve, so much less than its coordinates say."""
    for port, read in by.items():
        table = f'[train.measured_drop]\ndrop = "{read:.6f} +/- 0.03"\nlean = {22 if port == "intake" else 21}\nmeets = "{meets}"\nroom = 3.0\n'
        before, after = text.split(f'port = "{port}"', 1)
        own, found, rest = after.partition("[[train]]")
        text = f'{before}port = "{port}"{own}{table}{found}{rest}'
    return text


@pytest.mark.wide
def test_two_drops_that_a_high_piston_explains_do_not_move_the_valves_together(tmp_path: Path) -> None:
    """A reading corrects what it was taken for; the other answers rest on the coordinates, and say look again."""
    from tallstack.cli.commands import clearance, risk

    path = by_coordinates(tmp_path)
    text = path.read_text(encoding="utf-8")
    plain = found_in(load(path))
    drops = {}
    for port in ("intake", "exhaust"):
        over = plain.situations["one"].valves[f"one.{port}"]
        assert isinstance(over, ByCoordinates)
        drops[port] = float(drop(over.below.crown, over.head)) - 1.2
    path.write_text(with_drops(text, drops), encoding="utf-8")
    both = found_in(load(path))
    for valve, alone in zip(both.valves, plain.valves, strict=True):
        assert valve.drop[0].value == pytest.approx(alone.drop[0].value - 1.2, abs=1e-4)
    assert both.pairs[0].least == plain.pairs[0].least
    answer = clearance.answer(load(path)).document
    pair = answer["pairs"][0]
    assert pair["verdict"] not in ("ok", "tight")
    assert pair["look_again"]
    drawn = risk.answer(load(path), 100, 1).document
    between = next(one for one in drawn["answers"] if one["what"] == "between")
    assert between["value_mm"] == pytest.approx(pair["valve_to_valve_mm"], abs=1e-6)
    assert between["mean_mm"] == pytest.approx(pair["valve_to_valve_mm"], abs=0.2)


def test_what_a_reading_met_stands_when_coordinates_come_beside_it(tmp_path: Path) -> None:
    """Over a pocket its drop grows by the cosine of the lean; no pocket entered is not a plain crown."""
    path = by_coordinates(tmp_path, pockets=False)
    text = path.read_text(encoding="utf-8")
    path.write_text(with_drops(text, {"intake": 3.0}), encoding="utf-8")
    found = found_in(load(path))
    here = found.situations["one"].valves["one.intake"]
    assert isinstance(here, ByReading)
    assert found.valves[0].unlike
    descent = float(here.descent(array(0.3)))
    assert here.drop(array(0.3), array(0.0)) == pytest.approx(
        3.0 + descent * np.cos(np.radians(22)), abs=1e-9
    )
    path.write_text(with_drops(text, {"intake": 3.0}).replace("room = 3.0", ""), encoding="utf-8")
    lacks = situation(load(path).mapping, "one", Cam(load(path).mapping, Tables())).lacks["one.intake"]
    assert lacks == {
        "coordinates": ("one.intake.pocket.centre",),
        "measured drop": ("one.intake.measured_drop.room",),
    }
    path.write_text(with_drops(text, {"intake": 3.0}, "crown").replace("room = 3.0", ""), encoding="utf-8")
    assert isinstance(found_in(load(path)).situations["one"].valves["one.intake"], ByCoordinates)
