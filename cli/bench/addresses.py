"""At which address of this machine the bench page is served over a network."""

from __future__ import annotations

import ipaddress
import socket
import sys

from ..files import OutputRefusedError

ASKED = "ask"
ROUTES = ("192.0.2.1", "10.255.255.255", "172.31.255.255", "192.168.255.255")  # towards each kind of network
FIRST_ADDRESS = 0x8915  # what Linux is asked for an interface's own


def own_addresses() -> tuple[str, ...]:
    """Return this machine's addresses on networks, as far as they are found without asking any network."""
    found = dict.fromkeys([*_of_interfaces(), *map(_from_which, ROUTES)])
    return tuple(one for one in found if one and not ipaddress.ip_address(one).is_loopback)


def chosen(text: str) -> str:
    """Return the address that --network names, or the one that is answered on the terminal.

    Raises:
        KeyboardInterrupt: where nothing is answered.
        OutputRefusedError: where it is none, or there is nobody to ask.
    """
    if text != ASKED:
        return checked(text)
    own = own_addresses()
    if not own:
        message = f"--network {ASKED}: this machine is on no network now"
        raise OutputRefusedError(message)
    if not all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout)):
        message = f"--network {ASKED}: no terminal to ask on; name the address; {_own()}"
        raise OutputRefusedError(message)
    for number, one in enumerate(own, 1):
        print(f"  {number}  {one}")
    while True:
        print("At which of these, by its number? ", end="", flush=True)
        line = sys.stdin.readline()
        if not line:
            raise KeyboardInterrupt
        typed = line.strip()
        if typed in own:
            return typed
        if typed.isascii() and typed.isdigit() and 1 <= int(typed) <= len(own):
            return own[int(typed) - 1]


def checked(text: str) -> str:
    """Return an address that stands for one place on one network.

    Raises:
        OutputRefusedError: where it is none, or stands for several.
    """
    try:
        address = ipaddress.IPv4Address(text)
    except ValueError:
        message = f"--network {text}: takes an address of this machine, as 192.168.1.20, no name; {_own()}"
        raise OutputRefusedError(message) from None
    if address.is_unspecified or address.is_multicast or address.is_reserved:
        message = f"--network {text}: stands for more than one address; name the one to serve at; {_own()}"
        raise OutputRefusedError(message)
    return str(address)


def not_own(address: str) -> str:
    """Return what is said of an address that this machine does not have."""
    return f"--network {address}: not an address of this machine; {_own()}"


def _own() -> str:
    found = own_addresses()
    return f"its own: {', '.join(found)}" if found else "it is on no network now"


def _from_which(target: str) -> str:
    """Return the address from which this machine would send to another; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect((target, 9))
        except OSError:
            return ""
        return str(asked.getsockname()[0])


def _of_interfaces() -> list[str]:
    """Return the first address of each interface, on a system that says them."""
    try:
        import fcntl
    except ImportError:
        return []
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        for _, name in socket.if_nameindex():
            try:
                said = fcntl.ioctl(asked.fileno(), FIRST_ADDRESS, name.encode()[:15].ljust(40, b"\0"))
            except OSError:  # it has none
                continue
            found.append(socket.inet_ntoa(said[20:24]))
    return found
