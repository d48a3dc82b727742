"""The crank's wheel: its bands are the windows that the stations tell, its labels lie on nothing."""

from __future__ import annotations

import itertools
import math

import pytest
from tallstack.cli.drawing.crank_wheel import crank_wheel
from tallstack.cli.drawing.lines import Drawing, Fill, Line, Stroke, Text
from tallstack.geometry.crank.firing import Place
from tallstack.geometry.crank.heels import HeelWindow
from tallstack.geometry.pushrod.stations import Station

from ...drawn import crosses


def station(name: str, fires: float | None, heel: tuple[float, float] | None, top: float = 0.0) -> Station:
    window = None if heel is None else HeelWindow(*(math.radians(one) for one in heel))
    at = None if fires is None else math.radians(fires)
    return Station(name, Place(name, math.radians(top), at, None), None, window, None, None, None, ())


def bands(page: Drawing) -> list[tuple[float, float]]:
    """Where each band begins and ends, degrees clockwise from upright."""
    marks = page.views[0].items
    discs = [one.points for one in marks if isinstance(one, Line) and one.fill is Fill.GREY]
    rims = [points[: len(points) // 2] for points in discs]
    return [tuple(math.degrees(math.atan2(*one)) for one in (rim[0], rim[-1])) for rim in rims]  # type: ignore[misc]


def words(page: Drawing) -> list[str]:
    return [one.words for one in page.on_page() if isinstance(one, Text)]


def test_bands_and_labels_stand_where_the_crank_does() -> None:
    two = [station("front", 0.0, (-130.0, 120.0)), station("rear", 302.0, (-100.0, 90.0))]
    page = crank_wheel(two, forward=True)
    assert bands(page) == [pytest.approx((-130.0, 120.0)), pytest.approx((302 - 100 - 360, 302 + 90 - 360))]
    assert bands(crank_wheel(two, forward=False))[0] == pytest.approx((130.0, -120.0))
    assert {"front 0", "rear 302"} <= set(words(page))
    assert not any("not entered" in one for one in words(page))
    assert "which way it turns: not entered" in words(crank_wheel(two, forward=True, is_said=False))


def test_what_is_not_known_is_dashed_and_said() -> None:
    page = crank_wheel([station("front", 0.0, None), station("rear", None, None, 302.0)], forward=True)
    assert not bands(page)
    assert sum(getattr(one, "stroke", None) is Stroke.INDICATED for one in page.on_page()) == 2
    assert {"rear 302, first or second turn", "bands: not known"} <= set(words(page))


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6, 8, 12])
def test_labels_lie_on_nothing(count: int) -> None:
    """Not on one another nor on the wheel, and within the page, however many cylinders there are."""
    order = [station(f"number {one + 1}", one * 720.0 / count, (-110.0, 100.0)) for one in range(count)]
    page = crank_wheel(order, forward=True)
    said = [one for one in page.on_page() if isinstance(one, Text)]
    assert len(said) == count + 2
    assert not any(crosses(one, other) for one, other in itertools.combinations(said, 2))
    origin = page.views[0].origin
    for one in said:
        assert all(
            -0.01 <= u <= page.width + 0.01 and -0.01 <= v <= page.height + 0.01 for u, v in one.corners()
        )
        left, right = one.corners()[0][0], one.corners()[1][0]
        low, high = one.corners()[0][1], one.corners()[2][1]
        nearest = math.hypot(
            max(left - origin[0], 0.0, origin[0] - right), max(low - origin[1], 0.0, origin[1] - high)
        )
        assert nearest > 22.5
    assert sum("2nd turn" in one.words for one in said) == count // 2
