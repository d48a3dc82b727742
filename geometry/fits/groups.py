"""Everything that is told of the rest of the stack, in the order of the screens."""

from __future__ import annotations

from typing import Any

from ..core.answer import Group
from . import (
    at_speed,
    bore_fit,
    column,
    heat,
    oversize,
    put_in,
    skirt,
    springs,
    studs,
    trapped,
    tubes,
    valves_at_speed,
    volume,
)

GROUPS: tuple[Group[Any], ...] = (
    volume.displacement,
    volume.squish,
    at_speed.squish_at_speed,
    at_speed.squish_at_least,
    at_speed.squish_hot,
    volume.compression,
    bore_fit.bore_fit,
    oversize.oversize,
    skirt.swing,
    skirt.skirt_to_beam,
    skirt.skirt_to_counterweight,
    skirt.bosses_to_counterweight,
    skirt.beam_to_spigot,
    skirt.beam_to_mouth,
    skirt.hanging,
    skirt.oil_ring_room,
    studs.engagement,
    studs.base_gasket,
    studs.head_gasket,
    tubes.tube_length,
    tubes.tube_room,
    springs.seat,
    springs.at_full_lift,
    springs.coil_bind,
    springs.coil_bind_pumped,
    springs.retainer,
    springs.retainer_pumped,
    springs.leaves_the_cam,
    valves_at_speed.stiffness,
    trapped.trapped,
    column.column,
    column.cups,
    heat.hot,
    put_in.put_in,
)
