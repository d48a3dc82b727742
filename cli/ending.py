"""How every command ends: its answer printed and its status, or one clear message of what went wrong."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from tallstack.cli.answer import Answer


def finish(run: Callable[[], Answer], as_json: bool = False) -> None:
    """Print a command's answer and end with its status; every failure ends in one clear message.

    Raises:
        Exit: always, with the status.
    """
    try:
        answer = run()
        unusable = answer.status == 2
        typer.echo(answer.text if unusable else answer.shown(as_json), err=unusable)
        sys.stdout.flush()
        raise typer.Exit(answer.status)
    except typer.Exit:
        raise
    except KeyboardInterrupt:
        raise typer.Exit(130) from None
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise typer.Exit(0) from None
    except Exception as error:
        raise typer.Exit(_explained(error)) from None


def _explained(error: Exception) -> int:
    """Say what went wrong on standard error and return the status it ends with."""
    from tallstack.cli.files import OutputRefusedError
    from tallstack.cli.jobfile.faults import InputFaultsError

    if isinstance(error, InputFaultsError):
        typer.echo(error.report(), err=True)
        return 2
    if isinstance(error, OutputRefusedError):
        typer.echo(str(error), err=True)
        return 2
    if os.environ.get("TALLSTACK_TRACE"):
        raise error
    typer.echo(
        f"a fault of tallstack's own ({type(error).__name__}: {error}); nothing was written. "
        "Set TALLSTACK_TRACE=1 and run it again to see where.",
        err=True,
    )
    return 70
