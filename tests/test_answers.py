"""One more answer, in one declaration, and its limit in one: every room that shows answers finds them there."""

from __future__ import annotations

from pathlib import Path

import pytest
import tallstack as ts
from tallstack.cli.job.entries.meanings import called
from tallstack.cli.job.entries.model import TARGETS, wish
from tallstack.geometry.core.answer import (
    CYLINDER,
    Figure,
    Found,
    Measured,
    Value,
    answers,
    lacking,
    of_cylinder,
)
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.targets import Source, Target
from tallstack.geometry.fits import groups

from .commands import TWIN, tallstack

LEDGE = Target("ledge", "crown to an invented ledge", (0.3, 4), 3.0, Source.MEMORY)
TITLE, MEET = "crown to an invented ledge", "crown and ledge meet"
LACKS = "piston.crown_thickness"  # which nothing else asks for


@answers(
    CYLINDER,
    "AN INVENTED LEDGE",
    to_ledge=Figure(
        TITLE, least=LEDGE, below_zero=MEET, measured=Measured("crown to ledge at top centre", (0.1, 5))
    ),
)
def to_ledge(mapping: Flat, cylinder: str) -> Found:
    reader = of_cylinder(mapping, cylinder)
    thick, gasket = reader.number(LACKS), reader.number("stack.head_gasket")
    return lacking([reader]) or {"to_ledge": Value(gasket + thick - 6.0)}


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(groups, "GROUPS", (*groups.GROUPS, to_ledge))
    monkeypatch.setitem(TARGETS.parts, LEDGE.name, wish(LEDGE))
    path = tmp_path / TWIN.name
    path.write_bytes(TWIN.read_bytes())
    return path


def with_ledge(job: Path, crown: str) -> Path:
    """Return the job with the entry that the answer lacks."""
    with job.open("a", encoding="utf-8") as file:
        file.write(f'\n[piston]\ncrown_thickness = "{crown}"\n')
    return job


def test_what_it_lacks_is_asked_for(job: Path) -> None:
    assert called(LACKS) in tallstack("measure", job, "--for", "fits").out
    told = tallstack("fits", job)
    assert "an invented ledge" in told.out
    (cylinder, *_) = tallstack("fits", job, "--json").json["cylinders"]
    assert cylinder["not_measured"]["an invented ledge"] == [LACKS]
    missing = ts.load(job).find("to_ledge", cylinder["cylinder"])
    assert isinstance(missing, ts.Missing)


def test_screen_json_sheet_risk_and_library_tell_it(job: Path) -> None:
    job = with_ledge(job, "6.5 +/- 0.05 mm")
    (cylinder, *_) = tallstack("fits", job, "--json").json["cylinders"]
    value, of = cylinder["to_ledge_mm"], cylinder["cylinder"]
    assert cylinder["to_ledge_verdict"] == "short"
    assert cylinder["to_ledge_limits"] == [["ledge", 3.0, False]]
    told = tallstack("fits", job)
    assert told.status == 1
    head = told.out[: told.out.index("AN INVENTED LEDGE")]
    assert TITLE in head
    assert "SHORT" in head
    assert "common practice, from memory, set your own (targets.ledge)" in " ".join(told.out.split())

    (drawn, *_) = (
        one
        for one in tallstack("risk", job, "--draws", "100", "--json").json["answers"]
        if one["what"] == "to_ledge"
    )
    assert (drawn["of"], drawn["verdict"]) == (of, "short")
    assert drawn["value_mm"] == pytest.approx(value)
    assert drawn["draws"] == 100

    found = ts.load(job).find("to_ledge", of)
    assert isinstance(found, ts.Result)
    assert found.value == pytest.approx(value, abs=1e-6)
    assert found.moved_by[LACKS] == pytest.approx(1.0)

    sheet = job.parent / "sheet.html"
    tallstack("sheet", job, "-o", sheet)
    page = sheet.read_text(encoding="utf-8")
    assert f"SHORT: {of}, {TITLE}" in page  # on the first page
    assert page.count(TITLE) > 1  # and among the rest of the stack


def test_it_is_written_down_and_held_against_the_plan(job: Path) -> None:
    job = with_ledge(job, "6.5 +/- 0.05 mm")
    of = tallstack("fits", job, "--json").json["cylinders"][0]["cylinder"]
    told = tallstack("record", job, of, "--figure", "to ledge = 0.4 +/- 0.02 mm", "--json").json
    (row,) = (one for one in told["compared"] if one["what"] == "to_ledge" and one["built_mm"] is not None)
    assert row["verdict"] == "short"
    assert row["least_mm"] == 3.0


def test_a_swap_moves_it(job: Path) -> None:
    before = with_ledge(job, "6.5 +/- 0.05 mm")
    after = before.with_name("after.toml")
    after.write_text(
        before.read_text(encoding="utf-8").replace("6.5 +/- 0.05", "7.5 +/- 0.05"), encoding="utf-8"
    )
    rest = tallstack("swap", after, "--from", before, "--json").json["rest"]
    (row, *_) = (one for one in rest if one["figure"] == "to_ledge")
    assert row["after_mm"] - row["before_mm"] == pytest.approx(1.0)
    assert row["verdict"] == "short"


def test_its_limit_is_an_entry_of_the_job(job: Path) -> None:
    schema = tallstack("schema").json["properties"]["targets"]["properties"]["ledge"]
    assert schema["description"] == LEDGE.words
    job = with_ledge(job, "6.5 +/- 0.05 mm")
    assert "targets.ledge" in tallstack("check", job, "--with", 'targets.ledge="0.5 mm"').out
    told = tallstack("fits", job, "--with", 'targets.ledge="0.5 mm"', "--json").json["cylinders"][0]
    assert told["to_ledge_limits"] == [["ledge", 0.5, True]]
    assert told["to_ledge_verdict"] == "ok"
    assert "targets.ledge" in " ".join(tallstack("check", job, "--with", 'targets.ledge="40 mm"').out.split())
