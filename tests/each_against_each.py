"""What must hold of every whole job, each as a function: a job as it was drawn, where to write it → what differs.

A job that is refused has to be refused however it is said; what it is refused for is not compared.
"""

from __future__ import annotations

import copy
import html
import json
import math
import re
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import tallstack as ts
from tallstack.cli.bench.site import application
from tallstack.cli.bench.working import Asked, stages
from tallstack.cli.job.entries.catalogue import meaning_at
from tallstack.cli.job.entries.fields import Parts
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import load
from tallstack.cli.job.reading.values import Dimension
from tallstack.cli.page.vocabulary import said
from tallstack.geometry import build, required
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.clearance.valve_lift import kept_closed
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates, over_valve
from tallstack.geometry.core.answer import TRAIN, Missing
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat, frozen, names
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.fits.groups import GROUPS as FITS
from tallstack.geometry.piston.cycle import between_at
from tallstack.geometry.piston.over_piston import over_piston

from .cli.bench.asking import ask
from .commands import screen
from .flattery import BETTER, Better, better
from .random_jobs import INCH
from .whole_jobs import Document, Drawn, Loc, Said, changed, dimension, entry_of, written

GROUPS = ("pushrods", "fits", "clearance")
CLOSE = 1e-6  # of a number, of what it is where that is more than 1
SURE = 2e-3  # of a doubt: what is told of a place on a flat bottom
FOLLOWED_MM = 1e-5  # of a lower end: a place along a rim is closed in on
QUICK = ("pushrods", "check")
SLOW = ("overview", "explain", "risk")  # of the study
MORE = {"explain": ("one.intake",), "risk": ("--draws", "300")}
WISHES = ("targets", "preload", "lash", "assembly", "oversize", "running.speed", "wanted")
LEAN_DEG, SMALLER = 7.5, 0.9
MOST_ON_PAGE = 4  # cylinders of a job that is worked out beside the page
OPEN_MM, EARLY = 0.5, -0.1  # of a valve, and crank rad from top centre, where a batch is looked at

Named = Mapping[str, str]


class Told(NamedTuple):
    """One answer: what of it is compared."""

    value: float
    unit: str
    sure: float | None
    verdict: str | None


Answers = dict[str, Told | None]  # None: it is missing


def answers(path: Path, groups: tuple[str, ...] = GROUPS) -> Answers | None:
    """Return every answer of a job by what it is of and its name, or None where the job is refused."""
    try:
        job = ts.load(path)
        every = [one for group in groups for one in job.answers(group)]
    except ts.JobError:
        return None
    found: Answers = {}
    for one in every:
        name, count = f"{one.of}: {one.answer}", 2
        while name in found:
            name, count = f"{one.of}: {one.answer} {count}", count + 1
        found[name] = (
            Told(one.value, one.unit, one.uncertainty, one.verdict) if isinstance(one, ts.Result) else None
        )
    return found


def apart(
    first: Answers | None, second: Answers | None, names: Named | None = None, values_only: bool = False
) -> list[str]:
    """Return every answer in which two jobs differ; names : what the first's cylinders are called in the second."""
    if first is None or second is None:
        return [] if first is second else [f"refused: {first is None}, {second is None}"]
    first = {_renamed(name, names or {}): one for name, one in first.items()}
    found = [f"{name}: in one alone" for name in first.keys() ^ second.keys()]
    for name in first.keys() & second.keys():
        one, other = first[name], second[name]
        if one is None or other is None:
            found += [] if one is other else [f"{name}: {one} / {other}"]
            continue
        same = math.isclose(one.value, other.value, rel_tol=CLOSE, abs_tol=CLOSE)
        if not values_only:
            same = same and one.verdict == other.verdict and (one.sure is None) == (other.sure is None)
        if same and not values_only and one.sure is not None and other.sure is not None:
            same = math.isclose(one.sure, other.sure, rel_tol=SURE, abs_tol=CLOSE)
        found += [] if same else [f"{name}: {one} / {other}"]
    return sorted(found)


def _renamed(name: str, names: Named) -> str:
    of, _, answer = name.partition(": ")
    parts = [".".join(names.get(part, part) for part in one.split(".")) for one in of.split(", ")]
    return f"{', '.join(parts)}: {answer}"


def in_other_units(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One engine typed in the other unit, half of it in the one it was."""
    other = "in" if job.units == "mm" else "mm"
    first = answers(written(job, folder, seed=seed), groups)
    return apart(first, answers(written(job, folder, "other", other, 0.5, seed + 1), groups))


def mirrored(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One engine with x reversed: its crank turns the other way."""
    first = answers(written(job, folder, seed=seed), groups)
    files = {name: _mirrored_file(name, said) for name, said in job.files.items()}
    image = job._replace(document=changed(job.document, _reversed), files=files)
    swung = {"swing_forward": "swing_backward", "swing_backward": "swing_forward"}
    second = answers(written(image, folder, "image", seed=seed), groups)
    if second is not None:
        second = {
            ": ".join(swung.get(part, part) for part in name.split(": ")): one for name, one in second.items()
        }
    return apart(first, second)


def _reversed(loc: Loc, one: Any) -> Any:
    last = str(loc[-1])
    if last == "turns" and one in ("forward", "backward"):
        return "backward" if one == "forward" else "forward"
    if isinstance(one, list) and len(one) in (2, 3) and isinstance(one[0], Said) and _is_row(loc):
        return [_minus(one[0]), *one[1:]]
    if isinstance(one, Said) and last in ("lean", "pin_offset", "eccentric_at", "around"):
        return one if "measured_pushrod" in loc or "measured_drop" in loc and last == "lean" else _minus(one)
    if isinstance(one, Said) and last == "at" and "reliefs" in loc:
        return one._replace(value=180 - one.value)
    return one


def _is_row(loc: Loc) -> bool:
    return isinstance(meaning_at(entry_of(loc)), Parts)


def _minus(one: Said) -> Said:
    return one._replace(value=-one.value)


def _mirrored_file(name: str, said: str) -> str:
    if name != "crown.csv":
        return said
    head, *rows = said.splitlines()
    return (
        "\n".join([head, *(f"{-float(x)},{rest}" for x, rest in (row.split(",", 1) for row in rows))]) + "\n"
    )


def leant_over(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One engine leant over as a whole."""
    rows = [*job.document["cylinder"], *job.document.get("before", {}).get("cylinder", ())]
    if not all("lean" in row for row in rows):
        return []
    first = answers(written(job, folder, seed=seed), groups)

    def over(loc: Loc, one: Any) -> Any:
        if loc[-1] != "lean" or "cylinder" not in loc or not isinstance(one, Said) or "train" in loc:
            return one
        value = one.value + LEAN_DEG
        return one._replace(value=value - 360 if value >= 180 else value)

    leant = job._replace(document=changed(job.document, over))
    return apart(first, answers(written(leant, folder, "leant", seed=seed), groups))


def in_another_order(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One engine whose cylinders have other names, those behind the first in another order, its gears in any."""
    first = answers(written(job, folder, seed=seed), groups)
    rng = np.random.default_rng([seed, 5])
    names = {row["name"]: f"z{9 - index}" for index, row in enumerate(job.document["cylinder"])}

    def called(loc: Loc, one: Any) -> Any:
        if not isinstance(one, str):
            return one
        if loc[-1] in ("name", "cylinder", "other") and one in names:
            return names[one]
        if loc[-1] in ("like", "train"):
            cylinder, _, port = one.partition(".")
            return f"{names[cylinder]}.{port}"
        return one

    document = changed(job.document, called)
    for table in (document, document.get("before", {})):
        if "cylinder" in table:
            head, *rest = table["cylinder"]
            table["cylinder"] = [head, *(rest[at] for at in rng.permutation(len(rest)))]
        if "train" in table:
            table["train"] = [table["train"][at] for at in rng.permutation(len(table["train"]))]
    second = answers(written(job._replace(document=document), folder, "order", seed=seed), groups)
    return (
        apart(first, _unordered(second), names)
        if first is None
        else apart(_unordered(_called(first, names)), _unordered(second))
    )


def _called(found: Answers, names: Named) -> Answers:
    return {_renamed(name, names): one for name, one in found.items()}


def _unordered(found: Answers | None) -> Answers | None:
    """Return answers of two cylinders under both in one order."""
    if found is None:
        return None
    rows: Answers = {}
    for name, one in found.items():
        of, _, answer = name.partition(": ")
        rows[f"{', '.join(sorted(of.split(', ')))}: {answer}"] = one
    return rows


POWERS = {  # how what is entered grows with an engine of the same stuff, its stresses and its speed of sound the same
    Dimension.LENGTH: 1,
    Dimension.AREA: 2,
    Dimension.VOLUME: 3,
    Dimension.MASS: 3,
    Dimension.FORCE: 2,
    Dimension.RATE: 1,
    Dimension.SPEED: -1,
}
OWN_SIZE = (
    "goes_in",
    "valve_to_open",
    "cranking",
    "intake_closes",
    "trapped",
    "hot",
)  # by the air, a hand, a check lift
GROWS = {"mm": 1, "cc": 3, "n": 2, "n_per_mm": 1, "g": 3, "rpm": -1}


def scaled(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One engine so many times as large: numbers grow as their dimension, where nothing was taken for granted."""
    lobes = job.document.get("lobe", {}).values()
    if not all("law" in one for one in lobes) or job.document.get("piston", {}).get("crown_table"):
        return []  # a card's ramps and a table's noise have a size of their own
    path = written(job, folder, seed=seed)
    first = answers(path, groups)
    if first is None:
        return []

    def grown(loc: Loc, one: Any) -> Any:
        if isinstance(one, list):
            return [grown((*loc, index), part) for index, part in enumerate(one)]
        if not isinstance(one, Said):
            return one
        by = SMALLER ** POWERS.get(dimension(loc), 0)
        if loc[-1] == "threads_per_inch":
            by = 1 / SMALLER
        if one.form == "{} %":
            by = 1.0
        return one._replace(value=one.value * by, half=None if one.half is None else one.half * by)

    files = {name: _scaled_file(name, said) for name, said in job.files.items()}
    small = job._replace(document=changed(job.document, grown), files=files)
    second = answers(written(small, folder, "small", seed=seed), groups)
    if second is None:
        return []  # some bounds are lengths
    taken = ts.load(path).assumed
    if any(one.value for one in taken if isinstance(one.value, float)):
        return []
    back = {
        name: None if one is None else one._replace(value=one.value / SMALLER ** GROWS.get(one.unit, 0))
        for name, one in second.items()
    }
    both = {name for name in first.keys() & back.keys() if not any(one in name for one in OWN_SIZE)}
    return apart({name: first[name] for name in both}, {name: back[name] for name in both}, values_only=True)


def _scaled_file(name: str, said: str) -> str:
    if name == "shelf.csv":
        return said
    head, *rows = said.splitlines()
    cells = [[float(cell) for cell in row.split(",")] for row in rows]
    lengths = slice(0 if name == "crown.csv" else 1, None)
    for row in cells:
        row[lengths] = [one * SMALLER for one in row[lengths]]
    return "\n".join([head, *(",".join(f"{one:.9f}" for one in row) for row in cells)]) + "\n"


def said_otherwise(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One engine said in longer words: copies written out, what is the engine's said of each cylinder, threads as pitch."""
    first = answers(written(job, folder, seed=seed), groups)
    rng = np.random.default_rng([seed, 6])
    document = copy.deepcopy(job.document)
    for table in (document, document.get("before", {})):
        if rng.random() < 0.7 and "train" in table:
            _write_out(table["train"])
        if rng.random() < 0.5 and "same" not in table and "cylinder" in table:
            _of_each(table)

    def by_pitch(loc: Loc, one: Any) -> Any:
        return one

    document = _as_pitch(changed(document, by_pitch))
    second = answers(written(job._replace(document=document), folder, "longer", seed=seed), groups)
    return apart(first, second, values_only=True)


def _write_out(rows: list[Document]) -> None:
    """Write out copies that are not mirrored; what was measured is each one's own."""
    by_name = {f"{row['cylinder']}.{row['port']}": row for row in rows}
    for row in rows:
        if "like" in row and not row.get("mirror"):
            of = by_name[row.pop("like")]
            row.pop("mirror", None)
            for name, part in of.items():
                if name not in ("cylinder", "port", "measured_pushrod", "measured_drop"):
                    row[name] = (
                        {**part, **row.get(name, {})} if isinstance(part, dict) else row.get(name, part)
                    )


def _of_each(table: Document) -> None:
    for name in ("chamber", "studs"):
        if name in table:
            part = table.pop(name)
            for row in table["cylinder"]:
                row[name] = {**part, **row.get(name, {})}


def _as_pitch(part: Any) -> Any:
    if isinstance(part, dict):
        found = {name: _as_pitch(one) for name, one in part.items()}
        if "threads_per_inch" in found:
            found["pitch"] = Said(INCH / found.pop("threads_per_inch").value)
        return found
    return [_as_pitch(one) for one in part] if isinstance(part, list) else part


def batched(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """Three engines as one batch, and one by one: pushrods, and all that is told of stack, pistons and valves that stand still."""
    try:
        loaded = load(written(job, folder, seed=seed))
        mapping, tables = loaded.settled.mapping, loaded.tables
    except InputFaultsError:
        return []
    rng = np.random.default_rng([seed, 7])
    entries = [
        path
        for path, one in mapping.items()
        if isinstance(one, float) and one and not path.startswith(("lobe.", "targets.", "before.", "reading"))
    ]
    some = [str(one) for one in rng.permutation(entries)[:12]]
    factors = 1 + rng.uniform(-0.001, 0.001, (len(some), 3))
    many: dict[str, Any] = {
        path: array(float(str(mapping[path])) * by) for path, by in zip(some, factors, strict=True)
    }

    def told(part: Mapping[str, Any]) -> dict[str, Any]:
        engine = frozen(mapping.with_(part))
        found = _lengths(engine)
        if len(groups) > 1:
            found |= _of_the_stack(engine) | _over_pistons(engine, tables)
        return found

    try:
        whole = told(many)
        alone = [told({path: float(one[at]) for path, one in many.items()}) for at in range(3)]
    except GeometryError:
        return []
    found = []
    for name, value in whole.items():
        single = np.array([one[name] for one in alone])
        wide = np.broadcast_to(value, (3,))
        if not np.allclose(wide, single, rtol=1e-12, atol=1e-9, equal_nan=True):
            found.append(f"{name}: {wide} / {single}")
    return found


def _lengths(mapping: Flat) -> dict[str, Any]:
    engine = build(mapping)
    found: dict[str, Any] = {}
    for train in names(mapping, "trains"):
        try:
            needed = required(engine.train(train))
        except GeometryError as error:
            found[f"{train} {type(error).__name__}"] = np.nan
            continue
        found |= {f"{train} {name}": np.squeeze(one) for name, one in needed.lengths.items()}
        found[f"{train} lean"] = np.squeeze(needed.lean)
    return found


def _of_the_stack(mapping: Flat) -> dict[str, Any]:
    """Return every figure of the rest of the stack that no lobe moves."""
    found: dict[str, Any] = {}
    for group in FITS:
        for of in names(mapping, "trains" if group.of == TRAIN else "cylinders"):
            figures = group.work_out(mapping, of)
            if not isinstance(figures, Missing):
                found |= {f"{of} {name}": np.squeeze(one.value) for name, one in figures.items()}
    return found


def _over_pistons(mapping: Flat, tables: Tables) -> dict[str, Any]:
    """Return drop and gap of every valve that is known by coordinates, and how far two are apart, all a little open."""
    found: dict[str, Any] = {}
    for cylinder in names(mapping, "cylinders"):
        over, valves = over_piston(mapping, cylinder, tables.crowns), {}
        for train in (one for one in names(mapping, "trains") if one.rpartition(".")[0] == cylinder):
            valve = over_valve(mapping, train, over, kept_closed(train_of(mapping, train)))
            if isinstance(valve, ByCoordinates):
                valves[train] = valve.valve._replace(lift=lambda _: array(OPEN_MM))
                found[f"{train} drop"] = np.squeeze(valve.drop(array(EARLY), array(OPEN_MM)))
                found[f"{train} gap"] = np.squeeze(valve.gap(array(EARLY), array(OPEN_MM)))
        if len(valves) > 1:
            found[f"{cylinder} between"] = np.squeeze(between_at(*valves.values(), array(EARLY)))
    return found


def by_command_and_library(
    job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS
) -> list[str]:
    """One job asked by a program, and by the command line: the same numbers and verdicts."""
    path = written(job, folder, seed=seed)
    found = []
    for group in groups:
        told = answers(path, (group,))
        ended = screen(group, path, "--json", "--full")
        if told is None:
            found += (
                []
                if ended.status == 2
                else [f"{group}: refused by the library, {ended.status} by the command"]
            )
            continue
        if ended.status not in (0, 1):
            known = [name for name, one in told.items() if one is not None]
            found += [f"{group}: {ended.status} {ended.err[:200]}, yet {known[:4]}"] if known else []
            continue
        rows = list(_rows(ended.json))
        for name, one in told.items():
            of, _, answer = name.partition(": ")
            if one is None:
                continue
            for row in rows:
                if of not in (row.get("train"), row.get("cylinder")):
                    continue
                key = f"{answer}_{one.unit}" if one.unit else answer
                value = row.get(key)
                if isinstance(value, float) and not math.isclose(
                    value, one.value, rel_tol=CLOSE, abs_tol=2 * CLOSE
                ):
                    found.append(f"{name}: {one.value} by the library, {value} by the command")
    return found


def _rows(part: Any) -> Iterator[dict[str, Any]]:
    if isinstance(part, dict):
        yield part
    for one in part.values() if isinstance(part, dict) else part if isinstance(part, list) else ():
        yield from _rows(one)


def on_the_page(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One job on the page at the bench and on a terminal: the same lengths and words, STOP and WATCH once worked out."""
    path = written(job, folder, seed=seed)
    app, ended = application(folder), screen("pushrods", path)
    name = path.stem
    site, address = app.state.site, f"/jobs/{name}/stack"
    first = ask(app, address).text
    if answers(path, ("pushrods",)) is None:
        return [] if not _gears(first) and "No answer" in first else ["refused, yet the page answers"]
    printed = " ".join(ended.out.split())
    lines = ended.out.splitlines()
    rows = [f"{line} {below}" for line, below in pairwise((*lines, "")) if line.startswith("  ")]
    found = []
    for whose, *shown, word in _gears(first):
        numbers = [one.split()[0] for one in shown if one]
        told = [line for line in rows if line.split()[: len(whose.split())] == whose.split()]
        alike = [line for line in told if all(one in line.split() for one in numbers)]
        if numbers and not any(word.partition(",")[0] in line for line in alike):
            found.append(f"{whose}: {shown}, {word} on the page, {told} on the terminal")
    found += [f"on the page alone: {one}" for one in _stops(first) if one not in printed]
    if len(groups) > 1 and len(job.document["cylinder"]) <= MOST_ON_PAGE:
        opened = site.job(name)
        for stage, one in stages(Asked(path, opened.text, opened.hash)):
            site.answers[name].found[stage] = opened.hash, one
        whole = _stops(ask(app, address).text) + _watched(ask(app, address).text)
        overview = screen("overview", path, "--json").json
        every = [" ".join(said(opened.job)(one).split()) for one in (*overview["stop"], *overview["watch"])]
        found += [f"overview alone: {one}" for one in every if one not in whole]
    return found


def _gears(page: str) -> list[list[str]]:
    """Return of each valve gear in a page's band its name, length, ± and word."""
    rows = re.findall(r'<li class="gear.*?</li>', page, re.DOTALL)
    parts = (
        r'class="name">(.*?)</a>',
        r'class="length"><b>(.*?)</b>',
        r'class="doubt">&plusmn; (.*?)</span>',
    )
    patterns = (*parts, r'<b class="verdict">(.*?)</b>')
    return [
        [_plain(one[1]) if (one := re.search(pattern, row, re.DOTALL)) else "" for pattern in patterns]
        for row in rows
    ]


def _stops(page: str) -> list[str]:
    """Return what stops the work, by a page."""
    every = re.findall(r'<div class="stopping">.*?</div>', page, re.DOTALL)
    return [_plain(one) for stop in every for one in re.findall(r"<li.*?>(.*?)</li>", stop, re.DOTALL)]


def _watched(page: str) -> list[str]:
    """Return what is to be watched, by a page."""
    room = re.search(r'<(p|details) id="watching".*?</\1>', page, re.DOTALL)
    if room is None:
        return []
    first = re.findall(r"WATCH(?:, \d+ things)?: (.*?)</", room[0], re.DOTALL)
    return [_plain(one) for one in (*first, *re.findall(r"<li>(.*?)</li>", room[0], re.DOTALL))]


def _plain(marked: str) -> str:
    """Return the words of a piece of a page."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", marked)).split())


def less_known(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One job with a few entries left out, or a few ± doubled: nothing looks better.

    But an answer that one entry contradicts is no longer to be looked at again where that entry is not there.
    """
    path = written(job, folder, seed=seed)
    if answers(path, ("pushrods",)) is None:
        return []
    many = 40 if len(groups) > 1 else 150
    found, _ = better(path, slice(seed % many, None, many))
    found = [one for one in found if not any(wish in ".".join(map(str, one.loc)) for wish in WISHES)]
    doubted = _looked_at_again(path) if found else set()
    return [
        str(one)
        for one in found
        if _is_higher(one) or (_is_said_better(one) and not (one.act == "left out" and one.answer in doubted))
    ]


def _looked_at_again(path: Path) -> set[str]:
    """Return the answers of a job that something entered contradicts."""
    job = ts.load(path)
    every = (one for group in GROUPS for one in job.answers(group))
    return {f"{one.of} {one.answer}" for one in every if isinstance(one, ts.Result) and one.look_again}


def _is_higher(one: Better) -> bool:
    before, after = one.before.lower, one.after.lower
    return before is not None and after is not None and after > before + FOLLOWED_MM


def _is_said_better(one: Better) -> bool:
    before, after = (-1 if room.verdict is None else BETTER[room.verdict] for room in (one.before, one.after))
    return after > before


def damaged(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One job with entries lost and numbers wrong: every command ends in words, and what it prints is JSON."""
    rng = np.random.default_rng([seed, 10])
    hurt, lost = rng.uniform(0, 0.03), rng.uniform(0, 0.05)

    def wrong(loc: Loc, one: Any) -> Any:
        if rng.random() < lost and loc[-1] not in ("format", "units"):
            return None
        if isinstance(one, Said) and rng.random() < hurt:
            return one._replace(value=float(one.value * rng.choice([-1.0, 0.0, 0.6, 1.4, 25.4])))
        return one

    path = written(
        job._replace(document=_without_none(changed(job.document, wrong))), folder, "hurt", seed=seed
    )
    return spoken(path, _commands(groups))


def _without_none(part: Any) -> Any:
    if isinstance(part, dict):
        return {name: _without_none(one) for name, one in part.items() if one is not None}
    if isinstance(part, list):
        return [_without_none(one) for one in part if one is not None]
    return part


def sound(job: Drawn, folder: Path, seed: int, groups: tuple[str, ...] = GROUPS) -> list[str]:
    """One job asked by every command: it ends in words, and what it prints is JSON."""
    return spoken(written(job, folder, seed=seed), (*_commands(groups), "record"))


def _commands(groups: tuple[str, ...]) -> tuple[str, ...]:
    others = tuple(group for group in groups if group not in QUICK)
    return (*QUICK, *SLOW, *others) if others else QUICK


def spoken(path: Path, commands: tuple[str, ...]) -> list[str]:
    """Return what is no answer in words among what commands say of a job."""
    found = []
    for command in commands:
        ended = screen(command, path, *MORE.get(command, ()), "--json")
        if ended.status not in (0, 1, 2) or "Traceback" in ended.err or not (ended.out or ended.err):
            found.append(f"{command}: {ended.status} {ended.err[-300:]}")
        elif ended.out:
            try:
                document = json.loads(ended.out, parse_constant=_refused)
            except ValueError as error:
                found.append(f"{command}: {error}: {ended.out[:200]}")
                continue
            if json.loads(json.dumps(document, allow_nan=False)) != document:
                found.append(f"{command}: comes back as another")
            if any(word in ended.out for word in ('"nan', '"inf', " nan ", " inf ", " nan,", "-0.000 ")):
                found.append(f"{command}: no number in its words")
    return found


def _refused(token: str) -> float:
    message = f"{token} is no JSON"
    raise ValueError(message)


Property = Callable[[Drawn, Path, int, tuple[str, ...]], list[str]]
PROPERTIES: tuple[Property, ...] = (
    in_other_units,
    mirrored,
    leant_over,
    in_another_order,
    scaled,
    said_otherwise,
    batched,
    by_command_and_library,
    on_the_page,
    less_known,
    damaged,
    sound,
)
