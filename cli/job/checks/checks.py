"""What entries mean together: contradictions, impossible values and unlikely ones.

A contradiction is a fault and names both numbers. What is merely unusual is a warning.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path, PureWindowsPath

from tallstack.geometry.core.errors import DisagreementError, GeometryError
from tallstack.geometry.core.mapping import ANGLES, Flat, Reader, frozen, names
from tallstack.geometry.engine.alternatives import arm_angle, disagreements, disagreements_of, then
from tallstack.geometry.engine.defaults import STACK

from ..contents import OTHER_KIND, Entries, Entry
from ..entries.fields import FileName, did_you_mean
from ..faults import Fault, Loc, Where, in_words
from ..reading.document import Reading
from ..reading.outside import may_read
from ..reading.values import Value
from .setting import of_adjusters, of_firing
from .words import in_both_units, missing, stands_over_piston

MOST_GROWTH_MM = 40.0  # no stack grows by more between two readings
FITTED = (
    ".spigot.",
    ".arch_",
    ".oil_ring",
    ".tube.",
    ".spring.",
    "studs.",
    "running.",
    "_free",
    "beam_width",
    ".wall",
    ".cup_radius",
)


def of_names(reading: Reading) -> Iterator[Fault]:
    """Yield faults of the names that tie the file together."""
    cylinders = [name for name, _ in reading.cylinders]
    all_sure = all(sure for _, sure in reading.cylinders) and not reading.unsure("cylinder")
    for index, name in enumerate(cylinders):
        if name in cylinders[:index]:
            loc: Loc = ("cylinder", index, "name")
            yield Fault(loc, f"cylinder {name}", f'"{name}" is there twice; give each its own name')
    seen: set[str] = set()
    for gear in reading.gears:
        if gear.of_cylinder and gear.cylinder not in cylinders and all_sure:
            hint = did_you_mean(gear.cylinder, cylinders) or "; write its [[cylinder]] with that name"
            message = f'"{gear.cylinder}": no such cylinder{hint}'
            loc = ("train", gear.row, "cylinder")
            yield Fault(loc, in_words(reading.document, loc), message)
        if not gear.sure:
            continue
        if gear.name in seen:
            message = (
                f"the {gear.port} of {gear.cylinder} is there twice; a cylinder has one intake and one exhaust here: of "
                "three or four valves enter one of each port, the one that is closest, and do the others in a job of their own"
            )
            yield Fault(("train", gear.row), f"valve gear, {gear.cylinder} {gear.port}", message)
        seen.add(gear.name)
    yield from _of_lobe_names(reading)
    yield from _of_instruments(reading)
    if "reading" in reading.document:
        from .reading import of_readings

        yield from of_readings(reading)


def _of_instruments(reading: Reading) -> Iterator[Fault]:
    """Yield every reading by an instrument that is not there, and every instrument that is there twice."""
    known: list[str] = []
    for leaf in reading.leaves:
        if leaf.loc[0] == "instrument" and leaf.loc[-1] == "name" and isinstance(leaf.value, str):
            if leaf.value in known:
                message = f'"{leaf.value}" is there twice; give each instrument its own name'
                yield Fault(leaf.loc, in_words(reading.document, leaf.loc), message)
            known.append(leaf.value)
    rows = reading.document.get("instrument")
    for index, row in enumerate(rows if isinstance(rows, list) else ()):
        for name, example in (("name", '"mic A"'), ("zero", '"0.0005 in"')):
            if isinstance(row, dict) and name not in row:
                loc: Loc = ("instrument", index, name)
                yield Fault(
                    loc, in_words(reading.document, loc), f"missing; write for example {name} = {example}"
                )
    for leaf in reading.leaves:
        by = leaf.value.by if isinstance(leaf.value, Value) else ""
        if by and by not in known and not reading.unsure("instrument"):
            hint = did_you_mean(by, known) or f'; write [[instrument]] with name = "{by}" and its zero'
            message = f'by = "{by}": no such instrument{hint}'
            yield Fault(leaf.loc, in_words(reading.document, leaf.loc), message)


def _of_lobe_names(reading: Reading) -> Iterator[Fault]:
    for leaf in reading.leaves:
        if leaf.loc[0] == "train" and leaf.loc[2:] == ("lobe",) and isinstance(leaf.value, str):
            if leaf.value in reading.lobes or reading.unsure("lobe"):
                continue
            there = f"; the lobes here are {', '.join(reading.lobes)}" if reading.lobes else ""
            from ..reading.hints import other_word

            hint = did_you_mean(leaf.value, reading.lobes) or other_word(leaf.value, reading.lobes)
            hint = hint or f"; write its [lobe.{leaf.value}]{there}"
            words = in_words(reading.document, leaf.loc)
            yield Fault(leaf.loc, words, f'"{leaf.value}": no such lobe{hint}')


def of_files(entries: Entries, folder: Path, where: Where) -> Iterator[Fault]:
    """Yield faults of files that the job names: each must be a readable file beside it."""
    for path, entry in entries.items():
        if not isinstance(entry.kind, FileName):
            continue
        target = folder / str(entry.value)
        if not entry.origin and not may_read(target, folder):
            message = (
                f'"{entry.value}": outside the folder of the job file; if you trust the job, put `--allow-outside` '
                "in front of the command: tallstack --allow-outside ..."
            )
            yield Fault(*where(path), message)
        elif os.path.isdir(target):
            yield Fault(*where(path), f'"{entry.value}" is a folder; name the CSV file in it')
        elif entry.kind.is_made and (os.path.isfile(target) or os.path.isdir(target.parent)):
            if target.suffix.lower() != ".csv":
                yield Fault(*where(path), f'"{entry.value}": it is a CSV file; end its name with .csv')
        elif not os.path.isfile(target):
            message = f'"{entry.value}": no such file; names of files count from the folder of the job file'
            if entry.kind.is_made:
                message = f'"{entry.value}": no such folder; make it first, it counts from the folder of the job file'
            if "\\" in str(entry.value):
                message += f', and folders are parted by /: "{PureWindowsPath(str(entry.value)).as_posix()}"'
            yield Fault(*where(path), message)


def of_entries(
    entries: Entries, mapping: Flat, where: Where, is_open: Callable[[str], bool]
) -> Iterator[Fault]:
    """Yield contradictions between entries."""
    for name in names(mapping, "trains"):
        train = Reader(mapping, (f"{name}.",))
        yield from _of_lifter(train, name, is_open, where)
        yield from _of_ends(train, name, where)
        yield from _of_growth(train, name, mapping, is_open, where)
    for prefix in ("", *(f"{name}." for name in names(mapping, "cylinders"))):
        yield from _of_cylinder(Reader(mapping, (prefix, "") if prefix else ("",)), prefix, entries, where)
    yield from _of_clearances(entries, mapping, where, is_open)
    yield from of_adjusters(entries, mapping, where)
    yield from of_firing(mapping, where)
    for path in entries:
        stem = path.removesuffix(".x")
        three = [mapping.get(f"{stem}.{axis}") for axis in "xyz"]
        if path.endswith((".direction.x", ".normal.x")) and three == [0, 0, 0]:
            yield Fault(*where(path), "0, 0, 0 has no direction; write for example [0, 1, 0]")
    yield from _of_angles(entries, where, is_open)
    least, most = mapping.get("targets.preload_least"), mapping.get("targets.preload_most")
    yield from _ordered("targets.preload_least", least, "targets.preload_most", most, where)
    least, most = mapping.get("targets.squish_least"), mapping.get("targets.squish_most")
    yield from _ordered("targets.squish_least", least, "targets.squish_most", most, where)
    yield from _of_alternatives(entries, mapping, where)


def _of_angles(entries: Entries, where: Where, is_open: Callable[[str], bool]) -> Iterator[Fault]:
    """Yield a direction of which one of its two angles is given alone, or beside another way to say it."""
    for path, entry in entries.items():
        stem, _, name = path.rpartition(".")
        if name not in ANGLES or entry.follows:
            continue
        other = f"{stem}.{ANGLES[1 - ANGLES.index(name)]}"
        if f"{stem}.x" in entries:
            message = "the direction is given by its angles and by its numbers; keep one of them"
            yield Fault(*where(path), message)
        elif other not in entries and not is_open(other):
            level = (
                "write up = 0 where it lies level" if name == "around" else "write for example around = 90"
            )
            yield Fault(*where(path), f"missing beside it: {other.rpartition('.')[2]}; {level}")


def _of_clearances(
    entries: Entries, mapping: Flat, where: Where, is_open: Callable[[str], bool]
) -> Iterator[Fault]:
    """Yield contradictions among what only some jobs have, loaded where it is there."""
    if stands_over_piston(entries):
        from .clearance import of_clearances

        yield from of_clearances(entries, mapping, where, is_open)
    if any(part in path for path in entries for part in FITTED):
        from .fits import of_fits

        yield from of_fits(entries, mapping, where)
    if any(path.startswith("lobe.") for path in entries):
        from .lobe import of_lobes

        yield from of_lobes(entries, mapping, where, is_open)


def _of_alternatives(entries: Entries, mapping: Flat, where: Where) -> Iterator[Fault]:
    """Yield what was said in two ways that contradict each other, or in one that cannot be."""
    clashes: list[DisagreementError] = []
    for train in names(mapping, "trains"):
        try:
            arm_angle(Reader(mapping, (f"{train}.",)))
            clashes += disagreements_of(mapping, train)
        except GeometryError as error:
            paths = [f"{train}.rocker.{one}" for one in ("span", "valve_arm", "pushrod_arm", "ratio", "arms")]
            by_option = (one for one in paths if one in entries and entries[one].origin.startswith("--"))
            yield Fault(*where(next(by_option, paths[0])), str(error))
    first: dict[tuple[str, ...], DisagreementError] = {}  # by what both were copied from: told once
    for clash in clashes:
        roots = tuple(_root(path, entries) for path in clash.entries)
        if roots not in first or roots == clash.entries:  # and at the original, not at its mirror image
            first[roots] = clash
    for clash in first.values():
        yield _contradiction(clash, entries, where)
    for clash in disagreements(frozen(mapping).with_({"trains": ()})):
        yield _contradiction(clash, entries, where)


def _root(path: str, entries: Entries) -> str:
    """Return the entry that another was copied from, or the entry itself; of a row the row."""
    entry = entry_at(path, entries)
    if entry is None or not entry.follows:
        return path
    return entry.follows if path in entries else entry.follows.rpartition(".")[0]


def entry_at(path: str, entries: Entries) -> Entry | None:
    """Return an entry, of a row its first component."""
    return entries.get(path, entries.get(f"{path}.x"))


def _contradiction(clash: DisagreementError, entries: Entries, where: Where) -> Fault:
    """Return the fault at the entry tried by --with, or else the one written rather than copied."""

    def rank(path: str) -> int:
        entry = entry_at(path, entries)
        origin = "" if entry is None else entry.origin
        return 0 if origin.startswith("--") else 2 if origin else 1

    first = 0 if rank(clash.entries[0]) <= rank(clash.entries[1]) else 1
    here, there = clash.numbers[first], clash.numbers[1 - first]
    this, that = clash.entries[first].split("."), clash.entries[1 - first].split(".")
    same_gear = this[:2] == that[:2] and len(this) > 3
    by = ".".join(that[2:] if same_gear else that)
    message = (
        f"the {clash.quantity} is {here} by this and {there} by {by}; "
        "keep the one you measured and leave the other out"
    )
    return Fault(*where(clash.entries[first]), message)


def _of_lifter(train: Reader, name: str, is_open: Callable[[str], bool], where: Where) -> Iterator[Fault]:
    kind = train.word("lifter.kind")
    right = {"solid": "lash", "hydraulic": "preload"}.get(kind, "")
    for entry in OTHER_KIND.get(kind, ()):
        if f"{name}.{entry}" in train.mapping:
            message = f"a {kind} lifter takes {right}, not {entry.removeprefix('lifter.')}"
            yield Fault(*where(f"{name}.{entry}"), message)
    travel, preload = train.find("lifter.plunger_travel"), train.find("lifter.preload")
    if travel is not None and preload is not None and preload > travel:
        message = (
            f"{in_both_units(preload)} is more than the plunger's whole travel of {in_both_units(travel)}"
        )
        yield Fault(*where(f"{name}.lifter.preload"), message)
    if not train.has("measured_pushrod"):
        return
    plunger = f"{name}.measured_pushrod.plunger"
    place = train.word("measured_pushrod.plunger")
    unsaid = not train.has("measured_pushrod.plunger") and not is_open(plunger)
    if kind == "hydraulic" and unsaid and not is_open(f"{plunger}.down"):
        message = (
            "missing; a hydraulic lifter's plunger moves under the rod: "
            'say plunger = "top", "bottomed", "solid checking lifter" or { down = "0.060 in" }'
        )
        yield missing(f"{name}.measured_pushrod", "plunger", message, where)
    if kind == "solid" and train.has("measured_pushrod.plunger") and place != "solid checking lifter":
        yield Fault(*where(plunger), "a solid lifter has no plunger; leave it out")
    down = train.find("measured_pushrod.plunger.down")
    if down is not None and travel is not None and down > travel:
        message = f"{in_both_units(down)} is more than the plunger's whole travel of {in_both_units(travel)}"
        yield Fault(*where(f"{plunger}.down"), message)
    as_read = f"{name}.measured_pushrod.as"
    if not train.word("measured_pushrod.as") and not is_open(as_read):
        message = 'missing; a length means nothing without it: say as = "overall", "theoretical", "gauge" or "centres"'
        yield missing(f"{name}.measured_pushrod", "as", message, where)


def _of_ends(train: Reader, name: str, where: Where) -> Iterator[Fault]:
    for table in ("pushrod", "measured_pushrod"):
        for side in ("low", "high"):
            ball = train.find(f"{table}.ball_diameter_{side}")
            for entry in (f"hole_{side}", *(("gauge",) if side == "low" else ())):
                across = train.find(f"{table}.{entry}")
                if ball is not None and across is not None and across >= ball:
                    message = (
                        f"{in_both_units(across)} does not fit in a ball of {in_both_units(ball)} "
                        f"(ball_diameter_{side})"
                    )
                    yield Fault(*where(f"{name}.{table}.{entry}"), message)
    outer, wall = train.find("pushrod.diameter"), train.find("pushrod.wall")
    if outer is not None and wall is not None and wall >= outer / 2:
        message = f"a wall of {in_both_units(wall)} leaves no bore in a tube of {in_both_units(outer)}"
        yield Fault(*where(f"{name}.pushrod.wall"), message)


def _of_growth(
    train: Reader, name: str, mapping: Flat, is_open: Callable[[str], bool], where: Where
) -> Iterator[Fault]:
    """A reading taken on a stack that cannot be this engine's: nearly always a slip of the unit."""
    owner = name.rpartition(".")[0]
    cylinder = Reader(mapping, (f"{owner}.", ""))
    for reading in ("measured_pushrod", "measured_drop"):
        for part in STACK:
            before, now = then(train, reading, f"stack.{part}"), cylinder.find(f"stack.{part}")
            if not train.has(f"{reading}.stack.{part}") or before is None:
                continue
            path = f"{name}.{reading}.stack.{part}"
            unsure = owner not in names(mapping, "cylinders")  # its name is misspelt
            if now is None and (unsure or any(is_open(f"{one}stack.{part}") for one in cylinder.prefixes)):
                continue
            if now is None:
                message = f"given here, but stack.{part} is not: write the one in place now under [stack]"
                yield Fault(*where(path), message)
            elif abs(now - before) > MOST_GROWTH_MM:
                message = (
                    f"{in_both_units(before)} then against {in_both_units(now)} in stack.{part} now: no stack changes so much; "
                    "look at the units of both"
                )
                yield Fault(*where(path), message)


def _of_cylinder(reader: Reader, prefix: str, entries: Entries, where: Where) -> Iterator[Fault]:
    """Contradictions within crank, piston and stack; a cylinder's own only where it has its own."""

    def own(*paths: str) -> bool:
        return not prefix or any(f"{prefix}{path}" in entries for path in paths)

    stroke, rod = reader.find("crank.stroke"), reader.find("crank.conrod_length")
    if stroke is not None and rod is not None and not prefix and rod <= stroke / 2:
        message = f"{in_both_units(rod)} is not longer than the throw of {in_both_units(stroke / 2)}: such a crank cannot turn"
        yield Fault(*where("crank.conrod_length"), message)
    bore, outer = reader.find("stack.bore"), reader.find("spigot.outer_diameter")
    if bore is not None and outer is not None and outer <= bore and prefix:
        message = f"{in_both_units(outer)} is not larger than the bore of {in_both_units(bore)}"
        yield Fault(*where(f"{prefix}spigot.outer_diameter"), message)
    cut, gone = reader.find("stack.head_cut"), reader.find("chamber.head_cut")
    if gone is not None and gone > (cut or 0.0) and own("chamber.head_cut", "stack.head_cut"):
        message = f"{in_both_units(gone)} is more than stack.head_cut, {in_both_units(cut or 0.0)}"
        yield Fault(*where(reader.path("chamber.head_cut")), message)
    piston = reader.find("piston.diameter")
    if bore is not None and piston is not None and piston >= bore and own("piston.diameter", "stack.bore"):
        message = f"a piston of {in_both_units(piston)} does not go into a bore of {in_both_units(bore)}"
        yield Fault(*where(reader.path("piston.diameter")), message)


def _ordered(low: str, least: object, high: str, most: object, where: Where) -> Iterator[Fault]:
    if isinstance(least, float) and isinstance(most, float) and least > most:
        yield Fault(
            *where(low), f"{in_both_units(least)} is more than {high.split('.')[1]}, {in_both_units(most)}"
        )
