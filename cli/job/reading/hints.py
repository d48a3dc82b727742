"""What was probably meant: letters in place of digits, curly quotes, the trade's other words.

Nothing here is understood silently: each is only suggested, and loaded only where something is wrong.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

LETTERS = {"O": ("0", "zero"), "o": ("0", "zero"), "l": ("1", "one"), "I": ("1", "one")}
FIGURES = re.compile(r"(?<![A-Za-z])(?=[OolI./]*\d)[\dOolI./]*[OolI][\dOolI./]*(?![A-Za-z])")
DOUBLE, SINGLE = "“”„‟", "‘’‚‛"
CURLY = re.compile(f"[{DOUBLE}{SINGLE}]")
QUOTED = re.compile(r"\"[^\"]*\"|'[^']*'|[^\"']+|.")

# What an option of the job file is also called; none is taken without asking.
OTHER_WORDS: dict[str, tuple[str, ...]] = {
    "intake": ("inlet", "in", "int", "induction", "admission", "suction"),
    "exhaust": ("ex", "exh", "outlet", "out"),
    "top": ("up", "topped", "topped out", "top stop", "extended", "unloaded", "pumped up", "full up"),
    "bottomed": ("bottom", "down", "collapsed", "compressed", "bottomed out", "bled down", "pumped down"),
    "solid checking lifter": ("solid", "solid lifter", "checking lifter", "dummy lifter", "solid tappet"),
    "overall": (
        "caliper",
        "calipers",
        "calliper",
        "callipers",
        "vernier",
        "micrometer",
        "tip to tip",
        "end to end",
        "over the ends",
        "total",
    ),
    "gauge": ("gage", "length gauge", "length gage", "checker", "with a gauge"),
    "centres": ("centers", "center", "centre", "centre to centre", "center to center", "ball centres"),
    "theoretical": ("theory", "full ball", "without holes", "full balls"),
    "hydraulic": ("hyd", "hydraulic lifter", "hydraulic roller", "hydraulic tappet", "oil"),
    "solid": ("mechanical", "solid lifter", "solid roller", "solid tappet", "mechanical lifter"),
    "in": ("inch", "inches", "imperial", '"'),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters", "metric"),
    "none": ("no", "fixed", "not adjustable", "non adjustable"),
    "pushrod screw": ("rocker screw", "ball screw", "adjusting screw at the pushrod"),
    "valve screw": ("tappet screw", "elephant foot", "adjusting screw at the valve"),
    "pivot nut": ("rocker nut", "stud nut", "stud", "pivot", "locking nut"),
    "lifter screw": ("tappet adjuster", "adjustable lifter", "adjustable tappet"),
    "eccentric shaft": ("eccentric", "eccentrics", "eccentric rocker shaft", "eccentric spindle"),
    "lifter": ("tappet", "follower", "cam follower", "lobe", "cam lobe", "cam"),
    "valve": ("stem", "stem tip", "valve stem"),
    "pushrod": ("push rod",),
    "droop": ("down", "drooping"),
    "rise": ("up", "rising"),
    "crown": ("piston", "piston crown", "piston top", "dome", "flat", "flat top"),
    "pocket": ("relief", "valve relief", "valve pocket", "cutout", "cut out", "notch", "valve notch"),
    "forward": ("forwards",),
    "backward": ("backwards", "reverse"),
    "cup": ("socket",),
    "top centre": (
        "tdc",
        "top dead centre",
        "top dead center",
        "top center",
        "overlap",
        "overlap tdc",
        "tdc overlap",
    ),
    "peak": (
        "max lift",
        "maximum lift",
        "full lift",
        "nose",
        "centreline",
        "centerline",
        "lobe centre",
        "lobe center",
    ),
    "cam": ("camshaft", "cam degrees", "camshaft degrees", "cam deg"),
    "crank": ("crankshaft", "crank degrees", "crankshaft degrees", "crank deg", "degree wheel"),
    "cycloidal": ("cycloid",),
    "3-4-5": ("345", "3 4 5 polynomial", "polynomial 3 4 5"),
    "4-5-6-7": ("4567", "4 5 6 7 polynomial", "polynomial 4 5 6 7"),
    "modified-sine": ("modified sine", "mod sine", "modified sine curve"),
}


def other_word(found: str, options: Iterable[str]) -> str:
    """Return "; did you mean …?" where an option is known in the trade by another word, or nothing."""
    plain = re.sub(r"[\s_-]+", " ", found.lower()).strip(" .")
    meant = [one for one in options if plain in OTHER_WORDS.get(one, ())]
    return f"; did you mean {' or '.join(meant)}?" if meant else ""


def digits_meant(typed: str, also_l: bool = True) -> tuple[str, str] | None:
    """Return what letters among the figures stand for, in words, and the value without them.

    also_l : whether an l can only be a one; among volumes it may be a litre
    """
    found: dict[str, str] = {}

    def right(token: re.Match[str]) -> str:
        letters = [one for one in token[0] if one in LETTERS]
        if not also_l and not {"O", "o"} >= set(letters):
            return token[0]
        found.update({one: LETTERS[one][1] for one in letters})
        return "".join(LETTERS[one][0] if one in LETTERS else one for one in token[0])

    meant = FIGURES.sub(right, typed)
    if not found:
        return None
    first, *rest = (f"the letter {letter} {{}}for a {digit}" for letter, digit in found.items())
    told = " and ".join([first.format("stands "), *(one.format("") for one in rest)])
    return f"{told} in it", meant


def straightened(value: str) -> str | None:
    """Return a value with straight quotes where curly ones stand around it; None where none do."""
    parts = QUOTED.findall(value)
    within = [part for part in parts if part[0] not in "\"'"]
    if not any(CURLY.search(part) for part in within):
        return None
    marks = str.maketrans(dict.fromkeys(DOUBLE, '"') | dict.fromkeys(SINGLE, "'"))
    return "".join(part.translate(marks) if part in within else part for part in parts)
