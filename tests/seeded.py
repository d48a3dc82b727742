"""Properties that are told a seed by hypothesis: so many in the plain run, more in a study."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

# A seed is not made simpler by making it smaller.
PROFILE = settings(
    deadline=None,
    derandomize=True,
    database=None,
    phases=(Phase.generate,),
)
SEEDS = st.integers(0, 2**32 - 1)

Body = Callable[[int], None]


def held(plain: int, study: int) -> Callable[[Body], Callable[[int], None]]:
    """Return a decorator: the property holds for so many drawn seeds, in a study for so many."""

    def of(body: Body) -> Callable[[int], None]:
        larger = pytest.param(study, marks=pytest.mark.study)

        @pytest.mark.parametrize("examples", [plain, larger])
        def test(examples: int) -> None:
            how = settings(PROFILE, max_examples=examples)
            how(given(SEEDS)(body))()

        test.__doc__ = body.__doc__
        return test

    return of


def few(cases: Iterable[Any], plain: int) -> list[Any]:
    """Return the cases of a test of one argument, those behind the first so many with the mark of the wider ones."""
    found = list(cases)
    return [*found[:plain], *(_wider(one) for one in found[plain:])]


def _wider(case: Any) -> Any:
    if hasattr(case, "marks"):  # a parameter already, perhaps with a name of its own
        return pytest.param(*case.values, marks=[*case.marks, pytest.mark.wide], id=case.id)
    return pytest.param(case, marks=pytest.mark.wide)
