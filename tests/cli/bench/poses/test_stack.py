from __future__ import annotations

from tallstack.cli.bench.poses.spots import WIDE
from tallstack.cli.bench.poses.stack import stack

from .looking import read, said, spots, spots_of, tap, written

OWN = ("stack.base_gasket", "stack.cylinder", "stack.head_gasket")


def levels(entries: list[str], facts: dict[str, object]) -> dict[str, tuple[bool, float]]:
    """Return of each field whether it stands on the left, and how low."""
    root = read(stack(spots(entries), facts).svg)
    return {
        one.get("data-for", "").removeprefix("of "): (tap(one).left < WIDE / 2, tap(one).top)
        for one in spots_of(root)
    }


def test_fields_stand_in_the_order_of_the_parts_the_crank_below() -> None:
    found = levels([*OWN, "stack.case_deck", "stack.head_cut"], {})
    order = sorted(found, key=lambda one: found[one][1])
    assert order == [
        "stack.head_cut",
        "stack.head_gasket",
        "stack.cylinder",
        "stack.base_gasket",
        "stack.case_deck",
    ]


def test_what_stood_then_has_the_second_column() -> None:
    for table in ("before.", "measured_pushrod."):
        found = levels([*OWN, *(f"{table}{one}" for one in OWN), "crank.stroke"], {"then": "as it was"})
        for one in OWN:
            assert found[one] == (True, found[one][1])
            assert found[f"{table}{one}"] == (False, found[f"{table}{one}"][1])
        assert found["crank.stroke"][0]


def test_without_a_second_column_what_stood_then_stays_out() -> None:
    assert set(levels([*OWN, "before.stack.cylinder"], {})) == set(OWN)


def test_the_second_column_and_the_sum_are_told_in_words() -> None:
    found = stack(spots(OWN), {"then": "when the rod was read", "sum": "+0.200 +0.011 = 0.211 in taller"})
    assert {"as it will be", "when the rod was read", "+0.200 +0.011 = 0.211 in taller"} <= set(
        said(found.svg)
    )
    assert "right: when the rod was read" in found.caption
    bare = stack(spots(OWN), {"then": "", "sum": ""})
    assert "right" not in bare.caption
    assert "as it will be" not in said(bare.svg)


def test_what_stood_then_has_the_letter_of_what_stands_now() -> None:
    both = spots(["stack.cylinder"], letter="B") | spots(["before.stack.cylinder"], letter="")
    groups = spots_of(read(stack(both, {"then": "as it was"}).svg))
    assert [next(written(one))[0] for one in groups] == ["B", "B"]


def bodies(svg: str) -> int:
    """Return how many shapes are drawn that are always the same."""
    return svg.split("<g transform")[1].split("</g>")[0].count("<path")


def test_a_cylinder_is_drawn_once_where_it_is_told_and_else_as_a_body() -> None:
    bare = bodies(stack({}, {}).svg)
    assert bodies(stack(spots(["stack.cylinder"], "lacking"), {}).svg) == bare - 2
    then = stack(spots(["stack.cylinder"]), {"then": "as it was"}).svg
    assert bodies(then) == bare - 1
    assert bodies(stack(spots(["stack.base_gasket"]), {}).svg) == bare


def test_a_block_has_no_cylinder_that_stands_on_a_case() -> None:
    on_case, block = stack({}, {"block": False}).svg, stack({}, {"block": True}).svg
    assert on_case != block
    assert "block deck" in said(stack(spots(["stack.block_deck"], letter=""), {"block": True}).svg)


def test_what_has_no_letter_is_named_as_a_legend_names_it() -> None:
    groups = spots_of(read(stack(spots(["before.crank.stroke"], letter=""), {"then": "as it was"}).svg))
    assert [one for one, _ in written(groups[0])][0] == "stroke"
