"""Springs, the speed at which a valve leaves its cam, columns, heat and studs: exact cases and independent scans.

Figures, measured on two cores with CPython 3.11:

- the speed at which a valve leaves its cam against a scan in time: within 0.1 %; limit: 0.1 %
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.checks import fits as fits_checks
from tallstack.geometry.cam.cam import CamLobe
from tallstack.geometry.cam.law import law_lobe
from tallstack.geometry.cam.lobe import Placed
from tallstack.geometry.core import answer
from tallstack.geometry.core.answer import Found, Group, Missing, Value, Values, answers
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.core.targets import TARGETS
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.derivatives import THREE, derivatives
from tallstack.geometry.doubt.result import results
from tallstack.geometry.engine.defaults import HEATED
from tallstack.geometry.engine.materials import MATERIALS, Material
from tallstack.geometry.fits import column, heat, springs, studs
from tallstack.geometry.fits.groups import GROUPS

from ...oracles.random_trains import TRAIN, random_mapping

GEAR: Flat = {
    "cylinders": ("front",),
    "trains": ("front.exhaust",),
    "front.exhaust.lifter.kind": "solid",
    "front.exhaust.lifter.lash": 0.0,
    "front.exhaust.rocker.ratio": 1.6,
    "front.exhaust.spring.installed": 46.0,
    "front.exhaust.spring.rate": 45.0,
    "front.exhaust.spring.free_length": 54.0,
    "front.exhaust.spring.solid_height": 30.0,
    "front.exhaust.masses.valve": 0.110,
    "front.exhaust.masses.springs": 0.090,
    "front.exhaust.masses.rocker": 0.040,
    "front.exhaust.masses.pushrod": 0.070,
    "front.exhaust.masses.lifter": 0.095,
    "front.exhaust.valve.retainer_to_seal": 15.0,
}
NAME = "front.exhaust"
LAW = law_lobe("cycloidal", 8.0, np.radians(280))
LOBE = CamLobe("exhaust", "law", Placed(LAW, "exhaust", np.radians(110), 0.0, 0.0), (0.0, 8.0), False, None)


def known(found: Found) -> dict[str, float]:
    assert not isinstance(found, Missing), found
    return {key: float(figure.value) for key, figure in found.items()}


def test_one_spring() -> None:
    assert known(springs.seat(GEAR, NAME)) == pytest.approx(
        {"spring_rate": 45.0, "spring_height": 46.0, "seat_force": 45.0 * 8.0}
    )
    assert known(springs.at_full_lift(GEAR, NAME, 12.8)) == pytest.approx({"open_force": 45.0 * 20.8})
    assert known(springs.coil_bind(GEAR, NAME, 12.8)) == pytest.approx({"coil_bind": 46.0 - 12.8 - 30.0})
    assert known(springs.retainer(GEAR, NAME, 12.8)) == pytest.approx({"retainer_to_seal": 2.2})


def test_a_force_read_at_one_height_is_the_free_length_said_otherwise() -> None:
    read: Flat = {path: value for path, value in GEAR.items() if not path.endswith("free_length")}
    read = {**read, f"{NAME}.spring.force": 45.0 * 10.0, f"{NAME}.spring.force_at": 44.0}
    assert known(springs.seat(read, NAME)) == pytest.approx(known(springs.seat(GEAR, NAME)))


def test_free_length_and_a_force_at_one_height_are_a_rate() -> None:
    read: Flat = {path: value for path, value in GEAR.items() if not path.endswith(".rate")}
    read = {**read, f"{NAME}.spring.force": 450.0, f"{NAME}.spring.force_at": 44.0}
    found = springs.seat(read, NAME)
    assert not isinstance(found, Missing)
    assert known(found) == pytest.approx(known(springs.seat(GEAR, NAME)))
    assert found["spring_rate"].note == "spring.rate from its free length and the force at one height"
    wound: Flat = {
        **read,
        f"{NAME}.spring.wire": 4.0,
        f"{NAME}.spring.mean_diameter": 30.0,
        f"{NAME}.spring.active_coils": 5.0,
    }
    assert known(springs.seat(wound, NAME))["spring_rate"] == pytest.approx(45.0)  # as read, not as wound


def test_a_shims_coil_bind_is_that_of_the_springs_stood_shorter() -> None:
    wanted: Flat = {**GEAR, "targets.seat_force": 420.0}
    found = known(springs.seat(wanted, NAME, 12.8))
    shorter: Flat = {**GEAR, f"{NAME}.spring.installed": 46.0 - found["shim_for_seat_force"]}
    assert found["coil_bind_with_shim"] == pytest.approx(
        known(springs.coil_bind(shorter, NAME, 12.8))["coil_bind"]
    )
    unknown = springs.seat(wanted, NAME)
    assert not isinstance(unknown, Missing)
    assert "coil_bind_with_shim" not in unknown
    assert unknown["shim_for_seat_force"].note.endswith("what it leaves to coil bind is not known")


EVERY = {key: one for group in GROUPS for key, one in group.figures.items()}


def one_figure(key: str) -> Group[[Flat, str]]:
    """Return a figure alone, which is worth what the mapping says."""

    def value(mapping: Flat, name: str) -> Values:
        return {key: Value(np.asarray(mapping[name]))}

    return answers(answer.TRAIN, "ALONE", **{key: EVERY[key]})(value)


@pytest.mark.parametrize(
    "key", [key for key, one in EVERY.items() if one.below_zero is not None and not one.left_by]
)
@pytest.mark.parametrize("targets", [{}, {one.path: 0.0 for one in TARGETS}])
def test_parts_that_meet_are_short_whatever_the_target(key: str, targets: dict[str, float]) -> None:
    if EVERY[key].most is not None:
        targets = {path: value for path, value in targets.items() if path != EVERY[key].most.path}
    for gap, short in ((-1e-6, True), (1e-6, False)):
        found = results({"gap": gap, **targets}, one_figure(key), "gap", {}, {})
        assert not isinstance(found, Missing)
        if not short and not targets and EVERY[key].least is not None and EVERY[key].least.common:
            continue  # common practice wants more
        assert (found[key].verdict is Verdict.SHORT) is short


def test_a_skirt_may_stand_to_either_side_of_its_spigots_edge() -> None:
    for gap in (-11.0, 11.0):
        found = results({"gap": gap}, one_figure("skirt_hangs"), "gap", {}, {})
        assert not isinstance(found, Missing)
        assert found["skirt_hangs"].verdict is None


def test_check_and_answer_take_one_shear_modulus_where_none_is_entered() -> None:
    assert fits_checks.STEEL_SHEAR == springs.STEEL_SHEAR


def test_a_sunk_valve_stands_its_springs_taller() -> None:
    sunk: Flat = {**GEAR, f"{NAME}.valve.sink": 0.6}
    assert known(springs.seat(sunk, NAME))["seat_force"] == pytest.approx(45.0 * 7.4)
    assert known(springs.coil_bind(sunk, NAME, 12.8))["coil_bind"] == pytest.approx(3.8)


def test_nested_springs_add_their_forces_and_the_tighter_one_binds() -> None:
    nested: Flat = {path: value for path, value in GEAR.items() if ".spring." not in path}
    for index, (installed, rate, free, solid) in enumerate(
        [(46.0, 40.0, 54.0, 30.0), (43.0, 18.0, 49.0, 28.5)]
    ):
        stem = f"{NAME}.spring.{index}."
        nested = {
            **nested,
            f"{stem}installed": installed,
            f"{stem}rate": rate,
            f"{stem}free_length": free,
            f"{stem}solid_height": solid,
        }
    assert known(springs.seat(nested, NAME))["seat_force"] == pytest.approx(40 * 8 + 18 * 6)
    assert known(springs.coil_bind(nested, NAME, 12.0))["coil_bind"] == pytest.approx(43 - 12 - 28.5)


@pytest.mark.parametrize(
    ("lift", "bound", "told"),
    [(12.0, 2, 4.0), (12.0, 1, None), (15.0, 1, 1.0), (12.0, 0, None)],  # 1.524 mm is common practice
)
def test_coil_bind_is_not_known_while_one_of_nested_springs_has_no_solid_height(
    lift: float, bound: int, told: float | None
) -> None:
    nested: Flat = {path: value for path, value in GEAR.items() if ".spring." not in path}
    one = {path.rpartition(".")[2]: value for path, value in GEAR.items() if ".spring." in path}
    for index in range(2):
        nested = {**nested, **{f"{NAME}.spring.{index}.{entry}": value for entry, value in one.items()}}
    lacking = tuple(f"{NAME}.spring.{index}.solid_height" for index in range(bound, 2))
    some = {path: value for path, value in nested.items() if path not in lacking}
    at_lift = answers(answer.TRAIN, "AT A LIFT", **springs.coil_bind.figures)(
        lambda flat, name: springs.coil_bind(flat, name, lift)
    )
    for found in (
        springs.coil_bind(some, NAME, lift),
        results(some, at_lift, NAME, {}, {}),
    ):
        if told is None:
            assert isinstance(found, Missing)
            assert found.entries == lacking
        else:
            assert known(found if isinstance(found, Missing) else {**found}) == {  # type: ignore[arg-type]
                "coil_bind": pytest.approx(told)
            }
    assert "coil_bind" not in known(springs.at_full_lift(some, NAME, lift))
    shim = springs.seat({**some, "targets.seat_force": 800.0}, NAME, lift)
    assert not isinstance(shim, Missing)
    assert ("coil_bind_with_shim" in shim) == (bound == 2)


def test_the_shim_that_is_offered_gives_the_force() -> None:
    wanted: Flat = {**GEAR, "targets.seat_force": 420.0}
    shim = known(springs.seat(wanted, NAME))["shim_for_seat_force"]
    shorter: Flat = {**GEAR, f"{NAME}.spring.installed": 46.0 - shim}
    assert known(springs.seat(shorter, NAME))["seat_force"] == pytest.approx(420.0)


def test_the_valve_leaves_the_cam_where_its_inertia_first_outweighs_the_springs() -> None:
    """Against a scan in time: the lobe's lift differenced twice, at one speed after another."""
    found = springs.leaves_the_cam(GEAR, NAME, LOBE)
    assert not isinstance(found, Missing)
    speed = float(found["leaves_the_cam"].value)
    at_lifter = 0.070 + 0.095 + 1.6**2 * (0.110 + 0.090 / 3 + 0.040)

    def least_contact(crank_rpm: float) -> float:
        turning = crank_rpm / 2 * 2 * np.pi / 60  # cam, rad/s
        step = 2e-7
        times = np.linspace(-np.radians(70) / turning, np.radians(70) / turning, 20001)
        lift = [LAW.lift((times + away) * turning) / 1000 for away in (-step, 0.0, step)]
        acceleration = (lift[0] - 2 * lift[1] + lift[2]) / step**2
        force = 45.0 * (54.0 - (46.0 - 1.6 * lift[1] * 1000)) * 1.6
        return float((force + at_lifter * acceleration).min())

    assert least_contact(speed * 0.9999) > 0
    assert least_contact(speed * 1.0001) < 0


@pytest.mark.parametrize("lash", [0.0, 4.5])
def test_a_valve_leaves_the_cam_after_its_lash_is_taken_up_and_near_its_peak(lash: float) -> None:
    """Source: force · ratio over what moves and its deceleration; half of the lobe's 8 mm is its inflection."""
    solid: Flat = {**GEAR, f"{NAME}.lifter.lash": lash, f"{NAME}.lifter.lash_at": "pushrod"}
    found = springs.leaves_the_cam(solid, NAME, LOBE)
    assert not isinstance(found, Missing)
    cam = np.radians(np.linspace(0.0, 70.0, 7001))
    lift, slowing = LAW.lift(cam), -LAW.acceleration(cam)
    at_lifter = 0.070 + 0.095 + 1.6**2 * (0.110 + 0.090 / 3 + 0.040)
    force = 45.0 * (8.0 + 1.6 * (lift - lash)) * 1.6
    lifted = (slowing > 0) & (lift > lash)
    squared = np.where(lifted, force * 1000.0 / (at_lifter * np.where(lifted, slowing, 1.0)), np.inf)
    speed = 2 * np.sqrt(squared.min()) * 60 / (2 * np.pi)
    assert float(found["leaves_the_cam"].value) == pytest.approx(speed, rel=1e-4)
    from_peak = abs(float(found["leaves_the_cam"].at) + np.radians(110)) % (4 * np.pi)
    assert min(from_peak, 4 * np.pi - from_peak) == pytest.approx(
        2 * cam[squared.argmin()], abs=np.radians(0.6)
    )


def test_a_stiffer_spring_holds_it_longer_by_the_root() -> None:
    doubled: Flat = {**GEAR, f"{NAME}.spring.rate": 90.0}
    speeds = [known(springs.leaves_the_cam(one, NAME, LOBE))["leaves_the_cam"] for one in (GEAR, doubled)]
    assert speeds[1] / speeds[0] == pytest.approx(np.sqrt(2), rel=1e-9)


def test_entries_move_the_speed_through_the_mapping() -> None:
    groups = {
        path: {path: 1.0} for path in (f"{NAME}.spring.rate", f"{NAME}.masses.valve", f"{NAME}.rocker.ratio")
    }

    def values(varied: Flat) -> dict[str, np.ndarray]:  # type: ignore[type-arg]
        there = springs.leaves_the_cam(varied, NAME, LOBE)
        assert not isinstance(there, Missing)
        return {"speed": there["leaves_the_cam"].value}

    slopes = derivatives(GEAR, groups, values, THREE)["speed"]
    speed = known(springs.leaves_the_cam(GEAR, NAME, LOBE))["leaves_the_cam"]
    assert slopes[f"{NAME}.spring.rate"] == pytest.approx(speed / 2 / 45.0, rel=1e-4)
    assert slopes[f"{NAME}.masses.valve"] < 0


COLUMN: Flat = {
    **GEAR,
    f"{NAME}.pushrod.diameter": 8.0,
    f"{NAME}.pushrod.wall": 2.0,
    f"{NAME}.pushrod.material": "steel",
    f"{NAME}.measured_pushrod.length": 260.0,
    f"{NAME}.measured_pushrod.as": "centres",
    f"{NAME}.measured_pushrod.lean": np.radians(2),
    f"{NAME}.valve.head_diameter": 38.0,
    "running.pressure_at_opening": 0.5,
}


def test_a_pushrods_loads() -> None:
    found = known(column.column(COLUMN, NAME, 12.8, 1.65, 1.6))
    assert found["load_at_seat"] == pytest.approx(45 * 8 * 1.6)
    assert found["load_at_full_lift"] == pytest.approx(45 * 20.8 * 1.65)
    pressed = np.pi / 4 * 38**2 * 0.5 * 1.6
    assert found["load_at_opening"] == pytest.approx(45 * 8 * 1.6 + pressed)
    worst = max(found["load_at_full_lift"], found["load_at_opening"])
    area = np.pi / 4 * (64 - 16)
    assert found["pushrod_shortens"] == pytest.approx(worst * 260.0 / (207000.0 * area), rel=1e-6)
    assert found["lift_lost"] == pytest.approx(found["pushrod_shortens"] * 1.65)
    assert found["buckling_margin"] == pytest.approx(found["buckling_load"] / worst)


def test_a_ball_in_its_cup_is_a_part_of_its_own() -> None:
    lacks = column.cups(COLUMN, NAME, 12.8, 1.65, 1.6)
    assert isinstance(lacks, Missing)
    assert {one.rpartition(".")[2] for one in lacks.entries} == {
        f"{part}_{end}" for part in ("ball_diameter", "cup_radius") for end in ("low", "high")
    }
    sized: Flat = {
        **COLUMN,
        f"{NAME}.pushrod.ball_diameter_high": 8.0,
        f"{NAME}.pushrod.cup_radius_high": 4.1,
    }
    found = column.cups(sized, NAME, 12.8, 1.65, 1.6)
    worst = known(column.column(COLUMN, NAME, 12.8, 1.65, 1.6))["load_at_full_lift"]
    pressed = column.contact_pressure(
        np.asarray(worst), np.asarray(4.0), np.asarray(4.1), np.asarray(207000.0)
    )
    assert known(found) == pytest.approx({"contact_high": float(pressed)})
    assert not isinstance(found, Missing)
    assert (
        found["contact_high"].note == "the other takes pushrod.ball_diameter_low and pushrod.cup_radius_low"
    )


def test_the_pressure_on_the_valve_is_a_gauges() -> None:
    """At the air's own pressure nothing but the springs opposes the opening."""
    loads = column.column({**COLUMN, "running.pressure_at_opening": 0.0}, NAME, 12.8, 1.65, 1.6)
    assert known(loads)["load_at_opening"] == pytest.approx(known(loads)["load_at_seat"])
    assert not isinstance(loads, Missing)
    assert "above the air's (gauge)" in loads["load_at_opening"].note


def hot_mapping(seed: int, kind: str, hot: float) -> Flat:
    """Return a random gear whose parts are all of one stuff and equally hot, its gaskets without thickness."""
    mapping: dict[str, object] = dict(
        random_mapping(np.random.default_rng([seed, 9]), kind=kind, lash_at="valve")
    )  # type: ignore[arg-type]
    for gasket in ("base_gasket", "head_gasket"):
        mapping["stack.cylinder"] = float(mapping["stack.cylinder"]) + float(
            mapping.get(f"stack.{gasket}", 0.0)
        )  # type: ignore[arg-type]
        mapping[f"stack.{gasket}"] = 0.0
    for cut in ("case_cut", "head_cut"):
        mapping[f"stack.{cut}"] = 0.0
    mapping |= {f"{TRAIN}.lifter.lowered": 0.0, f"{TRAIN}.valve.sink": 0.0, "running.cold": 20.0}
    for part in HEATED:
        mapping |= {f"materials.{part}": "steel", f"running.hot_{part}": hot}
    return mapping  # type: ignore[return-value]


@pytest.mark.parametrize("kind", ["solid", "hydraulic"])
def test_an_engine_of_one_stuff_and_heat_only_grows(kind: str) -> None:
    """Every length grows by one share but the rocker's tip radius and what was wanted: the setting grows alike."""
    checked = 0
    for seed in range(12):
        mapping = hot_mapping(seed, kind, 120.0)
        mapping = {**mapping, f"{TRAIN}.rocker.tip_radius": 1e-9}
        found = heat.hot(mapping, TRAIN)
        if isinstance(found, Missing):
            continue
        name = "lash" if kind == "solid" else "preload"
        wanted = float(mapping[f"{TRAIN}.lifter.{name}"])  # type: ignore[arg-type]
        share = MATERIALS["steel"].expansion * 100.0
        assert float(found[f"{name}_change"].value) == pytest.approx(wanted * share, abs=2e-6)
        checked += 1
    assert checked >= 6


def test_no_heat_changes_nothing() -> None:
    found = heat.hot(hot_mapping(1, "solid", 20.0), TRAIN)
    assert not isinstance(found, Missing)
    assert float(found["lash_change"].value) == pytest.approx(0.0, abs=1e-9)


def test_a_hot_cylinder_takes_lash_and_the_cold_setting_makes_up_for_it() -> None:
    mapping = {
        **hot_mapping(2, "solid", 20.0),
        "materials.cylinder": "aluminium",
        "running.hot_cylinder": 170.0,
        "targets.hot_lash": 0.1,
    }
    found = heat.hot(mapping, TRAIN)
    assert not isinstance(found, Missing)
    change = float(found["lash_change"].value)
    assert change > 0.2  # the head rises away from a pushrod that stays as it is
    cold = float(found["cold_lash_for_it"].value)
    again = heat.hot({**mapping, f"{TRAIN}.lifter.lash": cold}, TRAIN)
    assert not isinstance(again, Missing)
    assert float(again["hot_lash"].value) == pytest.approx(0.1, abs=0.01)


def test_every_material_has_its_figures() -> None:
    for name, one in MATERIALS.items():
        assert isinstance(one, Material)
        assert 5e-6 < one.expansion < 30e-6, name
        assert 40000 < one.modulus < 250000, name


def test_studs_and_gaskets() -> None:
    mapping: Flat = {
        "cylinders": ("front",),
        "trains": (),
        "stack.base_gasket": 0.5,
        "stack.cylinder": 140.0,
        "stack.head_gasket": 1.1,
        "stack.head_gasket_free": 1.3,
        "studs.stands": 225.0,
        "studs.head_seat": 65.0,
        "studs.washer": 2.0,
        "studs.diameter": 10.0,
    }
    found = known(studs.engagement(mapping, "front"))
    assert found == pytest.approx({"thread_in_nut": 16.4, "thread_diameters": 1.64})
    assert known(studs.engagement({**mapping, "studs.nut_height": 12.0}, "front"))["thread_in_nut"] == 12.0
    assert known(studs.engagement({**mapping, "stack.cylinder": 146.0}, "front"))[
        "thread_in_nut"
    ] == pytest.approx(10.4)
    assert known(studs.head_gasket(mapping, "front")) == pytest.approx({"head_gasket_crush": 0.2})


def test_each_gasket_lacks_its_own_free_thickness_and_none_where_there_is_no_gasket() -> None:
    mapping = {"cylinders": ("front",), "stack.base_gasket": 0.5, "stack.head_gasket": 1.0}
    assert studs.base_gasket(mapping, "front") == Missing.of(("stack.base_gasket_free",))
    assert studs.head_gasket(mapping, "front") == Missing.of(("stack.head_gasket_free",))
    assert studs.base_gasket({**mapping, "stack.base_gasket": 0.0}, "front") == {}


ONE = "one.intake"


@pytest.mark.parametrize(("free", "height", "rate"), [(50.0, 43.0, 100.0 / 7.0), (50.0, 10.0, 2.5)])
def test_a_spring_is_as_stiff_as_its_force_over_what_it_was_pressed_by(
    free: float, height: float, rate: float
) -> None:
    """Of `_rate` alone, down to a spring pressed to a fifth."""
    found, _ = springs._rate(Reader({"force": 100.0, "free_length": free, "force_at": height}, ("",)))
    assert float(found) == pytest.approx(rate)


def test_a_valve_leaves_a_harmonic_lobe_at_its_nose_wherever_that_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A lobe of 4·(1 + cos), its nose three quarters of a turn on; a valve that opens by s + s³/1000.

    At the nose nothing moves: ω² is spring force times h' over (M + m·h'²) times 4 mm; h is 8.512 mm and h' 1.192.
    """
    nose = 1.5 * np.pi
    lobe = SimpleNamespace(
        lift=lambda turn: 4.0 * (1.0 + np.cos(turn - nose)),
        velocity=lambda turn: -4.0 * np.sin(turn - nose),
        acceleration=lambda turn: -4.0 * np.cos(turn - nose),
    )
    lift = SimpleNamespace(at_lobe=lambda risen: risen + risen**3 / 1000.0)
    monkeypatch.setattr(springs, "ValveLift", SimpleNamespace)
    monkeypatch.setattr(springs, "valve_lift", lambda *_: lift)
    monkeypatch.setattr(springs, "train_of", lambda *_: None)
    one = springs.Spring(array(5.0), array(46.0), array(106.0), None, "", "")
    monkeypatch.setattr(springs, "springs_of", lambda *_: (one,))
    monkeypatch.setattr(springs, "masses_of", lambda *_: springs.Masses(array(0.2), array(0.3)))
    on_cam: Any = SimpleNamespace(
        at_valve=False,
        name="one",
        source="table",
        peak=(nose, 8.0),
        placed=SimpleNamespace(lobe=lobe, at=1.9, middle=nose - 0.1),
        card=None,
        carried=None,
        gear=None,
    )
    found = springs.leaves_the_cam({}, ONE, on_cam)
    assert not isinstance(found, Missing)
    force, slope = 5.0 * (60.0 + 8.512), 1.192
    cam = np.sqrt(force * slope * 1000.0 / ((0.3 + 0.2 * slope**2) * 4.0))
    assert float(found["leaves_the_cam"].value) == pytest.approx(2 * cam * 60 / (2 * np.pi), rel=1e-7)
    assert found["leaves_the_cam"].at == pytest.approx(1.9 + 2 * 0.1)
