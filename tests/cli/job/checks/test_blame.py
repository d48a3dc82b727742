"""What is tried is blamed for a contradiction that it brings in, once."""

from __future__ import annotations

from pathlib import Path

import pytest

from ....commands import COORDINATES, tallstack
from ....job_texts import refused

OVER_PISTON = """\
format = 1
units = "mm"
[crank]
stroke = 94.6
[piston]
compression_height = 31.2
[stack]
bore = 88.4
[lobe.intake]
card = { peak = 7.6, duration = { at = 1.27, degrees = 238 }, seat = { at = 0.15, degrees = 284 } }
centreline = 106
[lobe.exhaust]
law = { name = "cycloidal", peak = 7.3, degrees = 292 }
[[cylinder]]
name = "front"
[[cylinder]]
name = "rear"
[[train]]
cylinder = "front"
port = "intake"
[train.valve]
face = [-21.5, 0, 12]
lean = [-21, 0]
head_diameter = 45.0
[train.pocket]
centre = [-17.5, 0]
lean = [-21, 0]
diameter = 49.0
depth = 3.1
[train.measured_drop]
drop = 7.2
room = 1.8
[[train]]
cylinder = "front"
port = "exhaust"
[train.valve]
face = [21.0, 0, 11.5]
lean = [20, 0]
head_diameter = 38.0
[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
mirror = true
"""


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "front.intake.valve.head_diameter=95",
            "does not go into a bore of 88.400 mm (3.4803 in), see stack.bore",
        ),
        (
            "stack.bore=40",
            "a valve head of 45.000 mm (1.7717 in) does not go into a bore of 40.000 mm (1.5748 in)",
        ),
        (
            "rear.stack.bore=40",
            "40.000 mm (1.5748 in), see rear.intake.valve.head_diameter; look at the units",
        ),
        (
            "rear.intake.valve.face=[200,0,12]",
            "its centre lies 200.000 mm (7.8740 in) off the cylinder's axis",
        ),
        (
            "rear.intake.valve.face.x=200",
            "rear.intake.valve.face: its centre lies 200.000 mm (7.8740 in) off",
        ),
        ("front.intake.pocket.centre.x=-175", "misses a crown of 88.400 mm (3.4803 in), see stack.bore"),
        (
            "piston.crown_thickness=3",
            "goes through a crown 3.000 mm (0.1181 in) thick, see front.intake.pocket.depth",
        ),
        ("front.exhaust.valve.face.x=-20", "see front.intake.valve.face; look at the signs of both places"),
        (
            "piston.dome={height=3, diameter=99}",
            "a dome of 99.000 mm (3.8976 in) across is wider than a crown",
        ),
        ("piston.diameter=88.4", "a piston of 88.400 mm (3.4803 in) does not go into a bore of 88.400 mm"),
        ("rear.piston.dish.depth=40", "rear.piston.dish.depth: a dish 40.000 mm (1.5748 in) deep reaches"),
        ("crank.stroke=7", "7.200 mm (0.2835 in) over a stroke of 7.000 mm (0.2756 in)"),
        ("crank.stroke=7", "see front.intake.measured_drop.drop; look at the units of both"),
        ("front.intake.measured_drop.meets=crown", "see measured_drop.room; leave it out, or say meets"),
        (
            "front.intake.measured_drop.crank.stroke=9.4",
            "9.400 mm (0.3701 in) when the drop was read, against 94.600",
        ),
        (
            "lobe.intake.card.peak=1.2",
            "check lift 1.270 mm (0.0500 in) is not below the peak lift of 1.200 mm",
        ),
        (
            "lobe.intake.card.seat.degrees=120",
            "238 degrees at 1.270 mm (0.0500 in) is not shorter than 120 degrees",
        ),
        (
            "lobe.intake.measured_at=valve",
            "lobe.intake.card.ratio: missing; lifts at the valve come from the lobe",
        ),
        (
            "lobe.intake.table=test.csv",
            "table and card are both given, see card; a lobe comes from one of them",
        ),
        ("lobe.exhaust.angle=crank", "says how a table was read, and this lobe has a law; leave it out"),
        ("lobe.exhaust.centreline=-110", "it has no sign: write 110"),
        ("lobe.spare.centreline=104", "lobe.spare: no lobe is described; add table"),
    ],
)
def test_contradiction_that_with_brings_in_is_told_there_and_once(
    tmp_path: Path, text: str, told: str
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(OVER_PISTON)
    (tmp_path / "test.csv").write_text("angle,lift\n")
    assert tallstack("check", path).status == 0
    said = refused("check", path, "--with", text)
    assert said.startswith(f"--with {text}: ")
    assert told in said
    assert said.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("front.intake.lifter.preload=9", "9.000 mm (0.3543 in) is more than the plunger's whole travel of"),
        ("front.intake.lifter.lash=1", "a hydraulic lifter takes preload, not lash"),
        ("front.intake.pushrod.hole_low=9", "9.000 mm (0.3543 in) does not fit in a ball of"),
    ],
)
def test_what_was_tried_is_blamed_once_and_no_copy_of_it(text: str, told: str) -> None:
    (line,) = refused("check", COORDINATES, "--with", text).splitlines()
    assert line.startswith(f"--with {text}: {text.partition('=')[0]}: {told}")
