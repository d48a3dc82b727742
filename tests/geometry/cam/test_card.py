"""Cards: what is stated once, what a number leaves odd, and which are refused."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.cam import card as lobe_card
from tallstack.geometry.cam import prior as lobe_prior
from tallstack.geometry.cam import shape as lobe_shape
from tallstack.geometry.cam.card import AtAngle, Card, CardError, Stated
from tallstack.geometry.cam.shape import card_shape

from ...geometry.cam.test_shape import card

INCH = 25.4


DEG = np.pi / 180


Rows = list[tuple[float, float]]


FOUR = {0.006: 319.0, 0.050: 265.2, 0.100: 234.4, 0.200: 187.3}


@pytest.mark.parametrize(
    ("lift", "degrees", "drop", "expected"),
    [(None, 0, 1.7, None), (0.100, 244.4, 9.8, 237.6), (0.200, 197.3, 14.7, 182.5)],
)
def test_by_how_much_a_card_is_better_without_its_odd_number(
    lift: float | None, degrees: float, drop: float, expected: float | None
) -> None:
    rows = {**FOUR, **({} if lift is None else {lift: degrees})}
    asked, _ = lobe_card.used(card(0.388, [(length, at) for at, length in rows.items()]))
    found = lobe_shape.odd(asked, lobe_prior.most_probable(asked).misfit)
    assert found.drop == pytest.approx(drop, abs=0.06)
    if expected is not None:
        left = asked._replace(durations=tuple(one for one in asked.durations if one != found.number))
        assert isinstance(found.number, Stated)
        assert card_shape(left).expected(found.number.lift)[0] / DEG == pytest.approx(expected, abs=0.06)


def test_what_is_used_of_a_card() -> None:
    asked = card(
        0.388,
        [(265, 0.050), (264.5, 0.0501), (300, 0.010), (318, 0.006)],
        lifts=((0.0005, 85, 0.001, 0), (0.385, 5, 0.001, 0), (0.1455, 53, 0.001, 0)),
    )
    counted, left = lobe_card.used(asked)
    assert [one.lift / INCH for one in counted.durations] == pytest.approx([0.050, 0.010])
    assert [one.lift / INCH for one in counted.lifts] == pytest.approx([0.1455])
    assert [one.lift / INCH for one, _ in left.alike] == pytest.approx([0.0501])
    assert [one.lift / INCH for one in left.on_ramp] == pytest.approx([0.006])
    assert len(left.in_foot) == len(left.on_nose) == 1
    assert np.isfinite(card_shape(asked).misfit)


@pytest.mark.parametrize(
    ("peak", "stated", "lifts", "said"),
    [
        (8.0, [(0.5, 250.0), (1.0, 260.0)], (), "duration 260 degrees at 1 mm is not shorter than 250 degrees at 0.5 mm; a lobe is narrower the higher it is looked at"),
        (8.0, [(0.5, 250.0), (0.5, 240.0)], (), "durations 240 degrees and 250 degrees are both stated at 0.5 mm"),
        (8.0, [(8.5, 100.0)], (), "check lift 8.5 mm is not below the peak lift of 8 mm; one of the two is wrong"),
        (8.0, [(0.0, 300.0)], (), "check lift 0 mm is not above zero; one of the two is wrong"),
        (8.0, [(1.0, -12.0)], (), "at 1 mm the lobe closes 12 degrees before it opens; exchange or correct the two events"),
        (8.0, [(1.0, 730.0)], (), "duration 730 degrees at 1 mm is longer than the 720 degrees of a whole cycle"),
        (8.0, [(1.0, 420.0)], (), "duration 420 degrees at 1 mm leaves no heel, at most 360 degrees of crank do; are these degrees counted twice?"),
        (1.28, [(1.27, 236.0)], (), "no lobe lasts 236 degrees at 1.27 mm, rises to 1.28 mm and has a heel; look at both again"),
        (9.855, [(1.27, 265.0)], ((1.0, -53.0),), "a lift of 1 mm 106 degrees before the centreline cannot go with duration 265 degrees at 1.27 mm: it is above 1.27 mm there; look at both again"),
        (9.855, [(1.27, 265.0)], ((2.0, 75.0),), "a lift of 2 mm 150 degrees after the centreline cannot go with duration 265 degrees at 1.27 mm: it is below 1.27 mm there; look at both again"),
        (8.0, [], (), "a card needs at least one duration beside its peak lift"),
    ],
)  # fmt: skip
def test_an_impossible_card_names_its_numbers(
    peak: float, stated: Rows, lifts: tuple[tuple[float, float], ...], said: str
) -> None:
    rows = tuple(Stated(lift, degrees * DEG) for lift, degrees in stated)
    with pytest.raises(CardError) as refused:
        card_shape(Card(peak, rows, tuple(AtAngle(lift, at * DEG, 0.0254) for lift, at in lifts)))
    assert str(refused.value) == said


def test_one_lift_stated_twice_is_told_however_it_was_written() -> None:
    rows = [Stated(float(text), duration) for text, duration in (("1.27", 3.9), ("1.270", 3.8))]
    said = lobe_card.impossible(Card(8.0, tuple(rows)))
    assert "both stated at 1.27 mm" in str(said)
