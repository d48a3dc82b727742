"""A page on a terminal: what is wrapped where, what stands under what, which columns stand to the right.

A paragraph that stands alone, and a heading, have a blank line above; what stands under something is set in by two letters for each
level. Nothing but a paragraph is wrapped: no number is ever broken, and what was typed stays whole.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from ..job.contradicted import LOOK_AGAIN
from .model import Block, Break, Cell, Column, Form, Heading, Lines, Row, Table, Words, flat
from .wording import VERDICTS

WIDTH = 78
MOST = 80  # letters of a row, of which the last cell takes a line of its own where it has no room
STEP = 2  # letters by which each level is set in
HANGING = {Form.PROSE: 2, Form.ITEM: 4, Form.STEP: 3}  # letters by which the second line of a paragraph is
APART = "  "  # before what stands to the left beside what stands to the right
BLANK, WITHOUT_DOUBT = "________________ +/- ________", "________________"


def text(blocks: Sequence[Block]) -> str:
    """Return blocks as a terminal shows them."""
    return "\n".join(lines(blocks))


def emphasised(told: str) -> str:
    """Return text for a terminal, its words of judgement in bold and nothing else.

    Source: ECMA-48, 8.3.117 (SGR): 1 is bold, 0 plain again.
    """
    words = "|".join(sorted((*VERDICTS.values(), LOOK_AGAIN), key=len, reverse=True))
    return re.sub(rf"(?<![\w-])(?:{words})(?![\w-])", "\033[1m\\g<0>\033[0m", told)


def lines(blocks: Sequence[Block]) -> list[str]:
    """Return the lines of blocks; those for paper alone have none."""
    found: list[str] = []
    for block in flat(blocks):
        apart = (
            isinstance(block, (Heading, Break))
            or (isinstance(block, Words) and not block.under)
            or (isinstance(block, Table) and not block.under)
        )
        if apart and found and found[-1]:
            found.append("")
        if isinstance(block, Heading):
            found.append(paragraph(block.words, 0, 2) if len(block.words) > WIDTH else block.words)
        elif isinstance(block, Words):
            found.append(_words(block))
        elif isinstance(block, Lines):
            found += block.words.split("\n")
        elif isinstance(block, Table):
            found += _to_write(block) if any(one.to_write for one in block.columns) else _table(block)
    return found


def _words(one: Words) -> str:
    if one.form is Form.LINE:
        return f"{' ' * STEP * one.under}{one.words}"
    hanging = HANGING[one.form] if one.under or one.form is not Form.PROSE else 0
    return paragraph(one.words, STEP * one.under, hanging)


def shown(cell: Cell) -> str:
    """Return a cell as words."""
    return cell if isinstance(cell, str) else cell.shown()


def _table(table: Table) -> list[str]:
    found = []
    if any(table.heads):
        above = [head.rpartition("\n")[::2] for head in table.heads]
        for line in (0, 1) if any(one for one, _ in above) else (1,):
            found.append(_row(table.columns, tuple(one[line] for one in above), table.under))
    for row in table.rows:
        found.append(_words(row) if isinstance(row, Words) else _row(table.columns, row.cells, row.under))
    return found


def _row(columns: Sequence[Column], cells: Sequence[Cell], under: int) -> str:
    """Return a row of cells, each in its column; what is too long for one moves on what stands behind it.

    A number takes of the blank before it first. Only a last column that takes what room there is is wrapped.
    """
    line, above, before, words = " " * STEP * under, "", "", ""
    for place, (column, cell) in enumerate(zip(columns, cells, strict=False)):
        before, words = line, shown(cell)
        spans = place == len(cells) - 1 and len(cells) < len(columns)
        edge = len(line) + column.room if place else column.room
        if place and column.right and not spans:
            if column.room:
                line = line[: max(len(line.rstrip()) + 1, edge - len(words))]
            line += words.rjust(edge - len(line))
            continue
        if place and words:
            line += APART if columns[place - 1].right else " " * (not line.endswith(" "))
        line += words
        if column.own_line and not spans and len(line) > column.room:
            line, above = "", f"{line}\n"
        line = line if spans else line.ljust(edge)
    if len(line.rstrip()) > MOST and before.strip() and not columns[-1].wide:
        line, above = words.strip().rjust(MOST), f"{above}{before.rstrip()}\n"
    line = line.rstrip()
    if len(line) <= WIDTH or not columns[-1].wide:
        return above + line
    return above + paragraph(line.lstrip(), STEP * under, HANGING[Form.ITEM])


def _to_write(table: Table) -> list[str]:
    """Return rows with their first cells beside the blank, and under them the others in words.

    What stands in the column to write in are the words to choose from; what stands in the one behind it says that it has no +/-.
    """
    found = []
    at = next(place for place, one in enumerate(table.columns) if one.to_write)
    for row in table.rows:
        assert isinstance(row, Row)
        letter, entry, *told, choices, no_doubt = map(shown, row.cells[: at + 2])
        first = f"{' ' * STEP * row.under}{letter}".ljust(table.columns[0].room - 1) + f" {entry}"
        blank = choices or (WITHOUT_DOUBT if no_doubt else BLANK)
        behind = paragraph("; ".join(one for one in told if one), 3 * STEP, 2)
        if len(first) + len(blank) + STEP <= WIDTH:
            found += [f"{first}{blank:>{WIDTH - len(first)}}", behind]
        else:
            found += [first, paragraph(blank, 3 * STEP, 2) if choices else f"{blank:>{WIDTH}}", behind]
    return found


def paragraph(text: str, indent: int = 0, hanging: int = 0) -> str:
    """Return text wrapped to the width of a page."""
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hanging),
        break_long_words=False,
        break_on_hyphens=False,
    )
