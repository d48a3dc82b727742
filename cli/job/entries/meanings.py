"""What an entry means, found by its path in the mapping."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tallstack.geometry.engine.before import BEFORE

from .catalogue import owned
from .letters import letters_of

ENGINE = ("stack", "piston")  # tables whose names say nothing more to a person
AXES = ("x", "y", "z")
ENDS = {"_low": " at the lifter end", "_high": " at the rocker end"}


def meant(path: str, train: str = "") -> str:
    """Return an entry's name, without its valve gear's, and what it means, with its letter in every drawing."""
    name = path.removeprefix(f"{train}.")
    owner, kind = owned(path)
    letter = letters_of(path.removeprefix(f"{owner}."))
    return (
        name if kind is None else f"{name} ({letter}: {kind.words})" if letter else f"{name} ({kind.words})"
    )


def called(path: str) -> str:
    """Return an entry's name as a person says it, its valve gear or cylinder first."""
    owner, name = owner_and_name(path)
    return f"{owner}, {name}" if owner else name


def called_together(paths: Iterable[str], owners: Sequence[str] = (), most: int = 2) -> str:
    """Return the names of entries, those of several valve gears or cylinders that are alike once, and how many more.

    owners : every valve gear or cylinder there is, to say of all of them
    most   : names that are said
    """
    alike: dict[str, list[str]] = {}
    for path in dict.fromkeys(paths):
        owner, name = owner_and_name(path)
        alike.setdefault(name, []).append(owner)
    told = []
    for name, whose in list(alike.items())[:most]:
        apart = any(one.startswith(BEFORE) for one in whose)  # the engine's own is then that of now
        of = [one or "now" for one in whose] if apart else whose
        who = (
            f"all {len(of)}"
            if len(of) > 2 and set(of) >= {one.replace(".", " ") for one in owners}
            else ", ".join(of)
        )
        told.append(f"{name} ({who})" if who else name)
    more = f" and {len(alike) - most} more" if len(alike) > most else ""
    return f"{', '.join(told)}{more}"


def owner_and_name(path: str) -> tuple[str, str]:
    """Return whose an entry is, and its name without that, as a person says them."""
    owner, kind = owned(path)
    steps = path.removeprefix(f"{owner}.").split(".")
    if steps[0] == "lobe" and len(steps) > 2:
        owner, steps = f"{steps[1]} lobe", steps[2:]
    steps = steps[1:] if steps[0] in ENGINE and len(steps) > 1 else steps
    if kind is not None and kind.called:
        return owner.replace(".", " "), " ".join((kind.called, *(steps[-1:] if steps[-1] in AXES else ())))
    name = " ".join(steps)
    for end, words in ENDS.items():
        name = f"{name.removesuffix(end)}{words}" if name.endswith(end) else name
    return owner.replace(".", " "), name.replace("_", " ")
