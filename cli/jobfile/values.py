"""One value as a person types it: number, fraction, unit and ±.

    98.4   "98.4 mm"   "4.935 in"   "3 15/16 in"   '0.030"'   "30 thou"   "4.935 +/- 0.002 in (1 sigma)"

A bare number is in the file's units (angles: degrees). Everything is read exactly, as fractions,
and becomes a double once, in millimetres, radians, cubic millimetres or plain. What could be read
in two ways is refused: a comma, two units, an improper fraction.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from tallstack.geometry.doubt.budget import Doubt

INCH = Fraction(254, 10)
THOU = INCH / 1000
DEGREE = Fraction(math.pi / 180)
CUBIC_CM = Fraction(1000)
CUBIC_INCH = INCH**3
DENOMINATORS = (2, 4, 8, 16, 32, 64, 128)


class Dimension(Enum):
    """What a value measures: its units, each in mm, rad, mm³ or plain."""

    LENGTH = "length"
    ANGLE = "angle"
    VOLUME = "volume"
    NUMBER = "number"


UNITS: dict[Dimension, dict[str, Fraction]] = {
    Dimension.LENGTH: {
        "mm": Fraction(1),
        "in": INCH,
        "inch": INCH,
        "inches": INCH,
        '"': INCH,
        "thou": THOU,
    },
    Dimension.ANGLE: {"deg": DEGREE, "degree": DEGREE, "degrees": DEGREE, "°": DEGREE},
    Dimension.VOLUME: {"cc": CUBIC_CM, "ml": CUBIC_CM, "cu in": CUBIC_INCH},
    Dimension.NUMBER: {},
}
SHOWN_UNITS = {
    Dimension.LENGTH: 'mm, in, thou or "',
    Dimension.ANGLE: "deg",
    Dimension.VOLUME: "cc, ml or cu in",
    Dimension.NUMBER: "no unit",
}
A = {  # with its article
    Dimension.LENGTH: "a length",
    Dimension.ANGLE: "an angle",
    Dimension.VOLUME: "a volume",
    Dimension.NUMBER: "a plain number",
}
EXAMPLES = {
    Dimension.LENGTH: 'for example 98.4, "98.4 mm" or "3 15/16 in"',
    Dimension.ANGLE: "degrees, for example 27",
    Dimension.VOLUME: 'for example "88.0 cc"',
    Dimension.NUMBER: "for example 20",
}
SAME_SIGN = str.maketrans({"−": "-", "–": "-", "″": '"', "”": '"', "“": '"', "\u00a0": " ", "\u202f": " "})
NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>\d+)\s+)?(?P<over>\d+)\s*/\s*(?P<under>\d+)
      |(?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?))
    \s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)
SIGMAS = re.compile(r"\s*\(\s*(?P<count>\d+(?:\.\d+)?)\s*(?:sigma|σ|s)\s*\)\s*$")
HYPHENED = re.compile(r"\s*(\d+)\s*-\s*(\d+\s*/\s*\d+.*?)\s*$")  # 11-5/32 in
THOUSANDS = re.compile(r"(?<![\d,])[1-9]\d{0,2},\d{3}(?![\d,])")
LONGEST = 60  # characters of one value
SHORTENED = 30  # characters shown of a longer one
LARGEST = 10**12  # of any number: its unit does not matter


class ValueFault(ValueError):
    """What is wrong with a typed value, and what would be right, in words.

    inside : for a row of values, the place and the fault of each that is wrong
    """

    def __init__(self, words: str, inside: tuple[tuple[int, str], ...] = ()) -> None:
        super().__init__(words)
        self.inside = inside


class Typed(float):
    """A number as the file holds it, with how it was typed."""

    typed = ""

    @classmethod
    def of(cls, text: str) -> Typed:
        """Return the number of a text."""
        number = cls(text)
        number.typed = text.replace("_", "")
        return number

    def __repr__(self) -> str:
        """Return the number itself, as any other is written."""
        return float.__repr__(self)


@dataclass(frozen=True, slots=True)
class Value:
    """One value as understood, with how it was typed."""

    number: float  # mm, rad, mm³ or plain
    dimension: Dimension
    typed: str
    doubt: Doubt | None = None
    bare: bool = False  # a number without a unit of its own


@dataclass(frozen=True, slots=True)
class Blank:
    """An entry left open: typed as an empty string."""


def read(raw: object, dimension: Dimension, units: str) -> Value | Blank:
    """Return one value as understood.

    raw   : what the file holds: a number or a string;  units : "mm" or "in", for bare lengths

    Raises:
        ValueFault: in words, with what would be right.
    """
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        message = f"{described(raw)} where {A[dimension]} belongs; write {EXAMPLES[dimension]}"
        raise ValueFault(message)
    if not isinstance(raw, str):
        return _read_number(raw, dimension, units)
    if not raw.strip():
        return Blank()
    try:
        return _read_text(raw, dimension, units)
    except ValueFault:
        from tallstack.cli.jobfile.hints import digits_meant

        meant = digits_meant(echo(raw), dimension is not Dimension.VOLUME)
        if meant is None:
            raise
    message = f'"{echo(raw)}": {meant[0]}; write "{meant[1]}"'
    raise ValueFault(message)


def _read_number(raw: float, dimension: Dimension, units: str) -> Value:
    """Return a number without quotes as understood.

    Raises:
        ValueFault: where it is none that can be measured.
    """
    shown = described(raw)
    if raw != raw:
        message = f"{shown}: not a number that can be measured; write {EXAMPLES[dimension]}"
        raise ValueFault(message)
    if abs(raw) > LARGEST:
        message = f"{shown}: too large for anything in a workshop"
        raise ValueFault(message)
    exact = isinstance(raw, Typed) and len(raw.typed) <= LONGEST and "e" not in raw.typed.lower()
    text = raw.typed if isinstance(raw, Typed) and exact else repr(raw)
    number = Fraction(text) * _scale("", dimension, units, shown)
    return Value(float(number), dimension, shown, bare=True)


def _read_text(raw: str, dimension: Dimension, units: str) -> Value:
    if len(raw) > LONGEST:
        message = f'"{echo(raw)}": longer than a value can be ({LONGEST} characters)'
        raise ValueFault(message)
    raw = echo(raw)
    text = raw.translate(SAME_SIGN).replace("±", "+/-").replace("+-", "+/-")
    stated = SIGMAS.search(text)
    if stated:
        text = text[: stated.start()]
    parts = text.split("+/-")
    if len(parts) > 2:
        message = f'"{raw}": more than one +/-; write one value and one doubt'
        raise ValueFault(message)
    if stated and stated["count"] not in ("1", "2"):
        message = f'"{raw}": a doubt is given as 1 sigma or as 2 sigma'
        raise ValueFault(message)
    if stated and len(parts) == 1:
        message = f'"{raw}": says sigma but gives no +/-; write for example "4.935 +/- 0.002 in (1 sigma)"'
        raise ValueFault(message)
    for part, name in zip(parts, ("value before", "doubt after"), strict=False):
        if len(parts) > 1 and not part.strip():
            message = f'"{raw}": no {name} +/-; write for example "4.935 +/- 0.002 in"'
            raise ValueFault(message)
    numbers = [_number(part, raw) for part in parts]
    (value, unit), (width, width_unit) = numbers[0], numbers[-1]
    if abs(value) > LARGEST or abs(width) > LARGEST:
        message = f'"{raw}": too large for anything in a workshop'
        raise ValueFault(message)
    if len(numbers) == 1:
        return Value(float(value * _scale(unit, dimension, units, raw)), dimension, raw, bare=not unit)
    if unit and not width_unit:
        right = f"{parts[0].replace(unit, '').strip()} +/- {parts[1].strip()} {unit}"
        message = f'"{raw}": the unit stands before the +/- only; write it once, at the end: "{right}"'
        raise ValueFault(message)
    scale = _scale(unit or width_unit, dimension, units, raw)
    width = width * _scale(width_unit, dimension, units, raw)
    if width <= 0:
        message = f'"{raw}": the doubt after +/- must be greater than 0; leave +/- out if it is not known'
        raise ValueFault(message)
    doubt = Doubt(float(width), float(stated["count"]) if stated else None)
    return Value(float(value * scale), dimension, raw, doubt, not unit and not width_unit)


def _number(text: str, raw: str) -> tuple[Fraction, str]:
    """Return number and unit of one side of a ±.

    Raises:
        ValueFault: in words, with what would be right.
    """
    if "," in text:
        decimals, thousands = raw.replace(",", "."), raw.replace(",", "")
        message = f'"{raw}": a comma means thousands to some; write "{decimals}" if decimals are meant'
        if len(THOUSANDS.findall(raw)) == raw.count(","):
            message += f', "{thousands}" if thousands'
        raise ValueFault(message)
    if any(character.isnumeric() and not character.isdigit() for character in text):
        message = f'"{raw}": write the fraction with figures and a stroke, for example "3 1/2 in"'
        raise ValueFault(message)
    match = NUMBER.match(text)
    if match is None:
        message = f'"{raw}": not a number; write for example 4.935, "4.935 in" or "3 15/16 in"'
        raise ValueFault(message)
    unit = match["unit"]
    if any(character.isdigit() for character in unit):
        meant = HYPHENED.match(text)
        if meant is not None:
            right = meant.expand(r"\1 \2")
            message = f'"{raw}": a - between whole number and fraction could be a minus; write "{right}"'
        elif unit.startswith(("+", "-")):
            message = f'"{raw}": two numbers in one value; a doubt is written with +/- between them'
        else:
            message = f'"{raw}": two numbers or two units in one value; write one number and one unit'
        raise ValueFault(message)
    sign = -1 if match["sign"] == "-" else 1
    if match["decimal"] is not None:
        return sign * Fraction(match["decimal"]), unit
    over, under = int(match["over"]), int(match["under"])
    if under not in DENOMINATORS:
        shown = ", ".join(str(one) for one in DENOMINATORS)
        message = f'"{raw}": a fraction over {under}; shop fractions are over {shown}'
        raise ValueFault(message)
    if over >= under:
        whole, rest = divmod(over, under)
        whole += int(match["whole"] or 0)
        proper = f"{whole} {Fraction(rest, under)}" if rest else f"{whole}"
        message = f'"{raw}": {over}/{under} is an improper fraction; write {proper} if that is meant'
        raise ValueFault(message)
    return sign * (int(match["whole"] or 0) + Fraction(over, under)), unit


def _scale(unit: str, dimension: Dimension, units: str, raw: str) -> Fraction:
    known = UNITS[dimension]
    if not unit:
        if dimension is Dimension.LENGTH:
            return known[units]
        if dimension is Dimension.VOLUME:
            message = f'"{raw}": a volume needs its unit: {SHOWN_UNITS[dimension]}'
            raise ValueFault(message)
        return DEGREE if dimension is Dimension.ANGLE else Fraction(1)
    found = known.get(" ".join(unit.lower().split()))
    if found is None:
        takes = SHOWN_UNITS[dimension]
        message = f'"{raw}": "{unit}" is no unit of {A[dimension]}; it takes {takes}'
        raise ValueFault(message)
    return found


def described(raw: object) -> str:
    """Return what a file holds at some place, in words."""
    if isinstance(raw, str):
        return f'"{echo(raw)}"' if raw.strip() else "nothing between the quotes"
    if isinstance(raw, bool):
        return str(raw).lower()
    if isinstance(raw, (int, float)):
        huge = isinstance(raw, int) and abs(raw) > LARGEST
        return (
            "a number of so many digits" if huge else echo(raw.typed if isinstance(raw, Typed) else str(raw))
        )
    if isinstance(raw, dict):
        return "a table"
    return "a list" if isinstance(raw, list) else "a date or time"


def echo(typed: str) -> str:
    """Return what was typed on one line, cut short where it is long."""
    line = "".join(character if character.isprintable() else " " for character in typed)
    return line if len(line) <= LONGEST else f"{line[:SHORTENED]}..."
