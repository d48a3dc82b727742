"""The command itself, asked over the wire by a browser that was let in, and timed.

python -m tests.cli.bench.wire          p50 and p95 of five worked examples, with an edit every three seconds
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import re
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Generator, Sequence
from pathlib import Path
from typing import Any

from ...commands import DEMO, EXAMPLES

TIMED = {  # what is timed → its job, and an entry with two values of it
    "demo twin": (DEMO, ["stack", "cylinder"], ("5.343 +/- 0.001 in", "5.342 +/- 0.001 in")),
    "taller twin by bench": (EXAMPLES / "taller_twin_by_bench" / "job.toml", ["stack", "head_gasket"], ()),
    "taller twin by coordinates": (
        EXAMPLES / "taller_twin_by_coordinates" / "job.toml",
        ["stack", "head_gasket"],
        (),
    ),
    "pocket to be cut deeper": (
        EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml",
        ["stack", "head_gasket"],
        (),
    ),
    "valves too close": (
        EXAMPLES / "valves_too_close_to_each_other" / "job.toml",
        ["stack", "head_gasket"],
        (),
    ),
}


class Wire:
    """A page that `tallstack bench` serves, and a browser that is let in."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        assert process.stdout is not None
        start = None
        for line in process.stdout:
            if start := re.search(r"http://([\d.]+:\d+)(/start\S+)", line):
                break
        assert start is not None
        self.reads = threading.Thread(target=process.stdout.read, daemon=True)
        self.reads.start()
        self.host = start[1]
        self.line = http.client.HTTPConnection(self.host, timeout=60)
        self.cookie = ""
        answer, _ = self._ask("GET", start[2])
        self.cookie = (answer.getheader("set-cookie") or "").partition(";")[0]
        _, page = self._ask("GET", "/")
        found = re.search(r'name="tallstack-key" content="([^"]+)"', page.decode())
        assert found is not None
        self.key = found[1]

    def _ask(self, method: str, path: str, data: object = None) -> tuple[http.client.HTTPResponse, bytes]:
        headers = {"Cookie": self.cookie}
        if method == "POST":
            headers |= {"Origin": f"http://{self.host}", "Content-Type": "application/json"}
        headers |= {"X-Tallstack-Key": self.key} if hasattr(self, "key") else {}
        body = None if data is None else json.dumps(data)
        self.line.request(method, path, body, headers)
        answer = self.line.getresponse()
        return answer, answer.read()

    def get(self, path: str) -> bytes:
        """Return what stands at an address."""
        answer, body = self._ask("GET", path)
        assert answer.status == 200, (path, answer.status, body)
        return body

    def post(self, path: str, data: object) -> Any:
        """Return what a request brings back."""
        answer, body = self._ask("POST", path, data)
        assert answer.status == 200, (path, answer.status, body)
        return json.loads(body)

    def enter(self, name: str, loc: Sequence[str | int], typed: str, was: object) -> Any:
        """Enter a value as the page of the stack does."""
        said = {"screen": "stack", "owner": "", "loc": loc, "typed": typed, "was": was}
        return self.post(f"/enter/{name}", said)

    def stream(self) -> tuple[list[tuple[float, dict[str, Any]]], http.client.HTTPConnection]:
        """Return a list into which everything that the page is told goes, each with its moment."""
        told: list[tuple[float, dict[str, Any]]] = []
        line = http.client.HTTPConnection(self.host, timeout=600)
        line.request("GET", f"/stream?key={self.key}", headers={"Cookie": self.cookie})
        answer = line.getresponse()

        def listen() -> None:
            with contextlib.suppress(OSError, ValueError, AttributeError, http.client.HTTPException):
                while one := answer.readline():
                    if one.startswith(b"data: "):
                        told.append((time.perf_counter(), json.loads(one[6:])))

        threading.Thread(target=listen, daemon=True).start()
        return told, line

    def memory(self) -> float:
        """Return how much memory the server itself takes [MB]."""
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        found = re.search(r"VmRSS:\s+(\d+)", status)
        assert found is not None
        return int(found[1]) / 1024


@contextlib.contextmanager
def wired(folder: Path) -> Generator[Wire]:
    """Serve a folder by the command."""
    command = (
        sys.executable,
        "-c",
        "from tallstack.cli.app import main; main()",
        "bench",
        str(folder),
        "--no-browser",
    )
    environment = {name: value for name, value in os.environ.items() if not name.startswith("COV")}
    process = subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=environment,
    )
    wire = Wire(process)
    try:
        yield wire
    finally:
        wire.line.close()
        process.send_signal(signal.SIGINT)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(10)
        wire.reads.join(10)
        assert process.stdout is not None
        process.stdout.close()


def timed(name: str, edits: int, apart_s: float) -> dict[str, list[float]]:
    """Return ms of each edit: the round trip, and from sending it until each stage is told."""
    job, loc, values = TIMED[name]
    found: dict[str, list[float]] = {"round trip": [], "clearance": [], "whole": []}
    with tempfile.TemporaryDirectory() as folder:
        for one in job.parent.iterdir():
            if one.suffix in (".toml", ".csv") and (one == job or one.suffix == ".csv"):
                shutil.copy(one, folder)
        with wired(Path(folder)) as wire:
            stem = job.stem
            wire.get(f"/jobs/{stem}/stack")
            told, line = wire.stream()
            was = _entry(Path(folder) / job.name, loc)
            values = values or (f"{_grown(was)}", str(was))
            _wait(told, "whole", 0)
            for edit in range(edits):
                typed, count = values[edit % 2], len(told)
                began = time.perf_counter()
                answer = wire.enter(stem, loc, typed, was)
                found["round trip"].append((time.perf_counter() - began) * 1000)
                assert not answer["told"]["fault"], answer["told"]
                was = _entry(Path(folder) / job.name, loc)
                time.sleep(apart_s)
                for at, one in told[count:]:
                    if one.get("hash") == answer["hash"] and one["stage"] in found:
                        found[one["stage"]].append((at - began) * 1000)
            line.close()
    return found


def _wait(told: list[tuple[float, dict[str, Any]]], stage: str, start: int) -> None:
    ends = time.monotonic() + 60
    while not any(one["stage"] == stage for _, one in told[start:] if "stage" in one):
        assert time.monotonic() < ends, told
        time.sleep(0.05)


def _entry(path: Path, loc: Sequence[str | int]) -> Any:
    import tomllib

    found: Any = tomllib.loads(path.read_text(encoding="utf-8"))
    for step in loc:
        found = found[step]
    return found


def _grown(was: Any) -> str:
    """Return a value with its last digit one more."""
    number, space, more = str(was).partition(" ")
    places = len(number.partition(".")[2])
    return f"{float(number) + 10.0**-places:.{places}f}{space}{more}"


def p(values: Sequence[float], share: float) -> float:
    """Return the value that so great a share of them does not exceed."""
    ranked = sorted(values)
    return ranked[min(int(share * len(ranked)), len(ranked) - 1)]


if __name__ == "__main__":
    for one in sys.argv[1:] or TIMED:
        for what, ms in timed(one, 20, 3.0).items():
            if ms:
                print(
                    f"{one}, {what}: p50 {statistics.median(ms):.0f} ms, p95 {p(ms, 0.95):.0f} ms, {len(ms)} told",
                    flush=True,
                )
