"""How a command ends: a fault of our own, and an interrupt, each in one line."""

from __future__ import annotations

import pytest

from ..commands import tallstack


def test_a_fault_of_our_own_says_so_without_a_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    from tallstack.cli.commands import schema

    def broken() -> None:
        message = "planted"
        raise RuntimeError(message)

    monkeypatch.setattr(schema, "answer", broken)
    ended = tallstack("schema")
    assert ended.status == 70
    assert ended.out == ""
    assert "a fault of tallstack's own (RuntimeError: planted)" in ended.err
    assert "Traceback" not in ended.err


def test_an_interrupt_ends_in_status_130(monkeypatch: pytest.MonkeyPatch) -> None:
    from tallstack.cli.commands import schema

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(schema, "answer", interrupted)
    assert tallstack("schema").status == 130
