"""The frozen description of one engine, or of a million, built from the flat mapping.

`build` is the one way in: whatever varies an engine changes the mapping and builds again. A valve
gear is `Drawn` where its coordinates are complete, `Measured` where a pushrod was read, or both;
what is absent is None, and `lacks` names the entries each route still needs.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, combined_lean, point
from ..core.lengths import End, Ends
from ..core.mapping import Flat, Reader, names
from ..core.targets import PUMPED, SHARE
from ..gear.adjusters import Adjuster
from ..gear.bench import Measured
from ..gear.lifter import HOT_GAIN, HOT_LACKS, Lifter
from ..gear.train import Drawn
from . import alternatives
from .before import STEM, not_said, was_read_before
from .defaults import PART_ENTRIES, STACK, Assumed, completed, has_coordinates, signed

COORDINATES = "coordinates"
MEASURED = "measured pushrod"


class Cylinder(NamedTuple):
    """One cylinder: its name and lean."""

    name: str
    lean: Array | None  # rad, positive forward


class Assembly(NamedTuple):
    """How a pushrod is put in; mm, None where not entered."""

    box_on: bool  # the rocker stands on its shaft meanwhile
    cup: Array | None  # depth of the deeper of the cups that were read, the ball is lifted over its lip
    opened: Array | None  # how far the valve is pushed open meanwhile
    ratio: Array | None  # valve's lift over the lifter's there
    backed_out: Array  # how much shorter the rocker's adjuster is turned
    lacks: tuple[str, ...]  # entries


class Train(NamedTuple):
    """One valve gear with every route that leads to its pushrod."""

    name: str  # "front.intake"
    cylinder: str
    port: str
    lifter: Lifter
    ends: Ends  # of the pushrod to be ordered
    ratio: Array | None  # valve arm over pushrod arm
    drawn: Drawn | None
    measured: Measured | None
    adjuster: Adjuster | None  # None where there is none, or none was entered
    lacks: dict[str, tuple[str, ...]]  # route → entries it still needs
    assembly: Assembly | None = None  # None: nobody asked how its pushrod goes in


class Engine(NamedTuple):
    """One engine, or a batch of them with leading axes that broadcast."""

    cylinders: tuple[Cylinder, ...]
    trains: tuple[Train, ...]
    assumed: tuple[Assumed, ...]  # what was not entered and is taken for it

    def train(self, name: str) -> Train:
        """Return the valve gear of that name.

        Raises:
            KeyError: where there is none.
            TypeError: for what is no text.
        """
        if not isinstance(name, str):
            message = f"name={name!r}: give the name of a valve gear as a text"
            raise TypeError(message)
        found = next((train for train in self.trains if train.name == name), None)
        if found is None:
            message = f"{name}: no such valve gear; there are {', '.join(train.name for train in self.trains) or 'none'}"
            raise KeyError(message)
        return found


def build(mapping: Flat) -> Engine:
    """Return the engine that a flat mapping describes; see `mapping` for keys and units.

    Pure: the same mapping gives the same engine. Absent parts become None; an alternative entry
    that is impossible, such as a span longer than its arms, raises UnreachableError.
    """
    full, assumed = completed(mapping)
    cylinders = tuple(
        Cylinder(name, Reader(full, (f"{name}.",)).find("lean")) for name in names(full, "cylinders")
    )
    trains = tuple(_train(full, name) for name in names(full, "trains"))
    return Engine(cylinders, trains, tuple(assumed))


def train_of(mapping: Flat, name: str) -> Train:
    """Return one valve gear of the engine that a mapping describes, the others left unbuilt; see `build`.

    Raises:
        KeyError: where there is none of that name.
    """
    full, _ = completed(mapping)
    if name not in names(full, "trains"):
        raise KeyError(name)
    return _train(full, name)


def trains_under(mapping: Flat, cylinder: str) -> list[Train]:
    """Return the valve gears of one cylinder of the engine that a mapping describes, the others left unbuilt; see `build`."""
    full, _ = completed(mapping)
    return [_train(full, name) for name in names(full, "trains") if name.rpartition(".")[0] == cylinder]


def _train(mapping: Flat, name: str) -> Train:
    cylinder, _, port = name.rpartition(".")
    reader = Reader(mapping, (f"{name}.",))
    holder, job = Reader(mapping, (f"{cylinder}.", "")), Reader(mapping, ("",))
    preload = reader.find("lifter.preload")
    lacks: dict[str, tuple[str, ...]] = {}
    drawn, missing = _drawn(reader, holder)
    if missing:
        lacks[COORDINATES] = missing
    measured, missing = _measured(reader, holder)
    if missing:
        lacks[MEASURED] = missing
    return Train(
        name=name,
        cylinder=cylinder,
        port=port,
        lifter=Lifter(
            kind=reader.word("lifter.kind"),
            preload=preload,
            plunger_travel=reader.find("lifter.plunger_travel"),
            lash=reader.find("lifter.lash"),
            lash_at=reader.word("lifter.lash_at", "valve"),
            pumped_rise=_pumped_rise(job, preload),
            pumped_share=job.find(f"{PUMPED.path}.{SHARE}"),
            hot_gain=reader.find(HOT_GAIN),
            hot_lacks=names(mapping, f"{name}.{HOT_LACKS}"),
        ),
        ends=_ends(Reader(mapping, (f"{name}.pushrod.",))),
        ratio=alternatives.ratio(reader),
        drawn=drawn,
        measured=measured,
        adjuster=_adjuster(reader),
        lacks=lacks,
        assembly=_assembly(reader),
    )


def _assembly(train: Reader) -> Assembly | None:
    """Return how a pushrod is put in; None where neither a cup's depth nor anything else of it was entered."""
    ends = [f"pushrod.cup_depth_{end}" for end in ("low", "high")]
    if not train.has("assembly") and not any(train.has(one) for one in ends):
        return None
    depths = [train.find(one) for one in ends]
    lacks = [train.path(one) for one, depth in zip(ends, depths, strict=True) if depth is None]
    opened, ratio = train.find("assembly.valve_opened"), train.find("rocker.ratio_at_seat")
    ratio = alternatives.ratio(train) if ratio is None else ratio
    if opened is not None and ratio is None:
        lacks.append(train.path("rocker.ratio"))
    back = train.find("assembly.adjuster_back")
    known = [depth for depth in depths if depth is not None]
    return Assembly(
        box_on=train.word("assembly.rocker_box", "on") != "off",
        cup=np.maximum(known[0], known[-1]) if known else None,
        opened=opened,
        ratio=ratio,
        backed_out=array(0.0) if back is None else back,
        lacks=tuple(lacks),
    )


def _pumped_rise(job: Reader, preload: Array | None) -> Array | None:
    """Return how far a pumped-up plunger may rise before it counts [mm]; None: all of its preload."""
    share = job.find(f"{PUMPED.path}.{SHARE}")
    return job.find(PUMPED.path) if share is None or preload is None else share * preload


def _drawn(train: Reader, cylinder: Reader) -> tuple[Drawn | None, tuple[str, ...]]:
    """Return the coordinates of a valve gear, or None and the entries that are missing."""
    if not has_coordinates(train):
        return None, ()
    case_deck = alternatives.case_deck(cylinder)
    head_face = case_deck + alternatives.stack_height(cylinder)
    lift_axis, stem = train.lean("lifter.lean"), train.lean("valve.lean")
    seat = train.point("lifter.seat") - train.number("lifter.lowered")[..., None] * lift_axis
    height = alternatives.valve_length(train) + train.number("valve.sink")
    drawn = Drawn(
        seat=seat + point(0.0, 0.0, case_deck),
        lift_axis=lift_axis,
        shaft=train.point("rocker.shaft") + point(0.0, 0.0, head_face),
        axis=train.direction("rocker.direction"),
        valve_arm=alternatives.valve_arm(train),
        pushrod_arm=alternatives.pushrod_arm(train),
        arm_angle=alternatives.arm_angle(train),
        valve_station=train.number("rocker.valve_station"),
        pushrod_station=alternatives.pushrod_station(train),
        tip_radius=train.number("rocker.tip_radius"),
        tip=train.point("valve.face") + height[..., None] * stem + point(0.0, 0.0, head_face),
        stem=stem,
    )
    missing = tuple(cylinder.missing + train.missing)
    return (None, missing) if missing else (drawn, ())


def _measured(train: Reader, cylinder: Reader) -> tuple[Measured | None, tuple[str, ...]]:
    """Return the measured pushrod of a valve gear, or None and the entries that are missing."""
    if not train.has("measured_pushrod"):
        needs = ("length", "as") if train.word("lifter.kind") == "solid" else ("length", "as", "plunger")
        return None, tuple(f"{train.prefixes[0]}measured_pushrod.{one}" for one in needs)
    reader = Reader(train.mapping, train.prefixes)
    stack = Reader(train.mapping, cylinder.prefixes)
    length = alternatives.rod_length(reader)
    convention = reader.word("measured_pushrod.as")
    if not convention:
        reader.lack("measured_pushrod.as")
    plunger = _plunger_then(reader)
    growth = array(0.0)
    for part in STACK:
        before = reader.find(f"measured_pushrod.stack.{part}")
        if before is not None:
            growth = growth + signed(part) * (stack.number(f"stack.{part}") - before)
    in_two_views = reader.has("measured_pushrod.lean.x")
    if in_two_views:
        views = [reader.number(f"measured_pushrod.lean.{axis}") for axis in "xy"]
        lean = combined_lean(views[0], views[1])
    else:
        lean = reader.number("measured_pushrod.lean")
    sunk, ratio = _since(reader, "valve.sink"), alternatives.ratio(reader)
    if np.any(sunk != 0) and ratio is None:
        reader.lack("rocker.ratio")
    own = f"{train.prefixes[0]}measured_pushrod."
    measured = Measured(
        length=length,
        convention=convention,
        ends=_ends(Reader(train.mapping, (own, f"{train.prefixes[0]}pushrod."))),
        plunger_down=plunger,
        lean=lean,
        growth=growth,
        lowered=_since(reader, "lifter.lowered"),
        sunk=sunk,
        ratio=ratio,
        rod_direction=reader.lean("measured_pushrod.lean") if in_two_views else None,
        lifter_direction=reader.lean("lifter.lean") if reader.has("lifter.lean.x") else None,
    )
    unsaid = not_said(train.mapping, train.prefixes[0][:-1], "measured_pushrod", PART_ENTRIES, ())
    missing = (*unsaid, *stack.missing, *reader.missing)
    return (None, missing) if missing else (measured, ())


def _adjuster(train: Reader) -> Adjuster | None:
    kind = train.word("rocker.adjuster.kind", "none")
    if kind == "none":
        return None
    has_axis = train.has("rocker.adjuster.axis.x")
    return Adjuster(
        kind=kind,
        pitch=alternatives.pitch(train, "rocker.adjuster"),
        flats=train.find("rocker.adjuster.flats"),
        axis=train.lean("rocker.adjuster.axis") if has_axis else None,
        eccentricity=train.find("rocker.adjuster.eccentricity"),
        eccentric_at=train.find("rocker.adjuster.eccentric_at"),
        turns_in=train.find("rocker.adjuster.turns_in"),
        turns_out=train.find("rocker.adjuster.turns_out"),
    )


def _plunger_then(train: Reader) -> Array:
    """Return how far the plunger was down when the pushrod was measured [mm]."""
    down = train.find("measured_pushrod.plunger.down")
    if down is not None:
        return down
    place = train.word("measured_pushrod.plunger")
    if place == "bottomed":
        if was_read_before(train, "measured_pushrod"):  # of the lifter that stood there
            then = Reader(train.mapping, (f"{STEM}{train.prefixes[0]}",))
            travel = then.number("lifter.plunger_travel")
            train.missing += then.missing
            return travel
        return train.number("lifter.plunger_travel")
    if not place and train.word("lifter.kind") != "solid":
        train.lack("measured_pushrod.plunger")
    return array(0.0)


def _since(train: Reader, entry: str) -> Array:
    """Return how much an entry has grown since the pushrod was measured [mm]."""
    now, before = train.find(entry), train.find(f"measured_pushrod.{entry}")
    if now is None:
        return array(0.0)
    return array(0.0) if before is None else now - before


def _ends(pushrod: Reader) -> Ends:
    def end(side: str) -> End:
        return End(
            kind=pushrod.word(f"end_{side}", "ball"),
            ball_diameter=pushrod.find(f"ball_diameter_{side}"),
            hole=pushrod.find(f"hole_{side}"),
            rim=pushrod.find("cup_rim"),
        )

    return Ends(low=end("low"), high=end("high"), gauge=pushrod.find("gauge"))
