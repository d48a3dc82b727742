"""What a pushrod's length gains or loses between the conventions in which it is measured.

Reference: a public page on measuring pushrods (common practice, no author to cite): an overall
length is short of the theoretical by "approximately .017 in. in the case of a 5/16 pushrod with .100
diameter oil holes, minimally chamfered". VERIFIED: read on the page. Gauge diameter 0.140 in: two
pages, common practice.
The table is DERIVED: a ball of diameter D cut by a plane at a circle of diameter h loses
D/2 - √(D²/4 - h²/4) at each end, worked out apart from this project, all digits kept.

Tolerance: 2e-15 in on the table, the digits a double holds; on the page's figure 0.0006 in,
a little over half its last digit, because it says "approximately" and its holes are chamfered: sharp
ones take 0.01643.
"""

from __future__ import annotations

import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.lengths import End, Ends

INCH = 25.4
# ball in; per end over a 0.140 gauge, both ends; both ends with a 0.100 hole, with a 0.060 hole; in
TABLE = [
    (1 / 4, 0.021438424113960117, 0.04287684822792023, 0.020871215252208003, 0.007306778009768061),
    (5 / 16, 0.01655725680981135, 0.0331145136196227, 0.01643201794182475, 0.005814085748953923),
    (3 / 8, 0.01355676213201043, 0.02711352426402086, 0.013579192629975978, 0.004831119622408009),
]
CLOSE_IN = 2e-15


def ends(ball_in: float, hole_in: float, gauge_in: float = 0.140) -> Ends:
    end = End("ball", array(ball_in * INCH), array(hole_in * INCH), None)
    return Ends(end, end, array(gauge_in * INCH))


def shorter_in(rod: Ends, convention: str) -> float:
    """Return by how much a rod of 10 in between centres reads short of its theoretical length."""
    reach = [rod.beyond(one) for one in ("theoretical", convention)]
    assert reach[0] is not None
    assert reach[1] is not None
    lengths = [array(10.0 * INCH) + one for one in reach if one is not None]
    return float(lengths[0] - lengths[1]) / INCH


@pytest.mark.parametrize(("ball", "one_end", "gauge", "hole_100", "hole_060"), TABLE)
def test_table(ball: float, one_end: float, gauge: float, hole_100: float, hole_060: float) -> None:
    wide, narrow = ends(ball, 0.100), ends(ball, 0.060)
    reach = wide.low.beyond("gauge", wide.gauge)
    assert reach is not None
    assert ball / 2 - float(reach) / INCH == pytest.approx(one_end, abs=CLOSE_IN)
    for rod, convention, lost in (
        (wide, "gauge", gauge),
        (wide, "overall", hole_100),
        (narrow, "overall", hole_060),
    ):
        theoretical, other = rod.beyond("theoretical"), rod.beyond(convention)
        assert theoretical is not None
        assert other is not None
        assert float(theoretical - other) / INCH == pytest.approx(lost, abs=CLOSE_IN)
        # 10 in of rod in mm cost three digits: 254 mm rounds at 3e-14 mm
        assert shorter_in(rod, convention) == pytest.approx(lost, abs=5e-15)


def test_the_pages_seventeen_thousandths() -> None:
    assert shorter_in(ends(5 / 16, 0.100), "overall") == pytest.approx(0.017, abs=0.0006)
