"""What stands on each page of a sheet, from a job that is worked out.

The long answers are those of the commands, word for word; only the first page, the settings and the tables are laid
out anew.
"""

from __future__ import annotations

from collections.abc import Iterator

from tallstack.geometry.clearance.clearances import BORE, WALL
from tallstack.geometry.core.lengths import CONVENTIONS
from tallstack.geometry.core.targets import Source
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.pushrod.adjusting import setting

from ..drawing.engine import Engine
from ..drawing.engine_page import guessed
from ..drawing.lines import Drawing, View, extent
from ..drawing.pages import cylinder_of, drawing, of_cylinder, of_sketch, sketches
from ..drawing.section import fitted, section
from ..drawing.sheet import CAUTION as DRAWN
from ..drawing.sheet import DASHED, SCALES
from ..drawing.trace import size, traces
from ..drawing.turning_data import turned_caption
from ..job.entries import letters
from ..page.across_words import crossing_blocks
from ..page.answer import warnings
from ..page.band import name
from ..page.clearance_words import HAND, SOLID, at_overlap, by_hand
from ..page.clearance_words import cells as cells_of_clearance
from ..page.closest_words import every
from ..page.fits_words import lacking_blocks, set_table
from ..page.model import (
    Blanks,
    Block,
    Cell,
    CheckLine,
    Column,
    Heading,
    Page,
    Picture,
    Row,
    Sheet,
    Table,
    Tag,
    Turn,
    Words,
    flat,
    plain,
    under,
)
from ..page.order_words import cells as pushrod_cells
from ..page.order_words import in_both, turned
from ..page.ports_words import port_blocks
from ..page.remedy_words import remedy_blocks
from ..page.setting_words import AT_THE_POSITION, BLEED_DOWN, adjuster_blocks, position, tighter
from ..page.vocabulary import said
from ..page.wording import CAUTION, both_units, degrees, entry_value, whose
from ..record.record_words import cells, fact_words, meanings, signed_by, word_of
from ..record.visit_words import visit_blocks
from . import stops
from .first_page import first_page
from .work import Work

CLEARANCES = (
    Column("clearance", wide=True),
    Column(),
    Column(),
    Column("+/-"),
    Column("limit"),
    Column("whose", wide=True),
    Column("at"),
    Column("", strong=True),
)
WIDTH = 186.0  # mm, of a picture on a page
ENGINE_HIGH = 190.0
SECTION = 62.0  # mm, the height of a section
TOP = 360  # which of the whole degrees is overlap top centre
FEEL = (
    "Zero lash: turn until the pushrod just touches, no up-and-down shake, and it still spins between the fingers. "
    "Count turns and flats from there."
)
SPRINGS = "Say whether light checking springs were in, and whether the lifter was empty, filled or solid."


def sheet(work: Work, foot: str) -> Sheet:
    """Return the sheet of a job; foot : what stands beneath every page."""
    pages = (
        _stops(work),
        _settings(work),
        _drawn(work),
        _clearances(work),
        _fits(work),
        _in_full(work, "swap", "What changed"),
        _in_full(work, "risk", "How sure all of it is, and which reading to take again"),
        _pushrods(work),
        _behind(work),
        _inputs(work),
        _assumed(work),
    )
    own = said(work.job)
    first, rest = own(first_page(work)), tuple(own(one) for one in pages if one is not None)
    return Sheet(work.job.title, work.job.units, first, rest, foot)


def _stops(work: Work) -> Page | None:
    """Return what stops the work, all of it, where the first page has not the room."""
    found = stops.stops(work)
    if len(found) <= stops.MOST:
        return None
    return Page("stops", "What stops the work, all of it", tuple(Words(one, strong=True) for one in found))


def _drawn(work: Work) -> Page | None:
    """Return the drawings; without a crank there is no engine to draw, and the page has the valve gears alone."""
    pictures: tuple[Block, ...] = (*_gears(work), *_cylinders(work))
    if work.turning is None or work.engine is None:
        return Page("drawings", "Drawn from what was entered", pictures) if pictures else None
    engine = work.engine
    told = [*engine.notes]
    told += [guessed(work.turning)] if work.turning.guessed else []
    picture = engine_picture(work.job.title, engine)
    words = (Words(one, small=True) for one in (*told, DRAWN, DASHED))
    stations = () if work.pushrods is None else work.pushrods.stations
    turn = Turn(picture, engine, work.turning, TOP, work.job.mapping, work.clear, stations)
    to_check = (CheckLine(),) if engine.to_scale else ()
    blocks = (turn, *words, *to_check, *pictures)
    return Page("drawings", "The engine, drawn from what was entered", blocks)


def engine_picture(title: str, engine: Engine) -> Picture:
    """Return the engine at the first cylinder's overlap top centre, as large as a page takes it."""
    items = engine.posed(TOP)
    left, low, right, high = _room(engine)
    scale = next(
        (one for one in SCALES if (right - left) / one <= WIDTH and (high - low) / one <= ENGINE_HIGH),
        SCALES[-1],
    )
    if not engine.to_scale:
        scale = max((right - left) / (WIDTH - 2), (high - low) / (ENGINE_HIGH - 2))
    wide, tall = (right - left) / scale + 2, (high - low) / scale + 2
    view = View(
        "engine", "front view, along the crankshaft", items, (1 - left / scale, 1 - low / scale), 1 / scale
    )
    before, after = turned_caption(engine, scale)
    told = f"{before}at {next(iter(engine.turning.own))}'s overlap top centre{after}"
    return Picture("engine", Drawing(f"{title}: the engine", told, wide, tall, (view,)), told)


def _room(engine: Engine) -> tuple[float, float, float, float]:
    """Return how much room the engine takes up as it turns."""
    boxes = [extent(engine.posed(place)) for place in range(0, len(engine.turning.crank), 30)]
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def _gears(work: Work) -> Iterator[Picture]:
    """Yield the page of every valve gear that is no copy of another."""
    if work.pushrods is None:
        return
    copied = {path.rpartition(".")[0] for path, one in work.job.entries.items() if one.follows}
    for order in work.pushrods.orders:
        name = order.train.name
        is_copy = f"{name}.rocker" in copied or f"{name}.rocker.shaft" in copied
        if is_copy:
            continue
        page = drawing(work.job, order)
        yield Picture(f"gear-{name}", page, page.title)


def _cylinders(work: Work) -> Iterator[Picture]:
    for cylinder in work.job.names["cylinders"]:
        page = of_cylinder(work.job, cylinder)
        if page is not None and cylinder_of(work.job, cylinder).number("stack.bore") is not None:
            yield Picture(f"cylinder-{cylinder}", page, page.title)
        for called, (of, one) in sketches(work.job).items():
            if of == cylinder:
                page = of_sketch(work.job, called)
                yield Picture(f"{one.after.strip('.')}-{cylinder}", page, page.title)


def _pushrods(work: Work) -> Page | None:
    if work.pushrods is None:
        return None
    rows: list[tuple[Cell, ...]] = []
    units = both_units(work.job.units)
    for order in work.pushrods.orders:
        if order.required is None or order.impossible:
            continue
        of = pushrod_cells(order, work.job.units)
        for one in CONVENTIONS[::-1]:
            if one == order.convention:
                lean = degrees(float(order.required.lean))
                rows.append((of.name, of.convention, *of.both, of.doubt, lean))
            elif one in order.required.lengths:
                rows.append(("", one, *in_both(order, one, work.job.units), "", ""))
    table = plain(("valve gear", "length as", *units, "+/-", "leans"), rows, (0,))
    drawn = work.engine is None and any(one.train.drawn is not None for one in work.pushrods.orders)
    blocks = (
        *((table,) if rows else ()),
        *((CheckLine(),) if drawn else ()),
    )  # beside the drawings, else with the engine
    told = (Heading("In full"), *_answer(work, "pushrods"))
    return Page("pushrods", "Pushrods in every convention", (*blocks, *told))


def _settings(work: Work) -> Page | None:
    """Return how each pushrod is set, with what was planned beside room for what was set: both are filled in at one moment."""
    built = _as_built(work)
    if work.pushrods is None:
        return Page("settings", "Plan against as-built", tuple(built)) if built else None
    orders = work.pushrods.orders
    blocks: list[Block] = [Words(FEEL), Words(SPRINGS)]
    if any(one.train.lifter.kind == "hydraulic" for one in orders):
        blocks.append(Words(BLEED_DOWN))
    blocks += [Words(one) for one in (AT_THE_POSITION, *tighter(work.pushrods.adjusters))]
    where = {one.cylinder: position(one) for one in work.pushrods.stations}
    columns = (
        Column("valve gear", strong=True),
        Column("crank", wide=True),
        Column("set to", wide=True),
        *(Column(head, to_write=16.0) for head in ("turns, flats", "felt", "springs")),
    )
    rows: list[Row | Words] = []
    for order in orders:
        told = turned(order, work.pushrods.chosen, work.job.units)
        gear = order.train.name.replace(".", " ")
        rows.append(Row((gear, where.get(order.train.cylinder, "not known"), told, "", "", "")))
        found = None if order.required is None else setting(order.train, order.required)
        if found is not None:
            rows += adjuster_blocks(order, found, work.job.units)
    blocks += [Table(columns, tuple(rows)), Blanks(("by", "date", "tool")), *built]
    return Page("settings", "Setting each pushrod, and what was set", tuple(blocks))


def _as_built(work: Work) -> list[Block]:
    """Return what was planned beside what was recorded, with room to write what was not yet."""
    if not work.built:
        return _since(work)
    units = work.job.units
    rows = tuple(
        Row((*cells(row, units, ""), "" if row.fact is None else f"{word_of(row)}; {signed_by(row.fact)}"))
        for row in work.built
    )
    columns = (
        Column(f"lengths ({units})", wide=True),
        Column("planned"),
        Column("as built", to_write=28.0),
        Column("differs"),
        Column("how it stands; by, date, tool", wide=True),
    )
    blocks: list[Block] = [Heading("Plan against as-built"), Table(columns, rows)]
    blocks += [Words(one) for one in meanings(work.built)]
    return [*blocks, *_since(work), *under("As written down", fact_words(work.facts))]


def _since(work: Work) -> list[Block]:
    """Return what was found and left at every visit since."""
    return under("Found and left since", visit_blocks(work.visits, work.job.units))


def _clearances(work: Work) -> Page | None:
    if work.clear is None:
        return None
    wide, tall = size()
    blocks: list[Block] = []
    for cylinder, view in traces(work.job.units, work.clear).items():
        page = Drawing(f"{work.job.title}: {view.title}", view.title, wide, tall, (view,))
        blocks.append(Picture(f"trace-{cylinder}", page, view.title))
        here = work.clear.situations[cylinder]
        for valve in work.clear.valves:
            if valve.train.rpartition(".")[0] != cylinder:
                continue
            cut = section(work.job.mapping, work.job.units, here, valve)
            if cut is not None:
                view, across, up = fitted(cut, WIDTH, SECTION, 2.0)
                page = Drawing(f"{work.job.title}: {cut.title}", cut.title, across, up, (view,))
                blocks.append(Picture(cut.name, page, f"{cut.title}, to scale"))
    table = Table(CLEARANCES, tuple(_clearance(work, one) for one in every(work.clear)))
    blocks += [Heading("Every clearance"), table]
    mended, walls = work.mended
    for judged in work.clear.judged:
        found = () if judged.name == BORE else (walls if judged.name == WALL else mended).get(judged.of, ())
        if found and judged.verdict is Verdict.SHORT:
            blocks.append(Heading(f"{name(judged)}, what would mend it"))
            blocks += remedy_blocks(work.job, found, judged, judged.of)
    return Page(
        "clearances", "Clearances through the cycle", (*blocks, Words(by_hand(work.job, HAND, SOLID)))
    )


def _clearance(work: Work, one: Result) -> Row:
    """Return a clearance with its limit, and where in the cycle."""
    shown = cells_of_clearance(one, work.job.units)
    limit: Cell = "contact" if one.limit.source is Source.PARTS else shown.limit
    both: tuple[Cell, ...] = shown.both or ("MEET", "")
    at = f"{at_overlap(one.angle)} overlap top centre"
    return Row((name(one), *both, shown.doubt, limit, whose(one.limit), at, shown.stands))


def _behind(work: Work) -> Page | None:
    """Return what stands behind each clearance, in full."""
    if work.clear is None:
        return None
    return Page("behind", "Behind each clearance", _answer(work, "clearance"))


def _fits(work: Work) -> Page | None:
    """Return the rest of the stack: every figure in one table, then what crosses from cylinder to cylinder."""
    if "fits" not in work.told:
        return None
    found = work.fits
    blocks = (
        set_table(work.job, found.answers),
        *crossing_blocks(work.job, found.crossing),
        *port_blocks(work.job, found.moved, found.facing, found.ports_lack, work.before),
        *lacking_blocks(found.answers),
    )
    return Page("fits", "The rest of the stack", blocks)


def _in_full(work: Work, command: str, title: str) -> Page | None:
    return None if command not in work.told else Page(command, title, _answer(work, command))


def _answer(work: Work, command: str) -> tuple[Block, ...]:
    """Return a command's answer without what the sheet has elsewhere."""
    return tuple(flat(work.told[command].blocks, (Tag.HEAD, Tag.BAND, Tag.ASSUMED, Tag.CAUTION)))


def _inputs(work: Work) -> Page:
    rows: list[tuple[Cell, ...]] = []
    for path, entry in work.entered.entries.items():
        if entry.is_taken:
            continue
        shown = entry_value(entry, work.entered.units)
        origin = f" [{entry.origin}]" if entry.origin else ""
        rows.append(
            (letter_of(path, work), f"{path}{origin}", entry.typed, "" if shown == entry.typed else shown)
        )
    table = plain(("letter", "entry", "as typed", "as understood"), rows, (1, 2, 3))
    blanks = [Words(f"still blank: {', '.join(one.path for one in work.entered.blanks)}")]
    return Page(
        "entries",
        "Every entry, as typed and as understood",
        (table, *(blanks if work.entered.blanks else ())),
    )


def letter_of(path: str, work: Work) -> str:
    """Return the letter that stands for an entry in every drawing; empty where it has none."""
    owners = (*work.job.names["trains"], *work.job.names["cylinders"])
    return letters.letter_of(
        next((path.removeprefix(f"{name}.") for name in owners if path.startswith(f"{name}.")), path)
    )


def _assumed(work: Work) -> Page:
    told = [one for answer in work.told.values() for one in answer.document.get("assumed", ())]
    rows = tuple(dict.fromkeys((one["entry"], one["value"], one["why"]) for one in told))
    blocks: list[Block] = [plain(("entry", "taken for", "why"), rows, (0, 1, 2))] if rows else []
    blocks += [Words(one) for one in warnings(work.job, work.before)]
    blocks += [
        Heading("What this sheet is, and is not"),
        Words(CAUTION),
        Words(
            "It was computed from what was entered, and nothing in it says that the engine may be run. What was read "
            "wrong is wrong here too: the checks by hand under BEFORE IT TURNS are part of the work."
        ),
        Heading("Set and checked"),
        Blanks(("by", "date", "tool", "what", "signature")),
        Blanks(("by", "date", "tool", "what", "signature")),
    ]
    return Page("assumed", "Assumed, because it was not entered", tuple(blocks))
