"""A drawing as SVG: what was typed stays text, and it can be listened to."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

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
    assert used <= {"black", "white", "none"}
