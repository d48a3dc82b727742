"""A planar four-bar linkage put to the valve gear's closure; not a source, but what two of them need."""

from __future__ import annotations

import numpy as np
from tallstack.geometry.core.frames import array, point
from tallstack.geometry.gear.train import close_loop


def output_and_coupler_deg(
    ground: float, crank: float, coupler: float, output: float, turn_deg: float, branch: float
) -> tuple[float, float]:
    """Return the output's and the coupler's angle from the ground link, -180 to 180.

    The output link is the arm, the coupler the pushrod, the crank's end its far ball.
    """
    turn = np.radians(turn_deg)
    end = crank * point(np.cos(turn), np.sin(turn), 0.0)
    pivot = point(ground, 0.0, 0.0)
    cosine, sine, _, _ = close_loop(
        point(1.0, 0.0, 0.0),
        point(0.0, 1.0, 0.0),
        end - pivot,
        array(coupler),
        array(output),
        array(branch),
    )
    rod = pivot + output * point(cosine, sine, 0.0) - end
    return float(np.degrees(np.arctan2(sine, cosine))), float(np.degrees(np.arctan2(rod[1], rod[0])))
