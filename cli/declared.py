"""What a command and its options say of themselves, before anything reads a line.

Each is declared once, in `options` and `app`, in the words of typer; `plainly` reads a well-formed line by it, and `with_typer`
makes typer's own of it for everything else, so that neither is loaded to declare.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from types import FunctionType
from typing import Any, NamedTuple


class Parameter(NamedTuple):
    """An option or an argument of a command."""

    param_decls: tuple[str, ...]  # the words by which it is given; none: it goes by the name of its parameter
    help: str
    is_argument: bool
    more: dict[str, Any]  # what else typer is told of it, by typer's names


def option(*words: str, help: str, **more: Any) -> Parameter:
    """Return an option; more : as for `typer.Option`."""
    return Parameter(words, help, False, more)


def argument(*, help: str, **more: Any) -> Parameter:
    """Return an argument; more : as for `typer.Argument`."""
    return Parameter((), help, True, more)


class Command(NamedTuple):
    """A command: what it runs, and its help."""

    run: Callable[..., None]
    help: str


class Declared(NamedTuple):
    """A parameter in its place in a command."""

    name: str
    kind: Any  # the type of its value
    said: Parameter
    is_required: bool


def function_of(run: Callable[..., None]) -> FunctionType:
    """Return what a command runs as the function that it is."""
    assert isinstance(run, FunctionType)
    return run


def parameters(run: Callable[..., None]) -> Iterator[Declared]:
    """Yield the parameters of a command, in the order of its function's.

    They are read off the function itself: `inspect` takes longer to load than a line to read.
    """
    made = function_of(run)
    names = made.__code__.co_varnames[: made.__code__.co_argcount]
    first = len(names) - len(made.__defaults__ or ())
    for place, name in enumerate(names):
        told = made.__annotations__[name]
        yield Declared(name, told.__origin__, told.__metadata__[0], place < first)
