"""The user's shelf of pushrods: a CSV table, one kind of pushrod a line.

    label, kind, length, shortest, longest, as, units, ball_diameter, threads_per_inch, pitch_mm,
    flats, diameter, wall, count

A fixed pushrod has a length, an adjustable one shortest and longest, its thread and its flats.
Lengths may carry their unit ("9 5/8 in"); without one they count in the line's `units`.
"""

from __future__ import annotations

from pathlib import Path

from tallstack.geometry.core.lengths import CONVENTIONS
from tallstack.geometry.pushrod.shelf import Rod

from ..job.entries.fields import did_you_mean
from ..job.faults import Fault
from ..job.reading.hints import other_word
from ..job.reading.values import Dimension, Value, ValueFault, echo, read
from .tablefile import Row, fault_at, read_table

COLUMNS = (
    "label",
    "kind",
    "length",
    "shortest",
    "longest",
    "as",
    "units",
    "ball_diameter",
    "threads_per_inch",
    "pitch_mm",
    "flats",
    "diameter",
    "wall",
    "count",
)
NEEDED = ("label", "kind", "as")
KINDS = ("fixed", "adjustable")
MOST_RODS = 500
MOST_FLATS = 24  # of an adjusting nut
SLACK = 0.002  # of a pitch, where both ways to say it are given


def load_shelf(path: Path, units: str) -> tuple[Rod, ...]:
    """Return the pushrods of a shelf; a faulty one raises InputFaultsError with every fault.

    units : "mm" or "in", for lines that do not say theirs
    """
    table = read_table(path, NEEDED, COLUMNS, "a shelf")
    faults: list[Fault] = []
    rods: list[Rod] = []
    seen: dict[str, int] = {}
    for row in table.rows:
        line = _Line(row, units, faults)
        rod = line.rod()
        if rod is None:
            continue
        if rod.label in seen:
            message = (
                f'"{rod.label}" is there twice, first in line {seen[rod.label]}; give each kind its own label'
            )
            faults.append(fault_at(row.line, "label", message))
        seen[rod.label] = row.line
        rods.append(rod)
    if len(rods) > MOST_RODS:
        faults.append(Fault((), "", f"{len(rods)} kinds of pushrod; a shelf has at most {MOST_RODS}"))
    if faults:
        raise table.refused(faults)
    return tuple(rods)


class _Line:
    """One line of a shelf, read cell by cell; what is wrong with it goes to the list of faults."""

    def __init__(self, row: Row, units: str, faults: list[Fault]) -> None:
        self.row = row
        self.faults = faults
        self.before = len(faults)
        said = self.word("units", ("mm", "in"), units)
        self.units = said if said in ("mm", "in") else units

    def rod(self) -> Rod | None:
        """Return the pushrod, or None where anything in the line is wrong."""
        label = self.row.cells.get("label", "")
        if not label:
            self.wrong("label", "no label; give every kind of pushrod one")
        kind = self.word("kind", KINDS, "")
        convention = self.word("as", CONVENTIONS, "")
        shortest, longest = self.lengths(kind)
        pitch = self.pitch(kind)
        flats = self.count("flats", 6, most=MOST_FLATS) if kind == "adjustable" else None
        for column in ("diameter", "wall"):  # nothing is worked out of them, a slip is told all the same
            self.length(column)
        rod = Rod(
            label=label,
            kind=kind,
            shortest=shortest,
            longest=longest,
            convention=convention,
            ball_diameter=self.length("ball_diameter"),
            pitch=pitch,
            flats=flats,
            count=self.count("count", 1, least=0),
        )
        return rod if len(self.faults) == self.before else None

    def lengths(self, kind: str) -> tuple[float, float]:
        """Return shortest and longest; both are the length of a fixed pushrod."""
        wrong = ("shortest", "longest") if kind == "fixed" else ("length",)
        for column in wrong:
            if kind in KINDS and column in self.row.cells:
                right = "has one length" if kind == "fixed" else "has shortest and longest"
                self.wrong(column, f"a{'n' if kind == 'adjustable' else ''} {kind} pushrod {right}")
        if kind != "adjustable":
            length = self.length("length", needed=kind == "fixed")
            return (length or 0.0,) * 2
        ends = [self.length(column, needed=True) for column in ("shortest", "longest")]
        low, high = ends[0] or 0.0, ends[1] or 0.0
        if ends[0] is not None and ends[1] is not None and low >= high:
            self.wrong("longest", f"{high:.2f} mm is not more than the shortest, {low:.2f} mm")
        return low, high

    def pitch(self, kind: str) -> float | None:
        """Return an adjustable pushrod's travel for one turn, mm."""
        pitch, threads = self.number("pitch_mm"), self.number("threads_per_inch")
        if kind == "adjustable" and pitch is None and threads is None:
            if not {"pitch_mm", "threads_per_inch"} & self.row.cells.keys():
                self.wrong("pitch_mm", "an adjustable pushrod needs its thread: pitch_mm or threads_per_inch")
            return None
        if pitch is not None and threads is not None and abs(pitch - 25.4 / threads) > SLACK * pitch:
            message = f"{pitch:g} mm a turn, but {threads:g} threads per inch make {25.4 / threads:.4f} mm"
            self.wrong("pitch_mm", message)
        return pitch if pitch is not None else None if threads is None else 25.4 / threads

    def length(self, column: str, needed: bool = False) -> float | None:
        """Return a length in mm."""
        text = self.row.cells.get(column)
        if text is None:
            if needed:
                self.wrong(column, "missing; without it the pushrod cannot be compared")
            return None
        try:
            value = read(text, Dimension.LENGTH, self.units)
        except ValueFault as fault:
            return self.wrong(column, str(fault))
        assert isinstance(value, Value)
        if not 0 < value.number < 2000:
            hint = "; was it typed in mm?" if value.bare and self.units == "in" and value.number > 0 else ""
            message = (
                f"{text}: reads as {value.number:g} mm and must be greater than 0 and below 2000 mm{hint}"
            )
            return self.wrong(column, message)
        return value.number

    def number(self, column: str) -> float | None:
        """Return a plain number greater than 0."""
        text = self.row.cells.get(column)
        if text is None:
            return None
        try:
            value = read(text, Dimension.NUMBER, self.units)
        except ValueFault as fault:
            return self.wrong(column, str(fault))
        assert isinstance(value, Value)
        return (
            value.number
            if 0 < value.number < 10000
            else self.wrong(column, f"{text}: must be greater than 0")
        )

    def count(self, column: str, default: int, least: int = 1, most: int = 999) -> int:
        """Return a whole number."""
        text = self.row.cells.get(column)
        if text is None:
            return default
        if not text.isascii() or not text.isdigit() or not least <= int(text[:9]) <= most or len(text) > 9:
            self.wrong(column, f'"{echo(text)}": a whole number from {least} to {most} belongs here')
            return default
        return int(text)

    def word(self, column: str, options: tuple[str, ...], default: str) -> str:
        """Return one of a few words."""
        found = self.row.cells.get(column, default)
        if found not in options:
            shown = ", ".join(options)
            if not found:
                self.wrong(column, f"missing; one of {shown} belongs here")
            elif found.isdigit():
                hint = "is there a decimal comma in this line? decimals are written with a point"
                self.wrong(column, f'"{echo(found)}" where one of {shown} belongs; {hint}')
            else:
                hint = other_word(found, options) or did_you_mean(found, options)
                self.wrong(column, f'"{echo(found)}" where one of {shown} belongs{hint}')
        return found

    def wrong(self, column: str, message: str) -> float | None:
        """Note a fault of this line; returns None, what is known of the cell."""
        self.faults.append(fault_at(self.row.line, column, message))
        return None
