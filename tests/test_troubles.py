"""Ten jobs with one trouble each: page 1, `overview` and the command's first lines all name it."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Frame, Words
from tallstack.cli.sheet.first_page import first_page
from tallstack.cli.sheet.work import work

from .cli.commands.test_overview import HOT
from .commands import COORDINATES, DEMO, EXAMPLES, FROM_READINGS, screen
from .seeded import few

SHELF = EXAMPLES / "pushrods_from_the_shelf" / "job.toml"


class Trouble(NamedTuple):
    """One thing that is wrong in a job."""

    name: str
    path: Path
    changes: tuple[str, ...]  # tried with --with
    command: str  # which tells it
    word: str  # of judgement
    of: str  # what is named
    table: tuple[str, str, str] | None = (
        None  # a table of readings in which a line is wrong: name, line, in its place
    )


TROUBLES = (
    Trouble("hot-lash", HOT, (), "fits", "SHORT", "lash when hot"),
    Trouble(
        "plunger",
        SHELF,
        ("front.intake.lifter.plunger_travel=0.044 +/- 0.005 in", "front.intake.lifter.preload=0.038 in"),
        "pushrods",
        "TIGHT",
        "room to the plunger's bottom",
    ),
    Trouble(
        "wrong-rod",
        COORDINATES,
        (
            "front.intake.measured_pushrod.length=265.2 +/- 0.1",
            "front.intake.measured_pushrod.as=overall",
            "front.intake.measured_pushrod.plunger=top",
            "front.intake.measured_pushrod.lean=2 +/- 1",
        ),
        "pushrods",
        "LOOK AGAIN",
        "front.intake.measured_pushrod stands out",
    ),
    Trouble(
        "coordinates",
        COORDINATES,
        ("front.intake.rocker.valve_station=-20 +/- 0.1",),
        "pushrods",
        "LOOK AGAIN",
        "front.intake's rocker bears 8.000 mm",
    ),
    Trouble(
        "lobe-table",
        FROM_READINGS / "job.toml",
        (),
        "clearance",
        "UNUSUAL",
        "stands off the curve",
        ("intake.csv", "30,", "0.0060"),
    ),
    Trouble(
        "short-spring",
        DEMO,
        ("front.intake.spring.solid_height=1.330 +/- 0.010 in",),
        "fits",
        "SHORT",
        "left to coil bind",
    ),
    Trouble(
        "spigot",
        DEMO,
        ("rear.spigot.length=2.200 +/- 0.010 in",),
        "fits",
        "SHORT",
        "connecting rod to the spigot",
    ),
    Trouble("stud", DEMO, ("studs.stands=7.900 +/- 0.010 in",), "fits", "SHORT", "head nut's thread"),
    Trouble(
        "no-doubt", DEMO, ("lobe.intake.centreline=106",), "clearance", "UNPROVED", "centreline (intake lobe)"
    ),
    Trouble(
        "order",
        DEMO,
        ("targets.lowering=3.2 in",),
        "fits",
        "CANNOT BE ASSEMBLED",
        "neither of front and rear can be lowered",
    ),
)


def planted(one: Trouble, folder: Path) -> Path:
    """Return the job, its tables beside it, one line of a table changed where that is the trouble."""
    for each in one.path.parent.iterdir():
        if each.suffix in (".toml", ".csv") and "record" not in each.name:
            (folder / each.name).write_bytes(each.read_bytes())
    if one.table is not None:
        table = folder / one.table[0]
        lines = table.read_text(encoding="utf-8").splitlines()
        (place,) = (at for at, line in enumerate(lines) if line.startswith(one.table[1]))
        lines[place] = f"{one.table[1]}{one.table[2]}"
        table.write_text("\n".join([*lines, ""]), encoding="utf-8")
    return folder / one.path.name


@pytest.mark.parametrize("one", few(TROUBLES, 3), ids=lambda one: one.name)
def test_a_trouble_is_named_wherever_one_looks_first(one: Trouble, tmp_path: Path) -> None:
    job = planted(one, tmp_path)
    tried = [word for change in one.changes for word in ("--with", change)]
    for command in (one.command, "overview"):
        told = screen(command, job, *tried)
        assert told.status in (0, 1), told.err
        above = " ".join(told.out.split("\n\n")[0].split())
        assert one.word in above, (command, above)
        assert one.of in above, (command, above)
    page = first_page(work(load(job, one.changes), None, 200, is_drawn=False))
    framed = [each for frame in page.blocks if isinstance(frame, Frame) for each in frame.blocks]
    said = " ".join(each.words for each in framed if isinstance(each, Words))
    assert one.word in said
    assert one.of in said
