"""The checks by hand are few enough to be made and are all different."""

from __future__ import annotations

from tallstack.cli.sheet.hand_checks import HAND_CHECKS


def test_ten_checks_each_its_own() -> None:
    assert len(set(HAND_CHECKS)) == len(HAND_CHECKS) == 10
    assert any("two slow turns by hand" in one for one in HAND_CHECKS)
