"""A line that is read without typer asks for the call that typer would make of it; every other is left to typer.

Lines are drawn of every command: its options in every spelling, several times, in any order, with values that can be read and
that cannot, and words that are of no command. Run under the lowest version of typer too, by `.ci/run`.
"""

from __future__ import annotations

import contextlib
import inspect
import io
import os
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tallstack.cli import app
from tallstack.cli.app import COMMANDS, IN_FRONT
from tallstack.cli.declared import Command, Declared, parameters
from tallstack.cli.plainly import read, words_of
from tallstack.cli.with_typer import parser

from ..commands import screen

LINES, OF_EACH = 20, 7  # of each command, and of each of its parameters more
GOOD: dict[Any, tuple[str, ...]] = {
    int: ("0", "7", "10000"),
    float: ("0", "3", "12.5", "0.25"),
    Path: ("job.toml", "none.toml", ".", "shared/lobe.csv", "a=b", "ä ö.toml", "job.toml/x"),
    str: ("front.intake", "1.2 mm", "stack.head_gasket=0.03 in", "x=-1", "0 mm +/- 0.1", "ü", " ", "[OF]"),
}
ODD = (
    "",
    "-",
    "--",
    "-3",
    "-1.5",
    "1e3",
    "1_000",
    "007",
    "+4",
    " 5",
    "nan",
    "٣",
    "99999999999",
    "x",
    "--json",
    "-o",
)
ELSE = ("--nope", "--js", "--with-", "-h", "--help", "--", "-", "-x", "--no-json", "--version", "")

Called = list[dict[str, Any]]


@pytest.fixture
def called(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Called:
    """What each command that is run from here on knows when it would begin to work out its answer."""
    found: Called = []

    def noted(run: object, *how: object, **more: object) -> None:
        frame = inspect.currentframe()
        assert frame is not None
        assert frame.f_back is not None
        within = {name: one for name, one in frame.f_back.f_locals.items() if name not in ("run", "to")}
        found.append({"": frame.f_back.f_code.co_name, "how": (how, more), **within})
        raise SystemExit(0)

    monkeypatch.setattr(app, "finish", noted)
    monkeypatch.chdir(tmp_path)
    Path("job.toml").write_text("", encoding="utf-8")
    Path("shared").mkdir()
    Path("shared/lobe.csv").write_text("", encoding="utf-8")
    return found


def value(draw: random.Random, kind: Any) -> str:
    """Return a word that can be a value of a type, now and then one that cannot."""
    plain = next((one for one in GOOD if kind in (one, one | None)), str)
    return draw.choice(ODD if draw.random() < 0.06 else GOOD[plain])


def spelled(draw: random.Random, one: Declared) -> list[str]:
    """Return the words that give an option."""
    name = draw.choice(words_of(one))
    if one.kind is bool:
        return [f"{name}=1" if draw.random() < 0.03 else name]
    told = value(draw, one.kind)
    if one.kind == (tuple[float, float] | None):
        return [name, told, value(draw, float)]
    how = draw.random()
    if how < 0.35:
        return [f"{name}={told}"]
    if how < 0.45 and not name.startswith("--"):
        return [f"{name}{told}"]
    return [name, told] if how < 0.97 else [name]


def line(draw: random.Random, command: Command) -> list[str]:
    """Return a line of a command."""
    every = [*parameters(command.run)]
    arguments = [one for one in every if one.said.is_argument]
    options = [one for one in every if words_of(one)]
    least = sum(one.is_required for one in arguments)
    given = draw.randint(least, len(arguments)) + draw.choice((0,) * 18 + (1, -1))
    parts = [[value(draw, one.kind)] for one in (*arguments, *arguments[:1])[: max(given, 0)]]
    for one in draw.choices(options, k=draw.randint(0, 4)) if options else ():
        parts.insert(draw.randint(0, len(parts)), spelled(draw, one))
    if draw.random() < 0.05:
        parts.insert(draw.randint(0, len(parts)), [draw.choice(ELSE)])
    return [command.run.__name__, *(word for part in parts for word in part)]


def by_typer(words: list[str], called: Called) -> dict[str, Any] | None:
    """Return the call that typer makes of a line, or nothing where it refuses it."""
    called.clear()
    silent = io.StringIO()
    with (
        contextlib.redirect_stdout(silent),
        contextlib.redirect_stderr(silent),
        contextlib.suppress(SystemExit),
    ):
        parser(tuple(COMMANDS), IN_FRONT, words[0])(args=words, prog_name="tallstack")
    return called[0] if called else None


def with_types(found: dict[str, Any] | None) -> object:
    """Return a call so that 1 is not 1.0, and a path no text."""
    return None if found is None else {name: (type(one), one) for name, one in found.items()}


def lines(command: Command) -> Iterator[list[str]]:
    """Yield drawn lines of a command, the same in each run."""
    draw = random.Random(f"lines of {command.run.__name__}")
    for _ in range(LINES + OF_EACH * len([*parameters(command.run)])):
        yield line(draw, command)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda one: one.run.__name__)
def test_a_drawn_line_asks_for_the_call_that_typer_makes_of_it(command: Command, called: Called) -> None:
    plain, given, drawn = 0, set[str](), [*lines(command)]
    for words in drawn:
        call = read(words, COMMANDS)
        if call is None:
            continue
        theirs = by_typer(words, called)
        called.clear()
        with contextlib.suppress(SystemExit):
            call.run()
        assert with_types(called[0]) == with_types(theirs), words
        plain += 1
        given |= {*call.values}
    assert plain >= len(drawn) / 4
    left = {one.name for one in parameters(command.run)} - given
    assert left <= {"stop"}  # two values: typer's


@pytest.mark.parametrize(
    "words",
    [
        ("pushrods", "job.toml"),
        ("pushrods", "--json", "job.toml", "--with", "a=1", "--with=b=2", "--full", "--full"),
        ("draw", "job.toml", "front.intake", "-o", "gear.svg", "--at", "12.5"),
        ("risk", "job.toml", "--draws", "300", "--draws=400"),
        ("demo",),
        ("schema",),
    ],
)
def test_a_well_formed_line_is_read_here(words: tuple[str, ...], called: Called) -> None:
    """Or nothing would be gained, whatever else holds."""
    call = read(words, COMMANDS)
    assert call is not None
    with pytest.raises(SystemExit):
        call.run()
    assert with_types(called.pop()) == with_types(by_typer([*words], called))


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--help",),
        ("--version",),
        ("--allow-outside", "check", "job.toml"),
        ("chek", "job.toml"),
        ("check",),
        ("check", "job.toml", "-h"),
        ("check", "job.toml", "more"),
        ("check", "job.toml", "--js"),
        ("check", "job.toml", "--json=1"),
        ("check", "job.toml", "--with"),
        ("check", "job.toml", "--with="),
        ("check", "job.toml", "--with", "--json"),
        ("check", "--", "job.toml"),
        ("check", "-"),
        ("check", ""),
        ("check", "job\0.toml"),
        ("draw", "job.toml", "-ogear.svg"),
        ("clearance", "job.toml", "--timing", "-3"),
        ("clearance", "job.toml", "--timing", "1e3"),
        ("risk", "job.toml", "--draws", "007"),
        ("lobe", "lobe.csv", "--stop", "1", "2"),
    ],
)
def test_a_line_that_is_not_plain_is_left_to_typer(words: tuple[str, ...]) -> None:
    assert read(words, COMMANDS) is None


def test_a_file_that_cannot_be_read_is_left_to_typer(called: Called, monkeypatch: pytest.MonkeyPatch) -> None:
    """It says so as a fault of the line."""
    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    assert read(("check", "job.toml"), COMMANDS) is None
    assert by_typer(["check", "job.toml"], called) is None
    assert read(("check", "none.toml"), COMMANDS) is not None
    assert by_typer(["check", "none.toml"], called) is not None


def test_where_a_line_may_hold_patterns_of_files_it_is_left_to_typer(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as windows:
        windows.setattr("tallstack.cli.plainly.os.name", "nt")
        found = read(("schema",), COMMANDS)
    assert found is None


def test_what_is_in_the_environment_gives_no_option_a_value(
    called: Called, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("TALLSTACK_JSON", "TALLSTACK_CHECK_AS_JSON", "TALLSTACK_CHECK_JSON", "JSON", "AS_JSON"):
        monkeypatch.setenv(name, "1")
    theirs = by_typer(["check", "job.toml"], called)
    assert theirs is not None
    assert theirs["as_json"] is False


def test_what_one_line_allows_the_next_does_not(called: Called) -> None:
    """What stands in front of a command is told of every line, also of one that typer does not see."""
    from tallstack.cli.job.reading.outside import is_allowed

    screen("--allow-outside", "check", "job.toml")
    assert is_allowed()
    screen("check", "job.toml")
    assert not is_allowed()
    assert len(called) == 2
