"""Sections within a plot: the heads as wide as they are, and words where there is nothing to cut through."""

from __future__ import annotations

import math

import numpy as np
import pytest
from matplotlib.figure import Figure
from tallstack.cli.drawing.plots.section import at_angle, heads, section
from tallstack.cli.job.loading import load

from ....commands import DEMO, EXAMPLES

BETWEEN = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"


@pytest.mark.parametrize(
    ("degrees", "words"), [(12.34, "12.3\u00b0 after top centre"), (-7.0, "7.0\u00b0 before top centre")]
)
def test_an_angle_in_words(degrees: float, words: str) -> None:
    assert at_angle(degrees) == words


def test_both_heads_are_as_wide_as_they_are_seen_along_the_crankshaft() -> None:
    found = load(BETWEEN).clearances
    pair = next(one for one in found.pairs if one.least is not None)
    here = found.situations[pair.cylinder]
    axes = Figure().add_subplot()
    heads(axes, here, pair)
    valves = here.heads_apart()
    assert valves is not None
    rings = [line for line in axes.lines if len(line.get_xdata()) > 100]
    assert len(rings) == 4
    for index, valve in enumerate(valves):
        stem = np.asarray(valve.head.stem)
        flat = float(np.hypot(stem[0], stem[2]))
        wide = 2 * float(valve.head.radius)
        across = np.ptp(rings[2 * index].get_xdata())
        assert across == pytest.approx(wide * math.sqrt(1 - stem[0] ** 2), rel=1e-3)
        assert flat == pytest.approx(1.0, abs=0.2)
    assert at_angle(math.degrees(pair.least.angle)) in axes.get_title()


def test_a_valve_known_by_its_reading_has_no_section_and_says_so() -> None:
    job = load(DEMO)
    found = job.clearances
    valve = next(one for one in found.valves if one.drop)
    axes = Figure().add_subplot()
    section(axes, job, found.situations[valve.train.rpartition(".")[0]], valve)
    assert [one.get_text() for one in axes.texts] == [
        f"{valve.train.replace('.', ' ')}:\nno section without coordinates"
    ]
