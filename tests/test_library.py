"""`import tallstack`: a job asked by a program says what its screens say, and engines of arrays are what engines alone are."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
import tallstack as ts

from .clearance_jobs import by_coordinates
from .commands import EXAMPLES, tallstack
from .seeded import few

GASKETS = EXAMPLES / "eleven_head_gaskets_from_python" / "job.toml"
SHELF = EXAMPLES / "pushrods_from_the_shelf"


@pytest.fixture(scope="module")
def job() -> ts.Job:
    return ts.load(str(GASKETS))


def test_nothing_is_loaded_before_it_is_asked_for() -> None:
    code = "import sys, tallstack; print(*sys.modules); tallstack.load; tallstack.Missing"
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"numpy", "tallstack.cli.job.job", "typer"} & set(ended.stdout.split())


def test_every_name_is_there_and_no_other() -> None:
    assert dir(ts) == sorted(ts.__all__)
    assert all(getattr(ts, name).__name__ for name in ts.__all__)
    with pytest.raises(AttributeError, match="module 'tallstack' has no attribute 'nothing'"):
        _ = ts.nothing


@pytest.mark.parametrize("path", few([GASKETS, "coordinates"], 1))
def test_an_answer_is_what_the_command_says(path: Path | str, tmp_path: Path) -> None:
    file = by_coordinates(tmp_path) if isinstance(path, str) else path
    job = ts.load(file)
    for row in tallstack("pushrods", file, "--json").json["pushrods"]:
        for key in ("centres", "theoretical", "overall"):
            assert_same(job.find(key, row["train"]), row[f"{key}_mm"])
        found = job.find(row["ordered_as"], row["train"])
        if not row["without_doubt"] and not row["estimate"]:
            assert isinstance(found, ts.Result)
            assert found.uncertainty == pytest.approx(row["doubt_mm"], abs=1e-6)
    document = tallstack("clearance", file, "--json").json
    for row in document["valves"]:
        judged = job.find(row["judged_on"], row["train"])
        assert isinstance(judged, ts.Result)
        assert judged.limit is not None
        assert (judged.verdict, judged.limit.least) == (row["verdict"], row["target_mm"])
        for key in ("drop", "gap"):
            assert_same(job.find(key, row["train"]), row[f"{key}_mm"])
    for row in document["pairs"]:
        assert_same(job.find("valve_to_valve", row["cylinder"]), row["valve_to_valve_mm"])
    for row in tallstack("fits", file, "--json").json["cylinders"]:
        for key, unit in (("displacement", "_cc"), ("squish", "_mm"), ("compression_ratio", "")):
            if f"{key}{unit}" in row or key != "compression_ratio":
                assert_same(job.find(key, row["cylinder"]), row.get(f"{key}{unit}"))


def assert_same(found: ts.Result | ts.Missing, told: float | None) -> None:
    if told is None:
        assert isinstance(found, ts.Missing)
    else:
        assert isinstance(found, ts.Result)
        assert found.value == pytest.approx(told, abs=1e-6)


def test_every_fault_of_a_file_is_in_the_error(tmp_path: Path) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(
        'format = 1\nunits = "mm"\n[stack]\ncylinder = "x"\nhead_gasket = "y"\n', encoding="utf-8"
    )
    with pytest.raises(ts.JobError) as caught:
        ts.load(file)
    assert len(caught.value.faults) == 2
    assert str(caught.value) == caught.value.report()
    assert "wrong.toml:5" in str(caught.value)


def test_a_notebook_shows_a_job_its_answers_and_a_drawing(job: ts.Job, tmp_path: Path) -> None:
    shown = job._repr_html_()
    assert shown.startswith("<h3>Single, eleven head gaskets on the table</h3><table>")
    assert "<td>single.intake</td><td>length OVERALL</td><td>243.4" in shown
    result = job.find("squish")
    assert "<td>1.500</td><td>mm</td><td>+/- 0.15" in result._repr_html_()
    told = job.with_({"stack.base_gasket": "9 mm"})
    assert "<p>UNUSUAL, a slip or a rare engine: " in told._repr_html_()
    picture = job.draw("single.intake")
    assert picture._repr_svg_() == picture.svg == job.draw().svg
    drawn = tmp_path / "gear.svg"
    tallstack("draw", GASKETS, "single.intake", "-o", drawn)
    assert drawn.read_text(encoding="utf-8") == picture.svg
    picture.save(tmp_path / "same.svg")
    assert (tmp_path / "same.svg").read_bytes() == drawn.read_bytes()
    with pytest.raises(FileExistsError):
        picture.save(tmp_path / "same.svg")
    with pytest.raises(ValueError, match=r"gear\.gif: a drawing is written as \.svg"):
        picture.save("gear.gif")
