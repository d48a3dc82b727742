"""Paper: what is never broken over two pages, and what is printed of a table that is wider than one."""

from __future__ import annotations

import io
from collections.abc import Sequence

import pypdf
from tallstack.cli.page.model import Block, Column, Form, Heading, Page, Row, Sheet, Table, Words
from tallstack.cli.page.pdf import pdf

WORDS = "words that go on until a line of paper is full and then some more of them so that there are two lines of it"
ABOVE = range(38, 60)  # lines above what is looked at: on one page's foot, and beyond it


def pages(*parts: Sequence[Block]) -> list[list[list[str]]]:
    """Return the lines of every page of each part, without what stands at its foot."""
    rest = tuple(Page(f"rest-{place}", f"TITLE {place}", tuple(blocks)) for place, blocks in enumerate(parts))
    content = pdf(Sheet("", "mm", Page("first", "", ()), rest, "FOOT"), "a4")
    found: list[list[list[str]]] = []
    for page in pypdf.PdfReader(io.BytesIO(content)).pages[1:]:
        lines = [line for line in page.extract_text().split("\n") if line.strip()]
        lines = [line for line in lines if not line.startswith(("FOOT", "page "))]
        if lines[0].startswith("TITLE"):
            found.append([])
        found[-1].append(lines)
    return found


def fill(count: int) -> list[Block]:
    return [Words(f"line {place}", 1) for place in range(count)]


def test_no_heading_stands_without_what_belongs_to_it() -> None:
    table = Table((Column("head"), Column("mm")), tuple(Row((f"row {place}", "1.00")) for place in range(4)))
    parts = [[*fill(above), Heading("HEADING"), table, Words("after it", 1)] for above in ABOVE]
    found = pages(*parts)
    assert {len(part) for part in found} == {1, 2}
    for part in found:
        (page,) = [page for page in part if "HEADING" in page]
        assert [line.split()[0] for line in page[page.index("HEADING") :]] == [
            "HEADING",
            "head",
            *["row"] * 4,
            "after",
        ]


def test_a_paragraph_and_a_row_are_whole() -> None:
    long = Words(f"FIRST {WORDS} LAST", 1, Form.ITEM)
    row = Table((Column("a", wide=True), Column("b")), (Row((f"FIRST {WORDS} {WORDS} LAST", "1")),))
    for block in (long, row):
        found = pages(*([*fill(above), block] for above in ABOVE))
        assert {len(part) for part in found} == {1, 2}
        for part in found:
            (page,) = [page for page in (" ".join(page) for page in part) if "FIRST" in page]
            assert "LAST" in page


def test_what_is_much_under_a_heading_begins_beneath_it_and_goes_on() -> None:
    ((first, *more),) = pages([*fill(30), Heading("HEADING"), *(Words(f"under {at}", 1) for at in range(60))])
    assert first[-1].startswith("under")
    assert "HEADING" in first
    assert more[-1][-1] == "under 59"


def test_a_table_too_wide_for_the_page_is_wrapped_and_loses_nothing() -> None:
    heads = tuple(Column(f"h{place}", wide=place == 1) for place in range(6))
    ((page,),) = pages([Table(heads, (Row(tuple(f"{WORDS} {place}" for place in range(6))),))])
    for word in WORDS.split():
        assert " ".join(page).split().count(word) == 6 * WORDS.split().count(word)


def test_a_table_that_goes_on_tells_its_columns_on_every_page() -> None:
    rows = tuple(Row((f"row {place}", "1.00")) for place in range(120))
    (part,) = pages([Table((Column("figure"), Column("mm")), rows)])
    assert len(part) > 2
    first = {page[1 if place == 0 else 0].split()[0] for place, page in enumerate(part)}
    assert first == {"figure"}
    assert sum(line.startswith("row") for page in part for line in page) == 120
    (part,) = pages([Table((Column(""), Column("")), rows)])  # it has no heads
    assert sum(line.startswith("row") for page in part for line in page) == sum(map(len, part)) - 1
