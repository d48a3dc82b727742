"""`demo`, `new`, `check` and `schema`, and what every command has in common."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest
from tallstack.cli.app import app
from tallstack.cli.guide.blank import blank_job

from ..commands import BENCH, COORDINATES, EXAMPLES, FAULTS, tallstack

COMMANDS = tuple(one.name or one.callback.__name__ for one in app.registered_commands if one.callback)
GOOD_LOBE = FAULTS / "lobe_command" / "good.csv"
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


def listed(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*"))


def test_demo_writes_its_files_and_works_the_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ended = tallstack("demo", "first try")
    assert ended.status == 0
    assert "front intake    OVERALL" in ended.out
    assert (tmp_path / "first try" / "twin.toml").is_file()
    assert tallstack("pushrods", "first try/twin.toml").status == 0
    again = tallstack("demo", "first try")
    assert again.status == 2
    assert "add --force" in again.err
    assert tallstack("demo", "first try", "--force").status == 0


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


def test_new_overwrites_nothing(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("mine", encoding="utf-8")
    ended = tallstack("new", path, "--blank")
    assert ended.status == 2
    assert path.read_text(encoding="utf-8") == "mine"
    assert listed(tmp_path) == ["job.toml"]
    assert tallstack("new", path, "--blank", "--force").status == 0
    assert listed(tmp_path) == ["job.toml"]


def test_check_shows_every_entry_as_typed_and_as_understood() -> None:
    out = tallstack("check", BENCH).out
    assert "0.043 in  ->  0.043 in = 1.0922 mm" in out
    assert "front.exhaust.pushrod.hole_low   [like front.intake]\n      0.063 in  ->" in out
    assert "2 +/- 1  ->  2 deg +/- 1 deg" in out


def test_check_tells_how_much_each_entry_moves_the_length() -> None:
    moves = tallstack("check", COORDINATES, "--json").json["moves"]
    front = {row["entry"]: row for row in moves if row["train"] == "front.intake"}
    assert front["stack.cylinder"]["per_mm"] == pytest.approx(0.9993, abs=5e-5)
    longer = [
        tallstack("pushrods", COORDINATES, "--json", *more).json["pushrods"][0]["overall_mm"]
        for more in ((), ("--with", "front.intake.rocker.arm_angle=158.1"))
    ]
    assert (longer[1] - longer[0]) / 0.1 == pytest.approx(
        front["front.intake.rocker.arm_angle"]["per_deg"], rel=1e-2
    )


def test_a_mirrored_copy_moves_with_the_entry_it_was_copied_from() -> None:
    moves = tallstack("check", COORDINATES, "--json").json["moves"]
    by_train = {row["train"]: row["per_mm"] for row in moves if row["entry"] == "front.intake.valve.length"}
    assert by_train.keys() == {"front.intake", "rear.intake"}
    assert by_train["rear.intake"] == pytest.approx(by_train["front.intake"], abs=1e-4)


def test_the_schema_takes_good_jobs_and_refuses_a_misspelling() -> None:
    schema = tallstack("schema").json
    jsonschema.Draft202012Validator.check_schema(schema)
    checker = jsonschema.Draft202012Validator(schema)
    for job in (BENCH, COORDINATES):
        document = tomllib.loads(job.read_text(encoding="utf-8"))
        assert not list(checker.iter_errors(document))
        document["stack"]["cilinder"] = 3
        assert list(checker.iter_errors(document))


NEED_CLEARANCES = ("clearance", "fits")


@pytest.mark.parametrize("command", COMMANDS)
def test_help_opens_with_an_example_that_runs(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    clear = EXAMPLES / "sheet_for_the_job_folder" / "job.toml"
    for name in ("job.toml", "before.toml"):
        Path(name).write_bytes((clear if command in NEED_CLEARANCES else BENCH).read_bytes())
    Path("intake.csv").write_text(GOOD_LOBE.read_text(encoding="utf-8"), encoding="utf-8")
    text = tallstack(command, "--help").out
    example = re.search(r"Example: tallstack (?P<words>.+)", text)
    assert example, text
    import shlex

    assert tallstack(*shlex.split(example["words"])).status == 0


def test_a_fault_of_our_own_says_so_without_a_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    from tallstack.cli.commands import schema

    def broken() -> None:
        message = "planted"
        raise RuntimeError(message)

    monkeypatch.setattr(schema, "answer", broken)
    ended = tallstack("schema")
    assert ended.status == 70
    assert ended.out == ""
    assert "a fault of tallstack's own (RuntimeError: planted)" in ended.err
    assert "Traceback" not in ended.err


def test_an_interrupt_ends_in_status_130(monkeypatch: pytest.MonkeyPatch) -> None:
    from tallstack.cli.commands import schema

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(schema, "answer", interrupted)
    assert tallstack("schema").status == 130


def test_version_and_module_entry() -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "tallstack.cli", "--version"], capture_output=True, text=True, check=True
    )
    assert re.fullmatch(r"tallstack \d+\.\d+\.\d+\n", ended.stdout)
