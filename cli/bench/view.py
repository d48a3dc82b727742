"""What one page shows of a job, as plain data: its fields, its answers, how far each screen has come.

Lengths and verdicts are worked out at once; what takes longer is shown as it was last told, and marked as of the value before
until it is told for the text that stands there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple
from urllib.parse import quote

from tallstack.geometry.pushrod.ordering import Order

from ..guide.needs import path_of, places_of
from ..job.entries.meanings import called
from ..job.faults import Loc
from ..job.job import Job
from ..job.variations import raw_at
from ..page import band
from ..page.order_words import cells, in_a_word, lacks_of, not_known, not_possible, not_put_in
from ..page.vocabulary import said
from ..record.as_built import Compared
from .fields import FAULTY, TYPED, Chosen, Field, Offer, Shown, asked_of, offers_of, option_of, standing
from .fields import field as field_of
from .fields import whose as owner_of
from .places import home, loc_of, owners, placed, spread
from .screens import GEARS, SCREENS, SET, Of, Part, Screen, Way, named
from .working import Clearance, Closest, Lack, Whole

NONE, SOME, WHOLE_OF_IT, STOPPED = "none", "some", "whole", "stop"
MARKS = {
    NONE: ("\u25cb", "nothing entered"),
    SOME: ("\u25d0", "partly entered"),
    WHOLE_OF_IT: ("\u25cf", "entered"),
    STOPPED: ("!", "something to look at"),
}


ROD_LENGTH = ".measured_pushrod.length"
THEN_MOST = 5  # readings that are named after the first
NOTHING_WAITS = "Nothing that is wanted waits for a reading"
READING = "reading"  # rows of checks that were made


@dataclass
class Answers:
    """What was last told of a job, and for which text."""

    found: dict[str, tuple[str, Any]] = field(default_factory=dict)  # stage → hash and what was found

    def of(self, stage: str, kind: type) -> Any:
        """Return what was last told of a stage, None where nothing was."""
        _, found = self.found.get(stage, ("", None))
        return found if isinstance(found, kind) else None

    def is_of(self, stage: str, text: str) -> bool:
        """Say whether what was told of a stage is of that text."""
        return self.found.get(stage, ("", None))[0] == text

    def failed(self, stage: str) -> str:
        """Return why a stage came to nothing, in words, or nothing."""
        _, found = self.found.get(stage, ("", None))
        return found if isinstance(found, str) else ""


class Tab(NamedTuple):
    """A way to another screen, or to the same of another owner."""

    told: str
    href: str
    mark: str
    said: str  # the mark, for a reader
    is_here: bool
    place: str = ""  # its number among the screens


class Answered(NamedTuple):
    """One valve gear in the band."""

    name: str
    of: str
    length: str
    other: str  # in the other unit
    convention: str
    doubt: str
    word: str
    lacks: tuple[str, ...]
    closest: Closest | None
    between: Closest | None  # of its cylinder's two valves, at the last of them
    is_stale: bool  # its clearance is of the value before
    is_here: bool
    href: str


class Item(NamedTuple):
    """What stands in a part: a field, or a choice with its fields."""

    field: Field | None
    offers: tuple[Offer, ...] = ()
    chosen: Chosen | None = None
    fields: tuple[Item, ...] = ()


class Shelf(NamedTuple):
    """A part with what stands in it."""

    part: Part
    whose: str
    key: str
    items: tuple[Item, ...]
    is_open: bool


def address(name: str, screen: Screen, owner: str = "") -> str:
    """Return where a screen is found."""
    return "/".join(["/jobs", quote(name, ""), screen.key, *([quote(owner, "")] if owner else [])])


def place_of(part: Part, owner: str, plain: Mapping[str, Any]) -> Callable[[str], Loc | None]:
    """Return what says where an entry of a part stands."""
    return lambda entry: loc_of(part, entry, owner, plain)


def shelves(of: Shown, screen: Screen, owner: str) -> tuple[Shelf, ...]:
    """Return the parts of a screen with what stands in them."""
    found = []
    for place, (part, whose) in enumerate(placed(screen, owner, of.plain)):
        items = tuple(_items(of, part, whose))
        if items:
            several = part.of is not screen.of and whose and whose != owner
            opened = not part.folded or any(
                one.state in (TYPED, FAULTY) for item in items for one in _fields_of(item)
            )
            told = whose.replace(".", " ")
            found.append(Shelf(part, told if several else "", f"part-{place}", items, opened))
    return tuple(found)


def _fields_of(item: Item) -> Iterator[Field]:
    if item.field is not None:
        yield item.field
    for one in item.fields:
        yield from _fields_of(one)


def _items(of: Shown, part: Part, owner: str) -> Iterator[Item]:
    place = place_of(part, owner, of.plain)
    told = owner.replace(".", " ")
    for one in asked_of(part.entries, part, of, place):
        if isinstance(one, Way):
            option, _ = option_of(one, of, place)
            state, origin = standing(one, option, of, place)
            inner = (
                ()
                if one.hidden
                else tuple(
                    item
                    for entry in asked_of(option.entries, part, of, place)
                    for item in _of_entry(of, place(str(entry)), told)
                )
            )
            key = f"{one.key}-{owner}" if owner else one.key
            chosen = Chosen(
                *(key, one, told, option, state, origin),
                tuple(each.field for each in inner if each.field is not None),
            )
            yield Item(None, (), chosen, inner)
        else:
            yield from _of_entry(of, place(one), told)


def _of_entry(of: Shown, loc: Loc | None, told: str) -> Iterator[Item]:
    for each in () if loc is None else spread(loc, of.plain):
        found = field_of(of, each, told)
        if found is not None:
            yield Item(found, offers_of(of, found))


def fields_of(parts: Sequence[Shelf]) -> tuple[Field, ...]:
    """Return every field of a screen, in the order of the page."""
    return tuple(one for shelf in parts for item in shelf.items for one in _fields_of(item))


def begun_with(of: Shown, screen: Screen, owner: str, loc: Loc) -> tuple[Loc, ...]:
    """Return what stands open in a part as soon as an entry of it is entered."""
    for part, whose in placed(screen, owner, of.plain):
        place = place_of(part, whose, of.plain)
        if loc not in {place(entry) for entry in named(part)}:
            continue
        ways = [one for one in part.entries if isinstance(one, Way) and one.begins]
        every = (
            entry for way in ways for entry in asked_of(option_of(way, of, place)[0].entries, part, of, place)
        )
        found = (place(str(entry)) for entry in every)
        return tuple(one for one in found if one is not None)
    return ()


def mark_of(of: Shown, screen: Screen, orders: Sequence[Order], built: Sequence[Compared] = ()) -> str:
    """Return how far a screen has come; built : plan against as built, as it was last told."""
    if screen is SET:
        recorded = sum(one.fact is not None for one in built)
        return _mark(recorded, len(built), any(one.is_missed for one in built))
    if screen is GEARS:
        known = [one.required is not None for one in orders]
        return _mark(sum(known), len(known), any(one.impossible for one in orders))
    given = asked = 0
    for owner in owners(screen, of.plain):
        for part, whose in placed(screen, owner, of.plain):
            if part.folded or (part.of is Of.ENGINE and screen.of in (Of.TRAIN, Of.LOBE)):
                continue
            place = place_of(part, whose, of.plain)
            for entry in _asked(of, part, place):
                loc = place(entry)
                if loc is None:
                    continue
                asked += 1
                given += raw_at(loc, of.plain) not in (None, "", [], {}) or _is_taken(of, loc)
    wrong = any(home(loc, of.plain).screen is screen for loc in of.faults if loc)
    return _mark(given, asked, wrong)


def _is_taken(of: Shown, loc: Loc) -> bool:
    return of.job is not None and path_of(loc, of.plain) in of.job.entries


def _asked(of: Shown, part: Part, place: Callable[[str], Loc | None]) -> Iterator[str]:
    for one in asked_of(part.entries, part, of, place):
        if isinstance(one, Way):
            found = () if one.hidden else option_of(one, of, place)[0].entries
            yield from map(str, asked_of(found, part, of, place))
        else:
            yield one


def _mark(given: int, asked: int, wrong: bool) -> str:
    if wrong:
        return STOPPED
    return NONE if not given else WHOLE_OF_IT if given == asked else SOME


def strip(
    name: str,
    of: Shown,
    here: Screen,
    owner: str,
    orders: Sequence[Order],
    built: Sequence[Compared] = (),
) -> tuple[Tab, ...]:
    """Return the ways to every screen, in the order of the hands; built : plan against as built, as it was last told."""
    found = []
    for place, screen in enumerate(SCREENS.values(), 1):
        every = owners(screen, of.plain)
        to = owner if owner in every else every[0] if every else ""
        mark = mark_of(of, screen, orders, built) if screen.parts or screen in (GEARS, SET) else ""
        shown, said = MARKS.get(mark, ("", ""))
        found.append(Tab(screen.title, address(name, screen, to), shown, said, screen is here, str(place)))
    return tuple(found)


def tabs(name: str, of: Shown, screen: Screen, owner: str) -> tuple[Tab, ...]:
    """Return the ways to the same screen of every owner, none where there is one alone."""
    every = owners(screen, of.plain)
    return tuple(
        Tab(one.replace(".", " "), address(name, screen, one), "", "", one == owner)
        for one in (every if len(every) > 1 else ())
    )


def answered(
    name: str, shown_of: Shown, orders: Sequence[Order], told: Answers, text: str, owner: str
) -> tuple[Answered, ...]:
    """Return the band: a line for each valve gear."""
    clear = told.of("clearance", Clearance)
    near: dict[str, Closest] = {}
    for one in clear.closest if clear is not None else ():  # the worst first
        near.setdefault(one.of, one)
    stale = not told.is_of("clearance", text)
    last = {order.train.name.rpartition(".")[0]: order.train.name for order in orders}
    rows = []
    for order in orders:
        job = shown_of.job
        assert job is not None
        of = order.train.name
        shown = cells(order, job.units)
        both = [one.shown() for one in shown.both]
        lacks = lacking(order, shown_of) if order.required is None else ()
        rows.append(
            Answered(
                of.replace(".", " "),
                of,
                both[0] if both else "",
                both[1] if len(both) > 1 else "",
                shown.convention,
                shown.doubt if isinstance(shown.doubt, str) else shown.doubt.shown(),
                in_a_word(order, shown),
                lacks,
                near.get(of),
                next((near.get(one) for one, gear in last.items() if gear == of), None),
                stale,
                of == owner or of.partition(".")[0] == owner,
                address(name, SCREENS["rod"], of),
            )
        )
    return tuple(rows)


def lacking(order: Order, of: Shown) -> tuple[str, ...]:
    """Return what a pushrod lacks, as its fields are called."""
    locs: list[Loc] = []
    for entry in dict.fromkeys(lacks_of(order)):
        every = places_of(entry, of.plain)
        if entry.endswith(ROD_LENGTH) and every:
            rod = (*every[0][:-1], "checking_rod")
            turned = raw_at(rod, of.plain)
            if isinstance(turned, Mapping):
                every = tuple((*rod, name) for name, value in turned.items() if value == "")
        locs += every
    found = (field_of(of, loc, "") for loc in dict.fromkeys(locs))
    return tuple(one.called for one in found if one is not None)


class Stopping(NamedTuple):
    """What stops the work, and what to watch."""

    stop: tuple[str, ...]
    watch: tuple[str, ...]
    before: tuple[str, ...]  # of the value before: not known yet whether it still does

    @property
    def told(self) -> tuple[tuple[str, bool], ...]:
        """What stops it, each with whether that is of the value before."""
        return (*((one, False) for one in self.stop), *((one, True) for one in self.before))


def stopping(job: Job | None, orders: Sequence[Order], told: Answers, text: str) -> Stopping:
    """Return what stops the work: of the lengths at once, of everything else as it was last told."""
    if job is None:
        return Stopping((), (), ())
    whole = told.of("whole", Whole)
    at_hand = job.at_hand
    now = band.band(
        at_hand,
        [one for order in orders for one in order.results],
        [*not_possible(orders, no_set=False)],
        not_known(orders),
        not_put_in(orders, job.units),
    )
    if whole is None:
        found = Stopping(now.stop, now.watch, ())
    elif told.is_of("whole", text):
        found = Stopping(_both(whole.band.stop, now.stop), _both(whole.band.watch, now.watch), ())
    else:
        found = Stopping(now.stop, now.watch, tuple(one for one in whole.band.stop if one not in now.stop))
    worded: Stopping = said(job)(found)
    return worded


def _both(first: Sequence[str], more: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*first, *more)))


def heard(rows: Sequence[Answered], stops: Stopping) -> str:
    """Return what a reader hears when an answer changes."""
    here = [one for one in rows if one.is_here] or rows[:1]
    told = [
        f"{one.name}: {one.length}, +/- {one.doubt or 'not known'}, {one.word}"
        if one.length
        else f"{one.name}: {one.word}"
        for one in here
    ]
    if stops.stop:
        told.append(f"STOP: {stops.stop[0]}")
    return ". ".join(told)


class Card(NamedTuple):
    """The one thing to do next."""

    title: str
    why: str
    tool: str
    how: str
    href: str
    then: tuple[tuple[str, str], ...]  # what comes after it, each with the way to it
    left: int  # how many more there are


def next_card(name: str, of: Shown, told: Answers) -> Card | None:
    """Return what to read next, in the order of the hands of what is for the same; None where nothing is missing."""
    whole = told.of("whole", Whole)
    lacks = [one for one in (() if whole is None else whole.lacks) if not _is_given_since(of, one)]
    if not lacks:
        return None
    if lacks[0].is_left_blank:
        blank = tuple(_place_of(name, of, one)[1] for one in lacks)
        return Card(NOTHING_WAITS, lacks[0].why, "", "", "", blank[:THEN_MOST], len(blank[THEN_MOST:]))
    same = [one for one in lacks if one.why == lacks[0].why]
    first, *others = [*sorted(same, key=lambda one: _hand(of, one)), *lacks[len(same) :]]
    one, at = _place_of(name, of, first)
    then = tuple(_place_of(name, of, each)[1] for each in others[:THEN_MOST])
    how = "" if one is None else ". ".join(each for each in (one.words, one.how) if each)
    return Card(at[0], first.why, first.tool, how, at[1], then, len(others) - len(then))


def _is_given_since(of: Shown, lack: Lack) -> bool:
    """Say whether what was lacking stands there now; what is worth taking again stands there all the while."""
    if lack.loc is None or lack.stands_there:
        return False
    return raw_at(lack.loc, of.plain) not in (None, "", [], {})


def _hand(of: Shown, lack: Lack) -> int:
    """Return at which screen a reading is taken."""
    order = list(SCREENS.values())
    return len(order) if lack.loc is None else order.index(home(lack.loc, of.plain).screen)


def _place_of(name: str, of: Shown, lack: Lack) -> tuple[Field | None, tuple[str, str]]:
    """Return the field of a reading, what it is called, and the way to it; none of one without an entry of its own."""
    one = None if lack.loc is None else field_of(of, lack.loc, "")
    if lack.loc is None or one is None:
        return None, (lack.words or called(lack.entry), "")
    at = home(lack.loc, of.plain)
    owner = owner_of(lack.loc, of.plain)
    title = lack.words if lack.loc[0] == READING else f"{owner}: {one.called}" if owner else one.called
    return one, (title, f"{address(name, at.screen, at.owner)}#{one.key}")
