"""Who may ask: every request to the bench page passes here, and every answer leaves with the page's policy.

It is plain ASGI around an application that need not ask any of this again; whom a request is from stands in
`scope["state"]["session"]`. The checks stand in one order, and the first that a request fails is the one it is told.
"""

from __future__ import annotations

import asyncio
import os
import re
import traceback
from collections.abc import Awaitable, Callable, Iterable, Iterator, MutableMapping
from html import escape
from typing import Any, NamedTuple
from urllib.parse import parse_qs, unquote_to_bytes

from .door import DIGITS, Door, Refused, Session

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

POLICY = (
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
        b"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; "
        b"require-trusted-types-for 'script'; trusted-types tallstack",
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)
# of the form alone: where no referrer is sent, browsers send no origin with a form either
OF_FORM = tuple((name, b"same-origin" if name == b"referrer-policy" else value) for name, value in POLICY)
KEY = "x-tallstack-key"  # the header that a page shows its key in
KEYED = ("/stream", "/parts")  # what a page asks for itself, and nobody goes to
START, CODE, STYLE, STREAM = "/start", "/code", "/door.css", "/stream"
MOST = 16_384  # bytes of what is sent
FORM, JSON = "application/x-www-form-urlencoded", "application/json"
SAFE = re.compile(r"/(?:[A-Za-z0-9._~!$&'()*+,;=:@/-]|%[0-9A-Fa-f]{2})*")
UNSAFE = re.compile(r"[\x00-\x1f\x7f\\]|\.\.|//")  # once decoded
MOST_FIELDS = 20  # of a query
TOO_MUCH = f"At most {MOST:,} bytes are taken."
USED = (
    "<p>This address has let a browser in already, or is older than two minutes. Press Enter in the terminal that "
    "runs <code>tallstack bench</code>: that lets everybody out and makes a new one.</p>\n"
)
LOOKS = """:root { color-scheme: light dark; color: #111; background: #fff; font: 1.25rem/1.5 sans-serif }
main { max-width: 30rem; margin: 0 auto; padding: 1rem }
label, input, button { display: block; box-sizing: border-box; width: 100% }
input, button { min-height: 3.5rem; margin: 0.5rem 0 1rem; padding: 0 0.75rem; font: inherit; color: inherit }
input, button { background: inherit; border: 2px solid; border-radius: 0.25rem }
input { font-size: 1.6rem; letter-spacing: 0.1em }
@media (prefers-color-scheme: dark) { :root { color: #eee; background: #111 } }
"""
PLAIN, HTML, CSS = (f"text/{kind}; charset=utf-8".encode() for kind in ("plain", "html", "css"))


class Answer(NamedTuple):
    """What is answered here, before the application is asked."""

    status: int
    body: str
    kind: bytes = PLAIN
    more: tuple[tuple[bytes, bytes], ...] = ()
    policy: tuple[tuple[bytes, bytes], ...] = POLICY


class RefusedError(Exception):
    """A request that is not let through, with what it is told."""

    def __init__(self, status: int, sentence: str) -> None:
        super().__init__(sentence)
        self.answer = Answer(status, f"{sentence}\n")


class DisconnectedError(Exception):
    """Whoever asked is gone before all was sent."""


class Guard:
    """An application behind its door."""

    def __init__(self, application: Application, door: Door) -> None:
        self._application = application
        self._door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or let the application do it."""
        if scope["type"] == "lifespan":
            await self._application(scope, receive, send)
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008})  # before it is accepted: 403
        elif scope["type"] == "http":
            await self._answer(scope, receive, Policed(send))

    async def _answer(self, scope: Scope, receive: Receive, send: Policed) -> None:
        asked = Asked(scope)
        try:
            self._check_origin(asked)
            own = await self._own(asked, receive)
            if own is not None:
                await send.say(own)
                return
            session = self._session(asked)
            self._check_asked(asked, session)
            again = await _whole(receive) if asked.method == "POST" else receive
        except RefusedError as refused:
            await send.say(refused.answer)
            return
        except DisconnectedError:
            return
        scope["state"] = {**scope.get("state", {}), "session": session}
        try:
            await self._until_out(scope, again, send)
        except Exception as error:
            self._door.told(_own_fault(error))
            if not send.begun:
                await send.say(Answer(500, "A fault of tallstack's own; the terminal says more.\n"))

    def _check_origin(self, asked: Asked) -> None:
        """Refuse what is not asked of us by our own name, and what another page made a browser ask.

        Raises:
            RefusedError: saying why.
        """
        if asked.every("host") != [self._door.host]:
            raise RefusedError(421, f"This page is at {self._door.origin} and answers to no other name.")
        site = asked.every("sec-fetch-site")
        if site and site not in (["same-origin"], ["none"]):
            raise RefusedError(403, "Another page asked for this; open it yourself.")
        if asked.method != "POST":
            return
        if asked.every("origin") != [self._door.origin]:
            raise RefusedError(403, "This was not sent by a page from here.")
        kind = FORM if self._is_code(asked) else JSON
        if asked.every("content-type") != [kind]:
            raise RefusedError(415, f"Only {kind} is taken.")
        length = asked.every("content-length")
        if asked.every("transfer-encoding") or len(length) != 1 or not re.fullmatch(r"[0-9]{1,9}", length[0]):
            raise RefusedError(413, "What is sent has to say its length first, once.")
        if int(length[0]) > MOST:
            raise RefusedError(413, TOO_MUCH)

    def _session(self, asked: Asked) -> Session:
        """Return whose cookie a request shows.

        Raises:
            RefusedError: where it shows none that is good.
        """
        for value in asked.cookies(self._door.cookie_name):
            found = self._door.session_of(value)
            if found is not None:
                return found
        way = (
            f"Go to {self._door.origin}/"
            if self._door.by_code
            else "Press Enter in the terminal that runs it"
        )
        raise RefusedError(401, f"Not let in, or let out again. {way}.")

    def _check_asked(self, asked: Asked, session: Session) -> None:
        """Refuse a page's own request without its key, what is no method here and what is no plain path.

        Raises:
            RefusedError: saying why.
        """
        if asked.method == "POST" or asked.path.startswith(KEYED):
            shown = asked.every(KEY) or (asked.queried("key") if asked.path == STREAM else [])
            if len(shown) != 1 or not session.has(shown[0]):
                raise RefusedError(403, "The page has to show its key; load it again.")
        _check_method(asked, ("GET",) if asked.path == STREAM else ("GET", "HEAD", "POST"))
        if not _is_plain(asked.raw_path):
            raise RefusedError(404, "There is nothing of that name.")

    def _is_code(self, asked: Asked) -> bool:
        return self._door.by_code and asked.path == CODE

    async def _own(self, asked: Asked, receive: Receive) -> Answer | None:
        """Return what lets a browser in, where it is asked for; nothing where the application answers."""
        if asked.path == START and not self._door.by_code:
            _check_method(asked, ("GET",))
            return self._started(asked)
        if self._is_code(asked):
            _check_method(asked, ("POST",))
            return self._by_code(asked, _fields(await _body(receive)))
        if asked.path == STYLE:
            _check_method(asked, ("GET", "HEAD"))
            return Answer(200, LOOKS, CSS)
        if self._door.by_code and asked.path == "/" and asked.method in ("GET", "HEAD"):
            if not any(map(self._door.session_of, asked.cookies(self._door.cookie_name))):
                self._door.asked_for_code(asked.address)
                return _form(401, "")
        return None

    def _started(self, asked: Asked) -> Answer:
        """Return the answer to whoever opens the start address."""
        token = asked.queried("token")
        session = self._door.admit(token[0] if len(token) == 1 else "", asked.address, asked.agent)
        if session is None:
            return Answer(403, _page(USED), HTML)
        return self._let_in(session)

    def _by_code(self, asked: Asked, form: dict[str, list[str]]) -> Answer:
        """Return the answer to whoever sends the code."""
        typed = form.get("code", [""])
        found = self._door.admit_code(typed[0], asked.address, asked.agent)
        if isinstance(found, Refused):
            return _form(429 if found is Refused.WAIT else 403, found.value)
        return self._let_in(found)

    def _let_in(self, session: Session) -> Answer:
        """Return what gives a browser its cookie and leads it to the first page."""
        cookie = f"{self._door.cookie_name}={session.cookie}; Path=/; HttpOnly; SameSite=Strict"
        more = ((b"location", self._door.opens.encode("ascii")), (b"set-cookie", cookie.encode("ascii")))
        return Answer(303, "", PLAIN, more)

    async def _until_out(self, scope: Scope, receive: Receive, send: Policed) -> None:
        """Let the application answer; a stream ends when all are let out."""
        if scope["path"] != STREAM:
            await self._application(scope, receive, send)
            return
        out = asyncio.Event()
        forget = self._door.when_out(out.set)
        work = asyncio.ensure_future(self._application(scope, receive, send))
        leaves = asyncio.ensure_future(out.wait())
        try:
            await asyncio.wait((work, leaves), return_when=asyncio.FIRST_COMPLETED)
            if work.done():
                work.result()
                return
        finally:
            forget()
            for one in (work, leaves):
                one.cancel()
            await asyncio.gather(work, leaves, return_exceptions=True)
        if send.begun and not send.ended:
            await send({"type": "http.response.body", "body": b"", "more_body": False})


class Asked:
    """What a request says of itself."""

    def __init__(self, scope: Scope) -> None:
        self.method: str = scope["method"]
        self.path: str = scope["path"]  # decoded, as the application compares it
        self.raw_path: str = (scope.get("raw_path") or scope["path"].encode()).decode("latin-1")
        self.address = str((scope.get("client") or ("nobody",))[0])
        self._headers: list[tuple[bytes, bytes]] = list(scope["headers"])
        self._query = _fields(scope.get("query_string", b""))

    @property
    def agent(self) -> str:
        """What the browser says it is."""
        return "".join(self.every("user-agent")[:1])

    def every(self, name: str) -> list[str]:
        """Return every header of a name, as it stands."""
        return [value.decode("latin-1") for key, value in self._headers if key.lower() == name.encode()]

    def queried(self, name: str) -> list[str]:
        """Return every value of a name in the query."""
        return self._query.get(name, [])

    def cookies(self, name: str) -> list[str]:
        """Return every cookie of a name: of two servers on one machine, both may have set it."""
        pairs = (one.strip().partition("=") for line in self.every("cookie") for one in line.split(";"))
        return [value for key, _, value in pairs if key == name]


class Policed:
    """What takes an answer's messages and sends them on with the policy; it knows how far the answer is."""

    def __init__(self, send: Send) -> None:
        self._send = send
        self.begun = self.ended = False

    async def __call__(self, message: MutableMapping[str, Any]) -> None:
        """Send one message."""
        await self.send(message, POLICY)

    async def send(self, message: MutableMapping[str, Any], policy: tuple[tuple[bytes, bytes], ...]) -> None:
        """Send one message; policy : what the answer's headers end with."""
        if message["type"] == "http.response.start":
            self.begun = True
            message = {**message, "headers": [*_harmless(message.get("headers", ())), *policy]}
        elif message["type"] == "http.response.body":
            self.ended = not message.get("more_body", False)
        await self._send(message)

    async def say(self, answer: Answer) -> None:
        """Send a whole answer."""
        body = answer.body.encode()
        headers = [
            (b"content-type", answer.kind),
            (b"content-length", str(len(body)).encode()),
            *answer.more,
        ]
        start = {"type": "http.response.start", "status": answer.status, "headers": headers}
        await self.send(start, answer.policy)
        await self({"type": "http.response.body", "body": body})


def _harmless(headers: Iterable[tuple[bytes, bytes]]) -> Iterator[tuple[bytes, bytes]]:
    """Yield an answer's headers but those of the policy, and those that let another origin read it."""
    ours = {name for name, _ in POLICY}
    for name, value in headers:
        if name.lower() not in ours and not name.lower().startswith(b"access-control-"):
            yield name, value


def _check_method(asked: Asked, taken: tuple[str, ...]) -> None:
    """Refuse every other method.

    Raises:
        RefusedError: naming those that there are.
    """
    if asked.method not in taken:
        raise RefusedError(405, f"Only {', '.join(taken)} here.")


def _is_plain(raw_path: str) -> bool:
    """Say whether a path is one that no two readers take for two different ones."""
    if not SAFE.fullmatch(raw_path):
        return False
    try:
        path = unquote_to_bytes(raw_path).decode("utf-8")
    except UnicodeDecodeError:
        return False
    return path.count("/") == raw_path.count("/") and not UNSAFE.search(path)


def _fields(text: bytes) -> dict[str, list[str]]:
    """Return the fields of a query or of a form that was sent; of far too many none."""
    try:
        return parse_qs(text.decode("latin-1"), max_num_fields=MOST_FIELDS)
    except ValueError:
        return {}


async def _body(receive: Receive) -> bytes:
    """Return all that was sent.

    Raises:
        DisconnectedError: where whoever sends is gone before its end.
        RefusedError: where it is more than it said, and more than is taken.
    """
    body = b""
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            raise DisconnectedError
        body += bytes(message.get("body", b""))
        if len(body) > MOST:
            raise RefusedError(413, TOO_MUCH)
        if not message.get("more_body", False):
            return body


async def _whole(receive: Receive) -> Receive:
    """Return what gives all that was sent in one piece, and then waits for what comes."""
    left = [{"type": "http.request", "body": await _body(receive), "more_body": False}]

    async def again() -> MutableMapping[str, Any]:
        return left.pop() if left else await receive()

    return again


def _own_fault(error: Exception) -> str:
    """Return what the terminal says of a fault in the application."""
    if os.environ.get("TALLSTACK_TRACE"):
        return "".join(traceback.format_exception(error))
    return (
        f"A fault of tallstack's own ({type(error).__name__}: {error}). "
        "Set TALLSTACK_TRACE=1 and start it again to see where."
    )


def _page(inner: str) -> str:
    """Return a page that stands by itself."""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width">\n<meta name="color-scheme" content="light dark">\n'
        f'<title>tallstack bench</title>\n<link rel="stylesheet" href="{STYLE}">\n</head>\n'
        f"<body>\n<main>\n<h1>tallstack bench</h1>\n{inner}</main>\n</body>\n</html>\n"
    )


def _form(status: int, fault: str) -> Answer:
    """Return the page that asks for the code; fault : why the last one let nobody in."""
    told = f'<p role="alert">{escape(fault)}</p>\n' if fault else ""
    inner = (
        f'{told}<form method="post" action="{CODE}">\n'
        f'<label for="code">The {DIGITS} digits that the terminal shows</label>\n'
        '<input id="code" name="code" inputmode="numeric" autocomplete="off" required autofocus>\n'
        "<button>Let me in</button>\n</form>\n"
    )
    return Answer(status, _page(inner), HTML, policy=OF_FORM)
