"""Whether a job may read a file: one within its own folder, or any where the user said so for this command."""

from __future__ import annotations

from pathlib import Path


class _Outside:
    allowed = False


def allow_outside(wanted: bool) -> None:
    """Let job files name files outside their folders, or no longer."""
    _Outside.allowed = wanted


def may_read(target: Path, folder: Path) -> bool:
    """Say whether a job in a folder may read a file, links followed."""
    if _Outside.allowed:
        return True
    try:
        return target.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # a loop of links
        return False
