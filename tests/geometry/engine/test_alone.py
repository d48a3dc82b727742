"""One cylinder alone: it keeps what is its own and what all share, and its answers are those of the whole engine."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.core.answer import CYLINDER, Missing
from tallstack.geometry.core.mapping import Frozen
from tallstack.geometry.engine.alone import alone, each_alone, those_of
from tallstack.geometry.fits.groups import GROUPS

from ...commands import DEMO, EXAMPLES

WHOLE = Frozen(
    {
        "cylinders": ("front", "rear"),
        "trains": ("front.intake", "rear.intake"),
        "stack.bore": 90.0,
        "front.lean": 0.4,
        "rear.lean": -0.4,
        "rear.intake.rocker.ratio": 1.5,
        "before.front.stack.cylinder": 120.0,
        "before.rear.stack.cylinder": 121.0,
    }
)


def test_a_cylinder_keeps_its_own_and_what_all_share() -> None:
    assert dict(each_alone(WHOLE)["front"]) == {
        "cylinders": ("front",),
        "trains": ("front.intake",),
        "stack.bore": 90.0,
        "front.lean": 0.4,
        "before.front.stack.cylinder": 120.0,
    }


def test_one_alone_is_that_of_each() -> None:
    for name, found in each_alone(WHOLE).items():
        assert dict(alone(WHOLE, name)) == dict(found)


def test_of_a_quantity_what_stands_there_moves() -> None:
    rear = each_alone(WHOLE)["rear"]
    quantities = {"front.lean": {"front.lean": 1.0, "rear.lean": -1.0}, "x": {"front.stack.bore": 1.0}}
    assert those_of(quantities, rear) == {"front.lean": {"rear.lean": -1.0}}


@pytest.mark.parametrize("job", [DEMO, EXAMPLES / "worn_pair_bored_anew" / "job.toml"], ids=["demo", "worn"])
def test_its_answers_are_those_of_the_whole_engine(job: Path) -> None:
    whole = load(job).settled.mapping
    looked = 0
    for name, own in each_alone(whole).items():
        for group in GROUPS:
            for of in (name,) if group.of == CYLINDER else own["trains"]:
                there, here = group.work_out(whole, of), group.work_out(own, of)
                if group.of_all:
                    continue
                assert isinstance(there, Missing) == isinstance(here, Missing)
                if isinstance(there, Missing) or isinstance(here, Missing):
                    assert there == here
                    continue
                looked += len(there)
                for key, value in there.items():
                    np.testing.assert_array_equal(value.value, here[key].value)
    assert looked > 20
