"""Tables of lobes in a job: what is refused of them, asked, and told above every answer."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.commands import clearance, fits, pushrods, record, swap
from tallstack.cli.job.loading import load
from tallstack.cli.tables.jobtables import with_tables
from tallstack.geometry.engine.defaults import completed

from ....commands import FROM_READINGS, tallstack
from ....known_lobes import CAM, Array, dwelling, noisy, rise_4567, written


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return the worked example with tables beside it that can be written over."""
    for name in ("job.toml", "intake.csv", "exhaust.csv"):
        shutil.copy(FROM_READINGS / name, tmp_path / name)
    return tmp_path / "job.toml"


@pytest.mark.parametrize("command", ["check", "clearance", "pushrods"])
def test_what_lobe_refuses_a_job_refuses(job: Path, command: str) -> None:
    """Cam degrees called the crank's: a lobe of 113 crank degrees, whose least drop stood at 360 degrees."""
    ended = tallstack(command, job, "--with", "lobe.intake.angle=crank")
    alone = tallstack("lobe", job.parent / "intake.csv", "--angle", "crank")
    for one in (ended, alone):
        assert one.status == 2
        assert not one.out
        assert "open for 107 degrees of the crank at 0.050 in, which no lobe is" in one.err
        assert "as degrees of the cam it would be 214" in one.err
    assert 'say lobe.intake.angle = "cam" if they are' in ended.err
    assert "say --angle cam if they are" in alone.err


def test_degrees_that_could_be_either_s_are_asked(job: Path) -> None:
    """Open for 298 degrees as the cam's own, 149 as the crank's: both are lobes."""
    cam = np.arange(-180.0, 180.0, 2.0)
    written(job.parent / "intake.csv", cam, 8.0 * rise_4567((110 - np.abs(cam)) / 110))
    told = tallstack("clearance", job, "--json").json
    (why,) = [one for one in told["warnings"] if "whose degrees" in one]
    assert "counted as cam degrees it is open for 298 deg of crank; as crank degrees, 149" in why
    assert told["valves"][0]["verdict"] in ("unproved", "short")
    said = tallstack("clearance", job, "--with", "lobe.intake.angle=cam", "--json").json
    assert not [one for one in said["warnings"] if "whose degrees" in one]


def test_two_rests_are_told_in_both(job: Path) -> None:
    lift = dwelling(CAM) + np.where(CAM > 0, 0.15, 0.0) + np.random.default_rng(2).normal(0, 0.005, len(CAM))
    path = written(job.parent / "intake.csv", CAM, lift)
    out = tallstack("lobe", path).out
    assert out.splitlines()[1].startswith("  LOOK AGAIN: one of its two rests stands 0.00")
    assert tallstack("lobe", path, "--json").json["rests_apart_mm"] == pytest.approx(0.15, abs=0.01)
    told = tallstack("clearance", job, "--json").json
    assert any("one of its two rests" in one for one in told["warnings"])
    assert told["valves"][0]["verdict"] in ("unproved", "short")


ROD = """
[train.measured_pushrod]
length = 9.5
as = "overall"
plunger = "top"
[[train.spring]]
rate = "250 lbf/in"
force = "100 lbf"
force_at = "1.6 in"
"""


def test_a_wrong_reading_is_told_above_every_answer_that_rests_on_its_table(job: Path) -> None:
    lift = noisy()
    lift[60] += 0.3
    written(job.parent / "intake.csv", CAM, lift)
    job.write_text(job.read_text(encoding="utf-8") + ROD, encoding="utf-8")
    read = load(job)
    answers = (
        clearance.answer(read),
        pushrods.answer(read),
        swap.answer(read, read),
        fits.answer(read),
        record.answer(read, record.Said()),
    )
    for one in answers:
        above = one.text.split("UNUSUAL, ", 1)[1].split("\n\n")[0]
        assert "line 62 stands off the curve through the others" in " ".join(above.split()), one.text[:40]
        assert any("line 62" in why for why in one.document["warnings"])


def ramped(cam: Array) -> Array:
    """Return a lobe of 8 mm with ramps of 0.25 mm over 30 degrees of cam at one speed [mm]."""
    away = np.abs((cam + 180) % 360 - 180)
    return 0.25 * np.clip((95 - away) / 30, 0, 1) + 7.75 * rise_4567((65 - away) / 65)


def test_long_ramps_and_a_flat_nose_are_told(tmp_path: Path) -> None:
    out = tallstack("lobe", written(tmp_path / "ramps.csv", CAM, ramped(CAM), places=5)).out
    assert "long clearance ramps: from 0.002 to 0.020 in" in out
    assert "flat nose" not in out
    out = tallstack("lobe", written(tmp_path / "nose.csv", CAM, dwelling(CAM))).out
    assert "flat nose: within half a hundredth of its peak for 40 deg of crank" in out
    assert "long clearance ramps" not in out


@pytest.mark.parametrize(
    ("entries", "named"),
    [
        ({"lobe.a.table": "a.csv"}, {"lobe.a.measured_at": "lifter", "lobe.a.angle": "cam"}),
        ({"lobe.a.card.peak": 8.0}, {"lobe.a.measured_at": "lifter"}),
        ({"lobe.a.card.peak": 8.0, "lobe.a.measured_at": "valve"}, {}),
        ({"lobe.a.table": "a.csv", "lobe.a.measured_at": "valve", "lobe.a.angle": "crank"}, {}),
        ({"lobe.a.law.peak": 8.0}, {}),
    ],
)
def test_where_lifts_count_is_named_where_it_is_taken(
    entries: dict[str, object], named: dict[str, str]
) -> None:
    full, assumed = completed({"trains": (), "cylinders": (), **entries})  # type: ignore[dict-item]
    found = {one.entry: one.value for one in assumed if one.entry.startswith("lobe.")}
    assert {entry: one for entry, one in found.items() if not entry.endswith("read_with")} == named
    assert all(full[entry] == word for entry, word in named.items())


@pytest.mark.parametrize(
    ("nose", "zero", "told"),
    [
        (0.0, 'zero = "peak"', ""),
        (4.0, 'zero = "peak"', ""),  # cam degrees: a dial misses a nose by so much
        (
            110.0,
            'zero = "peak"',
            'zero = "peak", and its peak stands 220 deg of the crank from the table\'s 0',
        ),
        (
            -55.0,
            'zero = "peak"',
            'zero = "peak", and its peak stands 110 deg of the crank from the table\'s 0',
        ),
        (110.0, "", ""),
        (53.0, 'zero = "top centre"', ""),
        (
            -53.0,
            'zero = "top centre"',
            'zero = "top centre", and its peak stands -106 deg of the crank after that',
        ),
        (
            0.0,
            'zero = "top centre"',
            'zero = "top centre", and its peak stands 0 deg of the crank after that',
        ),
    ],
)
def test_a_table_whose_zero_stands_elsewhere_is_to_be_looked_at_again(
    job: Path, nose: float, zero: str, told: str
) -> None:
    written(job.parent / "intake.csv", CAM, dwelling(CAM - nose))
    text = job.read_text(encoding="utf-8")
    place = 'centreline = "106 +/- 1"'
    assert place in text
    changed = text.replace(place, zero if "top" in zero else f"{place}\n{zero}", 1)
    job.write_text(changed, encoding="utf-8")
    found = [one for one in with_tables(load(job))[0].warnings if "its peak stands" in one]
    assert len(found) == bool(told)
    assert all(told in one and getattr(one, "about", ()) == ("single.intake",) for one in found)
