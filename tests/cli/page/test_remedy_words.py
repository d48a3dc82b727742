"""What would mend a clearance that falls short: each alone, with what else moves, and why where nothing does."""

from __future__ import annotations

import pytest
from tallstack.cli.commands.clearance import remedies_of
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Form, Words
from tallstack.cli.page.remedy_words import Mended, brief_rows, remedy_blocks, remedy_row
from tallstack.geometry.clearance.remedy.remedy import Remedy

from ...commands import COORDINATES, EXAMPLES

POCKET = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"
FRONT_POCKET = (
    *(
        f'front.intake.pocket.{entry}="{value} mm"'
        for entry, value in (("centre.x", -8), ("centre.y", 0), ("diameter", 50), ("depth", 3))
    ),
    "front.intake.pocket.lean.x=-8",
    "front.intake.pocket.lean.y=0",
)


@pytest.fixture(scope="module")
def short() -> list[tuple[list[Words], list[Mended]]]:
    """Return what is said of every clearance that falls short, and the remedies behind it."""
    job = load(POCKET)
    mended, walls = remedies_of(job, job.clearances)
    judged = {one.train: (one.piston, one.room) for one in job.clearances.valves}
    found = []
    for place, table in enumerate((mended, walls)):
        for name, ways in table.items():
            one = judged[name][place]
            assert one is not None
            found.append((remedy_blocks(job, ways, one, name), list(ways)))
    return found


def test_each_remedy_has_its_item(short: list[tuple[list[Words], list[Mended]]]) -> None:
    assert short
    for blocks, ways in short:
        assert blocks[0].words == "what would mend it, each alone, to the limit itself:"
        items = [one for one in blocks if one.form is Form.ITEM and one.under == 2]
        assert len(items) >= len(ways)
        assert len({one.words for one in items}) == len(items)


def test_one_that_is_none_says_why_in_words_and_in_json(
    short: list[tuple[list[Words], list[Mended]]],
) -> None:
    for _, ways in short:
        for one in ways:
            row = remedy_row(one)
            assert (row["why_not"] is None) is (one.remedy.change is not None), row
            assert row["kind"] == one.remedy.kind


@pytest.mark.parametrize(
    ("change", "across", "told", "in_brief"),
    [
        (0.0, 52.0, "pocket.diameter written into the file moves", "pocket to 52.00 across"),
        (
            1.0,
            52.0,
            "pocket.depth and {}.pocket.diameter written into the file move ",
            "a pocket cut 1.00 deeper",
        ),
        (1.0, None, "pocket.depth written into the file moves", "a pocket cut 1.00 deeper"),
    ],
)
def test_a_pocket_that_others_have_by_like_is_named_by_what_is_cut(
    change: float, across: float | None, told: str, in_brief: str
) -> None:
    """Widened alone it is its diameter that is written, and no cut of nothing is offered."""
    job = load(COORDINATES, [*FRONT_POCKET])
    train = "front.intake"
    also = {} if across is None else {f"{train}.pocket.diameter": across}
    remedy = Remedy("pocket", f"{train}.pocket.depth", change, 3.0 + change, 2.6, "", None, also, None)
    judged = next(one.piston for one in load(POCKET).clearances.valves if one.piston is not None)
    blocks = remedy_blocks(job, [Mended(remedy, ())], judged, train)
    (said,) = (one.words for one in blocks if "written into the file" in one.words)
    assert said.startswith(f"{train}.{told.format(train)}")
    assert "rear intake" in said
    (row,) = brief_rows(job, [Mended(remedy, ())])
    assert row.cells[0] == in_brief
