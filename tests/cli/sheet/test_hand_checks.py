"""The checks by hand are few enough to be made and are all different."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.sheet.hand_checks import BLED, CLOSEST, HAND_CHECKS, LOCKED, hand_checks
from tallstack.cli.sheet.work import work

from ...commands import BENCH, EXAMPLES

SCREWS = EXAMPLES / "single_with_lifter_screws" / "job.toml"


def test_a_check_applies_where_its_part_may_be_there() -> None:
    """Of a part that nobody spoke of nobody said that it is not there."""
    twin = work(load(BENCH), None, 100, is_drawn=False)
    assert set(HAND_CHECKS) - set(hand_checks(twin)) == {LOCKED, CLOSEST}
    solid = work(load(SCREWS), None, 100, is_drawn=False)
    assert set(HAND_CHECKS) - set(hand_checks(solid)) == {BLED}
    assert set(hand_checks(twin._replace(pushrods=None, clear=None))) == {*HAND_CHECKS} - {CLOSEST}


def test_ten_checks_each_its_own() -> None:
    assert len(set(HAND_CHECKS)) == len(HAND_CHECKS) == 10
    assert any("two slow turns by hand" in one for one in HAND_CHECKS)
