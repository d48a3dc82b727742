"""What stands behind a setting: the room below a hydraulic lifter's plunger, in every answer that judges its preload."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry import required
from tallstack.geometry.core.frames import array
from tallstack.geometry.engine.engine import build, train_of
from tallstack.geometry.pushrod import ordering
from tallstack.geometry.pushrod.ordering import orders

from ...clearance_jobs import by_coordinates
from ...commands import Ended, tallstack

JOB = """
format = 1
units = "in"
[stack]
cylinder = "5.614 +/- 0.001"
[targets]
bottom_least = 0
[[cylinder]]
name = "front"
[[train]]
cylinder = "front"
port = "intake"
lifter = {{ kind = "hydraulic", preload = 0.050{travel} }}
[train.measured_pushrod]
length = "11.2 +/- 0.005"
as = "overall"
plunger = "{plunger}"
lean = "2 +/- 1"
stack = {{ cylinder = "5.6 +/- 0.001" }}
"""
LOW, HIGH = 'plunger_travel = "0.051 +/- 0.0005"', 'plunger_travel = "0.150 +/- 0.0005"'
SHELF = "label,kind,length,as,units,count\nA,fixed,11.264,overall,in,1\nB,fixed,11.269,overall,in,1\n"


def job(folder: Path, travel: str = LOW, plunger: str = "top") -> Path:
    path = folder / "job.toml"
    path.write_text(JOB.format(travel=f", {travel}" if travel else "", plunger=plunger), encoding="utf-8")
    return path


def pushrod(path: Path, *words: str) -> tuple[Ended, dict[str, object]]:
    ended = tallstack("pushrods", path, "--json", *words)
    return ended, ended.json["pushrods"][0]


@pytest.mark.parametrize(
    ("travel", "verdict", "strict", "room"),
    [
        (LOW, "tight", 1, 0.001),
        (HIGH, "ok", 0, 0.100),
        ('plunger_travel = "0.150"', "unproved", 1, 0.100),
        ("", "unproved", 1, None),
    ],
)
def test_a_preload_holds_only_where_its_plunger_has_room_below(
    tmp_path: Path, travel: str, verdict: str, strict: int, room: float | None
) -> None:
    ended, row = pushrod(job(tmp_path, travel), "--strict")
    assert (row["verdict"], ended.status) == (verdict, strict)
    assert row["room_to_bottom_mm"] == (None if room is None else pytest.approx(room * 25.4))
    assert row["room_to_bottom_needs"] == ([] if room else ["front.intake.lifter.plunger_travel"])
    text = " ".join(tallstack("pushrods", tmp_path / "job.toml").out.split())
    said = "left to the plunger's bottom" if room else "not known without lifter.plunger_travel"
    assert said in text
    assert (f"{verdict.upper()}: 0.001 in" in text) == (verdict == "tight")


@pytest.mark.parametrize(("plunger", "moves"), [("top", 1.0), ("bottomed", 0.0)])
def test_the_travel_moves_the_room_unless_the_rod_was_read_on_the_bottom(
    tmp_path: Path, plunger: str, moves: float
) -> None:
    here = load(job(tmp_path, HIGH, plunger))
    (order,) = orders(here.mapping, here.quantities, here.doubts)
    assert order.room is not None
    entry = "front.intake.lifter.plunger_travel"
    assert order.room.slopes.get(entry, 0.0) == pytest.approx(moves, abs=1e-4)

    # The same by hand: the pushrod that was ordered stays, the travel turns out to be 0.1 mm more.
    def needed(more: float) -> float:
        flat = {**here.mapping, entry: here.mapping[entry] + more}  # type: ignore[operator]
        return float(required(train_of(flat, "front.intake")).lengths["overall"])

    depth = 1.27 + needed(0.0) - needed(0.1)  # the lifter's axis taken in line with the pushrod
    assert (3.81 + 0.1 - depth) - (3.81 - 1.27) == pytest.approx(0.1 * moves, abs=1e-4)


def test_the_room_is_drawn_and_the_preload_misses_what_the_travel_allows(tmp_path: Path) -> None:
    ended = tallstack("risk", job(tmp_path), "--json", "--draws", "1000")
    rows = {row["what"]: row for row in ended.json["answers"]}
    assert rows["room to bottom"]["value_mm"] == pytest.approx(0.0254)
    for what in ("room to bottom", "preload"):
        assert rows[what]["verdict"] == "tight"
        assert 0.3 < rows[what]["chance"] < 0.5
    high, low = rows["preload"]["symmetric_mm"][1], rows["room to bottom"]["symmetric_mm"][0]
    assert 1.2954 - high == pytest.approx(low, abs=0.02)  # but for what the travel is off by


def test_nothing_says_stop_while_the_room_is_not_known(tmp_path: Path) -> None:
    ended = tallstack("risk", job(tmp_path, ""), "--json", "--draws", "100")
    assert ended.json["room_to_bottom_needs"] == ["front.intake.lifter.plunger_travel"]
    assert ended.json["stop_measuring"] is False
    assert "front intake, plunger's travel" in tallstack("measure", job(tmp_path, "")).out


def test_a_shelf_says_what_each_pushrod_leaves_below_the_plunger(tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.csv"
    shelf.write_text(SHELF, encoding="utf-8")
    path = job(tmp_path)
    _, row = pushrod(path, "--shelf", str(shelf))
    first, second = row["shelf"]  # type: ignore[misc]
    assert (first["fits"], first["verdict"]) == (True, "tight")
    assert first["room_to_bottom_mm"] == pytest.approx(0.0254, abs=0.005)
    assert (second["fits"], second["verdict"]) == (False, "short")
    text = " ".join(tallstack("pushrods", path, "--shelf", shelf).out.split())
    assert "to the plunger's bottom; TIGHT" in text


@pytest.mark.parametrize(
    ("preload", "travel", "verdict"),
    [("0.055 +/- 0.001", LOW, "short"), ("0.0508 +/- 0.001", LOW, "tight"), ("0.050 +/- 0.001", "", "not_judged")],
)  # fmt: skip
def test_what_was_set_is_held_against_the_travel(
    tmp_path: Path, preload: str, travel: str, verdict: str
) -> None:
    ended = tallstack("record", job(tmp_path, travel), "front.intake", "--preload", preload, "--json")
    (row,) = [one for one in ended.json["compared"] if one["what"] == "preload"]
    assert row["verdict"] == verdict
    if travel:
        assert row["most_mm"] == pytest.approx(1.2954)
    else:
        assert row["needs"] == ["front.intake.lifter.plunger_travel"]


def test_the_first_page_says_how_little_room_is_left(tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    assert tallstack("sheet", job(tmp_path), "-o", page).status in (0, 1)
    assert (
        "left to the plunger&#39;s bottom" in page.read_text(encoding="utf-8").partition('id="drawings"')[0]
    )


NAME = "one.intake"


@pytest.fixture(scope="module")
def by_points(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


def test_a_doubt_of_the_length_is_multiplied_where_the_lash_is_measured_at_the_valve(
    by_points: JobFile,
) -> None:
    """Of `_at_lash` alone, with a ratio that is exact."""
    train = build(by_points.mapping).train(NAME)._replace(ratio=array(1.5))
    for lash_at, ratio, found in (("valve", 1.5, 0.3), ("pushrod", 1.5, 0.2), ("valve", None, 0.2)):
        own = train._replace(
            ratio=None if ratio is None else array(ratio), lifter=train.lifter._replace(lash_at=lash_at)
        )
        assert ordering._at_lash(own, 0.2) == pytest.approx(found)
