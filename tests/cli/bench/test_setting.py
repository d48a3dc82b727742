"""What the screen SET writes is what `tallstack record` writes; what it shows is what the record and the plan say.

What needs Chromium is marked `browser`; axe-core's accessibility check takes its axe.min.js from `AXE_CORE`.
"""

from __future__ import annotations

import asyncio
import re
import shutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from tallstack.cli.bench import setting, site
from tallstack.cli.bench.desk import OpenJob
from tallstack.cli.bench.setting import NotGivenError, Seen
from tallstack.cli.bench.site import application
from tallstack.cli.bench.working import BUILT, Asked, stages
from tallstack.cli.job.loading import load
from tallstack.cli.record.as_built import Compared, Plan, compared
from tallstack.cli.record.record_words import word_of
from tallstack.cli.record.recordfile import Fact, append, read, record_path, standing
from tallstack.cli.record.recordkinds import figures, kinds

from ...commands import DEMO, EXAMPLES, tallstack
from .asking import ask
from .in_browser import Opened, chromium, served

SHELF_JOB = EXAMPLES / "pushrods_from_the_shelf"
SOLID_JOB = EXAMPLES / "hot_lash_lost" / "job.toml"
WHEN = re.compile(r"^\d{4}-\d\d-\d\dT[^,;]*", re.M)


def laid(folder: Path, of: Path = SHELF_JOB / "job.toml") -> Path:
    """Return a copy of a job with what it names beside it, without its record."""
    folder.mkdir()
    for one in of.parent.iterdir():
        if one.suffix in (".toml", ".csv") and not one.name.endswith(".record.csv"):
            shutil.copyfile(one, folder / one.name)
    job = folder / of.name
    if of.parent == SHELF_JOB:
        job.write_text(f'shelf = "shelf.csv"\n{job.read_text(encoding="utf-8")}', encoding="utf-8")
    return job


@pytest.fixture
def opened(tmp_path: Path) -> OpenJob:
    return OpenJob(laid(tmp_path / "page"))


def put(here: OpenJob, owner: str = "front.intake", **what: Any) -> setting.Wrote:
    assert here.job is not None
    return here.write_down(setting.given({"owner": owner, **what}, here.job))


def lines_of(job: Path) -> str:
    """Return a record without its moments."""
    return WHEN.sub("WHEN", record_path(job).read_text(encoding="utf-8"))


def seen(here: OpenJob, owner: str, built: tuple[Compared, ...] = (), is_now: bool = True) -> Seen:
    return setting.seen(here.job, owner, here.record, here.orders(), built, (), is_now, "")


@pytest.mark.parametrize(
    ("owner", "typed", "words"),
    [
        (
            "front.intake",
            {
                "values": {"pushrod": "10.45 +/- 0.002", "flats": "7", "preload": "0.040"},
                **{"convention": "overall", "by": "A", "tool": "length gauge", "note": "=1+1, 'so'"},
            },
            ("--pushrod", "10.45 +/- 0.002", "--flats", "7", "--preload", "0.040", "--as", "overall")
            + ("--by", "A", "--tool", "length gauge", "--note", "=1+1, 'so'"),
        ),
        (
            "rear.exhaust",
            {
                "values": {"preload": "0.9 mm"},
                **{"visit": "500 miles", "temperature": "18 C", "found": True, "left": True},
            },
            ("--preload", "0.9 mm", "--visit", "500 miles", "--temperature", "18 C", "--found", "--left"),
        ),
        (
            "front.exhaust",
            {
                "values": {"preload": "1 mm"},
                **{"visit": "800 km", "left": True, "changed": "lifter"},
            },
            ("--preload", "1 mm", "--visit", "800 km", "--left", "--changed", "lifter"),
        ),
        (
            "front.intake",
            {"values": {"cover room full": "2.5 mm", "tip height": "41 mm"}, "lift": "10 mm"},
            ("--figure", "tip height = 41 mm", "--figure", "cover room full = 2.5 mm", "--lift", "10 mm"),
        ),
        (
            "rear",
            {"values": {"squish": "0.052", "crank": "12"}, "by": "A"},
            ("--squish", "0.052", "--crank", "12", "--by", "A"),
        ),
        ("rear", {"note": "studs were new"}, ("--note", "studs were new")),
    ],
)
def test_the_page_writes_what_the_command_writes(
    tmp_path: Path, owner: str, typed: dict[str, Any], words: tuple[str, ...]
) -> None:
    one, other = laid(tmp_path / "page"), laid(tmp_path / "command")
    wrote = put(OpenJob(one), owner, **typed)
    assert not wrote.faults
    ended = tallstack("record", other, owner, *words)
    assert ended.status in (0, 1), ended.err
    assert sorted(lines_of(one).splitlines()) == sorted(lines_of(other).splitlines())
    assert lines_of(one).splitlines()[0] == lines_of(other).splitlines()[0]


@pytest.mark.parametrize(
    ("typed", "at", "words"),
    [
        ({"values": {"preload": "1,2"}}, "preload", "a comma"),
        ({"values": {"pushrod": "10.45"}}, "convention", "a length means nothing without its convention"),
        ({"values": {"pushrod": "10.45"}, "convention": "about"}, "convention", "about"),
        ({"values": {"preload": "1 mm"}, "visit": "500 miles"}, "found", "found or left"),
        ({"values": {"preload": "1 mm"}, "left": True}, "visit", "at which visit?"),
        ({"values": {"cover room full": "2 mm"}}, "lift", "lift that it was read at"),
        ({"changed": "lifter"}, "visit", "at which visit?"),
        ({"changed": "wheel", "visit": "9 km"}, "changed", "nothing that is changed"),
        ({"values": {"drop": " ", "preload": ""}, "by": "A"}, "", "nothing to write down"),
        ({"note": "two\nlines"}, "note", ""),
    ],
)
def test_a_fault_is_told_at_its_field_and_writes_nothing(
    opened: OpenJob, typed: dict[str, Any], at: str, words: str
) -> None:
    wrote = put(opened, **typed)
    assert words in wrote.faults[at]
    assert "--" not in " ".join(wrote.faults.values())
    assert not record_path(opened.path).exists()
    assert opened.would_undo == ""


@pytest.mark.parametrize(
    "said",
    [
        {"owner": "side.intake"},
        {"owner": 3},
        {"owner": "front.intake", "values": {"squish": "1 mm"}},
        {"owner": "front.intake", "values": ["1 mm"]},
        {"owner": "front.intake", "values": {"preload": 1}},
        {"owner": "front.intake", "note": "x" * (setting.LONGEST + 1)},
        {"owner": "front.intake", "note": None},
        {"owner": "front.intake", "found": "yes"},
    ],
)
def test_what_nobody_can_type_there_is_refused(opened: OpenJob, said: dict[str, Any]) -> None:
    assert opened.job is not None
    with pytest.raises(NotGivenError):
        setting.given(said, opened.job)


def test_taking_back_withdraws_what_was_written_together(opened: OpenJob) -> None:
    put(opened, values={"preload": "1 mm"})
    put(opened, values={"turns": "2", "preload": "1.1 mm"})
    before = read(record_path(opened.path))
    assert "turns 2" in opened.would_undo
    assert opened.undo().fault == ""
    now = read(record_path(opened.path))
    assert now[: len(before)] == before
    gone = {one.withdraws: one.note for one in now[len(before) :]}
    assert gone == {
        one.number: setting.BACK for one in before if one.what in ("turns",) or "1.1" in one.typed
    }
    assert "turns 2" not in opened.would_undo
    assert opened.undo().fault == ""
    assert opened.would_undo == ""


def test_lines_that_others_write_meanwhile_are_left_alone(
    opened: OpenJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    def overtaken(path: Path, facts: tuple[Fact, ...], **more: Any) -> str:
        append(path, [facts[-1]._replace(what="note", typed="", value=None, note="of another")])
        return append(path, facts, **more)

    monkeypatch.setattr(setting, "append", overtaken)
    wrote = put(opened, values={"preload": "1 mm"})
    monkeypatch.undo()
    other = OpenJob(opened.path)
    put(other, "rear.exhaust", values={"preload": "1 mm"})
    assert wrote.lines is not None
    by_number = {one.number: one for one in read(record_path(opened.path))}
    assert [by_number[number].what for number in wrote.lines.numbers] == ["shelf", "preload"]
    assert opened.undo().fault == ""
    gone = {one.withdraws for one in read(record_path(opened.path))}
    assert gone - {0} == set(wrote.lines.numbers)


def test_lines_that_were_moved_by_hand_are_not_taken_back(opened: OpenJob) -> None:
    put(opened, values={"preload": "1 mm"})
    path = record_path(opened.path)
    head, *rest = path.read_text(encoding="utf-8").splitlines(keepends=True)
    note = rest[0].split(",")[0] + ",note,,,,,,before all,,,,\n"
    path.write_text("".join((head, note, *rest)), encoding="utf-8")
    before = path.read_bytes()
    assert "no longer says" in opened.undo().fault
    assert path.read_bytes() == before
    assert opened.would_undo


def test_what_somebody_has_withdrawn_is_not_withdrawn_twice(opened: OpenJob) -> None:
    put(opened, values={"preload": "1 mm"})
    other = OpenJob(opened.path)
    number = next(one.number for one in other.record.facts if one.what == "preload")
    assert "reason" in other.withdraw_line(number, " ")["note"]
    assert not other.withdraw_line(number, "read wrong")
    assert opened.undo().fault == ""
    withdrawn = [one.withdraws for one in read(record_path(opened.path)) if one.withdraws]
    assert sorted(withdrawn) == sorted(set(withdrawn))
    assert other.withdraw_line(99, "so")[""] == "the record has no line 99"


def test_a_line_that_is_withdrawn_is_what_is_taken_back_next(opened: OpenJob) -> None:
    put(opened, values={"drop": "3 mm"})
    wrote = put(opened, values={"preload": "1 mm"})
    assert wrote.lines is not None
    number = wrote.lines.numbers[-1]
    assert not opened.withdraw_line(number, "read wrong")
    assert opened.would_undo == f"line {number} is written down again"
    assert opened.undo().fault == ""
    counting = {(one.what, one.typed) for one in standing(read(record_path(opened.path)))}
    assert {("drop", "3 mm"), ("preload", "1 mm")} <= counting
    assert "preload" in opened.would_undo
    assert opened.undo().fault == ""
    assert {one.what for one in standing(read(record_path(opened.path)))} == {"drop", "shelf"}
    assert "drop" in opened.would_undo


def test_a_line_that_counts_again_is_taken_back_with_those_it_was_written_down_with(opened: OpenJob) -> None:
    wrote = put(opened, values={"preload": "1 mm", "drop": "3 mm"})
    assert wrote.lines is not None
    told = opened.would_undo
    assert not opened.withdraw_line(wrote.lines.numbers[-1], "read wrong")
    assert opened.undo().fault == ""
    assert opened.would_undo == told
    assert opened.undo().fault == ""
    assert not opened.would_undo
    assert not standing(read(record_path(opened.path)))


def test_a_record_that_cannot_be_read_is_told_and_not_written_to(opened: OpenJob) -> None:
    path = record_path(opened.path)
    path.write_text("when,what,value\nyesterday,preload,1 mm\n", encoding="utf-8")
    before = path.read_bytes()
    assert opened.refresh()
    assert "yesterday" in seen(opened, "front.intake").why
    assert "yesterday" in put(opened, values={"preload": "1 mm"}).faults[""]
    assert path.read_bytes() == before


def test_another_record_is_another_state_of_the_job(opened: OpenJob) -> None:
    first = opened.hash
    put(OpenJob(opened.path), values={"preload": "1 mm"})
    assert opened.hash == first
    assert opened.refresh()
    second = opened.hash
    assert second != first
    assert not opened.refresh()
    put(opened, values={"preload": "1.1 mm"})
    assert opened.hash not in (first, second)


@cache
def solid() -> Any:
    return load(SOLID_JOB)


def test_a_gear_is_asked_for_the_setting_of_its_lifter(opened: OpenJob) -> None:
    hydraulic = seen(opened, "front.intake").form
    job = solid()
    owner = job.names["trains"][0]
    form = setting.seen(job, owner, setting.Written(SOLID_JOB), job.orders, (), (), False, "").form
    assert hydraulic is not None
    assert form is not None
    for found, there, absent in ((hydraulic, "preload", "lash"), (form, "lash", "preload")):
        whats = [one.what for one in found.first]
        assert there in whats
        assert absent not in [one.what for one in (*found.first, *found.box, *found.more)]
        assert [one for one in kinds() if one in whats] == whats
    assert hydraulic.convention == opened.orders()[0].convention
    assert {one.what for one in hydraulic.box} == {one for one in kinds() if one in setting.BY_NAME}


def test_bleeding_down_is_told_of_lifters_that_hold_oil_alone(opened: OpenJob) -> None:
    job = solid()
    owner = job.names["trains"][0]
    dry = setting.seen(job, owner, setting.Written(SOLID_JOB), job.orders, (), (), False, "").where
    assert any("bleed down" in one for one in seen(opened, "front.intake").where)
    assert dry
    assert not any("bleed down" in one for one in dry)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "folder of jobs"
    path = laid(folder, DEMO)
    shutil.copyfile(record_path(DEMO), record_path(path))
    return path


def test_a_cylinder_is_asked_for_what_is_planned_of_it(demo: Path) -> None:
    here = OpenJob(demo)
    assert here.job is not None
    form = seen(here, "front").form
    assert form is not None
    whats = {one.what for one in form.first}
    plan = Plan(here.job)
    planned = {
        what
        for what in figures()
        if kinds()[what].of == "cylinder" and plan.of(what, "front", "").value is not None
    }
    assert planned - {"deck", "squish"}
    assert whats == {"deck", "squish", "valve to valve", "crank"} | planned
    assert not form.conventions
    assert not form.box
    assert {one for one, _ in form.changes} == {"head", "cylinder", "camshaft"}


def test_rows_are_those_of_the_record_command(demo: Path) -> None:
    here = OpenJob(demo)
    assert here.job is not None
    built = compared(Plan(here.job), here.record.facts)
    for owner in (*here.job.names["trains"], *here.job.names["cylinders"]):
        wanted = [one for one in built if one.of == owner]
        rows = seen(here, owner, built).rows
        assert [one.word for one in rows] == [word_of(one) for one in wanted]
        assert [one.is_open for one in rows] == [one.fact is None for one in wanted]
    (squish,) = [one for one in seen(here, "front", built).rows if one.what == "squish"]
    assert (squish.plan, squish.built, squish.differs) == ("0.054 in", "0.052 in", "-0.002 in")
    assert (squish.plan_doubt, squish.built_doubt) == ("0.003", "0.003")
    assert any("limits: at least" in one for one in squish.behind)


def test_rows_are_worked_out_beside_with_what_visits_found(demo: Path, tmp_path: Path) -> None:
    path = laid(tmp_path / "page", DEMO)
    here = OpenJob(path)
    put(here, "rear.exhaust", values={"preload": "0.029 +/- 0.002"}, tool="dial")
    put(here, "rear.exhaust", values={"preload": "0.010 +/- 0.002"}, visit="500 miles", found=True)
    put(here, "front", values={"squish": "0.052 +/- 0.003"})
    found = next(each for stage, each in stages(Asked(path, here.text, here.hash)) if stage == BUILT)
    assert [one.word for one in seen(here, "front", found.rows).rows] == ["not recorded yet", "AS PLANNED"]
    ((of, told),) = found.moved
    assert of == "rear.exhaust"
    assert "between assembly and 500 miles" in told
    assert "--" not in told
    shown = setting.seen(here.job, of, here.record, here.orders(), found.rows, found.moved, True, "")
    assert shown.moved == (told,)


def test_rows_of_another_record_are_marked(demo: Path) -> None:
    here = OpenJob(demo)
    assert seen(here, "front", (), is_now=False).is_working
    assert not seen(here, "front", (), is_now=True).is_working
    assert seen(here, "front", (), is_now=False).is_stale


def test_lines_are_told_as_they_stand_and_others_apart(demo: Path) -> None:
    found = seen(OpenJob(demo), "rear.exhaust")
    assert [one.number for one in found.lines] == [2, 3]
    assert all(one.stands for one in found.lines)
    assert "10.990 +/- 0.002 in as overall" in found.lines[0].told
    assert [one.number for one in found.others] == [1, 4]


def test_a_job_that_cannot_be_so_says_why_nothing_is_written(tmp_path: Path) -> None:
    path = laid(tmp_path / "page")
    path.write_text(
        path.read_text(encoding="utf-8").replace("[crank]", "[crank]\nstroke = -1", 1), encoding="utf-8"
    )
    here = OpenJob(path)
    assert here.job is None
    assert "job file" in seen(here, "front.intake").why
    assert "job file" in here.write_down(setting.Said(of="front.intake", note="x")).faults[""]
    assert not record_path(path).exists()


def test_a_job_that_is_just_begun_asks_for_nothing(tmp_path: Path) -> None:
    path = tmp_path / "begun.toml"
    path.write_text('format = 1\nunits = "mm"\n', encoding="utf-8")
    found = seen(OpenJob(path), "")
    assert found.form is None
    assert (found.rows, found.lines, found.where) == ((), (), ())
    assert "No valve gear or cylinder in this job yet" in ask(application(tmp_path), "/jobs/begun/set").text


def test_the_crank_stands_where_both_lifters_rest(demo: Path) -> None:
    here = OpenJob(demo)
    assert here.job is not None
    (front, rear) = setting.places(here.job).values()
    assert (front.cylinder, rear.cylinder) == ("front", "rear")
    assert setting.stands_at(front) == 0.0
    assert front.heel is not None
    moved = front._replace(heel=front.heel._replace(begins=0.1, ends=0.5))
    assert setting.stands_at(moved) == pytest.approx(17.19, abs=0.01)


# ---- over the web


def test_a_request_answers_with_pieces_and_what_became_of_it(tmp_path: Path) -> None:
    path = laid(tmp_path / "page")
    app = application(path.parent)
    here = {"screen": "set", "owner": "front.intake"}
    found = ask(app, "/record/job", {**here, "values": {"flats": "7"}, "turned_from": "zero lash"}).json
    assert found["faults"] == {}
    assert "flats 7 from zero lash" in found["parts"]["set-lines"]
    assert "flats 7" in found["parts"]["undo"]
    bad = ask(app, "/record/job", {**here, "values": {"preload": "1,2"}}).json
    assert list(bad["faults"]) == ["preload"]
    assert bad["hash"] == found["hash"]
    (line,) = [one.number for one in read(record_path(path)) if one.what == "flats"]
    found = ask(app, "/withdraw/job", {**here, "number": line, "note": ""}).json
    assert list(found["faults"]) == ["note"]
    found = ask(app, "/withdraw/job", {**here, "number": line, "note": "miscounted <b>"}).json
    assert found["faults"] == {}
    assert "miscounted &lt;b&gt;" in found["parts"]["set-lines"] + found["parts"]["set-plan"]


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/record/job", {"owner": "front.intake", "values": {"flats": 7}}),
        ("/record/job", {"owner": "nobody", "note": "x"}),
        ("/record/job", []),
        ("/withdraw/job", {"number": True, "note": "x"}),
        ("/withdraw/job", {"number": "1", "note": "x"}),
        ("/withdraw/job", {"number": 1, "note": "x" * (setting.LONGEST + 1)}),
        ("/withdraw/job", {"number": 1}),
    ],
)
def test_a_request_that_no_page_makes_is_refused(tmp_path: Path, path: str, said: object) -> None:
    job = laid(tmp_path / "page")
    assert ask(application(job.parent), path, said).status == 400
    assert not record_path(job).exists()


def test_a_record_that_another_writes_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(site, "LOOK_S", 0.01)
    path = laid(tmp_path / "page")
    here = application(path.parent).state.site
    before = here.job("job").hash

    async def told() -> Any:
        queue: asyncio.Queue[Any] = asyncio.Queue()
        here.listening.add(queue)
        watching = asyncio.create_task(here.watch())
        put(OpenJob(path), values={"preload": "1 mm"})
        try:
            return await asyncio.wait_for(queue.get(), 10)
        finally:
            watching.cancel()

    found = asyncio.run(told())
    assert (found["job"], found["stage"]) == ("job", "file")
    assert found["hash"] == here.job("job").hash != before


# ---- in a browser


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """Return the address of a page of one folder."""
    with served(laid(tmp_path / "page").parent) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.mark.browser
def test_flats_are_counted_by_tapping_written_down_and_taken_back(
    browser: Any, address: str, tmp_path: Path
) -> None:
    record = tmp_path / "page" / "job.record.csv"
    here = Opened(browser, f"{address}/jobs/job/set/front.intake", 390, 844, has_touch=True)
    page = here.page
    flat = page.get_by_role("button", name="one flat")
    assert flat.bounding_box()["height"] >= 72
    for _ in range(8):
        flat.tap()
    page.get_by_role("button", name="one back").tap()
    assert page.locator("#count").inner_text() == "7"
    assert page.locator("#s-flats").input_value() == "7"
    page.fill("#s-by", "A")
    page.fill("#s-drop", "1,2")
    page.get_by_role("button", name="write it down").tap()
    fault = page.locator("#f-s-drop .fault")
    fault.wait_for()
    assert "a comma" in fault.inner_text()
    assert not record.exists()
    page.fill("#s-drop", "")
    page.locator("#s-drop").press("Enter")  # goes on, and writes nothing
    assert not record.exists()
    page.fill("#s-clay", "still typed")
    page.wait_for_function("!document.querySelector('#set-plan').textContent.includes('Working it out')")
    assert page.locator("#s-clay").input_value() == "still typed"
    page.fill("#s-clay", "")
    page.get_by_role("button", name="write it down").tap()
    page.locator("#set-lines", has_text="flats 7 from zero lash").wait_for()
    assert page.locator("#count").inner_text() == "0"
    assert page.locator("#s-by").input_value() == "A"
    assert [one.typed for one in read(record) if one.what == "flats"] == ["7"]
    page.wait_for_function("document.querySelector('#set-plan').textContent.includes('recorded7')")
    page.locator("#undo button").tap()
    page.locator("#set-lines", has_text="WITHDRAWN").wait_for()
    assert len({one.withdraws for one in read(record)} - {0}) == len(read(record)) / 2
    page.fill("#s-note", "a note")
    page.get_by_role("button", name="write it down").tap()
    page.locator("#set-lines", has_text="note: a note").wait_for()
    page.get_by_role("button", name="line 6 was a mistake").tap()
    page.get_by_role("button", name="withdraw the line").tap()
    page.locator("#f-m-note .fault").wait_for()
    assert page.evaluate("document.activeElement.id") == "m-note"
    page.fill("#m-note", "of another engine")
    page.get_by_role("button", name="withdraw the line").tap()
    page.locator("#mistake").wait_for(state="hidden")
    assert read(record)[-1].withdraws == 6  # the line before says the shelf again
    page.fill("#s-note", "once more")
    page.get_by_role("button", name="write it down").tap()
    page.locator("#set-lines", has_text="note: once more").wait_for()
    lines = record.read_text(encoding="utf-8").replace("once more", "changed by hand")
    record.write_text(lines, encoding="utf-8")
    page.locator("#set-lines", has_text="changed by hand").wait_for()  # somebody else wrote
    page.locator("#undo button").tap()
    page.locator("#refused", has_text="no longer says").wait_for()
    assert record.read_text(encoding="utf-8") == lines
    assert not here.said
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("wide", [390, *(pytest.param(one, marks=pytest.mark.wide) for one in (820, 1280))])
def test_the_screen_is_accessible_and_no_wider_than_its_window(
    browser: Any, address: str, wide: int, dark: bool
) -> None:
    scheme = "dark" if dark else "light"
    for owner in ("front.intake", "rear"):
        here = Opened(browser, f"{address}/jobs/job/set/{owner}", wide, color_scheme=scheme)
        here.until("!document.querySelector('#set-plan').textContent.includes('Working it out')")
        here.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
        assert here.page.evaluate("document.documentElement.scrollWidth") <= wide
        assert here.axe() == []
        here.page.close()
