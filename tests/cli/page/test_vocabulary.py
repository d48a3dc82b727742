"""A job of solid lifters says no word of a plunger on any page, and a block of which the cylinders are part says block and deck."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tallstack.cli.job.loading import understood
from tallstack.cli.page.model import Row, Table, Words
from tallstack.cli.page.vocabulary import BLOCK, SOLID, all_solid, said, said_in_document

from ...commands import BENCH, tallstack
from ...job_texts import six_in_line

HYDRAULIC = re.compile(
    r"plunger|preload|pump|bleed|\bbled\b|hydraulic|room left|top stop|bottomed|\bfilled\b|pressuri",
    re.IGNORECASE,
)
NO_BLOCK = re.compile(r"case deck|the case\b|base gasket|case cut", re.IGNORECASE)


def strings(document: object) -> Iterator[str]:
    if isinstance(document, dict):
        for one in document.values():
            yield from strings(one)
    elif isinstance(document, list):
        for one in document:
            yield from strings(one)
    elif isinstance(document, str):
        yield document


def job_in(folder: Path, cylinders: int) -> Path:
    path = folder / f"job{cylinders}.toml"
    path.write_text(six_in_line(cylinders), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def six(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return job_in(Path(tmp_path_factory.mktemp("six")), 6)


QUICK = (
    ("pushrods", "--full"),
    ("pushrods",),
    ("clearance", "--full"),
    ("fits", "--full"),
    ("check",),
    ("explain", "one.intake"),
    ("pushrods", "--json"),
    ("explain", "one.intake", "--json"),
    ("record", "one.intake", "--lash", "0.26 mm"),
)
SLOW = (  # what draws, or looks for what to read next
    ("risk", "--full", "--draws", "500"),
    ("overview", "--full"),
    ("measure", "--for", "pushrods", "--for", "clearance", "--for", "fits"),
    ("measure", "--for", "fits", "--json"),
    ("record", "--full"),
)


def amiss(path: Path, commands: tuple[tuple[str, ...], ...]) -> dict[str, list[str]]:
    """Return the words that do not belong on the pages of an engine without a plunger, a case and a base gasket."""
    found: dict[str, list[str]] = {}
    for command, *more in commands:
        ended = tallstack(command, path, *more)
        assert ended.status in (0, 1), (command, more)
        as_json = "--json" in more
        text = "\n".join(strings(json.loads(ended.out))) if as_json else " ".join(ended.out.split())
        words = [one[0] for one in HYDRAULIC.finditer(text)]
        words += [one[0] for one in NO_BLOCK.finditer(text)] if not as_json else []
        if words:
            found[" ".join((command, *more))] = words
    return found


def test_solid_lifters_have_no_plunger_on_any_page_and_a_block_no_case(six: Path) -> None:
    """In full, in one process; JSON by its values, since its keys are a contract. The slow ones of one cylinder."""
    assert amiss(six, QUICK) == {}
    assert amiss(job_in(six.parent, 1), SLOW) == {}


@pytest.mark.wide
def test_nor_have_the_slow_answers_of_all_twelve(six: Path) -> None:
    assert amiss(six, SLOW) == {}


@pytest.mark.wide
@pytest.mark.parametrize("cylinders", [1, 6])
def test_nor_have_the_sheet_and_the_drawings(tmp_path: Path, cylinders: int) -> None:
    path = job_in(tmp_path, cylinders)
    sheet = tmp_path / "sheet.html"
    assert tallstack("sheet", path, "-o", sheet, "--date", "2024-12-31").status in (0, 1)
    drawn = [tmp_path / f"{name}.svg" for name in ("one.intake", "one")]
    for out in drawn:
        assert tallstack("draw", path, out.stem, "-o", out).status == 0
    for page in (sheet, *drawn):
        text = re.sub(r"<(script|style).*?</\1>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
        text = " ".join(re.sub(r"<[^>]*>", " ", text).split())
        for words in (HYDRAULIC, NO_BLOCK):
            assert not [text[max(0, one.start() - 40) : one.end() + 40] for one in words.finditer(text)]


@pytest.mark.parametrize(
    "wrong",
    ["one.intake.lifter=0.9", "one.intake.lifter.wobble=0.9", "one.intake.measured_pushrod.wobble=3"],
)
def test_nor_has_what_is_said_of_an_entry_that_is_none(six: Path, wrong: str) -> None:
    ended = tallstack("pushrods", six, "--with", wrong)
    assert ended.status == 2
    assert not HYDRAULIC.search(ended.err)


def test_nor_has_a_fault_of_the_file(six: Path) -> None:
    wrong = six.with_name("wrong.toml")
    wrong.write_text(
        six_in_line().replace('kind = "solid",', 'kind = "solid", wobble = 3,'), encoding="utf-8"
    )
    err = tallstack("check", wrong).err
    assert "the entries here are kind, seat" in err
    assert not HYDRAULIC.search(err)


def test_pages_of_other_engines_are_left_as_they_are() -> None:
    job = understood(Path("job.toml"), BENCH.read_text(encoding="utf-8"))
    assert not all_solid(job)
    page = [Words("plunger at its top stop, from the case deck")]
    assert said(job)(page) is page
    assert said_in_document(job)({"why": "wanted preload or lash"}) == {"why": "wanted preload or lash"}


def test_words_are_put_in_wherever_they_stand(six: Path) -> None:
    job = understood(six, six_in_line())
    assert all_solid(job)
    table = Table((), (Row(("wanted preload or lash", "above the case deck")),))
    assert said(job)([table]) == [Table((), (Row(("wanted lash", "above the block's deck")),))]
    assert said_in_document(job)({"preload or lash": ["wanted preload or lash"]}) == {
        "preload or lash": ["wanted lash"]
    }
    assert all(was not in now for was, now in (*BLOCK, *SOLID))
