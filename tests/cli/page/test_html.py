"""The sheet as a page: what is written into it, and in a real browser what moves, what it asks for, how it prints.

What needs Chromium is marked `browser`; axe-core's accessibility check takes its axe.min.js from `AXE_CORE`.

Figures, measured on two cores with CPython 3.11:

- two points of every part that the sheet turns, in a browser, against the same worked out in Python: within 0.02
  mm of paper; limit: 0.02 mm
- the sheet's numbers by keys, by pointer and by touch, against those worked out in Python: to the last digit shown;
  limit: half of it
"""

from __future__ import annotations

import json
import math
import os
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.engine import numbers
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.cli.page.html import html, switched
from tallstack.cli.page.model import Blanks, Column, Heading, Length, Page, Row, Sheet, Span, Table, Words

from ...cli.bench.in_browser import chromium
from ...cli.commands.test_sheet import EVIL
from ...cli.commands.test_sheet import sheet as sheet_of
from ...commands import COORDINATES, DEMO, EXAMPLES, tallstack
from ...geometry.clearance.test_turning import CAM

LARGE = 22.0  # px, of numbers that are read from a step away
FINGER = 48.0  # px, of what is pressed
in_browser = pytest.mark.browser


def page_of(*blocks: object, units: str = "mm") -> str:
    first = Page("list", "A list", tuple(blocks))  # type: ignore[arg-type]
    return html(Sheet("A list", units, first, (), "foot")).decode("utf-8")


@pytest.mark.parametrize(
    ("words", "seen"),
    [
        (
            "drop 2.98 mm (0.117 in), to scale",
            {"mm": "drop 2.98 mm, to scale", "in": "drop 0.117 in, to scale"},
        ),
        ("preload 0.045 in, 1.14 mm", {"mm": "preload 1.14 mm", "in": "preload 0.045 in"}),
        (
            "limits 0.020 to 0.070 in (0.51 to 1.78 mm): yours",
            {"mm": "limits 0.51 to 1.78 mm: yours", "in": "limits 0.020 to 0.070 in: yours"},
        ),
        (
            "110 mm = 4.33071 in +/- 0.05 mm",
            {"mm": "110 mm +/- 0.05 mm", "in": "4.33071 in +/- 0.00197 in"},
        ),
        ("0.105 in (2.67 mm) +/- 0.008 in (0.20 mm) left", {"mm": "2.67 mm +/- 0.20 mm left"}),
        ("gasket 0.050 in, 3.20 mm of cork", {"mm": "gasket 0.050 in, 3.20 mm of cork"}),  # two lengths
        ("37.27 cu in, <b>", {"in": "37.27 cu in, &lt;b&gt;"}),
    ],
)
def test_a_length_in_both_units_leaves_the_one_that_was_chosen(words: str, seen: dict[str, str]) -> None:
    told = str(switched(words))
    plain = re.sub(r'<span class="u-\w\w other">[^<]*</span>', "", told)
    assert re.sub(r"</?span[^>]*>", "", plain) == words.replace("<", "&lt;").replace(">", "&gt;")
    for unit, left in seen.items():
        away = "in" if unit == "mm" else "mm"
        kept = re.sub(r'<span class="both">[^<]*</span>', "", told)
        kept = re.sub(rf'<span class="u-{away}(?: other)?">[^<]*</span>', "", kept)
        assert re.sub(r"</?span[^>]*>", "", kept) == left


def test_every_cell_says_what_it_is_for_a_card_and_a_card_has_room_to_write() -> None:
    columns = (Column("letter"), Column("read mm", to_write=20.0), Column("two\nlines"))
    told = page_of(Table(columns, (Row(("A", "", "")), Row(("B", Length(2.54, bare=True), "c")))))
    assert 'data-label="letter"' in told
    assert 'data-label="read mm" data-mm="read mm" data-in="read in"' in told
    assert 'data-label="two lines"' in told
    assert 'data-in="+/- in"' in page_of(Table((Column("a"), Column("+/- mm")), (Row(("b", "")),)))
    first = told[told.index("<tbody>") :].partition("</tr>")[0]
    assert re.search(r'<td class="[^"]*write[^"]*"[^>]*><span>&nbsp;</span>', first)
    assert re.search(r'<td class="[^"]* empty"[^>]*data-label="two lines"', first)
    assert "more" not in first


def test_a_row_without_a_name_belongs_to_the_one_above_but_not_one_without_a_letter() -> None:
    rows = (Row(("front", "a")), Row(("", "b")))
    assert '<tr class="more">' in page_of(Table((Column("valve"), Column("least")), rows))
    assert "more" not in page_of(Table((Column("letter"), Column("entry")), rows)).partition("<tbody>")[2]


def test_a_row_whose_name_ends_in_its_unit_is_told_in_the_one_that_was_chosen() -> None:
    row = Row(("length, in", Length(25.4, 0.03, "in", bare=True), Span(25.4, 50.8, 0.03, "in")))
    told = page_of(Table((Column("kind"), Column("value"), Column("of builds")), (row,)), units="in")
    body = told[told.index("<tbody>") :].partition("</tbody>")[0]
    for unit, other, wanted in (
        ("in", "mm", ("length, in", "1.000", "1.000 to 2.000")),
        ("mm", "in", ("length, mm", "25.40", "25.40 to 50.80")),
    ):
        kept = re.sub(rf'<span class="u-{other}(?: other)?">[^<]*</span>', "", body)
        cells = [re.sub(r"<[^>]*>", "", one) for one in re.findall(r"<td[^>]*>(.*?)</td>", kept)]
        assert tuple(cells) == wanted, unit


def test_nothing_in_a_page_carries_a_style_or_a_handler_of_its_own() -> None:
    told = page_of(Heading("A"), Words("b"), Blanks(("by",)))
    body = told[told.index("<body>") : told.index("<script>")]
    assert not re.search(r"\s(?:style|on\w+)=", body)
    assert "default-src &#39;none&#39;" in told
    assert "unsafe" not in told.partition("</head>")[0].partition("<style>")[0]
    assert "http" not in re.sub(r'xmlns="[^"]*"|http-equiv', "", body)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


class Opened:
    """A page that is open, with everything it said and asked for."""

    def __init__(self, browser: Any, path: Path, wide: int = 1100, high: int = 900, **more: Any) -> None:
        self.page = browser.new_page(viewport={"width": wide, "height": high}, **more)
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda one: self.said.append(one.text))
        self.page.on("pageerror", lambda one: self.said.append(str(one)))
        self.page.on("dialog", lambda one: (self.said.append(one.message), one.dismiss()))
        self.page.on("request", lambda one: self.asked.append(one.url))
        self.page.goto(path.as_uri())
        self.path = path
        if self.page.locator("#turning").count():
            self.page.evaluate("document.getElementById('turning').scrollIntoView()")

    def quiet(self) -> bool:
        return not self.said and self.asked == [self.path.as_uri()]

    def readings(self) -> dict[str, list[str]]:
        rows: dict[str, list[str]] = self.page.evaluate(
            "Object.fromEntries([...document.querySelectorAll('#readings tbody tr')].map("
            "row => [row.cells[0].textContent, [...row.cells].slice(1).map(cell => cell.textContent)]))"
        )
        return rows

    @property
    def data(self) -> dict[str, Any]:
        found: dict[str, Any] = self.page.evaluate(
            "JSON.parse(document.getElementById('turn-data').textContent)"
        )
        return found

    def box(self, css: str) -> dict[str, float]:
        found: dict[str, float] = self.page.locator(css).bounding_box()
        return found

    def middle(self, css: str) -> tuple[float, float]:
        found = self.box(css)
        return found["x"] + found["width"] / 2, found["y"] + found["height"] / 2

    def on_screen(self, css: str, at: tuple[float, float]) -> tuple[float, float]:
        """Return where a point of a drawing stands on the screen."""
        found = self.page.evaluate(
            "([css, x, y]) => { const at = new DOMPoint(x, y).matrixTransform("
            "document.querySelector(css).getScreenCTM()); return [at.x, at.y]; }",
            [css, *at],
        )
        return found[0], found[1]

    def drag_pin(self, degrees: float, clockwise: bool = True, steps: int = 6) -> None:
        """Drag the crank pin round its circle by the mouse."""
        centre, start = (
            self.on_screen("#engine svg", self.data["cylinders"][0]["pin"]["at"]),
            self.middle("#pin"),
        )
        self.page.mouse.move(*start)
        self.page.mouse.down()
        for step in range(1, steps + 1):
            self.page.mouse.move(
                *turned_about(centre, start, degrees * step / steps * (1 if clockwise else -1))
            )
        self.page.mouse.up()

    def large(self, name: str) -> str:
        found: str = self.page.locator(f"#number-{name} .large").inner_text()
        return found


def turned_about(centre: tuple[float, float], at: tuple[float, float], degrees: float) -> tuple[float, float]:
    """Return a point of the screen turned clockwise."""
    turn = math.radians(degrees)
    x, y = at[0] - centre[0], at[1] - centre[1]
    return (
        centre[0] + x * math.cos(turn) - y * math.sin(turn),
        centre[1] + x * math.sin(turn) + y * math.cos(turn),
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("a folder with spaces")


def written(job: Path, out: Path) -> Path:
    sheet_of(job, out)
    return out


@pytest.fixture(scope="module")
def twin(folder: Path) -> Path:
    """The twin by coordinates with a cam."""
    path = folder / "twin.toml"
    path.write_text(COORDINATES.read_text(encoding="utf-8") + CAM, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def sheet(twin: Path, folder: Path) -> Path:
    return written(twin, folder / "the sheet.html")


@pytest.fixture(scope="module")
def demo(folder: Path) -> Path:
    return written(DEMO, folder / "demo.html")


def first_mm(text: str) -> float | None:
    found = re.search(r"(-?[\d.]+) mm", text)
    return None if found is None else float(found[1])


@cache
def loaded_once(job: Path) -> Job:
    found = load(job)
    assert found.clearances.valves
    return found


def as_computed(here: Opened, job: Path, angle: float, cylinder: str = "front") -> None:
    """Compare drawing, cursor and every number of the page with what is worked out in Python at that angle."""
    loaded = loaded_once(job)
    found = pages.turned(loaded, np.radians([0.0, angle]))
    rows = here.readings()
    for name, valve in found.valves.items():
        cells = rows[name.replace(".", " ")]
        for text, values in zip(cells[1:], (valve.lift, valve.drop, valve.gap), strict=True):
            assert values is not None
            assert first_mm(text) == pytest.approx(float(values[1]), abs=0.0051)
    for name, moving in found.cylinders.items():
        told = first_mm(rows[f"{name}, piston below its top"][0])
        assert told == pytest.approx(float(moving.below[1]), abs=0.0051)
    for one in loaded.clearances.valves:
        name, _, port = one.train.rpartition(".")
        if name == cylinder:
            assert one.piston is not None
            row = getattr(found.valves[one.train], one.piston.name)
            assert first_mm(here.large(port)) == pytest.approx(float(row[1]), abs=0.0051)
    apart = found.between[cylinder]
    assert first_mm(here.large("between")) == pytest.approx(float(apart[1]), abs=0.0051)
    own = math.degrees(float(found.own[cylinder][1]))
    assert here.large("crank") == (
        "at overlap" if not own else f"{abs(own):.0f}° {'after' if own > 0 else 'before'}"
    )
    _drawn_as_computed(here, found, pages.engine_of(loaded, found))
    place = [one["name"] for one in here.data["cylinders"]].index(cylinder)
    cursor, frame = here.page.locator(f"#trace-{place}-cursor"), here.data["traces"][place]
    if abs(own) > frame["half"]:
        assert cursor.get_attribute("visibility") == "hidden"
    else:
        wanted = here.on_screen(
            f"[data-cylinder={cylinder}] svg", (frame["middle"] + own * frame["degree"], 0.0)
        )
        assert here.middle(f"#trace-{place}-cursor")[0] == pytest.approx(wanted[0], abs=1.0)


def _drawn_as_computed(here: Opened, found: Any, drawn: Any) -> None:
    """Compare every part's two points, as the page carries them, with the same worked out in Python."""
    data, there, then = here.data, numbers(drawn.turning, 1), numbers(drawn.turning, 0)
    for index, part in enumerate(drawn.parts):
        transform = here.page.locator(f"#part-{index}").get_attribute("transform")
        a, b, c, d, e, f = (float(one) for one in re.findall(r"-?[\d.]+", transform))
        for point, moved in zip(data["parts"][index]["drawn"], (part.start, part.end), strict=True):
            placed = (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)
            by = (placed[0] - point[0], point[1] - placed[1])
            ways = zip(moved.where(there), moved.where(then), strict=True)
            assert by == pytest.approx([(new - old) * data["scale"] for new, old in ways], abs=0.02), (
                part.name
            )


@in_browser
def test_dragging_the_pin_moves_drawing_cursor_and_numbers_together(
    browser: Any,
    sheet: Path,
    twin: Path,
) -> None:
    here = Opened(browser, sheet)
    as_computed(here, twin, 0.0)
    here.drag_pin(90.0)
    assert here.page.locator("#angle").input_value() == "90"
    as_computed(here, twin, 90.0)
    here.drag_pin(-130.0)
    assert here.page.locator("#angle").input_value() == "-40"
    as_computed(here, twin, -40.0)
    pin = here.on_screen("#engine svg", tuple(_pin_of(here, "front")))
    assert here.middle("#pin") == pytest.approx(pin, abs=1.0)
    here.drag_pin(360.0, steps=12)
    here.drag_pin(50.0)
    assert here.page.locator("#angle").input_value() == "-350"  # a cycle is a circle
    as_computed(here, twin, -350.0)
    assert here.quiet(), (here.said, here.asked)


def _pin_of(here: Opened, cylinder: str) -> list[float]:
    """Return where a crank pin stands in the picture, by the page's numbers."""
    data = here.data
    one = next(one for one in data["cylinders"] if one["name"] == cylinder)["pin"]
    place = int(here.page.locator("#angle").input_value()) - data["first"]
    at = list(one["at"])
    for name, across, down in one["ways"]:
        value = data["numbers"][name][place] / data["fineness"][name]
        at = [at[0] + across * value, at[1] + down * value]
    return at


@in_browser
@pytest.mark.wide
def test_an_engine_that_turns_the_other_way_is_dragged_the_other_way(
    browser: Any,
    twin: Path,
    folder: Path,
) -> None:
    text = twin.read_text(encoding="utf-8")
    job = folder / "backward.toml"
    job.write_text(
        re.sub(r'^turns = "forward"', 'turns = "backward"', text, flags=re.MULTILINE), encoding="utf-8"
    )
    here = Opened(browser, written(job, folder / "backward.html"))
    here.drag_pin(35.0, clockwise=False)
    assert here.page.locator("#angle").input_value() == "35"
    as_computed(here, job, 35.0)


@in_browser
def test_a_cylinder_that_stands_beside_the_first_is_dragged_round_its_own_crank(
    browser: Any, folder: Path
) -> None:
    text = (EXAMPLES / "in_line_with_pivot_nuts" / "job.toml").read_text(encoding="utf-8")
    job = folder / "four.toml"
    crank = '[crank]\nstroke = "3.480 in"\nconrod_length = "5.700 in"\n'
    job.write_text(text.replace("[crank]\n", crank, 1), encoding="utf-8")
    here = Opened(browser, written(job, folder / "four.html"))
    here.page.locator("#cylinder").select_option(label="three")
    start = int(here.page.locator("#angle").input_value())
    pin = next(one["pin"] for one in here.data["cylinders"] if one["name"] == "three")
    centre, at = here.on_screen("#engine svg", pin["at"]), here.middle("#pin")
    here.page.mouse.move(*at)
    here.page.mouse.down()
    for degrees in (30.0, 60.0, 75.0):
        here.page.mouse.move(*turned_about(centre, at, degrees))
    here.page.mouse.up()
    assert int(here.page.locator("#angle").input_value()) - start == 75
    assert here.middle("#pin") == pytest.approx(
        here.on_screen("#engine svg", tuple(_pin_of(here, "three"))), abs=1.0
    )
    here.page.get_by_role("button", name="set two here").click()
    assert here.page.locator("#cylinder").evaluate("one => one.selectedOptions[0].label") == "two"
    assert here.large("intake") == "not known"
    assert not here.page.locator("#near").is_visible()
    assert here.quiet()


@in_browser
def test_dragging_across_the_trace_sets_the_angle(browser: Any, sheet: Path, twin: Path) -> None:
    here = Opened(browser, sheet)
    for cylinder, own in (("front", 25), ("front", -60), ("rear", 12)):
        here.page.locator("#cylinder").select_option(label=cylinder)
        place = [one["name"] for one in here.data["cylinders"]].index(cylinder)
        frame, css = here.data["traces"][place], f"[data-cylinder={cylinder}] svg"
        here.page.mouse.move(*here.on_screen(css, (frame["middle"], 30.0)))
        here.page.mouse.down()
        here.page.mouse.move(*here.on_screen(css, (frame["middle"] + own * frame["degree"], 33.0)), steps=4)
        here.page.mouse.up()
        angle = int(here.page.locator("#angle").input_value())
        there = pages.turned(loaded_once(twin), np.radians([float(angle)])).own[cylinder]
        assert math.degrees(float(there[0])) == pytest.approx(own, abs=0.51)
        as_computed(here, twin, float(angle), cylinder)
    assert here.quiet()


@in_browser
def test_a_finger_turns_the_engine(browser: Any, sheet: Path, twin: Path) -> None:
    here = Opened(browser, sheet, 768, 1024, has_touch=True)
    hand = here.page.context.new_cdp_session(here.page)
    centre, start = here.on_screen("#engine svg", here.data["cylinders"][0]["pin"]["at"]), here.middle("#pin")
    before = here.page.evaluate("scrollY")

    def touch(kind: str, *points: tuple[float, float]) -> None:
        told = [{"x": x, "y": y} for x, y in points]
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

    touch("touchStart", start)
    for step in range(1, 10):
        touch("touchMove", turned_about(centre, start, 10.0 * step))
    touch("touchEnd")
    assert here.page.locator("#angle").input_value() == "90"
    assert here.page.evaluate("scrollY") == before
    as_computed(here, twin, 90.0)
    across, up = here.middle("#traces")
    touch("touchStart", (across - 40, up))
    for step in range(8):
        touch("touchMove", (across - 40 + 10 * step, up))
    touch("touchEnd")
    assert abs(int(here.page.locator("#angle").input_value())) < 40
    here.page.locator("button[data-step='10']").tap()
    assert here.quiet()


@in_browser
def test_the_keyboard_alone_is_enough(browser: Any, sheet: Path, twin: Path) -> None:
    here = Opened(browser, sheet)

    def tabbed_to(css: str) -> None:
        for _ in range(200):
            here.page.keyboard.press("Tab")
            if here.page.evaluate("css => document.activeElement.matches(css)", css):
                assert here.page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
                return
        pytest.fail(f"{css} is not reached")

    tabbed_to("#pin")
    here.page.keyboard.press("PageUp")
    here.page.keyboard.press("ArrowLeft")
    assert "9° after front" in here.page.locator("#pin").get_attribute("aria-valuetext")
    tabbed_to("button[data-step='-1']")
    here.page.keyboard.press("Enter")
    as_computed(here, twin, 8.0)
    tabbed_to("#angle")
    for _ in range(24):
        here.page.keyboard.press("ArrowRight")
    assert "32° after front" in here.page.locator("#angle").get_attribute("aria-valuetext")
    as_computed(here, twin, 32.0)
    names = [re.compile("^Crank, degrees after front"), re.compile("^crank pin of front")]
    assert [here.page.get_by_role("slider", name=one).count() for one in names] == [1, 1]
    assert here.quiet()


@in_browser
@pytest.mark.parametrize("cylinder", ["front", "rear"])
def test_buttons_go_to_what_the_answers_say(browser: Any, sheet: Path, twin: Path, cylinder: str) -> None:
    """The least clearances beside the numbers are those of the JSON; the crank goes to the whole degree next to them."""
    document = tallstack("clearance", twin, "--json").json
    here = Opened(browser, sheet)
    here.page.locator("#cylinder").select_option(label=cylinder)
    for port in ("intake", "exhaust"):
        here.page.get_by_role("button", name=f"closest {port}").click()
        row = next(one for one in document["valves"] if one["train"] == f"{cylinder}.{port}")
        judged = row["judged_on"]
        told = here.page.locator(f"#number-{port} .least").inner_text()
        assert first_mm(told) == pytest.approx(row[f"{judged}_mm"], abs=0.0051)
        assert f"{abs(row[f'{judged}_at_deg']):.1f}°" in told
        angle = float(here.page.locator("#angle").input_value())
        own = math.degrees(float(pages.turned(loaded_once(twin), np.radians([angle])).own[cylinder][0]))
        assert own == pytest.approx(row[f"{judged}_at_deg"], abs=0.51)
        as_computed(here, twin, angle, cylinder)
        assert first_mm(here.large(port)) == pytest.approx(row[f"{judged}_mm"], abs=0.02)
        assert f"{cylinder} {port}" in here.page.locator("#near-told").inner_text()
    pair = next(one for one in document["pairs"] if one["cylinder"] == cylinder)
    told = here.page.locator("#number-between .least").inner_text()
    assert first_mm(told) == pytest.approx(pair["valve_to_valve_mm"], abs=0.0051)
    here.page.get_by_role("button", name=f"set {cylinder} here").click()
    assert "adjusters may be set" in here.page.locator("#number-crank").inner_text()
    rows = tallstack("pushrods", twin, "--json").json["pushrods"]
    heel = next(one["heel_deg"] for one in rows if one["train"].startswith(f"{cylinder}."))
    angle = float(here.page.locator("#angle").input_value())
    own = math.degrees(float(pages.turned(loaded_once(twin), np.radians([angle])).own[cylinder][0]))
    assert (own + 720.0) % 720.0 - 360.0 == pytest.approx(sum(heel) / 2, abs=0.51)
    assert here.quiet()


@in_browser
@pytest.mark.parametrize(("wide", "high"), [(1024, 768), (768, 1024)])
@pytest.mark.parametrize("which", ["sheet", "demo"])
def test_one_screen_of_a_tablet_holds_engine_trace_and_numbers(
    browser: Any, request: pytest.FixtureRequest, which: str, wide: int, high: int
) -> None:
    here = Opened(browser, request.getfixturevalue(which), wide, high)
    page = here.page.locator("section:has(#turning)").get_attribute("id")
    here.page.evaluate("scrollTo(0, 0)")
    here.page.locator(f"#contents a[href='#{page}']").click()
    for css in (".numbers", "#engine svg", "#traces > div:not([hidden]) svg", "#near", ".buttons", ".slide"):
        box = here.box(css)
        assert box["x"] >= 0, css
        assert box["y"] >= here.box("#bar")["y"] + here.box("#bar")["height"] - 1, css
        assert box["x"] + box["width"] <= wide, css
        assert box["y"] + box["height"] <= high, css
    for one in here.page.locator(".numbers .large").all():
        assert float(one.evaluate("one => parseFloat(getComputedStyle(one).fontSize)")) >= LARGE
        assert one.is_visible()
    for one in here.page.locator("button, select, #pin, .buttons label:has(input), nav a").all():
        box = one.bounding_box()
        assert min(box["width"], box["height"]) >= FINGER, one.inner_text()


@in_browser
def test_the_round_shows_valve_and_crown_six_times_as_large(browser: Any, sheet: Path, twin: Path) -> None:
    here = Opened(browser, sheet)
    job = loaded_once(twin)
    for angle in (6.0, -20.0):
        here.page.locator("#angle").fill(f"{angle:.0f}")
        scale = here.page.evaluate(
            "css => css.map(one => document.querySelector(one).getScreenCTM().a)",
            ["#near svg", "#engine svg"],
        )
        assert scale[0] == pytest.approx(6 * scale[1] * here.data["scale"], rel=1e-3)
        found = pages.turned(job, np.radians([angle]))
        index = next(one for one in here.data["valves"] if one["name"] == "front.intake")["near"]["place"]
        moved = {
            name: [
                float(one)
                for one in re.findall(
                    r"-?[\d.]+", here.page.locator(f"#near-{index}-{name}").get_attribute("transform")
                )
            ]
            for name in ("valve", "crown")
        }
        assert math.hypot(*moved["valve"]) == pytest.approx(
            float(found.valves["front.intake"].lift[0]), abs=0.001
        )
        one = next(each["near"] for each in here.data["valves"] if each["name"] == "front.intake")
        across, down = one["opens"]
        lift = math.hypot(*moved["valve"])
        rim = (  # the place of the face that comes nearest to the crown, in the picture
            here.data["near_middle"] + lift * across + one["aside"] * down,
            here.data["near_middle"] + lift * down - one["aside"] * across,
        )
        radius = here.box(".round")["width"] / 2
        assert math.dist(here.on_screen("#near svg", rim), here.middle(".round")) < radius
        edge = here.page.locator(f"#near-{index}-valve polygon").evaluate(
            "one => [0, one.points.length - 1].map(at => [one.points[at].x, one.points[at].y])"
        )
        apart = [math.dist(rim, (x + lift * across, y + lift * down)) for x, y in edge]
        assert min(apart) == pytest.approx(
            0.0, abs=0.2
        )  # over a plain crown that is the lower end of the face
        lower = max(edge, key=lambda each: each[1])
        assert apart[edge.index(lower)] == min(apart)
        assert moved["crown"] == pytest.approx([0.0, float(found.cylinders["front"].below[0])], abs=0.001)
        assert here.page.locator("#near-gap").inner_text().split()[:2] == here.large("intake").split()[:2]


@in_browser
def test_the_round_of_a_dial_reading_is_not_to_scale_and_says_where_nothing_is_known(
    browser: Any, demo: Path
) -> None:
    here = Opened(browser, demo)
    told = here.page.locator("#near-told")
    here.page.get_by_role("button", name="closest intake").click()
    assert "not to scale" in told.inner_text()
    index = next(one for one in here.data["valves"] if one["name"] == "front.intake")["near"]["place"]
    assert here.page.locator(f"#near-{index}-crown").get_attribute("visibility") == "visible"
    here.page.locator("#angle").fill("90")
    assert "drop not known at this angle" in told.inner_text()
    assert here.page.locator(f"#near-{index}-crown").get_attribute("visibility") == "hidden"
    assert here.large("intake") == "not known"
    assert here.large("between") == "not known"
    assert here.quiet()


@in_browser
def test_the_contents_mark_the_page_that_is_looked_at(browser: Any, sheet: Path) -> None:
    here = Opened(browser, sheet)
    links = here.page.locator("#contents a")
    sections = here.page.locator("main > section").evaluate_all("all => all.map(one => one.id)")
    assert [one.get_attribute("href") for one in links.all()] == [f"#{one}" for one in sections]
    for name in sections:
        here.page.locator(f"#contents a[href='#{name}']").click()
        here.page.wait_for_function(
            "name => document.querySelector('#contents a[aria-current]')?.hash === `#${name}`"
            "|| scrollY + innerHeight >= document.documentElement.scrollHeight - 2",
            arg=name,
        )
        assert here.page.locator("#contents a[aria-current]").count() == 1
    assert here.quiet()


@in_browser
def test_the_page_is_set_in_the_letters_it_brings_along(browser: Any, sheet: Path) -> None:
    here = Opened(browser, sheet)
    loaded = "[...document.fonts].map(one => one.status)"
    assert here.page.evaluate(f"document.fonts.ready.then(() => {loaded})") == ["loaded"] * 2
    assert here.quiet(), (here.said, here.asked)


@in_browser
@pytest.mark.parametrize(
    ("which", "unit", "away"),
    [
        *(("sheet", "mm", "in"), ("demo", "in", "mm")),
        *(
            pytest.param(*one, marks=pytest.mark.wide)
            for one in (("sheet", "in", "mm"), ("demo", "mm", "in"))
        ),
    ],
)
def test_the_choice_of_units_leaves_nothing_in_the_other(
    browser: Any, request: pytest.FixtureRequest, which: str, unit: str, away: str
) -> None:
    """Numbers, traces, captions and tables; a sentence that says a length in one unit alone keeps it."""
    here = Opened(browser, request.getfixturevalue(which))
    here.page.get_by_role("button", name="closest intake").click()
    seen = (
        "away => [...document.querySelectorAll('#turning, #readings, figcaption, td.number, th, #risk td, svg[aria-label*=against]')]"
        ".flatMap(one => [...one.querySelectorAll('*'), one]).flatMap(one => [...one.childNodes])"
        ".filter(one => one.nodeType === 3 && one.parentElement.getClientRects().length)"
        ".map(one => one.textContent.trim())"
        r".filter(one => new RegExp(`^${away}$|[-/,] ${away}$`).test(one) || new RegExp(`\\d ${away}\\b`).test(one))"
    )
    both = here.page.evaluate(seen, away)
    assert len(both) > 20
    here.page.locator(f"input[value=only-{unit}]").check()
    left = here.page.evaluate(seen, away)
    assert left == []
    assert len(here.page.evaluate(seen, unit)) > 20
    here.page.locator("input[name=units][value='']").check()
    assert here.page.evaluate(seen, away) == both


@in_browser
def test_without_scripts_everything_but_the_turning_is_there(browser: Any, sheet: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(sheet.as_uri())
    assert page.get_by_role("heading", name="BEFORE IT TURNS").is_visible()
    for css in (
        "#angle",
        "#pin",
        ".numbers",
        ".buttons",
        "#near",
        "#traces",
        "#readings",
        "#print",
        "#unit-choice",
    ):
        assert not page.locator(css).is_visible(), css
    assert page.get_by_text("with scripts allowed it can be turned").is_visible()
    assert page.locator("#engine svg").is_visible()
    assert page.locator("#contents a").first.is_visible()
    assert page.locator("svg").count() >= 4
    context.close()


@in_browser
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
    here = Opened(browser, written(job, folder / "evil.html"))
    assert here.page.locator("h1").inner_text() == " ".join(EVIL.split())
    assert here.page.title() == " ".join(EVIL.split())
    assert here.quiet(), (here.said, here.asked)


@in_browser
@pytest.mark.parametrize("wide", [320, 360, 390, 640, 1100])
@pytest.mark.parametrize("which", ["sheet", "demo"])
def test_no_answer_scrolls_sideways(
    browser: Any, request: pytest.FixtureRequest, which: str, wide: int
) -> None:
    here = Opened(browser, request.getfixturevalue(which), wide, 740)
    assert here.page.evaluate("document.documentElement.scrollWidth") <= wide
    if wide <= 390:
        wider = "[...document.querySelectorAll('.scroll:has(table), #turning')].filter(one => one.scrollWidth > one.clientWidth + 1)"
        assert here.page.evaluate(f"{wider}.map(one => one.outerHTML.slice(0, 90))") == []
        box = here.box("#engine svg")
        assert box["width"] <= wide
        assert box["height"] <= 740
        label = "one => getComputedStyle(one, '::before').content"
        card = here.page.locator("#bench td[data-label='+/-']").first
        assert "+/-" in card.evaluate(label)
    assert here.quiet()


@in_browser
def test_a_reading_to_take_is_a_card_with_room_to_write_on_a_phone(browser: Any, folder: Path) -> None:
    out = folder / "list.html"
    assert tallstack("measure", "-o", out, "--force").status == 0
    here = Opened(browser, out, 360, 740)
    assert here.page.evaluate("document.documentElement.scrollWidth") <= 360
    rows = here.page.locator("tbody tr:has(td.write)")
    asked = sum(len(one["readings"]) for one in tallstack("measure", "--json").json["groups"])
    alike = here.page.get_by_text("if alike").count()
    assert rows.count() == asked + alike
    for row in rows.all()[:6]:
        box = row.bounding_box()
        assert box["width"] <= 360
        assert [one.bounding_box()["height"] >= FINGER for one in row.locator("td.write").all()] == [
            True,
            True,
        ]
    assert here.quiet()


@in_browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_with_nothing_clipped(browser: Any, sheet: Path, folder: Path, paper: str) -> None:
    here = Opened(browser, sheet, color_scheme="dark")
    here.page.locator("input[value=only-in]").check()
    look = "(() => { const s = getComputedStyle(document.body); return [s.color, s.backgroundColor]; })()"
    dark = here.page.evaluate(look)
    assert sum(map(int, re.findall(r"\d+", dark[0]))) > 600 > 150 > sum(map(int, re.findall(r"\d+", dark[1])))
    stroke = "getComputedStyle(document.querySelector('#engine svg g')).stroke"
    assert here.page.evaluate(stroke) == dark[0]
    here.page.emulate_media(media="print")
    assert here.page.evaluate(look) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    assert here.page.evaluate(stroke) == "rgb(0, 0, 0)"
    for css in ("#bar", ".numbers", "#pin", ".buttons", ".slide", "#near", "#traces", "#readings"):
        assert not here.page.locator(css).is_visible(), css
    assert here.page.locator("#engine figcaption").is_visible()
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
    for words in ("ORDER", "CLOSEST", "BEFORE IT TURNS", "signature", " mm", " in"):
        assert words in first


@in_browser
@pytest.mark.parametrize(
    ("scheme", "wide"),
    [
        *(("light", 1024), ("dark", 360)),
        *(pytest.param(*one, marks=pytest.mark.wide) for one in (("light", 360), ("dark", 1024))),
    ],
)
def test_nothing_serious_stands_in_anybodys_way(browser: Any, sheet: Path, wide: int, scheme: str) -> None:
    axe = os.environ.get("AXE_CORE")
    assert axe, "AXE_CORE names the axe.min.js of axe-core"
    # the page's own policy lets nothing be added to it: a copy without it is looked at
    copy = sheet.with_name("without policy.html")
    text = sheet.read_text(encoding="utf-8")
    copy.write_text(re.sub(r"<meta http-equiv[^>]*>", "", text), encoding="utf-8")
    here = Opened(browser, copy, wide, 768, color_scheme=scheme)
    here.page.add_script_tag(path=axe)
    found = here.page.evaluate("axe.run()")
    serious = [
        (one["id"], one["nodes"][0]["html"])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    assert serious == []
