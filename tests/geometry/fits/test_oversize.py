"""`fits.oversize` against random worn bores bored anew, sums by hand, and what is refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.fits.oversize import (
    CANNOT,
    DEPENDS,
    NONE_ON_OFFER,
    NOT_SURE,
    PLATED,
    chosen,
    needed,
    oversize,
)

from ...measured import Told
from ...oracles.worn_bore import drawn

HEIGHTS = ("top", "middle", "bottom")


def bore(name: str, worn: tuple[float, float, float], new: float = 98.95) -> dict[str, Any]:
    """Return a bore worn so much at three heights, swept round."""
    found: dict[str, Any] = {
        f"{name}.bore_readings.new_size": new,
        f"{name}.bore_readings.lay_together": "yes",
    }
    for height, by in zip(HEIGHTS, worn, strict=True):
        found |= {f"{name}.bore_readings.{height}_{one}": new + by for one in ("across", "largest")}
        found[f"{name}.bore_readings.{height}_along"] = new + by / 2
    return found


def engine(*offers: float, **more: Any) -> dict[str, Any]:
    return {
        "cylinders": ("front", "rear"),
        "trains": (),
        **bore("front", (0.04, 0.02, 0.01)),
        **bore("rear", (0.10, 0.05, 0.02)),
        **{f"oversize.piston.{place}.diameter": one for place, one in enumerate(offers)},
        "oversize.clearance": 0.06,
        **more,
    }


def figures(mapping: dict[str, Any], name: str = "front") -> dict[str, Any]:
    found = oversize(mapping, name)
    assert not isinstance(found, Missing), found
    return found


def test_what_a_bore_needs_is_four_times_its_wear_or_twice_where_the_bar_is_known() -> None:
    there = needed(engine(), "rear")
    assert not isinstance(there, Missing)
    assert float(there.surely) == pytest.approx(98.95 + 0.40 + 0.05)
    assert float(there.never) == pytest.approx(99.05 + 0.05)
    known = {"oversize.bar": "unworn end", "oversize.cut_least": 0.03}
    sure = needed(engine(**known), "rear")
    assert not isinstance(sure, Missing)
    assert float(sure.surely) == pytest.approx(98.95 + 0.20 + 0.03)
    other = needed(engine(**{**known, "oversize.bar": "worn bore"}), "rear")
    assert not isinstance(other, Missing)
    assert float(other.surely) == pytest.approx(98.95 + 0.40 + 0.03)


@pytest.mark.parametrize("count", [400, pytest.param(6000, marks=pytest.mark.study)])
def test_four_times_the_wear_cleans_up_every_bore_wherever_the_bar_is_centred(
    count: int, measured: Told
) -> None:
    """Of 6,000: none failed; the most that any needed was 3.02 times its wear."""
    worn = drawn(count, 7)
    wear = worn.swept.max(axis=-1)
    for centre in (np.zeros((count, 2)), *(worn.centre(height) for height in range(3))):
        over = worn.needs(centre) / wear - 4.0  # theirs less ours
        measured("cut of a worn bore, in its wear", "outlines of worn bores", -over, 4.0, "", least=-1e-6)
    assert max(float((worn.needs(worn.centre(place)) / wear).max()) for place in range(3)) > 2.0


@pytest.mark.parametrize("count", [400, pytest.param(6000, marks=pytest.mark.study)])
def test_twice_the_wear_cleans_up_wherever_it_lies_with_the_bar_on_the_unworn_end(count: int) -> None:
    """Of 6,000: none failed, whichever way the wear lay at each height; less would not do, 2.000 were needed."""
    for one_side in (True, False):
        worn = drawn(count, 8, one_side=one_side)
        wear = worn.swept.max(axis=-1)
        needs = worn.needs(np.zeros((count, 2)))
        assert (needs <= 2.0 * wear + 1e-9).all()
        assert (needs > 1.9 * wear).any()


def test_the_smallest_that_cleans_up_all_is_taken_for_all() -> None:
    there = engine(99.10, 99.35, 99.60)
    choice = chosen(there)
    assert not isinstance(choice, Missing)
    assert choice[:2] == (1, True)
    assert "front 99.100 mm (3.9016 in), rear 99.350 mm" in choice[2]
    for name in ("front", "rear"):
        found = figures(there, name)
        assert float(found["oversize_piston"].value) == 99.35
        assert float(found["oversize_bore"].value) == pytest.approx(99.41)
    rear = figures(there, "rear")
    assert float(rear["bore_removes"].value) == pytest.approx(99.41 - 98.96)
    assert float(rear["bore_removes_least"].value) == pytest.approx(99.41 - 99.05)
    assert float(rear["cleans_up_by"].value) == pytest.approx(99.41 - 99.40)


def test_what_is_left_for_the_hone_and_of_the_wall() -> None:
    there = engine(99.35, **{"oversize.hone": 0.02, "front.spigot.outer_diameter": 110.0})
    found = figures(there)
    assert float(found["bore_to"].value) == pytest.approx(99.39)
    assert float(found["wall_after"].value) == pytest.approx((110.0 - 99.41) / 2 - 0.04)
    lined = figures({**there, "front.liner.outer_diameter": 107.0})
    assert float(lined["wall_after"].value) == pytest.approx((107.0 - 99.41) / 2 - 0.04)
    assert "wall_after" not in figures(there, "rear")


def test_a_rings_gap_grows_by_three_thousandths_for_one_of_bore() -> None:
    """A rule of the trade, from its geometry: π is 3.14."""
    one, other = (figures(engine(size))["ring_gap_grows"].value for size in (99.35, 99.35 + 0.0254))
    assert float(other - one) / 25.4 == pytest.approx(0.003, abs=2e-4)


@pytest.mark.parametrize(("offer", "words"), [(99.0, CANNOT), (99.2, DEPENDS), (99.35, "")])
def test_what_is_said_of_a_size_that_may_not_clean_up(offer: float, words: str) -> None:
    found = figures(engine(offer), "rear")["cleans_up_by"]
    assert found.note == words
    assert (float(found.value) < 0) == bool(words)


def test_nothing_is_for_sure_of_a_bore_that_was_not_swept_or_whose_size_is_not_known() -> None:
    there = engine(99.60)
    assert figures(there)["cleans_up_by"].unsaid == ()
    for entry in ("front.bore_readings.middle_largest", "front.bore_readings.new_size"):
        less = {path: one for path, one in there.items() if path != entry}
        found = figures(less)["cleans_up_by"]
        assert found.unsaid
        assert found.note == NOT_SURE
        assert float(found.value) <= float(figures(there)["cleans_up_by"].value) + 0.2


def test_what_a_bore_does_to_ratio_and_squish_is_that_of_an_engine_so_bored() -> None:
    from tallstack.geometry.fits import at_speed, volume

    from .test_at_speed import REST

    more = {"chamber.volume": 76000.0, "piston.crown_volume": 3000.0, "chamber.gasket_bore": 100.0}
    own = {path: one for path, one in REST.items() if not path.startswith("cylinders")}
    there = engine(99.35, **{**own, **more, "stack.bore": 98.95})
    found = figures(there)
    bored = {**there, "stack.bore": 99.41, "piston.skirt_clearance": 0.06}
    for key, group, of in (
        ("ratio_bored", volume.compression, "compression_ratio"),
        ("squish_at_least_bored", at_speed.squish_at_least, "squish_at_least"),
    ):
        again = group(bored, "front")
        assert not isinstance(again, Missing)
        assert float(found[key].value) == pytest.approx(float(again[of].value), rel=1e-12)
    assert "squish_at_least_bored" not in figures(engine(99.35))


def test_what_is_refused() -> None:
    plated = oversize(engine(99.35, **{"front.bore_readings.plated": "yes"}), "front")
    assert isinstance(plated, Missing)
    assert plated.why == PLATED
    none = oversize(engine(), "front")
    assert isinstance(none, Missing)
    assert none.why == NONE_ON_OFFER
    bare = {path: one for path, one in engine(99.35).items() if not path.startswith("rear.bore")}
    other = oversize(bare, "front")
    assert isinstance(other, Missing)
    assert any(one.startswith("rear.bore_readings") for one in other.entries)


def test_none_on_offer_that_is_for_sure_leaves_the_largest_and_says_so() -> None:
    choice = chosen(engine(99.0, 99.2))
    assert not isinstance(choice, Missing)
    assert choice[:2] == (1, False)
    assert "none on offer" in choice[2]
