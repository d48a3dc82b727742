"""The least clearances of every valve through the whole cycle, each with its verdict.

Verdicts on the piston are given on the smaller of drop and straight gap, so that no convention flatters; the
room to a pocket's wall and the distance between two valves have targets of their own. The headline is at the
running preload; with a hydraulic lifter pumped up, contact is SHORT whatever the headline says.

The gap counts the pocket's edge too. So a valve that stands in its pocket needs its piston limit sideways as well,
which is more than the limit to the wall; a remedy that cuts a pocket makes it wide enough for that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np

from ..cam.cam import Cam, Tables
from ..core import targets
from ..core.answer import Figure, in_both
from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, Reader
from ..core.minima import Minimum, minima
from ..core.verdict import Verdict, at_best_unproved, judge
from ..doubt.budget import Budget, Doubt
from ..doubt.result import BARE, Result
from ..engine.alone import each_alone, those_of
from ..piston.cycle import cycle_angles, least_between
from ..piston.in_bore import Bore, InBore, least_in_bore, nearest_part
from ..piston.touch_entries import EDGES, TABLE, TOUCHED
from ..piston.valves_touch import Unsure
from .moving import Weighed, budgets
from .pumped import Slopes, length_slopes, meets_after, per_preload, per_rise, with_preload
from .situation import CAM, LIFT, OF_BOTH, Asked, ByTouch, Lacks, Situation, side_of, situation
from .valve_lift import Shape, ValveLift, shape
from .valve_over_piston import COORDINATES, ByCoordinates, ByReading, Known, OverValve

ALONG = "piston, along the stem"
TOUCH, FELT = "valves_touch", "valve to valve"
MOST_READINGS = 200  # of one job
DROP, GAP, WALL, BORE, PAIR = "drop", "gap", "wall", "bore", "between"  # as the search and JSON call them
PUMPED, PAIR_PUMPED = "pumped", "pumped pair"
FURTHER, RISE, AT_LEAST = "further", "rise", "drop_at_least"
GAP_AT_LEAST, WALL_AT_LEAST = "gap_at_least", "wall_at_least"
KEYS = {PAIR: "valve_to_valve", PUMPED: "drop_pumped", PAIR_PUMPED: "valve_to_valve_pumped"}
FIGURES = {
    DROP: Figure(ALONG, pumped_as=KEYS[PUMPED]),
    GAP: Figure("piston, straight gap", pumped_as=KEYS[PUMPED]),
    WALL: Figure("pocket wall", least=targets.WALL),
    BORE: Figure("cylinder's bore", least=targets.VALVE_TO_BORE),
    PAIR: Figure("valve to valve", least=targets.VALVE_TO_VALVE, alias=PAIR),
    PUMPED: Figure(
        "piston, stem, pumped up", zero=True, at_nought="VALVE AND PISTON MEET", alias=PUMPED, pumped=True
    ),
    PAIR_PUMPED: Figure(
        "valve to valve, pumped up", zero=True, at_nought="THE VALVES MEET", alias=PAIR_PUMPED, pumped=True
    ),
    FURTHER: Figure("both could open further"),
    RISE: Figure("plunger's rise before they meet"),
}
SEVERITY = (Verdict.OK, Verdict.TIGHT, Verdict.UNPROVED, Verdict.SHORT)
SAME_MM = 1e-6  # what is less apart is equal
RULE_MM = (
    0.3  # by which the distance by coordinates may differ from the one by where they touch, which is less
)
FELT_MM = 0.05  # of a feeler between two heads
ALSO_MM = 0.5  # a second minimum matters when it is this near the least
OF_HEAD = ("valve.face", "valve.lean", "valve.head_diameter", "valve.margin")

NONE: Mapping[str, Any] = MappingProxyType({})


class AtSpeed(NamedTuple):
    """One valve over its piston at speed."""

    drop: Result | None = None  # at least so much along the stem
    gap: Result | None = None  # the straight gap there
    wall: Result | None = None  # the room to a pocket's wall
    rises: float = 0.0  # mm, the crown under that valve above where it is at rest
    in_parts: tuple[tuple[str, float], ...] = ()  # of that, in words
    earlier: float = 0.0  # crank rad, by which the lobe is nearer
    gives_back: float = 0.0  # mm of lift at the place
    speed: float = 0.0  # rad/s
    holds: str = ""  # until when it does, in words
    lacks: tuple[str, ...] = ()
    why: str = ""  # in words, why it is not known
    here: Situation | None = None  # the engine as it runs, for draws

    @property
    def piston(self) -> Result | None:
        """The smaller of drop and straight gap, on which the verdict is."""
        return self.gap if self.gap is not None and self.gap.least is not None else self.drop

    @property
    def floats(self) -> bool:
        """Whether the valve leaves its cam below that speed."""
        return bool(self.why) and not self.lacks

    def seen(self, look: Callable[[Result | None], Result | None]) -> AtSpeed:
        """Return it with its results as somebody leaves them."""
        return self._replace(drop=look(self.drop), gap=look(self.gap), wall=look(self.wall))


class ValveClearance(NamedTuple):
    """One valve's answer; what is not known is None."""

    train: str
    basis: str | None
    motion: Shape | None
    drop: tuple[Minimum, ...]  # its local minima, the least first
    gap: Minimum | None
    wall: Minimum | None
    pumped: Minimum | None  # least drop with the lifter pumped up
    pumped_doubt: Budget | None  # of that
    pumped_slopes: Mapping[str, float]  # entry → mm per mm, rad or plain
    pumped_lobes: tuple[str, ...]  # those known by their cards
    pumped_per_preload: float  # mm of that drop for a mm of preload more
    piston: Result | None
    room: Result | None  # to the pocket's wall
    known: Known | None  # by a dial reading: over which angles
    in_pocket: bool  # there is a pocket under it
    unfinished: bool  # the drop was still falling where the reading ends
    differ: float | None  # mm, what coordinates alone would add to the drop
    unlike: bool  # by a reading that met a pocket, though by coordinates there is none
    assumed_to_meet: str
    no_pumped: tuple[str, ...]
    lacks: Lacks
    problem: tuple[str, ...]
    lash_unknown: str = ""  # entry without which nobody knows with what lash its lifts were read
    bore: Result | None = None  # to the cylinder that it opens into, and the gasket on that
    bore_pumped: Minimum | None = None  # the same with the lifter pumped up
    bore_part: str = ""  # "cylinder" or "gasket", whichever is nearer
    bore_lacks: tuple[str, ...] = ()  # what that still needs, of a valve whose head is known
    told_alone: bool = False  # what it does with the lifter pumped up is told, and limits nothing
    rises: float | None = None  # mm, by which the plunger rises as far as that counts
    can_rise: float | None = None  # mm, all that it could rise by
    hot_gain: float = 0.0  # mm, how much of that is by heat
    hot_lacks: tuple[str, ...] = ()  # entries without which nobody knows that, and it rises further
    pumped_whole: Minimum | None = None  # the least drop at that, where less of it counts
    meets: Minimum | None = None  # how far the plunger rises before valve and piston meet
    meets_after: Result | None = None  # the same with its doubt
    at_speed: AtSpeed | None = None  # what is left at speed; None: nobody asks, or it is not known at rest

    @property
    def judged(self) -> tuple[Result, ...]:
        """Every clearance of it that has a limit."""
        fast = () if self.at_speed is None else (self.at_speed.piston, self.at_speed.wall)
        return tuple(one for one in (self.piston, self.room, self.bore, *fast) if one is not None)

    @property
    def up(self) -> Result | None:
        """The drop with the lifter pumped up, which has to be more than nothing; None where it is not known."""
        if self.pumped is None or self.pumped_doubt is None:
            return None
        up = _up(self.train, PUMPED, self.pumped, self.pumped_doubt, self.pumped_slopes, self.pumped_lobes)
        if self.told_alone:
            return up._replace(verdict=None, least=None)
        again = () if self.piston is None else self.piston.look_again
        return up._replace(verdict=at_best_unproved(up.verdict), look_again=again) if again else up


class PairClearance(NamedTuple):
    """One cylinder's two valves."""

    cylinder: str
    least: Minimum | None
    pumped: Minimum | None
    judged: Result | None
    lacks: tuple[str, ...]
    problem: tuple[str, ...]
    up: Result | None = None  # with the lifters pumped up; None where they cannot, or the heads then meet
    up_per_preload: Mapping[str, float] = NONE  # valve gear → mm of that for a mm of its preload more
    no_pumped: tuple[str, ...] = ()  # what it lacks with the lifters pumped up
    pumped_counts: bool = True  # False: what the lifters do pumped up is told alone
    basis: str | None = None  # COORDINATES or TOUCH
    further: Result | None = None  # how much further both would have to open to touch, by where they do
    meets_after: float | None = (
        None  # mm of rise of both plungers before the heads may meet, by where they do
    )
    at_least: tuple[
        str, ...
    ] = ()  # edges that were not found as far as they were tried: it is at least so much
    in_one_plane: bool = False  # the stems are taken to lie in one plane
    differ: float | None = (
        None  # mm, the least distance by coordinates alone less the one by where they touch
    )
    why: str = ""  # in words, why their straight gap is not known
    ways: Mapping[str, tuple[str, ...]] = NONE  # way to know it → what it lacks, the nearest first
    feelers: tuple[Feeler, ...] = ()  # what was felt between the heads at crank angles


class Feeler(NamedTuple):
    """A feeler or wire between two heads at one crank angle."""

    angle: float  # rad, from overlap top centre
    read: float  # mm, the thickest that passed
    foretold: float | None  # mm, at that angle; None: not known


class Clearances(NamedTuple):
    """Every clearance of one engine."""

    valves: tuple[ValveClearance, ...]
    pairs: tuple[PairClearance, ...]
    situations: dict[str, Situation]
    cam: Cam

    @property
    def is_usable(self) -> bool:
        """Whether any clearance is known, or cannot be."""
        return bool(self.judged) or any(one.problem for one in self.valves)

    @property
    def judged(self) -> list[Result]:
        """Every clearance that has a limit, the valves' first."""
        pairs = [one.judged for one in self.pairs if one.judged is not None]
        return [*(one for valve in self.valves for one in valve.judged), *pairs]


def clearances(
    mapping: Flat,
    tables: Tables,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
) -> Clearances:
    """Return the least clearances of every valve and pair of valves of one engine.

    mapping    : one engine, see `mapping`
    tables     : what was read beside the job
    quantities : measured quantity → the entries that move with it, and their sign
    doubts     : quantity → its doubt, where stated
    """
    cam = Cam(mapping, tables)
    valves: list[ValveClearance] = []
    pairs: list[PairClearance] = []
    situations: dict[str, Situation] = {}
    for cylinder, own in each_alone(mapping).items():
        here = situation(own, cylinder, cam)
        if not here.trains:
            continue
        situations[cylinder], ours = here, those_of(quantities, own)
        plain = [_valve(own, here, name) for name in here.trains]
        pair = _pair(own, here)
        asked = [Asked(one.train, judged.name, judged.angle) for one in plain for judged in one.judged]
        asked += [Asked(one.train, "drop", one.pumped.angle, pumped=True) for one in plain if one.pumped]
        asked += [
            Asked(one.train, "drop", one.meets.angle, pumped=True, rise=one.meets.value)
            for one in plain
            if one.meets is not None
        ]
        if pair.judged is not None:
            asked.append(Asked(cylinder, PAIR, pair.judged.angle))
        if pair.further is not None:
            asked.append(Asked(cylinder, FURTHER, pair.further.angle))
        if pair.pumped is not None and pair.pumped.value > 0:
            asked.append(Asked(cylinder, PAIR, pair.pumped.angle, pumped=True))
        found = budgets(mapping, here, asked, ours, doubts, tables, own) if asked else {}
        moves = _pumped_too(mapping, here, asked, found, partial(length_slopes, own, ours), doubts)
        valves += [_weighed(one, here, found, moves) for one in plain]
        pairs.append(_pair_weighed(mapping, here, pair, found, moves, doubts))
    return Clearances(tuple(valves), tuple(pairs), situations, cam)


def figure(name: str, port: str = "") -> Figure:
    """Return the declaration of one clearance; port : of a valve, whose own limit the piston keeps."""
    return FIGURES[name]._replace(least=targets.DROP.get(port)) if name in (DROP, GAP) else FIGURES[name]


def nearest(over: OverValve) -> tuple[tuple[Minimum, ...], Minimum | None]:
    """Return the local minima of one valve's drop, the least first, and its least straight gap."""
    drops = over.least_drop()
    return drops, over.least_gap(drops[0].angle) if drops else None


def judged_on(drop: Minimum, gap: Minimum | None) -> tuple[str, Minimum]:
    """Return the smaller of drop and straight gap, and which it is; of equals the drop."""
    return ("gap", gap) if gap is not None and gap.value < drop.value - SAME_MM else ("drop", drop)


def _valve(mapping: Flat, here: Situation, name: str) -> ValveClearance:
    lift, over = here.lifts.get(name), here.valves.get(name)
    motion = None if lift is None else shape(lift)
    answer = ValveClearance(
        train=name,
        basis=None,
        motion=motion,
        drop=(),
        gap=None,
        wall=None,
        pumped=None,
        pumped_doubt=None,
        pumped_slopes=NONE,
        pumped_lobes=(),
        pumped_per_preload=0.0,
        piston=None,
        room=None,
        known=None,
        in_pocket=name in here.over.own_pockets,
        unfinished=False,
        differ=None,
        unlike=isinstance(over, ByReading) and over.unlike,
        assumed_to_meet="",
        no_pumped=() if lift is None else lift.no_pumped,
        hot_lacks=() if lift is None or lift.no_pumped else lift.train.lifter.pumped_lacks,
        lacks=here.lacks[name],
        problem=here.problems.get(name, ()),
        told_alone=not targets.pumped_counts(mapping),
    )
    if lift is not None:
        answer = answer._replace(lash_unknown=lift.lash_unknown)
        answer = _in_bore(mapping, here, name, lift, answer)
    if lift is None or over is None:
        return answer
    drops, gap = nearest(over)
    known = over.known()
    answer = answer._replace(basis=over.basis, known=known)
    if isinstance(over, ByReading):
        answer = answer._replace(assumed_to_meet=over.assumed)
    if not drops:
        return answer._replace(
            problem=("the reading tells nothing on the stack of today: the rim leaves the floor",)
        )
    wall = over.least_wall()
    what, least = judged_on(drops[0], gap)
    pumped = over._replace(lift=lift.risen()).least_drop() if lift.pumps else ()
    if pumped:
        answer = _rising(over, lift, drops[0], pumped[0], answer)
    answer = answer._replace(
        drop=tuple(one for one in drops if one.value - drops[0].value <= ALSO_MM),
        gap=gap,
        wall=wall,
        pumped=pumped[0] if pumped else None,
        piston=_bare(mapping, name, what, least),
        room=None if wall is None else _bare(mapping, name, WALL, wall),
        unfinished=isinstance(over, ByReading) and known is not None and _ends_low(over, drops[0]),
    )
    if isinstance(over, ByCoordinates) and over.differ is not None:
        answer = answer._replace(differ=float(over.differ))
    return answer


def _rising(
    over: OverValve, lift: ValveLift, drop: Minimum, pumped: Minimum, answer: ValveClearance
) -> ValveClearance:
    """Return an answer with how far the plunger may rise."""
    whole, counts = float(lift.can_rise), float(lift.risen_by)
    up = over._replace(lift=lift.risen(whole)).least_drop() if counts < whole else ()
    return answer._replace(
        rises=counts,
        can_rise=whole,
        hot_gain=0.0 if lift.train.lifter.hot_gain is None else float(lift.train.lifter.hot_gain),
        pumped_whole=up[0] if up else None,
        meets=meets_after(over, lift, (drop.angle, pumped.angle)),
    )


def _in_bore(
    mapping: Flat, here: Situation, name: str, lift: ValveLift, answer: ValveClearance
) -> ValveClearance:
    """Return an answer with how close the head comes to the cylinder; its own place alone decides that."""
    head, bore = here.over.heads.get(name), here.over.bore
    if head is None:
        return answer
    if not isinstance(bore, Bore):
        return answer._replace(bore_lacks=bore)
    where = InBore(head, bore)
    least = least_in_bore(where, lift.at)
    return answer._replace(
        bore=_bare(mapping, name, BORE, least),
        bore_pumped=least_in_bore(where, lift.risen().at) if lift.pumps else None,
        bore_part=nearest_part(where, lift.at(array(least.angle))),
    )


def _ends_low(over: ByReading, least: Minimum) -> bool:
    """Say whether the drop would be less beyond the angles at which the reading tells it."""
    return over.if_it_went_on().value < least.value - SAME_MM


def _bare(mapping: Flat, of: str, name: str, least: Minimum) -> Result:
    """Return a clearance before it is known how sure it is."""
    there = figure(name, of.rpartition(".")[2])
    limit, _ = there.limits(mapping)
    key = KEYS.get(name, name)
    return Result(of, key, there, least.value, BARE, least=limit, verdict=Verdict.UNPROVED, at=least.angle)


def _pair(mapping: Flat, here: Situation) -> PairClearance:
    """Return how near a cylinder's two valves come: by where they touch, or else by their coordinates."""
    heads, problem = here.heads_apart(), tuple(one for found in here.problems.values() for one in found)
    apart = None if problem else here.apart()
    if isinstance(apart, ByTouch):
        found = _pair_by_touch(mapping, here, apart)
        if heads is not None and found.least is not None:
            found = found._replace(differ=least_between(*heads, alone=True).value - found.least.value)
        return _felt(mapping, here, found)
    if apart is None:
        ways = _lacks_of_pair(mapping, here)
        found = PairClearance(here.cylinder, None, None, None, next(iter(ways.values())), problem, ways=ways)
        return _felt(mapping, here, found if problem else _further_alone(here, found))
    least = apart.least()
    pumped = None
    no_pumped = tuple(dict.fromkeys(entry for lift in here.lifts.values() for entry in lift.no_pumped))
    if any(lift.pumps for lift in here.lifts.values()) and not no_pumped:
        pumped = apart.with_lifts([_risen(here.lifts[name]) for name in here.trains]).least()
    judged = _bare(mapping, here.cylinder, PAIR, least)
    found = PairClearance(
        here.cylinder, least, pumped, judged, (), (), no_pumped=no_pumped, basis=COORDINATES
    )
    return _felt(mapping, here, _further_alone(here, found))


def _pair_by_touch(mapping: Flat, here: Situation, apart: ByTouch) -> PairClearance:
    """Return how near two valves come by where they can first touch."""
    least, further = apart.least(), apart.least_further()
    tried = apart.touch.untried(*apart.opened(array(least.angle)))
    entries = tuple(f"{here.cylinder}.{TABLE}.{edge}" for edge in tried)
    found = PairClearance(
        here.cylinder,
        least,
        None,
        _bare(mapping, here.cylinder, PAIR, least),
        (),
        (),
        no_pumped=tuple(dict.fromkeys(entry for lift in here.lifts.values() for entry in lift.no_pumped)),
        basis=TOUCH,
        further=_bare(mapping, here.cylinder, FURTHER, further),
        at_least=tuple(edge for edge, open_ in zip(EDGES, apart.touch.bounded, strict=True) if open_),
        in_one_plane=apart.touch.spread is None,
    )
    if tried and least.value <= 0:
        why = f"the lift goes past what {' and '.join(tried)} {'was' if len(tried) == 1 else 'were'} tried up to: try it further"
        return found._replace(least=None, judged=None, lacks=entries, why=why)
    if any(lift.pumps for lift in here.lifts.values()) and not found.no_pumped:
        up = apart.with_lifts([_risen(lift) for lift in apart.lifts])
        pumped = up.least()
        found = found._replace(pumped=pumped, meets_after=_rise_of_pair(apart))
        if pumped.value <= 0 and (tried := up.touch.untried(*up.opened(array(pumped.angle)))):
            entries = tuple(f"{here.cylinder}.{TABLE}.{edge}" for edge in tried)
            found = found._replace(pumped=None, no_pumped=entries)
    return found


def _rise_of_pair(apart: ByTouch) -> float | None:
    """Return how far both plungers rise before the heads may meet [mm]; None: a lifter does not, or its ratio is not known."""
    if not all(lift.pumps for lift in apart.lifts):
        return None
    lifts = sorted(apart.lifts, key=lambda one: side_of(one.train.name))

    def rise(crank: Array, _: bool) -> Array:
        ways = []
        for lift, edge in zip(lifts, apart.touch.edges, strict=True):
            with np.errstate(invalid="ignore"):
                way = lift.lifter_for(edge) - lift.lifter_for(lift.at(crank))
            ways.append(np.where(np.isnan(way), np.inf, way))
        found: Array = np.maximum(ways[0], ways[1])
        return found

    return minima(rise, cycle_angles(), near=0.0)[0].value


def _further_alone(here: Situation, found: PairClearance) -> PairClearance:
    """Return an answer with how much further both could open where no angle tells their straight gap, and why not."""
    unsure = here.over.touch
    if not isinstance(unsure, Unsure):
        return found
    found = found._replace(why=unsure.why) if found.judged is None else found
    lifts = [here.lifts[name] for name in here.trains if name in here.lifts]
    if unsure.touch is None or len(lifts) != 2 or len(here.trains) != 2:
        return found
    further = ByTouch(unsure.touch, (lifts[0], lifts[1])).least_further()
    return found._replace(further=_bare({}, here.cylinder, FURTHER, further))


def _felt(mapping: Flat, here: Situation, found: PairClearance) -> PairClearance:
    """Return an answer with what was felt between the heads at crank angles."""
    apart, seen = here.apart(), []
    for index in range(MOST_READINGS):
        one = Reader(mapping, (f"reading.{index}.",))
        if one.word("of") != FELT or one.word("cylinder") != here.cylinder:
            continue
        at, read = one.find("at"), one.find("value")
        if read is not None:
            angle = 0.0 if at is None else float(at)
            foretold = None if apart is None else float(apart.at(array(angle)))
            seen.append(Feeler(angle, float(read), foretold))
    return found._replace(feelers=tuple(seen))


def _risen(lift: ValveLift) -> ValveLift:
    return lift.risen() if lift.pumps else lift


def _lacks_of_pair(mapping: Flat, here: Situation) -> dict[str, tuple[str, ...]]:
    """Return what the distance between two valves lacks by each way, the nearest first.

    That is by coordinates where a head has any, else pushed together by hand.
    """
    if len(here.trains) < 2:
        return {COORDINATES: (f"the other valve gear of {here.cylinder}",)}
    unsure = here.over.touch
    touched = unsure.lacks if isinstance(unsure, Unsure) else None
    by_hand = [f"{here.cylinder}.{TABLE}.{one}" for one in TOUCHED] if touched is None else touched
    heads, moves, any_head = list[str](), list[str](), False
    for name in here.trains:
        gear = Reader(mapping, (f"{name}.",))
        any_head = any_head or gear.has("valve.face")
        if name not in here.over.heads:
            heads += here.over.lacks.get(name, ()) or (gear.path(one) for one in OF_HEAD if not gear.has(one))
        if name not in here.lifts:
            moves += [entry for way in (CAM, LIFT) for entry in here.lacks[name].get(way, ())]
    ways = {COORDINATES: heads} if any_head else {TOUCH: by_hand, COORDINATES: heads}
    return {way: tuple(dict.fromkeys((*lacks, *moves))) for way, lacks in ways.items()}


def _pumped_too(
    mapping: Flat,
    here: Situation,
    asked: Sequence[Asked],
    found: dict[str, Weighed],
    lengths_of: Callable[[Iterable[str]], Slopes],
    doubts: Mapping[str, Doubt],
) -> dict[str, dict[str, float]]:
    """Count in what the preloads may be off by, and return how much each pumped-up clearance moves with them."""
    up = [one for one in asked if one.pumped]
    if not up:
        return {}
    moves = {one.key: per_preload(one, here.lifts, here.valves, here.over) for one in up}
    lengths = lengths_of(dict.fromkeys(name for one in moves.values() for name in one))
    for one in up:
        weighed = with_preload(mapping, found[one.key], moves[one.key], lengths, doubts)
        lifts = [lift for name, lift in here.lifts.items() if one.what in OF_BOTH or name == one.name]
        further = [lift for lift in lifts if lift.pumps and one.rise is None]
        lacks = [entry for lift in further for entry in lift.train.lifter.pumped_lacks]
        found[one.key] = weighed._replace(budget=not_proved(weighed.budget, lacks))
    return moves


def _weighed(
    one: ValveClearance,
    here: Situation,
    found: Mapping[str, Weighed],
    moves: Mapping[str, Mapping[str, float]],
) -> ValveClearance:
    """Return an answer with its doubts and the verdicts that follow from them.

    Contact with the lifter pumped up is SHORT where it counts; a drop within its own doubt of contact is TIGHT then.
    """
    piston, room, bore = (
        _with_doubt(judged, one.train, found) for judged in (one.piston, one.room, one.bore)
    )
    pumped, counts = found.get(f"{one.train} drop pumped"), not one.told_alone
    open_ = bool(one.no_pumped) and counts
    if piston is not None and (one.unfinished or open_):
        piston = piston._replace(verdict=at_best_unproved(piston.verdict))
    if bore is not None and open_:
        bore = bore._replace(verdict=at_best_unproved(bore.verdict))
    if piston is not None and one.pumped is not None and pumped is not None and counts:
        with_contact = pumped_up(one.pumped.value, pumped.budget)
        piston = piston._replace(verdict=_harder(piston.verdict, with_contact))
    if bore is not None and one.bore_pumped is not None and counts:
        with_contact = pumped_up(one.bore_pumped.value, not_proved(bore.budget, one.hot_lacks))
        bore = bore._replace(verdict=_harder(bore.verdict, with_contact))
    one = one._replace(piston=piston, room=room, bore=bore)
    if pumped is None:
        return one
    moved = moves.get(f"{one.train} drop pumped", {}).get(one.train, 0.0)
    return one._replace(
        pumped_doubt=pumped.budget,
        pumped_slopes=pumped.slopes,
        pumped_lobes=() if pumped.shape is None else pumped.shape.lobes,
        pumped_per_preload=moved,
        meets_after=_meets_after(one, here, found),
    )


def _harder(verdict: Verdict | None, other: Verdict) -> Verdict:
    """Return the harder of two verdicts."""
    return other if verdict is None else max(verdict, other, key=SEVERITY.index)


def _meets_after(one: ValveClearance, here: Situation, found: Mapping[str, Weighed]) -> Result | None:
    """Return how far a plunger rises before its valve meets the piston, with its doubt; None: the ratio is not known."""
    weighed = found.get(f"{one.train} drop risen")
    if one.meets is None or weighed is None:
        return None
    lift = here.lifts[one.train]
    lobe = lift.lobe.placed.lift(array(one.meets.angle)) + max(one.meets.value, 0.0)
    ratio = lift.ratio(array(np.maximum(lobe, 0.0)))
    if ratio is None or not np.isfinite(ratio):
        return None
    rise = per_rise(weighed, float(ratio))
    return _bare({}, one.train, RISE, one.meets)._replace(
        budget=rise.budget, slopes=rise.slopes, verdict=None
    )


def not_proved(doubt: Budget, lacks: Iterable[str]) -> Budget:
    """Return a budget that proves nothing without entries that nobody made; as it is where none is lacking."""
    return doubt._replace(undoubted=tuple(dict.fromkeys((*lacks, *doubt.undoubted))))


def pumped_up(value: float, doubt: Budget) -> Verdict:
    """Return the verdict on a drop with the lifter pumped up, which has to be more than nothing."""
    return Verdict.SHORT if value <= 0 else judge(value, 0.0, None, doubt.expanded, not doubt.undoubted)


def _up(
    of: str,
    name: str,
    least: Minimum,
    doubt: Budget,
    slopes: Mapping[str, float],
    lobes: tuple[str, ...],
) -> Result:
    """Return a clearance with the lifter pumped up, which has to be more than nothing."""
    verdict = pumped_up(least.value, doubt)
    found = _bare({}, of, name, least)
    return found._replace(budget=doubt, verdict=verdict, slopes=slopes, lobes=lobes)


def _pair_weighed(
    mapping: Flat,
    here: Situation,
    one: PairClearance,
    found: Mapping[str, Weighed],
    moves: Mapping[str, Mapping[str, float]],
    doubts: Mapping[str, Doubt],
) -> PairClearance:
    judged = _with_doubt(one.judged, one.cylinder, found)
    if one.further is not None:
        weighed = found[f"{one.cylinder} {FURTHER}"]
        further = one.further._replace(budget=weighed.budget, slopes=weighed.slopes, verdict=None)
        one = one._replace(further=further)
    if judged is not None and one.no_pumped and targets.pumped_counts(mapping):
        judged = judged._replace(verdict=at_best_unproved(judged.verdict))
    if judged is not None and (again := _looks_wrong(mapping, here, one, judged, doubts)):
        judged = judged._replace(verdict=at_best_unproved(judged.verdict), look_again=again)
    counts, pumped = targets.pumped_counts(mapping), one.pumped
    one = one._replace(pumped_counts=counts)
    if judged is None or pumped is None:
        return one._replace(judged=judged)
    if pumped.value <= 0:
        return one._replace(judged=judged._replace(verdict=Verdict.SHORT) if counts else judged)
    key = f"{one.cylinder} {PAIR} pumped"
    budget, slopes, shape = found[key]
    lobes = () if shape is None else shape.lobes
    up = _up(one.cylinder, PAIR_PUMPED, pumped, budget, slopes, lobes)
    if counts:
        judged = judged._replace(verdict=_harder(judged.verdict, pumped_up(pumped.value, budget)))
    else:
        up = up._replace(verdict=None, least=None)
    return one._replace(judged=judged, up=up, up_per_preload=moves.get(key, NONE))


def _looks_wrong(
    mapping: Flat, here: Situation, one: PairClearance, judged: Result, doubts: Mapping[str, Doubt]
) -> tuple[str, ...]:
    """Return what contradicts where two valves touch: how far both opened together, their coordinates, a feeler."""
    if one.basis != TOUCH or here.touch is None:
        return ()

    def off(*entries: str) -> float:
        known = [doubts[path].half_width for path in entries if path in doubts]
        return float(sum(known))

    stem = f"{one.cylinder}.{TABLE}."
    together = Reader(mapping, (stem,)).find("together")
    edges = [float(edge) for edge in here.touch.edges]
    least = max(edges)
    read = off(*(f"{stem}{edge}" for edge in EDGES), f"{stem}together")
    told = []
    if together is not None and float(together) < least - read - SAME_MM and not any(here.touch.bounded):
        told.append(
            f"{stem}together: both touched after opening less far than one of the edges alone: these three disagree, "
            "read them again, with less hold"
        )
    doubt = judged.budget.expanded
    if one.differ is not None and abs(one.differ) > RULE_MM + 2 * doubt:
        way = "more" if one.differ > 0 else "less"
        told.append(
            f"{stem}edge_intake: by coordinates the two valves stay {in_both(abs(one.differ))} {way} apart than by "
            "where they touch: look at both again"
        )
    for feeler in one.feelers:
        if feeler.foretold is not None and feeler.read < feeler.foretold - doubt - FELT_MM:
            told.append(
                f"{stem}edge_intake: a feeler between the valves at {np.degrees(feeler.angle):.0f} degrees was "
                f"{in_both(feeler.read)}, where they touch foretells {in_both(feeler.foretold)} there: look at both again"
            )
    return tuple(told)


def _with_doubt(judged: Result | None, name: str, found: Mapping[str, Weighed]) -> Result | None:
    if judged is None:
        return None
    budget, slopes, shape = found[f"{name} {judged.name}"]
    verdict = judge(judged.value, judged.limit.value, None, budget.expanded, not budget.undoubted)
    if not np.isfinite(budget.expanded):
        message = f"the doubt of {name}, {judged.name}, is not a number"
        raise GeometryError(message)
    if judged.name in ("between", "bore") and judged.value <= 0:
        verdict = Verdict.SHORT  # contact, whatever the target
    lobes = () if shape is None else shape.lobes
    return judged._replace(budget=budget, verdict=verdict, slopes=slopes, lobes=lobes)
