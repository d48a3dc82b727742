"""A drawing as SVG: what was typed stays text, and it can be listened to."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from tallstack.cli.drawing.lines import Drawing, Fill, Line, View, measured
from tallstack.cli.drawing.svg import inline, svg

from ...commands import BENCH, COORDINATES, tallstack
from ...seeded import few

SVG = "{http://www.w3.org/2000/svg}"


NASTY = "<script>&\"']]> $x^2$"


def titled(tmp_path: Path, title: str) -> Path:
    path = tmp_path / "job.toml"
    text = BENCH.read_text(encoding="utf-8")
    path.write_text(
        text.replace("58 degree twin, cylinders 0.201 in taller", title.replace('"', '\\"')), encoding="utf-8"
    )
    return path


@pytest.mark.wide
def test_a_title_stays_text(tmp_path: Path) -> None:
    job, path = titled(tmp_path, NASTY), tmp_path / "gear.svg"
    assert tallstack("draw", job, "-o", path).status == 0
    root = ET.fromstring(path.read_text(encoding="utf-8"))
    assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {
        "svg", "title", "desc", "g", "rect", "circle", "polygon", "polyline", "text",
    }  # fmt: skip
    assert NASTY in [one.text for one in root.iter(f"{SVG}text")]
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == f"{NASTY}: valve gear, front intake"
    for ending in ("png", "pdf"):
        assert tallstack("draw", job, "-o", tmp_path / f"gear.{ending}").status == 0


@pytest.mark.wide
@pytest.mark.parametrize("title", few(["", "発動機 Zweizylinder", "a" * 190], 1))
def test_any_title_can_be_drawn(tmp_path: Path, title: str) -> None:
    job = titled(tmp_path, title)
    for ending in ("svg", "png", "pdf"):
        ended = tallstack("draw", job, "-o", tmp_path / f"gear.{ending}")
        assert (ended.status, ended.err) == (0, "")
    ET.fromstring((tmp_path / "gear.svg").read_text(encoding="utf-8"))


def test_the_drawing_is_for_people_who_listen_too(tmp_path: Path) -> None:
    path = tmp_path / "gear.svg"
    tallstack("draw", COORDINATES, "-o", path)
    root = ET.fromstring(path.read_text(encoding="utf-8"))
    assert root.get("role") == "img"
    description = root.find(f"{SVG}desc")
    assert description is not None
    assert description.text is not None
    assert "to scale 1:3 on A4" in description.text
    assert "what looks wrong here, measure again" in description.text


def test_lines_are_black_on_white(tmp_path: Path) -> None:
    path = tmp_path / "gear.svg"
    tallstack("draw", COORDINATES, "-o", path)
    root = ET.fromstring(path.read_text(encoding="utf-8"))
    used = {one.get(key) for one in root.iter() for key in ("fill", "stroke")} - {None}
    assert used <= {"black", "white", "none", Fill.GREY.value}


def test_within_a_page_its_style_says_the_colours_and_which_unit_is_shown() -> None:
    """A file shows the job's unit; a page has both, the other in a class of its own."""
    say = {"mm": "drop 2.54 mm", "in": "drop 0.100 in"}
    marks = (
        Line(((0.0, 0.0), (1.0, 1.0), (1.0, 0.0)), closed=True, fill=Fill.GREY),
        measured((1.0, 1.0), "in", say.__getitem__, 3.0),
    )
    drawing = Drawing("a", "b", 10.0, 10.0, (View("v", "v", marks),))
    page, file = inline(drawing, [("part-0", [marks[0]])]), svg(drawing).decode()
    root = ET.fromstring(page)
    used = {one.get(key) for one in root.iter() for key in ("fill", "stroke")} - {None, "none"}
    assert used == {"var(--ink, black)", "var(--paper, white)", f"var(--body, {Fill.GREY.value})"}
    assert '<tspan class="u-in">drop 0.100 in</tspan><tspan class="u-mm other">drop 2.54 mm</tspan>' in page
    assert ">drop 0.100 in</text>" in file
    assert "2.54" not in file
    assert "var(" not in file
