from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from tallstack.cli.bench.poses.gears import gears
from tallstack.cli.bench.poses.spots import TAP

from .looking import apart, page, read, said, spots_of, tap, written

CRANKS = {
    "one": ", the crank below",
    "two": ", the crank below",
    "flat": ", the crank between the cylinders",
    "in line": ", the crank below",
    "star": "",
    "not entered": ", the crank beside the cylinders",
    "none": "",
}
STATES = ("empty", "half", "full", "stop")
LEANS: dict[str, Mapping[str, float | None]] = {
    "one": {"single": 0.0},
    "two": {"front": -22.5, "rear": 22.5},
    "flat": {"left": -90.0, "right": 90.0},
    "in line": {str(one): 0.0 for one in range(1, 13)},
    "star": {str(one): 72.0 * one for one in range(5)},
    "narrow": {"a long name": -7.0, "another long name": 0.0, "a third long name": 7.0, "and one more": 30.0},
    "not entered": {"front": 90.0, "rear of a long name": None},
    "none": {},
}


@pytest.mark.parametrize(("name", "told"), CRANKS.items())
def test_it_says_where_the_crank_is_as_far_as_that_is_one_place(name: str, told: str) -> None:
    assert gears({}, facts(LEANS[name])).caption.startswith(f"The engine from the front{told}; one bar")


def facts(leans: Mapping[str, float | None], **of_gears: str) -> dict[str, Any]:
    """Return an engine with two valve gears on each cylinder."""
    bars = [
        {
            "key": f"{name}.{port}",
            "cylinder": name,
            "port": port,
            "said": "9.682 in",
            "state": "full",
            "lacks": "",
        }
        | of_gears
        for name in leans
        for port in ("intake", "exhaust")
    ]
    return {"cylinders": [{"name": name, "lean": lean} for name, lean in leans.items()], "gears": bars}


@pytest.mark.parametrize("case", LEANS)
def test_every_gear_is_a_bar_to_tap_and_no_word_stands_on_another(case: str) -> None:
    root = read(gears({}, facts(LEANS[case])).svg)
    groups = spots_of(root)
    assert [one.get("data-go") for one in groups] == [
        f"{name}.{port}" for name in LEANS[case] for port in ("intake", "exhaust")
    ]
    taps = [tap(one) for one in groups]
    assert apart(taps)
    assert all(page(root).holds(one) and one.foot - one.top >= TAP - 1e-6 for one in taps)
    for group, own in zip(groups, taps, strict=True):
        assert all(own.holds(box) for _, box in written(group))
    boxes = [box for _, box in written(root)]
    assert apart(boxes)
    assert all(page(root).holds(one) for one in boxes)


def test_how_much_is_known_of_a_gear_is_told_by_its_bar_and_its_words() -> None:
    drawn = {state: gears({}, facts({"front": 0.0}, state=state)).svg for state in STATES}
    assert len(set(drawn.values())) == len(STATES)
    bars = {state: svg[svg.index('<g class="spot"') :] for state, svg in drawn.items()}
    assert "stroke-dasharray" in bars["empty"]
    assert "var(--body" not in bars["empty"]
    assert "hatch-gears" in bars["stop"]
    assert "hatch-gears" not in bars["half"] + bars["full"]
    assert "9.682 in, lacks lean" in said(gears({}, facts({"front": 0.0}, lacks="lacks lean")).svg)


def test_cylinders_stand_at_their_leans() -> None:
    left, right = (gears({}, facts({"one": lean})).svg for lean in (-30.0, 30.0))
    assert left != right
    names = {one: box for one, box in written(read(gears({}, facts({"a": -30.0, "b": 30.0})).svg))}
    assert names["a"].right < 180 < names["b"].left


def test_a_lean_that_is_not_entered_is_dashed_and_told() -> None:
    assert "Dashed" in gears({}, facts({"front": None})).caption
    assert "Dashed" not in gears({}, facts({"front": 0.0})).caption


def test_names_are_words_and_never_markup() -> None:
    found = gears({}, facts({"<script>'\"": 0.0}, key='"<script>', said="<script>"))
    assert "<script" not in found.svg
    assert {one.get("data-go") for one in spots_of(read(found.svg))} == {'"<script>'}
