"""What entries mean together where adjusters are set: the rocker's adjuster, and when a cylinder fires."""

from __future__ import annotations

import math
from collections.abc import Iterator

from tallstack.geometry.core.mapping import Flat, Reader, names

from ..contents import Entries
from ..faults import Fault, Where

ECCENTRIC = "eccentric shaft"
OF_ECCENTRIC = ("eccentricity", "eccentric_at")
OF_THREAD = ("pitch", "threads_per_inch")
MOST_FLATS = 24
CYCLE_DEG = 720.0
SAME_DEG = 1e-6


def of_adjusters(entries: Entries, mapping: Flat, where: Where) -> Iterator[Fault]:
    """Yield what cannot be said of a rocker's adjuster of that kind."""
    for name in names(mapping, "trains"):
        prefix = f"{name}.rocker.adjuster."
        kind = entries.get(f"{prefix}kind")
        flats = entries.get(f"{prefix}flats")
        if flats is not None and isinstance(flats.value, float):
            if flats.value % 1 or not 1 <= flats.value <= MOST_FLATS:
                message = f"{flats.typed}: a nut has a whole number of flats, from 1 to {MOST_FLATS}"
                yield Fault(*where(f"{prefix}flats"), message)
        if kind is None:
            continue
        eccentric = kind.value == ECCENTRIC
        for entry in OF_THREAD if eccentric else OF_ECCENTRIC:
            found = entries.get(f"{prefix}{entry}")
            if found is None or found.origin.startswith("like") or kind.origin.startswith("--"):
                continue
            if eccentric:
                message = "an eccentric shaft has no thread; it takes eccentricity and eccentric_at"
            else:
                has = "no adjuster" if kind.value == "none" else f"a {kind.value}"
                message = f'only an {ECCENTRIC} has it; this rocker has {has} (kind = "{kind.value}")'
            yield Fault(*where(f"{prefix}{entry}"), message)


def of_firing(mapping: Flat, where: Where) -> Iterator[Fault]:
    """Yield firing angles that are no top centre of their cylinder, by leans, pins and the way it turns."""
    cylinders = names(mapping, "cylinders")
    firing = {name: Reader(mapping, (f"{name}.",)).find("fires_at") for name in cylinders}
    if all(angle is None for angle in firing.values()):
        return
    first = firing[cylinders[0]]
    if first is not None and SAME_DEG < math.degrees(first) % CYCLE_DEG < CYCLE_DEG - SAME_DEG:
        message = (
            f"{_shown(float(first))} deg: crank angles count from where the first cylinder fires; write 0 or "
            "leave it out"
        )
        yield Fault(*where(f"{cylinders[0]}.fires_at"), message)
    ways = [_top_centres(mapping, way) for way in _ways(mapping)]
    for name, angle in firing.items():
        if angle is None or name == cylinders[0] or any(way[name][1] for way in ways):
            continue
        at = [f"{_shown(way[name][0])} and {_shown(way[name][0] + 2 * math.pi)} deg" for way in ways]
        by = ["the leans", "the pins"]
        if any(path.endswith("piston.pin_offset") for path in mapping):
            by.append("the wrist pins' offsets")
        if len(at) > 1:
            at = [f"{at[0]} turning forward", f"{at[1]} turning backward"]
        else:
            by.append("the way it turns")
        there = f"{', '.join(at)}{', ' if len(at) > 1 else ' '}by {', '.join(by[:-1])} and {by[-1]}"
        message = f"{_shown(float(angle))} deg is no top centre of {name}: those are at {there}"
        yield Fault(*where(f"{name}.fires_at"), message)


def _ways(mapping: Flat) -> tuple[str, ...]:
    said = Reader(mapping, ("",)).word("crank.turns")
    return (said,) if said else ("forward", "backward")


def _top_centres(mapping: Flat, turns: str) -> dict[str, tuple[float, bool]]:
    """Return each cylinder's top centre [rad], and whether its firing angle fits or cannot be compared."""
    from tallstack.geometry.crank.firing import places

    cylinders = names(mapping, "cylinders")
    known = f"{cylinders[0]}.lean" in mapping
    found = places({**mapping, "crank.turns": turns})
    return {
        one.cylinder: (
            one.top_centre,
            one.disagrees is None or not known or f"{one.cylinder}.lean" not in mapping,
        )
        for one in found
    }


def _shown(angle: float) -> str:
    return f"{math.degrees(angle):.5g}"
