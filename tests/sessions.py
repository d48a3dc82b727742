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
