"""Which numbers of a card would narrow its lobe most, in the order in which they do, and what each would be worth.

The order is what the doubt of a least clearance came to over 900 made-up lobes, at the valve, in thousandths of an inch: with
both events at 0.050 in 25, and besides the lift at 10 degrees from top centre 4.5, at top centre 6.5, an event
between 0.100 and 0.125 in on that flank 7, the duration at 0.020 in 18, a seat duration 21. What one is worth for an engine
is found from its own lobe, as if the most probable were read there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from tallstack.geometry.core.mapping import Flat

from ..job.checks.lobe import ports_of
from ..job.entries.catalogue import tool_at

if TYPE_CHECKING:
    from tallstack.geometry.cam.cam import CamLobe
    from tallstack.geometry.cam.card import Card
    from tallstack.geometry.cam.shape import CardShape
    from tallstack.geometry.clearance.situation import Asked, Situation
    from tallstack.geometry.sure.what_next import Candidate

SHAPE = "the shape of"  # begins what a shape is called among the parts of a doubt
WORDS = {
    "card.events": "both events at 0.050 in",
    "card.lift": "the lift 10 degrees from top centre, towards the lobe",
    "card.top_centre": "the lift at top centre",
    "card.opening": "where it opens to 0.100 to 0.125 in",
    "card.closing": "where it closes to 0.100 to 0.125 in",
    "card.duration": "the duration at 0.020 in",
}
LOW_MM = (0.4, 0.7)  # a duration about 0.020 in
DURATION_MM, EVENT_MM = 0.508, 2.85  # where each is taken to be read
LIFT_AT = {"top_centre": 0.0, "lift": 10.0}  # crank degrees from top centre, towards the lobe


Rest = tuple[
    tuple[str, str], "Situation", "Asked", tuple[str, ...]
]  # of which, what; where; which clearance; its cards' lobes
Rests = list[Rest]


def narrowing(mapping: Flat, lobe: str) -> list[str]:
    """Return what to read of a lobe known by its card, what narrows it most first.

    A lift is not asked for where the card already tells it as well as it can be read.
    """
    prefix = f"lobe.{lobe}.card."

    def has(table: str) -> bool:
        return any(path == prefix + table or path.startswith(f"{prefix}{table}.") for path in mapping)

    port = "exhaust" if ports_of(lobe, mapping) == ("exhaust",) else "intake"
    side = "closing" if port == "exhaust" else "opening"
    found = []
    if mapping.get(f"lobe.{lobe}.centreline_by") == "the nose" and not has("events"):
        found.append("card.events")
    # Top centre first, as it takes no wheel; nearer the least tells more still.
    found += [
        f"card.{one}"
        for one in ("top_centre", "lift", side)
        if not has(one) and not _known_already(mapping, lobe, port, one)
    ]
    lifts = [value for path, value in mapping.items() if path.startswith(prefix) and path.endswith(".at")]
    if not any(isinstance(one, float) and LOW_MM[0] <= one <= LOW_MM[1] for one in lifts):
        found.append("card.duration")
    return [f"lobe.{lobe}.{one}" for one in found]


def _known_already(mapping: Flat, lobe: str, port: str, table: str) -> bool:
    """Say whether a card tells the lift at a crank angle as well as a dial does, so that reading it tells nothing."""
    from tallstack.geometry.cam.cam import LIFT_DOUBT_MM, CardStands, card_of
    from tallstack.geometry.cam.shape import card_shape
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.core.frames import array
    from tallstack.geometry.core.mapping import Reader

    if table not in LIFT_AT:
        return False
    try:
        stands = card_of(Reader(mapping, ("",)), lobe, port)
        if not isinstance(stands, CardStands) or stands.middle is None:
            return False
        at = _cam_angle(port, stands.middle, table)
        return bool(card_shape(stands.card, mapping).lift_doubt(array(at)) <= LIFT_DOUBT_MM)
    except GeometryError:
        return False


def _cam_angle(port: str, centreline: float, table: str) -> float:
    """Return where the lift at or near top centre is read [cam rad after the centreline]."""
    towards = LIFT_AT[table] * math.pi / 180
    return (towards - centreline) / 2 if port == "intake" else (centreline - towards) / 2


def named(entry: str) -> str:
    """Return what is to be read, in words, with the entry that it goes into; another entry as it is."""
    words = WORDS.get(".".join(entry.split(".")[2:])) if entry.startswith("lobe.") else None
    return entry if words is None else f"{words} ({entry})"


def is_shape(name: str) -> bool:
    """Say whether a candidate is the whole shape of a lobe, which no reading tells."""
    return name.startswith(SHAPE)


def is_narrower(mapping: Flat, name: str) -> bool:
    """Say whether a candidate is a number of a card that is not there yet."""
    return name not in mapping and named(name) != name


def candidates(mapping: Flat, rests: Rests) -> list[Candidate]:
    """Return the numbers that would narrow the lobes of cards, and those whole shapes, with what each takes off an answer.

    rests : answers that rest on such lobes
    """
    from tallstack.geometry.clearance.shape_doubt import shape_doubt
    from tallstack.geometry.clearance.situation import trains_of
    from tallstack.geometry.doubt.budget import FACTOR
    from tallstack.geometry.sure.what_next import Candidate, Tool

    takes: dict[str, dict[tuple[str, str], float]] = {}
    for answer, here, asked, lobes in rests:
        trains = trains_of(here, asked)
        now = shape_doubt(here, asked, trains)
        if now is None:
            continue
        takes.setdefault(now.entry, {})[answer] = (now.below / FACTOR) ** 2
        known = {here.lifts[name].lobe.name: here.lifts[name].lobe for name in trains}
        for lobe in lobes:
            for entry, shape in _told_more(mapping, known[lobe]):
                then = shape_doubt(here, asked, trains, {lobe: shape})
                less = 0.0 if then is None else (now.below / FACTOR) ** 2 - (then.below / FACTOR) ** 2
                if less > 0.0:
                    takes.setdefault(entry, {})[answer] = less
    return [
        Candidate(name, Tool(tool_at(tuple(name.split("."))), 0.0), {}, one) for name, one in takes.items()
    ]


def _told_more(mapping: Flat, lobe: CamLobe) -> Iterator[tuple[str, CardShape]]:
    """Yield what to read of a lobe, with its shape were the most probable lobe to be read there."""
    from tallstack.geometry.cam.card import CardError
    from tallstack.geometry.cam.shape import card_shape

    for entry in narrowing(mapping, lobe.name):
        try:
            yield entry, card_shape(_with(lobe, entry.rpartition(".")[2]), mapping)
        except CardError:
            continue


def _with(lobe: CamLobe, table: str) -> Card:
    """Return a lobe's card with one more number, as its most probable lobe has it."""
    from tallstack.geometry.cam.cam import EVENT_DOUBT, LIFT_DOUBT_MM
    from tallstack.geometry.cam.card import AtAngle, Stated
    from tallstack.geometry.cam.lobe import CENTRE_LIFT_MM
    from tallstack.geometry.cam.shape import reached
    from tallstack.geometry.core.frames import array

    shape, place = lobe.card, lobe.placed
    assert shape is not None
    card = shape.card
    if table in ("duration", "events"):
        lift = DURATION_MM if table == "duration" else CENTRE_LIFT_MM
        more = (*card.durations, Stated(lift, shape.expected(lift)[0]))
        return card._replace(durations=more, halved=card.halved if table == "duration" else CENTRE_LIFT_MM)
    if table in ("opening", "closing"):
        side, after = (shape.opening, -1) if table == "opening" else (shape.closing, 1)
        angle = shape.nose + after * reached(side, EVENT_MM)
        one = AtAngle(EVENT_MM, angle, 0.0, EVENT_DOUBT)
    else:
        angle = _cam_angle(place.port, place.centreline, table)
        one = AtAngle(float(shape.at(array(angle), 0)), angle, LIFT_DOUBT_MM)
    return card._replace(lifts=(*card.lifts, one))
