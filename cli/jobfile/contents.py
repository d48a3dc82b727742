"""What a job file says, as one flat mapping of entries.

The file, --with, like and mirror all do the same: they put entries into the mapping. Each entry
keeps how it was typed, its doubt, where it stands in the file, and which entry it follows when it
is a copy.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tallstack.cli.jobfile.catalogue import kind_in
from tallstack.cli.jobfile.faults import Fault, Loc
from tallstack.cli.jobfile.fields import Choice, FileName, Kind, Parts, Quantity
from tallstack.cli.jobfile.model import Job, Table
from tallstack.cli.jobfile.values import Blank, Value
from tallstack.geometry.doubt.budget import Doubt

READINGS = ("measured_pushrod", "measured_drop")  # of one valve gear alone: never copied by like

# Writing the entry on the left over a copied one does away with the copied ones on the right: they
# say the same thing in another way.
REPLACES: dict[str, tuple[str, ...]] = {
    "rocker.ratio": ("rocker.pushrod_arm", "rocker.cup"),
    "rocker.pushrod_arm": ("rocker.ratio", "rocker.cup"),
    "rocker.pushrod_station": ("rocker.cup",),
    "rocker.arm_angle": ("rocker.span", "rocker.arms", "rocker.cup"),
    "rocker.span": ("rocker.arm_angle", "rocker.cup"),
    "rocker.cup": (
        "rocker.pushrod_arm",
        "rocker.ratio",
        "rocker.arm_angle",
        "rocker.span",
        "rocker.arms",
        "rocker.pushrod_station",
    ),
    "rocker.adjuster.pitch": ("rocker.adjuster.threads_per_inch",),
    "rocker.adjuster.threads_per_inch": ("rocker.adjuster.pitch",),
    "valve.length": ("valve.tip_height",),
    "valve.tip_height": ("valve.length",),
    "pocket.centre": ("pocket.deepest",),
    "pocket.deepest": ("pocket.centre",),
    "measured_pushrod.length": ("measured_pushrod.checking_rod",),
    "measured_pushrod.plunger": ("measured_pushrod.plunger",),
    "measured_pushrod.lean": ("measured_pushrod.lean",),
    "stack.case_deck": ("stack.measured_deck",),
    "stack.measured_deck.below": ("stack.case_deck",),
    "lifter.kind": ("lifter.preload", "lifter.plunger_travel", "lifter.lash", "lifter.lash_at"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the mapping."""

    value: float | str  # mm, rad, mm³ or plain; or a word
    kind: Kind  # what it means
    typed: str  # as the user wrote it
    loc: Loc  # where the value it came from stands in the document
    doubt: Doubt | None = None
    origin: str = ""  # how it got here when it was not written: "like front.intake", "--with"
    follows: str = ""  # path of the entry it copies
    sign: float = 1.0  # of the copy: -1 where mirrored


@dataclass(frozen=True, slots=True)
class Open:
    """An entry left blank."""

    path: str
    kind: Kind
    loc: Loc


Entries = dict[str, Entry]


def written(job: Job) -> tuple[Entries, list[Open]]:
    """Return the entries that the file itself holds, and those left blank."""
    entries: Entries = {}
    blanks: list[Open] = []
    for path, kind, value, loc in _leaves(job):
        if isinstance(value, Blank):
            blanks.append(Open(path, kind, loc))
        else:
            entries.update(entries_for(path, kind, value, loc))
    return entries, blanks


def entries_for(path: str, kind: Kind, value: object, loc: Loc, origin: str = "") -> Entries:
    """Return the entry, or one for each component of a row."""
    if isinstance(value, tuple):
        return {
            f"{path}.{axis}": _entry(kind, one, (*loc, index) if not origin else loc, origin)
            for index, (axis, one) in enumerate(zip("xyz", value, strict=False))
        }
    return {path: _entry(kind, value, loc, origin)}


def _entry(kind: Kind, value: object, loc: Loc, origin: str) -> Entry:
    if isinstance(value, Value):
        return Entry(value.number, kind, value.typed, loc, value.doubt, origin)
    return Entry(str(value), kind, str(value), loc, None, origin)


def _leaves(job: Job) -> Iterator[tuple[str, Kind, object, Loc]]:
    """Yield path, meaning, value and place of every entry that was written."""
    for name in ("crank", "piston", "stack", "chamber", "cam", "targets"):
        yield from _table(getattr(job, name), f"{name}.", (name,))
    for name, lobe in job.lobe.items():
        yield from _table(lobe, f"lobe.{name}.", ("lobe", name))
    for index, cylinder in enumerate(job.cylinder):
        yield from _table(cylinder, f"{cylinder.name}.", ("cylinder", index), ("name",))
    for index, train in enumerate(job.train):
        prefix = f"{train.cylinder}.{train.port}."
        yield from _table(train, prefix, ("train", index), ("cylinder", "port", "like", "mirror"))


def _table(
    table: Table | None, prefix: str, loc: Loc, without: tuple[str, ...] = ()
) -> Iterator[tuple[str, Kind, object, Loc]]:
    if table is None:
        return
    for name, info in type(table).model_fields.items():
        value = getattr(table, name)
        key = info.alias or name
        if key in without or value is None:
            continue
        kinds = [one for one in info.metadata if isinstance(one, Kind)]
        yield from _value(value, kinds[0] if kinds else None, prefix + key, (*loc, key), info.annotation)


def _value(
    value: object, kind: Kind | None, path: str, loc: Loc, annotation: Any
) -> Iterator[tuple[str, Kind, object, Loc]]:
    if isinstance(value, Table):
        yield from _table(value, f"{path}.", loc)
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from _value(item, kind, f"{path}.{index}", (*loc, index), annotation)
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _value(item, kind, f"{path}.{key}", (*loc, key), annotation)
    else:
        yield path, kind or kind_in(annotation), value, loc


def override(entries: Entries, prefix: str, own: Mapping[str, Entry]) -> Entries:
    """Return entries with others laid over them; another way to say a thing does away with the first.

    prefix : what stands before the entry's name in every path of `own`
    """
    gone: list[str] = []
    for path, entry in own.items():
        name = path.removeprefix(prefix)
        stem = name.rpartition(".")[0] if name.endswith((".x", ".y", ".z")) else name
        if stem == "lifter.kind" and entries.get(path, entry).value == entry.value:
            continue
        gone += [prefix + one for one in REPLACES.get(stem, ())]
    kept = {
        path: entry
        for path, entry in entries.items()
        if path in own or not any(path == one or path.startswith(one + ".") for one in gone)
    }
    return {**kept, **own}


def copied(entries: Entries, job: Job) -> tuple[Entries, list[Fault]]:
    """Return the entries with every `like` and `mirror` carried out, and what is wrong with them."""
    trains = {f"{train.cylinder}.{train.port}": (index, train) for index, train in enumerate(job.train)}
    faults: list[Fault] = []
    done: dict[str, Entries] = {}

    def own(name: str) -> Entries:
        return {path: entry for path, entry in entries.items() if path.startswith(f"{name}.")}

    def resolve(name: str, seen: tuple[str, ...]) -> Entries:
        if name in done:
            return done[name]
        index, train = trains[name]
        like = train.like if isinstance(train.like, str) else None
        result = own(name)
        problem = _like_problem(name, like, bool(train.mirror), trains, seen)
        if problem:
            key = "like" if like is not None else "mirror"
            words = f"valve gear, {name.replace('.', ' ')}: {key}"
            faults.append(Fault(("train", index, key), words, problem))
        elif like is not None:
            base = _copy(resolve(like, (*seen, name)), like, name, bool(train.mirror))
            result = override(base, f"{name}.", result)
        done[name] = result
        return result

    rest = {
        path: entry
        for path, entry in entries.items()
        if not any(path.startswith(f"{name}.") for name in trains)
    }
    for name in trains:
        rest.update(resolve(name, ()))
    return rest, faults


def _like_problem(
    name: str, like: str | None, mirror: bool, trains: Mapping[str, object], seen: tuple[str, ...]
) -> str:
    from tallstack.cli.jobfile.fields import did_you_mean

    if like is None:
        return "mirror of nothing; add like = the valve gear to copy" if mirror else ""
    if like == name:
        return f'"{like}" is this valve gear itself; name another'
    if like not in trains:
        shown = ", ".join(one for one in trains if one != name) or "none besides this one"
        return f'"{like}": no such valve gear{did_you_mean(like, tuple(trains)) or f"; there are {shown}"}'
    if like in seen:
        return f"a ring: {' is like '.join((*seen, name, like))}; one of them must be written out"
    return ""


def _copy(source: Entries, like: str, name: str, mirror: bool) -> Entries:
    result: Entries = {}
    for path, entry in source.items():
        tail = path.removeprefix(f"{like}.")
        if tail.startswith(READINGS):
            continue
        sign = -1.0 if mirror and tail.endswith(".x") else 1.0
        value = sign * entry.value + 0.0 if isinstance(entry.value, float) else entry.value
        result[f"{name}.{tail}"] = replace(
            entry,
            value=value,
            origin=f"like {like}" + (", mirrored" if sign < 0 else ""),
            follows=entry.follows or path,
            sign=sign * entry.sign,
        )
    return result


def is_reading(entry: Entry) -> bool:
    """Say whether an entry was measured and so could carry a doubt; a wish or a word could not."""
    if isinstance(entry.kind, Quantity):
        return not entry.kind.wish
    return isinstance(entry.kind, Parts) and not isinstance(entry.value, str)


def is_word(entry: Entry) -> bool:
    """Say whether an entry is a word, a name or a file."""
    return isinstance(entry.value, str) or isinstance(entry.kind, (Choice, FileName))
