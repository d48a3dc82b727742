from __future__ import annotations

import re
from typing import Any

import pytest
from tallstack.cli.bench.poses.drawn import POSES, pose
from tallstack.cli.bench.poses.spots import TAP, WIDE

from .looking import STATES, apart, page, points, read, spots, spots_of, tap, written

STACK = [
    f"stack.{one}" for one in ("base_gasket", "cylinder", "head_gasket", "case_cut", "head_cut", "case_deck")
]
CRANK = ["stack.measured_deck.below", "crank.stroke", "crank.conrod_length", "piston.compression_height"]
ROD = "measured_pushrod"
ENDS = [f"pushrod.{one}_{end}" for one in ("ball_diameter", "hole") for end in ("low", "high")]
HYDRAULIC = [f"{ROD}.lean", "lifter.preload", "lifter.plunger_travel", "rocker.ratio", *ENDS]
TURNS = [f"{ROD}.checking_rod.{one}" for one in ("closed", "turns", "threads_per_inch")]
CARD = [
    f"card.{one}"
    for one in ("peak", "duration.at", "duration.degrees", "seat.at", "seat.degrees", "top_centre")
]
CURVE = [(float(one), max(0.0, 9.0 - abs(one - 60) * 0.1)) for one in range(-60, 181, 2)]
TOUCH = [
    f"valves_touch.{one}"
    for one in ("edge_intake", "edge_exhaust", "between_stems", "spread_off", "together")
]
BORE = [
    f"bore_readings.{high}_{way}"
    for high in ("top", "middle", "bottom")
    for way in ("across", "along", "largest")
]
CASES: dict[str, tuple[str, list[str], dict[str, Any]]] = {
    "stack": ("stack", STACK + CRANK, {}),
    "a block": ("stack", ["stack.block_deck", "stack.head_gasket", "stack.head_cut"], {"block": True}),
    "then": (
        "stack",
        STACK + [f"{ROD}.{one}" for one in STACK[:3]],
        {"then": "when the rod was read", "sum": "0.2 in"},
    ),
    "before": (
        "stack",
        STACK + CRANK + [f"before.{one}" for one in STACK + CRANK],
        {"then": "as it was", "sum": "0"},
    ),
    "rod": ("rod", [f"{ROD}.length", *HYDRAULIC], {"as": "overall", "plunger": "top", "length": "9.682 in"}),
    "turns": ("rod", [*TURNS, *HYDRAULIC, f"{ROD}.plunger.down", "valve.tip_height"], {"plunger": "down"}),
    "solid": ("rod", [f"{ROD}.length", f"{ROD}.lean", "lifter.lash", "rocker.ratio", *ENDS], {"solid": True}),
    "drop": ("drop", ["measured_drop.drop", "measured_drop.lean", "measured_drop.room"], {"meets": "pocket"}),
    "crown": ("drop", ["measured_drop.drop", "measured_drop.lean"], {"meets": "crown"}),
    "touch": ("touch", TOUCH, {}),
    "lobe": ("lobe", [*CARD, "centreline"], {"curve": CURVE, "route": "card"}),
    "no curve": ("lobe", [*CARD, "centreline"], {"curve": [], "route": ""}),
    "bore": ("bore", BORE, {}),
}
EVERY = [(case, state) for case in CASES for state in STATES]


def test_what_has_no_name_is_no_pose() -> None:
    assert pose("another", {}) is None
    assert {name for name, _, _ in CASES.values()} | {"gears", "crank"} == set(POSES)


@pytest.mark.parametrize(("case", "state"), EVERY)
def test_every_field_stands_in_its_pose_once_with_its_state(case: str, state: str) -> None:
    name, entries, facts = CASES[case]
    found = pose(name, spots(entries, state), facts)
    assert found is not None
    root = read(found.svg)
    assert sorted(one.get("data-for", "") for one in spots_of(root)) == sorted(f"of {one}" for one in entries)
    for one in spots_of(root):
        assert one.get("class") == f"spot {state}"
        assert [each.get("class") for each in one.iter("path")].count("mark") == 1
        assert any(each.get("class") == "dim" for each in one.iter("path"))
        assert {each.get("class") for each in one.iter("text")} == {"say"}


@pytest.mark.parametrize(("case", "state"), EVERY)
def test_nothing_reaches_another_label_and_all_is_in_the_pose(case: str, state: str) -> None:
    name, entries, facts = CASES[case]
    found = pose(name, spots(entries, state, letter=""), facts)
    assert found is not None
    root = read(found.svg)
    whole, groups = page(root), spots_of(root)
    taps = [tap(one) for one in groups]
    assert apart(taps)
    for one, group in zip(taps, groups, strict=True):
        assert whole.holds(one)
        assert one.right - one.left >= TAP - 1e-6
        assert one.foot - one.top >= TAP - 1e-6
        assert all(one.holds(box) for _, box in written(group))
        for across, down in points(group):
            assert 0 <= down <= whole.foot
            assert 0 <= across <= WIDE
            assert not any(each.left < across < each.right and each.top < down < each.foot for each in taps)
    assert apart(box for _, box in written(root))
    assert all(whole.holds(box) for _, box in written(root))


@pytest.mark.parametrize("case", CASES)
def test_what_is_typed_is_words_and_never_markup(case: str) -> None:
    name, entries, facts = CASES[case]
    nasty = "<script>'\"&"
    typed = {
        one: spot._replace(key=nasty) for one, spot in spots(entries[:1], shown=nasty, letter=nasty).items()
    }
    told = {
        one: nasty if isinstance(value, str) and one in ("then", "sum", "length") else value
        for one, value in facts.items()
    }
    found = pose(name, typed, told)
    assert found is not None
    assert "<script" not in found.svg
    (group,) = spots_of(read(found.svg))
    assert group.get("data-for") == nasty
    assert [one for one, _ in written(group)] == [nasty, nasty]


@pytest.mark.parametrize("case", CASES)
def test_a_page_with_a_strict_policy_takes_it(case: str) -> None:
    name, entries, facts = CASES[case]
    found = pose(name, spots(entries, "faulty"), facts)
    assert found is not None
    root = read(found.svg)
    names = {attribute for one in root.iter() for attribute in one.keys()}
    assert "style" not in names
    assert not [one for one in names if one.startswith("on")]
    assert [one.get("id") for one in root.iter() if one.get("id")] == [f"hatch-{name}"]
    assert set(re.findall(r"url\((.*?)\)", found.svg)) == {f"#hatch-{name}"}
    assert (root.get("class"), root.get("aria-hidden"), root.get("focusable")) == ("pose", "true", "false")
    classes = {one.get("class") for one in root.iter() if one.get("class")}
    assert classes <= {"pose", "spot faulty", "dim", "say", "tap", "mark"}


@pytest.mark.parametrize("case", CASES)
def test_the_same_is_drawn_again_byte_for_byte_and_with_nothing_typed(case: str) -> None:
    name, entries, facts = CASES[case]
    turned = dict(reversed(spots(entries).items()))
    assert pose(name, turned, facts) == pose(name, spots(entries), facts)
    bare = pose(name, {}, facts)
    assert bare is not None
    assert spots_of(read(bare.svg)) == []
    assert bare.caption.endswith(".")


def test_an_entry_without_a_place_stays_out() -> None:
    found = pose("stack", spots(["stack.cylinder", "stack.another"]))
    assert found is not None
    assert [one.get("data-for") for one in spots_of(read(found.svg))] == ["of stack.cylinder"]
