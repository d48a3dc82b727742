from __future__ import annotations

from tallstack.cli.bench.poses.crank import crank

from .looking import apart, page, read, said, written


def test_the_crank_is_turned_where_it_is_told_to_stand() -> None:
    upright, on, unknown = (crank({}, {"cylinder": "front", "at": at, "words": ""}) for at in (0, 90.0, None))
    assert len({upright.svg, on.svg, unknown.svg}) == 3
    assert "Cylinder front: the crank 90 degrees after its compression top centre" in on.caption
    assert unknown.caption == "Cylinder front: where the crank stands is not known."


def test_the_second_turn_stands_alike_and_is_told() -> None:
    first, second = (crank({}, {"cylinder": "rear", "at": at}) for at in (45.0, 405.0))
    assert first.svg == second.svg
    assert "in the second turn" in second.caption
    assert "second" not in first.caption


def test_words_beneath_are_escaped_and_in_the_pose() -> None:
    found = crank({}, {"cylinder": "<b>", "at": 10.0, "words": "<script> " * 20})
    assert "<script" not in found.svg
    assert "<b>" not in found.svg
    root = read(found.svg)
    boxes = [box for _, box in written(root)]
    assert apart(boxes)
    assert all(page(root).holds(one) for one in boxes)
    assert said(found.svg)[-1].startswith("<script>")
    assert [one.get("id") for one in root.iter() if one.get("id")] == ["hatch-crank"]
