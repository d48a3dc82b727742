"""A reading that two jobs hold, one of the engine before a change and one after: it stays on the stack it was taken on."""

from __future__ import annotations

from collections.abc import Mapping

from tallstack.geometry.core.mapping import Flat

from ..page.wording import train_name
from .contents import Entry
from .file import JobFile

READINGS = {"measured_pushrod": "reading", "measured_drop": "measured drop"}


def readings_kept(after: JobFile, before: JobFile) -> tuple[Flat, list[str]]:
    """Return the job after, with a reading that both jobs hold left on the stack it was taken on.

    A reading whose stack is not written down was taken on the stack of its job. Copied into the job after
    the change it would seem to have been taken on the new stack.
    """
    mapping = dict(after.mapping)
    notes = []
    for name in after.names["trains"]:
        for kind, said in READINGS.items():
            reading = f"{name}.{kind}."
            one, other = (_written(job.entries, reading) for job in (after, before))
            if not one or one != other or any(".stack." in path for path in one):
                continue
            taken = {
                path: entry.value
                for path, entry in before.entries.items()
                if path.startswith(reading) and entry.is_taken
            }
            mapping.update(taken)
            notes.append(f"{train_name(name)}: the {said} is that of the job before, taken on its stack")
    return mapping, notes


def _written(entries: Mapping[str, Entry], prefix: str) -> dict[str, object]:
    """Return the entries under a prefix that were written, not taken from others."""
    return {
        path: entry.value for path, entry in entries.items() if path.startswith(prefix) and not entry.is_taken
    }
