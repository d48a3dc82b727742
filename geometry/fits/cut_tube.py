"""A tube whose lower edge is cut away over parts of the way round: how far a point, and another such tube, is from it.

A spigot is one, from its case deck down; a piston one without a bore, its skirt's arches cut into the lower edge:

      top    ━━━┓      ┏━━━
                ┃      ┃         φ around the bore, from +x towards +y
                ┃      ┃
      low       ┗╸    ╺┛         half a relief to either side of `at`; where several overlap the highest counts

Split the way round at every relief's ends and each part, a sector, has one lower edge and is turned about the axis.
A point that is not within a sector's angles is nearest to its nearer end, a rectangle: turning a point about the axis
towards a sector always brings it nearer. So the distance of a point is exact.

That of two tubes is looked for on all faces of the one, and then on those of the other. Every face is parted into
cells; nothing within a cell is nearer than its middle by more than the cell reaches, and a cell that cannot be the
nearest is left; what stays is parted again, and followed downhill at last. A tube may stand at several heights, or
move along its axis between two, which is one more side of every cell.

They share metal exactly where that is 0 or less; how far below it is no distance, and what cuts it away may be more.

Source: the point of a body of rotation nearest to a point lies in its half-plane; a distance changes by no more than
a point moves, so branch and bound by it; compass search.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, to_engine
from ..core.search import Flags, Index
from ..core.verdict import NOTHING
from ..crank.heels import TURN

MOST_RELIEFS = 8  # of one spigot
COARSE_MM, FINE_MM = 20.0, 1.0  # longest side of the cells looked at first, and how far one at last reaches
DEEPER_MM = 4.0  # where two share metal, which is no distance: what is not so much deeper is left
AT_ONCE = 64  # poses
MOST = 100000  # cells that are parted at once
STARTS, APART_MM = 4, 3.0  # places of every pose that are followed, and what is between them at least
STEPS_MM = (
    1.0,
    0.02,
    1e-7,
)  # of a search: at first, where it is seen which are worth going on with, and at last
MOVES = (
    150  # of a search: one that creeps down a narrow valley of a wall is seen from the other's edge as well
)
WORTH_MM = 0.1  # above the nearest, there
SAME_MM = 1e-9  # what is less apart is equal
TINY, FAR_MM = 1e-12, 1e6  # mm: no way down, and no neighbour
SIDES = 4  # of a cell: around, out, up and the height at which the tube stands


Number = Array | float  # of one tube, or (poses, 1) of one for every pose


class Relief(NamedTuple):
    """What is cut from the lower edge."""

    at: Number  # rad around the bore
    half: Number  # rad to either side
    height: Number  # mm up from the lower edge


class Sectors(NamedTuple):
    """The parts of the way round between two relief ends, (S) each."""

    begins: Array  # rad
    width: Array  # rad
    edge: Array  # mm, own lower edge


class Place(NamedTuple):
    """Where metal of a tube is, whatever its sizes: in which sector, and at which shares of it, 0 to 1."""

    sector: int
    of: int  # how many sectors there are
    around: float  # of the sector's width
    out: float  # from inner to outer wall
    up: float  # from the sector's lower edge to the top


class Apart(NamedTuple):
    """How near two tubes come to each other, and where."""

    gap: float  # mm; 0 or less: they share metal. Infinite: not nearer than was asked
    first: Place  # on the first tube
    second: Place  # on the second
    way: tuple[float, float, float]  # from that one to this, unit, in the engine
    raised: float  # mm, the first tube over where it was given


class CutTube(NamedTuple):
    """One such tube; mm in its own cylinder's frame, and where that stands in the engine."""

    inner: Number  # radius; 0 of a solid
    outer: Number
    low: Number  # height of its lower edge above the crank centre
    top: Number  # of its upper face; higher where the way it was lowered counts too
    reliefs: tuple[Relief, ...]
    lean: Number  # rad
    offset: Number  # along the crankshaft

    def edge(self, around: Array) -> Array:
        """Return the lower edge's height at angles around, (...) [mm]."""
        raised = np.zeros(np.shape(around))
        for one in self.reliefs:
            away = np.abs((around - one.at + np.pi) % TURN - np.pi)
            raised = np.maximum(raised, np.where(away <= one.half, one.height, 0.0))
        return np.minimum(self.low + raised, self.top)

    def sectors(self) -> Sectors:
        """Return the parts of the way round between two relief ends; none where no metal is left."""
        cuts = [tuple(map(float, one)) for one in self.reliefs]
        ends = {(at + side * half) % TURN for at, half, _ in cuts for side in (-1, 1) if half < np.pi}
        begins = array(sorted(ends or {0.0}))
        width = np.diff(np.append(begins, begins[0] + TURN))
        middle, raised = begins + width / 2, np.zeros(begins.shape)
        for at, half, height in cuts:
            away = np.abs((middle - at + np.pi) % TURN - np.pi)
            raised = np.maximum(raised, np.where(away <= half, height, 0.0))
        edge = array(self.low + raised)
        metal = (width > 0) & (edge < self.top)
        return Sectors(begins[metal], width[metal], edge[metal])

    def placed(self, around: Array, out: Array, high: Array) -> Array:
        """Return engine points at angles around, distances from the axis and heights: (..., 3) [mm]."""
        seen = np.stack(np.broadcast_arrays(out * np.cos(around), out * np.sin(around), high), axis=-1)
        return to_engine(seen, self.lean, self.offset)

    def seen(self, points: Array) -> Array:
        """Return engine points in the tube's own cylinder frame, (..., 3) [mm]."""
        x, y, z = points[..., 0], points[..., 1], points[..., 2]
        sine, cosine = np.sin(self.lean), np.cos(self.lean)
        return np.stack([x * cosine - z * sine, y - self.offset, x * sine + z * cosine], axis=-1)

    def distance(self, points: Array) -> Array:
        """Return how far engine points are from the metal, (..., 3) to (...) [mm]; 0 or less within it."""
        return distance(self, self.sectors(), self.seen(points))

    def nearest(self, point: Array) -> Place:
        """Return the place of the metal nearest to an engine point, (3)."""
        sectors, own = self.sectors(), self.seen(point)
        out, turned = float(np.hypot(own[0], own[1])), float(np.arctan2(own[1], own[0]))
        best, found = np.inf, Place(0, 0, 0.0, 0.0, 0.0)
        for which in range(sectors.begins.size):
            begins, width, edge = (float(part[which]) for part in sectors)
            gap = float(distance(self, Sectors(*(part[which : which + 1] for part in sectors)), own))
            if gap >= best - SAME_MM:
                continue
            turn = (turned - begins) % TURN
            beside = 0.0 if turn <= width else min(turn - width, TURN - turn)
            around = turn if turn <= width else width if turn - width <= TURN - turn else 0.0
            along = np.clip(out * np.cos(beside), self.inner, self.outer)
            high = np.clip(float(own[2]), edge, self.top)
            shares = (along - self.inner) / (self.outer - self.inner), (high - edge) / (self.top - edge)
            best = gap
            found = Place(which, sectors.begins.size, around / width, *map(float, shares))
        return found

    def around(self, place: Place) -> float:
        """Return where around the bore a place is [rad]."""
        begins, width, _ = (float(part[place.sector]) for part in self.sectors())
        return (begins + place.around * width) % TURN

    def at(self, place: Place) -> Array:
        """Return the engine point at a place of the tube, (3) [mm]."""
        sectors, which = self.sectors(), place.sector
        edge = sectors.edge[which]
        return self.placed(
            sectors.begins[which] + place.around * sectors.width[which],
            array(self.inner + place.out * (self.outer - self.inner)),
            array(edge + place.up * (self.top - edge)),
        )


def distance(tube: CutTube, sectors: Sectors, seen: Array) -> Array:
    """Return how far points in a tube's own frame are from its metal, (..., 3) to (...) [mm]; 0 or less within it."""
    x, y, z = seen[..., 0], seen[..., 1], seen[..., 2]
    out, turned = np.hypot(x, y), np.arctan2(y, x)
    aside = np.maximum(tube.inner - out, out - tube.outer) if tube.inner > 0 else out - tube.outer
    past_top = z - tube.top
    least = np.full(out.shape, np.inf)
    for begins, width, edge in zip(*(part.tolist() for part in sectors), strict=True):
        over = np.maximum(edge - z, past_top)
        within = np.where(
            np.maximum(aside, over) <= 0,
            np.maximum(aside, over),
            np.hypot(np.maximum(aside, 0.0), np.maximum(over, 0.0)),
        )
        if width < TURN:
            turn = (turned - begins) % TURN
            beside = np.minimum(turn - width, TURN - turn)
            along, away = out * np.cos(beside), out * np.sin(beside)
            off = np.maximum(np.maximum(tube.inner - along, along - tube.outer), 0.0)
            end = np.sqrt(off * off + away * away + np.maximum(over, 0.0) ** 2)
            within = np.where(turn <= width, within, end)
        least = np.minimum(least, within)
    return least


class _Cells(NamedTuple):
    """Parts of the faces of one tube; shares of its sectors, and mm by which the first tube is raised."""

    pose: Index  # (N)
    sector: Index  # (N)
    middle: Array  # (N, SIDES)
    half: Array  # (N, SIDES)

    def kept(self, keep: Index | Flags) -> _Cells:
        """Return some of them."""
        return _Cells(self.pose[keep], self.sector[keep], self.middle[keep], self.half[keep])

    def and_more(self, others: _Cells) -> _Cells:
        """Return these and others."""
        return _Cells(
            np.concatenate([self.pose, others.pose]),
            np.concatenate([self.sector, others.sector]),
            np.concatenate([self.middle, others.middle]),
            np.concatenate([self.half, others.half]),
        )


class _Nearest(NamedTuple):
    """The nearest place that was found so far, of every pose: (K) each. Its arrays are written into."""

    value: Array
    of_first: Flags
    sector: Index
    shares: Array  # (K, SIDES)

    @classmethod
    def of(cls, below: Array) -> _Nearest:
        """Return it where nothing was found, and nothing is wanted that is not nearer than this."""
        count = below.size
        return cls(below.copy(), np.zeros(count, bool), np.full(count, -1, np.intp), np.zeros((count, SIDES)))

    @property
    def worth(self) -> Array:
        """Below what a cell's nearest place must be to be looked at."""
        return np.where(self.value > 0, self.value, self.value - DEEPER_MM)

    def take(self, way: _Way, cells: _Cells, values: Array) -> None:
        """Write down those middles of cells that are nearer."""
        near = np.flatnonzero(values < self.value[cells.pose])
        order = near[np.lexsort((values[near], cells.pose[near]))]
        pose, first = np.unique(cells.pose[order], return_index=True)
        best = order[first]
        self.value[pose], self.of_first[pose] = values[best], way.by > 0
        self.sector[pose], self.shares[pose] = cells.sector[best], cells.middle[best]

    def and_own(self, way: _Way, others: _Cells, values: Array) -> tuple[_Cells, Array]:
        """Return the places found on the faces of one tube and their distances, then others."""
        pose = np.flatnonzero((self.sector >= 0) & (self.of_first == (way.by > 0)))
        own = _Cells(pose, self.sector[pose], self.shares[pose], np.zeros((pose.size, SIDES)))
        return own.and_more(others), np.concatenate([self.value[pose], values])


class _Search(NamedTuple):
    """Places that are followed downhill, as cells of which only the middle counts, and their distances."""

    cells: _Cells
    values: Array

    def kept(self, keep: Flags) -> _Search:
        """Return some of them."""
        return _Search(self.cells.kept(keep), self.values[keep])


class _Way(NamedTuple):
    """From the faces of one tube to the other; `by` is 1 where the tube that is raised has the faces, else -1."""

    faces: CutTube
    to: CutTube
    of: Sectors
    seen: Sectors
    by: float

    def sizes(self, sector: Index) -> Array:
        """Return how many mm the whole of every side of a cell is at most, (N, SIDES)."""
        tube = self.faces
        wide, high = self.of.width[sector] * tube.outer, tube.top - self.of.edge[sector]
        thick = np.full(wide.shape, tube.outer - tube.inner)
        return np.stack([wide, thick, high, np.ones(wide.shape)], axis=-1)

    def values(self, sector: Index, shares: Array) -> Array:
        """Return the distances of places, (N) and (N, SIDES) to (N) [mm]."""
        tube, edge = self.faces, self.of.edge[sector]
        around = self.of.begins[sector] + shares[..., 0] * self.of.width[sector]
        out = tube.inner + shares[..., 1] * (tube.outer - tube.inner)
        high = edge + shares[..., 2] * (tube.top - edge)
        if self.by > 0:
            return distance(self.to, self.seen, self.to.seen(tube.placed(around, out, high + shares[..., 3])))
        own = self.to.seen(tube.placed(around, out, high))
        own[..., 2] -= shares[..., 3]
        return distance(self.to, self.seen, own)

    def cells(self, lowest: Array, highest: Array) -> _Cells:
        """Return all faces in cells, at poses (K) from one height to another."""
        faces = [part for which in range(self.of.begins.size) for part in self._of_sector(which)]
        sector = np.concatenate([np.full(len(middle), which) for which, middle, _ in faces])
        middle, half = (np.concatenate([one[place] for one in faces]) for place in (1, 2))
        poses, count = lowest.size, sector.size
        levels = max(1, int(np.ceil((highest - lowest).max() / COARSE_MM)))
        step = (highest - lowest) / levels
        raised = lowest[:, None] + (np.arange(levels) + 0.5) * step[:, None]
        shape = (poses, levels, count)
        whole = np.empty((*shape, SIDES)), np.empty((*shape, SIDES))
        whole[0][..., :3], whole[1][..., :3] = middle, half
        whole[0][..., 3], whole[1][..., 3] = raised[:, :, None], step[:, None, None] / 2
        pose = np.broadcast_to(np.arange(poses)[:, None, None], shape).ravel()
        flat = [one.reshape(-1, SIDES) for one in whole]
        return _Cells(pose, np.broadcast_to(sector, shape).ravel(), *flat)

    def _of_sector(self, which: int) -> Iterator[tuple[int, Array, Array]]:
        """Yield the faces of a sector in cells: of which it is, and its sides but the last."""
        wide, thick, high, _ = self.sizes(np.array([which]))[0].tolist()
        around, out, up = (max(1, int(np.ceil(one / COARSE_MM))) for one in (wide, thick, high))
        yield (which, *_grid((around, 1, up), (None, 1.0, None)))
        if self.faces.inner > 0:
            yield (which, *_grid((around, 1, up), (None, 0.0, None)))
        for end in (0.0, 1.0):
            yield (which, *_grid((around, out, 1), (None, None, end)))
            if self.of.width[which] < TURN:
                yield (which, *_grid((1, out, up), (end, None, None)))


def _grid(counts: tuple[int, ...], fixed: tuple[float | None, ...]) -> tuple[Array, Array]:
    """Return middles and half sides of even cells of shares; fixed : the share of a side that has no length."""
    rows = [
        (np.arange(count) + 0.5) / count if at is None else np.array([at])
        for count, at in zip(counts, fixed, strict=True)
    ]
    middle = np.stack(np.meshgrid(*rows, indexing="ij"), axis=-1).reshape(-1, len(rows))
    half = [0.5 / count if at is None else 0.0 for count, at in zip(counts, fixed, strict=True)]
    return middle, np.broadcast_to(np.array(half), middle.shape)


def apart(one: CutTube, other: CutTube, down: float = 0.0, below: float = np.inf) -> Apart:
    """Return how near two tubes come to each other.

    down  : mm, by which the first may stand lower along its axis: the nearest of all those heights
    below : mm, what is not nearer than this is not looked for
    """
    (found,) = _several(one, other, array([-down]), array([0.0]), array([below]))
    if found is None:
        nowhere = Place(0, 0, 0.0, 0.0, 0.0)
        return Apart(np.inf, nowhere, nowhere, (0.0, 0.0, 0.0), 0.0)
    raised = one._replace(low=one.low + found.raised, top=one.top + found.raised)
    if found.of_first:
        first, second = found.place, other.nearest(raised.at(found.place))
    else:
        first, second = raised.nearest(other.at(found.place)), found.place
    between = raised.at(first) - other.at(second)
    long = float(np.sqrt((between * between).sum()))
    way = tuple((between / long).tolist()) if found.gap > NOTHING else (0.0, 0.0, 0.0)
    return Apart(found.gap, first, second, way, found.raised)


def at_heights(one: CutTube, other: CutTube, raised: Array, below: Array) -> Array:
    """Return how near two tubes are with the first raised along its axis, (K) to (K) [mm]; infinite: not below."""
    found: list[_Least | None] = []
    for begins in range(0, raised.size, AT_ONCE):
        some = slice(begins, begins + AT_ONCE)
        found += _several(one, other, raised[some], raised[some], below[some])
    return array([np.inf if each is None else each.gap for each in found])


def held(one: CutTube, other: CutTube, found: Apart) -> float:
    """Return how near two tubes of other sizes are at the places where they were nearest, which do not move [mm].

    Its derivatives are those of the least distance; it is not that distance itself.

    Source: the envelope theorem, at both ends of the shortest line.
    """
    for tube, place in ((one, found.first), (other, found.second)):
        if tube.sectors().begins.size != place.of:  # of other reliefs: there is no such place
            return apart(one, other).gap
    return float(np.dot(one.at(found.first) - other.at(found.second), array(found.way)))


class _Least(NamedTuple):
    """The least distance of one pose, and its place on one of the tubes."""

    gap: float
    of_first: bool
    place: Place
    raised: float


def _several(
    one: CutTube, other: CutTube, lowest: Array, highest: Array, below: Array
) -> list[_Least | None]:
    """Return how near two tubes come to each other, with the first raised between two heights, (K) each [mm].

    below : (K) mm; None where they are not nearer than this
    """
    found: list[_Least | None] = [None] * lowest.size
    first, second = one.sectors(), other.sectors()
    if not first.begins.size or not second.begins.size:
        return found
    least = _Nearest.of(below)
    ways = (_Way(one, other, first, second, 1.0), _Way(other, one, second, first, -1.0))
    left = [_parted(way, way.cells(lowest, highest), least) for way in ways]
    starts = [_starts(way, cells, least) for way, cells in zip(ways, left, strict=True)]
    for until in STEPS_MM[1:]:
        begun = STEPS_MM[0] if until == STEPS_MM[1] else STEPS_MM[1]
        ended = [
            _followed(way, at, (lowest, highest), begun, until) for way, at in zip(ways, starts, strict=True)
        ]
        for way, at in zip(ways, ended, strict=True):
            least.take(way, at.cells, at.values)
        starts = [at.kept(at.values <= least.value[at.cells.pose] + WORTH_MM) for at in ended]
    for way, at in zip(ways, starts, strict=True):
        for pose, sector, gap, shares in zip(
            at.cells.pose.tolist(),
            at.cells.sector.tolist(),
            at.values.tolist(),
            at.cells.middle.tolist(),
            strict=True,
        ):
            known = found[pose]
            if gap < (below[pose] if known is None else known.gap) - SAME_MM:
                found[pose] = _Least(
                    gap, way.by > 0, Place(sector, way.of.begins.size, *shares[:3]), shares[3]
                )
    return found


def _parted(way: _Way, cells: _Cells, least: _Nearest) -> _Search:
    """Return the smallest cells that can hold the nearest place of their pose; least : made less."""
    while True:
        values = way.values(cells.sector, cells.middle)
        least.take(way, cells, values)
        sides = way.sizes(cells.sector) * cells.half
        reach = np.sqrt((sides[:, :3] ** 2).sum(axis=-1)) + sides[:, 3]
        keep = values - reach <= least.worth[cells.pose]
        cells, values, sides, reach = cells.kept(keep), values[keep], sides[keep], reach[keep]
        if reach.max(initial=0.0) <= FINE_MM or values.size > MOST:
            return _Search(cells, values)
        longest, every = sides.argmax(axis=-1), np.arange(values.size)
        half = cells.half.copy()
        half[every, longest] /= 2
        move = np.zeros(half.shape)
        move[every, longest] = half[every, longest]
        first, second = (cells._replace(middle=cells.middle + by * move, half=half) for by in (-1.0, 1.0))
        cells = first.and_more(second)


def _starts(way: _Way, left: _Search, least: _Nearest) -> _Search:
    """Return the places from which a search begins: of every pose the nearest few that stand apart."""
    sides = way.sizes(left.cells.sector) * left.cells.half
    reach = np.sqrt((sides[:, :3] ** 2).sum(axis=-1)) + sides[:, 3]
    near = left.kept(left.values - reach <= least.worth[left.cells.pose])
    cells, values = least.and_own(way, near.cells, near.values)
    order = np.lexsort((np.round(values / SAME_MM), cells.pose))
    points = cells.middle[order] * way.sizes(cells.sector[order])
    points[:, 0] += FAR_MM * cells.sector[order]
    points = np.column_stack([points, FAR_MM * cells.pose[order]])
    chosen, rest = np.empty(0, dtype=np.intp), np.arange(order.size)
    for _ in range(STARTS):  # the nearest of every pose that is left, and then nothing beside those
        if not rest.size:
            break
        poses, first = np.unique(cells.pose[order[rest]], return_index=True)
        taken = rest[first]
        chosen = np.concatenate([chosen, taken])
        own = taken[np.searchsorted(poses, cells.pose[order[rest]])]
        rest = rest[np.abs(points[rest] - points[own]).max(axis=-1) >= APART_MM]
    begun = order[np.sort(chosen)]
    return _Search(cells.kept(begun), values[begun])


def _followed(
    way: _Way, begun: _Search, between: tuple[Array, Array], step_mm: float, until: float
) -> _Search:
    """Return where searches downhill end.

    between : (K) each, the heights between which every pose may stand;  step_mm, until : first and last step
    """
    values, shares = begun.values, begun.cells.middle
    if not values.size:
        return begun
    sector, pose = begun.cells.sector, begun.cells.pose
    least, most = np.zeros(shares.shape), np.ones(shares.shape)
    least[:, 3], most[:, 3] = between[0][pose], between[1][pose]
    size = np.maximum(way.sizes(sector), TINY)
    step = np.full(values.size, step_mm)
    moves = np.concatenate([np.eye(SIDES), -np.eye(SIDES)])
    live = np.flatnonzero(values > 0)
    values, shares = values.copy(), shares.copy()
    for _ in range(MOVES):
        if not live.size:
            break
        tried = shares[live, None] + moves * (step[live, None] / size[live])[:, None]
        tried = np.clip(tried, least[live, None], most[live, None])
        there = way.values(np.repeat(sector[live], len(moves)), tried.reshape(-1, SIDES))
        there = there.reshape(live.size, -1)
        best, every = there.argmin(axis=-1), np.arange(live.size)
        nearer = there[every, best] < values[live] - TINY
        shares[live[nearer]] = tried[every, best][nearer]
        values[live[nearer]] = there[every, best][nearer]
        step[live[~nearer]] /= 2
        live = live[(step[live] > until) & (values[live] > 0)]  # where they meet there is nothing to look for
    return _Search(begun.cells._replace(middle=shares), values)
