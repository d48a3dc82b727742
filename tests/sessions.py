"""Guided sessions: answers as they are typed, and what they come to."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from tallstack.cli.guide.guide import Guide

from .commands import tallstack

START = ("in", "Single on a taller cylinder", "", "bench", "1", "", "both", "h", "no")


STACK = ("4.310 +/- 0.001 in", "", "", "", "")


INTAKE = (
    *("0.040 in", "0.140 +/- 0.003 in", "9.482 +/- 0.003 in", "overall", "top", "3 +/- 1"),
    *("yes", "4.150 +/- 0.001 in", "", ""),
)


EXHAUST = (
    *("0.040 in", "0.140 +/- 0.003 in", "9.455 +/- 0.003 in", "o", "top", "4 +/- 1"),
    *("=", "", ""),  # its stack was that of the cylinder's other port
)


ENDS = ("",) * 8


WHOLE = (*START, *STACK, *INTAKE, *EXHAUST, *ENDS, "no")


CLEAR = (
    *("in", "Clear", "pushrods", "bench", "1", "", "intake", "hydraulic", "no"),
    *(
        "4.3 +/- 0.001",
        "0.02",
        "0.04 +/- 0.002",
        *("0", "0"),
        "0.04",
        "0.14 +/- 0.003",
        "9.482 +/- 0.003",
        "overall",
        "top",
        "3 +/- 1",
        "no",
    ),
    *("", "", "", "", "valves", "4.000 +/- 0.002", "7.200 +/- 0.005", "card", "lifter", "0.300 +/- 0.002"),
    *(
        "0.050",
        "236",
        "0.006",
        "270",
        "107 +/- 1",
        "",
        "1.5 +/- 0.02",
        "0.312 +/- 0.002 in",
        "23 +/- 1",
        "pocket",
    ),
    *("0.070", "no", "0.08", "no"),
)


FULL = (
    *("mm", "By coordinates", "pushrods", "coordinates", "1", "", "intake", "hydraulic", "no"),
    *("143.65 +/- 0.05", "142.6 +/- 0.02", "0.5", "1.1", "0", "0"),
    *(
        "1.2",
        "3.8",
        "-23, 64, -12",
        "[1.0, -1.5]",
        "-37.5, 30, 135.5",
        "0, 1, 0",
        "36",
        "22",
        "157",
        "-30",
        "24",
        "6",
    ),
    *("-24.5, 0, 14", "-23, 0", "116", "no", "7.94", "7.94", "2", "2", "no"),
)


def told(guide: Guide, answers: Sequence[str]) -> list[str]:
    """Give these answers; each must be taken. Returns all that was said to them."""
    said: list[str] = []
    for line in answers:
        assert guide.asked is not None, f"nothing is asked any more, left: {line}"
        reply = guide.say(line)
        assert reply.taken, (line, guide.question(), reply.lines)
        said += reply.lines
    return said


def after(*answers: str, path: Path = Path("job.toml")) -> Guide:
    guide = Guide(path)
    told(guide, answers)
    return guide


def asked(guide: Guide) -> str:
    return " ".join(" ".join(guide.question()).split())


def lengths(path: Path) -> list[object]:
    rows = tallstack("pushrods", path, "--json").json["pushrods"]
    return [(one["train"], one["overall_mm"], one["doubt_mm"], one["verdict"]) for one in rows]


def answers_to(guide: Guide, said: dict[str, str]) -> list[tuple[str, str]]:
    """Answer each question by its key, by its name, or by the longest end of its path; Enter where nothing is said.

    Returns each question that was asked with what was typed; all must be taken.
    """
    typed: list[tuple[str, str]] = []
    while guide.asked is not None:
        key, line = guide.asked.key, answer_to(guide, said)
        told(guide, [line])
        typed.append((key, line))
    return typed


def answer_to(guide: Guide, said: dict[str, str]) -> str:
    """Return the answer to the question that is up."""
    assert guide.asked is not None
    key, name = guide.asked.key, guide.asked.name
    ends = [one for one in said if key.endswith(f".{one}")]
    return said.get(key, said.get(name, said[max(ends, key=len)] if ends else ""))


SIX = {
    **{"units": "mm", "title": "Six in line", "find out": "pushrods, valves", "route": "bench", "count": "6"},
    **{"layout": "in line", "firing": "1-5-3-6-2-4", "ports": "both", "lifters": "solid", "alike": "all"},
    **{
        "form": "in a block",
        "head_gasket": "1.2 +/- 0.05",
        "case_cut": "0.3 +/- 0.02",
        "head_cut": "0.2 +/- 0.02",
    },
    **{"stroke": "90 +/- 0.05", "conrod_length": "150 +/- 0.1", "lash": "0.3", "lash_at": "valve"},
    **{"ratio": "1.5 +/- 0.01", "as": "overall", "lean": "3 +/- 1", "read alike": "all"},
    **{
        f"train.{place}.measured_pushrod.length": f"{230 + place % 2 + place / 100} +/- 0.1"
        for place in range(12)
    },
    **{
        "ball_diameter_low": "8 +/- 0.01",
        "ball_diameter_high": "8 +/- 0.01",
        "hole_low": "0",
        "hole_high": "0",
    },
    **{"same": "yes", "lobes": "card", "measured_at": "lifter", "peak": "7 +/- 0.05", "duration.at": "1.27"},
    **{
        "duration.degrees": "226 +/- 1",
        "seat.at": "0.15",
        "seat.degrees": "268 +/- 2",
        "centreline": "108 +/- 1",
    },
    **{f"train.{place}.measured_drop.drop": f"{6 + place / 100} +/- 0.1" for place in range(12)},
    **{"meets": "crown", "more to find out": "no"},
}
TWIN = {
    **{"units": "in", "title": "Twin, asked whole", "find out": "all", "route": "bench", "count": "2"},
    **{"cylinder.0.lean": "26", "cylinder.1.lean": "-26", "lifters": "hydraulic", "alike": "all"},
    **{"changed": "yes", "same parts": "crank, case, lifter, cam, lobe, head", "deck": "bridge at each"},
    **{
        "stack.cylinder": "4.957 +/- 0.001",
        "base_gasket": "0.020 +/- 0.001",
        "head_gasket": "0.043 +/- 0.002",
    },
    **{"case_cut": "0", "head_cut": "0", "stroke": "4.000 +/- 0.002", "conrod_length": "7.440 +/- 0.005"},
    **{"bore": "3.440 +/- 0.001", "below": "0.010 +/- 0.002", "base_gasket_free": "0.024 +/- 0.001"},
    **{
        "head_gasket_free": "0.050 +/- 0.002",
        "mouth_width": "3.80 +/- 0.01",
        "piston.diameter": "3.437 +/- 0.0005",
    },
    **{
        "counterweight_radius": "3.0 +/- 0.02",
        "conrod_beam_width": "0.9 +/- 0.02",
        "conrod_area": "0.35 in2",
    },
    **{
        "conrod_modulus": "205 GPa",
        "compression_height": "1.500 +/- 0.005",
        "skirt_below_pin": "1.1 +/- 0.01",
    },
    **{"skirt_inner": "2.6 +/- 0.02", "boss_below_pin": "0.55 +/- 0.02", "oil_ring": "0.75 +/- 0.01"},
    **{"mass": "520 g", "volume": "62 +/- 0.5 cc", "stands": "5.9 +/- 0.01", "head_seat": "0.6 +/- 0.01"},
    **{"spigot.length": "1.2 +/- 0.01", "outer_diameter": "3.75 +/- 0.005", "chamfer": "0.04 +/- 0.01"},
    **{f"{height}_across": "3.4403 +/- 0.0003" for height in ("top", "middle", "bottom")},
    **{f"{height}_along": "3.4401 +/- 0.0003" for height in ("top", "middle", "bottom")},
    **{
        "offset": "0",
        "pin": "0",
        "before.stack.cylinder": "4.757 +/- 0.001",
        "before.stack.bore": "3.438 +/- 0.001",
    },
    **{"before.stack.head_gasket": "0.030 +/- 0.002", "before.stack.base_gasket": "0.020 +/- 0.001"},
    **{"before.piston.compression_height": "1.700 +/- 0.005", "before.spigot.length": "1.2 +/- 0.01"},
    **{"preload": "0.125", "plunger_travel": "0.190 +/- 0.002", "as": "overall", "plunger": "top"},
    **{
        f"train.{place}.measured_pushrod.length": f"{value} +/- 0.003"
        for place, value in enumerate((10.484, 10.462, 10.489, 10.466))
    },
    **{"measured_pushrod.lean": "2 +/- 1", "other stack": "before", "read alike": "yes", "same": "yes"},
    **{"ball_diameter_low": "0.3125 +/- 0.0005", "ball_diameter_high": "0.3125 +/- 0.0005"},
    **{
        "hole_low": "0.063 +/- 0.001",
        "hole_high": "0.063 +/- 0.001",
        "lobes": "card",
        "measured_at": "lifter",
    },
    **{
        "peak": "0.310 +/- 0.001",
        "duration.at": "0.050",
        "duration.degrees": "226 +/- 1",
        "seat.at": "0.006",
    },
    **{
        "seat.degrees": "268 +/- 2",
        "lobe.intake.centreline": "104 +/- 1",
        "lobe.exhaust.centreline": "108 +/- 1",
    },
    **{
        "ratio": "1.625 +/- 0.02",
        "drop": "0.30 +/- 0.002",
        "measured_drop.lean": "26 +/- 1",
        "meets": "pocket",
    },
    **{"room": "0.090 +/- 0.010", "other stack 0 0": "no", "other stack 1 0": "no", "valves touch": "yes"},
    **{"edge_intake": "0.243 +/- 0.002", "edge_exhaust": "0.232 +/- 0.002", "between_stems": "52 +/- 1"},
    **{"spread_off": "3 +/- 2", "drop_intake": "0.060", "drop_exhaust": "0.080", "running.speed": "5500 rpm"},
    **{"intake_face.centre": "2.3, 0, 2.1", "intake_face.normal": "{ around = 90, up = -20 }"},
    **{"exhaust_face.centre": "-2.3, 0, 2.1", "exhaust_face.normal": "{ around = -90, up = -20 }"},
    **{
        "cold": "68 +/- 4 F",
        "hot_cylinder": "330 +/- 20 F",
        "hot_case": "190 +/- 20 F",
        "hot_head": "360 +/- 20 F",
    },
    **{"hot_valve": "610 +/- 50 F", "hot_rocker": "230 +/- 20 F", "hot_pushrod": "255 +/- 20 F"},
    **{"hot_piston": "450 +/- 30 F", "hot_conrod": "220 +/- 20 F", "hot_crank": "200 +/- 20 F"},
    **{f"materials.{one}": "steel" for one in ("rocker", "conrod", "crank", "valve")},
    **{f"materials.{one}": "cast aluminium" for one in ("case", "head", "piston")},
    **{"materials.cylinder": "grey iron", "materials.pushrod": "aluminium", "below_deck": "0.560 +/- 0.020"},
    **{"valve.length": "4.650 +/- 0.010", "retainer_to_seal": "0.600 +/- 0.010", "wall": "0.065 +/- 0.002"},
    **{
        "pushrod.diameter": "0.4375 +/- 0.001",
        "pushrod.material": "aluminium",
        "cup_depth_low": "0.085 +/- 0.003",
    },
    **{
        "cup_depth_high": "0.118 +/- 0.003",
        "cup_radius_low": "0.160 +/- 0.002",
        "cup_radius_high": "0.160 +/- 0.002",
    },
    **{"installed": "1.850 +/- 0.010", "free_length": "2.30 +/- 0.01", "rate": "300 +/- 10 lbf/in"},
    **{f"masses.{one}": "90 +/- 2 g" for one in ("valve", "springs", "rocker", "pushrod", "lifter")},
    **{"nose_lift.checking": "0.500 +/- 0.001", "nose_lift.checking_force": "20 +/- 2 N"},
    **{"nose_lift.running": "0.492 +/- 0.001", "nose_lift.running_force": "1500 +/- 50 N"},
}
