"""Every other way to say an entry, turned into the one the geometry uses.

A builder measures what the engine lets them reach: an arm or the ratio, the cup's place or the
arm's angle, the stem's length or the height of its tip. Each function here reads whichever was
given; `disagreements` finds pairs that were both given and contradict each other.

Two ways to say a thing may both stand in a file while they agree (0.05 mm, 0.2°, 0.2 % of a ratio). Written over a
copy the new way replaces the old. By `--with` it stands beside the one in the file and has to agree like any other:
dropping an arm that was measured for a ratio that is tried would change a place nobody named. A spring that is
tried is another spring, and its rate does away with wire and force.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from ..core.cutter import centre_from_deepest, deepest_from_centre
from ..core.errors import DisagreementError, GeometryError, UnreachableError
from ..core.frames import Array, array, norm
from ..core.mapping import Flat, Reader, names
from ..crank.crank import Crank
from ..gear.at_valve import behind, dialled
from ..gear.train import Drawn, closed
from .before import not_said
from .defaults import PART_ENTRIES, STACK, UNDER_CROWN, signed

LENGTH_SLACK_MM = 0.05  # two readings of one length may differ by this and still agree
ANGLE_SLACK_DEG = 0.2
RATIO_SLACK = 0.002  # of a ratio or a pitch: 1.636 for 36/22


def valve_arm(train: Reader) -> Array:
    """Return the valve arm [mm]: entered, or ratio × pushrod arm."""
    arm = train.find("rocker.valve_arm")
    if arm is not None:
        return arm
    ratio, other = train.find("rocker.ratio"), _given_pushrod_arm(train)
    if ratio is None or other is None:
        train.lack("rocker.valve_arm")
        return array(np.nan)
    return ratio * other


def pushrod_arm(train: Reader) -> Array:
    """Return the pushrod arm [mm]: entered, from the cup's place, or valve arm / ratio."""
    arm = _given_pushrod_arm(train)
    if arm is not None:
        return arm
    ratio, other = train.find("rocker.ratio"), train.find("rocker.valve_arm")
    if ratio is None or other is None:
        train.lack("rocker.pushrod_arm")
        return array(np.nan)
    return other / ratio


def ratio(train: Reader) -> Array | None:
    """Return valve arm over pushrod arm: entered, from the two arms, as dialled at full lift, or None when not known."""
    entered = train.find("rocker.ratio")
    if entered is not None:
        return entered
    long, short = train.find("rocker.valve_arm"), _given_pushrod_arm(train)
    return ratio_dialled(train) if long is None or short is None else long / short


def lobe_name(train: Reader) -> str:
    """Return the name of a valve gear's lobe: as entered, or its port's."""
    return train.word("lobe", train.prefixes[0].rstrip(".").rpartition(".")[2])


def ratio_dialled(train: Reader) -> Array | None:
    """Return the valve's whole lift over the lifter's at the higher place where both were dialled, or None."""
    job, lobe = Reader(train.mapping, ("",)), lobe_name(train)
    try:
        found = behind(job, lobe, train.word("lifter.kind") == "hydraulic")
    except GeometryError:  # told where the file is checked
        return None
    if found is None:
        return None
    highest = max((lift for _, lift in dialled(job, lobe)), key=lambda lift: float(lift.mean()))
    whole: Array = highest + found.lash
    return whole / found.lobe(highest)


def pushrod_station(train: Reader) -> Array:
    """Return the pushrod arm's station along the shaft [mm]: entered, or that of the cup."""
    entered = train.find("rocker.pushrod_station")
    if entered is not None or not train.has("rocker.cup"):
        return train.number("rocker.pushrod_station")
    return _cup(train)[1]


def arm_angle(train: Reader) -> Array:
    """Return the angle between the arms on the underside [rad]: entered, from a span, or the cup.

    Raises: UnreachableError where no angle between two such arms gives the span.
    """
    entered = train.find("rocker.arm_angle")
    if entered is not None:
        return entered
    if train.has("rocker.span"):
        return _angle_from_span(train)
    if train.has("rocker.cup"):
        return _angle_from_cup(train)
    return train.number("rocker.arm_angle")


def valve_length(train: Reader) -> Array:
    """Return face to stem tip along the stem [mm]: entered, or from the tip's height."""
    entered = train.find("valve.length")
    height = train.find("valve.tip_height")
    if entered is not None or height is None:
        return train.number("valve.length")
    return _length_from_tip(train, height)


def case_deck(cylinder: Reader) -> Array:
    """Return the case deck's height above the crank centre as it was when points were measured [mm].

    Entered, or from how far the crown stood below the cylinder's top face at top centre, on the
    stack and crank that were in place then.
    """
    for prefix in cylinder.prefixes:  # a cylinder's own reading goes before the engine's entry
        nearest = Reader(cylinder.mapping, (prefix,))
        entered = nearest.find("stack.case_deck")
        if entered is not None:
            return entered
        if nearest.has("stack.measured_deck.below"):
            return _deck_from_bridge(cylinder)
    return cylinder.number("stack.case_deck")


def head_face(cylinder: Reader) -> Array:
    """Return the height of the head's gasket face, from which head points are counted, above the crank centre [mm]."""
    return case_deck(cylinder) + stack_height(cylinder)


def stack_height(cylinder: Reader) -> Array:
    """Return what stands between the old case deck and the head's old gasket face [mm]."""
    return sum((signed(part) * cylinder.number(f"stack.{part}") for part in STACK), array(0.0))


def pocket_centre(train: Reader) -> Array:
    """Return where the pocket's axis meets the crown plane, (..., 2) [mm]."""
    if train.has("pocket.centre") or not train.has("pocket.deepest"):
        return _pair(train, "pocket.centre")
    return centre_from_deepest(
        _pair(train, "pocket.deepest"),
        train.lean("pocket.lean"),
        train.number("pocket.diameter"),
        train.number("pocket.depth"),
    )


def rod_length(train: Reader) -> Array:
    """Return the length read from the measured pushrod [mm]: entered, or a checking rod's turns."""
    entered = train.find("measured_pushrod.length")
    if entered is not None or not train.has("measured_pushrod.checking_rod.closed"):
        return train.number("measured_pushrod.length")
    return _turned_rod(train)


def pitch(holder: Reader, where: str) -> Array | None:
    """Return a thread's pitch [mm per turn]: entered, from threads per inch, or None."""
    entered = holder.find(f"{where}.pitch")
    threads = holder.find(f"{where}.threads_per_inch")
    return entered if entered is not None or threads is None else 25.4 / threads


def then(reader: Reader, reading: str, entry: str) -> Array | None:
    """Return an entry as it was when a reading was taken, or as it is where nothing else is said."""
    before = reader.find(f"{reading}.{entry}")
    return before if before is not None else reader.find(entry)


def disagreements(mapping: Flat) -> Iterator[DisagreementError]:
    """Yield every pair of entries that say one thing in two ways and contradict each other.

    Of a batch they are those of the engine that is furthest off. Pairs agree within 0.05 mm, 0.2° or 0.2 % of a ratio.
    """
    for name in names(mapping, "trains"):
        yield from disagreements_of(mapping, name)
    for name in names(mapping, "cylinders"):
        cylinder = Reader(mapping, (f"{name}.", ""))
        height = cylinder.find("stack.case_deck")
        if height is not None and cylinder.has("stack.measured_deck.below"):
            pair = ("stack.case_deck", "stack.measured_deck.below")
            implied = _deck_from_bridge(Reader(mapping, cylinder.prefixes))
            yield from _compare(cylinder, f"case deck of {name}", pair, height, implied, "mm")


def disagreements_of(mapping: Flat, train: str) -> Iterator[DisagreementError]:
    """Yield those of one valve gear."""
    reader = Reader(mapping, (f"{train}.",))
    for quantity, entry, other, entered, implied, unit in _train_pairs(reader):
        yield from _compare(reader, quantity, (entry, other), entered, implied, unit)


Pair = tuple[str, str, str, Array | None, Array | None, str]


def _train_pairs(train: Reader) -> Iterator[Pair]:
    """Yield quantity, entry, other entry, what the first says, what the other implies, its unit."""
    long, short = train.find("rocker.valve_arm"), _given_pushrod_arm(train)
    other = "rocker.valve_arm" if train.has("rocker.pushrod_arm") else "rocker.cup"
    if long is not None and short is not None:
        yield "rocker ratio", "rocker.ratio", other, train.find("rocker.ratio"), long / short, ""
    if train.has("rocker.cup"):
        arm, station = _cup(train)
        entered = train.find("rocker.pushrod_arm")
        yield "pushrod arm", "rocker.pushrod_arm", "rocker.cup", entered, arm, "mm"
        entered = train.find("rocker.pushrod_station")
        yield "pushrod arm's station", "rocker.pushrod_station", "rocker.cup", entered, station, "mm"
        entered = train.find("rocker.arm_angle")
        yield "arm angle", "rocker.arm_angle", "rocker.cup", entered, _angle_from_cup(train), "deg"
    angle = train.find("rocker.arm_angle")
    other = "rocker.cup" if angle is None else "rocker.arm_angle"
    if angle is None and train.has("rocker.cup"):
        angle = _angle_from_cup(train)
    if train.has("rocker.span") and angle is not None:
        implied = _span_at(train, angle)
        yield "rocker span", "rocker.span", other, train.find("rocker.span"), implied, "mm"
    height = train.find("valve.tip_height")
    if height is not None:
        entered = train.find("valve.length")
        implied = _length_from_tip(train, height)
        yield "valve length", "valve.length", "valve.tip_height", entered, implied, "mm"
    if train.has("measured_pushrod.checking_rod"):
        entered = train.find("measured_pushrod.length")
        other = "measured_pushrod.checking_rod.closed"
        yield "measured pushrod", "measured_pushrod.length", other, entered, _turned_rod(train), "mm"
    for where in ("rocker.adjuster", "measured_pushrod.checking_rod"):
        threads = train.find(f"{where}.threads_per_inch")
        entered = train.find(f"{where}.pitch")
        if threads is not None:
            yield "pitch", f"{where}.pitch", f"{where}.threads_per_inch", entered, 25.4 / threads, "mm a turn"
    yield from _pocket_pairs(train)


def _pocket_pairs(train: Reader) -> Iterator[Pair]:
    if not (train.has("pocket.centre") and train.has("pocket.deepest")):
        return
    shift = deepest_from_centre(
        _pair(train, "pocket.centre"),
        train.lean("pocket.lean"),
        train.number("pocket.diameter"),
        train.number("pocket.depth"),
    )
    for index, axis in enumerate("xy"):
        entered = train.find(f"pocket.deepest.{axis}")
        yield (
            f"deepest point of the pocket, {axis}",
            f"pocket.deepest.{axis}",
            f"pocket.centre.{axis}",
            entered,
            shift[..., index],
            "mm",
        )


def _compare(
    reader: Reader,
    quantity: str,
    pair: tuple[str, str],
    entered: Array | None,
    implied: Array | None,
    unit: str,
) -> Iterator[DisagreementError]:
    """Yield one error where two numbers differ by more than their slack, of a batch where by most; NaN compares as agreeing."""
    if entered is None or implied is None:
        return
    each, other = (one.reshape(-1) for one in np.broadcast_arrays(entered, implied))
    slack = {"mm": LENGTH_SLACK_MM, "deg": np.radians(ANGLE_SLACK_DEG)}.get(unit, RATIO_SLACK * np.abs(each))
    beyond = np.nan_to_num(np.abs(each - other) - slack, nan=-1.0)
    if beyond.size and beyond.max() > 0:
        first, second = (float(one[beyond.argmax()]) for one in (each, other))
        shown: Callable[[float], str] = {
            "mm": lambda number: f"{number:.3f} mm ({number / 25.4:.4f} in)",
            "mm a turn": lambda number: f"{number:.4f} mm a turn ({25.4 / number:.2f} threads per inch)",
            "deg": lambda number: f"{np.degrees(number):.2f} deg",
            "": lambda number: f"{number:.4f}",
        }[unit]
        paths = (reader.path(pair[0]), reader.path(pair[1]))
        yield DisagreementError(quantity, paths, (shown(first), shown(second)))


def _given_pushrod_arm(train: Reader) -> Array | None:
    arm = train.find("rocker.pushrod_arm")
    return arm if arm is not None or not train.has("rocker.cup") else _cup(train)[0]


def _cup(train: Reader) -> tuple[Array, Array]:
    """Return the cup's distance from the shaft's axis and its station along it."""
    offset = train.point("rocker.cup") - train.point("rocker.shaft")
    axis = train.direction("rocker.direction")
    station = np.vecdot(offset, axis)
    return norm(offset - station[..., None] * axis), station


def _angle_from_cup(train: Reader) -> Array:
    """Return the arm angle at which the closed valve puts the cup where it was measured.

    All of it in the head's own frame and with the valve as it was, not sunk: the cup was measured so.
    """
    stem = train.lean("valve.lean")
    axis = train.direction("rocker.direction")
    shaft = train.point("rocker.shaft")
    nothing = array(0.0)
    pose = closed(
        Drawn(
            seat=shaft,
            lift_axis=stem,
            shaft=shaft,
            axis=axis,
            valve_arm=valve_arm(train),
            pushrod_arm=nothing,
            arm_angle=nothing,
            valve_station=train.number("rocker.valve_station"),
            pushrod_station=nothing,
            tip_radius=train.number("rocker.tip_radius"),
            tip=train.point("valve.face") + valve_length(train)[..., None] * stem,
            stem=stem,
        )
    )
    offset = train.point("rocker.cup") - shaft
    along = np.vecdot(offset, pose.valve_dir)
    below = np.vecdot(offset, pose.valve_moves)
    angle: Array = np.mod(np.arctan2(below, along), 2 * np.pi)
    return angle


def _angle_from_span(train: Reader) -> Array:
    """Return the arm angle, written with the half angle so that a straight rocker keeps its digits.

    A span that its arms miss by no more than two readings may differ is taken as straight, or folded.

    Raises:
        UnreachableError: where they miss it by more; in a batch the element becomes NaN.
    """
    span, long, short = train.number("rocker.span"), valve_arm(train), pushrod_arm(train)
    straight, folded = long + short, np.abs(long - short)
    excess = np.maximum(span - straight, folded - span)
    if np.ndim(excess) == 0 and excess > LENGTH_SLACK_MM:
        sentence = (
            f"rocker span {float(span):.3f} mm cannot lie between arms of {float(long):.3f} and "
            f"{float(short):.3f} mm: it misses by {float(excess):.3f} mm; measure the span square to the shaft"
        )
        raise UnreachableError(sentence, -float(excess))
    span = np.where(excess > LENGTH_SLACK_MM, np.nan, np.clip(span, folded, straight))
    droop = 2 * np.arctan2(
        np.sqrt((span - folded) * (span + folded)), np.sqrt((straight - span) * (straight + span))
    )
    return 2 * np.pi - droop if train.word("rocker.arms") == "rise" else droop


def _span_at(train: Reader, angle: Array) -> Array:
    """Return the span between two arms at an angle [mm]."""
    long, short = valve_arm(train), pushrod_arm(train)
    span: Array = np.sqrt((long - short) ** 2 + 4 * long * short * np.sin(angle / 2) ** 2)
    return span


def _length_from_tip(train: Reader, height: Array) -> Array:
    return (height - train.point("valve.face")[..., 2]) / train.lean("valve.lean")[..., 2]


def _deck_from_bridge(cylinder: Reader) -> Array:
    def was(entry: str) -> Array:
        value = then(cylinder, "stack.measured_deck", entry)
        return cylinder.number(entry) if value is None else value

    moving = Crank(
        throw=was("crank.stroke") / 2,
        conrod_length=was("crank.conrod_length"),
        compression_height=was("piston.compression_height"),
        pin_offset=was("piston.pin_offset"),
    )
    below = cylinder.number("stack.measured_deck.below")
    owner = cylinder.prefixes[0].rstrip(".")
    for one in not_said(
        cylinder.mapping, owner, "stack.measured_deck", (*PART_ENTRIES[:2], *UNDER_CROWN[:3]), UNDER_CROWN[3:]
    ):
        cylinder.lack(one)
    return moving.top + below + was("stack.case_cut") - was("stack.base_gasket") - was("stack.cylinder")


def _turned_rod(train: Reader) -> Array:
    turned = pitch(train, "measured_pushrod.checking_rod")
    if turned is None:
        turned = train.number("measured_pushrod.checking_rod.pitch")
    closed_length = train.number("measured_pushrod.checking_rod.closed")
    return closed_length + train.number("measured_pushrod.checking_rod.turns") * turned


def _pair(train: Reader, path: str) -> Array:
    across, along = train.number(f"{path}.x"), train.number(f"{path}.y")
    return np.stack(np.broadcast_arrays(across, along), axis=-1)
