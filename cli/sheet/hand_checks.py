"""The checks that are made by hand whatever was computed, always printed with room for what was found."""

HAND_CHECKS = (
    "rocker to retainer, and to its box",
    "piston dome to chamber, and to the plug",
    "pushrod to tube, at rest and at full lift",
    "lifter low in its bore, on a small base circle",
    "guide's protrusion, and its seal",
    "lifters bled down: pushrods spin between the fingers",
    "lock nuts tight, settings felt again",
    "two slow turns by hand, nothing touches",
    "compression release closed",
    "clay or dial at the closest angles named here",
)
