"""The engine from the front: its cylinders at their leans, and one bar for each valve gear, as full as it is known."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from markupsafe import Markup

from ...drawing.lines import Circle, Fill, Mark, Point, Stroke
from ...drawing.solids import body
from ...drawing.svg import text
from .marks import BODY, Frame, number, path
from .spots import DOTS, TAP, WIDE, Pose, Spots, opened, spread, words

FRONT, ROW, GAP = 132.0, 52.0, 8.0  # height of the view from the front, from a bar to the next
CRANK, FOOT, TOP, HALF = 14.0, 40.0, 86.0, 14.0  # mm of the view from the front
NAMED, NARROW = 99.0, 30.0  # where a name stands, and too little room for one
ASIDE, LINE = 46.0, 17.0  # half of what is kept for cylinders of no lean, and from a name to the next
LYING = 0.3  # cosine of the lean at most, either way, of a cylinder that lies
WEIGHTS = {"empty": "1.6", "half": "1.6", "full": "1.6", "stop": "4"}


def gears(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the engine from the front.

    facts : "cylinders", each its "name" and "lean", degrees or None; "gears", each its "key", "cylinder", "port", what is
    "said" on its bar, its "state", "empty", "half", "full" or "stop", and what it "lacks", in words
    """
    del spots
    cylinders: Sequence[Mapping[str, Any]] = list(facts.get("cylinders") or ())
    bars: Sequence[Mapping[str, Any]] = list(facts.get("gears") or ())
    rows = -(-len(bars) // 2)
    high = FRONT + rows * ROW
    found = [opened("gears", high), _front(cylinders)]
    wide = (WIDE - GAP) / 2
    for place, one in enumerate(bars):
        left, top = (place % 2) * (wide + GAP), FRONT + (place // 2) * ROW
        found.append(_bar(one, left, top, wide))
    leaning = any(one.get("lean") is None for one in cylinders)
    known = [float(one["lean"]) for one in cylinders if one.get("lean") is not None]
    caption = (
        f"The engine from the front{_crank(known)}; one bar for each valve gear, as full as it is known."
    )
    return Pose(
        Markup("".join([*found, "</svg>"])),
        f"{caption} Dashed: a cylinder whose lean is not entered." if leaning else caption,
    )


def _crank(leans: Sequence[float]) -> str:
    """Return where the crank is among cylinders of these leans, in words; nothing where that is no one place."""
    high = [math.cos(math.radians(one)) for one in leans]
    if leans and min(high) > LYING:
        return ", the crank below"
    aside = [math.sin(math.radians(one)) for one in leans]
    if leans and max(map(abs, high)) <= LYING:
        return (
            ", the crank between the cylinders"
            if min(aside) < 0 < max(aside)
            else ", the crank beside the cylinders"
        )
    return ""


def _bar(one: Mapping[str, Any], left: float, top: float, wide: float) -> str:
    """Return a valve gear's bar with its words."""
    state = str(one["state"])
    right, foot = left + wide, top + TAP
    shares = {"empty": 0.0, "half": 0.5, "full": 1.0}
    across = left + wide * shares.get(state, 0.0)
    found = [f'<g class="spot" data-go="{text(str(one["key"]))}">']
    if state == "stop":
        found.append(
            f'<path d="{_box(left + 2, top + 2, left + 24, foot - 2)}" fill="url(#hatch-gears)" stroke="none"/>'
        )
    elif across > left:
        found.append(
            f'<path d="{_box(left + 1, top + 1, across - 1, foot - 1)}" fill="{BODY}" stroke="none"/>'
        )
    dots = f' stroke-dasharray="{DOTS}" stroke-linecap="round"' if state == "empty" else ""
    inset = float(WEIGHTS.get(state, "1.6")) / 2
    outline = _box(left + inset, top + inset, right - inset, foot - inset)
    found.append(f'<path class="dim" d="{outline}" stroke-width="{WEIGHTS.get(state, "1.6")}"{dots}/>')
    start = left + (30.0 if state == "stop" else 8.0)
    room = right - 8 - start
    found.append(
        words(
            (start, top + 20), f"{one['cylinder']} {one['port']}", room, bold=True, named="say", on_body=True
        )
    )
    said = ", ".join(str(each) for each in (one.get("said", ""), one.get("lacks", "")) if each)
    if said:
        found.append(words((start, top + 39), said, room, named="say", on_body=True))
    found.append(
        f'<rect class="tap" x="{number(left)}" y="{number(top)}" width="{number(wide)}" height="{number(TAP)}" fill="none" '
        'stroke="none" pointer-events="all"/></g>'
    )
    return "".join(found)


def _box(left: float, top: float, right: float, foot: float) -> str:
    return path(((left, top), (right, top), (right, foot), (left, foot)), True)


def _front(cylinders: Sequence[Mapping[str, Any]]) -> str:
    """Return the crank and the cylinders, those of one lean one behind the other, and those of none dashed, aside."""
    leans: dict[float | None, list[str]] = {}
    for one in cylinders:
        lean = one.get("lean")
        leans.setdefault(None if lean is None else float(lean), []).append(str(one["name"]))
    unknown = leans.pop(None, [])
    known = {lean: ", ".join(names) for lean, names in leans.items() if lean is not None}
    lowest = min((_reach(one) for one in known), default=-CRANK - 2)
    tallest = max((_turned(one, 0.0, TOP)[1] for one in known), default=TOP)
    tallest = max(tallest, TOP if unknown else CRANK) + 22
    scale = min(1.0, (FRONT - 12) / (tallest - lowest))
    edge = WIDE - 2 * ASIDE if unknown else WIDE
    frame = Frame(scale, edge / 2, 4 + scale * tallest)
    marks = [_cylinder(lean) for lean in sorted(known)]
    marks += [
        Circle((0.0, 0.0), CRANK, Stroke.OUTLINE, Fill.GREY),
        Circle((0.0, 0.0), 1.5, Stroke.THIN, Fill.BLACK),
    ]
    found = [frame.markup(marks), *_names(frame, known, edge)]
    if unknown:
        shown = frame._replace(across=WIDE - ASIDE)
        dashed = body([(-HALF, FOOT), (HALF, FOOT), (HALF, TOP), (-HALF, TOP)], known=False)
        found.append(shown.markup((dashed,)))
        found.append(words(shown.at((0.0, TOP + 6)), ", ".join(unknown), 2 * ASIDE - 8, "middle"))
    return "".join(found)


def _turned(lean: float, aside: float, up: float) -> Point:
    turn = math.radians(lean)
    return aside * math.cos(turn) + up * math.sin(turn), up * math.cos(turn) - aside * math.sin(turn)


def _reach(lean: float) -> float:
    """Return how low a leaning cylinder, or the crank, comes."""
    return min(
        -CRANK - 2, *(_turned(lean, side * HALF, up)[1] - 14 for side in (-1, 1) for up in (FOOT, TOP))
    )


def _cylinder(lean: float) -> Mark:
    corners = ((-HALF, FOOT), (HALF, FOOT), (HALF, TOP), (-HALF, TOP))
    return body([_turned(lean, *one) for one in corners], known=True)


def _names(frame: Frame, known: Mapping[float, str], edge: float) -> Iterator[str]:
    """Yield what the cylinders of each lean are called, past their tops, clear of one another."""
    places = {lean: frame.at(_turned(lean, 0.0, NAMED)) for lean in known}
    upright = [lean for lean, at in places.items() if abs(at[0] - frame.across) < 1]
    for side in (-1, 1):
        own = [
            lean
            for lean, at in places.items()
            if lean not in upright and (at[0] > frame.across) == (side > 0)
        ]
        own.sort(key=lambda one: (places[one][1], one))
        levels = spread([places[one][1] for one in own], 0.0, FRONT, LINE)
        for lean, level in zip(own, levels, strict=True):
            across = places[lean][0]
            room = edge - 4 - across if side > 0 else across - 4
            yield words((across, level + 4), known[lean], room, "start" if side > 0 else "end")
    beside = min(
        (abs(at[0] - frame.across) for lean, at in places.items() if lean not in upright), default=edge
    )
    room = min(edge - 8, 2 * beside - 8)
    if room < NARROW:
        return  # its bars say it
    for lean in upright:
        at = places[lean]
        yield words((at[0], at[1] + 4), known[lean], room, "middle")
