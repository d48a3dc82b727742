"""What entries of the rest of the stack mean together: pairs of sizes of which one must be the larger.

Only plain comparisons; loaded where a job has any of these entries.
"""

from __future__ import annotations

from collections.abc import Iterator

from tallstack.geometry.core.mapping import Flat, Reader, names
from tallstack.geometry.engine.defaults import HEATED, UNDER_HEAT

from ..contents import Entries
from ..faults import Fault, Where
from .blame import Teller
from .clearance import number
from .words import in_both_units

# larger, smaller, what is found in words, the remedy
Rule = tuple[str, str, str, str]
OF_GEAR: tuple[Rule, ...] = (
    (
        "tube.longest",
        "tube.shortest",
        "a tube {small} pushed together is not shorter than {large} drawn out",
        "are the two exchanged?",
    ),
    (
        "tube.inner_diameter",
        "pushrod.diameter",
        "a pushrod of {small} does not go into a tube of {large} inside",
        "look at the units of both",
    ),
)
OF_CYLINDER: tuple[Rule, ...] = (
    (
        "stack.bore",
        "crank.conrod_beam_width",
        "a connecting rod {small} across its beam does not swing in a bore of {large}",
        "look at the units of both",
    ),
    (
        "stack.base_gasket_free",
        "stack.base_gasket",
        "a base gasket {large} thick before it is pressed cannot be {small} thick after",
        "are the two exchanged? Another gasket has another base_gasket_free",
    ),
    (
        "stack.head_gasket_free",
        "stack.head_gasket",
        "a head gasket {large} thick before it is pressed cannot be {small} thick after",
        "are the two exchanged? Another gasket has another head_gasket_free",
    ),
    (
        "piston.diameter",
        "piston.arch_width",
        "an arch {small} wide is no chord of a skirt {large} across",
        "measure it straight across at the skirt",
    ),
    (
        "spigot.length",
        "spigot.chamfer",
        "a chamfer {small} high leaves nothing of a spigot {large} long",
        "count it along the bore, from the lower edge",
    ),
)
OF_SPRING: tuple[Rule, ...] = (
    (
        "free_length",
        "installed",
        "a spring {large} long without load cannot stand {small} high under load",
        "are the two exchanged?",
    ),
    (
        "free_length",
        "force_at",
        "a spring {large} long without load gives no force at {small}",
        "are the two exchanged?",
    ),
    (
        "installed",
        "solid_height",
        "a spring that stands {large} high has its coils touching at {small}",
        "look at both",
    ),
    ("mean_diameter", "wire", "a wire of {small} cannot be wound to {large}", "are the two exchanged?"),
)
STEEL_SHEAR = 79300.0  # N/mm², as geometry.fits.springs takes it, which is not loaded for a check
RATE_SLACK = 0.1  # of a rate, by which another way to it may differ


def of_fits(entries: Entries, mapping: Flat, where: Where) -> Iterator[Fault]:
    """Yield contradictions among spigots, tubes, springs, studs, gaskets and temperatures."""
    teller = Teller(entries, where)
    for cylinder in names(mapping, "cylinders") or ("",):
        prefixes = (f"{cylinder}.", "") if cylinder else ("",)
        reader = Reader(mapping, prefixes)
        yield from _ruled(reader, teller, OF_CYLINDER)
        yield from _of_skirt(reader, teller)
        yield from _of_spigot(reader, teller)
        yield from _of_studs(reader, teller)
    for train in names(mapping, "trains"):
        gear = Reader(mapping, (f"{train}.",))
        yield from _ruled(gear, teller, OF_GEAR)
        yield from _of_rod(gear, teller)
        for stem in ("spring.", *(f"spring.{index}." for index in range(4))):
            yield from _of_spring(Reader(mapping, (f"{train}.{stem}",)), teller)
        yield from _of_nested(entries, f"{train}.spring.", teller)
    yield from _of_heat(mapping, teller)


def _ruled(reader: Reader, teller: Teller, rules: tuple[Rule, ...]) -> Iterator[Fault]:
    for larger, smaller, found, remedy in rules:
        large, small = number(reader, larger), number(reader, smaller)
        if large is not None and small is not None and small >= large:
            words = found.format(large=in_both_units(large), small=in_both_units(small))
            yield from teller.fault(words, remedy, reader.path(smaller), reader.path(larger))


def _of_spigot(reader: Reader, teller: Teller) -> Iterator[Fault]:
    length, bore = number(reader, "spigot.length"), number(reader, "stack.bore")
    for index in range(8):
        stem = f"spigot.reliefs.{index}."
        width, height = number(reader, f"{stem}width"), number(reader, f"{stem}height")
        if height is not None and length is not None and height >= length:
            found = f"a relief {in_both_units(height)} high leaves nothing of a spigot {in_both_units(length)} long"
            yield from teller.fault(
                found,
                "count it up from the lower edge",
                reader.path(f"{stem}height"),
                reader.path("spigot.length"),
            )
        if width is not None and bore is not None and width >= bore:
            found = f"a relief {in_both_units(width)} wide is no chord of a bore of {in_both_units(bore)}"
            yield from teller.fault(
                found,
                "measure it straight across at the bore",
                reader.path(f"{stem}width"),
                reader.path("stack.bore"),
            )


def _of_skirt(reader: Reader, teller: Teller) -> Iterator[Fault]:
    """Yield an oil ring below the skirt's lower edge, or an arch up into the oil ring or through the crown."""
    arch, skirt = number(reader, "piston.arch_height"), number(reader, "piston.skirt_below_pin")
    crown, ring = number(reader, "piston.compression_height"), number(reader, "piston.oil_ring")
    if skirt is None or crown is None:
        return
    long, edge = skirt + crown, reader.path("piston.skirt_below_pin")
    if ring is not None and ring >= long:
        found = f"an oil ring {in_both_units(ring)} below the crown plane is off a piston {in_both_units(long)} long"
        yield from teller.fault(found, "count it from the crown plane", reader.path("piston.oil_ring"), edge)
    elif arch is not None and arch >= long - (ring or 0.0):
        reaches = "the crown" if ring is None else "the oil ring"
        above = in_both_units(long - (ring or 0.0))
        found = f"an arch {in_both_units(arch)} high reaches {reaches}, {above} above the skirt's edge"
        path = reader.path("piston.arch_height")
        yield from teller.fault(found, "count it up from the skirt's lower edge", path, edge)


def _of_studs(reader: Reader, teller: Teller) -> Iterator[Fault]:
    stands, cylinder = number(reader, "studs.stands"), number(reader, "stack.cylinder")
    if stands is not None and cylinder is not None and stands <= cylinder:
        found = f"studs that stand {in_both_units(stands)} above the case end below a cylinder of {in_both_units(cylinder)}"
        yield from teller.fault(
            found, "look at the units of both", reader.path("studs.stands"), reader.path("stack.cylinder")
        )


def _of_rod(gear: Reader, teller: Teller) -> Iterator[Fault]:
    for end in ("low", "high"):
        ball, cup = number(gear, f"pushrod.ball_diameter_{end}"), number(gear, f"pushrod.cup_radius_{end}")
        if ball is not None and cup is not None and cup <= ball / 2:
            found = f"a ball of {in_both_units(ball)} across does not sit in a cup with a radius of {in_both_units(cup)}"
            paths = gear.path(f"pushrod.cup_radius_{end}"), gear.path(f"pushrod.ball_diameter_{end}")
            yield from teller.fault(found, "a cup's radius is a little more than half its ball", *paths)


def _of_spring(spring: Reader, teller: Teller) -> Iterator[Fault]:
    yield from _ruled(spring, teller, OF_SPRING)
    force, at = spring.find("force"), spring.find("force_at")
    if force is not None and at is None:
        path = spring.path("force")
        yield from teller.fault(
            "a force is given without the height at which it was read", "write force_at beside it", path
        )
    rates = _rates(spring)
    for other, by, beside in rates[1:]:
        stiffness, said, path = rates[0]
        if abs(other - stiffness) > RATE_SLACK * stiffness:
            found = f"the rate is {stiffness:.1f} N/mm by {said} and {other:.1f} N/mm by {by}"
            remedy = "keep the one you measured and leave the other out"
            yield from teller.fault(found, remedy, path, beside)


def _of_nested(entries: Entries, stem: str, teller: Teller) -> Iterator[Fault]:
    """Yield a single spring's entry laid over a copy's nested ones: it would change none of them."""
    own = [path.removeprefix(stem) for path in entries if path.startswith(stem)]
    single = [name for name in own if "." not in name and not entries[f"{stem}{name}"].follows]
    nested = sorted({name.partition(".")[0] for name in own if "." in name})
    for name in single[:1] if nested else ():
        found = f"the valve gear that is copied has {len(nested)} springs, and this does not say which one it is of"
        remedy = "write each of them here under a [[train.spring]] of its own"
        yield from teller.fault(found, remedy, f"{stem}{name}")


def _rates(spring: Reader) -> list[tuple[float, str, str]]:
    """Return a spring's rate in every way it is given [N/mm], by what in words, and at which entry."""
    found = []
    entered, free = number(spring, "rate"), number(spring, "free_length")
    force, at = number(spring, "force"), number(spring, "force_at")
    wire, mean = number(spring, "wire"), number(spring, "mean_diameter")
    coils, modulus = number(spring, "active_coils"), number(spring, "shear_modulus")
    if entered is not None:
        found.append((entered, "this", spring.path("rate")))
    if free is not None and force is not None and at is not None and free > at:
        found.append((force / (free - at), "free length and the force at one height", spring.path("force")))
    if wire is not None and mean is not None and coils is not None:
        by_wire = (STEEL_SHEAR if modulus is None else modulus) * wire**4 / (8 * mean**3 * coils)
        found.append((by_wire, "wire, mean diameter and coils", spring.path("wire")))
    return found


def _of_heat(mapping: Flat, teller: Teller) -> Iterator[Fault]:
    running = Reader(mapping, ("running.",))
    cold = number(running, "cold")
    for part in (*HEATED, *UNDER_HEAT):
        hot = number(running, f"hot_{part}")
        if hot is not None and cold is not None and hot < cold:
            found = f"a {part} at {hot:.0f} C when hot is colder than the {cold:.0f} C at which it was set"
            yield from teller.fault(
                found, "look at the units of both, C or F", f"running.hot_{part}", "running.cold"
            )
