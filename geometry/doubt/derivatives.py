"""How much each entry moves an answer: central differences through the mapping.

All differences are taken in one batch: the mapping holds every entry raised in one element and lowered in
another, so that a thousand entries cost one call.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, frozen

LENGTH = 500.0  # mm, from which an answer is worked out
DIGITS = 32  # units of the last digit that a value may be off by
STEP = 1e-3  # mm, rad or plain; rounding costs 1e-13/step, curvature step⁴ by five points, step² by three
FINER = 1e-3  # of a step, beside what cannot be put together
Stencil = tuple[tuple[int, float], ...]  # steps away, weight over one step
FIVE: Stencil = ((1, 8 / 12), (-1, -8 / 12), (2, -1 / 12), (-2, 1 / 12))
THREE: Stencil = ((1, 1 / 2), (-1, -1 / 2))

Answers = Callable[[Flat], Mapping[str, Array]]


def derivatives(
    mapping: Flat, groups: Quantities, answers: Answers, stencil: Stencil = FIVE, step: float = STEP
) -> dict[str, dict[str, float]]:
    """Return the derivative of every answer with respect to every group of entries.

    Where an engine a step away cannot be put together, that step is a thousandth; where it still cannot, NaN.

    mapping : one engine, every number a scalar
    groups  : name → {entry path: sign}, entries that move together because they are one reading
    answers : mapping of a batch of engines → {answer: (...)}, any unit
    stencil : FIVE points, or THREE where a search or the answer's own kinks make more of them useless
    Returns: {answer: {group: derivative}}, answer's unit per mm, rad or plain number
    Source: central differences, (8·(f₁ - f₋₁) - (f₂ - f₋₂)) / 12h and (f₁ - f₋₁) / 2h.
    """
    names = list(groups)
    shape = (len(stencil), len(names))
    steps = np.array([away for away, _ in stencil]) * step
    varied: dict[str, Array] = {}
    for index, name in enumerate(names):
        for path, sign in groups[name].items():
            value = varied.setdefault(path, np.full(shape, _scalar(mapping, path)))
            value[:, index] += sign * steps
    found = answers(frozen(mapping).with_(varied))
    weights = np.array([weight for _, weight in stencil]) / step
    table: dict[str, dict[str, float]] = {}
    for answer, values in found.items():
        slopes = np.einsum("s,sg->g", weights, np.broadcast_to(values, shape))
        table[answer] = dict(zip(names, told(slopes, values, step).tolist(), strict=True))
    lost = [name for name in names if any(_is_lost(row, name) for row in table.values())]
    if lost and step == STEP:
        nearer = derivatives(mapping, {name: groups[name] for name in lost}, answers, stencil, step * FINER)
        for answer, row in nearer.items():
            table[answer] |= {name: slope for name, slope in row.items() if _is_lost(table[answer], name)}
    return table


def _is_lost(slopes: Mapping[str, float], name: str) -> bool:
    """Say whether a derivative is not known where others of its answer are."""
    return math.isnan(slopes[name]) and not all(map(math.isnan, slopes.values()))


def told(slopes: Array, values: Array, step: float = STEP) -> Array:
    """Return derivatives by differences, those that are no more than rounding as nothing.

    slopes : (...) [unit per mm, rad or plain];  values : (...) [unit] what was differenced;  step : of the differences
    Source: an answer is worked out of places some hundred mm away, each of its values right to a few units of their
    last digit.
    """
    size = np.max(np.abs(values), initial=LENGTH, where=np.isfinite(values))
    return np.where(np.abs(slopes) <= DIGITS * np.finfo(float).eps * size / step, 0.0, slopes)


def moved(mapping: Flat, paths: Mapping[str, float], by: float) -> Flat:
    """Return the mapping with the entries of one quantity moved, each by its sign times so much."""
    more = {path: array(mapping[path]) + sign * by for path, sign in paths.items() if path in mapping}
    return frozen(mapping).with_(more)


def _scalar(mapping: Flat, path: str) -> float:
    value = mapping[path]
    if isinstance(value, (str, tuple)) or array(value).ndim:
        message = f"{path} is not one number"
        raise TypeError(message)
    return float(array(value))
