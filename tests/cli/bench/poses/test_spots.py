from __future__ import annotations

import pytest
from tallstack.cli.bench.poses.spots import COLUMN, LONGEST, Place, Spot, drawn, spread, words

from .looking import STATES, read, spots, spots_of, written

PLACES = {
    "one": Place(
        -1, (150.0, 60.0), (((150.0, 40.0), (150.0, 80.0)),), (((140.0, 40.0), (150.0, 80.0)),), "one"
    )
}


def shown(state: str) -> str:
    """Return one spot in a state."""
    return str(drawn("try", "", PLACES, spots(PLACES, state, shown="4.310 in", letter="B"), 200.0))


def test_what_is_known_of_a_value_is_told_by_more_than_colour() -> None:
    looks = {one: shown(one).replace(f"spot {one}", "spot") for one in STATES}
    assert len(set(looks.values())) == len(STATES)
    assert "italic" in looks["reckoned"]
    assert "stroke-dasharray" not in looks["typed"] + looks["reckoned"] + looks["faulty"]
    assert "stroke-dasharray" in looks["assumed"]
    assert "stroke-dasharray" in looks["lacking"]
    assert "url(#hatch-try)" in looks["faulty"]
    assert 'stroke-width="3"' in looks["faulty"].replace('stroke-width="3" paint-order', "")


def test_what_is_lacking_keeps_its_place_and_its_letter() -> None:
    (group,) = spots_of(read(drawn("try", "", PLACES, spots(PLACES, "lacking", letter="B"), 200.0)))
    assert [one for one, _ in written(group)] == ["B"]


def test_an_entry_without_a_letter_is_named() -> None:
    (group,) = spots_of(read(drawn("try", "", PLACES, {"one": Spot("key", "", "5 mm", "typed")}, 200.0)))
    assert [one for one, _ in written(group)] == ["one", "5 mm"]


@pytest.mark.parametrize("letters", [1, 12, 40, 4000])
def test_no_value_is_longer_than_its_column(letters: int) -> None:
    (group,) = spots_of(read(drawn("try", "", PLACES, spots(PLACES, shown="W" * letters), 200.0)))
    (_, _), (value, box) = written(group)
    assert len(value) == min(letters, LONGEST)
    assert box.left >= 0
    assert box.right <= COLUMN


def test_words_that_fit_are_not_squeezed() -> None:
    assert "textLength" not in words((0, 0), "4.310 in", 100.0)
    assert 'textLength="20"' in words((0, 0), "4.310 in", 20.0)


@pytest.mark.parametrize(
    ("wished", "found"),
    [
        ([50.0, 90.0], [50.0, 90.0]),
        ([50.0, 55.0], [50.0, 60.0]),
        ([-9.0, -9.0], [5.0, 15.0]),
        ([99.0, 99.0], [85.0, 95.0]),
        ([], []),
    ],
)
def test_labels_stand_near_their_wish_and_apart(wished: list[float], found: list[float]) -> None:
    assert spread(wished, 0.0, 100.0, 10.0) == found


def test_many_labels_make_it_taller_and_its_bodies_stay_in_the_middle() -> None:
    places = {str(one): Place(1, (200.0, 50.0)) for one in range(8)}
    root = read(drawn("try", "<g/>", places, spots(places), 100.0))
    assert root.get("viewBox") == "0 0 360 392"
    assert [one.get("transform") for one in root.iter("g")][0] == "translate(0 146)"
