"""What readings say of the stacks they were taken on that cannot be, or that says less than the job knows; never a fault.

A part that a reading's own stack leaves out is taken to be the one of now, and cancels: the answer moves, and becomes
surer, because something was left out. That is right where nothing else was in place. Where the job itself names another
one, before or under another reading, leaving it out is not the same as saying that it is unchanged.

Metal that was gone when a reading was taken is gone now.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from tallstack.geometry.engine.before import BEFORE, NOW, ON, STEM
from tallstack.geometry.engine.defaults import CUTS, PARTS, SINCE, STACK

from ..checks.words import in_both_units
from ..contents import Entries, Entry
from ..entries.fields import listed
from ..entries.meanings import called_together
from ..look_again import LookAgain
from ..stood import CALLED

SAME_MM = 1e-6
SAME_CUT_MM = 0.013  # 0.0005 in: two readings of one cut differ by as much
CARRIED = (*STACK, "case_deck")  # what rests on a cut that is not entered rests on one of these


class Read(NamedTuple):
    """One reading that may say on which stack it was taken."""

    stem: str  # its table
    name: str  # as a person says it
    train: str  # or cylinder, at which it was taken
    entries: dict[
        str, Entry
    ]  # what it was taken on, and what had been moved, by the engine's names; taken ones too

    @property
    def cylinder(self) -> str:
        """The cylinder it was taken at."""
        return self.train.partition(".")[0]

    def said(self) -> tuple[str, ...]:
        """Return the parts of its stack that somebody wrote."""
        return tuple(
            part
            for part in STACK
            if (one := self.entries.get(f"stack.{part}")) is not None and not one.is_taken
        )


def of_stacks(entries: Entries, names: Mapping[str, tuple[str, ...]], blank: Iterable[str]) -> Iterator[str]:
    """Yield what the stacks of readings leave out that the job has otherwise, and metal that would have grown back.

    blank : paths that are left blank, which is told of each
    """
    read, empty = list(_read(entries, names)), frozenset(blank)
    yield from _left_out(entries, read, names["cylinders"], empty)
    yield from _grown_back(entries, read, empty)


def _read(entries: Entries, names: Mapping[str, tuple[str, ...]]) -> Iterator[Read]:
    stems = {
        f"{name}.{table}": (f"{name}'s {CALLED[table]}", name) for name in names["trains"] for table in CALLED
    }
    for path, one in entries.items():
        whose, _, last = path.rpartition(".")
        if whose.startswith("reading.") and last in ("train", "cylinder"):
            stems[whose] = (whose, str(one.value))
    found: dict[str, dict[str, Entry]] = {stem: {} for stem in stems}
    for path, one in entries.items():
        for table in ("stack", "lifter", "valve"):
            stem, apart, entry = path.rpartition(f".{table}.")
            if apart and stem in found:
                found[stem][f"{table}.{entry}"] = one
    for stem, (said, train) in stems.items():
        yield Read(stem, said, train, found[stem])


def _now(entries: Entries, cylinder: str, part: str, stem: str = "") -> Entry | None:
    paths = (f"{stem}{cylinder}.stack.{part}", f"{stem}stack.{part}")
    return next((entries[path] for path in paths if path in entries), None)


def _left_out(
    entries: Entries, read: list[Read], cylinders: tuple[str, ...], blank: frozenset[str]
) -> Iterator[LookAgain]:
    """Yield which readings say some parts of their stack, and not one of which the job knows another."""
    for one in read:
        said = one.said()
        on = entries.get(f"{one.stem}.{ON}")  # of which engine the other parts are
        if not said or (on is not None and on.value == BEFORE):
            continue
        left: dict[str, str] = {}
        for part in STACK if on is None else CUTS:
            if part in said or f"{one.stem}.stack.{part}" in blank:
                continue
            why = _known_otherwise(entries, one, part, read, cylinders)
            if why:
                left[part] = why
        if not left:
            continue
        parts, reasons = list(left), list(dict.fromkeys(left.values()))
        counts = [
            f"the {_words(some)} {'counts' if len(some) == 1 else 'count'} as {how}"
            for some, how in (
                ([part for part in parts if part in PARTS], "now"),
                ([part for part in parts if part in CUTS], "not made yet"),
            )
            if some
        ]
        same = "" if left.keys() & set(CUTS) else f', or {ON} = "{NOW}" beside it if all else was as now'
        yield LookAgain(
            f"{one.name} says the {_words(said)} it was read on and not the {_words(parts)}, and {listed(reasons)}: "
            f"{listed(counts)}; write {listed(parts)} in {one.stem}.stack{same}",
            one.stem,
            *((one.train,) if one.stem.startswith("reading.") else ()),
        )


def _known_otherwise(
    entries: Entries, one: Read, part: str, read: list[Read], cylinders: tuple[str, ...]
) -> str:
    """Return, in words, where the job says that another part was there; nothing where it does not."""
    now, then = _now(entries, one.cylinder, part), _now(entries, one.cylinder, part, STEM)
    if then is not None and (now is None or abs(_mm(now) - _mm(then)) > SAME_MM):
        return f"[{BEFORE}] has another"
    other = next((each.name for each in read if each is not one and part in each.said()), "")
    if other:
        return f"{other} says one"
    if now is None:
        known = next((name for name in cylinders if f"{name}.stack.{part}" in entries), "")
        return f"{known} has one of its own" if known else ""
    return ""


def _grown_back(entries: Entries, read: list[Read], blank: frozenset[str]) -> Iterator[LookAgain]:
    """Yield which metal was gone when something was read, and is not now: not entered, or less."""
    found: dict[tuple[str, str], list[Read]] = {}
    for one in read:
        for entry, then in one.entries.items():
            if entry.partition(".")[2] not in CUTS and entry not in SINCE:
                continue
            own = (one.train, one.cylinder) if entry in SINCE else (one.cylinder,)
            paths = [*(f"{name}.{entry}" for name in own), entry]
            path = next(
                (each for each in paths if each in entries), paths[-1] if entry not in SINCE else paths[0]
            )
            if path in blank:
                continue
            now = entries.get(path)
            if now is None or _mm(now) < _mm(then) - SAME_CUT_MM:
                found.setdefault((path, entry), []).append(one)
    for (path, entry), whose in found.items():
        first, now = whose[0], entries.get(path)
        about = [one.stem for one in whose] + [one.train for one in whose if one.stem.startswith("reading.")]
        if now is not None:
            about.append(path)
        elif entry in SINCE:
            about += [one.train for one in whose]
        else:
            cylinders = ("", *dict.fromkeys(f"{one.cylinder}." for one in whose))
            about += [f"{stem}stack.{part}" for stem in cylinders for part in CARRIED]
        size = _mm(first.entries[entry])
        is_now = "is not entered" if now is None else f"is {in_both_units(_mm(now))}"
        were = f"and {len(whose) - 1} more were" if len(whose) > 1 else "was"
        gone = f"with {in_both_units(size)} gone: metal does not grow back" if size else "with none"
        yield LookAgain(
            f"{path} {is_now} now, and {first.name} {were} read {gone}; enter what is gone by now, 0 if nothing",
            *dict.fromkeys(about),
        )


def _mm(one: Entry) -> float:
    return float(one.value)


def _words(parts: Iterable[str]) -> str:
    return listed([called_together([f"stack.{part}"]) for part in parts])
