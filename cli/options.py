"""The options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

JobPath = Annotated[Path, typer.Argument(metavar="FILE", help="The job file.", show_default=False)]
With = Annotated[
    list[str] | None,
    typer.Option(
        "--with", metavar="ENTRY=VALUE", help="Try another value without touching the file; repeatable."
    ),
]
Shelf = Annotated[
    Path | None, typer.Option("--shelf", metavar="CSV", help="The pushrods you have, one kind a line.")
]
Before = Annotated[
    Path, typer.Option("--from", metavar="BEFORE", help="The job file before the change.", show_default=False)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document, in mm and degrees.")]
Strict = Annotated[bool, typer.Option("--strict", help="Count TIGHT and UNPROVED as missed.")]
Fact = Annotated[str | None, typer.Option(metavar="VALUE", help="As measured, with its +/-.")]
Force = Annotated[bool, typer.Option("--force", help="Overwrite files that are already there.")]
