"""What the entries of a bore's readings and of a piston's place at rest are called; no array is needed for that."""

from __future__ import annotations

READINGS = "bore_readings"
HEIGHTS = ("top", "middle", "bottom")
ACROSS, ALONG = "across", "along"
DIRECTIONS = (ACROSS, ALONG)  # the wrist pin
LARGEST = "largest"
SHARES = {"pressed down": 1.0, "drawings": 0.5, "pulled up": 0.0}  # of the play that is still to come
ROCKED = "rocked, at the rim"
MOST_ON_OFFER = 8  # oversize pistons
GROWS_BY = (  # what stands in the entries that somebody makes for a piston's rise at speed alone
    *(".running.growth", ".conrod_beam_mass", ".big_end_clearance", ".main_clearance"),
    *(".pin_clearance", ".skirt_contact_length", ".just_touched.", ".crank.bending"),
)
