"""The same inputs chosen by what code they reach: `python -m tests.fuzzing.coverage --minutes 10` (needs atheris).

Those that reach more are kept and changed by the grammar. An input is one letter for the file that it is, then that file's text; the rest of its folder is sound.
"""

from __future__ import annotations

import argparse
import importlib
import pkgutil
import random
import sys
import tempfile
from pathlib import Path

import atheris  # type: ignore[import-not-found]

with atheris.instrument_imports(include=["tallstack"]):  # commands load most of it only when they run
    for package in ("tallstack.cli", "tallstack.geometry"):
        for one in pkgutil.walk_packages(importlib.import_module(package).__path__, f"{package}."):
            if not one.name.endswith("__main__"):
                importlib.import_module(one.name)
from tomlkit.exceptions import TOMLKitError

from tests.fuzzing import cases
from tests.fuzzing.grammar import mutated_job, mutated_record, mutated_table

FILES = {"J": "job.toml", "L": "intake.csv", "S": "shelf.csv", "R": "job.record.csv", "C": "crown.csv"}
USES = {
    "J": (
        ("check", "job.toml"),
        ("pushrods", "job.toml"),
        ("clearance", "job.toml", "--json"),
        ("fits", "job.toml"),
    ),
    "L": (("lobe", "intake.csv"),),
    "S": (("pushrods", "job.toml", "--shelf", "shelf.csv"),),
    "R": (("record", "job.toml"),),
    "C": (("clearance", "job.toml"),),
}
CROWNED = '\n[piston]\ncrown_table = "crown.csv"\n'


def main() -> None:
    """Fuzz for so long."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--minutes", type=float, default=1.0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--out", type=Path, default=Path(tempfile.gettempdir()) / "fuzzing")
    options = asked.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, cases.inside(Path(folder)):
        _fuzz(options.minutes * 60, options.seed, options.out)


def _fuzz(seconds: float, seed: int, out: Path) -> None:
    found = cases.seeds()
    demo = found[-1]
    count, seen = [0], set[str]()

    def tried(data: bytes) -> None:
        letter, text = data[:1].decode("latin-1"), data[1:].decode("utf-8", "replace")
        if letter not in FILES:
            return
        files = {**demo, "job.record.csv": cases.RECORD, FILES[letter]: text}
        if letter == "C":
            files["job.toml"] = demo["job.toml"].replace("[piston]\n", CROWNED.lstrip(), 1)
        for words in USES[letter]:
            wrong = cases.tried(words, files)
            if wrong is not None and wrong.why[:60] not in seen:
                seen.add(wrong.why[:60])
                count[0] += 1
                cases.kept(wrong, out / f"coverage-{seed}-{count[0]}")

    def changed(data: bytes, most: int, chance: int) -> bytes:
        rng = random.Random(chance)
        letter, text = data[:1].decode("latin-1"), data[1:].decode("utf-8", "replace")
        if letter not in FILES or rng.random() < 0.1:
            return bytes(atheris.Mutate(data, most))
        try:
            text = {"J": mutated_job, "R": mutated_record}.get(letter, mutated_table)(rng, text)
        except (ValueError, IndexError, TOMLKitError):  # no TOML any more
            return bytes(atheris.Mutate(data, most))
        return f"{letter}{text}".encode("utf-8", "surrogatepass")[:most]

    corpus = Path("corpus")
    corpus.mkdir()
    starts = [f"J{one['job.toml']}" for one in found]
    starts += [f"L{one[name]}" for one in found for name in ("intake.csv", "exhaust.csv") if name in one]
    starts += [f"S{demo['shelf.csv']}", f"R{cases.RECORD}", f"C{cases.CROWN}"]
    for place, text in enumerate(starts):
        (corpus / str(place)).write_bytes(text.encode())
    options = [
        f"-max_total_time={seconds:.0f}",
        f"-seed={seed}",
        "-rss_limit_mb=1024",
        "-max_len=20000",
        "-timeout=30",
    ]
    atheris.Setup([sys.argv[0], *options, str(corpus)], tried, custom_mutator=changed)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
