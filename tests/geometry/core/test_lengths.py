"""Conventions of length: balls of whole-number triangles, and what each convention lacks."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.lengths import CONVENTIONS, End, Ends

BALL = End("ball", array(10.0), array(6.0), None)  # 3, 4, 5
CUP = End("cup", array(8.0), None, array(2.5))


@pytest.mark.parametrize(
    ("convention", "ball", "cup"),
    [("centres", 0.0, 0.0), ("theoretical", 5.0, -4.0), ("overall", 4.0, 2.5), ("gauge", 3.0, None)],
)
def test_what_each_end_adds(convention: str, ball: float, cup: float | None) -> None:
    gauge = array(8.0)
    assert BALL.beyond(convention, gauge) == ball
    assert CUP.beyond(convention, gauge) == (None if cup is None else pytest.approx(cup))
    assert Ends(BALL, BALL, gauge).beyond(convention) == 2 * ball
    both = Ends(BALL, CUP, gauge).beyond(convention)
    assert both is None if cup is None else both == ball + cup


def test_a_ball_without_a_hole_is_overall_what_it_is_theoretically() -> None:
    whole = End("ball", array(10.0), array(0.0), None)
    assert whole.beyond("overall", None) == whole.beyond("theoretical", None)


def test_a_hole_wider_than_its_ball_is_no_number() -> None:
    assert np.isnan(End("ball", array(5.0), array(6.0), None).beyond("overall", None))


@pytest.mark.parametrize(
    ("convention", "lacks"),
    [
        ("centres", ()),
        ("theoretical", ("ball_diameter_low", "ball_diameter_high")),
        ("overall", ("ball_diameter_low", "hole_low", "cup_rim")),
        ("gauge", ("ball_diameter_low", "ball_diameter_high", "gauge")),
    ],
)
def test_what_a_convention_lacks_is_named_and_it_is_not_known(
    convention: str, lacks: tuple[str, ...]
) -> None:
    ends = Ends(End("ball", None, None, None), End("cup", None, None, None), None)
    assert ends.lacks(convention) == lacks
    assert (ends.beyond(convention) is None) == bool(lacks)


def test_nothing_lacks_where_everything_was_measured() -> None:
    ends = Ends(BALL, BALL, array(8.0))
    assert [ends.lacks(one) for one in CONVENTIONS] == [()] * 4
