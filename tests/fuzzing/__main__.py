"""Fuzz for a while: `python -m tests.fuzzing --minutes 10 --seed 1 --of jobs|page|library`; by coverage see `coverage`.

What fails is written to a folder of its own, with what was asked and what was wrong.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from tests.fuzzing import cases, library, page

COUNT = 12  # requests or calls of one folder


def main() -> int:
    """Return whether any input failed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--minutes", type=float, default=1.0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--of", choices=OF, default="jobs")
    asked.add_argument("--out", type=Path, default=Path(tempfile.gettempdir()) / "fuzzing")
    options = asked.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, cases.inside(Path(folder)):
        return _by_grammar(options.of, options.minutes * 60, options.seed, options.out)


def _by_grammar(of: str, seconds: float, seed: int, out: Path) -> int:
    found, end, tries, inputs, failed = cases.seeds(), time.monotonic() + seconds, 0, 0, 0
    seen: set[str] = set()
    while time.monotonic() < end:
        for kept, why, wrong in OF[of](random.Random(f"{seed}.{tries}"), found):
            inputs += 1
            failed += bool(why)
            if why and why not in seen:
                seen.add(why)
                kept(wrong, out / f"{of}.{seed}.{tries}")
        tries += 1
    print(f"{tries} folders, {inputs} inputs in {seconds:.0f} s, {failed} failed")
    return int(failed > 0)


Tried = Iterator[
    tuple[Callable[[Any, Path], None], str, Any]
]  # what keeps it, what is wrong or nothing, what it was


def _jobs(rng: random.Random, found: tuple[dict[str, str], ...]) -> Tried:
    folder = cases.made(rng, found)
    for words in cases.commands(rng, folder):
        wrong = cases.tried(words, folder.files)
        yield cases.kept, "" if wrong is None else f"{words[0]}: {wrong.why[:60]}", wrong


def _page(rng: random.Random, found: tuple[dict[str, str], ...]) -> Tried:
    files = page.a_folder(rng, found)
    around = Path("around").resolve()
    wrong = page.tried(page.requests(rng, files, COUNT), files, around)
    shutil.rmtree(around)
    asked = COUNT if wrong is None else len(wrong.asked)
    yield from ((page.kept, "", None) for _ in range(asked - 1))
    yield page.kept, "" if wrong is None else wrong.why[:60], wrong


def _library(rng: random.Random, found: tuple[dict[str, str], ...]) -> Tried:
    wrong = library.tried(rng, library.made(rng, found), COUNT)
    called = COUNT if wrong is None else len(wrong.called)
    yield from ((library.kept, "", None) for _ in range(called - 1))
    yield library.kept, "" if wrong is None else wrong.why[:60], wrong


OF = {"jobs": _jobs, "page": _page, "library": _library}


if __name__ == "__main__":
    sys.exit(main())
