"""What is built in C finds what tallstack does, so that the two are compared by what they take alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from .compiled import NO_COMPILER, compiled, run
from .jobs import twin
from .valves_told import valves_told

CLOSE_MM = 1e-6


@pytest.mark.parametrize("pockets", [False, True])
def test_least_drops_of_four_valves_in_c(tmp_path: Path, pockets: bool) -> None:
    program = compiled(tmp_path)
    if program is None:
        pytest.skip(NO_COMPILER)
    told = valves_told(twin(tmp_path, pockets))
    found = run(program, told.numbers, 10)
    assert len(found.least) == 4
    assert found.least == pytest.approx(told.least, abs=CLOSE_MM)
    assert found.seconds > 0
