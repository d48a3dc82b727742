"""What entries mean together: names twice or not there, limits exchanged, a stack that cannot have grown so far."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.checks.checks import MOST_GROWTH_MM

from ....job_texts import FULL, TWO, changed, faults_of


def test_a_sound_job_has_none() -> None:
    assert faults_of(TWO) == {}
    assert faults_of(FULL) == {}


@pytest.mark.parametrize(
    ("before", "after", "loc", "said"),
    [
        ('name = "rear"', 'name = "front"', "cylinder.1.name", "there twice"),
        ('cylinder = "rear"', 'cylinder = "reer"', "train.1.cylinder", "did you mean rear?"),
        ('cylinder = "rear"', 'cylinder = "front"', "train.1", "the intake of front is there twice"),
        ("[stack]", '[targets]\npreload_least = 2\npreload_most = 1\n[stack]', "targets.preload_least", "is more than preload_most"),
        ("[stack]", '[targets]\nsquish_least = 2\nsquish_most = 1\n[stack]', "targets.squish_least", "is more than squish_most"),
        ('kind = "hydraulic"', 'kind = "hydraulic"\nlash = 0.1', "train.0.lifter.lash", "takes preload, not lash"),
        ("base_gasket = 0.4", 'base_gasket = { read = 0.4, by = "mic B" }', "stack.base_gasket", "no such instrument"),
        ('port = "intake"\n[train.lifter]', 'port = "intake"\nlobe = "spare"\n[train.lifter]', "train.0.lobe", "no such lobe"),
    ],
)  # fmt: skip
def test_each_contradiction_is_told_at_its_entry(before: str, after: str, loc: str, said: str) -> None:
    found = faults_of(changed(TWO, (before, after)))
    assert said in found[loc], found


@pytest.mark.parametrize(("grown", "fault"), [(MOST_GROWTH_MM - 0.1, False), (MOST_GROWTH_MM + 0.1, True)])
def test_no_stack_grows_by_more_than_any_did(grown: float, fault: bool) -> None:
    now = 118.5 + grown
    text = TWO.replace("cylinder = 121.7", f"cylinder = {now:.3f}")
    assert bool(faults_of(text)) is fault


def test_a_direction_of_noughts_is_none() -> None:
    found = faults_of(changed(FULL, ("direction = [0.02, 1, 0.01]", "direction = [0, 0, 0]")))
    assert any("has no direction" in said for said in found.values())


def test_a_table_that_is_named_has_to_be_a_file_beside_the_job(tmp_path: Path) -> None:
    lobe = '[lobe.intake]\ntable = "NAME"\nmeasured_at = "lifter"\ncentreline = 108\n[stack]'
    for name, said in (("nothing.csv", "no such file"), ("/etc", "outside the folder"), (".", "is a folder")):
        found = faults_of(changed(TWO, ("[stack]", lobe.replace("NAME", name))))
        assert any(said in one for one in found.values()), (name, found)
    assert tmp_path.exists()
