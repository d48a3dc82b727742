"""A folder served on this machine for a browser, as the command does, without its guard."""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn
from tallstack.cli.bench.site import application

PATIENT_S = 60.0
ARGUMENTS = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
LEFT = ("Execution context was destroyed", "Cannot find context")  # of a page that is being left
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")


@contextmanager
def served(folder: Path) -> Generator[str]:
    """Serve a folder; yields its address."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    config = uvicorn.Config(application(folder), log_level="critical", access_log=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, args=([listening],), daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = server.force_exit = True
        thread.join(10.0)
        listening.close()


@contextmanager
def chromium() -> Generator[Any]:
    """Yield a browser."""
    from playwright.sync_api import sync_playwright

    found = next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)
    assert found is not None, "install Chromium"
    with sync_playwright() as player:
        started = player.chromium.launch(executable_path=found, args=list(ARGUMENTS))
        yield started
        started.close()


class Opened:
    """A page that is open, with everything that it said."""

    def __init__(self, browser: Any, address: str, wide: int = 1280, high: int = 900, **more: Any) -> None:
        self.page = browser.new_page(viewport={"width": wide, "height": high}, **more)
        self.page.set_default_timeout(15_000)
        self.said: list[str] = []
        self.page.on("console", lambda one: self.said.append(one.text))
        self.page.on("pageerror", lambda one: self.said.append(str(one)))
        self.page.on("dialog", lambda one: (self.said.append(one.message), one.dismiss()))
        self.page.goto(address)

    def field(self, key: str) -> Any:
        return self.page.locator(f"#{key}")

    def enter(self, key: str, typed: str, then: str = "Enter") -> None:
        self.field(key).fill(typed)
        self.field(key).press(then)

    def text(self, css: str) -> str:
        found: str = self.page.locator(css).first.inner_text()
        return found

    def until(self, script: str) -> None:
        """Wait until a script says yes; asked from here, since a page's policy lets no script be made of a text."""
        ends = time.monotonic() + PATIENT_S
        while not self._says(script):
            assert time.monotonic() < ends, script
            self.page.wait_for_timeout(15)

    def _says(self, script: str) -> bool:
        """Ask a script; a page that is being left has nothing to say yet."""
        from playwright.sync_api import Error

        try:
            return bool(self.page.evaluate(script))
        except Error as error:
            if not any(one in error.message for one in LEFT):
                raise
            self.page.wait_for_load_state()
            return False

    def leave(self, act: Callable[[], object]) -> None:
        """Do what leads to another page, and wait until that is there."""
        with self.page.expect_navigation(wait_until="load"):
            act()

    def axe(self) -> list[str]:
        """Return what axe-core finds wrong, which is to be nothing."""
        path = os.environ.get("AXE_CORE")
        assert path, "AXE_CORE names the axe.min.js of axe-core"
        self.page.evaluate(Path(path).read_text(encoding="utf-8"))
        found = self.page.evaluate(f"axe.run({{ runOnly: {list(RULES)} }})")
        return [f"{one['id']}: {node['target']}" for one in found["violations"] for node in one["nodes"]]
