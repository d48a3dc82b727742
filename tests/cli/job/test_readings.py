"""Lengths read with one instrument share what its zero is off by: it adds up, or cancels, and never counts twice."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job import readings
from tallstack.cli.job.loading import load
from tallstack.cli.job.readings import laid
from tallstack.cli.page.check_words import check_blocks
from tallstack.cli.page.text import lines
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.doubt.readings import fused

from ...clearance_jobs import by_coordinates
from ...commands import BENCH, COORDINATES, DEMO, tallstack

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


READ = '[[reading]]\nof = "valve lift at overlap"\ntrain = "one.exhaust"\nvalue = "{}"\nat = -12\n'


def test_a_check_carries_the_doubt_of_a_cards_shape(tmp_path: Path) -> None:
    """It blames nothing for what lobes with that card may differ by, and moves the lobe nearly as the card's number would."""
    job = load(by_coordinates(tmp_path, more=READ.format("3.4 +/- 0.03")))
    found = laid(job, Tables())
    assert found.fused is not None
    assert found.fused.worst is None
    assert found.fused.entries == ()
    lobe, plain = (Cam(one.mapping, Tables()).lobe_of("one.exhaust") for one in (found.job, job))
    assert isinstance(lobe, CamLobe)
    assert isinstance(plain, CamLobe)
    assert lobe.card is not None
    at = np.radians(-12.0)
    lift = float(lobe.placed.lift(at))
    assert lift < float(plain.placed.lift(at)) - 0.25
    told = {"lobe.exhaust.card.lift.at": lift, "lobe.exhaust.card.lift.angle": at}
    entered = Cam({**job.mapping, **told}, Tables()).lobe_of("one.exhaust")
    assert isinstance(entered, CamLobe)
    assert entered.card is not None
    near = np.radians([-18.0, -8.0, -4.0, 5.0])
    np.testing.assert_allclose(lobe.placed.lift(near), entered.placed.lift(near), atol=0.05)
    cam = lobe.placed.cam(near)
    assert (lobe.card.lift_doubt(cam) > entered.card.lift_doubt(cam)).all()
    assert any("lobe.exhaust is known by its card" in one for one in lines(check_blocks(found.job, found)))


@pytest.mark.parametrize(("read", "wrong"), [("2.05", False), ("1.6", True)])
def test_a_reading_without_a_doubt_is_not_too_far_off_where_the_shape_explains_it(
    tmp_path: Path, read: str, wrong: bool
) -> None:
    """Foretold 3.9 mm; 1.5 mm off, and 0.6 mm that the shape may make of it besides."""
    found = laid(load(by_coordinates(tmp_path, more=READ.format(read))), Tables())
    assert any("one of them is wrong" in one for one in found.job.warnings) is wrong


NOTHING = Tables({})


def test_what_was_measured_beside_coordinates_is_told_as_a_check_and_moves_nothing(tmp_path: Path) -> None:
    text = COORDINATES.read_text(encoding="utf-8")
    measured = """[train.measured_pushrod]
length = "281.60 +/- 0.05"
as = "centres"
plunger = "top"
lean = "2.2 +/- 1"
[[train]]
cylinder = "front"
port = "exhaust"
"""
    path = tmp_path / "job.toml"
    second = '[[train]]\ncylinder = "front"\nport = "exhaust"\n'
    assert text.count(second) == 1
    path.write_text(text.replace(second, measured), encoding="utf-8")
    document = tallstack("risk", path, "--draws", "200", "--json").json
    assert [one["kind"] for one in document["checks"]["readings"]] == ["measured pushrod"]
    assert document["checks"]["moved"] == {}
    job = load(path)
    assert laid(job, NOTHING).job.mapping == job.mapping
    differ = tallstack("pushrods", path, "--json").json["pushrods"][0]["coordinates_differ_mm"]
    assert document["checks"]["readings"][0]["foretold_less_read_mm"] == pytest.approx(differ, abs=1e-6)


@pytest.mark.parametrize(("excess", "told"), [(1.4, False), (-1.4, False), (1.6, True), (-1.6, True)])
def test_what_has_no_doubt_is_called_wrong_only_where_it_stands_far_off(excess: float, told: bool) -> None:
    """Of `_far_off` alone: no job leaves exactly so much beside its other checks."""
    job = load(COORDINATES)
    check = SimpleNamespace(kind="pushrod", of="front.intake", name="rod")
    judged = SimpleNamespace(fixed=True, excess=excess, name="pushrod, front intake")
    found = readings._far_off(job, [check], SimpleNamespace(checks=[judged]), {})  # type: ignore[list-item, arg-type]
    assert (len(found.warnings) > len(job.warnings)) is told


def test_readings_that_come_together_no_better_without_the_worst_are_all_left_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    job, asked = load(DEMO), []

    def once(*words: Any) -> Any:
        asked.append(words)
        if len(asked) > 1:
            raise GeometryError("readings and entries cannot be brought together")
        return fused(*words)

    monkeypatch.setattr("tallstack.geometry.doubt.readings.fused", once)
    found = laid(job, Tables())
    assert len(asked) == 2
    assert any("none of the readings is used" in str(one) for one in found.job.warnings)
    assert found.job.mapping["stack.cylinder"] == job.mapping["stack.cylinder"]
