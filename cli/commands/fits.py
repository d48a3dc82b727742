"""`tallstack fits`: what a taller, longer-stroke stack breaks besides the valve gear."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from tallstack.geometry.cam.cam import CamLobe
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.mapping import Flat, Quantities, Reader, names
from tallstack.geometry.core.verdict import Verdict, at_best_unproved
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.engine.engine import Train, build
from tallstack.geometry.fits import (
    across,
    across_doubt,
    column,
    drop_on,
    heat,
    ports,
    skirt,
    springs,
    studs,
    tubes,
    volume,
)
from tallstack.geometry.fits.full_lift import FullLift, Known, full_lift, known, noise_of
from tallstack.geometry.fits.judging import NONE, Judged, judged, limit_of
from tallstack.geometry.fits.part import Figures, Lacking, Part
from tallstack.geometry.fits.spigot import Spigot

from ..files import OutputRefusedError, ending, free, quoted, write
from ..job import contradicted
from ..job.job import JobFile
from ..job.readings import looked_at
from ..page.across_words import (
    CALLED,
    Crossing,
    across_rows,
    crossing_lines,
    drop_rows,
    never_lowered,
    piston_rows,
)
from ..page.answer import MISSED, OK, UNUSABLE, Answer, assumed_lines, head, head_lines, tail, warning_lines
from ..page.fits_words import LABELS, Answered, is_told, lacking_lines, not_asked_lines, part_lines, row
from ..page.ports_words import face_rows, facing_rows, port_lines
from ..page.verdict_words import Row, summary_lines
from ..page.wording import CAUTION, paragraph
from ..tables.jobtables import with_tables

if TYPE_CHECKING:
    from tallstack.geometry.cam.cam import Cam

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
    ("GASKETS", studs.crush),
)
HAND = (
    "Each of these is computed from what was entered, and none of them says that the engine may be run. Before final "
    "assembly turn it by hand, slowly, twice, with every part in place, and look at each of these places with a "
    "feeler, clay or a lamp."
)


class Found(NamedTuple):
    """Every fit of a job."""

    cylinders: tuple[Answered, ...]
    trains: tuple[Answered, ...]
    moved: tuple[ports.Moved, ...]
    facing: tuple[ports.Facing, ...]
    ports_lack: tuple[Lacking, ...]
    crossing: Crossing


def answer(
    job: JobFile,
    before: JobFile | None = None,
    strict: bool = False,
    plot: Path | None = None,
    force: bool = False,
) -> Answer:
    """Return the fits of a job; before : the job to compare its ports with.

    Raises:
        OutputRefusedError: where a picture is asked for and there is nothing to lower.
    """
    sources = job.files if before is None else (*job.files, *before.files)
    if plot is not None:
        ending(plot)
        free(plot, force, sources)
    job = looked_at(job)
    found = everything(job, before)
    answered = told(job, found, before, strict)
    if answered.status == UNUSABLE:
        return answered
    if plot is not None:
        if not found.crossing.drop_on:
            message = f"{plot}: nothing to draw; lowering a cylinder needs both spigots, pistons and connecting rods"
            raise OutputRefusedError(message)
        from ..drawing.plots.drop import written

        drawn = written(job, _lowerings(job, found.crossing), found.crossing.room, ending(plot))
        write(plot, drawn, force, sources)
        beside = f"{plot}: the room while a cylinder is lowered, at every crank angle"
        return answered._replace(text=f"{answered.text}\n\n{beside}")
    return answered


def told(job: JobFile, found: Found, before: JobFile | None = None, strict: bool = False) -> Answer:
    """Return the fits of a job as an answer; job : as its readings leave it."""
    answers = (*found.cylinders, *found.trains)
    if not found.moved and all(isinstance(one.found, Lacking) or not one.found for one in answers):
        lines = [f"{job.path}: no fit can be worked out yet", *lacking_lines(answers)[2:]]
        return Answer("\n".join([*lines, f"`tallstack check {quoted(job.path)}` says more"]), {}, UNUSABLE)
    ended = _status(job, answers, found.crossing, strict)
    return Answer(_text(job, found, before), _document(job, found, before), ended)


def _lowerings(job: JobFile, found: Crossing) -> list[tuple[drop_on.DropOn, across.Mover, Spigot]]:
    """Return every lowering with the parts it is worked out from."""
    rows = []
    for one in found.drop_on:
        moving, stands = (
            across.mover(job.mapping, one.fitted, with_rod=True),
            across.spigot_of(job.mapping, one.lowered),
        )
        assert isinstance(moving, across.Mover)
        assert isinstance(stands, Spigot)
        rows.append((one, moving, stands))
    return rows


def everything(job: JobFile, before: JobFile | None) -> Found:
    """Return every fit of a job; before : the job to compare its ports with."""
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
    gears = known_gears(job)
    trains = [
        Answered(title, name, sure(part, name, quantities[name.rpartition(".")[0]], beside(job, gears, name)))
        for title, part in of_trains(job)
        for name in job.names["trains"]
    ]
    moved, lacks = ([], []) if before is None else ports.moved(before.mapping, mapping)
    between = ports.facing(moved, mapping)
    return Found(
        tuple(cylinders),
        tuple(trains),
        tuple(moved),
        tuple(between),
        tuple(lacks),
        crossing_of(job),
    )


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
    judged_gaps = across_doubt.judged_gaps(mapping, gaps, job.quantities(), job.doubts)
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
        for name, paths in job.quantities().items()
        if not all(path.startswith(others) for path in paths)
    }


def of_trains(job: JobFile) -> tuple[tuple[str, Part], ...]:
    """Return the parts of a valve gear, its lift as the job's own lobes give it in the engine that is asked for."""
    gears = known_gears(job)

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


def known_gears(job: JobFile) -> dict[str, Known]:
    """Return what is known of every valve gear, where the job says anything of tubes, springs or seals."""
    if not _has_full_lift(job):
        return {}
    from tallstack.geometry.cam.cam import Cam

    cam = Cam(job.mapping, with_tables(job)[1])
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


def _status(job: JobFile, answers: Sequence[Answered], crossing: Crossing, strict: bool) -> int:
    if strict and job.warnings:
        return MISSED
    missed = {Verdict.SHORT, *((Verdict.TIGHT, Verdict.UNPROVED) if strict else ())}
    judged = [
        figure
        for one in answers
        if not isinstance(one.found, Lacking)
        for figure in one.found.values()
        if figure.verdict is not None
    ]
    verdicts = [one.verdict for one in judged]
    verdicts += [one.verdict for (kind, *_), one in crossing.sure.items() if kind != across_doubt.LOWERED]
    verdicts += [Verdict.SHORT for _ in never_lowered(crossing)]
    lacking = job.lacks_of(one.budget for one in judged)
    return MISSED if lacking or any(verdict in missed for verdict in verdicts) else OK


def _rows(found: Found) -> list[Row]:
    """Return every figure as it stands, the cylinders' first; in which order one is lowered misses nothing by itself."""
    figures = [
        (one.subject, LABELS.get(key, key), figure)
        for one in (*found.cylinders, *found.trains)
        if not isinstance(one.found, Lacking)
        for key, figure in one.found.items()
        if is_told(key, one.found)
    ]
    figures += [
        (f"{moving}, {other}", CALLED[kind], figure)
        for (kind, moving, other), figure in found.crossing.sure.items()
        if kind != across_doubt.LOWERED
    ]
    return [_row(*one) for one in figures]


def _row(subject: str, what: str, one: Judged) -> Row:
    is_most = {limit: bool(limit.name) and limit.name == one.figure.most for limit in one.limits}
    most, least = (
        next((limit.value for limit in one.limits if is_most[limit] == way), None) for way in (True, False)
    )
    doubt = one.budget.expanded if one.proved else None
    return Row(subject, what, one.value, one.figure.unit, doubt, least, most, one.verdict, one.look_again)


def _text(job: JobFile, found: Found, before: JobFile | None) -> str:
    answers = (*found.cylinders, *found.trains)
    lines = [*head_lines("FITS", job), *summary_lines(job, _rows(found), never_lowered(found.crossing))]
    lines += [*warning_lines(job, before), *part_lines(job, answers)]
    lines += crossing_lines(job, found.crossing)
    lines += port_lines(job, found.moved, found.facing, found.ports_lack, before)
    lines += lacking_lines(answers)
    lines += not_asked_lines(job.mapping, answers, bool(found.crossing.drop_on))
    lines += assumed_lines(job.assumed, job.units)
    return "\n".join([*lines, "", paragraph(HAND), "", paragraph(CAUTION)])


def _document(job: JobFile, found: Found, before: JobFile | None) -> dict[str, Any]:
    swept = [
        one.found["displacement"].value
        for one in found.cylinders
        if not isinstance(one.found, Lacking) and "displacement" in one.found
    ]
    whole = sum(swept) if len(swept) == len(job.names["cylinders"]) else None
    return {
        **head("fits", job),
        "displacement_cc": whole,
        "cylinders": [{"cylinder": name, **row(found.cylinders, name)} for name in job.names["cylinders"]],
        "trains": [{"train": name, **row(found.trains, name)} for name in job.names["trains"]],
        "across": across_rows(found.crossing),
        "pistons": piston_rows(found.crossing),
        "drop_on": drop_rows(found.crossing),
        "faces": face_rows(found.moved),
        "facing": facing_rows(found.facing),
        **tail(job, job.assumed, before),
    }
