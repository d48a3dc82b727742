"""One cylinder on paper: every entry moves what it measures, and no label lies on another."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.drawing import pages, sheet
from tallstack.cli.drawing.lines import Dimension, Text, Way
from tallstack.cli.drawing.subject import heights
from tallstack.cli.job.loading import load

from ...drawn import crosses, measured

CYLINDER = """
format = 1
title = "a cylinder"
units = "mm"
crank = { stroke = 108, conrod_length = 188, conrod_beam_width = 22, counterweight_radius = 70 }
piston = { compression_height = 31, pin_offset = 1, diameter = 95.9, skirt_below_pin = 20, skirt_inner = 78, oil_ring = 17, arch_width = 40, arch_height = 8, boss_below_pin = 14 }
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
spigot = { length = 34, outer_diameter = 104, chamfer = 2, reliefs = [{ at = 200, width = 40, height = 11 }] }
intake_face = { centre = [-60, 0, 50], normal = [-1, 0, 0] }
exhaust_face = { centre = [58, 0, 44], normal = [1, 0, -1] }
"""


MOVED_IN_CYLINDER = {
    "stack.base_gasket": "2.5 mm",
    "stack.cylinder": "136.2 mm",
    "stack.head_gasket": "3 mm",
    "piston.pin_offset": "2 mm",
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
    "piston.arch_width": "44 mm",
    "piston.arch_height": "6 mm",
    "piston.boss_below_pin": "16 mm",
    "chamber.gasket_bore": "99 mm",
    "front.spigot.length": "39 mm",
    "front.spigot.outer_diameter": "107 mm",
    "front.spigot.chamfer": "3 mm",
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
        assert long == pytest.approx(abs(value), rel=1e-3 if name == "crank.conrod_length" else 1e-9)


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
