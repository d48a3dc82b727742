"""Asks an ASGI application as a server would, header by header."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from typing import Any, NamedTuple

from tallstack.cli.bench.guard import Application

HOST = "127.0.0.1:4000"


class Answered(NamedTuple):
    """What came back."""

    status: int
    headers: list[tuple[str, str]]
    body: str

    def header(self, name: str) -> str:
        """Return the one header of a name."""
        (found,) = (value for key, value in self.headers if key == name)
        return found


def scope(method: str, target: str, headers: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """Return what a server tells an application of a request."""
    from urllib.parse import unquote

    path, _, query = target.partition("?")
    return {
        "type": "http",
        "asgi": {"version": "3.0", "spec_version": "2.3"},
        "http_version": "1.1",
        "method": method,
        "path": unquote(path),
        "raw_path": path.encode("latin-1"),
        "query_string": query.encode(),
        "root_path": "",
        "scheme": "http",
        "headers": [(key.lower().encode(), value.encode("latin-1")) for key, value in headers],
        "client": ("127.0.0.1", 50_000),
        "server": ("127.0.0.1", 4000),
        "state": {},
    }


async def asked(
    application: Application,
    method: str,
    target: str,
    headers: Iterable[tuple[str, str]],
    parts: Iterable[bytes] = (),
) -> Answered:
    """Return the answer to one request; parts : of what is sent with it."""
    pieces = [*parts] or [b""]
    left = [
        {"type": "http.request", "body": one, "more_body": number < len(pieces)}
        for number, one in enumerate(pieces, 1)
    ]
    sent: list[Any] = []

    async def receive() -> Any:
        if not left:
            await asyncio.Event().wait()
        return left.pop(0)

    async def send(message: Any) -> None:
        sent.append(message)

    await application(scope(method, target, headers), receive, send)
    start, *rest = sent
    assert all(one["type"] == "http.response.body" for one in rest)
    assert not rest[-1].get("more_body", False)
    body = b"".join(one.get("body", b"") for one in rest).decode()
    return Answered(
        start["status"], [(key.decode(), value.decode()) for key, value in start["headers"]], body
    )
