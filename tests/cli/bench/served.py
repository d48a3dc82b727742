"""A small page behind its door, served by a process of its own, and what asks it byte by byte."""

from __future__ import annotations

import contextlib
import re
import socket
import subprocess
import sys
from collections.abc import Generator
from typing import NamedTuple

PATIENCE = 10.0  # s
LARGE = 20_000_000  # bytes that /large gives, more than the system takes for one that does not
SITE = """
import asyncio, sys, types
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, StreamingResponse
from starlette.routing import Route

def application(folder):
    async def page(request):
        return PlainTextResponse(request.state.session.key)

    async def put(request):
        return PlainTextResponse(str(len(await request.body())))

    async def large(request):
        return PlainTextResponse("x" * 20_000_000)

    async def stream(request):
        async def told():
            while True:
                yield "data: told\\n\\n"
                await asyncio.sleep(60)
        return StreamingResponse(told(), media_type="text/event-stream")

    routes = [Route("/put", put, methods=["POST"]), Route("/stream", stream), Route("/large", large), Route("/{any:path}", page)]
    return Starlette(routes=routes)
"""
SERVED = """
from tallstack.cli.bench.door import Door
from tallstack.cli.bench.guard import Guard
from tallstack.cli.bench.serving import listening, say, serve
listener = listening()
door = Door("%s:%s" % listener.getsockname(), told=say)
try:
    serve(Guard(application(None), door), door, listener, opens_browser=False, within=WITHIN)
except KeyboardInterrupt:
    pass
print("ENDED")
"""


def code_of(within: float = 10.0, site: str = SITE) -> str:
    """Return the code that serves a page."""
    return site + SERVED.replace("WITHIN", str(within))


class Got(NamedTuple):
    """What came back on one connection."""

    status: int
    head: str
    body: bytes


class Page:
    """A page that is served, and the browser that was let in to it."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self.said: list[str] = []
        self.enter()

    def enter(self) -> None:
        """Open the start address that the terminal says."""
        start = self.until(r"http://([\d.]+):(\d+)/start\S+")
        self.address, self.port = start[1], int(start[2])
        self.host = f"{self.address}:{self.port}"
        found = self.ask(
            f"GET {start[0].removeprefix(f'http://{self.host}')} HTTP/1.1\r\nHost: {self.host}\r\n\r\n"
        )
        self.let_in(found)

    def until(self, pattern: str) -> re.Match[str]:
        """Return what the terminal says that looks so, once it does."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.said.append(line)
            if found := re.search(pattern, line):
                return found
        raise AssertionError(self.said)

    def let_in(self, found: Got) -> None:
        """Take the cookie of an answer, and a page's key."""
        assert found.status == 303, found
        self.led_to = re.findall(r"location: (\S+)", found.head)[0]
        self.cookie = re.findall(r"set-cookie: ([^;]+)", found.head)[0]
        self.key = self.ask(self.request("GET", "/")).body.decode()

    def request(self, method: str, target: str, *more: str) -> str:
        """Return the head of a request of our own page."""
        lines = [f"{method} {target} HTTP/1.1", f"Host: {self.host}", f"Cookie: {self.cookie}", *more]
        return "\r\n".join([*lines, "", ""])

    def post(self, *more: str) -> str:
        """Return the head of what our own page sends."""
        own = (
            f"Origin: http://{self.host}",
            "Content-Type: application/json",
            f"X-Tallstack-Key: {self.key}",
        )
        return self.request("POST", "/put", *own, *more)

    def open(self) -> socket.socket:
        """Return a connection to it."""
        opened = socket.create_connection((self.address, self.port), timeout=PATIENCE)
        opened.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return opened

    def ask(self, text: str | bytes) -> Got:
        """Send something on a connection of its own and return what comes back."""
        with self.open() as opened:
            opened.sendall(text if isinstance(text, bytes) else text.encode("latin-1"))
            return got(opened)


def got(opened: socket.socket) -> Got:
    """Return one answer, as far as its length says, or all until the connection ends."""
    content = b""
    while b"\r\n\r\n" not in content:
        more = opened.recv(65_536)
        if not more:
            break
        content += more
    head, _, body = content.partition(b"\r\n\r\n")
    length = re.search(rb"content-length: (\d+)", head)
    while length and len(body) < int(length[1]) and (more := opened.recv(65_536)):
        body += more
    text = head.decode("latin-1")
    return Got(int(text.split()[1]) if text else 0, text, body)


@contextlib.contextmanager
def running(code: str) -> Generator[subprocess.Popen[str]]:
    """Run a process that is ended behind the test however it goes."""
    process = subprocess.Popen(
        [sys.executable, "-c", code],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


@contextlib.contextmanager
def served(within: float = 10.0) -> Generator[Page]:
    """Serve the small page; within : s that a header may take, and what is sent."""
    with running(code_of(within)) as process:
        yield Page(process)
