"""A valve's head in the cylinder it opens into, against points of its side, and through a job's answers.

Figures, measured on two cores with CPython 3.11:

- a head in its cylinder, 200 random places, against 7,201 turns and 201 points up the margin of each: never more,
  at most 0.005 mm less; limit: never more
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.commands import clearance
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance.moving import budgets
from tallstack.geometry.clearance.situation import Asked, situation
from tallstack.geometry.clearance.valve_lift import ValveLift
from tallstack.geometry.core.frames import Array, array, from_lean, point
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.targets import VALVE_TO_BORE
from tallstack.geometry.piston.head import Head, rim
from tallstack.geometry.piston.in_bore import Bore, InBore, least_in_bore, nearest_part

from ...clearance_jobs import by_coordinates
from ...seeded import few


def to_ring(seen: Array, inner: float, low: float, high: float) -> float:
    """Return the distance of the nearest of some points to what lies outside a radius between two heights."""
    inside = inner - np.hypot(seen[..., 0], seen[..., 1])
    beside = np.maximum(seen[..., 2] - high, low - seen[..., 2])
    clear = np.hypot(np.maximum(inside, 0.0), np.maximum(beside, 0.0))
    return float(np.where(clear > 0, clear, np.maximum(inside, beside)).min())


def random_place(rng: np.random.Generator) -> InBore:
    stem = from_lean(*np.radians(rng.uniform(-30, 30, 2)))
    place = point(*rng.uniform(-30, 30, 2), rng.uniform(-3, 6))
    head = Head(place, stem, array(rng.uniform(14, 24)), array(rng.uniform(0.5, 2.5)))
    across = rng.uniform(40, 52)
    top, ring, gasket = rng.uniform(-2, 1), across + rng.uniform(-0.5, 2), rng.uniform(0.3, 1.6)
    return InBore(head, Bore(array(across), array(top), array(ring), array(gasket)))


@pytest.mark.parametrize("seed", few(range(16), 8))
def test_the_distance_to_cylinder_and_gasket_against_points_of_the_side(seed: int) -> None:
    rng = np.random.default_rng([seed, 8])
    where, lift = random_place(rng), rng.uniform(0.0, 12.0)
    head, bore = where.head, where.bore
    share = np.linspace(0.0, 1.0, 201)[None, :]
    opened = head._replace(centre=head.centre - lift * head.stem)
    turns = np.linspace(0.0, 2 * np.pi, 1441)[:, None]
    side = rim(opened, turns) + (share * head.margin)[..., None] * head.stem
    found = [
        to_ring(side, float(bore.radius), -np.inf, float(bore.top)),
        to_ring(side, float(bore.gasket_radius), float(bore.top), float(bore.top + bore.gasket)),
    ]
    exact = float(where.distance(array(lift)))
    assert exact <= min(found) + 1e-9
    assert exact == pytest.approx(min(found), abs=0.05)  # 1,441 turns of an edge that is crossed aslant
    steps = np.linspace(0.0, lift, 400)
    least = where.distance(steps).min()
    assert float(where.on_the_way(array(lift))) <= least + 1e-9
    assert float(where.on_the_way(array(lift))) == pytest.approx(least, abs=0.02)


MET = "[targets]\ndrop_exhaust = 1.5\n"  # nothing short but what a test makes so: no remedy is looked for


def test_a_rim_outside_the_bore_that_comes_down_on_the_cylinder_is_short(tmp_path: Path) -> None:
    """Its drop over the piston was well, and nothing said that it strikes the cylinder's top face."""
    path = by_coordinates(tmp_path, more=MET, exhaust=False)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("bore = 92.0", 'bore = "78.0 +/- 0.02"'), encoding="utf-8")
    found = clearance.answer(load(path))
    intake = found.document["valves"][0]
    assert intake["verdict"] != "short"
    assert intake["bore_verdict"] == "short"
    assert intake["bore_mm"] < 0
    assert any(one["entry"] == "chamber.gasket_bore" for one in found.document["assumed"])
    assert "THEY MEET" in found.text
    assert found.status == 1


def test_without_a_bore_it_is_not_looked_at(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path, more=MET, exhaust=False)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("bore = 92.0\n", ""), encoding="utf-8")
    found = clearance.answer(load(path))
    assert found.document["valves"][0]["bore_needs"] == ["stack.bore"]
    assert found.document["valves"][0]["bore_verdict"] is None
    assert "not looked at without stack.bore" in found.text


def in_bore(mapping: Flat) -> tuple[InBore, ValveLift]:
    here = situation(mapping, "one", Cam(mapping, Tables()))
    assert isinstance(here.over.bore, Bore)
    return InBore(here.over.heads["one.intake"], here.over.bore), here.lifts["one.intake"]


def test_what_moves_the_room_in_the_bore_against_differences(tmp_path: Path) -> None:
    job = load(by_coordinates(tmp_path), ["chamber.gasket_bore=93 mm", "targets.valve_to_bore=5.2 mm"])
    where, lift = in_bore(job.mapping)
    least = least_in_bore(where, lift.at)
    asked = Asked("one.intake", "bore", least.angle)
    here = situation(job.mapping, "one", Cam(job.mapping, Tables()))
    found = budgets(job.mapping, here, [asked], job.quantities, job.doubts, Tables())[asked.key]
    for entry in ("one.intake.valve.face.x", "one.intake.valve.face.z", "stack.bore", "chamber.gasket_bore"):
        ends = []
        for by in (0.01, -0.01):
            value = float(job.mapping[entry]) + by  # type: ignore[arg-type]
            moved, still = in_bore({**job.mapping, entry: value})
            ends.append(least_in_bore(moved, still.at).value)
        assert found.slopes.get(entry, 0.0) == pytest.approx((ends[0] - ends[1]) / 0.02, abs=0.01)
    narrow, _ = in_bore({**job.mapping, "chamber.gasket_bore": 88.0})
    assert least_in_bore(narrow, lift.at).value < least.value - 1.5
    assert nearest_part(narrow, lift.at(array(least.angle))) == "gasket"
    assert VALVE_TO_BORE.wanted(job.mapping) == pytest.approx(5.2)
