"""A lobe read through another follower: in a job, by itself, and what is refused of it."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.commands import lobe
from tallstack.cli.lobe_leads import Rides, led_by
from tallstack.geometry.gear.at_valve import by_places

from ....cli.commands.test_lobe import written
from ....cli.job.entries.test_lobe_tables import GEAR
from ....commands import tallstack
from ....geometry.cam.test_follower import ARCS
from ....known_lobes import Array, cubed

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
    text = (GEAR / "job.toml").read_text(encoding="utf-8")
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


def test_lobe_shows_both_curves(folder: Path, tmp_path: Path) -> None:
    told = tallstack("lobe", folder / "intake.csv", *OPTIONS, "--json").json
    roller = tallstack("lobe", folder / "intake_roller.csv", "--json").json
    for one, other in zip(told["events"], roller["events"], strict=True):
        assert one["duration_deg"] == pytest.approx(other["duration_deg"], abs=0.3)
    under = told["under_another_follower"]
    assert under["follower_radius_mm"] == 10.0
    assert under["durations_as_read_deg"][0]["duration_deg"] < told["events"][0]["duration_deg"] - 3
    out = tallstack("lobe", folder / "intake.csv", *OPTIONS, "--plot", tmp_path / "both.svg").out
    assert "as read    as run" in out
    drawn = (tmp_path / "both.svg").read_text(encoding="utf-8")
    assert "as read" in drawn
    assert "under the engine's follower" in drawn or "under the engine" in drawn


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--read-with", "tip 1.5 mm"), "--follower: say what rides on it in the engine"),
        (("--read-with", "tip 1 mm", "--follower", "flat"), "--base-radius: reading a lobe through another"),
        ((*OPTIONS[:-2], "--base-radius", "0"), "--base-radius 0: a radius above zero"),
        ((*OPTIONS[2:], "--read-with", "tip"), '--read-with tip: write "tip" or "roller" with its radius'),
        (
            (*OPTIONS, "--measured-at", "valve", "--ratio", "1.6"),
            "already went through the engine's own follower",
        ),
    ],
)
def test_a_slip_of_the_followers_is_told(folder: Path, words: tuple[str, ...], said: str) -> None:
    ended = tallstack("lobe", folder / "intake.csv", *words)
    assert ended.status == 2
    assert said in ended.err + ended.out


RIDES = {"read_with": (1.5, 0.1, "tip {} mm"), "follower": (10.0, 0.3, "roller {} mm"), "base_radius": (14.0, 0.25, "{} mm"), "follower_offset": (0.5, 0.4, "{} mm")}  # fmt: skip
LASH = {"lash": (0.25, 0.03, "{} mm"), "first": (3.30, 0.03, "{}"), "second": (6.60, 0.03, "{}")}


def asked_of(numbers: dict[str, str]) -> lobe.Asked:
    """Return what is asked of a lobe by numbers as they are typed."""
    if "lash" not in numbers:
        return lobe.Asked(rides=Rides(**numbers))
    dialled = (f"{numbers['first']} mm, 4.85 mm", f"{numbers['second']} mm, 10.20 mm")
    return lobe.Asked(measured_at="valve", dialled=dialled, lash=numbers["lash"])


def test_each_number_that_leads_to_a_lobe_is_varied_by_its_own_doubt() -> None:
    led = led_by(asked_of({"lash": "0.25 +/- 0.03 mm", "first": "3.30", "second": "6.60"}))
    ((up, down),) = led.varied
    assert up.at_valve is not None
    assert down.at_valve is not None
    assert float(up.at_valve.lash) == pytest.approx(0.25 + 0.03 / np.sqrt(3))
    assert float(down.at_valve.lash) == pytest.approx(0.25 - 0.03 / np.sqrt(3))
    assert led.bare == ("--dialled",)
    rides = {
        "read_with": "tip 1.5 +/- 0.1 mm",
        "follower": "roller 10 mm",
        "base_radius": "14 +/- 0.2 mm (2 sigma)",
    }
    led = led_by(asked_of(rides))
    assert [
        one.riding.base for ends in led.varied for one in ends if one.riding is not None
    ] == pytest.approx([14.0, 14.0, 14.1, 13.9])
    assert led.bare == ("--follower",)


def test_a_duration_s_doubt_holds_that_of_the_radii(tmp_path: Path) -> None:
    """A tip of 1.5 +/- 0.5 mm: what a tip as much larger and as much smaller as its standard uncertainty makes of it."""
    path = written(tmp_path / "tip.csv", CAM, ARCS(CAM, 1.5), places=5)
    told = {}
    for tip in ("1.5 mm", "1.5 +/- 0.5 mm", "1.78868 mm", "1.21132 mm"):
        asked = asked_of({"read_with": f"tip {tip}", "follower": "roller 10 mm", "base_radius": "14 mm"})
        told[tip] = lobe.examined(path, asked, (), led_by(asked)).events[-1]
    bare, stated, large, small = told.values()
    apart = abs(large.opens + large.closes - small.opens - small.closes)
    assert stated.lasts == pytest.approx(np.hypot(bare.lasts, apart), rel=1e-3)
    assert apart > 2 * bare.lasts


def test_a_duration_s_doubt_holds_that_of_the_ratio(tmp_path: Path) -> None:
    path = written(tmp_path / "valve.csv", CAM, 1.6 * ARCS(CAM, 10.0), places=5)
    told = {}
    for ratio in ("1.6", "1.6 +-0.05", "1.628868", "1.571132"):
        asked = lobe.Asked(measured_at="valve", ratio=ratio, lash="0")
        led = led_by(asked)
        assert led.bare == (() if "+-" in ratio else ("--ratio",))
        told[ratio] = lobe.examined(path, asked, (), led).events[-1]
    bare, stated, large, small = told.values()
    apart = abs(large.opens + large.closes - small.opens - small.closes)
    assert stated.lasts == pytest.approx(np.hypot(bare.lasts, apart), rel=1e-3)
    assert apart > 2 * bare.lasts
    plus = led_by(lobe.Asked(measured_at="valve", ratio="1.6±0.05", lash="0"))
    assert plus.varied == led_by(lobe.Asked(measured_at="valve", ratio="1.6 +-0.05", lash="0")).varied


def test_a_diameter_on_the_command_line_is_asked_about() -> None:
    rides = {"read_with": "tip 3 mm", "follower": "roller 10 mm", "base_radius": "14 mm"}
    (why,) = led_by(asked_of(rides)).unlikely
    assert why.startswith("--read-with tip 3 mm reads as a radius of 3.000 mm")


@pytest.mark.study
@pytest.mark.parametrize("stated", [RIDES, LASH], ids=["followers", "lash"])
def test_the_doubt_of_what_leads_to_a_lobe_against_draws(
    tmp_path: Path, stated: dict[str, tuple[float, float, str]]
) -> None:
    """Each number evenly anywhere within its +/-, every one of 60 strata of it once."""
    if stated is LASH:
        gear = by_places([(3.30, 4.85), (6.60, 10.20)], 0.25)
        path = written(
            tmp_path / "v.csv", CAM, np.maximum(gear.valve(cubed(CAM) * 6.6 / 8.08), 0.0), places=5
        )
    else:
        path = written(tmp_path / "tip.csv", CAM, ARCS(CAM, 1.5), places=5)

    def told(numbers: dict[str, str]) -> Array:
        asked = asked_of(numbers)
        events = lobe.examined(path, asked, (), led_by(asked)).events
        return np.array(
            [(one.opens, one.closes, one.opens + one.closes, one.doubt, one.lasts) for one in events]
        )

    rng, count = np.random.default_rng(3), 60
    off = {name: 2 * (rng.permutation(count) + rng.random(count)) / count - 1 for name in stated}
    many = np.array(
        [
            told(
                {name: form.format(value + by * off[name][row]) for name, (value, by, form) in stated.items()}
            )
            for row in range(count)
        ]
    )
    sure = told({name: form.format(value) for name, (value, _, form) in stated.items()})
    doubtful = told({name: form.format(f"{value} +/- {by}") for name, (value, by, form) in stated.items()})
    more = np.sqrt(doubtful[:, 3:] ** 2 - sure[:, 3:] ** 2)
    spread = 2 * many[:, :, :3].std(axis=0)
    np.testing.assert_allclose(more[:, 1], spread[:, 2], rtol=0.12)
    assert (more[:, 0] > 0.88 * spread[:, :2].max(axis=1)).all()
    assert led_by(asked_of({name: form.format(value) for name, (value, _, form) in stated.items()})).bare


def test_a_follower_stands_over_its_lobe_unless_an_offset_is_said(folder: Path) -> None:
    path = folder / "intake.csv"
    plain, said, aside = (
        tallstack("lobe", path, *OPTIONS, *more, "--json").json["events"]
        for more in ((), ("--read-offset", "0", "--follower-offset", "0"), ("--follower-offset", "1 mm"))
    )
    assert plain == said != aside
