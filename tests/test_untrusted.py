"""A job that someone else sent: what it may read, and how much of anything it may hold."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from .commands import FAULTS, tallstack

LOBE = """
format = 1
units = "in"
[lobe.intake]
table = "{}"
centreline = 106
[[cylinder]]
name = "one"
"""
TABLE = FAULTS / "lobe_command" / "good.csv"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The job's folder, a table outside it."""
    (tmp_path / "outside.csv").write_bytes(TABLE.read_bytes())
    inside = tmp_path / "job"
    inside.mkdir()
    (inside / "inside.csv").write_bytes(TABLE.read_bytes())
    return inside


def job(folder: Path, table: str) -> Path:
    path = folder / "job.toml"
    path.write_text(LOBE.format(table), encoding="utf-8")
    return path


def test_a_job_reads_what_lies_in_its_folder(folder: Path) -> None:
    (folder / "deeper").mkdir()
    (folder / "deeper" / "lobe.csv").write_bytes(TABLE.read_bytes())
    for name in ("inside.csv", "deeper/lobe.csv", "deeper/../inside.csv"):
        assert tallstack("check", job(folder, name)).status == 0, name


@pytest.mark.parametrize("way", ["up", "whole", "link", "linked folder"])
def test_a_job_reads_nothing_outside_it_without_being_told(folder: Path, way: str) -> None:
    outside = folder.parent / "outside.csv"
    if way == "link":
        (folder / "link.csv").symlink_to(outside)
    if way == "linked folder":
        (folder / "away").symlink_to(folder.parent)
    name = {"up": "../outside.csv", "whole": str(outside), "link": "link.csv"}.get(way, "away/outside.csv")
    path = job(folder, name)
    ended = tallstack("check", path)
    assert ended.status == 2
    assert f'{path}:5:1: lobe.intake.table: "{name}": outside the folder of the job file' in ended.err
    assert "--allow-outside" in ended.err
    assert tallstack("--allow-outside", "check", path).status == 0
    assert tallstack("check", path).status == 2  # said once, it counts once


def test_what_the_user_names_himself_may_lie_anywhere(folder: Path) -> None:
    path = job(folder, "inside.csv")
    ended = tallstack("check", path, "--with", "lobe.intake.table=../outside.csv")
    assert ended.status == 0, ended.err


def test_a_loop_of_links_is_no_file(folder: Path) -> None:
    (folder / "a.csv").symlink_to(folder / "b.csv")
    (folder / "b.csv").symlink_to(folder / "a.csv")
    ended = tallstack("check", job(folder, "a.csv"))
    assert ended.status == 2
    assert "lobe.intake.table" in ended.err


@pytest.mark.parametrize(
    ("rows", "most"), [("cylinder", 12), ("train", 24), ("reading", 200), ("instrument", 100)]
)
def test_a_job_holds_so_many_rows_and_says_so_quickly(tmp_path: Path, rows: str, most: int) -> None:
    path = tmp_path / "job.toml"
    path.write_text('format = 1\nunits = "mm"\n' + f'[[{rows}]]\nname = "a"\n' * 3_000, encoding="utf-8")
    begun = time.process_time()
    ended = tallstack("check", path)
    assert time.process_time() - begun < 5.0
    assert ended.status == 2
    assert f"3,000 tables; there may be at most {most} of them" in ended.err
    assert len(ended.err) < 20_000


@pytest.mark.wide
@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "{ b = " * 5_000,
        "[" + ".".join(["a"] * 20_000) + "]",
        'title = "' + "x" * 900_000 + '"',
        "\n".join(f"k{index} = {index}" for index in range(60_000)),
        "\n".join(f"k{index} = {index}" for index in range(5_000)),
        "x" * 1_000_001,
    ],
    ids=["brackets", "braces", "dots", "a long text", "very many entries", "many entries", "too large"],
)
def test_a_monster_ends_in_a_message(tmp_path: Path, text: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text('format = 1\nunits = "mm"\n' + text, encoding="utf-8")
    begun = time.process_time()
    ended = tallstack("check", path)
    assert time.process_time() - begun < 5.0
    assert ended.status == 2
    assert ended.err.startswith(str(path))
    assert "Traceback" not in ended.err
    assert len(ended.err) < 100_000


def test_nothing_is_written_beside_a_job_that_is_only_read(folder: Path) -> None:
    path = job(folder, "inside.csv")
    before = sorted(one.name for one in folder.iterdir())
    for command in ("check", "pushrods", "clearance", "fits", "risk", "record"):
        tallstack(command, path)
    assert sorted(one.name for one in folder.iterdir()) == before
