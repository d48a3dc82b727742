"""What contradicts in what a lobe was read with, and what rides on it in the engine."""

from __future__ import annotations

from collections.abc import Iterator

from tallstack.geometry.core.mapping import Flat, Reader, names

from ..faults import Fault
from .one_lobe import OneLobe

OF_READING = ("read_with", "read_offset", "base_radius", "ground_for")
HEEL = (
    "missing; reading a lobe through another follower needs the heel's radius: measure across nose and heel, take off "
    "the peak lift, halve it"
)


def of_followers(lobe: OneLobe, way: str, mapping: Flat) -> Iterator[Fault]:
    """Yield what contradicts in the followers of one lobe that comes one way."""
    said = [one for one in OF_READING if lobe.has(one)]
    if not said:
        return
    if way != "table":
        found = f"{said[0]} says how a table was read, and this lobe has a {way}"
        yield from lobe.fault(found, "leave it out", _path(lobe, said[0]))
        return
    if lobe.word("measured_at") == "valve":
        found = "lifts at the valve already went through the engine's own follower"
        yield from lobe.fault(found, "leave it out", _path(lobe, said[0]), "measured_at")
        return
    if lobe.number("read_with.tip") is not None and lobe.number("read_with.roller") is not None:
        yield from lobe.fault(
            "a tip and a roller are both given", "it was read with one", "read_with.tip", "read_with.roller"
        )
        return
    if not lobe.has("read_with") or lobe.word("read_with").startswith("the engine"):
        if lobe.number("read_offset") is not None:
            found = "belongs to a follower that is not the engine's own"
            yield from lobe.fault(f"read_offset {found}", "say read_with, or leave it out", "read_offset")
        return
    if lobe.number("base_radius") is None:
        yield from lobe.lacking("", "base_radius", HEEL, _path(lobe, "read_with"))
        return
    from tallstack.geometry.cam.read import Riding, refusal, riding

    name, job = lobe.path.partition(".")[2], Reader(mapping, ("",))
    for train in names(mapping, "trains"):
        if mapping.get(f"{train}.lobe", train.rpartition(".")[2]) != name:
            continue
        followers = riding(job, train, name)
        why = refusal(followers) if isinstance(followers, Riding) else None
        if why is not None:
            yield from lobe.fault(*why, _path(lobe, "read_with"))


def _path(lobe: OneLobe, entry: str) -> str:
    """Return the entry, or the first that stands in its table."""
    stem = f"{lobe.path}.{entry}"
    found = (path for path in lobe.entries if path == stem or path.startswith(f"{stem}."))
    return next(found, stem).removeprefix(f"{lobe.path}.")
