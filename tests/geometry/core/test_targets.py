"""Limits: what a job sets goes before common practice, and nothing is taken for one that has neither."""

from __future__ import annotations

import pytest
from tallstack.geometry.core.targets import TARGETS, Limit, Source, Target, limit_of

OWN = Target("ledge", "crown to an invented ledge", (0.3, 4.0), 3.0, Source.MEMORY)
BARE = Target("bare", "no limit where it is not set", (0.3, 4.0))


@pytest.mark.parametrize(
    ("mapping", "target", "zero", "expected"),
    [
        ({OWN.path: 2}, OWN, False, Limit(2.0, OWN, Source.SET)),
        ({OWN.path: 0.0}, OWN, False, Limit(0.0, OWN, Source.SET)),  # a limit of nought is one
        ({}, OWN, False, Limit(3.0, OWN, Source.MEMORY)),
        ({}, OWN, True, Limit(3.0, OWN, Source.MEMORY)),
        ({}, BARE, False, None),
        ({}, BARE, True, Limit(0.0, BARE, Source.PARTS)),
        ({BARE.path: 1.5}, BARE, True, Limit(1.5, BARE, Source.SET)),
        ({}, None, False, None),
        ({}, None, True, Limit(0.0, None, Source.PARTS)),
    ],
)
def test_whose_a_limit_is(
    mapping: dict[str, float], target: Target | None, zero: bool, expected: Limit | None
) -> None:
    found = limit_of(mapping, target, zero)
    assert found == expected
    if found is not None:
        assert found.is_set == (found.source is Source.SET)
        assert found.name == ("" if target is None else target.name)


def test_what_is_wanted_is_nought_where_nobody_says() -> None:
    assert [OWN.wanted({}), BARE.wanted({}), OWN.wanted({OWN.path: 1})] == [3.0, 0.0, 1.0]
    assert BARE.set_in({}) is None


def test_each_target_is_declared_once_within_what_is_usual() -> None:
    assert len({one.name for one in TARGETS}) == len(TARGETS)
    assert len({one.words for one in TARGETS}) == len(TARGETS)
    for one in TARGETS:
        assert one.usual[0] < one.usual[1], one.name
        assert one.common is None or one.usual[0] <= one.common <= one.usual[1], one.name
