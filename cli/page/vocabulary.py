"""The words that an engine has no part for, and those that it has another for: what a page says of this one.

An answer is worded once, for the engine of most parts. A block of which the cylinders are part has a deck where others have
a case and cylinders on it; solid lifters have no plunger, and nothing about one is said. JSON keeps its keys.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from functools import cache
from typing import Any

from ..job.block import is_block
from ..job.file import JobFile
from .model import Turn

Pairs = tuple[tuple[str, str], ...]

BLOCK: Pairs = (  # of a stack of parts → of a block; longer ones first; a word alone only where it stands alone
    ("metal removed from the case deck", "metal removed from the block's deck"),
    ("the cylinder's top face", "the block's deck"),
    ("below the cylinder's top", "below the block's deck"),
    ("the case deck", "the block's deck"),
    ("case deck", "block's deck"),
    ("cut off the case", "cut off the block"),
    ("cut from the case", "cut from the block"),
    ("cut from case or head", "cut from block or head"),
    ("case cut", "block's deck cut"),
    ("of the case", "of the block"),
    ("in the case", "in the block"),
    ("case", "block"),
    ("out of its cylinder, further", "out of the block, further"),
)
SOLID: Pairs = (  # of lifters of either kind → of solid ones alone
    (", plunger at its top stop", ""),
    (", plunger up", ""),
    (", no load on the plunger", ""),
    ("wanted preload or lash", "wanted lash"),
    ("Valve springs and pressurised lifters hurt people", "Valve springs hurt people"),
    ("Springs and filled lifters hurt", "Springs hurt"),
    (" were in, and whether the lifter was empty, filled or solid", " were in"),
    ("where the lifter's plunger stood when a rod was measured, ", ""),
)


def all_solid(job: JobFile) -> bool:
    """Say whether every lifter of a job is a solid one."""
    kinds = [one.value for path, one in job.entries.items() if path.endswith(".lifter.kind")]
    return bool(kinds) and all(one == "solid" for one in kinds)


def said(job: JobFile) -> Callable[[Any], Any]:
    """Return what puts blocks of a page, or anything in them, into the words that an engine has."""
    pairs = (*(BLOCK if is_block(job) else ()), *(SOLID if all_solid(job) else ()))
    return _worded(pairs) if pairs else lambda found: found


def said_in_document(job: JobFile) -> Callable[[Any], Any]:
    """Return what does the same to the words in a document for JSON: of parts that are not there alone."""
    return _worded(SOLID) if all_solid(job) else lambda found: found


def _worded(pairs: Pairs) -> Callable[[Any], Any]:
    return lambda found: _put(found, pairs)


@cache
def _pattern(pairs: Pairs) -> re.Pattern[str]:
    return re.compile("|".join(re.escape(one) for one, _ in pairs if " " in one))


def _put(found: Any, pairs: Pairs) -> Any:
    if isinstance(found, str):
        words = dict(pairs)
        if found in words:
            return words[found]
        return _pattern(pairs).sub(lambda one: words[one[0]], found)
    if isinstance(found, Turn):  # its engine turns by numbers
        return found._replace(picture=_put(found.picture, pairs))
    if (
        is_dataclass(found)
        and not isinstance(found, type)
        and type(found).__module__.endswith("drawing.lines")
    ):
        worded = {one.name: _put(getattr(found, one.name), pairs) for one in fields(found)}
        return replace(found, **worded)
    if isinstance(found, dict):
        return {key: _put(one, pairs) for key, one in found.items()}
    if type(found) in (tuple, list):
        return type(found)(_put(one, pairs) for one in found)
    if isinstance(found, tuple) and hasattr(found, "_fields"):
        return type(found)(*(_put(one, pairs) for one in found))
    return found
