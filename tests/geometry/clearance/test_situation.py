"""Which valves are looked at, and by what each clearance is known."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.geometry.clearance import situation
from tallstack.geometry.core.frames import array


def test_a_clearance_is_known_by_its_words_and_not_by_where_they_stand(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """In place of `_as_valve`, so that nothing but the words leads to the distance."""
    monkeypatch.setattr(situation, "between_at", lambda *_, **__: array(1.5))
    monkeypatch.setattr(situation, "_as_valve", lambda one: one)
    asked = situation.Asked("one", "".join(["bet", "ween"]), 0.0)
    pair: Any = (SimpleNamespace(over=None), SimpleNamespace(over=None))
    assert float(situation.clearance_at(asked, pair)) == 1.5
