"""The smoothest lobe of a timing card: exact where stated, smoothest of all, and impossible cards in words."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.polynomial import Polynomial
from tallstack.geometry.errors import GeometryError
from tallstack.geometry.events import event_opening
from tallstack.geometry.lobe_card import Pieces, Stated, card_lobe

CARDS = [
    (8.0, [(1.0, 246.0), (0.5, 278.0)]),
    (8.4, [(1.27, 240.0)]),
    (9.0, [(0.15, 300.0), (1.27, 248.0), (5.08, 155.0)]),
    (7.6, [(0.1524, 288.0), (0.508, 262.0), (1.27, 230.0)]),
]


def rows(stated: list[tuple[float, float]]) -> list[Stated]:
    return [Stated(lift, np.radians(degrees)) for lift, degrees in stated]


@pytest.mark.parametrize(("peak", "stated"), CARDS)
def test_a_card_is_met_exactly(peak: float, stated: list[tuple[float, float]]) -> None:
    lobe = card_lobe(peak, rows(stated))
    found = lobe.crossings(np.array([lift for lift, _ in stated]))
    np.testing.assert_allclose(np.degrees(2 * found.duration), [degrees for _, degrees in stated], atol=1e-7)
    angle, top = lobe.peak()
    assert angle == pytest.approx(0.0, abs=1e-9)
    assert top == pytest.approx(peak, abs=1e-10)
    cam = np.linspace(-np.pi, np.pi, 20_001)
    lift = lobe.lift(cam)
    assert lift.min() >= -1e-9
    assert (np.diff(lift[:10_001]) >= -1e-9).all()
    assert (np.diff(lift[10_000:]) <= 1e-9).all()
    assert np.abs(np.diff(lobe.acceleration(cam))).max() < 0.02 * np.abs(lobe.acceleration(cam)).max()
    assert lobe.lift(np.asarray(np.pi)) == 0.0


@pytest.mark.parametrize(("peak", "stated"), CARDS)
def test_no_other_lobe_through_the_card_bends_less(peak: float, stated: list[tuple[float, float]]) -> None:
    curve = card_lobe(peak, rows(stated)).curve
    assert isinstance(curve, Pieces)
    # A change that keeps the card: zero at every knot, flat at the nose, at rest at both ends.
    nose = curve.knots[len(curve.knots) // 2]
    kept = [*curve.knots, nose, *[curve.knots[0]] * 2, *[curve.knots[-1]] * 2]
    angle = np.linspace(curve.knots[0], curve.knots[-1], 40_001)
    angle = (angle[1:] + angle[:-1]) / 2
    own = curve.at(angle, 4)
    for root in (-2.0, -0.3, 0.4, 0.9):
        change = Polynomial.fromroots([*kept, root]).deriv(4)(angle)
        cross = float((change * own).sum())
        size = np.sqrt(float((change**2).sum()) * float((own**2).sum()))
        assert abs(cross) < 1e-5 * size  # at the least, the integral's slope is zero in every direction


@pytest.mark.parametrize(
    ("peak", "stated", "said"),
    [
        (
            8.0,
            [(0.5, 250.0), (1.0, 260.0)],
            "duration 260 degrees at 1 mm is not shorter than 250 degrees at 0.5 mm; "
            "a lobe is narrower the higher it is looked at",
        ),
        (
            8.0,
            [(0.5, 250.0), (0.5, 240.0)],
            "durations 240 degrees and 250 degrees are both stated at 0.5 mm",
        ),
        (
            8.0,
            [(8.5, 100.0)],
            "check lift 8.5 mm is not below the peak lift of 8 mm; one of the two is wrong",
        ),
        (8.0, [(0.0, 300.0)], "check lift 0 mm is not above zero; one of the two is wrong"),
        (
            8.0,
            [(1.0, -12.0)],
            "at 1 mm the lobe closes 12 degrees before it opens; exchange or correct the two events",
        ),
        (8.0, [(1.0, 730.0)], "duration 730 degrees at 1 mm is longer than the 720 degrees of a whole cycle"),
        (
            8.0,
            [(1.0, 420.0)],
            "duration 420 degrees at 1 mm leaves no heel, at most 360 degrees of crank do; "
            "are these degrees counted twice?",
        ),
        (
            8.0,
            [(1.27, 240.0), (1.0, 241.0)],
            "no smooth lobe lasts 241 degrees at 1 mm, 240 degrees at 1.27 mm and still rises all the way to "
            "its peak; look at these two again",
        ),
        (8.0, [], "a card needs at least one duration beside its peak lift"),
    ],
)
def test_an_impossible_card_names_its_two_numbers(
    peak: float, stated: list[tuple[float, float]], said: str
) -> None:
    with pytest.raises(GeometryError) as refused:
        card_lobe(peak, rows(stated))
    assert str(refused.value) == said


def test_events_of_a_card_follow_the_timing_identities() -> None:
    """Page check: 20/60 and 60/20 give 260 of duration each; advancing 5 gives 25/55 and 65/15."""
    for advance, intake_card, exhaust_card in ((0, (20, 60), (60, 20)), (5, (25, 55), (65, 15))):
        intake = event_opening("intake", *np.radians([20, 60]), np.radians(advance))
        exhaust = event_opening("exhaust", *np.radians([60, 20]), np.radians(advance))
        assert np.degrees(intake) == pytest.approx([-intake_card[0], 180 + intake_card[1]])
        assert np.degrees(exhaust) == pytest.approx([-180 - exhaust_card[0], exhaust_card[1]])
