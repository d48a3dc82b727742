"""Whether one lobe has all the numbers of a card, and which of them say little or contradict the rest."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence

from tallstack.geometry.cam.cam import CardStands, card_of
from tallstack.geometry.cam.card import AtAngle, Card, CardError, Stated, number_words
from tallstack.geometry.cam.shape import (
    WARNED,
    CardShape,
    card_shape,
    look_again,
    odd_words,
    on_the_ramp,
    out_of_line,
)
from tallstack.geometry.core.mapping import Flat, Reader, names

from ..contents import Entries
from ..entries.fields import Quantity
from ..faults import Fault
from ..look_again import LookAgain
from ..reading.values import Dimension
from .blame import Teller
from .words import in_both_units, in_mm

LENGTH = r"(-?\d[\d.]*(?:e[+-]?\d+)?) mm"
SAME_MM, SAME_DEG = 1e-6, 0.5
MORE = "The duration at 0.020 in, or better the lift at top centre, would say more"


def of_shape(path: str, teller: Teller, length: Callable[[float], str], mapping: Flat) -> Iterator[Fault]:
    """Yield that no lobe has all the numbers of a card, or that one reading counts twice.

    path : of the lobe;  length : a length of the card in words
    """
    name = path.split(".")[1]
    stands = card_of(Reader(mapping, ("",)), name, _port(mapping, name))
    if not isinstance(stands, CardStands):
        return
    yield from _twice(path, teller, mapping, stands)
    try:
        card_shape(stands.card, mapping)
    except CardError as error:
        found, _, remedy = as_stated(str(error), stands, length).partition("; ")
        numbers = list(error.numbers)
        of_cam = _of_cam(stands.card, numbers)
        if of_cam is not None:
            remedy = _asked_of_cam(of_cam)
            numbers.remove(of_cam)
            numbers.insert(0, of_cam)
        paths = [
            next((said for one, said in stands.paths if one == number), f"{path}.card.peak")
            for number in numbers
        ]
        if len(stands.paths) == 1:
            paths.append(f"{path}.card.peak")
        yield from teller.fault(found, remedy or "look at them again", *paths)


def _port(mapping: Flat, lobe: str) -> str:
    trains = [
        one for one in names(mapping, "trains") if mapping.get(f"{one}.lobe", one.rpartition(".")[2]) == lobe
    ]
    return trains[0].rpartition(".")[2] if trains else "exhaust" if lobe == "exhaust" else "intake"


def _twice(path: str, teller: Teller, mapping: Flat, stands: CardStands) -> Iterator[Fault]:
    """Yield a reading of one flank that is one of the two events said again."""
    for one, said in stands.paths:
        kind = {"opening": "opens", "closing": "closes"}.get(
            said.removeprefix(f"{path}.card.").partition(".")[0]
        )
        if not isinstance(one, AtAngle) or kind is None or stands.card.halved is None:
            continue
        if f"{path}.card.events.{kind}" in mapping and abs(one.lift - stands.card.halved) < SAME_MM:
            found = "is taken at the check lift of the events, and counts there already"
            yield from teller.fault(found, "leave it out", f"{said}.{kind}", f"{path}.card.events.{kind}")


def _of_cam(card: Card, numbers: Sequence[Stated | AtAngle]) -> Stated | None:
    """Return which duration is probably one of cam degrees."""
    return next((one for one in numbers if isinstance(one, Stated) and _fits_twice(card, one)), None)


def _asked_of_cam(one: Stated) -> str:
    degrees = math.degrees(one.duration)
    return f"{2 * degrees:g} degrees would go together with the rest: are the {degrees:g} degrees of the cam?"


def _fits_twice(card: Card, number: Stated) -> bool:
    """Say whether a duration goes together with the rest once it is counted twice."""
    rows = tuple(one._replace(duration=2 * one.duration) if one == number else one for one in card.durations)
    try:
        return card_shape(card._replace(durations=rows)).misfit < WARNED
    except CardError:
        return False


def as_stated(words: str, stands: CardStands, length: Callable[[float], str]) -> str:
    """Return a sentence with the lifter's lifts in mm as they stand on the card, in both units."""
    return re.sub(LENGTH, lambda one: length(float(one[1]) * stands.ratio - stands.lash), words)


def card_sentences(entries: Entries, mapping: Flat, name: str) -> Iterator[str]:
    """Yield what is to be said of a card whose numbers can all be those of one lobe."""
    prefix = f"lobe.{name}.card"
    if not any(path.startswith(f"{prefix}.") for path in entries):
        return
    stands = card_of(Reader(mapping, ("",)), name, _port(mapping, name))
    if not isinstance(stands, CardStands):
        return
    trains = [
        one for one in names(mapping, "trains") if mapping.get(f"{one}.lobe", one.rpartition(".")[2]) == name
    ]
    kinds = {Reader(mapping, (f"{one}.",)).word("lifter.kind") for one in trains}
    try:
        shape = card_shape(stands.card._replace(hydraulic=kinds == {"hydraulic"}), mapping)
    except CardError:
        return
    lengths = [
        entry
        for path, entry in entries.items()
        if path.startswith(f"{prefix}.")
        and isinstance(entry.kind, Quantity)
        and entry.kind.dimension is Dimension.LENGTH
    ]
    inches = bool(lengths) and not any(in_mm(one) for one in lengths)

    def length(lift: float) -> str:
        return in_both_units(lift, inches)

    odd = look_again(shape)
    if odd is not None:
        words, _, remedy = as_stated(odd_words(odd), stands, length).partition("; ")
        of_cam = _of_cam(stands.card, odd.numbers)
        yield LookAgain(
            f"{prefix}: {words}; {remedy if of_cam is None else _asked_of_cam(of_cam)}", f"lobe.{name}"
        )
    for words, contradicts in _left_out(shape):
        said = f"{prefix}: {as_stated(words, stands, length)}"
        yield LookAgain(said, f"lobe.{name}") if contradicts else said
    if odd is None and on_the_ramp(shape, _lash_at_lifter(mapping, trains)) is not None:
        which = "" if trains and "" not in kinds else " Which lifter, which lash?"
        yield f"{prefix}: the seat duration was read on the ramp: it says little of the lobe above it.{which} {MORE}"
    if mapping.get(f"{prefix}.top_dwells") == "yes" and not shape.card.lifts:
        yield LookAgain(
            f"{prefix}: a top that stands still is not told by durations: the lobe may be fuller than they make it. "
            "Read the lift at top centre",
            f"lobe.{name}",
        )


def _left_out(shape: CardShape) -> Iterator[tuple[str, bool]]:
    """Yield in words what does not count, and whether it contradicts what does."""
    against = {one: (least, most) for one, least, most in out_of_line(shape)}
    for one, near in shape.left.alike:
        if one not in against:
            yield (
                f"{number_words(one)} is taken at nearly the lift of {number_words(near)}: only that counts",
                False,
            )
    for one in shape.left.on_ramp:
        if one not in against:
            yield (
                f"{number_words(one)} says nothing more: of durations on the ramp only the highest counts",
                False,
            )
    for one, (least, most) in against.items():
        low, high = (round(math.degrees(end)) for end in (least, most))
        yield (
            f"{number_words(one)} does not go with the card's other numbers: lobes with those last {low} to {high} "
            "degrees there; look at it again",
            True,
        )
    for lift in shape.left.in_foot:
        yield (
            f"{number_words(lift)}: at that angle the valve is in the foot of the lobe; take the reading nearer the nose",
            False,
        )
    for lift in shape.left.on_nose:
        yield (
            f"{number_words(lift)}: at that angle the valve is on the nose; take the reading further down the flank",
            False,
        )


def _lash_at_lifter(mapping: Flat, trains: list[str]) -> float | None:
    """Return the most lash that a lobe's valve gears run with, at the lifter [mm], or None where none is known."""
    found = []
    for train in trains:
        gear = Reader(mapping, (f"{train}.",))
        lash, ratio = gear.find("lifter.lash"), gear.find("rocker.ratio")
        if gear.word("lifter.kind") != "solid" or lash is None:
            continue
        if gear.word("lifter.lash_at") == "pushrod":
            found.append(float(lash))
        elif ratio is not None:
            found.append(float(lash / ratio))
    return max(found, default=None)
