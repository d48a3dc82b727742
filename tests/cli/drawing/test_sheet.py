"""The page: views at one scale, letters that stand clear, nothing beyond its edges."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.lines import Line, Stroke, Text, View
from tallstack.cli.drawing.section import section, sections_page
from tallstack.cli.job.entries.letters import lettered
from tallstack.cli.job.loading import load

from ...commands import BENCH, COORDINATES, DEMO, EXAMPLES
from ...drawn import CUTS, crosses, labels, page, struck
from ...seeded import few


def test_only_the_letter_stands_at_a_dimension_and_the_legend_says_the_rest() -> None:
    drawing = page("front.intake", CUTS)
    legend = next(view for view in drawing.views if view.name == "legend")
    said = {mark.words: mark for mark in legend.items if isinstance(mark, Text)}
    for view in drawing.views:
        for one in view.dimensions():
            words = [mark.words for mark in one.marks if isinstance(mark, Text)]
            assert words == [one.letter]
            assert one.letter in said
            assert said[one.value].other == one.other
            called = next(row for row in lettered().values() if row.letter == one.letter).called
            assert any(words.startswith(called) for words in said), one.entry
            assert one.entry not in said or one.entry == called


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


MANY = (
    *CUTS,
    *(
        f'front.intake.{entry}="{value} mm"'
        for entry, value in (
            ("pushrod.ball_diameter_low", 8),
            ("pushrod.ball_diameter_high", 8),
            ("pushrod.diameter", 8),
            ("pushrod.wall", 1),
            ("pushrod.hole_low", 1.6),
            ("pushrod.hole_high", 1.6),
            ("valve.retainer_to_seal", 15),
            ("pocket.centre.x", -8),
            ("pocket.centre.y", 0),
            ("pocket.diameter", 52),
            ("pocket.depth", 3),
            ("measured_drop.drop", 8),
            ("measured_drop.room", 2),
        )
    ),
    *(f"front.intake.pocket.lean.{one}={lean}" for one, lean in (("x", -8), ("y", 0))),
    "front.intake.measured_drop.lean=8",
    'front.intake.measured_drop.meets="pocket"',
)


def test_many_entries_leave_the_drawing_its_size() -> None:
    """Of entries that no view shows there may be many: what is drawn stays as large as with few."""
    few_of_them, many = (page("front.intake", one) for one in (CUTS, MANY))
    scales = [next(one for one in each.views if one.name == "front").scale for each in (few_of_them, many)]
    assert scales[1] >= scales[0] / 1.2
    legend = next(view for view in many.views if view.name == "legend")
    left = min(mark.at[0] for mark in legend.items if isinstance(mark, Text))
    assert left > many.width / 2
    views = [view for view in many.views if view.name in ("stack", "front", "side")]
    assert (
        max(one.corners()[1][0] for view in views for one in view.on_page() if isinstance(one, Text)) < left
    )


def test_faces_are_level_across_the_page() -> None:
    views = [view for view in page("front.intake").views if view.name in ("stack", "front", "side")]
    assert len({(view.origin[1], view.scale) for view in views}) == 1


def test_an_estimate_says_so_beside_its_length() -> None:
    words = labels(page("front.intake"))
    assert "Pushrod: ESTIMATE, NOT FOR ORDERING: coordinates alone stand behind its length." in words
    assert "pushrod to order, overall, ESTIMATE" in words
    assert not any("ESTIMATE" in one for one in labels(page("front.intake", (), BENCH)))


JOBS = [DEMO, *sorted(EXAMPLES.glob("*/job.toml"))]


@pytest.mark.parametrize("path", few(JOBS, 6), ids=lambda path: path.parent.name)
def test_no_text_lies_on_another_or_on_any_line(path: Path) -> None:
    """In every drawing of a job, as wide as its letters are printed."""
    job = load(path).at_hand
    drawn = [pages.drawing(job, order) for order in job.orders[:2]]
    drawn += [one for name in job.names["cylinders"] if (one := pages.of_cylinder(job, name)) is not None]
    drawn += [one for at in (237.0,) if (one := pages.of_engine(job, at)) is not None]
    found = job.clearances
    cuts = [
        section(job.mapping, job.units, found.situations[one.train.rpartition(".")[0]], one)
        for one in found.valves
    ]
    cuts = [one for one in cuts if one is not None]
    drawn += [sections_page(job.title, cuts)] if cuts else []
    assert drawn
    assert [(one.title, told) for one in drawn for told in struck(one, least=0.0)] == []


def test_a_text_on_a_line_would_be_found() -> None:
    drawing = page("front.intake")
    wall = next(one for one in drawing.on_page() if isinstance(one, Line) and one.stroke is Stroke.OUTLINE)
    view = View(
        "x",
        "x",
        (
            Text((wall.points[0][0] - 2.0, wall.points[0][1]), "on it", 3.0),
            Text((0.0, 0.0), "aside", 3.0),
            Text((1.0, 1.0), "over it", 3.0),
        ),
    )
    told = struck(replace(drawing, views=(*drawing.views, view)))
    assert "on it on a line" in told
    assert "aside / over it" in told
