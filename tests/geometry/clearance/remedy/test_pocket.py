"""A pocket cut deeper or wider: the room its cutter leaves, and the metal under it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.clearance.remedy import pocket as remedy_pocket
from tallstack.geometry.core.frames import array

LEVER = 0.75


def a_case(**more: Any) -> Any:
    steps = SimpleNamespace(length=0.1, angle=0.01)
    here = SimpleNamespace(cylinder="one")
    return SimpleNamespace(**{"name": "a", "mapping": {}, "steps": steps, "here": here, "now": -0.45, **more})


def test_a_pocket_is_widened_to_its_room_in_whole_steps() -> None:
    """Of `_wide_enough` alone, over a wall that gives way by half of what the pocket is wider."""

    def over(mapping: dict[str, float]) -> Any:
        return SimpleNamespace(
            least_wall=lambda: SimpleNamespace(value=(mapping["a.pocket.diameter"] - 40.0) / 2)
        )

    mapping: Any = {"a.pocket.diameter": 40.0, "targets.wall": 1.27}
    assert remedy_pocket._wide_enough(a_case(over=over), mapping) == pytest.approx(
        {"a.pocket.diameter": 42.6}
    )
    enough: Any = {**mapping, "a.pocket.diameter": 43.0}
    assert remedy_pocket._wide_enough(a_case(over=over), enough) == {}


@pytest.mark.parametrize("clear_at", [0.2001, 0.2043, 0.2086])
def test_a_cutter_leaves_room_for_a_head_up_to_where_it_comes_clear(clear_at: float) -> None:
    """A head that leans by 0.1 rad and stays closed, its piston falling by 100 mm times the crank angle squared.

    Of `_beside_head` alone: of a job the room is known from no formula.
    """
    stem = array([np.sin(0.1), 0.0, np.cos(0.1)])
    high = 20.0 * np.sin(0.1) + 100.0 * clear_at**2  # of the upper side above the face's middle, there
    over: Any = SimpleNamespace(
        head=SimpleNamespace(stem=stem, centre=array([0.0, 0.0, 1.5 - high]), radius=array(20.0)),
        descent=lambda crank: 100.0 * crank**2,
        lift=SimpleNamespace(at=np.zeros_like),
        below=SimpleNamespace(crown=SimpleNamespace(top=0.0)),
    )
    short = SimpleNamespace(limit=SimpleNamespace(value=1.5))
    found = remedy_pocket._beside_head(a_case(mapping={}, short=short), over)
    needed = 1.5 + 100.0 * clear_at**2 * np.sin(0.1)
    half_a_degree = 100.0 * ((clear_at + np.radians(0.5)) ** 2 - clear_at**2) * np.sin(0.1)
    assert needed <= found <= needed + half_a_degree


@pytest.fixture
def no_metal(monkeypatch: pytest.MonkeyPatch) -> None:
    left = SimpleNamespace(lacks=())
    monkeypatch.setattr(remedy_pocket, "metal", lambda *_: left)


@pytest.mark.usefixtures("no_metal")
def test_the_deepest_pocket_is_told_where_none_is_deep_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of `_cut` alone, where nothing is found, without `_beside`."""
    monkeypatch.setattr(remedy_pocket, "solved", lambda *_: None)
    monkeypatch.setattr(remedy_pocket, "_beside", lambda *_: None)
    case = a_case(mapping={"a.pocket.diameter": 40.0})
    found = remedy_pocket._cut(case, 5.0, {})
    assert found.why_not == "no pocket up to 17 mm deep is enough"


@pytest.mark.usefixtures("no_metal")
@pytest.mark.parametrize(("what", "deeper"), [("drop", 0.3), ("gap", 0.4)])
def test_a_cut_along_the_stem_gives_the_drop_itself_and_the_gap_its_share(what: str, deeper: float) -> None:
    """Of `_by_stem` alone: the lever is exact."""
    measured = SimpleNamespace(lean=array(np.arccos(LEVER)), meets="pocket")
    over: Any = SimpleNamespace(reading=SimpleNamespace(measured=measured))
    short = SimpleNamespace(name=what, value=1.0)
    found = remedy_pocket._by_stem(a_case(short=short, pumped=None, spare=lambda _: -0.3), over)
    assert found.change == pytest.approx(deeper)
    assert found.gives == pytest.approx(1.3)
