"""Inputs that nobody would type end in an answer or in one clear message: a short run of the fuzzer, and all it ever found.

`python -m tests.fuzzing` and `python -m tests.fuzzing.coverage` go on for as long as they are let.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from .fuzzing import cases
from .fuzzing.grammar import mutated_job, mutated_table
from .seeded import few

FOUND = sorted((Path(__file__).parent / "faults" / "found_by_fuzzing").iterdir())
SEEDS = cases.seeds()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("block", few(range(12), 2))
def test_a_short_run_finds_nothing(block: int) -> None:
    for number in range(5):
        rng = random.Random(f"plain.{block}.{number}")
        files = cases.made(rng, SEEDS)
        for words in cases.commands(rng, files):
            wrong = cases.tried(words, files)
            assert wrong is None, (wrong.words, wrong.why)


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.stem)
def test_what_was_found_stays_mended(path: Path) -> None:
    """The first line says the commands, the rest is the file."""
    said, _, text = path.read_text(encoding="utf-8").partition("\n")
    name = "job.toml" if path.suffix == ".toml" else "intake.csv"
    for command in said.removeprefix("# ").split("; "):
        wrong = cases.tried(tuple(command.split()), {**SEEDS[-1], name: text})
        assert wrong is None, (wrong.words, wrong.why)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # a file open when time is up
def test_the_fuzzer_sees_what_is_wrong(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each way to fail is noticed."""
    files = dict(SEEDS[-1])
    assert cases.tried(("check", "job.toml"), files) is None
    monkeypatch.setattr(cases, "SECONDS", 0.01)
    hung = cases.tried(("clearance", "job.toml"), files)
    assert hung is not None
    assert "longer than" in hung.why
    monkeypatch.undo()
    monkeypatch.chdir(folder)
    monkeypatch.setattr(cases, "MEMORY", 1)
    assert cases.tried(("check", "job.toml"), files) is not None
    monkeypatch.undo()
    for words, out, err, status in (
        (("fits",), "squish nan mm", "", 0),
        (("fits",), "inf", "", 0),
        (("fits", "--json"), '{"a": [{"b": NaN}]}', "", 0),
        (("fits", "--json"), "not JSON", "", 0),
        (("fits",), "", "", 2),
        (("fits",), "some of it", "a fault", 2),
        (("fits",), "", "Traceback (most recent call last)", 2),
        (("fits",), "", "a fault of tallstack's own", 70),
    ):
        assert cases.wrong(words, out, err, status), (words, out, err, status)
    assert not cases.wrong(("fits",), "information on nanometres", "", 0)


def test_inputs_are_the_same_for_the_same_numbers() -> None:
    text = SEEDS[0]["job.toml"]
    table = next(one["intake.csv"] for one in SEEDS if "intake.csv" in one)
    for number in range(20):
        first, again = (mutated_job(random.Random(number), text) for _ in range(2))
        assert first == again
        first, again = (mutated_table(random.Random(number), table) for _ in range(2))
        assert first == again
