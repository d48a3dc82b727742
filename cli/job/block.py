"""A block whose cylinders are part of it: said in its own words, worked out as a stack without a cylinder of its own.

`block_deck` is the deck of the block above the crank centre. It stands where a case deck stands, and what counts from the
case deck counts from it; there is then no cylinder and no base gasket between the two, and `cylinder = "block"` says that by
itself where the deck's height is not known. None is an answer: it is not the same as nothing entered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from .entries.engine_tables import BLOCK, NONE, STACK
from .entries.fields import Kind
from .faults import Fault, in_words
from .reading.document import Leaf, Reading
from .reading.values import Dimension, Value

if TYPE_CHECKING:
    from .file import JobFile

OWN, STANDS_FOR = "stack.block_deck", "stack.case_deck"
CYLINDER, GASKET = "stack.cylinder", "stack.base_gasket"


def spelled_out(leaves: Sequence[Leaf]) -> list[Leaf]:
    """Return the entries of a file, a block's own words as the stack that they stand for."""
    found = [
        leaf._replace(path=f"{leaf.path.removesuffix(OWN)}{STANDS_FOR}") if _ends(leaf.path, OWN) else leaf
        for leaf in leaves
    ]
    paths = {leaf.path for leaf in found}
    for leaf in leaves:
        stem = leaf.path.removesuffix(OWN)
        if _ends(leaf.path, OWN) and f"{stem}{CYLINDER}" not in paths:
            found.append(_nothing(f"{stem}{CYLINDER}", "cylinder", BLOCK, leaf))
    for leaf in list(found):
        stem = leaf.path.removesuffix(CYLINDER)
        if _ends(leaf.path, CYLINDER) and _is_block(leaf.value) and f"{stem}{GASKET}" not in paths:
            found.append(_nothing(f"{stem}{GASKET}", "base_gasket", NONE, leaf))
    return found


def _nothing(path: str, entry: str, word: str, said: Leaf) -> Leaf:
    kind = STACK.parts[entry]
    assert isinstance(kind, Kind)
    return Leaf(path, kind, Value(0.0, Dimension.LENGTH, word), said.loc)


def _ends(path: str, entry: str) -> bool:
    return path == entry or path.endswith(f".{entry}")


def _is_block(value: object) -> bool:
    return isinstance(value, Value) and value.typed == BLOCK


def path_of(path: str) -> str:
    """Return the path under which the mapping holds an entry, of a block's own words that of what they stand for."""
    return f"{path.removesuffix(OWN)}{STANDS_FOR}" if _ends(path, OWN) else path


def stands_for(part: str) -> tuple[str, ...]:
    """Return the entries that a part named as one stands for: a block's deck says too that it has no cylinder of its own."""
    if not _ends(part, OWN):
        return (part,)
    stem = part.removesuffix(OWN)
    return (f"{stem}{STANDS_FOR}", f"{stem}{CYLINDER}", f"{stem}{GASKET}")


def of_block(reading: Reading) -> Iterator[Fault]:
    """Yield what contradicts that the cylinders are part of the block."""
    there = {leaf.path: leaf for leaf in reading.leaves}
    for path in list(there):
        if not _ends(path, OWN):
            continue
        stem = path.removesuffix(OWN)
        for other, remedy in (
            (STANDS_FOR, "keep the one that was measured"),
            (CYLINDER, 'leave it out, or write cylinder = "block"'),
            (GASKET, 'leave it out, or write base_gasket = "none"'),
        ):
            found = there.get(f"{stem}{other}")
            if found is None or not isinstance(found.value, Value):
                continue
            if other != STANDS_FOR and found.value.number == 0.0:
                continue
            message = (
                f"stands beside block_deck, the deck of a block of which the cylinders are part; {remedy}"
            )
            yield Fault(found.loc, in_words(reading.document, found.loc), message)


def is_block(job: JobFile) -> bool:
    """Say whether every cylinder of a job is part of its block."""
    own = [one for path, one in job.entries.items() if _ends(path, CYLINDER) and ".measured_" not in path]
    return bool(own) and all(one.typed == BLOCK for one in own if not one.is_taken)
