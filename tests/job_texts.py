"""Texts of job files, changed in places, and what is read of them."""

from __future__ import annotations

from pathlib import Path

from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load, understood
from tallstack.geometry import build, required
from tallstack.geometry.engine.engine import Train

from .commands import tallstack

BENCH = """\
format = 1
title = "Twin by the bench route"
units = "in"

[stack]
cylinder = "5.402 +/- 0.001 in"
base_gasket = "0.021 in"
head_gasket = "0.039 +/- 0.002 in"

[[cylinder]]
name = "front"
lean = 24
[[cylinder]]
name = "rear"
lean = -24
fires_at = 312
stack.cylinder = "5.398 in"

[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
preload = "0.042 in"
plunger_travel = "0.145 in"
[train.pushrod]
ball_diameter_low = "5/16 in"
ball_diameter_high = "5/16 in"
hole_low = "0.075 in"
hole_high = "0.075 in"
[train.measured_pushrod]
length = "11.034 +/- 0.003 in"
as = "overall"
plunger = "top"
lean = "2 +/- 1"

[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
[train.measured_pushrod]
checking_rod = { closed = "10.600 in", turns = 8.6, threads_per_inch = 20 }
as = "overall"
plunger = { down = "0.010 in" }
lean = [1.5, -2.0]
stack = { cylinder = "5.200 in" }
"""


FULL = """\
format = 1
title = "Twin by coordinates"
units = "mm"

[crank]
stroke = 91.8
conrod_length = 168.0
turns = "forward"

[piston]
compression_height = 30.5
pin_offset = 0.8

[stack]
bore = 86.4
case_deck = 126.1
base_gasket = 0.4
cylinder = "118.9 +/- 0.02"
head_gasket = 1.3
case_cut = 0.1
head_cut = 0.2

[[cylinder]]
name = "front"
lean = 24
[[cylinder]]
name = "rear"
lean = -24

[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
seat = [-19.5, "55 +/- 0.3", -8]
lean = [1.4, -0.9]
lowered = 0.2
plunger_travel = 3.3
preload = 1.0
[train.rocker]
shaft = [-31, 25, 118.5]
direction = [0.02, 1, 0.01]
valve_arm = 32.0
pushrod_arm = 20.5
arm_angle = 161
valve_station = -25
pushrod_station = 21
tip_radius = 5.2
adjuster = { kind = "pushrod screw", threads_per_inch = 24, axis = [3, 1] }
[train.valve]
face = [-20.5, 1, 11]
lean = [-20, 1]
length = 101.0
head_diameter = 44.0
sink = 0.0
[train.pocket]
centre = [-17, 0.5]
lean = [-20, 1]
diameter = 48.0
depth = 3.0
[train.pushrod]
ball_diameter_low = 7.9
ball_diameter_high = 7.9
hole_low = 1.8
hole_high = 1.8

[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
mirror = true
"""


def job(tmp_path: Path, text: str, *variations: str) -> JobFile:
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return load(path, variations)


def changed(text: str, *swaps: tuple[str, str]) -> str:
    for before, after in swaps:
        assert before in text
        text = text.replace(before, after, 1)
    return text


def train(found: JobFile, name: str = "front.intake") -> Train:
    return build(found.mapping).train(name)


def centres(found: JobFile, name: str = "front.intake") -> float:
    return float(required(train(found, name)).lengths["centres"])


def entries_under(found: JobFile, name: str) -> dict[str, float | str]:
    prefix = f"{name}."
    return {
        path.removeprefix(prefix): entry.value
        for path, entry in found.entries.items()
        if path.startswith(prefix)
    }


TWO = """\
format = 1
units = "mm"
[stack]
cylinder = 121.7
base_gasket = 0.4
head_gasket = 1.2
[[cylinder]]
name = "front"
lean = 26
[[cylinder]]
name = "rear"
lean = -26
[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
preload = 1.0
plunger_travel = 3.5
[train.measured_pushrod]
length = "276.1 +/- 0.1"
as = "overall"
plunger = "top"
lean = 3
stack = { cylinder = 118.5 }
[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
[train.measured_pushrod]
length = "276.4 +/- 0.1"
as = "overall"
plunger = "top"
lean = 3
stack = { cylinder = 118.5 }
"""


def warned(tmp_path: Path, text: str, *variations: str) -> tuple[str, ...]:
    path = tmp_path / "job.toml"
    path.write_text(text)
    return load(path, variations).warnings


def swapped(text: str, before: str, after: str) -> str:
    assert before in text
    return text.replace(before, after)


def refused(*words: str | Path) -> str:
    """Run a command that must be refused, and return what it says."""
    ended = tallstack(*words)
    assert ended.status == 2
    assert not ended.out
    assert "Traceback" not in ended.err
    return ended.err


def faults_of(text: str, *variations: str) -> dict[str, str]:
    """Return what is wrong in the text of a job, by its place in the document; nothing where nothing is."""
    try:
        understood(Path("job.toml"), text, variations)
    except InputFaultsError as error:
        return {".".join(map(str, one.loc)) or f"line {one.line}": one.message for one in error.faults}
    return {}


def six_in_line(cylinders: int = 6) -> str:
    """Return an invented in-line six: a cast-iron block, solid lifters, twelve valve gears, each with its own readings.

    cylinders : of it, the first ones
    """
    names = ("one", "two", "three", "four", "five", "six")
    pins, fires = (0, 240, 120, 120, 240, 0), (0, 480, 240, 600, 120, 360)
    text = SIX
    for name, pin, at in list(zip(names, pins, fires, strict=True))[:cylinders]:
        text += f'[[cylinder]]\nname = "{name}"\nlean = 0\npin = {pin}\nfires_at = {at}\n'
        text += f'stack.measured_deck.below = "{0.45 + 0.01 * (pin // 120):.2f} +/- 0.02"\n'
    for index, name in enumerate(names[:cylinders]):
        for port, length, drop in (("intake", 241.3, 3.9), ("exhaust", 242.1, 4.4)):
            text += f'[[train]]\ncylinder = "{name}"\nport = "{port}"\n'
            text += SIX_GEAR if (index, port) == (0, "intake") else ""
            text += 'like = "one.intake"\n' if (index, port) != (0, "intake") else ""
            text += "lifter.lash = 0.33\n" if port == "exhaust" else ""
            text += SIX_READ.format(length=length + 0.04 * index, drop=drop + 0.03 * index)
    return text


SIX = """\
format = 1
title = "Six in line, block decked"
written_for = "0.6"
units = "mm"
[crank]
stroke = "101.6 +/- 0.02"
conrod_length = "165.0 +/- 0.05"
turns = "forward"
[piston]
compression_height = "41.0 +/- 0.05"
pin_offset = "0 +/- 0.05"
crown_volume = "4.0 +/- 0.3 cc"
[stack]
cylinder = "block"
head_gasket = "1.10 +/- 0.05"
case_cut = "0.20 +/- 0.02"
head_cut = "0 +/- 0.02"
bore = "86.0 +/- 0.02"
[chamber]
volume = "48.0 +/- 0.5 cc"
gasket_bore = "87.5 +/- 0.1"
[lobe.intake]
card = { peak = "6.90 +/- 0.02", duration = { at = "1.27", degrees = "206 +/- 1" }, seat = { at = "0.5", degrees = "238 +/- 1" } }
centreline = "109 +/- 1"
[lobe.exhaust]
card = { peak = "6.85 +/- 0.02", duration = { at = "1.27", degrees = "204 +/- 1" }, seat = { at = "0.5", degrees = "236 +/- 1" } }
centreline = "111 +/- 1"
[targets]
drop_intake = 1.5
drop_exhaust = 2.0
"""

SIX_GEAR = """\
lifter = { kind = "solid", lash = 0.25, lash_at = "valve" }
rocker = { ratio = "1.50 +/- 0.02", adjuster = { kind = "pushrod screw", pitch = 1.0, flats = 6 } }
pushrod = { ball_diameter_low = "8.00 +/- 0.02", ball_diameter_high = "8.00 +/- 0.02", hole_low = "1.6 +/- 0.1", hole_high = "1.6 +/- 0.1" }
"""

SIX_READ = """\
[train.measured_pushrod]
length = "{length:.2f} +/- 0.05"
as = "overall"
lean = "3 +/- 1"
stack = {{ head_gasket = "1.30 +/- 0.05" }}
[train.measured_drop]
drop = "{drop:.2f} +/- 0.05"
lean = "8 +/- 1"
meets = "crown"
"""
