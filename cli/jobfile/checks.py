"""What entries mean together: contradictions, impossible values and unlikely ones.

A contradiction is a fault and names both numbers. What is merely unusual is a warning.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path

from tallstack.cli.jobfile.contents import Entries, Entry, Open
from tallstack.cli.jobfile.faults import Fault, Loc
from tallstack.cli.jobfile.fields import SHOWN_UNIT, FileName, Quantity, did_you_mean
from tallstack.cli.jobfile.model import Job
from tallstack.cli.jobfile.values import Dimension
from tallstack.geometry.alternatives import disagreements, then
from tallstack.geometry.defaults import STACK
from tallstack.geometry.errors import GeometryError
from tallstack.geometry.mapping import Flat, Reader, names

INCH = 25.4
MOST_GROWTH_MM = 40.0  # no stack grows by more between two readings
Where = Callable[[str], tuple[Loc, str]]


def of_names(job: Job) -> Iterator[Fault]:
    """Yield faults of the names that tie the file together."""
    seen: set[str] = set()
    cylinders = [cylinder.name for cylinder in job.cylinder]
    for index, name in enumerate(cylinders):
        if name in cylinders[:index]:
            loc: Loc = ("cylinder", index, "name")
            yield Fault(loc, f"cylinder {name}", f'"{name}" is there twice; give each its own name')
    for index, train in enumerate(job.train):
        words = f"valve gear, {train.cylinder} {train.port}"
        if train.cylinder not in cylinders:
            hint = did_you_mean(train.cylinder, tuple(cylinders)) or "; write its [[cylinder]] with that name"
            message = f'"{train.cylinder}": no such cylinder{hint}'
            yield Fault(("train", index, "cylinder"), f"{words}: cylinder", message)
        name = f"{train.cylinder}.{train.port}"
        if name in seen:
            message = f"the {train.port} of {train.cylinder} is there twice; remove one of them"
            yield Fault(("train", index), words, message)
        seen.add(name)
        if isinstance(train.lobe, str) and train.lobe not in job.lobe:
            hint = did_you_mean(train.lobe, tuple(job.lobe)) or f"; write its [lobe.{train.lobe}]"
            yield Fault(("train", index, "lobe"), f"{words}: lobe", f'"{train.lobe}": no such lobe{hint}')


def of_files(entries: Entries, folder: Path, where: Where) -> Iterator[Fault]:
    """Yield faults of files that the job names: each must be a readable file beside it."""
    for path, entry in entries.items():
        if not isinstance(entry.kind, FileName):
            continue
        target = folder / str(entry.value)
        if target.is_dir():
            yield Fault(*where(path), f'"{entry.value}" is a folder; name the CSV file in it')
        elif not target.is_file():
            message = f'"{entry.value}": no such file in {target.parent}; file names count from the job file'
            yield Fault(*where(path), message)


def of_entries(entries: Entries, blanks: list[Open], mapping: Flat, where: Where) -> Iterator[Fault]:
    """Yield contradictions between entries."""
    open_paths = {one.path for one in blanks}
    for name in names(mapping, "trains"):
        train = Reader(mapping, (f"{name}.",))
        yield from _of_lifter(train, name, open_paths, where)
        yield from _of_ends(train, name, where)
        yield from _of_growth(train, name, mapping, where)
    for prefix in ("", *(f"{name}." for name in names(mapping, "cylinders"))):
        yield from _of_cylinder(Reader(mapping, (prefix, "") if prefix else ("",)), prefix, entries, where)
    yield from _of_lobes(entries, where)
    for path in entries:
        stem = path.removesuffix(".x")
        three = [mapping.get(f"{stem}.{axis}") for axis in "xyz"]
        if path.endswith((".direction.x", ".normal.x")) and three == [0, 0, 0]:
            yield Fault(*where(path), "0, 0, 0 has no direction; write for example [0, 1, 0]")
    least, most = mapping.get("targets.preload_least"), mapping.get("targets.preload_most")
    yield from _ordered("targets.preload_least", least, "targets.preload_most", most, where)
    least, most = mapping.get("targets.squish_least"), mapping.get("targets.squish_most")
    yield from _ordered("targets.squish_least", least, "targets.squish_most", most, where)
    try:
        for clash in disagreements(mapping):
            at = max(clash.entries, key=lambda one: _line_order(where(one)[0]))
            yield Fault(*where(at), str(clash))
    except GeometryError as error:
        stem = next((path for path in entries if path.endswith("rocker.span")), "")
        yield Fault(*where(stem), str(error))


def _line_order(loc: Loc) -> tuple[str, ...]:
    return tuple(f"{part:06d}" if isinstance(part, int) else "" for part in loc)


def _of_lifter(train: Reader, name: str, open_paths: set[str], where: Where) -> Iterator[Fault]:
    kind = train.word("lifter.kind")
    wrong = {"solid": ("preload", "plunger_travel"), "hydraulic": ("lash", "lash_at")}.get(kind, ())
    right = {"solid": "it takes lash", "hydraulic": "it takes preload"}.get(kind, "")
    for entry in wrong:
        if f"{name}.lifter.{entry}" in train.mapping:
            message = f"a {kind} lifter has no {entry.replace('_', ' ')}; {right}"
            yield Fault(*where(f"{name}.lifter.{entry}"), message)
    travel, preload = train.find("lifter.plunger_travel"), train.find("lifter.preload")
    if travel is not None and preload is not None and preload > travel:
        message = f"{_mm(preload)} is more than the plunger's whole travel of {_mm(travel)}"
        yield Fault(*where(f"{name}.lifter.preload"), message)
    if not train.has("measured_pushrod"):
        return
    plunger = f"{name}.measured_pushrod.plunger"
    place = train.word("measured_pushrod.plunger")
    if kind == "hydraulic" and not train.has("measured_pushrod.plunger") and plunger not in open_paths:
        message = (
            "missing; a hydraulic lifter's plunger moves under the rod: "
            'say plunger = "top", "bottomed", "solid checking lifter" or { down = … }'
        )
        yield Fault(*where(f"{name}.measured_pushrod"), message)
    if kind == "solid" and train.has("measured_pushrod.plunger") and place != "solid checking lifter":
        yield Fault(*where(plunger), "a solid lifter has no plunger; leave it out")
    down = train.find("measured_pushrod.plunger.down")
    if down is not None and travel is not None and down > travel:
        message = f"{_mm(down)} is more than the plunger's whole travel of {_mm(travel)}"
        yield Fault(*where(f"{plunger}.down"), message)
    as_read = f"{name}.measured_pushrod.as"
    if not train.word("measured_pushrod.as") and as_read not in open_paths:
        message = 'missing; a length means nothing without it: say as = "overall", "theoretical", "gauge" or "centres"'
        yield Fault(*where(f"{name}.measured_pushrod"), message)


def _of_ends(train: Reader, name: str, where: Where) -> Iterator[Fault]:
    for table in ("pushrod", "measured_pushrod"):
        for side in ("low", "high"):
            ball = train.find(f"{table}.ball_diameter_{side}")
            for entry in (f"hole_{side}", "gauge"):
                across = train.find(f"{table}.{entry}")
                if ball is not None and across is not None and across >= ball:
                    message = f"{_mm(across)} does not fit in a ball of {_mm(ball)} (ball_diameter_{side})"
                    yield Fault(*where(f"{name}.{table}.{entry}"), message)
    outer, wall = train.find("pushrod.diameter"), train.find("pushrod.wall")
    if outer is not None and wall is not None and wall >= outer / 2:
        message = f"a wall of {_mm(wall)} leaves no bore in a tube of {_mm(outer)}"
        yield Fault(*where(f"{name}.pushrod.wall"), message)


def _of_growth(train: Reader, name: str, mapping: Flat, where: Where) -> Iterator[Fault]:
    """A reading taken on a stack that cannot be this engine's: nearly always a slip of the unit."""
    cylinder = Reader(mapping, (f"{name.rpartition('.')[0]}.", ""))
    for reading in ("measured_pushrod", "measured_drop"):
        for part in STACK:
            before, now = then(train, reading, f"stack.{part}"), cylinder.find(f"stack.{part}")
            if not train.has(f"{reading}.stack.{part}") or before is None:
                continue
            path = f"{name}.{reading}.stack.{part}"
            if now is None:
                message = f"given here, but stack.{part} is not: write the one in place now under [stack]"
                yield Fault(*where(path), message)
            elif abs(now - before) > MOST_GROWTH_MM:
                message = (
                    f"{_mm(before)} then against {_mm(now)} in stack.{part} now: no stack changes so much; "
                    "look at the units of both"
                )
                yield Fault(*where(path), message)


def _of_cylinder(reader: Reader, prefix: str, entries: Entries, where: Where) -> Iterator[Fault]:
    """Contradictions within crank, piston and stack; a cylinder's own only where it has its own."""

    def own(*paths: str) -> bool:
        return not prefix or any(f"{prefix}{path}" in entries for path in paths)

    stroke, rod = reader.find("crank.stroke"), reader.find("crank.conrod_length")
    if stroke is not None and rod is not None and not prefix and rod <= stroke / 2:
        message = f"{_mm(rod)} is not longer than the throw of {_mm(stroke / 2)}: such a crank cannot turn"
        yield Fault(*where("crank.conrod_length"), message)
    shapes = [shape for shape in ("dome", "dish", "crown_table") if reader.has(f"piston.{shape}")]
    if len(shapes) > 1 and own(*(f"piston.{shape}" for shape in shapes), "piston.dome.height"):
        message = f"{' and '.join(shapes)} are both given; a crown has one of them"
        yield Fault(*where(reader.path(f"piston.{shapes[-1]}")), message)
    bore, outer = reader.find("stack.bore"), reader.find("spigot.outer_diameter")
    if bore is not None and outer is not None and outer <= bore and prefix:
        message = f"{_mm(outer)} is not larger than the bore of {_mm(bore)}"
        yield Fault(*where(f"{prefix}spigot.outer_diameter"), message)
    piston = reader.find("piston.diameter")
    if bore is not None and piston is not None and piston >= bore and own("piston.diameter", "stack.bore"):
        message = f"a piston of {_mm(piston)} does not go into a bore of {_mm(bore)}"
        yield Fault(*where(reader.path("piston.diameter")), message)


def _of_lobes(entries: Entries, where: Where) -> Iterator[Fault]:
    lobes = dict.fromkeys(path.split(".")[1] for path in entries if path.startswith("lobe."))
    for lobe in lobes:
        ways = [
            way
            for way in ("table", "card", "law")
            if any(path == f"lobe.{lobe}.{way}" or path.startswith(f"lobe.{lobe}.{way}.") for path in entries)
        ]
        if len(ways) > 1:
            message = f"{' and '.join(ways)} are both given; a lobe comes from one of them"
            yield Fault(*where(f"lobe.{lobe}.{ways[-1]}"), message)


def _ordered(low: str, least: object, high: str, most: object, where: Where) -> Iterator[Fault]:
    if isinstance(least, float) and isinstance(most, float) and least > most:
        yield Fault(*where(low), f"{_mm(least)} is more than {high.split('.')[1]}, {_mm(most)}")


def unlikely(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every value that is unusual: possibly a slip, possibly a rare engine."""
    for path, entry in entries.items():
        kind = entry.kind
        if entry.origin or not isinstance(kind, Quantity) or kind.usual is None:
            continue
        if isinstance(entry.value, float) and entry.value != 0:
            yield from _unusual(path, entry, kind, kind.shown(entry.value))
    for cylinder in ("", *(f"{name}." for name in names(mapping, "cylinders"))):
        reader = Reader(mapping, (cylinder,))
        bore, stroke = reader.find("stack.bore"), Reader(mapping, ("",)).find("crank.stroke")
        if bore is not None and stroke is not None and not 0.6 <= bore / stroke <= 1.7:
            yield (
                f"{cylinder}stack.bore {_mm(bore)} and crank.stroke {_mm(stroke)} make an unusual pair: "
                "look at the units of both"
            )
        heads = [reader.find(f"{port}.valve.head_diameter") for port in ("intake", "exhaust")]
        if cylinder and heads[0] is not None and heads[1] is not None and heads[1] > heads[0]:
            yield (
                f"{cylinder}exhaust.valve.head_diameter {_mm(heads[1])} is larger than the intake's "
                f"{_mm(heads[0])}: are the two ports swapped?"
            )


def _unusual(path: str, entry: Entry, kind: Quantity, number: float) -> Iterator[str]:
    low, high = kind.usual or (-math.inf, math.inf)
    if low <= number <= high:
        return
    unit = SHOWN_UNIT[kind.dimension]
    shown = f"{path} = {entry.typed} reads as {number:g}{unit}"
    if kind.dimension is Dimension.LENGTH:
        shown += f" ({number / INCH:.4g} in)"
        for factor, other in ((INCH, "inches"), (1 / INCH, "millimetres")):
            if low <= number * factor <= high:
                yield f"{shown}; {number * factor:.4g} mm would be usual: was it typed in {other}?"
                return
    yield f"{shown}; most engines lie between {low:g} and {high:g}{unit}"


def _mm(length: object) -> str:
    number = float(length)  # type: ignore[arg-type]
    return f"{number:.3f} mm ({number / INCH:.4f} in)"
