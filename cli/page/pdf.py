"""The sheet as a PDF for paper: A4 or Letter, its letters embedded, the same bytes for the same sheet.

Drawings are drawn line by line in their own millimetres, so that a scale on the page is one.

It carries no date of its own but the one it shows.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Sequence
from itertools import takewhile, zip_longest
from typing import NamedTuple

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from fpdf.fonts import TTFFont

from ..drawing.lines import Anchor, Circle, Drawing, Fill, Line, Mark, Text
from .letters import FACES, file_of, known
from .model import (
    Beside,
    Blanks,
    Block,
    Boxes,
    Break,
    CheckLine,
    Form,
    Frame,
    Heading,
    Lines,
    Number,
    Page,
    Picture,
    Row,
    Sheet,
    Table,
    Turn,
    Words,
    flat,
)
from .text import shown

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN, FOOT = 12.0, 16.0
POINT = 72 / 25.4  # points for a mm
PAD = 1.2  # mm, to either side of a table's cell
STEP = 4.0  # mm, by which what stands under something is set in
ABOVE, BREAK, GAP = (
    1.4,
    2.4,
    0.6,
)  # mm: above a heading and below a table; of a break; below what stands under something
MUCH = 0.5  # of a page: what stands under a heading is not broken up to there
BODY, SMALL, LARGE, HEAD = 9.0, 7.5, 13.0, 11.0  # points
BLANK = 8.0  # mm, the height of a line to write on
ROOMY = 7.5  # mm, the height of a row to write in
LEAST = 10.0  # points, on the first page, which is read from where one stands
FRAMED, SIGNING = 2.0, 12.0  # mm: within a frame, and for a line to sign at the foot of the first page
BETWEEN = 3.0  # mm, of pictures beside each other
LONG_MM, LONG_IN = 100.0, 101.6
GREYS = {Fill.BLACK: 0, Fill.WHITE: 255, Fill.GREY: 228}


def pdf(sheet: Sheet, paper: str, at_arms_length: bool = True) -> bytes:
    """Return the sheet as a PDF file.

    paper          : one of SIZES
    at_arms_length : the first part has no small letters, and is signed at the foot of its first page
    """
    page = _Paper(sheet, paper)
    try:
        page.part(sheet.first, at_arms_length)
        for one in sheet.rest:
            page.part(one)
        return bytes(page.output())
    finally:
        page.put_away()


class _Paper(FPDF):
    """One document being laid out."""

    def __init__(self, sheet: Sheet, paper: str) -> None:
        super().__init__(orientation="portrait", unit="mm", format=SIZES[paper])
        self.sheet, self.size = sheet, SIZES[paper]
        for family, _, style, name in FACES:
            self.add_font(family, style, file_of(name))
        self.set_title(_showable(sheet.title))
        self.set_creator("tallstack")
        self.set_lang("en")
        self.creation_date = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)  # none of the file's own
        self.set_margins(MARGIN, MARGIN)
        self.c_margin = 0.0
        self.set_auto_page_break(True, FOOT)
        self.alias_nb_pages("{all}")
        self.least = 0.0  # points, of letters
        self.signing: tuple[str, ...] = ()  # what is signed at the foot of the first page
        self.lying = ""  # what is said beneath a page that lies; empty on one that stands

    def put_away(self) -> None:
        """Close the files of the letters, which the library leaves open."""
        for font in self.fonts.values():
            if isinstance(font, TTFFont):
                font.ttfont.close()

    def footer(self) -> None:
        """Print what stands beneath every page."""
        if self.signing and self.page_no() == 1:
            self._blank_row(self.signing, self.h - FOOT - SIGNING + 2)
        self.set_y(-FOOT + 4 if not self.lying else -5.4)
        self.set_font("sheet", "", 6.5)
        told = self.sheet.foot if not self.lying else f"{self.sheet.foot}; {self.lying}"
        self.cell(self.epw - 30, 4, _cut(self, _showable(told), self.epw - 32))
        self.cell(30, 4, f"page {self.page_no()} of {{all}}", align="R")

    def _stand(self) -> None:
        """Begin a page that stands after one that lies."""
        if self.lying:
            self.add_page(orientation="portrait", format=self.size)
            self.lying = ""
            self.set_auto_page_break(True, FOOT)

    def part(self, page: Page, at_arms_length: bool = False) -> None:
        """Lay out a part of the sheet, on new pages."""
        self.least = LEAST if at_arms_length else 0.0
        blocks = list(flat(page.blocks))
        if at_arms_length and blocks and isinstance(signed := blocks[-1], Blanks):
            self.signing = signed.labels
            blocks.pop()
        first = blocks[0].picture if blocks and isinstance(blocks[0], Turn) else blocks[0] if blocks else None
        alone = 1 if isinstance(first, Picture) and self._lies(first.drawing) else 0
        goes_on = page is self.sheet.rest[0] and self.page_no() > 1 if self.sheet.rest else False
        if not alone:
            if not goes_on:
                self.add_page(format=self.size, orientation="portrait")
                self.lying = ""
            self.set_auto_page_break(True, FOOT + (SIGNING if self.page_no() == 1 and self.signing else 0.0))
            self._text("B", 15 if page is self.sheet.first else 13, page.title)
        for block in blocks[:alone]:  # has a page to itself, with its own title on it
            self._block(block, ())
        if page is not self.sheet.first:
            self.start_section(_showable(page.title))
        for place in range(alone, len(blocks)):
            self._block(blocks[place], blocks[place + 1 :])

    def _block(self, block: Block, behind: Sequence[Block]) -> None:
        """Lay out a block; behind : those that follow it."""
        picture = block.picture if isinstance(block, Turn) else block
        if isinstance(picture, Picture):
            self._picture(picture)
            return
        if isinstance(block, Beside):
            self._beside(block.pictures)
            return
        self._stand()
        if isinstance(block, Frame):
            self._frame(block)
        elif isinstance(block, Table):
            self._table(block)
        elif isinstance(block, Heading):
            self._keep(self._high(block) + self._together(behind))
            self.ln(ABOVE)
            self._text("B", HEAD, block.words)
        elif isinstance(block, (Words, Lines)):
            self._words(block if isinstance(block, Words) else Words(block.words))
        elif isinstance(block, Break):
            self.ln(self._high(block))
        elif isinstance(block, Boxes):
            self._boxes(block.items)
        elif isinstance(block, Blanks):
            self._blanks(block.labels)
        else:
            assert isinstance(block, CheckLine)
            self._check_line()

    def _together(self, behind: Sequence[Block]) -> float:
        """Return how much of what stands under a heading has to stand on its page, mm: all of it, unless that is much."""
        highs: list[float] = []
        for block in behind:
            if isinstance(block, Boxes):
                return sum(highs) + self._boxes_high(block.items)
            if not isinstance(block, (Words, Table, Break)) or (isinstance(block, Words) and not block.under):
                break
            highs.append(self._high(block))
        if sum(highs) <= MUCH * self.eph:
            return sum(highs)
        first = next(place for place, block in enumerate(behind) if not isinstance(block, Break))
        block = behind[first]
        return sum(highs[:first]) + (self._laid(block).begins if isinstance(block, Table) else highs[first])

    def _high(self, block: Block) -> float:
        """Return how high a block of words is, mm."""
        if isinstance(block, Words):
            return len(self._lines(block)) * self._line(block) + (GAP if block.under else 0.0)
        if isinstance(block, Table):
            return self._laid(block).high + ABOVE
        return ABOVE + HEAD / POINT * 1.28 if isinstance(block, Heading) else BREAK

    def _line(self, one: Words) -> float:
        """Return how high a line of a paragraph is, its letters being set."""
        size = max(SMALL if one.small else BODY + 0.5, self.least)
        self.set_font("sheet", "B" if one.strong else "", size)
        return size / POINT * 1.28

    def _lines(self, one: Words) -> list[str]:
        self._line(one)
        left = STEP * max(one.under - 1, 0)
        return _wrapped(self, _showable(one.words), self.epw - left, self._hanging(one))

    def _hanging(self, one: Words) -> float:
        """Return by how much the second line of a paragraph is set in, mm."""
        return STEP if one.form in (Form.ITEM, Form.STEP) else 0.0

    def _words(self, one: Words) -> None:
        """Lay out a paragraph whole, on the next page where this one has no room for all of it."""
        self._keep(self._high(one))
        high, left = self._line(one), STEP * max(one.under - 1, 0)
        for place, words in enumerate(self._lines(one)):
            self.set_x(self.l_margin + left + (self._hanging(one) if place else 0.0))
            self.cell(0.0, high, words, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(GAP if one.under else 0.0)

    def _frame(self, frame: Frame) -> None:
        """Lay out blocks in a frame, on one page."""
        blocks = [one for one in frame.blocks if isinstance(one, (Heading, Words))]
        inset = FRAMED if frame.heavy else FRAMED / 2
        self.set_margins(MARGIN + inset, MARGIN)
        high = sum(self._high(one) for one in blocks) + 2 * inset
        self._keep(high)
        top = self.get_y()
        self.set_xy(self.l_margin, top + inset / 2)
        for one in blocks:
            self._block(one, ())
        self.set_margins(MARGIN, MARGIN)
        self.set_line_width(0.9 if frame.heavy else 0.25)
        self.rect(MARGIN, top, self.epw, self.get_y() - top + inset / 2)
        self.set_xy(MARGIN, self.get_y() + inset / 2 + 1.2)

    def _beside(self, pictures: Sequence[Picture]) -> None:
        """Draw pictures beside each other, each under its caption, as many in a row as there is room for."""
        rows: list[list[Picture]] = []
        for one in pictures:
            wide = sum(each.drawing.width + BETWEEN for each in rows[-1]) if rows else 0.0
            if rows and wide + one.drawing.width <= self.epw + 1e-6:
                rows[-1].append(one)
            else:
                rows.append([one])
        for row in rows:
            self.set_font("sheet", "B", max(BODY, self.least))
            line = max(BODY, self.least) / POINT * 1.28
            share = (self.epw - sum(one.drawing.width for one in row)) / len(row)
            said = [
                _wrapped(self, _showable(one.caption), one.drawing.width + share - BETWEEN) for one in row
            ]
            over = line * max(map(len, said))
            tall = max(one.drawing.height for one in row)
            self._keep(over + tall + 2.0)
            left, top = self.l_margin, self.get_y() + 1.0
            for one, lines in zip(row, said, strict=True):
                self.set_font("sheet", "B", max(BODY, self.least))
                for place, words in enumerate(lines):
                    self.set_xy(left, top + place * line)
                    self.cell(one.drawing.width + share, line, words)
                self._marks(one.drawing, left, top + over + tall - one.drawing.height, 1.0)
                left += one.drawing.width + share
            self.set_xy(self.l_margin, top + over + tall + 1.0)

    def _keep(self, high: float) -> None:
        """Begin a new page where not even so much room, mm, is left on this one."""
        if self.will_page_break(high):
            self.add_page(same=True)

    def _text(self, style: str, size: float, words: str) -> None:
        self.set_font("sheet", style, size)
        high = size / POINT * 1.28
        self.multi_cell(self.epw, high, _showable(words), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    def _table(self, table: Table) -> None:
        laid = self._laid(table)
        if not table.under:
            self.ln(BREAK)
        self._keep(laid.begins)  # no heads without a row under them
        heads = next((one for one in laid.rows[:1] if isinstance(one, _Strip) and any(table.heads)), None)
        for place, row in enumerate(laid.rows):
            if isinstance(row, Words):
                self._words(row)
                continue
            said = takewhile(lambda one: isinstance(one, Words), laid.rows[place + 1 :])
            high = row.high + sum(self._high(one) for one in said if isinstance(one, Words))
            if heads is not None and place and self.will_page_break(high):
                self._keep(high)
                self._row(heads, laid.widths)  # a page tells what its columns are
            self._row(row, laid.widths)
        self.ln(ABOVE)

    def _laid(self, table: Table) -> _Laid:
        """Return a table's rows, wrapped within their columns."""
        size = max(LARGE - 2 if table.large else BODY - 1, self.least)
        natural = self._natural(table, size)
        columns = table.columns
        widths = _shared(natural, [place for place, one in enumerate(columns) if one.wide], self.epw)
        right = [_stands_right(table, place) for place in range(len(columns))]
        least = ROOMY if any(one.to_write for one in columns) else 0.0
        heads = [one.replace("\n", " ") for one in table.heads]
        rows: list[_Strip | Words] = []
        if any(heads):
            cells = [
                self._cell(one, wide, self._head(size), True, at)
                for one, wide, at in zip(heads, widths, right, strict=True)
            ]
            rows.append(self._strip(cells, 0.4))
        for row, behind in zip_longest(table.rows, table.rows[1:]):
            if isinstance(row, Words):
                rows.append(row._replace(small=True))
                continue
            cells = []
            for place, cell in enumerate(row.cells):
                spans = place == len(row.cells) - 1 and place < len(columns) - 1
                wide = sum(widths[place:]) if spans else widths[place]
                set_in = 0.0 if place else STEP * max(row.under - 1, 0)
                cells.append(
                    self._cell(
                        shown(cell),
                        wide,
                        columns[place].points or size,
                        columns[place].strong,
                        right[place] and not spans,
                        set_in,
                    )
                )
            rows.append(self._strip(cells, 0.0 if isinstance(behind, Words) else 0.1, least))
        highs = [self._high(one) if isinstance(one, Words) else one.high for one in rows]
        return _Laid(rows, sum(widths), sum(highs), sum(highs[:2] if any(heads) else highs[:1]))

    def _cell(
        self, words: str, wide: float, size: float, strong: bool, right: bool, set_in: float = 0.0
    ) -> _Cell:
        """Return a cell wrapped within its width; set_in : from its left edge, mm."""
        self.set_font("sheet", "B" if strong else "", size)
        lines = _wrapped(self, _showable(words), wide - set_in - 2 * PAD)
        return _Cell(lines, wide, size, strong, right, set_in)

    def _head(self, size: float) -> float:
        """Return the size of a table's heads, in points."""
        return max(size * 0.72, self.least)

    def _strip(self, cells: list[_Cell], rule: float, least: float = 0.0) -> _Strip:
        """Return a row; rule : the line beneath it;  least : how high it is at least."""
        high = max(len(one.lines) * one.size / POINT * 1.3 for one in cells)
        return _Strip(cells, max(one.size for one in cells), max(high + 1.0, least), rule)

    def _natural(self, table: Table, size: float) -> list[float]:
        """Return how wide each column is where nothing is wrapped."""
        found = [one.to_write for one in table.columns]
        rows = [
            (table.heads, 0, True),
            *((one.cells, one.under, False) for one in table.rows if isinstance(one, Row)),
        ]
        for cells, under, head in rows:
            for place, cell in enumerate(cells):
                if len(cells) < len(found) and place == len(cells) - 1 and place:
                    continue  # takes up what is left
                bold = head or table.columns[place].strong
                own = table.columns[place].points or size
                self.set_font("sheet", "B" if bold else "", self._head(size) if head else own)
                wide = self.get_string_width(_showable(shown(cell))) + 2 * PAD + 0.2
                wide += 0.0 if place else STEP * max(under - 1, 0)
                found[place] = max(found[place], wide)
        return found

    def _row(self, row: _Strip, wide: float) -> None:
        """Lay out a row; wide : of the table, mm."""
        pad = PAD
        self._keep(row.high)
        top, left = self.get_y(), self.l_margin
        for one in row.cells:
            self.set_font("sheet", "B" if one.strong else "", one.size)
            line = one.size / POINT * 1.3
            lower = (
                0.85 * (row.size - one.size) / POINT if len(one.lines) == 1 else 0.0
            )  # on one line with the largest
            for index, words in enumerate(one.lines):
                self.set_xy(left + pad + one.set_in, top + 0.5 + lower + index * line)
                self.cell(one.wide - one.set_in - 2 * pad, line, words, align="R" if one.right else "L")
            left += one.wide
        if row.rule:
            self.set_line_width(row.rule)
            self.line(self.l_margin, top + row.high, self.l_margin + wide, top + row.high)
        self.set_xy(self.l_margin, top + row.high)

    def _boxes_high(self, items: Sequence[str]) -> float:
        """Return how high checks to tick are, mm."""
        return math.ceil(len(items) / 2) * (2 * max(9.5, self.least) / POINT * 1.25 + 0.6)

    def _boxes(self, items: Sequence[str]) -> None:
        """Print checks in two columns, each with a box and a line to write on."""
        half, size = self.epw / 2, max(9.5, self.least)
        line = size / POINT * 1.25
        rows = math.ceil(len(items) / 2)
        self._keep(self._boxes_high(items))
        self.set_font("sheet", "", size)
        longest = max(self.get_string_width(_showable(one)) for one in items)
        room = half - line - 3
        if longest > room:  # a check that is cut short is none
            self.set_font("sheet", "", size * room / longest * 0.99)
        top = self.get_y()
        for place, words in enumerate(items):
            left = self.l_margin + half * (place // rows)
            down = top + (place % rows) * (2 * line + 0.6)
            self.set_line_width(0.3)
            self.rect(left, down + 0.4, line, line)
            self.set_xy(left + line + 1.5, down)
            self.cell(room, line + 0.8, _showable(words))
            self.set_line_width(0.15)
            foot = down + 2 * line
            self.line(left + line + 2, foot, left + half - 4, foot)
        self.set_xy(self.l_margin, top + rows * (2 * line + 0.6) + 1.0)

    def _blanks(self, labels: Sequence[str]) -> None:
        """Print lines to write on, as many beside each other as fit."""
        for start in range(0, len(labels), 4):
            self._keep(BLANK)
            self._blank_row(labels[start : start + 4], self.get_y())
        self.ln(2.0)

    def _blank_row(self, labels: Sequence[str], top: float) -> None:
        """Print lines to write on beside each other."""
        size = max(BODY - 0.5, self.least)
        self.set_font("sheet", "", size)
        wide = self.epw / len(labels)
        for place, words in enumerate(labels):
            left = self.l_margin + place * wide
            self.set_xy(left, top + BLANK - size / POINT - 0.8)
            self.cell(wide, size / POINT + 0.6, words)
            long = self.get_string_width(words) + 3
            self.set_line_width(0.2)
            self.line(left + long, top + BLANK, left + wide - 3, top + BLANK)
        self.set_xy(self.l_margin, top + BLANK)

    def _check_line(self) -> None:
        self._keep(20)
        self.ln(3)
        for long, said in ((LONG_MM, "100 mm"), (LONG_IN, "4 in")):
            top, left = self.get_y() + 2, self.l_margin
            self.set_line_width(0.35)
            self.line(left, top, left + long, top)
            for at in (left, left + long):
                self.line(at, top - 1.5, at, top + 1.5)
            self.set_font("sheet", "", BODY)
            self.set_xy(left + long + 2, top - 2)
            self.cell(80, 4, f"{said}, if this was printed to scale")
            self.set_xy(self.l_margin, top + 4)
        self.ln(2)

    def _picture(self, picture: Picture) -> None:
        """Draw a picture as large as it is; one that is too wide for that has a page to itself, which lies."""
        drawing = picture.drawing
        if self._lies(drawing):
            self._lying_picture(drawing)
            return
        self._stand()
        self._keep(drawing.height + 8)
        self.ln(1)
        self._marks(drawing, self.l_margin + (self.epw - drawing.width) / 2, self.get_y(), 1.0)
        self.set_y(self.get_y() + drawing.height + 1)
        if picture.caption:
            self._text("", SMALL, picture.caption)

    def _lies(self, drawing: Drawing) -> bool:
        """Say whether a picture is too wide for a page that stands."""
        return drawing.width > self.size[0] - 2 * MARGIN + 1e-6

    def _lying_picture(self, drawing: Drawing) -> None:
        self.add_page(orientation="landscape", format=self.size)
        self.set_auto_page_break(False)
        scale = min(1.0, self.w / drawing.width, self.h / drawing.height)
        to_scale = scale > 0.999
        named = "not to scale" if "not to scale" in drawing.description else "to the scale it names"
        self.lying = named if to_scale else f"at {100 * scale:.1f} % of the size it was drawn for, A4"
        self._marks(drawing, (self.w - scale * drawing.width) / 2, 0.0, scale)

    def _marks(self, drawing: Drawing, left: float, top: float, scale: float) -> None:
        for mark in drawing.on_page():
            self._mark(mark, left, top + drawing.height * scale, scale)
        self._dashes([])

    def _dashes(self, lengths: Sequence[float]) -> None:
        """Set dash, gap and so on, in mm, as the file says it: the library's own way knows but one of each."""
        self._out(f"[{' '.join(f'{one * self.k:.3f}' for one in lengths)}] 0 d")

    def _mark(self, mark: Mark, left: float, foot: float, scale: float) -> None:
        if isinstance(mark, Text):
            self._lettering(mark, left + mark.at[0] * scale, foot - mark.at[1] * scale, scale)
            return
        self.set_line_width(mark.stroke.weight * scale)
        self._dashes([one * scale for one in mark.stroke.dashes])
        filled = mark.fill in GREYS
        if filled:
            self.set_fill_color(GREYS[mark.fill])
        style = "DF" if filled else "D"
        if isinstance(mark, Circle):
            self.circle(
                left + mark.centre[0] * scale, foot - mark.centre[1] * scale, mark.radius * scale, style=style
            )
            return
        assert isinstance(mark, Line)
        points = [(left + u * scale, foot - v * scale) for u, v in mark.points]
        if mark.closed:
            self.polygon(points, style=style)
        elif len(points) > 1:
            self.polyline(points, style=style)

    def _lettering(self, mark: Text, across: float, down: float, scale: float) -> None:
        words = _showable(mark.words)
        if not words:
            return
        self.set_font("sheet", "B" if mark.bold else "", mark.size * POINT * scale)
        wide = self.get_string_width(words)
        start = across - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[mark.anchor]
        if mark.turn:
            with self.rotation(mark.turn, across, down):
                self._clear(start, down, wide, mark.size * scale)
                self.text(start, down, words)
            return
        self._clear(start, down, wide, mark.size * scale)
        self.text(start, down, words)

    def _clear(self, left: float, foot: float, wide: float, size: float) -> None:
        """Leave the paper bare behind a text."""
        self.set_fill_color(255)
        self.rect(left - 0.15, foot - 0.78 * size, wide + 0.3, size, style="F")


class _Cell(NamedTuple):
    """A cell as it stands in its column."""

    lines: list[str]
    wide: float  # mm
    size: float  # of its letters, points
    strong: bool
    right: bool
    set_in: float  # mm


class _Strip(NamedTuple):
    """A row, which is never broken."""

    cells: list[_Cell]
    size: float  # of its largest letters, points
    high: float  # mm
    rule: float  # mm, the weight of the line beneath it; 0 where what is said of the row follows


class _Laid(NamedTuple):
    """A table as it is laid out."""

    rows: list[_Strip | Words]
    widths: float  # mm, of all its columns
    high: float  # mm
    begins: float  # mm, of its heads and its first row


def _stands_right(table: Table, place: int) -> bool:
    """Say whether a column stands to the right: its cells are numbers, all of them."""
    rows = [row.cells for row in table.rows if isinstance(row, Row) and place < len(row.cells)]
    column = [cells[place] for cells in rows if len(cells) == len(table.columns) and shown(cells[place])]
    return bool(column) and all(isinstance(one, Number) or _is_number(shown(one)) for one in column)


def _shared(natural: Sequence[float], wide: Sequence[int], room: float) -> list[float]:
    """Return the columns' widths: as they are where they fit, with what is left for the wide ones, or those wrapped."""
    total = sum(natural)
    widths = list(natural)
    if total <= room:
        for place in wide:
            widths[place] += (room - total) / len(wide)
        return widths
    flexible = wide or (0,)
    asked = sum(natural[place] for place in flexible)
    left = room - total + asked
    if left < 12.0 * len(flexible):  # all give way
        return [one * room / total for one in natural]
    for count, place in enumerate(
        sorted(flexible, key=lambda one: natural[one])
    ):  # the narrow ones have all they need
        widths[place] = min(natural[place], left / (len(flexible) - count))
        left -= widths[place]
    return widths


def _wrapped(paper: FPDF, words: str, wide: float, hanging: float = 0.0) -> list[str]:
    """Return words as lines no wider than that, mm; hanging : by how much all but the first are narrower."""
    lines: list[str] = []
    line, room = "", wide
    for word in words.split(" "):
        longer = f"{line} {word}".strip()
        if line and paper.get_string_width(longer) > room:
            lines.append(line)
            line = word
            room = wide - hanging
        else:
            line = longer
        while paper.get_string_width(line) > room and len(line) > 1:
            fits = next(
                n for n in range(len(line) - 1, 0, -1) if n == 1 or paper.get_string_width(line[:n]) <= room
            )
            dot = max(line.rfind(".", 0, fits), line.rfind("_", 0, fits))
            cut = dot + 1 if dot > fits / 2 else fits
            lines.append(line[:cut])
            room = wide - hanging
            line = line[cut:]
    return [*lines, line]


def _cut(paper: FPDF, words: str, wide: float) -> str:
    if paper.get_string_width(words) <= wide:
        return words
    while words and paper.get_string_width(f"{words}...") > wide:
        words = words[:-1]
    return f"{words}..."


def _is_number(words: str) -> bool:
    return re.fullmatch(r"[-+]?\d+(\.\d+)?( (mm|in|deg))?", words) is not None


def _showable(words: str) -> str:
    """Return words with a question mark for every letter that the font does not have."""
    return "".join(
        one if one.isprintable() and ord(one) in known() else "?" for one in " ".join(words.split())
    )
