"""Which addresses are this machine's, and which of what is named can be served at."""

from __future__ import annotations

import io
import socket

import pytest
from tallstack.cli.bench import addresses
from tallstack.cli.bench.addresses import checked, chosen, not_own, own_addresses
from tallstack.cli.files import OutputRefusedError


def test_its_own_addresses_can_be_listened_at() -> None:
    for one in own_addresses():
        assert not one.startswith("127.")
        with socket.socket() as made:
            made.bind((one, 0))


def test_an_address_of_its_own_is_taken_as_it_stands() -> None:
    assert checked("192.168.1.20") == "192.168.1.20"
    assert chosen("127.0.0.2") == "127.0.0.2"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "localhost",
        "bench.example",
        "::",
        "::1",
        "fe80::1",
        "1.2.3",
        "127.1",
        "1.2.3.4:80",
        "010.0.0.1",
        "\u0661.1.1.1",
    ],
)
def test_a_name_is_none(text: str) -> None:
    with pytest.raises(OutputRefusedError, match="takes an address of this machine"):
        checked(text)


@pytest.mark.parametrize("text", ["0.0.0.0", "224.0.0.1", "255.255.255.255"])
def test_an_address_for_several_is_refused(text: str) -> None:
    with pytest.raises(OutputRefusedError, match="stands for more than one"):
        checked(text)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def asked(typed: str, monkeypatch: pytest.MonkeyPatch, *own: str) -> tuple[str, str]:
    """Return which address was chosen, and what was printed meanwhile."""
    out = Terminal()
    monkeypatch.setattr(addresses, "own_addresses", lambda: own)
    monkeypatch.setattr("sys.stdin", Terminal(typed))
    monkeypatch.setattr("sys.stdout", out)
    return chosen("ask"), out.getvalue()


@pytest.mark.parametrize(
    ("typed", "found"),
    [("2\n", "192.168.1.20"), ("10.0.0.7\n", "10.0.0.7"), ("\n3\n0\n8.8.8\nx\n 1 \n", "10.0.0.7")],
)
def test_it_asks_until_one_of_its_own_is_named(
    typed: str, found: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    address, told = asked(typed, monkeypatch, "10.0.0.7", "192.168.1.20")
    assert address == found
    assert "  2  192.168.1.20\n" in told
    assert told.count("At which of these") == typed.count("\n")


def test_where_nobody_answers_nothing_is_served(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(KeyboardInterrupt):
        asked("", monkeypatch, "10.0.0.7")
    with pytest.raises(OutputRefusedError, match="on no network now"):
        asked("1\n", monkeypatch)
    assert not_own("10.9.9.9").endswith("it is on no network now")
    monkeypatch.setattr("sys.stdin", io.StringIO("1\n"))
    monkeypatch.setattr(addresses, "own_addresses", lambda: ("10.0.0.7",))
    with pytest.raises(
        OutputRefusedError, match=r"no terminal to ask on; name the address; its own: 10\.0\.0\.7"
    ):
        chosen("ask")
