"""What heat takes from a preload, or gives to a lash, by heights and materials: no coordinates.

Every part grows by the share e of its size. Up the cylinder from the cam's axis, through the pushrod and back down
from the rocker's shaft to the valve's seat:

    loss = B·(e_case - e_lifter) + k·e_case + C·e_cylinder + H·e_head + d·(e_head - e_rocker)
           + [l·(e_head - e_valve) + j·(e_head - e_rocker)] / R  -  L·e_rod

    B  cam's axis up to the lifter's cup ball on the heel      k  that ball below the case deck
    C  cylinder                                                H  rocker's cup ball above the head's gasket face
    d  rocker shaft above the cup's ball                       j  rocker shaft above the stem tip, along the stem
    l  valve, face to tip                                      L  pushrod between balls
    R  valve's lift over the lifter's, near the seat

Crank centre, connecting rod and piston move deck and seat alike; gaskets count for 0.003 mm. What grows across the
cylinder, under a pushrod that leans, counts for up to 0.007 mm at 3 degrees and 0.015 mm at 6. Since heights add up to
L, H need not be read; one put to the wrong side costs only its difference in e. In the first minutes valve and pushrod
are hot and all else is cold: the loss is then -l·e_valve/R - L·e_rod, at most, and takes from the room below a
plunger.

Source: linear expansion, first order in the shares.
"""

from __future__ import annotations

from typing import NamedTuple

from ..core.frames import Array

ALLOWED_MM = 0.01  # half-width of the rule itself, at the lifter: what grows across the cylinder, and gaskets


class Heights(NamedTuple):
    """What counts of a valve gear when it gets hot; (...) [mm], the ratio plain."""

    above_cam: Array  # B
    below_deck: Array  # k
    cylinder: Array  # C
    above_gasket: Array  # H
    shaft_over_cup: Array  # d, positive when the cup is lower
    valve: Array  # l
    shaft_over_tip: Array  # j, negative below it
    rod: Array  # L
    ratio: Array  # R


class Shares(NamedTuple):
    """By what share of its size each part has grown, (...)."""

    case: Array
    lifter: Array
    cylinder: Array
    head: Array
    valve: Array
    rocker: Array
    pushrod: Array


def terms(heights: Heights, shares: Shares) -> dict[str, Array]:
    """Return what each part adds to the loss, (...) [mm], in the order of the stack."""
    h, e = heights, shares
    return {
        "lifter on its cam": h.above_cam * (e.case - e.lifter),
        "case": h.below_deck * e.case,
        "cylinder": h.cylinder * e.cylinder,
        "head": h.above_gasket * e.head,
        "rocker": h.shaft_over_cup * (e.head - e.rocker),
        "valve": h.valve * (e.head - e.valve) / h.ratio,
        "rocker over the tip": h.shaft_over_tip * (e.head - e.rocker) / h.ratio,
        "pushrod": -h.rod * e.pushrod,
    }


def loss(heights: Heights, shares: Shares) -> Array:
    """Return what heat takes from a preload at the lifter, or adds to a lash there, (...) [mm].

    At the valve a lash gains that times the ratio.
    """
    found: Array = sum(terms(heights, shares).values(), 0.0 * heights.rod)
    return found
