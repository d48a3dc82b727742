"""A page on a terminal: what is wrapped where, what stands under what, which columns stand to the right.

A paragraph that stands alone, and a heading, have a blank line above; what stands under something is set in by two letters for each
level. Nothing but a paragraph is wrapped: no number is ever broken nor parted from its unit or its +/-, and what was typed stays
whole. A table that is wider than a narrow screen is set row by row, each cell behind its head.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from ..job.contradicted import LOOK_AGAIN
from .model import Block, Break, Cell, Column, Form, Heading, Lines, Table, Words, flat
from .wording import VERDICTS

WIDTH = 80  # columns, where nothing is known of who reads
NARROWEST, WIDEST = 40, 100  # of a terminal's
EDGE = 2  # columns that words leave at the right edge
BOUND = re.compile(
    r"(?<=\+/-) (?=[\d.])|(?<=[\d.]) (?=(?:in|mm|deg|degrees?|cc|N|lbf|g|rpm|MPa|%|turns?|flats?|1/4|1/2|3/4)\b)|(?<=\d) (?=%)"
)  # blanks at which no line ends
KEPT = "\0"  # stands for them meanwhile
STEP = 2  # letters by which each level is set in
HANGING = {Form.PROSE: 2, Form.ITEM: 4, Form.STEP: 3}  # letters by which the second line of a paragraph is
APART = "  "  # before what stands to the left beside what stands to the right
BLANK, WITHOUT_DOUBT = "________________ +/- ________", "________________"


def text(blocks: Sequence[Block], width: int = WIDTH) -> str:
    """Return blocks as a terminal of so many columns shows them."""
    return "\n".join(lines(blocks, width))


def emphasised(told: str) -> str:
    """Return text for a terminal, its words of judgement in bold and nothing else.

    Source: ECMA-48, 8.3.117 (SGR): 1 is bold, 0 plain again.
    """
    words = "|".join(sorted((*VERDICTS.values(), LOOK_AGAIN), key=len, reverse=True))
    return re.sub(rf"(?<![\w-])(?:{words})(?![\w-])", "\033[1m\\g<0>\033[0m", told)


def lines(blocks: Sequence[Block], width: int = WIDTH) -> list[str]:
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
            long = len(block.words) > width - EDGE
            found.append(paragraph(block.words, 0, 2, width) if long else block.words)
        elif isinstance(block, Words):
            found.append(_words(block, width))
        elif isinstance(block, Lines):
            found += block.words.split("\n")
        elif isinstance(block, Table):
            found += (
                _to_write(block, width)
                if any(one.to_write for one in block.columns)
                else _table(block, width)
            )
    return found


def _words(one: Words, width: int) -> str:
    if one.form is Form.LINE:
        whole = f"{' ' * STEP * one.under}{one.words}"
        if width >= WIDTH or len(whole) <= width:
            return whole
        return paragraph(one.words, STEP * one.under, STEP, width)
    hanging = HANGING[one.form] if one.under or one.form is not Form.PROSE else 0
    return paragraph(one.words, STEP * one.under, hanging, width)


def shown(cell: Cell) -> str:
    """Return a cell as words."""
    return cell if isinstance(cell, str) else cell.shown()


def _table(table: Table, width: int) -> list[str]:
    found: list[str] = []
    if any(table.heads):
        above = [head.rpartition("\n")[::2] for head in table.heads]
        for line in (0, 1) if any(one for one, _ in above) else (1,):
            found.append(_row(table.columns, tuple(one[line] for one in above), table.under, width))
    for row in table.rows:
        if isinstance(row, Words):
            found.append(_words(row, width))
        else:
            found.append(_row(table.columns, row.cells, row.under, width))
    if width >= WIDTH or all(len(line) <= width for one in found for line in one.split("\n")):
        return found
    return _row_by_row(table, width)


def _row_by_row(table: Table, width: int) -> list[str]:
    """Return a table with its first cells on lines of their own, the others under them, each behind its head."""
    heads = [head.replace("\n", " ") for head in table.heads]
    found = [paragraph(heads[0], STEP * table.under, STEP, width)] if heads[0] else []
    for row in table.rows:
        if isinstance(row, Words):
            found.append(_words(row, width))
            continue
        first, *others = map(shown, row.cells)
        told = [
            f"{cell} {head}" if head in ("mm", "in") else f"{head} {cell}".strip()
            for head, cell in zip(heads[1:], others, strict=False)
            if cell
        ]
        told = [one.replace(" ", KEPT) if len(one) < width - STEP * (row.under + 3) else one for one in told]
        found += [paragraph(first, STEP * row.under, STEP, width)] if first else []
        found += [paragraph("  ".join(told), STEP * (row.under + 1), STEP, width)] if told else []
    return found


def _row(columns: Sequence[Column], cells: Sequence[Cell], under: int, width: int) -> str:
    """Return a row of cells, each in its column; what is too long for one moves on what stands behind it.

    A number takes of the blank before it first. Only a last column that takes what room there is is wrapped.
    """
    line, above, before, words, at = " " * STEP * under, "", "", "", 0
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
        at = len(line)
        line += words
        if column.own_line and not spans and len(line) > column.room:
            line, above = "", f"{line}\n"
        line = line if spans else line.ljust(edge)
    if len(line.rstrip()) > width and before.strip() and not columns[-1].wide:
        line, above = words.strip().rjust(width), f"{above}{before.rstrip()}\n"
    line = line.rstrip()
    if len(line) <= width - EDGE or not columns[-1].wide:
        return above + line
    indent = len(line) - len(line.lstrip())
    if at > width // 2:  # no room beside it
        indent = STEP * under + (STEP if indent > STEP * under else 0)
    hanging = at - indent if at <= width // 2 else HANGING[Form.ITEM]
    return above + paragraph(line.lstrip(), indent, hanging, width)


def _to_write(table: Table, width: int) -> list[str]:
    """Return rows with their first cells beside the blank, and under them the others in words.

    What stands in the column to write in are the words to choose from; what stands in the one behind it says that it has no +/-;
    a row that ends before it has none: what is written stands under it.
    """
    found = []
    at = next(place for place, one in enumerate(table.columns) if one.to_write)
    for row in table.rows:
        if isinstance(row, Words):
            found.append(_words(row, width))
            continue
        letter, entry, *told = map(shown, row.cells[:at])
        first = f"{' ' * STEP * row.under}{letter}".ljust(table.columns[0].room - 1) + f" {entry}"
        said = "; ".join(one for one in told if one)
        behind = [paragraph(said, 3 * STEP, 2, width)] if said else []
        if len(row.cells) <= at:  # what stands under it is written
            found += [first, *behind]
            continue
        choices, no_doubt = map(shown, row.cells[at : at + 2])
        blank = choices or (WITHOUT_DOUBT if no_doubt else BLANK)
        if len(first) + len(blank) + STEP <= width - EDGE:
            found += [f"{first}{blank:>{width - EDGE - len(first)}}", *behind]
        else:
            to_fill = paragraph(blank, 3 * STEP, 2, width) if choices else f"{blank:>{width - EDGE}}"
            found += [first, to_fill, *behind]
    return found


def paragraph(text: str, indent: int = 0, hanging: int = 0, width: int = WIDTH) -> str:
    """Return text wrapped to the width of a page."""
    filled = textwrap.fill(
        BOUND.sub(KEPT, text),
        width - EDGE,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hanging),
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace(KEPT, " ")
