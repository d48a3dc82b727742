"""Invented jobs for the tests of clearances: a single by coordinates, and the same engine by its readings."""

from __future__ import annotations

from pathlib import Path

BY_COORDINATES = """
format = 1
title = "a single by coordinates"
units = "mm"
[crank]
stroke = "96.0 +/- 0.02"
conrod_length = "176.0 +/- 0.05"
turns = "forward"
[piston]
compression_height = "34.0 +/- 0.05"
pin_offset = "0.8 +/- 0.05"
[stack]
bore = 92.0
case_deck = "131.9 +/- 0.05"
base_gasket = "0.45 +/- 0.03"
cylinder = "125.2 +/- 0.02"
head_gasket = "1.05 +/- 0.05"
[[cylinder]]
name = "one"
[lobe.intake]
law = { name = "4-5-6-7", peak = "8.1 +/- 0.02", degrees = "300 +/- 1" }
centreline = "106 +/- 1"
[lobe.exhaust]
card = { peak = "7.9 +/- 0.02", duration = { at = "1.27 +/- 0.001", degrees = "223 +/- 1" }, seat = { at = "0.2 +/- 0.001", degrees = "276 +/- 1" } }
centreline = "110 +/- 1"
[[train]]
cylinder = "one"
port = "intake"
[train.lifter]
kind = "hydraulic"
seat = ["-20.5 +/- 0.3", "57.0 +/- 0.3", "-14.0 +/- 0.3"]
lean = ["1.2 +/- 0.5", "-1.0 +/- 0.5"]
plunger_travel = 3.8
preload = "1.1 +/- 0.1"
[train.rocker]
shaft = ["-32.4 +/- 0.2", "28.0 +/- 0.2", "128.2 +/- 0.2"]
direction = ["0 +/- 0.003", 1, "0 +/- 0.003"]
valve_arm = "35.0 +/- 0.2"
pushrod_arm = "21.5 +/- 0.2"
arm_angle = "158 +/- 1"
valve_station = "-28.0 +/- 0.2"
pushrod_station = "23.0 +/- 0.2"
tip_radius = "5.5 +/- 0.2"
[train.valve]
face = ["-21.5 +/- 0.2", "0.0 +/- 0.2", "7.6 +/- 0.1"]
lean = ["-22 +/- 0.5", "0 +/- 0.5"]
length = "118.0 +/- 0.1"
head_diameter = "40.0 +/- 0.05"
margin = "1.3 +/- 0.1"
stem_diameter = 8.0
POCKET_IN
[[train]]
cylinder = "one"
port = "exhaust"
[train.lifter]
kind = "hydraulic"
seat = ["22.5 +/- 0.3", "55.5 +/- 0.3", "-14.0 +/- 0.3"]
lean = ["-1.0 +/- 0.5", "-0.8 +/- 0.5"]
plunger_travel = 3.8
preload = "1.1 +/- 0.1"
[train.rocker]
shaft = ["29.7 +/- 0.2", "28.0 +/- 0.2", "127.8 +/- 0.2"]
direction = ["0 +/- 0.003", 1, "0 +/- 0.003"]
valve_arm = "35.0 +/- 0.2"
pushrod_arm = "21.5 +/- 0.2"
arm_angle = "161 +/- 1"
valve_station = "-28.0 +/- 0.2"
pushrod_station = "23.0 +/- 0.2"
tip_radius = "5.5 +/- 0.2"
[train.valve]
face = ["20.5 +/- 0.2", "0.0 +/- 0.2", "7.2 +/- 0.1"]
lean = ["21 +/- 0.5", "0 +/- 0.5"]
length = "118.1 +/- 0.1"
head_diameter = "34.0 +/- 0.05"
margin = "1.4 +/- 0.1"
stem_diameter = 8.0
POCKET_EX
"""

POCKETS = {
    "POCKET_IN": """[train.pocket]
centre = ["-19.6 +/- 0.2", "0.0 +/- 0.2"]
lean = ["-22 +/- 0.5", "0 +/- 0.5"]
diameter = "46.0 +/- 0.1"
depth = "5.0 +/- 0.05"
""",
    "POCKET_EX": """[train.pocket]
centre = ["18.8 +/- 0.2", "0.0 +/- 0.2"]
lean = ["21 +/- 0.5", "0 +/- 0.5"]
diameter = "40.0 +/- 0.1"
depth = "4.5 +/- 0.05"
""",
}


def by_coordinates(folder: Path, pockets: bool = True, more: str = "", exhaust: bool = True) -> Path:
    """Write the job by coordinates, with or without its pockets, and return its path.

    exhaust : without it half as much is worked out, for tests that look at the intake alone
    """
    text = BY_COORDINATES if exhaust else BY_COORDINATES[: BY_COORDINATES.rindex("[[train]]")]
    for name, table in POCKETS.items():
        text = text.replace(name, table if pockets else "")
    path = folder / "coordinates.toml"
    path.write_text(text + more, encoding="utf-8")
    return path
