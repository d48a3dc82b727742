"""What is taken where nothing was entered."""

from __future__ import annotations

from typing import Any

from tallstack.geometry.engine import defaults


def test_a_mapping_that_lost_an_entry_is_completed_anew() -> None:
    mapping: Any = {"cylinders": (), "trains": (), "stack.bore": 90.0}
    assert "stack.bore" in defaults.completed(mapping)[0]
    del mapping["stack.bore"]
    assert "stack.bore" not in defaults.completed(mapping)[0]
