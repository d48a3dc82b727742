"""What is on a sheet, whatever it is rendered as: pages of blocks, lengths still in millimetres.

A block holds words, not markup: whoever renders it escapes them. Lengths stand in the job's unit with the other
beside it, as many digits as their doubt supports.
"""

from __future__ import annotations

from typing import NamedTuple

from ..drawing.lines import Drawing
from ..page.wording import number


class Length(NamedTuple):
    """A length in a table."""

    value: float  # mm
    doubt: float = 0.0  # mm, for its digits
    unit: str = ""  # "mm" or "in", in which this cell shows it; the job's where it is not said
    mark: str = ""  # what stands behind it

    def shown(self, unit: str) -> str:
        """Return it as a number with its unit."""
        return f"{number(self.value, unit, self.doubt)} {unit}{self.mark}"


Cell = str | Length


class Table(NamedTuple):
    """Rows under headings; a column of numbers stands to the right."""

    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    wide: tuple[int, ...] = ()  # columns that take what room there is; else the first
    strong: tuple[int, ...] = ()  # columns in bold
    large: bool = False  # for reading at arm's length
    to_write: tuple[tuple[int, float], ...] = ()  # columns to write in, and the room for it, mm


class Heading(NamedTuple):
    """A heading within a page."""

    words: str


class Words(NamedTuple):
    """A paragraph."""

    words: str
    strong: bool = False
    small: bool = False


class Verbatim(NamedTuple):
    """An answer as the terminal shows it."""

    words: str


class Picture(NamedTuple):
    """A drawing, to scale where its page says so."""

    name: str
    drawing: Drawing
    caption: str = ""


class Boxes(NamedTuple):
    """Checks to tick, each with room to write what was found."""

    items: tuple[str, ...]


class Blanks(NamedTuple):
    """Lines to write on."""

    labels: tuple[str, ...]


class CheckLine(NamedTuple):
    """Two lines of a known length, to see whether paper or screen shows the page to scale."""


class Turn(NamedTuple):
    """Where, on a screen, the engine turns; on paper it stands still."""

    picture: Picture


Block = Table | Heading | Words | Verbatim | Picture | Boxes | Blanks | CheckLine | Turn


class Page(NamedTuple):
    """A part of the sheet that begins on a new page."""

    name: str  # of the place in the document
    title: str
    blocks: tuple[Block, ...]


class Sheet(NamedTuple):
    """The whole document."""

    title: str  # the job's
    units: str  # "mm" or "in": which comes first
    first: Page  # stands alone above the bench
    rest: tuple[Page, ...]
    foot: str  # beneath every page: the file, its hash, the version, the date
