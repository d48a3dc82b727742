"""Setting positions against a scan of the lobes at 0.01 degrees, and the laws against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry import events
from tallstack.geometry.stations import CHECK_MM, stations

LAWS = ("cycloidal", "3-4-5", "4-5-6-7", "modified-sine")
STEP_DEG = 0.01


def lift_at(law: str, peak: float, degrees: float, from_peak: np.ndarray) -> np.ndarray:
    """Return a lobe's lift at crank degrees from its peak."""
    share = np.clip(1 - np.abs(from_peak) / (degrees / 2), 0.0, 1.0)
    return peak * events.rise(law, share)


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
@pytest.mark.parametrize("seed", range(12))
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


@pytest.mark.parametrize("law", LAWS)
def test_laws_rise_from_nothing_to_all_and_are_symmetric(law: str) -> None:
    share = np.linspace(0.0, 1.0, 2001)
    lift = events.rise(law, share)
    assert lift[0] == pytest.approx(0.0, abs=1e-15)
    assert lift[-1] == pytest.approx(1.0, abs=1e-14)
    assert (np.diff(lift) > 0).all()
    np.testing.assert_allclose(lift + lift[::-1], 1.0, atol=1e-14)


@pytest.mark.parametrize(
    ("law", "velocity", "acceleration"),
    [  # closed forms of the peak factors of a rise of 1 in an angle of 1
        ("cycloidal", 2.0, 2 * np.pi),
        ("3-4-5", 15 / 8, 10 / np.sqrt(3)),
        ("4-5-6-7", 35 / 16, 84 * np.sqrt(5) / 25),
        ("modified-sine", 4 * np.pi / (4 + np.pi), 4 * np.pi**2 / (4 + np.pi)),
    ],
)
def test_peak_factors_of_the_laws(law: str, velocity: float, acceleration: float) -> None:
    share = np.linspace(0.0, 1.0, 200001)
    slope = np.gradient(events.rise(law, share), share, edge_order=2)
    assert slope.max() == pytest.approx(velocity, rel=1e-7)
    assert np.gradient(slope, share)[2:-2].max() == pytest.approx(acceleration, rel=2e-4)


def sampled(law: str, peak: float, degrees: float, step: float, centre: float = 0.0) -> events.Readings:
    angle = np.arange(centre - 180.0, centre + 180.0 + step / 2, step)
    return events.Readings(np.radians(angle), lift_at(law, peak, degrees, angle - centre) + 0.07)


def test_readings_of_a_law_give_its_window() -> None:
    degrees, peak = 290.0, 8.0
    exact = events.law_flanks("4-5-6-7", peak, np.radians(degrees), 0.5)
    assert exact is not None
    found = events.crossings(sampled("4-5-6-7", peak, degrees, 2.0), 0.5)
    assert found is not None
    assert np.degrees(found) == pytest.approx([-np.degrees(exact.before), np.degrees(exact.after)], abs=0.1)


def test_readings_from_top_centre_need_no_centreline() -> None:
    read = sampled("cycloidal", 8.0, 280.0, 1.0, centre=108.0)
    opening = events.read_opening(read, 0.5, None, np.radians(4.0))
    flanks = events.law_flanks("cycloidal", 8.0, np.radians(280.0), 0.5)
    assert opening is not None
    assert flanks is not None
    assert np.degrees(opening.opens) == pytest.approx(108.0 - 4.0 - np.degrees(flanks.before), abs=0.1)


def test_a_card_is_taken_at_its_word_and_not_beyond() -> None:
    known = [(0.5, events.Flanks(2.4, 2.5)), (1.0, events.Flanks(2.1, 2.3))]
    assert events.card_flanks(known, 0.5) == events.Flanks(2.4, 2.5)
    assert events.card_flanks(known, 0.75) == pytest.approx((2.25, 2.4))
    assert events.card_flanks(known, 0.4) is None
    assert events.card_flanks(known, 1.1) is None


def test_events_of_a_card_follow_the_timing_identities() -> None:
    """Page check: 20/60 and 60/20 give 260 of duration each; advancing 5 gives 25/55 and 65/15."""
    for advance, intake_card, exhaust_card in ((0, (20, 60), (60, 20)), (5, (25, 55), (65, 15))):
        intake = events.event_opening("intake", *np.radians([20, 60]), np.radians(advance))
        exhaust = events.event_opening("exhaust", *np.radians([60, 20]), np.radians(advance))
        assert np.degrees(intake) == pytest.approx([-intake_card[0], 180 + intake_card[1]])
        assert np.degrees(exhaust) == pytest.approx([-180 - exhaust_card[0], exhaust_card[1]])
