"""What an input is tried with, and what must hold whatever it is: an answer, or one clear message."""

from __future__ import annotations

import json
import math
import os
import random
import re
import resource
import signal
import time
from collections.abc import Generator, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import NamedTuple

from tests.commands import EXAMPLES, tallstack
from tests.fuzzing.grammar import mutated_job, mutated_record, mutated_table, with_before

SECONDS, MEMORY = 5.0, 1 << 30  # one command at most, where LOOP takes USUAL
LOOP, USUAL = (
    400_000,
    0.04,
)  # square roots added up, and the seconds of a processor that they took where SECONDS was set
DEMO = Path(__file__).parents[2] / "cli" / "demo"
BAD = re.compile(r"(?<![\w.])-?(nan|inf)(?![\w.])", re.IGNORECASE)
ANSWERS: tuple[tuple[str, ...], ...] = (
    ("pushrods",),
    ("pushrods", "--shelf", "shelf.csv"),
    ("clearance",),
    ("clearance", "--timing", "4"),
    ("fits",),
    ("risk", "--draws", "500"),
    ("measure",),
    ("explain", "front.intake"),
    ("explain",),
    ("swap", "before.toml"),
    ("swap",),
    ("overview",),
    ("draw", "-o", "out.svg", "--force"),
    ("draw", "engine", "-o", "out.svg", "--force"),
    ("draw", "--section", "-o", "out.svg", "--force"),
    ("record",),
)


class Failed(NamedTuple):
    """An input that something went wrong with."""

    words: tuple[str, ...]
    files: dict[str, str]
    why: str


class HangError(BaseException):
    """A command that ran too long; no command may take it for a fault of its own."""


@cache
def slowness() -> float:
    """Return how many times as long as usual this processor takes for the same sum, at least once."""
    took = []
    for _ in range(3):
        began = time.process_time()
        sum(math.sqrt(number) for number in range(LOOP))
        took.append(time.process_time() - began)
    return max(1.0, min(took) / USUAL)


def seeds() -> tuple[dict[str, str], ...]:
    """Return the folders that inputs are made from: every worked example, and the demo."""
    folders = [one for one in sorted(EXAMPLES.iterdir()) if (one / "job.toml").is_file()]
    found = [
        {
            one.name: one.read_text(encoding="utf-8")
            for one in folder.glob("*.*")
            if one.suffix in (".toml", ".csv")
        }
        for folder in folders
    ]
    demo = {
        one.name: one.read_text(encoding="utf-8")
        for one in DEMO.glob("*.*")
        if one.suffix in (".toml", ".csv")
    }
    demo["job.toml"] = demo.pop("twin.toml")
    shelf = next(one["shelf.csv"] for one in found if "shelf.csv" in one)
    return tuple({"shelf.csv": shelf, "before.toml": one["job.toml"], **one} for one in (*found, demo))


RECORD = """when,what,of,as,value,by,tool,note
2026-03-14T16:05:00+01:00,pushrod,front.intake,overall,11.072 +/- 0.002 in,Ann,mic A,
2026-03-14T16:06:00+01:00,turns,front.intake,zero lash,2.25,Ann,,
2026-03-14T16:07:00+01:00,note,,,,Ann,,"a note, with a comma"
"""


USES: dict[str, tuple[tuple[str, ...], ...]] = {  # table → what reads it
    "job.record.csv": (("record", "job.toml"), ("overview", "job.toml"), ("record", "job.toml", "--json")),
    "shelf.csv": (
        ("pushrods", "job.toml", "--shelf", "shelf.csv"),
        ("swap", "job.toml", "--shelf", "shelf.csv"),
    ),
    "crown.csv": (("clearance", "job.toml"), ("fits", "job.toml", "--json"), ("check", "job.toml")),
    "intake.csv": (("lobe", "intake.csv"), ("clearance", "job.toml")),
    "exhaust.csv": (("lobe", "exhaust.csv"), ("clearance", "job.toml", "--json")),
}
OUT = "out.svg"
CROWN = "x,y,height\n" + "".join(f"{x},{y},0.0\n" for x in (-40, 0, 40) for y in (-40, 0, 40))


class Folder(NamedTuple):
    """A folder of inputs, and which of its files was changed."""

    files: dict[str, str]
    changed: str


def made(rng: random.Random, found: Sequence[dict[str, str]]) -> Folder:
    """Return a folder of inputs with something changed in it."""
    files = {**rng.choice(found), "job.record.csv": RECORD}
    if "[piston]\n" in files["job.toml"] and rng.random() < 0.2:
        files["crown.csv"] = CROWN
        files["job.toml"] = files["job.toml"].replace(
            "[piston]\n", '[piston]\ncrown_table = "crown.csv"\n', 1
        )
    way = rng.random()
    if way < 0.1:
        files["job.toml"] = with_before(rng, files["job.toml"])
    if way < 0.65:
        files["job.toml"] = mutated_job(rng, files["job.toml"])
        return Folder(files, "job.toml")
    if way < 0.8:
        files["job.record.csv"] = mutated_record(rng, files["job.record.csv"])
        return Folder(files, "job.record.csv")
    name = rng.choice([one for one in files if one in USES])
    files[name] = mutated_table(rng, files[name])
    return Folder(files, name)


def commands(rng: random.Random, folder: Folder) -> Iterator[tuple[str, ...]]:
    """Yield what a folder is tried with: `check`, and what reads the table that was changed, or any answer."""
    yield ("check", "job.toml")
    if folder.changed in USES:
        yield rng.choice(USES[folder.changed])
        return
    first, *rest = rng.choice(ANSWERS)
    words = ("swap", *rest, "job.toml") if first == "swap" and rest else (first, "job.toml", *rest)
    yield (*words, "--json") if rng.random() < 0.4 and first not in ("draw",) else words


def tried(words: tuple[str, ...], files: dict[str, str]) -> Failed | None:
    """Run one command on the folder's files, in this process; return what went wrong, if anything did."""
    for name, text in files.items():
        Path(name).write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        with within(SECONDS * slowness()):
            ended = tallstack(*words)
    except HangError:
        return Failed(words, files, f"longer than {SECONDS * slowness():.3g} s")
    except BaseException as error:  # noqa: BLE001  whatever comes out is what we look for
        return Failed(words, files, f"{type(error).__name__}: {error}")
    drawn = Path(OUT).read_text(encoding="utf-8") if OUT in words and ended.status < 2 else ""
    why = wrong(words, ended.out + drawn, ended.err, ended.status, "\n".join(files.values()))
    if resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 > MEMORY:
        why = why or "more than 1 GB of memory"
    return Failed(words, files, why) if why else None


def kept(found: Failed, folder: Path) -> None:
    """Keep an input that failed, with what was wrong."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in found.files.items():
        (folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    (folder / "why.txt").write_text(f"{' '.join(found.words)}\n{found.why}\n", encoding="utf-8")
    print(f"{folder}: {' '.join(found.words)}: {found.why}", flush=True)


def wrong(words: tuple[str, ...], out: str, err: str, status: int, typed: str = "") -> str:
    """Return what is wrong with how a command ended; nothing where it is an answer or one message.

    typed : the input, whose own words may come back
    """
    if status not in (0, 1, 2):
        return f"status {status}: {err[-300:]}"
    if "Traceback" in out + err:
        return "a traceback"
    if status == 2:
        return "" if err.strip() and not out.strip() else "status 2 without one message"
    if "--json" in words:
        try:
            _finite(json.loads(out))
        except ValueError as error:
            return f"JSON: {error}"
        return ""
    found = None if BAD.search(typed) else BAD.search(out)
    return f"{found[0]} in the answer" if found else ""


def _finite(found: object) -> None:
    values = found.values() if isinstance(found, dict) else found if isinstance(found, list) else ()
    for one in values:
        if isinstance(one, float) and not math.isfinite(one):
            message = f"{one} in it"
            raise ValueError(message)
        _finite(one)


@contextmanager
def within(seconds: float) -> Generator[None]:
    """End by HangError what takes longer, counted in the processor's time."""

    def late(*_: object) -> None:
        raise HangError

    before = signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


@contextmanager
def inside(folder: Path) -> Generator[None]:
    """Work in a folder."""
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
