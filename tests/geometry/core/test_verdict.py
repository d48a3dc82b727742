"""The four verdicts: at the limit, at the doubt, and where several have to hold."""

from __future__ import annotations

from itertools import permutations

import pytest
from tallstack.geometry.core.verdict import Verdict, at_best_unproved, judge, misses, worst


@pytest.mark.parametrize(
    ("value", "expected"),
    [(0.99, Verdict.SHORT), (1.0, Verdict.TIGHT), (1.2, Verdict.TIGHT), (1.3, Verdict.OK), (2.79, Verdict.OK), (2.81, Verdict.TIGHT), (3.0, Verdict.TIGHT), (3.01, Verdict.SHORT), (float("nan"), Verdict.SHORT)],
)  # fmt: skip
def test_a_value_between_two_limits(value: float, expected: Verdict) -> None:
    assert judge(value, 1.0, 3.0, 0.2, proved=True) is expected
    without = expected if expected is Verdict.SHORT else Verdict.UNPROVED
    assert judge(value, 1.0, 3.0, 0.2, proved=False) is without


def test_one_limit_or_none() -> None:
    assert judge(-5.0, None, 0.0, 1.0, proved=True) is Verdict.OK
    assert judge(5.0, None, 0.0, 1.0, proved=True) is Verdict.SHORT
    assert judge(5.0, None, None, 1.0, proved=True) is Verdict.OK


def test_of_several_the_worst_counts_in_any_order() -> None:
    ranks = [Verdict.SHORT, Verdict.UNPROVED, Verdict.TIGHT, Verdict.OK]
    for some in permutations(ranks, 2):
        assert worst(*some) is min(some, key=ranks.index)


def test_what_something_stands_against_is_met_on_paper_at_best() -> None:
    assert [at_best_unproved(one) for one in (Verdict.OK, Verdict.TIGHT)] == [Verdict.UNPROVED] * 2
    assert [at_best_unproved(one) for one in (Verdict.SHORT, Verdict.UNPROVED, None)] == [
        Verdict.SHORT,
        Verdict.UNPROVED,
        None,
    ]


def test_what_is_rounding_decides_nothing() -> None:
    """3 - 2.8 is more than 0.2 by a bit, 0.1 + 0.2 less 0.3 more than nothing."""
    assert judge(3.0, 2.8, None, 0.2, True) is Verdict.TIGHT
    assert judge(0.3, 0.1 + 0.2, None, 0.0, True) is not Verdict.SHORT
    assert not misses(0.3, 0.1 + 0.2, None)
    assert misses(0.3 - 1e-6, 0.3, None)
    assert not misses(1e9, None, None)
