"""The drawing itself: every entry moves what it measures, letters stand, nothing leaves the page."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing import pages, sheet
from tallstack.cli.drawing.legend import width_of
from tallstack.cli.drawing.lines import Circle, Dimension, Drawing, Line, Text, Way, width
from tallstack.cli.drawing.solids import FRONT, SIDE
from tallstack.cli.drawing.subject import Gear, Subject, gear, heights
from tallstack.cli.job.entries.letters import ALPHABET, letter_at, letter_of, lettered
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.core.frames import norm
from tallstack.geometry.gear.train import closed
from tallstack.geometry.pushrod.ordering import Order, orders

from ...commands import BENCH, COORDINATES

CUTS = (
    'stack.case_cut="1.2 mm"',
    'stack.head_cut="0.8 mm"',
    'piston.pin_offset="1.0 mm"',
    'front.intake.valve.sink="0.6 mm"',
    'front.intake.lifter.lowered="1.4 mm"',
)
MOVED = {  # every numeric entry that is drawn, and another value for it, in mm or degrees
    "stack.base_gasket": "2.45 mm",
    "stack.cylinder": "144.3 mm",
    "stack.head_gasket": "3.05 mm",
    "stack.bore": "99.5 mm",
    "stack.case_deck": "141.2 mm",
    "stack.case_cut": "3.2 mm",
    "stack.head_cut": "3.0 mm",
    "crank.stroke": "112 mm",
    "crank.conrod_length": "191 mm",
    "piston.compression_height": "33 mm",
    "piston.pin_offset": "3.0 mm",
    "front.intake.lifter.seat.x": "-23.5 mm",
    "front.intake.lifter.seat.y": "60 mm",
    "front.intake.lifter.seat.z": "-11 mm",
    "front.intake.lifter.lean.x": "4",
    "front.intake.lifter.lean.y": "2",
    "front.intake.lifter.lowered": "3.4 mm",
    "front.intake.rocker.shaft.x": "-35.4 mm",
    "front.intake.rocker.shaft.y": "31 mm",
    "front.intake.rocker.shaft.z": "126 mm",
    "front.intake.rocker.direction": "[0.05, 1, 0.05]",
    "front.intake.rocker.valve_arm": "37 mm",
    "front.intake.rocker.pushrod_arm": "24 mm",
    "front.intake.rocker.arm_angle": "163",
    "front.intake.rocker.valve_station": "-31 mm",
    "front.intake.rocker.pushrod_station": "26 mm",
    "front.intake.rocker.tip_radius": "7.5 mm",
    "front.intake.valve.face.x": "-21 mm",
    "front.intake.valve.face.y": "3 mm",
    "front.intake.valve.face.z": "15 mm",
    "front.intake.valve.lean.x": "-24",
    "front.intake.valve.lean.y": "3",
    "front.intake.valve.length": "111 mm",
    "front.intake.valve.head_diameter": "50 mm",
    "front.intake.valve.margin": "3.3 mm",
    "front.intake.valve.stem_diameter": "10 mm",
    "front.intake.valve.sink": "2.6 mm",
}
SEEN_ASLANT = {"lifter.lowered", "valve.margin"}  # along a part that leans out of the view
NO_LINE = {"rocker.direction"}  # it has a label, but it is a direction: what moves is the shaft


@cache
def job_of(path: Path, variations: tuple[str, ...] = ()) -> JobFile:
    return load(path, variations)


def order_of(job: JobFile, train: str) -> Order:
    found = orders(job.mapping, job.quantities, job.doubts)
    return next(one for one in found if one.train.name == train)


@cache
def subject(train: str, variations: tuple[str, ...] = (), path: Path = COORDINATES) -> Subject:
    job = job_of(path, variations)
    return pages.subject_of(job, order_of(job, train))


@cache
def page(train: str, variations: tuple[str, ...] = (), path: Path = COORDINATES) -> Drawing:
    job = job_of(path, variations)
    return pages.drawing(job, order_of(job, train))


def gear_of(train: str, variations: tuple[str, ...] = ()) -> Gear:
    found = gear(subject(train, variations))
    assert found is not None
    return found


def unplaced(one: Subject) -> tuple[sheet.Unplaced, ...]:
    return sheet.views(one, heights(one), gear(one))


def dimensions(train: str, variations: tuple[str, ...] = ()) -> dict[str, Dimension]:
    views = unplaced(subject(train, variations))
    return {one.entry: one for view in views for one in view.items if isinstance(one, Dimension)}


def outlines(train: str, variations: tuple[str, ...] = ()) -> list[Line | Circle]:
    views = unplaced(subject(train, variations))
    return [one for view in views for one in view.items if isinstance(one, (Line, Circle))]


CYLINDER = """
format = 1
title = "a cylinder"
units = "mm"
crank = { stroke = 108, conrod_length = 188, conrod_beam_width = 22, counterweight_radius = 70 }
piston = { compression_height = 31, pin_offset = 1, diameter = 95.9, skirt_below_pin = 20, skirt_inner = 78, oil_ring = 17 }
chamber = { volume = "60 cc", gasket_bore = 97 }
studs = { stands = 215, head_seat = 75, washer = 2.5, nut_height = 16, diameter = 9 }
[stack]
bore = 96
case_deck = 140
base_gasket = 0.5
cylinder = 133.2
head_gasket = 1
mouth_width = 108
mouth_below = 12
[[cylinder]]
name = "front"
lean = 25
spigot = { length = 34, outer_diameter = 104, reliefs = [{ at = 200, width = 40, height = 11 }] }
intake_face = { centre = [-60, 0, 50], normal = [-1, 0, 0] }
exhaust_face = { centre = [58, 0, 44], normal = [1, 0, -1] }
"""
MOVED_IN_CYLINDER = {
    "stack.bore": "97 mm",
    "stack.case_deck": "143 mm",
    "stack.mouth_width": "112 mm",
    "stack.mouth_below": "15 mm",
    "crank.stroke": "112 mm",
    "crank.conrod_length": "193 mm",
    "crank.conrod_beam_width": "25 mm",
    "crank.counterweight_radius": "75 mm",
    "piston.compression_height": "33 mm",
    "piston.diameter": "95 mm",
    "piston.skirt_below_pin": "24 mm",
    "piston.skirt_inner": "74 mm",
    "piston.oil_ring": "20 mm",
    "chamber.gasket_bore": "99 mm",
    "front.spigot.length": "39 mm",
    "front.spigot.outer_diameter": "107 mm",
    "front.spigot.reliefs.0.at": "215",
    "front.spigot.reliefs.0.width": "50 mm",
    "front.spigot.reliefs.0.height": "15 mm",
    "front.intake_face.centre.x": "-64 mm",
    "front.intake_face.centre.z": "53 mm",
    "front.exhaust_face.centre.x": "62 mm",
    "front.exhaust_face.centre.z": "48 mm",
    "studs.stands": "220 mm",
    "studs.head_seat": "70 mm",
    "studs.washer": "4 mm",
    "studs.nut_height": "20 mm",
    "studs.diameter": "11 mm",
}


def cylinder_dimensions(path: Path, *variations: str) -> dict[str, Dimension]:
    path.write_text(CYLINDER, encoding="utf-8")
    one = pages.cylinder_of(load(path, variations), "front")
    faces = heights(one)
    assert faces is not None
    views = sheet.views_of_cylinder(one, faces)
    return {each.entry: each for view in views for each in view.items if isinstance(each, Dimension)}


@pytest.mark.parametrize("entry", MOVED_IN_CYLINDER)
def test_another_value_moves_the_dimension_line_of_a_cylinder(entry: str, tmp_path: Path) -> None:
    name = entry.removeprefix("front.")
    path = tmp_path / "job.toml"
    before, after = (
        cylinder_dimensions(path),
        cylinder_dimensions(path, f"{entry}={MOVED_IN_CYLINDER[entry]}"),
    )
    assert before.keys() == after.keys() == {one.removeprefix("front.") for one in MOVED_IN_CYLINDER}
    assert before[name].value != after[name].value
    assert measured(before[name]) != measured(after[name])
    drawn, entered = (
        after[name],
        pages.cylinder_of(load(path, (f"{entry}={MOVED_IN_CYLINDER[entry]}",)), "front"),
    )
    value = entered.number(name)
    assert value is not None
    if not name.endswith(".at"):
        along = {Way.ACROSS: (0,), Way.UP: (1,)}.get(drawn.way, (0, 1))
        long = math.hypot(*(drawn.end[axis] - drawn.start[axis] for axis in along))
        assert long == pytest.approx(abs(value), rel=3e-4 if name == "crank.conrod_length" else 1e-9)


def test_a_cylinders_page_holds_everything_and_no_label_lies_on_another(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(CYLINDER, encoding="utf-8")
    drawing = pages.of_cylinder(load(path), "front")
    assert drawing is not None
    texts = [mark for mark in drawing.on_page() if isinstance(mark, Text)]
    for text in texts:
        for u, v in text.corners():
            assert 0 <= u <= drawing.width, text
            assert 0 <= v <= drawing.height, text
    over = [(a.words, b.words) for index, a in enumerate(texts) for b in texts[index + 1 :] if crosses(a, b)]
    assert over == []


def measured(one: Dimension) -> tuple[object, ...]:
    return (one.way, one.start, one.end, one.apex)


def test_letters_run_on_after_the_last() -> None:
    assert [letter_at(index) for index in (0, 7, 8, 23, 24, 47, 48)] == ["A", "H", "J", "Z", "AA", "AZ", "BA"]
    assert len(ALPHABET) == 24


@pytest.mark.parametrize("entry", MOVED)
def test_another_value_moves_the_dimension_line_or_the_outline(entry: str) -> None:
    train = "front.intake"
    other = (*CUTS, f"{entry}={MOVED[entry]}")
    name = entry.removeprefix(f"{train}.")
    before, after = dimensions(train, CUTS), dimensions(train, other)
    assert name in before
    assert before[name].value != after[name].value
    if name in NO_LINE:
        assert outlines(train, CUTS) != outlines(train, other)
    else:
        assert measured(before[name]) != measured(after[name])


def test_every_entry_that_is_drawn_has_a_case_above() -> None:
    drawn = {f"front.intake.{name}" for name in dimensions("front.intake", CUTS)} | set(
        dimensions("front.intake", CUTS)
    )
    drawn = {one for one in drawn if one in MOVED}
    names = {one.removeprefix("front.intake.") for one in drawn}
    assert names == {name for name in dimensions("front.intake", CUTS) if not name.startswith("pushrod,")}


@pytest.mark.parametrize("entry", MOVED)
def test_a_dimension_line_is_as_long_as_its_entry_says(entry: str) -> None:
    name = entry.removeprefix("front.intake.")
    one, value = dimensions("front.intake", CUTS)[name], subject("front.intake", CUTS).number(name)
    if value is None:
        return
    shown = {"x": 0, "y": 0, "z": 1}
    if name.rpartition(".")[2] in shown and "lean" not in name:
        axis = shown[name.rpartition(".")[2]]
        assert one.end[axis] - one.start[axis] == pytest.approx(value, abs=1e-9)
    elif "lean" in name:
        up, across = one.end[1] - one.apex[1], one.end[0] - one.apex[0]
        assert math.atan2(across, up) == pytest.approx(value, abs=1e-9)
    elif name == "rocker.arm_angle":
        first, last = (
            math.atan2(point[1] - one.apex[1], point[0] - one.apex[0]) for point in (one.start, one.end)
        )
        assert (last - first) * one.side % (2 * math.pi) == pytest.approx(value, abs=1e-9)
    elif name in SEEN_ASLANT:
        assert 0.9 * value < math.dist(one.start, one.end) <= value
    elif name.endswith("_station"):
        assert one.end[0] - one.start[0] == pytest.approx(value, abs=1e-9)
    else:
        assert math.dist(one.start, one.end) == pytest.approx(value, abs=1e-9)


def test_the_pushrod_drawn_is_the_one_that_is_required() -> None:
    for train in ("front.intake", "front.exhaust", "rear.intake", "rear.exhaust"):
        required = order_of(job_of(COORDINATES), train).required
        where = gear_of(train)
        assert required is not None
        assert where.ball_high is not None
        assert float(norm(where.ball_high - where.ball)) == pytest.approx(
            float(required.lengths["centres"]), abs=1e-9
        )


@pytest.mark.parametrize("lash_at", ["valve", "pushrod"])
def test_a_solid_lifters_pushrod_is_drawn_with_its_lash(lash_at: str) -> None:
    solid = (
        "front.intake.lifter.kind=solid",
        'front.intake.lifter.lash="0.4 mm"',
        f"front.intake.lifter.lash_at={lash_at}",
    )
    required = order_of(job_of(COORDINATES, solid), "front.intake").required
    where = gear_of("front.intake", solid)
    assert required is not None
    assert where.ball_high is not None
    length = float(norm(where.ball_high - where.ball))
    assert length == pytest.approx(float(required.lengths["centres"]), abs=1e-9)


def test_the_contact_lies_on_the_stem_tip_and_the_arms_are_as_long_as_entered() -> None:
    one, where = subject("front.intake"), gear_of("front.intake")
    drawn = one.train.drawn
    assert drawn is not None
    assert where.contact is not None
    assert where.contact_centre is not None
    assert where.cup is not None
    assert float(np.vecdot(where.contact - where.tip, where.stem)) == pytest.approx(0.0, abs=1e-9)
    assert float(norm(where.contact - where.contact_centre)) == pytest.approx(5.5, abs=1e-9)
    assert float(norm(where.contact_centre - where.valve_foot)) == pytest.approx(35.0, abs=1e-9)
    assert float(norm(where.cup - where.cup_foot)) == pytest.approx(21.5, abs=1e-9)
    assert np.allclose(where.cup, closed(drawn).cup, atol=1e-12)


def test_the_same_points_are_drawn_in_both_views() -> None:
    where = gear_of("front.intake")
    assert where.ball_high is not None
    views = {view.name: view for view in unplaced(subject("front.intake"))}
    for look in (FRONT, SIDE):
        circles = [one.centre for one in views[look.name].items if isinstance(one, Circle)]
        assert look.at(where.ball) in circles
        assert look.at(where.ball_high) in circles


def mirrored(items: list[Line | Circle]) -> set[tuple[object, ...]]:
    """Return marks as sets of points with x reversed, so that the order of points does not count."""
    return {shape(one, -1.0) for one in items}


def shape(one: Line | Circle, sign: float = 1.0) -> tuple[object, ...]:
    points = one.points if isinstance(one, Line) else (one.centre,)
    radius = 0.0 if isinstance(one, Line) else round(one.radius, 6)
    kept = frozenset((round(sign * u, 6) + 0.0, round(v, 6) + 0.0) for u, v in points)
    return (type(one).__name__, kept, radius, one.stroke)


@pytest.mark.parametrize("port", ["intake", "exhaust"])
def test_a_mirrored_valve_gear_is_the_mirror_image(port: str) -> None:
    same = ('rear.stack.cylinder="141.30 mm"',)
    front = {view.name: view for view in unplaced(subject(f"front.{port}", same))}
    rear = {view.name: view for view in unplaced(subject(f"rear.{port}", same))}

    def drawn(view: sheet.Unplaced) -> list[Line | Circle]:
        return [one for one in view.items if isinstance(one, (Line, Circle))]

    assert mirrored(drawn(front["front"])) == {shape(one) for one in drawn(rear["front"])}
    assert {shape(one) for one in drawn(front["side"])} == {shape(one) for one in drawn(rear["side"])}


def labels(drawing: Drawing) -> list[str]:
    return [mark.words for mark in drawing.on_page() if isinstance(mark, Text)]


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


def test_the_legend_lists_every_entry_of_the_valve_gear_that_has_a_letter() -> None:
    one = subject("front.intake")
    listed = [
        mark.words
        for view in page("front.intake").views
        if view.name == "legend"
        for mark in view.on_page()
        if isinstance(mark, Text)
    ]
    for row, value in one.lettered(both=False):
        assert row.letter in listed
        assert row.entry in listed
        assert value in listed


def test_assumed_values_are_not_listed_as_entered() -> None:
    bare = subject("front.intake", path=BENCH)
    assert "stack.case_cut" not in [row.entry for row, _ in bare.lettered()]


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


def crosses(first: Text, second: Text) -> bool:
    """Say whether two upright or level texts lie on each other."""
    boxes = []
    for one in (first, second):
        across, up = zip(*one.corners(), strict=True)
        boxes.append((min(across), min(up), max(across), max(up)))
    (a, b, c, d), (e, f, g, h) = boxes
    slack = 0.3
    across_by, up_by = min(c, g) - max(a, e), min(d, h) - max(b, f)
    return bool(across_by > slack and up_by > slack)


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


def test_a_bench_only_valve_gear_gets_a_sketch_that_says_so() -> None:
    words = labels(page("front.intake", (), BENCH))
    assert "SKETCH, NOT TO SCALE: reading a pushrod" in words
    assert "The valve gear's coordinates are not entered; the sketch shows how it is measured." in words
    assert "plunger up at its top stop" in words
    for entry in ("stack.cylinder", "stack.base_gasket", "stack.head_gasket", "measured_pushrod.lean"):
        assert letter_of(entry) in words
    assert "11.000 in (279.40 mm)" in words


def test_a_solid_lifter_is_sketched_without_a_plunger() -> None:
    one = subject("front.intake", path=BENCH)
    solid = replace(one, mapping={**one.mapping, "front.intake.lifter.kind": "solid"})
    words = [item.words for view in unplaced(solid) for item in view.items if isinstance(item, Text)]
    assert "solid lifter" in words
    assert not [one for one in words if "plunger up" in one or "load on the plunger" in one]


def test_what_the_sketch_needs_and_does_not_have_is_named() -> None:
    one = subject("front.intake", path=BENCH)
    bare = replace(one, mapping={"cylinders": ("front",), "trains": ("front.intake",)}, required_value="")
    drawn = [item for view in unplaced(bare) for item in view.items if isinstance(item, Dimension)]
    assert {item.entry: item.value for item in drawn}["measured_pushrod.length"] == "not entered"


def test_other_ways_to_say_an_entry_are_drawn_too(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    text = COORDINATES.read_text(encoding="utf-8")
    for before, after in (
        ('arm_angle = "158 +/- 1"', 'span = "55.513 mm"\narms = "droop"'),
        ('pushrod_arm = "21.5 +/- 0.2"', "ratio = 1.628"),
        ('length = "112.4 +/- 0.1"', "tip_height = 117.4"),
    ):
        assert before in text
        text = text.replace(before, after, 1)
    path.write_text(text, encoding="utf-8")
    views = unplaced(subject("front.intake", path=path))
    found = {one.entry: one for view in views for one in view.items if isinstance(one, Dimension)}
    span, height = found["rocker.span"], found["valve.tip_height"]
    assert math.dist(span.start, span.end) == pytest.approx(55.513, abs=1e-6)
    assert height.end[1] - height.start[1] == pytest.approx(117.4, abs=1e-6)
    assert found["valve.length"].remark == found["rocker.arm_angle"].remark == "worked out"


def test_widths_are_not_less_than_those_of_a_wide_face() -> None:
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    for words in ("rocker.pushrod_station  23.00 mm (0.906 in)", "ESTIMATE, NOT FOR ORDERING", "AMW"):
        for weight, bold in (("normal", False), ("bold", True)):
            face = FontProperties(family="DejaVu Sans", weight=weight)
            real = TextPath((0, 0), words, size=10, prop=face).get_extents().width
            assert real <= width(words, 10, bold) * 1.02


def test_the_legend_is_as_wide_as_it_says() -> None:
    rows = subject("front.intake").lettered()
    assert 40 < width_of(rows) < 110
