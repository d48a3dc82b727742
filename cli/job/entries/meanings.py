"""What an entry means, found by its path in the mapping."""

from __future__ import annotations

from ..faults import Loc
from .catalogue import kind_at
from .letters import letters_of


def meant(path: str, train: str) -> str:
    """Return an entry's name, without its valve gear's, and what it means, with its letter in every drawing."""
    name = path.removeprefix(f"{train}.")
    parts = [int(one) if one.isdigit() else one for one in name.split(".")]
    loc: Loc = ("train", 0, *parts) if name != path else tuple(parts)
    kind = kind_at(loc)
    letter = letters_of(name)
    return (
        name if kind is None else f"{name} ({letter}: {kind.words})" if letter else f"{name} ({kind.words})"
    )
