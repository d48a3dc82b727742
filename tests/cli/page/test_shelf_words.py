"""What fits from a shelf, and what does not and why."""

from __future__ import annotations

import math

from tallstack.cli.page.shelf_words import MOST_SHOWN, offer_row, set_row, shelf_blocks
from tallstack.cli.page.text import text
from tallstack.geometry.pushrod.shelf import NOT_KNOWN, Chosen, Offer, waiting

FITS = Offer("A", "front.intake", "fixed", True, "", 0.0, 0.1, length=240.0, preload=1.2, room=2.5)
LONG = Offer("B", "front.intake", "fixed", False, "preload above its limit", 0.4, 2.0, "too long", 242.0, 1.9)
OTHER = Offer("C", "front.intake", "fixed", False, "the ends do not go together", math.inf, math.inf)


def told(*offers: Offer, chosen: Chosen | None = None) -> str:
    return " ".join(text(shelf_blocks({"front.intake": offers}, chosen, "mm")).split())


def test_what_fits_is_told_nearest_first_and_the_rest_counted() -> None:
    many = [
        FITS._replace(label=f"P{one}", off=one / 10)
        if hasattr(FITS, "_replace")
        else Offer(f"P{one}", "front.intake", "fixed", True, "", 0.0, one / 10, length=240.0, preload=1.2)
        for one in range(MOST_SHOWN + 2)
    ]
    said = told(*reversed(many))
    assert said.index("P0:") < said.index("P1:")
    assert "and 2 more" in said


def test_what_does_not_fit_says_the_nearest_and_why_none_was_compared() -> None:
    said = told(LONG, OTHER)
    assert "nothing fits; the nearest is B: preload 1.90 mm" in said
    assert "0.40 mm (0.016 in) too long" in said
    assert "not compared, C: the ends do not go together" in said


def test_what_never_can_has_no_number_in_json() -> None:
    assert offer_row(OTHER)["label"] == "C"
    assert all(
        value is None or not isinstance(value, float) or math.isfinite(value)
        for value in offer_row(OTHER).values()
    )
    assert set_row(None) is None
    found = set_row(Chosen((FITS,), 1, 0.1, math.inf))
    assert found is not None
    assert all(not isinstance(value, float) or math.isfinite(value) for value in found.values())


def test_a_set_waits_for_a_length_that_is_not_known_unless_another_has_nothing_that_fits() -> None:
    """What nobody knows yet misses nothing; what is known and fits nowhere does, whatever is read further."""
    unknown = (Offer("A", "rear.intake", "fixed", False, NOT_KNOWN, math.inf, math.inf),)
    both = {"front.intake": (FITS, LONG), "rear.intake": unknown}
    assert waiting(both) == ("rear.intake",)
    said = " ".join(text(shelf_blocks(both, None, "mm")).split())
    assert "rear intake not known what fits" in said
    assert (
        "NO SET YET: NOT KNOWN: which pushrods of the shelf fit, before the length of rear intake is known"
        in said
    )
    assert waiting({**both, "front.intake": (LONG,)}) == ()
    assert "NO SET: not every valve gear has one that fits" in told(LONG)
    assert waiting({"front.intake": ()}) == ()
