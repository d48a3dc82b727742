"""A timing card in a job: what is asked about it, and what it may not say twice."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import load

JOB = """format = 1
written_for = "0.6"
units = "in"
[crank]
stroke = "4.000 +/- 0.002 in"
conrod_length = "7.200 +/- 0.005 in"
[[cylinder]]
name = "single"
[lobe.PORT]
card = { peak = 0.388, duration = { at = 0.050, degrees = 265.2 }MORE }
centreline = 106
[[train]]
cylinder = "single"
port = "PORT"
"""


def job_of(folder: Path, more: str, port: str = "intake") -> Path:
    path = folder / "card.toml"
    path.write_text(JOB.replace("MORE", more).replace("PORT", port), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (", seat = { at = 0.006, degrees = 275 }", "lobe.intake.card: duration 275 degrees at 0.0060 in (0.152 mm) does not go with duration 265.2 degrees at 0.0500 in (1.270 mm): lobes with that last 287 to 403 degrees there; look at both again"),
        (", seat = { at = 0.006, degrees = 350 }", "lobe.intake.card: the seat duration was read on the ramp: it says little of the lobe above it. Which lifter, which lash? The duration at 0.020 in, or better the lift at top centre, would say more"),
        (', top_dwells = "yes"', "lobe.intake.card: a top that stands still is not told by durations: the lobe may be fuller than they make it. Read the lift at top centre"),
    ],
)  # fmt: skip
def test_a_card_that_says_little_is_asked_about(tmp_path: Path, more: str, said: str) -> None:
    assert said in list(load(job_of(tmp_path, more)).warnings)


def test_one_reading_does_not_count_twice(tmp_path: Path) -> None:
    events = "events = { at = 0.05, opens = 26, closes = 59.2 }, opening = { at = 0.05, opens = 26 }"
    path = job_of(tmp_path, f", {events}")
    path.write_text(
        path.read_text(encoding="utf-8").replace("duration = { at = 0.050, degrees = 265.2 }, ", ""),
        encoding="utf-8",
    )
    with pytest.raises(InputFaultsError) as refused:
        load(path)
    assert (
        "is taken at the check lift of the events, and counts there already"
        in refused.value.faults[0].message
    )
