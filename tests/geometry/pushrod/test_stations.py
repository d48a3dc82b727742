"""Setting positions against a scan of the lobes at 0.01 degrees, by law, readings and card.

Figures, measured on two cores with CPython 3.11:

- heel windows of 48 random twins against a scan at 0.01°: within 0.015°; limit: one step of the scan
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.cam.law import LAWS, rise
from tallstack.geometry.cam.readings import Readings
from tallstack.geometry.crank.heels import HeelWindow
from tallstack.geometry.pushrod.stations import CHECK_MM, stations

from ...seeded import few

STEP_DEG = 0.01


def lift_at(law: str, peak: float, degrees: float, from_peak: np.ndarray) -> np.ndarray:
    """Return a lobe's lift at crank degrees from its peak."""
    share = np.clip(1 - np.abs(from_peak) / (degrees / 2), 0.0, 1.0)
    return peak * rise(law, share)


def crank_pin_scan(lean: float, pin: float, forward: bool) -> float:
    """Return when a cylinder is at top centre, in degrees turned, by looking where its pin stands highest.

    The crank pin is a vector that turns; the cylinder's axis is a vector that stands.
    """
    turned = np.arange(0.0, 360.0, STEP_DEG)
    way = 1.0 if forward else -1.0
    angle = np.radians(way * (turned + pin))
    axis = np.radians(lean)
    along = np.sin(angle) * np.sin(axis) + np.cos(angle) * np.cos(axis)
    return float(turned[np.argmax(along)])


def twin(rng: np.random.Generator, shared: bool, forward: bool) -> dict[str, object]:
    leans = rng.uniform(-80.0, 80.0, 2).round(1)
    pin = 0.0 if shared else round(rng.uniform(0.0, 360.0), 1)
    mapping: dict[str, object] = {
        "cylinders": ("one", "two"),
        "trains": (),
        "crank.turns": "forward" if forward else "backward",
        "one.lean": np.radians(leans[0]),
        "two.lean": np.radians(leans[1]),
        "two.pin": np.radians(pin),
        "cam.advance": np.radians(rng.uniform(-6.0, 6.0)),
    }
    for port in ("intake", "exhaust"):
        mapping |= {
            f"lobe.{port}.law.name": LAWS[rng.integers(4)],
            f"lobe.{port}.law.peak": rng.uniform(6.0, 10.0),
            f"lobe.{port}.law.degrees": np.radians(rng.uniform(240.0, 330.0)),
            f"lobe.{port}.centreline": np.radians(rng.uniform(98.0, 114.0)),
        }
    first, second = (crank_pin_scan(leans[i], (0.0, pin)[i], forward) for i in (0, 1))
    gap = (second - first) % 360.0
    mapping["two.fires_at"] = np.radians(gap + 360.0 * rng.integers(2))
    return mapping


@pytest.mark.parametrize("forward", [True, False])
@pytest.mark.parametrize("shared", [True, False])
@pytest.mark.parametrize("seed", few(range(12), 6))
def test_heel_windows_against_a_scan(seed: int, shared: bool, forward: bool) -> None:
    mapping = twin(np.random.default_rng([seed, 50]), shared, forward)
    first, second = stations(mapping, {})  # type: ignore[arg-type]
    assert {first.cylinder, second.cylinder} == {"one", "two"}
    assert first.place.disagrees is None
    assert second.place.disagrees is None
    gap = float(np.degrees(mapping["two.fires_at"]))  # type: ignore[arg-type]
    turns = {one.cylinder: np.degrees(one.to_next) for one in (first, second)}
    assert turns["one"] == pytest.approx(gap if gap > 0 else 720.0, abs=1e-9)
    assert sum(turns.values()) == pytest.approx(720.0)
    # The scan counts from compression top centre; overlap follows a turn later.
    around = np.arange(-360.0, 360.0, STEP_DEG)
    rests = np.ones_like(around, dtype=bool)
    advance = np.degrees(mapping["cam.advance"])  # type: ignore[call-overload]
    for port, way in (("intake", 1), ("exhaust", -1)):
        law, peak = mapping[f"lobe.{port}.law.name"], mapping[f"lobe.{port}.law.peak"]
        degrees, centre = (
            np.degrees(mapping[f"lobe.{port}.{part}"])
            for part in ("law.degrees", "centreline")  # type: ignore[call-overload]
        )
        at = 360.0 + way * centre - advance
        nearest = (around - at + 360.0) % 720.0 - 360.0
        rests &= lift_at(law, peak, degrees, nearest) <= CHECK_MM  # type: ignore[arg-type]
    middle = len(around) // 2
    assert rests[middle]
    begins = around[middle - np.argmin(rests[middle::-1]) + 1]
    ends = around[middle + np.argmin(rests[middle:]) - 1]
    for station in (first, second):
        assert station.heel is not None
        assert np.degrees(station.heel.begins) == pytest.approx(begins, abs=1.5 * STEP_DEG)
        assert np.degrees(station.heel.ends) == pytest.approx(ends, abs=1.5 * STEP_DEG)
        assert station.heel.holds_top_centre
        assert station.flank == (station.heel.ends, station.heel.begins)


def test_a_twin_on_one_pin_fires_as_its_angle_says() -> None:
    mapping = {"cylinders": ("front", "rear"), "front.lean": np.radians(29), "rear.lean": np.radians(-29)}
    for turns, expected in (("forward", 302.0), ("backward", 58.0)):
        _, rear = stations({**mapping, "crank.turns": turns, "rear.fires_at": np.radians(expected)}, {})
        assert np.degrees(rear.place.top_centre) == pytest.approx(expected)
        assert rear.place.disagrees is None


def test_a_firing_angle_that_is_no_top_centre_is_found() -> None:
    mapping = {"cylinders": ("front", "rear"), "front.lean": np.radians(29), "rear.lean": np.radians(-29)}
    _, rear = stations({**mapping, "rear.fires_at": np.radians(311.0)}, {})
    assert rear.place.disagrees == pytest.approx(np.radians(9.0))


def read_twin(law: str, degrees: float, step: float, centre: float) -> tuple[dict[str, object], Readings]:
    """Return a twin of one lobe by law, and readings of the other port's lobe taken from the same law."""
    crank = np.arange(centre - 360.0, centre + 360.0, step)
    lift = lift_at(law, 8.0, degrees, crank - centre)
    mapping: dict[str, object] = {"cylinders": ("one",), "trains": ()}
    for one, at in (("intake", 108.0), ("exhaust", 110.0)):
        mapping |= {
            f"lobe.{one}.law.name": law,
            f"lobe.{one}.law.peak": 8.0,
            f"lobe.{one}.law.degrees": np.radians(degrees),
            f"lobe.{one}.centreline": np.radians(at),
        }
    return mapping, Readings(np.radians(crank / 2), lift + 0.07)


def windows(mapping: dict[str, object], readings: dict[str, Readings]) -> HeelWindow:
    (station,) = stations(mapping, readings)  # type: ignore[arg-type]
    assert station.heel is not None
    return station.heel


@pytest.mark.parametrize("port", ["intake", "exhaust"])
@pytest.mark.parametrize("law", LAWS)
def test_readings_of_a_law_give_its_window(law: str, port: str) -> None:
    mapping, read = read_twin(law, 290.0, 4.0, 0.0)
    exact = windows(mapping, {})
    found = windows(mapping, {port: read})
    assert np.degrees(found) == pytest.approx(np.degrees(exact), abs=1.0)


@pytest.mark.parametrize("port", ["intake", "exhaust"])
def test_readings_from_top_centre_need_no_centreline(port: str) -> None:
    centre = {"intake": 108.0, "exhaust": -110.0}[port]
    mapping, read = read_twin("cycloidal", 280.0, 4.0, centre)
    mapping["cam.advance"] = np.radians(4.0)
    exact = windows(mapping, {})
    mapping[f"lobe.{port}.zero"] = "top centre"
    for turns in (0, 1):  # the same readings counted a cycle later
        later = read._replace(angle=read.angle + turns * 2 * np.pi)
        found = windows(
            {key: value for key, value in mapping.items() if key != f"lobe.{port}.centreline"}, {port: later}
        )
        assert np.degrees(found) == pytest.approx(np.degrees(exact), abs=1.0)


def test_readings_at_the_valve_count_at_the_lifter() -> None:
    mapping, read = read_twin("3-4-5", 290.0, 4.0, 0.0)
    exact = windows(mapping, {})
    mapping |= {"lobe.intake.measured_at": "valve", "one.intake.rocker.ratio": 1.6}
    at_valve = {"intake": read._replace(lift=read.lift * 1.6)}
    found = windows({**mapping, "lobe.intake.lash_read": 0.0}, at_valve)
    assert np.degrees(found) == pytest.approx(np.degrees(exact), abs=1.0)
    assert windows({**mapping, "one.intake.lifter.kind": "hydraulic"}, at_valve) == pytest.approx(found)
    unknown = stations(
        {**mapping, "one.intake.lifter.kind": "solid", "one.intake.lifter.lash": 0.2}, at_valve
    )
    assert unknown[0].heel is None
    assert unknown[0].lacks == ("lobe.intake.lash_read",)
    with_lash = stations({**mapping, "lobe.intake.lash_read": 0.16}, at_valve)
    assert with_lash[0].check == pytest.approx(CHECK_MM + 0.16 / 1.6)


def test_a_card_is_taken_at_its_word_at_its_lowest_lift() -> None:
    mapping, _ = read_twin("3-4-5", 290.0, 4.0, 0.0)
    mapping = {key: value for key, value in mapping.items() if not key.startswith("lobe.intake.law")}
    mapping |= {
        "lobe.intake.card.peak": 8.0,
        "lobe.intake.card.duration.at": 1.0,
        "lobe.intake.card.seat.at": 0.2,
    }
    mapping |= {
        "lobe.intake.card.duration.degrees": np.radians(246),
        "lobe.intake.card.seat.degrees": np.radians(278),
    }
    (station,) = stations(mapping, {})  # type: ignore[arg-type]
    assert station.check == 0.2
    assert station.heel is not None
    assert np.degrees(station.heel.begins) == pytest.approx(108 + 278 / 2 - 360)
    at_valve: Any = {**mapping, "lobe.intake.measured_at": "valve", "lobe.intake.card.ratio": 1.6}
    (lashed,) = stations({**at_valve, "lobe.intake.card.lash": 0.08}, {})
    assert lashed.check == pytest.approx((0.2 + 0.08) / 1.6)
    (hydraulic,) = stations({**at_valve, "one.intake.lifter.kind": "hydraulic"}, {})
    assert hydraulic.check == pytest.approx(0.2 / 1.6)
    (unsaid,) = stations({**at_valve, "one.intake.lifter.kind": "solid"}, {})
    assert unsaid.heel is None
    assert unsaid.lacks == ("lobe.intake.card.lash",)


def test_readings_that_are_no_lobe_leave_the_window_open() -> None:
    mapping, read = read_twin("3-4-5", 290.0, 4.0, 0.0)
    (station,) = stations(mapping, {"intake": read._replace(lift=np.ones_like(read.lift))})  # type: ignore[arg-type]
    assert station.heel is None
    assert station.lacks == ("lobe.intake.table",)


def test_the_next_cylinder_to_fire_is_named() -> None:
    mapping: Any = {
        "cylinders": ("one", "two"),
        "trains": (),
        "crank.turns": "forward",
        "one.lean": 0.0,
        "two.lean": 0.0,
        "two.fires_at": 2 * np.pi,
    }
    found = stations(mapping, {})
    assert [(one.cylinder, one.next_cylinder) for one in found] == [("one", "two"), ("two", "one")]
    assert [one.to_next for one in found] == pytest.approx([2 * np.pi, 2 * np.pi])
