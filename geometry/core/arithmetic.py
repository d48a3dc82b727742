"""Whether this computer multiplies matrices rightly.

A numerical library whose part for this very processor is at fault, or an emulator, is silently wrong: lengths and
clearances would be too, and nothing would show it. So a product of whole numbers, which doubles hold exactly, is held
against the same in whole numbers, once, before anything is worked out.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .frames import Array, array

ROWS, SUMMED, COLUMNS = 19, 23, 21  # no multiples of what a processor takes at once
WRONG = (
    "on this computer numpy multiplies matrices wrongly, so that no answer could be trusted, and none is given: "
    "set OPENBLAS_CORETYPE to an older processor than this one, install another numpy, or use another computer"
)


def check(multiply: Callable[[Array, Array], Array] = np.matmul) -> None:
    """Refuse to go on where a product of matrices is wrong.

    Raises:
        FloatingPointError: in words.
    """
    left = np.arange(ROWS * SUMMED).reshape(ROWS, SUMMED) * 7 % 97
    right = np.arange(SUMMED * COLUMNS).reshape(SUMMED, COLUMNS) * 5 % 89
    if not np.array_equal(multiply(array(left), array(right)), left @ right):
        raise FloatingPointError(WRONG)
