"""A shell completes files, names and entries; for none of it anything that computes is loaded."""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tallstack.cli.app import main
from tallstack.cli.completing import BEFORE, joined
from tallstack.cli.entry_paths import ENTRIES
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import understood

from ..commands import DEMO


@pytest.fixture(autouse=True)
def beside_the_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for one in DEMO.parent.glob("*.*"):
        shutil.copy(one, tmp_path)
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "lobe.csv").write_text("angle,lift\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)


def completed(monkeypatch: pytest.MonkeyPatch, *words: str, shell: str = "bash") -> list[str]:
    """Return what is offered for the last of these words, as the shell's own script asks."""
    asked = {"_TALLSTACK_COMPLETE": f"complete_{shell}", BEFORE: ""}
    if shell == "bash":
        asked |= {"COMP_WORDS": "\n".join(("tallstack", *words)), "COMP_CWORD": str(len(words))}
    else:
        asked |= {
            "_TYPER_COMPLETE_ARGS": " ".join(("tallstack", *words)),
            "_TYPER_COMPLETE_FISH_ACTION": "get-args",
        }
    for name, value in asked.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(sys, "argv", ["tallstack"])
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.suppress(SystemExit):
        main()
    return out.getvalue().split("\n")[:-1] if out.getvalue().endswith("\n") else out.getvalue().split("\n")


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (("pushrods", "t"), ["twin.toml"]),
        (("swap", "twin.toml", "--from", "b"), ["before.toml"]),
        (("pushrods", "twin.toml", "--shelf", "sh"), ["shared/", "shelf.csv"]),
        (("lobe", "sha"), ["shared/", "shared/lobe.csv"]),
        (("explain", "twin.toml", "rear"), ["rear.intake", "rear.exhaust"]),
        (("draw", "twin.toml", "en"), ["engine"]),
        (("record", "twin.toml", "front"), ["front.intake", "front.exhaust", "front"]),
        (("pushrods", "twin.toml", "--with", "stack.cyl"), ["stack.cylinder=VALUE", "stack.cylinder="]),
        (("pushrods", "twin.toml", "--with", "crank.tu"), ["crank.turns=forward", "crank.turns=backward"]),
        (("pushrods", "twin.toml", "--with", "crank.turns", "=", "f"), ["forward"]),
        (("pushrods", "twin.toml", "--with", "crank.turns", "="), ["forward", "backward"]),
        (
            ("pushrods", "twin.toml", "--with", "stack.cylinder", "=", "5", "--with", "rear.stack.bor"),
            ["rear.stack.bore=VALUE", "rear.stack.bore="],
        ),
        (("check", "nowhere.toml", "--with", "front.intake.l"), [""]),
        (("explain", "broken", ""), [""]),
    ],
)
def test_what_is_offered(words: tuple[str, ...], offered: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    assert completed(monkeypatch, *words) == offered


def test_of_many_entries_only_where_they_part(monkeypatch: pytest.MonkeyPatch) -> None:
    first = completed(monkeypatch, "pushrods", "twin.toml", "--with", "")
    assert {"front.", "rear.", "stack.", "crank.", "shelf="} <= set(first)
    gear = completed(monkeypatch, "pushrods", "twin.toml", "--with", "front.intake.")
    assert {"front.intake.lifter.", "front.intake.measured_pushrod."} <= set(gear)
    rod = completed(monkeypatch, "pushrods", "twin.toml", "--with", "front.intake.measured_pushrod.l")
    assert {one.rstrip("=") for one in rod} >= {"front.intake.measured_pushrod.length"}


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_other_shells_are_told_the_whole_word(shell: str, monkeypatch: pytest.MonkeyPatch) -> None:
    told = completed(monkeypatch, "pushrods", "twin.toml", "--with", "crank.turns=f", shell=shell)
    assert "crank.turns=forward" in "\n".join(told)
    assert "backward" not in "\n".join(told)


def test_what_bash_parted_at_the_sign_is_one_word_again() -> None:
    words = ("tallstack", "pushrods", "a.toml", "--with", "x.y", "=", "5", "--with", "x.z", "=", "6")
    environment = {"_TALLSTACK_COMPLETE": "complete_bash", "COMP_WORDS": "\n".join(words), "COMP_CWORD": "10"}
    joined(environment)
    assert environment["COMP_WORDS"].split("\n")[3:] == ["--with", "x.y=5", "--with", "6"]
    assert environment[BEFORE] == "x.z"
    assert environment["COMP_CWORD"] == "6"


def test_every_entry_that_is_offered_is_one_that_with_knows() -> None:
    source = DEMO.read_text(encoding="utf-8")
    names = {"CYLINDER": "front", "TRAIN": "front.intake"}
    for line in ENTRIES.splitlines()[::40]:
        path = line.split()[0]
        owner, _, rest = path.partition(".")
        whole = f"{names[owner]}.{rest}" if owner in names else path.replace("LOBE", "intake")
        if "#" in whole or "NAME" in whole:
            continue
        with pytest.raises(InputFaultsError) as told:
            understood(DEMO, source, (f"{whole}=?",))
        assert "no such entry" not in told.value.report(), line


def test_nothing_that_computes_is_loaded(tmp_path: Path) -> None:
    code = (
        "import sys; sys.argv = ['tallstack']\nfrom tallstack.cli.app import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "print('LOADED', *sys.modules)"
    )
    asked = {
        "_TALLSTACK_COMPLETE": "complete_bash",
        "COMP_WORDS": "tallstack\npushrods\ntwin.toml\n--with\nfront.intake.lifter.k",
        "COMP_CWORD": "4",
    }
    ended = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env={**os.environ, **asked}, check=True
    )
    offered, _, modules = ended.stdout.partition("LOADED")
    assert "front.intake.lifter.kind=hydraulic" in offered
    assert not set(modules.split()) & {"numpy", "scipy", "tomlkit", "tree_sitter", "rich", "jinja2"}
