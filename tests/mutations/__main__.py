"""Put errors into `geometry/` one at a time and see whether the tests find them.

    cosmic-ray init tests/mutations/cosmic-ray.toml session.sqlite
    pytest -n 1 -vv --durations=0 --cov=geometry --cov-context=test --cov-report= > run.log
    python -m tests.mutations --session session.sqlite --coverage .coverage --log run.log --count 1000

Each error is put in by a child process of its own, in memory, which runs the tests that reach its line, quick ones
first, and ends with the first that fails. It is run from a checkout in which `tallstack` is not loaded yet.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib.machinery
import io
import json
import os
import signal
import sys
import time
from pathlib import Path
from types import CodeType

from tests.mutations.errors import PutIn, of_session, sample
from tests.mutations.reach import Reach

ROOT = Path(__file__).parents[2]
KILLED, SURVIVED, LATE, UNREACHED = "killed", "survived", "late", "not reached"


def main() -> None:
    """Try a sample and write what became of each error, one JSON line each."""
    asked = argparse.ArgumentParser(description=__doc__)
    for name in ("session", "coverage", "log"):
        asked.add_argument(f"--{name}", type=Path, required=True)
    asked.add_argument("--count", type=int, default=1000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--seconds", type=float, default=20.0, help="of tests, for one error")
    asked.add_argument("--of", default="1/1", help="part of the sample, as 1/2")
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
    part, parts = map(int, options.of.split("/"))
    reach = Reach(options.coverage, options.log)
    import numpy  # noqa: F401, ICN001  loaded once, for every child
    import pytest  # noqa: F401
    import scipy.spatial  # noqa: F401
    import sympy  # noqa: F401

    with options.out.open("a", encoding="utf-8") as out:
        for one in chosen[part - 1 :: parts]:
            tests = reach.tests(one.path, one.begins[0], one.ends[0], options.seconds)
            began = time.monotonic()
            became = tried(one, tests, 3 * options.seconds + 30) if tests else UNREACHED
            row = {
                "name": one.name,
                "became": became,
                "tests": len(tests),
                "took": round(time.monotonic() - began, 1),
            }
            print(json.dumps(row), file=out, flush=True)


def tried(one: PutIn, tests: list[str], seconds: float) -> str:
    """Return what became of one error."""
    child = os.fork()
    if not child:
        os.setsid()
        os._exit(_with_error(one, tests))
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return SURVIVED if os.waitstatus_to_exitcode(status) == 0 else KILLED
        time.sleep(0.02)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return LATE


def _with_error(one: PutIn, tests: list[str]) -> int:
    """Run the tests on a module with the error in it; return pytest's status, or 99 where it does not compile."""
    target = str((ROOT / one.path).resolve())
    try:
        code = compile(one.source(ROOT), target, "exec")
    except (SyntaxError, ValueError):
        return 99
    usual = importlib.machinery.SourceFileLoader.get_code

    def get_code(self: importlib.machinery.SourceFileLoader, name: str) -> CodeType | None:
        return code if os.path.realpath(self.path) == target else usual(self, name)

    importlib.machinery.SourceFileLoader.get_code = get_code  # type: ignore[method-assign]
    import pytest

    sink = os.open(os.devnull, os.O_WRONLY)
    os.dup2(sink, 1)
    os.dup2(sink, 2)
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return int(pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-p", "no:cov", *tests]))


if __name__ == "__main__":
    sys.exit(main())
