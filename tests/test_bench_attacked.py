"""The bench page as the command serves it, under attack: from another page, another program, a file's name, many hands.

Each check of who may ask has its near misses in `tests/cli/bench/test_guard.py`, the door in `test_door.py`, sockets in
`test_serving.py`; here it is the whole, over the wire where the wire matters.

Figures, measured on two cores with CPython 3.11, loaded by two others:

- whoever guesses codes over a network has five a minute of a hundred million: 7,200 a day, one in 14,000 to be let in
- a thousand edits, `-m study`: one client 82 s, four at once 120 s, 65 MB; limit: nothing that was taken is lost
"""

from __future__ import annotations

import contextlib
import http.client
import json
import re
import socket
import threading
import time
import tomllib
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from tallstack.cli.bench.door import TRIES
from tallstack.cli.bench.guard import POLICY
from tallstack.cli.bench.screens import SCREENS
from tallstack.cli.bench.site import application
from tallstack.cli.job.document import leaves

from .cli.bench.asking import ask
from .cli.bench.jobs import HALF, half, twin
from .cli.bench.served import PATIENCE, Got, got, running
from .cli.bench.wire import Wire, wired
from .cli.commands.test_bench import OTHER, Tablet, code_of, has_other

MARKUP = "<img src=x onerror=alert(1)>"
SECRET = "stands-outside-4711"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of jobs, and what lies outside it."""
    around = tmp_path_factory.mktemp("around")
    (around / "outside.csv").write_text(f"{SECRET},{SECRET}\n1,2\n", encoding="utf-8")
    (around / "outside.toml").write_text(HALF.replace("# begun", f"# {SECRET}"), encoding="utf-8")
    inside = around / "jobs"
    inside.mkdir()
    twin(inside)
    half(inside)
    (inside / "link.toml").symlink_to(around / "outside.toml")
    (inside / "away").symlink_to(around)
    return inside


@pytest.fixture(scope="module")
def wire(folder: Path) -> Iterator[Wire]:
    with wired(folder) as one:
        yield one


def raw(wire: Wire, text: str | bytes) -> Got:
    """Return what comes back for something that is sent as it stands."""
    address, _, port = wire.host.partition(":")
    with socket.create_connection((address, int(port)), timeout=PATIENCE) as opened:
        opened.sendall(text if isinstance(text, bytes) else text.encode("latin-1"))
        return got(opened)


def request(wire: Wire, method: str, target: str, *more: str) -> str:
    """Return the head of a request of somebody who was let in."""
    lines = [f"{method} {target} HTTP/1.1", f"Host: {wire.host}", f"Cookie: {wire.cookie}", *more]
    return "\r\n".join([*lines, "", ""])


def posted(wire: Wire, target: str, *more: str) -> str:
    """Return the head of what a page of ours sends."""
    own = (f"Origin: http://{wire.host}", "Content-Type: application/json", f"X-Tallstack-Key: {wire.key}")
    return request(wire, "POST", target, *own, *more)


def test_every_answer_leaves_with_the_policy_and_to_no_other_origin(wire: Wire) -> None:
    sent = posted(wire, "/enter/half", "Content-Length: 2") + "{}"
    for text, status in (
        *(
            (request(wire, "GET", one), 200)
            for one in ("/", "/begin", "/jobs/twin/stack", "/static/page.js", "/door.css")
        ),
        *(
            (request(wire, "GET", one), 404)
            for one in ("/nothing", "/jobs/none", "/jobs/twin/sheet.pdf", "/%2e%2e/x")
        ),
        (request(wire, "OPTIONS", "/enter/half", "Origin: http://evil.example"), 405),
        (sent, 400),
        (sent.replace(f"http://{wire.host}", "null"), 403),
        (sent.replace(wire.key, "x"), 403),
        (sent.replace(wire.cookie, "a=b"), 401),
        (sent.replace("application/json", "text/plain"), 415),
        (sent.replace(f"Host: {wire.host}", "Host: rebound.example"), 421),
        ("GET\r\n\r\n", 400),
    ):
        found = raw(wire, text)
        assert found.status == status, text
        for name, value in POLICY:
            assert found.head.count(f"{name.decode()}: {value.decode()}") == 1, text
        assert not re.search(
            r"^(server|access-control-.*|x-powered-by):", found.head, re.MULTILINE | re.IGNORECASE
        )


@pytest.mark.parametrize(
    "more",
    [
        ("Content-Length: 2", "Content-Length: 40"),
        ("Content-Length: 40", "Content-Length: 2"),
        ("Content-Length: 2, 40",),
        ("Content-Length: 2", "Transfer-Encoding: chunked"),
        ("Transfer-Encoding: chunked", "Content-Length: 2"),
        ("Content-Length: 2", "Transfer-Encoding: xchunked"),
        ("Content-Length: 2", "Transfer-Encoding : chunked"),
        ("Content-Length: 2\r\n Transfer-Encoding: chunked",),
        ("Content-Length: +2",),
        ("Content-Length: 2\x00",),
        ("Content-Length: 2", "Origin: http://evil.example"),
        ("Content-Length: 2", "Host: evil.example"),
        ("Content-Length: 2", "X: \x00"),
        ("Content-Length: 2", "X" * 70_000 + ": x"),
    ],
)
def test_no_request_is_smuggled_behind_another(wire: Wire, folder: Path, more: tuple[str, ...]) -> None:
    """What is refused answers once at most with what it was refused for, and what stands behind it enters nothing."""
    before = (folder / "half.toml").read_bytes()
    said = json.dumps({"loc": ["stack", "cylinder"], "typed": "1", "was": "109.5 +/- 0.1"})
    behind = posted(wire, "/enter/half", f"Content-Length: {len(said)}").replace(wire.key, "x") + said
    found = raw(wire, posted(wire, "/undo/half", *more) + f"2\r\n{{}}\r\n0\r\n\r\n{behind}")
    assert found.status in (400, 403, 413, 421), found
    assert (folder / "half.toml").read_bytes() == before
    assert raw(wire, request(wire, "GET", "/")).status == 200


@pytest.mark.parametrize(
    "line",
    [
        "GET http://evil.example/ HTTP/1.1",
        "PRI * HTTP/2.0",
        "GET /  x HTTP/1.1",
        "\x16\x03\x01\x02",
        "GET /\x00 HTTP/1.1",
    ],
)
def test_what_is_no_plain_request_is_refused(wire: Wire, line: str) -> None:
    found = raw(wire, request(wire, "GET", "/").replace("GET / HTTP/1.1", line))
    assert found.status in (400, 404, 405), found


def test_nothing_outside_the_folder_is_read(wire: Wire, folder: Path) -> None:
    """By no address, by no link, by no entry that names a file, and by none of the record."""
    for name in (
        "link",
        "away",
        "outside",
        "..%2foutside",
        "%2e%2e/outside",
        "away%2Foutside",
        "a" * 5_000,
        "%00",
        "..%5coutside",
    ):
        for address in (f"/jobs/{name}", f"/jobs/{name}/stack", f"/static/{name}", f"/jobs/{name}/sheet.pdf"):
            found = raw(wire, request(wire, "GET", address))
            assert found.status == 404, address
            assert SECRET.encode() not in found.body
    for loc in (["lobe", "intake", "table"], ["record"], ["shelf"], ["piston", "crown_table"]):
        for name in (
            "../outside.csv",
            "away/outside.csv",
            str(folder.parent / "outside.csv"),
            "/etc/hostname",
        ):
            before = (folder / "twin.toml").read_bytes()
            found_ = wire.post(
                "/enter/twin", {"screen": "all", "owner": "", "loc": loc, "typed": name, "was": None}
            )
            assert found_["told"]["fault"], (loc, name)
            assert SECRET not in json.dumps(found_)
            assert (folder / "twin.toml").read_bytes() == before
    for name in ("../outside", "away/outside", str(folder.parent / "outside")):
        assert wire.post("/copy", {"of": "half", "name": name})["faults"]
        assert wire.post("/begin", {"file": name})["faults"]
    assert sorted(one.name for one in folder.parent.iterdir()) == ["jobs", "outside.csv", "outside.toml"]


class Tags(HTMLParser):
    """What of a page could run."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an image, what stands in no file of its own, and where a link goes."""
        at = dict(attrs)
        if tag in ("img", "iframe", "object", "embed") or (tag == "script" and "src" not in at):
            self.found.append(tag)
        self.found += [name for name in at if name.startswith("on") or name == "style"]
        self.found += [
            str(at["href"]) for _ in "x" if str(at.get("href")).lower().startswith(("javascript:", "data:"))
        ]


def running_parts(page: str) -> list[str]:
    """Return what of a page could run, or be fetched."""
    tags = Tags()
    tags.feed(page)
    return tags.found


NAMES = (
    "a\r\nX-Evil: 1",
    MARKUP.replace("/", ""),
    "javascript:alert(1)",
    'a" onclick="x',
    "&lt;b&gt;",
    "\x1b[2J",
    "\udcff",
    "a\u202eb",
    "%2e%2e",
)


def test_a_name_of_a_file_is_a_name_and_nothing_else(tmp_path: Path) -> None:
    """Neither a header nor markup, nor an address elsewhere."""
    for name in NAMES:
        with contextlib.suppress(OSError):
            half(tmp_path, name)
    app = application(tmp_path)
    listed = ask(app, "/")
    assert listed.status == 200
    assert running_parts(listed.text) == []
    assert "\ufffd.toml (its name is no text; give it another)" in listed.text
    links = re.findall(r'href="(/jobs/[^"]*)"', listed.text)
    for link in links:
        assert re.fullmatch(r"/jobs/[A-Za-z0-9%._~/-]+", link), link
        found = ask(app, link)
        assert found.status in (200, 404), link
        assert "x-evil" not in found.headers
        assert running_parts(found.text) == []


def every_text(text: str, folder: Path) -> Iterator[tuple[list[str | int], Any]]:
    """Yield every place of a job where something stands."""
    yield from ((list(loc), value) for loc, value in leaves(tomllib.loads(text)))


@pytest.mark.parametrize("number", [0, *(pytest.param(one, marks=pytest.mark.wide) for one in range(1, 24))])
def test_what_is_typed_anywhere_is_text(tmp_path: Path, number: int) -> None:
    """Whether it is taken or refused, where it was typed and where it is shown again."""
    path = twin(tmp_path)
    app = application(tmp_path)
    for place, (loc, was) in enumerate(every_text(path.read_text(encoding="utf-8"), tmp_path)):
        if place % 24 != number:
            continue
        for typed in (MARKUP, f'1 mm" {MARKUP}'):
            found = ask(
                app,
                "/enter/twin",
                {"screen": "stack", "owner": MARKUP, "loc": loc, "typed": typed, "was": was, "find": MARKUP},
            )
            assert found.status == 200
            for piece in found.json["parts"].values():
                assert running_parts(str(piece)) == [], loc
    text = path.read_text(encoding="utf-8").replace("front", "fr<img>nt")
    path.write_text(text, encoding="utf-8")
    for screen in SCREENS:
        assert running_parts(ask(app, f"/jobs/twin/{screen}?find={MARKUP.replace(' ', '%20')}").text) == []


def test_what_is_written_down_is_text(tmp_path: Path) -> None:
    twin(tmp_path)
    app = application(tmp_path)
    said = {
        "screen": "set",
        "owner": "front.intake",
        "by": MARKUP,
        "tool": f'"{MARKUP}',
        "note": f"=1+1 {MARKUP}",
        "values": {"lash": "0.2 mm", "drop": MARKUP},
    }
    for values in ({"turns": "1"}, said["values"], {"lash": MARKUP}):
        found = ask(app, "/record/twin", {**said, "values": values}).json
        for piece in found["parts"].values():
            assert running_parts(str(piece)) == []
    for screen in SCREENS:
        for owner in ("", "/front.intake"):
            assert running_parts(ask(app, f"/jobs/twin/{screen}{owner}").text) == []


@pytest.mark.wide
@has_other
def test_codes_guessed_at_once_are_counted_as_those_one_by_one(tmp_path: Path) -> None:
    """Forty at a time have five tries a minute between them."""
    path = half(tmp_path)
    with running(code_of(path, "--network", OTHER)) as process:
        page = Tablet(process)
        page.code()
        statuses: list[int] = []
        threads = [
            threading.Thread(target=lambda one=one: statuses.append(page.type(f"no {one}").status))
            for one in range(40)
        ]
        for one in threads:
            one.start()
        for one in threads:
            one.join(PATIENCE)
        assert sorted(statuses) == [403] * (TRIES - 1) + [429] * (40 - TRIES + 1)
        assert page.type(page.code()).status == 429  # not even the right one for a minute


EDITED = {
    ("stack", "cylinder"): "{} +/- 0.1",
    ("stack", "base_gasket"): "0.{:03} +/- 0.05",
    ("train", 0, "measured_pushrod", "length"): "276.{:03} +/- 0.2",
    ("train", 0, "lifter", "preload"): "1.{:03} mm",
}


@pytest.mark.study
@pytest.mark.parametrize("clients", [1, 4])
def test_a_thousand_edits_as_fast_as_they_go(tmp_path: Path, clients: int) -> None:
    """The last one that was taken stands in the file, of each entry and whoever typed it."""
    path = half(tmp_path)
    last: dict[tuple[str | int, ...], str] = {}
    conflicts = [0]
    with wired(tmp_path) as wire:
        wire.get("/jobs/half/stack")

        def edit(number: int) -> None:
            own = http.client.HTTPConnection(wire.host, timeout=60)
            loc = list(EDITED)[number]
            was: Any = tomllib.loads(HALF)
            for step in loc:
                was = was[step]
            for turn in range(1000 // clients):
                typed = EDITED[loc].format(100 + turn % 20 if number == 0 else 100 + turn)
                if typed == was:
                    continue
                said = {"screen": "stack", "owner": "", "loc": list(loc), "typed": typed, "was": was}
                headers = {
                    "Cookie": wire.cookie,
                    "Origin": f"http://{wire.host}",
                    "Content-Type": "application/json",
                    "X-Tallstack-Key": wire.key,
                }
                own.request("POST", "/enter/half", json.dumps(said), headers)
                found = json.loads(own.getresponse().read())
                if found["told"]["conflict"]:
                    conflicts[0] += 1
                    was = found["now"]
                elif not found["told"]["fault"]:
                    was = last[loc] = typed
            own.close()

        began = time.perf_counter()
        threads = [threading.Thread(target=edit, args=(one,)) for one in range(clients)]
        for one in threads:
            one.start()
        for one in threads:
            one.join(300)
        print(
            f"{clients} clients: {time.perf_counter() - began:.1f} s, {wire.memory():.0f} MB, {conflicts[0]} conflicts"
        )
        assert wire.memory() < 120
    assert len(last) == clients
    assert conflicts == [0]
    text = path.read_text(encoding="utf-8")
    for loc, typed in last.items():
        stands: Any = tomllib.loads(text)
        for step in loc:
            stands = stands[step]
        assert stands == typed
    assert all(one in text for one in ("# read in three places", "# by calipers", "# on one line"))
