"""A page brings its own letters along, and no more."""

from __future__ import annotations

import base64
import io
import re

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from tallstack.cli.page import letters

from ...geometry.clearance.test_turning import twin  # noqa: F401  a fixture


def test_a_pages_letters_come_with_it() -> None:
    faces = re.findall(r"base64,([^\"]+)", letters.embedded("25° \u0416"))
    assert len(faces) == 2
    for face in faces:
        with TTFont(io.BytesIO(base64.b64decode(face))) as font:
            assert {ord("A"), ord("°"), 0x0416} <= font.getBestCmap().keys()
            assert 0x0417 not in font.getBestCmap()
