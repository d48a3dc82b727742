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
SAME_SIGN = str.maketrans({"−": "-", "–": "-", "″": '"', "”": '"', "“": '"', "\u00a0": " ", "\u202f": " "})
NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>\d+)\s+)?(?P<over>\d+)\s*/\s*(?P<under>\d+)
      |(?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?))
    \s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)
SIGMAS = re.compile(r"\s*\(\s*(?P<count>[12])\s*(?:sigma|σ|s)\s*\)\s*$")
LONGEST = 60  # characters of one value


class ValueFault(ValueError):
    """What is wrong with a typed value, and what would be right, in words."""


@dataclass(frozen=True, slots=True)
class Value:
    """One value as understood, with how it was typed."""

    number: float  # mm, rad, mm³ or plain
    dimension: Dimension
    typed: str
    doubt: Doubt | None = None


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
        message = f"{_kind(raw)} where a {dimension.value} belongs; write {_example(dimension)}"
        raise ValueFault(message)
    if not isinstance(raw, str):
        if not math.isfinite(raw):
            message = f"{raw}: not a number that can be measured; write {_example(dimension)}"
            raise ValueFault(message)
        scale = _scale("", dimension, units, str(raw))
        return Value(_double(Fraction(repr(raw)) * scale, str(raw)), dimension, str(raw))
    if not raw.strip():
        return Blank()
    return _read_text(raw, dimension, units)


def _read_text(raw: str, dimension: Dimension, units: str) -> Value:
    if len(raw) > LONGEST:
        message = f'"{raw[:20]}…": longer than a value can be ({LONGEST} characters)'
        raise ValueFault(message)
    text = raw.translate(SAME_SIGN).replace("±", "+/-").replace("+-", "+/-")
    stated = SIGMAS.search(text)
    if stated:
        text = text[: stated.start()]
    parts = text.split("+/-")
    if len(parts) > 2:
        message = f'"{raw}": more than one +/-; write one value and one doubt'
        raise ValueFault(message)
    if stated and len(parts) == 1:
        message = f'"{raw}": says sigma but gives no +/-; write for example "4.935 +/- 0.002 in (1 sigma)"'
        raise ValueFault(message)
    numbers = [_number(part, raw) for part in parts]
    (value, unit), (width, width_unit) = numbers[0], numbers[-1]
    if len(numbers) == 1:
        return Value(_double(value * _scale(unit, dimension, units, raw), raw), dimension, raw)
    if unit and not width_unit:
        message = f'"{raw}": the unit stands before the +/-; write it once, at the end'
        raise ValueFault(message)
    scale = _scale(unit or width_unit, dimension, units, raw)
    width = width * _scale(width_unit, dimension, units, raw)
    if width <= 0:
        message = f'"{raw}": the doubt after +/- must be greater than 0; leave +/- out if it is not known'
        raise ValueFault(message)
    doubt = Doubt(_double(width, raw), float(stated["count"]) if stated else None)
    return Value(_double(value * scale, raw), dimension, raw, doubt)


def _number(text: str, raw: str) -> tuple[Fraction, str]:
    """Return number and unit of one side of a ±.

    Raises:
        ValueFault: in words, with what would be right.
    """
    if "," in text:
        message = (
            f'"{raw}": a comma means thousands to some and decimals to others; '
            f'write "{raw.replace(",", ".")}" if decimals are meant'
        )
        raise ValueFault(message)
    match = NUMBER.match(text)
    if match is None:
        message = f'"{raw}": not a number; write for example 4.935, "4.935 in" or "3 15/16 in"'
        raise ValueFault(message)
    if any(character.isdigit() for character in match["unit"]):
        message = f'"{raw}": two numbers or two units in one value; write one number and one unit'
        raise ValueFault(message)
    sign = -1 if match["sign"] == "-" else 1
    if match["decimal"] is not None:
        return sign * Fraction(match["decimal"]), match["unit"]
    over, under = int(match["over"]), int(match["under"])
    if under not in DENOMINATORS:
        shown = ", ".join(str(one) for one in DENOMINATORS)
        message = f'"{raw}": a fraction over {under}; shop fractions are over {shown}'
        raise ValueFault(message)
    if over >= under:
        whole, rest = divmod(over, under)
        proper = f"{int(match['whole'] or 0) + whole} {rest}/{under}"
        message = f'"{raw}": {over}/{under} is an improper fraction; write {proper} if that is meant'
        raise ValueFault(message)
    return sign * (int(match["whole"] or 0) + Fraction(over, under)), match["unit"]


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
        message = f'"{raw}": "{unit}" is no unit of a {dimension.value}; it takes {SHOWN_UNITS[dimension]}'
        raise ValueFault(message)
    return found


def _double(exact: Fraction, raw: str) -> float:
    try:
        return float(exact)
    except OverflowError:
        message = f'"{raw}": too large for anything in a workshop'
        raise ValueFault(message) from None


def _kind(raw: object) -> str:
    if isinstance(raw, bool):
        return "true or false"
    if isinstance(raw, dict):
        return "a table"
    return "a list" if isinstance(raw, list) else "a date or time"


def _example(dimension: Dimension) -> str:
    return {
        Dimension.LENGTH: 'for example 98.4, "98.4 mm" or "3 15/16 in"',
        Dimension.ANGLE: "degrees, for example 27",
        Dimension.VOLUME: 'for example "88.0 cc"',
        Dimension.NUMBER: "a plain number",
    }[dimension]
