"""Every figure of the rest of the stack, as declared."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.clearance.clearances import FIGURES
from tallstack.geometry.core import answer
from tallstack.geometry.core.answer import Group, Missing, Value, Values, answers
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.targets import TARGETS
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import results
from tallstack.geometry.fits.groups import GROUPS

EVERY = {key: one for group in GROUPS for key, one in group.figures.items()}


def one_figure(key: str) -> Group[[Flat, str]]:
    """Return a figure alone, which is worth what the mapping says."""

    def value(mapping: Flat, name: str) -> Values:
        return {key: Value(np.asarray(mapping[name]))}

    return answers(answer.TRAIN, "ALONE", **{key: EVERY[key]})(value)


@pytest.mark.parametrize(
    "key", [key for key, one in EVERY.items() if one.below_zero is not None and not one.left_by]
)
@pytest.mark.parametrize("targets", [{}, {one.path: 0.0 for one in TARGETS}])
def test_parts_that_meet_are_short_whatever_the_target(key: str, targets: dict[str, float]) -> None:
    if EVERY[key].most is not None:
        targets = {path: value for path, value in targets.items() if path != EVERY[key].most.path}
    for gap, short in ((-1e-6, True), (1e-6, False)):
        found = results({"gap": gap, **targets}, one_figure(key), "gap", {}, {})
        assert not isinstance(found, Missing)
        if not short and not targets and EVERY[key].least is not None and EVERY[key].least.common:
            continue  # common practice wants more
        assert (found[key].verdict is Verdict.SHORT) is short


def test_a_skirt_may_stand_to_either_side_of_its_spigots_edge() -> None:
    for gap in (-11.0, 11.0):
        found = results({"gap": gap}, one_figure("skirt_hangs"), "gap", {}, {})
        assert not isinstance(found, Missing)
        assert found["skirt_hangs"].verdict is None


def test_what_misses_by_its_parts_says_which_parts_and_what_they_do() -> None:
    """One screen says it in place of what a negative number means: "they" would be nobody."""
    told = {
        key: figure.at_nought
        for figures in (*(group.figures for group in GROUPS), FIGURES)
        for key, figure in figures.items()
        if figure.zero
    }
    assert told["coil_bind_pumped"] == "THE COILS MEET"
    assert told["retainer_to_seal_pumped"] == "RETAINER AND SEAL OR GUIDE MEET"
    assert told["tube_to_shortest"] == "TOO LONG FOR ITS SEATS"
    assert "THEY MEET" not in told.values()
