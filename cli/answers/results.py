"""One answer as it is given to a program: a number with its doubt, limit and verdict, or what is missing for it.

Lengths in mm, angles in degrees, as in the JSON of the commands and under the same names.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from html import escape
from typing import Any

from ..page.wording import ESTIMATE, steady

SHOWN = {
    "mm": "mm",
    "deg": "deg",
    "cc": "cc",
    "n": "N",
    "n_per_mm": "N/mm",
    "mpa": "MPa",
    "rpm": "rpm",
    "k": "K",
    "kpa": "kPa",
    "g": "g",
}
COLUMNS = ("of", "answer", "value", "unit", "uncertainty", "verdict", "limit", "note")


@dataclass(frozen=True)
class Limit:
    """What a figure is held against."""

    least: float | None  # in the figure's unit
    most: float | None
    whose: str  # "yours", "common practice, set your own", ..., "the parts' own limit"


@dataclass(frozen=True)
class Result:
    """One answer of a job with its number.

    `uncertainty` is expanded, about 95 %, in `unit`; None where an entry that moves the answer has no ± (they stand in
    `without_doubt`), or where none is worked out: never nought. `verdict` is "ok", "tight", "short" or "unproved", None where no
    limit belongs to the answer. What looks wrong stands in `look_again`, and then no verdict is better than "unproved".
    `moved_by` says how much each entry moves it, in `unit` per mm, radian or plain number.
    """

    of: str  # "front.intake", "front"; two cylinders as "front, rear"
    answer: str  # its name in the commands' JSON, without the unit
    title: str  # in words
    value: float
    unit: str  # "mm", "deg", "cc", "n", "n_per_mm", "mpa", "rpm", "g"; nothing for a plain number
    uncertainty: float | None = (
        None  # expanded, about 95 %; None: an entry that moves it has no ±, or it is not worked out
    )
    verdict: str | None = None  # "ok", "tight", "short", "unproved"; None: no limit belongs to it
    limit: Limit | None = None
    at: float | None = None  # crank degrees from the cylinder's own top centre
    moved_by: Mapping[str, float] = field(default_factory=dict)  # entry → unit per mm, rad or plain number
    without_doubt: tuple[str, ...] = ()  # entries that move it and have no ±
    look_again: tuple[str, ...] = ()  # why something that was entered contradicts it
    note: str = ""  # what the number rests on, in words
    is_estimate: bool = False  # a pushrod's length that rests on coordinates alone: not for ordering

    def row(self) -> dict[str, Any]:
        """Return it as one row of a table."""
        least, most = (None, None) if self.limit is None else (self.limit.least, self.limit.most)
        return {
            "of": self.of,
            "answer": self.answer,
            "value": self.value,
            "unit": self.unit,
            "uncertainty": self.uncertainty,
            "verdict": self.verdict,
            "least": least,
            "most": most,
            "at_deg": self.at,
            "limit_is": "" if self.limit is None else self.limit.whose,
            "look_again": "; ".join(self.look_again),
            "without_doubt": ", ".join(self.without_doubt),
            "note": self._note(),
            "needs": "",
        }

    def _note(self) -> str:
        return "; ".join(one for one in (ESTIMATE if self.is_estimate else "", self.note) if one)

    def cells(self) -> tuple[str, ...]:
        """Return it as it is shown, a text for each of COLUMNS."""
        sure = "" if self.uncertainty is None else f"+/- {steady(self.uncertainty):.3f}"
        word = "LOOK AGAIN" if self.look_again and self.verdict != "short" else (self.verdict or "").upper()
        bounds = () if self.limit is None else (("at least", self.limit.least), ("at most", self.limit.most))
        limit = ", ".join(f"{which} {steady(one):.3f}" for which, one in bounds if one is not None)
        limit += f": {self.limit.whose}" if self.limit is not None else ""
        return (
            self.of,
            self.title,
            f"{steady(self.value):.3f}",
            SHOWN.get(self.unit, ""),
            sure,
            word,
            limit,
            self._note(),
        )

    def __str__(self) -> str:
        """Return it in a line."""
        of, title, value, unit, sure, word, limit, _ = self.cells()
        number = " ".join(one for one in (value, unit, sure) if one)
        if self.verdict == "unproved" and self.without_doubt:
            word += f", no ± for {', '.join(self.without_doubt[:3])}"
            word += f" and {len(self.without_doubt) - 3} more" if len(self.without_doubt) > 3 else ""
        said = (f"{of}, {title}: {number}", word, limit, self._note(), *self.look_again)
        return "; ".join(one for one in said if one)

    def _repr_html_(self) -> str:
        return table_html([self])


@dataclass(frozen=True)
class Missing:
    """One answer of a job that cannot be worked out yet."""

    of: str
    answer: str
    title: str
    needs: Mapping[str, tuple[str, ...]]  # route → the entries it still needs; none where no entry would help
    why: str = ""  # in words, where entries alone do not say it

    def row(self) -> dict[str, Any]:
        """Return it as one row of a table."""
        nothing = dict.fromkeys(("value", "unit", "uncertainty", "verdict", "least", "most", "at_deg"))
        empty = dict.fromkeys(("limit_is", "look_again", "without_doubt", "note"), "")
        return {"of": self.of, "answer": self.answer, **nothing, **empty, "needs": self._needs()}

    def _needs(self) -> str:
        routes = (", ".join(entries) for entries in self.needs.values() if entries)
        return "; ".join(one for one in (self.why, " or ".join(routes)) if one)

    def cells(self) -> tuple[str, ...]:
        """Return it as it is shown, a text for each of COLUMNS."""
        return self.of, self.title, "NOT KNOWN", "", "", "", "", f"needs {self._needs()}"

    def __str__(self) -> str:
        """Return it in a line."""
        return f"{self.of}, {self.title}: NOT KNOWN, needs {self._needs()}"

    def _repr_html_(self) -> str:
        return table_html([self])


class Results(tuple[Result | Missing, ...]):
    """Answers of a job, in the order of the screen."""

    __slots__ = ()

    def rows(self) -> list[dict[str, Any]]:
        """Return them as rows with the same columns, as libraries of tables take them."""
        return [one.row() for one in self]

    def __str__(self) -> str:
        """Return them a line each."""
        return "\n".join(map(str, self))

    def _repr_html_(self) -> str:
        return table_html(self)


def table_html(results: Iterable[Result | Missing]) -> str:
    """Return answers as a table of HTML, everything in it escaped."""
    head = "".join(f"<th>{name}</th>" for name in COLUMNS)
    told = tuple(results)
    rows = ("".join(f"<td>{escape(cell)}</td>" for cell in one.cells()) for one in told)
    body = "".join(f"<tr>{row}</tr>" for row in rows)
    why = dict.fromkeys(each for one in told if isinstance(one, Result) for each in one.look_again)
    again = "".join(f"<p>LOOK AGAIN: {escape(one)}</p>" for one in why)
    return f"{again}<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
