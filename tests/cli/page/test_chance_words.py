"""A chance in words: never certain where it was drawn, and the least sure first."""

from __future__ import annotations

import pytest
from tallstack.cli.page.chance_words import least_sure, misses_of, percent
from tallstack.geometry.doubt.draws import Chance
from tallstack.geometry.doubt.result import Builds

from ...results import result


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, "0 %"), (1e-6, "1e-4 %"), (0.0312, "3.1 %"), (0.456, "46 %"), (0.9987, "99.87 %")],
)
def test_a_share_shows_the_digits_that_tell_something(share: float, told: str) -> None:
    assert percent(share) == told


def test_no_draw_makes_an_answer_certain() -> None:
    drawn = result(3.0, 0.5, least=2.0)
    assert misses_of(drawn._replace(builds=Builds(missed=Chance(0.0, 3e-4), looked=10000))) == "< 0.03 %"
    assert misses_of(drawn._replace(builds=Builds(missed=Chance(1.0, 3e-4), looked=10000))) == "> 99.97 %"
    assert misses_of(result(3.0)) == ""


def test_the_least_sure_comes_first() -> None:
    sure, unsure = result(9.0, 0.5, least=2.0), result(2.1, 0.5, least=2.0)
    assert sorted([sure, unsure], key=least_sure) == [unsure, sure]
