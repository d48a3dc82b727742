"""What typer has of a command is what was declared of it."""

from __future__ import annotations

import pytest
from tallstack.cli.app import COMMANDS, IN_FRONT
from tallstack.cli.declared import Command, parameters
from tallstack.cli.plainly import words_of
from tallstack.cli.with_typer import app, parser
from typer.main import get_command

TYPED = get_command(app(COMMANDS, IN_FRONT)).commands  # type: ignore[attr-defined]
HELP = {"-h", "--help"}


def test_the_commands_stand_in_the_order_and_by_the_names_that_they_are_declared_in() -> None:
    assert [*TYPED] == [one.run.__name__ for one in COMMANDS]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda one: one.run.__name__)
def test_typer_gives_each_parameter_the_words_its_place_and_its_default(command: Command) -> None:
    """A line that is plainly well formed is read by the same."""
    typed = TYPED[command.run.__name__].params
    every = [*parameters(command.run)]
    assert [one.name for one in typed if not HELP & {*one.opts}] == [one.name for one in every]
    for ours, theirs in zip(every, typed, strict=False):
        assert ours.said.is_argument == (theirs.param_type_name == "argument")
        if not ours.said.is_argument:
            assert {*words_of(ours)} == {*theirs.opts}
            assert not theirs.secondary_opts
        assert theirs.multiple == (ours.kind == (list[str] | None))
        assert theirs.required == ours.is_required
        assert theirs.envvar is None


def test_of_one_command_alone_the_options_are_read_where_a_line_begins_with_it() -> None:
    alone, every = (parser(tuple(COMMANDS), IN_FRONT, name) for name in ("check", ""))
    assert alone is parser(tuple(COMMANDS), IN_FRONT, "check")
    assert [*alone.commands] == ["check"]  # type: ignore[attr-defined]
    assert [*every.commands] == [*TYPED]  # type: ignore[attr-defined]
