"""The kinds of entry a job file can hold: a quantity, a point, a lean pair, a word, a file name.

Each kind carries the entry's meaning in the trade's words, its unit, its bounds and the range in
which most engines lie, and teaches the model how to read it. Everything that explains an entry to
a person reads it from here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import PydanticCustomError, core_schema
from tallstack.cli.jobfile.values import Blank, Dimension, Value, ValueFault, read

FAULT = "entry"  # the type of every error raised here; its message is already in words
WORD_LENGTH = 200


class Sign(Enum):
    """Which numbers an entry can take."""

    ANY = "any"
    POSITIVE = "greater than 0"
    ZERO_UP = "0 or more"


@dataclass(frozen=True, slots=True)
class Kind:
    """What every kind of entry has: its meaning, in words."""

    words: str

    def parse(self, raw: object, info: ValidationInfo) -> object:
        """Return the entry as understood, or raise a fault in words."""
        raise NotImplementedError

    def shape(self) -> dict[str, Any]:
        """Return the entry's JSON Schema."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Read the entry by `parse` alone."""
        return core_schema.with_info_plain_validator_function(self._validated)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the entry for editor completion."""
        return {"description": self.words, **self.shape()}

    def _validated(self, raw: object, info: ValidationInfo) -> object:
        try:
            return self.parse(raw, info)
        except ValueFault as fault:
            raise PydanticCustomError(FAULT, "{words}", {"words": str(fault)}) from None


@dataclass(frozen=True, slots=True)
class Quantity(Kind):
    """One measured number."""

    dimension: Dimension = Dimension.LENGTH
    sign: Sign = Sign.ANY
    usual: tuple[float, float] | None = None  # mm, degrees, cc or plain: where most engines lie
    below: float | None = None  # mm, degrees, cc or plain: an entry at or above it is impossible
    wish: bool = False  # chosen, not measured: it needs no ±

    def parse(self, raw: object, info: ValidationInfo) -> Value | Blank:
        """Return the number in mm, rad, mm³ or plain, within its bounds."""
        value = read(raw, self.dimension, _units(info))
        if isinstance(value, Value):
            self._bound(value)
        return value

    def shape(self) -> dict[str, Any]:
        """Return a number or a string with unit and ±."""
        return {"type": ["number", "string"]}

    def shown(self, number: float) -> float:
        """Return a number of this entry in mm, degrees, cc or plain."""
        return number / SHOWN_SCALE[self.dimension]

    def _bound(self, value: Value) -> None:
        number = value.number
        if (self.sign is Sign.POSITIVE and number <= 0) or (self.sign is Sign.ZERO_UP and number < 0):
            message = f"{value.typed}: must be {self.sign.value}"
            raise ValueFault(message)
        if self.below is not None and abs(self.shown(number)) >= self.below:
            unit = SHOWN_UNIT[self.dimension]
            message = f"{value.typed}: must be below {self.below:g}{unit}"
            raise ValueFault(message)


SHOWN_SCALE = {
    Dimension.LENGTH: 1.0,
    Dimension.ANGLE: 0.017453292519943295,
    Dimension.VOLUME: 1000.0,
    Dimension.NUMBER: 1.0,
}
SHOWN_UNIT = {Dimension.LENGTH: " mm", Dimension.ANGLE: " deg", Dimension.VOLUME: " cc", Dimension.NUMBER: ""}


@dataclass(frozen=True, slots=True)
class Parts(Kind):
    """Several numbers in a row: a point (three), a place seen from above or a lean pair (two)."""

    counts: tuple[int, ...] = (3,)
    dimension: Dimension = Dimension.LENGTH
    below: float | None = None
    may_be_one: bool = False  # one number stands for the whole

    def parse(self, raw: object, info: ValidationInfo) -> Value | Blank | tuple[Value, ...]:
        """Return the numbers; a row of blanks is one blank.

        Raises:
            ValueFault: where they are not numbers, or not as many as belong there.
        """
        if self.may_be_one and not isinstance(raw, list):
            return Quantity(self.words, self.dimension, below=self.below).parse(raw, info)
        wanted = " or ".join(str(count) for count in self.counts)
        if isinstance(raw, str) and not raw.strip():
            return Blank()
        if not isinstance(raw, list) or len(raw) not in self.counts:
            found = f"{len(raw)} values" if isinstance(raw, list) else f"{raw!r}"
            message = f"{found} where {wanted} values in square brackets belong"
            raise ValueFault(message)
        dimension = self.dimension_of(len(raw))
        reader = Quantity(self.words, dimension, below=self.below)
        read_values = [reader.parse(one, info) for one in raw]
        values = tuple(one for one in read_values if isinstance(one, Value))
        return values if len(values) == len(raw) else Blank()

    def dimension_of(self, count: int) -> Dimension:
        """Return what each of that many numbers is; a direction's two are leans, its three plain."""
        return Dimension.ANGLE if self.dimension is Dimension.NUMBER and count == 2 else self.dimension

    def shape(self) -> dict[str, Any]:
        """Return an array of numbers or strings."""
        item = {"type": ["number", "string"]}
        rows = {"type": "array", "items": item, "minItems": min(self.counts), "maxItems": max(self.counts)}
        return {"anyOf": [item, rows]} if self.may_be_one else {"anyOf": [rows, {"const": ""}]}


@dataclass(frozen=True, slots=True)
class Choice(Kind):
    """One of a few words."""

    options: tuple[str, ...] = ()

    def parse(self, raw: object, info: ValidationInfo) -> str | Blank:
        """Return the word.

        Raises:
            ValueFault: where it is none of the options.
        """
        if isinstance(raw, str) and not raw.strip():
            return Blank()
        if raw not in self.options:
            shown = ", ".join(f'"{option}"' for option in self.options)
            message = f"{_quoted(raw)} where one of {shown} belongs{did_you_mean(str(raw), self.options)}"
            raise ValueFault(message)
        return str(raw)

    def shape(self) -> dict[str, Any]:
        """Return the words."""
        return {"enum": [*self.options, ""]}


@dataclass(frozen=True, slots=True)
class Text(Kind):
    """Free words, a name or a file's name."""

    name: bool = False  # becomes part of entry paths
    reserved: tuple[str, ...] = ()

    def parse(self, raw: object, info: ValidationInfo) -> str | Blank:
        """Return the text.

        Raises:
            ValueFault: where it is not text of one line, or cannot be a name.
        """
        if not isinstance(raw, str):
            message = f"{raw!r} where text in quotes belongs"
            raise ValueFault(message)
        if not raw.strip():
            if self.name:
                message = "a name cannot be blank"
                raise ValueFault(message)
            return Blank()
        if len(raw) > WORD_LENGTH or any(ord(character) < 32 for character in raw):
            message = f"text of one line and at most {WORD_LENGTH} characters belongs here"
            raise ValueFault(message)
        if self.name and not raw.replace("-", "").replace("_", "").isalnum():
            message = f'"{raw}": a name takes letters, digits, - and _ only'
            raise ValueFault(message)
        if raw in self.reserved:
            message = f'"{raw}": that name is a table of the job file; choose another'
            raise ValueFault(message)
        return raw

    def shape(self) -> dict[str, Any]:
        """Return a string."""
        return {"type": "string"}


@dataclass(frozen=True, slots=True)
class FileName(Text):
    """A file beside the job file."""


def did_you_mean(found: str, known: tuple[str, ...] | Iterator[str]) -> str:
    """Return "; did you mean …?" for a near miss, or nothing."""
    import difflib

    near = difflib.get_close_matches(found, list(known), n=1, cutoff=0.6)
    return f"; did you mean {near[0]}?" if near else ""


def _quoted(raw: object) -> str:
    return f'"{raw}"' if isinstance(raw, str) else repr(raw)


def _units(info: ValidationInfo) -> str:
    context = info.context
    return context if isinstance(context, str) else "mm"
