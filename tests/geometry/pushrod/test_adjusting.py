"""What a turn of an adjuster does to a gear, against the part moved by hand."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.adjusters import Adjuster
from tallstack.geometry.pushrod import adjusting
from tallstack.geometry.pushrod.pushrods import required

from ...oracles.random_trains import TRAIN, random_mapping


def test_a_turn_of_an_adjuster_is_its_flats_together() -> None:
    mapping = random_mapping(np.random.default_rng(3), kind="hydraulic")
    train = build(mapping).train(TRAIN)  # type: ignore[arg-type]
    none = dict.fromkeys(("axis", "eccentricity", "eccentric_at", "turns_in", "turns_out"))
    screw = Adjuster(kind="pushrod screw", pitch=array(1.0), flats=array(6.0), **none)  # type: ignore[arg-type]
    found = adjusting.setting(train._replace(adjuster=screw), required(train))
    assert found is not None
    assert found.per_turn == pytest.approx(1.0, rel=0.05)  # a longer pushrod goes into the lifter
    assert found.per_flat == pytest.approx(1.0 / 6.0, rel=0.05)
