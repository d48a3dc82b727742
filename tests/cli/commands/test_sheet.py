"""`tallstack sheet`: the document for the job folder, as a page and as a PDF.

Figures, measured on two cores with CPython 3.11:

- `tallstack sheet` of a twin, PDF of 24 pages; page of 480 kB: 3.4 s; 2.8 s
"""

from __future__ import annotations

import base64
import hashlib
import html
import io
import json
import os
import re
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

import pypdf
import pytest
from tallstack.cli.page import letters
from tallstack.cli.page.model import CheckLine, Page, Sheet
from tallstack.cli.page.pdf import pdf
from tallstack.cli.sheet import work
from tallstack.cli.sheet.first_page import NEAREST
from tallstack.cli.sheet.hand_checks import CLOSEST, HAND_CHECKS, LOCKED

from ...commands import BENCH, DEMO, EXAMPLES, TWIN, tallstack
from ...geometry.clearance.test_turning import twin  # noqa: F401  a fixture
from ...geometry.doubt.test_readings import HANDED_OVER
from ...seeded import few

SHELF = EXAMPLES / "pushrods_from_the_shelf"
DAY = "2026-01-02"
POINT = 72 / 25.4
EVIL = "<script>alert(1)</script> \"quoted\" 'single' & ]]> \u05e9\u05dc\u05d5\u05dd \U0001f600"


def sheet(job: Path, out: Path, *more: object) -> bytes:
    """Return a sheet that was written, its risk drawn from few builds."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(work, "DRAWS", 500)
        ended = tallstack("sheet", job, "-o", out, "--date", DAY, *more)
    assert ended.status in (0, 1), ended.err
    return out.read_bytes()


def pages_of(content: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> str:
    return sheet(DEMO, tmp_path_factory.mktemp("sheet") / "sheet.html").decode("utf-8")


@cache
def printed(job: Path, paper: str) -> bytes:
    """Return the PDF of a job, made once for all tests."""
    with tempfile.TemporaryDirectory() as folder:
        return sheet(job, Path(folder) / "sheet.pdf", "--paper", paper)


@pytest.mark.parametrize(
    ("job", "paper"), [(BENCH, "letter"), pytest.param(HANDED_OVER, "a4", marks=pytest.mark.wide)]
)
def test_the_first_page_stands_alone(job: Path, paper: str) -> None:
    content = printed(job, paper)
    pages = pages_of(content)
    first = " ".join(pages[0].split())
    without = (LOCKED, CLOSEST) if job == BENCH else (LOCKED,)  # whose parts are not there
    for check in HAND_CHECKS:
        assert (check in first) is (check not in without)
    for words in ("BEFORE IT TURNS", "signature", "set by", "Springs and filled lifters hurt"):
        assert words in first
    answer = "pushrods" if job == BENCH else "clearance"
    document = tallstack(answer, job, "--json").json
    values = {
        row["train"].replace(".", " "): row["overall_mm"] if job == BENCH else row[f"{row['judged_on']}_mm"]
        for row in document["pushrods" if job == BENCH else "valves"]
    }
    if job == BENCH:
        for name, value in values.items():
            assert name in first
            assert f"{value:.2f} mm" in first
            assert f"{value / 25.4:.3f} in" in first
    else:
        assert first.count("CLOSEST ") == NEAREST
    whole = " ".join(" ".join(pages).split())
    assert all(f"{value:.2f} mm" in whole for value in values.values())
    for number, text in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in text
        assert f"printed {DAY}" in text
    digest = hashlib.sha256(job.read_bytes()).hexdigest()
    assert digest[:16] in first
    box = pypdf.PdfReader(io.BytesIO(content)).pages[0].mediabox
    wanted = (210.0, 297.0) if paper == "a4" else (215.9, 279.4)
    assert (float(box.width) / POINT, float(box.height) / POINT) == pytest.approx(wanted, abs=0.01)


@pytest.mark.wide
def test_without_a_crank_no_page_is_empty() -> None:
    content = printed(BENCH, "letter")
    pages = pages_of(content)
    engine = next(text for text in pages if "The engine, drawn from what was entered" in text)
    assert "NOT TO SCALE" in engine
    assert all(len(text) > 220 for text in pages)
    titles = {one.title for one in pypdf.PdfReader(io.BytesIO(content)).outline if not isinstance(one, list)}
    assert "The engine, drawn from what was entered" in titles


@pytest.mark.wide
@pytest.mark.parametrize("paper", few(["a4", "letter"], 1))
def test_no_text_runs_off_a_page(twin: Path, tmp_path: Path, paper: str) -> None:  # noqa: F811
    reader = pypdf.PdfReader(io.BytesIO(sheet(twin, tmp_path / "sheet.pdf", "--paper", paper)))
    from fpdf import FPDF

    measure = FPDF(unit="pt")
    measure.add_font("sheet", "", letters.file_of("DejaVuSans"))
    assert reader.pages
    for page in reader.pages:
        wide, high = float(page.mediabox.width), float(page.mediabox.height)
        seen: list[tuple[float, float, float, str]] = []

        def visit(text: str, user: list[float], place: list[float], font: object, size: float) -> None:
            if text.strip():
                seen.append((place[4], place[5], size, text.strip()))  # noqa: B023

        page.extract_text(visitor_text=visit)
        assert seen
        for across, up, size, text in seen:
            measure.set_font("sheet", "", max(size, 1.0))
            assert 0 <= across <= wide, text
            assert 0 <= up <= high, text
            assert across + 0.9 * measure.get_string_width(text.split("\n")[0]) <= wide * 1.02, text
    measure.fonts["sheet"].ttfont.close()


def test_letters_are_embedded_and_can_be_selected() -> None:
    reader = pypdf.PdfReader(io.BytesIO(printed(BENCH, "a4")))
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            descendant = font.get_object()["/DescendantFonts"][0].get_object()
            assert "/FontFile2" in descendant["/FontDescriptor"]
    assert "ORDER, overall" in reader.pages[0].extract_text()


def test_the_lines_of_a_known_length_have_it() -> None:
    lines_alone = Sheet("", "mm", Page("first", "", ()), (Page("lines", "", (CheckLine(),)),), "")
    reader = pypdf.PdfReader(io.BytesIO(pdf(lines_alone, "a4")))
    page = next(one for one in reader.pages if "100 mm, if this was printed to scale" in one.extract_text())
    number = r"(-?[\d.]+)"
    lines = re.findall(
        rf"{number} {number} m {number} {number} l",
        page.get_contents().get_data().decode("latin-1"),  # type: ignore[union-attr]
    )
    across = {round(float(c) - float(a), 2) for a, b, c, d in lines if b == d}
    assert round(100 * POINT, 2) in across
    assert round(4 * 72, 2) in across


@pytest.mark.wide
@pytest.mark.parametrize("ending", few([".pdf", ".html"], 1))
def test_same_job_same_bytes(tmp_path: Path, ending: str) -> None:
    paper = "a4"
    first = printed(BENCH, paper) if ending == ".pdf" else sheet(BENCH, tmp_path / "one.html")
    second = sheet(BENCH, tmp_path / f"two{ending}", "--paper", paper)
    assert first == second
    other = tmp_path / f"other{ending}"
    tallstack("sheet", BENCH, "-o", other, "--paper", paper, "--date", "2026-01-03")
    assert other.read_bytes() != first


@pytest.mark.wide
def test_same_job_same_bytes_in_another_process(tmp_path: Path) -> None:
    """Sets of words come in another order in every process, unless they are put in one."""
    made = []
    for seed in ("1", "2"):
        out = tmp_path / f"{seed}.html"
        command = [sys.executable, "-m", "tallstack.cli", "sheet", str(DEMO), "-o", str(out), "--date", DAY]
        ran = subprocess.run(command, env={**os.environ, "PYTHONHASHSEED": seed}, check=False)
        assert ran.returncode in (0, 1)
        made.append(out.read_bytes())
    assert made[0] == made[1]


@pytest.mark.wide
def test_nothing_on_the_page_comes_from_elsewhere_or_can_run(page: str) -> None:
    policy = html.unescape(re.search(r'Content-Security-Policy" content="([^"]+)"', page)[1])  # type: ignore[index]
    assert "default-src 'none'; font-src data:;" in policy
    assert set(re.findall(r"url\(([^)]{12})", page)) == {'"data:font/w'}
    scripts = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    styles = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    assert len(scripts) == len(styles) == 1
    for content in (*scripts, *styles):
        digest = base64.b64encode(hashlib.sha256(content.encode("utf-8")).digest()).decode()
        assert f"'sha256-{digest}'" in policy
    assert "unsafe" not in policy
    assert not re.search(r'\b(src|action|style)="', page)
    places = re.findall(r'href="#([^"]+)"', page)  # within the page alone
    assert len(places) == len(re.findall(r"\bhref=", page)) > 0
    assert all(f'<section id="{one}"' in page for one in places)
    assert not re.search(r'\son\w+="', page)
    assert set(re.findall(r"https?://[^\s\"'<]+", page)) <= {"http://www.w3.org/2000/svg"}


@pytest.mark.wide
def test_letters_that_the_pdf_cannot_show_are_named(tmp_path: Path) -> None:
    text = BENCH.read_text(encoding="utf-8").replace('title = "', 'title = "\U0001f527 \u53f0 ', 1)
    job = tmp_path / "job.toml"
    job.write_text(text, encoding="utf-8")
    told = tallstack("sheet", job, "-o", tmp_path / "sheet.pdf").out
    assert "its letters lack \u53f0 \U0001f527: each is printed as ?" in told
    assert "lack" not in tallstack("sheet", job, "-o", tmp_path / "sheet.html").out


def test_what_was_typed_stays_text(tmp_path: Path) -> None:
    text = BENCH.read_text(encoding="utf-8")
    title = re.search(r'^title = ".*"$', text, re.MULTILINE)
    assert title is not None
    job = tmp_path / "job.toml"
    job.write_text(
        text.replace(title[0], f"title = {json.dumps(EVIL, ensure_ascii=False)}"), encoding="utf-8"
    )
    shown = sheet(job, tmp_path / "sheet.html").decode("utf-8")
    assert "<script>alert(1)" not in shown
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in shown
    assert "\U0001f600" in shown
    assert len(re.findall(r"<script", shown)) == 2  # ours, and the numbers it turns the engine by
    pages = pages_of(sheet(job, tmp_path / "sheet.pdf"))
    assert "<script>alert(1)</script>" in " ".join(pages[0].split())


def test_the_page_is_whole_without_its_script(page: str) -> None:
    for check in HAND_CHECKS:
        assert check in html.unescape(page)
    for row in tallstack("pushrods", DEMO, "--json").json["pushrods"]:
        assert f"{row['overall_mm']:.2f} mm" in page
    assert "with scripts allowed it can be turned" in page
    assert len(re.findall(r"data-turns hidden", page)) == 6


def test_the_numbers_that_turn_the_engine_are_those_of_the_answers(page: str) -> None:
    data = json.loads(re.search(r'id="turn-data">(.*?)</script>', page, re.DOTALL)[1])  # type: ignore[index]
    valves = {one["name"]: one for one in data["valves"]}
    for row in tallstack("clearance", DEMO, "--json").json["valves"]:
        if row["drop_mm"] is None:
            continue
        valve = valves[row["train"]]
        own = data["cylinders"][valve["cylinder"]]["own"]
        near = [
            drop / data["per_mm"]
            for angle, drop in zip(own, valve["drop"], strict=True)
            if drop is not None and abs(angle - row["drop_at_deg"]) <= 1.0
        ]
        assert near
        assert min(near) >= row["drop_mm"] - 1e-4
        assert min(near) == pytest.approx(row["drop_mm"], abs=0.01)


def test_every_entry_is_on_the_sheet_as_typed(page: str) -> None:
    shown = html.unescape(page)
    for row in tallstack("check", DEMO, "--json").json["entries"]:
        if not row["from"].startswith("as "):
            assert row["typed"] in shown


def test_a_set_from_the_shelf_is_on_the_first_page(tmp_path: Path) -> None:
    content = sheet(SHELF / "job.toml", tmp_path / "sheet.pdf", "--shelf", SHELF / "shelf.csv")
    chosen = tallstack("pushrods", SHELF / "job.toml", "--shelf", SHELF / "shelf.csv", "--json").json["set"]
    first = " ".join(pages_of(content)[0].split())
    for one in chosen["pushrods"]:
        assert one["label"] in first


@pytest.mark.wide
def test_what_was_recorded_is_on_the_sheet_beside_the_plan(tmp_path: Path) -> None:
    job = tmp_path / "twin.toml"
    job.write_bytes(TWIN.read_bytes())
    written = ("--pushrod", "11.072 +/- 0.002 in", "--as", "overall", "--by", "=Ann", "--tool", "mic A")
    assert (
        tallstack("record", job, "front.intake", *written, "--when", "2026-01-02T10:00:00+01:00").status == 0
    )
    pages = pages_of(sheet(job, tmp_path / "sheet.pdf"))
    shown = " ".join(next(page for page in pages if "Plan against as-built" in page).split())
    assert re.search(r"front intake, pushrod 11.071 11.072 \+0.001 AS PLANNED; 2026-01-02 10:00", shown)
    assert "by =Ann, with mic A" in shown
    assert "rear exhaust, preload" in shown  # with room to write
    page = html.unescape(sheet(job, tmp_path / "sheet.html").decode("utf-8"))
    assert "1. front intake, pushrod 11.072 +/- 0.002 in as overall" in page


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ((), "name the file to write: -o sheet.html"),
        (("-o", "sheet.doc"), "a sheet is written as .html or .pdf"),
        (("-o", "sheet.pdf", "--paper", "a5"), "--paper a5: takes a4 or letter"),
        (("-o", "sheet.pdf", "--date", "yesterday"), "--date yesterday: write it as 2024-12-31"),
        (("-o", "sheet.pdf", "--date", "2026-02-30"), "--date 2026-02-30: there is no such day"),
        (("-o", "nowhere/sheet.pdf"), "folder nowhere does not exist"),
    ],
)
def test_a_sheet_that_cannot_be_written(
    options: tuple[str, ...], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ended = tallstack("sheet", BENCH, *options)
    assert ended.status == 2
    assert told in ended.err
    assert not list(tmp_path.iterdir())


def test_a_sheet_of_nothing_is_refused(tmp_path: Path) -> None:
    bare = tmp_path / "bare.toml"
    bare.write_text('format = 1\nunits = "mm"\n[[cylinder]]\nname = "one"\n', encoding="utf-8")
    ended = tallstack("sheet", bare, "-o", tmp_path / "sheet.pdf")
    assert ended.status == 2
    assert "nothing that can be worked out yet" in ended.err
    assert not (tmp_path / "sheet.pdf").exists()
