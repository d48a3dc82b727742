"""Lengths read with one instrument share what its zero is off by: it adds up, or cancels, and never counts twice."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.job.loading import load

from ...commands import BENCH, tallstack

NOW, THEN = 'cylinder = "5.563 +/- 0.001 in"', 'cylinder = "5.362 +/- 0.001 in"'
GASKET = 'head_gasket = "0.041 +/- 0.002 in"'
ZERO_MM = 0.004 * 25.4
MIC = '\n[[instrument]]\nname = "mic A"\nzero = "0.004 in"\n'


def by_mic(folder: Path, *lines: str, more: str = MIC) -> Path:
    """Write the job with some of its lengths read with one micrometer."""
    text = BENCH.read_text(encoding="utf-8")
    for line in lines:
        assert line in text
        name, _, value = line.partition(" = ")
        text = text.replace(line, f'{name} = {{ read = {value}, by = "mic A" }}')
    path = folder / "job.toml"
    path.write_text(text + more, encoding="utf-8")
    return path


def doubt(path: Path) -> tuple[float, float]:
    """Return the standard uncertainty of the first pushrod and its change for each mm of cylinder [mm]."""
    row = tallstack("pushrods", path, "--json").json["pushrods"][0]
    return row["doubt_mm"] / 2, row["growth_per_stack"]


def test_what_one_micrometer_read_before_and_after_cancels(tmp_path: Path) -> None:
    """The stack's growth is the difference of two readings; a zero that is off is in both of them."""
    assert doubt(by_mic(tmp_path, NOW, THEN))[0] == pytest.approx(doubt(BENCH)[0], abs=1e-5)


def test_a_zero_adds_to_what_was_read_with_it_alone(tmp_path: Path) -> None:
    whole, slope = doubt(by_mic(tmp_path, NOW))
    assert whole == pytest.approx(math.hypot(doubt(BENCH)[0], slope * ZERO_MM / math.sqrt(3)), abs=1e-5)


def test_two_lengths_that_add_up_carry_it_twice(tmp_path: Path) -> None:
    """Its two shares add before they are squared, as those of one cause do."""
    whole, slope = doubt(by_mic(tmp_path, NOW, GASKET))
    assert whole == pytest.approx(math.hypot(doubt(BENCH)[0], 2 * slope * ZERO_MM / math.sqrt(3)), abs=1e-5)


def test_a_copy_is_one_reading(tmp_path: Path) -> None:
    """A valve gear that is like another carries the zero of its original's readings, mirrored where it is mirrored."""
    job = load(by_mic(tmp_path, NOW))
    group = job.quantities["instrument.mic A.zero"]
    assert group["stack.cylinder"] == 1.0
    assert job.doubts["instrument.mic A.zero"].half_width == pytest.approx(ZERO_MM)
    taken = {path for path, entry in job.entries.items() if entry.follows == "stack.cylinder"}
    assert taken <= group.keys()


def test_check_says_by_what_it_was_read_and_how_much_its_zero_moves(tmp_path: Path) -> None:
    said = tallstack("check", by_mic(tmp_path, NOW)).out
    assert "5.563 +/- 0.001 in, by mic A" in said
    assert "in per in     instrument.mic A.zero" in said


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ('{ read = "5.563 in", by = "mic B" }', 'by = "mic B": no such instrument; did you mean mic A?'),
        ('{ read = "5.563 in" }', "by is missing in this reading"),
        ('{ by = "mic A" }', "read is missing in this reading"),
        ('{ read = "5.563 in", by = "" }', "by is missing in this reading"),
        (
            '{ read = "5.563 in", by = "mic A", zero = 0.1 }',
            '"zero": a reading holds read and by, nothing else',
        ),
        ('{ read = "5,563 in", by = "mic A" }', "a comma means thousands"),
    ],
)
def test_readings_by_an_instrument_that_are_none(tmp_path: Path, written: str, told: str) -> None:
    path = tmp_path / "job.toml"
    text = BENCH.read_text(encoding="utf-8").replace(NOW, f"cylinder = {written}")
    path.write_text(text + MIC, encoding="utf-8")
    ended = tallstack("pushrods", path)
    assert (ended.status, ended.out) == (2, "")
    assert told in " ".join(ended.err.split())
    assert "job.toml:8:" in ended.err


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (MIC + MIC, '"mic A" is there twice; give each instrument its own name'),
        ('\n[[instrument]]\nname = "mic A"\n', 'zero: missing; write for example zero = "0.0005 in"'),
        ('\n[[instrument]]\nzero = "0.001 in"\n', 'name: missing; write for example name = "mic A"'),
        (MIC.replace("0.004 in", "-0.004 in"), "must be greater than 0"),
        (MIC.replace("0.004 in", "0.004 +/- 0.001 kg"), '"kg" is no unit of a length'),
    ],
)
def test_instruments_that_are_none(tmp_path: Path, more: str, told: str) -> None:
    ended = tallstack("pushrods", by_mic(tmp_path, NOW, more=more))
    assert ended.status == 2
    assert told in " ".join(ended.err.split())


def test_only_a_length_is_read_by_an_instrument(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    text = BENCH.read_text(encoding="utf-8").replace("lean = 29", 'lean = { read = 29, by = "mic A" }', 1)
    path.write_text(text + MIC, encoding="utf-8")
    assert "only a length that was measured is read by an instrument" in " ".join(
        tallstack("check", path).err.split()
    )
