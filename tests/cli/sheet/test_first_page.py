"""The first page: what is needed at the bench, and never without what stops the work."""

from __future__ import annotations

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Boxes, Heading, Table, flat
from tallstack.cli.sheet.first_page import at_overlap, first_page, position, positions, turned
from tallstack.cli.sheet.hand_checks import HAND_CHECKS
from tallstack.cli.sheet.work import Work, work

from ...commands import EXAMPLES


@pytest.fixture(scope="module")
def found() -> Work:
    return work(load(EXAMPLES / "sheet_for_the_job_folder" / "job.toml"), None, 100, is_drawn=False)


def test_stop_comes_first_then_pushrods_then_clearances_then_the_checks_by_hand(found: Work) -> None:
    blocks = list(flat(first_page(found).blocks))
    assert isinstance(blocks[0], Heading)
    tables = [one.heads[0] for one in blocks if isinstance(one, Table)]
    assert tables == ["PUSHRODS", "CLEARANCES"]
    (boxes,) = (one for one in blocks if isinstance(one, Boxes))
    assert boxes.items == HAND_CHECKS


def test_every_valve_gear_has_its_row_and_where_it_is_set(found: Work) -> None:
    assert found.pushrods is not None
    rods = next(one for one in first_page(found).blocks if isinstance(one, Table))
    names = [row.cells[0] for row in rods.rows]  # type: ignore[union-attr]
    assert names == [one.train.name.replace(".", " ") for one in found.pushrods.orders]
    for order in found.pushrods.orders:
        assert turned(found.pushrods, order, "mm")
    told = " ".join(positions(found))
    assert all(position(one) in told for one in found.pushrods.stations)


def test_an_angle_says_its_side_of_overlap() -> None:
    assert at_overlap(0.0) == "0 after"
    assert at_overlap(-0.14) == "8 before"
