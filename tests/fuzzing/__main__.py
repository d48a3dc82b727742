"""Fuzz for a while: `python -m tests.fuzzing --minutes 10 --seed 1`; by coverage see `coverage`.

What fails is written to a folder of its own, with the command and what was wrong.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path

from tests.fuzzing import cases


def main() -> int:
    """Return how many inputs failed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--minutes", type=float, default=1.0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--out", type=Path, default=Path(tempfile.gettempdir()) / "fuzzing")
    options = asked.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, cases.inside(Path(folder)):
        return _by_grammar(options.minutes * 60, options.seed, options.out)


def _by_grammar(seconds: float, seed: int, out: Path) -> int:
    found, end, tries, failed = cases.seeds(), time.monotonic() + seconds, 0, 0
    seen: set[tuple[str, str]] = set()
    while time.monotonic() < end:
        rng = random.Random(f"{seed}.{tries}")
        files = cases.made(rng, found)
        for words in cases.commands(rng, files):
            wrong = cases.tried(words, files)
            if wrong is not None:
                failed += 1
                if (words[0], wrong.why[:60]) not in seen:
                    seen.add((words[0], wrong.why[:60]))
                    cases.kept(wrong, out / f"{seed}.{tries}")
        tries += 1
    print(f"{tries} folders in {seconds:.0f} s, {failed} failed")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
