"""The numbers of a card's shape have names of their own, that no entry of a file has."""

from __future__ import annotations

import pytest
from tallstack.geometry.cam.shape_entries import DRAWN_BY, is_shape_entry, shape_entries


def test_each_number_of_each_lobe_has_its_name() -> None:
    names = [*shape_entries("intake"), *shape_entries("exhaust"), *shape_entries("shape")]
    assert len(set(names)) == 3 * DRAWN_BY
    assert all(is_shape_entry(one) for one in names)


@pytest.mark.parametrize(
    "entry",
    [
        "lobe.intake.centreline",
        "lobe.shape.centreline",
        "lobe.shape.card.peak",
        "front.shape.lean",
        "stack.cylinder",
    ],
)
def test_an_entry_of_the_file_is_none_whatever_its_lobe_is_called(entry: str) -> None:
    assert not is_shape_entry(entry)
