"""What would narrow a card's lobe: entries that can be entered, none that is there already, the one of its own side."""

from __future__ import annotations

import pytest
from tallstack.cli.guide.narrowing import SHAPE, WORDS, is_narrower, is_shape, named, narrowing
from tallstack.cli.job.entries.catalogue import entries_of
from tallstack.cli.job.loading import load
from tallstack.geometry.core.mapping import Flat

from ...commands import DEMO


@pytest.fixture(scope="module")
def mapping() -> Flat:
    return load(DEMO).mapping


def test_each_reading_that_is_asked_for_can_be_entered() -> None:
    card = entries_of(("lobe", "intake", "card"))
    for place in WORDS:
        assert place.removeprefix("card.") in card


def test_what_a_card_has_is_not_asked_and_the_side_is_that_of_its_port(mapping: Flat) -> None:
    for port, side, other in (("intake", "opening", "closing"), ("exhaust", "closing", "opening")):
        asked = narrowing(mapping, port)
        assert f"lobe.{port}.card.{other}" not in asked
        for entry in asked:
            if entry.endswith(".duration"):
                continue  # one more of several
            assert not any(path.startswith(f"{entry}.") or path == entry for path in mapping)
        without = {
            path: value for path, value in mapping.items() if not path.startswith(f"lobe.{port}.card.{side}")
        }
        assert f"lobe.{port}.card.{side}" in narrowing(without, port)


def test_a_reading_is_named_with_the_entry_it_goes_into_and_others_as_they_are(mapping: Flat) -> None:
    entry = "lobe.intake.card.top_centre"
    assert named(entry) == f"the lift at top centre ({entry})"
    assert named("stack.cylinder") == "stack.cylinder"
    assert is_narrower({}, entry)
    assert not is_narrower({entry: 0.1}, entry)
    assert not is_narrower(mapping, "stack.head_gasket")
    assert is_shape(f"{SHAPE} lobe.intake")
    assert not is_shape(entry)
