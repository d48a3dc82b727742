"""Answers as declared: their limits, what misses them, what is missing, and whose name they take."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.answer import (
    CYLINDER,
    Figure,
    Found,
    Missing,
    Value,
    answers,
    lacking,
    lacking_but_height,
    of_cylinder,
    spread,
)
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.core.targets import Target

LEAST, MOST = Target("least", "at least", (0.1, 4), 1.0), Target("most", "at most", (0.1, 9))


@pytest.mark.parametrize(
    ("figure", "value", "misses"),
    [
        (Figure("x", least=LEAST), 1.0, False),
        (Figure("x", least=LEAST), 0.99, True),
        (Figure("x", most=MOST), 99.0, False),  # nobody set it
        (Figure("x"), -1.0, False),
        (Figure("x", below_zero="they meet"), -1e-8, True),
        (Figure("x", below_zero=""), 0.0, False),
        (Figure("x", below_zero="they meet", zero=True, is_depth=False), -3e-14, True),  # they just touch
        (Figure("x", below_zero="they meet", zero=True, is_depth=False), 3e-14, True),
        (Figure("x", below_zero="they meet", zero=True, is_depth=False), 1e-6, False),
        (Figure("x", least=LEAST, left_by="gasket"), -5.0, False),  # of an engine that was not entered
    ],
)
def test_what_misses_a_limit_or_meets(figure: Figure, value: float, misses: bool) -> None:
    assert figure.falls_short({}, value) is misses


def test_a_limit_that_is_set_counts() -> None:
    figure = Figure("x", least=LEAST, most=MOST)
    mapping = {LEAST.path: 2.0, MOST.path: 3.0}
    assert [figure.falls_short(mapping, one) for one in (1.9, 2.5, 3.1)] == [True, False, True]
    assert [one.value for one in figure.limits(mapping) if one is not None] == [2.0, 3.0]
    assert figure.limits({})[1] is None


def test_a_group_is_called_as_the_function_it_is_and_takes_what_it_says() -> None:
    @answers(
        CYLINDER,
        "TWICE",
        takes=lambda mapping, known: (mapping["factor"] if known is None else known,),
        twice=Figure("twice"),
    )
    def twice(mapping: Flat, cylinder: str, factor: float) -> Found:
        """Return a multiple."""
        return {"twice": Value(array(factor * mapping[f"{cylinder}.x"]))}

    mapping = {"one.x": 3.0, "factor": 2.0}
    assert twice.__doc__ == "Return a multiple."
    for found, expected in (
        (twice.work_out(mapping, "one"), 6.0),
        (twice.work_out(mapping, "one", 5.0), 15.0),
        (twice(mapping, "one", 1.0), 3.0),
    ):
        assert not isinstance(found, Missing)
        assert found["twice"].value == expected


def test_what_is_missing_is_named_once_by_whichever_way() -> None:
    missing = Missing({"by a": ("x", "y"), "by b": ("y", "z")})
    assert missing.entries == ("x", "y", "z")
    assert Missing.of(["x", "x"]).routes == {"entries": ("x",)}
    assert Missing.of([], "because").routes == {}
    readers = [Reader({"b": 1.0}, ("",)), Reader({}, ("",))]
    assert lacking(readers) is None
    for reader in readers:
        reader.number("b")
        reader.number("piston.compression_height")
    found = lacking(readers)
    assert found is not None
    assert found.entries == ("piston.compression_height", "b")
    but = lacking_but_height(readers)
    assert but is not None
    assert but.entries == ("b",)


def test_a_cylinder_that_is_not_there_is_refused_and_its_own_entries_go_first() -> None:
    mapping = {"cylinders": ("front", "rear"), "stack.cylinder": 1.0, "rear.stack.cylinder": 2.0}
    assert [float(of_cylinder(mapping, one).number("stack.cylinder")) for one in ("front", "rear")] == [
        1.0,
        2.0,
    ]
    with pytest.raises(KeyError, match="there are front, rear"):
        of_cylinder(mapping, "middle")


def test_arrays_of_a_mapping_get_room_for_a_row_of_places() -> None:
    found = spread({"a": np.arange(3.0), "b": 2.0, "c": "word", "d": ("x",)})
    assert found["a"].shape == (3, 1)
    assert (found["b"], found["c"], found["d"]) == (2.0, "word", ("x",))
