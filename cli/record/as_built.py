"""Plan against as-built: everything that a record says of the assembly, beside what the job foretells of it.

A part that cannot be worked out keeps nobody from writing down what was set: it is compared with nothing, and says
what it lacks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.clearance.clearances import Clearances
from tallstack.geometry.core.answer import CYLINDER, TRAIN, Group, Missing
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.doubt.result import Results, results
from tallstack.geometry.fits import heat
from tallstack.geometry.fits.heat import per_kelvin
from tallstack.geometry.pushrod.adjusting import setting
from tallstack.geometry.pushrod.ordering import Order
from tallstack.geometry.pushrod.shelf import Chosen, Offer, Rod, best_set, offer, offers
from tallstack.geometry.pushrod.stations import Station, stations
from tallstack.geometry.sure import planned
from tallstack.geometry.sure.planned import Planned, Standing, expanded, standing_of

from ..job import contradicted
from ..job.faults import InputFaultsError
from ..job.fitted import fitted
from ..job.job import Job
from .box import Seen, seen
from .recordfile import Fact, standing
from .recordkinds import AT_LIFT, BY_NAME, figures, kinds

ALWAYS = ("pushrod", "setting", "turns", "flats", "drop")  # of a valve gear: told before anything is recorded
ALWAYS_OF_CYLINDER = ("valve to valve", "squish", "deck")
MET = (
    Standing.AS_PLANNED,
    Standing.WITHIN,
    Standing.TIGHT,
)  # what nothing that contradicts the plan lets stand


MISSED = (Standing.MISSES, Standing.OFF, Standing.BEYOND)


class Compared(NamedTuple):
    """One thing that was planned, recorded or both; lengths in mm, angles in rad, turns and flats plain."""

    what: str
    of: str
    convention: str
    plan: Planned
    built: float | None  # None: not recorded yet
    built_doubt: float | None  # expanded
    difference: float | None  # built less planned
    standing: Standing
    fact: Fact | None
    told: str = ""  # what a pushrod of the recorded length does, where that misses
    look_again: tuple[str, ...] = ()  # why something that was entered contradicts the plan
    since: str = ""  # what it is now, where something it hangs on moved since it was read, in words
    now: float | None = None  # the same as a length [mm]; None: as it was read

    @property
    def is_off(self) -> bool:
        """Whether it cannot be judged and stands further from the plan than the plan's own doubt explains."""
        if self.standing is not Standing.UNJUDGED or self.built is None:
            return False
        return planned.is_off(self.plan, self.built, last_digit(self.fact))

    @property
    def is_missed(self) -> bool:
        """Whether it misses its limit or the plan; what cannot be judged does where it stands off."""
        return self.standing in MISSED or self.is_off


def last_digit(fact: Fact | None) -> float:
    """Return half of the last digit that was written [mm, rad or plain]; of a fraction nothing."""
    if fact is None or fact.value is None:
        return 0.0
    found = re.match(r"\s*([-+]?\d+(?:\.(\d*))?)(?![\d./])", fact.typed)
    if found is None or float(found[1]) == 0.0:
        return 0.0
    return 0.5 * 10.0 ** -len(found[2] or "") * abs(fact.value.number / float(found[1]))


def compared(plan: Plan, facts: Sequence[Fact]) -> tuple[Compared, ...]:
    """Return the plan of a job beside what was built, as far as it counts; what is planned and not recorded yet is open.

    What a visit found or left is not of the assembly: it stands in `visits`.
    """
    job = plan.job
    counting = [fact for fact in standing(facts) if fact.what in kinds() and not fact.state]
    keys = {(fact.what, fact.of) for fact in counting}
    rows = [_built(plan, fact, facts) for fact in counting]
    for what, of in plan.things():
        found = plan.of(what, of, plan.convention(what, of))
        if (what, of) not in keys and found.value is not None:
            convention = plan.convention(what, of)
            again = plan.look_again(what, of)
            rows.append(
                Compared(what, of, convention, found, None, None, None, Standing.OPEN, None, look_again=again)
            )
    owners = [*job.names["trains"], *job.names["cylinders"]]
    order = list(kinds())

    def place(row: Compared) -> tuple[int, int]:
        owner = owners.index(row.of) if row.of in owners else len(owners)
        return owner, order.index(row.what)

    return tuple(sorted(rows, key=place))


def misses(rows: Sequence[Compared], strict: bool = False) -> bool:
    """Say whether anything recorded misses its limit or the plan; what cannot be judged counts where it stands off.

    strict : TIGHT and NOT JUDGED count too
    """
    doubtful = (Standing.UNJUDGED, Standing.TIGHT) if strict else ()
    return any(row.is_missed or row.standing in doubtful for row in rows)


def _built(plan: Plan, fact: Fact, facts: Sequence[Fact]) -> Compared:
    found, value = plan.of(fact.what, fact.of, fact.convention), fact.value
    assert value is not None
    doubt = value.doubt
    if fact.what == "flats" and doubt is None and float(value.number).is_integer():
        doubt = planned.COUNTED
    verdict, told = standing_of(found, value.number, doubt), ""
    if fact.what == "pushrod":
        given = plan.off(fact)
        if given is not None:
            told = given.why
            apart = Standing.BEYOND if verdict is Standing.BEYOND else Standing.OFF
            verdict = Standing.MISSES if given.misses_limit else apart
    again = plan.look_again(fact.what, fact.of)
    now, since = plan.in_box(fact, facts), ""
    if now is not None:
        again = (*again, *([now.again] if now.again else []))
        since, verdict = now.told_of(verdict), now.standing_of(verdict)
    if again and verdict in MET:
        verdict = Standing.UNJUDGED
    return Compared(
        what=fact.what,
        of=fact.of,
        convention=fact.convention,
        plan=found,
        built=value.number,
        built_doubt=None if doubt is None else expanded(doubt),
        difference=None if found.value is None else value.number - found.value,
        standing=verdict,
        fact=fact,
        told=told,
        look_again=again,
        since=since,
        now=None if now is None or now.room is None else now.room.value,
    )


class Plan:
    """What a job foretells of all that can be written down, each answer worked out when it is first asked for."""

    def __init__(self, job: Job, rods: Sequence[Rod] = ()) -> None:
        """Take a job, and the shelf that the pushrods are taken from, for how far each is turned."""
        self.rods = {rod.label: rod for rod in rods}
        self.job, self.trouble = job.at_hand, ""
        self.fitted: dict[tuple[Group[Any], str], Results | Missing] = {}
        self.heated: dict[str, float | None] = {}
        try:
            job.settled.tables  # noqa: B018  a faulty table is told once, and keeps nothing else from being foretold
        except InputFaultsError as error:
            self.job = self.job._replace(known_tables=Tables({}))
            self.trouble = error.report().splitlines()[0]
        self.chosen = self._from_the_shelf()
        self.job = fitted(self.job, self.chosen)

    @cached_property
    def orders(self) -> dict[str, Order]:
        """The pushrod of every valve gear."""
        return {order.train.name: order for order in self.job.orders}

    @property
    def clear(self) -> Clearances:
        """Every clearance."""
        return self.job.clearances

    @cached_property
    def stations(self) -> dict[str, Station]:
        """Where every cylinder is set."""
        return {one.cylinder: one for one in stations(self.job.mapping, self.job.tables.lobes)}

    def _from_the_shelf(self) -> Chosen | None:
        """Return the set from the shelf that gives what is wanted best."""
        if not self.rods:
            return None
        rods = tuple(self.rods.values())
        offered = {order.train.name: offers(order, rods) for order in self.job.orders}
        return best_set(offered, {rod.label: rod.count for rod in rods})

    def things(self) -> Iterator[tuple[str, str]]:
        """Yield all that a job can foretell, in the order of assembly."""
        for name in self.job.names["trains"]:
            for what in ALWAYS:
                setting = "lash" if self.convention("lash", name) else "preload"
                yield (setting if what == "setting" else what), name
        for name in self.job.names["cylinders"]:
            for what in ALWAYS_OF_CYLINDER:
                yield what, name

    def convention(self, what: str, of: str) -> str:
        """Return the convention in which the plan speaks of a thing."""
        if kinds()[what].of == CYLINDER or of not in self.job.names["trains"]:
            return ""
        order = self.order(of)
        if order is None:
            return ""
        if what == "pushrod":
            return order.convention
        if what == "lash" and order.train.lifter.kind == "solid":
            return order.train.lifter.lash_at
        if what not in ("turns", "flats"):
            return ""
        return "zero lash"

    def order(self, of: str) -> Order | None:
        """Return one valve gear's pushrod, None where the job cannot be worked out at all."""
        try:
            return self.orders.get(of)
        except GeometryError:
            return None

    def of(self, what: str, of: str, convention: str) -> Planned:
        """Return the plan of one thing."""
        if of not in self.job.names["trains"] + self.job.names["cylinders"]:
            return Planned(why=f"{of} is not in this job")
        if (of in self.job.names["cylinders"]) != (kinds()[what].of == CYLINDER):
            return Planned(
                why=f"{what} is of a {'cylinder' if kinds()[what].of == CYLINDER else 'valve gear'}"
            )
        try:
            if what in figures():
                group, key = figures()[what]
                there = self._figures(what, of)
                found = planned.of_figure(there, group.figures[key], key, self.job.mapping, of)
            elif of in self.job.names["cylinders"]:
                found = self._of_cylinder(what, of)
            else:
                found = self._of_train(what, of, convention)
        except (GeometryError, InputFaultsError) as error:
            shown = error.report().splitlines()[0] if isinstance(error, InputFaultsError) else str(error)
            return Planned(why=shown)
        return found._replace(why=self.trouble) if found.value is None and not found.why else found

    def look_again(self, what: str, of: str) -> tuple[str, ...]:
        """Return what contradicts the plan of one thing."""
        try:
            moving = self._moving(what, of)
        except (GeometryError, InputFaultsError):
            moving = {}
        return contradicted.told(self.job)(of, moving)

    def _moving(self, what: str, of: str) -> Mapping[str, float]:
        """Return the entries that move the plan of one thing."""
        if what in ("pushrod", "preload", "lash", "turns", "flats"):
            order = self.order(of)
            return {} if order is None else order.slopes
        if what in ("drop", "clay"):
            valve = next((one for one in self.clear.valves if one.train == of), None)
            return {} if valve is None or valve.piston is None else valve.piston.slopes
        if what == "valve to valve":
            pair = next((one for one in self.clear.pairs if one.cylinder == of), None)
            return {} if pair is None or pair.judged is None else pair.judged.slopes
        if what in figures():
            key, found = figures()[what][1], self._figures(what, of)
            return {} if isinstance(found, Missing) or key not in found else found[key].slopes
        return {}

    def _figures(self, what: str, of: str) -> Results | Missing:
        """Return the group of figures that a thing is of."""
        group, _ = figures()[what]
        if (group, of) not in self.fitted:
            known = self.job.fits.known.get(of) if group.of == TRAIN else None
            job = self.job
            self.fitted[group, of] = results(job.mapping, group, of, job.quantities, job.doubts, known)
        return self.fitted[group, of]

    def _of_train(self, what: str, of: str, convention: str) -> Planned:
        least = kinds()[what].least
        if least is not None:
            return planned.of_limit(least, self.job.mapping)
        if what in BY_NAME:
            return Planned()
        job, tables, order = self.job, self.job.tables, self.orders[of]
        quantities, doubts = job.quantities, job.doubts
        if what == "pushrod":
            return planned.of_pushrod(order, convention, job.mapping, quantities, doubts)
        if what in ("preload", "lash"):
            kind, right = order.train.lifter.kind, "lash" if order.train.lifter.kind == "solid" else "preload"
            if kind and what != right:
                return Planned(why=f"a {kind} lifter has {right}, not {what}")
            if what == "lash" and convention != order.train.lifter.lash_at:
                return Planned(why=f"the job wants its lash at the {order.train.lifter.lash_at}")
            return planned.of_setting(order)
        if what in ("turns", "flats"):
            return self._turned(order, what == "flats", convention == "closed")
        if what == "valve lift":
            return planned.of_lift(of, job.mapping, tables, quantities, doubts)
        valve = next(one for one in self.clear.valves if one.train == of)
        over = "drop" if what == "drop" else "gap"
        return planned.of_valve(valve, over, job.mapping, tables, quantities, doubts)

    def _of_cylinder(self, what: str, of: str) -> Planned:
        if what == "crank":
            return planned.of_station(self.stations[of])
        return planned.of_pair(
            next((one for one in self.clear.pairs if one.cylinder == of), None), self.job.mapping
        )

    def _turned(self, order: Order, in_flats: bool, from_closed: bool) -> Planned:
        offered = () if self.chosen is None else self.chosen.offers
        taken = next(
            (one for one in offered if one.train == order.train.name and one.turns is not None), None
        )
        pitch = None if taken is None else self.rods[taken.label].pitch
        if taken is not None and pitch is not None:
            return planned.of_shelf(taken, order, pitch, in_flats, from_closed)
        return Planned() if from_closed else planned.of_adjuster(order, in_flats)

    def in_box(self, fact: Fact, facts: Sequence[Fact]) -> Seen | None:
        """Return what a room in the rocker's box is now, or None of anything else."""
        if kinds()[fact.what].least is None:
            return None
        least = self.of(fact.what, fact.of, "").least
        lift = self.of("valve lift", fact.of, "") if fact.what in AT_LIFT else Planned()
        return seen(fact, facts, least or 0.0, lift.value, lift.doubt or 0.0)

    def per_turn(self, of: str, in_flats: bool) -> float | None:
        """Return what a turn, or a flat, is worth in preload [mm]; None where it is not known."""
        order = self.order(of)
        if order is None or order.train.lifter.kind != "hydraulic":
            return None
        offered = () if self.chosen is None else self.chosen.offers
        taken = next((one for one in offered if one.train == of and one.turns), None)
        pitch = None if taken is None else self.rods[taken.label].pitch
        if taken is not None and pitch is not None:
            flats = taken.flats / taken.turns if taken.flats and taken.turns else None
            return pitch if not in_flats else None if flats is None else pitch / flats
        found = None if order.required is None else setting(order.train, order.required)
        wanted = order.train.lifter.preload
        if found is None or found.turns is None or wanted is None or not found.turns:
            return None
        worth = float(wanted) / found.turns
        count = None if order.train.adjuster is None else order.train.adjuster.flats
        return worth if not in_flats else None if count is None else worth / float(count)

    def by_heat(self, of: str) -> float | None:
        """Return what the cold setting gains for each K that the engine is warmer [mm]; None where it is not known."""
        if of not in self.heated:
            try:
                found = per_kelvin(self.job.mapping, of)
            except GeometryError:
                found = Missing()
            self.heated[of] = None if isinstance(found, Missing) else found
        return self.heated[of]

    def hot_least(self, of: str) -> float | None:
        """Return the least cold setting that leaves what is wanted of it hot [mm]; None where that is not known."""
        if (heat.hot, of) not in self.fitted:
            known, job = self.job.fits.known.get(of), self.job
            self.fitted[heat.hot, of] = results(job.mapping, heat.hot, of, job.quantities, job.doubts, known)
        found = self.fitted[heat.hot, of]
        if isinstance(found, Missing):
            return None
        for kind in ("lash", "preload"):
            change = found.get(f"{kind}_change")
            if change is not None:
                limit = found[f"hot_{kind}"].least
                return (0.0 if limit is None else limit.value) - change.value
        return None

    def off(self, fact: Fact) -> Offer | None:
        """Return what a pushrod of the recorded length gives where no adjuster sets it right, and that misses."""
        order = self.order(fact.of)
        if order is None or fact.value is None or order.train.adjuster is not None:
            return None
        length = fact.value.number
        rod = Rod("", "fixed", length, length, fact.convention, None, None, None, 1)
        found = offer(order, rod)
        return None if found.fits or found.length is None or not found.way else found
