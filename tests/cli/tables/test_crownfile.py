"""`tallstack clearance` over a crown whose heights were measured, as a person and as a program sees it."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.cli.tables.crownfile import crown_heights
from tallstack.cli.tables.jobtables import with_tables
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance.clearances import judged_on, nearest
from tallstack.geometry.clearance.situation import Situation, situation
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates
from tallstack.geometry.core.frames import Array, norm, point
from tallstack.geometry.piston import crown as crown_module
from tallstack.geometry.piston.crown import Pocket, first_metal
from tallstack.geometry.piston.table import heights

from ...clearance_jobs import by_coordinates
from ...commands import tallstack
from ...geometry.piston.test_over_table import grid
from ...seeded import few

UPRIGHT = point(0.0, 0.0, 1.0)
MEASURED = ("--with", "piston.crown_thickness=9 mm", "--with", "piston.ring_land=8 mm")
MET = ("--with", "targets.drop_intake=1.2 mm", "--with", "targets.drop_exhaust=1.2 mm")
TABLE = 'crown_table = "crown.csv"\ncompression_height ='


def written(folder: Path, points: Array, column: str = "height", inches: bool = False) -> Path:
    """Write a table of heights in mm or inches."""
    scale, digits = (25.4, 5) if inches else (1.0, 4)
    rows = [",".join(f"{value / scale:.{digits}f}" for value in one) for one in points]
    path = folder / "crown.csv"
    path.write_text(f"x,y,{column}\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def with_table(path: Path) -> Path:
    """Let a job name the table beside it."""
    path.write_text(path.read_text(encoding="utf-8").replace("compression_height =", TABLE), encoding="utf-8")
    return path


def asked(path: Path, *more: str) -> Any:
    """Return the document of a job's clearances, its limits so small that nothing has to be mended."""
    return tallstack("clearance", path, *MET, *more, "--json").json


def measured_at(here: Situation, flat: Array) -> Array:
    """Return what a depth gauge would read at places of a crown."""
    assert here.over.below is not None
    seen = first_metal(here.over.below.crown, point(flat[:, 0], flat[:, 1], 0.0), UPRIGHT)
    return np.column_stack([flat, seen])


def places(step: float) -> Array:
    steps = np.arange(-45.0, 45.0 + step / 2, step)
    flat = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    return np.asarray(flat[norm(flat) <= 45.5])


def here_of(job: JobFile) -> Situation:
    job, tables = with_tables(job)
    return situation(job.mapping, "one", Cam(job.mapping, tables))


@cache
def two_pockets() -> Array:
    """Return what would be measured over two pockets every 3 mm."""
    with tempfile.TemporaryDirectory() as folder:
        return measured_at(here_of(load(by_coordinates(Path(folder)))), places(3.0))


@pytest.fixture
def tabled(tmp_path: Path) -> Path:
    """Return a job with two pockets and a table in which they were measured every 3 mm."""
    path = by_coordinates(tmp_path)
    written(tmp_path, two_pockets())
    return with_table(path)


@pytest.fixture
def intake_tabled(tmp_path: Path) -> Path:
    """Return the same without its exhaust valve."""
    written(tmp_path, two_pockets())
    return with_table(by_coordinates(tmp_path, exhaust=False))


@pytest.mark.wide
@pytest.mark.parametrize(("pockets", "column"), [(False, "height"), (True, "z")])
def test_a_table_of_a_plain_crown_gives_what_the_plain_crown_gives(
    tmp_path: Path, pockets: bool, column: str
) -> None:
    plain = asked(by_coordinates(tmp_path, pockets=False))
    path = by_coordinates(tmp_path, pockets)
    written(tmp_path, np.column_stack([places(5.0), np.zeros(len(places(5.0)))]), column)
    with_table(path)
    found = asked(path)
    for one, other in zip(found["valves"], plain["valves"], strict=True):
        for key in ("drop_mm", "drop_at_deg", "gap_mm", "gap_at_deg", "drop_pumped_mm"):
            assert one[key] == pytest.approx(other[key], abs=1e-5)
        assert (one["wall_mm"] is not None) == pockets  # the pockets have walls, and are not cut again
        assert one["without_doubt"] == ["piston.crown_table"]


@pytest.mark.wide
def test_the_answer_names_the_table_among_what_has_no_doubt(tabled: Path) -> None:
    ended = tallstack("clearance", tabled, *MET)
    said = " ".join(ended.out.split())
    assert "no +/- entered for piston.crown_table (crown.csv); the stated ones alone make +/-" in said
    assert "piston.crown_table: flat between the points that were measured, in the crown plane beyond" in said
    assert (
        "one.intake.pocket, one.exhaust.pocket: its wall alone; the crown's table holds what is cut" in said
    )
    document = asked(tabled)
    assert [one["verdict"] for one in document["valves"]] == ["unproved", "unproved"]
    assert all(one["wall_verdict"] == "ok" for one in document["valves"])
    assert document["pairs"][0]["verdict"] == "ok"  # needs no piston
    assert ended.status == 0
    assert tallstack("clearance", tabled, *MET, "--strict").status == 1


@pytest.mark.wide
def test_a_fine_table_of_pockets_is_near_the_pockets(tmp_path: Path) -> None:
    """By the width that a cut's edge is blurred: a millimetre sideways, on floors that lean by 22 degrees."""
    path = by_coordinates(tmp_path)
    cut = asked(path)
    written(tmp_path, measured_at(here_of(load(path)), places(1.3)))
    with_table(path)
    found = asked(path)
    for one, other in zip(found["valves"], cut["valves"], strict=True):
        assert -0.6 < one["drop_mm"] - other["drop_mm"] < 0.01
        assert -1.3 < one["gap_mm"] - other["gap_mm"] < 0.01
        assert one["wall_mm"] == other["wall_mm"]


def test_a_table_counts_in_the_job_s_units(tmp_path: Path, tabled: Path) -> None:
    job = load(tabled)
    known = crown_heights(job)["piston.crown_table"]
    written(tmp_path, known.vertices[: known.measured], inches=True)
    ended = tallstack("clearance", tabled, "--json")
    assert ended.status == 2
    assert ended.out == ""
    assert "are these inches?; a table counts in the job's units, mm" in ended.err
    found = crown_heights(job._replace(units="in"))["piston.crown_table"]
    np.testing.assert_allclose(found.vertices[: found.measured], known.vertices[: known.measured], atol=2e-4)


@pytest.mark.wide
def test_check_and_swap_take_the_table_too(tmp_path: Path, tabled: Path) -> None:
    checked = tallstack("check", tabled)
    assert checked.status == 0
    assert "WHAT MOVES THE CLEARANCE, valve gear, one intake" in checked.out
    before = tmp_path / "before.toml"
    before.write_text(
        tabled.read_text(encoding="utf-8").replace('"125.2 +/- 0.02"', '"124.7 +/- 0.02"'), encoding="utf-8"
    )
    swapped = tallstack("swap", tabled, "--from", before, "--json").json
    one = swapped["trains"][0]["clearance"]
    valve = asked(tabled)["valves"][0]
    assert one["after"]["least_mm"] == pytest.approx(min(valve["drop_mm"], valve["gap_mm"]), abs=1e-5)
    assert one["before"]["least_mm"] < one["after"]["least_mm"]


@pytest.mark.wide
def test_another_table_can_be_tried(tmp_path: Path, tabled: Path) -> None:
    here = here_of(load(by_coordinates(tmp_path)))
    points = measured_at(here, places(3.0))
    points[:, 2] -= 0.4
    written(tmp_path, points).rename(tmp_path / "lower.csv")
    points[:, 2] += 0.4
    written(tmp_path, points)
    plain = asked(tabled)["valves"][0]["drop_mm"]
    lower = asked(tabled, "--with", "piston.crown_table=lower.csv")
    by = lower["valves"][0]["drop_mm"] - plain
    assert 0.35 < by < 0.45


@pytest.mark.wide
def test_one_cylinder_may_have_a_table_of_its_own(tmp_path: Path, tabled: Path) -> None:
    text = tabled.read_text(encoding="utf-8").replace(TABLE, "compression_height =")
    text = text.replace('name = "one"\n', 'name = "one"\npiston = { crown_table = "crown.csv" }\n')
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    found, known = asked(path), asked(tabled)
    assert found["valves"][1]["drop_mm"] == known["valves"][1]["drop_mm"]
    assert found["valves"][0]["without_doubt"] == ["one.piston.crown_table"]


def test_a_table_that_was_not_read_is_missing_and_never_a_plain_crown(tabled: Path) -> None:
    job = load(tabled)
    here = situation(job.mapping, "one", Cam(job.mapping, Tables()))
    assert here.valves == {}
    assert here.lacks["one.intake"]["coordinates"] == ("piston.crown_table",)


@pytest.mark.wide
def test_a_hole_under_a_valve_is_to_be_looked_at_again(tmp_path: Path, tabled: Path) -> None:
    flat = places(3.0)
    points = measured_at(here_of(load(tabled)), flat[norm(flat - np.array([-20.0, 4.0])) > 9.0])
    assert asked(tabled)["warnings"] == []
    written(tmp_path, points)
    ended = tallstack("clearance", tabled, *MET)
    assert ended.status == 0
    said = " ".join(ended.out.split())
    assert "LOOK AGAIN: piston.crown_table: crown.csv has a hole under the valve" in said
    assert "crown.csv has a hole under the valve of one intake, 1" in said
    assert "under the valve of one exhaust" not in said
    assert tallstack("clearance", tabled, *MET, "--strict").status == 1
    assert "has a hole" in " ".join(tallstack("check", tabled).out.split())
    assert len(asked(tabled)["warnings"]) == 1


@pytest.mark.wide
def test_heights_that_do_not_count_from_the_crown_plane_are_to_be_looked_at_again(
    tmp_path: Path, intake_tabled: Path
) -> None:
    written(tmp_path, two_pockets() + 12.0 * UPRIGHT)
    said = " ".join(tallstack("clearance", intake_tabled, *MET).out.split())
    assert "no height of crown.csv is nearer to the crown plane than 7" in said


@pytest.mark.parametrize("kind", few(["svg", "png"], 0))
def test_the_picture_shows_the_table(intake_tabled: Path, tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"crown.{kind}"
    assert tallstack("clearance", intake_tabled, *MET, "--plot", path).status == 0
    assert path.stat().st_size > 10_000


@pytest.mark.wide
def test_a_cut_into_a_table_is_offered_only_where_the_metal_was_measured(tabled: Path) -> None:
    said = " ".join(tallstack("clearance", tabled).out.split())
    assert "a deeper pocket: MEASURE BEFORE CUTTING, no number without piston.crown_thickness" in said
    said = " ".join(tallstack("clearance", tabled, *MEASURED).out.split())
    assert "into the crown along the valve's stem, the piston at top centre, from where a cutter 39." in said
    assert "a new pocket" not in said


@pytest.mark.wide
@pytest.mark.parametrize("limit", [2.6, pytest.param(3.2, marks=pytest.mark.study)])
def test_the_cut_along_the_stem_gives_what_it_says(tabled: Path, limit: float) -> None:
    """The cut made in the table itself, points every quarter of a millimetre about its wall.

    The cutter is laid over the measured heights by `_through_pocket`, which knows nothing of how a cut is offered.
    """
    short = ("--with", f"targets.drop_exhaust={limit} mm")
    valve = tallstack("clearance", tabled, *MEASURED, *short, "--json").json["valves"][1]
    way = next(one for one in valve["remedies"] if one["kind"] == "pocket along the stem")
    assert limit <= way["gives_mm"] < limit + 0.01
    assert 9.0 - max(way["value_mm"], 4.5) <= way["metal_under_mm"] <= 9.0 - way["value_mm"] + 1e-6
    here = here_of(load(tabled))
    over = here.valves["one.exhaust"]
    assert isinstance(over, ByCoordinates)
    radius, stem = way["also"]["one.exhaust.pocket.diameter"] / 2, over.head.stem
    degrees = np.radians(np.arange(-30.0, 30.0, 0.01))
    closest = over.head.centre @ stem + (stem[2] * over.descent(degrees) - over.lift.at(degrees)).min()
    face = over.head.centre + (closest - over.head.centre @ stem) * stem  # along the stem at top centre
    fine = measured_at(here, grid(353, 44.0))
    aside = face - fine - np.vecdot(face - fine, stem)[:, None] * stem
    surface = np.concatenate([fine[np.abs(norm(aside) - radius) < 1.5], measured_at(here, grid(45, 44.0))])

    def after(short_of: float) -> float:
        floor = face - (way["gives_mm"] - short_of) * stem
        mouth = floor - floor[2] / stem[2] * stem
        cutter = Pocket(mouth, stem, np.asarray(radius), -floor[2] / stem[2])
        low, high = crown_module._through_pocket(cutter, surface * np.array([1.0, 1.0, 0.0]), UPRIGHT)
        within = (surface[:, 2] > low) & (surface[:, 2] < high)
        left = np.column_stack([surface[:, :2], np.where(within, low, surface[:, 2])])
        assert -low[within].min() <= way["value_mm"] + 1e-6
        crown = over.below.crown._replace(heights=heights(left))
        drops, gap = nearest(over._replace(below=over.below._replace(crown=crown)))
        return judged_on(drops[0], gap)[1].value

    assert after(0.0) > limit - 0.05  # the wall is blurred by a step of the grid
    assert after(0.6) < after(0.0) - 0.3


@pytest.mark.wide
def test_a_cut_for_a_pumped_up_lifter_is_as_deep_as_that_asks(tabled: Path) -> None:
    tried = ["one.exhaust.lifter.preload=3.6 mm", "targets.drop_exhaust=0.5 mm"]
    more = [word for one in tried for word in ("--with", one)]
    valve = tallstack("clearance", tabled, *MEASURED, *more, "--json").json["valves"][1]
    assert valve["drop_pumped_mm"] < 0 < valve["drop_mm"]
    assert valve["verdict"] == "short"
    way = next(one for one in valve["remedies"] if one["kind"] == "pocket along the stem")
    over = here_of(load(tabled, tried)).valves["one.exhaust"]
    assert isinstance(over, ByCoordinates)
    degrees = np.radians(np.arange(-30.0, 30.0, 0.01))
    risen = over.head.stem[2] * over.descent(degrees)
    pumped = over.lift._replace(pumped=True)
    nearer = (risen - over.lift.at(degrees)).min() - (risen - pumped.at(degrees)).min()
    clear = way["gives_mm"] - nearer - valve["drop_pumped_doubt_mm"]  # by its doubt, and rounded up to a step
    assert -1e-6 < clear < 0.025
    assert way["gives_pumped_mm"] == pytest.approx(way["gives_mm"] - nearer, abs=1e-3)


@pytest.mark.wide
def test_a_mirrored_cylinder_has_the_crown_mirrored(tmp_path: Path) -> None:
    """Two cylinders that are mirror images, the crown measured under one of them: both come out alike."""
    path = by_coordinates(tmp_path)
    more = ["[[cylinder]]", 'name = "two"']
    for port in ("intake", "exhaust"):
        more += ["[[train]]", 'cylinder = "two"', f'port = "{port}"', f'like = "one.{port}"', "mirror = true"]
    path.write_text(path.read_text(encoding="utf-8") + "\n".join(more) + "\n", encoding="utf-8")
    written(tmp_path, measured_at(here_of(load(path)), places(3.0)))
    document = asked(with_table(path))
    rows = {one["train"]: one for one in document["valves"]}
    for port in ("intake", "exhaust"):
        for what in ("drop_mm", "gap_mm"):
            assert rows[f"two.{port}"][what] == pytest.approx(rows[f"one.{port}"][what], abs=2e-3)
    assert "two.piston.crown_table" in {one["entry"] for one in document["assumed"]}


@pytest.mark.wide
def test_metal_left_counts_what_was_read_where_the_cutter_goes(tmp_path: Path) -> None:
    """A hole of 6 mm in the crown, beside the middle of a shallower cut: less is left under it than under the cut."""
    path = with_table(by_coordinates(tmp_path, pockets=False))
    flat = places(3.0)
    hole = np.where(norm(flat - (24.0, 0.0)) < 5.0, -6.0, 0.0)
    written(tmp_path, np.column_stack([flat, hole]))
    document = tallstack("clearance", path, *MEASURED, "--json").json
    (cut,) = [one for one in document["valves"][1]["remedies"] if one["kind"] == "pocket along the stem"]
    assert cut["value_mm"] < 5.5
    assert cut["metal_under_mm"] == pytest.approx(9.0 - 6.0)
