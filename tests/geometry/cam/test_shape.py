"""The lobe of a timing card: its published test numbers, a second method, bounds, and wild cards."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from tallstack.geometry.cam import prior as lobe_prior
from tallstack.geometry.cam import shape as lobe_shape
from tallstack.geometry.cam.card import AtAngle, Card, CardError, Stated
from tallstack.geometry.cam.lobe import Lobe
from tallstack.geometry.cam.shape import CardShape, bounded, card_shape

INCH = 25.4
DEG = np.pi / 180
Rows = list[tuple[float, float]]


def card(
    peak: float,
    rows: Rows,
    halved: float | None = 0.050,
    lifts: tuple[tuple[float, float, float, float], ...] = (),
    hydraulic: bool = False,
) -> Card:
    """Return a card; rows : duration and lift; lifts : lift, degrees of cam before the centreline, their doubts."""
    return Card(
        peak * INCH,
        tuple(Stated(lift * INCH, degrees * DEG) for degrees, lift in rows),
        tuple(AtAngle(y * INCH, -at * DEG, off * INCH, turn * DEG) for y, at, off, turn in lifts),
        None if halved is None else halved * INCH,
        hydraulic,
    )


class Told(NamedTuple):
    card: Card
    misfit: float
    scale: float
    heel: float | None
    at: dict[float, tuple[float, ...]]  # lift, u, lower, upper


A = card(0.388, [(250, 0.053), (290, 0.006)], 0.053)
B_ROWS = [(265.1754, 0.050), (318.9606, 0.006)]
NUMBERS = {
    "A": Told(
        A,
        2.2242,
        1.0320,
        81.0217,
        {
            30: (0.305662, 0.015348, 0.271736, 0.333919),
            40: (0.239225, 0.018443, 0.200241, 0.274174),
            48: (0.173876, 0.017379, 0.138657, 0.208402),
            53: (0.131080, 0.014178, 0.102603, 0.159798),
            60: (0.072457, 0.004687, 0.062909, 0.082230),
            62.5: (0.053000, 0, 0.052700, 0.053300),
            66: (0.029651, 0.004323, 0.021455, 0.039280),
            72.5: (0.006000, 0.001314, 0.003457, 0.009382),
            74: (0.003660, 0.001351, 0.001263, 0.008348),
            85: (0, 0, 0, 0.006655),
            100: (0, 0, 0, 0.004044),
        },
    ),
    "B": Told(
        card(0.388, B_ROWS),
        0.6293,
        0.8541,
        90.0018,
        {
            40: (0.249500, 0.017986, 0.211489, 0.283465),
            53: (0.148363, 0.015434, 0.117442, 0.179676),
            60: (0.093969, 0.009334, 0.075379, 0.113178),
            74: (0.016775, 0.003042, 0.011211, 0.024142),
        },
    ),
    "C": Told(
        card(0.388, [*B_ROWS, (234.4372, 0.100)]),
        0.8136,
        0.7267,
        None,
        {
            40: (0.243409, 0.011850, 0.218752, 0.266586),
            53: (0.142087, 0.006584, 0.128724, 0.155643),
            60: (0.090106, 0.002782, 0.084291, 0.096017),
            74: (0.017763, 0.002115, 0.013574, 0.022659),
        },
    ),
    "D": Told(
        card(0.388, B_ROWS, lifts=((0.1455, 53, 0, 0.25),)),
        0.6588,
        0.7073,
        None,
        {
            40: (0.246528, 0.007656, 0.230595, 0.261770),
            53: (0.145539, 0.001628, 0.141986, 0.149100),
            60: (0.092388, 0.002849, 0.086425, 0.098419),
            74: (0.017099, 0.002291, 0.012670, 0.022488),
        },
    ),
    "E": Told(
        card(0.320, [(222, 0.050), (266, 0.006)]),
        1.1022,
        0.8717,
        75.9407,
        {
            40: (0.166916, 0.013123, 0.140097, 0.192862),
            48: (0.105540, 0.009051, 0.087215, 0.124000),
            53: (0.067821, 0.003645, 0.060304, 0.075467),
            60: (0.024054, 0.003743, 0.017121, 0.032704),
            70: (0.002119, 0.001386, 0, 0.008867),
        },
    ),
    "E by the nose": Told(
        card(0.320, [(222, 0.050), (266, 0.006)], None),
        1.1022,
        0.8717,
        75.9407,
        {
            40: (0.166916, 0.019920, 0.126290, 0.205472),
            48: (0.105540, 0.019479, 0.066806, 0.145003),
            53: (0.067821, 0.017843, 0.034820, 0.104675),
            60: (0.024054, 0.011513, 0.008009, 0.054717),
        },
    ),
    "F": Told(
        card(0.250, [(200, 0.050)]),
        0,
        0.8333,
        78.8212,
        {
            40: (0.109621, 0.008404, 0.092689, 0.126873),
            48: (0.061343, 0.002230, 0.056616, 0.066131),
            60: (0.013544, 0.005173, 0.005910, 0.033246),
            75: (0.000628, 0.003190, 0, 0.024701),
        },
    ),
    "H": Told(
        card(0.450, [(262, 0.050), (292, 0.020)]),
        0.0478,
        0.7211,
        None,
        {
            40: (0.274594, 0.020041, 0.233195, 0.313049),
            53: (0.153083, 0.015058, 0.122924, 0.183759),
            74: (0.017686, 0.001266, 0.015013, 0.020789),
        },
    ),
    "I": Told(
        card(0.290, [(185, 0.050), (290, 0.006)]),
        2.5142,
        1.3955,
        89.8420,
        {
            40: (0.091472, 0.009128, 0.073203, 0.110296),
            44: (0.063835, 0.003664, 0.056408, 0.071615),
            48: (0.040977, 0.002254, 0.036448, 0.046065),
            53: (0.024402, 0.003974, 0.017793, 0.035167),
            60: (0.014046, 0.002564, 0.009589, 0.021189),
            70: (0.007182, 0.001074, 0.004914, 0.009890),
        },
    ),
    "J": Told(
        card(0.290, [(185, 0.050), (214, 0.020)]),
        0.2507,
        0.7501,
        73.6027,
        {
            40: (0.093226, 0.005433, 0.082183, 0.104501),
            53: (0.021292, 0.001189, 0.018751, 0.024121),
            60: (0.008853, 0.002384, 0.004549, 0.017226),
            70: (0.000834, 0.003459, 0, 0.019588),
        },
    ),
    "K": Told(
        card(0.290, [(185, 0.050)], lifts=((0.030, 53, 0, 0.25),)),
        5.0345,
        1.4335,
        81.7282,
        {
            40: (0.081194, 0.004641, 0.071998, 0.091140),
            53: (0.029835, 0.000666, 0.028234, 0.031501),
            60: (0.017781, 0.002339, 0.013246, 0.024465),
            70: (0.007303, 0.005915, 0, 0.027401),
        },
    ),
    "L": Told(
        card(0.290, [(185, 0.050)], lifts=((0.030, 53, 0.002, 0.25),)),
        4.2135,
        1.3162,
        None,
        {
            40: (0.083595, 0.005694, 0.072383, 0.095717),
            53: (0.028161, 0.002312, 0.023610, 0.033542),
            -53: (0.026954, 0.003461, 0.020583, 0.036692),
        },
    ),
}


@pytest.mark.parametrize("name", NUMBERS)
def test_the_numbers_of_the_method(name: str) -> None:
    told = NUMBERS[name]
    shape = card_shape(told.card)
    assert shape.misfit == pytest.approx(told.misfit, abs=6e-5)
    assert shape.scale == pytest.approx(told.scale, abs=6e-5)
    if told.heel is not None:
        assert shape.opening.heel / DEG == pytest.approx(told.heel, abs=6e-5)
    angle = np.array([-one * DEG for one in told.at])
    lift, off, lower, upper = np.array(list(told.at.values())).T
    np.testing.assert_allclose(shape.at(angle, 0) / INCH, lift, atol=2e-6)
    np.testing.assert_allclose(shape.lift_doubt(angle) / INCH, off, atol=1e-5)
    least, most = shape.bounds(angle)
    np.testing.assert_allclose(least / INCH, lower, atol=1e-5)
    np.testing.assert_allclose(most / INCH, upper, atol=1e-5)


def test_the_terms_of_the_method() -> None:
    shape = card_shape(A)
    told = [
        4.362050,
        -0.407559,
        0.110020,
        0.049702,
        -0.010856,
        -0.204980,
        -0.148182,
        -0.126440,
        -0.042682,
        0.066118,
    ]
    np.testing.assert_allclose(shape.opening.terms - np.eye(10)[0] * np.log(DEG), told, atol=1e-6)
    halves = {
        "D": [
            0.001382,
            0.001283,
            -0.002517,
            -0.001529,
            0.000681,
            0.002566,
            -0.000250,
            -0.002478,
            -0.000510,
            0.000667,
        ],
        "K": [
            0.010230,
            0.016681,
            -0.011775,
            -0.016884,
            -0.003212,
            0.018207,
            0.029435,
            -0.001428,
            -0.014169,
            -0.006939,
        ],
    }
    for name, half in halves.items():
        one = card_shape(NUMBERS[name].card)
        np.testing.assert_allclose((one.opening.terms - one.closing.terms) / 2, half, atol=1e-6)
    np.testing.assert_allclose(
        shape.angle_doubt(-DEG * np.array([53, 66, 85])) / DEG, [1.65878, 0.75571, 3.91195], atol=1e-5
    )


def moved(name: str, step: float) -> Card:
    """Return card A with one of its numbers a step off, in or degrees."""
    change = {"peak": (step, 0, 0, 0, 0), "D1": (0, step, 0, 0, 0), "D2": (0, 0, step, 0, 0)}
    change |= {"c1": (0, 0, 0, step, 0), "c2": (0, 0, 0, 0, step)}
    peak, d1, d2, c1, c2 = change[name]
    return card(0.388 + peak, [(250 + d1, 0.053 + c1), (290 + d2, 0.006 + c2)], 0.053)


@pytest.mark.parametrize(
    ("name", "step", "told"),
    [
        ("peak", 2e-4, 0.15662),
        ("D1", 0.1, 0.002323),
        ("D2", 0.1, -0.000440),
        ("c1", 5e-4, 1.3847),
        ("c2", 5e-4, -0.5135),
    ],
)
def test_what_the_cards_numbers_do(name: str, step: float, told: float) -> None:
    up, down = (float(card_shape(moved(name, one)).at(np.array(-53 * DEG), 0)) for one in (step, -step))
    assert (up - down) / INCH / (2 * step) == pytest.approx(told, rel=2e-3)


SEATS = {  # lift, misfit, and what the lift may be off by
    270: (0.14534, 10.8, None), 275: (0.14033, 7.27, None), 279: (0.13721, 5.34, None), 280: (0.13652, 4.95, None),
    282: (0.13524, 4.24, None), 284: (0.13406, 3.62, None), 285: (0.13351, 3.35, None), 290: (0.13108, 2.22, None),
    300: (0.12738, 0.87, 0.01285), 320: (0.12268, 0.01, 0.01312), 340: (0.11984, 0.24, 0.01340),
    360: (0.11794, 0.91, 0.01413),
}  # fmt: skip


@pytest.mark.parametrize("seat", SEATS)
def test_another_seat_duration(seat: float) -> None:
    lift, misfit, off = SEATS[seat]
    shape, angle = card_shape(card(0.388, [(250, 0.053), (seat, 0.006)], 0.053)), np.array(-53 * DEG)
    assert float(shape.at(angle, 0)) / INCH == pytest.approx(lift, abs=6e-6)
    assert shape.misfit == pytest.approx(misfit, abs=6e-2 if misfit > 10 else 6e-3)
    if off is not None:
        assert float(shape.lift_doubt(angle)) / INCH == pytest.approx(off, abs=6e-6)


FOUR = {0.006: 319.0, 0.050: 265.2, 0.100: 234.4, 0.200: 187.3}


@pytest.mark.parametrize(
    ("seat", "refused"), [(252.5, True), (255, True), (257, True), (260, False), (279, None)]
)
def test_which_cards_are_refused_and_which_are_doubted(seat: float, refused: bool | None) -> None:
    asked = card(0.388, [(250, 0.053), (seat, 0.006)], 0.053)
    if refused:
        with pytest.raises(CardError, match="cannot go with"):
            card_shape(asked)
    else:
        assert (lobe_shape.look_again(card_shape(asked)) is None) is (refused is None)


def test_what_a_card_expects_of_other_durations() -> None:
    shape = card_shape(card(0.388, [(250, 0.053)], 0.053))
    told = {
        0.006: (323.3, 272.0, 384.3),
        0.020: (284.0, 263.5, 306.1),
        0.100: (223.3, 213.4, 233.6),
        0.200: (173.7, 157.9, 191.1),
    }
    for lift, expected in told.items():
        assert np.array(shape.expected(lift * INCH)) / DEG == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize(
    ("lift", "degrees", "misfit", "range_"),
    [
        (0.100, 244.4, 10.5, (233.6, 241.6)),
        (0.100, 254.4, np.inf, ()),
        (0.100, 214.4, np.inf, ()),
        (0.200, 197.3, 15.5, (176.0, 189.4)),
        (0.200, 178.3, 2.0, None),
        (0.200, 187.3, 2.3, None),
    ],
)
def test_the_odd_number_is_named(
    lift: float, degrees: float, misfit: float, range_: tuple[float, ...] | None
) -> None:
    asked = card(0.388, [(length, at) for at, length in {**FOUR, lift: degrees}.items()])
    if np.isinf(misfit):
        with pytest.raises(CardError) as refused:
            card_shape(asked)
        assert refused.value.numbers == (Stated(lift * INCH, degrees * DEG),)
        return
    shape = card_shape(asked)
    assert shape.misfit == pytest.approx(misfit, abs=0.06)
    odd = lobe_shape.look_again(shape)
    assert (odd is None) is (range_ is None)
    if odd is not None:
        assert odd.numbers == (Stated(lift * INCH, degrees * DEG),)
        assert np.array([odd.least, odd.most]) / DEG == pytest.approx(range_, abs=0.06)
        low, high = (round(one) for one in (odd.least / DEG, odd.most / DEG))
        assert lobe_shape.odd_words(odd) == (
            f"duration {degrees:g} degrees at {lift * INCH:g} mm does not go with the card's other numbers: lobes with "
            f"those last {low} to {high} degrees there; look at it again"
        )


def test_a_wrong_peak_is_told_only_where_it_is_too_small() -> None:
    rows = [(length, at) for at, length in FOUR.items()]
    odd = lobe_shape.look_again(card_shape(card(0.288, rows)))
    assert odd is not None
    assert odd.drop == pytest.approx(18.4, abs=0.06)
    assert odd.number == Stated(0.200 * INCH, 187.3 * DEG)
    stated_at_the_valve = card_shape(card(0.62, rows))
    assert lobe_shape.look_again(stated_at_the_valve) is None


# A second method: the integrals by adaptive sums, the lift by a root, the bounds by their definition.


def pace(terms: np.ndarray, label: float) -> float:
    return float(np.exp(np.polynomial.legendre.legval(2 * label - 1, terms)))


def angle_of(terms: np.ndarray, label: float) -> float:
    return quad(lambda w: pace(terms, w), 0, label, epsabs=1e-12, epsrel=1e-11)[0]


def by_hand(shape: CardShape, angle: float) -> tuple[float, float, float]:
    """Return lift and bounds before the centreline by sums and roots of their own [mm]."""
    terms, peak = shape.opening.terms, shape.card.peak
    from_nose = angle + shape.nose
    end = angle_of(terms, 1.0)

    def lift(at: float) -> float:
        if at <= 0 or at >= end:
            return peak if at <= 0 else 0.0
        label = brentq(lambda w: angle_of(terms, w) - at, 0, 1, xtol=1e-12)
        return float(peak * (1 - label**2) ** 3)

    def growth(side: np.ndarray, label: float) -> np.ndarray:
        ways = np.eye(10)
        return np.array(
            [
                quad(
                    lambda w, k=k: pace(side, w) * np.polynomial.legendre.legval(2 * w - 1, ways[k]), 0, label
                )[0]
                for k in range(10)
            ]
        )

    def label_of(height: float) -> float:
        return float(np.sqrt(1 - np.cbrt(height / peak)))

    own = growth(terms, label_of(lift(from_nose)))
    assert shape.card.halved is not None
    sides = (terms, shape.closing.terms)
    opened, closed = (growth(side, label_of(shape.card.halved)) for side in sides)
    moves = np.concatenate([own - (opened - closed) / 2, own - (opened + closed) / 2])
    off = 2 * float(np.sqrt(shape.scale * moves @ shape.spread @ moves))
    low = min(one.lift for one in (*shape.card.durations, *shape.card.lifts))
    begins = angle_of(terms, label_of(low))
    here, foot = lift(from_nose), 0.0
    if from_nose > begins:
        fade = 1 - min((from_nose - begins) / (60 * DEG), 1.0) ** 2
        foot = min(0.007 * INCH, low) * (1 - here / low) ** 2 * fade**2
    upper = min(max(lift(from_nose - off), here) + 0.0003 * INCH + foot, peak)
    return here, max(min(lift(from_nose + off), here) - 0.0003 * INCH, 0.0), upper


@pytest.mark.parametrize("name", ["A", "K"])
def test_lift_and_bounds_by_a_second_method(name: str) -> None:
    shape = card_shape(NUMBERS[name].card)
    for angle in (35.0, 53.0, 71.0, 84.0):
        found = shape.at(np.array(-angle * DEG), 0), *shape.bounds(np.array(-angle * DEG))
        assert np.array(found) == pytest.approx(by_hand(shape, angle * DEG), abs=2e-5)


def test_the_answer_is_the_most_probable_that_meets_the_card() -> None:
    """No other terms with the same durations are nearer to the prior."""
    shape = card_shape(NUMBERS["C"].card)
    rng = np.random.default_rng(5)
    weights = np.linalg.inv(lobe_prior.PRIOR[:10, :10])
    ends = np.sqrt(1 - np.cbrt(np.array([one.lift for one in shape.card.durations]) / shape.card.peak))
    ways = np.array(
        [
            [
                quad(
                    lambda w, k=k: (
                        pace(shape.opening.terms, w) * np.polynomial.legendre.legval(2 * w - 1, np.eye(10)[k])
                    ),
                    0,
                    end,
                )[0]
                for k in range(10)
            ]
            for end in ends
        ]
    )
    off = shape.opening.terms - lobe_prior.MEAN
    off[0] = 0.0  # its scale is free
    for way in rng.normal(size=(20, 10)):
        kept = way - ways.T @ np.linalg.solve(ways @ ways.T, ways @ way)  # changes no duration
        kept_off = kept.copy()
        slope = kept_off[1:] @ weights[1:, 1:] @ off[1:]
        size = np.sqrt(kept_off[1:] @ weights[1:, 1:] @ kept_off[1:] * (off[1:] @ weights[1:, 1:] @ off[1:]))
        assert abs(slope) < 1e-3 * size


CARDS = [
    card(0.315, [(246, 0.040), (278, 0.020)], 0.040),
    card(0.331, [(240, 0.050)]),
    card(0.354, [(300, 0.006), (248, 0.050), (155, 0.200)]),
    NUMBERS["K"].card,
]


@pytest.mark.parametrize("asked", CARDS)
def test_a_card_is_met_exactly_and_a_lobe_falls_from_its_nose(asked: Card) -> None:
    shape = card_shape(asked)
    lobe = Lobe(shape)
    found = lobe.crossings(np.array([one.lift for one in asked.durations]))
    np.testing.assert_allclose(2 * found.duration, [one.duration for one in asked.durations], atol=3e-9)
    assert float(lobe.middle(asked.halved or 1.27)) == pytest.approx(0.0, abs=3e-9)
    angle, top = lobe.peak()
    assert angle == pytest.approx(shape.nose, abs=1e-6)
    assert top == pytest.approx(asked.peak, abs=1e-10)
    cam = shape.nose + np.linspace(-np.pi, np.pi, 20_001)
    lift = lobe.lift(cam)
    assert (np.diff(lift[:10_001]) >= 0).all()
    assert (np.diff(lift[10_000:]) <= 0).all()
    step = cam[1] - cam[0]
    np.testing.assert_allclose(np.gradient(lift, step)[2:-2], lobe.velocity(cam)[2:-2], atol=2e-3)
    away = np.abs(cam[2:-2] - shape.nose) > 3 * step  # unlike flanks bend unlike at the nose
    bent = np.gradient(lobe.velocity(cam), step)[2:-2]
    np.testing.assert_allclose(bent[away], lobe.acceleration(cam)[2:-2][away], atol=2e-2 * np.abs(bent).max())
    assert float(lobe.lift(np.asarray(np.pi))) == 0.0


def test_lifts_scale_and_rows_have_no_order() -> None:
    plain = card_shape(card(0.300, [(240, 0.050), (262, 0.020)]))
    at = -np.linspace(10, 80, 15) * DEG
    twice = card_shape(card(0.600, [(240, 0.100), (262, 0.040)], 0.100))
    np.testing.assert_allclose(twice.at(at, 0), 2 * plain.at(at, 0), atol=1e-9)
    np.testing.assert_allclose(twice.lift_doubt(at), 2 * plain.lift_doubt(at), atol=1e-9)
    slower = card_shape(card(0.300, [(264, 0.050), (288.2, 0.020)]))
    np.testing.assert_allclose(slower.at(1.1 * at, 0), plain.at(at, 0), atol=1e-8)
    assert card_shape(card(0.300, [(262, 0.020), (240, 0.050)])).opening.terms == pytest.approx(
        plain.opening.terms, abs=1e-14
    )


def test_a_number_that_the_lobe_has_changes_no_lift() -> None:
    shape = card_shape(card(0.388, [(265, 0.050), (290, 0.020)]))
    at = -np.linspace(10, 95, 18) * DEG
    more = shape.card._replace(
        durations=(*shape.card.durations, Stated(0.1 * INCH, shape.expected(0.1 * INCH)[0]))
    )
    found = card_shape(more)
    np.testing.assert_allclose(found.at(at, 0), shape.at(at, 0), atol=2e-6)
    lift = float(shape.at(np.array(-53 * DEG), 0))
    beside = card_shape(shape.card._replace(lifts=(AtAngle(lift, -53 * DEG),)))
    np.testing.assert_allclose(beside.at(at, 0), shape.at(at, 0), atol=2e-6)
    assert (beside.lift_doubt(at[5:12]) < shape.lift_doubt(at[5:12]) + 1e-6).all()


def test_no_step_where_a_seat_duration_moves() -> None:
    """Lift at 53 degrees over card A, its seat moved by half a degree."""
    seats = np.arange(260, 330.1, 0.5)
    lift = np.array(
        [
            float(card_shape(card(0.388, [(250, 0.053), (one, 0.006)], 0.053)).at(np.array(-53 * DEG), 0))
            for one in seats
        ]
    )
    bends = np.abs(np.diff(lift, 2)) / INCH / 0.25 * 1000
    assert bends.max() < 0.25
    assert bends[seats[1:-1] >= 270].max() < 0.1


def test_a_seat_that_was_read_on_its_ramp_is_asked_about() -> None:
    assert lobe_shape.on_the_ramp(card_shape(NUMBERS["I"].card)) is not None
    assert lobe_shape.on_the_ramp(card_shape(NUMBERS["E"].card)) is None
    assert lobe_shape.on_the_ramp(card_shape(NUMBERS["E"].card), lash=0.006 * INCH) is not None
    assert lobe_shape.on_the_ramp(card_shape(NUMBERS["D"].card)) is None
    plain, hydraulic = (
        card_shape(card(0.290, [(185, 0.050), (290, 0.006)], hydraulic=one)) for one in (False, True)
    )
    assert plain.scale / hydraulic.scale == pytest.approx(1.3)


def test_bounds_hold_the_lobe_and_the_foot_does_not_rise_again() -> None:
    for told in NUMBERS.values():
        shape = card_shape(told.card)
        lower, upper = bounded(shape)
        cam = np.linspace(-np.pi, np.pi, 2001)
        assert (lower.lift(cam) <= shape.at(cam, 0) + 1e-12).all()
        assert (upper.lift(cam) >= shape.at(cam, 0) - 1e-12).all()
        beyond = cam > shape.nose + shape.begins(shape.closing)
        assert (np.diff(upper.lift(cam)[beyond]) <= 5e-4).all()  # mm, between two of the places looked at


def test_draws_have_the_cards_durations_and_the_spread_of_the_bounds() -> None:
    shape = card_shape(A)
    lobes = Lobe(lobe_shape.drawn(shape, np.random.default_rng(1).normal(size=(4000, 20))))
    for one in A.durations:
        label = np.sqrt(1 - np.cbrt(one.lift / A.peak))
        both = [
            lobe_prior.sums(side.terms, np.array([0.0, label]))[0][:, 0]
            for side in (lobes.curve.opening, lobes.curve.closing)
        ]  # type: ignore[attr-defined]
        np.testing.assert_allclose(2 * (both[0] + both[1]), one.duration, atol=2e-6)
    at = -np.array([30, 40, 48, 53, 60])[:, None] * DEG
    lift = lobes.lift(at) / INCH
    assert lift.shape == (5, 4000)
    least, most = (one[:, 0] / INCH for one in shape.bounds(at))
    np.testing.assert_allclose(np.quantile(lift, 0.025, axis=1), least, atol=0.008)
    np.testing.assert_allclose(np.quantile(lift, 0.975, axis=1), most, atol=0.008)
    np.testing.assert_allclose(lift.mean(axis=1), shape.at(at, 0)[:, 0] / INCH, atol=0.004)
    np.testing.assert_allclose(
        Lobe(lobe_shape.drawn(shape, np.zeros((2, 20)))).lift(at),
        np.broadcast_to(shape.at(at, 0), (5, 2)),
        atol=1e-7,
    )


@pytest.mark.parametrize("lift", [0.078, 0.083])
def test_drawn_lobes_have_their_cards_durations_and_the_lift_that_was_read(lift: float) -> None:
    """Of a card with a dial at top centre, which nearly decides the flank: the others may not run away from it."""
    one = card(0.310, [(226.0, 0.050), (268.0, 0.006)], lifts=((lift, 52.0, 0.001, 0.0),), hydraulic=True)
    lobes = Lobe(lobe_shape.drawn(card_shape(one), np.random.default_rng(5).normal(size=(1000, 20))))
    for stated in one.durations:
        label = np.sqrt(1 - np.cbrt(stated.lift / one.peak))
        both = [
            lobe_prior.sums(side.terms, np.array([0.0, label]))[0][:, 0]
            for side in (lobes.curve.opening, lobes.curve.closing)
        ]  # type: ignore[attr-defined]
        np.testing.assert_allclose(2 * (both[0] + both[1]), stated.duration, atol=2e-6)
    there = lobes.lift(np.full(1000, -52.0 * DEG)) / INCH
    assert there.mean() == pytest.approx(lift, abs=0.001)
    assert there.std() < 0.002


def test_wild_cards_are_answered_or_refused_in_words() -> None:
    rng, said = np.random.default_rng(7), []
    for _ in range(40):
        peak = rng.uniform(0.1, 0.6)
        lifts = np.sort(rng.uniform(0.004, 0.9 * peak, 3))[::-1]
        degrees = np.sort(rng.uniform(60, 355, 3))
        try:
            shape = card_shape(card(peak, list(zip(degrees, lifts, strict=True))))
        except CardError as error:
            said.append(str(error))
            continue
        cam = np.linspace(-3, 3, 200)
        assert np.isfinite([shape.at(cam, 0), *shape.bounds(cam)]).all()
    assert said
    assert all("look at" in one for one in said)


# As a job says it.


# The least clearance over a piston (stroke 4, rod 7.2, 0.42 in at top centre, 24 degrees of lean, ratio 1.6, centreline 106).

CRANK = np.arange(-40, 81)
SEAT, D1 = (318.9606, 0.006), (265.1754, 0.050)
TOP = (0.1455, 53.0, 0.0, 0.25)
LEAST: dict[str, tuple[Rows, tuple[tuple[float, float, float, float], ...], tuple[float, float, float]]] = {
    "D1": ([D1], (), (0.1642, 0.1028, 0.2236)),
    "D1 D2": ([D1, SEAT], (), (0.1541, 0.0983, 0.2101)),
    "D1 .020": ([D1, (293.5956, 0.020)], (), (0.1553, 0.1080, 0.2018)),
    "D1 D2 .100": ([D1, SEAT, (234.4372, 0.100)], (), (0.1648, 0.1343, 0.1942)),
    "D1 D2 .200": ([D1, SEAT, (187.3115, 0.200)], (), (0.1500, 0.1264, 0.1738)),
    "D1 top centre": ([D1], (TOP,), (0.1596, 0.1475, 0.1706)),
    "D1 D2 top centre": ([D1, SEAT], (TOP,), (0.1592, 0.1472, 0.1700)),
    "event": ([D1, SEAT], ((0.100, 58.6094, 0, 0.125),), (0.1650, 0.1418, 0.1869)),
    "two events": (
        [D1, SEAT],
        ((0.100, 58.6094, 0, 0.125), (0.200, 46.8283, 0, 0.125)),
        (0.1517, 0.1478, 0.1555),
    ),
}


@pytest.mark.parametrize("name", LEAST)
def test_the_least_clearance_of_the_method(name: str) -> None:
    rows, lifts, told = LEAST[name]
    shape = card_shape(card(0.388, rows, lifts=lifts))
    turned = CRANK * DEG
    down = 2 * (1 - np.cos(turned)) + 7.2 - np.sqrt(7.2**2 - (2 * np.sin(turned)) ** 2)
    cam = (CRANK - 106) / 2 * DEG
    least, most = shape.bounds(cam)
    found = [
        float((0.42 + down * np.cos(24 * DEG) - 1.6 * lift / INCH).min())
        for lift in (shape.at(cam, 0), most, least)
    ]
    assert found == pytest.approx(told, abs=1.01e-4)


def test_how_a_lift_moves_with_a_shape_by_differences() -> None:
    """The sum of squares is the doubt that the bounds go by, and a shape turned by a little moves the lift so much."""
    shape = card_shape(card(0.388, B_ROWS, lifts=((0.1455, 53, 0.001, 0.1),)))
    at = np.array([-60, -48, -20, 25, 50, 66.0]) * DEG
    moves = shape.lift_moves(at)
    np.testing.assert_allclose(np.linalg.norm(moves, axis=-1), shape.lift_doubt(at), atol=1e-5)
    step = 1e-4
    for index in (0, 3, 7, 14):
        unit = step * np.eye(20)[index]
        up, down = shape.turned_to(unit), shape.turned_to(-unit)
        told = (up.at(at, 0) - down.at(at, 0)) / (2 * step)
        np.testing.assert_allclose(moves[:, index], told, atol=2e-4)
