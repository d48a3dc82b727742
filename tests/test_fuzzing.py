"""Inputs that nobody would type end in an answer or in one clear message: a short run of the fuzzer, and all it ever found.

`python -m tests.fuzzing` and `python -m tests.fuzzing.coverage` go on for as long as they are let.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
import tallstack as ts

from .cli.bench.asgi import Answered
from .fuzzing import cases, library, page
from .fuzzing.grammar import mutated_job, mutated_record, mutated_table, with_before
from .seeded import few

CORPUS = Path(__file__).parent / "faults" / "found_by_fuzzing"
FOUND = sorted((*CORPUS.glob("*.toml"), *CORPUS.glob("*.csv")))
ASKED = sorted(CORPUS.glob("*.asked"))
SEEDS = cases.seeds()
COORDINATES = next(one for one in SEEDS if "direction = [" in one["job.toml"])


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("block", few(range(12), 2))
def test_a_short_run_finds_nothing(block: int) -> None:
    for number in range(4):
        rng = random.Random(f"plain.{block}.{number}")
        made = cases.made(rng, SEEDS)
        for words in cases.commands(rng, made):
            wrong = cases.tried(words, made.files)
            assert wrong is None, (wrong.words, wrong.why)


@pytest.mark.parametrize("block", few(range(20), 1))
def test_a_short_run_of_requests_finds_nothing(tmp_path: Path, block: int) -> None:
    for number in range(2):
        rng = random.Random(f"page.{block}.{number}")
        files = page.a_folder(rng, SEEDS)
        wrong = page.tried(page.requests(rng, files, 20), files, tmp_path / str(number))
        assert wrong is None, (wrong.asked[-1], wrong.why)


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("block", few(range(20), 1))
def test_a_short_run_of_calls_finds_nothing(block: int) -> None:
    for number in range(3):
        rng = random.Random(f"library.{block}.{number}")
        wrong = library.tried(rng, library.made(rng, SEEDS), 12)
        assert wrong is None, (wrong.called, wrong.why)


@pytest.mark.parametrize("path", ASKED, ids=lambda path: path.stem)
def test_what_was_found_at_the_page_stays_mended(tmp_path: Path, path: Path) -> None:
    """Each line is an address and what is sent to it."""
    lines = [one.split(" ", 1) for one in path.read_text(encoding="utf-8").splitlines()]
    asking = [page.Asking("POST", target, (), body.encode()) for target, body in lines]
    wrong = page.tried(asking, COORDINATES, tmp_path / "around")
    assert wrong is None, (wrong.asked[-1], wrong.why)


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


ENTER = page.Asking("POST", "/enter/job", (), b"{}")
SOUND = "format = 1\n"


@pytest.mark.parametrize(
    ("asking", "status", "body", "after", "why"),
    [
        (ENTER, 500, "", SOUND, "status 500"),
        (ENTER, 200, "Traceback", SOUND, "a traceback"),
        (ENTER, 200, page.SECRET, SOUND, "outside"),
        (ENTER, 200, page.MARKUP, SOUND, "markup"),
        (ENTER, 200, f'{{"parts": {{"a": "{page.MARKUP}"}}}}', SOUND, "markup"),
        (ENTER, 200, '{"a": NaN}', SOUND, "no JSON"),
        (ENTER, 400, "{}", "format = 1 # other\n", "another file"),
        (ENTER._replace(let_in=False), 200, "{}", "format = 1 # other\n", "another file"),
        (ENTER._replace(method="GET"), 200, "{}", "format = 1 # other\n", "another file"),
        (ENTER, 200, '{"told": {"fault": "no"}}', "format = 1 # other\n", "refused, and"),
        (ENTER, 200, "{}", "format = \n", "does not read"),
        (ENTER, 200, "{}", None, "does not read"),
    ],
)
def test_the_fuzzer_of_requests_sees_what_is_wrong(
    asking: page.Asking, status: int, body: str, after: str | None, why: str
) -> None:
    answer = Answered(status, [("content-type", "application/json")], body)
    there = {} if after is None else {"job.toml": after.encode()}
    found = "; ".join(page.wrong(asking, answer, {"job.toml": SOUND.encode()}, there, "a fault"))
    assert why in found
    good = answer._replace(status=200, body="{}")
    assert not list(page.wrong(ENTER, good, {"job.toml": SOUND.encode()}, {"job.toml": b"format = 2"}, ""))


def test_requests_reach_what_they_ask_for(tmp_path: Path) -> None:
    """Of so many some are taken and write, some are refused, and some are of nobody who was let in."""
    seen = set()
    for number in range(2):
        rng = random.Random(f"reach.{number}")
        here = page.Page(page.laid_out(page.a_folder(rng, SEEDS), tmp_path / str(number)))
        for one in page.requests(rng, SEEDS[-1], 40):
            seen.add((one.method, here.ask(one).status))
    assert {("GET", 200), ("GET", 404), ("POST", 200), ("POST", 400), ("POST", 401)} <= seen


def test_the_fuzzer_of_calls_sees_what_is_wrong() -> None:
    def raised(does: Callable[[], object]) -> str:
        with pytest.raises(Exception) as caught:  # noqa: PT011
            does()
        return library.wrong(caught.value)

    assert "IndexError" in raised(lambda: [][0])
    assert "KeyError" in raised(lambda: {}["x"])
    assert "ZeroDivisionError" in raised(lambda: 1 / 0)
    assert "TypeError" in raised(lambda: float([]))  # type: ignore[arg-type]
    assert not raised(lambda: ts.build(3))  # type: ignore[arg-type]
    assert not raised(lambda: ts.load("nothing.toml"))
    missing = ts.Missing("a", "b", "c", {})
    result = ts.Result("a", "b", "c", float("nan"), "mm")
    assert library.no_number(result)
    assert library.no_number([{"value": float("inf")}])
    assert library.no_number("squish nan mm")
    assert not library.no_number(missing)
    assert not library.no_number(ts.Results([missing]))


def test_inputs_are_the_same_for_the_same_numbers() -> None:
    text = SEEDS[0]["job.toml"]
    table = next(one["intake.csv"] for one in SEEDS if "intake.csv" in one)
    for number in range(5):
        for what in (page.requests, library.made):
            given = (SEEDS[0], 20) if what is page.requests else (SEEDS,)
            first, again = (what(random.Random(number), *given) for _ in range(2))  # type: ignore[operator]
            assert first == again
        for change, given_text in ((mutated_record, cases.RECORD), (with_before, text)):
            assert change(random.Random(number), given_text) == change(random.Random(number), given_text)
    for number in range(20):
        first, again = (mutated_job(random.Random(number), text) for _ in range(2))
        assert first == again
        first, again = (mutated_table(random.Random(number), table) for _ in range(2))
        assert first == again
