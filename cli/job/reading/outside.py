"""Whether a job may read a file: one within its own folder, or any where the user said so for this command."""

from __future__ import annotations

from contextvars import ContextVar
from pathlib import Path

_ALLOWED = ContextVar("allowed", default=False)  # of this command, or this thread, alone


def allow_outside(wanted: bool) -> None:
    """Let job files name files outside their folders, or no longer."""
    _ALLOWED.set(wanted)


def is_allowed() -> bool:
    """Say whether job files may name files outside their folders."""
    return _ALLOWED.get()


def may_read(target: Path, folder: Path) -> bool:
    """Say whether a job in a folder may read a file, links followed."""
    if is_allowed():
        return True
    try:
        return target.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # a loop of links
        return False
