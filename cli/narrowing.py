"""Which numbers of a card would narrow its lobe most, in the order in which they do.

The order is what the doubt of a least clearance came to over 900 made-up lobes, at the valve, in thousandths of an inch: with
both events at 0.050 in 25, and besides the lift at 10 degrees from top centre 4.5, at top centre 6.5, an event
between 0.100 and 0.125 in on that flank 7, the duration at 0.020 in 18, a seat duration 21.
"""

from __future__ import annotations

from tallstack.geometry.mapping import Flat

WORDS = {
    "card.events": "both events at 0.050 in",
    "card.lift": "the lift 10 degrees from top centre, towards the lobe",
    "card.top_centre": "the lift at top centre",
    "card.opening": "where it opens to 0.100 to 0.125 in",
    "card.closing": "where it closes to 0.100 to 0.125 in",
    "card.duration": "the duration at 0.020 in",
}
LOW_MM = (0.4, 0.7)  # a duration about 0.020 in


def narrowing(mapping: Flat, lobe: str) -> list[str]:
    """Return what to read of a lobe known by its card, what narrows it most first."""
    prefix = f"lobe.{lobe}.card."

    def has(table: str) -> bool:
        return any(path == prefix + table or path.startswith(f"{prefix}{table}.") for path in mapping)

    side = "closing" if lobe == "exhaust" else "opening"
    found = []
    if mapping.get(f"lobe.{lobe}.centreline_by") == "the nose" and not has("events"):
        found.append("card.events")
    # Top centre first, as it takes no wheel; nearer the least tells more still.
    found += [
        one for one in ("card.top_centre", "card.lift", f"card.{side}") if not has(one.removeprefix("card."))
    ]
    lifts = [value for path, value in mapping.items() if path.startswith(prefix) and path.endswith(".at")]
    if not any(isinstance(one, float) and LOW_MM[0] <= one <= LOW_MM[1] for one in lifts):
        found.append("card.duration")
    return [f"lobe.{lobe}.{one}" for one in found]


def named(entry: str) -> str:
    """Return what is to be read, in words, with the entry that it goes into."""
    return f"{WORDS['.'.join(entry.split('.')[2:])]} ({entry})"
