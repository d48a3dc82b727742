"""What is possible but unlikely about valves, pockets, crown, lobes and a measured drop; never a fault."""

from __future__ import annotations

import math
from collections.abc import Iterator

from tallstack.geometry.core.mapping import Flat, Reader, names

from ..checks.clearance import LEAST_POCKET, number, row
from ..checks.lobe import middle_of_events, ports_of
from ..checks.words import in_both_units, in_mm
from ..contents import Entries
from ..entries.catalogue import usual_at
from ..entries.fields import INCH, Quantity, did_you_mean
from ..look_again import LookAgain

PORTS = ("intake", "exhaust")
CROWN = ("dome.", "dish.", "crown_table")
BEYOND_MM = 1.0  # of a closed head past the bore's wall
PROUD_MM = 2.0  # of a closed valve's face past the head's gasket face
PLAY_MM = 1.0  # of a piston in its bore
SMALL_DROP_MM = 0.8
MOST_DROP_MM = 13.0  # half an inch: few drops are more, and what reads as one was not typed in inches
ALIKE_DEG = 3.0  # two leans that are the same as measured
RATIO_APART = 0.1  # of a ratio: a rocker's is a tenth another one at half lift and at full, at most
LEAST_SEAT_DEG, LEAST_OPEN_DEG = 190.0, 170.0  # of crank, seat to seat and above a check lift
MOST_LAW_DEG = 360.0
LOW_LIFT_MM = 1.3  # check lifts up to here tell how long a valve is open


def of_clearances(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every pair of entries that makes a rare engine, or a slip."""
    there = written(entries)
    for cylinder in names(mapping, "cylinders"):
        yield from _of_cylinder(there, mapping, cylinder)
    for train in names(mapping, "trains"):
        gear = Reader(mapping, (f"{train}.",))
        under = Reader(mapping, (f"{train.rpartition('.')[0]}.", ""))
        if own(there, f"{train}.valve"):
            yield from _of_valve(train, gear, under)
        if own(there, f"{train}.pocket", f"{train}.valve"):
            yield from _of_pocket(train, gear)
        yield from _of_drop(entries, train, gear)
    yield from _of_copies(there, mapping)
    yield from _of_lobes(entries, mapping)


def _of_copies(written_there: frozenset[str], mapping: Flat) -> Iterator[str]:
    """Yield copies that have their valve where another of the same cylinder has its own."""
    there: dict[tuple[str, tuple[float, ...]], str] = {}
    for train in names(mapping, "trains"):
        face = row(Reader(mapping, (f"{train}.",)), "valve.face", "xyz")
        if face is None:
            continue
        first = there.setdefault((train.rpartition(".")[0], face), train)
        if first != train and not own(written_there, f"{train}.valve.face"):
            yield LookAgain(
                f"{train} is a copy and has its valve in the very place of {first}'s: give it a valve.face of its own, "
                "or mirror = true",
                f"{train}.valve",
            )


def written(entries: Entries) -> frozenset[str]:
    """Return every entry that was written or tried, rather than copied, and every table above one."""
    found: set[str] = set()
    for path, entry in entries.items():
        above = "" if entry.is_taken or entry.origin.startswith("like") else path
        while above and above not in found:
            found.add(above)
            above = above.rpartition(".")[0]
    return frozenset(found)


def own(there: frozenset[str], *tables: str) -> bool:
    """Say whether any entry of these tables was written or tried; there : as `written` returns it."""
    return not there.isdisjoint(tables)


def _of_cylinder(there: frozenset[str], mapping: Flat, cylinder: str) -> Iterator[str]:
    reader = Reader(mapping, (f"{cylinder}.", ""))
    bore, piston = number(reader, "stack.bore"), number(reader, "piston.diameter")
    first = cylinder == names(mapping, "cylinders")[0]
    if not first and not own(there, f"{cylinder}.stack", f"{cylinder}.piston"):
        return
    if bore is not None and piston is not None and bore - piston > PLAY_MM:
        yield LookAgain(
            f"{reader.path('piston.diameter')} {in_both_units(piston)} leaves a play of {in_both_units(bore - piston)} "
            f"in the bore of {in_both_units(bore)}: look at both",
            reader.path("piston.diameter"),
            reader.path("stack.bore"),
        )
    depth, metal = number(reader, "piston.dish.depth"), number(reader, "piston.crown_thickness")
    if depth is not None and metal is not None and depth >= metal:
        yield LookAgain(
            f"{reader.path('piston.dish.depth')} {in_both_units(depth)} is deeper than the crown is thick, "
            f"{in_both_units(metal)}: does its underside follow the dish?",
            reader.path("piston.dish"),
            reader.path("piston.crown_thickness"),
        )
    heads = [number(reader, f"{port}.valve.head_diameter") for port in PORTS]
    placed = all(row(reader, f"{port}.valve.face", "xyz") for port in PORTS)
    if bore is not None and not placed and heads[0] is not None and heads[1] is not None:
        if heads[0] + heads[1] > bore:
            yield LookAgain(
                f"{cylinder}'s valve heads, {in_both_units(heads[0])} and {in_both_units(heads[1])}, are together wider "
                f"than its bore of {in_both_units(bore)}: look at the units of all three",
                f"{cylinder}.intake.valve",
                f"{cylinder}.exhaust.valve",
                reader.path("stack.bore"),
            )


def _of_valve(train: str, gear: Reader, under: Reader) -> Iterator[str]:
    face, lean = row(gear, "valve.face", "xyz"), row(gear, "valve.lean", "xy")
    head, bore = number(gear, "valve.head_diameter"), number(under, "stack.bore")
    if face is None:
        return
    if face[2] < -PROUD_MM:
        yield LookAgain(
            f"{train}.valve.face lies {in_both_units(-face[2])} below the head's gasket face with the valve closed: "
            "is the sign right?",
            f"{train}.valve.face",
        )
    out = math.hypot(*face[:2])
    if lean is None or head is None or bore is None or not 0 < out < bore / 2:
        return
    stem = _direction(lean)
    aside = (stem[0] * face[0] + stem[1] * face[1]) / out
    beyond = out + head / 2 * math.sqrt(max(0.0, 1 - aside * aside)) - bore / 2
    if beyond > BEYOND_MM:
        yield LookAgain(
            f"{train}'s head reaches {in_both_units(beyond)} beyond the bore's wall with the valve closed: look at "
            "valve.face, valve.head_diameter and stack.bore",
            f"{train}.valve",
            under.path("stack.bore"),
        )


def _of_pocket(train: str, gear: Reader) -> Iterator[str]:
    across, head = number(gear, "pocket.diameter"), number(gear, "valve.head_diameter")
    if across is not None and head is not None and LEAST_POCKET * head <= across < head:
        yield LookAgain(
            f"{train}.pocket.diameter {in_both_units(across)} is less than the valve's head of {in_both_units(head)}, "
            "which does not go into it: look at both",
            f"{train}.pocket",
            f"{train}.valve.head_diameter",
        )
    cut, stem, face = (
        row(gear, "pocket.lean", "xy"),
        row(gear, "valve.lean", "xy"),
        row(gear, "valve.face", "xyz"),
    )
    if cut is not None and stem is not None:
        apart = _between(cut, stem)
        if apart > ALIKE_DEG:
            turned = (
                _between((-cut[0], cut[1]), stem) <= ALIKE_DEG
                or _between((-cut[0], -cut[1]), stem) <= ALIKE_DEG
            )
            question = "is the sign right?" if turned else "look at both"
            yield LookAgain(
                f"{train}'s pocket leans {apart:.1f} deg away from its valve's stem: {question}",
                f"{train}.pocket",
            )
    centre = row(gear, "pocket.centre", "xy")
    if centre is None or stem is None or face is None or head is None:
        return
    place = tuple(face[axis] - face[2] * math.tan(stem[axis]) for axis in (0, 1))
    away = math.dist(centre, place)
    if away > head / 2:
        yield LookAgain(
            f"{train}'s pocket lies {in_both_units(away)} from where its valve comes down, at "
            f"({place[0]:.1f}, {place[1]:.1f}) mm from the axis: look at the signs of pocket.centre",
            f"{train}.pocket",
        )


def _of_drop(entries: Entries, train: str, gear: Reader) -> Iterator[str]:
    read = entries.get(f"{train}.measured_drop.drop")
    if read is None or not isinstance(read.value, float):
        return
    drop = read.value
    if in_mm(read) and 0 < drop < SMALL_DROP_MM <= drop * INCH <= MOST_DROP_MM:
        yield LookAgain(
            f"{train}.measured_drop.drop = {read.typed} reads as {drop:g} mm ({drop / INCH:.4g} in); "
            f"{drop * INCH:.4g} mm would be usual: was it typed in inches?",
            f"{train}.measured_drop.drop",
        )
    lean, pair = number(gear, "measured_drop.lean"), row(gear, "valve.lean", "xy")
    if lean is not None and pair is not None:
        whole = math.degrees(math.acos(_direction(pair)[2]))
        if abs(math.degrees(lean) - whole) > ALIKE_DEG:
            yield LookAgain(
                f"{train}.measured_drop.lean {math.degrees(lean):.1f} deg is not the {whole:.1f} deg of its valve.lean, "
                "the two views taken together: look at both",
                f"{train}.measured_drop",
                f"{train}.valve.lean",
            )
    if gear.word("measured_drop.meets") == "crown" and gear.has("pocket.depth"):
        yield LookAgain(
            f"{train}.measured_drop meets the crown, but there is a pocket under its valve: which of them was it?",
            f"{train}.measured_drop",
            f"{train}.pocket",
        )
    yield from _of_cut(entries, train, gear)


def _of_cut(entries: Entries, train: str, gear: Reader) -> Iterator[str]:
    """Yield that another pocket or crown is tried under a valve known by a drop that was read over the old one."""
    stems = (f"{train}.pocket.", *(f"{one}piston.{shape}" for one in ("", _above(train)) for shape in CROWN))
    tried = [path for path in entries if path.startswith(stems) and _is_tried(entries, path)]
    head = row(gear, "valve.face", "xyz"), row(gear, "valve.lean", "xy"), number(gear, "valve.head_diameter")
    if not tried or _is_tried(entries, f"{train}.measured_drop.drop") or None not in head:
        return
    act = "does not act" if len(tried) == 1 else "do not act"
    yield LookAgain(
        f"{' and '.join(tried)} {act} on the drop that was read at {train}, the one thing its clearance is known by: "
        "after cutting, measure that drop again",
        train,
    )


def _is_tried(entries: Entries, path: str) -> bool:
    """Say whether an entry, or the one it was copied from, was given by --with."""
    found = [entries[path], entries.get(entries[path].follows)]
    return any(one is not None and one.origin.startswith("--") for one in found)


def _above(train: str) -> str:
    """Return what stands before the entries of a valve gear's cylinder."""
    return f"{train.rpartition('.')[0]}."


def _of_lobes(entries: Entries, mapping: Flat) -> Iterator[str]:
    lobes = list(dict.fromkeys(path.split(".")[1] for path in entries if path.startswith("lobe.")))
    trains = names(mapping, "trains")
    used = {mapping.get(f"{one}.lobe", one.rpartition(".")[2]) for one in trains}
    for name in lobes:
        if trains and name not in used and name not in PORTS:
            from ..reading.hints import other_word

            meant = other_word(name, PORTS) or did_you_mean(name, PORTS)
            named = f'; it is named after its port, or by lobe = "{name}" in a [[train]]'
            yield f"lobe.{name} moves no valve{meant or named}"
        ports = ports_of(name, mapping)
        yield from _of_degrees(entries, mapping, name)
        yield from _of_dialled(entries, mapping, name)
        if any(path.startswith(f"lobe.{name}.card.") for path in entries):
            from ..checks.card import card_sentences

            yield from card_sentences(entries, mapping, name)
        events = [_degrees(mapping, f"lobe.{name}.card.events.{part}") for part in ("opens", "closes")]
        middle = middle_of_events(events[0], events[1], ports)
        centreline = _degrees(mapping, f"lobe.{name}.centreline")
        if middle is None:
            continue
        least, most = usual_at(("lobe", name, "centreline"))
        if not least <= middle <= most:
            exchanged = least <= 180 - middle <= most
            question = "are opens and closes exchanged?" if exchanged else "look at both"
            yield LookAgain(
                f"lobe.{name}'s events are centred {middle:g} deg from overlap top centre; most lie between "
                f"{least:g} and {most:g}: {question}",
                f"lobe.{name}",
            )
        elif centreline is not None and abs(middle - centreline) > ALIKE_DEG:
            yield LookAgain(
                f"lobe.{name}.centreline {centreline:g} deg and its events, centred at {middle:g} deg, are not the "
                "same: the events are taken",
                f"lobe.{name}",
            )


def _of_degrees(entries: Entries, mapping: Flat, lobe: str) -> Iterator[str]:
    """Yield durations that look like degrees of the cam, or counted twice."""
    for path, entry in entries.items():
        if not path.startswith(f"lobe.{lobe}.") or not path.endswith(".degrees"):
            continue
        found = _degrees(mapping, path)
        if found is None or not isinstance(entry.kind, Quantity) or entry.kind.usual is None:
            continue
        law = path.endswith(".law.degrees")
        lift = mapping.get(f"{path.removesuffix('degrees')}at")
        least = LEAST_SEAT_DEG if law or path.endswith(".seat.degrees") else LEAST_OPEN_DEG
        low = law or (isinstance(lift, float) and lift <= LOW_LIFT_MM)
        if low and entry.kind.usual[0] <= found < least:  # below it, `unusual` asks the same
            yield LookAgain(
                f"{path} = {found:g} deg of the crank is short; {2 * found:g} would be usual: are these degrees of "
                "the cam?",
                f"lobe.{lobe}",
            )
        elif law and MOST_LAW_DEG < found <= entry.kind.usual[1]:
            yield LookAgain(
                f"{path} = {found:g} deg of the crank is long for a lobe: were the degrees counted twice?",
                path,
            )


def _of_dialled(entries: Entries, mapping: Flat, lobe: str) -> Iterator[str]:
    """Yield valve gears whose ratio is another one than lifter and valve were dialled with."""
    if not any(path.startswith(f"lobe.{lobe}.dialled") for path in entries):
        return
    from tallstack.geometry.engine.alternatives import ratio, ratio_dialled

    for train in names(mapping, "trains"):
        gear = Reader(mapping, (f"{train}.",))
        entered, found = ratio(gear), ratio_dialled(gear)
        if entered is None or found is None or gear.word("lobe", train.rpartition(".")[2]) != lobe:
            continue
        if abs(float(entered) / float(found) - 1) > RATIO_APART:
            yield LookAgain(
                f"{train}.rocker has a ratio of {float(entered):.4g}, and by lobe.{lobe}.dialled it is {float(found):.4g}: "
                "look at both",
                f"{train}.rocker",
                f"lobe.{lobe}",
            )


def _degrees(mapping: Flat, path: str) -> float | None:
    value = mapping.get(path)
    return math.degrees(value) if isinstance(value, float) else None


def _direction(lean: tuple[float, ...]) -> tuple[float, float, float]:
    """Return the unit direction of a lean pair."""
    across, along = (math.tan(one) for one in lean)
    size = math.sqrt(across * across + along * along + 1)
    return across / size, along / size, 1 / size


def _between(lean: tuple[float, ...], other: tuple[float, ...]) -> float:
    """Return the angle between two lean pairs [deg]."""
    cosine = sum(one * two for one, two in zip(_direction(lean), _direction(other), strict=True))
    return math.degrees(math.acos(min(1.0, cosine)))
