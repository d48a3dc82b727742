"""Options that commands share: each says what it does, is used, and means one thing in a command."""

from __future__ import annotations

from typing import Annotated, get_args, get_origin

import pytest
from tallstack.cli import app, options, with_typer
from typer.main import get_command

DECLARED = {name: get_args(one)[1] for name, one in vars(options).items() if get_origin(one) is Annotated}
COMMANDS = get_command(with_typer.app(app.COMMANDS, app.IN_FRONT)).commands  # type: ignore[attr-defined]


def flags(name: str) -> list[str]:
    """Return the words by which an option is given on the command line."""
    return [one for one in getattr(DECLARED[name], "param_decls", None) or () if one.startswith("-")]


@pytest.mark.parametrize("name", sorted(DECLARED))
def test_every_option_says_what_it_does_and_is_of_some_command(name: str) -> None:
    said = DECLARED[name].help
    assert said
    assert said.endswith(".")
    there = [
        parameter.help
        for command in COMMANDS.values()
        for parameter in command.params
        if hasattr(parameter, "help")
    ]
    assert said in there


def test_no_option_stands_twice_in_a_command() -> None:
    for name, command in COMMANDS.items():
        words = [
            word for parameter in command.params for word in (*parameter.opts, *parameter.secondary_opts)
        ]
        assert len(words) == len(set(words)), name


def test_one_word_is_of_one_option() -> None:
    seen: dict[str, str] = {}
    for name in DECLARED:
        for word in flags(name):
            assert seen.setdefault(word, name) == name, word
