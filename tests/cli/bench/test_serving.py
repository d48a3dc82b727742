"""The page's server on real sockets: where it listens, how soon it answers, what it closes, how it ends.

Figures, measured on two cores with CPython 3.11, loaded by two others:

- a bare round trip on an open connection, median of 50: 1 ms; limit: 10 ms
- from Ctrl-C to the end, a stream open: 0.3 s; limit: 2 s
"""

from __future__ import annotations

import contextlib
import errno
import os
import pty
import re
import signal
import socket
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tallstack.cli.bench import serving
from tallstack.cli.bench.guard import MOST, POLICY
from tallstack.cli.bench.serving import CONNECTIONS, listening, opened

from .served import LARGE, PATIENCE, SITE, Page, code_of, got, running, served


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with served() as one:
        yield one


def has_policy(head: str) -> bool:
    """Say whether an answer has the policy, each header of it once."""
    return all(head.count(f"{name.decode()}: {value.decode()}") == 1 for name, value in POLICY)


def test_it_listens_at_one_address_alone(page: Page) -> None:
    for family, address in ((socket.AF_INET, "127.0.0.2"), (socket.AF_INET6, "::1")):
        with socket.socket(family) as other:
            assert other.connect_ex((address, page.port)) in (errno.ECONNREFUSED, errno.EADDRNOTAVAIL)


def test_small_answers_are_not_held_back(page: Page) -> None:
    with listening() as made:
        assert made.proto == socket.IPPROTO_TCP
    taken = []
    with page.open() as one:
        for _ in range(50):
            begun = time.perf_counter()
            one.sendall(page.request("GET", "/").encode())
            assert got(one).status == 200
            taken.append(time.perf_counter() - begun)
    assert statistics.median(taken) < 0.010


@pytest.mark.parametrize(
    ("text", "statuses"),
    [
        ("GET /..%2fx", {404}),
        ("GET /%2e%2e/x", {404}),
        ("GET /a%00", {404}),
        ("GET /a\\b", {404}),
        ("GET //x", {404}),
        ("GET /\xe4", {400, 404}),
        ("OPTIONS /", {405}),
        ("TRACE /", {405}),
        ("CONNECT /", {405}),
    ],
)
def test_a_strange_request_is_refused(page: Page, text: str, statuses: set[int]) -> None:
    found = page.ask(page.request(*text.split(" ", 1)))  # type: ignore[arg-type]
    assert found.status in statuses
    assert has_policy(found.head)
    assert not re.search(r"^(server|access-control-.*):", found.head, re.MULTILINE)


def test_the_host_is_ours_once(page: Page) -> None:
    good = page.request("GET", "/")
    assert page.ask(good).status == 200
    for host in (
        "",
        "Host: localhost:1\r\n",
        f"Host: {page.host}\r\nHost: {page.host}\r\n",
        "Host: [::1]\r\n",
    ):
        found = page.ask(good.replace(f"Host: {page.host}\r\n", host))
        assert found.status in (400, 421)
        assert has_policy(found.head)


def test_what_is_sent_has_a_length_and_an_end(page: Page) -> None:
    just = b"x" * MOST
    assert page.ask(page.post(f"Content-Length: {MOST}").encode() + just).body == str(MOST).encode()
    assert page.ask(page.post(f"Content-Length: {MOST + 1}").encode() + just + b"x").status == 413
    chunked = page.post("Transfer-Encoding: chunked").encode() + b"2\r\n{}\r\n0\r\n\r\n"
    assert page.ask(chunked).status == 413
    twice = page.post("Content-Length: 2", "Content-Length: 3").encode() + b"{}}"
    assert page.ask(twice).status in (400, 413)
    more = page.post("Content-Length: 2").encode() + b"{}GET"
    assert page.ask(more).body == b"2"  # what follows belongs to the next request


def test_no_web_socket_is_opened(page: Page) -> None:
    found = page.ask(
        page.request("GET", "/", "Connection: Upgrade", "Upgrade: websocket", "Sec-WebSocket-Version: 13")
    )
    assert found.status == 200  # a page like any other
    assert "upgrade" not in found.head.lower()


def test_a_connection_that_does_not_say_what_it_wants_is_closed() -> None:
    """And one that has said it is not, neither while it is told nor between two things that it asks for."""
    within = 1.0
    with served(within) as page, contextlib.ExitStack() as every:

        def begun(text: str) -> socket.socket:
            one = every.enter_context(page.open())
            one.sendall(text.encode())
            return one

        since = time.perf_counter()
        slow, half = begun(page.post("Content-Length: 10")), begun(page.post("Content-Length: 10") + "{")
        silent, header = begun(""), begun("GET / HTTP/1.1\r\nHost: ")
        stream, idle = begun(page.request("GET", f"/stream?key={page.key}")), begun(page.request("GET", "/"))
        assert {got(one).status for one in (stream, idle)} == {200}
        for _ in range(2):
            time.sleep(0.6 * within)
            idle.sendall(page.request("GET", "/").encode())
            assert got(idle).status == 200
            with contextlib.suppress(OSError):  # of the second time, closed already
                slow.sendall(b" ")  # a drop now and then does not make it last
        assert [one.recv(100) for one in (silent, header, half)] == [b"", b"", b""]
        with contextlib.suppress(ConnectionResetError):
            assert slow.recv(100) == b""
        assert time.perf_counter() - since < PATIENCE / 2
        stream.setblocking(False)
        with contextlib.suppress(BlockingIOError):
            assert stream.recv(1000) != b""


def to_its_end(one: socket.socket) -> int:
    """Take all that comes on a connection; return how much that is."""
    taken = 0
    while more := one.recv(1 << 20):
        taken += len(more)
    return taken


def test_a_connection_that_takes_nothing_is_ended() -> None:
    """And nobody else waits for it, nor is one that takes little at a time; it would hold one of the few for ever."""
    within = 0.6
    with served(within) as page, page.open() as deaf, page.open() as slow:
        for one in (deaf, slow):
            one.sendall(page.request("GET", "/large").encode())
        taken = 0
        for _ in range(7):
            time.sleep(0.5 * within)
            for _ in range(16):
                more = len(slow.recv(1 << 16))
                assert more
                taken += more
        assert page.ask(page.request("GET", "/")).status == 200
        assert to_its_end(slow) + taken > LARGE
        assert to_its_end(deaf) < LARGE / 2


@pytest.mark.skipif(
    not os.path.exists("/proc/self/status"), reason="asks the system how much memory it takes"
)
def test_ten_megabytes_are_refused_before_they_are_read(page: Page) -> None:
    """However their length is said, or not; what was said goes on as if nothing had been."""
    ten = 10 * 1024 * 1024

    def memory() -> int:
        status = Path(f"/proc/{page.process.pid}/status").read_text(encoding="ascii")
        return int(re.findall(r"VmHWM:\s+(\d+)", status)[0])

    page.ask(page.post("Content-Length: 2") + "{}")
    before = memory()
    for head, status, first in (
        (page.post(f"Content-Length: {ten}"), 413, b""),
        (page.post("Transfer-Encoding: chunked"), 413, b"a00000\r\n"),
        (page.post("Content-Length: 2"), 200, b"{}"),
        (page.request("POST", "/put", f"Content-Length: {ten}"), 403, b""),
    ):
        with page.open() as one:
            one.sendall(head.encode())
            if status != 200:
                assert got(one).status == status  # before any of it is sent
            with contextlib.suppress(OSError):
                one.sendall(first)
                for _ in range(ten // 65_536):
                    one.sendall(b"x" * 65_536)
        assert page.ask(page.request("GET", "/")).status == 200
    assert memory() - before < 2_048  # kB


def test_no_connection_is_closed_before_its_time(page: Page) -> None:
    with page.open() as half:
        half.settimeout(0.2)
        with pytest.raises(TimeoutError):
            half.recv(1)


def test_one_connection_too_many_is_refused_and_the_others_go_on(page: Page) -> None:
    with contextlib.ExitStack() as every:
        first = every.enter_context(page.open())
        first.sendall(page.request("GET", f"/stream?key={page.key}").encode())
        assert got(first).status == 200
        held = [every.enter_context(page.open()) for _ in range(CONNECTIONS - 2)]
        last = every.enter_context(page.open())
        last.sendall(page.request("GET", "/").encode())
        assert got(last).status == 200
        with page.open() as more:
            found = got(more)
            assert found.status == 503
            assert has_policy(found.head)
        last.sendall(page.request("GET", "/").encode())
        assert got(last).status == 200
        held.pop().close()
        until = time.perf_counter() + PATIENCE
        while page.ask(page.request("GET", "/")).status != 200:
            assert time.perf_counter() < until


@pytest.mark.skipif(os.name != "posix", reason="is sent a signal")
def test_ctrl_c_ends_it_at_once_with_a_stream_open() -> None:
    with served() as page, page.open() as stream, page.open():
        stream.sendall(page.request("GET", f"/stream?key={page.key}").encode())
        assert got(stream).status == 200
        begun = time.perf_counter()
        page.process.send_signal(signal.SIGINT)
        said, _ = page.process.communicate(timeout=PATIENCE)
        assert time.perf_counter() - begun < 2
        assert said.splitlines()[-1] == "ENDED"
        assert "exception" not in said.lower()


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
def test_enter_lets_all_out_and_gives_a_new_address() -> None:
    leader, follower = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", code_of()],
        stdin=follower,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        page = Page(process)
        before = page.cookie
        with page.open() as stream:
            stream.sendall(page.request("GET", f"/stream?key={page.key}").encode())
            assert got(stream).status == 200
            os.write(leader, b"\n")
            content = b""
            while not content.endswith(b"0\r\n\r\n"):  # how a stream says that it has ended
                assert (more := stream.recv(1000))
                content += more
        start = page.until(r"/start\S+")
        assert any("All were let out: 127.0.0.1" in one for one in page.said)
        assert page.ask(page.request("GET", "/")).status == 401
        page.let_in(page.ask(page.request("GET", start[0])))
        assert page.cookie != before
        process.send_signal(signal.SIGINT)
        said, _ = process.communicate(timeout=PATIENCE)
        assert "Fatal" not in said
    finally:
        process.kill()
        process.communicate()
        os.close(leader)
        os.close(follower)


BROKEN = """
import contextlib

@contextlib.asynccontextmanager
async def broken(app):
    raise ValueError("planted")
    yield
"""


def test_an_application_that_does_not_start_says_why() -> None:
    site = SITE.replace("return Starlette(routes=routes)", "return Starlette(lifespan=broken)")
    with running(code_of(site=site + BROKEN)) as process:
        said, _ = process.communicate(timeout=PATIENCE)
    assert said.splitlines()[-1] == "ValueError: planted"
    assert "/start" not in said


def test_where_there_is_no_screen_no_browser_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    monkeypatch.setattr("webbrowser.open", lambda address: not asked.append(address))
    monkeypatch.setattr("sys.platform", "linux")
    for name in serving.SCREENS:
        monkeypatch.delenv(name, raising=False)
    assert not opened("http://127.0.0.1:1/")
    assert asked == []
    monkeypatch.setenv("DISPLAY", ":0")
    assert opened("http://127.0.0.1:1/")
    assert asked == ["http://127.0.0.1:1/"]
