"""`tallstack bench`: a folder's jobs on a page from this machine, and what its terminal says meanwhile."""

from __future__ import annotations

import errno
import gc
import os
import socket
import stat
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

from ..files import OutputRefusedError
from ..job.reading.outside import is_allowed
from ..page.answer import INTERRUPTED, Answer
from ..page.text import WIDTH
from ..page.wording import IN_SHORT

if TYPE_CHECKING:
    from ..bench.door import Door

HERE = "127.0.0.1"
HIGHEST = 65_535
TRUST = "Anybody on this network can see what is sent; only on one that you trust."


class Asked(NamedTuple):
    """How the page is to be served."""

    network: str = (
        ""  # an address of this machine, or that it is to be asked for; empty: on this machine alone
    )
    opens_browser: bool = True
    port: int = 0


def answer(named: Path | None, asked: Asked) -> Answer:
    """Serve a folder, or a file's with its page first, until Ctrl-C.

    Raises:
        OutputRefusedError: where there is none, or nothing can be served at that address.
    """
    folder, opens = place(named)
    if asked.network and is_allowed():
        message = "--network: not together with --allow-outside: whoever is let in could have any file read"
        raise OutputRefusedError(message)
    if not 0 <= asked.port <= HIGHEST:
        message = f"--port {asked.port}: takes 1 to {HIGHEST}"
        raise OutputRefusedError(message)
    listener = _listening(asked)
    gc.enable()  # which a command that ends soon does without
    try:
        _serve(folder, opens, listener, asked)
    except KeyboardInterrupt:
        return Answer("\nClosed. What was taken stands in the files.", {}, INTERRUPTED)
    return Answer("Closed. What was taken stands in the files.", {})


def place(named: Path | None) -> tuple[Path, str]:
    """Return the folder to serve and the path of the page to open first.

    Raises:
        OutputRefusedError: where a file or a folder is not there, or is none that can be a job.
    """
    path = Path(os.curdir) if named is None else named
    if os.path.isdir(path):
        return path, "/"
    try:
        there = os.lstat(path)
    except FileNotFoundError:
        remedy = (
            "`tallstack new FILE --blank` starts one"
            if path.suffix
            else "name a folder, or a job's .toml file"
        )
        message = f"{path}: no such file or folder; {remedy}"
        raise OutputRefusedError(message) from None
    except OSError as error:
        message = f"{path}: cannot be read: {error.strerror}"
        raise OutputRefusedError(message) from None
    if stat.S_ISLNK(there.st_mode):
        message = f"{path}: a link, which is not written through; name the file itself"
        raise OutputRefusedError(message)
    if not stat.S_ISREG(there.st_mode):
        message = f"{path}: no plain file; name a job's .toml file"
        raise OutputRefusedError(message)
    if path.suffix != ".toml":
        message = f"{path}: a job's file ends in .toml; name one, or a folder"
        raise OutputRefusedError(message)
    return path.parent, f"/jobs/{quote(path.stem, safe='', errors='replace')}/stack"


def _serve(folder: Path, opens: str, listener: socket.socket, asked: Asked) -> None:
    from ..bench.door import Door
    from ..bench.guard import Guard
    from ..bench.serving import say, serve
    from ..bench.site import application

    with listener:
        address, port = listener.getsockname()
        door = Door(f"{address}:{port}", opens, by_code=bool(asked.network), told=say)
        say("\n".join(_opening(folder, door)))
        page = Guard(application(folder), door)
        serve(page, door, listener, opens_browser=asked.opens_browser)


def _listening(asked: Asked) -> socket.socket:
    """Return the socket to serve at.

    Raises:
        OutputRefusedError: where there is no such address here, or another program has the port.
    """
    from ..bench.addresses import chosen, not_own
    from ..bench.serving import listening

    address = chosen(asked.network) if asked.network else HERE
    try:
        return listening(address, asked.port)
    except OSError as error:
        if error.errno == errno.EADDRNOTAVAIL and asked.network:
            raise OutputRefusedError(not_own(address)) from None
        taken = "another program has it; name another" if error.errno == errno.EADDRINUSE else error.strerror
        message = f"--port {asked.port}: {taken}"
        raise OutputRefusedError(message) from None


def _opening(folder: Path, door: Door) -> Iterator[str]:
    """Yield what stands on the terminal before anybody is let in."""
    yield f"tallstack bench: the jobs of {folder.resolve()}"
    yield f"at {door.origin}/, {'for every machine on its network' if door.by_code else 'for this machine alone'}"
    yield from textwrap.wrap(IN_SHORT, WIDTH)
    if door.by_code:
        yield TRUST
    if sys.stdin is not None and sys.stdin.isatty():
        yield f"Enter lets everybody out and {'shows a new code' if door.by_code else 'the next one in'}. Ctrl-C ends it."
