"""The tube over a pushrod between its seats, and what it lacks."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.fits import tubes

from ...clearance_jobs import by_coordinates
from .test_volume import figures

NAME = "one.intake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


def test_a_tube_has_its_room_at_rest_where_nothing_lifts(job: JobFile) -> None:
    mapping: Any = {**job.mapping, f"{NAME}.tube.inner_diameter": 16.0, f"{NAME}.pushrod.diameter": 8.0}
    for end, (x, y, z) in {"low": (-20.0, 56.0, 20.0), "high": (-19.0, 52.0, -10.0)}.items():
        mapping |= {f"{NAME}.tube.seat_{end}.{axis}": at for axis, at in zip("xyz", (x, y, z), strict=True)}
    found = tubes.tube_room(mapping, NAME, 0.0)
    assert not isinstance(found, Missing)
    assert float(found["tube_room_at_rest"].value) == float(found["tube_room"].value)
    lifted = tubes.tube_room(mapping, NAME, 8.0)
    assert not isinstance(lifted, Missing)
    assert float(lifted["tube_room"].value) < float(lifted["tube_room_at_rest"].value)


TUBE: Any = {
    f"{NAME}.tube.inner_diameter": 16.0,
    f"{NAME}.pushrod.diameter": 8.0,
    **{f"{NAME}.tube.seat_low.{axis}": at for axis, at in zip("xyz", (-20.0, 56.0, 20.0), strict=True)},
    **{f"{NAME}.tube.seat_high.{axis}": at for axis, at in zip("xyz", (-19.0, 52.0, -10.0), strict=True)},
}


def test_a_solid_lifter_without_lash_stands_as_a_hydraulic_one_at_its_stop(job: JobFile) -> None:
    lifter = f"{NAME}.lifter"
    found = [
        tubes.tube_room({**job.mapping, **TUBE, **more}, NAME, 8.0)
        for more in (
            {f"{lifter}.kind": "solid", f"{lifter}.lash": 0.0, f"{lifter}.lash_at": "valve"},
            {f"{lifter}.kind": "hydraulic", f"{lifter}.preload": 0.0},
        )
    ]
    rooms = [{key: float(one.value) for key, one in each.items()} for each in found if isinstance(each, dict)]
    assert rooms[0] == pytest.approx(rooms[1])


@pytest.mark.parametrize("drawn", [True, False])
def test_a_tube_lacks_the_setting_where_the_gear_is_drawn(job: JobFile, drawn: bool) -> None:
    left_out = {f"{NAME}.lifter.preload"} | (set() if drawn else {f"{NAME}.rocker.valve_arm"})
    found = tubes.tube_room(
        {path: value for path, value in {**job.mapping, **TUBE}.items() if path not in left_out}, NAME, 8.0
    )
    assert isinstance(found, Missing)
    assert found.entries == (f"{NAME}.lifter.preload" if drawn else f"{NAME}.rocker.valve_arm",)


SEATED: Flat = {
    "cylinders": ("front",),
    "trains": ("front.intake",),
    "stack.case_deck": 140.0,
    "stack.base_gasket": 0.5,
    "stack.cylinder": 140.0,
    "stack.head_gasket": 1.0,
    **{
        f"front.intake.tube.seat_low.{axis}": value
        for axis, value in zip("xyz", (-20.0, 50.0, 5.0), strict=True)
    },
    **{
        f"front.intake.tube.seat_high.{axis}": value
        for axis, value in zip("xyz", (-14.0, 50.0, -4.0), strict=True)
    },
    "front.intake.tube.shortest": 120.0,
    "front.intake.tube.longest": 145.0,
}


def test_a_tube_between_its_seats() -> None:
    found = figures(tubes.tube_length, SEATED, "front.intake")
    length = np.hypot(6.0, 141.5 - 9.0)
    assert float(found["tube_length"].value) == pytest.approx(length)
    assert float(found["tube_to_shortest"].value) == pytest.approx(length - 120)
    assert float(found["tube_to_longest"].value) == pytest.approx(145 - length)
    taller = figures(tubes.tube_length, {**SEATED, "stack.cylinder": 146.0}, "front.intake")
    assert float(taller["tube_to_longest"].value) == pytest.approx(145 - np.hypot(6.0, 138.5))
