"""Where pistons stand: against published displacements, exact dead centres, which way it turns."""

from __future__ import annotations

from tallstack.geometry.crank.crank import turns_forward


def test_a_crank_turns_forward_unless_it_is_said_to_turn_backward() -> None:
    assert turns_forward({})
    assert turns_forward({"crank.turns": "forward"})
    assert not turns_forward({"crank.turns": "backward"})
