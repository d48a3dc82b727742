"""Checks made on the bench: each kind says what it needs, refuses what is not its own, and names what is there."""

from __future__ import annotations

import pytest
from tallstack.geometry.sure.check_kinds import KINDS, OF_TRAIN

from ....job_texts import TWO, faults_of


def row(kind: str, **without: object) -> str:
    """Return a whole reading of a kind, some of its entries left out or other."""
    entries: dict[str, object] = {"of": kind}
    entries["volume" if kind == "chamber" else "value"] = "60 cc" if kind == "chamber" else "2 mm"
    if kind != "chamber":
        entries["train" if kind in OF_TRAIN else "cylinder"] = "front.intake" if kind in OF_TRAIN else "front"
    entries |= {
        "pushrod": {"as": "overall", "plunger": "top"},
        "valve lift": {"lifter_lift": "5 mm"},
        "port gap": {"other": "rear", "face": "intake"},
    }.get(kind, {})
    entries |= without
    said = [f'{name} = "{value}"' for name, value in entries.items() if value is not None]
    return TWO + "\n[[reading]]\n" + "\n".join(said) + "\n"


@pytest.mark.parametrize("kind", KINDS)
def test_a_whole_reading_is_well_and_each_part_of_it_is_needed(kind: str) -> None:
    whole = row(kind)
    assert faults_of(whole) == {}
    names = [line.partition(" =")[0] for line in whole.partition("[[reading]]")[2].strip().splitlines()]
    for name in names:
        if name == "of":
            continue
        found = faults_of(row(kind, **{name: None}))
        assert found.get(f"reading.0.{name}", "").startswith("missing; write for example"), (name, found)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_not_of_its_kind_is_to_be_taken_out(kind: str) -> None:
    foreign = "other" if kind != "port gap" else "train"
    found = faults_of(row(kind, **{foreign: "rear" if foreign == "other" else "front.intake"}))
    assert "does not belong to a reading of" in found[f"reading.0.{foreign}"]


def test_what_it_names_has_to_be_there() -> None:
    assert "did you mean front.intake?" in faults_of(row("clay", train="front.intke"))["reading.0.train"]
    assert "no such cylinder" in faults_of(row("deck", cylinder="middle"))["reading.0.cylinder"]
    assert "the same cylinder" in faults_of(row("port gap", other="front"))["reading.0.other"]


def test_a_copy_of_a_hydraulic_gear_needs_the_plunger_too() -> None:
    found = faults_of(row("pushrod", train="rear.intake", plunger=None))
    assert found["reading.0.plunger"].startswith("missing")
    solid = (
        row("pushrod", train="rear.intake", plunger=None)
        .replace('kind = "hydraulic"\npreload = 1.0\nplunger_travel = 3.5', 'kind = "solid"\nlash = 0.1')
        .replace('plunger = "top"\n', "")
    )
    assert "reading.0.plunger" not in faults_of(solid)
