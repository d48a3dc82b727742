"""One job gives the same numbers with every Python that is supported, oldest and newest dependencies alike.

Installs into a fresh environment for each Python of the classifiers that is there, with the newest and with the
lowest dependencies, and compares their JSON byte for byte.
"""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from .lowest_versions import PROJECT, pins

HOME = PROJECT.parent
STATED = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
OLDEST = STATED["requires-python"].removeprefix(">=")
PYTHONS = [
    one.rpartition(" ")[2]
    for one in STATED["classifiers"]
    if one.startswith("Programming Language :: Python :: 3.")
]
TOUR = (
    ("demo", "."),
    ("check", "twin.toml", "--json"),
    ("pushrods", "twin.toml", "--json"),
    ("clearance", "twin.toml", "--json"),
    ("risk", "twin.toml", "--json"),
    ("draw", "twin.toml", "-o", "gear.svg"),
    ("sheet", "twin.toml", "-o", "sheet.html", "--date", "2026-03-14"),
    ("sheet", "twin.toml", "-o", "sheet.pdf", "--date", "2026-03-14"),
)
INSTALL = 900  # seconds


def interpreter(version: str) -> str:
    """Return a Python of a version: one on the path, or one that pyenv built."""
    built = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    there = [*built.glob(f"{version}.*/bin/python")]
    found = shutil.which(f"python{version}", path="/usr/local/bin:/usr/bin") or next(map(str, there), None)
    if found is None:
        pytest.skip(f"no Python {version} here")
    return found


@pytest.fixture(scope="session")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the project, so that no build leaves anything in it."""
    to = tmp_path_factory.mktemp("source") / "tallstack"
    to.mkdir()
    for name in ("geometry", "cli", "pyproject.toml", "README.md"):
        copy = shutil.copytree if (HOME / name).is_dir() else shutil.copy
        copy(HOME / name, to / name)
    return to


@functools.cache
def answers(version: str, lowest: bool, source: Path) -> tuple[str, ...]:
    """Install into a fresh environment and return what the tour's commands printed as JSON."""
    folder = source.parent / f"{version}-{'lowest' if lowest else 'newest'}"
    folder.mkdir()
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}

    def run(*words: str | Path, seconds: int = 120, fine: tuple[int, ...] = (0,)) -> str:
        ended = subprocess.run(
            list(map(str, words)),
            cwd=folder,
            env=clean,
            capture_output=True,
            text=True,
            timeout=seconds,
            check=False,
        )
        assert ended.returncode in fine, (words, ended.stdout, ended.stderr)
        return ended.stdout

    python = folder / "venv" / "bin" / "python"
    run(interpreter(version), "-m", "venv", "venv")
    constraints = folder / "constraints.txt"
    constraints.write_text("\n".join(pins() if lowest else ()), encoding="utf-8")
    run(python, "-m", "pip", "install", "--quiet", source, "-c", constraints, seconds=INSTALL)
    assert run(python, "-c", "import sys; print('%d.%d' % sys.version_info[:2])").strip() == version
    tallstack = python.with_name("tallstack")
    printed = [run(tallstack, *words, fine=(0, 1)) for words in TOUR]
    assert (folder / "sheet.pdf").read_bytes().startswith(b"%PDF")
    return tuple(one for one, words in zip(printed, TOUR, strict=True) if "--json" in words)


def test_the_oldest_python_that_is_stated_is_the_first_that_is_tried() -> None:
    assert PYTHONS[0] == OLDEST


@pytest.mark.study
@pytest.mark.parametrize("lowest", [False, True], ids=["newest", "lowest"])
@pytest.mark.parametrize("version", PYTHONS)
def test_every_python_gives_the_same_numbers(version: str, lowest: bool, source: Path) -> None:
    assert answers(version, lowest, source) == answers(OLDEST, False, source)
