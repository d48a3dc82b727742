"""Every fit of a job, worked out with its doubts: of each cylinder, of each valve gear, and across the cylinders."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from itertools import combinations
from types import MappingProxyType
from typing import Any, NamedTuple

from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.core.answer import CYLINDER, Group, Missing
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.mapping import names
from tallstack.geometry.core.targets import ACROSS, LOWERING, SPIGOTS, Limit, limit_of
from tallstack.geometry.core.verdict import Verdict, at_best_unproved, worst
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.result import NONE, Result, results, told
from tallstack.geometry.engine.alone import each_alone, those_of
from tallstack.geometry.engine.before import STEM
from tallstack.geometry.engine.engine import Train, build
from tallstack.geometry.fits import across, across_doubt, drop_on, groups
from tallstack.geometry.fits.cut_tube import CutTube, Relief
from tallstack.geometry.fits.full_lift import Known, known, noise_of, unsaid_lash

from . import contradicted
from .file import JobFile


class Answered(NamedTuple):
    """One group of figures, of one cylinder or valve gear."""

    group: Group[Any]
    subject: str  # its name
    found: Mapping[str, Result] | Missing

    @property
    def told(self) -> Mapping[str, Result]:
        """The figures that are told; none where they are missing."""
        return {} if isinstance(self.found, Missing) else told(self.found)


OWN_JOB = "write a job of those that stand opposite or beside each other, with their offsets"
Cuts = Mapping[tuple[str, str], tuple[Relief, Relief] | None]
NO_CUTS: Cuts = MappingProxyType({})


class Crossing(NamedTuple):
    """Everything that pistons, spigots and connecting rods do across the cylinders."""

    across: tuple[across.Across, ...]
    reliefs: dict[tuple[str, str], Relief | None]  # piston and spigot → the relief for the wanted clearance
    pistons: tuple[across.Pistons, ...]
    drop_on: tuple[drop_on.DropOn, ...]
    limit: Limit
    room: float  # mm, wanted while a cylinder is lowered
    lacks: tuple[Missing, ...]
    sure: dict[tuple[str, str, str], Result]  # kind of gap, whose part, other cylinder → how sure it is
    spigots: tuple[across.Spigots, ...] = ()  # those that are held against each other
    cuts: Cuts = NO_CUTS  # two of them → the relief of each
    wanted: float = 0.0  # mm, between spigots, with those
    not_looked_at: tuple[tuple[str, str], ...] = ()  # pairs of cylinders whose spigots are not

    @property
    def asked(self) -> tuple[str, ...]:
        """What is still to be measured for it: what it lacks, and an arch where a solid skirt is not surely clear."""
        lacks = [entry for one in self.lacks for entry in one.entries]
        solid = [one for one in self.across if one.solid]
        ok = [self.sure[across_doubt.PISTON, one.moving, one.spigot].verdict is Verdict.OK for one in solid]
        return tuple(dict.fromkeys([*lacks, *(() if all(ok) else across.ARCH)]))

    def unseen(self, one: str, other: str) -> bool:
        """Say whether the spigots of two cylinders are not looked at."""
        return (one, other) in self.not_looked_at or (other, one) in self.not_looked_at


class Fits(NamedTuple):
    """Every fit of a job."""

    answers: tuple[Answered, ...]  # those of the cylinders, then those of the valve gears
    crossing: Crossing
    known: Mapping[str, Known]  # of every valve gear, before anything is varied

    def of(self, subject: str) -> Iterator[Answered]:
        """Yield those of one cylinder or valve gear."""
        return (one for one in self.answers if one.subject == subject)

    @property
    def told(self) -> list[Result]:
        """Every figure that is told, then those across the cylinders."""
        return [
            *(one for answered in self.answers for one in answered.told.values()),
            *self.crossing.sure.values(),
        ]


def fits(job: JobFile, tables: Callable[[], Tables]) -> Fits:
    """Return every fit of a job as its readings leave it; tables : those it names, opened where a fit rests on one."""
    mapping, doubts, why = job.mapping, job.doubts, contradicted.told(job)
    alone = each_alone(mapping)
    quantities = {name: those_of(job.quantities, own) for name, own in alone.items()}
    gears = known_gears(job, tables)
    further = {name: beside(job, gears, name) for name in job.names["trains"]}
    answers = []
    for group in groups.GROUPS:
        for name in job.names[f"{group.of}s"]:
            cylinder = name if group.of == CYLINDER else name.rpartition(".")[0]
            own, flat = quantities[cylinder], alone[cylinder]
            if group.of_all:
                own, flat = {one: job.quantities[one] for one in own}, mapping
            beside_it = further.get(name, NONE)
            found = results(mapping, group, name, own, doubts, gears.get(name), beside_it, flat)
            if not isinstance(found, Missing):
                found = contradicted.of_figures(why, name, found)
            answers.append(Answered(group, name, found))
    return Fits(tuple(_doubted(answers)), crossing_of(job), gears)


def _table(path: str) -> str:
    """Return the table that an entry stands in."""
    return path.rpartition(".")[0]


def _doubted(answers: list[Answered]) -> Iterator[Answered]:
    """Yield answers, those that rest on readings which another way to them contradicts no longer called met."""
    why: dict[str, tuple[tuple[str, ...], frozenset[str]]] = {}
    for one in answers:
        for each in one.told.values():
            if each.figure.nought and each.look_again:
                why[one.subject] = each.look_again, frozenset(map(_table, each.slopes))
    for one in answers:
        reasons, tables = why.get(one.subject, ((), frozenset()))
        if not reasons or isinstance(one.found, Missing):
            yield one
            continue
        found = {
            key: contradicted.with_reasons(each, reasons)
            if tables & set(map(_table, each.slopes)) and not each.look_again
            else each
            for key, each in one.found.items()
        }
        yield one._replace(found=found)


def crossing_of(job: JobFile) -> Crossing:
    """Return everything across the cylinders; nothing where there is but one, or nothing was measured."""
    mapping = job.mapping
    limit = limit_of(mapping, ACROSS)
    assert limit is not None  # common practice has one
    wanted = LOWERING.set_in(mapping) or 0.0
    couples = across.pairs(mapping)
    nothing = Crossing((), {}, (), (), limit, wanted, (), {})
    if not couples or not any(".spigot." in path for path in mapping):
        return nothing
    if (count := len(names(mapping, "cylinders"))) > across.MOST_CYLINDERS:
        too_many = (
            f"{count} cylinders, at most {across.MOST_CYLINDERS} are held against each other; {OWN_JOB}"
        )
        return nothing._replace(lacks=(Missing.of((), too_many),))
    movers = {name: across.mover(mapping, name) for name in names(mapping, "cylinders")}
    with_rods = {name: across.mover(mapping, name, with_rod=True) for name in movers}
    stands = {name: across.spigot_of(mapping, name) for name in movers}
    close, reliefs, drops = [], {}, []
    for one, other in couples:
        moving, rod, spigot = movers[one], with_rods[one], stands[other]
        if isinstance(moving, Missing) or isinstance(spigot, Missing):
            continue
        turning = None if isinstance(rod, Missing) else across.conrod_to_spigot(rod, spigot)
        found = across.Across(one, other, across.piston_to_spigot(moving, spigot), turning, not moving.arches)
        close.append(found)
        if found.piston.gap < limit.value:
            reliefs[one, other] = across.relief_for(moving, spigot, limit.value)
        if not isinstance(rod, Missing):
            fitted = stands[one]
            beside = None if isinstance(fitted, Missing) else fitted
            lowering, own = drop_on.drop_on(rod, spigot, other, wanted, beside), movers[other]
            if not isinstance(own, Missing):
                lowering = drop_on.with_crown(mapping, lowering, own, spigot)
            drops.append(lowering)
    pistons = []
    for one, other in couples:
        first, second = movers[one], movers[other]
        if one < other and not isinstance(first, Missing) and not isinstance(second, Missing):
            pistons.append(across.piston_to_piston(mapping, first, second))
    spigots, unseen = _spigots(stands)
    lacks = [lack for table in (with_rods, stands) for lack in table.values() if isinstance(lack, Missing)]
    gaps = [*(gap for one in close for gap in _gaps_of(one))]
    gaps += [across_doubt.Gap(across_doubt.PISTONS, *one.cylinders, one.gap, one.at) for one in pistons]
    gaps += [
        across_doubt.Gap(across_doubt.SEATED, *one.cylinders, one.apart.gap, None, one.apart)
        for one in spigots
    ]
    gaps += [gap for one in drops for gap in _gaps_of_drop(one)]
    judged_gaps = across_doubt.judged_gaps(mapping, gaps, job.quantities, job.doubts)
    why = contradicted.told(job)
    sure = {
        (gap.kind, gap.moving, gap.other): contradicted.with_reasons(
            one, why(gap.moving, contradicted.resting_on(one, gap.moving))
        )
        for gap, one in zip(gaps, judged_gaps, strict=True)
    }
    between = SPIGOTS.set_in(mapping) or limit.value
    every = Crossing(
        tuple(close),
        reliefs,
        tuple(pistons),
        tuple(drops),
        limit,
        wanted,
        tuple(lacks),
        sure,
        tuple(spigots),
        _cuts(stands, sure, between),
        between,
        tuple(unseen),
    )
    for (kind, one, other), gap in sure.items():
        if kind == across_doubt.LOWERED:
            sure[kind, one, other] = gap._replace(verdict=_with_spigots(every, gap, one, other))
    return every


def _spigots(
    stands: Mapping[str, CutTube | Missing],
) -> tuple[list[across.Spigots], list[tuple[str, str]]]:
    """Return spigots against each other, and the pairs of cylinders of which one was not measured: it is not none."""
    found, unseen = [], []
    for one, other in combinations(sorted(stands), 2):
        first, second = stands[one], stands[other]
        if isinstance(first, Missing) or isinstance(second, Missing):
            unseen.append((one, other))
        else:
            found.append(across.spigot_to_spigot((one, other), first, second))
    return found, unseen


def _cuts(
    stands: Mapping[str, CutTube | Missing], sure: Mapping[tuple[str, str, str], Result], between: float
) -> Cuts:
    """Return the reliefs that put those spigots so far apart that are too near to each other."""
    found = {}
    for (kind, one, other), seated in sure.items():
        first, second = stands.get(one), stands.get(other)
        if kind == across_doubt.SEATED and seated.verdict is Verdict.SHORT:
            assert isinstance(first, CutTube)
            assert isinstance(second, CutTube)
            found[one, other] = across.middle_reliefs(first, second, between)
    return found


def _with_spigots(found: Crossing, room: Result, fitted: str, lowered: str) -> Verdict | None:
    """Return the verdict on a lowering by piston and connecting rod, its spigot counted too."""
    if found.unseen(fitted, lowered):
        return at_best_unproved(room.verdict)
    past = found.sure[across_doubt.PASSING, fitted, lowered]
    if past.meets:
        return Verdict.SHORT
    return room.verdict if room.verdict is None or past.verdict is None else worst(room.verdict, past.verdict)


def _gaps_of(one: across.Across) -> Iterator[across_doubt.Gap]:
    yield across_doubt.Gap(
        across_doubt.PISTON, one.moving, one.spigot, one.piston.gap, one.piston.at, one.piston.apart
    )
    if one.conrod is not None:
        yield across_doubt.Gap(across_doubt.CONROD, one.moving, one.spigot, one.conrod.gap, one.conrod.at)


def _gaps_of_drop(one: drop_on.DropOn) -> Iterator[across_doubt.Gap]:
    yield across_doubt.Gap(across_doubt.LOWERED, one.fitted, one.lowered, one.margin, one.best, one.piston)
    if one.past is not None:
        yield across_doubt.Gap(across_doubt.PASSING, one.fitted, one.lowered, one.past.gap, None, one.past)


def _has(job: JobFile, *parts: str) -> bool:
    return any(one in path for path in job.entries if not path.startswith(STEM) for one in parts)


def known_gears(job: JobFile, tables: Callable[[], Tables]) -> dict[str, Known]:
    """Return what is known of every valve gear, where the job says anything of tubes, springs, seals or heat."""
    at_full_lift = _has(job, ".tube.", ".spring.", ".retainer_to_seal", ".masses.", "chamber.volume")
    if not at_full_lift and not _has(job, "running.hot_", ".cup_depth_"):
        return {}
    cam = Cam(job.mapping, tables()) if at_full_lift else None
    engine = build(job.mapping)
    return {name: _known(engine.train(name), cam) for name in job.names["trains"]}


def _known(train: Train, cam: Cam | None) -> Known:
    lobe: CamLobe | tuple[str, ...] | None = None
    if cam is not None:
        with suppress(GeometryError):
            lobe = cam.lobe_of(train.name)
    return known(train, lobe if isinstance(lobe, CamLobe) else None)


def beside(job: JobFile, gears: Mapping[str, Known], train: str) -> dict[str, Doubt | None]:
    """Return what moves a valve gear's fits and is no reading of the job: its lobe's noise, and how well it is set.

    None where neither a pushrod was measured nor anybody says how well it is set; and of a lash that lifts at the valve
    were read with and nobody said.
    """
    found: dict[str, Doubt | None] = {}
    gear, wish = gears.get(train), f"{train}.lifter.preload"
    if gear is not None and gear.lobe is not None and gear.lobe.fit is not None:
        off = gear.lobe.lift_doubt(gear.lobe.placed.at + 2 * (gear.lobe.peak[0] - gear.lobe.placed.middle))
        found[noise_of(gear.lobe)] = Doubt(off, 1.0)
    if gear is not None and (unsaid := unsaid_lash(gear)):
        found[unsaid] = None
    if wish in job.doubts and job.doubts[wish].half_width > 0:
        found[wish] = job.doubts[wish]
    elif gear is not None and not gear.convention and wish in job.entries:
        found[wish] = None  # a wish is no measurement
    return found
