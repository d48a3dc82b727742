"""What a job file says, as one flat mapping of entries.

The file, --with, like and mirror all do the same: they put entries into the mapping. Each entry
keeps how it was typed, its doubt, where it stands in the file, and which entry it follows when it
is a copy.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from tallstack.geometry.core.mapping import ANGLES
from tallstack.geometry.doubt.budget import Doubt

from .entries.fields import Kind, Quantity, Ways, did_you_mean
from .faults import Fault, Loc
from .reading.document import OF_A_PLUNGER, Gear, Leaf
from .reading.values import Blank, Dimension, Value

AS = "as "  # how the origin of an entry begins that was taken from another one
READINGS = ("measured_pushrod", "measured_drop")  # of one valve gear alone: never copied by like

ABOUT_AN_AXIS = (
    "rocker.adjuster.eccentric_at",
    "rocker.direction.around",
)  # angles about a direction: a mirror reverses how they count
# Writing the entry on the left over a copied one does away with the copied ones on the right: they
# say the same thing in another way. Beside one that is written they have to agree, see `tried`.
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
    "measured_pushrod.checking_rod.closed": ("measured_pushrod.length",),
    "measured_pushrod.checking_rod.turns": ("measured_pushrod.length",),
    "measured_pushrod.checking_rod.pitch": ("measured_pushrod.checking_rod.threads_per_inch",),
    "measured_pushrod.checking_rod.threads_per_inch": ("measured_pushrod.checking_rod.pitch",),
    "measured_pushrod.plunger": ("measured_pushrod.plunger",),
    "measured_pushrod.plunger.down": ("measured_pushrod.plunger",),
    "measured_pushrod.lean": ("measured_pushrod.lean",),
    "stack.case_deck": ("stack.measured_deck",),
    "stack.measured_deck.below": ("stack.case_deck",),
    "lifter.kind": ("lifter.preload", "lifter.plunger_travel", "lifter.lash", "lifter.lash_at"),
}

OTHER_KIND = {  # kind of lifter → what is of the other kind alone
    "solid": ("lifter.preload", "lifter.plunger_travel"),
    "hydraulic": ("lifter.lash", "lifter.lash_at"),
}
SWITCH = "lifter.kind"  # what it does away with belongs to the other kind

DIRECTIONS = ("rocker.direction", "intake_face.normal", "exhaust_face.normal")
for _one in DIRECTIONS:
    REPLACES[_one] = tuple(f"{_one}.{angle}" for angle in ANGLES)
    for _angle in ANGLES:
        REPLACES[f"{_one}.{_angle}"] = tuple(f"{_one}.{axis}" for axis in "xyz")

for _one in ("", "0.", "1.", "2.", "3."):  # a spring that stands alone, and nested ones
    REPLACES[f"spring.{_one}rate"] = tuple(
        f"spring.{_one}{part}" for part in ("wire", "mean_diameter", "active_coils", "force", "force_at")
    )


class Entry(NamedTuple):
    """One entry of the mapping."""

    value: float | str  # mm, rad, mm³ or plain; or a word
    kind: Kind  # what it means
    typed: str  # as the user wrote it
    loc: Loc  # where the value it came from stands in the document
    doubt: Doubt | None = None
    origin: str = ""  # how it got here when it was not written: "like front.intake", "--with"
    follows: str = ""  # path of the entry it copies
    sign: float = 1.0  # of the copy: -1 where mirrored
    by: str = ""  # the instrument that it was read with
    note: str = ""  # what its doubt rests on, where that is not seen from how it was typed

    @property
    def is_taken(self) -> bool:
        """Whether nobody wrote it: a reading, or a mirrored part, took it from another entry."""
        return self.origin.startswith(AS)

    def taken_from(self, source: str, more: str = "") -> Entry:
        """Return it as taken from an entry of the engine; more : to say of that."""
        return self._replace(origin=f"{AS}{source}{more}", follows=source)

    @property
    def source(self) -> str:
        """The entry that it is a copy of, or where it was taken from."""
        return self.follows or self.origin.removeprefix(AS)


class Open(NamedTuple):
    """An entry left blank."""

    path: str
    kind: Kind
    loc: Loc


Entries = dict[str, Entry]


def written(leaves: Iterable[Leaf]) -> tuple[Entries, list[Open]]:
    """Return the entries that the file itself holds, and those left blank."""
    entries: Entries = {}
    blanks: list[Open] = []
    for leaf in leaves:
        if isinstance(leaf.value, Blank):
            blanks.append(Open(leaf.path, leaf.kind, leaf.loc))
        else:
            entries.update(entries_for(leaf.path, leaf.kind, leaf.value, leaf.loc))
    return entries, blanks


def entries_for(path: str, kind: Kind, value: object, loc: Loc, origin: str = "") -> Entries:
    """Return the entry, or one for each component of a row."""
    if isinstance(value, tuple):
        return {
            f"{path}.{axis}": _entry(kind, one, (*loc, index) if not origin else loc, origin)
            for index, (axis, one) in enumerate(zip("xyz", value, strict=False))
        }
    if isinstance(value, Value) and value.under and isinstance(kind, Ways):
        path, kind = f"{path}.{value.under}", kind.way(value.under) or kind
    return {path: _entry(kind, value, loc, origin)}


def _entry(kind: Kind, value: object, loc: Loc, origin: str) -> Entry:
    if isinstance(value, Value):
        return Entry(value.number, kind, value.typed, loc, value.doubt, origin, by=value.by, note=value.note)
    return Entry(str(value), kind, str(value), loc, None, origin)


def override(entries: Entries, prefix: str, own: Mapping[str, Entry]) -> Entries:
    """Return entries with others laid over them; another way to say a thing does away with the first.

    prefix : what stands before the entry's name in every path of `own`
    """
    gone: list[str] = []
    for path, entry in own.items():
        name = path.removeprefix(prefix)
        stem = name.rpartition(".")[0] if name.endswith((".x", ".y", ".z")) else name
        if stem == SWITCH and entries.get(path, entry).value == entry.value:
            continue
        gone += [prefix + one for one in REPLACES.get(stem, ())]
    kept = {
        path: entry
        for path, entry in entries.items()
        if path in own or not any(path == one or path.startswith(one + ".") for one in gone)
    }
    return {**kept, **own}


def tried(entries: Entries, prefix: str, own: Mapping[str, Entry]) -> Entries:
    """Return entries with those of --with laid over them, as if the file said them too.

    Another way to say a thing stands beside the first and has to agree with it. A word for a number, or one angle for
    two views, is the same entry; and another kind of lifter has other wishes.
    """
    names = [path.removeprefix(prefix) for path in own]
    if any(one != SWITCH and one.partition(".")[0] != "spring" and not _same_entry(one) for one in names):
        return {**entries, **own}
    return override(entries, prefix, own)


def _same_entry(name: str) -> bool:
    """Say whether all that an entry does away with is itself, written in another form."""
    stem = name.rpartition(".")[0] if name.endswith((".x", ".y", ".z")) else name
    if stem in DIRECTIONS or stem.rpartition(".")[0] in DIRECTIONS:
        return True
    return all(stem == one or stem.startswith(f"{one}.") for one in REPLACES.get(stem, ()))


def copied(entries: Entries, gears: Sequence[Gear]) -> tuple[Entries, list[Fault]]:
    """Return the entries with every `like` and `mirror` carried out, and what is wrong with them."""
    trains: dict[str, Gear] = {}
    for gear in gears:
        trains.setdefault(gear.name, gear)
    faults: dict[str, Fault] = {}
    done: dict[str, Entries] = {}

    def resolve(name: str, seen: tuple[str, ...]) -> Entries:
        if name in done:
            return done[name]
        gear = trains[name]
        result = {path: entry for path, entry in entries.items() if path.startswith(f"{name}.")}
        problem = _like_problem(gear, trains, seen)
        if problem:
            key = "like" if gear.like is not None else "mirror"
            words = f"valve gear, {gear.cylinder} {gear.port}: {key}"
            faults[name] = Fault(("train", gear.row, key), words, problem)
        elif gear.like in trains:
            base = _copy(resolve(gear.like, (*seen, name)), gear.like, name, gear.mirror)
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
    return rest, list(faults.values())


def _like_problem(gear: Gear, trains: Mapping[str, Gear], seen: tuple[str, ...]) -> str:
    name, like = gear.name, gear.like
    if like is None:
        return "mirror of nothing; add like = the valve gear to copy" if gear.mirror else ""
    if like == name:
        return f'"{like}" is this valve gear itself; name another'
    if like in seen:
        ring = (*seen[seen.index(like) :], name, like)
        return f"a ring: {' is like '.join(ring)}; one of them must be written out"
    if like in trains or not all(one.sure for one in trains.values()):
        return ""
    shown = ", ".join(one for one in trains if one != name) or "none besides this one"
    return f'"{like}": no such valve gear{did_you_mean(like, [one for one in trains if one != name]) or f"; there are {shown}"}'


def _copy(source: Entries, like: str, name: str, mirror: bool) -> Entries:
    result: Entries = {}
    for path, entry in source.items():
        tail = path.removeprefix(f"{like}.")
        if tail.startswith(READINGS):
            continue
        sign = -1.0 if mirror and (tail.endswith(".x") or tail in ABOUT_AN_AXIS) else 1.0
        value = sign * entry.value + 0.0 if isinstance(entry.value, float) else entry.value
        result[f"{name}.{tail}"] = entry._replace(
            value=value,
            origin=f"like {like}" + (", mirrored" if sign < 0 else ""),
            follows=entry.follows or path,
            sign=sign * entry.sign,
        )
    return result


def without_plunger(names: Sequence[str], kinds: Sequence[object]) -> tuple[str, ...]:
    """Return names of entries, without those of a plunger where every lifter is solid; kinds : of the lifters."""
    solid = bool(kinds) and all(one == "solid" for one in kinds)
    return tuple(one for one in names if not solid or not any(part in one for part in OF_A_PLUNGER))


def is_nothing(entry: Entry) -> bool:
    """Say whether an entry says that something is not there: a length of exactly 0."""
    length = isinstance(entry.kind, Quantity) and entry.kind.dimension is Dimension.LENGTH
    return length and entry.value == 0.0 and entry.doubt is None


def is_reading(entry: Entry) -> bool:
    """Say whether an entry was measured and so could carry a doubt; a wish or a word could not."""
    return entry.kind.is_measured and not isinstance(entry.value, str)
