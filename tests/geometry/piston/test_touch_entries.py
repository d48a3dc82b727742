"""What the entries of two valves pushed together are called: every one is read, each as the valve's that it names."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.piston import touch_entries
from tallstack.geometry.piston.touch_entries import EDGES, NONE_UP_TO, TABLE
from tallstack.geometry.piston.valves_touch import Touch, has_touch, touch_of

PORTS = ("intake", "exhaust")


@pytest.mark.parametrize("bound", ["", f".{NONE_UP_TO}"])
def test_the_edges_stand_in_the_order_of_the_ports(bound: str) -> None:
    read = {f"front.{TABLE}.edge_{port}{bound}": 5.0 + at for at, port in enumerate(PORTS)}
    found = touch_of({**read, f"front.{TABLE}.between_stems": 0.9}, "front")
    assert isinstance(found, Touch)
    assert [float(edge) for edge in found.edges] == [5.0, 6.0]
    assert found.untried(array(9.0), array(9.0)) == (EDGES if bound else ())
    assert [edge.rpartition("_")[2] for edge in EDGES] == list(PORTS)


@pytest.mark.parametrize("entry", [*EDGES, *(f"{edge}.{NONE_UP_TO}" for edge in EDGES), "together"])
def test_any_entry_of_the_table_says_that_somebody_pushed_them(entry: str) -> None:
    assert has_touch(Reader({f"front.{TABLE}.{entry}": 5.0}, ("front.",)))
    assert not has_touch(Reader({f"front.{entry}": 5.0}, ("front.",)))


def test_they_are_read_without_loading_anything() -> None:
    tree = ast.parse(Path(touch_entries.__file__).read_text(encoding="utf-8"))
    assert not [node for node in ast.walk(tree) if isinstance(node, (ast.Import, ast.ImportFrom))]
