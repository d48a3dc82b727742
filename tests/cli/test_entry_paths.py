"""What completion reads of the catalogue is what the catalogue says."""

from __future__ import annotations

from tallstack.cli.entry_paths import ENTRIES

from ..entry_paths import ROOM, text


def test_it_is_as_the_catalogue_declares_it_now() -> None:
    assert ROOM.read_text(encoding="utf-8") == text(), "run python -m tests.entry_paths"


def test_no_entry_stands_there_twice() -> None:
    lines = [(line.split()[0], line) for line in ENTRIES.splitlines()]
    assert len(lines) == len(set(lines))
    assert len(lines) > 400
