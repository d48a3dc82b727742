"""One value as a person types it: number, fraction, unit and ±.

    98.4   "98.4 mm"   "4.935 in"   "3 15/16 in"   '0.030"'   "30 thou"   "4.935 +/- 0.002 in (1 sigma)"

A bare number is in the file's units (angles: degrees). Everything is read exactly, as fractions,
and becomes a double once, in the unit of its dimension (`Dimension`). What could be read
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
POUND = Fraction(45359237, 10**8)  # kg, exactly
POUND_FORCE = POUND * Fraction(980665, 10**5)  # N, exactly
PSI = POUND_FORCE / INCH**2  # N/mm²
FAHRENHEIT = Fraction(5, 9)
MILE = 63360 * INCH / 10**6  # km, exactly
REVOLUTION = Fraction(2 * math.pi / 60)  # rad/s in a revolution a minute
DENOMINATORS = (2, 4, 8, 16, 32, 64, 128)


class Dimension(Enum):
    """What a value measures: its units, each in mm, rad, mm³, mm², kg, N, N/mm, N/mm², °C, rad/s, m, km or plain."""

    LENGTH = "length"
    ANGLE = "angle"
    VOLUME = "volume"
    AREA = "area"
    MASS = "mass"
    FORCE = "force"
    RATE = "rate"
    PRESSURE = "pressure"
    MODULUS = "modulus"
    TEMPERATURE = "temperature"
    SPEED = "speed"
    HEIGHT = "height"
    DISTANCE = "distance"
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
    Dimension.AREA: {"mm2": Fraction(1), "sq mm": Fraction(1), "sq in": INCH**2, "in2": INCH**2},
    Dimension.MASS: {"g": Fraction(1, 1000), "kg": Fraction(1), "oz": POUND / 16, "lb": POUND},
    Dimension.FORCE: {"n": Fraction(1), "kn": Fraction(1000), "lbf": POUND_FORCE, "lb": POUND_FORCE},
    Dimension.RATE: {
        "n/mm": Fraction(1),
        "lbf/in": POUND_FORCE / INCH,
        "lb/in": POUND_FORCE / INCH,
    },
    Dimension.PRESSURE: {
        "bar": Fraction(1, 10),
        "mpa": Fraction(1),
        "psi": PSI,
    },
    Dimension.MODULUS: {"gpa": Fraction(1000), "mpa": Fraction(1), "n/mm2": Fraction(1), "psi": PSI},
    Dimension.TEMPERATURE: {
        "c": Fraction(1),
        "°c": Fraction(1),
        "deg c": Fraction(1),
        "f": FAHRENHEIT,
        "°f": FAHRENHEIT,
        "deg f": FAHRENHEIT,
    },
    Dimension.SPEED: {"rpm": REVOLUTION, "rev/min": REVOLUTION},
    Dimension.HEIGHT: {"m": Fraction(1), "ft": INCH * 12 / 1000},
    Dimension.DISTANCE: {"km": Fraction(1), "mi": MILE, "mile": MILE, "miles": MILE},
    Dimension.NUMBER: {},
}
SQUARES = ("mm2", "in2", "n/mm2")  # units with a digit of their own
BELOW_ZERO = {"f": Fraction(32), "°f": Fraction(32), "deg f": Fraction(32)}  # where the scale's 0 °C stands
SHOWN_UNITS = {
    Dimension.LENGTH: 'mm, in, thou or "',
    Dimension.ANGLE: "deg",
    Dimension.VOLUME: "cc, ml or cu in",
    Dimension.AREA: "mm2 or sq in",
    Dimension.MASS: "g, kg, oz or lb",
    Dimension.FORCE: "N, kN or lbf",
    Dimension.RATE: "N/mm or lbf/in",
    Dimension.PRESSURE: "bar, MPa or psi",
    Dimension.MODULUS: "GPa, N/mm2 or psi",
    Dimension.TEMPERATURE: "C or F",
    Dimension.SPEED: "rpm",
    Dimension.HEIGHT: "m or ft",
    Dimension.DISTANCE: "km or miles",
    Dimension.NUMBER: "no unit",
}
A = {  # with its article
    Dimension.LENGTH: "a length",
    Dimension.ANGLE: "an angle",
    Dimension.VOLUME: "a volume",
    Dimension.AREA: "an area",
    Dimension.MASS: "a mass",
    Dimension.FORCE: "a force",
    Dimension.RATE: "a spring rate",
    Dimension.PRESSURE: "a pressure",
    Dimension.MODULUS: "a modulus",
    Dimension.TEMPERATURE: "a temperature",
    Dimension.SPEED: "a speed",
    Dimension.HEIGHT: "a height above the sea",
    Dimension.DISTANCE: "a distance",
    Dimension.NUMBER: "a plain number",
}
EXAMPLES = {
    Dimension.LENGTH: 'for example 98.4, "98.4 mm" or "3 15/16 in"',
    Dimension.ANGLE: "degrees, for example 27",
    Dimension.VOLUME: 'for example "88.0 cc"',
    Dimension.AREA: 'for example "210 mm2"',
    Dimension.MASS: 'for example "420 g"',
    Dimension.FORCE: 'for example "600 N" or "135 lbf"',
    Dimension.RATE: 'for example "52 N/mm" or "300 lbf/in"',
    Dimension.PRESSURE: 'for example "8 bar" or "120 psi"',
    Dimension.MODULUS: 'for example "207 GPa"',
    Dimension.TEMPERATURE: 'for example "90 C" or "195 F"',
    Dimension.SPEED: 'for example "5500 rpm"',
    Dimension.HEIGHT: 'for example "1500 m" or "4900 ft"',
    Dimension.DISTANCE: 'for example "500 miles" or "800 km"',
    Dimension.NUMBER: "for example 20",
}
SAME_SIGN = str.maketrans(
    {"−": "-", "–": "-", "″": '"', "”": '"', "“": '"', "\u00a0": " ", "\u202f": " ", "²": "2"}
)
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

    number: float  # in the unit of its dimension, see `Dimension`
    dimension: Dimension
    typed: str
    doubt: Doubt | None = None
    bare: bool = False  # a number without a unit of its own
    by: str = ""  # the instrument that it was read with
    note: str = ""  # what its doubt rests on, where that is not seen from how it was typed
    under: str = (
        ""  # the name under its entry where the mapping holds it: it says something else than a number there
    )


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
        from .hints import digits_meant

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
    numbers = [_number(part, raw, dimension) for part in parts]
    (value, unit), (width, width_unit) = numbers[0], numbers[-1]
    if abs(value) > LARGEST or abs(width) > LARGEST:
        message = f'"{raw}": too large for anything in a workshop'
        raise ValueFault(message)
    value -= _zero(unit or width_unit, dimension)
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


def _number(text: str, raw: str, dimension: Dimension) -> tuple[Fraction, str]:
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
        example = (
            'for example 4.935, "4.935 in" or "3 15/16 in"'
            if dimension is Dimension.LENGTH
            else EXAMPLES[dimension]
        )
        message = f'"{raw}": not a number; write {example}'
        raise ValueFault(message)
    unit = match["unit"]
    if any(character.isdigit() for character in unit) and unit.lower() not in SQUARES:
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


def _zero(unit: str, dimension: Dimension) -> Fraction:
    """Return what a scale reads at its dimension's zero."""
    return BELOW_ZERO.get(unit.lower(), Fraction(0)) if dimension is Dimension.TEMPERATURE else Fraction(0)


def _scale(unit: str, dimension: Dimension, units: str, raw: str) -> Fraction:
    known = UNITS[dimension]
    if not unit:
        if dimension is Dimension.LENGTH:
            return known[units]
        if dimension is Dimension.ANGLE:
            return DEGREE
        if dimension is not Dimension.NUMBER:
            message = f'"{raw}": {A[dimension]} needs its unit: {SHOWN_UNITS[dimension]}'
            raise ValueFault(message)
        return Fraction(1)
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
