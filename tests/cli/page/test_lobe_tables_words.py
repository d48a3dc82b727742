"""What a lobe's table tells against itself."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.cli.page.lobe_tables_words import (
    by_other_degrees,
    carried_over,
    degree_words,
    lift_words,
    small,
    two_rests,
)


def test_tenths_of_a_thousandth_are_shown_in_either_unit() -> None:
    assert small(0.0254, "in") == "0.0010 in (0.025 mm)"
    assert small(0.0254, "mm") == "0.025 mm (0.0010 in)"
    assert lift_words(25.4, "in") == "1.000 in (25.40 mm)"
    assert degree_words(-0.001) == "0.00"


def test_two_rests_are_told_with_how_far_they_are_apart() -> None:
    fitted: Any = SimpleNamespace(higher=0.0508)
    assert two_rests(fitted, "in").startswith(
        "one of its two rests stands 0.0020 in (0.051 mm) above the other"
    )


@pytest.mark.parametrize(("crank", "told"), [(True, "counted as crank degrees it is open for 240 deg of crank; as cam degrees, 480"),
                                             (False, "counted as cam degrees it is open for 240 deg of crank; as crank degrees, 120")])  # fmt: skip
def test_degrees_of_the_other_shaft(crank: bool, told: str) -> None:
    assert by_other_degrees(math.radians(240), crank) == told


def test_a_hollow_that_no_wheel_reaches_is_wrong_and_a_bridged_one_is_not() -> None:
    under: Any = SimpleNamespace(impossible=True, hollow=12.7, folds=(math.radians(30.0),))
    found = carried_over(under, "mm")
    assert [wrong for _, wrong in found] == [True, True, False]
    assert "12.70 mm" in found[1][0]
    assert "at 30.0 deg of the cam" in found[2][0]
    assert carried_over(SimpleNamespace(impossible=False, hollow=None, folds=()), "mm") == []  # type: ignore[arg-type]
