"""What a pose is looked at by: its spots, where its words stand and where it is tapped."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import NamedTuple
from xml.etree import ElementTree

from markupsafe import Markup
from tallstack.cli.bench.poses.spots import Spot
from tallstack.cli.drawing.lines import width

STATES = ("typed", "reckoned", "assumed", "lacking", "faulty")
LONG = "1234.5678 mm"


class Box(NamedTuple):
    """A rectangle of a pose."""

    left: float
    top: float
    right: float
    foot: float

    def meets(self, other: Box) -> bool:
        """Say whether two take up a place in common."""
        across = min(self.right, other.right) - max(self.left, other.left)
        return across > 1e-6 and min(self.foot, other.foot) - max(self.top, other.top) > 1e-6

    def holds(self, other: Box) -> bool:
        """Say whether another lies in it."""
        own = self.left <= other.left + 1e-6 and self.top <= other.top + 1e-6
        return own and other.right <= self.right + 1e-6 and other.foot <= self.foot + 1e-6


Element = ElementTree.Element


def read(svg: Markup) -> Element:
    """Return a pose as it is parsed."""
    return ElementTree.fromstring(svg)


def page(root: Element) -> Box:
    """Return the whole of a pose."""
    return Box(*(float(one) for one in root.get("viewBox", "").split()))


def spots_of(root: Element) -> list[Element]:
    """Return the groups that stand for fields, or for screens to go to."""
    return [one for one in root.iter("g") if (one.get("class") or "").split()[:1] == ["spot"]]


def tap(group: Element) -> Box:
    """Return where a spot is tapped."""
    (found,) = (one for one in group.iter("rect") if one.get("class") == "tap")
    assert found.get("pointer-events") == "all"
    left, top, wide, high = (float(found.get(one, "")) for one in ("x", "y", "width", "height"))
    return Box(left, top, left + wide, top + high)


def written(group: Element) -> Iterator[tuple[str, Box]]:
    """Yield the words of a group, each with the room that it takes up."""
    for one in group.iter("text"):
        said, size, bold = one.text or "", float(one.get("font-size", "")), one.get("font-weight") == "bold"
        wide = float(one.get("textLength") or width(said, size, bold))
        at, level = float(one.get("x", "")), float(one.get("y", ""))
        left = at - {"start": 0.0, "middle": wide / 2, "end": wide}[one.get("text-anchor", "start")]
        yield said, Box(left, level - 0.8 * size, left + wide, level + 0.25 * size)


def points(group: Element) -> list[tuple[float, float]]:
    """Return the points of a group's dimensions."""
    drawn = " ".join(one.get("d", "") for one in group.iter("path") if one.get("class") == "dim")
    return [(float(u), float(v)) for u, v in re.findall(r"([-\d.]+) ([-\d.]+)", drawn)]


def apart(boxes: Iterable[Box]) -> bool:
    """Say whether no two take up a place in common."""
    return not any(one.meets(other) for one, other in combinations(boxes, 2))


def spots(
    entries: Iterable[str], state: str = "typed", shown: str = LONG, letter: str = "AB"
) -> dict[str, Spot]:
    """Return spots of one state."""
    return {one: Spot(f"of {one}", letter, "" if state == "lacking" else shown, state) for one in entries}


def said(svg: Markup) -> list[str]:
    """Return all words of a pose."""
    return [one for one, _ in written(read(svg))]
