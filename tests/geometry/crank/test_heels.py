"""Where both lifters rest around compression top centre, in degrees that are whole numbers."""

from __future__ import annotations

import math

import pytest
from tallstack.geometry.crank.heels import HeelWindow, Opening, heel_window, set_on_the_flank


def opening(opens: float, closes: float) -> Opening:
    return Opening(math.radians(opens), math.radians(closes))


def degrees(window: HeelWindow | None) -> tuple[float, ...]:
    assert window is not None
    return tuple(math.degrees(one) for one in window)


def test_the_window_is_from_intake_closing_to_exhaust_opening() -> None:
    """Intake 20 before overlap to 60 after bottom centre; exhaust 65 before bottom centre to 15 after overlap."""
    intake, exhaust = opening(-20, 240), opening(-245, 15)
    window = heel_window(intake, exhaust)
    assert degrees(window) == pytest.approx((-120, 115))
    assert window is not None
    assert window.holds_top_centre
    on_the_flank = set_on_the_flank(intake, exhaust)
    assert [math.degrees(one) for one in on_the_flank] == pytest.approx([115, -120])


def test_advance_moves_both_ends_earlier() -> None:
    plain = degrees(heel_window(opening(-20, 240), opening(-245, 15)))
    advanced = degrees(heel_window(opening(-24, 236), opening(-249, 11)))
    assert advanced == pytest.approx([one - 4 for one in plain])


def test_lobes_may_leave_no_window_or_one_beside_top_centre() -> None:
    assert heel_window(opening(-20, 480), opening(-245, 15)) is None  # ends as it begins
    late = heel_window(opening(-20, 370), opening(-245, 15))
    assert late is not None
    assert not late.holds_top_centre
