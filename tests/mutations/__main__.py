"""Put errors into `geometry/` or `cli/` one at a time and see whether the tests find them.

    cosmic-ray init tests/mutations/cosmic-ray.toml session.sqlite     (of-cli.toml for cli/)
    pytest -n 1 -vv --durations=0 --cov=tallstack --cov-context=test --cov-report= > run.log
    python -m tests.mutations --session session.sqlite --coverage .coverage --log run.log --count 1000

Each error is put in by a child process of its own, in memory, which runs the tests that reach its line, quick ones
first, and ends with the first that fails. It is run from a checkout in which `tallstack` is not loaded yet.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib.machinery
import json
import os
import signal
import sys
import time
from pathlib import Path
from types import CodeType

from tests.mutations.errors import of_session, sample
from tests.mutations.reach import Reach

ROOT = Path(__file__).parents[2]
NOT_FOUND = 4  # pytest's word for tests that are not there
KILLED, SURVIVED, LATE, UNREACHED, NOT_RUN = "killed", "survived", "late", "not reached", "not run"


def main() -> None:
    """Try a sample and write what became of each error, one JSON line each."""
    asked = argparse.ArgumentParser(description=__doc__)
    for name in ("session", "coverage", "log"):
        asked.add_argument(f"--{name}", type=Path, required=True)
    asked.add_argument("--count", type=int, default=1000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--seconds", type=float, default=20.0, help="of tests, for one error")
    asked.add_argument("--of", default="1/1", help="part of the sample, as 1/2")
    asked.add_argument("--control", action="store_true", help="put nothing in: all must survive")
    asked.add_argument("--only", type=Path, help="a file of earlier results: try its survivors again")
    asked.add_argument("--out", type=Path, default=Path("mutations.jsonl"))
    options = asked.parse_args()
    found, unseen = of_session(options.session, ROOT)
    print(f"{len(found)} errors, and {unseen} that never run")
    chosen = sample(found, options.count, options.seed)
    if options.only:
        again = {
            row["name"]
            for row in map(json.loads, options.only.read_text(encoding="utf-8").splitlines())
            if row["became"] in (SURVIVED, UNREACHED)
        }
        chosen = [one for one in found if one.name in again]
    if options.out.exists():  # begun before: go on behind it
        done = {json.loads(line)["name"] for line in options.out.read_text(encoding="utf-8").splitlines()}
        chosen = [one for one in chosen if one.name not in done]
    part, parts = map(int, options.of.split("/"))
    reach = Reach(options.coverage, options.log)
    import numpy  # noqa: F401, ICN001  loaded once, for every child
    import pytest  # noqa: F401
    import scipy.spatial  # noqa: F401
    import sympy  # noqa: F401

    with options.out.open("a", encoding="utf-8") as out:
        for one in chosen[part - 1 :: parts]:
            tests = reach.tests(one.path, one.begins[0], one.ends[0], options.seconds)
            began, path = time.monotonic(), (ROOT / one.path).resolve()
            source = path.read_text(encoding="utf-8") if options.control else one.source(ROOT)
            became = tried(source, path, tests, 3 * options.seconds + 30) if tests else UNREACHED
            row = {
                "name": one.name,
                "became": became,
                "tests": len(tests),
                "took": round(time.monotonic() - began, 1),
            }
            print(json.dumps(row), file=out, flush=True)


def tried(source: str, path: Path, tests: list[str], seconds: float) -> str:
    """Return what became of a module with this text under the tests; NOT_RUN where they could not be run at all."""
    try:
        code = compile(source, str(path), "exec")
    except (SyntaxError, ValueError):
        return KILLED
    child = os.fork()
    if not child:
        os.setsid()
        os._exit(_under(code, str(path), tests))
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            told = os.waitstatus_to_exitcode(status)
            if told in (0, 1, 2, 3) or told < 0:  # pytest's; below nothing it crashed
                return KILLED if told else SURVIVED
            sound = path.read_text(encoding="utf-8")
            if told == NOT_FOUND and source != sound and tried(sound, path, tests, seconds) == SURVIVED:
                return KILLED  # the tests are there, but their file cannot be loaded
            print(f"pytest ended with {told} on {tests[:3]}", file=sys.stderr)
            return NOT_RUN
        time.sleep(0.02)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return LATE


def _under(code: CodeType, target: str, tests: list[str]) -> int:
    """Run the tests with a module's code in place of its own, and return pytest's status; 99 for our own fault."""
    usual = importlib.machinery.SourceFileLoader.get_code

    def get_code(self: importlib.machinery.SourceFileLoader, name: str) -> CodeType | None:
        return code if os.path.realpath(self.path) == target else usual(self, name)

    try:
        importlib.machinery.SourceFileLoader.get_code = get_code  # type: ignore[method-assign]
        import pytest

        sink = os.open(os.devnull, os.O_WRONLY)
        os.dup2(sink, 1)
        os.dup2(sink, 2)
        return int(pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-p", "no:cov", *tests]))
    except BaseException:  # noqa: BLE001  whatever it was, it tells nothing of the error
        return 99


if __name__ == "__main__":
    sys.exit(main())
