"""What the page's script is given: the numbers of every degree, and parts drawn from them where the picture stands."""

from __future__ import annotations

from typing import Any

import pytest
from tallstack.cli.drawing.turning_data import turning_data
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Turn, flat
from tallstack.cli.sheet.contents import sheet
from tallstack.cli.sheet.work import work

from ...commands import COORDINATES

DEGREES = 721  # of the cycle, both ends


@pytest.fixture(scope="module")
def turn() -> Turn:
    pages = sheet(work(load(COORDINATES), None), "foot").rest
    (found,) = (one for page in pages for one in flat(page.blocks) if isinstance(one, Turn))
    return found


def test_every_part_is_drawn_where_its_numbers_put_it(turn: Turn) -> None:
    """What the script adds up at the place of the picture is what the picture shows."""
    data = turning_data(turn, [])
    series: dict[str, Any] = data["numbers"]
    assert {len(values) for values in series.values()} == {DEGREES}
    for part in data["parts"]:
        for end, drawn in zip(("from", "to"), part["drawn"], strict=True):
            at = list(part[end]["at"])
            for name, across, down in part[end]["ways"]:
                by = series[name][turn.place]
                at[0] += across * by / data["fineness"][name]
                at[1] += down * by / data["fineness"][name]
            assert at == pytest.approx(drawn, abs=0.01)
