"""Remedies that keep valves apart or leave room to a wall: what is tried first, and what it comes to."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.geometry.clearance.remedy import room as remedy_room
from tallstack.geometry.clearance.remedy.remedy import Steps

NAME = "one.intake"


def test_a_lobes_lift_then_is_what_it_was_less_the_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of `_lift` alone, with a search that ends exactly there, `_apart` by so much."""
    monkeypatch.setattr(remedy_room, "solve", lambda *_: -0.5)
    monkeypatch.setattr(remedy_room, "_apart", lambda *_: 1.2)
    lobe = SimpleNamespace(name="cam", peak=(0.0, 8.0))
    here: Any = SimpleNamespace(lifts={NAME: SimpleNamespace(lobe=lobe)})
    short: Any = SimpleNamespace(value=1.0, limit=SimpleNamespace(value=1.2))
    found = remedy_room._lift(here, NAME, short, Steps(0.1, 0.01))
    assert (found.change, found.value, found.gives, found.scale) == (-0.5, 7.5, 1.2, 0.9375)


def test_a_lobe_is_first_tried_an_eighth_of_a_radian_later_for_each_mm_that_lacks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What `_centreline` tries first is in no answer."""
    tried: list[float] = []
    monkeypatch.setattr(remedy_room, "solve", lambda _, guess, *__: tried.append(guess))
    here: Any = SimpleNamespace(lifts={NAME: SimpleNamespace(lobe=SimpleNamespace(name="cam"))})
    short: Any = SimpleNamespace(value=1.0, limit=SimpleNamespace(value=1.5))
    assert remedy_room._centreline({}, here, NAME, short, Steps(0.1, 0.01)).change is None
    assert tried == pytest.approx([0.0625])
