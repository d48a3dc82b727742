"""Numbers, names and limits as a person reads them: no more digits than a doubt supports, the job's unit first."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.page import wording
from tallstack.cli.page.wording import (
    WHOSE,
    assumed_value,
    at_top_centre,
    decimals,
    length,
    number,
    steady,
    train_name,
    whose,
)
from tallstack.geometry.core.targets import SQUISH_LEAST, TUBE, Limit, Source
from tallstack.geometry.engine.defaults import Assumed


@pytest.mark.parametrize(
    ("doubt", "finest", "shown"), [(0.0, 3, 3), (0.5, 3, 2), (0.049, 3, 3), (12.0, 3, 0), (0.012, 2, 2)]
)
def test_two_digits_of_a_doubt_are_shown_and_no_more_than_the_finest(
    doubt: float, finest: int, shown: int
) -> None:
    assert decimals(doubt, finest) == shown


def test_a_length_stands_in_both_units() -> None:
    assert length(25.4, "in") == "1.000 in (25.40 mm)"
    assert length(25.4, "mm", 3.0) == "25.4 mm (1.00 in)"
    assert number(-0.0001, "mm") == "0.00"  # no sign before nothing


def test_what_lies_between_two_digits_goes_one_way() -> None:
    assert steady(0.1 + 0.2) == 0.3
    assert math.copysign(1.0, steady(-1e-12)) == 1.0


@pytest.mark.parametrize(
    ("degrees", "told"),
    [(0.0, "at top centre"), (-180.0, "at bottom centre"), (12.34, "12.3 degrees after top centre"),
     (-8.0, "8.0 degrees before top centre")],
)  # fmt: skip
def test_a_crank_angle_in_words(degrees: float, told: str) -> None:
    assert at_top_centre(degrees) == told


def test_every_limit_says_whose_it_is() -> None:
    assert {whose(Limit(1.0, SQUISH_LEAST, one)) for one in WHOSE} == set(WHOSE.values())
    assert whose(Limit(0.0, None, Source.PARTS)) == wording.PARTS_OWN
    assert whose(Limit(0.0, TUBE, Source.PARTS)) == f"{wording.PARTS_OWN}, {wording.SET_YOUR_OWN}"


def test_what_is_assumed_is_told_with_its_doubt() -> None:
    assert assumed_value(Assumed("stack.case_cut", 0.0, "length", "why"), "mm") == "0 mm = 0 in"
    assert train_name("front.intake") == "valve gear, front intake"
