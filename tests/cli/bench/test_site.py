"""The page itself: what each address shows, what a request does, and that nothing of it lets in what is not there."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest
from starlette.applications import Starlette
from tallstack.cli.bench.places import owners
from tallstack.cli.bench.screens import SCREENS
from tallstack.cli.bench.site import application, look_of

from .asking import Answered, ask
from .jobs import HALF, half, twin

CYLINDER = ["stack", "cylinder"]


@pytest.fixture
def app(tmp_path: Path) -> Starlette:
    half(tmp_path)
    return application(tmp_path)


def enter(
    app: Starlette, typed: str, was: object = "109.5 +/- 0.1", loc: object = CYLINDER, job: str = "half"
) -> Answered:
    return ask(app, f"/enter/{job}", {"screen": "stack", "owner": "", "loc": loc, "typed": typed, "was": was})


def test_every_screen_of_every_owner_is_shown(tmp_path: Path) -> None:
    twin(tmp_path)
    app = application(tmp_path)
    site = app.state.site
    for screen in SCREENS.values():
        for owner in owners(screen, site.job("twin").shown.plain):
            found = ask(app, f"/jobs/twin/{screen.key}" + (f"/{owner}" if owner else ""))
            assert found.status == 200
            assert f'data-screen="{screen.key}"' in found.text
            assert not re.search(r"\s(?:style|on\w+)=", re.sub(r"<svg.*?</svg>", "", found.text, flags=re.S))
            assert "<script>" not in found.text


@pytest.mark.parametrize(
    "address",
    [
        "/jobs/nothing",
        "/jobs/half.toml",
        "/jobs/half/nothing",
        "/jobs/half/rod/rear.intake",
        "/jobs/..%2fhalf/stack",
        "/static/page.html",
        "/static/..%2fsite.py",
        "/parts/half/nothing",
        "/jobs/half/sheet.pdf",
        "/nothing",
    ],
)
def test_what_is_not_there_is_not_found(app: Starlette, address: str) -> None:
    assert ask(app, address).status == 404


def test_a_link_and_what_is_no_job_are_not_listed(tmp_path: Path) -> None:
    path = half(tmp_path)
    os.symlink(path, tmp_path / "linked.toml")
    (tmp_path / "other.toml").write_text('[tool]\nname = "x"\n', encoding="utf-8")
    app = application(tmp_path)
    shown = ask(app, "/").text
    assert "<b>half</b>" in shown
    assert "linked" not in shown
    assert "no job: other.toml" in shown
    assert ask(app, "/jobs/linked").status == ask(app, "/jobs/other").status == 404


def test_a_value_is_entered_and_every_piece_comes_back(app: Starlette, tmp_path: Path) -> None:
    found = enter(app, "109.7 +/- 0.1").json
    assert found["told"]["fault"] == ""
    assert set(found["parts"]) == {"band", "stop", "strip", "owners", "draw", "undo", "more"}
    assert 'value="109.7 +/- 0.1"' in found["fields"]
    assert "109.7" in (tmp_path / "half.toml").read_text(encoding="utf-8")
    back = ask(app, "/undo/half", {"screen": "stack", "owner": ""}).json
    assert back["told"]["fault"] == ""
    assert (tmp_path / "half.toml").read_text(encoding="utf-8") == HALF


def test_a_fault_comes_back_at_its_field_and_writes_nothing(app: Starlette, tmp_path: Path) -> None:
    found = enter(app, "0,3").json
    assert "a comma means thousands to some" in found["told"]["fault"]
    assert 'value="109.5 +/- 0.1"' in found["fields"]
    assert (tmp_path / "half.toml").read_text(encoding="utf-8") == HALF


def test_a_conflict_says_what_the_file_holds(app: Starlette, tmp_path: Path) -> None:
    assert enter(app, "109.7").json["told"]["fault"] == ""
    found = enter(app, "109.9").json
    assert found["told"]["conflict"]
    assert found["now"] == 109.7
    assert enter(app, "109.9", found["now"]).json["told"]["fault"] == ""


@pytest.mark.parametrize(
    "loc", [None, [], {}, "stack", [1, "stack"], ["stack", None], ["stack", True], ["stack", ["cylinder"]]]
)
def test_what_is_no_place_is_refused(app: Starlette, loc: object) -> None:
    assert enter(app, "1", loc=loc).status == 400


@pytest.mark.parametrize(
    "loc", [["nothing"], ["stack", "nothing"], ["train", 9, "lifter", "preload"], ["stack", 3]]
)
def test_no_entry_is_made_up(app: Starlette, tmp_path: Path, loc: object) -> None:
    found = enter(app, "1", None, loc)
    assert found.status == 200
    assert found.json["told"]["fault"]
    assert (tmp_path / "half.toml").read_text(encoding="utf-8") == HALF


def test_what_is_no_object_is_refused(app: Starlette) -> None:
    assert ask(app, "/enter/half", [1]).status == 400
    assert (
        ask(
            app, "/choose/half", {"screen": "rod", "owner": "front.intake", "way": "no", "option": "x"}
        ).status
        == 400
    )
    assert ask(app, "/enter/nothing", {}).status == 404


def test_what_is_typed_is_text_and_nothing_else(tmp_path: Path) -> None:
    evil = "<img src=x onerror=alert(1)>"
    path = half(tmp_path, "evil")
    path.write_text(
        HALF.replace("format = 1\n", f"format = 1\ntitle = '{evil}'\n").replace(
            '"109.5 +/- 0.1"', f"'{evil}'"
        ),
        encoding="utf-8",
    )
    app = application(tmp_path)
    for screen in SCREENS:
        shown = ask(app, f"/jobs/evil/{screen}").text
        assert "<img" not in shown
        assert "&lt;img" in shown
    assert "<img" not in ask(app, "/jobs/evil/all?find=%3Cimg%20src%3Dx%3E").text
    assert (
        "<img"
        not in json.loads(json.dumps(enter(app, evil, loc=["title"], was=evil, job="evil").json))["parts"][
            "stop"
        ]
    )


def test_a_job_that_cannot_be_read_says_why(tmp_path: Path) -> None:
    path = half(tmp_path)
    path.write_text(HALF.replace("[stack]", "[stack"), encoding="utf-8")
    app = application(tmp_path)
    shown = ask(app, "/jobs/half/stack")
    assert shown.status == 200
    assert "cannot be read as it stands" in shown.text
    assert enter(app, "1").json["told"]["fault"]
    path.write_text(HALF, encoding="utf-8")
    assert app.state.site.job("half").refresh()
    assert "cannot be read" not in ask(app, "/jobs/half/stack").text


def test_a_job_with_a_fault_shows_it_with_the_way_to_its_field(tmp_path: Path) -> None:
    path = half(tmp_path)
    path.write_text(HALF.replace("276.0 +/- 0.2", "276.0 kg"), encoding="utf-8")
    shown = ask(application(tmp_path), "/jobs/half/stack").text
    assert "No answer: something in the file cannot be so" in shown
    assert 'href="/jobs/half/rod/front.intake#train-0-measured_pushrod-length"' in shown


def test_a_file_that_is_written_to_looks_otherwise(tmp_path: Path) -> None:
    path = half(tmp_path)
    before = look_of(path)
    path.write_text(HALF + "# more\n", encoding="utf-8")
    assert look_of(path) != before
    path.unlink()
    assert look_of(path) == ()


def test_a_job_is_begun_and_copied(tmp_path: Path) -> None:
    app = application(tmp_path)
    form = {
        "file": "new one",
        "units": "mm",
        "find out": "pushrods",
        "route": "bench",
        "count": "1",
        "names": "",
        "leans": "",
        "ports": "both",
        "lifters": "solid",
        "alike": "all",
        "differ": "",
        "changed": "no",
    }
    found = ask(app, "/begin", form).json
    assert found == {"go": "/jobs/new%20one/stack"}
    assert ask(app, found["go"]).status == 200
    assert "is there already" in ask(app, "/begin", form).json["faults"]["file"]
    half(tmp_path)
    assert ask(app, "/copy", {"of": "half", "name": "another"}).json == {"go": "/jobs/another/stack"}
    assert "faults" in ask(app, "/copy", {"of": "half", "name": "../x"}).json
    assert ask(app, "/copy", {"of": "../half", "name": "x"}).status == 404
