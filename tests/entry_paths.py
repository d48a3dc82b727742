"""Writes every entry's path and words, as the catalogue declares them, where completion reads them: python -m tests.entry_paths."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from tallstack.cli.job.entries.catalogue import OF_A_READING, TYING
from tallstack.cli.job.entries.fields import Choice, Kind, YesNo
from tallstack.cli.job.entries.model import NOW
from tallstack.cli.job.entries.tables import Either, Named, Part, Rows
from tallstack.cli.job.variations import OF_THE_FILE

ROOM = Path(__file__).parent.parent / "cli" / "entry_paths.py"
OWNERS = {"cylinder": "CYLINDER", "train": "TRAIN"}
HEAD = '''"""Every entry that --with can try, by its path, with the words that it takes: the catalogue's, where no more is loaded.

CYLINDER, TRAIN and LOBE stand for names, # for the number of a row. Written by `python -m tests.entry_paths`.
"""

ENTRIES = """\\
'''


def lines() -> Iterator[str]:
    """Yield a line for each entry: its path and its words."""
    seen: dict[str, None] = {}
    for path, words in _entries(NOW, "", ""):
        seen.setdefault(" ".join((path, *words)))
    yield from seen


def _entries(part: Part, path: str, row: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    if isinstance(part, Kind):
        last = path.rpartition(".")[2]
        tied = row and path.count(".") == 1 and last in (OF_A_READING if row == "reading" else TYING)
        if (
            path in OF_THE_FILE
            or tied
            or (row == "reading" and path.count(".") == 2 and last in OF_A_READING)
        ):
            return
        words = (
            part.options if isinstance(part, Choice) else ("true", "false") if isinstance(part, YesNo) else ()
        )
        yield path, tuple(f'"{one}"' if " " in one else one for one in words)
    elif isinstance(part, Rows):
        own = OWNERS.get(path)
        yield from _entries(part.table, own or f"{path}.#", path if own or path == "reading" else "")
    elif isinstance(part, Named):
        yield from _entries(part.part, f"{path}.{'LOBE' if path == 'lobe' else 'NAME'}", "")
    elif isinstance(part, Either):
        yield from _entries(part.table, path, row)
        yield from _entries(part.other, path, row)
    else:
        for name, inner in part.parts.items():
            yield from _entries(inner, f"{path}.{name}" if path else name, row)


def text() -> str:
    """Return the module as it is to stand."""
    return HEAD + "\n".join(lines()) + '\n"""\n'


if __name__ == "__main__":
    ROOM.write_text(text(), encoding="utf-8")
