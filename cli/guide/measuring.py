"""What is still to be measured for the answers that are wanted, in the order of what each reading would settle.

First what answers lack, the entry that most of them wait for first; then what a verdict rests on without a +/-; then
what is worth taking again, as `risk` ranks it; and at the end what is left blank and no answer that is wanted waits for.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from tallstack.geometry.clearance.clearances import Clearances, clearances
from tallstack.geometry.clearance.situation import CAM, LIFT
from tallstack.geometry.clearance.valve_over_piston import COORDINATES, READING
from tallstack.geometry.engine.before import BEFORE, ON
from tallstack.geometry.engine.defaults import CUT_ENTRIES
from tallstack.geometry.engine.engine import MEASURED
from tallstack.geometry.pushrod.ordering import Order
from tallstack.geometry.sure.what_next import Worth

from ..commands import risk as risk_command
from ..job.entries.catalogue import owned
from ..job.entries.fields import LOOKED_AT, Choice
from ..job.entries.letters import letters_of
from ..job.entries.meanings import owner_and_name
from ..job.entries.wanted import ASSEMBLY, PUSHRODS, VALVES, WANTED
from ..job.file import JobFile
from ..job.job import Job
from ..page.order_words import lacks_of
from ..page.wording import DECIDED
from .narrowing import is_narrower, narrowing
from .needs import ANSWERS, BESIDE, Known, path_of

CLEARANCE, FITS = "clearance", "fits"
OF_FITS = tuple(one for one in WANTED if one in ANSWERS or one in BESIDE)
ASKED_FOR = (
    *WANTED,
    CLEARANCE,
    FITS,
)  # what a list can be for: what may be wanted, and two commands by their names
STACK = ("cylinder", "base_gasket", "head_gasket")  # what may have been another one when a reading was taken
CARD = (
    "centreline",
    "card.peak",
    "card.duration.at",
    "card.duration.degrees",
    "card.seat.at",
    "card.seat.degrees",
    "card.top_centre",
)
PARTS_OF_CARD = {
    "events": ("at", "opens", "closes"),
    "lift": ("at", "angle"),
    "opening": ("at", "opens"),
    "closing": ("at", "closes"),
    "duration": ("at", "degrees"),
}
NARROWS = "WHAT NARROWS A CARD'S LOBE, the one that tells most first"
CUT = "CUT SINCE IT WAS READ: head and case, 0 where nothing was"
STANDS_OUT = "TAKE AGAIN FIRST"
UNSURE = "WRITE DOWN HOW SURE THESE ARE, a +/- each"
ONCE_MORE = "WORTH TAKING AGAIN, the one that tells most first"
LEFT_BLANK = "LEFT BLANK, and nothing that is wanted waits for it"
STAND_THERE = (STANDS_OUT, UNSURE, ONCE_MORE)  # what is asked of readings that were taken
A_CHECK = "a check beside what the entries foretell, written as a [[reading]]"
WORTH = 1e-4  # of a verdict: less than this is not worth taking again


class Asked(NamedTuple):
    """One reading to take."""

    entry: str  # path in the job
    letter: str  # in every drawing, or those of its parts; empty where it has none
    words: str  # what it is
    tool: str
    choices: tuple[str, ...] = ()  # what may be written, of a word
    wish: bool = False  # decided, not read
    doubt: bool = True  # whether a +/- goes with it: not with a word, a count or a number that somebody chose

    @property
    def owner(self) -> str:
        """The valve gear or cylinder that it is read at; empty for the engine's own."""
        return owned(self.entry)[0]

    @property
    def own(self) -> str:
        """Its path without that."""
        return self.entry.removeprefix(f"{self.owner}.")

    @property
    def name(self) -> str:
        """What it is called, whosever it is."""
        return owner_and_name(self.entry)[1]

    @property
    def may_be_alike(self) -> bool:
        """Whether it is of a part that several can have alike, and no reading of its own place."""
        return not self.own.startswith(("measured_", "valves_touch"))


class Group(NamedTuple):
    """Readings that are taken for one purpose."""

    title: str
    asked: tuple[Asked, ...]


def to_measure(
    job: Job, answers: Sequence[str], known: risk_command.Found | None = None
) -> tuple[Group, ...]:
    """Return what is still to be measured.

    answers : those that are wanted, of ASKED_FOR
    known   : how sure every answer is, where that is known already
    """
    job = job.settled
    answers = [VALVES if one == CLEARANCE else one for one in answers]
    found = job.orders
    told: set[str] = set()
    groups: list[Group] = []
    decided: list[Asked] = []

    def add(title: str, entries: Iterable[str]) -> None:
        every = [path for one in entries for path in _of_a_card(one)]
        new = [one for one in dict.fromkeys(every) if one not in told]
        told.update(new)
        both = [row for row in (_asked(one) for one in new) if row.tool]
        decided.extend(row for row in both if row.wish)
        rows = tuple(row for row in both if not row.wish)
        place = next((index for index, group in enumerate(groups) if group.title == title), None)
        if place is not None:  # a second reason to ask for the same
            groups[place] = Group(title, (*groups[place].asked, *rows))
        elif rows:
            groups.append(Group(title, rows))

    blank = [one.path for one in job.blanks if not _is_cut(one.path)]
    cut = [one.path for one in job.blanks if _is_cut(one.path)]
    if PUSHRODS in answers:
        lacks = [one for order in found for one in (*lacks_of(order), *_beside_a_rod(job, order))]
        more = blank if any(order.required is None for order in found) or not found else []
        add("FOR THE PUSHRODS", _most_first([*lacks, *(one for one in more if not _of_a_clearance(one))]))
    if {PUSHRODS, VALVES} & set(answers) and found:
        cut += [one for one in CUT_ENTRIES if not any(path.endswith(one) for path in (*job.entries, *cut))]
    add(CUT, cut)
    if VALVES in answers:
        lacks = []
        clear = clearances(job.mapping, job.tables, {}, {})
        for valve in clear.valves:
            if valve.piston is None:
                lacks += [one for way in _shortest(valve.lacks) for one in valve.lacks[way]]
                lacks += [
                    one
                    for one in _by_a_dial(valve.train)
                    if one not in job.entries and READING in valve.lacks
                ]
        more = blank if any(valve.piston is None for valve in clear.valves) or not clear.valves else []
        add("FOR THE CLEARANCES", _most_first([*lacks, *more]))
        add(NARROWS, _narrowing(job, clear))
        if any(valve.piston is not None for valve in clear.valves):
            between = [entry for pair in clear.pairs for entry in pair.lacks if " " not in entry]
            add("FOR VALVE TO VALVE", _most_first(between))
    document = tomllib.loads(job.source) if job.source else {}
    for one in OF_FITS:
        if one in answers or FITS in answers:
            lacks = [path_of(need.loc, document) for need in Known().needs(job, document, (one,))]
            crossing = job.fits.crossing.asked if one == ASSEMBLY else ()
            add(f"FOR {one.upper()}: {WANTED[one]}", [*lacks, *crossing])
    sure = known
    if sure is None:
        worked = risk_command.worked_out(job, wanted=0)
        sure = None if worked is None else worked[0]
    if sure is not None:
        bare = [entry for one in sure.answers if one.verdict is not None for entry in one.budget.undoubted]
        add(UNSURE, _most_first(bare))
        worth = [one for one in sure.next if one.saves > WORTH]
        narrower = [one for one in worth if is_narrower(job.mapping, one.name)]
        add(NARROWS, [whole for one in narrower for whole in _parts_of(one.name)])
        again = [one for one in worth if one not in narrower]
        if again:
            rows = tuple(_again(one) for one in again)
            groups.append(Group(ONCE_MORE, rows))
    add(LEFT_BLANK, blank)
    wishes = (Group(DECIDED, tuple(decided)),) if decided else ()
    return (*_standing_out(job), *groups, *wishes)


def _standing_out(job: Job) -> tuple[Group, ...]:
    """Return the reading that stands out from all others, to be taken again before any other."""
    fused = job.laid.fused
    worst = None if fused is None else fused.worst
    check = None if worst is None else next(one for one in job.laid.checks if one.name == worst.name)
    if check is None:
        return ()
    words = f"{check.kind}, {check.of.replace('.', ' ')}: it stands out from all others"
    return (Group(STANDS_OUT, (Asked(check.own, letters_of(check.own), words, "as it was read"),)),)


def _narrowing(job: JobFile, clear: Clearances) -> list[str]:
    """Return what to read of lobes whose cards leave it open whether a limit is met."""
    lobes = dict.fromkeys(
        lobe
        for one in clear.judged
        if one.ends is not None and one.ends[0] < one.limit.value < one.ends[1]
        for lobe in one.lobes
    )
    return [whole for lobe in lobes for entry in narrowing(job.mapping, lobe) for whole in _parts_of(entry)]


def _parts_of(entry: str) -> list[str]:
    """Return what is written down of one reading of a card."""
    table = entry.rpartition(".")[2]
    return [f"{entry}.{part}" for part in PARTS_OF_CARD[table]] if table in PARTS_OF_CARD else [entry]


def _beside_a_rod(job: JobFile, order: Order) -> list[str]:
    """Return what is written down with a rod's reading and does not stand there: its lean, the stack it was read on."""
    if MEASURED not in order.missing:
        return []
    rod = f"{order.train.name}.measured_pushrod"
    there = {path for path, one in job.entries.items() if not one.is_taken}
    lean = [] if any(path.startswith(f"{rod}.lean") for path in there) else [f"{rod}.lean"]
    then = [f"{rod}.stack.{part}" for part in STACK]
    on = job.entries.get(f"{rod}.{ON}")
    is_said = any(path in there for path in then) or (on is not None and on.value == BEFORE)
    return [*lean, *(() if is_said else then)]


def _by_a_dial(train: str) -> list[str]:
    """Return what a clearance by a dial takes besides its reading."""
    drop = f"{train}.measured_drop"
    then = (f"{drop}.stack.{part}" for part in STACK)
    return [
        *("crank.stroke", "crank.conrod_length", f"{train}.rocker.ratio", f"{drop}.meets", f"{drop}.room"),
        *then,
    ]


def _shortest(lacks: dict[str, tuple[str, ...]]) -> list[str]:
    """Return the ways to go: the cam and its lift in any case, and the shorter of coordinates and a reading."""
    over = [one for one in (READING, COORDINATES) if one in lacks]
    nearest = min(over, key=lambda way: len(lacks[way]), default=None)
    return [one for one in (nearest, CAM, LIFT) if one is not None and one in lacks]


def _of_a_card(entry: str) -> list[str]:
    """Return what to read of a lobe of which nothing is known, or the entry itself."""
    if entry.startswith("lobe.") and entry.count(".") == 1:
        return [f"{entry}.{part}" for part in CARD]
    return [entry]


def _is_cut(path: str) -> bool:
    """Say whether an entry is what was cut off head or case since, not what was when a reading was taken."""
    return path.endswith(CUT_ENTRIES) and ".measured_" not in path


def _of_a_clearance(path: str) -> bool:
    own = (".measured_drop.", ".valves_touch.")
    return path.startswith(("lobe.", "cam.", "targets.", "crank.", "piston.")) or any(
        one in path for one in own
    )


def _most_first(entries: Sequence[str]) -> list[str]:
    """Return entries, those that are asked for most often first."""
    count: dict[str, int] = {}
    for one in entries:
        count[one] = count.get(one, 0) + 1
    return sorted(count, key=lambda one: -count[one])


def _again(one: Worth) -> Asked:
    """Return what is worth taking again: an entry, or a check beside those there are."""
    asked = _asked(one.name)
    return asked._replace(words=asked.words or A_CHECK, tool=one.tool.name)


def _asked(entry: str) -> Asked:
    owner, kind = owned(entry)
    own = entry.removeprefix(f"{owner}.")
    words = "" if kind is None else kind.words
    if ".stack." in own and own.startswith("measured_"):
        words += ", of what was in place when it was read"
    choices = kind.options if isinstance(kind, Choice) else ()
    tool = LOOKED_AT if kind is None else kind.read_with
    wish, doubt = kind is not None and kind.wish, kind is None or kind.is_measured
    return Asked(entry, letters_of(own), words, tool, choices, wish, doubt)
