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
from tallstack.geometry.core.answer import Found, Missing, answers
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.doubt.derivatives import THREE, derivatives
from tallstack.geometry.doubt.result import results
from tallstack.geometry.fits import springs

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
