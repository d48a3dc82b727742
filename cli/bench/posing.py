"""Which drawing a screen shows, and what stands in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tallstack.geometry.engine.before import BEFORE
from tallstack.geometry.pushrod.ordering import Order

from ..job.block import is_block
from ..job.job import Job
from ..page.order_words import cells, in_a_word
from ..page.wording import in_one
from .fields import Field, Shown
from .places import cylinders, rows_of, trains
from .poses.drawn import Pose, Spot, pose
from .screens import CAM, DROP, GEARS, ROD, SET, STACK, Screen
from .setting import cylinder_of, places, stands_at
from .view import lacking

STOPPED = ("SHORT", "LOOK AGAIN", "CANNOT BE ASSEMBLED")


def posed(
    screen: Screen,
    owner: str,
    of: Shown,
    fields: Sequence[Field],
    orders: Sequence[Order],
    curves: Mapping[str, Sequence[tuple[float, float]]],
) -> Pose | None:
    """Return the drawing of a screen, None where it has none.

    curves : lobe → its lift in mm over crank degrees, as it was last told
    """
    if not screen.pose:
        return None
    spots = {_own(one): Spot(one.key, one.letter, one.shown, one.state) for one in fields}
    facts = FACTS[screen.key](owner, of, orders)
    return pose(screen.pose, spots, {**facts, "curve": curves.get(owner, ())} if screen is CAM else facts)


def _own(one: Field) -> str:
    """Return an entry without its owner, as a drawing knows it."""
    plain = [str(step) for step in one.loc if not isinstance(step, int)]
    if plain[0] in ("train", "cylinder"):
        plain = plain[1:]
    elif plain[0] == "lobe":
        plain = plain[2:]
    return ".".join(plain)


def _of_stack(owner: str, of: Shown, orders: Sequence[Order]) -> dict[str, Any]:
    job = of.job
    then = "as it was" if BEFORE in of.plain else ""
    return {"block": job is not None and is_block(job), "then": then, "sum": _grown(job)}


def _grown(job: Job | None) -> str:
    """Return by how much the stack differs from the one before, part by part, in words; nothing where that is not known."""
    if job is None or BEFORE not in job.source:
        return ""
    now, parts = job.mapping, []
    total = 0.0
    for name, sign in (
        ("base_gasket", 1),
        ("cylinder", 1),
        ("head_gasket", 1),
        ("case_cut", -1),
        ("head_cut", -1),
    ):
        was, there = now.get(f"{BEFORE}.stack.{name}"), now.get(f"stack.{name}")
        if not isinstance(was, float) or not isinstance(there, float):
            continue
        differs = sign * (there - was)
        if differs:
            parts.append(("+" if differs > 0 else "-") + in_one(abs(differs), job.units).split()[0])
            total += differs
    if not parts:
        return ""
    return f"{' '.join(parts)} = {in_one(abs(total), job.units)} {'taller' if total >= 0 else 'shorter'}"


def _of_gears(owner: str, of: Shown, orders: Sequence[Order]) -> dict[str, Any]:
    by_name = {one.train.name: one for one in orders}
    rows = rows_of(of.plain, "cylinder")
    leans = [None if of.job is None else of.job.mapping.get(f"{row.get('name')}.lean") for row in rows]
    return {
        "cylinders": [
            {"name": name, "lean": None if lean is None else float(lean) * 57.29577951308232}
            for name, lean in zip(cylinders(of.plain), leans, strict=True)
        ],
        "gears": [_gear(name, by_name.get(name), of) for name in trains(of.plain)],
    }


def _gear(name: str, order: Order | None, of: Shown) -> dict[str, Any]:
    cylinder, _, port = name.rpartition(".")
    said, state, lacks = "", "empty", ""
    if order is not None and of.job is not None:
        shown = cells(order, of.job.units)
        said = shown.both[0].shown() if shown.both else ""
        missing = lacking(order, of) if order.required is None else ()
        lacks = f"lacks {missing[0]}" if missing else ""
        begun = any(path.startswith(f"{name}.measured_pushrod.") for path in of.job.entries)
        stopped = in_a_word(order, shown) in STOPPED
        state = "stop" if stopped else "full" if said else "half" if begun else "empty"
    return {
        "key": f"gear-{name}",
        "cylinder": cylinder,
        "port": port,
        "said": said,
        "state": state,
        "lacks": lacks,
    }


def _of_rod(owner: str, of: Shown, orders: Sequence[Order]) -> dict[str, Any]:
    job = of.job
    if job is None:
        return {}

    def word(entry: str) -> str:
        return str(job.mapping.get(f"{owner}.{entry}", ""))

    order = next((one for one in orders if one.train.name == owner), None)
    both = () if order is None else cells(order, job.units).both
    return {
        "solid": word("lifter.kind") == "solid",
        "as": word("measured_pushrod.as"),
        "plunger": word("measured_pushrod.plunger"),
        "length": both[0].shown() if both else "",
    }


def _of_drop(owner: str, of: Shown, orders: Sequence[Order]) -> dict[str, Any]:
    return {"meets": "" if of.job is None else str(of.job.mapping.get(f"{owner}.measured_drop.meets", ""))}


def _of_lobe(owner: str, of: Shown, orders: Sequence[Order]) -> dict[str, Any]:
    lobe = of.plain.get("lobe")
    here = lobe.get(owner, {}) if isinstance(lobe, Mapping) else {}
    route = next((one for one in ("card", "table") if one in here), "")
    return {"route": route}


def _of_crank(owner: str, of: Shown, orders: Sequence[Order]) -> dict[str, Any]:
    if of.job is None:
        return {"cylinder": owner.partition(".")[0]}
    cylinder = cylinder_of(owner, of.job)
    one = places(of.job).get(cylinder)
    if one is None:
        return {"cylinder": cylinder}
    at = stands_at(one)
    return {"cylinder": cylinder, "at": at, "words": "" if at else "compression top centre"}


FACTS = {
    STACK.key: _of_stack,
    GEARS.key: _of_gears,
    ROD.key: _of_rod,
    DROP.key: _of_drop,
    CAM.key: _of_lobe,
    SET.key: _of_crank,
}
