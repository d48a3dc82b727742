"""What a remedy does to all the other answers."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.geometry.clearance.remedy import effects as remedy_effects
from tallstack.geometry.core.minima import Minimum
from tallstack.geometry.core.verdict import Verdict

NAME = "one.intake"


@pytest.mark.parametrize(("after", "change"), [(1.3, -0.7), (2.5, 0.5)])
def test_two_valves_come_nearer_by_the_difference(after: float, change: float) -> None:
    """Of `_between` alone, with two situations that differ in this and nothing else."""

    def valves(value: float) -> Any:
        pair = SimpleNamespace(least=lambda **_: Minimum(value, 0.0))
        return SimpleNamespace(cylinder="one", apart=lambda: pair)

    (found,) = remedy_effects._between({}, valves(2.0), valves(after), {}, SimpleNamespace(change=1.0))
    assert (found.change, found.value) == (pytest.approx(change), after)


@pytest.mark.parametrize("after", [260.2, 259.7, 260.0001])
def test_a_pushrod_changes_by_the_difference_unless_that_is_nothing(
    after: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of `_pushrods` alone, with lengths that differ by exactly so much."""

    def engine(length: float) -> Any:
        return SimpleNamespace(trains=(SimpleNamespace(cylinder="one", name=NAME),), train=lambda _: length)

    monkeypatch.setattr(remedy_effects, "build", engine)
    monkeypatch.setattr(remedy_effects, "required", lambda one: SimpleNamespace(lengths={"overall": one}))
    monkeypatch.setattr(remedy_effects, "ordering_convention", lambda *_: "overall")
    before: Any = 260.0
    then: Any = after
    found = remedy_effects._pushrods(before, then, "one")
    told = [] if after == 260.0001 else [(pytest.approx(after - 260.0), after)]
    assert [(one.change, one.value) for one in found] == told


def test_without_a_doubt_a_clearance_then_is_short_or_unproved() -> None:
    """Of `_judged` alone: no remedy of a job leaves a clearance without a doubt."""
    remedy: Any = SimpleNamespace(change=1.0)
    for value, verdict in ((0.9, Verdict.SHORT), (1.1, Verdict.UNPROVED)):
        effect = remedy_effects.Effect("piston", NAME, 0.5, value, None)
        assert remedy_effects._judged(effect, 1.0, None, remedy).verdict is verdict
