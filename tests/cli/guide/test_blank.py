"""The blank job file: every entry in it, and a job once it is filled in."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from tallstack.cli.guide.blank import blank_job
from tallstack.cli.job.entries.model import JOB

from ...cli.job.entries.test_catalogue import declared
from ...commands import tallstack

FILLED = {  # what a builder would put between the quotes of the blank file
    "base_gasket": "0.020 +/- 0.001 in",
    "cylinder": "4.310 +/- 0.001 in",
    "head_gasket": "0.040 +/- 0.002 in",
    "case_cut": "0",
    "head_cut": "0",
    "kind": "hydraulic",
    "preload": "0.040 in",
    "plunger_travel": "0.140 +/- 0.003 in",
    "length": "9.482 +/- 0.003 in",
    "as": "overall",
    "plunger": "top",
    "lean": "3 +/- 1",
    "ball_diameter_low": "5/16 in",
    "ball_diameter_high": "5/16 in",
    "hole_low": "0.060 in",
    "hole_high": "0.060 in",
    "title": "filled in",
}


@pytest.mark.parametrize("units", ["in", "mm"])
def test_a_blank_file_says_what_is_open_and_is_accepted_once_filled(tmp_path: Path, units: str) -> None:
    path = tmp_path / "job.toml"
    assert tallstack("new", path, "--blank", "--units", units).status == 0
    text = path.read_text(encoding="utf-8")
    opened = tallstack("check", path)
    assert opened.status == 1
    blanks = re.findall(r"^\w+ += *\"\"", text, re.MULTILINE)
    assert f"{len(blanks) - 1} entries are still blank" in opened.out  # the title is not measured
    for entry in (
        "stack.cylinder",
        "front.intake.measured_pushrod.plunger",
        "front.exhaust.pushrod.hole_high",
    ):
        assert f"  {entry}: " in opened.out
    assert tallstack("pushrods", path).status == 2
    filled = re.sub(
        r"^(\w+) = \"\"", lambda match: f'{match[1]} = "{FILLED[match[1]]}"', text, flags=re.MULTILINE
    )
    path.write_text(filled, encoding="utf-8")
    whole = tallstack("check", path)
    assert whole.status == 0, whole.out + whole.err
    assert "WHOLE" in whole.out
    assert tallstack("pushrods", path, "--strict").status in (0, 1)


def test_the_blank_file_comes_bench_route_first_and_names_every_entry(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    tallstack("new", path, "--blank")
    text = path.read_text(encoding="utf-8")
    assert text.index("[train.measured_pushrod]") < text.index("# arm_angle")
    assert "[train.rocker]" not in [line.strip() for line in text.splitlines()]  # still a comment
    schema = tallstack("schema").json["properties"]
    train = schema["train"]["items"]["properties"]
    assert "# [[reading]]\n# of = " in text
    for table in (
        schema["reading"]["items"],
        schema["crank"],
        schema["piston"],
        schema["targets"],
        train["rocker"],
        train["lifter"],
        train["pocket"],
    ):
        for entry in table["properties"]:
            assert re.search(rf"^(# )?\[?.*\b{entry}\b", text, re.MULTILINE), entry


def test_every_commented_entry_of_the_blank_file_can_be_brought_in(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    tallstack("new", path, "--blank")
    text = path.read_text(encoding="utf-8")
    later = text.index("Everything below is for later")
    lines = text[later:].splitlines()[1:]
    brought = [line[2:] if re.match(r"# (\[[\w.\[\]]+\]$|\w+ += )", line) else line for line in lines]
    tomllib.loads("\n".join(brought))


def test_the_blank_file_offers_the_table_that_can_stand_in_a_words_place() -> None:
    text = blank_job("in")
    for offered in ('read_with = { tip = "" }', 'read_with = { roller = "" }', 'follower = { roller = "" }'):
        assert f"#   or {offered}" in text
        tomllib.loads(offered)
    assert '#   or plunger = { down = "" }' in text


def test_every_entry_stands_in_the_blank_file() -> None:
    rows = set[tuple[str, str]]()
    for line in blank_job("mm").splitlines():
        entry, _, words = line.removeprefix("# ").removeprefix("#").partition("# ")
        rows |= {(name, re.sub("^[A-Z, ]+: ", "", words)) for name in re.findall(r"(\w+) = ", entry)}
    for loc, kind in declared():
        if loc[0] == "cylinder" and len(loc) > 3 and loc[2] in JOB.parts:
            continue  # laid over the engine's
        if loc[0] == "before" and len(loc) > 2:
            continue  # the engine's tables once more
        name = "NAME" if loc[-2:] == ("points", "intake") else loc[-1]
        if kind.tool == "" and name in (
            "format",
            "title",
            "written_for",
            "units",
            "name",
            "cylinder",
            "port",
        ):
            continue  # they are filled in
        assert any(one == name and words.startswith(kind.words) for one, words in rows), loc
