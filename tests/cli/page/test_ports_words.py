"""Ports that moved apart, told with their way and the spacer that each takes."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.page.ports_words import LEAK, face_rows, facing_rows, port_blocks
from tallstack.cli.page.text import text
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.fits.ports import Facing, Moved

from ...commands import BENCH

FACE = Moved("front", "intake", np.array([1.0, 0.0, 2.0]), np.array([-1.0, 0.0, 0.0]), 0.0)
POINT = Moved("front", "steady", np.array([0.0, 0.0, -0.5]), None, 0.0)
PAIR = Facing(("front", "rear"), "intake", 3.0, 4.0, np.array([0.0, 0.0, 4.0]), (1.5, -0.7), 0.02, 0.0)


def told(*more: Moved, facing: tuple[Facing, ...] = (), lacks: tuple[Missing, ...] = ()) -> str:
    job = load(BENCH)
    return " ".join(text(port_blocks(job._replace(units="mm"), more, facing, lacks, job)).split())


def test_a_face_tells_the_gap_in_front_of_it_and_a_point_its_way_alone() -> None:
    said = told(FACE, POINT)
    assert "front, intake face: moved X +1.00 mm (0.039 in)" in said
    assert "the gap in front of it opened by 1.00 mm" in said
    assert "slipped 2.00 mm" in said
    assert "point steady: moved X +0.00 mm" in said
    assert said.count("the gap in front of it") == 1
    rows = face_rows([FACE, POINT])
    assert [("face" in one, one["square_gap_mm"]) for one in rows] == [
        (True, pytest.approx(1.0)),
        (False, None),
    ]


def test_two_faces_take_a_spacer_or_have_metal_taken_off() -> None:
    said = told(facing=(PAIR,))
    assert "3.00 mm (0.118 in) further apart, and both rose by 4.00 mm" in said
    assert "front a spacer of 1.50 mm" in said
    assert "rear 0.70 mm (0.028 in) taken off" in said
    assert LEAK in said
    assert facing_rows([PAIR])[0]["spacers_mm"] == [1.5, -0.7]


def test_without_the_job_before_it_is_asked_for_and_what_lacks_is_named() -> None:
    job = load(BENCH)
    assert "--from BEFORE" in text(port_blocks(job, (), (), (), None))
    assert "front.intake_face.centre" in told(lacks=(Missing.of(["front.intake_face.centre"]),))
