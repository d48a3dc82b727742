"""Every fault of a table of the user's own, a shelf, a lobe or a crown, ends in one clear message with its line.

`faults/shelf/NAME.csv`, `faults/lobe/NAME.csv` and `faults/crown/NAME.csv` are faulty tables, `NAME.txt` the exact
text that must come out on standard error when the job beside them is run with the table.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ...commands import FAULTS, tallstack

SHELVES = sorted(path.stem for path in (FAULTS / "shelf").glob("*.csv"))
LOBES = sorted(path.stem for path in (FAULTS / "lobe").glob("*.csv") if path.stem != "good")
CROWNS = sorted(path.stem for path in (FAULTS / "crown").glob("*.csv") if path.stem != "good")
WITHOUT_LINE = {"empty", "only-blank-lines", "not-utf-8", "utf-16"}
PLACED = re.compile(r"^[\w-]+\.csv:(\d+):(\d+): \S", re.MULTILINE)
HEADER = "label,kind,length,as,count\n"
FIXED = "long,fixed,11.050,overall,4\n"


def listing() -> list[str]:
    return sorted(str(path) for path in Path().rglob("*"))


def refused(*words: str | Path) -> str:
    ended = tallstack(*words)
    assert ended.status == 2
    assert not ended.out
    assert "Traceback" not in ended.err
    return ended.err


def shelf(path: Path) -> str:
    return refused("pushrods", FAULTS / "shelf" / "job.toml", "--shelf", path)


def test_there_are_enough_faults() -> None:
    assert len(SHELVES) + len(LOBES) >= 50
    assert {path.stem for path in (FAULTS / "shelf").glob("*.txt")} == set(SHELVES)
    assert {path.stem for path in (FAULTS / "lobe").glob("*.txt")} == set(LOBES)
    assert len(CROWNS) >= 20
    assert {path.stem for path in (FAULTS / "crown").glob("*.txt")} == set(CROWNS)


@pytest.mark.parametrize("name", SHELVES)
def test_fault_of_a_shelf_is_told_exactly(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.chdir(FAULTS / "shelf")
    expected, before = Path(f"{name}.txt").read_bytes().decode(), listing()
    for more in ((), ("--json",)):
        assert refused("pushrods", "job.toml", "--shelf", f"{name}.csv", *more) == expected
    assert listing() == before
    if name not in WITHOUT_LINE:
        assert PLACED.match(expected)


@pytest.mark.parametrize("name", LOBES)
def test_fault_of_a_lobe_table_is_told_exactly(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.chdir(FAULTS / "lobe")
    expected, before = Path(f"{name}.txt").read_bytes().decode(), listing()
    for more in ((), ("--json",)):
        tried = ("--with", f"lobe.intake.table={name}.csv", *more)
        assert refused("pushrods", "job.toml", *tried) == expected
    assert listing() == before
    if name not in WITHOUT_LINE:
        assert PLACED.match(expected)


@pytest.mark.parametrize("name", CROWNS)
def test_fault_of_a_crown_s_table_is_told_exactly(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.chdir(FAULTS / "crown")
    expected, before = Path(f"{name}.txt").read_bytes().decode(), listing()
    tried = ("--with", f"piston.crown_table={name}.csv")
    for words in (("clearance",), ("clearance", "--json"), ("check",)):
        assert refused(*words, "job.toml", *tried) == expected
    assert listing() == before
    if name not in WITHOUT_LINE:
        assert PLACED.match(expected)


@pytest.mark.parametrize("where", ["shelf", "lobe", "crown"])
def test_lines_are_told_in_the_order_of_the_table(where: str) -> None:
    for path in (FAULTS / where).glob("*.txt"):
        lines = [int(line) for line, _ in PLACED.findall(path.read_text(encoding="utf-8"))]
        assert lines == sorted(lines), path


def test_the_good_job_and_its_good_lobe_run() -> None:
    assert tallstack("pushrods", FAULTS / "shelf" / "job.toml").status == 0
    assert tallstack("pushrods", FAULTS / "lobe" / "job.toml").status == 0
    assert tallstack("clearance", FAULTS / "crown" / "job.toml").status == 0


def test_shelf_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    assert shelf(path) == f"{path}: no such file\n"
    assert list(tmp_path.iterdir()) == []


def test_shelf_that_is_a_folder(tmp_path: Path) -> None:
    assert shelf(tmp_path) == f"{tmp_path}: a folder, not a shelf; name the CSV file in it\n"


def test_shelf_of_two_megabytes(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(HEADER + FIXED * 80_000)
    assert shelf(path) == f"{path}: too large; a shelf is text of at most 1,000,000 bytes\n"


def test_shelf_of_600_kinds(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(HEADER + "".join(f"rod {one},fixed,11.050,overall,4\n" for one in range(600)))
    assert shelf(path) == f"{path}: 600 kinds of pushrod; a shelf has at most 500\n"


def test_table_of_too_many_lines(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text("label,kind,as\n" + "a,fixed,gauge\n" * 20_001)
    assert shelf(path) == f"{path}: 20,001 lines; a shelf has at most 20,000\n"


def test_table_of_more_heights_than_a_crown_needs(tmp_path: Path) -> None:
    path = tmp_path / "crown.csv"
    path.write_text("x,y,height\n" + "".join(f"{one % 80 - 40},{one // 80 - 30},0\n" for one in range(1501)))
    told = refused("clearance", FAULTS / "crown" / "job.toml", "--with", f"piston.crown_table={path}")
    assert told.startswith(
        f"{path}:1502:1: 1,501 heights; a table has at most 1,500: leave out where the crown is flat\n"
    )


def test_no_more_faults_are_told_than_one_reads(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text("label;kind;length;as\n" + "long;fixed;280,7;overall\n" * 300)
    told = shelf(path)
    assert told.count(str(path)) == 26
    assert f"{path}:27:1: and 275 more faults from here on\n" in told


def test_a_quote_that_runs_on_for_ever_is_told_at_its_line(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(HEADER + FIXED + '"' + "x" * 200_000 + "\n")
    assert shelf(path).startswith(f"{path}:3:1: a quote is not closed; close it, or leave it out\n")


@pytest.mark.parametrize("ends", ["\r\n", "\r", "\n"])
def test_line_ends_of_another_system_make_no_difference(tmp_path: Path, ends: str) -> None:
    path = tmp_path / "shelf.csv"
    path.write_bytes((HEADER + FIXED + "other,fixed,long,overall,4\n").replace("\n", ends).encode())
    told = shelf(path)
    assert told.startswith(f'{path}:3:1: length: "long": not a number')
    assert told.endswith("    other,fixed,long,overall,4\n    ^\n")


@pytest.mark.parametrize("label", ["=1+1", "+cmd", "@SUM(1)", '-2"', "=HYPERLINK(0)"])
def test_label_that_looks_like_a_formula_is_text(tmp_path: Path, label: str) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(HEADER + f"{label},fixed,11.003,overall,4\n")
    ended = tallstack("pushrods", FAULTS / "shelf" / "job.toml", "--shelf", path)
    assert ended.status in (0, 1)
    assert label in ended.out
    told = tallstack("pushrods", FAULTS / "shelf" / "job.toml", "--shelf", path, "--json").json
    assert told["pushrods"][0]["shelf"][0]["label"] == label
