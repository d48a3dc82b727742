"""What one job does to the pushrods of another, cause by cause, for a program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape
from typing import TYPE_CHECKING, Any

from tallstack.geometry.pushrod.swap import swap

from ..job.earlier import earlier
from ..job.readings_kept import readings_kept
from ..page.wording import ESTIMATE, steady

if TYPE_CHECKING:
    from ..job.job import Job


@dataclass(frozen=True)
class Change:
    """One valve gear's pushrod in two jobs, mm; what is not known is None."""

    of: str
    answer: str  # the convention in which both lengths count
    before: float | None
    after: float | None
    causes: Mapping[str, float] = field(
        default_factory=dict
    )  # cause → by how much; they add up to the change
    why: str = ""  # in words, where there is no comparison
    look_again: tuple[str, ...] = ()  # why something that was entered in either job contradicts it
    is_estimate: bool = False  # a length that rests on coordinates alone: not for ordering

    @property
    def change(self) -> float | None:
        """How much longer it becomes [mm]."""
        return None if self.before is None or self.after is None else self.after - self.before

    def row(self) -> dict[str, Any]:
        """Return it as one row of a table."""
        known = {"before": self.before, "after": self.after, "change": self.change}
        said = {
            "why": self.why,
            "look_again": "; ".join(self.look_again),
            "note": ESTIMATE if self.is_estimate else "",
        }
        return {"of": self.of, "answer": self.answer, **known, **self.causes, **said}

    def __str__(self) -> str:
        """Return it in a line."""
        if self.change is None:
            return f"{self.of}: NOT COMPARED: {self.why}"
        told = ", ".join(f"{cause} {steady(by):+.3f}" for cause, by in self.causes.items())
        told = f"{self.of}, {self.answer}: {steady(self.change):+.3f} mm{f': {told}' if told else ''}"
        again = tuple(f"LOOK AGAIN: {one}" for one in self.look_again)
        return "; ".join((told, *((ESTIMATE,) if self.is_estimate else ()), *again))


class Changes(tuple[Change, ...]):
    """What becomes of every pushrod."""

    __slots__ = ()

    def rows(self) -> list[dict[str, Any]]:
        """Return them as rows with the same columns, 0 for a cause that does nothing to one."""
        causes = dict.fromkeys(cause for one in self for cause in one.causes)
        return [{**one.row(), **{cause: one.causes.get(cause, 0.0) for cause in causes}} for one in self]

    def __str__(self) -> str:
        """Return them a line each."""
        return "\n".join(map(str, self))

    def _repr_html_(self) -> str:
        return "".join(f"<p>{escape(str(one))}</p>" for one in self)


def changes(before: Job | None, after: Job) -> Changes:
    """Return what going from one job to another does to every pushrod that both have.

    before : None takes what the job itself says of what stood before

    Raises:
        ValueError: where it says nothing of that.
    """
    after = after.at_hand
    before = earlier(after, before)
    if before is None:
        message = (
            f"{after.path} says nothing of what stood before: give the job before it, or write [before] in it"
        )
        raise ValueError(message)
    before = before.at_hand
    kept, _ = readings_kept(after, before)
    again: dict[str, dict[str, None]] = {}
    estimates = set()
    for order in (*before.orders, *after.orders):
        again.setdefault(order.train.name, {}).update(dict.fromkeys(order.look_again))
        if order.is_estimate:
            estimates.add(order.train.name)
    found = []
    for name in dict.fromkeys((*before.names["trains"], *after.names["trains"])):
        one = swap(before.mapping, kept, name)
        causes = {part.cause: part.change for part in one.parts}
        found.append(
            Change(
                name,
                one.convention,
                one.before.length,
                one.after.length,
                causes,
                one.why_not,
                tuple(again[name]),
                name in estimates,
            )
        )
    return Changes(found)
