"""One thing read several times: the mean of the readings, and the doubt that their scatter tells.

Source: JCGM 100:2008, 4.2.3 (the mean and its standard uncertainty) and F.2.2.1 (what is read to a step δ has at
least δ/√12 of it, which counts where the readings scatter by less).
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from fractions import Fraction

from tallstack.geometry.doubt.budget import Doubt, repeated

from .values import Blank, Dimension, Value, ValueFault, described, read

MOST = 100  # readings of one thing
FAR, FAR_MM = 0.1, 0.5  # apart, as a share of the mean and at least so much of a length: not of one thing
DIGITS = re.compile(r"(?:\d+\s+)?\d+\s*/\s*(?P<under>\d+)|\d*\.(?P<decimals>\d+)|\d+")
EXAMPLE = '["4.935 in", "4.936 in", "4.9345 in"]'


def read_repeated(raw: Sequence[object], dimension: Dimension, units: str) -> Value:
    """Return the mean of readings of one thing, as understood.

    Raises:
        ValueFault: in words, with what would be right.
    """
    if not 2 <= len(raw) <= MOST:
        few = "no reading in it" if not raw else "one reading alone is written without brackets"
        message = f"a list of {len(raw)}: {few if len(raw) < 2 else f'at most {MOST} readings of one thing'}; write {EXAMPLE}"
        raise ValueFault(message)
    values: list[Value] = []
    for place, one in enumerate(raw, start=1):
        if isinstance(one, list):
            message = f"reading {place} is {described(one)}; write {EXAMPLE}"
            raise ValueFault(message)
        value = read(one, dimension, units)
        if isinstance(value, Blank):
            message = f"reading {place} of {len(raw)} is left open; write it, or take it out of the list"
            raise ValueFault(message)
        if value.doubt is not None:
            message = (
                f'reading {place}, "{value.typed}": readings in a list are written without +/-, their scatter is the doubt; '
                f"write {EXAMPLE}"
            )
            raise ValueFault(message)
        values.append(value)
    numbers = [value.number for value in values]
    mean, doubt = repeated(numbers)
    apart = max(numbers) - min(numbers)
    if apart > max(FAR * abs(mean), FAR_MM if dimension is Dimension.LENGTH else 0.0):
        low, high = (values[numbers.index(end)].typed for end in (min(numbers), max(numbers)))
        message = (
            f"readings of one thing from {low} to {high}: too far apart for one thing; look at them again"
        )
        raise ValueFault(message)
    steps = [_step(value, dimension, units) for value in values]
    step = max(steps, key=lambda one: one[0])
    least, note = step[0] / math.sqrt(12.0), ""
    if doubt.standard < least:
        doubt = Doubt(least, 1.0)
        coarsest = values[steps.index(step)].typed
        note = f"+/- from the rounding of {coarsest}, written to {step[1]}: wider than the scatter"
    typed = f"[{', '.join(value.typed for value in values)}]"
    return Value(mean, dimension, typed, doubt, all(value.bare for value in values), note=note)


def _step(value: Value, dimension: Dimension, units: str) -> tuple[float, str]:
    """Return the step that a reading was written to, and in words: one of its last digit, or of its fraction."""
    match = DIGITS.search(value.typed)
    assert match is not None
    under = (
        Fraction(1, int(match["under"]))
        if match["under"]
        else Fraction(1, 10 ** len(match["decimals"] or ""))
    )
    unit = value.typed[match.end() :].strip(' "')
    one = read(f"{float(under):.9f} {unit}".strip(), dimension, units)
    nothing = read(f"0 {unit}".strip(), dimension, units)
    assert isinstance(one, Value)
    assert isinstance(nothing, Value)
    words = f"1/{match['under']}" if match["under"] else f"{float(under):.{len(match['decimals'] or '')}f}"
    return one.number - nothing.number, f"{words} {unit}".strip()
