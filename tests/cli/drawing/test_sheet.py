"""The page: views at one scale, letters that stand clear, nothing beyond its edges."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.drawing.lines import Line, Text
from tallstack.cli.job.entries.letters import lettered

from ...commands import BENCH, COORDINATES
from ...drawn import CUTS, crosses, labels, page


def test_every_dimension_is_labelled_with_letter_entry_and_both_units() -> None:
    drawing = page("front.intake", CUTS)
    for view in drawing.views:
        for one in view.dimensions():
            words = [mark.words for mark in one.marks if isinstance(mark, Text)]
            assert one.letter in words
            said = " ".join(words)
            assert one.entry in said
            assert one.value in said
            if one.entry in lettered() and lettered()[one.entry].measures.value == "length":
                assert " mm (" in one.value
                assert one.value.endswith(" in)")


@pytest.mark.parametrize(
    ("train", "variations", "path"),
    [
        ("front.intake", (), COORDINATES),
        ("rear.exhaust", (), COORDINATES),
        ("front.intake", CUTS, COORDINATES),
        ("front.intake", ('front.intake.valve.length="160 mm"',), COORDINATES),
        ("front.intake", ('front.intake.rocker.shaft.x="-600 mm"',), COORDINATES),
        ("front.intake", ('front.intake.lifter.seat.y="900 mm"', 'stack.bore="300 mm"'), COORDINATES),
        ("front.intake", (), BENCH),
        ("rear.exhaust", (), BENCH),
    ],
)
def test_nothing_leaves_the_page(train: str, variations: tuple[str, ...], path: Path) -> None:
    drawing = page(train, variations, path)
    for mark in drawing.on_page():
        if isinstance(mark, Text):
            points = mark.corners()
        elif isinstance(mark, Line):
            points = mark.points
        else:
            (u, v), r = mark.centre, mark.radius
            points = ((u - r, v - r), (u + r, v + r))
        for u, v in points:
            assert 0 <= u <= drawing.width, mark
            assert 0 <= v <= drawing.height, mark


@pytest.mark.parametrize(
    ("train", "variations", "path"),
    [
        ("front.intake", (), COORDINATES),
        ("rear.intake", (), COORDINATES),
        ("front.exhaust", (), COORDINATES),
        ("front.intake", CUTS, COORDINATES),
        ("front.intake", (), BENCH),
    ],
)
def test_no_label_lies_on_another(train: str, variations: tuple[str, ...], path: Path) -> None:
    texts = [mark for mark in page(train, variations, path).on_page() if isinstance(mark, Text)]
    on_top = [
        (first.words, second.words)
        for index, first in enumerate(texts)
        for second in texts[index + 1 :]
        if crosses(first, second)
    ]
    assert on_top == []


def test_the_scale_said_is_the_scale_drawn() -> None:
    drawing = page("front.intake")
    front = next(view for view in drawing.views if view.name == "front")
    assert f"to scale 1:{1 / front.scale:g} on A4" in " ".join(labels(drawing))
    bars = [
        mark
        for view in drawing.views
        if view.name == "page"
        for mark in view.on_page()
        if isinstance(mark, Line) and len(mark.points) == 2
    ]
    lengths = [math.dist(*mark.points) / front.scale for mark in bars]
    assert any(one == pytest.approx(100.0) for one in lengths)
    assert any(one == pytest.approx(101.6) for one in lengths)


def test_faces_are_level_across_the_page() -> None:
    views = [view for view in page("front.intake").views if view.name in ("stack", "front", "side")]
    assert len({(view.origin[1], view.scale) for view in views}) == 1


def test_an_estimate_says_so_beside_its_length() -> None:
    words = labels(page("front.intake"))
    assert "Pushrod: ESTIMATE, NOT FOR ORDERING: coordinates alone stand behind its length." in words
    assert "pushrod, overall" in words
    assert not any("ESTIMATE" in one for one in labels(page("front.intake", (), BENCH)))
