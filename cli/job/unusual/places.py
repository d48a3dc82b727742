"""What stands where it hardly can: a crown in its cylinder, a pocket in the bore, a rocker on its stem; never a fault.

Each is worked out by `geometry` as it would be for an answer, and only where everything it needs is entered.

A lean that was read is a check of its own, told when the job is read: it moves no length by much, and so no reading
laid beside the entries would ever show that the two contradict each other.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
from tallstack.geometry.core.frames import Array
from tallstack.geometry.core.mapping import Flat, Reader, names
from tallstack.geometry.doubt.budget import FACTOR, Doubt

from ..checks.words import in_both_units
from ..contents import Entries, is_nothing
from ..entries.catalogue import usual_at
from ..look_again import FAR_MM, LookAgain
from .clearances import own, written

FEW_BELOW_MM, MOST_BELOW_MM = (
    5.0,
    15.0,
)  # of a crown below its cylinder's top, at top centre: unusual; hardly so
VOLUME_MM3, VOLUME_SHARE = (
    1000.0,
    0.05,
)  # by which a crown's volume may be off the one of its shape, where nobody said
PAST_MM = 1.0  # of a pocket's rim beyond the bore's wall
FAR_RAD = float(np.radians(2.0))  # from memory: a lean that is held by a protractor, its +/- not entered
SHOWS_RAD = 5e-6  # less moves no lean that anybody reads
ALONG = np.linspace(0.0, 1.0, 401)  # of a pushrod, from its lower end
TURNS = np.linspace(0.0, 2 * np.pi, 2881)
OF_CROWN = "crank.stroke, crank.conrod_length, piston.compression_height and the entries of [stack]"


def of_places(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for everything that stands where it hardly can."""
    there = written(entries)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):  # entries at fault are looked at too
        for cylinder in names(mapping, "cylinders"):
            yield from _of_crown(there, mapping, cylinder)
            yield from _of_volume(entries, mapping, cylinder)
        for train in names(mapping, "trains"):
            if own(there, f"{train}.pocket"):
                yield from _of_rim(mapping, train)
            if own(there, f"{train}.rocker", f"{train}.valve", f"{train}.lifter"):
                yield from _of_rocker(mapping, train)
            if own(there, f"{train}.measured_pushrod"):
                yield from _of_lean(entries, mapping, train)


def of_assembly(mapping: Flat) -> Iterator[str]:
    """Yield that a valve gear cannot be put together as its coordinates say, whatever else was measured of it."""
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.engine.engine import train_of
    from tallstack.geometry.pushrod.assembly import obstacles

    for name in names(mapping, "trains"):
        try:
            found = obstacles(train_of(mapping, name))
        except GeometryError:  # told as a fault
            continue
        if found:
            yield LookAgain(f"{name.replace('.', ' ')}: {'; '.join(found)}", name)


def of_neighbours(mapping: Flat) -> Iterator[str]:
    """Yield that two pushrods of one cylinder stand in one another, at rest, each by its own coordinates."""
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.engine.engine import train_of
    from tallstack.geometry.gear.train import closed

    rods: list[tuple[str, Array, Array, float]] = []
    for name in names(mapping, "trains"):
        try:
            drawn = train_of(mapping, name).drawn
        except GeometryError:  # told as a fault
            continue
        if drawn is not None:
            cup, own_rod = closed(drawn).cup, Reader(mapping, (f"{name}.pushrod.",))
            sizes = [own_rod.find(one) for one in ("diameter", "ball_diameter_low", "ball_diameter_high")]
            known = [float(one) for one in sizes if one is not None]
            thick = known[0] if known else usual_at(("train", 0, "pushrod", "diameter"))[0]
            rods.append((name, drawn.seat, cup - drawn.seat, thick))
    for (one, low, up, first), (other, beside, along, second) in itertools.combinations(rods, 2):
        if one.rpartition(".")[0] != other.rpartition(".")[0]:
            continue
        spots = low + ALONG[:, None] * up
        share = np.clip((spots - beside) @ along / (along @ along), 0.0, 1.0)
        apart = float(np.linalg.norm(spots - beside - share[:, None] * along, axis=1).min())
        if apart < (first + second) / 2:
            yield LookAgain(
                f"by their coordinates the pushrods of {one} and {other} stand {in_both_units(apart)} apart, axis to axis, "
                f"where they need {in_both_units((first + second) / 2)}: they would foul one another; "
                "look at lifter.seat, rocker.shaft and the stations of both",
                one,
                other,
            )


def _of_crown(there: frozenset[str], mapping: Flat, cylinder: str) -> Iterator[str]:
    """Yield that a crown comes out of its cylinder too far for its gasket, or stays far down in it."""
    has_own = own(there, f"{cylinder}.stack", f"{cylinder}.piston")
    if cylinder != names(mapping, "cylinders")[0] and not has_own:
        return
    under = Reader(mapping, (f"{cylinder}.", ""))
    if any(
        under.find(entry) is None for entry in ("stack.cylinder", "crank.stroke", "piston.compression_height")
    ):
        return
    from tallstack.geometry.core.answer import Missing
    from tallstack.geometry.fits.volume import squish

    found = squish(mapping, cylinder)
    if isinstance(found, Missing):
        return
    below, left = float(found["deck"].value), float(found["squish"].value)
    who = f"{cylinder}'s crown" if has_own else "the crown"
    alike = [one for one in names(mapping, "cylinders") if not own(there, f"{one}.stack", f"{one}.piston")]
    about = [cylinder] if has_own else alike
    if left < 0:
        yield LookAgain(
            f"at top centre {who} stands {in_both_units(-below)} out of its cylinder, further than the head gasket's "
            f"{in_both_units(left - below)}: it would meet a flat head; look at {OF_CROWN}",
            *about,
            under.path("piston.compression_height"),
        )
    elif below > MOST_BELOW_MM:
        yield LookAgain(
            f"at top centre {who} stands {in_both_units(below)} below its cylinder's top; most stand within a "
            f"millimetre or two of it: look at {OF_CROWN}",
            *about,
            under.path("piston.compression_height"),
        )
    elif below > FEW_BELOW_MM:
        yield (
            f"at top centre {who} stands {in_both_units(below)} below its cylinder's top; most stand within a "
            f"millimetre or two of it: look at {OF_CROWN}"
        )


def _of_volume(entries: Entries, mapping: Flat, cylinder: str) -> Iterator[str]:
    """Yield that a crown's volume, as it was measured, is none that its dome, dish and pockets can have."""
    own_entry = f"{cylinder}.piston.crown_volume"
    path = own_entry if own_entry in entries else "piston.crown_volume"
    if path not in entries or (path != own_entry and cylinder != names(mapping, "cylinders")[0]):
        return
    from tallstack.geometry.fits.volume import CC, volume_by_shape

    ends = volume_by_shape(mapping, cylinder)
    if ends is None:
        return
    told, (low, high) = float(entries[path].value), ends
    half = entries[path].doubt
    slack = (
        VOLUME_MM3
        + VOLUME_SHARE * max(abs(low), abs(high) if high < np.inf else 0.0)
        + (0.0 if half is None else 2 * half.half_width)
    )
    if low - slack <= told <= high + slack:
        return
    between = f"{low / CC:.1f} to {high / CC:.1f} cc" if high < np.inf else f"at least {low / CC:.1f} cc"
    between = f"{low / CC:.1f} cc" if high - low < VOLUME_MM3 / 10 else between
    yield LookAgain(
        f"{path} is {told / CC:.1f} cc, and the dome, dish and pockets that are entered make a volume of {between}: which of them is right?",
        path,
    )


def _of_rim(mapping: Flat, train: str) -> Iterator[str]:
    """Yield that a pocket's rim, an ellipse on the crown where the cutter leans, runs past the bore's wall."""
    gear = Reader(mapping, (f"{train}.",))
    bore = Reader(mapping, (f"{train.rpartition('.')[0]}.", "")).find("stack.bore")
    where = "centre" if gear.has("pocket.centre.x") else "deepest"
    needs = ("diameter", "depth", "lean.x", "lean.y", f"{where}.x", f"{where}.y")
    if bore is None or any(gear.find(f"pocket.{one}") is None for one in needs):
        return
    from tallstack.geometry.engine.alternatives import pocket_centre
    from tallstack.geometry.piston.crown import Crown, pocket
    from tallstack.geometry.piston.edges import edges

    across, depth = gear.number("pocket.diameter"), gear.number("pocket.depth")
    crown = Crown((pocket(pocket_centre(gear), gear.lean("pocket.lean"), across, depth),), None)
    seen = np.concatenate([edge(crown, TURNS) for edge in edges(crown)])
    past = float(
        np.max(np.hypot(seen[:, 0], seen[:, 1]), initial=0.0, where=np.isfinite(seen[:, 0])) - bore / 2
    )
    if past > PAST_MM:
        yield LookAgain(
            f"{train}'s pocket runs {in_both_units(past)} past the bore's wall: look at pocket.{where}, pocket.lean and "
            "pocket.diameter",
            f"{train}.pocket",
        )


def _of_rocker(mapping: Flat, train: str) -> Iterator[str]:
    """Yield that a rocker stands beside its stem's tip while the valve is closed, or that its pushrod leans far over."""
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.engine.engine import train_of
    from tallstack.geometry.gear.train import closed

    try:
        drawn = train_of(mapping, train).drawn
    except GeometryError:  # told as a fault
        return
    if drawn is None:
        return
    pose = closed(drawn)
    stem = Reader(mapping, (f"{train}.",)).find("valve.stem_diameter")
    radius = (usual_at(("train", 0, "valve", "stem_diameter"))[1] if stem is None else float(stem)) / 2
    than = (
        f"and no stem's radius is more than {in_both_units(radius)}"
        if stem is None
        else f"and the stem's radius is {in_both_units(radius)}"
    )
    off, along = float(pose.across), float(pose.along)
    if abs(off) > radius:
        way = "away from" if off > 0 else "towards"
        yield LookAgain(
            f"with the valve closed {train}'s rocker bears {in_both_units(abs(off))} off the centre of the stem's tip, "
            f"{way} the shaft, {than}: it misses the tip; look at rocker.shaft, rocker.valve_arm and where the valve "
            "stands",
            f"{train}.rocker",
            f"{train}.valve",
        )
    if abs(along) > radius:
        yield LookAgain(
            f"with the valve closed {train}'s rocker bears {in_both_units(abs(along))} beside the stem's tip, along the "
            f"shaft, {than}: it misses the tip; look at rocker.valve_station, rocker.pushrod_station and the way "
            "rocker.direction points",
            f"{train}.rocker",
            f"{train}.valve",
        )
    rod = pose.cup - drawn.seat
    lean = float(np.degrees(np.arctan2(np.hypot(rod[0], rod[1]), rod[2])))
    most = usual_at(("train", 0, "measured_pushrod", "lean"))[1]
    if lean > most:
        yield LookAgain(
            f"by its coordinates {train}'s pushrod leans {lean:.1f} deg against the cylinder; most lean less than "
            f"{most:g}: look at lifter.seat, rocker.shaft, the stations and the way rocker.direction points",
            f"{train}.lifter.seat",
            f"{train}.rocker",
        )


def _of_lean(entries: Entries, mapping: Flat, train: str) -> Iterator[str]:
    """Yield that a pushrod's lean, as it was read, is not the one that the coordinates foretell of that moment."""
    lean = f"{train}.measured_pushrod.lean"
    views = [path for path in (lean, f"{lean}.x", f"{lean}.y") if path in entries]
    if not views or f"{train}.rocker.shaft.x" not in entries:
        return
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.engine.engine import train_of
    from tallstack.geometry.pushrod.pushrods import direction_when_read

    def foretold(flat: Flat) -> dict[str, Array]:
        rod = direction_when_read(train_of(flat, train))
        assert rod is not None
        level = {"x": rod[..., 0], "y": rod[..., 1], lean: np.hypot(rod[..., 0], rod[..., 1])}
        return {path: np.arctan2(level[path if path == lean else path[-1]], rod[..., 2]) for path in views}

    try:
        gear = train_of(mapping, train)
        if gear.drawn is None or gear.measured is None:
            return
        there = foretold(mapping)
    except GeometryError:  # told as a fault
        return
    off = {path: float(there[path]) - float(entries[path].value) for path in views}
    known = {path: _half(entries[path].doubt) for path in views}
    if not any(abs(off[path]) > known[path] for path in views):
        return
    from tallstack.geometry.doubt.budget import budget
    from tallstack.geometry.doubt.derivatives import derivatives

    others = {path: one for path, one in entries.items() if not path.startswith(lean)}
    others = {path: one for path, one in others.items() if isinstance(mapping.get(path), float)}
    stated = {path: one.doubt for path, one in others.items() if one.doubt is not None}
    stated |= {path: Doubt(0.0) for path, one in others.items() if is_nothing(one)}
    slopes = derivatives(mapping, {path: {path: 1.0} for path in others}, foretold)
    for path in views:
        beside = budget(slopes[path], stated, mapping, SHOWS_RAD)
        rough = FAR_MM / float(gear.measured.length) if beside.undoubted else 0.0
        if abs(off[path]) <= np.hypot(known[path], beside.expanded) + rough:
            continue
        typed, seen = np.degrees(float(entries[path].value)), np.degrees(float(there[path]))
        what = "its lean" if path == lean else f"its lean in the view along {'y' if path[-1] == 'x' else 'x'}"
        yield LookAgain(
            f"when {train}'s pushrod was read {what} was {typed:.1f} deg by {path} and {seen:.1f} by its coordinates: "
            "one of them is wrong; look at lifter.seat, rocker.shaft and the stations too",
            f"{train}.measured_pushrod",
            f"{train}.lifter",
            f"{train}.rocker",
        )


def _half(doubt: Doubt | None) -> float:
    """Return how far a lean that was read may be off [rad]."""
    return FAR_RAD if doubt is None else max(doubt.half_width, FACTOR * doubt.standard)
