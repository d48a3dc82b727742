"""What rests in the case under a pushrod: a hydraulic or a solid lifter, and how it is to be set."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array

HOT_GAIN = "lifter.hot_gain"  # in a mapping, see `fits.heat.hot_gains`
HOT_LACKS = "lifter.hot_gain_lacks"  # there too: what that lacks, in names of entries


class Lifter(NamedTuple):
    """A lifter with its wanted setting; mm, None where not entered."""

    kind: str  # "hydraulic" or "solid"
    preload: Array | None  # hydraulic: plunger below its top stop, valve closed
    plunger_travel: Array | None  # hydraulic: top stop to bottom
    lash: Array | None  # solid
    lash_at: str  # solid: where the feeler goes, "valve" (along the stem) or "pushrod"
    pumped_rise: Array | None = (
        None  # hydraulic: how far a pumped-up plunger's rise counts; None: the whole of it
    )

    pumped_share: Array | None = (
        None  # hydraulic: the share of the preload that this is, where it was said so
    )
    hot_gain: Array | None = None  # hydraulic: how much deeper heat presses the plunger at most
    hot_lacks: tuple[str, ...] = ()  # entries that this lacks, where somebody began on the heat

    @property
    def wanted(self) -> Array | None:
        """The setting that is wanted: a preload, or a solid lifter's lash."""
        return self.preload if self.kind == "hydraulic" else self.lash

    @property
    def pumped_lacks(self) -> tuple[str, ...]:
        """The entries without which it rises pumped up by at least so much, and nobody knows how much more."""
        rise, preload = self.pumped_rise, self.preload
        bounded = rise is not None and preload is not None and bool(np.all(rise <= preload))
        return () if self.kind != "hydraulic" or bounded else self.hot_lacks

    @property
    def down(self) -> Array | None:
        """The wanted plunger depth of a hydraulic lifter, None for a solid one."""
        return self.preload if self.kind == "hydraulic" else None
