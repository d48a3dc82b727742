"""What moves a fit, and how it stands."""

from __future__ import annotations

import pytest
from tallstack.geometry.core.answer import Figure, Value
from tallstack.geometry.core.frames import array
from tallstack.geometry.doubt.result import result


@pytest.mark.parametrize(("slope", "undoubted"), [(1e-4, ()), (1e-3, ("piston.mass",))])
def test_a_mass_without_a_doubt_matters_where_a_hundredth_of_it_does(
    slope: float, undoubted: tuple[str, ...]
) -> None:
    """Of 400 g that is 4 g: they move the figure by 0.4 or 4 thousandths, of which one is enough."""
    mapping = {"piston.mass": 400.0}
    found = result(mapping, "one", "x", Figure("x"), Value(array(1.0)), {"piston.mass": slope}, {})
    assert found.budget.undoubted == undoubted
