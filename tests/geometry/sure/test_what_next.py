"""Which reading is worth most."""

from __future__ import annotations

import pytest
from tallstack.cli.page.risk_words import next_blocks, next_words
from tallstack.cli.page.text import text
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.readings import untied
from tallstack.geometry.sure.risk import wrong
from tallstack.geometry.sure.what_next import Candidate, Tool, ranked

from ...results import result


def test_a_cards_number_is_ranked_by_what_it_saves() -> None:
    """Beside a reading that takes the same by its slope: the same chance is saved."""
    bare = result(2.2, 0.5, 2.0, Verdict.TIGHT, "one.exhaust", "drop", {"a": 1.0})
    number = Candidate(
        "lobe.exhaust.card.lift", Tool("wheel and dial", 0.0), {}, {("one.exhaust", "drop"): 0.16}
    )
    less = Candidate("lobe.exhaust.card.duration", Tool("", 0.0), {}, {("one.exhaust", "drop"): 0.04})
    elsewhere = Candidate("lobe.exhaust.card.closing", Tool("", 0.0), {}, {("one.exhaust", "wall"): 0.16})
    by_slope = Candidate("a", Tool("", 0.0), {"a": 1.0})
    found = ranked([bare], [less, elsewhere, number, by_slope], untied({"a": Doubt(0.4, 1.0)}))
    assert [one.name for one in found] == [number.name, "a", less.name]
    assert found[0].saves == pytest.approx(found[1].saves)
    assert found[0].saves == pytest.approx(wrong(bare, 0.5) - wrong(bare, 0.3))
    assert "the lift 10 degrees from top centre, towards the lobe (lobe.exhaust.card.lift)" in " ".join(
        text(next_blocks(next_words(found, False, ()))).split()
    )


@pytest.mark.parametrize("by", [-1e-15, 1e-15])
def test_of_answers_alike_but_for_rounding_the_first_is_told(by: float) -> None:
    """Two valves of a pair that is its own mirror image: which is larger by the last digit differs by processor."""
    alike = [
        result(2.2 + more, 0.5, 2.0, Verdict.TIGHT, of, "drop", {"a": 1.0})
        for of, more in (("one.exhaust", 0.0), ("two.exhaust", by))
    ]
    (found,) = ranked(alike, [Candidate("a", Tool("", 0.0), {"a": 1.0})], untied({"a": Doubt(0.4, 1.0)}))
    assert found.most_of == "one.exhaust drop"
