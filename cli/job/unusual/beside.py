"""What looks usual by itself and does not beside its like: a digit, a dial that lost a turn, two ports exchanged.

What differs more than these limits is asked about and changes no verdict, but where it cannot be; the limits are common
practice, from memory.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import NamedTuple

from tallstack.geometry.core.mapping import Flat, Reader, names
from tallstack.geometry.engine.alternatives import rod_length
from tallstack.geometry.engine.since_read import since_read
from tallstack.geometry.piston.touch_entries import TABLE as TOUCH

from ..checks.words import in_both_units
from ..look_again import LookAgain

TURNS = "measured_pushrod.checking_rod.turns"
POUND_N = 4.4482216152605
ROD_MM, DROP_MM = 1.0, 1.5  # by which two of one port differ
MANY, AMONG_MANY = 4, 0.5  # of alike readings so many; of those limits where so many tell what is usual
CANNOT_MM = 3.0  # by which rods of alike gears differ in no engine
EXCHANGED_MM = 0.8  # by which two cylinders differ together where their ports may be exchanged
PEAK_MM = 2.0  # by which the lobes of intake and exhaust differ
LOBE_MM = 11.0  # more than this is rather a valve's lift than a lobe's
HOW_MM = 0.3  # nearer than this two ways to read a rod do not come
STEMS_DEG = 10.0
ROD_TO_STROKE = (1.3, 2.1)
TWIN, LEANS = 2, math.radians(10.0)
SEAT_N = (130.0, 1500.0)  # a valve's spring on its seat


class Read(NamedTuple):
    """One reading at one valve gear."""

    cylinder: str
    port: str
    value: float  # mm
    how: tuple[str, ...]  # what has to be the same for two to be compared
    entry: str  # its own, in which it was read


def of_beside(mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every reading that is unlike those of the same kind beside it."""
    for table, entry, most, how in (
        ("measured_pushrod", "length", ROD_MM, ("as", "plunger")),
        ("measured_drop", "drop", DROP_MM, ("meets",)),
    ):
        read = list(_read(mapping, table, entry, how))
        alike = list(_rods(mapping, read)) if table == "measured_pushrod" else read
        yield from list(_exchanged(alike)) or _unlike(alike, most)
        if table == "measured_pushrod":
            yield from _how(read)
    yield from _of_peaks(mapping)
    yield from _of_stems(mapping)
    yield from _of_springs(mapping)
    yield from _of_crank(mapping)


def _read(mapping: Flat, table: str, entry: str, how: tuple[str, ...]) -> Iterator[Read]:
    for name in names(mapping, "trains"):
        train, own = Reader(mapping, (f"{name}.",)), f"{table}.{entry}"
        value, since = train.find(own), since_read(mapping, name, table)
        if value is None and TURNS.startswith(table) and train.has(TURNS):
            own, value = TURNS, rod_length(train)
        if value is None or since is None or train.missing:
            continue
        cylinder, _, port = name.partition(".")
        now = float(value) + (since.growth if table == "measured_pushrod" else 0.0)  # on the stack as it is
        stack = [] if table == "measured_pushrod" else [f"{since.higher:.3f}"]
        said = (str(mapping.get(f"{name}.{table}.{one}", "")) for one in how)
        yield Read(cylinder, port, now, (*said, *stack), f"{name}.{own}")


def _rods(mapping: Flat, read: list[Read]) -> Iterator[Read]:
    """Yield the rods that were read as they would just touch on the stack as it is, every plunger at its top stop.

    However each was read: two that were read in different ways are of one kind all the same.
    """
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.engine.engine import train_of
    from tallstack.geometry.gear.bench import carry

    for one in read:
        try:
            measured = train_of(mapping, f"{one.cylinder}.{one.port}").measured
        except GeometryError:  # told as a fault
            continue
        if measured is None:  # something of it is open: as it was read
            yield one
            continue
        there = carry(measured)
        how = "centres" if there.between_centres else measured.convention
        yield one._replace(value=float(there.zero_lash), how=(how,))


def _unlike(read: list[Read], most: float) -> Iterator[str]:
    """Yield each that stands apart from all others of its port; of two, that they differ."""
    for port in dict.fromkeys(one.port for one in read):
        of_port = [one for one in read if one.port == port]
        for how in dict.fromkeys(one.how for one in of_port):
            alike = [one for one in of_port if one.how == how]
            limit = most * (AMONG_MANY if len(alike) >= MANY else 1.0)
            for one in alike:
                apart = {abs(one.value - other.value): other for other in alike if other is not one}
                if not apart or min(apart) <= limit:
                    continue
                nearest = apart[min(apart)]
                comes = (
                    "comes, at zero lash on the stack as it is, to"
                    if ".measured_pushrod." in one.entry
                    else "is"
                )
                told = (
                    f"{one.entry} {comes} {in_both_units(one.value)} and {nearest.cylinder}.{port}'s "
                    f"{in_both_units(nearest.value)}: is one of them a digit, a turn of the dial, or read on another stack?"
                )
                both = (f"{one.cylinder}.{port}", f"{nearest.cylinder}.{port}")
                about = both if len(alike) == 2 else both[:1]
                yield LookAgain(told, *about) if min(apart) > CANNOT_MM else told
                if len(alike) == 2:
                    break


def _exchanged(read: list[Read]) -> Iterator[str]:
    """Yield that two ports of a cylinder would be like another's if they were exchanged."""
    known = {(one.cylinder, one.port): one for one in read}
    cylinders = list(dict.fromkeys(one.cylinder for one in read))
    for one, other in itertools.combinations(cylinders, 2):
        four = [known.get((name, port)) for name in (one, other) for port in ("intake", "exhaust")]
        here = [each for each in four if each is not None]
        if len(here) < len(four) or len({each.how for each in here}) > 1:
            continue
        a, b, c, d = (each.value for each in here)
        apart, crossed = abs(a - c) + abs(b - d), abs(a - d) + abs(b - c)
        if apart > EXCHANGED_MM and crossed < apart / 3:
            yield (
                f"{here[0].entry} is nearer to {other}'s exhaust and {here[1].entry} to its intake: are the two "
                f"of {one}, or of {other}, exchanged?"
            )


def _how(read: list[Read]) -> Iterator[str]:
    """Yield that rods of one port were read in two ways and came out alike, which they cannot."""
    for one, other in itertools.combinations(read, 2):
        ways = one.how[:2], other.how[:2]
        if one.port != other.port or ways[0] == ways[1] or one.how[2:] != other.how[2:]:
            continue
        if abs(one.value - other.value) < HOW_MM:
            said = [", plunger ".join(filter(None, way)) for way in ways]
            yield (
                f"{one.cylinder}.{one.port}.measured_pushrod was read {said[0]} and {other.cylinder}'s {said[1]}, and they "
                f"differ by {in_both_units(abs(one.value - other.value))} alone: was one of them read as the other?"
            )
            return


def _of_peaks(mapping: Flat) -> Iterator[str]:
    """Yield that intake and exhaust lobe lift unlike, or that a lobe lifts as a valve does."""
    peaks = {port: Reader(mapping, ("",)).find(f"lobe.{port}.card.peak") for port in ("intake", "exhaust")}
    intake, exhaust = peaks["intake"], peaks["exhaust"]
    same = mapping.get("lobe.intake.measured_at", "lifter") == mapping.get(
        "lobe.exhaust.measured_at", "lifter"
    )
    if intake is not None and exhaust is not None and same and abs(float(intake) - float(exhaust)) > PEAK_MM:
        yield (
            f"lobe.intake.card.peak {in_both_units(float(intake))} and lobe.exhaust.card.peak {in_both_units(float(exhaust))} "
            f"differ by {in_both_units(abs(float(intake) - float(exhaust)))}: did the dial lose a turn, or is one of them at the "
            "valve?"
        )
    for port, peak in peaks.items():
        if (
            peak is not None
            and float(peak) > LOBE_MM
            and mapping.get(f"lobe.{port}.measured_at", "lifter") == "lifter"
        ):
            yield (
                f"lobe.{port}.card.peak {in_both_units(float(peak))} is more than lobes lift: is it the valve's lift? Then "
                'measured_at = "valve"'
            )


def _of_stems(mapping: Flat) -> Iterator[str]:
    """Yield that the angle between two stems is none that their leans to the cylinder can make."""
    for name in names(mapping, "cylinders"):
        between = Reader(mapping, (f"{name}.",)).find(f"{TOUCH}.between_stems")
        leans = [mapping.get(f"{name}.{port}.measured_drop.lean") for port in ("intake", "exhaust")]
        if between is None or not all(isinstance(one, float) for one in leans):
            continue
        one, other = (abs(math.degrees(float(lean))) for lean in leans)  # type: ignore[arg-type]
        angle = math.degrees(float(between))
        told = (
            f"{name}.{TOUCH}.between_stems is {angle:.3g} degrees, and the stems lean {one:.3g} and {other:.3g} degrees to "
            f"the cylinder, {one + other:.3g} between them where they lean apart: look at all three"
        )
        if not abs(one - other) - STEMS_DEG <= angle <= one + other + STEMS_DEG:
            yield LookAgain(told, f"{name}.{TOUCH}")
        elif abs(angle - (one + other)) > STEMS_DEG and abs(angle - abs(one - other)) > STEMS_DEG:
            yield told


def _of_crank(mapping: Flat) -> Iterator[str]:
    """Yield that a connecting rod is unusually long or short for its stroke, or that two cylinders lean the same way."""
    reader = Reader(mapping, ("",))
    stroke, rod = reader.find("crank.stroke"), reader.find("crank.conrod_length")
    if stroke is not None and rod is not None and not ROD_TO_STROKE[0] <= rod / stroke <= ROD_TO_STROKE[1]:
        yield (
            f"crank.conrod_length {in_both_units(float(rod))} is {rod / stroke:.2f} times crank.stroke {in_both_units(float(stroke))}; "
            f"most are {ROD_TO_STROKE[0]:g} to {ROD_TO_STROKE[1]:g} times: is it from centre to centre, and that no throw?"
        )
    leans = [reader.find(f"{name}.lean") for name in names(mapping, "cylinders")]
    known = [float(one) for one in leans if one is not None]
    ways = {one % (2 * math.pi) for one in known}  # 180 and -180 degrees are one
    if len(leans) == len(known) == TWIN and len(ways) == 1 and abs(known[0]) > LEANS:
        yield (
            f"both cylinders lean {math.degrees(known[0]):g} degrees the same way: forward is positive; does one of them lean "
            "back?"
        )


def _of_springs(mapping: Flat) -> Iterator[str]:
    """Yield that a single spring presses its valve on the seat as no valve's spring does."""
    for name in names(mapping, "trains"):
        reader = Reader(mapping, (f"{name}.spring.",))
        rate, free, installed = (reader.find(one) for one in ("rate", "free_length", "installed"))
        if rate is None or free is None or installed is None:
            continue
        force = float(rate) * (float(free) - float(installed))
        if not SEAT_N[0] <= force <= SEAT_N[1]:
            yield (
                f"{name}.spring presses with {force:.0f} N ({force / POUND_N:.0f} lbf) on the closed valve; most press with "
                f"{SEAT_N[0]:.0f} to {SEAT_N[1]:.0f} N: look at rate, free length and installed height"
            )
