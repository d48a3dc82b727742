"""Whatever happens while a file is written, the old one is there or the whole new one, and one message says why.

Full and read-only disks, links, names, kills (`killing`), closed streams. Some need root to mount a disk or to
become somebody else, and are skipped without it.
"""

from __future__ import annotations

import os
import re
import socket
import stat
import subprocess
import sys
import tempfile
from collections.abc import Generator
from pathlib import Path

import pytest
from tallstack.cli import files
from tallstack.cli.files import OutputRefusedError, free, quoted, sweep, write

from ..commands import EXAMPLES, FAULTS, Ended, tallstack
from ..killing import JOB, STRAY
from ..seeded import few

HOME = Path(__file__).parents[2]
SHEETS, LOBE = (
    EXAMPLES / "sheet_for_the_job_folder",
    FAULTS / "lobe_command" / "good.csv",
)
FORCED = {  # what writes a file, by what it writes
    "n.toml": ("new", "n.toml", "--blank"),
    "d.svg": ("draw", "job.toml", "-o", "d.svg"),
    "d.png": ("draw", "job.toml", "-o", "d.png"),
    "e.svg": ("draw", "job.toml", "engine", "-o", "e.svg"),
    "x.svg": ("draw", "job.toml", "--section", "-o", "x.svg"),
    "s.html": ("sheet", "job.toml", "-o", "s.html"),
    "s.pdf": ("sheet", "job.toml", "-o", "s.pdf"),
    "m.html": ("measure", "-o", "m.html"),
    "l.svg": ("lobe", "lobe.csv", "--plot", "l.svg"),
    "c.svg": ("clearance", "job.toml", "--plot", "c.svg"),
    "f.svg": ("fits", "across.toml", "--plot", "f.svg"),
}
QUICK = ("n.toml", "d.svg", "l.svg")
EACH = [pytest.param(name, marks=() if name in QUICK else pytest.mark.study) for name in FORCED]
LIGHT = ("n.toml", "d.svg")  # one of a user's own, one that is drawn
ROOT = os.name == "posix" and os.geteuid() == 0
pytestmark = pytest.mark.skipif(os.name != "posix", reason="of a POSIX system's files")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for one in SHEETS.iterdir():
        if one.suffix in (".toml", ".csv"):
            Path(one.name).write_bytes(one.read_bytes())
    Path("lobe.csv").write_bytes(LOBE.read_bytes())
    Path("light.toml").write_bytes(JOB.read_bytes())
    Path("across.toml").write_bytes((EXAMPLES / "which_cylinder_first" / "job.toml").read_bytes())
    Path("shelf.csv").write_bytes((EXAMPLES / "pushrods_from_the_shelf" / "shelf.csv").read_bytes())
    return tmp_path


def told(ended: Ended, *words: str) -> None:
    """Look that a command ended in one message that holds these words."""
    assert ended.status == 2, ended
    assert ended.out == ""
    assert "Traceback" not in ended.err
    assert len(ended.err.splitlines()) == 1
    for one in words:
        assert one in ended.err


def as_another(words: tuple[str, ...], cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run the command line as somebody who may read everything and write little."""
    drop = "--reuid 12345 --regid 12345 --clear-groups --inh-caps +dac_read_search --ambient-caps +dac_read_search"
    return subprocess.run(
        ["setpriv", *drop.split(), sys.executable, "-m", "tallstack.cli", *words],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
    )


# Disks


@pytest.fixture
def small_disk(folder: Path) -> Generator[Path]:
    """A disk of one page."""
    disk = folder / "disk"
    disk.mkdir()
    mounted = (
        subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=4k", "tmpfs", str(disk)], capture_output=True, check=False
        )
        if ROOT
        else None
    )
    if mounted is None or mounted.returncode:
        pytest.skip("no disk can be mounted here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def onto(name: str, disk: str) -> tuple[str, ...]:
    """Return a command that writes onto a disk in place of this folder."""
    return tuple(f"{disk}/{one}" if one == name else one for one in FORCED[name])


@pytest.mark.parametrize("name", few(EACH, 3))
def test_a_full_disk_keeps_the_old_file_and_leaves_nothing(small_disk: Path, name: str) -> None:
    told(tallstack(*onto(name, "disk")), f"disk/{name}: cannot be written: No space left on device")
    assert not list(small_disk.iterdir())
    (small_disk / name).write_bytes(b"old")
    told(tallstack(*onto(name, "disk"), "--force"), "No space left on device")
    assert [(one.name, one.read_bytes()) for one in small_disk.iterdir()] == [(name, b"old")]


def test_a_full_disk_takes_back_what_a_demo_had_written(small_disk: Path) -> None:
    told(tallstack("demo", "disk/demo"), "No space left on device")
    assert not [one for one in small_disk.rglob("*") if one.is_file()]


@pytest.mark.parametrize("name", few(LIGHT, 1))
def test_a_limit_on_the_size_of_files_is_told(folder: Path, name: str) -> None:
    resource = pytest.importorskip("resource")

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))

    ended = subprocess.run(
        [sys.executable, "-m", "tallstack.cli", *FORCED[name]],
        preexec_fn=limited,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (ended.returncode, ended.stderr) == (2, f"{name}: cannot be written: File too large\n")
    assert not [one for one in folder.iterdir() if one.name == name or one.name.startswith(STRAY)]


@pytest.mark.skipif(not ROOT, reason="mounts")
def test_a_folder_that_may_only_be_read_is_told(folder: Path) -> None:
    held = folder / "held"
    held.mkdir()
    (held / "job.toml").write_bytes((folder / "job.toml").read_bytes())
    if subprocess.run(["mount", "--bind", str(held), str(held)], capture_output=True, check=False).returncode:
        pytest.skip("nothing can be mounted here")
    try:
        subprocess.run(["mount", "-o", "remount,ro,bind", str(held)], check=True)
        for name in LIGHT:
            told(tallstack(*onto(name, "held")), f"held/{name}: cannot be written: Read-only file system")
        told(
            tallstack("record", "held/job.toml", "--note", "x"), "Read-only file system; nothing was recorded"
        )
        told(tallstack("demo", "held/demo"), "held/demo: cannot be made: Read-only file system")
    finally:
        subprocess.run(["umount", str(held)], check=True)


@pytest.mark.wide
@pytest.mark.skipif(not ROOT, reason="becomes somebody else")
def test_a_folder_of_somebody_else_is_told(folder: Path) -> None:
    with tempfile.TemporaryDirectory() as shared:
        Path(shared).chmod(0o755)
        (Path(shared) / "job.toml").write_bytes((folder / "job.toml").read_bytes())
        _look_at_what_another_is_told(Path(shared))


def _look_at_what_another_is_told(folder: Path) -> None:
    hidden = folder / "hidden"
    hidden.mkdir(mode=0o700)
    for words, message in (
        (onto("n.toml", "hidden"), "hidden/n.toml: cannot be written: Permission denied\n"),
        (
            ("record", "job.toml", "--note", "x"),
            "job.record.csv: cannot be written: Permission denied; nothing was recorded\n",
        ),
        (
            ("demo", "hidden/demo"),
            "hidden/demo: cannot be made: Permission denied; name a folder you may write in\n",
        ),
    ):
        ended = as_another(words, folder)
        assert (ended.returncode, ended.stderr) == (2, message)
    assert not list(hidden.iterdir())


def test_a_folder_that_is_gone_is_told(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    gone = folder / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    job = str(folder / "job.toml")
    told(tallstack("draw", job, "-o", "d.svg"), "d.svg: cannot be written: No such file or directory")
    told(tallstack("new", "n.toml", "--blank"), "n.toml: cannot be written: No such file or directory")
    told(tallstack("demo", "demo"), "demo: cannot be made: No such file or directory")


def test_a_folder_that_goes_while_it_is_worked_out_is_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It goes just before `_beside` writes; nothing else comes there at the right moment."""
    (folder / "sub").mkdir()
    real = files._beside

    def late(path: Path, content: bytes) -> Path:
        path.parent.rmdir()
        return real(path, content)

    monkeypatch.setattr(files, "_beside", late)
    told(tallstack("draw", "job.toml", "-o", "sub/d.svg"), "sub/d.svg: cannot be written: No such file")
    assert not (folder / "sub").exists()


def test_a_disk_without_hard_links_is_written_to(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(files.os, "link", none)
    write(Path("a"), b"new")
    assert Path("a").read_bytes() == b"new"
    with pytest.raises(OutputRefusedError, match="exists and is not overwritten"):
        write(Path("a"), b"newer")
    monkeypatch.setattr(files.os, "replace", none)
    with pytest.raises(OutputRefusedError, match="b: cannot be written: Operation not permitted"):
        write(Path("b"), b"new")
    assert not Path("b").exists()
    assert not list(folder.glob(f"{STRAY}*"))


# What stands in the place


def link_to(path: Path, kind: str) -> bytes | None:
    """Lay a symbolic link; return what its target holds."""
    target = path.parent / "target"
    if kind == "loop":
        path.symlink_to(path.name)
        return None
    path.symlink_to(target)
    if kind == "file":
        target.write_bytes(b"kept")
    elif kind == "folder":
        target.mkdir()
    return b"kept" if kind == "file" else None


@pytest.mark.parametrize("kind", few(["dangling", "file", "folder", "loop"], 1))
@pytest.mark.parametrize("name", LIGHT)
def test_a_link_is_never_followed_and_only_replaced_by_force(folder: Path, name: str, kind: str) -> None:
    kept = link_to(folder / name, kind)
    told(tallstack(*FORCED[name]), f"{name}: exists and is not overwritten")
    assert (folder / name).is_symlink()
    assert tallstack(*FORCED[name], "--force").status in (0, 1)
    assert stat.S_ISREG(os.lstat(folder / name).st_mode)
    target = folder / "target"
    assert target.exists() == (kind in ("file", "folder"))
    assert kept is None or target.read_bytes() == kept
    assert kind != "folder" or not list(target.iterdir())


@pytest.mark.parametrize("name", few(EACH, 3))
def test_what_is_there_is_replaced_by_force_alone(folder: Path, name: str) -> None:
    (folder / name).write_bytes(b"old")
    (folder / name).chmod(0o640)
    told(tallstack(*FORCED[name]), f"{name}: exists and is not overwritten; name another file or add --force")
    assert (folder / name).read_bytes() == b"old"
    assert tallstack(*FORCED[name], "--force").status in (0, 1)
    assert len((folder / name).read_bytes()) > 500
    assert stat.S_IMODE((folder / name).stat().st_mode) == 0o640
    assert not list(folder.glob(f"{STRAY}*"))


@pytest.mark.wide
def test_links_in_a_demos_folder_are_not_followed(folder: Path) -> None:
    (folder / "demo").mkdir()
    (folder / "demo" / "intake.csv").symlink_to(folder / "lobe.csv")
    told(tallstack("demo", "demo"), "demo/intake.csv: exists and is not overwritten")
    assert [one.name for one in (folder / "demo").iterdir()] == ["intake.csv"]
    assert tallstack("demo", "demo", "--force").status == 0
    assert (folder / "lobe.csv").read_bytes() == LOBE.read_bytes()
    (folder / "loop").symlink_to("loop")
    told(tallstack("demo", "loop"), "loop: cannot be made")


@pytest.mark.parametrize("make", few(["fifo", "socket", "device", "folder"], 2))
def test_what_is_no_plain_file_is_never_replaced(folder: Path, make: str) -> None:
    path = folder / "d.svg"
    with socket.socket(socket.AF_UNIX) as listening:
        if make == "fifo":
            os.mkfifo(path)
        elif make == "socket":
            listening.bind("d.svg")
        elif make == "folder":
            path.mkdir()
        else:
            path = Path("/dev/null")
    before = os.lstat(path)
    message = "a folder; name a file in it" if make == "folder" else "no plain file, and not overwritten"
    for force in (True, False):
        with pytest.raises(OutputRefusedError, match=message):
            write(path, b"new", force)
    if make != "device":
        told(tallstack(*FORCED["d.svg"], "--force"), f"d.svg: {message}")
    told(tallstack("new", str(path), "--blank", "--force"), f"{path}: {message}")
    assert os.path.samestat(os.lstat(path), before)


@pytest.mark.wide
def test_what_is_no_plain_file_is_read_or_told(folder: Path) -> None:
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind("s.toml")
    told(tallstack("check", "s.toml"), "s.toml: cannot be read: No such device or address")
    told(tallstack("lobe", "s.toml"), "s.toml: cannot be read: No such device or address")
    told(tallstack("check", "/dev/null"), "/dev/null: empty")
    told(tallstack("check", "/dev/zero"), "/dev/zero: too large")
    told(tallstack("pushrods", "job.toml", "--shelf", "/dev/zero"), "/dev/zero: too large")
    os.mkfifo("job.record.csv")
    told(tallstack("record", "job.toml", "--note", "x"), "job.record.csv: no plain file")
    os.mkfifo("p.csv")
    Path("p.toml").write_text('format = 1\nunits = "mm"\n[lobe.intake]\ntable = "p.csv"\n', encoding="utf-8")
    ended = tallstack("check", "p.toml")  # does not wait for whoever may write into it
    assert ended.status == 2
    assert "p.toml:4:1" in ended.err
    line = f'cat light.toml | "{sys.executable}" -m tallstack.cli sheet /dev/stdin -o piped.html'
    assert subprocess.run(["bash", "-c", line], capture_output=True, check=False).returncode in (0, 1)
    assert "stdin; tallstack" in Path("piped.html").read_text(encoding="utf-8")  # no hash of what is gone


@pytest.mark.parametrize("way", few(["path", "hard link", "name", "through a link"], 2))
def test_what_it_is_worked_out_from_is_never_overwritten(folder: Path, way: str) -> None:
    """Inputs may have any ending, outputs have one of a few: these have both."""
    for source, words in (
        ("job.svg", ("draw", "job.svg", "-o", "OUT")),
        ("job.html", ("sheet", "job.html", "-o", "OUT")),
        ("job.html", ("measure", "job.html", "-o", "OUT")),
        ("job.svg", ("clearance", "job.svg", "--plot", "OUT")),
        ("job.svg", ("fits", "job.svg", "--plot", "OUT")),
        ("before.svg", ("fits", "job.toml", "--from", "before.svg", "--plot", "OUT")),
        ("lobe.svg", ("lobe", "lobe.svg", "--plot", "OUT")),
        ("shelf.html", ("sheet", "job.toml", "--shelf", "shelf.html", "-o", "OUT")),
    ):
        kind = "csv" if source.startswith(("lobe", "shelf")) else "toml"
        stem = "job" if source.startswith("before") else source.partition(".")[0]
        content = Path(f"{stem}.{kind}").read_bytes()
        Path(source).write_bytes(content)
        out = Path(f"out{Path(source).suffix}")
        out.unlink(missing_ok=True)
        if way == "hard link":
            os.link(source, out)
        if way == "through a link":
            out = Path(source)
            Path("real").write_bytes(content)
            out.unlink()
            out.symlink_to("real")
        name = {"name": source, "path": f"../{folder.name}/./{source}"}.get(way, str(out))
        for force in ((), ("--force",)):
            ended = tallstack(*(name if one == "OUT" else one for one in words), *force)
            told(ended, "what this is worked out from, and not overwritten; name another file")
        assert Path(source).read_bytes() == content
        assert out.is_symlink() == (way == "through a link")


def test_a_table_that_a_job_names_is_never_overwritten(folder: Path) -> None:
    Path("lobe.svg").write_bytes(LOBE.read_bytes())
    text = 'format = 1\nunits = "in"\n[lobe.intake]\ntable = "lobe.svg"\ncentreline = 106\n[stack]\ncylinder = 4.3\n'
    Path("a.toml").write_text(f'{text}[[cylinder]]\nname = "one"\n', encoding="utf-8")
    told(tallstack("draw", "a.toml", "-o", "lobe.svg", "--force"), "what this is worked out from")
    assert Path("lobe.svg").read_bytes() == LOBE.read_bytes()


# Names


@pytest.mark.parametrize(
    "name",
    [
        "n" * 251,
        "ü" * 125 + "n",
        "a b",
        "ü",
        "line\nline",
        "-n",
        "--force",
        "\udcff",
        "'",
        '"',
        "$HOME",
        "\x1b[31m",
    ],
    ids=[
        "long",
        "long in bytes",
        "space",
        "umlaut",
        "newline",
        "dash",
        "option",
        "no text",
        "'",
        '"',
        "$",
        "escape",
    ],
)
@pytest.mark.parametrize("deep", few([False, True], 1), ids=["", "deep"])
def test_a_name_of_any_sort_is_written_and_read(
    folder: Path, name: str, deep: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if deep:
        inner = folder / ("d" * 120) / ("e ü" * 40)
        inner.mkdir(parents=True)
        (inner / "job.toml").write_bytes((folder / "job.toml").read_bytes())
        monkeypatch.chdir(inner)
    ended = tallstack("draw", "-o", f"{name}.svg", "--", "job.toml")
    assert ended.status in (0, 1), ended
    assert Path(f"{name}.svg").read_bytes().startswith(b"<?xml")
    short = name[: 248 if len(name) > 200 else None] if name.isascii() else name[:120]
    job = f"{short}.t"
    assert tallstack("new", "--blank", "--", job).status == 0
    ended = tallstack("check", "--", job)
    assert ended.status == 1
    assert "\x1b" not in ended.out
    assert not list(Path().glob(f"{STRAY}*"))


@pytest.mark.parametrize(
    "name", ["-j.toml", "a b.toml", "it's.toml", 'a"b.toml', "$HOME.toml", "line\nline.toml"]
)
def test_the_command_that_is_told_can_be_typed(folder: Path, name: str) -> None:
    ended = tallstack("new", "--blank", "--", name)
    line = ended.out[ended.out.index("tallstack check ") :]
    shown = subprocess.run(
        ["bash", "-c", line.replace("tallstack check", "ls -d", 1)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert shown.stdout.replace("./", "", 1) == f"{name}\n"


@pytest.mark.parametrize("name", ["x" * 252, "ü" * 127, "x/" * 2100 + "x"])
def test_a_name_that_is_too_long_is_told(folder: Path, name: str) -> None:
    for words in (
        ("draw", "job.toml", "-o", f"{name}.svg"),
        ("new", f"{name}.toml", "--blank"),
        ("demo", f"{name}xxxx"),
        ("check", f"{name}.toml"),
        ("lobe", f"{name}.csv"),
        ("record", f"{name}.toml", "--note", "x"),
        ("pushrods", "job.toml", "--shelf", f"{name}.csv"),
    ):
        told(tallstack(*words), "File name too long")
    text = f'format = 1\nunits = "mm"\n[lobe.intake]\ntable = "{name[:190]}{"/" + "y" * 300}"\n'
    Path("t.toml").write_text(text[:4000], encoding="utf-8")
    assert tallstack("check", "t.toml").status == 2


@pytest.mark.wide
def test_a_job_whose_record_has_no_name_is_read(folder: Path) -> None:
    job = Path(f"{'j' * 250}.toml")
    job.write_bytes(Path("light.toml").read_bytes())
    assert tallstack("record", job).status in (0, 1)
    told(tallstack("record", job, "--note", "x"), "File name too long; nothing was recorded")
    assert tallstack("sheet", job, "-o", "s.html").status in (0, 1)


def test_a_command_never_begins_with_a_dash() -> None:
    assert quoted(Path("-a.toml")) == "./-a.toml"
    assert quoted(Path("a.toml")) == "a.toml"


# Others


@pytest.mark.parametrize("force", [False, True])
def test_two_that_write_at_once_leave_one_whole_file(folder: Path, force: bool) -> None:
    code = (
        "import sys, pathlib; from tallstack.cli.files import OutputRefusedError, write\n"
        "won = 0\n"
        "for turn in range(200):\n"
        "    try:\n"
        "        write(pathlib.Path(f'f{turn % 200}'), sys.argv[1].encode() * 30_000, sys.argv[2] == 'True')\n"
        "        won += 1\n"
        "    except OutputRefusedError as refused:\n"
        "        assert 'exists and is not overwritten' in str(refused), refused\n"
        "print(won)\n"
    )
    both = [
        subprocess.Popen([sys.executable, "-c", code, who, str(force)], stdout=subprocess.PIPE, text=True)
        for who in "ab"
    ]
    won = [int(one.communicate(timeout=60)[0]) for one in both]
    assert sum(won) == (400 if force else 200)
    for turn in range(200):
        assert (folder / f"f{turn}").read_bytes() in (b"a" * 30_000, b"b" * 30_000)
    assert not list(folder.glob(f"{STRAY}*"))


def test_one_that_comes_between_is_not_overwritten(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It comes just before `_beside` writes; nothing else comes there at the right moment."""
    real = files._beside

    def late(path: Path, content: bytes) -> Path:
        path.write_bytes(b"somebody else's")
        return real(path, content)

    monkeypatch.setattr(files, "_beside", late)
    told(tallstack(*FORCED["d.svg"]), "d.svg: exists and is not overwritten")
    assert Path("d.svg").read_bytes() == b"somebody else's"


@pytest.mark.parametrize("name", few(["fsync", "link", "replace", "fdopen"], 2))
def test_an_interrupt_leaves_nothing_beside(folder: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    real_close = os.close
    opened: list[int] = []
    if name == "fdopen":
        monkeypatch.setattr(files.os, "fdopen", lambda handle, mode: (opened.append(handle), interrupted()))
    else:
        monkeypatch.setattr(files.os, name, interrupted)
    Path("d.svg").write_bytes(b"old")
    force = ("--force",) if name == "replace" else ()
    if not force:
        Path("d.svg").unlink()
    assert tallstack(*FORCED["d.svg"], *force).status == 130
    for handle in opened:
        real_close(handle)
    assert not list(folder.glob(f"{STRAY}*"))
    assert (Path("d.svg").read_bytes() if force else b"old") == b"old"


# Kills. What is killed while it writes may leave its own file beside the other, `.tallstack-` and letters.


def killed(folder: Path, more: int, *names: str) -> tuple[int, int]:
    path = os.pathsep.join(filter(None, [str(HOME), os.environ.get("PYTHONPATH")]))
    ended = subprocess.run(
        [sys.executable, "-m", "tests.killing", str(folder), str(more), *names],
        env={**os.environ, "PYTHONPATH": path},
        cwd=HOME,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    kills, strays = map(int, ended.stdout.split())
    return kills, strays


@pytest.mark.wide
def test_a_killed_writer_leaves_the_old_or_the_new(tmp_path: Path) -> None:
    kills, strays = killed(
        tmp_path, 0, "new", "new over", "record more", "draw over", "page enter", "page begin", "page copy"
    )
    assert kills >= 50
    assert 0 < strays < kills


@pytest.mark.study
def test_five_hundred_kills(tmp_path: Path) -> None:
    kills, strays = killed(tmp_path, 50)
    assert kills >= 500
    assert strays < kills


STRUCK = {  # at the first of which calls of the system
    "n.toml": FORCED["n.toml"],
    "d.svg": FORCED["d.svg"],
    "s.html": (*FORCED["s.html"], "--date", "2026-03-14"),
    "job.record.csv": ("record", "job.toml", "--note", "x", "--when", "2026-03-14"),
}


@pytest.mark.study
@pytest.mark.parametrize("name", STRUCK)
@pytest.mark.parametrize(
    "calls", ["fsync", "link,linkat", "rename,renameat", "unlink,unlinkat", "fchmod,ftruncate"]
)
def test_a_kill_at_a_call_of_the_system(folder: Path, name: str, calls: str) -> None:
    words, is_record = STRUCK[name], name.endswith(".csv")
    if subprocess.run(
        ["strace", "-qq", "-e", "trace=none", "true"], capture_output=True, check=False
    ).returncode:
        pytest.skip("nothing may be traced here")
    assert tallstack(*words).status in (0, 1)
    whole = Path(name).read_bytes()
    for before in (None,) if is_record else (None, b"old"):
        Path(name).unlink()
        if before is not None:
            Path(name).write_bytes(before)
        struck = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", f"inject={calls}:signal=KILL:when=1"]
        again = () if before is None else ("--force",)
        command = [*struck, sys.executable, "-m", "tallstack.cli", *words, *again]
        subprocess.run(command, capture_output=True, check=False)
        left = Path(name).read_bytes() if Path(name).exists() else None
        assert left in (before, whole)
        if left != whole:
            assert tallstack(*words, *again).status in (0, 1)
        assert Path(name).read_bytes() == whole


def test_the_folder_is_looked_at_before_the_work(folder: Path) -> None:
    for path, message in (
        ("no/d.svg", "folder no does not exist; make it first"),
        ("job.toml/d.svg", "folder job.toml is a file; name another"),
    ):
        with pytest.raises(OutputRefusedError, match=re.escape(message)):
            free(Path(path), False)


def test_only_what_a_killed_write_left_long_ago_is_swept(tmp_path: Path) -> None:
    old, new, other, folder = (
        tmp_path / f".tallstack-{one}" for one in ("0" * 12, "1" * 12, "mine", "2" * 12)
    )
    for one in (old, new, other):
        one.write_bytes(b"half")
    folder.mkdir()
    for one in (old, other, folder):
        os.utime(one, (1.0, 1.0))
    sweep(tmp_path)
    assert sorted(one.name for one in tmp_path.iterdir()) == sorted(one.name for one in (new, other, folder))
