"""The record beside a job: lines as typed, what a person edits, what is refused, kills while it writes.

Figures, measured on two cores with CPython 3.11:

- a recorder killed 200 times; two recorders of 50 lines each: no line lost, none in part
"""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tallstack.cli.files import OutputRefusedError
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.record.recordfile import Fact, append, read, record_path, standing

from ...commands import EXAMPLES, FAULTS, Ended, tallstack
from ...seeded import few

SHELF_JOB = EXAMPLES / "pushrods_from_the_shelf"


WHEN = "2026-03-14T16:05:00+01:00"


FACT = Fact(WHEN, "preload", "front.intake", "", "0.050 in", None, "Ann", "mic A", "")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    for name in ("job.toml", "shelf.csv"):
        (tmp_path / name).write_bytes((SHELF_JOB / name).read_bytes())
    return tmp_path / "job.toml"


def record(job: Path, *words: str) -> Ended:
    return tallstack("record", job, *words)


def lines_of(job: Path) -> list[dict[str, str]]:
    with record_path(job).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_a_line_that_no_longer_says_so_lets_nothing_be_added_about_it(tmp_path: Path) -> None:
    path = tmp_path / "job.record.csv"
    with pytest.raises(OutputRefusedError, match="line 1 of job.record.csv no longer says"):
        append(path, [FACT], about=[FACT._replace(number=1)])
    assert not path.exists()
    append(path, [FACT, FACT._replace(of="front.exhaust")])
    before, there = path.read_bytes(), read(path)
    for other in (there[0]._replace(number=2), there[1]._replace(number=3), there[1]._replace(by="Bob")):
        with pytest.raises(OutputRefusedError, match="no longer says"):
            append(path, [FACT], about=[there[0], other])
        assert path.read_bytes() == before
    append(path, [FACT], about=there)
    assert path.read_bytes().startswith(before)
    assert len(read(path)) == 3


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "'=1", "'plain"])
def test_no_spreadsheet_finds_a_formula_and_the_text_comes_back(job: Path, text: str) -> None:
    assert record(job, "front", "--crank=-10 +/- 1", "--by", text, "--tool", text, "--note", text).status == 0
    (line,) = lines_of(job)
    assert not any(cell.startswith(("=", "+", "-", "@", "\t")) for cell in line.values())
    (fact,) = read(record_path(job))
    assert (fact.by, fact.tool, fact.note) == (text, text, text)
    assert fact.typed == "-10 +/- 1 deg"


def test_what_a_person_edits_is_accepted(job: Path) -> None:
    path = record_path(job)
    path.write_bytes(
        '\ufeffWhat;When;Value;Of;As\r\nPreload;2026-03-14;"0.043 in";front.intake;\r\n\r\n'
        "pushrod;2026-03-14 16:05;270.0 mm;front.intake;overall".encode()
    )
    assert [fact.what for fact in read(path)] == ["preload", "pushrod"]
    assert record(job, "front.intake", "--preload", "0.044 in", "--when", WHEN).status == 0
    line = f"preload;{WHEN};0.044 in;front.intake;\n"
    assert path.read_bytes().endswith(b";front.intake;overall\n" + line.encode())
    assert read(path)[-1].typed == "0.044 in"
    refused = record(job, "--note", "no column for this")
    assert refused.status == 2
    assert f"{path}:1: the header lacks note; write it there" in refused.err


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("soon,preload,front.intake,,0.04 in,,,", ':2:1: when: "soon": no date of ISO 8601'),
        (",preload,front.intake,,0.04 in,,,", ":2:1: when: missing"),
        (f"{WHEN},prelaod,front.intake,,0.04 in,,,", "did you mean preload?"),
        (
            f"{WHEN},preload,front.intake,,0.04,,,",
            'value: "0.04": without its unit; write 0.04 in or 0.04 mm',
        ),
        (f'{WHEN},preload,front.intake,,"0,04 in",,,', "a comma means thousands"),
        (f"{WHEN},preload,front.intake,,,,,", "value: no value"),
        (f"{WHEN},preload,,,0.04 in,,,", "of: missing"),
        (f"{WHEN},pushrod,front.intake,,10.6 in,,,", "as: missing"),
        (f"{WHEN},pushrod,front.intake,long,10.6 in,,,", 'as: "long": one of'),
        (f"{WHEN},withdrawn,front.intake,preload,7,,,", "value: "),
    ],
)
def test_a_fault_in_a_record_names_line_and_column_and_stops_everything(
    job: Path, line: str, told: str
) -> None:
    path = record_path(job)
    path.write_text(f"when,what,of,as,value,by,tool,note\n{line}\n", encoding="utf-8")
    before = path.read_bytes()
    for words in ((), ("front.intake", "--preload", "0.04")):
        ended = record(job, *words)
        assert ended.status == 2
        assert told in ended.err
        assert f"{path}:2:1: " in ended.err
        assert path.read_bytes() == before


RECORDS = sorted(path.stem for path in (FAULTS / "record").glob("*.csv"))


@pytest.mark.parametrize("name", RECORDS)
def test_fault_of_a_record_is_told_exactly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """`faults/record/NAME.csv` beside the job there; `NAME.txt` is the exact text on standard error."""
    shutil.copy(FAULTS / "record" / "job.toml", tmp_path)
    shutil.copy(FAULTS / "record" / f"{name}.csv", tmp_path / "job.record.csv")
    monkeypatch.chdir(tmp_path)
    before = Path("job.record.csv").read_bytes()
    for words in ((), ("barrel.intake", "--lash", "0.1"), ("--json",)):
        ended = tallstack("record", "job.toml", *words)
        assert ended.status == 2
        assert not ended.out
        assert ended.err == (FAULTS / "record" / f"{name}.txt").read_text(encoding="utf-8")
    assert Path("job.record.csv").read_bytes() == before


def test_every_fault_of_a_record_has_its_message() -> None:
    assert len(RECORDS) >= 15
    assert {path.stem for path in (FAULTS / "record").glob("*.txt")} == set(RECORDS)


OLD = f"when,what,of,as,value,by,tool,note\n{WHEN},preload,front.intake,,0.043 in,Ann,,\n"


def test_a_record_with_an_old_header_reads_and_takes_what_needs_no_new_column(job: Path) -> None:
    path = record_path(job)
    path.write_text(OLD, encoding="utf-8")
    assert record(job, "front.intake", "--preload", "0.044 in", "--when", WHEN).status == 0
    assert path.read_text(encoding="utf-8") == f"{OLD}{WHEN},preload,front.intake,,0.044 in,,,\n"
    before = path.read_bytes()
    visit = ("front.intake", "--visit", "500 miles", "--found", "--preload", "0.05 in")
    refused = record(job, *visit)
    assert refused.status == 2
    assert f"{path}:1: the header lacks state, distance; write them there" in refused.err
    assert path.read_bytes() == before
    first, rest = before.decode().split("\n", 1)
    path.write_text(
        f"{first},state,distance\n{rest}", encoding="utf-8"
    )  # the lines under it stay as they are
    assert record(job, *visit).status in (0, 1)
    old, older, fact = read(path)
    assert (old.typed, old.state, older.typed) == ("0.043 in", "", "0.044 in")
    assert (fact.state, fact.distance, fact.run) == ("found", "500 miles", pytest.approx(804.672))
    warm = record(job, *visit, "--temperature", "18 C")
    assert "the header lacks temperature; write it there" in warm.err


def test_a_visit_that_a_spreadsheet_wrote_is_accepted(job: Path) -> None:
    path = record_path(job)
    path.write_bytes(
        "\ufeffDistance;State;When;What;Of;Value;Temperature\r\n"
        ";;2026-01-01;preload;front.intake;0.043 +/- 0.002 in;\r\n"
        '"500 Miles"; Found  AND left;2026-02-01;Preload;front.intake;0.050 +/- 0.002 in;64 F\r\n'.encode()
    )
    built, fact = read(path)
    assert (built.state, built.run) == ("", -1.0)
    assert (fact.state, fact.states, fact.run) == ("found and left", ("found", "left"), 804.672)
    assert fact.heat is not None
    assert fact.heat.number == pytest.approx(17.78, abs=0.01)
    assert standing([built, fact]) == (built, fact)


def test_a_visit_stands_beside_what_was_built_and_found_beside_left() -> None:
    run = {"distance": "500 miles", "typed": "0.05 in"}
    found, left = (
        FACT._replace(state=state, number=2 + place, **run) for place, state in enumerate(("found", "left"))
    )
    built, later = FACT._replace(number=1), FACT._replace(number=4, state="left", distance="804.672 km")
    kept = FACT._replace(number=5, state="found and left", distance="900 km")
    assert standing([built, found, left]) == (built, found, left)
    assert standing([built, found, left, later]) == (built, found, later)  # one distance, in another unit
    assert standing([built, kept, kept._replace(number=6, state="left")]) == (
        built,
        kept,
        kept._replace(number=6, state="left"),
    )
    assert standing([built, kept, kept._replace(number=6)]) == (built, kept._replace(number=6))


def test_a_link_or_a_folder_in_its_place_is_refused(job: Path) -> None:
    path = record_path(job)
    path.mkdir()
    assert f"{path}: a folder, where the record belongs" in record(job, "--note", "x").err
    path.rmdir()
    (job.parent / "elsewhere").write_text("kept", encoding="utf-8")
    path.symlink_to(job.parent / "elsewhere")
    ended = record(job, "--note", "x")
    assert ended.status == 2
    assert f"{path}: a symbolic link" in ended.err
    assert (job.parent / "elsewhere").read_text(encoding="utf-8") == "kept"


MANY = """
import sys
from pathlib import Path
from tallstack.cli.record.recordfile import Fact, append
for count in range(50):
    note = f"{sys.argv[2]} {count} " + sys.argv[2] * 90
    append(Path(sys.argv[1]), [Fact("2026-03-14", "note", "", "", "", None, "", "", note)])
"""


def test_two_recorders_at_once_lose_and_mix_nothing(tmp_path: Path) -> None:
    path = tmp_path / "x.record.csv"
    both = [subprocess.Popen([sys.executable, "-c", MANY, str(path), who]) for who in "ab"]
    assert [one.wait(timeout=60) for one in both] == [0, 0]
    notes = [fact.note for fact in read(path)]
    for who in "ab":
        mine = [note for note in notes if note.startswith(who)]
        assert mine == [f"{who} {count} {who * 90}" for count in range(50)]


KILLED = """
import os, random, signal, sys, time
from pathlib import Path
from tallstack.cli.record.recordfile import Fact, append, read
random.seed(4)
path = Path(sys.argv[1])
fact = Fact("2026-03-14", "note", "", "", "", None, "", "", "n" * 190)
line = len(b"2026-03-14,note,,,,,," + b"n" * 190 + b",,,,\\n")
grown = before = 0
began = time.perf_counter()
append(path, [fact])
long = 8 * max(time.perf_counter() - began, 0.001)  # of a write, on this machine
path.unlink()
for kill in range(int(sys.argv[2])):
    child = os.fork()
    if not child:
        while True:
            append(path, [fact])
    time.sleep(random.uniform(0.0, long))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    size = path.stat().st_size if path.exists() else 0
    content = path.read_bytes() if size else b""
    whole = not content or content.endswith(b"\\n") and all(
        len(one) + 1 == line for one in content.splitlines()[1:]
    )
    assert whole and size >= before, (kill, size)
    grown += size > before
    before = size
    if size > 200_000:
        path.unlink()
        before = 0
assert grown > int(sys.argv[2]) // 10, grown
append(path, [fact])
print(len(read(path)))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize("times", few([60, 200], 1))
def test_a_killed_recorder_leaves_whole_lines(tmp_path: Path, times: int) -> None:
    ended = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path / "x.record.csv"), str(times)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert ended.returncode == 0, ended.stderr
    assert int(ended.stdout) >= 1


def test_an_empty_file_left_by_a_kill_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "x.record.csv"
    path.touch()
    assert read(path) == ()
    append(path, [FACT])
    assert len(read(path)) == 1


def test_a_record_of_another_sort_is_not_added_to(tmp_path: Path) -> None:
    path = tmp_path / "x.record.csv"
    path.write_text("label,kind\nA,fixed\n", encoding="utf-8")
    with pytest.raises(InputFaultsError):
        append(path, [FACT])
    assert path.read_text(encoding="utf-8") == "label,kind\nA,fixed\n"


def test_one_thing_counts_once_whatever_its_convention(tmp_path: Path) -> None:
    lengths = [
        FACT._replace(what="pushrod", convention=one, typed="10.6 in", number=number)
        for number, one in enumerate(("overall", "theoretical"), 1)
    ]
    turned = [
        FACT._replace(what="turns", convention=one, typed="3", number=number)
        for number, one in enumerate(("closed", "zero lash"), 3)
    ]
    assert standing([*lengths, *turned]) == (lengths[1], *turned)
