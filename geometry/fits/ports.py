"""How far the heads' ports have moved apart, and the spacers a manifold then needs.

Between two builds each face moves by mᵢ, its normal nᵢ pointing out of the head. In front of a face that
stands where it stood the gap opens by -mᵢ·nᵢ and the rest of mᵢ is slip along the face. A manifold between
two faces does not stay: it is moved by the t that leaves the least slip at both,

    Σ Pᵢ·(mᵢ - t) = 0,   Pᵢ = 1 - nᵢ·nᵢᵀ      and each spacer is -(mᵢ - t)·nᵢ

of all such t the shortest. Engine frame: X forward, Y along the crankshaft, Z up.

The case deck cancels while a cylinder leans as it did; where it is not known of both builds it is left out of both.

Source: least squares; the spacers are what is left along each normal.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.answer import Missing, of_cylinder
from ..core.frames import Array, array, norm, point, to_engine, unit
from ..core.mapping import Flat, Reader, names
from ..engine.alternatives import head_face, stack_height
from ..engine.defaults import completed

FACES = ("intake", "exhaust")
SAME_RAD = 1e-6


class Moved(NamedTuple):
    """One face or named point between two builds, in the engine frame."""

    cylinder: str
    name: str  # "intake", "exhaust" or the point's own name
    by: Array  # (3) mm
    normal: Array | None  # (3) unit, as it stands after; None for a point
    tilted: float  # rad, between the normal before and after

    @property
    def opened(self) -> float | None:
        """The gap in front of the face, had its partner stayed: positive where it opened [mm]."""
        return None if self.normal is None else -float(self.by @ self.normal)

    @property
    def slip(self) -> float | None:
        """How far the face slipped along itself, had its partner stayed [mm]."""
        return None if self.normal is None else float(norm(self.by - (self.by @ self.normal) * self.normal))


class Facing(NamedTuple):
    """Two faces with a manifold between them."""

    cylinders: tuple[str, str]
    face: str
    opened: float  # mm, between the two faces, along the way from one to the other
    rise: float  # mm, what both rose by, on average
    manifold: Array  # (3) mm, by which it moves for the least slip
    spacers: tuple[float, float]  # mm, at each face; negative: metal has to come off
    slip_left: float  # mm, the greater of the two
    turned: float  # rad, by which the two faces now stand at another angle to each other


def moved(before: Flat, after: Flat, stem: str = "") -> tuple[list[Moved], list[Missing]]:
    """Return how every face and named point moved from one build to another, and what is lacking for more.

    stem : what stands before the paths of the build before, in what it lacks
    """
    found: list[Moved] = []
    lacks: list[Missing] = []
    for cylinder in names(after, "cylinders"):
        if cylinder not in names(before, "cylinders"):
            continue
        deck = _needs_deck(before, after, cylinder)
        for face in FACES:
            was, now = (_face(flat, cylinder, face, deck) for flat in (before, after))
            if isinstance(was, Missing) or isinstance(now, Missing):
                lacks.append(_lacked(was, now, stem))
                continue
            lean = float(np.arctan2(norm(np.cross(was.normal, now.normal)), was.normal @ now.normal))
            tilted = lean if lean > SAME_RAD else 0.0
            found.append(Moved(cylinder, face, now.centre - was.centre, now.normal, tilted))
        for name in _points(after, cylinder):
            first, second = (place(flat, cylinder, f"points.{name}", deck) for flat in (before, after))
            if not isinstance(first, Missing) and not isinstance(second, Missing):
                found.append(Moved(cylinder, name, second - first, None, 0.0))
    return found, lacks


def _lacked(was: object, now: object, stem: str) -> Missing:
    """Return what a face lacks now, and what it lacks before alone."""
    today = now.entries if isinstance(now, Missing) else ()
    why = now.why if isinstance(now, Missing) else was.why if isinstance(was, Missing) else ""
    then = was.entries if isinstance(was, Missing) else ()
    return Missing.of([*today, *(f"{stem}{one}" for one in then if one not in today)], why)


def _needs_deck(before: Flat, after: Flat, cylinder: str) -> bool:
    """Say whether a cylinder's points move by its case deck too: where that is known of both builds, or it leans anew."""
    leans = [Reader(flat, (f"{cylinder}.",)).find("lean") for flat in (before, after)]
    turned = leans[0] is not None and leans[1] is not None and bool(np.any(leans[0] != leans[1]))
    return turned or all(_has_deck(of_cylinder(flat, cylinder)) for flat in (before, after))


def facing(found: list[Moved], after: Flat) -> list[Facing]:
    """Return every pair of like faces that stand towards each other, and where their manifold then sits."""
    pairs = []
    for index, one in enumerate(found):
        for other in found[index + 1 :]:
            if one.normal is None or other.normal is None or one.name != other.name:
                continue
            if one.cylinder != other.cylinder and float(one.normal @ other.normal) < 0:
                pairs.append(_between(one, other, after))
    return pairs


def _between(one: Moved, other: Moved, after: Flat) -> Facing:
    assert one.normal is not None
    assert other.normal is not None
    along = [np.eye(3) - np.outer(normal, normal) for normal in (one.normal, other.normal)]
    right = along[0] @ one.by + along[1] @ other.by
    moves = array(np.linalg.lstsq(along[0] + along[1], right, rcond=1e-9)[0])
    rest = one.by - moves, other.by - moves
    level = point(0.0, 0.0, 1.0)
    first, second = (
        place(after, one.cylinder, f"{one.name}_face.centre"),
        place(after, other.cylinder, f"{one.name}_face.centre"),
    )
    apart = (
        one.normal - other.normal
    )  # as they look at each other, where it is not known how far off they stand
    if not isinstance(first, Missing) and not isinstance(second, Missing):
        apart = second - first
    opened = float((other.by - one.by) @ unit(apart - (apart @ level) * level))
    return Facing(
        cylinders=(one.cylinder, other.cylinder),
        face=one.name,
        opened=opened,
        rise=float(one.by @ level + other.by @ level) / 2,
        manifold=moves,
        spacers=(-float(rest[0] @ one.normal), -float(rest[1] @ other.normal)),
        slip_left=max(float(norm(along[0] @ rest[0])), float(norm(along[1] @ rest[1]))),
        turned=one.tilted + other.tilted,
    )


class _Face(NamedTuple):
    centre: Array
    normal: Array


def _face(mapping: Flat, cylinder: str, face: str, deck: bool) -> _Face | Missing:
    """Return a face's centre and normal in the engine frame; deck : as for `place`."""
    reader = Reader(mapping, (f"{cylinder}.",))
    normal = reader.direction(f"{face}_face.normal")
    centre = place(mapping, cylinder, f"{face}_face.centre", deck)
    lean = reader.number("lean")
    missing = (*(centre.entries if isinstance(centre, Missing) else ()), *reader.missing)
    if missing or isinstance(centre, Missing):
        return Missing.of(missing)
    return _Face(centre, to_engine(normal, lean))


def place(mapping: Flat, cylinder: str, entry: str, deck: bool = True) -> Array | Missing:
    """Return a point of a head in the engine frame.

    deck : False leaves the case deck out, for the difference of two places between which it cancels
    """
    full, _ = completed(mapping)
    reader, own = of_cylinder(full, cylinder), Reader(full, (f"{cylinder}.",))
    spot, lean = own.point(entry), own.number("lean")
    face = head_face(reader) if deck else stack_height(reader)
    offset = own.find("offset")
    missing = (*own.missing, *reader.missing)
    if missing:
        return Missing.of(missing)
    return to_engine(spot + point(0.0, 0.0, face), lean, 0.0 if offset is None else offset)


def _has_deck(reader: Reader) -> bool:
    return reader.has("stack.case_deck") or reader.has("stack.measured_deck")


def _points(mapping: Flat, cylinder: str) -> list[str]:
    stem = f"{cylinder}.points."
    return list(
        dict.fromkeys(path[len(stem) :].rpartition(".")[0] for path in mapping if path.startswith(stem))
    )
