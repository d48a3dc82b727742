"""A product of matrices that is wrong is noticed before anything rests on it."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.cli.ending import OUR_FAULT, finish
from tallstack.geometry.core.arithmetic import WRONG, check
from tallstack.geometry.core.frames import Array


def test_this_computer_multiplies_rightly() -> None:
    check()


@pytest.mark.parametrize("fault", [1.0, np.nan, 1e-12])
def test_one_wrong_number_is_enough(fault: float, capsys: pytest.CaptureFixture[str]) -> None:
    def wrong(left: Array, right: Array) -> Array:
        found = left @ right
        found[-1, -1] += fault
        return found + 0.0 if fault > 1e-6 or np.isnan(fault) else found * (1 + 1e-15)

    with pytest.raises(FloatingPointError, match="multiplies matrices wrongly") as caught:
        check(wrong)

    def run() -> None:
        raise caught.value

    with pytest.raises(SystemExit) as ended:
        finish(run)  # type: ignore[arg-type]
    assert ended.value.code == OUR_FAULT
    said = capsys.readouterr()
    assert (said.out, said.err) == ("", f"{WRONG}\n")
