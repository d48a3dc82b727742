"""What is drawn: one valve gear and the stack it stands on, with every entry's value and letter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from tallstack.geometry.core.frames import Array, point, unit
from tallstack.geometry.core.mapping import ANGLES, Flat, Reader
from tallstack.geometry.engine import alternatives
from tallstack.geometry.engine.defaults import STACK, signed
from tallstack.geometry.engine.engine import Train
from tallstack.geometry.gear.train import Closed, closed, cup_at, turn_at_gap

from ..job.entries.fields import INCH
from ..job.entries.letters import REQUIRED, Lettered, Measures, lettered
from ..page.wording import number, steady
from .lines import OTHER, Dimension, Point, Way

UP = point(0.0, 0.0, 1.0)


class Shown(NamedTuple):
    """A value in words."""

    words: str  # a length in the job's unit, bare
    other: str = ""  # in the other unit, of a length


NOTHING = Shown("")


@dataclass(frozen=True, slots=True)
class Entered:
    """One cylinder, as entered; lengths in mm, angles in rad."""

    cylinder: str
    mapping: Flat
    written: frozenset[str]  # paths of the entries that were entered, not assumed
    units: str  # "mm" or "in"
    crown: tuple[Point, ...]  # the crown cut along x, heights over the crown plane, mm; empty: not known

    @property
    def reader(self) -> Reader:
        """A reader of the cylinder's own entries, then of the engine's."""
        return Reader(self.mapping, (f"{self.cylinder}.", ""))

    def number(self, entry: str) -> float | None:
        """Return an entry's value, assumed ones included, or None."""
        found = self.reader.find(entry)
        return None if found is None else float(found)

    def value(self, entry: str) -> Shown:
        """Return an entry's value in words, nothing where it has none."""
        if entry == "rocker.direction":
            return Shown(_direction(self.reader))
        found = self.number(entry)
        if found is None:
            return NOTHING
        if lettered()[entry].measures is Measures.LENGTH:
            return Shown(as_typed(found, self.units), number(found, OTHER[self.units]))
        return in_words(lettered()[entry].measures, found, self.units)

    def lettered(self) -> tuple[tuple[Lettered, Shown], ...]:
        """Return every entry of the table that was entered, with its value in words."""
        rows = ((one, self.value(one.entry)) for one in lettered().values() if self.was_entered(one.entry))
        return tuple((one, value) for one, value in rows if value.words)

    def was_entered(self, entry: str) -> bool:
        """Say whether an entry was entered, and not assumed."""
        parts = (".x", f".{ANGLES[0]}") if entry == "rocker.direction" else ("",)
        return any(self.reader.path(entry + part) in self.written for part in parts)

    def dimension(
        self,
        entry: str,
        way: Way,
        start: Point,
        end: Point,
        side: float = 1.0,
        offset: float = 0.0,
        apex: Point = (0.0, 0.0),
        inside: float | None = None,
        worked_out: float | None = None,
        blank: bool = False,
    ) -> tuple[Dimension, ...]:
        """Return an entry's dimension; none where it has no value.

        worked_out : what it amounts to where another entry says it, mm or rad
        blank : shown as not entered where it has no value
        """
        row, value = lettered()[entry], self.value(entry)
        remark = "assumed" if value.words and not self.was_entered(entry) else ""
        if not value.words and worked_out is not None:
            value, remark = in_words(row.measures, worked_out, self.units), "worked out"
        if not value.words and not blank:
            return ()
        return (Dimension(row.letter, entry, *value, way, start, end, side, offset, apex, inside, remark),)


@dataclass(frozen=True, slots=True)
class Subject(Entered):
    """One valve gear with its stack, as entered."""

    train: Train
    obstacles: tuple[str, ...]  # why its coordinates cannot be assembled; empty: they can
    required_convention: str  # the one it is ordered in
    required_value: Shown  # that length; nothing where it is not known
    required_remark: str  # what has to be said beside it
    lobe_lifts: Array | None  # the lifter's, at `lobe.angles`, mm; None: not known

    @property
    def reader(self) -> Reader:
        """A reader of the valve gear's own entries, then of its cylinder's, then of the engine's."""
        return Reader(self.mapping, (f"{self.train.name}.", f"{self.cylinder}.", ""))

    def value(self, entry: str) -> Shown:
        """Return an entry's value in words, nothing where it has none; of the pushrod, what is required."""
        return self.required_value if entry == REQUIRED else Entered.value(self, entry)

    def lettered(self) -> tuple[tuple[Lettered, Shown], ...]:
        """Return every entry of the table that was entered, with its value in words, and the pushrod."""
        rows = ((one, NOTHING if one.on_cylinder else self.value(one.entry)) for one in lettered().values())
        return tuple(
            (one, value)
            for one, value in rows
            if value.words and (one.entry == REQUIRED or self.was_entered(one.entry))
        )


@dataclass(frozen=True, slots=True)
class Heights:
    """The faces that points are counted from, mm above the crank centre or, without it, the case deck."""

    case_deck: float  # as it was when points were measured
    case_face: float  # as it is
    gasket_face: float  # the head's, as it was when points were measured
    head_face: float  # as it is
    cylinder_foot: float
    cylinder_top: float
    from_crank: bool  # whether the crank centre's place is known


@dataclass(frozen=True, slots=True)
class Gear:
    """Where the parts of one valve gear stand, valve closed, in the cylinder frame; mm."""

    heights: Heights
    seat_measured: Array
    seat: Array  # now: lifter and base circle as they are
    ball: Array  # the pushrod's lower ball, plunger where it is to be
    lift_axis: Array
    shaft: Array
    axis: Array
    valve_foot: Array  # of the valve arm, on the shaft's axis
    cup_foot: Array  # of the pushrod arm, on the shaft's axis
    contact_centre: Array | None  # None: the parts cannot be assembled
    contact: Array | None  # on the stem tip
    cup: Array | None  # the cup's ball centre
    ball_high: Array | None  # the pushrod's upper ball, its length from the lower one
    opening: Array | None  # the way the contact centre goes when the valve opens
    face_measured: Array
    face: Array
    tip: Array
    stem: Array


def in_words(measures: Measures, value: float, units: str) -> Shown:
    """Return a value in mm, rad or plain in words; a length bare, in the job's unit and in the other."""
    if measures is Measures.LENGTH:
        return Shown(number(value, units), number(value, OTHER[units]))
    shown = math.degrees(value) if measures is Measures.ANGLE else value
    text = f"{shown:.3f}".rstrip("0").rstrip(".")
    return Shown(("0" if text == "-0" else text) + (" deg" if measures is Measures.ANGLE else ""))


def as_typed(value: float, unit: str) -> str:
    """Return a length in mm as a number in a unit, with a digit more than usual where it was typed with one: 5/16 in."""
    told, scale = number(value, unit), 1.0 if unit == "mm" else INCH
    finer = f"{steady(value / scale):.{len(told.partition('.')[2]) + 1}f}"
    return finer if not finer.endswith("0") and abs(float(finer) * scale - value) < 1e-9 else told


def _direction(reader: Reader) -> str:
    if reader.has(f"rocker.direction.{ANGLES[0]}") and not reader.has("rocker.direction.x"):
        angles = [float(reader.number(f"rocker.direction.{one}")) for one in ANGLES]
        around, up = (in_words(Measures.ANGLE, one, "mm").words for one in angles)
        return f"{around} around, {up} up"
    parts = [reader.find(f"rocker.direction.{axis}") for axis in "xyz"]
    known = [float(one) for one in parts if one is not None]
    if len(known) == 2:
        return ", ".join(in_words(Measures.ANGLE, one, "mm").words for one in known)
    return ", ".join(in_words(Measures.NUMBER, one, "mm").words for one in known)


def heights(subject: Entered) -> Heights | None:
    """Return the heights of the faces; None where the cylinder's height was not entered."""
    reader = subject.reader
    if reader.find("stack.cylinder") is None:
        return None
    deck = alternatives.case_deck(Reader(subject.mapping, (f"{subject.cylinder}.", "")))
    from_crank = bool(np.isfinite(deck))
    parts = {one: 0.0 if (found := reader.find(f"stack.{one}")) is None else float(found) for one in STACK}
    case_deck = float(deck) if from_crank else 0.0
    gasket_face = case_deck + sum(signed(one) * size for one, size in parts.items())
    case_face = case_deck - parts["case_cut"]
    foot = case_face + parts["base_gasket"]
    return Heights(
        case_deck=case_deck,
        case_face=case_face,
        gasket_face=gasket_face,
        head_face=gasket_face + parts["head_cut"],
        cylinder_foot=foot,
        cylinder_top=foot + parts["cylinder"],
        from_crank=from_crank,
    )


def gear(subject: Subject) -> Gear | None:
    """Return where the parts stand, or None where the coordinates are not complete."""
    drawn, faces = subject.train.drawn, heights(subject)
    if drawn is None or faces is None:
        return None
    reader = subject.reader
    pose = None if subject.obstacles else closed(drawn)
    down = subject.train.lifter.down
    ball = drawn.seat if down is None else drawn.seat - down[..., None] * drawn.lift_axis
    centre = None if pose is None else drawn.shaft + drawn.valve_station * drawn.axis
    if centre is not None and pose is not None:
        centre = centre + drawn.valve_arm * pose.valve_dir
    face_measured = reader.point("valve.face") + faces.gasket_face * UP
    return Gear(
        heights=faces,
        seat_measured=reader.point("lifter.seat") + faces.case_deck * UP,
        seat=drawn.seat,
        ball=ball,
        lift_axis=drawn.lift_axis,
        shaft=drawn.shaft,
        axis=drawn.axis,
        valve_foot=drawn.shaft + drawn.valve_station * drawn.axis,
        cup_foot=drawn.shaft + drawn.pushrod_station * drawn.axis,
        contact_centre=centre,
        contact=None if centre is None else centre - drawn.tip_radius * drawn.stem,
        cup=None if pose is None else pose.cup,
        ball_high=None if pose is None else _ball_high(subject.train, pose, ball),
        opening=None if pose is None else pose.valve_moves,
        face_measured=face_measured,
        face=face_measured + reader.number("valve.sink") * drawn.stem,
        tip=drawn.tip,
        stem=drawn.stem,
    )


def _ball_high(train: Train, pose: Closed, ball: Array) -> Array:
    """Return the pushrod's upper ball: in the cup, or short of it by the lash at the pushrod."""
    drawn, lifter = train.drawn, train.lifter
    assert drawn is not None
    if lifter.kind != "solid" or lifter.lash is None:
        return pose.cup
    if lifter.lash_at == "pushrod":
        return pose.cup - lifter.lash * unit(pose.cup - ball)
    cosine, sine, _ = turn_at_gap(drawn, pose, lifter.lash)
    return cup_at(drawn, pose, cosine, sine)
