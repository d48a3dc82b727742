"""What an entry means, found by its path in the mapping."""

from __future__ import annotations

from .catalogue import owned
from .letters import letters_of


def meant(path: str, train: str = "") -> str:
    """Return an entry's name, without its valve gear's, and what it means, with its letter in every drawing."""
    name = path.removeprefix(f"{train}.")
    owner, kind = owned(path)
    letter = letters_of(path.removeprefix(f"{owner}."))
    return (
        name if kind is None else f"{name} ({letter}: {kind.words})" if letter else f"{name} ({kind.words})"
    )
