"""The stack, from the crank's centre up: what stands between crank and head, now and as it was."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from ...drawing import stack_sketch as sketch
from ...drawing.lines import Line, Mark, Point, Stroke
from ...drawing.solids import body as solid
from ...job.block import OWN as BLOCK
from ...job.block import STANDS_FOR
from .marks import Frame, arrow, between, middle
from .spots import WIDE, Place, Pose, Spot, Spots, drawn

HIGH = 294.0
FRAME = Frame(1.12, WIDE / 2, 244.0)
THEN = ("before.", "measured_pushrod.")  # what stood when something was read
OUT = sketch.DECK + 3.0  # where the heights of deck and block are drawn
PARTS = {
    "base_gasket": (sketch.CASE, sketch.FOOT),
    "cylinder": (sketch.FOOT, sketch.TOP),
    "head_gasket": (sketch.TOP, sketch.FACE),
}


@cache
def _body(is_block: bool, without: tuple[int, ...]) -> str:
    """Return crank, connecting rod, piston, and what stands over the case.

    without : the sides whose cylinder is drawn where its height is told
    """
    marks = [one for one in sketch.outline() if not _is_cylinder(one, without)]
    if is_block:
        marks = [one for one in sketch.outline() if not (_is_cylinder(one) or _is_deck(one))]
        for side in (-1.0, 1.0):
            inner, outer = side * sketch.BORE, side * sketch.OUTER
            marks.append(
                solid(((inner, 40.0), (inner, sketch.TOP), (outer, sketch.TOP), (outer, 40.0)), known=True)
            )
    return FRAME.markup(marks)


def _is_cylinder(mark: Mark, sides: tuple[int, ...] = (-1, 1)) -> bool:
    """Say whether a mark of the sketch is the cylinder's wall on one of these sides."""
    if not isinstance(mark, Line) or not mark.closed:
        return False
    return any(mark.points[0] == (side * sketch.BORE, sketch.FOOT) for side in sides)


def _is_deck(mark: Mark) -> bool:
    """Say whether a mark of the sketch is the case's deck."""
    return isinstance(mark, Line) and mark.stroke is Stroke.FACE and mark.points[0][1] == sketch.CASE


def _up(side: int, low: float, high: float, across: float, face: float | None = None) -> Place:
    """Return a height's place; face : where the edges that it counts from begin."""
    start, end = FRAME.at((across, low)), FRAME.at((across, high))
    lines = between(start, end)
    if face is not None:
        lines += tuple(FRAME.all(((face, one), (across, one))) for one in (low, high))
    return Place(side, middle(start, end), lines)


def _wall(side: int, low: float, high: float) -> tuple[Point, ...]:
    inner, outer = side * sketch.BORE, side * sketch.OUTER
    return FRAME.all(((inner, low), (inner, high), (outer, high), (outer, low)))


def _column(side: int) -> dict[str, Place]:
    """Return the places of one column."""
    found = {}
    for part, (low, high) in PARTS.items():
        place = _up(side, low, high, side * (sketch.OUTER + 5), side * sketch.OUTER)
        found[f"stack.{part}"] = place._replace(parts=(_wall(side, low, high),))
    for entry, high in (("case_cut", sketch.CASE), ("head_cut", sketch.FACE)):
        way = 1.0 if entry == "head_cut" else -1.0
        tip, start = (FRAME.at((side * (sketch.DECK - 2), high + by)) for by in (0.0, way * 10))
        found[f"stack.{entry}"] = Place(side, start, arrow(tip, start))
    near = FRAME.at((side * OUT, sketch.THROW / 2))
    for entry, high in ((STANDS_FOR, sketch.CASE), (BLOCK, sketch.TOP)):
        place = _up(side, 0.0, high, side * OUT, side * sketch.OUTER)
        centre = FRAME.all(((0.0, 0.0), (side * OUT, 0.0)))
        found[entry] = place._replace(at=near, lines=(*place.lines, centre))
    found[BLOCK] = found[BLOCK]._replace(word="block deck")
    inside = side * 0.55 * sketch.BORE
    found["stack.measured_deck.below"] = _up(side, sketch.CROWN, sketch.TOP, side * 30.0)
    found["piston.compression_height"] = _up(side, sketch.PIN, sketch.CROWN, inside, 0.0)
    conrod = _up(side, sketch.THROW, sketch.PIN, inside, 0.0)
    found["crank.conrod_length"] = conrod._replace(at=FRAME.at((inside, sketch.THROW + 25)))
    found["crank.stroke"] = _up(side, -sketch.THROW, sketch.THROW, side * 0.45 * sketch.BORE, 0.0)
    return found


@cache
def _places(has_two: bool) -> Mapping[str, Place]:
    """Return every place; has_two : the right column is of what stood before."""
    own = _column(-1)
    if has_two:
        then = {f"{table}{entry}": place for table in THEN for entry, place in _column(1).items()}
        return {**own, **then}
    right = _column(1)
    found = {}
    for entry, place in own.items():
        if entry.startswith("stack.") and not entry.endswith(".below"):
            parts = (*place.parts, *right[entry].parts)
            found[entry] = place._replace(parts=parts)
        else:
            found[entry] = right[entry]
    return found


def stack(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the stack.

    facts : "block", whether the cylinder is part of it; "then", what is said over the second column, empty: there is none;
    "sum", what the differences come to, empty: nothing to say
    """
    then, total = str(facts.get("then", "")), str(facts.get("sum", ""))
    said: list[tuple[Point, str, str, bool]] = []
    if then:
        said += [((6.0, 16.0), "as it will be", "start", True), ((WIDE - 6, 16.0), then, "end", True)]
    if total:
        said.append(((WIDE / 2, -8.0), total, "middle", True))
    places = _places(bool(then))
    told = {
        1 if part[0][0] > WIDE / 2 else -1
        for entry in spots
        if entry.endswith("stack.cylinder") and entry in places
        for part in places[entry].parts
    }
    svg = drawn(
        "stack",
        _body(bool(facts.get("block")), tuple(sorted(told))),
        places,
        {entry: _as_lettered(entry, one, spots) for entry, one in spots.items()},
        HIGH,
        above=22.0 if then else 0.0,
        below=26.0 if total else 0.0,
        said=said,
    )
    caption = "Drawn from the crank's centre up, the crank below, the piston at top centre."
    return Pose(svg, f"{caption} Left: as it will be built; right: {then}." if then else caption)


def _as_lettered(entry: str, one: Spot, spots: Spots) -> Spot:
    """Return a spot of what stood before with the letter of what stands there now, where it has none."""
    own = next((entry.removeprefix(table) for table in THEN if entry.startswith(table)), "")
    return one._replace(letter=spots[own].letter) if own in spots and not one.letter else one
