"""Thread left in the nuts, and how far the gaskets are crushed."""

from __future__ import annotations

import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.fits import studs

from .test_springs import known


def test_studs_and_gaskets() -> None:
    mapping: Flat = {
        "cylinders": ("front",),
        "trains": (),
        "stack.base_gasket": 0.5,
        "stack.cylinder": 140.0,
        "stack.head_gasket": 1.1,
        "stack.head_gasket_free": 1.3,
        "studs.stands": 225.0,
        "studs.head_seat": 65.0,
        "studs.washer": 2.0,
        "studs.diameter": 10.0,
    }
    found = known(studs.engagement(mapping, "front"))
    assert found == pytest.approx({"thread_in_nut": 16.4, "thread_diameters": 1.64})
    assert known(studs.engagement({**mapping, "studs.nut_height": 12.0}, "front"))["thread_in_nut"] == 12.0
    assert known(studs.engagement({**mapping, "stack.cylinder": 146.0}, "front"))[
        "thread_in_nut"
    ] == pytest.approx(10.4)
    assert known(studs.head_gasket(mapping, "front")) == pytest.approx({"head_gasket_crush": 0.2})


def test_each_gasket_lacks_its_own_free_thickness_and_none_where_there_is_no_gasket() -> None:
    mapping = {"cylinders": ("front",), "stack.base_gasket": 0.5, "stack.head_gasket": 1.0}
    assert studs.base_gasket(mapping, "front") == Missing.of(("stack.base_gasket_free",))
    assert studs.head_gasket(mapping, "front") == Missing.of(("stack.head_gasket_free",))
    assert studs.base_gasket({**mapping, "stack.base_gasket": 0.0}, "front") == {}
