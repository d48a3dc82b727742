"""What to order, in a table: every length under its convention, alike valve gears once, estimates marked."""

from __future__ import annotations

import pytest
from tallstack.cli.commands.pushrods import found_of
from tallstack.cli.job.loading import load
from tallstack.cli.page.order_words import not_known, not_possible, order_table
from tallstack.cli.page.text import lines

from ...commands import BENCH, COORDINATES, DEMO, EXAMPLES, tallstack

SCREWS = EXAMPLES / "single_with_lifter_screws" / "job.toml"
SHELF = EXAMPLES / "pushrods_from_the_shelf"


def table(path: object, *tried: str) -> list[str]:
    job = load(path, tried).at_hand  # type: ignore[arg-type]
    found = found_of(job, None)
    return lines([order_table(found.orders, found.chosen, job.units)])


def test_the_length_to_order_stands_in_both_units_with_its_doubt_and_what_it_gives() -> None:
    head, first, *_ = table(DEMO)
    assert head.split() == ["ORDER,", "overall", "in", "mm", "+/-", "in", "preload", "room", "left"]
    (shown,) = (
        one
        for one in tallstack("pushrods", DEMO, "--json").json["pushrods"]
        if one["train"] == "front.intake"
    )
    numbers = first.split()
    assert numbers[:2] == ["front", "intake"]
    assert float(numbers[2]) == pytest.approx(shown["overall_mm"] / 25.4, abs=6e-4)
    assert float(numbers[3]) == pytest.approx(shown["overall_mm"], abs=6e-3)
    assert float(numbers[6]) == pytest.approx(shown["room_to_bottom_mm"] / 25.4, abs=6e-4)


def test_valve_gears_that_read_alike_share_a_row() -> None:
    assert any(line.startswith("  front exhaust, rear exhaust") for line in table(BENCH))


def test_an_estimate_is_never_for_ordering() -> None:
    told = table(COORDINATES)
    assert sum(line.endswith("ESTIMATE") for line in told) == 4
    assert told[-1] == "  ESTIMATE, NOT FOR ORDERING: all of them, from coordinates alone"


def test_an_adjuster_says_how_far_and_from_where() -> None:
    told = table(SCREWS)
    assert sum("from zero lash" in line for line in told) == 2
    assert all(line.endswith(("OK", "ESTIMATE")) for line in told if line.startswith("  barrel"))


def test_what_cannot_be_is_said_and_what_is_not_known_is_named() -> None:
    assert list(not_possible((), True)) == ["SHORT: no set of pushrods from the shelf fits"]
    assert not_known(load(EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml").at_hand.orders) == [
        "barrel intake pushrod",
        "barrel exhaust pushrod",
    ]
