"""What can be written down at assembly and at every visit: the kinds of fact, what each is of, and how each is read."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, NamedTuple

from tallstack.geometry.core.answer import CYLINDER, TRAIN, Group
from tallstack.geometry.core.targets import COVER, ROCKER_TO_RETAINER, Target
from tallstack.geometry.fits import groups

from ..job.entries.catalogue import kind_at
from ..job.entries.fields import Kind, Quantity, Sign
from ..job.entries.gear_tables import CONVENTIONS
from ..job.entries.tables import degrees, measure, millimetres, number
from ..job.reading.values import Dimension

NOTE, WITHDRAWN, SHELF, CHANGED = "note", "withdrawn", "shelf", "changed"
OF_NOTHING = (NOTE, WITHDRAWN, SHELF, CHANGED)  # need not be of a valve gear or cylinder
FOUND, LEFT, KEPT = "found", "left", "found and left"  # how a thing stood at a visit; the last is one reading
STATES = (FOUND, LEFT, KEPT)
CHANGES = {  # what was changed at a visit → of what it is, and how that is said
    "pushrod": (TRAIN, "Other pushrod"),
    "lifter": (TRAIN, "Other lifter"),
    "rocker": (TRAIN, "Other rocker"),
    "valve": (TRAIN, "Other valve, or its seat cut,"),
    "head": (CYLINDER, "Head off"),
    "cylinder": (CYLINDER, "Cylinder off"),
    "camshaft": ("", "Other camshaft"),
}
DISTANCE = measure("run since assembly", Dimension.DISTANCE, sign=Sign.ZERO_UP)
TEMPERATURE = measure("temperature of the cold engine", Dimension.TEMPERATURE, -30, 60, sign=Sign.ANY)
TIP_HEIGHT, COVER_RAISED = "tip height", "cover raised"
TURNED_FROM = (
    "zero lash",
    "closed",
)  # an adjuster from where it just touches; an adjustable pushrod fully closed
FELT_AT = ("valve", "pushrod")
CONVENTIONS_OF = {"pushrod": CONVENTIONS, "turns": TURNED_FROM, "flats": TURNED_FROM, "lash": FELT_AT}


class Recorded(NamedTuple):
    """One kind of fact."""

    kind: Kind
    of: str  # TRAIN or CYLINDER
    least: Target | None = None  # its limit, where no answer has it
    set_as: str = ""  # what it is here, where its entry is of what is wanted

    @property
    def words(self) -> str:
        """What it is, in words."""
        return self.set_as or self.kind.words


def _entry(*loc: str | int) -> Kind:
    """Return how an entry of the job file is read, for what is the same thing at assembly."""
    kind = kind_at(loc)
    assert isinstance(kind, Quantity)
    return kind


def _room(words: str, least: Target) -> Recorded:
    """Return a room in the rocker's box, by clay."""
    return Recorded(millimetres(words, 0.3, 15, sign=Sign.ZERO_UP), TRAIN, least)


FIXED: dict[str, Recorded] = {
    "pushrod": Recorded(_entry("train", 0, "measured_pushrod", "length"), TRAIN),
    "turns": Recorded(number("turns, the way that takes up lash", -20, 20, sign=Sign.ANY), TRAIN),
    "flats": Recorded(number("flats, the way that takes up lash", -120, 120, sign=Sign.ANY), TRAIN),
    "preload": Recorded(
        _entry("train", 0, "lifter", "preload"), TRAIN, set_as="plunger below its top stop, as set"
    ),
    "lash": Recorded(_entry("train", 0, "lifter", "lash"), TRAIN, set_as="lash of a solid lifter, as set"),
    "drop": Recorded(
        _entry("train", 0, "measured_drop", "drop"),
        TRAIN,
        set_as="valve pushed further down from where its own gear holds it, at the crank angle where it comes closest",
    ),
    "clay": Recorded(millimetres("the clay where it was thinnest", 0, 25, sign=Sign.ZERO_UP), TRAIN),
    "valve lift": Recorded(millimetres("the valve's greatest lift", 3, 20), TRAIN),
    TIP_HEIGHT: Recorded(millimetres("stem tip over the spring seat, valve closed", 25, 80), TRAIN),
    "cover room closed": _room("rocker to box and cover, valve closed", COVER),
    "cover room full": _room("rocker to box and cover, valve at full lift", COVER),
    "retainer room closed": _room("rocker to retainer, valve closed", ROCKER_TO_RETAINER),
    "retainer room full": _room("rocker to retainer, valve at full lift", ROCKER_TO_RETAINER),
    COVER_RAISED: Recorded(
        millimetres(
            "how much higher the cover stands than when its rooms were read, in all: spacer, gasket",
            -15,
            50,
            sign=Sign.ANY,
        ),
        TRAIN,
    ),
    "valve to valve": Recorded(millimetres("between the two valves at their closest", 0, 25), CYLINDER),
    "crank": Recorded(
        degrees("crank degrees after compression top centre where it was set", below=360.0), CYLINDER
    ),
}


class Pair(NamedTuple):
    """A room in the rocker's box, read with the valve closed and at full lift."""

    closed: str
    full: str
    follows_lift: bool  # it goes on in a line with a little more lift
    under_cover: bool  # it grows by as much as the cover is raised


PAIRS = (
    Pair("cover room closed", "cover room full", follows_lift=True, under_cover=True),
    Pair("retainer room closed", "retainer room full", follows_lift=False, under_cover=False),
)
AT_LIFT = tuple(one.full for one in PAIRS)  # what was read at full lift: the lift of the reading counts
LIFT = FIXED["valve lift"].kind
BY_NAME = (
    TIP_HEIGHT,
    COVER_RAISED,
    *(name for one in PAIRS for name in one[:2]),
)  # have no option of their own


def figures() -> Mapping[str, tuple[Group[Any], str]]:
    """Return every figure of the rest of the stack that a hand can measure, by what it is called in a record."""
    return _figures(groups.GROUPS)


@cache
def _figures(every: tuple[Group[Any], ...]) -> dict[str, tuple[Group[Any], str]]:
    return {
        key.replace("_", " "): (group, key)
        for group in every
        for key, figure in group.figures.items()
        if figure.measured is not None
    }


def kinds() -> Mapping[str, Recorded]:
    """Return everything that can be written down, in the order of assembly."""
    return _kinds(groups.GROUPS)


@cache
def _kinds(declared: tuple[Group[Any], ...]) -> dict[str, Recorded]:
    crank = {"crank": FIXED["crank"]}  # where it stood is written down last
    every = {name: one for name, one in FIXED.items() if name not in crank}
    for name, (group, key) in _figures(declared).items():
        measured = group.figures[key].measured
        assert measured is not None
        sign = Sign.ANY if measured.signed else Sign.ZERO_UP
        every[name] = Recorded(millimetres(measured.words, *measured.usual, sign=sign), group.of)
    return every | crank
