"""How a command ends: a fault of our own, and an interrupt, each in one line."""

from __future__ import annotations

import os
import subprocess
import sys

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


LETTERS = "a \xe4 \u2265 \ud800 b"


@pytest.mark.parametrize("stream", ["stdout", "stderr"])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "latin-1"])
def test_a_line_is_printed_as_typer_prints_it(encoding: str, stream: str) -> None:
    """Of `_echo` itself, with letters that a stream has and has not; typer is loaded where it has not all of them."""
    ready = f"import sys; sys.{stream}.reconfigure(errors='replace'); text = {LETTERS!a}\n"
    ours = "from tallstack.cli.ending import _echo; loaded = 'typer' in sys.modules; "
    ways = (
        f"{ours}_echo(text, sys.{stream}); assert not loaded and ('typer' in sys.modules) == {encoding != 'utf-8'}",
        f"import typer; typer.echo(text, err={stream == 'stderr'})",
    )
    printed = []
    for way in ways:
        ended = subprocess.run(
            [sys.executable, "-c", ready + way],
            capture_output=True,
            check=True,
            env={**os.environ, "PYTHONIOENCODING": encoding},
        )
        printed.append((ended.stdout, ended.stderr))
    assert printed[0] == printed[1]
    assert any(one.strip() for one in printed[0])
