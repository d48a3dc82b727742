"""One engine said in every other way that a job file allows, and what its answers are.

Each way is worked out from the plain entries by means that share no code with `alternatives`: the cup's place from
the searched pose of `oracles/raw_loop.py`, the crown's highest point by searching the turn of the crank, the rest by
trigonometry written here. No entry carries a doubt, so that verdicts have to agree as well as numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import cos, degrees, pi, sin, sqrt, tan
from pathlib import Path
from typing import NamedTuple

import numpy as np
from tallstack.cli.job.loading import load
from tallstack.cli.tables.jobtables import with_tables
from tallstack.geometry.clearance.clearances import clearances

from .commands import tallstack
from .geometry.engine.test_alternatives import crown_at_top
from .oracles import raw_loop
from .random_engines import TRAINS
from .random_jobs import INCH, Written, drawn_job, job_text

ROW = "@row"  # a word that stands for a piece of TOML
NOT_COMPARED = (  # what goes by the entries rather than by the engine
    *(
        "doubt",
        "without",
        "needs",
        "assumed",
        "tried",
        "warnings",
        "not_measured",
        "limits",
        "entry",
        "job",
        "why",
        "file",
    ),
    "remedies",  # rounded to what can be bought and set in the job's own unit
    *("shares", "lacks", "message", "entries", "least_set", "line", "note", "most_of", "from"),
)
COMMANDS = ("pushrods", "clearance", "fits", "record")
EXTRAS: dict[str, object] = {
    "chamber.volume": "88 cc",
    "running.cold": "20 C",
    "running.speed": "5200 rpm",
    "running.pressure_at_opening": "5 bar",
    **{f"running.hot_{part}": f"{hot} C" for part, hot in (("cylinder", 140), ("case", 90), ("head", 160))},
    **{f"running.hot_{part}": f"{hot} C" for part, hot in (("valve", 240), ("rocker", 100), ("pushrod", 95))},
    **{f"materials.{part}": "aluminium" for part in ("case", "head")},
    **{f"materials.{part}": "steel" for part in ("valve", "rocker")},
    "materials.cylinder": "grey iron",
    "studs.stands": 190.0,
    "studs.head_seat": 22.0,
    "studs.nut_height": 12.0,
    "studs.diameter": 9.0,
    "stack.head_gasket_free": 1.9,
}
OF_GEAR: dict[str, object] = {
    "spring.installed": 47.0,
    "spring.rate": "42 N/mm",
    "spring.free_length": 55.0,
    "spring.solid_height": 30.5,
    "masses.valve": "110 g",
    "masses.springs": "80 g",
    "masses.rocker": "45 g",
    "masses.pushrod": "60 g",
    "masses.lifter": "90 g",
    "valve.retainer_to_seal": 15.5,
    "pushrod.diameter": 8.0,
    "pushrod.wall": 1.6,
    "pushrod.material": "steel",
    "tube.inner_diameter": 30.0,
    "rocker.adjuster.kind": "pushrod screw",
    "rocker.adjuster.pitch": 1.0,
    "rocker.adjuster.flats": "6",
    "rocker.adjuster.turns_in": "3",
    "rocker.adjuster.turns_out": "3",
}


class Job(NamedTuple):
    """A job as it is written."""

    entries: Written
    units: str = "mm"
    options: tuple[str, ...] = ()  # of the command line
    edit: Callable[[str], str] = str  # of the text


Way = Callable[[Job, np.random.Generator], Job | None]  # None: this engine cannot be said so


def plain_job(rng: np.random.Generator) -> Job:
    """Return a random engine with something to say for every answer, its entries the plain ones."""
    entries: Written = {path: (value, None) for path, (value, _) in drawn_job(rng, twin=False).items()}
    entries |= {path: (value, None) for path, value in EXTRAS.items()}
    for name in TRAINS:
        entries |= {f"{name}.{entry}": (value, None) for entry, value in OF_GEAR.items()}
        seat = [float(str(entries[f"{name}.lifter.seat.{axis}"][0])) for axis in "xyz"]
        high = [float(str(entries[f"{name}.rocker.shaft.{axis}"][0])) for axis in "xyz"]
        for end, spot in (("low", (*seat[:2], 20.0)), ("high", (0.6 * high[0], 55.0, 5.0))):
            entries |= {
                f"{name}.tube.seat_{end}.{axis}": (at, None) for axis, at in zip("xyz", spot, strict=True)
            }
        if entries[f"{name}.lifter.kind"][0] == "hydraulic":
            travel = float(str(entries[f"{name}.lifter.preload"][0])) + 1.5
            entries[f"{name}.lifter.plunger_travel"] = (travel, None)
            if rng.random() < 0.5:
                entries[f"{name}.rocker.adjuster.kind"] = ("pivot nut", None)
    return Job(entries)


def number(job: Job, path: str) -> float:
    """Return an entry's number [mm, rad or plain]; a gasket may have been said in thousandths by now."""
    typed, thou, _ = str(job.entries[path][0]).partition(" thou")
    return float(typed) * (INCH / 1000 if thou else 1.0)


def said(job: Job, without: Iterator[str] | tuple[str, ...], more: Mapping[str, object]) -> Job:
    """Return the job less some entries and with others."""
    gone = tuple(without)
    kept = {path: one for path, one in job.entries.items() if path not in gone}
    return job._replace(entries={**kept, **{path: (value, None) for path, value in more.items()}})


def of_gears(way: Callable[[Job, str], Job | None]) -> Way:
    """Return a way that says something of one valve gear, for both of them."""

    def both(job: Job, rng: np.random.Generator) -> Job | None:
        found: Job | None = job
        for name in TRAINS:
            found = None if found is None else way(found, name)
        return found

    return both


def plain_gear(job: Job, name: str) -> dict[str, float | str]:
    """Return the job's plain entries for the raw loop."""
    return {path: value for path, (value, _) in job.entries.items() if not isinstance(value, tuple)}  # type: ignore[misc]


def cup(job: Job, name: str) -> Job | None:
    if f"{name}.rocker.arm_angle" not in job.entries or f"{name}.rocker.pushrod_arm" not in job.entries:
        return None
    if f"{name}.valve.length" not in job.entries or "stack.case_deck" not in job.entries:
        return None
    mapping: dict[str, object] = {**plain_gear(job, name), f"{name}.valve.sink": 0.0}
    shaft = raw_loop.points(mapping, name).P
    in_head = [number(job, f"{name}.rocker.shaft.{axis}") for axis in "xyz"]
    place = raw_loop.closed_angle(mapping, name).U - shaft + in_head
    gone = tuple(f"{name}.rocker.{one}" for one in ("pushrod_arm", "pushrod_station", "arm_angle"))
    more = {f"{name}.rocker.cup.{axis}": float(at) for axis, at in zip("xyz", place, strict=True)}
    return said(job, gone, more)


def span(job: Job, name: str) -> Job | None:
    if any(f"{name}.rocker.{one}" not in job.entries for one in ("valve_arm", "pushrod_arm", "arm_angle")):
        return None
    long, short, angle = (
        number(job, f"{name}.rocker.{one}") for one in ("valve_arm", "pushrod_arm", "arm_angle")
    )
    across = sqrt((long - short * cos(angle)) ** 2 + (short * sin(angle)) ** 2)
    more = {f"{name}.rocker.span": across, f"{name}.rocker.arms": "droop" if angle < pi else "rise"}
    return said(job, (f"{name}.rocker.arm_angle",), more)


def ratio_for(arm: str) -> Callable[[Job, str], Job | None]:
    def by_ratio(job: Job, name: str) -> Job | None:
        arms = [f"{name}.rocker.valve_arm", f"{name}.rocker.pushrod_arm"]
        if any(one not in job.entries for one in arms):
            return None
        ratio = number(job, arms[0]) / number(job, arms[1])
        return said(job, (f"{name}.rocker.{arm}",), {f"{name}.rocker.ratio": repr(ratio)})

    return by_ratio


def tip_height(job: Job, name: str) -> Job | None:
    if f"{name}.valve.length" not in job.entries:
        return None
    slant = sqrt(1 + sum(tan(number(job, f"{name}.valve.lean.{axis}")) ** 2 for axis in "xy"))
    height = number(job, f"{name}.valve.face.z") + number(job, f"{name}.valve.length") / slant
    return said(job, (f"{name}.valve.length",), {f"{name}.valve.tip_height": height})


def deepest(job: Job, name: str) -> Job | None:
    if f"{name}.pocket.centre.x" not in job.entries:
        return None
    lean = np.array([tan(number(job, f"{name}.pocket.lean.{axis}")) for axis in "xy"] + [1.0])
    axis = lean / np.linalg.norm(lean)
    middle = np.array([*(number(job, f"{name}.pocket.centre.{one}") for one in "xy"), 0.0])
    radius, depth = number(job, f"{name}.pocket.diameter") / 2, number(job, f"{name}.pocket.depth")
    flat = np.hypot(*axis[:2])
    # The rim's lowest point: out from the axis, square to it, the way that goes down most.
    down = np.array([0.0, 0.0, -1.0]) + axis[2] * axis
    out = down / np.linalg.norm(down) if flat > 0 else np.array([1.0, 0.0, 0.0])
    along = (-depth - middle[2] - radius * out[2]) / axis[2]
    spot = middle + along * axis + radius * out
    more = {f"{name}.pocket.deepest.{one}": float(at) for one, at in zip("xy", spot[:2], strict=True)}
    return said(job, (f"{name}.pocket.centre.x", f"{name}.pocket.centre.y"), more)


def checking_rod(pitch: str) -> Callable[[Job, str], Job | None]:
    def by_turns(job: Job, name: str) -> Job | None:
        rod = f"{name}.measured_pushrod"
        if f"{rod}.length" not in job.entries:
            return job
        length, turns = number(job, f"{rod}.length"), 4.25
        by = 1.25 if pitch == "pitch" else INCH / 20
        where = f"{rod}.checking_rod"
        thread: dict[str, object] = (
            {f"{where}.pitch": by} if pitch == "pitch" else {f"{where}.threads_per_inch": "20"}
        )
        more = {f"{where}.closed": length - turns * by, f"{where}.turns": repr(turns), **thread}
        return said(job, (f"{rod}.length",), more)

    return by_turns


def bridge(job: Job, rng: np.random.Generator) -> Job | None:
    if "stack.case_deck" not in job.entries:
        return None
    throw, rod = number(job, "crank.stroke") / 2, number(job, "crank.conrod_length")
    top = crown_at_top(throw, rod, number(job, "piston.pin_offset"), number(job, "piston.compression_height"))
    # Read on a case that was not cut yet: what [stack] says was cut counts as cut after the reading.
    face = sum(number(job, f"stack.{one}") for one in ("case_deck", "base_gasket", "cylinder"))
    return said(job, ("stack.case_deck",), {"stack.measured_deck.below": face - top})


def threads(job: Job, name: str) -> Job | None:
    where = f"{name}.rocker.adjuster"
    if f"{where}.pitch" not in job.entries:
        return None
    per_inch = repr(INCH / number(job, f"{where}.pitch"))
    return said(job, (f"{where}.pitch",), {f"{where}.threads_per_inch": per_inch})


def plunger_down(job: Job, name: str) -> Job | None:
    where = f"{name}.measured_pushrod.plunger"
    if job.entries.get(where, ("", None))[0] != "top":
        return job
    return said(job, (where,), {f"{where}.down": 0.0})


def row_of_springs(job: Job, name: str) -> Job | None:
    own = {path: value for path, (value, _) in job.entries.items() if path.startswith(f"{name}.spring.")}
    if not own or f"{name}.spring" in job.entries:
        return None
    size = INCH if job.units == "in" else 1.0
    parts = ", ".join(
        f"{path.rpartition('.')[2]} = {repr(value / size) if isinstance(value, float) else chr(34) + str(value) + chr(34)}"
        for path, value in own.items()
    )
    word = f"{ROW} {name}"
    edit = job.edit
    found = said(job, tuple(own), {f"{name}.spring": word})
    return found._replace(edit=lambda text: edit(text).replace(f'"{word}"', f"[{{ {parts} }}]"))


def spring_by(how: str) -> Callable[[Job, str], Job | None]:
    def read(job: Job, name: str) -> Job | None:
        stem = f"{name}.spring"
        if any(f"{stem}.{one}" not in job.entries for one in ("rate", "free_length")):
            return None
        free, height = number(job, f"{stem}.free_length"), 41.0
        force = f"{42 * (free - height)!r} N"
        gone = {"free length": "rate", "force": "free_length"}[how]
        more = {f"{stem}.force": force, f"{stem}.force_at": height}
        return said(job, (f"{stem}.{gone}",), more)

    return read


def direction(job: Job, name: str) -> Job | None:
    where = f"{name}.rocker.direction"
    if f"{where}.x" not in job.entries:
        return None
    three = [number(job, f"{where}.{axis}") * 3.7 for axis in "xyz"]
    return said(job, (), {f"{where}.{axis}": at for axis, at in zip("xyz", three, strict=True)})


def own_cylinder(job: Job, rng: np.random.Generator) -> Job | None:
    """Say of the cylinder what was said of the engine."""
    own = {
        path: value
        for path, (value, _) in job.entries.items()
        if path.startswith(("stack.", "piston.", "chamber.", "studs."))
    }
    return said(job, tuple(own), {f"one.{path}": value for path, value in own.items()})


def expansions(job: Job, rng: np.random.Generator) -> Job | None:
    found = job
    stuff = {"aluminium": "23.6", "steel": "12.3", "grey iron": "11.4"}
    for path, (value, _) in job.entries.items():
        if path.startswith("materials.") and str(value) in stuff:
            part = path.removeprefix("materials.")
            found = said(found, (path,), {f"materials.expansion_{part}": stuff[str(value)]})
    return found


def card_events(job: Job, rng: np.random.Generator) -> Job | None:
    """Say a card's duration and centreline by when the valve opens and closes."""
    found = job
    for port in ("intake", "exhaust"):
        lobe = f"lobe.{port}"
        if f"{lobe}.card.duration.at" not in job.entries:
            continue
        wide, middle = number(job, f"{lobe}.card.duration.degrees"), number(job, f"{lobe}.centreline")
        before, after = (middle, middle) if port == "intake" else (-middle, -middle)
        opens, closes = before - wide / 2, after + wide / 2  # crank rad from overlap top centre
        told = (-opens, closes - pi) if port == "intake" else (-(opens + pi), closes)
        gone = (f"{lobe}.card.duration.at", f"{lobe}.card.duration.degrees", f"{lobe}.centreline")
        events = f"{lobe}.card.events"
        more = {f"{events}.at": number(job, f"{lobe}.card.duration.at")}
        words = {
            f"{events}.{one}": repr(degrees(at)) for one, at in zip(("opens", "closes"), told, strict=True)
        }
        found = said(found, gone, {**more, **words})
    return None if found is job else found


def at_valve(job: Job, rng: np.random.Generator) -> Job | None:
    """Say a card at the lifter as one at the valve of a rocker of 1.5 with some lash."""
    found = job
    for port in ("intake", "exhaust"):
        lobe = f"lobe.{port}"
        if f"{lobe}.card.peak" not in job.entries or f"{lobe}.measured_at" in job.entries:
            continue
        lifts = [
            path
            for path in job.entries
            if path.startswith(f"{lobe}.card.") and path.endswith((".at", ".peak"))
        ]
        more: dict[str, object] = {path: number(job, path) * 1.5 - 0.12 for path in lifts}
        more |= {f"{lobe}.measured_at": "valve", f"{lobe}.card.ratio": "1.5", f"{lobe}.card.lash": 0.12}
        found = said(found, (), more)
    return None if found is job else found


def named_lobes(job: Job, rng: np.random.Generator) -> Job | None:
    entries = {
        path.replace("lobe.intake.", "lobe.first.").replace("lobe.exhaust.", "lobe.second."): value
        for path, value in job.entries.items()
    }
    lobes = {f"{TRAINS[0]}.lobe": "first", f"{TRAINS[1]}.lobe": "second"}
    return said(job._replace(entries=entries), (), lobes)


def stack_then(job: Job, name: str) -> Job | None:
    """Say the stack that a rod was read on, where it was the one of the job."""
    rod = f"{name}.measured_pushrod"
    if f"{rod}.length" not in job.entries or "stack.cylinder" not in job.entries:
        return job
    parts = ("base_gasket", "cylinder", "head_gasket")
    return said(job, (), {f"{rod}.stack.{part}": number(job, f"stack.{part}") for part in parts})


def in_inches(job: Job, rng: np.random.Generator) -> Job | None:
    if any(str(value).startswith(ROW) for value, _ in job.entries.values()):
        return None
    return job._replace(units="in")


def in_thousandths(job: Job, rng: np.random.Generator) -> Job | None:
    found = job
    for path in ("stack.base_gasket", "stack.head_gasket", "one.stack.head_gasket"):
        if path in job.entries:
            found = said(found, (), {path: f"{number(job, path) / INCH * 1000!r} thou"})
    return found


def tried(job: Job, rng: np.random.Generator) -> Job | None:
    """Say by --with what other entries say in the file: the one that is tried does away with them."""
    options = []
    for name in TRAINS:
        by_span, by_tip = span(job, name), tip_height(job, name)
        if by_span is None or by_tip is None or by_span is job:
            return None
        options += [f"{name}.rocker.span={number(by_span, f'{name}.rocker.span')!r} mm"]
        options += [f"{name}.rocker.arms={by_span.entries[f'{name}.rocker.arms'][0]}"]
        options += [f"{name}.valve.tip_height={number(by_tip, f'{name}.valve.tip_height')!r} mm"]
    words = [word for one in options for word in ("--with", one)]
    return job._replace(options=(*job.options, *words))


def copied(job: Job, rng: np.random.Generator) -> Job | None:
    """Say the exhaust gear as a copy of the intake's, its own entries written over it in another way."""
    name, other = TRAINS
    edit = job.edit
    return (
        job._replace(
            edit=lambda text: edit(text).replace('port = "exhaust"', f'port = "exhaust"\nlike = "{name}"', 1)
        )
        if set(_tails(job, name)) <= set(_tails(job, other))
        else None
    )


def _tails(job: Job, name: str) -> list[str]:
    taken = (".measured_pushrod.", ".measured_drop.")
    return [
        path.removeprefix(f"{name}.")
        for path in job.entries
        if path.startswith(f"{name}.") and not any(one in path for one in taken)
    ]


WAYS: dict[str, Way] = {
    "ratio for the valve arm": of_gears(ratio_for("valve_arm")),
    "ratio for the pushrod arm": of_gears(ratio_for("pushrod_arm")),
    "cup": of_gears(cup),
    "span": of_gears(span),
    "tip height": of_gears(tip_height),
    "pocket deepest": of_gears(deepest),
    "checking rod by pitch": of_gears(checking_rod("pitch")),
    "checking rod by threads": of_gears(checking_rod("threads")),
    "deck by bridge": bridge,
    "threads per inch": of_gears(threads),
    "plunger down by nothing": of_gears(plunger_down),
    "row of springs": of_gears(row_of_springs),
    "rate by free length": of_gears(spring_by("free length")),
    "free length by force": of_gears(spring_by("force")),
    "longer direction": of_gears(direction),
    "the cylinder's own": own_cylinder,
    "expansions": expansions,
    "card by events": card_events,
    "card at the valve": at_valve,
    "named lobes": named_lobes,
    "stack of the reading": of_gears(stack_then),
    "inches": in_inches,
    "thousandths": in_thousandths,
    "by --with": tried,
    "like": copied,
}


def respelled(job: Job, rng: np.random.Generator, mixed: int) -> Iterator[tuple[str, Job]]:
    """Yield the job said in every other way, and in so many mixtures of them."""
    for name, way in WAYS.items():
        found = way(job, rng)
        if found is not None and found is not job:
            yield name, found
    for _ in range(mixed):
        found, names = job, list[str]()
        for name in rng.permutation(list(WAYS))[: rng.integers(3, 9)]:
            new = WAYS[str(name)](found, rng)
            if new is not None and new is not found:
                found = new
                names.append(str(name))
        yield ", ".join(names), found


def answers(
    job: Job, path: Path, rng: np.random.Generator, commands: Sequence[str] = COMMANDS
) -> dict[str, object]:
    """Return every number and word of every answer, by where it stands."""
    path.write_text(job.edit(job_text(job.entries, job.units, rng)), encoding="utf-8")
    found: dict[str, object] = {}
    for command in commands:
        if command == "record" and job.options:
            continue  # a record is of what is in the file
        if command == "clearance":  # without remedies, which take most of its time
            found.update(_clearances(path, job.options))
            continue
        ended = tallstack(command, path, "--json", *job.options)
        found[f"{command}.status"] = ended.status
        if ended.status not in (0, 1):
            found[f"{command}.error"] = ended.err or ended.out
            continue
        found.update(_flat(ended.json, command))
    return found


def _clearances(path: Path, options: tuple[str, ...]) -> Iterator[tuple[str, object]]:
    """Yield every least clearance of a job, with its place and verdict."""
    job, tables = with_tables(load(path, options[1::2]))
    found = clearances(job.mapping, tables, {}, {})
    for valve in found.valves:
        where = f"clearance.{valve.train}"
        least = {"drop": valve.drop[0] if valve.drop else None, "pumped": valve.pumped}
        for key, one in least.items():
            yield f"{where}.{key}", None if one is None else float(one.value)
            yield f"{where}.{key}_at", None if one is None else round(float(one.angle), 4)
        yield f"{where}.gap", None if valve.gap is None else float(valve.gap.value)
        for key, judged in (("piston", valve.piston), ("room", valve.room), ("up", valve.up)):
            yield f"{where}.{key}", None if judged is None else float(judged.value)
            yield f"{where}.{key}_verdict", None if judged is None else judged.verdict.value
        yield f"{where}.problem", valve.problem
    for pair in found.pairs:
        for key, judged in (("between", pair.judged), ("up", pair.up)):
            yield f"clearance.{pair.cylinder}.{key}", None if judged is None else float(judged.value)


def _flat(value: object, where: str) -> Iterator[tuple[str, object]]:
    if isinstance(value, dict):
        for key, one in value.items():
            if key != "lobe" and not any(part in key for part in NOT_COMPARED):
                yield from _flat(one, f"{where}.{key}")
    elif isinstance(value, list):
        for index, one in enumerate(value):
            yield from _flat(one, f"{where}.{index}")
    else:
        yield where, value


def apart(first: Mapping[str, object], second: Mapping[str, object], within: float) -> list[str]:
    """Return every answer in which two jobs differ by more than so much (of the number, where it is above 1)."""
    found = []
    commands = {where.partition(".")[0] for where in second}
    for where in dict.fromkeys((*first, *second)):
        if where.partition(".")[0] not in commands:
            continue
        one, other = first.get(where), second.get(where)
        if isinstance(one, float) and isinstance(other, (float, int)):
            if abs(one - other) <= within * max(1.0, abs(one)):
                continue
        elif one == other:
            continue
        found.append(f"{where}: {one} / {other}")
    return found
