"""What is built in C finds what tallstack does, so that the two are compared by what they take alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from .compiled import NO_COMPILER, compiled, numbers, run
from .jobs import twin

CLOSE_MM = 1e-6


@pytest.mark.parametrize("pockets", [False, True])
def test_least_drops_of_four_valves_in_c(tmp_path: Path, pockets: bool) -> None:
    program = compiled(tmp_path)
    if program is None:
        pytest.skip(NO_COMPILER)
    told, least = numbers(twin(tmp_path, pockets))
    found = run(program, told, 10)
    assert len(found.least) == 4
    assert found.least == pytest.approx(least, abs=CLOSE_MM)
    assert found.seconds > 0
