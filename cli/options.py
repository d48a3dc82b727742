"""The options that several commands share, and those of the commands that have many."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from . import completing
from .declared import argument, option

JobPath = Annotated[
    Path,
    argument(metavar="FILE", help="The job file.", show_default=False, autocompletion=completing.jobs),
]
With = Annotated[
    list[str] | None,
    option(
        "--with",
        metavar="ENTRY=VALUE",
        help="Try another value without touching the file; repeatable.",
        autocompletion=completing.entries,
    ),
]
Shelf = Annotated[
    Path | None,
    option(
        "--shelf",
        metavar="CSV",
        help="The pushrods you have, one kind a line; goes over the job's.",
        autocompletion=completing.tables,
    ),
]
BeforeOr = Annotated[
    Path | None,
    option(
        "--from",
        metavar="BEFORE",
        help="The job before the change, in place of [before] in this one.",
        show_default=False,
        autocompletion=completing.jobs,
    ),
]
AsJson = Annotated[bool, option("--json", help="Print one JSON document, in mm and degrees.")]
Full = Annotated[bool, option("--full", help="All of the answer, not what fits on one screen.")]
Strict = Annotated[bool, option("--strict", help="Count TIGHT, UNPROVED and LOOK AGAIN as missed.")]
OfGear = Annotated[str | None, option(metavar="VALUE", help="Of a valve gear: as measured, with its +/-.")]
OfCylinder = Annotated[str | None, option(metavar="VALUE", help="Of a cylinder: as measured, with its +/-.")]
Force = Annotated[bool, option("--force", help="Overwrite files that are already there.")]

# of `lobe` and `record` alone, which have many
LobeFile = Annotated[
    Path,
    argument(
        metavar="FILE.csv",
        help="The readings: angle,lift.",
        show_default=False,
        autocompletion=completing.tables,
    ),
]
Angle = Annotated[str, option("--angle", metavar="cam|crank", help="Whose degrees they are.")]
MeasuredAt = Annotated[str, option("--measured-at", metavar="lifter|valve", help="Where the dial stood.")]
Ratio = Annotated[
    str, option("--ratio", metavar="R", help='The rocker\'s, for lifts at the valve: "1.6 +/- 0.02".')
]
Units = Annotated[str, option("--units", metavar="mm|in", help="Units of the lifts.")]
CheckLift = Annotated[
    list[str] | None,
    option("--check", metavar="LIFT", help="One more check lift, as 0.040; repeatable."),
]
Stop = Annotated[
    tuple[float, float] | None,
    option("--stop", metavar="A B", help="The wheel at a positive stop, both ways.", show_default=False),
]
Centreline = Annotated[
    float | None,
    option("--centreline", metavar="DEG", help="Crank degrees between overlap top centre and it."),
]
Port = Annotated[str, option("--port", metavar="intake|exhaust", help="Whose lobe, with --centreline.")]
Lash = Annotated[
    str, option("--lash", metavar="LENGTH", help="Felt while lifts were read at the valve; 0: none.")
]
LashAt = Annotated[str, option("--lash-at", metavar="valve|pushrod", help="Where it was felt.")]
Dialled = Annotated[
    list[str] | None,
    option(
        "--dialled",
        metavar='"LIFTER, VALVE"',
        help="Both lifts at one place, instead of --ratio; twice, half lift and full, is better.",
    ),
]
ReadWith = Annotated[
    str,
    option("--read-with", metavar="WHAT", help='What rode on it: "tip 1/16", "roller 0.425" or flat.'),
]
RunsUnder = Annotated[
    str, option("--follower", metavar="WHAT", help="What rides on it in the engine, said the same way.")
]
ReadOffset = Annotated[
    str, option("--read-offset", metavar="LENGTH", help="How far it passed the cam's axis.")
]
FollowerOffset = Annotated[
    str, option("--follower-offset", metavar="LENGTH", help="How far the engine's own passes it.")
]
BaseRadius = Annotated[str, option("--base-radius", metavar="LENGTH", help="Radius of the heel.")]
PlotTo = Annotated[Path | None, option("--plot", metavar="OUT", help="Draw it: .svg, .png or .pdf.")]
AsBuiltOf = Annotated[
    str,
    argument(
        metavar="[OF]",
        help="The valve gear, as front.intake, or the cylinder.",
        show_default=False,
        autocompletion=completing.parts,
    ),
]
LengthAs = Annotated[str, option("--as", help="overall, theoretical, gauge or centres.", show_default=False)]
TurnedFrom = Annotated[
    str, option(metavar="WHERE", help="Where turns and flats count from: zero lash or closed.")
]
Drop = Annotated[str | None, option(metavar="VALUE", help="Valve to piston, by dial.")]
Clay = Annotated[str | None, option(metavar="VALUE", help="The clay at its thinnest.")]
Crank = Annotated[str | None, option(metavar="DEG", help="Where it was set, after compression top centre.")]
Figures = Annotated[
    list[str] | None,
    option(metavar="NAME=VALUE", help='Another reading by its name, as "spring height = 41.2 mm".'),
]
Visit = Annotated[
    str,
    option(
        "--visit", metavar="DISTANCE", help='At a visit: what it had run, "500 miles".', show_default=False
    ),
]
WasFound = Annotated[bool, option("--found", help="So it was found there, before anything was set.")]
WasLeft = Annotated[bool, option("--left", help="So it was left; with --found: nothing was set.")]
Temperature = Annotated[
    str,
    option("--temperature", metavar="T", help='Of the cold engine, "18 C" or "64 F".', show_default=False),
]
AtLift = Annotated[
    str,
    option("--lift", metavar="L", help="Of a room in the rocker's box: the valve's.", show_default=False),
]
Changed = Annotated[
    str,
    option(
        "--changed",
        metavar="PART",
        help="At that visit: pushrod, lifter, rocker, valve, head, cylinder or camshaft; nothing is compared across it.",
        show_default=False,
    ),
]
Note = Annotated[str, option(metavar="TEXT", help="Anything else.", show_default=False)]
By = Annotated[str, option(metavar="NAME", help="Who did it.", show_default=False)]
Tool = Annotated[str, option(metavar="NAME", help="With what.", show_default=False)]
When = Annotated[str, option(metavar="DATE", help="ISO 8601; now if left out.", show_default=False)]
Withdraw = Annotated[
    int, option(metavar="N", help="Line N was a mistake; say why in --note.", show_default=False)
]
