"""How the bench page is served: one socket of this machine, limits, the terminal beside it, and an end by Ctrl-C."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, MutableMapping
from http import HTTPStatus
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from ..ending import UNSHOWN
from .door import Door, spoken_code
from .guard import POLICY, Application, Receive, Send

CONNECTIONS = 64
KEPT = 5  # s, a connection on which nothing is asked
WITHIN = 10.0  # s, for a whole header, for what is sent behind it, and for taking what is answered
ENDS_WITHIN = 1  # s, for what still runs at the end
SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")


def listening(address: str = "127.0.0.1", port: int = 0) -> socket.socket:
    """Return a socket that listens at one address alone; port : 0 has the system choose.

    It is made for TCP by name: of one made without, asyncio does not know that small answers must not be held back, and
    each would wait 40 ms.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if os.name == "posix":  # elsewhere it would let another program listen at the same port
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((address, port))
        listener.listen(2 * CONNECTIONS)
    except BaseException:
        listener.close()
        raise
    return listener


def serve(
    application: Application,
    door: Door,
    listener: socket.socket,
    *,
    opens_browser: bool = True,
    within: float = WITHIN,
) -> None:
    """Serve an application until Ctrl-C; it has its guard before it.

    opens_browser : else the address that lets in is printed
    within        : s that a whole header may take, what is sent behind it, and to take what is answered

    What the application raised instead of starting is raised anew.

    Raises:
        SystemExit: where the server itself does not start.
    """
    failed: list[Exception] = []

    async def begun(scope: MutableMapping[str, Any], receive: Receive, send: Send) -> None:
        try:
            await application(scope, receive, send)
        except Exception as error:
            failed.append(error)
            raise

    config = uvicorn.Config(
        begun,
        loop="asyncio",
        http=type("Connection", (Connection,), {"within": within}),
        ws="none",
        lifespan="on",
        log_config=None,
        log_level="critical",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        timeout_keep_alive=KEPT,
        timeout_graceful_shutdown=ENDS_WITHIN,
    )
    server = Server(config, door, opens_browser)
    try:
        server.run([listener])
    except SystemExit:  # how the server says that the application did not start
        if not failed:
            raise
    finally:
        listener.close()
    if not server.started and failed:
        raise failed[0]


class Server(uvicorn.Server):
    """The server, the browser that it opens and the terminal that it listens to."""

    def __init__(self, config: uvicorn.Config, door: Door, opens_browser: bool) -> None:
        super().__init__(config)
        self._door = door
        self._opens_browser = opens_browser

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to answer, then let the first one in."""
        await super().startup(sockets)
        if not self.started:
            return
        self._let_next_in()
        if sys.stdin is not None and sys.stdin.isatty():
            loop = asyncio.get_running_loop()
            threading.Thread(
                target=_read_lines, args=(sys.stdin.fileno(), loop, self._anew), daemon=True
            ).start()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End every stream, then all else."""
        self._door.end_all()
        await super().shutdown(sockets)

    def _anew(self) -> None:
        """Let everybody out, and the next one in."""
        self._door.let_all_out()
        self._let_next_in()

    def _let_next_in(self) -> None:
        if self._door.by_code:
            self._door.told(spoken_code(self._door.code()))
            return
        address = self._door.start_address()
        if not self._opens_browser:
            self._door.told(f"Open this address within two minutes; it lets one browser in, once:\n{address}")
            return
        threading.Thread(target=self._open, args=(address, asyncio.get_running_loop()), daemon=True).start()

    def _open(self, address: str, loop: asyncio.AbstractEventLoop) -> None:
        """Open a browser, which may take seconds; where there is none say what else to do."""
        if not opened(address):
            said = (
                f"No browser opened. Open this address within two minutes; it lets one in, once:\n{address}"
            )
            _on(loop, lambda: self._door.told(said))


def opened(address: str) -> bool:
    """Open an address in a browser of this machine's screen; say whether there is one."""
    if os.name == "posix" and sys.platform != "darwin" and not any(map(os.environ.get, SCREENS)):
        return False  # what would open then is a browser in this very terminal
    try:
        return webbrowser.open(address)
    except (OSError, webbrowser.Error):
        return False


def say(sentence: str) -> None:
    """Print what the terminal has to say, as long as anybody reads it."""
    try:
        print(sentence.translate(UNSHOWN), flush=True)
    except (OSError, ValueError):
        return


def _read_lines(handle: int, loop: asyncio.AbstractEventLoop, then: Callable[[], None]) -> None:
    """Have something done at every line that is entered.

    It reads past Python's own stream, of which the lock would be held while the process ends; and one that was sent to
    the background reads nothing rather than being stopped.
    """
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGTTIN})
    try:
        while os.read(handle, 4096):
            _on(loop, then)
    except OSError:
        return


def _on(loop: asyncio.AbstractEventLoop, then: Callable[[], None]) -> None:
    """Have something done where all else is done; nothing where that has ended."""
    try:
        loop.call_soon_threadsafe(then)
    except RuntimeError:
        return


class Connection(H11Protocol):
    """One connection: of too many the last ones are refused, and one that does not say what it wants, or take it, is closed."""

    within = WITHIN

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take it, or refuse it where there are too many."""
        self._waits_for: object = None
        self._late: asyncio.TimerHandle | None = None
        self._untaken: asyncio.TimerHandle | None = None
        super().connection_made(transport)
        if len(self.connections) > CONNECTIONS:
            self._refuse(HTTPStatus.SERVICE_UNAVAILABLE, "Too many connections are open.")
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        super().connection_lost(exc)
        self._watch()
        self._taken()

    def pause_writing(self) -> None:
        """Wait until what was answered is taken, and not for ever."""
        super().pause_writing()
        self._wait_for_taking(self.transport.get_write_buffer_size())

    def resume_writing(self) -> None:
        """Answer on."""
        super().resume_writing()
        self._taken()

    def _wait_for_taking(self, left: int) -> None:
        """Have the connection ended if nothing of what is left is taken for so long; left : bytes."""
        self._untaken = self.loop.call_later(self.within, self._look_at_taking, left)

    def _look_at_taking(self, before: int) -> None:
        left = self.transport.get_write_buffer_size()
        if left < before:
            self._wait_for_taking(left)
        else:
            self.transport.abort()

    def _taken(self) -> None:
        if self._untaken is not None:
            self._untaken.cancel()

    def handle_events(self) -> None:
        """Answer what is there, and see what is still to come."""
        super().handle_events()
        self._watch()

    def send_400_response(self, msg: str) -> None:
        """Refuse what is no HTTP."""
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            self._refuse(HTTPStatus.BAD_REQUEST, msg)
        else:
            self.transport.close()

    def _watch(self) -> None:
        """Have the connection closed if what is to come next takes too long."""
        state = self.conn.their_state
        waits_for = state if state in (h11.IDLE, h11.SEND_BODY) and not self.transport.is_closing() else None
        if waits_for is self._waits_for:
            return
        if self._late is not None:
            self._late.cancel()
        self._waits_for = waits_for
        self._late = None if waits_for is None else self.loop.call_later(self.within, self.transport.close)

    def _refuse(self, status: HTTPStatus, sentence: str) -> None:
        """Answer before there is anything to answer, and close."""
        body = f"{sentence}\n".encode()
        headers = (
            (b"content-type", b"text/plain; charset=utf-8"),
            (b"content-length", str(len(body)).encode()),
            (b"connection", b"close"),
            *POLICY,
        )
        lines = [f"HTTP/1.1 {status.value} {status.phrase}".encode(), *(b": ".join(one) for one in headers)]
        self.transport.write(b"\r\n".join([*lines, b"", body]))
        self.transport.close()
