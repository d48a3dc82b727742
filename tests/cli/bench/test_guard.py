"""Every check of who may ask, each with its near misses, and the policy that every answer leaves with."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator, Iterable
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from tallstack.cli.bench.door import Door, Session
from tallstack.cli.bench.guard import KEY, MOST, POLICY, Guard

from .asgi import HOST, Answered, asked, scope

ORIGIN = f"http://{HOST}"
SENT = b'{"put": "5.352"}'


class House:
    """A small application behind its guard, with one browser in it."""

    def __init__(self, *, by_code: bool = False) -> None:
        self.said: list[str] = []
        self.door = Door(HOST, "/jobs/twin/stack", by_code=by_code, told=self.said.append)
        admitted = self.door.admit(self.door.token(), "127.0.0.1")
        assert admitted is not None
        self.session: Session = admitted
        self.stream_ended = asyncio.Event()
        routes = [
            Route("/put", self._put, methods=["POST"]),
            Route("/stream", self._stream),
            Route("/bad", self._bad),
            Route("/{any:path}", self._page, methods=["GET", "PUT", "OPTIONS"]),
        ]
        self.guard = Guard(Starlette(routes=routes), self.door)

    async def _page(self, request: Request) -> Response:
        loose = {"Access-Control-Allow-Origin": "*", "Content-Security-Policy": "default-src *"}
        return PlainTextResponse(f"page for {request.state.session.address}", headers=loose)

    async def _put(self, request: Request) -> Response:
        return JSONResponse(await request.json())

    async def _bad(self, request: Request) -> Response:
        message = "planted"
        raise ValueError(message)

    async def _stream(self, request: Request) -> Response:
        async def told() -> AsyncIterator[str]:
            try:
                yield "data: begun\n\n"
                await asyncio.Event().wait()
            finally:
                self.stream_ended.set()

        return StreamingResponse(told(), media_type="text/event-stream")

    def headers(self, method: str = "GET", **other: str | None) -> list[tuple[str, str]]:
        """Return what our own page's request shows; other : in place of one of them, or None without it."""
        shown: dict[str, str | None] = {
            "host": HOST,
            "cookie": f"a=b; {self.cookie()}",
            KEY: self.session.key,
        }
        if method == "POST":
            shown |= {
                "origin": ORIGIN,
                "content-type": "application/json",
                "content-length": str(len(SENT)),
            }
        shown |= {name.replace("_", "-"): value for name, value in other.items()}
        return [(name, value) for name, value in shown.items() if value is not None]

    def cookie(self) -> str:
        """Return the browser's cookie."""
        return f"{self.door.cookie_name}={self.session.cookie}"

    def ask(
        self,
        method: str,
        target: str,
        headers: Iterable[tuple[str, str]] | None = None,
        parts: Iterable[bytes] = (SENT,),
    ) -> Answered:
        """Ask for something, and look at what every answer has to have."""
        found = asyncio.run(
            asked(self.guard, method, target, self.headers(method) if headers is None else headers, parts)
        )
        names = [name.lower() for name, _ in found.headers]
        for name, value in POLICY:
            exact = [text for key, text in found.headers if key == name.decode()]
            if name != b"referrer-policy":
                assert exact == [value.decode()]
            assert len(exact) == 1
        assert not [one for one in names if one.startswith("access-control-")]
        return found


@pytest.fixture(scope="module")
def house() -> House:
    return House()


def test_what_our_own_page_asks_is_answered(house: House) -> None:
    assert house.ask("GET", "/jobs/twin/stack").body == "page for 127.0.0.1"
    assert (
        house.ask("GET", "/", house.headers(**{KEY: None})).status == 200
    )  # going somewhere shows the cookie alone
    assert house.ask("HEAD", "/").status == 200
    assert house.ask("POST", "/put").body == '{"put":"5.352"}'
    assert house.ask("POST", "/put", parts=[SENT[:5], SENT[5:]]).body == '{"put":"5.352"}'
    for site in ("same-origin", "none"):
        assert house.ask("GET", "/", house.headers(sec_fetch_site=site)).status == 200


HOSTS = (
    None, "", "localhost:4000", "127.0.0.1", "127.0.0.1:4001", "127.0.0.1:40000", "127.0.0.1:4000.", "127.0.0.1.:4000",
    "[::1]:4000", "evil.example:4000", "127.0.0.1:4000.evil.example", "127.0.0.1:4000, 127.0.0.1:4000", "127.1:4000",
)  # fmt: skip


@pytest.mark.parametrize("host", HOSTS)
def test_another_name_is_not_ours(house: House, host: str | None) -> None:
    for method, target in (("GET", "/"), ("POST", "/put"), ("GET", "/start?token=x")):
        assert house.ask(method, target, house.headers(method, host=host)).status == 421


@pytest.mark.parametrize("name", ["host", "origin", "content-length", "content-type", "sec-fetch-site", KEY])
def test_what_stands_twice_is_refused(house: House, name: str) -> None:
    shown = house.headers("POST", sec_fetch_site="same-origin")
    (once,) = (value for key, value in shown if key == name)
    statuses = {"host": 421, "content-length": 413, "content-type": 415}
    assert house.ask("POST", "/put", shown).status == 200
    assert house.ask("POST", "/put", [*shown, (name, once)]).status == statuses.get(name, 403)


@pytest.mark.parametrize("site", ["cross-site", "same-site", "", "same-origin, none", "None"])
def test_what_another_page_asks_for_is_refused(house: House, site: str) -> None:
    for method, target in (("GET", "/"), ("POST", "/put"), ("GET", "/start?token=x")):
        assert house.ask(method, target, house.headers(method, sec_fetch_site=site)).status == 403


@pytest.mark.parametrize(
    "origin",
    [None, "", "null", "http://127.0.0.1:4001", "https://127.0.0.1:4000", "http://127.0.0.1", f"{ORIGIN}/",
     "http://localhost:4000", "http://evil.example", f"{ORIGIN}.evil.example", ORIGIN.upper()],
)  # fmt: skip
def test_what_is_sent_from_elsewhere_is_refused(house: House, origin: str | None) -> None:
    assert house.ask("POST", "/put", house.headers("POST", origin=origin)).status == 403


@pytest.mark.parametrize(
    "kind",
    [None, "", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x",
     "application/jsonp", "application/json, text/plain", "text/plain; application/json"],
)  # fmt: skip
def test_only_json_is_taken(house: House, kind: str | None) -> None:
    assert house.ask("POST", "/put", house.headers("POST", content_type=kind)).status == 415


@pytest.mark.parametrize(
    "length",
    [None, "", "-1", "+16", "16.0", "0x10", str(MOST + 1), "9" * 30, "16, 16", "\u00b2"],
)
def test_a_length_is_said_and_small(house: House, length: str | None) -> None:
    assert house.ask("POST", "/put", house.headers("POST", content_length=length)).status == 413


def test_what_is_sent_is_no_longer_than_is_taken_whatever_it_says(house: House) -> None:
    just = b'"' + b"x" * (MOST - 2) + b'"'
    assert house.ask("POST", "/put", house.headers("POST", content_length=str(MOST)), [just]).status == 200
    assert house.ask("POST", "/put", house.headers("POST"), [just, b" "]).status == 413
    assert house.ask("POST", "/put", house.headers("POST", transfer_encoding="chunked")).status == 413


def test_without_the_cookie_nobody_is_in(house: House) -> None:
    name, good = house.door.cookie_name, house.session.cookie
    off = good[:-1] + ("A" if good[-1] != "A" else "B")
    for cookie in (
        None,
        "",
        f"{name}=",
        f"{name}={off}",
        f"x{name}={good}",
        f"{name}x={good}",
        f"{name}={good} x",
    ):
        for method, target in (
            ("GET", "/"),
            ("POST", "/put"),
            ("GET", "/static/page.css"),
            ("GET", "/stream"),
        ):
            assert house.ask(method, target, house.headers(method, cookie=cookie)).status == 401
    both = f"{name}=set-by-another-port; {house.cookie()}"
    assert house.ask("GET", "/", house.headers(cookie=both)).status == 200


def test_what_a_page_asks_itself_shows_its_key(house: House) -> None:
    off = house.session.key[:-1] + ("A" if house.session.key[-1] != "A" else "B")
    for key in (None, "", off, house.session.cookie, "ü"):
        shown = {KEY: key}
        for method, target in (
            *(
                ("POST", "/put"),
                ("GET", "/stream"),
                ("GET", "/%73tream"),
                ("GET", "/parts"),
                ("GET", "/parts/twin"),
            ),
            *(("HEAD", "/parts/twin"), ("GET", f"/parts?key={house.session.key}")),
            *(("POST", f"/put?key={house.session.key}"), ("GET", f"/stream?key={off}")),
            ("GET", "/stream?" + "&".join(["key=a"] * 30)),
        ):
            assert house.ask(method, target, house.headers(method, **shown)).status == 403, (key, target)
    assert house.ask("GET", "/parts/twin").status == 200


@pytest.mark.parametrize(
    "method", ["OPTIONS", "PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "get", "PROPFIND"]
)
def test_other_methods_there_are_none(house: House, method: str) -> None:
    assert house.ask(method, "/").status == 405


def test_a_stream_has_no_head_alone(house: House) -> None:
    assert house.ask("HEAD", f"/stream?key={house.session.key}").status == 405


@pytest.mark.parametrize(
    "path",
    ["/..%2fx", "/%2e%2e/x", "/.%2E", "/../x", "/a/..", "/jobs%00", "/a%2Fb", "/a%5Cb", "/a\\b", "//x", "/a//b",
     "/\xe4", "/a%0d%0ab", "/a%1b", "/a%7f", "/a%", "/a%zz", "/a%c3", "/%ff", "", "x", "http://127.0.0.1:4000/", "*",
     '/"', "/<b>", "/a b"],
)  # fmt: skip
def test_a_path_that_two_readers_could_read_differently_is_none(house: House, path: str) -> None:
    assert house.ask("GET", path).status == 404


@pytest.mark.parametrize(
    "path", ["/", "/jobs/twin/rod/front.intake", "/jobs/a%20b%c3%a4/stack", "/jobs/50%25"]
)
def test_a_plain_path_is_one(house: House, path: str) -> None:
    assert house.ask("GET", path).status == 200


def test_a_web_socket_is_closed_before_it_opens(house: House) -> None:
    async def opened() -> list[Any]:
        sent: list[Any] = []

        async def receive() -> Any:
            return {"type": "websocket.connect"}

        async def send(message: Any) -> None:
            sent.append(message)

        await house.guard({**scope("GET", "/", house.headers()), "type": "websocket"}, receive, send)
        return sent

    assert [one["type"] for one in asyncio.run(opened())] == ["websocket.close"]


def test_a_fault_is_told_in_the_terminal_and_not_to_the_page(house: House) -> None:
    found = house.ask("GET", "/bad")
    assert found.status == 500
    assert "planted" not in found.body
    assert "fault of tallstack's own (ValueError: planted)" in house.said[-1]


def test_the_start_address_gives_a_cookie_once_and_leads_on() -> None:
    house = House()
    bare = [("host", HOST), ("sec-fetch-site", "none"), ("user-agent", "Browser (A laptop)")]
    target = f"/start?token={house.door.token()}"
    assert house.ask("HEAD", target, bare).status == 405  # which lets nobody in
    assert house.ask("POST", target, [*bare, ("origin", ORIGIN)]).status == 415
    found = house.ask("GET", target + "&next=//evil.example", bare)
    assert (found.status, found.header("location")) == (303, "/jobs/twin/stack")
    cookie, *how = found.header("set-cookie").split("; ")
    assert sorted(how) == ["HttpOnly", "Path=/", "SameSite=Strict"]
    assert house.ask("GET", "/", [("host", HOST), ("cookie", cookie)]).status == 200
    assert house.said[-1].startswith("A browser was let in: 127.0.0.1 (A laptop).")
    again = house.ask("GET", target, bare)
    assert again.status == 403
    assert "set-cookie" not in dict(again.headers)
    assert "terminal" in again.body


def test_a_stream_ends_when_all_are_let_out() -> None:
    async def run() -> None:
        house = House()
        asking = asyncio.ensure_future(
            asked(house.guard, "GET", f"/stream?key={house.session.key}", house.headers(**{KEY: None}))
        )
        for _ in range(20):
            await asyncio.sleep(0)
        assert not asking.done()
        house.door.let_all_out()
        found = await asyncio.wait_for(asking, 2)
        assert (found.status, found.body) == (200, "data: begun\n\n")
        assert house.stream_ended.is_set()
        assert (await asked(house.guard, "GET", "/stream", house.headers())).status == 401

    asyncio.run(run())


class Tablet:
    """A browser that comes over the network."""

    def __init__(self) -> None:
        self.house = House(by_code=True)

    def type(self, code: str, **other: str | None) -> Answered:
        """Send the form."""
        body = f"code={code.replace(' ', '+')}".encode()
        kind = {"content_type": "application/x-www-form-urlencoded", "content_length": str(len(body))}
        shown = self.house.headers("POST", **{KEY: None, "cookie": None, **kind, **other})
        return self.house.ask("POST", "/code", shown, [body])


def test_over_a_network_a_form_asks_for_the_code() -> None:
    tablet = Tablet()
    bare = [("host", HOST)]
    page = tablet.house.ask("GET", "/", bare)
    assert page.status == 401
    assert 'action="/code"' in page.body
    assert page.header("referrer-policy") == "same-origin"  # or browsers send the form with Origin: null
    assert not re.search(r"<script|style=|\son\w+=", page.body)
    assert tablet.house.ask("GET", "/door.css", bare).status == 200
    code = next(found[0] for one in tablet.house.said if (found := re.search(r"\d{4} \d{4}", one)))
    assert tablet.type(code, origin="null").status == 403
    assert tablet.type(code, content_type="application/json").status == 415
    assert tablet.type(code, host="localhost:4000").status == 421
    assert tablet.type(code, sec_fetch_site="cross-site").status == 403
    wrong = tablet.type("1234" if code != "1234" else "1")
    assert (wrong.status, 'role="alert"' in wrong.body) == (403, True)
    assert tablet.house.ask("GET", "/jobs/twin/stack", bare).status == 401
    found = tablet.type(code)
    assert (found.status, found.header("location")) == (303, "/jobs/twin/stack")
    cookie = found.header("set-cookie").split(";")[0]
    assert tablet.house.ask("GET", "/", [*bare, ("cookie", cookie)]).status == 200
    assert tablet.type(code).status == 403
    assert tablet.house.ask("GET", "/start?token=x", bare).status == 401  # there is no such way in


def test_five_wrong_codes_over_a_network_make_everybody_wait() -> None:
    tablet = Tablet()
    tablet.house.door.code()
    assert [tablet.type("no code").status for _ in range(6)] == [403] * 4 + [429] * 2


def test_on_this_machine_alone_no_code_is_asked_for(house: House) -> None:
    assert house.ask("GET", "/", [("host", HOST)]).status == 401
    form = house.headers("POST", content_type="application/x-www-form-urlencoded")
    assert house.ask("POST", "/code", form, [b"code=12345678"]).status == 415
