"""Kills a command at every step of its writing, and looks at what it leaves: `python -m tests.killing FOLDER RANDOM SCENARIO ...`.

A child of this process runs the command and is killed just before, or just after, its Nth call that changes a disk;
half of a content is written where the call writes one. RANDOM more are killed at any moment. Prints the number of
kills and of strays, which a killed writer leaves beside its file.

Figures, measured on two cores with CPython 3.11:

- 138 kills of a session and of the bench page entering, beginning and copying, before and after every writing call:
  the old file or the new one, whole; a lock's file that is left holds nobody up; limit: the same
- 500 kills of `new`, `demo`, `record`, `draw` and `sheet`, before and after every writing call and at random, `-m
  study`: the old file or the new one, whole; limit: the same
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from tallstack.cli.bench import beginning
from tallstack.cli.bench.site import application
from tallstack.cli.guide.blank import blank_job
from tallstack.cli.job.document import Disk, Document

from .cli.bench.asking import ask
from .commands import EXAMPLES, tallstack

JOB = EXAMPLES / "pushrods_from_the_shelf" / "job.toml"
WHEN = "2026-03-14T16:05:00+01:00"
OLD = b"what stood there before\n"
CHANGING = ("open", "write", "fsync", "link", "replace", "unlink", "ftruncate", "fchmod", "mkdir")
STRAY = ".tallstack-"


class Scenario(NamedTuple):
    """A command that writes, in a folder of its own."""

    words: tuple[str, ...]
    writes: tuple[str, ...]
    before: dict[str, bytes] = {}
    asks: tuple[str, object] | None = (
        None  # an address of the bench page and what is sent to it, in place of a command
    )


BEGUN = {one.key: one.default for one in beginning.asked()} | {"file": "n"}
SCENARIOS = {
    "new": Scenario(("new", "n.toml", "--blank"), ("n.toml",)),
    "new over": Scenario(("new", "n.toml", "--blank", "--force"), ("n.toml",), {"n.toml": OLD}),
    "guided": Scenario((), ("n.toml", "n.toml.bak"), {"n.toml": blank_job("mm").encode()}),
    "page enter": Scenario(
        (),
        ("n.toml", "n.toml.bak"),
        {"n.toml": blank_job("mm").encode()},
        ("/enter/n", {"screen": "all", "owner": "", "loc": ["title"], "typed": "a", "was": ""}),
    ),
    "page begin": Scenario((), ("n.toml",), {}, ("/begin", BEGUN)),
    "page copy": Scenario((), ("n.toml",), {}, ("/copy", {"of": "job", "name": "n"})),
    "demo": Scenario(("demo", "."), ("twin.toml", "intake.csv", "exhaust.csv")),
    "record": Scenario(("record", "job.toml", "--note", "x", "--when", WHEN), ("job.record.csv",)),
    "record more": Scenario(
        ("record", "job.toml", "--note", "x", "--when", WHEN),
        ("job.record.csv",),
        {"job.record.csv": f"when,what,of,as,value,by,tool,note\n{WHEN},note,,,,,,first\n".encode()},
    ),
    "draw": Scenario(("draw", "job.toml", "-o", "d.svg"), ("d.svg",)),
    "draw over": Scenario(("draw", "job.toml", "-o", "d.svg", "--force"), ("d.svg",), {"d.svg": OLD}),
    "sheet": Scenario(("sheet", "job.toml", "-o", "s.html", "--date", "2026-03-14"), ("s.html",)),
    "sheet over": Scenario(
        ("sheet", "job.toml", "-o", "s.html", "--date", "2026-03-14", "--force"), ("s.html",), {"s.html": OLD}
    ),
}


def main() -> None:
    """Run the scenarios that are named."""
    folder, more, names = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3:]
    random.seed(7)
    kills = strays = 0
    for name in names or SCENARIOS:
        here = folder / name.replace(" ", "-")
        here.mkdir()
        found = _fire(here, SCENARIOS[name], more)
        kills, strays = kills + found[0], strays + found[1]
    print(kills, strays)


def _fire(here: Path, scenario: Scenario, more: int) -> tuple[int, int]:
    os.chdir(here)
    _lay_out(scenario)
    began = time.monotonic()
    _run(scenario)
    took = time.monotonic() - began
    after = {name: Path(name).read_bytes() for name in scenario.writes}
    kills = 0
    for late in (False, True):
        step = 1
        while _killed_at(scenario, step, late):
            _look(scenario, after, f"step {step}, {'after' if late else 'before'} it")
            kills, step = kills + 1, step + 1
    assert kills >= 6, kills
    for _ in range(more):
        moment = random.uniform(0.0, took)
        kills += _killed_after(scenario, moment)
        _look(scenario, after, f"after {moment} s")
    strays = [one.name for one in here.iterdir() if one.name.startswith(STRAY)]
    _lay_out(scenario)
    _run(scenario)  # whatever the killed ones left
    assert after == {name: Path(name).read_bytes() for name in scenario.writes}
    return kills, len(strays)


def _lay_out(scenario: Scenario) -> None:
    for name in scenario.writes:
        Path(name).unlink(missing_ok=True)
    shutil.copy(JOB, "job.toml")
    for name, content in scenario.before.items():
        Path(name).write_bytes(content)


def _run(scenario: Scenario) -> None:
    """Run a scenario; without words what a session keeps, in its document itself, as it has no terminal here."""
    if scenario.asks is not None:
        assert ask(application(Path.cwd()), *scenario.asks).status == 200
        return
    if not scenario.words:
        document = Document(Path("n.toml"), Disk(Path("n.toml")))
        for title in ("a", "ab"):
            document.put(("title",), title)
        return
    ended = tallstack(*scenario.words)
    assert ended.status in (0, 1), ended


def _killed_at(scenario: Scenario, step: int, late: bool) -> bool:
    """Say whether the command had so many steps; it was killed at the last of them then."""
    _lay_out(scenario)
    child = os.fork()
    if not child:
        _arm(step, late)
        _run(scenario)
        os._exit(0)
    _, ended = os.waitpid(child, 0)
    assert ended in (0, signal.SIGKILL), ended
    return ended != 0


def _killed_after(scenario: Scenario, seconds: float) -> bool:
    _lay_out(scenario)
    child = os.fork()
    if not child:
        _run(scenario)
        os._exit(0)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    return os.waitpid(child, 0)[1] == signal.SIGKILL


def _arm(step: int, late: bool) -> None:
    """Let this process be killed at its Nth step."""
    left = step

    def due() -> bool:
        nonlocal left
        left -= 1
        return not left

    def armed(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **more: Any) -> Any:
            if not due():
                return real(*given, **more)
            try:
                return real(*given, **more) if late else None
            finally:
                os.kill(os.getpid(), signal.SIGKILL)

        return call

    def opened(handle: int, mode: str) -> Any:
        stream = real_fdopen(handle, mode)
        if due():
            write(handle, HALF if late else b"")
            os.kill(os.getpid(), signal.SIGKILL)
        return stream

    write, real_fdopen = os.write, os.fdopen
    for name in CHANGING:
        setattr(os, name, armed(getattr(os, name)))
    os.fdopen = opened  # type: ignore[assignment]


HALF = b"half of a content"


def _look(scenario: Scenario, after: dict[str, bytes], when: str) -> None:
    """Look that everything is as it was or as it is to be, and that nothing else is there but strays."""
    for path in Path().iterdir():
        if STRAY in path.name or path.name == "job.toml":  # a lock too, which nobody holds any more
            continue
        assert path.name in scenario.writes, (path, when)
        content = path.read_bytes()
        whole = {after[path.name], scenario.before.get(path.name), *_between(path.name, scenario)}
        whole |= (
            {b""} if path.name.endswith(".record.csv") and not scenario.before else set()
        )  # a record begins empty
        assert content in whole, (path, when, content)
    for name, content in scenario.before.items():
        assert Path(name).read_bytes() in (content, after[name], *_between(name, scenario)), (name, when)
    assert Path("job.toml").read_bytes() == JOB.read_bytes()


def _between(name: str, scenario: Scenario) -> tuple[bytes, ...]:
    """Return what a file holds on the way of a session that saves twice."""
    if scenario.words or scenario.asks is not None:
        return ()
    before = scenario.before["n.toml"]
    return (before.replace(b'title = ""', b'title = "a"'),) if name == "n.toml" else (before,)


if __name__ == "__main__":
    main()
