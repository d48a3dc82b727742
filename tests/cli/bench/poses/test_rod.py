from __future__ import annotations

import pytest
from tallstack.cli.bench.poses.rod import HELD, is_lifter, rod
from tallstack.cli.drawing import sketch
from tallstack.cli.job.entries.gear_tables import PLUNGER_PLACES

from .looking import points, read, said, spots, spots_of

LENGTH = "measured_pushrod.length"


def test_the_sketch_has_one_lifter_in_whose_place_another_is_drawn() -> None:
    assert sum(is_lifter(one) for one in sketch.outline(is_solid=True)) == 1


def test_every_word_for_where_a_plunger_was_is_told() -> None:
    assert set(PLUNGER_PLACES) | {"down"} == set(HELD)
    captions = {rod({}, {"plunger": one}).caption for one in HELD}
    assert len(captions) == len(HELD)
    assert all(one.startswith("Valve closed, lifter on the base circle, ") for one in captions)


def test_the_plunger_is_drawn_where_it_is_held() -> None:
    found = {rod({}, {"plunger": one}).svg for one in ("top", "down", "bottomed", "solid checking lifter")}
    assert len(found) == 4
    assert rod({}, {"solid": True, "plunger": "top"}).svg == rod({}, {"plunger": "solid checking lifter"}).svg
    assert "plunger" not in rod({}, {"solid": True, "plunger": "top"}).caption


@pytest.mark.parametrize(("shorter", "longer"), [("centres", "gauge"), ("gauge", "overall")])
def test_a_length_reaches_from_the_ends_that_it_is_read_between(shorter: str, longer: str) -> None:
    def reach(read_as: str) -> float:
        (group,) = spots_of(read(rod(spots([LENGTH]), {"as": read_as}).svg))
        heights = [down for across, down in points(group) if across > 106]
        return max(heights) - min(heights)

    assert reach(shorter) < reach(longer)


def test_the_length_to_order_is_told_once_it_is_known() -> None:
    assert "order 9.682 in" in said(rod({}, {"length": "9.682 in"}).svg)
    assert said(rod({}, {"length": ""}).svg) == []
