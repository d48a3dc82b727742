"""What a coordinate, a lean, an angle or a direction is counted from, and which way: a small drawing in text.

Each is at most 12 lines of 60 columns, names the entry's letter, its axis and which way is positive, and stands in plain
characters where a terminal has no others. Whose side +x is, the job says where its valves or ports have places.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from ..job.entries.catalogue import owned
from ..job.entries.fields import Choice, Kind, Parts, Quantity, Sign
from ..job.entries.letters import letter_of
from ..job.reading.values import Dimension

MOST_LINES, MOST_COLUMNS = 12, 60
BOXES = str.maketrans({"~": "\u2500", "!": "\u2502"})
PLAIN = str.maketrans({"~": "-", "!": "|"})
DECK, GASKET, CROWN = "case deck", "head's gasket face", "crown plane"


class Situation(NamedTuple):
    """What a job says of the ways in a drawing."""

    x: str = ""  # what lies towards +x: "the exhaust"
    y: str = ""  # what lies towards +y: "rear"
    boxes: bool = False  # whether the terminal shows box characters

    @property
    def to_x(self) -> str:
        """Which way +x is."""
        return f"+x, towards {self.x}" if self.x else "+x"

    @property
    def to_y(self) -> str:
        """Which way +y is."""
        return f"+y, towards {self.y}" if self.y else "+y, along the crankshaft"


def situation(known: Mapping[str, Any], owner: str, encoding: str = "") -> Situation:
    """Return what a job says of the ways in a drawing.

    known    : entry → value, a job's `mapping`
    owner    : the valve gear or the cylinder that is asked about
    encoding : of the terminal
    """
    cylinder = owner.partition(".")[0]
    sides = {port: _side(known, cylinder, port) for port in ("intake", "exhaust")}
    first, second = sides["intake"], sides["exhaust"]
    x = ""
    if first is not None and second is not None and first != second:
        x = "the intake" if first > second else "the exhaust"
    elif first or second:
        port, side = ("intake", first) if first else ("exhaust", second)
        assert side is not None
        x = f"the {port}" if side > 0 else ""
    offsets = {
        str(name): value
        for name in known.get("cylinders", ())
        if (value := _number(known, f"{name}.offset")) is not None
    }
    own = offsets.get(cylinder)
    behind = [name for name, value in offsets.items() if own is not None and value > own]
    try:
        "\u2500\u2502".encode(encoding or "ascii")
        boxes = True
    except (UnicodeEncodeError, LookupError):
        boxes = False
    return Situation(x, min(behind, key=lambda name: offsets[name], default=""), boxes)


def _side(known: Mapping[str, Any], cylinder: str, port: str) -> float | None:
    """Return where a port's valve stands across the cylinder, by its face, its port or its stem's lean; None: not said."""
    paths = (
        f"{cylinder}.{port}.valve.face.x",
        f"{cylinder}.{port}_face.centre.x",
        f"{cylinder}.{port}.valve.lean.x",
    )
    return next((value for one in paths if (value := _number(known, one)) is not None), None)


def _number(known: Mapping[str, Any], path: str) -> float | None:
    value = known.get(path)
    return float(value) if isinstance(value, (int, float)) else None


def picture(path: str, seen: Situation | None = None) -> tuple[str, ...] | None:
    """Return the lines of an entry's drawing; None where it is no coordinate, lean, angle or direction.

    path : with the name of its valve gear or cylinder, or without it
    """
    owner, kind = owned(path)
    if kind is None or not is_drawn(path, kind):
        return None
    name = path.removeprefix(f"{owner}.") if owner else path
    seen = seen or Situation()
    table = BOXES if seen.boxes else PLAIN
    return tuple(line.rstrip().translate(table) for line in _lines(name, kind, seen))


def is_drawn(path: str, kind: Kind) -> bool:
    """Say whether an entry counts from somewhere in some way, and so has a drawing."""
    if isinstance(kind, Parts):
        return True
    if isinstance(kind, Choice):
        return path.endswith((".turns", ".arms")) and bool({"forward", "droop"} & set(kind.options))
    if not isinstance(kind, Quantity) or path.endswith("reading.value") or _of_reading(path):
        return False
    return kind.dimension is Dimension.ANGLE or (kind.dimension is Dimension.LENGTH and kind.sign is Sign.ANY)


def _of_reading(path: str) -> bool:
    steps = path.split(".")
    return steps[0] == "reading" and steps[-1] == "value"


def _lines(name: str, kind: Kind, seen: Situation) -> list[str]:
    for ends, draw in PICTURES:
        if name.endswith(ends):
            return draw(name, seen)
    if isinstance(kind, Parts):
        return _lean_pair(name, seen) if kind.dimension is Dimension.ANGLE else _point(name, seen)
    if isinstance(kind, Quantity) and kind.dimension is Dimension.ANGLE:
        return _on_the_wheel(name, seen)
    return _height(name, seen)


def _letter(name: str, axis: str = "") -> str:
    """Return an entry's letter for an axis, or the axis itself."""
    found = letter_of(f"{name}.{axis}" if axis else name)
    return f"{found} = {axis}" if found and axis else found or axis


def _counted_from(name: str) -> str:
    if name.endswith(("seat_low", "lifter.seat")):
        return DECK
    if "pocket" in name:
        return CROWN
    return GASKET


def _point(name: str, seen: Situation) -> list[str]:
    x, y, z = (_letter(name, axis) for axis in "xyz")
    return [
        "along the crankshaft, y away      from above, z to you",
        f"   ^ {z:<10}                    ^ {y}",
        "   !     *                         !     *",
        "   !                               !",
        f"~~~o~~~~~~~~> {x:<10}        ~~~o~~~~~~~~> {x}",
        f"   {_counted_from(name):<20}           the cylinder's axis",
        f"positive: {seen.to_x};",
        f"          {seen.to_y}",
    ]


def _place(name: str, seen: Situation) -> list[str]:
    x, y = (_letter(name, axis) for axis in "xy")
    return [
        "seen from above, onto the crown",
        f"      ^ {y}",
        "      !    *",
        "      !",
        f"~~~~~~o~~~~~~~> {x}",
        "      the piston's axis",
        f"positive: {seen.to_x};",
        f"          {seen.to_y}",
    ]


def _lean_pair(name: str, seen: Situation) -> list[str]:
    x, y = (_letter(name, axis) for axis in "xy")
    up = {"lifter.lean": "the way it rises", "pocket.lean": "out of the crown"}.get(
        name, "away from the head"
    )
    up = "out of the chamber" if name == "valve.lean" else up
    return [
        "along the crankshaft, y away      from the +x side",
        f"     z ^    / {x:<12}        z ^    / {y}",
        "       !   /  positive              !   /  positive",
        "       !  /                         !  /",
        "       ! /                          ! /",
        "  ~~~~~o~~~~~~> x              ~~~~~o~~~~~~> y",
        f"its upper end, {up};",
        f"first positive: towards {seen.x or '+x'};",
        f"second: towards {seen.y or '+y, along the crankshaft'}",
    ]


def _rod_lean(name: str, seen: Situation) -> list[str]:
    whole, x, y = letter_of(name), _letter(name, "x"), _letter(name, "y")
    return [
        "  cylinder's",
        "   axis ^     / pushrod",
        f"        !    /       {whole or 'a'}: the whole angle, no sign",
        "        ! a /",
        "        !  /         or two views:",
        f"        ! /          {x}, positive towards {seen.x or '+x'};",
        f"        !/           {y}, positive towards {seen.y or '+y'}",
        "        o lifter",
    ]


def _whole_lean(name: str, seen: Situation) -> list[str]:
    return [
        "   axis ^     / stem",
        "        !    /",
        f"        ! a /    {_letter(name) or 'a'}: the whole angle,",
        "        !  /     whichever way it leans: no sign",
        "        ! /",
        "    ~~~~o~~~~ chamber",
    ]


def _direction(name: str, seen: Situation) -> list[str]:
    stem = name.removesuffix(".around").removesuffix(".up")
    what = "along the shaft" if stem.startswith("rocker") else "out of the face"
    letter = letter_of(stem)
    return [
        f"{what}, from above{f', {letter}' if letter else '':<4}         from beside it",
        "   y ^     / it                 z ^     / it",
        "     ! a  /  around = a           !   ./",
        "     !   /                        !  ./  up = b",
        "     !  /                         ! / b",
        "     o~~~~~~> x                   o~~~~~~~~ level",
        "around counts from +y, the crankshaft, to +x: 90 is +x;",
        f"here that is {seen.to_x}" if seen.x else "-90 is -x, 180 is -y",
        "up is above the gasket face, below it negative",
    ]


def _cylinder_lean(name: str, seen: Situation) -> list[str]:
    return [
        "along the crankshaft, y away from you",
        "   upright ^     / the cylinder",
        "           !    /",
        "           ! a /   positive: forward",
        "           !  /",
        "           ! /",
        "     crank o~~~~~~> X, forward",
    ]


def _turns(name: str, seen: Situation) -> list[str]:
    return [
        "along the crankshaft, y away from you, at top centre",
        "        pin",
        "         o~~> forward: towards +x just after it",
        "         !",
        "   ~~~~~~+~~~~~~> x",
        "   backward: the pin goes the other way",
    ]


def _offset(name: str, seen: Situation) -> list[str]:
    along = "+x" if "pin_offset" in name else "the side from which the lobe comes"
    return [
        f"positive: towards {along}",
        "            axis",
        "   - <~~~~~~~!~~~~~~~> +",
        "             !    *",
        f"             !<~~>!  {_letter(name)}",
    ]


def _along_crank(name: str, seen: Situation) -> list[str]:
    return [
        "seen from above",
        "   first       this cylinder",
        "  ~~~o~~~~~~~~~~~~o~~~~~~~> +y, along the crankshaft",
        "     <~~~~ + ~~~~~>",
    ]


def _station(name: str, seen: Situation) -> list[str]:
    return [
        "   the point                arm",
        "  ~~~~~o~~~~~~~~~~~~~~~~~~~~~H~~~~~> the way that",
        f"       <~~~~~~ + {_letter(name):<4} ~~~~~~>    direction points",
        "   on the other side of the point: negative",
    ]


def _arms(name: str, seen: Situation) -> list[str]:
    return [
        "  valve arm    shaft   pushrod arm",
        "        ~~~~~~~~o~~~~~~~~       180: straight",
        "",
        "              . o .",
        f"            /   {_letter(name) or 'a':<3}  \\          less: both droop",
        "          /          \\        more: both rise",
        "   counted on the underside, towards the head",
    ]


def _height(name: str, seen: Situation) -> list[str]:
    level, positive = next((told for ends, told in LEVELS.items() if name.endswith(ends)), ("", "up"))
    return [
        f"{'':>10}^ {positive if positive != 'down' else 'negative: up'}",
        f"{'':>10}!",
        f"  ~~~~~~~~o~~~~~~~~ {level}",
        f"{'':>10}!",
        f"{_letter(name):>8}  v {'positive: down' if positive == 'down' else 'negative: the other way'}",
    ]


LEVELS = {  # end of an entry → what it counts from, and which way is positive
    "measured_deck.below": ("the cylinder's top face", "down"),
    "lifter.lowered": ("the seat when the points were measured", "down"),
    "below_deck": ("the case deck", "down"),
    "cup_above_gasket": ("the head's gasket face", "positive: up"),
    "shaft_above_cup": ("the cup's ball centre", "positive: up"),
    "shaft_above_tip": ("the stem's tip, along the stem", "positive: up"),
    "valve.sink": ("the valve as it was", "positive: into the head"),
    "cup_rim": ("the cup's ball centre", "positive: the lip above it"),
}


def _relief(name: str, seen: Situation) -> list[str]:
    return [
        "the bore seen from above",
        "      +y ^ 90",
        "     . ~ ! ~ .",
        f"   .     !    *. {_letter(name) or 'a'}: the relief's middle",
        "~~~~~~~~~o~~~~~~~~> +x, 0",
        "   .     !     .",
        "     . ~ ! ~ .",
        f"0 is {seen.to_x}",
    ]


def _stems(name: str, seen: Situation) -> list[str]:
    letter = _letter(name) or "a"
    if name.endswith("spread_off"):
        return [
            "seen along the cylinder",
            "   o ~~~~~~~~~~~~~~~~ o   line of the heads' centres",
            f"    \\                  \\  {letter}: the angle off that line",
            "     stem               stem",
            "no sign: 0 where the stems lie along the line",
        ]
    return [
        "  stem \\         / stem",
        f"        \\   {letter:<2}  /      0 where they are parallel",
        "         \\     /",
        "    ~~~~~~o~~~o~~~~~~ chamber",
    ]


def _eccentric(name: str, seen: Situation) -> list[str]:
    return [
        "along the shaft, the way direction points",
        "   upright ^   * pivot",
        "           ! a/",
        "           ! /",
        "    shaft  o       positive: clockwise as seen so",
    ]


def _on_the_wheel(name: str, seen: Situation) -> list[str]:
    centre, before, after = next(
        (told for ends, told in WHEEL if name.endswith(ends)), ("top centre", "before", "after")
    )
    return [
        "crank degrees, the way it turns",
        f"{before:>22} ! {after}",
        "  ~~~~~~~~~~~~~~~~~~~~~!~~~~~~~~~~~~~~~~~~~~~>",
        f"{'':>16}{centre}",
    ]


WHEEL = (  # ends of entries, and what stands at 0, before it and after it
    (("fires_at",), ("the first cylinder fires", "", "positive: fires later")),
    (("pin",), ("the first cylinder's crank pin", "positive: this pin leads", "")),
    (("release_closes",), ("bottom centre", "", "up to here, no sign")),
    (("centreline",), ("overlap top centre", "exhaust: so far before", "intake: so far after")),
    (("opens",), ("top centre; of an exhaust bottom centre", "positive: before it", "negative: after it")),
    (("closes",), ("bottom centre; of an exhaust top centre", "negative: before it", "positive: after it")),
    (("advance",), ("as the cam stands", "positive: both earlier", "negative: both later")),
    ((".angle", "reading.at", ".at"), ("overlap top centre", "negative: before it", "positive: after it")),
)


def _open(name: str, seen: Situation) -> list[str]:
    return [
        "          . ~~~ .",
        "        /         \\",
        "   ~~~~x~~~~~~~~~~~x~~~~ check lift",
        "  ~~~~~!~~~~~~~~~~~!~~~~~~> crank degrees",
        "       <~~~~~~~~~~~>  no sign",
    ]


def _play(name: str, seen: Situation) -> list[str]:
    return [
        "   the cam held, the crank rocked to and fro",
        "        !<~~~~~>!  crank degrees, no sign",
        "        \\       /",
        "         \\     /",
        "            o",
    ]


PICTURES: tuple[tuple[tuple[str, ...], Callable[[str, Situation], list[str]]], ...] = (
    (("pocket.centre", "pocket.deepest"), _place),
    (("direction", "normal", ".around", ".up"), _direction),
    (("measured_pushrod.lean",), _rod_lean),
    (("measured_drop.lean",), _whole_lean),
    (("lifter.lean", "valve.lean", "pocket.lean", "adjuster.axis"), _lean_pair),
    (("lean",), _cylinder_lean),
    ((".turns",), _turns),
    (("arm_angle", ".arms"), _arms),
    (("pin_offset", "follower_offset", "read_offset"), _offset),
    (("offset",), _along_crank),
    (("valve_station", "pushrod_station"), _station),
    (("reliefs.at", "reliefs.0.at", "reliefs.1.at", "reliefs.2.at", "reliefs.3.at"), _relief),
    (("between_stems", "spread_off"), _stems),
    (("eccentric_at",), _eccentric),
    (("degrees",), _open),
    (("backlash",), _play),
)
