"""What is taken over from another valve gear or cylinder, and what never is."""

from __future__ import annotations

import tomllib

import pytest
from tallstack.cli.guide.same import is_taken_over, same_as
from tallstack.cli.job.faults import Loc

JOB = tomllib.loads(
    """
    cylinder = [{ name = "a", lean = 20 }, { name = "b" }]
    [[train]]
    cylinder = "a"
    port = "intake"
    measured_pushrod = { length = "276 mm", as = "overall", plunger = "", lean = 2, stack = { cylinder = "100 mm" } }
    [[train]]
    cylinder = "a"
    port = "exhaust"
    measured_pushrod = { as = "gauge" }
    [[train]]
    cylinder = "b"
    port = "intake"
    """
)


def rod(index: int, name: str) -> Loc:
    return ("train", index, "measured_pushrod", name)


def test_the_same_ports_of_another_cylinder_goes_before_the_other_ports() -> None:
    found = same_as(rod(2, "as"), JOB)
    assert found is not None
    assert (found.value, found.whose) == ("overall", "a intake")
    found = same_as(rod(1, "lean"), JOB)
    assert found is not None
    assert found.whose == "a intake"


def test_nothing_is_taken_over_from_behind_or_from_what_is_open() -> None:
    assert same_as(rod(0, "as"), JOB) is None
    assert same_as(rod(2, "plunger"), JOB) is None


@pytest.mark.parametrize(
    "loc",
    [
        rod(2, "length"),
        ("stack", "cylinder"),
        ("train", 2, "cylinder"),
        ("cylinder", 1, "valves_touch", "edge_intake"),
    ],
)
def test_what_is_read_at_each_is_never_taken_over(loc: Loc) -> None:
    assert not is_taken_over(loc)
    assert same_as(loc, JOB) is None


def test_a_cylinders_too() -> None:
    found = same_as(("cylinder", 1, "lean"), JOB)
    assert found is not None
    assert found.value == 20


def test_the_stack_of_the_same_cylinder_alone() -> None:
    found = same_as(("train", 1, "measured_pushrod"), JOB, ("stack",), of_cylinder=True)
    assert found is not None
    assert found.value == {"cylinder": "100 mm"}
    assert same_as(("train", 2, "measured_pushrod"), JOB, ("stack",), of_cylinder=True) is None
