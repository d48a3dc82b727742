"""`tallstack lobe`: what it says, draws and refuses."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from ...commands import FAULTS, FROM_READINGS, tallstack
from ...geometry.cam.test_follower import ARCS
from ...known_lobes import CAM, NOISE, cubed, dwelling, noisy, passes, written
from ...seeded import few

FAULTS = FAULTS / "lobe_command"
NAMES = sorted(path.stem for path in FAULTS.glob("*.csv") if path.stem != "good")
WITHOUT_LINE = {"empty"}


@pytest.fixture
def table(tmp_path: Path) -> Path:
    return written(tmp_path / "intake.csv", CAM, noisy())


def refused(*words: str | Path) -> str:
    ended = tallstack("lobe", *words)
    assert ended.status == 2
    assert not ended.out
    return ended.err


def test_there_are_enough_faulty_tables() -> None:
    assert len(NAMES) >= 20
    assert {path.stem for path in FAULTS.glob("*.txt")} == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_faulty_table_is_told_exactly(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.chdir(FAULTS)
    before = sorted(path.name for path in Path().iterdir())
    expected = Path(f"{name}.txt").read_bytes().decode()
    for more in ((), ("--json",), ("--plot", "never.png")):
        assert refused(f"{name}.csv", *more) == expected
    assert sorted(path.name for path in Path().iterdir()) == before
    if name not in WITHOUT_LINE:
        assert re.match(rf"{name}\.csv:\d+:1: \S", expected)


def test_what_it_says_of_a_good_table(table: Path) -> None:
    out = tallstack("lobe", table).out
    assert out.startswith("LOBE: intake.csv\n")
    assert "144 readings at the lifter; cam degrees" in out
    for lift in ("0.006 in (0.15 mm)", "0.020 in (0.51 mm)", "0.039 in (1.00 mm)", "0.050 in (1.27 mm)"):
        assert lift in out
    assert "SUSPICIOUS" not in out
    assert max(len(line) for line in out.splitlines() if str(table.parent) not in line) <= 80


def test_events_in_json_are_the_lobes_own(table: Path) -> None:
    told = tallstack("lobe", table, "--check", "0.1", "--check", "9.5 mm", "--json").json
    assert told["format"] == 1
    assert told["command"] == "lobe"
    assert told["checks_above_peak_mm"] == [9.5]
    assert {one["check_mm"] for one in told["events"]} == {0.1524, 0.508, 1.0, 1.27, 2.54}
    for one in told["events"][1:]:
        opens, closes = passes(dwelling, one["check_mm"])
        assert one["duration_deg"] == pytest.approx(2 * (closes - opens), abs=1.5)
        assert one["opens_before_centreline_deg"] == pytest.approx(-2 * opens, abs=1.2)
        assert 0 < one["doubt_deg"] < 2
    assert told["middle_at_cam_deg"] == pytest.approx(0.0, abs=0.15)
    assert told["peak_mm"] == pytest.approx(8.9, abs=0.03)
    assert told["noise_mm"] == pytest.approx(NOISE, rel=0.2)
    assert told["suspicious"] == []
    assert told["play_deg"] is None


def test_millimetres_inches_cam_and_crank_are_the_same_lobe(tmp_path: Path) -> None:
    lift = noisy()
    ways = (
        (written(tmp_path / "a.csv", CAM, lift), ()),
        (written(tmp_path / "b.csv", CAM, lift, 1.0, 5), ("--units", "mm")),
        (written(tmp_path / "c.csv", CAM * 2, lift), ("--angle", "crank")),
        (written(tmp_path / "d.csv", CAM, lift * 1.6), ("--measured-at", "valve", "--ratio", "1.6")),
    )
    found = [tallstack("lobe", path, *words, "--json").json for path, words in ways]
    for one in found[1:]:
        for event, first in zip(one["events"], found[0]["events"], strict=True):
            assert event["duration_deg"] == pytest.approx(first["duration_deg"], abs=0.3)
        assert one["peak_mm"] == pytest.approx(found[0]["peak_mm"], abs=0.005)


def test_a_suspicious_reading_is_named_by_its_line(tmp_path: Path) -> None:
    lift = noisy()
    lift[60] += 0.3
    path = written(tmp_path / "intake.csv", CAM, lift)
    ended = tallstack("lobe", path)
    assert ended.status == 0
    assert "SUSPICIOUS, line 62: 0.0" in ended.out
    (one,) = tallstack("lobe", path, "--json").json["suspicious"]
    assert one["line"] == 62
    assert one["off_mm"] == pytest.approx(0.3, abs=0.1)


def test_the_quick_proof_at_overlap(table: Path) -> None:
    """The lobe of the table is symmetric, so an intake and an exhaust lobe show the same lift there."""
    for port, opens in (("intake", "before top"), ("exhaust", "before bottom")):
        words = ("--centreline", "98", "--port", port)
        told = tallstack("lobe", table, *words, "--json").json
        assert told["lift_at_overlap_mm"] == pytest.approx(float(dwelling(np.array(49.0))), abs=0.06)
        out = tallstack("lobe", table, *words).out
        assert "at overlap top centre the lifter has risen by" in out
        assert opens in out
    intake = tallstack("lobe", table, "--centreline", "98", "--json").json["opening_deg"]
    assert sum(intake) / 2 == pytest.approx(98.0, abs=1e-6)


@pytest.mark.parametrize(
    ("pair", "at", "held"),
    [(("-31", "35.5"), 2.25, 33.25), (("35.5", "-31"), 2.25, 33.25), (("320", "38"), -1.0, 39.0)],
)
def test_the_degree_wheel_is_halved(table: Path, pair: tuple[str, str], at: float, held: float) -> None:
    told = tallstack("lobe", table, "--stop", *pair, "--json").json
    assert told["top_centre_on_wheel_deg"] == pytest.approx(at)
    assert f"{held:.2f} deg to either side" in " ".join(tallstack("lobe", table, "--stop", *pair).out.split())


def test_both_ways_of_turning_by_column_and_by_order(tmp_path: Path) -> None:
    cam = np.append(CAM, CAM[::-1])
    way = np.append(np.ones(len(CAM)), -np.ones(len(CAM)))
    lift = dwelling(cam + way * 0.5) + np.random.default_rng(8).normal(0, NOISE, len(cam))
    path = written(tmp_path / "order.csv", cam, lift)
    rows = path.read_text(encoding="utf-8").splitlines()
    named = [f"{row},{'forward' if one > 0 else 'backward'}" for row, one in zip(rows[1:], way, strict=True)]
    other = tmp_path / "column.csv"
    other.write_text("\n".join(["angle,lift,direction", *sorted(named)]) + "\n", encoding="utf-8")
    found = [tallstack("lobe", one, "--json").json for one in (path, other)]
    for one in found:
        assert one["play_deg"] == pytest.approx(2.0, abs=0.3)
    assert found[0]["noise_mm"] == pytest.approx(found[1]["noise_mm"], abs=1e-5)
    assert "turned both ways" in tallstack("lobe", path).out


@pytest.mark.wide
@pytest.mark.parametrize("ending", few(["svg", "png", "pdf"], 1))
def test_the_picture_is_the_same_each_time(table: Path, tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"lobe.{ending}"
    assert tallstack("lobe", table, "--plot", out).status == 0
    first = out.read_bytes()
    again = refused(table, "--plot", out)
    assert again == f"{out}: exists and is not overwritten; name another file or add --force\n"
    assert tallstack("lobe", table, "--plot", out, "--force").status == 0
    assert out.read_bytes() == first


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--angle", "deg"), "--angle deg: write cam or crank"),
        (("--units", "cm"), "--units cm: write mm or in"),
        (("--measured-at", "rocker"), "--measured-at rocker: write lifter or valve"),
        (("--port", "inlet"), "--port inlet: write intake or exhaust"),
        (
            ("--measured-at", "valve"),
            "--measured-at valve: add the rocker's ratio, --ratio 1.6 for example",
        ),
        (
            ("--ratio", "1.6"),
            "--ratio belongs to lifts read at the valve; add --measured-at valve or leave it out",
        ),
        (
            ("--measured-at", "valve", "--ratio", "16"),
            "--ratio 16: a rocker's ratio lies between 0.5 and 3",
        ),
        (
            ("--centreline", "-4"),
            "--centreline -4: write the crank degrees between overlap top centre and the lobe's middle, "
            "106 for example",
        ),
        (("--stop", "900", "3"), "--stop 900 3: write two readings of the wheel in degrees"),
        (("--check", "0"), '--check "0": a check lift is a length above zero, "0.050 in" for example'),
        (("--check", ""), '--check "": a check lift is a length above zero, "0.050 in" for example'),
    ],
)
def test_a_slip_of_the_command_line_is_told(table: Path, words: tuple[str, ...], said: str) -> None:
    assert refused(table, *words) == said + "\n"


def test_a_picture_of_another_kind_is_refused(table: Path, tmp_path: Path) -> None:
    out = tmp_path / "lobe.bmp"
    assert "end the file's name so" in refused(table, "--plot", out)
    assert not out.exists()


def test_a_table_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "none.csv"
    assert refused(path) == f"{path}: no such file\n"


@pytest.mark.parametrize("given", [("--lash", "0.1 mm"), ("--dialled", "1.5")])
def test_what_belongs_to_lifts_at_the_valve_is_refused_at_the_lifter(
    tmp_path: Path, given: tuple[str, str]
) -> None:
    ended = tallstack("lobe", written(tmp_path / "lobe.csv", CAM, noisy()), *given)
    assert ended.status == 2
    assert f"{given[0]} belongs to lifts read at the valve" in ended.err


def test_two_durations_that_differ_say_what_each_is_of(tmp_path: Path) -> None:
    cam = np.arange(-180.0, 180.0, 4)
    lift = np.maximum(1.5 * cubed(cam) - 0.3, 0.0) + np.random.default_rng(0).normal(0, 0.005, len(cam))
    table = tmp_path / "valve.csv"
    rows = "".join(f"{at + 180:g},{one:.3f}\n" for at, one in zip(cam, lift, strict=True))
    table.write_text(f"angle,lift\n{rows}", encoding="utf-8")
    said = ("--measured-at", "valve", "--ratio", "1.5", "--units", "mm")
    told = " ".join(tallstack("lobe", table, *said, "--lash", "0.3 mm").out.split())
    assert (
        "(at 1.27 mm (0.050 in) of the valve's lift as read over 1.5, no lash counted back; the durations"
        in told
    )
    assert "beside where the valve leaves its seat by its lash" in told
    assert "SUSPICIOUS" not in told
    found = tallstack("lobe", table, *said, "--lash", "0.3 mm", "--json").json
    assert found["suspicious"] == []
    assert found["beside_the_seat"]
    assert "the durations below" not in " ".join(tallstack("lobe", table, *said).out.split())


FOLLOWED = np.arange(-180.0, 180.0, 2.0)


READ = 'table = "{0}.csv"\nread_with = {{ tip = "1.5 +/- 0.05 mm" }}\nbase_radius = "14 +/- 0.05 mm"\n'


OPTIONS = ("--read-with", "tip 1.5 mm", "--follower", "roller 10 mm", "--base-radius", "14 mm")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return jobs of one engine: its lobe read with a tip, and with the engine's own roller."""
    found = tmp_path_factory.mktemp("followers")
    for port in ("intake", "exhaust"):
        written(found / f"{port}.csv", FOLLOWED, ARCS(FOLLOWED, 1.5), places=5)
        written(found / f"{port}_roller.csv", FOLLOWED, ARCS(FOLLOWED, 10.0), places=5)
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
