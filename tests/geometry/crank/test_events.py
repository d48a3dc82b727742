"""Events of a card follow the identities of timing."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.crank.events import event_opening


def test_events_of_a_card_follow_the_timing_identities() -> None:
    """Page check: 20/60 and 60/20 give 260 of duration each; advancing 5 gives 25/55 and 65/15."""
    for advance, intake_card, exhaust_card in ((0, (20, 60), (60, 20)), (5, (25, 55), (65, 15))):
        intake = event_opening("intake", *np.radians([20, 60]), np.radians(advance))
        exhaust = event_opening("exhaust", *np.radians([60, 20]), np.radians(advance))
        assert np.degrees(intake) == pytest.approx([-intake_card[0], 180 + intake_card[1]])
        assert np.degrees(exhaust) == pytest.approx([-180 - exhaust_card[0], exhaust_card[1]])
