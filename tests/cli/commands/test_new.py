"""`tallstack new` as a person meets it, on a terminal, and what it leaves alone."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest
from tallstack.cli.guide.guide import Guide
from tallstack.cli.job.document import leaves

from ...commands import tallstack
from ...documents import ROOT, files_shown
from ...job_texts import refused
from ...seeded import few
from ...sessions import (
    ENDS,
    EXHAUST,
    INTAKE,
    SIX,
    STACK,
    START,
    TWIN,
    WHOLE,
    after,
    answer_to,
    answers_to,
    lengths,
)

SINGLE = files_shown(ROOT / "README.md")["single.toml"]


def test_the_answers_of_the_readme_give_the_job_of_the_readme(tmp_path: Path) -> None:
    path, same = tmp_path / "asked.toml", tmp_path / "single.toml"
    guide = after(*WHOLE, path=path)
    assert guide.asked is None
    path.write_text(guide.text, encoding="utf-8")
    same.write_text(SINGLE, encoding="utf-8")
    assert lengths(path) == lengths(same)
    assert tallstack("check", path).status == 0  # no answer waits for what is blank
    assert "no faults found" not in tallstack("check", path).err


@pytest.mark.parametrize(
    "train",
    ['port = "intake"\nlifter = { kind = "hydraulic", preload = "0.04 in" }',
     'port = "intake"\nlifter = { kind = "hydraulic" }\n'
     '[train.measured_pushrod]\nlength = "9.4 in"\nas = "overall"\nlean = 3'],
    ids=["no reading", "a reading without its plunger"],
)  # fmt: skip
def test_a_file_begun_by_hand_without_a_blank_is_gone_on_with(folder: Path, train: str) -> None:
    text = f'format = 1\nunits = "in"\n[stack]\ncylinder = "4.31 in"\n[[cylinder]]\nname = "a"\n[[train]]\ncylinder = "a"\n{train}\n'
    (folder / "a.toml").write_text(text, encoding="utf-8")
    session = Terminal(folder, "new", "a.toml")
    assert "going on after the last answer" in session.read()
    session.interrupt()
    assert session.ended() == 130


class Terminal:
    """A session as a person meets it."""

    def __init__(self, folder: Path, *words: str) -> None:
        pty = pytest.importorskip("pty")
        pytest.importorskip("termios")
        self.master, slave = pty.openpty()
        code = "from tallstack.cli.app import main; main()"
        self.process = subprocess.Popen(
            [sys.executable, "-c", code, *words],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            cwd=folder,
            env={**os.environ, "NO_COLOR": "1", "TERM": "dumb"},
            start_new_session=True,
            preexec_fn=own_terminal,
        )
        os.close(slave)
        self.seen = ""

    def read(self, until: str | None = "\n> ") -> str:
        """Return what appears up to a text, or to the end."""
        import select

        new, end = "", time.monotonic() + 30
        while time.monotonic() < end:
            ready, _, _ = select.select([self.master], [], [], 0.2)
            try:
                part = os.read(self.master, 4096).decode() if ready else ""
            except OSError:
                break
            if ready and not part:
                break
            new += part.replace("\r\n", "\n")
            if until is not None and new.endswith(until):
                break
        self.seen += new
        return new

    def say(self, line: str) -> str:
        """Answer, and return what appears up to the next prompt."""
        os.write(self.master, f"{line}\n".encode())
        return self.read()

    def interrupt(self) -> None:
        """Press Ctrl-C as a person does: again, where it fell between the prompt and the wait for a key."""
        for _ in range(30):
            with contextlib.suppress(OSError):
                os.write(self.master, b"\x03")
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(timeout=1)
                return

    def ended(self) -> int:
        """Wait for the end."""
        self.read(None)
        os.close(self.master)
        return self.process.wait(timeout=30)


def own_terminal() -> None:
    import fcntl
    import termios

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # which tests run in the background inherit ignored


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "single.toml").write_text(SINGLE, encoding="utf-8")
    return tmp_path


def test_a_whole_session_on_a_terminal_gives_the_lengths_of_the_readme(folder: Path) -> None:
    session = Terminal(folder, "new", "asked.toml")
    assert "asked.toml: a new job." in session.read()
    for line in WHOLE[:-1]:
        session.say(line)
    bad = session.say("perhaps")
    assert 'Not taken: "perhaps": one or more of valves, compression' in " ".join(bad.split())
    more = session.say("?")
    assert "Enter alone: the same as no." in more
    assert "That was the last question. Enter ends" in session.say("no")
    os.write(session.master, b"\n")
    assert session.ended() == 0
    assert (
        "asked.toml is written. Then run:\ntallstack check asked.toml\ntallstack pushrods asked.toml"
        in session.seen
    )
    assert lengths(folder / "asked.toml") == lengths(folder / "single.toml")
    assert session.seen.translate(str.maketrans("", "", "\u2500\u2502")).isascii()  # lines of drawings beside
    assert "\x1b" not in session.seen
    assert max(map(len, session.seen.splitlines())) <= 80
    assert sorted(one.name for one in folder.iterdir()) == ["asked.toml", "single.toml"]


def test_a_correction_on_a_terminal(folder: Path) -> None:
    session = Terminal(folder, "new", "a.toml", "--units", "mm")
    assert "What is this engine to be called?" in session.read()
    for line in ("", "", "bench", "1", "", "intake", "solid", "", "109.5", "<", "109.4"):
        shown = session.say(line)
    assert "base gasket" in shown
    session.process.kill()
    session.ended()
    document = tomllib.loads((folder / "a.toml").read_text(encoding="utf-8"))
    assert (document["units"], document["stack"]["cylinder"]) == ("mm", 109.4)


@pytest.mark.wide
@pytest.mark.parametrize(("said", "most"), [(SIX, 90), (TWIN, 280)], ids=["in-line six", "twin"])
def test_a_whole_engine_on_a_terminal_interrupted_gone_back_corrected_and_taken_up_again(
    folder: Path, said: dict[str, str], most: int
) -> None:
    """The file is what the same answers make without a terminal; from it come lengths, clearances and a sheet."""
    path, guide = folder / "whole.toml", Guide(folder / "whole.toml")
    every = answers_to(guide, said)
    typed = [line for _, line in every]
    assert len(typed) <= most
    session = Terminal(folder, "new", "whole.toml")
    session.read()
    half = [key for key, _ in every].index("train.3.measured_pushrod.length")
    for line in typed[:half]:
        session.say(line)
    session.say("9.999")  # a slip, gone back over
    assert "Now: 9.999" in session.say("<")
    session.say(typed[half])
    session.interrupt()
    assert session.ended() == 130
    session = Terminal(folder, "new", "whole.toml")
    assert "going on after the last answer" in session.read()
    beside = Guide(path, path.read_text(encoding="utf-8"))  # the same, to know what is asked
    while beside.asked is not None:
        line = answer_to(beside, said)
        beside.say(line)
        session.say(line)
    assert "That was the last question" in session.seen
    os.write(session.master, b"\n")
    assert session.ended() == 0
    made = {
        loc: value for loc, value in leaves(tomllib.loads(path.read_text(encoding="utf-8"))) if value != ""
    }
    assert made == {loc: value for loc, value in leaves(tomllib.loads(guide.text)) if value != ""}
    assert tallstack("pushrods", path).status in (0, 1)
    assert tallstack("clearance", path).status in (0, 1)
    assert tallstack("sheet", path, "-o", folder / "whole.html").status in (0, 1)


@pytest.mark.parametrize("how", few(["interrupt", "end of input"], 1))
def test_what_was_entered_is_kept_and_gone_on_with(folder: Path, how: str) -> None:
    session = Terminal(folder, "new", "a.toml")
    session.read()
    for line in (*START, STACK[0]):
        session.say(line)
    session.interrupt() if how == "interrupt" else os.write(session.master, b"\x04")
    assert session.ended() == 130
    assert "a.toml keeps what was entered; to go on:\ntallstack new a.toml" in session.seen
    before = (folder / "a.toml").read_bytes()
    assert tallstack("check", folder / "a.toml").status == 1
    session = Terminal(folder, "new", "a.toml")
    first = session.read()
    assert "going on after the last answer" in first
    assert "base gasket" in first
    for line in (*STACK[1:], *INTAKE, *EXHAUST, *ENDS):
        session.say(line)
    os.write(session.master, b".\n")
    assert session.ended() == 0
    assert lengths(folder / "a.toml") == lengths(folder / "single.toml")
    assert (folder / "a.toml.bak").read_bytes() == before


def test_a_terminal_that_is_gone_ends_a_session_that_was_told_to_outlive_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = own_terminal

    def outliving() -> None:
        own()
        signal.signal(signal.SIGHUP, signal.SIG_IGN)

    monkeypatch.setattr(sys.modules[__name__], "own_terminal", outliving)
    session = Terminal(folder, "new", "a.toml")
    session.read()
    for line in (*START, STACK[0]):
        session.say(line)
    os.close(session.master)
    assert session.process.wait(timeout=30) == 2  # nothing could be printed any more
    assert tomllib.loads((folder / "a.toml").read_text(encoding="utf-8"))["stack"]["cylinder"] == STACK[0]


def test_a_kill_loses_at_most_the_answer_being_typed(folder: Path) -> None:
    session = Terminal(folder, "new", "a.toml")
    session.read()
    for line in (*START, STACK[0]):
        session.say(line)
    os.write(session.master, b"0.0")
    session.process.send_signal(signal.SIGKILL)
    session.ended()
    assert tomllib.loads((folder / "a.toml").read_text(encoding="utf-8"))["stack"]["cylinder"] == STACK[0]
    assert sorted(one.name for one in folder.iterdir()) == ["a.toml", "single.toml"]


def test_a_whole_job_is_gone_on_with_and_kept_as_it_is(folder: Path) -> None:
    before = (folder / "single.toml").read_text(encoding="utf-8")
    session = Terminal(folder, "new", "single.toml")
    assert "going on after the last answer" in session.read()
    shown = session.say("/intake preload")
    assert "Now: 0.040 in; Enter keeps it" in shown
    session.say("0.050 in")
    os.write(session.master, b".\n")
    assert session.ended() == 0
    after = (folder / "single.toml").read_text(encoding="utf-8")
    assert after == before.replace('preload = "0.040 in"', 'preload = "0.050 in"', 1)


def test_what_is_no_job_is_not_touched(folder: Path) -> None:
    (folder / "notes.toml").write_text("not a job = [\n", encoding="utf-8")
    session = Terminal(folder, "new", "notes.toml")
    assert session.ended() == 2
    assert "notes.toml:1" in session.seen
    assert (folder / "notes.toml").read_text(encoding="utf-8") == "not a job = [\n"


def test_what_somebody_else_wrote_meanwhile_stays(folder: Path) -> None:
    session = Terminal(folder, "new", "a.toml")
    session.read()
    session.say("in")
    path = folder / "a.toml"
    path.write_text(path.read_text(encoding="utf-8") + "# edited\n", encoding="utf-8")
    session.say("Title")
    path.write_text(path.read_text(encoding="utf-8").replace('"in"', '"mm"'), encoding="utf-8")
    session.say("pushrods")
    os.write(session.master, b".\n")
    assert session.ended() == 0
    text = path.read_text(encoding="utf-8")
    document = tomllib.loads(text)
    assert "# edited\n" in text
    assert (document["units"], document["title"], document["wanted"]) == ("mm", "Title", ["pushrods"])


def test_a_file_that_an_editor_broke_is_told_and_left_alone(folder: Path) -> None:
    session = Terminal(folder, "new", "a.toml")
    session.read()
    session.say("in")
    (folder / "a.toml").write_text('format = 1\nunits = "in\n', encoding="utf-8")
    os.write(session.master, b"Title\n")
    assert session.ended() == 2
    assert "a.toml:2" in session.seen
    assert (folder / "a.toml").read_text(encoding="utf-8") == 'format = 1\nunits = "in\n'


def test_without_a_terminal_it_says_what_is_missing(tmp_path: Path) -> None:
    ended = tallstack("new", tmp_path / "job.toml")
    assert ended.status == 2
    assert re.match(r"no terminal to ask on; run it on one, or add --blank", ended.err)
    assert not list(tmp_path.iterdir())
    ended = tallstack("new", tmp_path / "job.toml", "--units", "cm")
    assert ended.err == '--units cm: takes "mm" or "in"\n'


def listed(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*"))


def test_new_overwrites_nothing(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("mine", encoding="utf-8")
    ended = tallstack("new", path, "--blank")
    assert ended.status == 2
    assert path.read_text(encoding="utf-8") == "mine"
    assert listed(tmp_path) == ["job.toml"]
    assert tallstack("new", path, "--blank", "--force").status == 0
    assert listed(tmp_path) == ["job.toml"]


def test_new_does_not_overwrite(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("mine")
    told = refused("new", path, "--blank")
    assert told == f"{path}: exists and is not overwritten; name another file or add --force\n"
    assert path.read_text() == "mine"
    assert tallstack("new", path, "--blank", "--force").status == 0
    assert path.read_text() != "mine"


def test_new_in_a_folder_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "nowhere" / "job.toml"
    told = refused("new", path, "--blank")
    assert told == f"{path}: folder {path.parent} does not exist; make it first\n"
    assert list(tmp_path.iterdir()) == []


def test_new_in_a_folder_that_is_a_file(tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("mine")
    told = refused("new", taken / "job.toml", "--blank")
    assert told == f"{taken / 'job.toml'}: folder {taken} is a file; name another\n"


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("job.toml", "job.toml"),
        ("My job.toml", '"My job.toml"'),
        ("it's (2).toml", '"it\'s (2).toml"'),
        ("cost $5.toml", "'cost $5.toml'"),
    ],
)
def test_command_to_copy_is_quoted_and_on_a_line_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, typed: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert f"\ntallstack new {typed} --blank\n" in refused("new", name)
    ended = tallstack("new", name, "--blank")
    assert f"\ntallstack check {typed}\n" in ended.out


def test_new_onto_a_link(tmp_path: Path) -> None:
    path, target = tmp_path / "job.toml", tmp_path / "elsewhere.toml"
    path.symlink_to(target)
    told = refused("new", path, "--blank")
    assert told == f"{path}: exists and is not overwritten; name another file or add --force\n"
    assert not target.exists()


def test_new_onto_a_folder(tmp_path: Path) -> None:
    assert refused("new", tmp_path, "--blank") == f"{tmp_path}: a folder; name a file in it\n"
    assert refused("new", tmp_path, "--blank", "--force") == f"{tmp_path}: a folder; name a file in it\n"
    assert list(tmp_path.iterdir()) == []


def test_new_in_units_that_no_job_has(tmp_path: Path) -> None:
    told = refused("new", tmp_path / "job.toml", "--blank", "--units", "cm")
    assert told == '--units cm: takes "mm" or "in"\n'
    assert list(tmp_path.iterdir()) == []
