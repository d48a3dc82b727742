"""A lobe read through another follower, in a job: what is missing, what contradicts, and what it comes to."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from ....commands import FROM_READINGS, tallstack
from ....geometry.cam.test_follower import ARCS
from ....known_lobes import written

CAM = np.arange(-180.0, 180.0, 2.0)
READ = 'table = "{0}.csv"\nread_with = {{ tip = "1.5 +/- 0.05 mm" }}\nbase_radius = "14 +/- 0.05 mm"\n'
OPTIONS = ("--read-with", "tip 1.5 mm", "--follower", "roller 10 mm", "--base-radius", "14 mm")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return jobs of one engine: its lobe read with a tip, and with the engine's own roller."""
    found = tmp_path_factory.mktemp("followers")
    for port in ("intake", "exhaust"):
        written(found / f"{port}.csv", CAM, ARCS(CAM, 1.5), places=5)
        written(found / f"{port}_roller.csv", CAM, ARCS(CAM, 10.0), places=5)
    text = (FROM_READINGS / "job.toml").read_text(encoding="utf-8")
    own = text
    for port in ("intake", "exhaust"):
        text = text.replace(f'table = "{port}.csv"', READ.format(port))
        own = own.replace(f'table = "{port}.csv"', f'table = "{port}_roller.csv"')
    kind, rides = "lifter = { kind", 'lifter = { follower = { roller = "10 +/- 0.02 mm" }, kind'
    (found / "tip.toml").write_text(text.replace(kind, rides), encoding="utf-8")
    (found / "bare.toml").write_text(text, encoding="utf-8")
    (found / "roller.toml").write_text(own, encoding="utf-8")
    return found


def test_a_tip_and_the_roller_itself_tell_the_same_clearances(folder: Path) -> None:
    tip, roller = (tallstack("clearance", folder / f"{one}.toml", "--json").json for one in ("tip", "roller"))
    for one, other in zip(tip["valves"], roller["valves"], strict=True):
        assert one["drop_mm"] == pytest.approx(other["drop_mm"], abs=0.015)
        assert one["doubt_mm"] >= other["doubt_mm"]  # the radii carry theirs
    assert {one["entry"] for one in tip["assumed"]} >= {
        "lobe.intake.read_offset",
        "single.intake.lifter.follower_offset",
    }


def test_the_tip_s_lift_by_itself_would_flatter(folder: Path) -> None:
    tip = tallstack("clearance", folder / "tip.toml", "--json").json
    as_read = tallstack(
        "clearance", folder / "tip.toml", "--with", "lobe.intake.read_with=the engine's own follower"
    )
    assert as_read.status in (0, 1, 2)
    entries = {one["entry"] for one in tallstack("check", folder / "tip.toml", "--json").json["moves"]}
    assert {"lobe.intake.read_with.tip", "lobe.intake.base_radius"} <= entries
    assert tip["valves"][0]["verdict"] == "ok"


def test_radii_without_doubt_prove_nothing(folder: Path) -> None:
    told = tallstack(
        "clearance", folder / "tip.toml", "--with", "lobe.intake.read_with.tip=1.5 mm", "--json"
    ).json
    assert told["valves"][0]["verdict"] == "unproved"


def test_what_is_missing_is_named(folder: Path) -> None:
    told = tallstack("clearance", folder / "bare.toml")
    assert told.status == 2
    assert "the cam: lifter.follower (what rides on the lobe)" in told.err + told.out
    path = folder / "heel.toml"
    text = (folder / "tip.toml").read_text(encoding="utf-8")
    path.write_text(text.replace('base_radius = "14 +/- 0.05 mm"\n', "", 1), encoding="utf-8")
    ended = tallstack("clearance", path)
    assert ended.status == 2
    assert (
        "needs the heel's radius: measure across nose and heel, take off the peak lift, halve it" in ended.err
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            ('read_with = { tip = "1.5 +/- 0.05 mm" }', 'read_with = "flat"'),
            "a flat foot bridges hollow flanks",
        ),
        (('tip = "1.5 +/- 0.05 mm"', 'roller = "12 mm"'), "a larger follower bridges hollows"),
        (
            ('base_radius = "14 +/- 0.05 mm"', 'base_radius = "14 mm"\nread_offset = "16 mm"'),
            "the follower passes beside the cam",
        ),
        (('tip = "1.5 +/- 0.05 mm"', 'tip = "1.5 mm", roller = "3 mm"'), "a tip and a roller are both given"),
        (
            ('base_radius = "14 +/- 0.05 mm"', 'base_radius = "14 mm"\nmeasured_at = "valve"'),
            "lifts at the valve already went through the engine's own follower",
        ),
    ],
)
def test_what_cannot_be_told_is_refused_at_its_line(
    folder: Path, tmp_path: Path, change: tuple[str, str], said: str
) -> None:
    for name in ("intake.csv", "exhaust.csv"):
        shutil.copy(folder / name, tmp_path / name)
    text = (folder / "tip.toml").read_text(encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text(text.replace(*change, 1), encoding="utf-8")
    for command in ("check", "clearance"):
        ended = tallstack(command, path)
        assert ended.status == 2
        assert not ended.out
        assert said in ended.err
        assert ": lobe.intake." in ended.err


def test_ground_for_flat_lifts_the_refusal_of_a_flat_foot(folder: Path, tmp_path: Path) -> None:
    written(tmp_path / "flat.csv", CAM, ARCS(CAM, None), places=5)
    for port in ("intake", "exhaust"):
        shutil.copy(tmp_path / "flat.csv", tmp_path / f"{port}.csv")
    text = (folder / "tip.toml").read_text(encoding="utf-8")
    flat = 'read_with = "flat"\nground_for = "flat"'
    (tmp_path / "job.toml").write_text(
        text.replace('read_with = { tip = "1.5 +/- 0.05 mm" }', flat), encoding="utf-8"
    )
    found = tallstack("clearance", tmp_path / "job.toml", "--json").json["valves"][0]["drop_mm"]
    roller = tallstack("clearance", folder / "roller.toml", "--json").json["valves"][0]["drop_mm"]
    assert found == pytest.approx(roller, abs=0.05)


def test_a_follower_stands_over_its_lobe_unless_an_offset_is_said(folder: Path) -> None:
    path = folder / "intake.csv"
    plain, said, aside = (
        tallstack("lobe", path, *OPTIONS, *more, "--json").json["events"]
        for more in ((), ("--read-offset", "0", "--follower-offset", "0"), ("--follower-offset", "1 mm"))
    )
    assert plain == said != aside
