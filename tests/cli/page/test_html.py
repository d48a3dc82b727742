"""The sheet in a real browser: its slider, what it reads out, what it asks of the network, how it prints.

Needs Chromium, and axe-core for the accessibility check: `AXE_CORE` names its axe.min.js.

Figures, measured on two cores with CPython 3.11:

- two points of every part that the sheet turns, in a browser, against the same worked out in Python: within 0.02
  mm of paper; limit: 0.02 mm
- the sheet's read-outs by keys and by pointer, against the numbers worked out in Python: to the last digit shown;
  limit: half of it
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.job.loading import load

from ...cli.commands.test_sheet import DAY, EVIL
from ...commands import DEMO, tallstack
from ...geometry.clearance.test_turning import twin  # noqa: F401  a fixture

pytestmark = pytest.mark.browser

ARGUMENTS = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    found = next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)
    assert found is not None, "install Chromium"
    with sync_playwright() as player:
        started = player.chromium.launch(executable_path=found, args=list(ARGUMENTS))
        yield started
        started.close()


class Opened:
    """A page that is open, with everything it said and asked for."""

    def __init__(self, browser: Any, path: Path, wide: int = 1100, high: int = 900) -> None:
        self.page = browser.new_page(viewport={"width": wide, "height": high})
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda one: self.said.append(one.text))
        self.page.on("pageerror", lambda one: self.said.append(str(one)))
        self.page.on("dialog", lambda one: (self.said.append(one.message), one.dismiss()))
        self.page.on("request", lambda one: self.asked.append(one.url))
        self.page.goto(path.as_uri())
        self.path = path

    def quiet(self) -> bool:
        return not self.said and self.asked == [self.path.as_uri()]

    def readings(self) -> dict[str, list[str]]:
        rows: dict[str, list[str]] = self.page.evaluate(
            "Object.fromEntries([...document.querySelectorAll('#readings tbody tr')].map("
            "row => [row.cells[0].textContent, [...row.cells].slice(1).map(cell => cell.textContent)]))"
        )
        return rows


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("a folder with spaces")


@pytest.fixture
def sheet(twin: Path, folder: Path) -> Path:  # noqa: F811
    out = folder / "the sheet.html"
    ended = tallstack("sheet", twin, "-o", out, "--date", DAY, "--force")
    assert ended.status in (0, 1), ended.err
    return out


def first_mm(text: str) -> float | None:
    found = re.match(r"(-?[\d.]+) mm", text)
    return None if found is None else float(found[1])


def test_keys_and_pointer_turn_the_engine_and_read_out_what_was_computed(
    browser: Any,
    sheet: Path,
    twin: Path,  # noqa: F811
) -> None:
    here = Opened(browser, sheet)
    slider = here.page.locator("#angle")
    assert here.page.get_by_role("slider", name=re.compile("Crank angle")).count() == 1
    parts = [here.page.locator(f"#part-{index}") for index in range(here.page.locator("[id^=part-]").count())]
    before = [one.bounding_box() for one in parts]
    slider.focus()
    for _ in range(24):
        here.page.keyboard.press("ArrowRight")
    assert slider.input_value() == "24"
    assert "24° after front" in slider.get_attribute("aria-valuetext")
    moved = [one.bounding_box() for one in parts]
    assert sum(a != b for a, b in zip(before, moved, strict=True)) >= len(parts) - 2
    _as_computed(here, twin, 24.0)
    box = slider.bounding_box()
    here.page.mouse.click(box["x"] + box["width"] * 0.25, box["y"] + box["height"] / 2)
    by_pointer = float(slider.input_value())
    assert -200 < by_pointer < -160
    _as_computed(here, twin, by_pointer)
    assert here.quiet(), (here.said, here.asked)


def _as_computed(here: Opened, job: Path, angle: float) -> None:
    """Compare every read-out with the numbers worked out in Python at that angle."""
    found = pages.turned(load(job), np.radians([angle]))
    rows = here.readings()
    for name, valve in found.valves.items():
        cells = rows[name.replace(".", " ")]
        for text, values in zip(cells[1:], (valve.lift, valve.drop, valve.gap), strict=True):
            assert values is not None
            shown = first_mm(text)
            assert shown is not None
            assert shown == pytest.approx(float(values[0]), abs=0.0051)
    for cylinder, moving in found.cylinders.items():
        shown = first_mm(rows[f"{cylinder}, piston below its top"][1])
        assert shown == pytest.approx(float(moving.below[0]), abs=0.0051)


def test_the_drawing_stands_where_it_was_computed(browser: Any, sheet: Path, twin: Path) -> None:  # noqa: F811
    """Every part's two points, carried by the page, against the same worked out in Python."""
    here = Opened(browser, sheet)
    here.page.locator("#angle").fill("100")
    job = load(twin)
    found = pages.turned(job, np.radians([0.0, 100.0]))
    from tallstack.cli.drawing.engine import numbers

    drawn = pages.engine_of(job, found)
    there, then = numbers(found, 1), numbers(found, 0)
    data = here.page.evaluate("JSON.parse(document.getElementById('turn-data').textContent)")
    for index, part in enumerate(drawn.parts):
        transform = here.page.locator(f"#part-{index}").get_attribute("transform")
        a, b, c, d, e, f = (float(one) for one in re.findall(r"-?[\d.]+", transform))
        at = data["parts"][index]["drawn"]
        scale = 1.0 / 3.0  # of the picture
        for point, moved in zip(at, (part.start, part.end), strict=True):
            placed = (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)
            by = (placed[0] - point[0], point[1] - placed[1])
            wanted = [
                (new - old) * scale for new, old in zip(moved.where(there), moved.where(then), strict=True)
            ]
            assert by == pytest.approx(wanted, abs=0.02), part.name


def test_the_cursor_runs_along_the_traces(browser: Any, sheet: Path) -> None:
    here = Opened(browser, sheet)
    slider, cursor = here.page.locator("#angle"), here.page.locator("#cursor-0")
    start = cursor.bounding_box()["x"]
    slider.fill("50")
    assert cursor.bounding_box()["x"] > start + 20
    slider.fill("180")
    assert cursor.get_attribute("visibility") == "hidden"


def test_the_page_is_set_in_the_letters_it_brings_along(browser: Any, sheet: Path) -> None:
    here = Opened(browser, sheet)
    loaded = "[...document.fonts].map(one => one.status)"
    assert here.page.evaluate(f"document.fonts.ready.then(() => {loaded})") == ["loaded"] * 2
    assert here.quiet(), (here.said, here.asked)


def test_units_are_chosen(browser: Any, sheet: Path) -> None:
    here = Opened(browser, sheet)
    head = here.page.locator("th.u-in").first
    assert head.is_visible()
    here.page.locator("input[value=only-mm]").check()
    assert not head.is_visible()
    here.page.locator("input[value=only-in]").check()
    assert head.is_visible()
    assert not here.page.locator("th.u-mm").first.is_visible()


def test_without_scripts_everything_but_the_turning_is_there(browser: Any, sheet: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(sheet.as_uri())
    assert page.get_by_role("heading", name="CHECK BY HAND").is_visible()
    assert not page.locator("#angle").is_visible()
    assert page.get_by_text("with scripts allowed it can be turned").is_visible()
    assert page.locator("svg").count() >= 4
    context.close()


def test_what_was_typed_never_runs(browser: Any, folder: Path) -> None:
    text = DEMO.read_text(encoding="utf-8")
    job = folder / "evil.toml"
    job.write_text(
        re.sub(
            r'^title = ".*"$',
            lambda _: f"title = {json.dumps(EVIL, ensure_ascii=False)}",
            text,
            flags=re.MULTILINE,
        ),
        encoding="utf-8",
    )
    out = folder / "evil.html"
    assert tallstack("sheet", job, "-o", out, "--date", DAY).status in (0, 1)
    here = Opened(browser, out)
    assert here.page.locator("h1").inner_text() == " ".join(EVIL.split())
    assert here.page.title() == " ".join(EVIL.split())
    assert here.quiet(), (here.said, here.asked)


@pytest.mark.parametrize("wide", [320, 390, 1100])
def test_no_width_is_too_narrow(browser: Any, sheet: Path, wide: int) -> None:
    here = Opened(browser, sheet, wide, 700)
    assert here.page.evaluate("document.documentElement.scrollWidth") <= wide
    assert here.quiet()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_with_nothing_clipped(browser: Any, sheet: Path, folder: Path, paper: str) -> None:
    here = Opened(browser, sheet)
    here.page.emulate_media(media="print")
    wide = 718 if paper == "A4" else 725  # px of the paper less its margins
    here.page.set_viewport_size({"width": wide, "height": 1000})
    clipped = here.page.evaluate(
        "[...document.querySelectorAll('main *')].filter(one => one.getBoundingClientRect().right > "
        f"{wide} + 1 && !one.closest('svg')).map(one => one.outerHTML.slice(0, 80))"
    )
    assert clipped == []
    out = folder / f"{paper}.pdf"
    here.page.pdf(path=str(out), format=paper)
    first = " ".join(pypdf.PdfReader(out).pages[0].extract_text().split())
    for words in ("PUSHRODS", "CLEARANCES", "CHECK BY HAND", "clay or dial", "signature"):
        assert words in first


def test_nothing_serious_stands_in_anybodys_way(browser: Any, sheet: Path) -> None:
    axe = os.environ.get("AXE_CORE")
    assert axe, "AXE_CORE names the axe.min.js of axe-core"
    here = Opened(browser, sheet)
    # the page's own policy lets nothing be added to it: a copy without it is looked at
    copy = sheet.with_name("without policy.html")
    text = sheet.read_text(encoding="utf-8")
    copy.write_text(re.sub(r"<meta http-equiv[^>]*>", "", text), encoding="utf-8")
    here = Opened(browser, copy)
    here.page.add_script_tag(path=axe)
    found = here.page.evaluate("axe.run()")
    serious = [
        (one["id"], one["nodes"][0]["html"])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    assert serious == []
