"""`tallstack explain`: one pushrod's length worked through, to be followed with a pocket calculator."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import sympy as sp  # type: ignore[import-untyped]
from sympy.printing.str import StrPrinter  # type: ignore[import-untyped]
from tallstack.geometry.core.errors import MissingEntryError, UnreachableError
from tallstack.geometry.engine.engine import COORDINATES, train_of
from tallstack.geometry.pushrod.derive import Derivation, Step, derivation
from tallstack.geometry.pushrod.ordering import ordering_convention
from tallstack.geometry.pushrod.pushrods import required

from ..job import contradicted
from ..job.entries.catalogue import owned
from ..job.entries.fields import Parts, Quantity, did_you_mean
from ..job.file import JobFile
from ..job.job import Job
from ..job.reading.values import Dimension
from ..page.answer import MISSED, UNUSABLE, Answer, framed, head, look_again_blocks, tail
from ..page.model import Block, Break, Column, Form, Heading, Row, Table, Tag, Words
from ..page.wording import ESTIMATE, length, train_name

DIGITS = 9  # decimals of a step: the last line keeps its own digits when worked again from them
LAST = {"mm": 4, "in": 6}  # decimals of the length
SCALES = {"mm": sp.Integer(1), "in": sp.Rational(127, 5)}  # mm in a unit of length
READ_SO = (
    "Lengths in {}, trigonometry in degrees. Each step says what it is, how it follows from the entries and "
    "the steps above, the same with this job's numbers, and its value. Its symbols are its own, not the letters of "
    "drawings."
)
SAME = 1e-9  # of an expression at two sets of numbers
GREEK = {
    "\u0394": "D_stack",
    "\u03bb": "lean",
    "\u03b8": "th",
    "\u03c1": "rho",
    "\u03c3": "side",
    "\u03c4": "turn",
    "\u03c6": "phi",
    "\u03c8": "psi",
    "\u03b3": "gam",
    "\u03c9": "om",
    "\u03bc": "mu",
}


def answer(job: Job, train: str) -> Answer:
    """Return the derivation of one valve gear's pushrod, in symbols and in this job's numbers."""
    names = job.names["trains"]
    if train not in names:
        hint = did_you_mean(train, names) or f"; there are {', '.join(names) or 'none in this job'}"
        return Answer(f"{job.path}: {train}: no such valve gear{hint}", {}, UNUSABLE)
    job = job.at_hand
    mapping = job.mapping
    try:
        gear = train_of(mapping, train)
        wanted = ordering_convention(gear, required(gear))
        found = derivation(mapping, train, ordered_as=wanted)
    except MissingEntryError as error:
        return Answer(f"{job.path}: {train_name(train)}: {error}", {}, UNUSABLE)
    except UnreachableError as error:
        told = f"{train_name(train)}: CANNOT BE ASSEMBLED: {error}"
        again = contradicted.concerning(job, train, ())
        why = {"why": str(error), "look_again": list(again)}
        return Answer(
            [*look_again_blocks(again), Words(told)], {**head("explain", job), **why, **tail(job)}, MISSED
        )
    moving = (name for name, paths in job.quantities.items() if not found.entries.keys().isdisjoint(paths))
    again = contradicted.concerning(job, train, (*found.entries, *moving))
    page, document = _page(job, found, again), _document(found, again)
    return framed("explain", job, page, document, without=(Tag.ASSUMED,))


def _document(found: Derivation, again: Sequence[str]) -> dict[str, Any]:
    return {
        "train": found.train,
        "basis": found.basis,
        "as": found.convention,
        "look_again": list(again),
        "entries": found.entries,
        "steps": [
            {
                "symbol": ascii_name(name),
                "words": step.words,
                "unit": step.unit or None,
                "expression": symbolic(part, found),
                "value": number,
            }
            for step in found.steps
            for name, part, number in _lines(step)
        ],
    }


def _page(job: JobFile, found: Derivation, again: Sequence[str]) -> list[Block]:
    basis = f"{ESTIMATE}: from coordinates alone" if found.basis == COORDINATES else "from a measured pushrod"
    shown = in_units(found, job.units)
    entries = tuple(Row((_short(path, found), _entry(path, shown))) for path in shown.entries)
    blocks: list[Block] = [
        *look_again_blocks(again),
        *(Heading(train_name(found.train)), Words(basis, 1), Words(READ_SO.format(job.units))),
        *(Heading("ENTRIES"), Table((Column(room=54), Column()), entries)),
        Heading("STEPS"),
    ]
    for step in shown.steps:
        blocks += [Break(), Words(f"{ascii_name(step.symbol)}: {step.words}{_unit(step)}", 1)]
        for name, part, number in _lines(step):
            blocks.append(Words(f"{ascii_name(name)} = {symbolic(part, shown)}", 2, Form.ITEM))
            numeric = with_numbers(part, shown)
            if numeric != _shown(number, step):
                blocks.append(Words(f"= {numeric}", 3, Form.ITEM))
            blocks.append(Words(f"= {_shown(number, step)}", 3))
    value, own = found.steps[-1].value, shown.steps[-1].value
    assert isinstance(value, float)
    told = f"{found.convention.upper()}: {own:.{LAST[job.units]}f} {job.units}, which is {length(value, job.units)}"
    return [*blocks, Words(told, strong=True)]


def in_units(found: Derivation, units: str) -> Derivation:
    """Return a derivation in another unit of length: its numbers, and what of its expressions counts in mm."""
    scale = SCALES[units]
    if scale == 1:
        return found
    is_length = {path: _is_length(path) for path in found.entries}
    is_length |= {name: step.unit == "mm" for step in found.steps for name, *_ in _lines(step)}
    entries = {
        path: value / float(scale) if is_length[path] else value for path, value in found.entries.items()
    }

    def scaled(step: Step) -> Step:
        own = scale if step.unit == "mm" else sp.Integer(1)

        def told(part: sp.Expr) -> sp.Expr:
            sizes = {one: scale * one for one in part.free_symbols if is_length.get(one.name, False)}
            there = part.subs(sizes, simultaneous=True) / own
            same = all(abs(_at(there, found, seed) - _at(part, found, seed)) < SAME for seed in (1, 2))
            return part if same else sp.expand(there)

        def number(value: float) -> float:
            return value / float(own)

        if isinstance(step.value, tuple):
            x, y, z = step.value
            parts = type(step.expression)([told(one) for one in step.expression])
            return replace(
                step, expression=parts, unit=_named(step.unit, units), value=(number(x), number(y), number(z))
            )
        return replace(
            step, expression=told(step.expression), unit=_named(step.unit, units), value=number(step.value)
        )

    return replace(found, entries=entries, steps=tuple(map(scaled, found.steps)))


def _at(part: sp.Expr, found: Derivation, seed: int) -> complex:
    """Return what an expression is worth at numbers that are not those of the job."""
    numbers = {
        one: 0.31 + 0.37 * ((7 * place + 3 * seed) % 11) / 11
        for place, one in enumerate(sorted(part.free_symbols, key=lambda one: one.name))
    }
    return complex(part.subs(numbers).evalf())


def _named(unit: str, units: str) -> str:
    return units if unit == "mm" else unit


def _is_length(path: str) -> bool:
    kind = owned(path)[1]
    if isinstance(kind, Quantity):
        return kind.dimension is Dimension.LENGTH
    return isinstance(kind, Parts) and not _is_angle(path) and kind.dimension_of(3) is Dimension.LENGTH


def _lines(step: Step) -> list[tuple[str, sp.Expr, float]]:
    """Return name, expression and value of a step, or of each of its components."""
    if isinstance(step.value, tuple):
        return list(zip(step.names, list(step.expression), step.value, strict=True))
    return [(step.symbol, step.expression, step.value)]


def symbolic(expression: sp.Expr, found: Derivation) -> str:
    """Return an expression in the names of entries and steps."""
    return str(_Plain({}, found).doprint(expression))


def with_numbers(expression: sp.Expr, found: Derivation) -> str:
    """Return an expression with this job's numbers in place of the names."""
    numbers = {path: _entry(path, found, bare=True) for path in found.entries}
    for step in found.steps:
        numbers |= {name: _shown(number, step) for name, _, number in _lines(step)}
    return str(_Plain(numbers, found).doprint(expression))


def ascii_name(symbol: str) -> str:
    """Return a symbol in letters that every terminal has."""
    return "".join(GREEK.get(character, character) for character in symbol).replace(" ", "_")


class _Plain(StrPrinter):  # type: ignore[misc]
    """Prints an expression as one would type it into a calculator."""

    def __init__(self, numbers: dict[str, str], found: Derivation) -> None:
        super().__init__({"order": "none"})
        self.numbers = numbers
        self.found = found

    def _print_Symbol(self, expression: sp.Symbol) -> str:  # noqa: N802
        name = expression.name
        if name in self.numbers:
            number = self.numbers[name]
            return f"({number})" if number.startswith("-") else number
        return _short(name, self.found) if name in self.found.entries else ascii_name(name)

    def _print_Add(self, expression: sp.Add, order: str | None = None) -> str:  # noqa: N802
        """Print what is added before what is taken off, so that no line begins with a minus and a power."""
        added = [term for term in expression.args if not term.could_extract_minus_sign()]
        taken = [-term for term in expression.args if term.could_extract_minus_sign()]
        first = " + ".join(self._print(term) for term in added)
        rest = "".join(f" - {self._factor(term)}" for term in taken)
        return (
            first + rest
            if added
            else f"-{self._factor(taken[0])}" + rest[rest.find(" - ", 3) :] * (len(taken) > 1)
        )

    def _print_Pi(self, expression: sp.Expr) -> str:  # noqa: N802
        return "180"  # every angle is printed in degrees

    def _factor(self, term: sp.Expr) -> str:
        text: str = self._print(term)
        return f"({text})" if isinstance(term, sp.Add) else text

    def _print_Pow(self, expression: sp.Pow, rational: bool = False) -> str:  # noqa: N802
        text: str = super()._print_Pow(expression, rational)
        return text.replace("**", "^")


def _short(path: str, found: Derivation) -> str:
    return path.removeprefix(f"{found.train}.")


def _entry(path: str, found: Derivation, bare: bool = False) -> str:
    """Return an entry's number; angles in degrees."""
    value = found.entries[path]
    if _is_angle(path):
        return _plain(math.degrees(value)) + ("" if bare else " deg")
    return _plain(value)


def _is_angle(path: str) -> bool:
    return ".lean" in path or path.endswith((".arm_angle", ".axis.x", ".axis.y"))


def _unit(step: Step) -> str:
    unit = "degrees" if step.unit == "rad" else step.unit
    return f" [{unit}]" if unit else ""


def _shown(number: float, step: Step) -> str:
    return _plain(math.degrees(number) if step.unit == "rad" else number)


def _plain(number: float) -> str:
    text = f"{number + 0.0:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text
