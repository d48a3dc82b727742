"""The least clearances of many builds of one engine at once.

A build's least is looked for about the crank angle at which the engine as entered is closest, and about every other at
which it is nearly as close; and where it depends on a place along a curve of head or crown, about the turns at which that
engine has it (`nearby`). Builds that are not
told so take the whole search at a few crank angles. What moves the cam shifts its lobes; the entries that shape them are taken
as linear; the noise of a lobe's readings is drawn once for each lobe, and so is the shape that a card leaves open.

A jump is closed in on; over a floor that is nearly square to the stem, where any of the rim may be closest, the
least has a closed form (`flat_to_flat`). A build that lies on no paraboloid, or in which a place that was not
followed could be closer, takes the whole search, and an answer that needs it in more than a tenth of the builds is
drawn over a tenth of them. There is no second geometry: the curves are those of the search itself.

Source: `moving`, whose clearances at an angle these are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..cam.cam import CamLobe, Tables, shaped_by
from ..cam.card import Card
from ..cam.lobe import Lobe
from ..cam.shape_entries import shape_entries
from ..clearance.moving import by_shape
from ..clearance.situation import Asked, Edge, Placed, Situation, at_rest, clearance_at, trains_of, valve_of
from ..clearance.valve_lift import Linkage, ValveLift, linkage_of, valve_lift
from ..clearance.valve_over_piston import ByCoordinates, OverValve, over_valve
from ..core.frames import Array, array, point
from ..core.mapping import Flat, Quantities, frozen
from ..core.search import Curve, Flags
from ..doubt.draws import Block
from ..engine.alone import alone
from ..engine.engine import Engine, build
from ..piston import drop as valvehead
from ..piston import gap as valvegap
from ..piston import pair as valvepair
from ..piston.crown import Crown
from ..piston.cycle import Valve, cycle_angles
from ..piston.drop import Pose
from ..piston.flat_to_flat import face_to_floor, floor_to_face
from ..piston.in_bore import InBore
from ..piston.nearby import (
    ABOUT,
    ANGLE,
    CLOSER,
    Seed,
    Told,
    first_look,
    followed,
    lowest,
    nothing,
    seeds,
    together,
)
from ..piston.over_piston import OverPiston, over_piston
from ..piston.pair import Pair

if TYPE_CHECKING:
    from ..cam.shape import DrawnShape

TOUCH_MM = 1e-3  # a straight gap that is so little is told by the whole search
AGAIN = 4  # times that a build is looked at again, each time about where its least seems to be
STEPS = 8  # of the crank, that the whole search goes on where it falls
PART = 500  # builds that take the whole search together
SPREAD = 3.0  # times a clearance's doubt, within which another place may become the closest
LEAST_SPREAD_MM = 0.1
THREE: Array = ABOUT[1:4]
HERE: Array = np.zeros((1, 1))
FAN: Array = array(np.radians([-18.0, -12.0, -6.0, 6.0, 12.0, 18.0]))  # of the crank, about the closest angle
STILL = Block({}, 1, 0, 0, still=True)  # the engine as entered
SPARSE = 2  # angles of the cycle from one that is looked at for another close place to the next
ELSEWHERE = float(np.radians(9.0))  # further from the closest angle than a build's least moves
ALSO = 1.5  # times a clearance's doubt, within which another crank angle may be the closest
RIVAL_MM = 0.02  # by which a place that is not told yet may turn out to be closer
NEARER_MM, LEAST_TOLD = 1e-3, 200  # by which a place is closer, and builds that tell whether one ever is
CLOSED_MM = 1e-6  # lift of a valve that is closed
WIDE = 1.5  # steps between three places, where nothing but the crank angle is looked for
SAME_MM = 1e-7  # a place on a floor
LEVEL_MM = (
    1e-2  # above a floor's least, within which a place is one of that floor where it is square to the stem
)

Poses = Pose | Pair


class LobeOff(NamedTuple):
    """What moves one lobe's lift about a crank angle."""

    later: tuple[tuple[str, float], ...]  # quantity, crank rad for each rad
    shaped: tuple[
        tuple[str, Array], ...
    ]  # quantity, polynomial about that angle of what it adds, mm for each
    noise: float  # mm, standard uncertainty of the lift from the readings


class _Shaped(NamedTuple):
    """The shapes of one lobe that were drawn for the builds of a block."""

    block: Block
    first: (
        Array | None
    )  # (builds) by how much the first of the numbers that a shape is drawn of is off, as checks leave it
    curve: DrawnShape

    def of(self, block: Block, first: Array | None) -> DrawnShape | None:
        """Return them for a block of the same run: the same builds or some of them; None where they are of others."""
        whole, wanted = (
            np.arange(one.builds) if one.among is None else one.among for one in (self.block, block)
        )
        at = np.minimum(np.searchsorted(whole, wanted), len(whole) - 1)
        first_there = None if self.first is None else self.first[at]
        if (whole[at] != wanted).any() or not _same(first_there, first):
            return None
        return self.curve if len(at) == len(whole) else self.curve.pick(at)


def _same(one: Array | None, other: Array | None) -> bool:
    return one is other or (one is not None and other is not None and np.array_equal(one, other))


class Assembled:
    """What was last built of a batch of engines, for all the clearances that are asked of it."""

    def __init__(self) -> None:
        self.flat: Flat | None = None
        self.engine: Engine | None = None
        self.over: dict[str, OverPiston] = {}
        self.linkages: dict[str, Linkage | None] = {}
        self.drawn_for: tuple[int, int] | None = None  # seed and number of the block
        self.shapes: dict[tuple[str, Card], list[_Shaped]] = {}
        self.ran: tuple[Flat, Flat] | None = None  # engines as drawn, and as they run

    def running(self, here: Situation, flat: Flat) -> Flat:
        """Return the engines of a mapping as they are looked at: a set of builds is for answers of one such way."""
        if here.runs is at_rest:
            return flat
        if self.ran is None or self.ran[0] is not flat:
            self.ran = flat, here.runs(flat)
        return self.ran[1]

    def at(self, flat: Flat, cylinder: str, tables: Tables) -> tuple[Engine, OverPiston]:
        """Return the engines of a mapping, and what stands over their pistons."""
        engine = self.engines(flat)
        if cylinder not in self.over:
            self.over[cylinder] = over_piston(flat, cylinder, tables.crowns)
        return engine, self.over[cylinder]

    def shaped(self, lobe: CamLobe, block: Block) -> CamLobe:
        """Return a lobe as each build of a block has it: of a card one of its many shapes, the same for every valve."""
        if lobe.card is None or block.still:
            return lobe
        entries = shape_entries(lobe.name)
        first = block.off.get(entries[0])  # as checks leave it
        if self.drawn_for != (block.seed, block.number):
            self.drawn_for, self.shapes = (block.seed, block.number), {}
        there = self.shapes.setdefault((lobe.name, lobe.card.card), [])
        known = next((curve for one in there if (curve := one.of(block, first)) is not None), None)
        if known is None:
            from ..cam.shape import drawn

            normals = np.stack(
                [block.off[one] if one in block.off else block.normal(one) for one in entries], axis=-1
            )
            known = drawn(lobe.card, normals)
            there.append(_Shaped(block, first, known))
        return lobe._replace(placed=lobe.placed._replace(lobe=Lobe(known)))

    def some(self) -> Assembled:
        """Return what is for some of the builds alone: nothing is built of them, but their lobes' shapes are known."""
        found = Assembled()
        found.drawn_for, found.shapes = self.drawn_for, {name: [*one] for name, one in self.shapes.items()}
        return found

    def engines(self, flat: Flat) -> Engine:
        """Return the engines of a mapping."""
        if self.engine is None or self.flat is not flat:
            self.flat, self.engine, self.over, self.linkages = flat, build(flat), {}, {}
        return self.engine

    def linkage(self, flat: Flat, train: str) -> Linkage | None:
        """Return a valve gear of the engines put together by its coordinates."""
        gear = self.engines(flat).train(train)
        if train not in self.linkages:
            self.linkages[train] = linkage_of(gear)
        return self.linkages[train]


class Least(NamedTuple):
    """One least clearance, ready to be drawn."""

    asked: Asked
    here: Situation
    tables: Tables
    lobes: dict[str, LobeOff]  # by valve gear
    seeds: tuple[Seed[Any], ...] | None  # None: every build takes the whole search
    built: Assembled
    others: tuple[Least, ...] = ()  # the same at other crank angles, where a build's least may be instead
    contact: Least | None = None  # of a straight gap: the drop, which says where it is past contact


class Many(NamedTuple):
    """The valves of one clearance in many builds."""

    one: Least
    over: tuple[OverValve | Valve | InBore | Edge, ...]
    lifts: tuple[ValveLift, ...]
    later: tuple[Array, ...]  # (N,) crank rad, by which each lobe stands later
    added: tuple[tuple[tuple[Array, Array], ...], ...]  # to each lobe's lift: polynomial, factor (N,)
    middle: Array  # (N,) crank rad, about which each build's least is looked for

    def lift(self, away: Array) -> list[Array]:
        """Return each valve's lift at crank angles away from the builds' middles, (S, N) or (S, 1) [mm].

        A lobe that stands later has its own angle there as the one that was entered has at its own: a lone one is
        looked at once for all builds.
        """
        found = []
        for lift, later, added in zip(self.lifts, self.later, self.added, strict=True):
            at = away if len(self.lifts) == 1 else self.middle + away - later - self.one.asked.angle
            lobe = lift.lobe.placed.lift(self.one.asked.angle + at)
            for shape, factor in added:
                lobe = lobe + np.polynomial.polynomial.polyval(at, shape) * factor
            found.append(lift.at_lobe(np.maximum(lobe, 0.0)))
        return found

    def clearance(self, away: Array) -> Array:
        """Return the clearance at crank angles away from the middles by the whole search, (S, N) [mm]."""
        placed = [Placed(over, lift) for over, lift in zip(self.over, self.lift(away), strict=True)]
        shape = np.broadcast_shapes(away.shape, self.middle.shape)
        return np.broadcast_to(clearance_at(self.one.asked, placed, self.middle + away), shape)

    def pose(self, away: Array) -> Poses:
        """Return heads and crown at crank angles away from the middles, (S, N) or (S, 1)."""
        heads = []
        for over, lift in zip(self.over, self.lift(away), strict=True):
            assert isinstance(over, (Valve, ByCoordinates))
            head = over.head
            centre: Array = head.centre - lift[..., None] * head.stem
            if isinstance(over, ByCoordinates):
                centre = centre + point(0.0, 0.0, over.descent(self.middle + away))
            heads.append(head._replace(centre=centre))
        if len(heads) == 2:
            return Pair(heads[0], heads[1])
        return Pose(self.crown, heads[0])

    @property
    def crown(self) -> Crown:
        """The crown, or for a wall its pocket alone."""
        over = self.over[0]
        assert isinstance(over, ByCoordinates)
        crown = over.below.crown
        if self.one.asked.what != "wall":
            return crown
        assert over.own_pocket is not None
        return Crown((crown.pockets[over.own_pocket],), None)


def prepared(
    mapping: Flat,
    here: Situation,
    asked: Asked,
    quantities: Quantities,
    tables: Tables,
    doubt: float,
    built: Assembled | None = None,
) -> Least:
    """Return a clearance ready to be drawn.

    doubt : mm, its expanded uncertainty
    built : shared by the clearances that are drawn from the same builds
    """
    within, built = max(SPREAD * doubt, LEAST_SPREAD_MM), built or Assembled()

    def about(angle: float, what: str) -> Least:
        there = asked._replace(angle=angle, what=what)
        return _prepared(mapping, here, there, quantities, tables, within, built)

    found = about(asked.angle, asked.what)
    plain = many(found._replace(built=Assembled()), mapping, STILL)
    least = float(plain.clearance(HERE)[0, 0])
    others = tuple(about(angle, asked.what) for angle in _also_close(plain, least + ALSO * doubt))
    # A gap that a drop tells, by its reading, goes on past contact as the drop does.
    past = asked.what == "gap" and least < within and isinstance(plain.over[0], ByCoordinates)
    return found._replace(others=others, contact=about(asked.angle, "drop") if past else None)


def _also_close(plain: Many, most: float) -> list[float]:
    """Return the other crank angles of the cycle at which the engine as entered is closest, and closer than so many mm [rad].

    Not where both valves are closed: that distance moves with the closest one.
    """
    asked, angles = plain.one.asked, cycle_angles()[::SPARSE]
    away = angles[:, None] - asked.angle
    seen = plain.clearance(away)[:, 0]
    low = (seen <= np.roll(seen, 1)) & (seen <= np.roll(seen, -1)) & np.isfinite(seen)
    low &= (np.abs(away[:, 0]) > ELSEWHERE) & (seen < most)
    if asked.what == "between":
        low &= (np.concatenate(plain.lift(away), axis=-1) > CLOSED_MM).any(axis=-1)
    found: list[float] = []
    for angle in angles[low].tolist():
        if not found or angle - found[-1] > ELSEWHERE:
            found.append(angle)
    return found


def _prepared(
    mapping: Flat,
    here: Situation,
    asked: Asked,
    quantities: Quantities,
    tables: Tables,
    within: float,
    built: Assembled,
) -> Least:
    """Return a clearance ready to be drawn about one crank angle; within : mm, a place so much further may be the closest."""
    lobes = {name: _off(mapping, here, name, asked, quantities, tables) for name in trains_of(here, asked)}
    bare = Least(asked, here, tables, lobes, None, built)
    plain = many(bare, mapping, STILL)
    if not _has_curves(plain):
        return bare._replace(seeds=())
    pose = plain.pose(ANGLE * ABOUT[:, None])
    found = seeds(_curves(plain), pose, within, partial(_of_a_floor, plain))
    return bare._replace(seeds=None if found is None else tuple(found))


def _of_a_floor(plain: Many, pose: Any, turn: Array, value: Array) -> Flags:
    """Say which places of a curve belong to a pocket's floor at poses, where that has its closed form."""
    what = plain.one.asked.what
    known = np.zeros(value.shape, dtype=bool)
    if what not in ("drop", "gap"):
        return known
    for index in range(len(plain.crown.pockets)):
        least = face_to_floor(index, pose)
        if what == "gap":
            least = np.minimum(least, floor_to_face(index, pose))
        with np.errstate(invalid="ignore"):
            known |= np.abs(value - least[..., None]) < LEVEL_MM
        if what == "drop":
            there = valvehead.on_floor(index, pose.spread(), turn)
            known |= (np.abs(there - value) < SAME_MM) & np.isfinite(least)[..., None]
    return known


def drawn(one: Least, flat: Flat, block: Block) -> Array:
    """Return a least clearance of every build of a block, (N,) [mm]; infinite where a wall has no room beside it.

    flat : the engine's mapping with an array for every entry that is in doubt
    """
    found = _drawn(one, flat, block)
    for place in one.others:
        found = np.minimum(found, _drawn(place, flat, block, found + RIVAL_MM))
    if one.contact is None:
        return found
    further, (over, *_) = _drawn(one.contact, flat, block), many(one.contact, flat, block).over
    assert isinstance(over, ByCoordinates)
    met: Array = np.where(further <= 0, np.minimum(found, further * over.head.stem[..., 2]), found)
    return met


def rivals_of(one: Least, flat: Flat, block: Block) -> Least:
    """Return a clearance without the other crank angles at which none of a block's builds, if they are many, is closer."""
    if block.builds < LEAST_TOLD:
        return one
    own = _drawn(one, flat, block)
    closer = [place for place in one.others if (_drawn(place, flat, block) < own - NEARER_MM).any()]
    return one._replace(others=tuple(closer))


def _drawn(one: Least, flat: Flat, block: Block, most: Array | None = None) -> Array:
    """Return the least of every build of a block about one crank angle; most : (N,) above which it need not be right."""
    told = near(many(one, flat, block))
    worth = np.isinf(told.value) | (told.value < (np.inf if most is None else most))
    open_ = np.nonzero(~told.sure & worth)[0]
    if open_.size == 0:
        return told.value
    value, away = told.value.copy(), told.across * ANGLE
    one = one._replace(built=one.built.some())  # what was built of all the builds stays
    flat = alone(flat, one.here.cylinder)
    for _ in range(AGAIN if one.seeds is not None else 0):
        closer = near(many(one, some_of(flat, open_, block.builds), block.some(open_)), away[open_])
        value[open_[closer.sure]] = closer.value[closer.sure]
        away[open_] = closer.across * ANGLE
        open_ = open_[~closer.sure]
        if open_.size == 0:
            return value
    for start in range(0, open_.size, PART):
        some = open_[start : start + PART]
        value[some] = whole(many(one, some_of(flat, some, block.builds), block.some(some)), away[some])
    return value


def some_of(flat: Flat, index: NDArray[np.intp], builds: int) -> Flat:
    """Return the mapping of some of its builds."""
    return frozen(flat).with_(
        {
            path: entry[index]
            for path, entry in flat.items()
            if isinstance(entry, np.ndarray) and entry.shape == (builds,)
        }
    )


def slow(one: Least, flat: Flat, block: Block, share: float) -> bool:
    """Say whether more than a share of the builds of a block take the whole search."""
    return float(near(many(one, flat, block)).sure.mean()) < 1.0 - share


def many(one: Least, flat: Flat, block: Block) -> Many:
    """Return the valves of a clearance in the builds of a block."""
    flat = one.built.running(one.here, flat)
    engine, over = one.built.at(flat, one.here.cylinder, one.tables)
    valves: list[OverValve | Valve | InBore | Edge] = []
    lifts, later, added = [], [], []
    for name, lobe in one.lobes.items():
        lobed = one.built.shaped(one.here.lifts[name].lobe, block)
        lift = valve_lift(engine.train(name), lobed, partial(one.built.linkage, flat, name))
        assert isinstance(lift, ValveLift)
        lift = one.asked.lift_of(lift)
        valves.append(valve_of(one.asked, over, name, lift, over_valve(flat, name, over, lift)))
        lifts.append(lift)
        off = block.off
        later.append(sum((off[root] * by for root, by in lobe.later if root in off), np.zeros(block.builds)))
        terms = [(shape, off[root]) for root, shape in lobe.shaped if root in off]
        if lobe.noise > 0:
            noise = block.normal(f"lobe.{lift.lobe.name}.noise") * lobe.noise
            terms.append((np.ones(1), noise))
        added.append(tuple(terms))
    middle = one.asked.angle + sum(later, np.zeros(block.builds)) / len(later)
    return Many(one, tuple(valves), tuple(lifts), tuple(later), tuple(added), middle)


def whole(here: Many, away: Array) -> Array:
    """Return the least of every build by the whole search at a few crank angles and a few closer, (N,) [mm].

    away : (N,) rad, from the builds' middles, about which it is looked for, and from where it goes on as long as it falls
    """
    around = np.concatenate([away[None], FAN[:, None] + np.zeros(here.middle.shape)])
    away = np.take_along_axis(around, here.clearance(around).argmin(axis=0)[None], axis=0)[0]
    seen: Array = np.full(here.middle.shape, np.inf)
    for _ in range(STEPS):
        first = lowest(here.clearance(away + ANGLE * THREE[:, None]))
        away, seen = away + ANGLE * first.across, np.minimum(seen, first.lowest)
        if (np.abs(first.across) < 1.0).all():
            break
    second = lowest(here.clearance(away + CLOSER * ANGLE * THREE[:, None]))
    least: Array = np.minimum(seen, second.value)
    return least


def near(here: Many, angle: Array | None = None) -> Told:
    """Return the least of every build where it is told near the engine's own.

    angle : (N,) rad, away from the builds' middles, about which it is looked for on curves
    """
    if here.one.seeds is None:
        return nothing(here.middle.shape)
    what = here.one.asked.what
    away, builds = array(0.0) if angle is None else angle, len(here.middle)
    if not _has_curves(here):
        found = lowest(here.clearance(away + WIDE * ANGLE * THREE[:, None]), WIDE)
        return found._replace(across=away / ANGLE + found.across)
    pose = first_look(here.one.seeds, here.pose, away)
    ways = followed(here.one.seeds, here.pose, pose, builds, away)
    closed, step = _closed(here), 1.0
    if closed and pose is None:
        pose, step = here.pose(away + WIDE * ANGLE * THREE[:, None, None]), WIDE
    for value in closed:
        told = lowest(np.broadcast_to(value(pose), (len(THREE), 1, builds))[:, 0], step)
        ways.append(told._replace(across=away / ANGLE + told.across))
    found = together(ways)
    if what == "gap":  # past contact it is told otherwise
        found = found._replace(sure=found.sure & (found.value > TOUCH_MM))
    return found


def _has_curves(here: Many) -> bool:
    """Say whether a clearance depends on a place along a curve."""
    over = here.over[0]
    if isinstance(over, Edge):
        return False
    if here.one.asked.what == "between":
        return True
    if not isinstance(over, ByCoordinates):
        return False
    crown = over.below.crown
    return here.one.asked.what == "wall" or bool(crown.pockets) or crown.cap is not None


def _curves(here: Many) -> Sequence[Curve[Any]]:
    what = here.one.asked.what
    if what == "between":
        return valvepair.rims()
    if what == "wall":
        return valvehead.walls()
    return valvehead.curves(here.crown) if what == "drop" else valvegap.curves(here.crown)


def _closed(here: Many) -> list[Callable[[Any], Array]]:
    """Return what else the least may be, in closed form at each pose."""
    what = here.one.asked.what
    if what == "between":
        return [valvepair.between_sides]
    if what == "wall":
        return []
    cap = (
        [valvehead.way_to_dome if what == "drop" else valvegap.to_dome] if here.crown.cap is not None else []
    )
    kinds = [face_to_floor] if what == "drop" else [face_to_floor, floor_to_face]
    floors = [partial(kind, index) for kind in kinds for index in range(len(here.crown.pockets))]
    return [*cap, *floors]


def _off(
    mapping: Flat, here: Situation, train: str, asked: Asked, quantities: Quantities, tables: Tables
) -> LobeOff:
    """Return what moves a lobe's lift about a crank angle."""
    lobe = here.lifts[train].lobe
    prefix = f"lobe.{lobe.name}."
    late = 1.0 if lobe.placed.port == "intake" else -1.0
    later: dict[str, float] = {}
    shaped: dict[str, Array] = {}
    angles = asked.angle + ANGLE * ABOUT
    for root, paths in quantities.items():
        for path, sign in paths.items():
            if path == "cam.advance":
                later[root] = later.get(root, 0.0) - sign
            elif path == f"{prefix}centreline":
                later[root] = later.get(root, 0.0) + sign * late
            elif path in here.later:
                later[root] = later.get(root, 0.0) + sign * here.later[path]
            if path == f"{prefix}lash_read" and lobe.lash is not None:
                shaped[root] = np.polynomial.polynomial.polyadd(
                    shaped.get(root, np.zeros(1)), np.full(1, sign)
                )
            if shaped_by(path, lobe, train):
                slopes = [sign * by_shape(mapping, train, float(one), path, tables) for one in angles]
                fitted = np.polynomial.polynomial.polyfit(ANGLE * ABOUT, slopes, len(ABOUT) - 1)
                shaped[root] = np.polynomial.polynomial.polyadd(
                    shaped.get(root, np.zeros(1)), fitted.astype(float)
                )
    return LobeOff(tuple(later.items()), tuple(shaped.items()), lobe.lift_doubt(asked.angle))
