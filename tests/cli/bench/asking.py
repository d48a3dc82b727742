"""Asks the page in this process, without a socket and without a guard."""

from __future__ import annotations

import asyncio
import json
from typing import Any, NamedTuple
from urllib.parse import unquote, urlsplit

from starlette.applications import Starlette


class Answered(NamedTuple):
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode("utf-8")

    @property
    def json(self) -> Any:
        return json.loads(self.body)


def ask(app: Starlette, address: str, data: object = None) -> Answered:
    """Return the answer to one request; data : posted as JSON, or as it stands where it is bytes."""
    split = urlsplit(address)
    body = b"" if data is None else data if isinstance(data, bytes) else json.dumps(data).encode()
    scope = {
        "type": "http",
        "method": "GET" if data is None else "POST",
        "path": unquote(split.path),
        "raw_path": split.path.encode(),
        "query_string": split.query.encode(),
        "headers": [(b"content-type", b"application/json")],
        "state": {},
    }
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:
        sent.append(message)

    asyncio.run(app(scope, receive, send))
    headers = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return Answered(sent[0]["status"], headers, b"".join(one.get("body", b"") for one in sent[1:]))
