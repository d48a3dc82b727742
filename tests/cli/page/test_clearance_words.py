"""Two valves that meet are said to meet, in words: no distance and no +/- stands for how deep they are in one another."""

from __future__ import annotations

from pathlib import Path

import pytest

from ...clearance_jobs import by_coordinates
from ...commands import DEMO, screen, tallstack

MEET = ("--with", "lobe.intake.centreline=50", "--with", "lobe.exhaust.centreline=50")


@pytest.mark.wide
def test_heads_that_meet_are_told_in_words(tmp_path: Path) -> None:
    ended = tallstack("clearance", by_coordinates(tmp_path, pockets=False), "--timing", "4", *MEET)
    assert ended.status == 1
    (row,) = [
        line for line in ended.out.split("\n") if line.startswith("  one ") and "valve to valve" in line
    ]
    assert row.split() == ["one", "valve", "to", "valve", "THEY", "MEET", "1.52", "SHORT"]
    assert row.index("1.52") == ended.out.split("\n")[next(iter(_rows(ended.out)))].index("2.03")
    block = ended.out.partition("valve to valve, one\n")[2].split("\n\n")[0]
    said = " ".join(block.split())
    assert said.startswith("the two heads: THEY MEET, ")
    assert "with the lifters pumped up: THEY MEET, " in said
    assert "SHORT by more than 1.52 mm (0.060 in)" in said
    assert "no +/- is known: how deep they stand in one another is not worked out" in said
    assert "0.00 mm" not in said
    table = ended.out.partition("AGAINST CAM TIMING")[2].partition("Both lobes")[0]
    assert table.count("THEY MEET") == 9


def _rows(out: str) -> list[int]:
    return [index for index, line in enumerate(out.split("\n")) if line.startswith("  one intake ")]


@pytest.mark.wide
def test_heads_that_stay_clear_keep_their_distance_and_its_doubt(tmp_path: Path) -> None:
    out = tallstack("clearance", by_coordinates(tmp_path, pockets=False)).out
    (row,) = [line for line in out.split("\n") if line.startswith("  one ") and "valve to valve" in line]
    assert "MEET" not in row
    assert len(row.split()) == 9


def test_what_a_drop_read_in_a_pocket_does_not_tell_is_to_be_watched(tmp_path: Path) -> None:
    """The edge may stand nearer than the floor: by coordinates of the same engine it can be SHORT."""
    text = DEMO.read_text(encoding="utf-8")
    assert 'meets = "pocket"' in text
    path = tmp_path / "twin.toml"
    for table in ("intake.csv", "exhaust.csv"):
        (tmp_path / table).write_bytes((DEMO.parent / table).read_bytes())
    told = "to a pocket's edge and wall: the drop that was read tells its floor alone"
    for meets, is_told in (('meets = "pocket"', True), ('meets = "crown"', False)):
        path.write_text(text.replace('meets = "pocket"', meets), encoding="utf-8")
        for command in ("clearance", "overview", "risk"):
            said = " ".join(
                screen(command, path, *(("--draws", "100") if command == "risk" else ())).out.split()
            )
            assert (told in said) is is_told, (command, meets)


def test_a_limit_of_a_bore_that_nobody_entered_is_not_known_and_ends_with_1(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path, exhaust=False)
    text = path.read_text(encoding="utf-8").replace("bore = 92.0\n", "")
    for more, status in (
        ("", 0),
        ("[targets]\nvalve_to_bore = 5.0\n", 1),
        ("[targets]\nvalve_to_bore = 0.4\n", 1),
    ):
        path.write_text(text.replace("[[cylinder]]", f"{more}[[cylinder]]", 1), encoding="utf-8")
        for command in ("clearance", "overview"):
            ended = screen(command, path)
            assert "to the cylinder's bore: needs stack.bore" in " ".join(ended.out.split())
            if command == "clearance":
                assert ended.status == status
            elif status:
                assert ended.status == 1


@pytest.mark.parametrize(
    ("begun", "told"),
    [((), ""), (("cam.backlash=0.3 +/- 0.1",), "front intake and 3 more, piston at 6000 rpm")],
)
def test_what_was_begun_at_speed_is_asked_for_and_nothing_else(begun: tuple[str, ...], told: str) -> None:
    """By name the first, and how many more there are."""
    words = [word for one in (*begun, "running.speed=6000 rpm") for word in ("--with", one)]
    said = " ".join(screen("clearance", DEMO, *words).out.split())
    assert (" piston at 6000 rpm: " in said) is bool(told)
    assert f"NOT KNOWN: {told}" in said
