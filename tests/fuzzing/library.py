"""Calls of `import tallstack` that no program means: what is called, and what must hold whatever it is given.

Each try loads a job, sound or faulty, and asks one thing after the other of what came back. Every call ends in an answer
without a number that is none, or in an error that was raised on purpose and in words.
"""

from __future__ import annotations

import copy
import json
import math
import pickle
import random
import traceback
import warnings
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import tallstack as ts
import tallstack.cli
import tallstack.geometry

from tests.fuzzing import cases
from tests.fuzzing.grammar import mutated_job, mutated_record, mutated_table

OWN = tuple(str(Path(str(one.__file__)).parent) for one in (ts, tallstack.cli, tallstack.geometry))
DECLARED = (ts.JobError, ts.GeometryError, ValueError, TypeError, OSError)
TRIED = (
    *(
        "stack.cylinder",
        "stack.head_gasket",
        "front.intake.lifter.preload",
        "front.intake.measured_pushrod.length",
    ),
    *(
        "crank.stroke",
        "piston.compression_height",
        "case_cut",
        "front.lean",
        "cylinders",
        "trains",
        "nothing",
        "",
    ),
    *(
        "before.stack.cylinder",
        "title",
        "units",
        "lobe.intake.table",
        "targets.preload_least",
        "front.intake.spring.0.rate",
    ),
)
ODD: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 3, 2.5, 10**400, 1e308, 5e-324, math.nan, math.inf, -math.inf, 1j),
    *(
        "",
        "x",
        "\x00",
        "\ud800",
        "a" * 5_000,
        "5 +/- 0.1",
        "5 in",
        "nan",
        "5 +/- -1",
        "=",
        "..",
        "/",
        b"x",
        b"",
        object(),
    ),
    *(
        (),
        [],
        {},
        set(),
        (1, 2),
        ["x"],
        {"x": 1},
        {1: 2},
        [[]],
        (None,),
        range(3),
        Path("nothing.toml"),
        Path(),
        len,
    ),
    *(
        np.array([]),
        np.array(3.0),
        np.array([1.0, np.nan]),
        np.ones((2, 3)),
        np.array(["x"]),
        np.array([None]),
    ),
    *(
        np.float32(4.5),
        np.int64(3),
        np.bool_(1),
        np.array(5, dtype=object),
        np.linspace(90, 120, 4),
        np.zeros((0, 3)),
    ),
)
GROUPS = ("", "pushrods", "clearance", "fits", "x", "Pushrods")


class Failed(NamedTuple):
    """Calls of which the last one went wrong, and the folder's files."""

    called: tuple[str, ...]
    files: dict[str, str]
    why: str


class Call(NamedTuple):
    """One call, as it is told, and what does it."""

    told: str
    does: Callable[[], Any]


def tried(rng: random.Random, files: dict[str, str], count: int) -> Failed | None:
    """Load the job of a folder that is worked in, and make so many calls; return what went wrong, if anything did."""
    for name, text in files.items():
        Path(name).write_bytes(text.encode("utf-8", "surrogatepass"))
    called: list[str] = []
    job: ts.Job | None = None
    for place in range(count):
        one = _load(rng, odd=bool(place)) if job is None else rng.choice(CALLS)(rng, job)
        called.append(one.told[:400])
        try:
            with cases.within(cases.SECONDS * cases.slowness()), warnings.catch_warnings():
                warnings.simplefilter("error")
                found = one.does()
                why = "" if _is_odd(files) else no_number(found)
        except cases.HangError:
            return Failed(tuple(called), files, "too long")
        except BaseException as error:  # noqa: BLE001  whatever comes out is what we look for
            found, why = None, wrong(error)
        if why:
            return Failed(tuple(called), files, why)
        if isinstance(found, ts.Job):
            job = found
        elif job is None and place > 2:
            return None
    return None


def made(rng: random.Random, found: Sequence[dict[str, str]]) -> dict[str, str]:
    """Return a folder of inputs, its job sound more often than not."""
    files = {**rng.choice(found), "job.record.csv": cases.RECORD}
    way = rng.random()
    if way < 0.3:
        files["job.toml"] = mutated_job(rng, files["job.toml"])
    elif way < 0.5:
        files["job.record.csv"] = mutated_record(rng, files["job.record.csv"])
    elif way < 0.6:
        name = rng.choice([one for one in files if one.endswith(".csv")])
        files[name] = mutated_table(rng, files[name])
    return files


def wrong(error: BaseException) -> str:
    """Return what is wrong with an error; nothing where it was raised on purpose, and is of a kind that is promised."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{Path(last.filename).name}:{last.lineno}"
    on_purpose = last.filename.startswith(OWN) and (last.line or "").startswith("raise")
    on_purpose |= isinstance(error, OSError)  # of the system, with its path
    promised = isinstance(error, DECLARED) or type(error) in (LookupError, KeyError)
    if on_purpose and promised and str(error):
        return ""
    return f"{type(error).__name__} at {place}: {str(error)[:200]}"


def _is_odd(files: Mapping[str, str]) -> bool:
    return any(map(cases.BAD.search, files.values()))


def no_number(found: Any) -> str:
    """Return what of an answer is no number that is told, or nothing."""
    if isinstance(found, (str, bytes)):
        text = found if isinstance(found, str) else ""
        bad = cases.BAD.search(text)
        return f"{bad[0]} in the answer" if bad else ""
    if isinstance(found, (ts.Result, ts.Missing, ts.Change)):
        found = [found.row()]
    elif isinstance(found, (ts.Results, ts.Changes)):
        found = found.rows()
    if isinstance(found, (list, dict)):
        try:
            json.dumps(found, allow_nan=False)
        except ValueError as error:
            return f"not told in JSON: {error}"
        except TypeError as error:
            return f"not told in JSON: {error}"
    return ""


def _load(rng: random.Random, *, odd: bool) -> Call:
    if not odd:
        return Call("load('job.toml')", lambda: ts.load("job.toml"))
    path: Any = rng.choice((*ODD, "job.toml", "intake.csv", "shelf.csv", "before.toml"))
    variations: Any = rng.choice(((), "stack.cylinder=5 in", *ODD))
    return Call(f"load({path!r}, {variations!r})", lambda: ts.load(path, variations))


def _again(rng: random.Random, job: ts.Job) -> Call:
    return _load(rng, odd=True)


def _answers(rng: random.Random, job: ts.Job) -> Call:
    group: Any = rng.choice((*GROUPS, *GROUPS, rng.choice(ODD)))
    return Call(f".answers({group!r})", lambda: job.answers(group))


def _find(rng: random.Random, job: ts.Job) -> Call:
    answers = ("overall", "squish", "gap", "drop", "valve_to_valve", "compression_ratio", "centres", "x")
    answer: Any = rng.choice((*answers, *answers, rng.choice(ODD)))
    of: Any = rng.choice(("", "front.intake", "front", *job.names["trains"], rng.choice(ODD)))
    return Call(f".find({answer!r}, {of!r})", lambda: job.find(answer, of))


def _with(rng: random.Random, job: ts.Job) -> Call:
    if rng.random() < 0.1:
        other: Any = rng.choice(ODD)
        return Call(f".with_({other!r})", lambda: job.with_(other))
    entry: Any = (
        rng.choice((*TRIED, *job.entries, *job.entries)) if rng.random() < 0.95 else rng.choice(ODD[:40])
    )
    value: Any = rng.choice((*ODD, *(round(rng.uniform(-10, 200), 2) for _ in ODD)))
    if isinstance(entry, (list, dict, set, np.ndarray)):
        entry = str(entry)
    return Call(f".with_({{{entry!r}: {value!r}}})", lambda: job.with_({entry: value}))


def _compare(rng: random.Random, job: ts.Job) -> Call:
    before: Any = rng.choice((None, None, job, *ODD))
    return Call(f".compare({before!r})", lambda: job.compare(before))


def _to_another(rng: random.Random, job: ts.Job) -> Call:
    return Call(".compare(load('before.toml'))", lambda: job.compare(ts.load("before.toml")))


def _record(rng: random.Random, job: ts.Job) -> Call:
    return Call(".record()", job.record)


def _draw(rng: random.Random, job: ts.Job) -> Call:
    names = ("", "engine", *job.names["trains"], *job.names["cylinders"])
    of: Any = rng.choice((*names, *names, rng.choice(ODD)))
    at: Any = rng.choice((0.0, 0.0, 0.0, 30, -720.0, rng.choice(ODD)))
    return Call(f".draw({of!r}, {at!r}).svg", lambda: job.draw(of, at).svg)


def _save(rng: random.Random, job: ts.Job) -> Call:
    path: Any = rng.choice(("out.svg", "nowhere/out.svg", ".svg", "out.gif", *ODD))

    def does() -> None:
        job.draw().save(path)
        Path(path).unlink()

    return Call(f".draw().save({path!r})", does)


def _shown(rng: random.Random, job: ts.Job) -> Call:
    name, does = rng.choice(
        (
            *(("str", lambda: str(job)), ("repr", lambda: repr(job)), ("html", job._repr_html_)),
            *(
                ("look_again", lambda: list(job.look_again())),
                ("pickle", lambda: pickle.loads(pickle.dumps(job))),
            ),
            *(("copy", lambda: copy.deepcopy(job)), ("lines", lambda: str(job.answers()))),
            *(
                ("answers' html", lambda: job.answers()._repr_html_()),
                ("title", lambda: f"{job.title} {job.units}"),
            ),
            *(
                ("blanks", lambda: str(job.blanks)),
                ("assumed", lambda: str(job.assumed)),
                ("warnings", lambda: str(job.warnings)),
            ),
        )
    )
    return Call(name, does)


def _build(rng: random.Random, job: ts.Job) -> Call:
    if rng.random() < 0.1:
        other: Any = rng.choice(ODD)
        return Call(f"build({other!r})", lambda: ts.build(other))
    changes: dict[Any, Any] = {}
    for _ in range(rng.choice((1, 1, 2, 3))):
        entry: Any = (
            rng.choice((*TRIED, *job.mapping, *job.mapping))
            if rng.random() < 0.95
            else rng.choice(("\x00", 3, None))
        )
        was = job.mapping.get(entry)
        near = was * np.linspace(0.5, 1.5, rng.choice((1, 3, 4))) if isinstance(was, float) else 1.0
        changes[entry] = rng.choice((near, near, *ODD))

    def does() -> None:
        engine = ts.build(job.mapping.with_(changes))
        for train in engine.trains:
            try:
                _looked(ts.required(train))
            except ts.GeometryError as error:
                if not str(error):
                    raise

    return Call(f"required(build(mapping.with_({changes!r})))", does)


def _looked(found: ts.Required) -> None:
    """Look that an element that is none stands beside a negative reach.

    Raises:
        AssertionError: where it does not.
    """
    reach = found.reach
    for convention, length in found.lengths.items() if reach is not None else ():
        bad = ~np.isfinite(length)
        assert not np.any(bad & (reach >= 0)), (convention, length, reach)


def _train(rng: random.Random, job: ts.Job) -> Call:
    name: Any = rng.choice((*job.names["trains"], *ODD))
    given: Any = rng.choice(ODD)
    if rng.random() < 0.5:
        return Call(f"required({given!r})", lambda: ts.required(given))
    return Call(f"build(mapping).train({name!r})", lambda: ts.build(job.mapping).train(name))


CALLS: tuple[Callable[[random.Random, ts.Job], Call], ...] = (
    *(
        _again,
        _answers,
        _find,
        _find,
        _with,
        _with,
        _with,
        _with,
        _compare,
        _to_another,
        _record,
        _draw,
        _draw,
    ),
    *(_save, _shown, _shown, _build, _build, _build, _train),
)


def kept(found: Failed, folder: Path) -> None:
    """Keep calls that failed, with what was wrong."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in found.files.items():
        (folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    said = "\n".join((found.why, *found.called))
    (folder / "why.txt").write_text(f"{said}\n", encoding="utf-8", errors="replace")
    print(f"{folder}: {found.called[-1]}"[:300] + f": {found.why}", flush=True)
