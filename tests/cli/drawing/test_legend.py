"""The legend: every letter with its words and value, what has no place in the drawing below, as large as it fits."""

from __future__ import annotations

import pytest
from tallstack.cli.drawing.legend import ELSEWHERE, NOT_DRAWN, SIZES, SMALLEST, Row, items, legend
from tallstack.cli.drawing.lines import Text

from ...commands import BENCH
from ...drawn import page, subject


def listed(name: str, path: object = None) -> list[str]:
    drawing = page(name) if path is None else page(name, (), BENCH)
    view = next(one for one in drawing.views if one.name == "legend")
    return [mark.words for mark in view.items if isinstance(mark, Text)]


def test_every_entry_of_the_valve_gear_that_has_a_letter_is_listed() -> None:
    """By its words, its path nowhere; what no view shows stands below the others."""
    said = listed("front.intake")
    for row, value in subject("front.intake").lettered():
        assert row.letter in said
        assert any(one.startswith(row.called) for one in said)
        assert value.words in said
    assert not any("_" in one or ".seat" in one for one in said)
    drawn = {one.letter for view in page("front.intake").views for one in view.dimensions()}
    below = said[said.index(NOT_DRAWN) :]
    assert {"BR", "BS"} <= set(below)
    assert not drawn & set(below)


def test_assumed_values_are_not_listed_as_entered() -> None:
    bare = subject("front.intake", path=BENCH)
    assert "stack.case_cut" not in [row.entry for row, _ in bare.lettered()]
    assert "cut off the case" not in listed("front.intake", BENCH)


@pytest.mark.parametrize(("count", "columns"), [(3, 1), (30, 1), (45, 1), (60, 2), (200, 2)])
def test_it_is_as_large_as_fits_its_height_and_has_two_columns_where_one_is_too_small(
    count: int, columns: int
) -> None:
    rows = [Row(f"A{place}", f"name {place}", "1.00", "0.039", str(place // 7)) for place in range(count)]
    found = legend(rows, [], "mm", 185.0, 120.0)
    assert found.columns == columns
    texts = [one for one in items(found, "mm", (10.0, 200.0)) if isinstance(one, Text)]
    if found.size > SMALLEST:
        assert min(one.at[1] for one in texts) >= 15.0
        at = SIZES.index(found.size)
        assert at == 0 or columns == 2 or len(rows) * 1.62 * SIZES[at - 1] > 175.0
    right = max(one.corners()[1][0] for one in texts)
    assert right <= 10.0 + found.wide + 0.01
    assert sum(one.other == "0.039" for one in texts) == count


def test_what_has_no_place_in_the_drawing_is_counted_where_listing_it_would_take_the_drawings_room() -> None:
    """What is drawn keeps its rows, as large as they fit; what stood beside them is told by its number."""
    drawn = [Row(f"A{place}", f"a name of its own {place}", "1.00", "0.039") for place in range(33)]
    rest = [Row(f"B{place}", f"a name of its own {place}", "1.00", "0.039") for place in range(26)]
    both = legend(drawn, rest, "mm", 185.0, 200.0)
    assert (both.columns, both.rows[-1]) == (2, rest[-1])
    found = legend(drawn, rest, "mm", 185.0, 80.0)
    assert found.rows == (*drawn, NOT_DRAWN, ELSEWHERE.format(26))
    assert found.columns == 1
    assert found.size > SIZES[-1]
    texts = [one for one in items(found, "mm", (10.0, 200.0)) if isinstance(one, Text)]
    assert max(one.corners()[1][0] for one in texts) <= 10.0 + found.wide + 0.01
    assert [one.bold for one in texts[-2:]] == [True, False]


def test_a_legend_without_anything_undrawn_tells_of_no_further_entries() -> None:
    drawn = [Row(f"A{place}", "a name that is as long as it is", "1.00") for place in range(90)]
    assert legend(drawn, [], "mm", 185.0, 80.0).rows == tuple(drawn)
