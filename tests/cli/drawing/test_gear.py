"""A valve gear on paper: its pushrod, its contact and its arms stand where the engine has them, in both views."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing import sheet
from tallstack.cli.drawing.lines import Circle, Dimension, Line
from tallstack.cli.drawing.solids import FRONT, SIDE
from tallstack.geometry.core.frames import norm
from tallstack.geometry.gear.train import closed

from ...commands import COORDINATES
from ...drawn import gear_of, job_of, order_of, subject, unplaced


def test_the_pushrod_drawn_is_the_one_that_is_required() -> None:
    for train in ("front.intake", "front.exhaust", "rear.intake", "rear.exhaust"):
        required = order_of(job_of(COORDINATES), train).required
        where = gear_of(train)
        assert required is not None
        assert where.ball_high is not None
        assert float(norm(where.ball_high - where.ball)) == pytest.approx(
            float(required.lengths["centres"]), abs=1e-9
        )


@pytest.mark.parametrize("lash_at", ["valve", "pushrod"])
def test_a_solid_lifters_pushrod_is_drawn_with_its_lash(lash_at: str) -> None:
    solid = (
        "front.intake.lifter.kind=solid",
        'front.intake.lifter.lash="0.4 mm"',
        f"front.intake.lifter.lash_at={lash_at}",
    )
    required = order_of(job_of(COORDINATES, solid), "front.intake").required
    where = gear_of("front.intake", solid)
    assert required is not None
    assert where.ball_high is not None
    length = float(norm(where.ball_high - where.ball))
    assert length == pytest.approx(float(required.lengths["centres"]), abs=1e-9)


def test_the_contact_lies_on_the_stem_tip_and_the_arms_are_as_long_as_entered() -> None:
    one, where = subject("front.intake"), gear_of("front.intake")
    drawn = one.train.drawn
    assert drawn is not None
    assert where.contact is not None
    assert where.contact_centre is not None
    assert where.cup is not None
    assert float(np.vecdot(where.contact - where.tip, where.stem)) == pytest.approx(0.0, abs=1e-9)
    assert float(norm(where.contact - where.contact_centre)) == pytest.approx(5.5, abs=1e-9)
    assert float(norm(where.contact_centre - where.valve_foot)) == pytest.approx(35.0, abs=1e-9)
    assert float(norm(where.cup - where.cup_foot)) == pytest.approx(21.5, abs=1e-9)
    assert np.allclose(where.cup, closed(drawn).cup, atol=1e-12)


def test_the_same_points_are_drawn_in_both_views() -> None:
    where = gear_of("front.intake")
    assert where.ball_high is not None
    views = {view.name: view for view in unplaced(subject("front.intake"))}
    for look in (FRONT, SIDE):
        circles = [one.centre for one in views[look.name].items if isinstance(one, Circle)]
        assert look.at(where.ball) in circles
        assert look.at(where.ball_high) in circles


def mirrored(items: list[Line | Circle]) -> set[tuple[object, ...]]:
    """Return marks as sets of points with x reversed, so that the order of points does not count."""
    return {shape(one, -1.0) for one in items}


def shape(one: Line | Circle, sign: float = 1.0) -> tuple[object, ...]:
    points = one.points if isinstance(one, Line) else (one.centre,)
    radius = 0.0 if isinstance(one, Line) else round(one.radius, 6)
    kept = frozenset((round(sign * u, 6) + 0.0, round(v, 6) + 0.0) for u, v in points)
    return (type(one).__name__, kept, radius, one.stroke)


@pytest.mark.parametrize("port", ["intake", "exhaust"])
def test_a_mirrored_valve_gear_is_the_mirror_image(port: str) -> None:
    same = ('rear.stack.cylinder="141.30 mm"',)
    front = {view.name: view for view in unplaced(subject(f"front.{port}", same))}
    rear = {view.name: view for view in unplaced(subject(f"rear.{port}", same))}

    def drawn(view: sheet.Unplaced) -> list[Line | Circle]:
        return [one for one in view.items if isinstance(one, (Line, Circle))]

    assert mirrored(drawn(front["front"])) == {shape(one) for one in drawn(rear["front"])}
    assert {shape(one) for one in drawn(front["side"])} == {shape(one) for one in drawn(rear["side"])}


def test_other_ways_to_say_an_entry_are_drawn_too(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    text = COORDINATES.read_text(encoding="utf-8")
    for before, after in (
        ('arm_angle = "158 +/- 1"', 'span = "55.513 mm"\narms = "droop"'),
        ('pushrod_arm = "21.5 +/- 0.2"', "ratio = 1.628"),
        ('length = "112.4 +/- 0.1"', "tip_height = 117.4"),
    ):
        assert before in text
        text = text.replace(before, after, 1)
    path.write_text(text, encoding="utf-8")
    views = unplaced(subject("front.intake", path=path))
    found = {one.entry: one for view in views for one in view.items if isinstance(one, Dimension)}
    span, height = found["rocker.span"], found["valve.tip_height"]
    assert math.dist(span.start, span.end) == pytest.approx(55.513, abs=1e-6)
    assert height.end[1] - height.start[1] == pytest.approx(117.4, abs=1e-6)
    assert found["valve.length"].remark == found["rocker.arm_angle"].remark == "worked out"
