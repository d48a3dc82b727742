"""What would mend a clearance that falls short: each alone, with what else moves, and why where nothing does."""

from __future__ import annotations

import pytest
from tallstack.cli.commands.clearance import remedies_of
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Form, Words
from tallstack.cli.page.remedy_words import Mended, remedy_blocks, remedy_row

from ...commands import EXAMPLES

POCKET = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


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
