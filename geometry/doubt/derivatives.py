"""How much each entry moves an answer: central differences through the mapping.

All differences are taken in one batch: the engine is built once with every entry raised in one
element and lowered in another, so that a thousand entries cost one call.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from tallstack.geometry.engine import Engine, build
from tallstack.geometry.frames import Array, array
from tallstack.geometry.mapping import Flat

STEP = 1e-3  # mm, rad or plain; rounding costs 1e-13/step, curvature step⁴
STENCIL = ((1, 8.0), (-1, -8.0), (2, -1.0), (-2, 1.0))  # steps away, weight; over 12 steps

Answers = Callable[[Engine], Mapping[str, Array]]


def derivatives(
    mapping: Flat, groups: Mapping[str, Mapping[str, float]], answers: Answers
) -> dict[str, dict[str, float]]:
    """Return the derivative of every answer with respect to every group of entries.

    mapping : one engine, every number a scalar
    groups  : name → {entry path: sign}, entries that move together because they are one reading
    answers : engine → {answer: (...)}, any unit
    Returns: {answer: {group: derivative}}, answer's unit per mm, rad or plain number
    Source: the five-point central difference, (8·(f₁ - f₋₁) - (f₂ - f₋₂)) / 12h.
    """
    names = list(groups)
    shape = (len(STENCIL), len(names))
    steps = np.array([away for away, _ in STENCIL]) * STEP
    varied: dict[str, Array] = {}
    for index, name in enumerate(names):
        for path, sign in groups[name].items():
            value = varied.setdefault(path, np.full(shape, _scalar(mapping, path)))
            value[:, index] += sign * steps
    moved = answers(build({**mapping, **varied}))
    weights = np.array([weight for _, weight in STENCIL]) / (12 * STEP)
    table: dict[str, dict[str, float]] = {}
    for answer, values in moved.items():
        slopes = weights @ np.broadcast_to(values, shape)
        table[answer] = dict(zip(names, slopes.tolist(), strict=True))
    return table


def one_by_one(paths: Sequence[str]) -> dict[str, dict[str, float]]:
    """Return groups in which each entry moves alone."""
    return {path: {path: 1.0} for path in paths}


def _scalar(mapping: Flat, path: str) -> float:
    value = mapping[path]
    if isinstance(value, (str, tuple)) or array(value).ndim:
        message = f"{path} is not one number"
        raise TypeError(message)
    return float(array(value))
