"""What stands on a page, whatever it is set as: blocks of words, tables of cells, pictures, places to write.

A block holds words and numbers, no markup and no line breaks of its own: `text` sets them for a terminal, `html` for a screen,
`pdf` for paper, and who sets them escapes them. A length is in millimetres and keeps its doubt, of which it shows two digits.
"""

from collections.abc import Iterable, Iterator, Sequence
from enum import Enum
from typing import TYPE_CHECKING, NamedTuple

from .wording import number, steady

if TYPE_CHECKING:
    from tallstack.geometry.clearance.clearances import Clearances
    from tallstack.geometry.clearance.turning import Turning
    from tallstack.geometry.core.mapping import Flat
    from tallstack.geometry.pushrod.stations import Station

    from ..drawing.engine import Engine
    from ..drawing.lines import Drawing


class Length(NamedTuple):
    """A length in a table."""

    value: float  # mm
    doubt: float = 0.0  # mm, for its digits
    unit: str = "mm"  # in which it is shown first: "mm" or "in"
    alone: bool = False  # in this unit alone, whatever the reader chooses: the other has a column of its own
    bare: bool = False  # the head of its column names the unit
    signed: bool = False
    mark: str = ""  # what stands behind it
    before: str = ""  # and what before it
    finer: int = 0  # digits more than other lengths have

    def shown(self, unit: str = "") -> str:
        """Return it as a number, with its unit where no head names it; unit : in place of its own."""
        unit = unit or self.unit
        said = number(self.value, unit, self.doubt, self.finer)
        sign = "+" if self.signed and float(said) > 0 else ""
        return f"{self.before}{sign}{said}{'' if self.bare else f' {unit}'}{self.mark}"


class Number(NamedTuple):
    """What is no length, in its own unit."""

    value: float
    places: int = 0  # decimals
    unit: str = ""
    signed: bool = False

    def shown(self) -> str:
        """Return it with its unit."""
        said = f"{steady(self.value):{'+' if self.signed else ''}z.{self.places}f}"
        return f"{said} {self.unit}" if self.unit else said


class Span(NamedTuple):
    """Two lengths, of which the second ends a range; the row's name or the column's head names the unit."""

    low: float  # mm
    high: float
    doubt: float  # mm, for their digits
    unit: str  # in which they are shown first: "mm" or "in"
    finer: int = 0  # digits more than other lengths have

    def shown(self, unit: str = "") -> str:
        """Return both; unit : in place of its own."""
        unit = unit or self.unit
        low, high = (number(one, unit, self.doubt, self.finer) for one in (self.low, self.high))
        return f"{low} to {high}"


Cell = str | Length | Number | Span


class Form(Enum):
    """What a paragraph is: what its second line shows, where it has one."""

    PROSE = "prose"
    ITEM = "item"  # of a list: what it is of, then what is to be said of it
    STEP = "step"  # of a numbered list
    LINE = "line"  # is never broken: as somebody typed it


class Heading(NamedTuple):
    """A heading within a page: what stands under it belongs to it."""

    words: str


class Words(NamedTuple):
    """A paragraph."""

    words: str
    under: int = 0  # 0: stands alone; else how deep it stands under what it belongs to
    form: Form = Form.PROSE
    strong: bool = False
    small: bool = False


class Break(NamedTuple):
    """What follows belongs to no more of what stands above than its heading."""


class Lines(NamedTuple):
    """Lines that a terminal shows as they are, where a sheet has a paragraph."""

    words: str


class Column(NamedTuple):
    """A column of a table."""

    head: str = ""
    room: int = 0  # letters that a terminal leaves it; the first column's count from the edge of the page
    right: bool = False  # on a terminal it stands to the right
    own_line: bool = False  # what is too long for it there has a line of its own
    wide: bool = False  # takes what room there is
    strong: bool = False
    to_write: float = 0.0  # mm, the room to write in it
    points: float = 0.0  # of its letters on paper; 0: those of its table


class Row(NamedTuple):
    """A row; where it has less cells than its table has columns, its last takes up what is left."""

    cells: tuple[Cell, ...]
    under: int = 1


class Table(NamedTuple):
    """Rows under heads; what is said of one row stands under it, as words."""

    columns: tuple[Column, ...]
    rows: tuple[Row | Words, ...]
    under: int = 1  # how deep its heads stand; 0: the first of them is a heading
    large: bool = False  # for reading at arm's length

    @property
    def heads(self) -> tuple[str, ...]:
        """The heads of its columns."""
        return tuple(one.head for one in self.columns)


class Picture(NamedTuple):
    """A drawing, to scale where its page says so."""

    name: str
    drawing: "Drawing"
    caption: str = ""


class Beside(NamedTuple):
    """Pictures, as many beside each other as there is room for."""

    pictures: tuple[Picture, ...]


class Frame(NamedTuple):
    """Blocks in a frame."""

    blocks: "tuple[Block, ...]"
    heavy: bool = True


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
    engine: "Engine"
    turning: "Turning"
    place: int  # of the angles of `turning`, at which the picture shows it
    mapping: "Flat"  # the engine's, see `mapping`
    clear: "Clearances | None"
    stations: "tuple[Station, ...]"  # where its adjusters are set, of each cylinder for which that is known


class Tag(Enum):
    """What a part of an answer is, so that a page of several answers says it once."""

    BAND = "band"  # what stops the work, and what to watch
    HEAD = "head"  # whose answer it is, and from which file
    ASSUMED = "assumed"
    CAUTION = "caution"


class Part(NamedTuple):
    """Blocks that are one thing."""

    tag: Tag
    blocks: "tuple[Block, ...]"


Block = (
    Heading
    | Words
    | Break
    | Lines
    | Table
    | Picture
    | Beside
    | Frame
    | Boxes
    | Blanks
    | CheckLine
    | Turn
    | Part
)


class Page(NamedTuple):
    """A part of a sheet that begins on a new page."""

    name: str  # of the place in the document
    title: str
    blocks: tuple[Block, ...]


class Sheet(NamedTuple):
    """A whole document."""

    title: str  # the job's
    units: str  # "mm" or "in": which comes first
    first: Page  # stands alone above the bench
    rest: tuple[Page, ...]
    foot: str  # beneath every page: the file, its hash, the version, the date


def flat(blocks: Sequence[Block], without: Sequence[Tag] = ()) -> Iterator[Block]:
    """Yield blocks, those of parts one by one; without : the parts that are left out."""
    for one in blocks:
        if not isinstance(one, Part):
            yield one
        elif one.tag not in without:
            yield from flat(one.blocks, without)


def under(heading: str, blocks: Iterable[Block]) -> list[Block]:
    """Return blocks under a heading, nothing where there are none."""
    found = list(blocks)
    return [Heading(heading), *found] if found else []


def plain(heads: Sequence[str], rows: Sequence[Sequence[Cell]], wide: Sequence[int] = ()) -> Table:
    """Return a table of cells under heads; wide : which columns take what room there is."""
    columns = tuple(Column(head, wide=place in wide) for place, head in enumerate(heads))
    return Table(columns, tuple(Row(tuple(row)) for row in rows))
