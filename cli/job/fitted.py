"""A job with the pushrods from its shelf in it: what they give stands in place of what is wanted.

A fixed pushrod gives the preload that its length gives, an adjustable one that of the nearest flat. Where lifters are pumped
up, hot or on their bottom, what is fitted counts and no wish: every answer but the choice itself is of that engine.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from .job import Job
from .readings import Laid

if TYPE_CHECKING:
    from tallstack.geometry.pushrod.shelf import Chosen

J = TypeVar("J", bound=Job)
SAME_MM = 1e-6
TOLD_MM = 0.01  # by which a setting differs before it is said


def fitted(job: J, chosen: Chosen | None) -> J:
    """Return a job as its readings leave it, with what the pushrods give that were chosen for it; None: as it is wanted."""
    moves: dict[str, float] = {}
    told: dict[str, list[str]] = {}
    apart = 0.0
    for one in () if chosen is None else chosen.offers:
        for what, given in (("preload", one.preload), ("lash", one.lash)):
            path = f"{one.train}.lifter.{what}"
            wanted = job.mapping.get(path)
            if given is None or not isinstance(wanted, float) or abs(given - wanted) <= SAME_MM:
                continue
            moves[path] = given - wanted + job.moves.get(path, 0.0)
            apart = max(apart, abs(given - wanted))
            told.setdefault(what, []).append(f"{one.train.replace('.', ' ')} {_shown(given, job.units)}")
    if not moves:
        return job
    said = [f"{what} as the shelf's pushrods give it, {', '.join(each)}" for what, each in told.items()]
    said = said if apart > TOLD_MM else []
    found = job.moved({**job.moves, **moves}).saying(*said)
    laid = job.known_laid
    return found if laid is None else found._replace(known_laid=Laid(found, *laid[1:]))


def _shown(value: float, units: str) -> str:
    from ..page.wording import in_one

    return in_one(value, units)


def from_its_shelf(job: J, shelf: Path | None) -> J:
    """Return a job as its readings leave it, with the set of pushrods that a shelf holds for it; a faulty one raises InputFaultsError."""
    if shelf is None:
        return job
    from tallstack.geometry.pushrod.shelf import best_set, offers

    from ..tables.shelf import load_shelf

    rods = load_shelf(shelf, job.units)
    offered = {order.train.name: offers(order, rods) for order in job.orders}
    return fitted(job, best_set(offered, {rod.label: rod.count for rod in rods}))
