"""A drawing as PNG and PDF: its size, and its letters."""

from __future__ import annotations

from pathlib import Path

import pytest

from ....commands import COORDINATES, tallstack


@pytest.mark.wide
def test_a_pdf_carries_its_letters(tmp_path: Path) -> None:
    path = tmp_path / "gear.pdf"
    tallstack("draw", COORDINATES, "-o", path)
    content = path.read_bytes()
    assert b"/FontFile2" in content
    assert b"DejaVuSans" in content
    assert content.rstrip().endswith(b"%%EOF")


def test_a_png_opens_at_the_size_of_the_page(tmp_path: Path) -> None:
    from PIL import Image

    path = tmp_path / "gear.png"
    tallstack("draw", COORDINATES, "-o", path)
    with Image.open(path) as picture:
        picture.load()
        assert picture.width / picture.height == pytest.approx(297 / 210, abs=0.002)
        assert picture.convert("L").getextrema() == (0, 255)
