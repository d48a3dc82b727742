"""The commands as typer has them: their help, completion, and every line that is not plainly well formed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from types import FunctionType
from typing import Annotated, Any

import typer
from typer.main import get_command

from .declared import Command, Parameter, function_of, parameters


@cache
def parser(commands: tuple[Command, ...], in_front: Command, name: str = "") -> Callable[..., object]:
    """Return what reads the command line: it is put together once, however often it is asked.

    in_front : what stands in front of a command
    name     : the command that a line begins with, of which alone the options are read then; else every command is there
    """
    named = tuple(one for one in commands if one.run.__name__ == name)
    return get_command(app(named or commands, in_front))


def app(commands: Sequence[Command], in_front: Command) -> typer.Typer:
    """Return the commands as typer has them."""
    made = typer.Typer(
        name="tallstack",
        no_args_is_help=True,
        add_completion=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    )
    made.callback(help=in_front.help)(_told(in_front))
    for one in commands:
        made.command(help=one.help)(_told(one))
    return made


def _told(command: Command) -> Callable[..., None]:
    """Return what a command runs with its parameters declared as typer reads them."""
    run = function_of(command.run)
    found = FunctionType(run.__code__, run.__globals__, run.__name__, run.__defaults__, run.__closure__)
    found.__annotations__ = {one.name: Annotated[one.kind, _typed(one.said)] for one in parameters(run)}
    return found


def _typed(said: Parameter) -> Any:
    """Return an option or an argument as typer has it."""
    more = dict(said.more)
    if "autocompletion" in more:
        more["autocompletion"] = _untyped(more["autocompletion"])
    if said.is_argument:
        return typer.Argument(help=said.help, **more)
    return typer.Option(*said.param_decls, help=said.help, **more)


def _untyped(completes: Callable[[typer.Context, str], list[str]]) -> Callable[..., list[str]]:
    """Return what completes a word with names alone by which typer knows what it wants: its types it could not look up."""

    def told(ctx, incomplete):  # type: ignore[no-untyped-def]
        found: list[str] = completes(ctx, incomplete)
        return found

    return told
