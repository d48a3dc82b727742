"""`tallstack record`: the log beside the job keeps every line, and plan against as-built is the plan of the others.

Figures, measured on two cores with CPython 3.11:

- a recorder killed 200 times; two recorders of 50 lines each: no line lost, none in part
"""

from __future__ import annotations

import csv
import math
import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest
from tallstack.cli import appending
from tallstack.cli.files import OutputRefusedError
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.record.recordfile import Fact, append, read, record_path, standing
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.sure.planned import Planned, Standing, standing_of

from ...clearance_jobs import by_coordinates
from ...commands import EXAMPLES, Ended, tallstack

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


def row_of(ended: Ended, what: str, of: str) -> dict[str, object]:
    (found,) = [
        row
        for row in ended.json["compared"]
        if row["what"] == what and of in (row.get("train"), row.get("cylinder"))
    ]
    return dict(found)


def lines_of(job: Path) -> list[dict[str, str]]:
    with record_path(job).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_nothing_recorded_shows_the_plan_and_writes_nothing(job: Path) -> None:
    ended = record(job)
    assert ended.status == 0, ended.err
    assert "nothing is written down yet" in ended.out
    assert "front intake, pushrod" in ended.out
    assert not record_path(job).exists()


def test_the_plan_is_that_of_pushrods(job: Path) -> None:
    (order,) = [
        one for one in tallstack("pushrods", job, "--json").json["pushrods"] if one["train"] == "rear.exhaust"
    ]
    ended = record(job, "--json")
    row = row_of(ended, "pushrod", "rear.exhaust")
    assert row["planned_mm"] == order["overall_mm"]
    assert row["planned_doubt_mm"] == order["doubt_mm"]
    wish = row_of(ended, "preload", "rear.exhaust")
    assert (wish["planned_mm"], wish["least_mm"], wish["most_mm"]) == (
        order["preload_mm"],
        order["preload_least_mm"],
        order["preload_most_mm"],
    )


def test_facts_are_written_as_typed_one_a_line(job: Path) -> None:
    ended = record(
        job,
        *("front.intake", "--pushrod", "10.630 +/- 0.001 in", "--as", "overall", "--preload", "0.043"),
        *("--by", "Ann", "--tool", "mic A", "--when", "2026-03-14T16:05:00+01:00", "--note", "second try"),
    )
    assert ended.status == 0, ended.err
    first, second = lines_of(job)
    assert first["what"] == "pushrod"
    assert first["as"] == "overall"
    assert first["value"] == "10.630 +/- 0.001 in"
    assert second["value"] == "0.043 in"  # a bare number gets the job's unit
    assert {line["of"] for line in (first, second)} == {"front.intake"}
    assert [first[name] for name in ("by", "tool", "note")] == ["Ann", "mic A", "second try"]
    assert first["when"] == WHEN


def test_now_is_written_with_its_offset_to_the_second(job: Path) -> None:
    before = datetime.now().astimezone().replace(microsecond=0)
    assert record(job, "--note", "started").status == 0
    moment = datetime.fromisoformat(lines_of(job)[0]["when"])
    assert moment.utcoffset() is not None
    assert before <= moment <= datetime.now().astimezone()
    assert moment.microsecond == 0


def test_a_difference_is_judged_by_both_doubts_together(job: Path) -> None:
    plan = row_of(record(job, "--json"), "preload", "front.intake")
    wish, doubt = float(str(plan["planned_mm"])), float(str(plan["planned_doubt_mm"]))
    half = 0.05
    both = math.hypot(doubt, 2 * half / math.sqrt(3))
    for off, verdict, status in ((both - 0.002, "as_planned", 0), (both + 0.002, "beyond_the_doubt", 1)):
        typed = f"{wish + off:.5f} +/- {half} mm"
        ended = record(job, "front.intake", "--preload", typed, "--json")
        row = row_of(ended, "preload", "front.intake")
        assert row["verdict"] == verdict
        assert ended.status == status
        assert row["difference_mm"] == pytest.approx(off, abs=1e-5)


def test_without_a_doubt_it_cannot_be_judged_but_a_limit_still_counts(job: Path) -> None:
    ended = record(job, "front.intake", "--preload", "0.043 in")
    assert "NOT JUDGED" in ended.out
    assert "what was recorded has no +/-" in ended.out
    assert ended.status == 0
    assert record(job, "--strict").status == 1
    ended = record(job, "front.intake", "--preload", "0.024 in")
    assert ended.status == 1
    assert "front intake, preload: LIMIT MISSED" in ended.out
    assert "at least 0.025 in (0.64 mm)" in ended.out
    assert "below them by 0.001 in (0.03 mm)" in " ".join(ended.out.split())


def test_a_pushrod_says_what_it_does_where_nothing_sets_it_right(job: Path) -> None:
    ended = record(job, "front.intake", "--pushrod", "10.560 in", "--as", "overall")
    assert ended.status == 1
    assert "front intake, pushrod as overall: LIMIT MISSED" in ended.out
    assert "it is slack by" in ended.out.replace("\n    ", " ")


def test_another_convention_is_compared_in_that_convention(job: Path) -> None:
    ended = record(job, "front.intake", "--pushrod", "270 +/- 0.02 mm", "--as", "theoretical", "--json")
    row = row_of(ended, "pushrod", "front.intake")
    (order,) = [
        one for one in tallstack("pushrods", job, "--json").json["pushrods"] if one["train"] == "front.intake"
    ]
    assert row["as"] == "theoretical"
    assert row["planned_mm"] == order["theoretical_mm"]


def test_turns_and_flats_come_from_the_shelf(job: Path) -> None:
    shelf = job.with_name("shelf.csv")
    offers = tallstack("pushrods", job, "--shelf", shelf, "--json").json["pushrods"][0]["shelf"]
    (taken,) = [one for one in offers if one["label"] == "screw type"]
    ended = tallstack(
        *("record", job, "front.intake", "--turned-from", "closed", "--shelf", shelf, "--json"),
        *("--turns", f"{taken['turns']:.3f} +/- 0.05", "--flats", str(taken["flats"])),
    )
    assert ended.status == 0, ended.err
    turns, flats = (row_of(ended, what, "front.intake") for what in ("turns", "flats"))
    assert (turns["planned"], flats["planned"]) == (taken["turns"], taken["flats"])
    assert (turns["verdict"], flats["verdict"]) == ("as_planned", "as_planned")
    off = str(taken["flats"] - 3)
    ended = tallstack(
        *("record", job, "front.intake", "--turned-from", "closed", "--shelf", shelf, "--flats", off)
    )
    assert "front intake, flats from closed: BEYOND THE DOUBT" in ended.out


def test_turns_of_a_rockers_screw_count_from_zero_lash() -> None:
    source = EXAMPLES / "single_with_lifter_screws" / "job.toml"
    ended = tallstack("record", source, "--json")
    (order,) = [
        one
        for one in tallstack("pushrods", source, "--json").json["pushrods"]
        if one["train"].endswith("intake")
    ]
    row = row_of(ended, "flats", order["train"])
    assert row["planned"] == order["adjuster"]["flats_from_zero_lash"]
    assert row["as"] == "zero lash"
    lash = row_of(ended, "lash", order["train"])
    assert lash["planned_mm"] == order["lash_mm"]


@pytest.mark.wide
def test_clearances_are_those_of_clearance_and_fits(tmp_path: Path) -> None:
    job = by_coordinates(tmp_path)
    clear = tallstack("clearance", job, "--json").json
    valve, pair = clear["valves"][0], clear["pairs"][0]
    train, cylinder = valve["train"], pair["cylinder"]
    ended = tallstack("record", job, train, "--clay", "1.0 mm", "--valve-lift", "9 +/- 0.1 mm", "--json")
    assert ended.status == 1  # thinner than the limit
    drop, clay, lift = (row_of(ended, what, train) for what in ("drop", "clay", "valve_lift"))
    assert (drop["planned_mm"], drop["least_mm"]) == (valve["drop_mm"], valve["target_mm"])
    assert (clay["planned_mm"], clay["verdict"]) == (valve["gap_mm"], "short")
    assert lift["planned_mm"] == valve["peak_lift_mm"]
    between = row_of(ended, "valve_to_valve", cylinder)
    assert between["planned_mm"] == pair["valve_to_valve_mm"]
    assert between["planned_doubt_mm"] == pair["doubt_mm"]
    fits = tallstack("fits", job, "--json").json["cylinders"][0]
    assert row_of(ended, "squish", cylinder)["planned_mm"] == fits["squish_mm"]


def test_the_doubt_of_a_lift_is_that_of_its_cam_and_rocker(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    text = (SHELF_JOB / "job.toml").read_text(encoding="utf-8")
    text = text.replace('peak = "0.318 in"', 'peak = "0.318 +/- 0.002 in"', 1)
    text = text.replace(
        "[train.measured_pushrod]", '[train.rocker]\nratio = "1.5"\n[train.measured_pushrod]', 1
    )
    job.write_text(text, encoding="utf-8")
    ended = tallstack("record", job, "front.intake", "--valve-lift", "0.477 +/- 0.001 in", "--json")
    row = row_of(ended, "valve_lift", "front.intake")
    assert row["planned_doubt_mm"] == pytest.approx(1.5 * 2 * 0.002 * 25.4 / math.sqrt(3), rel=1e-3)
    assert row["without_doubt"] == ["front.intake.rocker.ratio"]
    assert row["verdict"] == "not_judged"


def test_the_crank_is_held_against_the_window(job: Path) -> None:
    heel = tallstack("pushrods", job, "--json").json["pushrods"][0]["heel_deg"]
    ended = record(job, "front", "--crank", "0 +/- 2")
    assert "front, crank: WITHIN LIMITS" in ended.out, ended.err
    assert ended.status == 0
    ended = record(job, "front", f"--crank={heel[0] - 5:.1f}", "--json")
    row = row_of(ended, "crank", "front")
    assert row["verdict"] == "short"
    assert [row["least_deg"], row["most_deg"]] == heel


def test_a_later_line_counts_and_both_stay(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.020 in")
    ended = record(job, "front.intake", "--preload", "0.043 +/- 0.003 in")
    assert ended.status == 0
    assert "[a later line counts]" in " ".join(ended.out.split())
    assert [line["value"] for line in lines_of(job)] == ["0.020 in", "0.043 +/- 0.003 in"]


def test_a_line_is_withdrawn_by_another_with_the_reason(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.020 in")
    refused = record(job, "--withdraw", "1")
    assert refused.status == 2
    assert "--withdraw 1: a line is withdrawn with the reason" in refused.err
    ended = record(job, "--withdraw", "1", "--note", "that was the exhaust")
    assert ended.status == 0
    assert "[WITHDRAWN]" in " ".join(ended.out.split())
    assert row_of(record(job, "--json"), "preload", "front.intake")["verdict"] == "not_recorded"
    assert len(lines_of(job)) == 2
    for number, why in (("1", "withdrawn already"), ("2", "withdraws another"), ("9", "has 2 lines")):
        again = record(job, "--withdraw", number, "--note", "again")
        assert again.status == 2
        assert why in again.err


def test_lines_that_were_moved_under_a_withdrawal_are_noticed(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.020 in")
    record(job, "rear.intake", "--preload", "0.030 in")
    record(job, "--withdraw", "1", "--note", "wrong valve")
    path = record_path(job)
    text = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join([text[0], *text[2:]]), encoding="utf-8")
    told = record(job)
    assert told.status == 2
    assert f"{path}:3:1: value: " in told.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            ("front.intake", "--pushrod", "10.6 in"),
            "--pushrod: a length means nothing without its convention",
        ),
        (("front.intake", "--pushrod", "10,6", "--as", "overall"), "--pushrod 10,6: "),
        (("front.intake", "--pushrod", "10.6", "--as", "over"), "--as over: "),
        (("front.intke", "--preload", "0.04"), "did you mean front.intake?"),
        (("--preload", "0.04"), "--preload: is of a valve gear, and none is named"),
        (("front.intake", "--squish", "0.04"), "--squish: is of a cylinder, and front.intake is not one"),
        (("front", "--preload", "0.04"), "--preload: is of a valve gear, and front is not one"),
        (("front.intake", "--preload", ""), "--preload: no value after it"),
        (("front.intake", "--preload", "0.04", "--when", "yesterday"), "--when yesterday: no date"),
        (("front.intake", "--preload", "0.04", "--by", "A\nB"), "text of one line"),
        (("front.intake",), "front.intake: nothing to write down of it"),
        (("--by", "Ann"), "--by Ann: nothing to write down with it"),
        (("front.intake", "--preload", "-0.04"), "must be 0 or more"),
        (("front.intake", "--flats", "3", "--turned-from", "there"), "--turned-from there: "),
        (
            ("front.intake", "--as", "overall", "--preload", "0.04"),
            "--as overall: says how a pushrod's length",
        ),
        (("--withdraw", "1", "--note", "x"), "no line to withdraw"),
    ],
)
def test_what_cannot_be_used_is_refused_and_nothing_is_written(
    job: Path, words: tuple[str, ...], told: str
) -> None:
    ended = record(job, *words)
    assert ended.status == 2
    assert told in ended.err
    assert not ended.out
    assert not record_path(job).exists()


def test_a_job_that_computes_nothing_still_lets_facts_be_recorded(tmp_path: Path) -> None:
    job = tmp_path / "bare.toml"
    job.write_text(
        'format = 1\nunits = "mm"\n[[cylinder]]\nname = "one"\n'
        '[[train]]\ncylinder = "one"\nport = "intake"\n'
        '[lobe.intake]\ntable = "lobe.csv"\nmeasured_at = "lifter"\ncentreline = 104\n',
        encoding="utf-8",
    )
    (tmp_path / "lobe.csv").write_text("angle,lift\n0,nonsense\n", encoding="utf-8")
    facts = ("--pushrod", "271.2 mm", "--as", "overall", "--preload", "1 mm", "--clay", "2 mm")
    ended = tallstack("record", job, "one.intake", *facts, "--valve-lift", "9 mm")
    assert ended.status == 1  # thinner than common practice
    assert len(lines_of(job)) == 4
    assert "one intake, pushrod as overall: NOT PLANNED" in ended.out
    assert "lobe.csv:2" in ended.out.replace("\n    ", "")
    ended = tallstack("record", job, "one", "--squish", "1.1 mm", "--deck", "0.2 mm", "--crank", "0")
    assert len(lines_of(job)) == 7


def test_facts_of_what_the_job_no_longer_has_are_shown(job: Path) -> None:
    record(job, "--note", "started")
    path = record_path(job)
    with path.open("a", encoding="utf-8") as stream:
        stream.write(f"{WHEN},preload,middle.intake,,0.04 in,,,\n")
    ended = record(job)
    assert "middle.intake is not in this job" in ended.out
    assert ended.status == 0


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


def test_a_partial_write_is_cut_off_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.record.csv"
    append(path, [FACT])
    before = path.read_bytes()
    real = os.write
    monkeypatch.setattr(
        appending.os, "write", lambda handle, content: real(handle, content[: len(content) // 2])
    )
    with pytest.raises(OutputRefusedError, match="the disk is full; nothing was recorded"):
        append(path, [FACT])
    assert path.read_bytes() == before
    with pytest.raises(OutputRefusedError, match="the disk is full"):
        append(tmp_path / "new.record.csv", [FACT])
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_a_full_disk_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int, content: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(appending.os, "write", full)
    with pytest.raises(OutputRefusedError, match="No space left on device; nothing was recorded"):
        append(tmp_path / "x.record.csv", [FACT])
    assert not list(tmp_path.iterdir())


def test_without_a_lock_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fcntl = pytest.importorskip("fcntl")

    def refused(*_: object) -> None:
        raise OSError(37, "No locks available")

    monkeypatch.setattr(fcntl, "flock", refused)
    assert "no lock could be had" in append(tmp_path / "x.record.csv", [FACT])
    assert len(read(tmp_path / "x.record.csv")) == 1


def test_a_file_put_in_the_place_of_the_old_one_gets_the_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "x.record.csv"
    append(path, [FACT])
    real, times = appending._opened, []

    def opened(name: Path) -> tuple[int, bool]:
        found = real(name)
        if not times:  # an editor saves while we wait for the lock
            times.append(1)
            other = tmp_path / "other"
            other.write_bytes(name.read_bytes())
            other.replace(name)
        return found

    monkeypatch.setattr(appending, "_opened", opened)
    append(path, [FACT])
    assert len(read(path)) == 2


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
line = len(b"2026-03-14,note,,,,,," + b"n" * 190 + b"\\n")
grown = before = 0
began = time.perf_counter()
append(path, [fact])
long = 8 * max(time.perf_counter() - began, 0.001)  # of a write, on this machine
path.unlink()
for kill in range(200):
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
assert grown > 20, grown
append(path, [fact])
print(len(read(path)))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_killed_recorder_leaves_whole_lines_two_hundred_times(tmp_path: Path) -> None:
    ended = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path / "x.record.csv")],
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


@pytest.mark.parametrize(
    ("plan", "built", "doubt", "expected"),
    [
        (Planned(1.0, 0.1), 1.1, Doubt(0.0), Standing.AS_PLANNED),  # exactly at the doubt
        (Planned(1.0, 0.1), 1.1001, Doubt(0.0), Standing.BEYOND),
        (Planned(1.0, 0.3), 1.5, Doubt(0.2, 1.0), Standing.AS_PLANNED),  # 3-4-5
        (Planned(1.0, 0.3), 1.501, Doubt(0.2, 1.0), Standing.BEYOND),
        (Planned(1.0, 0.1, ("a",)), 1.0, Doubt(0.1), Standing.UNJUDGED),
        (Planned(1.0, None), 1.0, Doubt(0.1), Standing.UNJUDGED),
        (Planned(1.0, 0.1), 1.0, None, Standing.UNJUDGED),
        (Planned(1.0, 0.1, (), 0.9), 0.9, None, Standing.UNJUDGED),
        (Planned(1.0, 0.1, (), 0.9), 0.899, None, Standing.MISSES),
        (Planned(1.0, 0.1, (), None, 1.2), 1.201, Doubt(1.0), Standing.MISSES),
        (Planned(), 1.0, Doubt(0.1), Standing.UNPLANNED),
        (Planned(None, None, (), -1.0, 1.0), 0.5, None, Standing.UNJUDGED),
        (Planned(None, None, (), -1.0, 1.0), 0.5, Doubt(0.2, 1.0), Standing.WITHIN),
        (Planned(None, None, (), -1.0, 1.0), 0.5, Doubt(0.26, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.3, (), 0.5), 0.8, Doubt(0.2, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.3, (), 0.5), 0.9, Doubt(0.2, 1.0), Standing.AS_PLANNED),
        (Planned(1.0, 0.3, ("a",), 0.5), 0.8, Doubt(0.2, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.1, (), 0.5), 0.6, Doubt(0.2, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.0, (), 0.5), 0.55, Doubt(0.2, 1.0), Standing.BEYOND),
    ],
)
def test_how_what_was_set_stands(
    plan: Planned, built: float, doubt: Doubt | None, expected: Standing
) -> None:
    assert standing_of(plan, built, doubt) is expected


def test_the_answer_fits_a_terminal_in_plain_letters(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(job.parent)
    for where in ("front.intake", "rear.exhaust"):
        ended = record(
            Path("job.toml"), where, "--pushrod", "10.6 +/- 0.01 in", "--as", "overall", "--preload", "1.1 mm"
        )
    assert ended.out.isascii()
    assert max(map(len, ended.out.splitlines())) <= 80
