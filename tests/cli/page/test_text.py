"""A page on a terminal: what is wrapped, what stands under what, and where the cells of a table stand."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys

import pytest
from tallstack.cli.page.model import (
    Break,
    Cell,
    Column,
    Form,
    Heading,
    Length,
    Lines,
    Number,
    Row,
    Table,
    Words,
)
from tallstack.cli.page.text import EDGE, WIDTH, emphasised, lines, text

from ...commands import DEMO, tallstack

LONG = " ".join(["words"] * 30)
THREE = (Column("what", 12), Column("mm", 8, right=True), Column("said"))


def set_row(*cells: Cell, under: int = 1, columns: tuple[Column, ...] = THREE) -> str:
    (line,) = lines([Table(tuple(one._replace(head="") for one in columns), (Row(cells, under),))])
    return line


def test_what_stands_alone_has_a_blank_line_above_and_what_stands_under_it_has_none() -> None:
    blocks = [Heading("A"), Words("b", 1), Words("c", 2), Words("d"), Heading("E"), Break(), Words("f", 1)]
    assert lines(blocks) == ["A", "  b", "    c", "", "d", "", "E", "", "  f"]
    assert lines([Break(), Break(), Heading("A"), Break(), Heading("B")]) == ["A", "", "B"]
    assert text([Words("a"), Lines("b  c\nd"), Words("e", 1)]) == "a\nb  c\nd\n  e"


@pytest.mark.parametrize(
    ("form", "under", "indents"),
    [
        (Form.PROSE, 0, (0, 0)),
        (Form.PROSE, 1, (2, 4)),
        (Form.PROSE, 3, (6, 8)),
        (Form.ITEM, 0, (0, 4)),
        (Form.ITEM, 2, (4, 8)),
        (Form.STEP, 1, (2, 5)),
    ],
)
def test_the_second_line_of_a_paragraph_says_what_it_is(
    form: Form, under: int, indents: tuple[int, int]
) -> None:
    first, *rest = text([Words(LONG, under, form)]).split("\n")
    assert rest
    assert {len(one) - len(one.lstrip()) for one in rest} == {indents[1]}
    assert len(first) - len(first.lstrip()) == indents[0]
    assert max(map(len, (first, *rest))) <= WIDTH
    assert " ".join(" ".join((first, *rest)).split()) == LONG


def test_what_was_typed_is_not_wrapped_and_keeps_its_blanks() -> None:
    typed = f"{LONG}  ->  {LONG}"
    assert text([Words(typed, 3, Form.LINE)]) == f"      {typed}"
    assert text([Heading("a  b")]) == "a  b"


def test_a_table_has_its_words_to_the_left_and_its_numbers_to_the_right() -> None:
    rows = (Row(("one", Length(1.234), "OK")), Row(("two", Number(-7.0, 1), ""), 2), Words("of two", 3))
    assert lines([Table(THREE, rows)]) == [
        "  what            mm  said",
        "  one        1.23 mm  OK",
        "    two         -7.0",
        "      of two",
    ]
    assert lines([Table(THREE, (), 0)]) == ["what              mm  said"]
    assert lines([Table((Column("lift\nat", 6), Column("opens\nbefore", 8, right=True)), ())]) == [
        "  lift   opens",
        "  at    before",
    ]


def test_a_row_of_few_cells_and_cells_that_are_too_long() -> None:
    assert set_row("one", "NOT KNOWN, see below") == "  one       NOT KNOWN, see below"
    both = (*THREE[:2], Column("in", 8, right=True), Column("said"))
    assert (
        set_row("one", "1.00", "NOT FOR ORDERING", columns=both) == "  one           1.00  NOT FOR ORDERING"
    )
    assert set_row("one", "", "THEY MEET", "OK", columns=both) == "  one              THEY MEET  OK"
    assert set_row("one", "12345.6789", "") == "  one     12345.6789"  # into the blank before it
    assert set_row("a name too long", "1.00", "") == "  a name too long    1.00"
    own = (THREE[0]._replace(own_line=True), *THREE[1:])
    assert set_row("a name too long", "1.00", "", columns=own) == "  a name too long\n                1.00"


def test_only_a_last_column_that_takes_what_room_there_is_is_wrapped() -> None:
    columns = (Column(room=12), Column(wide=True))
    first, *rest = set_row("one", LONG, columns=columns).split("\n")
    assert first.startswith("  one       words")
    assert all(one.startswith(f"{' ' * 12}words") for one in rest)
    assert (
        set_row("one", LONG, columns=(columns[0], Column())) == f"  one\n{LONG}"
    )  # whole, on a line of its own


def test_a_row_to_write_in_has_its_blank_at_the_edge() -> None:
    columns = (
        Column("", 6),
        Column("entry"),
        Column("what"),
        Column("with"),
        Column(to_write=1.0),
        Column(to_write=1.0),
    )
    rows = (
        Row(("A", "stack.cylinder", "face to face", "calipers", "", "")),
        Row(("AS, AT", "one.valve.face", "", "a rule", "", "none")),
        Row(("", "crank.turns", "way it turns", "", "forward / backward", "none")),
    )
    found = lines([Table(columns, rows)])
    assert found == [
        f"  A   stack.cylinder{'________________ +/- ________':>{WIDTH - EDGE - 20}}",
        "      face to face; calipers",
        f"  AS, AT one.valve.face{'________________':>{WIDTH - EDGE - 23}}",
        "      a rule",
        f"      crank.turns{'forward / backward':>{WIDTH - EDGE - 17}}",
        "      way it turns",
    ]


def test_words_of_judgement_are_bold_and_nothing_else() -> None:
    told = "front intake  0.048  SHORT by 0.032; LOOK AGAIN\n  OKAY, targets.SHORT-x and OK"
    bold = emphasised(told)
    assert bold.replace("\033[1m", "").replace("\033[0m", "") == told
    assert re.findall(r"\033\[1m(.*?)\033\[0m", bold) == ["SHORT", "LOOK AGAIN", "OK"]


@pytest.mark.parametrize(
    ("more", "bold"), [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)]
)
def test_on_a_terminal_alone(more: dict[str, str], bold: bool) -> None:
    pty = pytest.importorskip("pty")
    master, slave = pty.openpty()
    code = f"import sys; sys.argv = ['tallstack', 'pushrods', {str(DEMO)!r}]; from tallstack.cli.app import main; main()"
    plain = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    process = subprocess.Popen(
        [sys.executable, "-c", code], stdout=slave, stdin=slave, env={**plain, "TERM": "xterm", **more}
    )
    os.close(slave)
    told = b""
    with contextlib.suppress(OSError):  # the end of a terminal whose other side is closed
        while part := os.read(master, 4096):
            told += part
    os.close(master)
    assert process.wait(timeout=30) == 0
    assert (b"\033[1mOK\033[0m" in told) is bold
    assert b"\033" not in tallstack("pushrods", DEMO).out.encode()  # piped


def test_a_verdict_without_room_takes_a_line_of_its_own_and_no_cells_run_together() -> None:
    table = Table(
        (Column("a", 12), Column("b", 60), Column("")), (Row(("exactly ten", "x" * 60, "LOOK AGAIN")),)
    )
    first, *rest = [line for line in text([table]).split("\n") if "x" in line or "LOOK" in line]
    assert first.startswith("  exactly ten x")
    assert [one.strip() for one in rest] == ["LOOK AGAIN"]
    assert all(len(line) <= 80 for line in (first, *rest))


@pytest.mark.parametrize("width", [40, 52])
def test_a_table_wider_than_its_screen_stands_row_by_row(width: int) -> None:
    columns = (
        Column("ORDER", 18),
        Column("in", 8, right=True),
        Column("+/- in", 30, right=True),
        Column(room=20),
    )
    table = Table(
        columns, (Row(("front intake", Length(281.2, 0.1, "in", bare=True), "0.004", "LOOK AGAIN")),), 0
    )
    told = text([table], width).split("\n")
    assert all(len(one) <= width for one in told)
    assert " ".join(" ".join(told).split()) == "ORDER front intake 11.071 in +/- in 0.004 LOOK AGAIN"


def test_no_line_ends_between_a_number_and_its_unit_or_its_doubt() -> None:
    said = "it stands 11.071 in +/- 0.005 in away, 7 3/4 flats, 12 % of it, at 302 degrees before top centre"
    for width in range(40, 100):
        for line in text([Words(said)], width).split("\n")[:-1]:
            assert not re.search(r"(\+/-|\d)$", line), line
