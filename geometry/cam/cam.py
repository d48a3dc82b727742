"""The lobe that moves a valve gear, in its place on the crank.

Read from the job's table, timing card or motion law. Crank angles count from the cylinder's own overlap top
centre; `centreline` stands after it for an intake and before it for an exhaust, and `cam.advance` makes both
earlier. A card given at the valve is brought to the lifter by its ratio and lash; readings of the valve's
lift stay the lift of the valve itself, less the lash they were read with (`valve_lift`).

Lifts read at the valve are less than the lobe's by the lash they were read with: they run as read, more by that and
less by the lash of today. Not entered, a solid lifter's is not known, and nothing that rests on it is proved; a
hydraulic lifter's is taken as none, and shown as assumed. Where lifter and valve were dialled at once the lobe
behind the readings is known, and what asks for the lobe has it: its middle, its heel, its acceleration. The valve's
lift is never led through the lobe and back.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader, within
from ..crank.events import event_opening
from ..crank.heels import TURN
from ..gear.at_valve import AtValve, behind
from .lobe import CENTRE_LIFT_MM, Lobe, Placed

if TYPE_CHECKING:
    from ..piston.table import Heights
    from .card import AtAngle, Card, Stated
    from .fit import Fit
    from .follower import Carried
    from .readings import Readings
    from .shape import CardShape

TABLE, CARD, LAW = "table", "card", "law"
SAME_LIFT_MM = 1e-6  # events and a duration at one check lift say one thing
ANGLE_OF = {
    "lift": "angle",
    "opening": "opens",
    "closing": "closes",
}  # table of a card → its entry for the crank angle
LIFT_DOUBT_MM = 0.0254  # 0.001 in, standard: a lift at an angle is read to 0.002 in
EVENT_DOUBT = float(np.radians(0.125))  # cam rad, standard: an event is read to half a degree of crank


class Tables(NamedTuple):
    """What was read into tables of its own, beside the job."""

    lobes: Mapping[str, Readings] = MappingProxyType({})  # lobe → its readings, where it has some
    crowns: Mapping[str, Heights] = MappingProxyType({})  # entry that names a crown's heights → its surface


class CamLobe(NamedTuple):
    """One lobe as it moves one valve gear."""

    name: str
    source: str  # TABLE, CARD or LAW
    placed: Placed
    peak: tuple[float, float]  # cam rad and mm, where the lift is greatest
    at_valve: bool  # the lifts are the valve's own, not the lifter's
    fit: Fit | None  # of readings: their noise, and how far it carries
    lash: float | None = (
        None  # mm at the valve, while a table was read there; None: not entered, or not read there
    )
    lash_entry: str = ""  # of lifts at the valve, the entry that says with what lash they were read
    bled: float = 0.0  # mm of slack at the valve after a hydraulic lifter was read there
    gear: AtValve | None = None  # what leads from a table read at the valve to the lobe, where that is known
    carried: Carried | None = None  # from another follower, where a table was read with one
    card: CardShape | None = None  # of a card: what it leaves open
    gives_back: tuple[float, float] | None = (
        None  # what a bent valve gear took from lifts read at the valve and may give back: mm, and mm for each of lift
    )

    def lift_doubt(self, crank: float) -> float:
        """Return the standard uncertainty of the lift at a crank angle, from the readings' noise and bleeding [mm]."""
        if self.fit is None:
            return 0.0
        from .read import carried_doubt

        noise = float(carried_doubt(self.fit, self.carried, self.placed.cam(array([crank])))[0])
        return float(np.hypot(noise, self.bled / 2 / np.sqrt(3.0)))


class Cam:
    """Every lobe of one engine, each worked out once.

    tables : what was read beside the job, also for what stands under the cam's valves
    """

    def __init__(self, mapping: Flat, tables: Tables) -> None:
        self.job = Reader(mapping, ("",))
        self.tables = tables
        self._peaks: dict[tuple[str, str], tuple[float, float]] = {}

    def lobe_of(self, train: str) -> CamLobe | tuple[str, ...]:
        """Return the lobe of a valve gear, or the entries it lacks.

        A card or a table that contradicts itself raises GeometryError, in words.
        """
        port = train.rpartition(".")[2]
        name = Reader(self.job.mapping, (f"{train}.",)).word("lobe", port)
        source = self.source(name)
        if not source:
            return (f"lobe.{name}",)
        at_valve = self.job.word(f"lobe.{name}.measured_at") == "valve"
        if source == TABLE:
            return self._from_table(name, train, at_valve)
        if source == LAW:
            lacks = self._lacks(name, "law.peak", "law.degrees", "centreline")
            return lacks or self._placed(
                name, source, port, self._law(name), self._number(name, "centreline")
            )
        return self._from_card(name, train, port, at_valve)

    def source(self, name: str) -> str:
        """Return what a lobe is known by, or nothing."""
        if name in self.tables.lobes:
            return TABLE
        return next((way for way in (CARD, LAW) if self.job.has(f"lobe.{name}.{way}")), "")

    @property
    def advance(self) -> float:
        """Crank rad by which the cam stands earlier than its centrelines say."""
        entered = self.job.find("cam.advance")
        return 0.0 if entered is None else float(entered)

    def _number(self, name: str, entry: str) -> float:
        return float(self.job.number(f"lobe.{name}.{entry}"))

    def _lacks(self, name: str, *entries: str) -> tuple[str, ...]:
        paths = (f"lobe.{name}.{entry}" for entry in entries)
        return tuple(path for path in paths if self.job.find(path) is None)

    def _placed(self, name: str, source: str, port: str, lobe: Lobe, centreline: float) -> CamLobe:
        """Return a lobe that is symmetric about cam angle 0, its nose there, in its place."""
        place = Placed(lobe, port, centreline, self.advance, 0.0)
        return CamLobe(name, source, place, (0.0, float(lobe.lift(array(0.0)))), False, None)

    def _law(self, name: str) -> Lobe:
        from .law import law_lobe

        law = self.job.word(f"lobe.{name}.law.name", "cycloidal")
        return law_lobe(law, self._number(name, "law.peak"), self._number(name, "law.degrees"))

    def _from_table(self, name: str, train: str, at_valve: bool) -> CamLobe | tuple[str, ...]:
        from .fit import fit_once
        from .read import Riding, lobe_as_run, riding

        port = train.rpartition(".")[2]
        from_top = self.job.word(f"lobe.{name}.zero") == "top centre"
        if not from_top and (lacks := self._lacks(name, "centreline")):
            return lacks
        followers = None if at_valve else riding(self.job, train, name)
        if followers is not None and not isinstance(followers, Riding):
            return followers
        found = fit_once(self.tables.lobes[name], self.job.mapping)
        try:
            lobe, carried = lobe_as_run(found, followers, self.job.mapping)
        except GeometryError as error:
            message = f"lobe.{name}: {error}"
            raise GeometryError(message) from None
        hydraulic = Reader(self.job.mapping, (f"{train}.",)).word("lifter.kind") == "hydraulic"
        gear = behind(self.job, name, hydraulic) if at_valve else None
        level = CENTRE_LIFT_MM if gear is None else float(gear.valve(array(CENTRE_LIFT_MM)))
        middle = lobe.middle(level)
        if np.isnan(middle):
            message = (
                f"lobe.{name}: its lift never passes {CENTRE_LIFT_MM:g} mm, where a centreline is halved"
            )
            raise GeometryError(message)
        if from_top:
            read_at = 2 * (middle - TURN * round(middle / TURN))
            place = Placed(lobe, "intake", read_at, self.advance, middle)
        else:
            place = Placed(lobe, port, self._number(name, "centreline"), self.advance, middle)
        own = train if followers is not None else ""
        if (name, own) not in self._peaks:
            self._peaks[name, own] = lobe.peak()
        entry = f"lobe.{name}.lash_read" if at_valve else ""
        read = self.job.find(entry) if entry else None
        lash = None if read is None else float(read)
        sunk = self.job.find(f"lobe.{name}.bled") if at_valve else None
        bled = 0.0 if sunk is None else float(sunk)
        return CamLobe(
            name, TABLE, place, self._peaks[name, own], at_valve, found, lash, entry, bled, gear, carried
        )

    def _from_card(self, name: str, train: str, port: str, at_valve: bool) -> CamLobe | tuple[str, ...]:
        from .shape import card_shape, turned_to
        from .shape_entries import shape_entries

        stands = card_of(self.job, name, port)
        if not isinstance(stands, CardStands):
            return stands
        if stands.middle is None:
            return (f"lobe.{name}.centreline",)
        hydraulic = Reader(self.job.mapping, (f"{train}.",)).word("lifter.kind") == "hydraulic"
        shape = card_shape(stands.card._replace(hydraulic=hydraulic), self.job.mapping)
        found = [self.job.find(one) for one in shape_entries(name)]
        if any(one is not None for one in found):  # a check moved it
            shape = turned_to(
                shape, tuple(0.0 if one is None else float(one) for one in found), self.job.mapping
            )
        place = Placed(Lobe(shape), port, stands.middle, self.advance, 0.0)
        entered = self.job.find(f"lobe.{name}.card.lash")
        return CamLobe(
            name,
            CARD,
            place,
            (shape.nose, shape.card.peak),
            False,
            None,
            None if entered is None else float(entered),
            f"lobe.{name}.card.lash" if at_valve else "",
            card=shape,
        )


class CardStands(NamedTuple):
    """A card as its lobe is worked out from it."""

    card: Card  # its lifts at the lifter
    middle: (
        float | None
    )  # crank rad of its centreline, see `Placed`; None: not known, nor are lifts at an angle
    ratio: float  # that lifts at the valve were brought to the lifter by
    lash: float  # mm at the valve
    paths: tuple[tuple[Stated | AtAngle, str], ...]  # of each of its numbers, where it stands in the job


def card_of(job: Reader, name: str, port: str) -> CardStands | tuple[str, ...]:
    """Return a lobe's card, or the entries it lacks.

    Angles stand as the centreline does, the cam neither earlier nor later.
    """
    from .card import AtAngle, Card, Stated

    def value(entry: str) -> float | None:
        found = job.find(f"lobe.{name}.{entry}")
        return None if found is None else float(found)

    at_valve = job.word(f"lobe.{name}.measured_at") == "valve"
    peak, ratio, lash = value("card.peak"), value("card.ratio") if at_valve else 1.0, 0.0
    if at_valve:
        lash = value("card.lash") or 0.0
    rows: list[tuple[Stated, str]] = []
    events = [value(f"card.events.{part}") for part in ("at", "opens", "closes")]
    middle, halved = value("centreline"), CENTRE_LIFT_MM
    if events[0] is not None and events[1] is not None and events[2] is not None:
        found = event_opening(port, events[1], events[2], 0.0)
        rows.append((Stated(events[0], found.closes - found.opens), f"lobe.{name}.card.events.closes"))
        halfway = (found.opens + found.closes) / 2
        middle = halfway if port == "intake" else -halfway
        halved = (events[0] + lash) / (ratio or 1.0)
    by_nose = events[0] is None and job.word(f"lobe.{name}.centreline_by") == "the nose"
    lasts = (f"lobe.{name}.card.duration", f"lobe.{name}.card.seat")
    for path in within(job.mapping, f"lobe.{name}.card."):
        if path.startswith(lasts) and path.endswith(".at"):
            row = path.removesuffix(".at").removeprefix(f"lobe.{name}.")
            lift, degrees = value(f"{row}.at"), value(f"{row}.degrees")
            if lift is None or degrees is None:
                continue
            # Of one lift said twice, the events count.
            if not any(abs(lift - one.lift) < SAME_LIFT_MM for one, _ in rows):
                rows.append((Stated(lift, degrees), f"lobe.{name}.{row}.degrees"))
    lacks: tuple[str, ...] = () if peak is not None else (f"lobe.{name}.card.peak",)
    lacks += () if middle is not None else (f"lobe.{name}.centreline",)
    lacks += () if ratio is not None else (f"lobe.{name}.card.ratio",)
    if not rows and not lacks:
        lacks = (f"lobe.{name}.card.duration",)
    if peak is None or ratio is None or not rows:
        return lacks

    def at_lifter(lift: float) -> float:
        return (lift + lash) / ratio

    numbers: list[tuple[Stated | AtAngle, str]] = [
        (one._replace(lift=at_lifter(one.lift)), path) for one, path in rows
    ]
    if middle is not None:
        at = middle if port == "intake" else -middle
        for one in read_at_angles(job, name, port):
            doubts = (0.0, EVENT_DOUBT) if one.is_event else (LIFT_DOUBT_MM, 0.0)
            numbers.append((AtAngle(at_lifter(one.lift), (one.crank - at) / 2, *doubts), one.path))
    card = Card(
        at_lifter(peak),
        tuple(one for one, _ in numbers if isinstance(one, Stated)),
        tuple(one for one, _ in numbers if isinstance(one, AtAngle)),
        None if by_nose else halved,
    )
    return CardStands(card, middle, ratio, lash, tuple(numbers))


class ReadAtAngle(NamedTuple):
    """One lift of a card at one crank angle."""

    lift: float  # mm, as it stands on the card
    crank: float  # crank rad after overlap top centre
    is_event: bool  # an angle read at a lift, not a lift at an angle
    path: str  # of its table, or of the lift at top centre


def read_at_angles(job: Reader, name: str, port: str) -> list[ReadAtAngle]:
    """Return what a card says of one flank alone, in the file's order."""
    prefix = f"lobe.{name}.card."
    found = []
    for path in within(job.mapping, prefix):
        table, _, last = path.rpartition(".")
        kind = table.removeprefix(prefix).partition(".")[0]
        if path == f"{prefix}top_centre" and job.find(path) is not None:
            found.append(ReadAtAngle(float(job.number(path)), 0.0, False, path))
        elif kind in ANGLE_OF and last == "at":
            said = f"{table}.{ANGLE_OF[kind]}"
            if job.find(path) is None or job.find(said) is None:
                continue
            lift, crank = float(job.number(path)), float(job.number(said))
            if kind == "opening":
                crank = event_opening(port, crank, 0.0, 0.0).opens
            elif kind == "closing":
                crank = event_opening(port, 0.0, crank, 0.0).closes
            found.append(ReadAtAngle(lift, crank, kind != "lift", table))
    return found


def shaped_by(path: str, lobe: CamLobe, train: str) -> bool:
    """Say whether an entry makes the lift of a lobe another one, or has it stand elsewhere, beyond its centreline and lash."""
    prefix = f"lobe.{lobe.name}."
    if lobe.gear is not None and path.startswith((f"{prefix}dialled.", f"{prefix}lash_read")):
        return True  # where its middle is
    if lobe.carried is None:
        return path.startswith((f"{prefix}card.", f"{prefix}law."))
    from .read import shapes

    return shapes(path, lobe.name, train)


def advanced(lobe: CamLobe, further: float) -> CamLobe:
    """Return a lobe with the cam turned earlier by so many crank rad."""
    return lobe._replace(placed=lobe.placed._replace(advance=lobe.placed.advance + further))


def lifted(lobe: CamLobe, crank: Array) -> Array:
    """Return the lift of a lobe at crank angles (...), never below its heel [mm]."""
    return np.maximum(lobe.placed.lift(crank), 0.0)
