"""`tallstack bench`: what it refuses, what its terminal says, who is let in over a network, and that in a real browser.

The page itself is a small one here; what stands on it has its own tests. "The other address" of this machine is 127.0.0.2.
What needs Chromium is marked `browser`; axe-core takes its axe.min.js from `AXE_CORE`.
"""

from __future__ import annotations

import http.server
import os
import re
import signal
import socket
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tallstack.cli.commands.bench import place
from tallstack.cli.files import OutputRefusedError
from tallstack.cli.page.wording import IN_SHORT

from ...commands import BENCH, tallstack
from ..bench.in_browser import chromium
from ..bench.served import PATIENCE, SITE, Got, Page, running

OTHER = "127.0.0.2"
WORDS_OF_WAIT = 0.3  # s that stand for the minute
has_other = pytest.mark.skipif(sys.platform != "linux", reason="has one loopback address alone")


def code_of(*words: str | Path, waits: float = 60.0) -> str:
    """Return the code that runs the command with the small page."""
    return f"""{SITE}
site = types.ModuleType("site")
site.application = application
sys.modules["tallstack.cli.bench.site"] = site
from tallstack.cli.bench import door
door.WAIT = {waits}
sys.argv = {["tallstack", "bench", *map(str, words)]!r}
from tallstack.cli.app import main
main()
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "a twin.toml"
    path.write_bytes(BENCH.read_bytes())
    return path


def test_a_file_opens_its_page_and_a_folder_the_list_of_them(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert place(job) == (job.parent, "/jobs/a%20twin/stack")
    assert place(job.parent) == (job.parent, "/")
    monkeypatch.chdir(job.parent)
    assert place(None) == (Path(), "/")
    assert place(Path(job.name)) == (Path(), "/jobs/a%20twin/stack")
    (job.parent / "folder.toml").mkdir()
    assert place(Path("folder.toml"))[1] == "/"


def test_what_is_no_job_of_a_folder_is_refused(job: Path) -> None:
    link, table = job.with_name("link.toml"), job.with_name("table.csv")
    link.symlink_to(job)
    table.write_text("", encoding="utf-8")
    for path, said in (
        (job.with_name("none.toml"), "no such file or folder; `tallstack new FILE --blank` starts one"),
        (job.with_name("none"), "no such file or folder; name a folder"),
        (job / "none.toml", "cannot be read: Not a directory"),
        (link, "a link"),
        (table, "a job's file ends in .toml"),
        (Path(os.devnull), "no plain file"),
    ):
        with pytest.raises(OutputRefusedError, match=re.escape(said)):
            place(path)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("bench", "none.toml"), "none.toml: no such file"),
        (("bench", ".", "--network", "0.0.0.0"), "stands for more than one address"),
        (("bench", ".", "--network", "localhost"), "no name"),
        (("bench", ".", "--network", "203.0.113.9"), "203.0.113.9: not an address of this machine"),
        (("bench", ".", "--network", "ask"), "--network ask: "),
        (("bench", ".", "--port", "65536"), "--port 65536: takes 1 to 65535"),
        (("bench", ".", "--port", "-1"), "--port -1: takes 1 to 65535"),
        (("--allow-outside", "bench", ".", "--network", OTHER), "not together with --allow-outside"),
    ],
)
def test_what_cannot_be_served_is_said_in_one_line(words: tuple[str, ...], said: str) -> None:
    ended = tallstack(*words)
    assert (ended.status, ended.out, ended.err.count("\n")) == (2, "", 1)
    assert said in ended.err


def test_a_port_that_is_taken_is_said() -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        ended = tallstack("bench", ".", "--port", str(other.getsockname()[1]))
    assert ended.status == 2
    assert "another program has it" in ended.err


def end(page: Page) -> str:
    """End a page by Ctrl-C and return all that its terminal said."""
    page.process.send_signal(signal.SIGINT)
    said, _ = page.process.communicate(timeout=PATIENCE)
    return "".join(page.said) + said


@pytest.mark.skipif(os.name != "posix", reason="is sent a signal")
def test_on_this_machine_a_browser_is_led_to_the_job_and_ctrl_c_ends_it(job: Path) -> None:
    with running(code_of(job, "--no-browser")) as process:
        page = Page(process)
        assert page.address == "127.0.0.1"
        assert page.led_to == "/jobs/a%20twin/stack"
        said = end(page)
    assert process.returncode in (0, 130)  # 0 where whoever started it ignores Ctrl-C
    first, where, *more, last = said.splitlines()
    assert first == f"tallstack bench: the jobs of {job.parent.resolve()}"
    assert where == f"at http://{page.host}/, for this machine alone"
    assert " ".join(more).startswith(IN_SHORT)
    assert last == "Closed. What was taken stands in the files."
    assert "A browser was let in: 127.0.0.1.\n" in said
    assert "Traceback" not in said


@pytest.mark.skipif(os.name != "posix", reason="has no screen without")
def test_where_no_browser_opens_the_address_is_said(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("BROWSER", "false")
    with running(code_of(job.parent)) as process:
        page = Page(process)
        assert page.led_to == "/"
        assert "No browser opened." in end(page)


class Tablet(Page):
    """A browser that comes over the network, and what the terminal says meanwhile."""

    def enter(self) -> None:
        start = self.until(r"http://([\d.]+):(\d+)/")
        self.address, self.port = start[1], int(start[2])
        self.cookie = "none=none"
        self.host = f"{self.address}:{self.port}"

    def code(self) -> str:
        """Return the code that the terminal shows next."""
        return self.until(r"The code is (\d{4} \d{4}), good once and for 5 minutes")[1]

    def type(self, code: str, host: str = "") -> Got:
        """Send the form with a code."""
        body = f"code={code.replace(' ', '+')}"
        more = (f"Origin: http://{self.host}", "Content-Type: application/x-www-form-urlencoded")
        text = self.request("POST", "/code", *more, f"Content-Length: {len(body)}") + body
        return self.ask(text.replace(f"Host: {self.host}", f"Host: {host or self.host}"))


@has_other
def test_over_a_network_the_terminals_code_lets_in(job: Path) -> None:
    with running(code_of(job, "--network", OTHER, waits=WORDS_OF_WAIT)) as process:
        page = Tablet(process)
        assert page.address == OTHER
        with socket.socket() as here:
            assert here.connect_ex(("127.0.0.1", page.port)) != 0
        code = page.code()
        form = page.ask(page.request("GET", "/"))
        assert form.status == 401
        assert b"8 digits that the terminal shows" in form.body
        for host in ("127.0.0.1", "localhost", OTHER):
            assert page.type(code, host=host).status in (400, 421)
        assert [page.type("no").status for _ in range(5)] == [403] * 4 + [429]
        new = page.code()
        assert page.type(code).status == 429
        assert page.type(new).status == 429
        time.sleep(WORDS_OF_WAIT)
        page.let_in(page.type(new))
        assert page.led_to == "/jobs/a%20twin/stack"
        assert page.ask(page.request("GET", "/")).status == 200
        assert page.type(new).status == 403
        said = end(page)
    assert "Anybody on this network can see what is sent; only on one that you trust." in said
    assert re.findall(r"A wrong code from (\S+), (\d) of 5", said) == [
        ("127.0.0.1", f"{one}") for one in range(1, 6)
    ]
    assert "/start" not in said


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@has_other
@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_form_for_the_code_in_a_browser(browser: Any, job: Path, scheme: str) -> None:
    axe = os.environ.get("AXE_CORE")
    if not axe:
        pytest.skip("AXE_CORE names no axe.min.js")
    with running(code_of(job, "--network", OTHER)) as process:
        page = Tablet(process)
        code = page.code()
        tab = browser.new_context(color_scheme=scheme, viewport={"width": 320, "height": 640}).new_page()
        tab.goto(f"http://{page.host}/")
        looked = browser.new_context(color_scheme=scheme, bypass_csp=True).new_page()
        looked.goto(f"http://{page.host}/")
        looked.evaluate(Path(axe).read_text(encoding="utf-8"))
        assert looked.evaluate("axe.run().then(found => found.violations.map(one => one.id))") == []
        sizes = (
            "[...document.querySelectorAll('input, button')].map(one => one.getBoundingClientRect().height)"
        )
        assert min(tab.evaluate(sizes)) >= 56
        assert tab.evaluate("document.documentElement.scrollWidth") == 320
        tab.keyboard.type("1")  # the field has the focus
        tab.keyboard.press("Enter")
        assert tab.get_by_role("alert").inner_text().startswith("That is not the code.")
        tab.get_by_label("digits").fill(code)
        tab.get_by_role("button").click()
        tab.wait_for_url("**/jobs/a%20twin/stack")


class Stranger(http.server.BaseHTTPRequestHandler):
    """A page of another port of this machine."""

    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(b"<!doctype html><title>another</title>")

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""


STRANGE = """async ([url, key]) => {
    const found = [];
    const sent = {method: "POST", credentials: "include", body: "{}"};
    for (const how of [{}, {mode: "no-cors"}, {credentials: "include"}, {mode: "no-cors", credentials: "include"}, sent,
        {...sent, mode: "no-cors"}, {...sent, headers: {"content-type": "application/json", "x-tallstack-key": key}}]) {
        try { found.push((await fetch(url + (how.body ? "put" : ""), how)).type) } catch { found.push("failed") }
    }
    const frame = document.body.appendChild(document.createElement("iframe"));
    await new Promise(then => { frame.onload = then; frame.src = url });
    try { found.push(frame.contentDocument ? "read" : "none") } catch { found.push("none") }
    for (const tag of ["img", "script"]) {
        const one = document.createElement(tag);
        found.push(await new Promise(then => {
            one.onload = () => then("read");
            one.onerror = () => then("failed");
            one.src = url;
            document.body.append(one);
        }));
    }
    const opened = [() => new EventSource(url + "stream?key=" + key, {withCredentials: true}), () => new WebSocket(url.replace("http", "ws"))];
    for (const begun of opened) {  // one after the other: an error that nobody listens for yet is never told again
        const one = begun();
        found.push(await new Promise(then => { one.onopen = () => then("read"); one.onerror = () => then("failed") }));
        one.close();
    }
    navigator.sendBeacon(url + "put", "{}");
    return found;
}"""


@pytest.mark.browser
def test_a_page_of_another_port_neither_reads_nor_writes(browser: Any, job: Path) -> None:
    """Though the browser sends it our cookie, which knows no ports."""
    with running(code_of(job, "--no-browser")) as process:
        page = Page(process)
        context = browser.new_context()
        name, value = page.cookie.split("=")
        context.add_cookies(
            [{"name": name, "value": value, "url": f"http://{page.host}/", "sameSite": "Strict"}]
        )
        own = context.new_page()
        own.goto(f"http://{page.host}/")
        assert own.inner_text("body") == page.key
        with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Stranger) as server:
            threading.Thread(target=server.serve_forever, daemon=True).start()
            tab = context.new_page()
            statuses: list[int] = []
            tab.on("response", lambda one: statuses.append(one.status) if page.host in one.url else None)
            tab.goto(f"http://127.0.0.1:{server.server_port}/")
            found = tab.evaluate(STRANGE, [f"http://{page.host}/", page.key])
            for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
                tab.goto(f"http://127.0.0.1:{server.server_port}/")
                tab.set_content(
                    f'<form method="post" enctype="{kind}" action="http://{page.host}/put"><input name="a"><button></button></form>'
                )
                tab.click("button")
                tab.wait_for_url(f"http://{page.host}/put")
                assert "Another page asked for this" in tab.inner_text("body")
            server.shutdown()
        assert set(found) <= {"failed", "none"}
        assert len(found) == 12
        assert set(statuses) == {403}
