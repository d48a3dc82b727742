"""Every fit of a job, worked out with its doubts: of each cylinder, of each valve gear, and across the cylinders."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.mapping import Flat, Quantities, Reader, names
from tallstack.geometry.core.verdict import at_best_unproved
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.engine.engine import Train, build
from tallstack.geometry.fits import (
    across,
    across_doubt,
    column,
    drop_on,
    heat,
    skirt,
    springs,
    studs,
    tubes,
    volume,
)
from tallstack.geometry.fits.full_lift import FullLift, Known, full_lift, known, noise_of
from tallstack.geometry.fits.judging import NONE, Judged, Limit, judged, limit_of
from tallstack.geometry.fits.part import Figures, Lacking, Part
from tallstack.geometry.fits.spigot import Relief

from . import contradicted
from .file import JobFile

OF_CYLINDER: tuple[tuple[str, Part], ...] = (
    ("DISPLACEMENT", volume.displacement),
    ("DECK AND SQUISH", volume.squish),
    ("SQUISH AT SPEED", volume.squish_at_speed),
    ("COMPRESSION", volume.compression),
    ("CONNECTING ROD'S SWING", skirt.swing),
    ("SKIRT TO CONNECTING ROD", skirt.skirt_to_beam),
    ("SKIRT TO COUNTERWEIGHT", skirt.skirt_to_counterweight),
    ("CONNECTING ROD TO SPIGOT", skirt.beam_to_spigot),
    ("CONNECTING ROD TO CASE MOUTH", skirt.beam_to_mouth),
    ("SKIRT AND OIL RING BELOW THE SPIGOT", skirt.hanging),
    ("STUDS", studs.engagement),
    ("BASE GASKET", studs.base_gasket),
    ("HEAD GASKET", studs.head_gasket),
)


class Answered(NamedTuple):
    """One part, for one cylinder or valve gear."""

    title: str
    subject: str  # its name
    found: Mapping[str, Judged] | Lacking


class Crossing(NamedTuple):
    """Everything that pistons, spigots and connecting rods do across the cylinders."""

    across: tuple[across.Across, ...]
    reliefs: dict[tuple[str, str], Relief | None]  # piston and spigot → the relief for the wanted clearance
    pistons: tuple[across.Pistons, ...]
    drop_on: tuple[drop_on.DropOn, ...]
    limit: Limit
    room: float  # mm, wanted while a cylinder is lowered
    lacks: tuple[Lacking, ...]
    sure: dict[tuple[str, str, str], Judged]  # kind of gap, whose part, other cylinder → how sure it is
    spigots: tuple[
        tuple[str, str], ...
    ] = ()  # pairs of cylinders whose spigots are not held against each other

    def unseen(self, one: str, other: str) -> bool:
        """Say whether the spigots of two cylinders are not looked at."""
        return (one, other) in self.spigots or (other, one) in self.spigots


class Fits(NamedTuple):
    """Every fit of a job."""

    cylinders: tuple[Answered, ...]
    trains: tuple[Answered, ...]
    crossing: Crossing


def fits(job: JobFile, tables: Callable[[], Tables]) -> Fits:
    """Return every fit of a job as its readings leave it; tables : those it names, opened where a fit rests on one."""
    mapping, doubts = job.mapping, job.doubts
    quantities = {name: _of(job, name) for name in job.names["cylinders"]}
    why = contradicted.told(job)

    def sure(
        part: Part, name: str, own: Quantities, more: Mapping[str, Doubt] = NONE
    ) -> dict[str, Judged] | Lacking:
        found = judged(mapping, part, name, own, doubts, more)
        return found if isinstance(found, Lacking) else contradicted.of_figures(why, name, found)

    cylinders = [
        Answered(title, name, sure(part, name, quantities[name]))
        for title, part in OF_CYLINDER
        for name in job.names["cylinders"]
    ]
    gears = known_gears(job, tables)
    trains = [
        Answered(title, name, sure(part, name, quantities[name.rpartition(".")[0]], beside(job, gears, name)))
        for title, part in of_trains(job, tables)
        for name in job.names["trains"]
    ]
    return Fits(tuple(cylinders), tuple(trains), crossing_of(job))


def crossing_of(job: JobFile) -> Crossing:
    """Return everything across the cylinders; nothing where there is but one, or nothing was measured."""
    mapping = job.mapping
    limit = limit_of(mapping, "across")
    assert limit is not None
    room = Reader(mapping, ("targets.",)).find("lowering")
    wanted = 0.0 if room is None else float(room)
    couples = across.pairs(mapping)
    if not couples or not any(".spigot." in path for path in mapping):
        return Crossing((), {}, (), (), limit, wanted, (), {})
    movers = {name: across.mover(mapping, name) for name in names(mapping, "cylinders")}
    with_rods = {name: across.mover(mapping, name, with_rod=True) for name in movers}
    stands = {name: across.spigot_of(mapping, name) for name in movers}
    close, reliefs, drops = [], {}, []
    for one, other in couples:
        moving, rod, spigot = movers[one], with_rods[one], stands[other]
        if isinstance(moving, Lacking) or isinstance(spigot, Lacking):
            continue
        turning = None if isinstance(rod, Lacking) else across.conrod_to_spigot(rod, spigot)
        found = across.Across(one, other, across.piston_to_spigot(moving, spigot), turning)
        close.append(found)
        if found.piston.gap < limit.value:
            reliefs[one, other] = across.relief_for(moving, spigot, limit.value)
        if not isinstance(rod, Lacking):
            lowering, own = drop_on.drop_on(rod, spigot, other, wanted), movers[other]
            if not isinstance(own, Lacking):
                lowering = drop_on.with_crown(mapping, lowering, own, spigot)
            drops.append(lowering)
    pistons = []
    for one, other in couples:
        first, second = movers[one], movers[other]
        if one < other and not isinstance(first, Lacking) and not isinstance(second, Lacking):
            pistons.append(across.piston_to_piston(mapping, first, second))
    lacks = [lack for table in (with_rods, stands) for lack in table.values() if isinstance(lack, Lacking)]
    gaps = [*(gap for one in close for gap in _gaps_of(one))]
    gaps += [
        across_doubt.Gap(across_doubt.PISTONS, *one.cylinders, one.gap, one.at, "across") for one in pistons
    ]
    gaps += [
        across_doubt.Gap(across_doubt.LOWERED, one.fitted, one.lowered, one.margin, one.best, "lowering")
        for one in drops
    ]
    judged_gaps = across_doubt.judged_gaps(mapping, gaps, job.quantities, job.doubts)
    why = contradicted.told(job)
    sure = {
        (gap.kind, gap.moving, gap.other): contradicted.with_reasons(one, why(gap.moving, one.slopes))
        for gap, one in zip(gaps, judged_gaps, strict=True)
    }
    spigots = tuple((one, other) for one, other in couples if one < other)  # one not measured is not none
    for (kind, one, other), gap in sure.items():
        if kind == across_doubt.LOWERED and {(one, other), (other, one)} & set(spigots):
            sure[kind, one, other] = gap._replace(verdict=at_best_unproved(gap.verdict))
    return Crossing(
        tuple(close), reliefs, tuple(pistons), tuple(drops), limit, wanted, tuple(lacks), sure, spigots
    )


def _gaps_of(one: across.Across) -> Iterator[across_doubt.Gap]:
    yield across_doubt.Gap(
        across_doubt.PISTON, one.moving, one.spigot, one.piston.gap, one.piston.at, "across"
    )
    if one.conrod is not None:
        yield across_doubt.Gap(
            across_doubt.CONROD, one.moving, one.spigot, one.conrod.gap, one.conrod.at, "across"
        )


def _of(job: JobFile, cylinder: str) -> dict[str, Mapping[str, float]]:
    """Return the quantities that can move a cylinder's fits: all but those of other cylinders alone."""
    others = tuple(f"{name}." for name in job.names["cylinders"] if name != cylinder)
    return {
        name: paths
        for name, paths in job.quantities.items()
        if not all(path.startswith(others) for path in paths)
    }


def of_trains(job: JobFile, tables: Callable[[], Tables]) -> tuple[tuple[str, Part], ...]:
    """Return the parts of a valve gear, its lift as the job's own lobes give it in the engine that is asked for."""
    gears = known_gears(job, tables)

    def of(mapping: Flat, train: str) -> FullLift:
        gear = gears.get(train)
        return FullLift() if gear is None else full_lift(mapping, gear)

    def tube(mapping: Flat, train: str) -> Figures | Lacking:
        return tubes.tube_room(mapping, train, of(mapping, train).lobe_lift)

    def closed(mapping: Flat, train: str) -> Figures | Lacking:
        return springs.seat(mapping, train, of(mapping, train).valve_lift)

    def full(mapping: Flat, train: str) -> Figures | Lacking:
        return springs.at_full_lift(mapping, train, of(mapping, train).valve_lift)

    def coils(mapping: Flat, train: str) -> Figures | Lacking:
        return springs.coil_bind(mapping, train, of(mapping, train).valve_lift)

    def coils_pumped(mapping: Flat, train: str) -> Figures | Lacking:
        return springs.coil_bind_pumped(mapping, train, of(mapping, train))

    def retainer(mapping: Flat, train: str) -> Figures | Lacking:
        return springs.retainer(mapping, train, of(mapping, train).valve_lift)

    def retainer_pumped(mapping: Flat, train: str) -> Figures | Lacking:
        return springs.retainer_pumped(mapping, train, of(mapping, train))

    def leaves(mapping: Flat, train: str) -> Figures | Lacking:
        gear = gears.get(train)
        return springs.leaves_the_cam(mapping, train, None if gear is None else gear.lobe)

    def pressed(mapping: Flat, train: str) -> Figures | Lacking:
        gear = of(mapping, train)
        return column.column(mapping, train, gear.valve_lift, gear.ratio_at_peak, gear.ratio_at_seat)

    def cups(mapping: Flat, train: str) -> Figures | Lacking:
        gear = of(mapping, train)
        return column.cups(mapping, train, gear.valve_lift, gear.ratio_at_peak, gear.ratio_at_seat)

    return (
        ("PUSHROD TUBES", tubes.tube_length),
        ("ROOM IN THE TUBES", tube),
        ("SPRINGS, VALVE CLOSED", closed),
        ("SPRINGS AT FULL LIFT", full),
        ("COIL BIND", coils),
        ("COIL BIND, LIFTERS PUMPED UP", coils_pumped),
        ("RETAINERS", retainer),
        ("RETAINERS, LIFTERS PUMPED UP", retainer_pumped),
        ("VALVE LEAVING THE CAM", leaves),
        ("PUSHROD UNDER LOAD", pressed),
        ("BALLS IN THEIR CUPS", cups),
        ("COLD TO HOT", heat.hot),
    )


def _has_full_lift(job: JobFile) -> bool:
    """Say whether a job says anything of what its valve gears do at full lift."""
    asked = (".tube.", ".spring.", ".retainer_to_seal", ".masses.")
    return any(one in path for path in job.entries for one in asked)


def known_gears(job: JobFile, tables: Callable[[], Tables]) -> dict[str, Known]:
    """Return what is known of every valve gear, where the job says anything of tubes, springs or seals."""
    if not _has_full_lift(job):
        return {}
    cam = Cam(job.mapping, tables())
    engine = build(job.mapping)
    gears = {name: _known(engine.train(name), cam) for name in job.names["trains"]}
    return {name: gear for name, gear in gears.items() if gear is not None}


def _known(train: Train, cam: Cam) -> Known | None:
    try:
        lobe = cam.lobe_of(train.name)
    except GeometryError:
        return None
    return known(train, lobe) if isinstance(lobe, CamLobe) else None


def beside(job: JobFile, gears: Mapping[str, Known], train: str) -> dict[str, Doubt]:
    """Return what moves a valve gear's fits and is no reading of the job: its lobe's noise, and how well it is set."""
    found = {}
    gear, wish = gears.get(train), f"{train}.lifter.preload"
    if gear is not None and gear.lobe.fit is not None:
        off = gear.lobe.lift_doubt(gear.lobe.placed.at + 2 * (gear.lobe.peak[0] - gear.lobe.placed.middle))
        found[noise_of(gear.lobe)] = Doubt(off, 1.0)
    if wish in job.doubts and job.doubts[wish].half_width > 0:
        found[wish] = job.doubts[wish]
    return found
