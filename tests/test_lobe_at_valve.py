"""Wheel and dial at the valve: the lash as read, two places against one, a lifter that bled."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.geometry.errors import GeometryError
from tallstack.geometry.lobe_at_valve import PUSHROD, by_places, by_ratio

from .commands import tallstack
from .known_lobes import cubed
from .oracles.fourbar_ratio import driven
from .test_lobe_command import written
from .test_lobe_tables import GEAR

PLACES = [(3.30, 4.85), (6.60, 10.20)]


def test_the_worked_places() -> None:
    """Lash 0.25; lifter 3.30 and 6.60 where the valve, lash and all, has 5.10 and 10.45."""
    found = by_places(PLACES, 0.25)
    assert found.beta == pytest.approx(-0.0028935, abs=1e-7)
    assert found.alpha == pytest.approx(0.661816, abs=1e-6)
    one = by_places(PLACES[1:], 0.25)
    for h, two_places, one_ratio in ((10.00, 6.4796, 6.4737), (2.00, 1.4744, 1.4211)):
        assert float(found.lobe(np.array(h))) == pytest.approx(two_places, abs=5e-5)
        assert float(one.lobe(np.array(h))) == pytest.approx(one_ratio, abs=5e-5)
        assert float(by_ratio(10.45 / 6.60, 0.25).lobe(np.array(h))) == pytest.approx(one_ratio, abs=5e-5)
    assert float(one.lobe(np.array(0.0))) == pytest.approx(0.25 * 6.60 / 10.45)


@pytest.mark.parametrize("lash_at", ["valve", PUSHROD])
def test_there_and_back(lash_at: str) -> None:
    found = by_places(PLACES, 0.2, lash_at)
    lift = np.linspace(0.0, 10.0, 50)
    np.testing.assert_allclose(found.valve(found.lobe(lift)), lift, atol=1e-12)
    assert float(found.valve(np.array(0.5 * found.unseen))) < 0


@pytest.mark.parametrize("lash", [0.0, 0.25])
def test_two_places_against_a_rocker_worked_out(lash: float) -> None:
    """The valve by a planar rocker with its pushrod: two places miss the lobe by a tenth of what one does."""
    lobe = np.linspace(0.0, 8.0, 161)
    valve = driven(lobe) - lash
    seen = valve > 0.05
    rows = [(float(lobe[one]), float(valve[one])) for one in (80, 160)]
    two, one = (by_places(some, lash).lobe(valve[seen]) - lobe[seen] for some in (rows, rows[1:]))
    assert np.abs(two).max() < 0.054
    assert np.abs(two).max() < 0.5 * np.abs(one).max()


def test_places_that_tell_nothing_are_refused() -> None:
    for places, said in (
        ([(3.3, 4.85), (3.5, 5.1)], "too close"),
        ([(0.0, 4.85)], "a lift of nothing"),
        ([(6.0, 4.85), (6.1, 10.0)], "go down where the valve opens"),
    ):
        with pytest.raises(GeometryError, match=said):
            by_places(places, 0.25)


CAM = np.arange(-180.0, 180.0, 2.0)


@pytest.fixture
def read(tmp_path: Path) -> Path:
    """Return a table at the valve, read with 0.25 mm of lash through the worked places."""
    valve = np.maximum(by_places(PLACES, 0.25).valve(cubed(CAM) * 6.6 / 8.08), 0.0)
    return written(tmp_path / "valve.csv", CAM, valve, places=5)


def test_the_lobe_behind_a_table_at_the_valve(read: Path) -> None:
    at_valve = ("--measured-at", "valve", "--dialled", "3.30 mm, 4.85 mm", "--dialled", "6.60 mm, 10.20 mm")
    told = tallstack("lobe", read, *at_valve, "--lash", "0.25 mm", "--json").json
    assert told["peak_mm"] == pytest.approx(6.6, abs=0.005)
    assert told["durations_known"]
    for one in told["events"]:
        half = np.interp(
            -one["check_mm"], -cubed(np.arange(0, 90, 0.01)) * 6.6 / 8.08, np.arange(0, 90, 0.01)
        )
        assert one["duration_deg"] == pytest.approx(4 * half, abs=1.0)
    assert [one["check_mm"] for one in told["events"]] == [0.508, 1.0, 1.27]
    assert told["checks_not_seen_mm"] == [0.1524]
    out = " ".join(tallstack("lobe", read, *at_valve, "--lash", "0.25 mm").out.split())
    assert "not seen: the valve stands still there" in out
    assert "comes nearer to its piston by 0.010 in (0.25 mm)" in out
    place = tallstack("lobe", read, *at_valve, "--lash", "0.25 mm", "--centreline", "100", "--json").json
    assert place["lift_at_overlap_mm"] == pytest.approx(float(cubed(np.array(50.0))) * 6.6 / 8.08, abs=0.02)
    opens, closes = place["opening_deg"]
    assert closes - opens == pytest.approx(told["events"][2]["duration_deg"], abs=1e-5)
    one = tallstack(
        "lobe", read, "--measured-at", "valve", "--ratio", "1.583333", "--lash", "0.25 mm", "--json"
    ).json
    assert one["peak_mm"] == pytest.approx(6.6, abs=0.01)
    assert one["events"][0]["duration_deg"] != pytest.approx(told["events"][0]["duration_deg"], abs=0.3)


def test_without_the_lash_durations_are_not_known(read: Path) -> None:
    words = ("--measured-at", "valve", "--ratio", "1.583333")
    out = " ".join(tallstack("lobe", read, *words).out.split())
    assert "durations NOT KNOWN" in out
    assert "one feeler reading on the heel" in out
    assert "duration +/-" not in out
    told = tallstack("lobe", read, *words, "--json").json
    assert not told["durations_known"]
    assert told["peak_mm"] == pytest.approx(6.6 - 0.25 / 1.583333, abs=0.01)  # low by lash/ratio


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--dialled", "3 mm, 5 mm"), "--dialled belongs to lifts read at the valve"),
        (("--lash", "0.010"), "--lash belongs to lifts read at the valve"),
        (("--measured-at", "valve", "--dialled", "3 mm"), "two lengths"),
        (
            ("--measured-at", "valve", "--dialled", "3 mm, 5 mm", "--dialled", "3.1 mm, 5.2 mm"),
            "too close to tell",
        ),
        (("--measured-at", "valve", "--ratio", "1.6", "--dialled", "3 mm, 5 mm"), "leave one of them out"),
        (("--measured-at", "valve", "--ratio", "1.6", "--lash", "-0.01"), "--lash -0.01"),
    ],
)
def test_a_slip_is_told(read: Path, words: tuple[str, ...], said: str) -> None:
    ended = tallstack("lobe", read, *words)
    assert ended.status == 2
    assert said in ended.out + ended.err


@pytest.fixture
def bled(tmp_path: Path) -> Path:
    """Return a job whose tables were read at the valve on hydraulic lifters."""
    text = (GEAR / "job.toml").read_text(encoding="utf-8")
    for port in ("intake", "exhaust"):
        written(tmp_path / f"{port}.csv", CAM, cubed(CAM) * 1.55, places=5)
        line = f'table = "{port}.csv"'
        text = text.replace(line, f'{line}\nmeasured_at = "valve"\nbled = "0 mm"')
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    return tmp_path / "job.toml"


def test_a_lifter_that_bled_while_it_was_read_lifts_by_as_much_more_at_most(bled: Path) -> None:
    """The true lift lies from what was read to that and the slack: half of it is taken, and half is doubt."""
    none, some = (
        tallstack("clearance", bled, "--with", f"lobe.intake.bled={one} mm", "--json").json["valves"][0]
        for one in ("0", "0.04")
    )
    assert none["drop_mm"] - some["drop_mm"] == pytest.approx(0.02, abs=1e-3)
    assert some["doubt_mm"] == pytest.approx(np.hypot(none["doubt_mm"], 2 * 0.02 / np.sqrt(3)), abs=2e-3)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('bled = "0 mm"', 'bled = "0.08 mm"'), "read it again with a solid checking lifter"),
        (('measured_at = "valve"\n', ""), "bled belongs to a table that was read at the valve"),
        (('bled = "0 mm"', 'bled = "0.02 mm"\nlash_read = "0.1 mm"'), "a lifter with lash is solid"),
    ],
)
def test_bled_where_it_cannot_be_is_refused(bled: Path, change: tuple[str, str], said: str) -> None:
    bled.write_text(bled.read_text(encoding="utf-8").replace(*change, 1), encoding="utf-8")
    ended = tallstack("clearance", bled)
    assert ended.status == 2
    assert said in ended.err
