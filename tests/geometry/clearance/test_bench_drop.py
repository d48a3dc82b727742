"""One dial reading against full geometry."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.clearance.bench_drop import MeasuredDrop, traced
from tallstack.geometry.core.frames import Array, array, from_lean, point, whole_lean
from tallstack.geometry.piston.crown import Crown, pocket
from tallstack.geometry.piston.drop import drop
from tallstack.geometry.piston.head import Head

from ...seeded import few


def risen(head: Head, by: Array | float) -> Head:
    return head._replace(centre=head.centre + point(0.0, 0.0, by))


def random_head(rng: np.random.Generator) -> Head:
    stem = from_lean(*np.radians(rng.uniform(-28.0, 28.0, 2)))
    return Head(
        point(*rng.uniform(-25, 25, 2), rng.uniform(2, 6)), stem, array(rng.uniform(15, 24)), array(1.3)
    )


def reading(crown: Crown, head: Head, meets: str, room: float | None, growth: float = 0.0) -> MeasuredDrop:
    return MeasuredDrop(
        drop=drop(crown, head),
        lean=whole_lean(head.stem),
        meets=meets,
        room=None if room is None else array(room),
        growth=array(growth),
    )


@pytest.mark.parametrize("seed", few(range(60), 24))
def test_on_a_plain_crown_the_reading_tells_everything(seed: int) -> None:
    rng = np.random.default_rng([seed, 80])
    head, crown = random_head(rng), Crown((), None)
    growth = float(rng.uniform(-2, 3))
    measured = reading(crown, head, "crown", None, growth)
    for descent, lift in zip(rng.uniform(0, 40, 8), rng.uniform(0, 12, 8), strict=True):
        found = traced(measured, array(descent), array(lift))
        assert found.known
        assert found.drop == pytest.approx(float(drop(crown, risen(head, growth + descent))) - lift, abs=1e-6)


@pytest.mark.parametrize("seed", few(range(60), 24))
def test_over_a_pocket_floor_it_holds_while_the_rim_has_room(seed: int) -> None:
    rng = np.random.default_rng([seed, 81])
    head = random_head(rng)
    # A pocket square to the stem, about the valve's own axis, deep enough to hold the whole head.
    foot = head.centre - head.stem * (head.centre[2] / head.stem[2])
    clear = float(rng.uniform(1.0, 4.0))
    radius = float(head.radius) + clear
    depth = float(rng.uniform(1.0, 4.0)) + 2 * radius * float(np.sin(whole_lean(head.stem)))
    crown = Crown((pocket(foot[:2], head.stem, array(2 * radius), array(depth)),), None)
    into = -float(head.centre[2]) - depth / 2  # the head stands in its pocket when the reading is taken
    low = head._replace(centre=head.centre + head.stem * (into / head.stem[2]))
    measured = reading(crown, low, "pocket", clear)
    descents = np.linspace(0.0, 12.0, 25)
    found = traced(measured, descents, np.zeros(25))
    assert found.known[0]
    for index, descent in enumerate(descents):
        if not found.known[index]:
            assert np.isnan(found.drop[index])
            continue
        exact = float(drop(crown, risen(low, descent)))
        assert found.drop[index] == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize("seed", few(range(60), 24))
def test_with_nothing_said_it_is_never_more_optimistic_than_the_geometry(seed: int) -> None:
    rng = np.random.default_rng([seed, 82])
    head = random_head(rng)
    if seed % 2:
        crown, room = Crown((), None), 3.0
    else:
        foot = head.centre - head.stem * (head.centre[2] / head.stem[2])
        radius = float(head.radius) + 3.0
        depth = 2.0 + 2 * radius * float(np.sin(whole_lean(head.stem)))
        crown, room = Crown((pocket(foot[:2], head.stem, array(2 * radius), array(depth)),), None), 3.0
        head = head._replace(centre=head.centre - head.stem * ((head.centre[2] + depth / 2) / head.stem[2]))
    measured = reading(crown, head, "", room)
    for descent in np.linspace(0.0, 10.0, 12):
        found = traced(measured, array(descent), array(0.0))
        if found.known:
            assert found.drop <= float(drop(crown, risen(head, descent))) + 1e-6
