"""Clearances through the mapping: lifts against the raw loop, doubts against differences, routes against each other.

Figures, measured on two cores with CPython 3.11:

- derivative of a least clearance at its angle against central differences of the minimum, 16 entries, with and
  without pockets: within 0.2 %; limit: 1 %
- valve lifts through the cycle against the raw loop, 25 random trains, running and pumped up: within 1e-8 mm;
  limit: 1e-6 mm
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.cam.law import law_lobe
from tallstack.geometry.cam.lobe import Placed
from tallstack.geometry.clearance import clearances as clearance
from tallstack.geometry.clearance import moving as clearance_doubt
from tallstack.geometry.clearance.clearances import Clearances, clearances, judged_on, nearest
from tallstack.geometry.clearance.moving import slopes
from tallstack.geometry.clearance.situation import Asked, Situation, situation
from tallstack.geometry.clearance.timing import against_timing
from tallstack.geometry.clearance.valve_lift import ValveLift, apart, shape, valve_lift
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates, ByReading
from tallstack.geometry.core.frames import array, whole_lean
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget
from tallstack.geometry.engine.engine import build
from tallstack.geometry.piston.cycle import Minimum
from tallstack.geometry.piston.drop import drop

from ...clearance_jobs import by_coordinates
from ...commands import EXAMPLES
from ...oracles import raw_loop
from ...oracles.random_trains import PEAK, TRAIN, random_mapping, random_unreachable
from ...seeded import few

LAW = law_lobe("4-5-6-7", PEAK, np.radians(300))
LOBE = CamLobe("intake", "law", Placed(LAW, "intake", np.radians(106), 0.0, 0.0), (0.0, PEAK), False, None)


def found_in(job: JobFile) -> Clearances:
    return clearances(job.mapping, Tables(), job.quantities, job.doubts)


def lift_of(mapping: Mapping[str, object]) -> ValveLift:
    found = valve_lift(build(mapping).train(TRAIN), LOBE)  # type: ignore[arg-type]
    assert isinstance(found, ValveLift)
    return found


@pytest.mark.parametrize("seed", range(25))
def test_a_valves_lift_is_the_raw_loops(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng([seed, 4]))
    lift = lift_of(mapping)
    assert apart(lift) == ()
    crank = np.radians(np.array([-20.0, 10.0, 60.0, 106.0]))  # rising, as the oracle follows it
    length = raw_loop.length(mapping, TRAIN)
    down = float(mapping["front.intake.lifter.preload"]) if lift.pumps else 0.0  # type: ignore[arg-type]
    risen = LAW.lift((crank - np.radians(106)) / 2)
    expected, _ = raw_loop.motion(mapping, TRAIN, risen, length, down=down)
    np.testing.assert_allclose(lift.at(crank), expected, atol=1e-8)
    fallen = np.radians(212) - crank
    np.testing.assert_allclose(lift.at(fallen), expected, atol=1e-8)
    if lift.pumps:
        pumped, _ = raw_loop.motion(mapping, TRAIN, risen, length, down=0.0)
        np.testing.assert_allclose(lift._replace(pumped=True).at(crank), pumped, atol=1e-8)
        assert (lift._replace(pumped=True).at(crank) > lift.at(crank)).all()


@pytest.mark.parametrize("seed", range(15))
def test_what_is_undone_is_the_lifters_lift(seed: int) -> None:
    lift = lift_of(random_mapping(np.random.default_rng([seed, 5]), kind="hydraulic"))
    assert lift.linkage is not None
    risen = np.linspace(0.1, PEAK, 9)
    np.testing.assert_allclose(lift.linkage.lifter_lift(lift.at_lobe(risen)), risen, atol=1e-9)


def test_a_gear_that_comes_apart_is_said_in_words() -> None:
    rng, said = np.random.default_rng(6), 0
    for _ in range(8):
        mapping = random_unreachable(rng, why="toggle")
        sentences = apart(lift_of(mapping))
        assert len(sentences) == 1
        assert "from a lifter lift of" in sentences[0]
        said += 1
    assert said == 8


def test_a_ratio_multiplies_what_lash_leaves() -> None:
    mapping: Flat = {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "front.intake.lifter.kind": "solid",
        "front.intake.lifter.lash": 0.24,
        "front.intake.rocker.ratio": 1.6,
    }
    lift = lift_of(mapping)
    risen = np.array([0.0, 0.1, 0.15, 2.0])
    np.testing.assert_allclose(lift.at_lobe(risen), [0.0, 0.0, 0.0, 1.6 * (2.0 - 0.15)], atol=1e-12)
    assert not lift.pumps


def test_readings_at_the_valve_are_its_lift() -> None:
    mapping: Flat = {"cylinders": ("front",), "trains": (TRAIN,), "front.intake.lifter.kind": "hydraulic"}
    read = LOBE._replace(at_valve=True)
    found = valve_lift(build(mapping).train(TRAIN), read)
    assert isinstance(found, ValveLift)
    assert found.at(array(np.radians(106))) == pytest.approx(PEAK)
    assert found.no_pumped == ("front.intake.lifter.preload", "front.intake.rocker.ratio")


@pytest.mark.parametrize("then", [0.0, 0.15, 0.4])
@pytest.mark.parametrize(
    ("kind", "lash_at"), [("solid", "valve"), ("solid", "pushrod"), ("hydraulic", "valve")]
)
def test_lifts_read_with_one_lash_and_run_with_another(then: float, kind: str, lash_at: str) -> None:
    """Of a lobe through one ratio the valve's lift is what that leaves above its lash, then and now."""
    lash, ratio = 0.2, 1.6
    mapping: Flat = {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        "front.intake.lifter.kind": kind,
        "front.intake.rocker.ratio": ratio,
        **(
            {"front.intake.lifter.lash": lash, "front.intake.lifter.lash_at": lash_at}
            if kind == "solid"
            else {}
        ),
    }
    found = valve_lift(build(mapping).train(TRAIN), LOBE._replace(at_valve=True, lash=then))
    assert isinstance(found, ValveLift)
    risen = np.linspace(0.0, 6.0, 601)
    read = np.maximum(ratio * risen - then, 0.0)
    runs = 0.0 if kind == "hydraulic" else lash * (ratio if lash_at == "pushrod" else 1.0)
    seen = read >= 0.05
    np.testing.assert_allclose(
        found.at_lobe(read)[seen], np.maximum(ratio * risen - runs, 0.0)[seen], atol=1e-12
    )
    assert float(found.at_lobe(array(0.0))) == 0.0
    plain = found._replace(lobe=found.lobe._replace(lash=None, lash_entry="lobe.intake.lash_read"))
    assert plain.lash_unknown == ("" if kind == "hydraulic" else "lobe.intake.lash_read")


def at_valve(folder: Path, lifter: str, more: str = "") -> Path:
    """Write a job known by readings, with the intake's lifts read at the valve."""
    example = EXAMPLES / "cam_known_from_36_readings"
    for name in ("intake.csv", "exhaust.csv"):
        (folder / name).write_text((example / name).read_text(encoding="utf-8"), encoding="utf-8")
    text = (example / "job.toml").read_text(encoding="utf-8")
    old = 'lifter = { kind = "hydraulic", preload = "0.040 +/- 0.005", plunger_travel = "0.150 +/- 0.002" }'
    assert old in text
    text = text.replace(old, f"lifter = {lifter}").replace(
        'centreline = "106 +/- 1"', f'measured_at = "valve"\n{more}centreline = "106 +/- 1"'
    )
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_lash_a_table_was_read_with_is_asked_for_and_counts(tmp_path: Path) -> None:
    from tallstack.cli.commands import clearance, risk

    solid = '{ kind = "solid", lash = "0.012 +/- 0.001" }'
    met = ("targets.drop_intake=0.02 in", "targets.drop_exhaust=0.02 in")
    unknown = clearance.answer(load(at_valve(tmp_path, solid), met))
    assert unknown.document["valves"][0]["verdict"] == "unproved"
    assert "lobe.intake.lash_read" in unknown.document["valves"][0]["without_doubt"]
    assert "the lash that these lifts were read with is not entered" in unknown.text
    assert (
        unknown.status == 1
    )  # entered, it could only take away: leaving it out ends no better than SHORT does
    assert risk.answer(load(at_valve(tmp_path, solid), met), 200, 1).status == 1
    same = clearance.answer(load(at_valve(tmp_path, solid, 'lash_read = "0.012 +/- 0.001"\n'), met)).document
    more = load(at_valve(tmp_path, solid, 'lash_read = "0.020 +/- 0.001"\n'), met)
    found = clearance.answer(more).document
    assert same["valves"][0]["drop_mm"] == pytest.approx(unknown.document["valves"][0]["drop_mm"], abs=1e-9)
    assert found["valves"][0]["drop_mm"] == pytest.approx(
        same["valves"][0]["drop_mm"] - 0.008 * 25.4, abs=1e-3
    )
    assert found["valves"][0]["verdict"] in ("ok", "tight")
    assert clearance.answer(more).status == 0
    drawn = risk.answer(more, 200, 1).document["answers"]
    intake = next(one for one in drawn if one["kind"] == "clearances" and one["of"] == "single.intake")
    assert intake["shares"]["lobe.intake.lash_read"] > 0
    hydraulic = '{ kind = "hydraulic", preload = "0.040 +/- 0.005", plunger_travel = "0.150 +/- 0.002" }'
    taken = clearance.answer(load(at_valve(tmp_path, hydraulic), met)).document
    assert taken["valves"][0]["lash_read_needs"] is None
    assert any(one["entry"] == "lobe.intake.lash_read" for one in taken["assumed"])


def test_shape_of_a_gear_by_coordinates(tmp_path: Path) -> None:
    job = load(by_coordinates(tmp_path))
    here = situation(job.mapping, "one", Cam(job.mapping, Tables()))
    found = shape(here.lifts["one.intake"])
    crank = np.radians(np.arange(-360.0, 360.0, 0.1))
    lifts = here.lifts["one.intake"].at(crank)
    assert found.peak_lift == pytest.approx(float(lifts.max()), abs=1e-6)
    assert found.peak_at == pytest.approx(float(crank[lifts.argmax()]), abs=np.radians(0.1))
    assert found.sweep is not None
    assert 0 < found.sweep < 2


def varied(mapping: Flat, path: str, by: float) -> Flat:
    return {**mapping, path: float(array(mapping[path])) + by}  # type: ignore[arg-type]


def least(here: Situation, name: str, what: str) -> float:
    over = here.valves[name]
    drops, gap = nearest(over)
    if what == "wall":
        wall = over.least_wall()
        assert wall is not None
        return wall.value
    return judged_on(drops[0], gap)[1].value if what == "judged" else drops[0].value


@pytest.mark.parametrize("pockets", few([False, True], 1))
def test_the_derivative_of_a_minimum_is_that_at_its_angle(tmp_path: Path, pockets: bool) -> None:
    """The envelope: central differences of the minimum, its angle found anew each time."""
    job = load(by_coordinates(tmp_path, pockets))
    mapping, cam = job.mapping, Cam(job.mapping, Tables())
    here = situation(mapping, "one", cam)
    at = here.valves["one.intake"].least_drop()[0].angle
    asked = Asked("one.intake", "drop", at)
    entries = [
        "stack.cylinder",
        "stack.head_gasket",
        "crank.stroke",
        "crank.conrod_length",
        "piston.compression_height",
        "piston.pin_offset",
        "one.intake.valve.face.x",
        "one.intake.valve.face.z",
        "one.intake.valve.lean.x",
        "one.intake.valve.head_diameter",
        "one.intake.rocker.valve_arm",
        "one.intake.rocker.shaft.z",
        "one.intake.lifter.seat.z",
        "one.intake.lifter.preload",
    ]
    entries += ["one.intake.pocket.depth", "one.intake.pocket.lean.x"] if pockets else []
    table = slopes(mapping, here, (asked,), {entry: {entry: 1.0} for entry in entries}, Tables())[asked.key]
    for entry, slope in table.items():
        step = 2e-3
        ends = [
            least(situation(varied(mapping, entry, by), "one", cam), "one.intake", "drop")
            for by in (step, -step)
        ]
        assert slope == pytest.approx((ends[0] - ends[1]) / (2 * step), abs=2e-3, rel=2e-3), entry


@pytest.mark.parametrize(
    "entry",
    few(
        [
            "lobe.intake.centreline",
            "lobe.intake.law.peak",
            "lobe.intake.law.degrees",
            "lobe.exhaust.card.peak",
            "lobe.exhaust.card.duration.degrees",
        ],
        2,
    ),
)
def test_entries_of_the_cam_move_the_minimum_as_their_budget_says(tmp_path: Path, entry: str) -> None:
    job = load(by_coordinates(tmp_path, exhaust="exhaust" in entry))
    doubt = {entry: job.doubts[entry]}
    found = clearances(job.mapping, Tables(), {entry: {entry: 1.0}}, doubt)
    name = "one.intake" if "intake" in entry else "one.exhaust"
    answer = next(one for one in found.valves if one.train == name)
    assert answer.piston is not None
    assert answer.piston.budget is not None
    step = 1e-3
    ends = []
    for by in (step, -step):
        there = varied(job.mapping, entry, by)
        ends.append(least(situation(there, "one", Cam(there, Tables())), name, "judged"))
    slope = (ends[0] - ends[1]) / (2 * step)
    told = answer.piston.budget
    own = told.standard * np.sqrt(told.shares[entry])  # beside the shape that a card leaves open
    assert own == pytest.approx(abs(slope) * doubt[entry].standard, rel=5e-3)


@pytest.mark.wide
def test_advance_turns_both_lobes_earlier(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path)
    one = found_in(load(path, ["cam.advance=4"]))
    other = found_in(load(path, ["lobe.intake.centreline=102", "lobe.exhaust.centreline=114"]))
    plain = found_in(load(path))
    for first, second, third in zip(one.valves, other.valves, plain.valves, strict=True):
        assert first.drop[0].value == pytest.approx(second.drop[0].value, abs=1e-7)
        assert abs(first.drop[0].value - third.drop[0].value) > 0.1
    rows = against_timing(plain.situations, (0.0, float(np.radians(4))))
    for valve, turned in zip(plain.valves, one.valves, strict=True):
        assert valve.piston is not None
        assert turned.piston is not None
        assert rows[0].piston[valve.train] == pytest.approx(valve.piston.value, abs=1e-7)
        assert rows[1].piston[valve.train] == pytest.approx(turned.piston.value, abs=1e-7)
    assert set(rows[1].between) == {"one"}


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


def test_verdicts_follow_the_doubt(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path, exhaust=False)
    plain = found_in(load(path)).valves[0].piston
    assert plain is not None
    assert plain.budget is not None
    value, doubt = plain.value, plain.budget.expanded
    for target, verdict in (
        (value - 1.1 * doubt, Verdict.OK),
        (value - 0.9 * doubt, Verdict.TIGHT),
    ):
        judged = found_in(load(path, [f"targets.drop_intake={target:.5f} mm"])).valves[0].piston
        assert judged is not None
        assert judged.verdict is verdict
        assert judged.target.is_set
    bare = found_in(load(path, ["stack.cylinder=125.2 mm"])).valves[0].piston
    assert bare is not None
    assert bare.verdict is Verdict.UNPROVED
    assert bare.budget is not None
    assert bare.budget.undoubted == ("stack.cylinder",)


def test_a_lifter_that_pumps_up_into_the_piston_is_short_whatever_the_headline(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path, exhaust=False)
    found = found_in(load(path, ["one.intake.lifter.preload=2.9 mm", "targets.drop_intake=0.5 mm"])).valves[0]
    assert found.pumped is not None
    assert found.pumped.value < 0 < found.drop[0].value
    assert found.piston is not None
    assert found.piston.value > found.piston.target.least
    assert found.piston.verdict is Verdict.SHORT


@pytest.mark.wide
def test_a_rim_that_just_dips_below_the_crown_has_a_doubt(tmp_path: Path) -> None:
    """A step the other way it is over the crown, where no room to the wall exists."""
    path = by_coordinates(tmp_path)

    def room(advance: float) -> float | None:
        mapping = load(path, [f"cam.advance={advance}"]).mapping
        found = situation(mapping, "one", Cam(mapping, Tables())).valves["one.intake"].least_wall()
        return None if found is None else found.value

    over, below = next(
        (one, one + 4.0) for one in np.arange(-40.0, 40.0, 4.0) if room(one) is None and room(one + 4)
    )
    for _ in range(14):
        middle = (over + below) / 2
        over, below = (middle, below) if room(middle) is None else (over, middle)
    found = found_in(load(path, [f"cam.advance={below}"]))
    intake = next(one for one in found.valves if one.train == "one.intake")
    assert intake.room is not None
    assert intake.room.budget is not None
    assert 0 < intake.room.budget.expanded < 5.0


NAME = "one.intake"


@pytest.mark.parametrize(("apart", "what"), [(0.1, "gap"), (0.0, "drop"), (-0.1, "drop")])
def test_a_valve_is_judged_on_the_smaller_of_drop_and_gap_and_of_equals_on_the_drop(
    apart: float, what: str
) -> None:
    found = clearance.judged_on(Minimum(1.0, 0.1), Minimum(1.0 - apart, 0.2))
    assert found == (what, Minimum(0.9, 0.2) if what == "gap" else Minimum(1.0, 0.1))


@pytest.mark.parametrize(
    ("value", "verdict"), [(0.0, Verdict.SHORT), (0.1, Verdict.TIGHT), (0.3, Verdict.OK)]
)
def test_a_verdict_is_no_better_than_that_with_the_lifter_pumped_up(value: float, verdict: Verdict) -> None:
    """A clearance that is surely enough, and one that is pumped up with a doubt of 0.2 mm."""
    sure, pumped = (clearance_doubt.Weighed(Budget(one, {}, ()), {}) for one in (0.01, 0.1))
    target = clearance.Target("", 1.0, True)
    piston = clearance.Judged("drop", 3.0, 0.0, target, None, Verdict.UNPROVED)
    one: Any = dict.fromkeys(clearance.ValveClearance._fields)
    one |= {"train": NAME, "piston": piston, "pumped": Minimum(value, 0.0)}
    found = clearance._weighed(
        clearance.ValveClearance(**one), {f"{NAME} drop": sure, f"{NAME} drop pumped": pumped}, {}
    )
    assert found.piston is not None
    assert found.piston.verdict is verdict
