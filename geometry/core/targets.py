"""What the builder of an engine wants of it: every limit and every wish of [targets], each declared once.

A limit that is not set is common practice where there is one. Answers name their limits; the job file, its schema and
its checks read them here. No array is needed for that, so that reading a job loads none of the answers.
"""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from .mapping import Flat


SHARE = "share"  # under a limit that was set as a share


class Source(Enum):
    """Whose a limit is."""

    SET = "set"  # by the job
    COMMON = "common practice"
    MEMORY = "common practice, from memory"
    PARTS = "the parts"  # no more of them is there


class Target(NamedTuple):
    """One entry of [targets]."""

    name: str
    words: str
    usual: tuple[float, float]  # in `unit`: where most lie
    common: float | None = None  # in `unit`; None: no limit where it is not set
    source: Source = Source.COMMON
    unit: str = "mm"  # or "n", or "" for a plain number
    share_of: str = ""  # the entry of a valve gear of which it may be a share
    common_share: float | None = None  # the share of it that is common practice where that entry is known
    words_too: tuple[str, ...] = ()  # what may stand in place of a number

    @property
    def path(self) -> str:
        """Where it stands in a job."""
        return f"targets.{self.name}"

    def set_in(self, mapping: Flat, of: str = "") -> float | None:
        """Return what a job sets, or None; of : the valve gear whose share it may be."""
        entered: Any = mapping.get(self.path)
        if entered is not None and not isinstance(entered, str):
            return float(entered)
        share: Any = mapping.get(f"{self.path}.{SHARE}")
        whole: Any = mapping.get(f"{of}.{self.share_of}")
        return None if share is None or whole is None else float(share) * float(whole)

    def wanted(self, mapping: Flat) -> float:
        """Return what a job sets, or common practice; nought where there is neither."""
        entered = self.set_in(mapping)
        return (self.common or 0.0) if entered is None else entered


class Limit(NamedTuple):
    """What an answer is held against."""

    value: float  # in the answer's unit
    target: Target | None  # None: there is no entry for it
    source: Source

    @property
    def name(self) -> str:
        """Its name in [targets]; empty where it has none."""
        return "" if self.target is None else self.target.name

    @property
    def is_set(self) -> bool:
        """Whether the job sets it."""
        return self.source is Source.SET


CONTACT = Limit(0.0, None, Source.PARTS)


def limit_of(mapping: Flat, target: Target | None, zero: bool = False, of: str = "") -> Limit | None:
    """Return a limit as a job sets it, or common practice; None where there is neither.

    zero : where there is neither, nought is the limit of the parts themselves
    of   : the valve gear, for a limit that is a share of something of it
    """
    if target is not None:
        entered = target.set_in(mapping, of)
        if entered is not None:
            return Limit(entered, target, Source.SET)
        whole: Any = mapping.get(f"{of}.{target.share_of}") if target.common_share is not None else None
        if whole is not None and target.common_share is not None:
            return Limit(target.common_share * float(whole), target, target.source)
        if target.common is not None:
            return Limit(target.common, target, target.source)
    return Limit(0.0, target, Source.PARTS) if zero else None


DROP = {
    "intake": Target("drop_intake", "intake valve to piston", (0.5, 5), 2.032),  # 0.080 in
    "exhaust": Target("drop_exhaust", "exhaust valve to piston", (0.5, 5), 2.54),  # 0.100 in
}
WALL = Target("wall", "valve to pocket wall", (0.3, 4), 1.27)  # 0.050 in
VALVE_TO_VALVE = Target("valve_to_valve", "valve to valve", (0.3, 4), 1.524)  # 0.060 in
VALVE_TO_BORE = Target(
    "valve_to_bore", "valve to the cylinder's bore and the gasket", (0.3, 4), 1.016, Source.MEMORY
)  # 0.040 in
COIL_BIND = Target(
    "coil_bind", "left before the spring's coils meet", (0.3, 4), 1.524, Source.MEMORY
)  # 0.060 in
RETAINER = Target("retainer", "retainer to seal or guide", (0.3, 4), 1.27, Source.MEMORY)  # 0.050 in
SQUISH_LEAST = Target("squish_least", "squish, at least", (0.3, 4), 0.889)  # 0.035 in
SQUISH_MOST = Target("squish_most", "squish, at most", (0.3, 4))
SQUISH_AT_SPEED = Target("squish_at_speed", "squish left at speed, at least", (0.05, 2))
DROP_AT_SPEED = Target("drop_at_speed", "valve to piston left at speed, at least", (0.05, 3))
PISTON_CLEARANCE_LEAST = Target("piston_clearance_least", "piston in its bore, cold, at least", (0.01, 0.2))
PISTON_CLEARANCE_MOST = Target("piston_clearance_most", "piston in its bore, cold, at most", (0.03, 0.4))
TAPER = Target("taper", "taper of a bore, at most", (0.01, 0.15))
OUT_OF_ROUND = Target("out_of_round", "bore out of round, at most", (0.01, 0.15))
CYLINDER_WALL = Target("cylinder_wall", "cylinder's or liner's wall after boring, at least", (1, 8))
SKIRT = Target(
    "skirt", "skirt and pin bosses to counterweight and connecting rod", (0.3, 6), 1.524, Source.MEMORY
)  # 0.060 in
OIL_RING = Target(
    "oil_ring_least", "oil ring above the end of the bore at bottom centre", (0.3, 10), 1.524
)  # 0.060 in
SKIRT_OUT = Target("skirt_out_most", "skirt out of the bore at bottom centre, at most", (1, 30))
ACROSS = Target("across", "piston to the other cylinder's spigot", (0.3, 6), 1.524, Source.MEMORY)  # 0.060 in
SPIGOTS = Target("spigots", "spigot to the other cylinder's spigot", (0.3, 6))
LOWERING = Target("lowering", "room while one cylinder is lowered with the other fitted", (0, 80))
TUBE = Target("tube", "pushrod to its tube", (0.2, 6), 0.762, Source.MEMORY)  # 0.030 in
COMPRESSION_RATIO = Target("compression_ratio", "compression ratio wanted", (6, 14), unit="")
SEAT_FORCE = Target("seat_force", "force of a valve's springs on its seat, wanted", (150, 1500), unit="n")
COVER = Target("cover", "rocker to its box and cover", (0.3, 15), 1.524)  # 0.060 in
ROCKER_TO_RETAINER = Target(
    "rocker_to_retainer", "rocker to its valve's retainer", (0.3, 15), 1.524
)  # 0.060 in
HOT_LASH = Target("hot_lash", "lash of a solid lifter, hot, where the feeler goes", (0, 1))
STUD_DIAMETERS = Target(
    "stud_diameters", "stud engagement in diameters", (0.5, 4), 1.0, Source.MEMORY, unit=""
)
TRAVEL, TENTH = "lifter.plunger_travel", 0.1
PRELOAD_LEAST = Target(
    "preload_least",
    "hydraulic preload, at least; a share is one of the plunger's travel",
    (0.05, 4),
    0.508,  # 0.020 in, where nobody measured the travel
    share_of=TRAVEL,
    common_share=TENTH,
)
PRELOAD_MOST = Target("preload_most", "hydraulic preload, at most", (0.1, 6), share_of=TRAVEL)
MOST_BLIND = Target("preload_most", "hydraulic preload, at most", (0.1, 6), 1.524)  # 0.060 in, travel unknown
BOTTOM_LEAST = Target(
    "bottom_least",
    "room left below a hydraulic plunger, at least; a share is one of its travel",
    (0.05, 4),
    share_of=TRAVEL,
    common_share=TENTH,
)
WHOLE, TOLD = "whole", "told"
PUMPED = Target(
    "pumped",
    "how far a pumped-up plunger may rise before anything meets: whole, a length or share of the preload, or told",
    (0.05, 4),
    share_of="lifter.preload",
    words_too=(WHOLE, TOLD),
)

TOLD_ALONE = (
    f"told, and not counted ({PUMPED.path})"  # of what a lifter does pumped up, where a job wants it so
)

TARGETS = (
    *DROP.values(),
    WALL,
    VALVE_TO_VALVE,
    VALVE_TO_BORE,
    COIL_BIND,
    RETAINER,
    SQUISH_LEAST,
    SQUISH_MOST,
    SQUISH_AT_SPEED,
    DROP_AT_SPEED,
    PISTON_CLEARANCE_LEAST,
    PISTON_CLEARANCE_MOST,
    TAPER,
    OUT_OF_ROUND,
    CYLINDER_WALL,
    SKIRT,
    OIL_RING,
    SKIRT_OUT,
    ACROSS,
    SPIGOTS,
    LOWERING,
    TUBE,
    COMPRESSION_RATIO,
    SEAT_FORCE,
    HOT_LASH,
    COVER,
    ROCKER_TO_RETAINER,
    STUD_DIAMETERS,
    PRELOAD_LEAST,
    PRELOAD_MOST,
    BOTTOM_LEAST,
    PUMPED,
)


def pumped_counts(mapping: Flat) -> bool:
    """Say whether what meets with a lifter pumped up counts, and is not told alone."""
    return mapping.get(PUMPED.path) != TOLD
