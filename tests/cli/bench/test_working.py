"""What is worked out beside the page: the newest text first, each for the text it belongs to, and again where it is ended."""

from __future__ import annotations

import os
import signal
import threading
import time
import types
from multiprocessing import Pipe
from pathlib import Path
from typing import Any

import pytest
from tallstack.cli.bench.working import (
    BUILT,
    CLEARANCE,
    ENDED,
    FOLDER,
    MENDS,
    SHEET,
    WHOLE,
    Asked,
    Built,
    Clearance,
    Told,
    Whole,
    Working,
    stages,
)

from ...commands import EXAMPLES, TWIN
from .jobs import half, twin

LIGHT = EXAMPLES / "taller_twin_by_bench" / "job.toml"
TWO_VALVES = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"
PATIENT_S = 60.0


def of(path: Path, text: str = "", name: str = "") -> Asked:
    text = text or path.read_text(encoding="utf-8")
    return Asked(path, text, name or str(hash(text)))


class Heard:
    """What was told, and a way to wait for it."""

    def __init__(self) -> None:
        self.told: list[Told] = []
        self.changed = threading.Condition()

    def __call__(self, told: Told) -> None:
        with self.changed:
            self.told.append(told)
            self.changed.notify_all()

    def wait(self, stage: str, of: str) -> Told:
        def there() -> Told | None:
            return next((one for one in self.told if (one.stage, one.hash) == (stage, of)), None)

        with self.changed:
            assert self.changed.wait_for(lambda: there() is not None, PATIENT_S), (stage, of, self.told)
        found = there()
        assert found is not None
        return found


def test_the_quickest_comes_first_and_each_is_what_the_commands_work_out() -> None:
    told = dict(stages(of(LIGHT)))
    assert list(told) == [CLEARANCE, BUILT, WHOLE, MENDS]
    assert isinstance(told[CLEARANCE], Clearance)
    assert isinstance(told[BUILT], Built)
    assert isinstance(told[WHOLE], Whole)
    assert told[MENDS] == ()


def test_a_lobe_is_drawn_as_it_lifts() -> None:
    told = dict(stages(of(TWIN)))[CLEARANCE]
    curves = dict(told.curves)
    assert list(curves) == ["intake", "exhaust"]
    angle, lift = max(curves["intake"], key=lambda one: one[1])
    assert lift == pytest.approx(0.327 * 25.4, abs=0.03)
    assert angle == pytest.approx(106, abs=4)
    assert curves["intake"][0][1] < 0.1 > curves["intake"][-1][1]


def test_what_would_mend_a_short_clearance_comes_last() -> None:
    told = dict(stages(of(TWO_VALVES)))
    assert [whose for whose, _ in told[MENDS]] == ["left"]
    assert any("valve to valve" in one for one in told[WHOLE].band.stop)


def test_a_table_that_cannot_be_read_is_told_in_words(tmp_path: Path) -> None:
    path = half(tmp_path)
    (tmp_path / "odd.csv").write_text("angle,lift\n0,far\n", encoding="utf-8")
    text = (
        path.read_text(encoding="utf-8")
        + '\n[lobe.intake]\ntable = "odd.csv"\nmeasured_at = "lifter"\nangle = "crank"\n'
    )
    told = dict(stages(of(path, text)))
    assert "odd.csv" in told[CLEARANCE]


def test_of_a_text_that_cannot_be_nothing_is_told(tmp_path: Path) -> None:
    path = half(tmp_path)
    assert list(stages(of(path, "format = 7\n"))) == []


def test_a_folder_is_told_job_by_job(tmp_path: Path) -> None:
    half(tmp_path, "a")
    half(tmp_path, "b")
    (tmp_path / "c.toml").write_text("[stack\n", encoding="utf-8")
    told = list(stages(Asked(tmp_path, "", "folder")))
    assert [(stage, one.name) for stage, one in told] == [(FOLDER, "a.toml"), (FOLDER, "b.toml")]


def test_the_newest_text_is_told_and_an_ended_process_is_replaced(tmp_path: Path) -> None:
    heard = Heard()
    working = Working(heard)
    path = half(tmp_path)
    text = path.read_text(encoding="utf-8")
    try:
        for number in range(5):
            working.ask(of(path, text.replace("109.5", f"109.{number}"), f"text {number}"))
        assert isinstance(heard.wait(WHOLE, "text 4").found, Whole)
        order = [one.hash for one in heard.told]
        assert order == sorted(order)  # never an older one after a newer
        (process,) = working.processes()[:1]
        os.kill(process, signal.SIGKILL)
        deadline = time.monotonic() + PATIENT_S
        while process in working.processes() and time.monotonic() < deadline:
            time.sleep(0.02)
        working.ask(of(path, text, "after"))
        assert isinstance(heard.wait(WHOLE, "after").found, Whole)
    finally:
        working.close()
    assert working.processes() == ()


@pytest.mark.wide
def test_one_that_is_ended_at_work_says_so(tmp_path: Path) -> None:
    heard = Heard()
    working = Working(heard)
    try:
        working.ask(of(twin(tmp_path), name="twin"))
        heard.wait(CLEARANCE, "twin")
        os.kill(working.processes()[0], signal.SIGKILL)
        assert heard.wait(WHOLE, "twin").found == ENDED
    finally:
        working.close()


@pytest.mark.wide
def test_another_job_goes_first_and_the_one_before_goes_on_after_it(tmp_path: Path) -> None:
    heard = Heard()
    working = Working(heard)
    first, second = twin(tmp_path), half(tmp_path)
    try:
        working.ask(of(first, name="first"))
        heard.wait(CLEARANCE, "first")
        working.ask(of(second, name="second"))
        heard.wait(WHOLE, "second")
        heard.wait(WHOLE, "first")
        stage_of = [(one.stage, one.hash) for one in heard.told]
        assert stage_of.index((WHOLE, "second")) < stage_of.index((WHOLE, "first"))
    finally:
        working.close()


@pytest.mark.wide
def test_a_sheet_is_written_beside_the_job(tmp_path: Path) -> None:
    path = half(tmp_path)
    out = tmp_path / "half.sheet.pdf"
    told: list[tuple[str, Any]] = list(stages(of(path)._replace(sheet=out)))
    assert told == [(SHEET, "")]
    assert out.read_bytes().startswith(b"%PDF")


def test_a_pipe_that_is_closed_in_the_middle_of_a_message_ends_in_silence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of `_listen` alone: a real pipe, closed behind how long the message is and before what it says, where it calls `_recv`."""
    here, there = Pipe()
    read = here._recv  # type: ignore[attr-defined]

    def closing(size: int) -> Any:
        found = read(size)
        here.close()
        return found

    monkeypatch.setattr(here, "_recv", closing, raising=False)
    there.send("told")
    helper: Any = types.SimpleNamespace(pipe=here, asked=None, since=0.0)
    working = Working(lambda _: None)
    working._listen(helper)
    working.close()
    there.close()
    assert here.closed
