"""A least clearance as a picture for the first page: what comes close, the figure between, and a bar beside it.

The bar is as long as the value is; lighter, what its doubt leaves open; a tick, the limit. The parts are a sign and
not to scale, the bar is.
"""

from __future__ import annotations

from tallstack.geometry.doubt.result import Result

from ..job.contradicted import word
from ..page.wording import in_one
from .lines import Anchor, Drawing, Fill, Item, Line, Point, Stroke, Text, View, measured, width

WIDE, HIGH = 55.0, 34.0
SAID, FIGURE = 3.6, 4.6  # mm of paper, 10 pt and more
CROWN, HALF, STEM, METAL = 6.0, 11.0, 1.6, 4.0
MIDDLE = 14.0  # of the parts
BAR, THICK, FOOT, TALL = 32.0, 3.6, 3.0, 22.0
WALLS = ("wall", "bore")  # clearances to a wall beside the valve
ROOM = 1.6  # times the greater of limit and value: how much the bar can show


def closest(judged: Result, units: str) -> Drawing:
    """Return the picture of one least clearance."""
    value, doubt = judged.value, judged.doubt

    def said(unit: str) -> str:
        return in_one(value, unit, judged.budget.expanded)

    stands = word(judged.verdict, judged.look_again)
    parts = (
        _valves()
        if judged.name in ("between", "pumped pair")
        else _beside_wall()
        if judged.name in WALLS
        else _over_crown()
    )
    half = max(width(said(unit), FIGURE, bold=True) for unit in ("mm", "in")) / 2
    figure_at = (4.6 if judged.name in WALLS else MIDDLE - half, 11.6)
    items: list[Item] = [*parts, measured(figure_at, units, said, FIGURE, bold=True), *_bar(judged, units)]
    items.append(Text((WIDE - 0.5, HIGH - 4.5), stands or "no limit", SAID, Anchor.END, bold=True))
    more = "+/- not known" if doubt is None else f"+/- {in_one(doubt, units, doubt)}"
    told = f"{judged.of.replace('.', ' ')}: {said(units)}, {more}, limit {in_one(judged.limit.value, units)}, {stands}"
    return Drawing(f"{judged.of}: closest", told, WIDE, HIGH, (View("closest", told, tuple(items)),))


def _head(at: Point, half: float, up: float, down: float = 1.0) -> list[Item]:
    """Return a valve's head and stem, its face at a point."""
    (u, v), rim, neck = at, at[1] + down * 1.2, at[1] + down * 5.0
    side = [(u + half, v), (u + half, rim), (u + STEM, neck), (u + STEM, up)]
    return [
        Line(
            (*side, *((2 * u - a, b) for a, b in reversed(side))), Stroke.OUTLINE, closed=True, fill=Fill.GREY
        )
    ]


def _over_crown() -> list[Item]:
    """Return a valve over a piston's crown."""
    crown = (
        (MIDDLE - 13.5, CROWN - METAL),
        (MIDDLE - 13.5, CROWN),
        (MIDDLE + 13.5, CROWN),
        (MIDDLE + 13.5, CROWN - METAL),
    )
    return [
        Line(crown, Stroke.OUTLINE, closed=True, fill=Fill.GREY),
        *_head((MIDDLE, 19.0), HALF, HIGH - 2.0),
    ]


def _beside_wall() -> list[Item]:
    """Return a valve's rim beside a wall."""
    wall = ((0.8, 3.0), (0.8, HIGH - 2.0), (3.8, HIGH - 2.0), (3.8, 3.0))
    return [
        Line(wall, Stroke.OUTLINE, closed=True, fill=Fill.GREY),
        *_head((MIDDLE + 3.5, 19.0), 8.0, HIGH - 2.0),
    ]


def _valves() -> list[Item]:
    """Return two heads that come close to each other."""
    return [*_head((MIDDLE, 19.0), HALF, HIGH - 2.0), *_head((MIDDLE, 9.0), HALF, 1.0, -1.0)]


def _bar(judged: Result, units: str) -> list[Item]:
    """Return the value as a length beside its limit."""
    value, doubt, limit = judged.value, judged.doubt or 0.0, judged.limit.value
    most = max(value + doubt, limit, 1e-6) * (ROOM if limit > value else 1.1)

    def up(at: float) -> float:
        return FOOT + TALL * min(1.0, max(0.0, at / most))

    def length(low: float, high: float, fill: Fill) -> list[Item]:
        corners = ((BAR, up(low)), (BAR, up(high)), (BAR + THICK, up(high)), (BAR + THICK, up(low)))
        return [Line(corners, Stroke.FACE, closed=True, fill=fill)] if up(high) > up(low) else []

    tick = up(limit)
    return [
        Line(((BAR - 1.0, FOOT), (BAR + THICK + 1.0, FOOT)), Stroke.FACE),
        *length(value - doubt, value + doubt, Fill.GREY),
        *length(0.0, value - doubt, Fill.BLACK if judged.proved else Fill.WHITE),
        Line(((BAR - 1.6, tick), (BAR + THICK + 1.6, tick)), Stroke.OUTLINE),
        measured((BAR + THICK + 2.6, tick - 0.35 * SAID), units, lambda unit: in_one(limit, unit), SAID),
    ]
