"""One page, set on a terminal, on a screen and on paper: the same words and the same cells."""

from __future__ import annotations

import html as entities
import io
import re

import pypdf
import pytest
from tallstack.cli.page.html import html
from tallstack.cli.page.model import (
    Block,
    Break,
    Column,
    Form,
    Heading,
    Length,
    Number,
    Page,
    Part,
    Row,
    Sheet,
    Span,
    Table,
    Tag,
    Words,
    flat,
    plain,
    under,
)
from tallstack.cli.page.pdf import pdf
from tallstack.cli.page.text import lines, text

BLOCKS: tuple[Block, ...] = (
    Part(Tag.HEAD, (Heading("PUSHRODS: <a job>"), Words("from a & b.toml", 1))),
    Heading("valve gear, front intake"),
    Words("limits 0.5 to 1.8 mm: your targets", 2, Form.ITEM),
    Table(
        (
            Column("gear", 18),
            *(Column(one, 10, right=True) for one in ("in", "mm", "+/- in")),
            Column("stands"),
        ),
        (
            Row(
                (
                    "front intake",
                    *(Length(281.2034, 0.05, unit, alone=True, bare=True) for unit in ("in", "mm")),
                    Length(0.05, 0.05, "in", bare=True, before="+/- "),
                    "UNPROVED",
                )
            ),
            Row(("rear intake", "NOT KNOWN, see below")),
            Words("SHORT of its limits: too long", 2),
        ),
    ),
    Break(),
    Table(
        (Column("differs", 12), Column("off", 14, right=True)),
        (
            Row(("squish", Length(-0.5, unit="in", signed=True))),
            Row(("angle", Number(1.26, 1, "deg", signed=True))),
        ),
    ),
    Part(Tag.CAUTION, (Words("Springs hurt."),)),
)


def sheet(*blocks: Block) -> Sheet:
    return Sheet("a job", "in", Page("first", "a job", blocks), (), "")


def read(content: bytes) -> str:
    """Return the words of a PDF, a blank between any two."""
    return " ".join(
        " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages).split()
    )


def test_terminal_screen_and_paper_show_the_same_cells() -> None:
    on_terminal = " ".join(text(BLOCKS).split())
    screen = html(sheet(*BLOCKS)).decode()
    body = re.sub(
        r"<span[^>]*other[^>]*>.*?</span>", "", screen[screen.index("<main>") : screen.index("</main>")]
    )
    on_screen = " ".join(entities.unescape(re.sub(r"<[^>]+>", " ", body)).split())
    on_paper = read(pdf(sheet(*BLOCKS), "a4"))
    for shown in (
        "PUSHRODS: <a job>",
        "from a & b.toml",
        "valve gear, front intake",
        "limits 0.5 to 1.8 mm: your targets",
        "front intake 11.071 281.20 +/- 0.002 UNPROVED",
        "rear intake NOT KNOWN, see below",
        "SHORT of its limits: too long",
        "squish -0.020 in",
        "angle +1.3 deg",
        "Springs hurt.",
    ):
        assert shown in on_terminal
        assert shown in on_screen
        assert shown in on_paper


def test_a_screen_turns_every_length_into_the_other_unit_and_the_heads_with_them() -> None:
    screen = html(sheet(*BLOCKS)).decode()
    assert '<span class="u-in">+/- 0.002</span><span class="u-mm other">+/- 0.05</span>' in screen
    assert '+/- <span class="u-in">in</span><span class="u-mm other">mm</span></th>' in screen
    assert '<span class="u-in">-0.020 in</span><span class="u-mm other">-0.50 mm</span>' in screen
    assert '<th scope="col" class="u-in">in</th><th scope="col" class="u-mm">mm</th>' in screen
    assert '<td class="under-1   u-in' not in screen  # names stay, whatever the unit


def test_a_part_is_left_out_by_what_it_is() -> None:
    kept = list(flat(BLOCKS, (Tag.HEAD, Tag.CAUTION)))
    assert kept == [one for one in BLOCKS if not isinstance(one, Part)]
    assert lines(kept)[0] == "valve gear, front intake"
    assert [one for one in flat(BLOCKS) if isinstance(one, Words)][-1] == Words("Springs hurt.")


def test_nothing_stands_under_no_heading() -> None:
    assert under("A", ()) == []
    assert under("A", (Words("b", 1),)) == [Heading("A"), Words("b", 1)]


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        (Length(25.4), "25.40 mm"),
        (Length(25.4, unit="in"), "1.000 in"),
        (Length(25.4, 1.0, bare=True), "25.4"),
        (Length(25.4, mark="*"), "25.40 mm*"),
        (Length(0.004, signed=True, bare=True), "0.00"),
        (Length(0.4, signed=True, bare=True), "+0.40"),
        (Length(0.4, before="SHORT "), "SHORT 0.40 mm"),
        (Number(-0.04, 1), "0.0"),
        (Number(12.5, unit="rpm"), "12 rpm"),
    ],
)
def test_a_cell_shows_no_more_digits_than_its_doubt_supports(cell: Length | Number, shown: str) -> None:
    assert cell.shown() == shown


def test_a_plain_table_has_its_heads_and_its_wide_columns() -> None:
    table = plain(("a", "b"), [("one", "two")], (1,))
    assert table.heads == ("a", "b")
    assert [one.wide for one in table.columns] == [False, True]
    assert table.rows == (Row(("one", "two")),)


def test_a_range_is_told_in_either_unit_with_the_digits_its_doubt_supports() -> None:
    one = Span(25.4, 50.8, 0.6, "in")
    assert one.shown() == "1.000 to 2.000"
    assert one.shown("mm") == "25.40 to 50.80"
    assert one._replace(doubt=6.0).shown() == "1.00 to 2.00"
