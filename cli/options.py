"""The options that several commands share, and those of the commands that have many."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from . import completing

JobPath = Annotated[
    Path,
    typer.Argument(metavar="FILE", help="The job file.", show_default=False, autocompletion=completing.jobs),
]
With = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        metavar="ENTRY=VALUE",
        help="Try another value without touching the file; repeatable.",
        autocompletion=completing.entries,
    ),
]
Shelf = Annotated[
    Path | None,
    typer.Option(
        "--shelf",
        metavar="CSV",
        help="The pushrods you have, one kind a line; goes over the job's.",
        autocompletion=completing.tables,
    ),
]
BeforeOr = Annotated[
    Path | None,
    typer.Option(
        "--from",
        metavar="BEFORE",
        help="The job before the change, in place of [before] in this one.",
        show_default=False,
        autocompletion=completing.jobs,
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document, in mm and degrees.")]
Full = Annotated[bool, typer.Option("--full", help="All of the answer, not what fits on one screen.")]
Strict = Annotated[bool, typer.Option("--strict", help="Count TIGHT, UNPROVED and LOOK AGAIN as missed.")]
OfGear = Annotated[
    str | None, typer.Option(metavar="VALUE", help="Of a valve gear: as measured, with its +/-.")
]
OfCylinder = Annotated[
    str | None, typer.Option(metavar="VALUE", help="Of a cylinder: as measured, with its +/-.")
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite files that are already there.")]

# of `lobe` and `record` alone, which have many
LobeFile = Annotated[
    Path,
    typer.Argument(
        metavar="FILE.csv",
        help="The readings: angle,lift.",
        show_default=False,
        autocompletion=completing.tables,
    ),
]
Angle = Annotated[str, typer.Option("--angle", metavar="cam|crank", help="Whose degrees they are.")]
MeasuredAt = Annotated[
    str, typer.Option("--measured-at", metavar="lifter|valve", help="Where the dial stood.")
]
Ratio = Annotated[
    str, typer.Option("--ratio", metavar="R", help='The rocker\'s, for lifts at the valve: "1.6 +/- 0.02".')
]
Units = Annotated[str, typer.Option("--units", metavar="mm|in", help="Units of the lifts.")]
CheckLift = Annotated[
    list[str] | None,
    typer.Option("--check", metavar="LIFT", help="One more check lift, as 0.040; repeatable."),
]
Stop = Annotated[
    tuple[float, float] | None,
    typer.Option(
        "--stop", metavar="A B", help="The wheel at a positive stop, both ways.", show_default=False
    ),
]
Centreline = Annotated[
    float | None,
    typer.Option("--centreline", metavar="DEG", help="Crank degrees between overlap top centre and it."),
]
Port = Annotated[str, typer.Option("--port", metavar="intake|exhaust", help="Whose lobe, with --centreline.")]
Lash = Annotated[
    str, typer.Option("--lash", metavar="LENGTH", help="Felt while lifts were read at the valve; 0: none.")
]
LashAt = Annotated[str, typer.Option("--lash-at", metavar="valve|pushrod", help="Where it was felt.")]
Dialled = Annotated[
    list[str] | None,
    typer.Option(
        "--dialled",
        metavar='"LIFTER, VALVE"',
        help="Both lifts at one place, instead of --ratio; twice, half lift and full, is better.",
    ),
]
ReadWith = Annotated[
    str,
    typer.Option("--read-with", metavar="WHAT", help='What rode on it: "tip 1/16", "roller 0.425" or flat.'),
]
RunsUnder = Annotated[
    str, typer.Option("--follower", metavar="WHAT", help="What rides on it in the engine, said the same way.")
]
ReadOffset = Annotated[
    str, typer.Option("--read-offset", metavar="LENGTH", help="How far it passed the cam's axis.")
]
FollowerOffset = Annotated[
    str, typer.Option("--follower-offset", metavar="LENGTH", help="How far the engine's own passes it.")
]
BaseRadius = Annotated[str, typer.Option("--base-radius", metavar="LENGTH", help="Radius of the heel.")]
PlotTo = Annotated[Path | None, typer.Option("--plot", metavar="OUT", help="Draw it: .svg, .png or .pdf.")]
AsBuiltOf = Annotated[
    str,
    typer.Argument(
        metavar="[OF]",
        help="The valve gear, as front.intake, or the cylinder.",
        show_default=False,
        autocompletion=completing.parts,
    ),
]
LengthAs = Annotated[
    str, typer.Option("--as", help="overall, theoretical, gauge or centres.", show_default=False)
]
TurnedFrom = Annotated[
    str, typer.Option(metavar="WHERE", help="Where turns and flats count from: zero lash or closed.")
]
Drop = Annotated[str | None, typer.Option(metavar="VALUE", help="Valve to piston, by dial.")]
Clay = Annotated[str | None, typer.Option(metavar="VALUE", help="The clay at its thinnest.")]
Crank = Annotated[
    str | None, typer.Option(metavar="DEG", help="Where it was set, after compression top centre.")
]
Figures = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME=VALUE", help='Another reading by its name, as "spring height = 41.2 mm".'),
]
Visit = Annotated[
    str,
    typer.Option(
        "--visit", metavar="DISTANCE", help='At a visit: what it had run, "500 miles".', show_default=False
    ),
]
WasFound = Annotated[bool, typer.Option("--found", help="So it was found there, before anything was set.")]
WasLeft = Annotated[bool, typer.Option("--left", help="So it was left; with --found: nothing was set.")]
Temperature = Annotated[
    str,
    typer.Option(
        "--temperature", metavar="T", help='Of the cold engine, "18 C" or "64 F".', show_default=False
    ),
]
AtLift = Annotated[
    str,
    typer.Option(
        "--lift", metavar="L", help="Of a room in the rocker's box: the valve's.", show_default=False
    ),
]
Changed = Annotated[
    str,
    typer.Option(
        "--changed",
        metavar="PART",
        help="At that visit: pushrod, lifter, rocker, valve, head, cylinder or camshaft; nothing is compared across it.",
        show_default=False,
    ),
]
Note = Annotated[str, typer.Option(metavar="TEXT", help="Anything else.", show_default=False)]
By = Annotated[str, typer.Option(metavar="NAME", help="Who did it.", show_default=False)]
Tool = Annotated[str, typer.Option(metavar="NAME", help="With what.", show_default=False)]
When = Annotated[str, typer.Option(metavar="DATE", help="ISO 8601; now if left out.", show_default=False)]
Withdraw = Annotated[
    int, typer.Option(metavar="N", help="Line N was a mistake; say why in --note.", show_default=False)
]
