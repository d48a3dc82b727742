"""How every command ends: its answer printed and its status, or one clear message of what went wrong."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from .page.answer import Answer

UNUSABLE = 2  # of which `answer` would load too much to say
OUR_FAULT = 70
INTERRUPTED = 130
UTF8 = ("utf-8", "UTF-8", "utf8")  # as Python and as people call it
UNSHOWN = (
    dict.fromkeys(  # in names of files and in what was typed: it moves the cursor or turns the line round
        {
            *range(32),
            *range(127, 160),
            0x061C,
            *range(0x200B, 0x2010),
            *range(0x2028, 0x202F),
            *range(0x2060, 0x2070),
            0xFEFF,
        }
        - set(b"\t\n"),
        "?",
    )
)


def finish(run: Callable[[], Answer], as_json: bool = False, full: bool = True) -> None:
    """Print a command's answer and end with its status; every failure ends in one clear message.

    full : all of it, not what fits on one screen

    Raises:
        SystemExit: always, with the status.
    """
    try:
        status = _shown(run(), as_json, full)
    except KeyboardInterrupt:
        status = INTERRUPTED
    except Exception as error:
        status = _explained(error)
    raise SystemExit(status)


def unprinted(why: str) -> int:
    """Say that nothing could be printed, and return the status that this ends with."""
    _silence(sys.stdout)
    _complain(
        f"standard output: {why}; the answer could not be printed, a file that was asked for is written"
    )
    return UNUSABLE


def _shown(answer: Answer, as_json: bool, full: bool) -> int:
    """Print an answer and return the status to end with."""
    if answer.status == UNUSABLE and not answer.document:  # of several jobs some may be usable
        _complain(answer.text)
        return UNUSABLE
    if sys.stdout is None:
        return unprinted("closed")
    text = answer.shown(as_json, full, _columns()).translate(UNSHOWN)
    if not as_json and _takes_bold():
        from .page.text import emphasised

        text = emphasised(text)
    try:
        _echo(text, sys.stdout)
    except BrokenPipeError:  # whoever read has read enough
        _silence(sys.stdout)
        return 0
    except OSError as error:
        return unprinted(str(error.strerror))
    return answer.status


def _echo(text: str, stream: TextIO | None) -> None:
    """Print a line as typer does, which knows what to do with a stream that does not take all letters as they are."""
    if stream is not None and os.name != "nt" and getattr(stream, "encoding", None) in UTF8:
        stream.write(f"{text}\n")
        stream.flush()
        return
    import typer

    typer.echo(text, err=stream is sys.stderr)


def _columns() -> int:
    """Return how wide standard output is read."""
    from .page.text import NARROWEST, WIDEST, WIDTH

    if not sys.stdout.isatty():
        return WIDTH
    import shutil

    return max(NARROWEST, min(shutil.get_terminal_size((WIDTH, 24)).columns, WIDEST))


def _takes_bold() -> bool:
    """Say whether standard output is a terminal on which a verdict may stand in bold."""
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb" or os.name == "nt"
    return not plain and sys.stdout is not None and sys.stdout.isatty()


def _complain(text: str) -> None:
    """Print on standard error, as long as anybody listens."""
    try:
        _echo(text.translate(UNSHOWN), sys.stderr)
    except OSError:
        _silence(sys.stderr)


def _silence(stream: TextIO | None) -> None:
    """Let a stream that cannot be written end in nothing, or Python complains of it at the end."""
    if stream is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _explained(error: Exception) -> int:
    """Say what went wrong on standard error and return the status it ends with."""
    from .files import OutputRefusedError
    from .job.faults import InputFaultsError

    if isinstance(error, InputFaultsError):
        _complain(error.report())
        return UNUSABLE
    if isinstance(error, OutputRefusedError):
        _complain(str(error))
        return UNUSABLE
    if isinstance(error, FloatingPointError):  # what it computes with is at fault
        _complain(str(error))
        return OUR_FAULT
    if os.environ.get("TALLSTACK_TRACE"):
        raise error
    _complain(
        f"a fault of tallstack's own ({type(error).__name__}: {error}); nothing was written. "
        "Set TALLSTACK_TRACE=1 and run it again to see where."
    )
    return OUR_FAULT
