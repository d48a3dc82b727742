"""The few ways a geometry can be refused, each carrying its numbers.

A batch never raises for one bad element: there the element is NaN beside a negative `reach`.
These errors are for a description that cannot be used at all, or for a single answer that
does not exist. The sentence says quantity, value with unit, limit and remedy; whoever read
the entries adds where they were written.
"""

from __future__ import annotations


class GeometryError(ValueError):
    """The described engine has no such answer; the sentence says why and what to change."""


class MissingEntryError(GeometryError):
    """An answer needs entries that were not given.

    routes : for each way to the answer, the entries it still lacks
    """

    def __init__(self, answer: str, routes: dict[str, tuple[str, ...]]) -> None:
        self.answer = answer
        self.routes = routes
        ways = "; or ".join(f"{way}: {', '.join(lacks)}" for way, lacks in routes.items())
        super().__init__(f"{answer} needs {ways}")


class DisagreementError(GeometryError):
    """Two ways to say one thing were both given and do not say the same.

    entries : the two entry paths
    numbers : what each says of the one quantity, in its unit
    """

    def __init__(self, quantity: str, entries: tuple[str, str], numbers: tuple[str, str]) -> None:
        self.quantity = quantity
        self.entries = entries
        self.numbers = numbers
        super().__init__(
            f"{quantity}: {entries[0]} says {numbers[0]}, {entries[1]} says {numbers[1]}; "
            f"keep the one you measured and leave the other out"
        )


class UnreachableError(GeometryError):
    """The parts cannot be put together, or come apart within the motion asked for.

    margin_mm : how far they miss each other, negative
    """

    def __init__(self, sentence: str, margin_mm: float) -> None:
        self.margin_mm = margin_mm
        super().__init__(sentence)
