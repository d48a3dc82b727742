"""What each screen of the page asks for, in the order of the hands: data, no code of its own.

A screen is one pose of the engine, or one part in hand. Its entries are named from the part's owner on; what an entry means,
how it is read and where most engines lie stands where it is declared. Whatever no screen names is found in ALL.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType
from typing import NamedTuple

from tallstack.geometry.engine.before import BEFORE, NOW

from ..guide.layout import NOT_BEFORE
from ..guide.questions import CHANGED, NO, SAME_STACK, YES
from ..job.entries.engine_tables import BLOCK

NOTHING: Mapping[str, str] = MappingProxyType({})


class Of(Enum):
    """What the entries of a part are of."""

    ENGINE = "engine"
    STACK = "stack"  # the engine's, or each cylinder's where they differ
    CYLINDER = "cylinder"
    TRAIN = "train"
    LOBE = "lobe"


class Option(NamedTuple):
    """One way to say something, with the entries that belong to it alone."""

    word: str  # which of them, in the page's address and in the test
    told: str  # to a person
    entries: tuple[str, ...] = ()
    writes: Mapping[str, str] = NOTHING  # entries that say that it is so
    answer: str = ""  # to the question of a guided session, where that lays it out
    remark: str = ""  # in the file, by which it is known again
    table: str = ""  # what goes out whole where another way is chosen


class Way(NamedTuple):
    """What can be said in one of several ways, of which a job holds one."""

    key: str
    asks: str
    options: tuple[Option, ...]  # the first is offered where the job says nothing
    question: str = ""  # of a guided session, which lays the file out
    table: str = ""  # that it is about
    hidden: bool = False  # its entries stand in another part, in the order of the drawing
    begins: bool = False  # nothing of its part says anything without it: its entries stand open as soon as one is entered


class Only(NamedTuple):
    """What is asked only where something else is so."""

    names: tuple[str, ...]  # of entries and ways
    entry: str = ""  # with a stroke before it: the engine's own
    word: str = ""  # empty: where the entry stands at all
    unless: bool = False  # where it is not so
    way: Way | None = None  # in place of an entry: the option of it that is gone


class Part(NamedTuple):
    """What is read in one position of the hands."""

    title: str
    of: Of
    entries: tuple[str | Way, ...]  # in the order of the drawing, the lowest part first
    held: str = ""  # how the engine is held meanwhile
    folded: bool = False  # seldom wanted
    only: tuple[Only, ...] = ()


class Screen(NamedTuple):
    """One pose."""

    key: str  # in the page's address
    title: str
    of: Of
    pose: str  # the drawing that shows it
    parts: tuple[Part, ...] = ()


def _in_block(*names: str) -> Only:
    """Return that something is not asked where the cylinders are part of a block."""
    return Only(names, "/stack.cylinder", BLOCK, unless=True)


def _read_on(reading: str) -> Way:
    """Return the choice of the stack that a reading was taken on."""
    parts = ("base_gasket", "cylinder", "head_gasket")
    return Way(
        f"{reading}_read_on",
        "Which stack was it read on?",
        (
            Option("now", "the one it will be built with", writes={f"{reading}.on": NOW}, remark=SAME_STACK),
            Option(
                "other",
                "another one",
                tuple(f"{reading}.stack.{one}" for one in parts),
                table=f"{reading}.stack",
            ),
            Option("before", "the engine as it was, whole", writes={f"{reading}.on": BEFORE}),
        ),
        table=reading,
    )


FORM = Way(
    "form",
    "What does the head stand on?",
    (
        Option("case", "a cylinder on a case", ("stack.base_gasket", "stack.cylinder")),
        Option("block", "the block", writes={"stack.cylinder": BLOCK}),
    ),
    hidden=True,
)
DECK = Way(
    "deck",
    "How is it known how far the piston stands below the top?",
    (
        Option("bridge", "a dial on a bridge", ("stack.measured_deck.below",)),
        Option("heights", "from the height of the case deck", ("stack.case_deck",)),
        Option("block", "from the height of the block's deck", ("stack.block_deck",)),
    ),
    hidden=True,
)


DECK_READ_ON = Way(
    "deck_read_on",
    "Which engine was that read on?",
    (
        Option("now", "the one it will be built with", writes={"stack.measured_deck.on": NOW}),
        Option("before", "the engine as it was, whole", writes={"stack.measured_deck.on": BEFORE}),
    ),
    table="stack.measured_deck",
)


STACK = Screen(
    "stack",
    "STACK",
    Of.STACK,
    "stack",
    (
        Part(
            "What stands on what",
            Of.STACK,
            (
                FORM,
                DECK,
            ),
        ),
        Part(
            "Crank and piston",
            Of.ENGINE,
            ("crank.stroke", "crank.conrod_length", "piston.compression_height"),
            "Piston out, or the crank turned from lowest to highest.",
        ),
        Part(
            "The stack as it will be built, from the crank up",
            Of.STACK,
            (
                "stack.case_deck",
                "stack.block_deck",
                "stack.case_cut",
                "stack.base_gasket",
                "stack.cylinder",
                "stack.measured_deck.below",
                DECK_READ_ON,
                "stack.bore",
                "stack.head_gasket",
                "stack.head_cut",
            ),
            "Parts on the bench, or assembled dry; the piston at top centre for the bridge.",
            only=(
                Only(("stack.base_gasket", "stack.cylinder"), "stack.cylinder", BLOCK, unless=True),
                Only(("stack.case_deck",), way=DECK, word="heights"),
                Only(("stack.block_deck",), way=DECK, word="block"),
                Only(("stack.measured_deck.below", DECK_READ_ON.key), way=DECK, word="bridge"),
                Only((DECK_READ_ON.key,), "/before"),
            ),
        ),
        Part(
            "The stack as it was before the change",
            Of.ENGINE,
            (
                Way(
                    "before",
                    "Is it known what stood before?",
                    (
                        Option("no", "no, or nothing was changed", answer=NO, remark=NOT_BEFORE),
                        Option(
                            "yes",
                            "yes",
                            (
                                "before.same",
                                "before.stack.base_gasket",
                                "before.stack.cylinder",
                                "before.stack.head_gasket",
                            ),
                            answer=YES,
                            table=BEFORE,
                        ),
                    ),
                    CHANGED,
                ),
            ),
            folded=True,
        ),
        Part(
            "The chamber",
            Of.STACK,
            ("chamber.volume", "chamber.head_cut", "chamber.gasket_bore", "piston.crown_volume"),
            "Head upside down and level, valves in, a plate over it, the burette above.",
            folded=True,
        ),
        Part(
            "The bore by a gauge",
            Of.CYLINDER,
            (
                "piston.diameter",
                *(
                    f"bore_readings.{high}_{way}"
                    for high in ("top", "middle", "bottom")
                    for way in ("across", "along")
                ),
                "bore_readings.bore_temperature",
                "bore_readings.piston_temperature",
                "bore_readings.lay_together",
                "bore_readings.new_size",
                "bore_readings.plated",
            ),
            "Piston out, the gauge set by a micrometer.",
            folded=True,
        ),
        Part(
            "What the taller stack may break",
            Of.STACK,
            (
                "piston.skirt_below_pin",
                "crank.counterweight_radius",
                "studs.stands",
                "studs.head_seat",
                "studs.washer",
                "studs.nut_height",
            ),
            folded=True,
        ),
        Part(
            "The spigot",
            Of.CYLINDER,
            ("spigot.length", "spigot.outer_diameter"),
            folded=True,
            only=(_in_block("spigot.length", "spigot.outer_diameter"),),
        ),
        Part(
            "How it stands on the crank",
            Of.CYLINDER,
            ("lean", "offset", "pin", "fires_at"),
            "Seen from the front, the cylinders' axes against upright.",
            folded=True,
        ),
    ),
)

GEARS = Screen("gears", "GEARS", Of.ENGINE, "gears")

ROD = Screen(
    "rod",
    "ROD",
    Of.TRAIN,
    "rod",
    (
        Part(
            "The lifter",
            Of.TRAIN,
            (
                Way(
                    "lifter",
                    "What kind of lifter?",
                    (
                        Option(
                            "hydraulic",
                            "hydraulic: its plunger gives under the thumb",
                            ("lifter.preload", "lifter.plunger_travel"),
                            {"lifter.kind": "hydraulic"},
                        ),
                        Option(
                            "solid",
                            "solid",
                            ("lifter.lash", "lifter.lash_at"),
                            {"lifter.kind": "solid"},
                        ),
                    ),
                ),
            ),
            "What is wanted, and what its maker says.",
        ),
        Part(
            "The checking rod",
            Of.TRAIN,
            (
                Way(
                    "read",
                    "How was it read?",
                    (
                        Option("length", "its length", ("measured_pushrod.length",)),
                        Option(
                            "turns",
                            "turns out from closed",
                            (
                                "measured_pushrod.checking_rod.closed",
                                "measured_pushrod.checking_rod.turns",
                                "measured_pushrod.checking_rod.threads_per_inch",
                            ),
                        ),
                        Option(
                            "turns_mm",
                            "turns out, its thread in mm",
                            (
                                "measured_pushrod.checking_rod.closed",
                                "measured_pushrod.checking_rod.turns",
                                "measured_pushrod.checking_rod.pitch",
                            ),
                        ),
                    ),
                ),
                "measured_pushrod.as",
                Way(
                    "plunger",
                    "Where did the plunger stand?",
                    (
                        Option("top", "up at its top stop", writes={"measured_pushrod.plunger": "top"}),
                        Option(
                            "bottomed",
                            "pressed to its bottom",
                            writes={"measured_pushrod.plunger": "bottomed"},
                        ),
                        Option(
                            "solid checking lifter",
                            "a lifter made solid in its place",
                            writes={"measured_pushrod.plunger": "solid checking lifter"},
                        ),
                        Option("down", "held down by a known amount", ("measured_pushrod.plunger.down",)),
                    ),
                ),
                "measured_pushrod.lean",
                _read_on("measured_pushrod"),
            ),
            "Valve closed, lifter on the base circle of its lobe, the rod just touching: no up-and-down shake, no load on the plunger.",
            only=(
                Only(("plunger",), "lifter.kind", "solid", unless=True),
                _in_block("measured_pushrod.stack.base_gasket", "measured_pushrod.stack.cylinder"),
            ),
        ),
        Part(
            "The rocker",
            Of.TRAIN,
            (
                Way(
                    "rocker",
                    "How are its arms known?",
                    (
                        Option("ratio", "by their ratio", ("rocker.ratio",)),
                        Option("arms", "each by calipers", ("rocker.valve_arm", "rocker.pushrod_arm")),
                    ),
                ),
                "rocker.adjuster.kind",
                "rocker.adjuster.threads_per_inch",
                "rocker.adjuster.flats",
                "rocker.adjuster.turns_in",
                "rocker.adjuster.turns_out",
            ),
            "The rocker in hand.",
        ),
        Part(
            "The pushrod to order",
            Of.TRAIN,
            (
                "pushrod.ball_diameter_low",
                "pushrod.hole_low",
                "pushrod.ball_diameter_high",
                "pushrod.hole_high",
                "pushrod.diameter",
                "pushrod.wall",
            ),
            "A pushrod of the kind that is ordered, in hand.",
            folded=True,
        ),
        Part(
            "The spring",
            Of.TRAIN,
            ("spring.installed", "spring.solid_height", "spring.rate", "valve.retainer_to_seal"),
            folded=True,
        ),
    ),
)

DROP = Screen(
    "drop",
    "DROP",
    Of.TRAIN,
    "drop",
    (
        Part(
            "The valve pushed down",
            Of.TRAIN,
            (
                "measured_drop.meets",
                "measured_drop.room",
                "measured_drop.drop",
                "measured_drop.lean",
                _read_on("measured_drop"),
            ),
            "Piston at top centre, both lifters on the base circle, a light checking spring, a dial on the retainer: push the valve "
            "down until it touches.",
            only=(
                Only(("measured_drop.room",), "measured_drop.meets", "crown", unless=True),
                _in_block("measured_drop.stack.base_gasket", "measured_drop.stack.cylinder"),
            ),
        ),
        Part(
            "The two valves of the cylinder, pushed together",
            Of.CYLINDER,
            (
                "valves_touch.edge_intake",
                "valves_touch.edge_exhaust",
                "valves_touch.between_stems",
                "valves_touch.spread_off",
                "valves_touch.together",
            ),
            "Piston far down, light springs, a dial on each retainer: open both until their heads touch.",
            folded=True,
        ),
        Part(
            "What is wanted",
            Of.ENGINE,
            (
                "targets.drop_intake",
                "targets.drop_exhaust",
                "targets.valve_to_valve",
                "running.speed",
            ),
            folded=True,
        ),
    ),
)

CAM = Screen(
    "cam",
    "CAM",
    Of.LOBE,
    "lobe",
    (
        Part(
            "The lobe",
            Of.LOBE,
            (
                "measured_at",
                Way(
                    "lobe",
                    "How is the cam known?",
                    (
                        Option(
                            "card",
                            "by its timing card",
                            (
                                "card.peak",
                                "card.ratio",
                                "card.duration.at",
                                "card.duration.degrees",
                                "card.seat.at",
                                "card.seat.degrees",
                                "card.top_centre",
                            ),
                        ),
                        Option(
                            "table",
                            "by a table of lift readings",
                            (
                                "table",
                                "angle",
                                "units",
                                "lash_read",
                                "dialled.lifter",
                                "dialled.valve",
                                "read_with.tip",
                                "read_with.roller",
                                "base_radius",
                                "ground_for",
                            ),
                        ),
                    ),
                    begins=True,
                ),
                "centreline",
            ),
            "Degree wheel on the crank, a dial on the lifter; or the card in hand.",
            only=(
                Only(("card.ratio", "lash_read", "dialled.lifter", "dialled.valve"), "measured_at", "valve"),
                Only(
                    ("read_with.tip", "read_with.roller", "base_radius", "ground_for"),
                    "measured_at",
                    "valve",
                    unless=True,
                ),
            ),
        ),
        Part(
            "The cam on the crank",
            Of.ENGINE,
            ("cam.advance", "crank.stroke", "crank.conrod_length"),
            "The degree wheel at a true top centre.",
        ),
    ),
)

SET = Screen("set", "SET", Of.TRAIN, "crank")
NEXT = Screen("next", "NEXT", Of.ENGINE, "")
ALL = Screen("all", "ALL", Of.ENGINE, "")

SCREENS = {one.key: one for one in (STACK, GEARS, ROD, DROP, CAM, SET, NEXT, ALL)}


def named(part: Part) -> tuple[str, ...]:
    """Return every entry that a part has, those of all ways, each once."""
    found: dict[str, None] = {}
    for one in part.entries:
        if isinstance(one, Way):
            for option in one.options:
                found |= dict.fromkeys((*option.writes, *option.entries))
        else:
            found[one] = None
    return tuple(found)
