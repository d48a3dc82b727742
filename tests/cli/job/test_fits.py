"""Every fit of a job with its doubts: what is told of whom, and what moves a valve gear's beside the readings."""

from __future__ import annotations

import pytest
from tallstack.cli.job.fits import beside, crossing_of, known_gears
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.core.answer import CYLINDER, Missing
from tallstack.geometry.fits.groups import GROUPS

from ...commands import BENCH, EXAMPLES

LOWERING = EXAMPLES / "which_cylinder_first" / "job.toml"


def test_every_group_is_asked_of_everything_that_it_is_of() -> None:
    job = load(BENCH)
    asked = [(one.group, one.subject) for one in job.fits.answers]
    assert len(asked) == len(set(asked))
    for group in GROUPS:
        names = job.names["cylinders" if group.of == CYLINDER else "trains"]
        assert [subject for one, subject in asked if one is group] == list(names)
    assert {one.subject for one in job.fits.of("front")} == {"front"}


def test_what_is_missing_is_not_told() -> None:
    for one in load(BENCH).fits.answers:
        if isinstance(one.found, Missing):
            assert one.told == {}


def test_a_cylinder_alone_has_nothing_across() -> None:
    assert crossing_of(load(EXAMPLES / "hot_lash_lost" / "job.toml")).sure == {}
    found = crossing_of(load(LOWERING))
    assert found.unseen("front", "rear")
    assert found.unseen("rear", "front")


def test_without_springs_tubes_or_seals_no_lobe_is_asked_for() -> None:
    def refused() -> Tables:
        pytest.fail("no table is needed")

    job = load(BENCH)
    assert known_gears(job, refused) == {}
    assert beside(job, {}, "front.intake") == {
        wish: job.doubts[wish]
        for wish in ("front.intake.lifter.preload",)
        if job.doubts.get(wish, None) is not None and job.doubts[wish].half_width > 0
    }
