"""What leads from a table to the engine's lobe, from the command line: two followers, or a valve's gear and lash, each with its ±."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from tallstack.geometry.cam.follower import Follower
from tallstack.geometry.cam.read import Riding
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.gear.at_valve import AtValve, by_places, by_ratio

from .job.entries.catalogue import kind_at
from .job.reading.values import Blank, Dimension, Value, ValueFault, read
from .job.unusual.unusual import diameter_typed

LEAST_RATIO, MOST_RATIO = 0.5, 3.0


class Rides(NamedTuple):
    """What rode on the lobe and what does in the engine, as typed; all blank where it is one follower."""

    read_with: str = ""
    read_offset: str = ""
    base_radius: str = ""
    follower: str = ""
    follower_offset: str = ""


class Asked(NamedTuple):
    """What was asked on the command line, as typed."""

    angle: str = "cam"
    measured_at: str = "lifter"
    ratio: str = ""
    units: str = "in"
    checks: Sequence[str] = ()
    stop: tuple[float, float] | None = None
    centreline: float | None = None
    port: str = "intake"
    plot: Path | None = None
    force: bool = False
    rides: Rides = Rides()
    dialled: Sequence[str] = ()
    lash: str = ""
    lash_at: str = "valve"


class Leads(NamedTuple):
    """What leads from a table to the engine's lobe: two followers, or a valve's gear and lash."""

    riding: Riding | None = None
    at_valve: AtValve | None = None


class Led(NamedTuple):
    """The same as typed, and with each number as much more and less as its standard uncertainty."""

    leads: Leads = Leads()
    varied: tuple[tuple[Leads, Leads], ...] = ()
    bare: tuple[str, ...] = ()  # options without a +/-
    unlikely: tuple[str, ...] = ()  # what is unusual in them, in words


AS_READ = Led()


def led_by(asked: Asked) -> Led:
    """Return what leads from a table to the lobe, as typed and varied by each +/-; what is wrong raises ValueFault."""
    numbers = _numbers(asked)
    values = {option: one.number for option, one in numbers.items()}
    varied = []
    for option, one in numbers.items():
        by = 0.0 if one.doubt is None else one.doubt.standard
        if by > 0:
            ends = (_leads(asked, {**values, option: one.number + way * by}, True) for way in (1, -1))
            varied.append((next(ends), next(ends)))
    bare = [option for option, one in numbers.items() if one.doubt is None and one.number != 0]
    bare = [option.partition(" ")[0] for option in bare]
    unlikely = [why for option, value in values.items() for why in _unlikely(asked, option, value)]
    return Led(_leads(asked, values), tuple(varied), tuple(dict.fromkeys(bare)), tuple(unlikely))


def _unlikely(asked: Asked, option: str, number: float) -> Iterator[str]:
    """Yield that a radius is more likely a diameter, by what a job file says of the same entry."""
    of_file = {
        "--base-radius": ("base_radius", asked.rides.base_radius),
        "--read-with": (f"read_with.{asked.rides.read_with.split(' ')[0]}", asked.rides.read_with),
        "--follower": (f"read_with.{asked.rides.follower.split(' ')[0]}", asked.rides.follower),
    }
    if option in of_file:
        entry, typed = of_file[option]
        yield from diameter_typed(f"{option} {typed}", kind_at(("lobe", "", *entry.split("."))), number)


def _numbers(asked: Asked) -> dict[str, Value]:
    """Return the numbers that lead from a table to the lobe, as typed, by their options.

    Raises:
        ValueFault: where one is missing or cannot be read.
    """
    found: dict[str, Value] = {}
    said, units = asked.rides, asked.units
    if asked.measured_at != "lifter":
        if asked.ratio:
            ratio = found["--ratio"] = _read("--ratio", asked.ratio, Dimension.NUMBER, units, "a number")
            if not LEAST_RATIO <= ratio.number <= MOST_RATIO:
                between = f"a rocker's ratio lies between {LEAST_RATIO:g} and {MOST_RATIO:g}"
                message = f"--ratio {asked.ratio}: {between}"
                raise ValueFault(message)
        if asked.lash:
            lash = found["--lash"] = _length("--lash", asked.lash, units)
            if lash.number < 0:
                message = f"--lash {asked.lash}: lash is 0 or more"
                raise ValueFault(message)
        for place, typed in enumerate(asked.dialled):
            parts = typed.split(",")
            if len(parts) != 2:
                message = f"--dialled {typed}: two lengths, the lifter's lift and the valve's: \"0.130, 0.191\" for example"
                raise ValueFault(message)
            for one, part in zip(("lifter", "valve"), parts, strict=True):
                found[f"--dialled {place} {one}"] = _length("--dialled", part.strip(), units)
    if not any(said):
        return found
    for option, value, why in (
        ("--read-with", said.read_with, "say what rode on the lobe while it was read"),
        ("--follower", said.follower, "say what rides on it in the engine"),
        (
            "--base-radius",
            said.base_radius,
            "reading a lobe through another follower needs the heel's radius: measure across nose and heel, take off "
            "the peak lift, halve it",
        ),
    ):
        if not value:
            message = f"{option}: {why}"
            raise ValueFault(message)
    if asked.measured_at != "lifter":
        message = (
            "--read-with: lifts at the valve already went through the engine's own follower; leave it out"
        )
        raise ValueFault(message)
    for option, typed, offset in (
        ("--read-with", said.read_with, said.read_offset),
        ("--follower", said.follower, said.follower_offset),
    ):
        if offset:
            found[f"{option} offset"] = _length(f"{option} offset", offset, units)
        kind, _, size = typed.strip().partition(" ")
        if typed.strip() == "flat":
            continue
        if kind not in ("tip", "roller") or not size.strip():
            raise ValueFault(_no_follower(option, typed))
        found[option] = _length(option, size, units)
        if not found[option].number > 0:
            raise ValueFault(_no_follower(option, typed))
    base = found["--base-radius"] = _length("--base-radius", said.base_radius, units)
    if not base.number > 0:
        message = f"--base-radius {said.base_radius}: a radius above zero"
        raise ValueFault(message)
    return found


def _no_follower(option: str, typed: str) -> str:
    return f'{option} {typed}: write "tip" or "roller" with its radius, "tip 1/16" for example, or flat'


def _leads(asked: Asked, numbers: Mapping[str, float], is_varied: bool = False) -> Leads:
    """Return what leads from a table to the lobe by numbers of its options, see `_numbers`.

    is_varied : a number is off by its doubt, so that a tip may be larger than the roller that it is as large as
    Raises:
        ValueFault: where they tell nothing.
    """
    if asked.measured_at != "lifter":
        return Leads(at_valve=_at_valve(asked, numbers))
    if "--base-radius" not in numbers:
        return Leads()
    read, run = (
        Follower(numbers.get(option), numbers.get(f"{option} offset", 0.0))
        for option in ("--read-with", "--follower")
    )
    return Leads(Riding(numbers["--base-radius"], read, run, is_varied, None))


def _at_valve(asked: Asked, numbers: Mapping[str, float]) -> AtValve:
    """Return what leads from lifts at the valve to the lobe, its lash 0 where none was said.

    Raises:
        ValueFault: where it tells nothing.
    """
    lash = numbers.get("--lash", 0.0)
    if "--ratio" in numbers:
        return by_ratio(numbers["--ratio"], lash, asked.lash_at)
    places = [
        (numbers[f"--dialled {place} lifter"], numbers[f"--dialled {place} valve"])
        for place in range(len(asked.dialled))
    ]
    if len(places) > 2:
        message = "--dialled: one place or two; more tell no better"
        raise ValueFault(message)
    try:
        return by_places(places, lash, asked.lash_at)
    except GeometryError as error:
        message = f"--dialled: {error}"
        raise ValueFault(message) from None


def _length(option: str, typed: str, units: str) -> Value:
    return _read(option, typed, Dimension.LENGTH, units, "a length")


def _read(option: str, typed: str, dimension: Dimension, units: str, what: str) -> Value:
    try:
        found = read(typed, dimension, units)
    except ValueFault as error:
        message = f"{option} {error}"
        raise ValueFault(message) from None
    if isinstance(found, Blank):
        message = f"{option} {typed}: {what}"
        raise ValueFault(message)
    return found
