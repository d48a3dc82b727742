"""Remedies at piston and lifter: what is tried first, and what it comes to."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.geometry.clearance.remedy import piston as by_piston
from tallstack.geometry.core.frames import Array


def a_case(**more: Any) -> Any:
    steps = SimpleNamespace(length=0.1, angle=0.01)
    here = SimpleNamespace(cylinder="one")
    return SimpleNamespace(**{"name": "a", "mapping": {}, "steps": steps, "here": here, "now": -0.45, **more})


def test_less_preload_is_what_there_was_less_the_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of `_preload` alone, with a search that ends exactly there."""
    monkeypatch.setattr(by_piston, "solved", lambda *_: -0.3)
    short = SimpleNamespace(value=2.0, limit=SimpleNamespace(value=1.0))
    mapping = {"a.lifter.preload": 1.0}
    found = by_piston._preload(
        a_case(mapping=mapping, pumped=0.1, short=short, over=lambda _: None, gives=lambda _: 2.0)
    )
    assert found is not None
    assert (found.change, found.value) == pytest.approx((-0.3, 0.7))
    assert found.mapping == pytest.approx({"a.lifter.preload": 0.7})


class _Sloped:
    """A valve whose lift is a straight line over the crank."""

    def __init__(self, slope: float, by: float = 0.0) -> None:
        self.slope, self.by, self.lift = slope, by, self

    def at(self, angle: Array) -> Array:
        return 5.0 + self.slope * (angle + self.by)

    def advanced(self, by: float) -> _Sloped:
        return _Sloped(self.slope, by)

    def _replace(self, lift: _Sloped) -> _Sloped:
        return lift


@pytest.mark.parametrize(("slope", "way"), [(10.0, -1.0), (-10.0, 1.0)])
def test_timing_goes_the_way_that_lets_the_valve_down_late_or_up_early(slope: float, way: float) -> None:
    """Of `_timing` alone, over a valve whose drop is a straight line."""
    short = SimpleNamespace(angle=0.1, value=1.0, limit=SimpleNamespace(value=1.5))
    over = _Sloped(slope)
    found = by_piston._timing(
        a_case(
            short=short,
            over=lambda *_: over,
            spare=lambda one: -0.45 - one.slope * one.by,
            gives=lambda _: 1.5,
            cam=SimpleNamespace(advance=0.0),
        )
    )
    assert found.change == pytest.approx(0.05 * way)


@pytest.mark.parametrize(("slope", "first"), [(10.0, -0.05), (-10.0, 0.05), (0.1, -1.0)])
def test_timing_is_first_tried_by_what_lacks_over_how_fast_the_valve_moves(
    slope: float, first: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a millimetre lacks; a valve that hardly moves counts as one that moves by 0.5 mm a radian.

    What `_timing` tries first is in no answer.
    """
    tried: list[float] = []
    monkeypatch.setattr(by_piston, "solve", lambda _, guess, *__: tried.append(guess))
    short = SimpleNamespace(angle=0.1, value=1.0, limit=SimpleNamespace(value=1.5))
    assert by_piston._timing(a_case(short=short, over=lambda: _Sloped(slope))).change is None
    assert tried == pytest.approx([first])
