"""The least clearance as a picture: its bar is to scale, its figure in both units, nothing on a text."""

from __future__ import annotations

import itertools

import pytest
from tallstack.cli.drawing.closest import closest
from tallstack.cli.drawing.lines import Drawing, Fill, Line, Stroke, Text
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget
from tallstack.geometry.doubt.result import Result

from ...commands import EXAMPLES
from ...drawn import crosses
from ...geometry.doubt.test_readings import NOTHING


@pytest.fixture(scope="module")
def judged() -> dict[str, Result]:
    job = load(EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml")
    found = clearances(job.mapping, NOTHING, job.quantities, job.doubts).judged
    return {f"{one.of} {one.name}": one for one in found}


def bar(page: Drawing) -> dict[Fill, tuple[float, float]]:
    """From where to where each of the bar's lengths reaches, mm of paper."""
    boxes = [
        one
        for one in page.views[0].items
        if isinstance(one, Line) and one.stroke is Stroke.FACE and one.closed
    ]
    return {one.fill: (one.points[0][1], one.points[1][1]) for one in boxes}


def tick(page: Drawing) -> float:
    lines = [one for one in page.views[0].items if isinstance(one, Line) and len(one.points) == 2]
    return next(one.points[0][1] for one in lines if one.stroke is Stroke.OUTLINE)


def test_the_bar_is_to_scale(judged: dict[str, Result]) -> None:
    """Value, what its doubt leaves open and the limit stand to each other on paper as they do in mm."""
    one = judged["barrel.intake drop"]
    page = closest(one, "in")
    foot = bar(page)[Fill.BLACK][0]
    assert one.doubt is not None
    scale = (tick(page) - foot) / one.limit.value
    assert (bar(page)[Fill.BLACK][1] - foot) / scale == pytest.approx(one.value - one.doubt)
    low, high = bar(page)[Fill.GREY]
    assert ((low - foot) / scale, (high - foot) / scale) == pytest.approx(
        (one.value - one.doubt, one.value + one.doubt)
    )
    assert one.value < one.limit.value


def test_what_cannot_be_drawn_is_not(judged: dict[str, Result]) -> None:
    """Parts that stand in one another have no length; a doubt that is not known leaves none."""
    one = next(iter(judged.values()))
    assert not bar(closest(one._replace(value=-2.0, budget=Budget(0.0, {}, ())), "mm"))
    bare = closest(one._replace(budget=Budget(0.3, {}, ("crank.stroke",))), "mm")
    assert set(bar(bare)) == {Fill.WHITE}
    assert "+/- not known" in bare.description


def test_every_text_stands_free_and_in_both_units(judged: dict[str, Result]) -> None:
    for one, units in itertools.product(judged.values(), ("mm", "in")):
        for verdict, again in itertools.product(Verdict, ((), ("why",))):
            page = closest(one._replace(verdict=verdict, look_again=again), units)
            said = [mark for mark in page.on_page() if isinstance(mark, Text)]
            assert not any(crosses(*pair) for pair in itertools.combinations(said, 2))
            assert all(-0.01 <= u <= page.width for mark in said for u, _ in mark.corners())
            assert min(mark.size for mark in said) >= 10 / 72 * 25.4
            lengths = [mark for mark in said if mark.other]
            assert len(lengths) == 2
            for mark in lengths:
                assert mark.unit == units
                assert mark.words.endswith(units)
                assert not mark.other.endswith(units)
