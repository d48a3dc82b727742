"""Every UNPROVED has its reason, nothing is called done while something asked is not known, and what is shown is so."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from .clearance_jobs import by_coordinates
from .cli.commands.test_sheet import pages_of, printed
from .commands import BENCH, EXAMPLES, TWIN, tallstack

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


def test_a_verdict_that_rests_on_the_lifter_pumped_up_says_what_has_no_doubt() -> None:
    told = " ".join(tallstack("clearance", TWIN).out.split())
    assert "UNPROVED so: no +/- entered for pushrod.ball_diameter_low, pushrod.ball_diameter_high" in told


def test_nothing_is_done_while_valve_to_valve_is_not_known() -> None:
    groups = tallstack("measure", TWIN, "--json").json["groups"]
    asked = [
        one["entry"] for one in next(one for one in groups if one["for"] == "FOR VALVE TO VALVE")["readings"]
    ]
    assert asked[:2] == ["front.valves_touch.edge_intake", "front.valves_touch.edge_exhaust"]
    risk = tallstack("risk", TWIN, "--draws", "200")
    assert "first what the clearance of front valve to valve, rear valve to valve lacks" in " ".join(
        risk.out.split()
    )
    assert "stop measuring" not in risk.out
    assert tallstack("risk", TWIN, "--draws", "200", "--json").json["stop_measuring"] is False


@pytest.mark.wide
def test_remedies_say_elsewhere_what_applying_them_gives() -> None:
    """Each remedy with an entry of its own is tried, and its effects elsewhere are held against the answer."""
    found = tallstack("clearance", POCKETS, "--json").json
    tried = 0
    for valve in found["valves"]:
        for remedy in valve["remedies"]:
            value = remedy.get("value_mm", None)
            if value is None or not remedy["elsewhere"] or remedy["entry"].startswith("lobe."):
                continue
            changes = {
                remedy["entry"]: f"{value} mm",
                **{path: f"{one} mm" for path, one in remedy["also"].items() if ".lean." not in path},
            }
            if any(".centre." in path for path in remedy["also"]):
                continue  # a new pocket is no single entry
            words = [word for path, one in changes.items() for word in ("--with", f"{path}={one}")]
            there = tallstack("clearance", POCKETS, *words, "--json")
            assert there.status in (0, 1), there.err
            valves = {one["train"]: one for one in there.json["valves"]}
            pairs = {one["cylinder"]: one for one in there.json["pairs"]}
            for effect in remedy["elsewhere"]:
                if effect["verdict"] is None:
                    continue
                after = valves.get(effect["name"]) if effect["what"] == "piston" else pairs[effect["name"]]
                assert after is not None
                assert effect["verdict"] == after["verdict"], (remedy["entry"], effect)
                tried += 1
    assert tried >= 2


@pytest.mark.wide
def test_a_gasket_thicker_than_the_free_one_can_be_tried(tmp_path: Path) -> None:
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    assert "[stack]\n" in text
    job = tmp_path / "thin.toml"
    job.write_text(
        text.replace("[stack]\n", '[stack]\nhead_gasket_free = "1.20 +/- 0.02"\n')
        + "\n[targets]\ndrop_intake = 4.6\n",
        encoding="utf-8",
    )
    found = tallstack("clearance", job, "--json").json["valves"][0]["remedies"]
    gasket = next(one for one in found if one["kind"] == "head gasket" and one["gives_mm"] is not None)
    assert gasket["value_mm"] > 1.2
    words = [
        f"{gasket['entry']}={gasket['value_mm']} mm",
        *(f"{path}={one} mm" for path, one in gasket["also"].items()),
    ]
    tried = tallstack("clearance", job, *(word for one in words for word in ("--with", one)), "--json")
    assert tried.status in (0, 1), tried.err
    assert tried.json["valves"][0]["gap_mm"] == pytest.approx(gasket["gives_mm"], abs=1e-4)


def test_one_valve_that_is_not_known_is_status_1(tmp_path: Path) -> None:
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    cut = text.rindex("head_diameter")
    job = tmp_path / "half.toml"
    job.write_text(text[:cut] + "#" + text[cut:], encoding="utf-8")
    found = tallstack("clearance", job, "--json")
    verdicts = [one["verdict"] for one in found.json["valves"]]
    assert verdicts.count(None) == 1
    assert "short" not in verdicts
    assert found.status == 1


def test_a_filled_lifter_bleeds_down_on_the_sheet_of_hydraulic_lifters_alone() -> None:
    told = "let it bleed down until its pushrod spins"
    assert any(told in " ".join(page.split()) for page in pages_of(printed(BENCH, "a4")))
    solid = EXAMPLES / "hot_lash_lost" / "job.toml"
    assert not any(told in " ".join(page.split()) for page in pages_of(printed(solid, "a4")))


def test_an_eccentric_shaft_says_what_its_setting_lacks(tmp_path: Path) -> None:
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    job = tmp_path / "eccentric.toml"
    job.write_text(
        text.replace("[train.rocker]\n", '[train.rocker]\nadjuster = { kind = "eccentric shaft" }\n', 1),
        encoding="utf-8",
    )
    told = " ".join(tallstack("pushrods", job).out.split())
    assert "eccentric shaft: not known without one.intake.rocker.adjuster.eccentricity" in told
    row = tallstack("pushrods", job, "--json").json["pushrods"][0]["adjuster"]
    assert row["needs"][:2] == [
        f"one.intake.rocker.adjuster.{one}" for one in ("eccentricity", "eccentric_at")
    ]


def test_a_picture_of_nothing_is_refused(tmp_path: Path) -> None:
    job = EXAMPLES / "single_with_lifter_screws" / "job.toml"
    ended = tallstack("clearance", job, "--plot", tmp_path / "one.svg")
    assert ended.status == 2
    assert not (tmp_path / "one.svg").exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="of a POSIX system's pipes")
def test_a_pipe_that_nobody_writes_to_is_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "job.toml"
    os.mkfifo(pipe)
    ended = tallstack("check", pipe)
    assert ended.status == 2
    assert "empty" in ended.err


def test_no_fault_turns_its_line_round(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        'format = 1\nunits = "mm"\n[stack]\ncylinder = "121.7 \u202e5 mm\u2066\u200b"\n', encoding="utf-8"
    )
    ended = tallstack("check", job)
    assert ended.status == 2
    assert "stack.cylinder" in ended.err
    assert not any(mark in ended.err for mark in "\u202e\u2066\u200b")


def test_a_cylinder_of_three_valves_is_told_what_can_be_done(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    gear = '[[train]]\ncylinder = "one"\nport = "intake"\n'
    job.write_text(f'format = 1\nunits = "mm"\n[[cylinder]]\nname = "one"\n{gear}{gear}', encoding="utf-8")
    told = tallstack("check", job).err
    assert "a cylinder has one intake and one exhaust here" in told
