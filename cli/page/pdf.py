"""The sheet as a PDF for paper: A4 or Letter, its letters embedded, the same bytes for the same sheet.

Drawings are drawn line by line in their own millimetres, so that a scale on the page is one.

It carries no date of its own but the one it shows.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Sequence
from itertools import zip_longest
from typing import NamedTuple

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from fpdf.fonts import TTFFont

from ..drawing.lines import Anchor, Circle, Drawing, Fill, Line, Mark, Text
from .letters import FACES, file_of, known
from .model import (
    Blanks,
    Block,
    Boxes,
    Break,
    CheckLine,
    Form,
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
ROOMY = 9.0  # mm, the height of a row to write in
TRIES = (1.3, 1.2, 1.1, 1.0, 0.92, 0.85, 0.78, 0.7, 0.62, 0.55, 0.48)  # of sizes, until the first page is one
LONG_MM, LONG_IN = 100.0, 101.6
GREYS = {Fill.BLACK: 0, Fill.WHITE: 255, Fill.GREY: 228}


def pdf(sheet: Sheet, paper: str, whole_first: bool = True) -> bytes:
    """Return the sheet as a PDF file.

    paper       : one of SIZES
    whole_first : the first part is made as large or small as fills one page
    """
    factor = _largest(sheet, paper) if whole_first else 1.0
    page = _Paper(sheet, paper)
    try:
        page.part(sheet.first, factor)
        for one in sheet.rest:
            page.part(one)
        return bytes(page.output())
    finally:
        page.put_away()


def _largest(sheet: Sheet, paper: str) -> float:
    """Return the largest of TRIES at which the first part is one page, or the smallest."""
    good, bad = len(TRIES) - 1, -1
    tried = _Paper(sheet, paper)
    try:
        while good - bad > 1:
            middle, before = (good + bad) // 2, tried.pages_count
            tried.part(sheet.first, TRIES[middle])
            if tried.pages_count == before + 1:
                good = middle
            else:
                bad = middle
    finally:
        tried.put_away()
    return TRIES[good]


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
        self.by = 1.0
        self.lying = ""  # what is said beneath a page that lies; empty on one that stands

    def put_away(self) -> None:
        """Close the files of the letters, which the library leaves open."""
        for font in self.fonts.values():
            if isinstance(font, TTFFont):
                font.ttfont.close()

    def footer(self) -> None:
        """Print what stands beneath every page."""
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

    def part(self, page: Page, factor: float = 1.0) -> None:
        """Lay out a part of the sheet, on new pages; factor : of every size in it."""
        self.by = factor
        blocks = list(flat(page.blocks))
        alone = 1 if blocks and isinstance(blocks[0], Picture) and self._lies(blocks[0].drawing) else 0
        if not alone:
            self.add_page(format=self.size, orientation="portrait")
            self.lying = ""
            self.set_auto_page_break(True, FOOT)
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
        self._stand()
        if isinstance(block, Table):
            self._table(block)
        elif isinstance(block, Heading):
            self._keep(self._high(block) + self._together(behind))
            self.ln(ABOVE * self.by)
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
            return len(self._lines(block)) * self._line(block) + (GAP * self.by if block.under else 0.0)
        if isinstance(block, Table):
            return self._laid(block).high + ABOVE * self.by
        return (ABOVE + HEAD / POINT * 1.28 if isinstance(block, Heading) else BREAK) * self.by

    def _line(self, one: Words) -> float:
        """Return how high a line of a paragraph is, its letters being set."""
        size = (SMALL if one.small else BODY + 0.5) * self.by
        self.set_font("sheet", "B" if one.strong else "", size)
        return size / POINT * 1.28

    def _lines(self, one: Words) -> list[str]:
        self._line(one)
        left = STEP * self.by * max(one.under - 1, 0)
        return _wrapped(self, _showable(one.words), self.epw - left, self._hanging(one))

    def _hanging(self, one: Words) -> float:
        """Return by how much the second line of a paragraph is set in, mm."""
        return STEP * self.by if one.form in (Form.ITEM, Form.STEP) else 0.0

    def _words(self, one: Words) -> None:
        """Lay out a paragraph whole, on the next page where this one has no room for all of it."""
        self._keep(self._high(one))
        high, left = self._line(one), STEP * self.by * max(one.under - 1, 0)
        for place, words in enumerate(self._lines(one)):
            self.set_x(self.l_margin + left + (self._hanging(one) if place else 0.0))
            self.cell(0.0, high, words, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(GAP * self.by if one.under else 0.0)

    def _keep(self, high: float) -> None:
        """Begin a new page where not even so much room, mm, is left on this one."""
        if self.will_page_break(high):
            self.add_page(same=True)

    def _text(self, style: str, size: float, words: str) -> None:
        self.set_font("sheet", style, size * self.by)
        high = size * self.by / POINT * 1.28
        self.multi_cell(self.epw, high, _showable(words), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    def _table(self, table: Table) -> None:
        laid = self._laid(table)
        if not table.under:
            self.ln(BREAK * self.by)
        self._keep(laid.begins)  # no heads without a row under them
        for row in laid.rows:
            if isinstance(row, Words):
                self._words(row)
            else:
                self._row(row, laid.widths)
        self.ln(ABOVE * self.by)

    def _laid(self, table: Table) -> _Laid:
        """Return a table's rows, wrapped within their columns."""
        size = (LARGE if table.large else BODY - 1) * self.by
        natural = self._natural(table, size)
        while table.large and sum(natural) > self.epw and size > BODY * min(self.by, 1.0):
            size *= 0.97  # at arm's length smaller letters read better than broken words
            natural = self._natural(table, size)
        columns = table.columns
        widths = _shared(natural, [place for place, one in enumerate(columns) if one.wide], self.epw)
        right = [_stands_right(table, place) for place in range(len(columns))]
        least = ROOMY if any(one.to_write for one in columns) else 0.0
        heads = [one.replace("\n", " ") for one in table.heads]
        rows: list[_Strip | Words] = []
        if any(heads):
            cells = [
                self._cell(one, wide, size * 0.72, True, at)
                for one, wide, at in zip(heads, widths, right, strict=True)
            ]
            rows.append(self._strip(cells, size * 0.72, 0.4))
        for row, behind in zip_longest(table.rows, table.rows[1:]):
            if isinstance(row, Words):
                rows.append(row._replace(small=True))
                continue
            cells = []
            for place, cell in enumerate(row.cells):
                spans = place == len(row.cells) - 1 and place < len(columns) - 1
                wide = sum(widths[place:]) if spans else widths[place]
                set_in = 0.0 if place else STEP * self.by * max(row.under - 1, 0)
                cells.append(
                    self._cell(
                        shown(cell), wide, size, columns[place].strong, right[place] and not spans, set_in
                    )
                )
            rows.append(self._strip(cells, size, 0.0 if isinstance(behind, Words) else 0.1, least))
        highs = [self._high(one) if isinstance(one, Words) else one.high for one in rows]
        return _Laid(rows, sum(widths), sum(highs), sum(highs[:2] if any(heads) else highs[:1]))

    def _cell(
        self, words: str, wide: float, size: float, strong: bool, right: bool, set_in: float = 0.0
    ) -> _Cell:
        """Return a cell wrapped within its width; set_in : from its left edge, mm."""
        self.set_font("sheet", "B" if strong else "", size)
        lines = _wrapped(self, _showable(words), wide - set_in - 2 * PAD * self.by)
        return _Cell(lines, wide, strong, right, set_in)

    def _strip(self, cells: list[_Cell], size: float, rule: float, least: float = 0.0) -> _Strip:
        """Return a row; rule : the line beneath it;  least : how high it is at least."""
        high = max(max(len(one.lines) for one in cells) * size / POINT * 1.3 + 1.0 * self.by, least)
        return _Strip(cells, size, high, rule)

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
                self.set_font("sheet", "B" if bold else "", size * (0.72 if head else 1.0))
                wide = self.get_string_width(_showable(shown(cell))) + 2 * PAD * self.by + 0.2
                wide += 0.0 if place else STEP * self.by * max(under - 1, 0)
                found[place] = max(found[place], wide)
        return found

    def _row(self, row: _Strip, wide: float) -> None:
        """Lay out a row; wide : of the table, mm."""
        line, pad = row.size / POINT * 1.3, PAD * self.by
        self._keep(row.high)
        top, left = self.get_y(), self.l_margin
        for one in row.cells:
            self.set_font("sheet", "B" if one.strong else "", row.size)
            for index, words in enumerate(one.lines):
                self.set_xy(left + pad + one.set_in, top + 0.5 * self.by + index * line)
                self.cell(one.wide - one.set_in - 2 * pad, line, words, align="R" if one.right else "L")
            left += one.wide
        if row.rule:
            self.set_line_width(row.rule)
            self.line(self.l_margin, top + row.high, self.l_margin + wide, top + row.high)
        self.set_xy(self.l_margin, top + row.high)

    def _boxes(self, items: Sequence[str]) -> None:
        """Print checks in two columns, each with a box and a line to write on."""
        half, size = self.epw / 2, 9.5 * self.by
        line = size / POINT * 1.25
        rows = math.ceil(len(items) / 2)
        self._keep(rows * (2 * line + 2.2))
        self.set_font("sheet", "", size)
        longest = max(self.get_string_width(_showable(one)) for one in items)
        room = half - line - 3
        if longest > room:  # a check that is cut short is none
            self.set_font("sheet", "", size * room / longest * 0.99)
        top = self.get_y()
        for place, words in enumerate(items):
            left = self.l_margin + half * (place // rows)
            down = top + (place % rows) * (2 * line + 2.2 * self.by)
            self.set_line_width(0.3)
            self.rect(left, down + 0.4, line, line)
            self.set_xy(left + line + 1.5, down)
            self.cell(room, line + 0.8, _showable(words))
            self.set_line_width(0.15)
            foot = down + 2 * line + 1.2 * self.by
            self.line(left + line + 2, foot, left + half - 4, foot)
        self.set_xy(self.l_margin, top + rows * (2 * line + 2.2 * self.by) + 1.0)

    def _blanks(self, labels: Sequence[str]) -> None:
        """Print lines to write on, as many beside each other as fit."""
        size, each = 8.5 * self.by, 4
        line = 8.0 * self.by
        self.set_font("sheet", "", size)
        for start in range(0, len(labels), each):
            self._keep(line)
            row = labels[start : start + each]
            wide = self.epw / len(row)
            top = self.get_y()
            for place, words in enumerate(row):
                left = self.l_margin + place * wide
                self.set_xy(left, top + line - size / POINT - 0.8)
                self.cell(wide, size / POINT + 0.6, words)
                long = self.get_string_width(words) + 3
                self.set_line_width(0.2)
                self.line(left + long, top + line, left + wide - 3, top + line)
            self.set_xy(self.l_margin, top + line)
        self.ln(2.0 * self.by)

    def _check_line(self) -> None:
        self._keep(20 * self.by)
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
    strong: bool
    right: bool
    set_in: float  # mm


class _Strip(NamedTuple):
    """A row, which is never broken."""

    cells: list[_Cell]
    size: float  # of its letters, points
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
    for place in flexible:
        widths[place] = natural[place] * left / asked
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
