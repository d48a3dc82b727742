"""One job gives the same bytes wherever it is worked out: in any locale, home, terminal, folder or mode of Python.

Figures, measured on two cores with CPython 3.11:

- every command of the tour in 18 places, `-m study`, 9 min; CPython 3.11, 3.12 and 3.13, newest and lowest
  dependencies, 5½ min: the same JSON, pictures and sheets, byte for byte; limit: the same
"""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Generator, Mapping
from pathlib import Path
from typing import NamedTuple

import pytest

from .commands import EXAMPLES, FAULTS
from .seeded import few

LOBE = FAULTS / "lobe_command" / "good.csv"
DAY, WHEN = "2026-03-14", "2026-03-14T16:05:00+01:00"
JSON = (
    ("pushrods", "job.toml", "--json"),
    ("check", "job.toml", "--json"),
    ("clearance", "job.toml", "--json"),
    ("fits", "job.toml", "--json"),
    ("risk", "job.toml", "--json", "--draws", "2000", "--cores", "2"),
    ("swap", "job.toml", "--from", "job.toml", "--json"),
    ("explain", "job.toml", "front.intake", "--json"),
    ("lobe", "lobe.csv", "--json"),
    ("measure", "--json"),
    (
        "record",
        "job.toml",
        "front.intake",
        "--preload",
        "1.0 +/- 0.1 mm",
        "--by",
        "Ann",
        "--when",
        WHEN,
        "--json",
    ),
    ("schema",),
)
WRITTEN = {
    "gear.svg": ("draw", "job.toml", "-o", "gear.svg"),
    "gear.png": ("draw", "job.toml", "-o", "gear.png"),
    "sections.svg": ("draw", "job.toml", "--section", "-o", "sections.svg"),
    "clear.svg": ("clearance", "job.toml", "--plot", "clear.svg"),
    "lobe.pdf": ("lobe", "lobe.csv", "--plot", "lobe.pdf"),
    "sheet.html": ("sheet", "job.toml", "-o", "sheet.html", "--date", DAY),
    "sheet.pdf": ("sheet", "job.toml", "-o", "sheet.pdf", "--date", DAY),
    "list.html": ("measure", "-o", "list.html"),
    "new.toml": ("new", "new.toml", "--blank"),
    "demo/twin.toml": ("demo", "demo"),
}
HELPED = ("--help", "draw --help", "record --help")
ANOTHER = (  # somebody without a home or a name, who may read everything and write nothing of ours
    *("setpriv", "--reuid", "12345", "--regid", "12345", "--clear-groups"),
    *("--inh-caps", "+dac_read_search", "--ambient-caps", "+dac_read_search"),
)
READ_ONLY = (  # every disk but the one that is worked on
    *("unshare", "-m", "sh", "-c"),
    'cd "$HERE" && mount --bind . . && cd "$HERE" && mount -o remount,ro,bind / && exec "$@"',
    "sh",
)
pytestmark = pytest.mark.skipif(os.name != "posix", reason="of a POSIX system's places")


class Place(NamedTuple):
    """Where the command line is run."""

    env: Mapping[str, str | None] = {}
    python: tuple[str, ...] = ()
    before: tuple[str, ...] = ()  # what starts it
    draws: bool = False  # it is pictures that could go wrong there


OFTEN = ("cp1252", "another order of sets")  # the others before a change lands
PLACES = {
    "C": Place({"LC_ALL": "C"}),
    "ascii": Place(
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"}
    ),
    "cp1252": Place({"PYTHONUTF8": "0", "PYTHONIOENCODING": "cp1252"}),
    "Turkish": Place({"LC_ALL": "tr_TR.UTF-8", "LOCPATH": "LOCALES"}),
    "German": Place({"LC_ALL": "de_DE.UTF-8", "LOCPATH": "LOCALES"}),
    "nobody's": Place({"HOME": None, "PYTHONDONTWRITEBYTECODE": None}, before=ANOTHER),
    "nobody's pictures": Place({"HOME": None, "PYTHONDONTWRITEBYTECODE": None}, before=ANOTHER, draws=True),
    "no folder for fonts": Place({"MPLCONFIGDIR": "/proc/none"}, draws=True),
    "no TMPDIR": Place({"TMPDIR": "/proc/none"}),
    "read-only": Place({"TMPDIR": "/proc/none", "HOME": "/proc/none"}, before=READ_ONLY, draws=True),
    "narrow": Place({"COLUMNS": "40"}),
    "coloured": Place({"FORCE_COLOR": "1", "CLICOLOR_FORCE": "1", "TERM": "xterm-256color"}),
    "no terminal's name": Place({"TERM": None, "NO_COLOR": "1"}),
    "a time zone that is none": Place({"TZ": "XYZ-25:30"}),
    "without docstrings": Place(python=("-OO",)),
    "every warning a fault": Place(python=("-W", "error", "-X", "dev")),
    "another order of sets": Place({"PYTHONHASHSEED": "77"}),
    "without a network": Place(before=("unshare", "-n")),
}


@pytest.fixture(scope="session")
def locales() -> Generator[Path]:
    """Where this test's locales are."""
    with tempfile.TemporaryDirectory() as made:
        Path(made).chmod(0o755)
        yield Path(made)


@pytest.fixture
def folder() -> Generator[Path]:
    """A folder deep in others, with spaces and umlauts in its path, that anybody may write in."""
    with tempfile.TemporaryDirectory() as made:
        Path(made).chmod(0o755)
        deep = Path(made) / ("Zylinder für Zylinder " * 4) / ("d" * 140) / "a b"
        deep.mkdir(parents=True)
        deep.chmod(0o777)
        assert len(str(deep)) > 200
        lay_out(deep)
        yield deep


def lay_out(folder: Path) -> None:
    """Copy the job and what belongs to it."""
    for one in (EXAMPLES / "sheet_for_the_job_folder").iterdir():
        if one.suffix in (".toml", ".csv"):
            shutil.copy(one, folder / one.name)
    shutil.copy(LOBE, folder / "lobe.csv")


def run(
    words: tuple[str, ...], cwd: Path, place: Place, locales: Path | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run the command line in a place."""
    env = {name: value for name, value in os.environ.items() if name not in place.env}
    env |= {
        name: value.replace("LOCALES", str(locales)) for name, value in place.env.items() if value is not None
    }
    env["HERE"] = str(cwd)
    command = [*place.before, sys.executable, *place.python, "-m", "tallstack.cli", *words]
    return subprocess.run(command, cwd=cwd, env=env, capture_output=True, check=False)


@functools.cache
def expected(words: tuple[str, ...], name: str = "") -> tuple[int, bytes]:
    """Return the status, and what is printed here, or the bytes of what is written here."""
    with tempfile.TemporaryDirectory() as made:
        lay_out(Path(made))
        ended = run(words, Path(made), Place())
        assert ended.stderr == b""
        return ended.returncode, (Path(made) / name).read_bytes() if name else ended.stdout


def ready(place: Place, locales: Path) -> None:
    """Skip where there is no such place here; make its locale."""
    if place.before and (
        os.geteuid()
        or subprocess.run(
            [*place.before, "true"], env={**os.environ, "HERE": "/tmp"}, capture_output=True, check=False
        ).returncode
    ):
        pytest.skip(f"no {place.before[0]} here")
    name = place.env.get("LC_ALL")
    if "LOCPATH" not in place.env or name is None or (locales / name).exists():
        return
    if shutil.which("localedef") is None:
        pytest.skip("no localedef here")
    made = subprocess.run(
        ["localedef", "-i", name.partition(".")[0], "-f", "UTF-8", str(locales / name)],
        capture_output=True,
        check=False,
    )
    if made.returncode:
        pytest.skip(f"no {name} here")
    show = "import locale; locale.setlocale(locale.LC_ALL, ''); print(locale.localeconv()['decimal_point'])"
    env = {**os.environ, "LC_ALL": name, "LOCPATH": str(locales)}
    assert (
        subprocess.run([sys.executable, "-c", show], env=env, capture_output=True, check=True).stdout
        == b",\n"
    )


@pytest.mark.parametrize(
    "name",
    [
        name if name in OFTEN else pytest.param(name, marks=pytest.mark.wide)
        for name in PLACES
        if name != "nobody's pictures"
    ],
)
def test_one_answer_is_the_same_everywhere(name: str, folder: Path, locales: Path) -> None:
    place = PLACES[name]
    ready(place, locales)
    words, file = (WRITTEN["gear.png"], "gear.png") if place.draws else (JSON[0], "")
    ended = run(words, folder, place, locales)
    assert ended.stderr == b""
    assert (ended.returncode, (folder / file).read_bytes() if file else ended.stdout) == expected(words, file)


@pytest.mark.study
@pytest.mark.parametrize("name", PLACES)
def test_the_whole_tour_is_the_same_everywhere(name: str, folder: Path, locales: Path) -> None:
    place = PLACES[name]
    ready(place, locales)
    for words in JSON:
        ended = run(words, folder, place, locales)
        assert ended.stderr == b"", words
        assert (ended.returncode, ended.stdout) == expected(words), words
    (folder / "job.record.csv").unlink()
    for file, words in WRITTEN.items():
        ended = run(words, folder, place, locales)
        assert ended.stderr == b"", words
        status, content = expected(words, file)
        assert ended.returncode == status
        assert (folder / file).read_bytes() == content, words
    for line in HELPED:
        ended = run(tuple(line.split()), folder, place, locales)
        assert (ended.returncode, ended.stderr) == (0, b"")
        assert b"tallstack demo" in ended.stdout or b"Example: tallstack " in ended.stdout
        assert b"\x1b" not in ended.stdout


def test_help_needs_no_docstrings(folder: Path) -> None:
    plain = run(("draw", "--help"), folder, Place())
    assert b"Example: tallstack draw" in plain.stdout
    assert run(("draw", "--help"), folder, Place(python=("-OO",))).stdout == plain.stdout


@pytest.mark.wide
def test_a_title_that_a_locale_could_change_stays(folder: Path, locales: Path) -> None:
    """Turkish has an i without a dot: what is compared in small letters must not depend on it."""
    ready(PLACES["Turkish"], locales)
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["units"] in ("mm", "in")
    (folder / "job.toml").write_text(text.replace("title = ", 'title = "IiİıI" #'), encoding="utf-8")
    here, there = (run(JSON[0], folder, place, locales) for place in (Place(), PLACES["Turkish"]))
    assert here.stdout == there.stdout
    assert here.returncode == there.returncode


def test_a_day_far_from_ours_is_a_slip(folder: Path) -> None:
    for when in ("0001-01-01", "9999-12-31T23:59"):
        ended = run(
            ("record", "job.toml", "--note", "x", "--when", when),
            folder,
            Place({"TZ": "XYZ+12" if when > "5" else "XYZ-12"}),
        )
        assert (ended.returncode, ended.stderr[: len(when) + 7].decode()) == (2, f"--when {when}"), (
            ended.stderr
        )


# Streams


def shell(line: str, folder: Path) -> tuple[int, str, str]:
    """Run a line in which T is the command line; return its first command's status, and what was printed."""
    script = f'T() {{ "{sys.executable}" -m tallstack.cli "$@"; }}; {line}; exit ${{PIPESTATUS[0]}}'
    ended = subprocess.run(["bash", "-c", script], cwd=folder, capture_output=True, text=True, check=False)
    return ended.returncode, ended.stdout, ended.stderr


FULL = "standard output: No space left on device; the answer could not be printed, a file that was asked for is written\n"
CLOSED = FULL.replace("No space left on device", "closed")


@pytest.mark.parametrize(
    "words",
    [
        "check job.toml",
        *(
            pytest.param(one, marks=pytest.mark.study)
            for one in ("--help", "--version", "check --help", "schema", "risk job.toml --json")
        ),
    ],
)
def test_a_full_disk_behind_the_answer_is_told(folder: Path, words: str) -> None:
    assert shell(f"T {words} > /dev/full", folder) == (2, "", FULL)


def test_a_closed_output_is_told_and_files_are_written(folder: Path) -> None:
    assert shell("T new a.toml --blank >&-", folder) == (2, "", CLOSED)
    assert (folder / "a.toml").exists()


@pytest.mark.parametrize(
    ("line", "status"),
    [
        ("T check none.toml 2>&-", 2),
        ("T new a.toml <&-", 2),
        pytest.param("T check none.toml 2>/dev/full", 2, marks=pytest.mark.wide),
        ("T pushrods job.toml <&-", 0),
        pytest.param("T risk job.toml --draws 1000 --cores 2 <&- 2>&-", 1, marks=pytest.mark.study),
        pytest.param("T sheet job.toml -o closed.pdf <&- 2>&-", 1, marks=pytest.mark.study),
        pytest.param("T sheet job.toml -o closed.html >&- <&- 2>&-", 2, marks=pytest.mark.study),
        pytest.param("T draw job.toml -o closed.png >&- <&- 2>&-", 2, marks=pytest.mark.study),
        pytest.param("T check >/dev/full 2>/dev/full", 2, marks=pytest.mark.study),
        pytest.param("T check none.toml >/dev/full 2>&1", 2, marks=pytest.mark.study),
    ],
)
def test_a_closed_stream_changes_no_status(folder: Path, line: str, status: int) -> None:
    ended, _, told = shell(line, folder)
    assert ended in ({0, 1} if status < 2 else {2}), told
    assert "Traceback" not in told
    assert "fault of tallstack" not in told
    for one in folder.glob("closed.*"):
        assert one.stat().st_size > 10_000


@pytest.mark.parametrize(
    "words",
    [
        "pushrods job.toml",
        *(pytest.param(" ".join(one), marks=pytest.mark.study) for one in JSON),
        pytest.param("--help", marks=pytest.mark.study),
    ],
)
def test_a_reader_that_leaves_is_no_fault(folder: Path, words: str) -> None:
    quoted = words.replace("1.0 +/- 0.1 mm", "'1.0 mm'")
    status, out, told = shell(f"T {quoted} | head -n 1", folder)
    assert status in (0, 1, 141) if words == "--help" else status in (0, 1)
    assert told == ""
    assert out.count("\n") == 1


@pytest.mark.parametrize(
    "words", few([("pushrods", "job.toml"), ("record", "--help"), ("new", "asked.toml")], 1)
)
def test_a_terminal_of_forty_columns_shows_whole_lines(folder: Path, words: tuple[str, ...]) -> None:
    pty = pytest.importorskip("pty")
    fcntl, termios = pytest.importorskip("fcntl"), pytest.importorskip("termios")
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, b"\x14\0\x28\0\0\0\0\0")
    env = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    process = subprocess.Popen(
        [sys.executable, "-m", "tallstack.cli", *words],
        cwd=folder,
        env=env,
        stdin=slave,
        stdout=slave,
        stderr=slave,
        start_new_session=True,
    )
    os.close(slave)
    if words[0] == "new":
        os.write(master, b"\x04")
    seen = b""
    while True:
        try:
            part = os.read(master, 4096)
        except OSError:
            break
        if not part:
            break
        seen += part
    os.close(master)
    assert process.wait(timeout=30) == (130 if words[0] == "new" else 0), seen
    assert seen.isascii()
    plain = seen.replace(b"\x1b[1m", b"").replace(b"\x1b[0m", b"").replace(b"\r", b"")
    assert b"\x1b" not in plain
    assert b"Traceback" not in seen
    most = {"--help": 50, "asked.toml": 80}.get(words[1], 40)
    assert max(map(len, plain.split(b"\n"))) <= most
