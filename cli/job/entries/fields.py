"""The kinds of entry a job file can hold: a quantity, a point, a lean pair, a word, a file name.

Each kind carries all there is to say of an entry: its meaning in the trade's words, its unit, its bounds, the range in
which most engines lie, its letter, what it is read with, whether it is a wish, and when a guided session asks for it;
and it reads what was typed. Everything that explains an entry to a person reads it from here. Only what a person does
at the bench stands elsewhere, in `guide.told`, which is loaded where it is shown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from enum import Enum
from typing import Any, NamedTuple, TypedDict, Unpack

from ..reading.values import Blank, Dimension, Value, ValueFault, described, echo, read

WORD_LENGTH = 200
NEAR = 0.7  # how alike two names must be to be taken for one another
INCH = 25.4
COLDEST_C = -273.15
READ_BY = '{ read = "4.935 +/- 0.001 in", by = "mic A" }'


class Sign(Enum):
    """Which numbers an entry can take."""

    ANY = "any"
    POSITIVE = "greater than 0"
    ZERO_UP = "0 or more"


class Asked(Enum):
    """When a guided session asks for an entry that has no place and no condition of its own in `guide.questions`."""

    IN_ANY_CASE = "in any case"
    BY_COORDINATES = "by coordinates"
    FOR_CLEARANCES = "for clearances"
    FOR_CLEARANCES_BY_COORDINATES = "for clearances, by coordinates"


class Said(TypedDict, total=False):
    """What the declaration of any entry may say besides its meaning."""

    letters: str  # in every drawing and list, see `letters`; parted by blanks
    tool: str  # what it is read with; empty: nothing of it is read at all
    wish: bool  # a limit, or what is wanted: decided, not read
    exact: bool  # a count, or a number somebody chose: read, but it needs no ±
    asked: Asked
    on_cylinder: bool  # drawn on the cylinder's own page, not on a valve gear's
    called: str  # in a drawing's legend, in a few words; empty: as its name says


class Kind:
    """What every kind of entry has: its meaning, in words, and what else its declaration says of it."""

    def __init__(self, words: str, **said: Unpack[Said]) -> None:
        self.words = words
        self.letters = tuple(said.get("letters", "").split())
        self.tool = said.get("tool")
        self.wish = said.get("wish", False)
        self.exact = said.get("exact", False)
        self.asked = said.get("asked")
        self.on_cylinder = said.get("on_cylinder", False)
        self.called = said.get("called", "")

    @property
    def read_with(self) -> str:
        """The tool of a small workshop that it is read with, common practice; of a wish whose word it is."""
        if self.tool is not None:
            return self.tool
        return CHOSEN if self.wish else self.usual_tool

    @property
    def usual_tool(self) -> str:
        """What such a thing is read with, where its declaration does not say it."""
        return LOOKED_AT

    @property
    def is_measured(self) -> bool:
        """Whether it is read and so needs a ±: no wish, no count, no word."""
        return False

    def parse(self, raw: object, units: str) -> object:
        """Return the entry as understood, or raise a fault in words."""
        raise NotImplementedError

    def shape(self) -> dict[str, Any]:
        """Return the entry's JSON Schema."""
        raise NotImplementedError


class Quantity(Kind):
    """One measured number."""

    def __init__(
        self,
        words: str,
        dimension: Dimension = Dimension.LENGTH,
        sign: Sign = Sign.ANY,
        usual: tuple[float, float] | None = None,
        below: float | None = None,
        radius: float | None = None,
        nothing: str = "",
        reached: bool = False,
        **said: Unpack[Said],
    ) -> None:
        super().__init__(words, **said)
        self.dimension = dimension
        self.sign = sign
        self.usual = usual  # mm, degrees, cc or plain: where most engines lie
        self.below = below  # mm, degrees, cc or plain: an entry at or above it is impossible
        self.reached = reached  # that an entry at it, on either side, is possible
        self.nothing = nothing  # the word that says there is none: 0
        self.radius = radius  # mm: more of this radius is more likely its diameter, common practice

    @property
    def usual_tool(self) -> str:
        """What such a quantity is read with."""
        return TOOLS.get(self.dimension, LOOKED_AT)

    @property
    def is_measured(self) -> bool:
        """Whether it is read and so needs a ±."""
        return not (self.wish or self.exact)

    def parse(self, raw: object, units: str) -> Value | Blank:
        """Return the number in mm, rad, mm³ or plain, within its bounds; of a list of readings their mean."""
        if self.nothing and isinstance(raw, str) and raw.strip().lower() == self.nothing:
            return Value(0.0, self.dimension, self.nothing)
        if isinstance(raw, dict) and raw.keys() & {"read", "by"}:
            return self._read_by(raw, units)
        if isinstance(raw, list) and self.dimension is not Dimension.ANGLE:  # two angles are a lean pair
            from ..reading.repeated import read_repeated

            value: Value | Blank = read_repeated(raw, self.dimension, units)
        else:
            value = read(raw, self.dimension, units)
        if isinstance(value, Value):
            self._bound(value, units)
        return value

    def _read_by(self, raw: dict[str, object], units: str) -> Value | Blank:
        """Return a reading with the instrument that it was made with.

        Raises:
            ValueFault: where it is none, in words.
        """
        if self.dimension is not Dimension.LENGTH or not self.is_measured:
            message = "only a length that was measured is read by an instrument; write the value alone"
            raise ValueFault(message)
        for name in raw:
            if name not in ("read", "by"):
                message = f'"{echo(str(name))}": a reading holds read and by, nothing else; write {READ_BY}'
                raise ValueFault(message)
        by = raw.get("by")
        if "read" not in raw or not isinstance(by, str) or not by.strip():
            message = f"{'by' if 'read' in raw else 'read'} is missing in this reading; write {READ_BY}"
            raise ValueFault(message)
        value = self.parse(raw["read"], units)
        return replace(value, by=by, typed=f"{value.typed}, by {by}") if isinstance(value, Value) else value

    def shape(self) -> dict[str, Any]:
        """Return a number or a string with unit and ±, a list of readings of one thing, or one by an instrument."""
        one = {"type": ["number", "string"]}
        if self.dimension is Dimension.ANGLE:
            return one
        several = {"type": "array", "items": one, "minItems": 2}
        if self.dimension is not Dimension.LENGTH or not self.is_measured:
            return {"anyOf": [one, several]}
        read = {
            "type": "object",
            "properties": {"read": {"anyOf": [one, several]}, "by": {"type": "string"}},
            "required": ["read", "by"],
            "additionalProperties": False,
        }
        return {"anyOf": [one, several, read]}

    def shown(self, number: float) -> float:
        """Return a number of this entry in mm, degrees, cc or plain."""
        return number / SHOWN_SCALE[self.dimension]

    def _bound(self, value: Value, units: str) -> None:
        number = self.shown(value.number)
        if (self.sign is Sign.POSITIVE and number <= 0) or (self.sign is Sign.ZERO_UP and number < 0):
            message = f"{echo(value.typed)}: must be {self.sign.value}"
            raise ValueFault(message)
        if 0 < abs(number) < LEAST:
            message = f"{echo(value.typed)}: nearer to 0 than anything is measured; write 0, or at least {LEAST:.9f}"
            raise ValueFault(message)
        if self.dimension is Dimension.TEMPERATURE and number <= COLDEST_C:
            message = (
                f"{echo(value.typed)}: must be above {COLDEST_C:g} C (-459.67 F), where nothing is colder"
            )
            raise ValueFault(message)
        if self.below is None or abs(number) < self.below or (self.reached and abs(number) == self.below):
            return
        unit = SHOWN_UNIT[self.dimension]
        limits = f"below {self.below:g}{unit}"
        if self.sign is Sign.ANY:
            limits = f"between -{self.below:g} and {self.below:g}{unit}"
        read_as = ""
        if self.dimension is Dimension.LENGTH:
            limits += f" ({self.below / INCH:.4g} in)"
            read_as = f" reads as {number:g} mm and"
            if value.bare and units == "in" and abs(number) < self.below * INCH:
                limits += '; was it typed in mm? this file\'s bare numbers count in inches (units = "in")'
        message = f"{echo(value.typed)}:{read_as} must be {limits}"
        raise ValueFault(message)


class Percent(Quantity):
    """A share, typed in hundredths."""

    def __init__(self, words: str, **said: Unpack[Said]) -> None:
        super().__init__(words, Dimension.NUMBER, Sign.ZERO_UP, (0.02, 0.9), 1.0, **said)

    def parse(self, raw: object, units: str) -> Value | Blank:
        """Return the share of one; as plain text it is typed in hundredths.

        Raises:
            ValueFault: where it is none, in words.
        """
        value = read(raw, self.dimension, units)
        if not isinstance(value, Value):
            return value
        if isinstance(raw, str):
            value = replace(value, number=value.number / 100.0)
        if not 0.0 <= value.number < 1.0:
            message = f"{raw} %: a share lies from 0 up to, and not at, 100 %"
            raise ValueFault(message)
        return value


class Way(NamedTuple):
    """Another way to say an entry than by its number."""

    says: str  # regular expression of the whole of it, with the value as its one group
    kind: Quantity | Choice  # of that value
    under: str  # the name under the entry where the mapping holds it; empty: the word itself stands there
    example: str


class Ways(Quantity):
    """A number, or the same thing said in another way: a share, "none up to 9 mm", a word."""

    def __init__(self, words: str, *ways: Way, **said: Any) -> None:
        super().__init__(words, **said)
        self.ways = ways

    def parse(self, raw: object, units: str) -> Any:
        """Return the number, or what else was said.

        Raises:
            ValueFault: where it is neither, in words.
        """
        if isinstance(raw, str):
            for way in self.ways:
                found = re.fullmatch(way.says, raw.strip())
                if found is None:
                    continue
                value = way.kind.parse(found[1], units)
                return replace(value, typed=raw, under=way.under) if isinstance(value, Value) else value
        try:
            return super().parse(raw, units)
        except ValueFault as fault:
            worded = isinstance(raw, str) and re.match(r"\s*[a-z]", raw, re.IGNORECASE)
            if fault.inside or not isinstance(raw, str) or (any(one.isdigit() for one in raw) and not worded):
                raise
            message = f"{fault}, or {' or '.join(way.example for way in self.ways)}"
            raise ValueFault(message) from None

    def way(self, under: str) -> Kind | None:
        """Return the meaning of what stands under the entry, or None."""
        return next((way.kind for way in self.ways if way.under and way.under == under), None)

    def example(self, under: str) -> str:
        """Return how what stands under the entry is written."""
        return next(way.example for way in self.ways if way.under == under)


LOOKED_AT, CHOSEN = "look, and write down", "your choice"
TOOLS = {  # where the declaration names none
    Dimension.LENGTH: "calipers or depth gauge",
    Dimension.ANGLE: "protractor",
    Dimension.VOLUME: "burette",
    Dimension.AREA: "calipers",
    Dimension.MASS: "scale",
    Dimension.FORCE: "spring tester",
    Dimension.RATE: "spring tester",
    Dimension.TEMPERATURE: "thermometer",
    Dimension.PRESSURE: "gauge",
    Dimension.MODULUS: "the maker's figure",
    Dimension.HEIGHT: "a map",
}
LEAST = 1e-9  # mm, degrees, cc or plain
SHOWN_SCALE = {
    Dimension.LENGTH: 1.0,
    Dimension.ANGLE: 0.017453292519943295,
    Dimension.VOLUME: 1000.0,
    Dimension.AREA: 1.0,
    Dimension.MASS: 0.001,
    Dimension.FORCE: 1.0,
    Dimension.RATE: 1.0,
    Dimension.PRESSURE: 0.1,
    Dimension.MODULUS: 1000.0,
    Dimension.TEMPERATURE: 1.0,
    Dimension.SPEED: 0.10471975511965977,
    Dimension.HEIGHT: 1.0,
    Dimension.DISTANCE: 1.0,
    Dimension.NUMBER: 1.0,
}
SHOWN_UNIT = {
    Dimension.LENGTH: " mm",
    Dimension.ANGLE: " deg",
    Dimension.VOLUME: " cc",
    Dimension.AREA: " mm2",
    Dimension.MASS: " g",
    Dimension.FORCE: " N",
    Dimension.RATE: " N/mm",
    Dimension.PRESSURE: " bar",
    Dimension.MODULUS: " GPa",
    Dimension.TEMPERATURE: " C",
    Dimension.SPEED: " rpm",
    Dimension.HEIGHT: " m",
    Dimension.DISTANCE: " km",
    Dimension.NUMBER: "",
}


class Parts(Kind):
    """Several numbers in a row: a point (three), a place seen from above or a lean pair (two)."""

    def __init__(
        self,
        words: str,
        counts: tuple[int, ...] = (3,),
        dimension: Dimension = Dimension.LENGTH,
        below: float | None = None,
        may_be_one: bool = False,
        example: str = "[-23, 64, -12]",
        usual: tuple[float, float] | None = None,
        **said: Unpack[Said],
    ) -> None:
        super().__init__(words, **said)
        self.counts = counts
        self.dimension = dimension
        self.below = below
        self.may_be_one = may_be_one  # one number stands for the whole
        self.example = example
        self.usual = usual  # mm, degrees or plain: where the size of each number lies in most engines

    @property
    def usual_tool(self) -> str:
        """What such numbers are read with."""
        return TOOLS.get(self.dimension_of(max(self.counts)), LOOKED_AT)

    @property
    def is_measured(self) -> bool:
        """Whether they are read and so need a ±."""
        return not (self.wish or self.exact)

    def parse(self, raw: object, units: str) -> Value | Blank | tuple[Value, ...]:
        """Return the numbers; a row of blanks is one blank.

        Raises:
            ValueFault: where they are not numbers, or not as many as belong there; the numbers at
                fault are in its `inside`.
        """
        if self.may_be_one and not isinstance(raw, list):
            return Quantity(self.words, self.dimension, below=self.below).parse(raw, units)
        if isinstance(raw, str) and not raw.strip():
            return Blank()
        if not isinstance(raw, list) or len(raw) not in self.counts:
            wanted = " or ".join(str(count) for count in self.counts)
            one = isinstance(raw, list) and len(raw) == 1
            found = f"{len(raw)} value{'' if one else 's'}" if isinstance(raw, list) else described(raw)
            message = f"{found} where {wanted} belong; write for example {self.example}"
            if self.may_be_one:
                message += "; an angle that was read several times is written as the mean of its readings"
            raise ValueFault(message)
        reader = Quantity(self.words, self.dimension_of(len(raw)), below=self.below)
        read_values: list[Value | Blank] = []
        inside: list[tuple[int, str]] = []
        for index, one_raw in enumerate(raw):
            try:
                read_values.append(reader.parse(one_raw, units))
            except ValueFault as fault:
                inside.append((index, str(fault)))
        if inside:
            raise ValueFault(inside[0][1], tuple(inside))
        values = tuple(one for one in read_values if isinstance(one, Value))
        if 0 < len(values) < len(raw):
            place = next(index for index, one in enumerate(read_values) if isinstance(one, Blank))
            message = f"blank, beside {len(values)} that are filled in; fill in all of them or none"
            raise ValueFault(message, ((place, message),))
        return values or Blank()

    def dimension_of(self, count: int) -> Dimension:
        """Return what each of that many numbers is; a direction's two are leans, its three plain."""
        return Dimension.ANGLE if self.dimension is Dimension.NUMBER and count == 2 else self.dimension

    def shape(self) -> dict[str, Any]:
        """Return an array of numbers or strings."""
        item = {"type": ["number", "string"]}
        rows = {"type": "array", "items": item, "minItems": min(self.counts), "maxItems": max(self.counts)}
        return {"anyOf": [item, rows]} if self.may_be_one else {"anyOf": [rows, {"const": ""}]}


class Choice(Kind):
    """One of a few words."""

    def __init__(self, words: str, options: tuple[str, ...], **said: Unpack[Said]) -> None:
        super().__init__(words, **said)
        self.options = options

    def parse(self, raw: object, units: str) -> str | Blank:
        """Return the word.

        Raises:
            ValueFault: where it is none of the options.
        """
        if isinstance(raw, str) and not raw.strip():
            return Blank()
        if isinstance(raw, str) and raw in self.options:
            return raw
        shown = listed([f'"{option}"' for option in self.options], "or")
        near = ""
        if isinstance(raw, str):
            from ..reading.hints import other_word

            near = other_word(raw, self.options) or did_you_mean(raw, self.options, 0.6)
        message = f"{described(raw)} where {shown} belongs{near}"
        raise ValueFault(message)

    def shape(self) -> dict[str, Any]:
        """Return the words."""
        return {"enum": [*self.options, ""]}


class Several(Choice):
    """Some of a few words, in a list."""

    def parse(self, raw: object, units: str) -> tuple[str, ...] | Blank:  # type: ignore[override]
        """Return the words, each once, in the order of the options.

        Raises:
            ValueFault: where one of them is none of the options.
        """
        found = [raw] if isinstance(raw, str) else raw
        if not isinstance(found, list):
            message = f"{described(raw)} where a list of words belongs; write {self.example}"
            raise ValueFault(message)
        words = [super(Several, self).parse(one, units) for one in found]
        return tuple(one for one in self.options if one in words) or Blank()

    @property
    def example(self) -> str:
        """How it is written."""
        return f"[{', '.join(chr(34) + one + chr(34) for one in self.options[:2])}]"

    def shape(self) -> dict[str, Any]:
        """Return a list of the words."""
        words = {"enum": [*self.options, ""]}
        return {"anyOf": [{"type": "array", "items": words}, words]}


class Format(Kind):
    """The number of the job file's format."""

    def parse(self, raw: object, units: str) -> int:
        """Return the format.

        Raises:
            ValueFault: where this program does not read it.
        """
        if raw != 1 or isinstance(raw, bool) or not isinstance(raw, int):
            message = f"{described(raw)}: this program reads format 1; write format = 1"
            raise ValueFault(message)
        return raw

    def shape(self) -> dict[str, Any]:
        """Return the one format there is."""
        return {"const": 1}


class YesNo(Kind):
    """Whether something is so."""

    def parse(self, raw: object, units: str) -> bool | Blank:
        """Return true or false.

        Raises:
            ValueFault: where it is neither.
        """
        if isinstance(raw, str) and not raw.strip():
            return Blank()
        if not isinstance(raw, bool):
            message = f"{described(raw)} where true or false belongs, without quotes"
            raise ValueFault(message)
        return raw

    def shape(self) -> dict[str, Any]:
        """Return true or false."""
        return {"type": "boolean"}


class Text(Kind):
    """Free words of one line."""

    def parse(self, raw: object, units: str) -> str | Blank:
        """Return the text.

        Raises:
            ValueFault: where it is not text of one line.
        """
        if not isinstance(raw, str):
            message = f"{described(raw)} where text in quotes belongs"
            raise ValueFault(message)
        if not raw.strip():
            return Blank()
        if len(raw) > WORD_LENGTH or not raw.isprintable():
            message = (
                f"text of one line and at most {WORD_LENGTH} characters belongs here, none of them invisible"
            )
            raise ValueFault(message)
        return raw

    def shape(self) -> dict[str, Any]:
        """Return a string."""
        return {"type": "string"}


class Name(Text):
    """A name that becomes part of the paths of entries."""

    def __init__(self, words: str, reserved: tuple[str, ...] = (), **said: Unpack[Said]) -> None:
        super().__init__(words, **said)
        self.reserved = reserved

    def parse(self, raw: object, units: str) -> str | Blank:
        """Return the name.

        Raises:
            ValueFault: where it cannot be a name.
        """
        name = super().parse(raw, units)
        if isinstance(name, str) and not name.replace("-", "").replace("_", "").isalnum():
            message = f'"{echo(name)}": a name takes letters, digits, - and _ only, no spaces or dots'
            raise ValueFault(message)
        if name in self.reserved:
            message = f'"{name}": that is the name of a table of the job file; choose another'
            raise ValueFault(message)
        return name


class NameList(Kind):
    """Names in a row, each of one line."""

    def parse(self, raw: object, units: str) -> tuple[str, ...] | Blank:
        """Return the names.

        Raises:
            ValueFault: where it is no list of names.
        """
        if isinstance(raw, str) and not raw.strip():
            return Blank()
        names = [one.strip() for one in raw if isinstance(one, str)] if isinstance(raw, list) else []
        if not isinstance(raw, list) or len(names) < len(raw):
            message = f'{described(raw)} where a list of names belongs: ["crank", "piston"]'
            raise ValueFault(message)
        return tuple(one for one in names if one)

    def shape(self) -> dict[str, Any]:
        """Return a list of strings."""
        return {"type": "array", "items": {"type": "string"}}


class FileName(Text):
    """A file beside the job file, or in a folder below it."""

    def __init__(self, words: str, is_made: bool = False, **said: Unpack[Said]) -> None:
        super().__init__(words, **said)
        self.is_made = is_made  # by tallstack, where it is not there yet

    def parse(self, raw: object, units: str) -> str | Blank:
        """Return the file's name.

        Raises:
            ValueFault: where it cannot be one, as where double quotes made a tab of what was to part folders.
        """
        if isinstance(raw, str) and any(one in raw for one in "\a\b\t\n\f\r"):
            message = (
                "holds a tab or an end of line: in double quotes a \\ begins one; write / between folders, as in "
                '"shared/lobe.csv", on Windows too'
            )
            raise ValueFault(message)
        return super().parse(raw, units)


def did_you_mean(found: str, known: Iterable[str], least: float = NEAR) -> str:
    """Return "; did you mean …?" for a near miss, or nothing."""
    near = nearest_names(found, known, least)
    return f"; did you mean {' or '.join(near)}?" if near else ""


def nearest_names(found: str, known: Iterable[str], least: float = NEAR) -> tuple[str, ...]:
    """Return the names most like one that was typed: one, a few that are equally near, or none."""
    import difflib

    typed = _plain(found)
    near = [
        (difflib.SequenceMatcher(None, typed, _plain(one)).ratio(), one) for one in known if len(typed) < 60
    ]
    best = max((ratio for ratio, _ in near), default=0.0)
    return tuple(dict.fromkeys(one for ratio, one in near if ratio >= max(least, best - 0.02)))


def _plain(name: str) -> str:
    return name.lower().replace("-", "_").replace(" ", "_")


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return words in a row; last : what stands before the last of them."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"
