"""What an entry is read with: the tool of a small workshop, common practice."""

from __future__ import annotations

from ..job.entries.fields import Choice, Kind, Parts, Quantity, Text
from ..job.reading.values import Dimension

BY_ENTRY = {  # the end of an entry's path → tool; the first that fits counts
    "measured_pushrod.length": "checking rod and calipers",
    "checking_rod.closed": "calipers, the rod screwed shut",
    "checking_rod.turns": "count the turns out",
    "checking_rod.threads_per_inch": "thread gauge",
    "checking_rod.pitch": "thread gauge",
    "measured_drop.drop": "dial on the retainer",
    "measured_drop.room": "feelers, or calipers at the rim",
    "measured_deck.below": "bridge and dial",
    "stack.cylinder": "height gauge or large micrometer",
    "base_gasket": "micrometer, as compressed",
    "head_gasket": "micrometer, as compressed",
    "case_cut": "micrometer, before and after",
    "head_cut": "micrometer, before and after",
    "stack.bore": "bore gauge",
    "case_deck": "height gauge from the crank's centre",
    "crank.stroke": "dial, lowest to highest",
    "conrod_length": "calipers over the eyes",
    "compression_height": "depth gauge, crown to pin",
    "rocker.ratio": "two dials",
    "ball_diameter_low": "micrometer",
    "ball_diameter_high": "micrometer",
    "hole_low": "drill shanks",
    "hole_high": "drill shanks",
    "lifter.preload": "the lifter maker's figure",
    "base_radius": "calipers across nose and heel",
    "read_with.tip": "micrometer over the tip",
    "read_with.roller": "micrometer over the roller",
    "follower.roller": "micrometer over the roller",
    "follower_offset": "the maker's drawing",
    "read_offset": "square and scale",
    "foot_width": "calipers",
    "bled": "feelers, on the lobe's heel",
    "dialled.lifter": "dial on the lifter, the other on the retainer",
    "dialled.valve": "dial on the retainer, the other on the lifter",
    "lash_read": "feelers, on the lobe's heel",
    "lifter.lash": "the cam maker's figure",
    "plunger_travel": "depth gauge",
    "centreline": "degree wheel and dial, or the card",
    "card.peak": "the card, or a dial on the lobe",
    "card.duration": "the card, or wheel and dial",
    "card.seat": "the card, or wheel and dial",
    "card.events": "wheel and dial",
    "card.top_centre": "dial, at overlap top centre",
    "card.lift": "wheel and dial",
    "card.opening": "wheel and dial",
    "card.closing": "wheel and dial",
    "card.top_dwells": "dial on the lobe",
    "law.peak": "dial on the lobe",
    "law.degrees": "degree wheel and dial",
    "fires_at": "degree wheel",
    "rocker.direction": "protractor, along the shaft",
    "gasket_area": "paper and scale",
    "rate": "spring tester",
}
BY_DIMENSION = {
    Dimension.LENGTH: "calipers or depth gauge",
    Dimension.ANGLE: "protractor",
    Dimension.VOLUME: "burette",
    Dimension.AREA: "calipers",
    Dimension.MASS: "scale",
    Dimension.FORCE: "spring tester",
    Dimension.RATE: "spring tester",
    Dimension.TEMPERATURE: "thermometer",
    Dimension.SPEED: "your choice",
    Dimension.PRESSURE: "gauge",
    Dimension.MODULUS: "the maker's figure",
}
LOOKED_AT = "look, and write down"


def tool_for(path: str, kind: Kind | None) -> str:
    """Return what an entry is read with."""
    for end, tool in BY_ENTRY.items():
        if path.endswith(f".{end}") or path == end or f".{end}." in f"{path}.":
            return tool
    if isinstance(kind, (Choice, Text)) or kind is None:
        return LOOKED_AT
    if isinstance(kind, Quantity):
        return BY_DIMENSION.get(kind.dimension, LOOKED_AT)
    if isinstance(kind, Parts):
        return BY_DIMENSION.get(kind.dimension_of(max(kind.counts)), LOOKED_AT)
    return LOOKED_AT
