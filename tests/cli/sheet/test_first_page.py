"""The first page: what is needed at the bench, and never without what stops the work."""

from __future__ import annotations

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.page.clearance_words import at_overlap
from tallstack.cli.page.model import Beside, Boxes, Frame, Heading, Row, Table, Words, flat
from tallstack.cli.page.order_words import turned
from tallstack.cli.page.setting_words import position, positions
from tallstack.cli.sheet.first_page import first_page
from tallstack.cli.sheet.stops import MOST
from tallstack.cli.sheet.work import Work, work

from ...commands import EXAMPLES


@pytest.fixture(scope="module")
def found() -> Work:
    return work(load(EXAMPLES / "sheet_for_the_job_folder" / "job.toml"), None, 100, is_drawn=False)


def test_stop_comes_first_then_pushrods_then_the_closest_then_the_checks_by_hand(found: Work) -> None:
    blocks = list(flat(first_page(found).blocks))
    assert isinstance(blocks[0], Frame)
    kinds = [type(one) for one in blocks]
    assert kinds.index(Frame) < kinds.index(Table) < kinds.index(Beside) < kinds.index(Boxes)
    (beside,) = (one for one in blocks if isinstance(one, Beside))
    assert [one.name.partition("-")[0] for one in beside.pictures] == ["turn", "closest", "closest"]


def test_every_valve_gear_has_its_row_and_where_it_is_set(found: Work) -> None:
    assert found.pushrods is not None
    rods = next(one for one in first_page(found).blocks if isinstance(one, Table))
    names = [row.cells[0] for row in rods.rows if isinstance(row, Row)]
    assert names == [one.train.name.replace(".", " ") for one in found.pushrods.orders]
    for order in found.pushrods.orders:
        assert turned(order, found.pushrods.chosen, "mm")
    told = " ".join(positions(found.pushrods.stations))
    assert all(position(one) in told for one in found.pushrods.stations)


def test_an_angle_says_its_side_of_overlap() -> None:
    assert at_overlap(0.0) == "at 0"
    assert at_overlap(-0.14) == "8 before"


def test_what_there_is_no_room_for_is_counted(found: Work) -> None:
    warnings = tuple(LookAgain(f"thing {one}", "front") for one in range(9))
    (frame, *_) = first_page(found._replace(job=found.job._replace(warnings=warnings))).blocks
    assert isinstance(frame, Frame)
    heading, *words = (one.words for one in frame.blocks if isinstance(one, (Heading, Words)))
    assert words == [*(f"LOOK AGAIN: {one}" for one in warnings[: MOST - 1]), "and 4 more, on the next page"]
    assert heading.startswith("STOP, 9 things")
