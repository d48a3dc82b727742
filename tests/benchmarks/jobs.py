"""The jobs that are timed: a twin by coordinates with a cam, with pockets or lobe tables or none."""

from __future__ import annotations

import re
from pathlib import Path

from ..commands import COORDINATES

PEAK_MM, DEGREES = 8.0, 300  # of both lobes, and of crank from seat to seat
CAM = f"""
[lobe.intake]
law = {{ name = "4-5-6-7", peak = "{PEAK_MM} +/- 0.05", degrees = {DEGREES} }}
centreline = "106 +/- 1"
[lobe.exhaust]
law = {{ name = "4-5-6-7", peak = "{PEAK_MM} +/- 0.05", degrees = {DEGREES} }}
centreline = "110 +/- 1"
"""
POCKET = """[train.pocket]
centre = ["{x} +/- 0.1", "0 +/- 0.1"]
lean = ["{lean} +/- 0.5", "0 +/- 0.5"]
diameter = "{across} +/- 0.1"
depth = "4.0 +/- 0.1"
"""


def twin(folder: Path, pockets: bool, tables: bool = False) -> Path:
    """Return the twin by coordinates with a cam, by a law or by tables, and pockets under its valves or none."""
    text = COORDINATES.read_text(encoding="utf-8")
    if pockets:
        parts = text.split("[train.pushrod]\n")
        assert len(parts) == 3
        first, second = POCKET.format(x=-22.5, lean=-22, across=53), POCKET.format(x=22.0, lean=21, across=47)
        text = "[train.pushrod]\n".join([parts[0] + first, parts[1] + second, parts[2]])
        text = text.replace('case_deck = "138.20', 'case_deck = "132.50')  # the valves stand in their pockets
    text = text.replace("[[cylinder]]", f"{CAM}\n[[cylinder]]", 1)
    if tables:
        (folder / "lobe.csv").write_text("\n".join(["angle,lift", *map(_row, range(-200, 201, 2))]) + "\n")
        text = re.sub(r"law = \{[^}]*\}", 'table = "lobe.csv"', text)
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def _row(half_degrees: int) -> str:
    """Return a reading of the lobe at an angle of the cam, to a thousandth of a mm."""
    degrees = half_degrees / 2
    x = max(1 - abs(degrees) / (DEGREES / 4), 0.0)
    return f"{degrees},{PEAK_MM * x**4 * (35 - 84 * x + 70 * x**2 - 20 * x**3):.3f}"
