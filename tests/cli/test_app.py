"""What every command has in common: a help that opens with an example that runs."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from tallstack.cli import app

from ..commands import BENCH, EXAMPLES, FAULTS, tallstack
from ..seeded import few

COMMANDS = tuple(one.run.__name__ for one in app.COMMANDS)
GOOD_LOBE = FAULTS / "lobe_command" / "good.csv"


NEED_CLEARANCES = ("clearance", "fits")
ENDING = tuple(one for one in COMMANDS if one != "bench")  # that one serves until Ctrl-C, see its own tests


@pytest.mark.parametrize("command", few(sorted(ENDING, key="demo".__eq__), len(COMMANDS) // 2))
def test_help_opens_with_an_example_that_runs(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    clear = EXAMPLES / "sheet_for_the_job_folder" / "job.toml"
    for name in ("job.toml", "before.toml"):
        Path(name).write_bytes((clear if command in NEED_CLEARANCES else BENCH).read_bytes())
    Path("intake.csv").write_text(GOOD_LOBE.read_text(encoding="utf-8"), encoding="utf-8")
    text = tallstack(command, "--help").out
    example = re.search(r"Example: tallstack (?P<words>.+)", text)
    assert example, text
    import shlex

    assert tallstack(*shlex.split(example["words"])).status == 0


def test_version_and_module_entry() -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "tallstack.cli", "--version"], capture_output=True, text=True, check=True
    )
    assert re.fullmatch(r"tallstack \d+\.\d+\.\d+\n", ended.stdout)


@pytest.mark.parametrize(("stated", "threads"), [(None, 1), ("2", min(2, os.cpu_count() or 1))])
def test_a_command_multiplies_in_one_thread_unless_it_is_told_otherwise(
    stated: str | None, threads: int
) -> None:
    if not Path("/proc/self/task").exists():
        pytest.skip("threads are counted where /proc lists them")
    code = (
        f"import os, sys; sys.argv = ['tallstack', 'pushrods', {str(BENCH)!r}]; from tallstack.cli.app import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "print('THREADS', len(os.listdir('/proc/self/task')))"
    )
    clean = {name: one for name, one in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    env = clean if stated is None else {**clean, "OPENBLAS_NUM_THREADS": stated}
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True)
    assert ended.stdout.split("THREADS")[1].strip() == str(threads)


def test_a_shell_completes_commands_and_their_options() -> None:
    def completed(words: str, place: int) -> list[str]:
        asked = {"_TALLSTACK_COMPLETE": "complete_bash", "COMP_WORDS": words, "COMP_CWORD": str(place)}
        code = "import sys; sys.argv[0] = 'tallstack'; from tallstack.cli.app import main; main()"
        ended = subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            env={**os.environ, **asked},
            check=False,
        )
        return ended.stdout.split()

    assert completed("tallstack pu", 1) == ["pushrods"]
    assert "--strict" in completed("tallstack pushrods --", 2)


def test_a_line_is_read_the_same_whether_one_command_is_put_together_or_all(tmp_path: Path) -> None:
    """The rest are put together where the first word names none: for help, for an option, for a misspelling."""
    shown = tallstack("check", BENCH)
    assert tallstack("--allow-outside", "check", BENCH).out == shown.out
    wrong = tallstack("chek", BENCH)
    assert wrong.status == 2
    assert "check" in wrong.err  # which one was meant
    assert set(COMMANDS) <= set(tallstack("--help").out.split())
    assert "Usage: tallstack pushrods" in tallstack("pushrods", "--help").out
