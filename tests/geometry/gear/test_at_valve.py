"""Wheel and dial at the valve: the lash as read, two places against one, a lifter that bled."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.cli.tables.jobtables import with_tables
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.engine.engine import build
from tallstack.geometry.fits.springs import leaves_the_cam
from tallstack.geometry.gear.at_valve import PUSHROD, by_places, by_ratio

from ...commands import FROM_READINGS, tallstack
from ...known_lobes import Array, cubed, written
from ...oracles.fourbar_ratio import driven

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
    text = (FROM_READINGS / "job.toml").read_text(encoding="utf-8")
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


DIALLED = (
    'dialled = [{ lifter = "3.30 +/- 0.02 mm", valve = "4.85 +/- 0.02 mm" }, '
    '{ lifter = "6.60 +/- 0.02 mm", valve = "10.20 +/- 0.02 mm" }]'
)
SPRING = """spring = { installed = "42 mm", free_length = "55 mm", rate = "30 N/mm", solid_height = "28 mm" }
masses = { valve = "110 g", springs = "60 g", rocker = "30 g", pushrod = "50 g", lifter = "90 g" }
"""


def leaning(cam: Array) -> Array:
    """Return a lobe whose closing flank is the longer one [mm], against cam degrees."""
    return np.where(cam < 0, cubed(cam), cubed(cam * 0.93)) * 6.6 / 8.08


def at_the_valve(folder: Path, *changes: tuple[str, str]) -> Path:
    """Return a job whose intake was read at the valve, hydraulic, both dialled; without a ratio of its rocker."""
    text = (FROM_READINGS / "job.toml").read_text(encoding="utf-8")
    written(folder / "exhaust.csv", CAM, cubed(CAM), places=5)
    written(folder / "intake.csv", CAM, np.maximum(by_places(PLACES, 0.0).valve(leaning(CAM)), 0.0), places=5)
    begins, ends = text.index("rocker = {"), text.index("[train.measured_drop]")
    text = text[:begins] + SPRING + text[ends:]
    line = 'table = "intake.csv"'
    for old, new in ((line, f'{line}\nmeasured_at = "valve"\n{DIALLED}\n# '), *changes):
        assert old in text
        text = text.replace(old, new, 1)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder / "job.toml"


@pytest.fixture(scope="module")
def dialled_job(tmp_path_factory: pytest.TempPathFactory) -> tuple[JobFile, Tables]:
    """Return that job and its tables."""
    return with_tables(load(at_the_valve(tmp_path_factory.mktemp("dialled"))))


def test_a_centreline_is_halved_where_the_lobe_has_its_lift(dialled_job: tuple[JobFile, Tables]) -> None:
    job, tables = dialled_job
    lobe = Cam(job.mapping, tables).lobe_of("single.intake")
    assert isinstance(lobe, CamLobe)
    assert lobe.at_valve
    fine = np.arange(-90.0, 90.0, 0.001)
    over = fine[leaning(fine) > 1.27]
    assert np.degrees(lobe.placed.middle) == pytest.approx((over[0] + over[-1]) / 2, abs=0.02)
    by_the_valve = fine[by_places(PLACES, 0.0).valve(leaning(fine)) > 1.27]
    assert abs((by_the_valve[0] + by_the_valve[-1] - over[0] - over[-1]) / 2) > 0.05


def test_both_dialled_tell_the_ratio_with_its_doubt(dialled_job: tuple[JobFile, Tables]) -> None:
    """At full lift 10.20 over 6.60; what moves that moves a clearance with the lifter pumped up."""
    job, tables = dialled_job
    found = build(job.mapping).train("single.intake").ratio
    assert found is not None
    assert float(found) == pytest.approx(10.20 / 6.60)
    (up,) = (
        one
        for one in clearances(job.mapping, tables, job.quantities, job.doubts).valves
        if one.train == "single.intake"
    )
    assert up.piston is not None
    assert up.pumped_doubt is not None
    entry = "lobe.intake.dialled.1.lifter"
    middle = up.piston.slopes.get(entry, 0.0)  # it has the lobe stand elsewhere by a little, too
    assert abs(middle) < 0.02
    preload = float(job.entries["single.intake.lifter.preload"].value)
    by_ratio = up.pumped_slopes[entry] - middle
    assert by_ratio == pytest.approx(preload * 10.20 / 6.60**2, rel=1e-3)
    assert entry in up.pumped_doubt.shares


def test_a_valve_read_with_both_dialled_leaves_the_cam_where_the_masses_say(
    dialled_job: tuple[JobFile, Tables],
) -> None:
    """Lobe and valve each differenced by themselves against the cam angle, no derivative of the one by the other."""
    job, tables = dialled_job
    lobe = Cam(job.mapping, tables).lobe_of("single.intake")
    assert isinstance(lobe, CamLobe)
    told = leaves_the_cam(job.mapping, "single.intake", lobe)
    assert not isinstance(told, Missing)
    turn = np.radians(np.arange(-80.0, 80.0, 0.05))
    step, gear = 1e-3, by_places(PLACES, 0.0)
    h = [lobe.placed.lobe.lift(turn + by) for by in (-step, 0.0, step)]
    s = [gear.lobe(one) for one in h]
    bends = [(one[0] - 2 * one[1] + one[2]) / step**2 for one in (h, s)]
    by = (h[2] - h[0]) / np.where(np.abs(s[2] - s[0]) > 1e-9, s[2] - s[0], np.nan)
    force = 30.0 * (55.0 - 42.0 + h[1])
    needs = (0.050 + 0.090) * bends[1] + by * (0.110 + 0.020 + 0.030) * bends[0]
    seen = (h[1] > 0.05) & (needs < 0)
    speed = np.sqrt(np.nanmin(1000.0 * force[seen] * by[seen] / -needs[seen])) * 60 / np.pi
    assert float(told["leaves_the_cam"].value) == pytest.approx(speed, rel=2e-3)


def test_without_both_dialled_leaving_the_cam_asks_for_it(dialled_job: tuple[JobFile, Tables]) -> None:
    job, tables = dialled_job
    without = {path: one for path, one in job.mapping.items() if ".dialled." not in path}
    lobe = Cam(without, tables).lobe_of("single.intake")
    assert isinstance(lobe, CamLobe)
    told = leaves_the_cam(without, "single.intake", lobe)
    assert isinstance(told, Missing)
    assert told.entries == ("lobe.intake.dialled.lifter", "lobe.intake.dialled.valve")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('measured_at = "valve"\n', ""), "dialled belongs to a table that was read at the valve"),
        (('lifter = "6.60 +/- 0.02 mm", ', ""), "write the lifter's lift where the valve's was read"),
        (('lifter = "3.30', 'lifter = "6.20'), "the lifter would go down where the valve opens"),
        (('valve = "4.85', 'valve = "9.85'), "too close to tell how the ratio changes"),
        (
            ('"10.20 +/- 0.02 mm" }]', '"10.20 mm" }, { lifter = "1 mm", valve = "1.5 mm" }]'),
            "more tell no better",
        ),
    ],
)
def test_places_of_a_job_that_tell_nothing_are_refused(
    tmp_path: Path, change: tuple[str, str], said: str
) -> None:
    with pytest.raises(InputFaultsError) as refused:
        load(at_the_valve(tmp_path, change))
    assert any(said in one.message for one in refused.value.faults)


def test_a_ratio_far_from_what_was_dialled_is_asked_about(tmp_path: Path) -> None:
    path = at_the_valve(tmp_path, (SPRING, f'{SPRING}rocker = {{ ratio = "1.75" }}\n'))
    assert any(
        "has a ratio of 1.75, and by lobe.intake.dialled it is 1.545" in one for one in load(path).warnings
    )
