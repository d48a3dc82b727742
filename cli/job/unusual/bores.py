"""A bore's readings that contradict each other, the bore that volumes count with, or the play that was entered."""

from __future__ import annotations

from collections.abc import Iterator

from tallstack.geometry.core.answer import of_cylinder
from tallstack.geometry.core.mapping import Flat, Reader, names
from tallstack.geometry.piston.bore_entries import DIRECTIONS, HEIGHTS, LARGEST, MOST_ON_OFFER, READINGS
from tallstack.geometry.piston.bore_read import bore_read

from ..checks.words import in_both_units
from ..look_again import LookAgain

BEYOND_MM = 0.12  # of a bore beyond what a gauge found in it: more than its scatter
SAME_MM = 0.02  # of two ways to one play
READ_MM = 0.01  # of a gauge
ALIKE_K = 2.0
SMALLER_MM = 0.2  # an oversize piston is not so much smaller than the bore as it is


def of_bores(mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every cylinder whose bore was read so that something cannot be so."""
    for name in names(mapping, "cylinders"):
        reader = of_cylinder(mapping, name)
        read = bore_read(reader)
        if read is None:
            continue
        table = f"{name}.{READINGS}"
        tightest, loosest = float(read.tightest), float(read.loosest)
        yield from _of_sweep(reader, table)
        bore = reader.find("stack.bore")
        if bore is not None and not tightest - BEYOND_MM <= float(bore) <= loosest + BEYOND_MM:
            yield LookAgain(
                f"{table}: the gauge found {in_both_units(tightest)} to {in_both_units(loosest)}, and stack.bore is "
                f"{in_both_units(float(bore))}: look at both",
                table,
                reader.path("stack.bore"),
            )
        new = reader.find(f"{READINGS}.new_size")
        if new is not None and float(new) > tightest + READ_MM:
            yield LookAgain(
                f"{table}.new_size {in_both_units(float(new))} is more than the tightest reading, "
                f"{in_both_units(tightest)}: no bore wears tighter; look at both",
                table,
            )
        warm = [reader.find(f"{READINGS}.{one}_temperature") for one in ("bore", "piston")]
        together = reader.word(f"{READINGS}.lay_together") == "yes"
        if together and warm[0] is not None and warm[1] is not None and abs(warm[0] - warm[1]) > ALIKE_K:
            yield LookAgain(
                f"{table}: both lay together, and the bore is {float(warm[0]):.0f} C, the piston {float(warm[1]):.0f} C: "
                "look at both",
                table,
            )
        yield from _of_offers(mapping, tightest)
        play, piston = reader.find("piston.skirt_clearance"), reader.find("piston.diameter")
        if play is not None and piston is not None and float(play) < loosest - float(piston) - SAME_MM:
            yield LookAgain(
                f"{reader.path('piston.skirt_clearance')} {in_both_units(float(play))} is less than the gauge and the "
                f"piston leave, {in_both_units(loosest - float(piston))} at the loosest: is it of another bore?",
                reader.path("piston.skirt_clearance"),
            )


def _of_offers(mapping: Flat, tightest: float) -> Iterator[str]:
    """Yield that an oversize piston is smaller than the bore that it is for."""
    boring = Reader(mapping, ("oversize.",))
    for place in range(MOST_ON_OFFER):
        offer = boring.find(f"piston.{place}.diameter")
        if offer is not None and float(offer) < tightest - SMALLER_MM:
            yield LookAgain(
                f"oversize.piston.{place}.diameter {in_both_units(float(offer))} is no oversize of a bore of "
                f"{in_both_units(tightest)}: is it a radius, or the old piston?",
                "oversize",
            )


def _of_sweep(reader: Reader, table: str) -> Iterator[str]:
    """Yield that the largest of a sweep is less than what was read at the same height."""
    for height in HEIGHTS:
        swept = reader.find(f"{READINGS}.{height}_{LARGEST}")
        read = [reader.find(f"{READINGS}.{height}_{one}") for one in DIRECTIONS]
        most = max((float(one) for one in read if one is not None), default=None)
        if swept is not None and most is not None and float(swept) < most - READ_MM:
            yield LookAgain(
                f"{table}.{height}_{LARGEST} {in_both_units(float(swept))} is less than {in_both_units(most)}, read at the "
                "same height: the largest of a sweep is no less",
                table,
            )
