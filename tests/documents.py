"""Runs the code blocks of a page as a reader would, and compares or rewrites what they print.

A ```toml block whose first line is "# NAME.toml" is written to that file; a page that links another page has the files that
are shown there, too. In a ```console block every line after "$ " is run, and what follows it is what the command printed,
standard error included. A last line "[...]" stands for the rest of it. In a ```pycon block what stands after ">>> " and "... " is
run as in a Python session, one for the page, and what follows it is what that printed.

A drawing (.svg) that a page shows and that lies beside it is drawn again by the page's own commands; what a browser shows (.png)
is made by `tests.bench_pictures`.

    python -m tests.documents          rewrites the output in README and worked examples, and their pictures
"""

from __future__ import annotations

import contextlib
import doctest
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Generator
from pathlib import Path
from typing import NamedTuple

from tallstack.cli.app import main

ROOT = Path(__file__).parent.parent
PAGES = (ROOT / "README.md", *sorted((ROOT / "worked_examples").glob("*/page.md")))
CUT = "[...]"
BLOCK = re.compile(r"^```(?P<language>\w+)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)


NAMED = re.compile(r"# (?P<name>[\w-]+\.toml)\n")


def files_shown(page: Path) -> dict[str, str]:
    """Return the files that a page shows whole, by their names."""
    bodies = [block["body"] for block in BLOCK.finditer(page.read_text(encoding="utf-8"))]
    return {named["name"]: body for body in bodies if (named := NAMED.match(body))}


def linked(page: Path) -> list[Path]:
    """Return the other pages that a page of worked_examples links; README, which links them all, has files of its own."""
    if page.parent == ROOT:
        return []
    links = re.findall(r"\]\(([^)#:]+\.md)\)", page.read_text(encoding="utf-8"))
    return [(page.parent / link).resolve() for link in links]


def run(command: str) -> tuple[str, int]:
    """Return what a command prints in the present folder, and its status."""
    words = shlex.split(command)
    if words[0] != "tallstack":
        message = f"a page may only run tallstack, not {words[0]}"
        raise ValueError(message)
    printed = io.StringIO()
    before = sys.argv
    sys.argv = words
    try:
        with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed):
            main()
    except SystemExit as ended:
        return printed.getvalue(), int(ended.code or 0)
    finally:
        sys.argv = before
    return printed.getvalue(), 0


def again(part: str) -> str:
    """Return a command and what it prints now, cut after as many lines as were shown before "[...]"."""
    command, *shown = part.splitlines()
    printed = run(command[2:])[0].splitlines()
    if shown and shown[-1] == CUT and len(printed) >= len(shown):
        printed = [*printed[: len(shown) - 1], CUT]
    return "\n".join([command, *printed, ""])


def session(body: str, names: dict[str, object]) -> str:
    """Return a session of Python with what its lines print now; names : what the page's sessions before it left."""
    lines: list[str] = []
    for example in doctest.DocTestParser().get_examples(body):
        first, *more = example.source.splitlines()
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed):
            exec(compile(example.source, "<page>", "single"), names)
        lines += [
            f">>> {first}",
            *(f"... {line}".rstrip() for line in more),
            *printed.getvalue().splitlines(),
        ]
    return "\n".join(lines) + "\n"


@contextlib.contextmanager
def beside(page: Path) -> Generator[Path]:
    """Work in a new folder that holds what lies beside a worked example's page, and the files of the pages it links."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        for other in linked(page):
            for name, body in files_shown(other).items():
                (Path(folder) / name).write_text(body, encoding="utf-8")
        if page.parent != ROOT:
            shutil.copytree(page.parent, folder, dirs_exist_ok=True)
        os.chdir(folder)
        try:
            yield Path(folder)
        finally:
            os.chdir(before)


class Performed(NamedTuple):
    """A page as its commands make it now."""

    text: str
    pictures: dict[Path, bytes]  # beside the page, as they are drawn now


def performed(page: Path) -> Performed:
    """Return a page with the output of its commands as they print it now, and the pictures that they draw."""
    shown = re.findall(r"!\[[^]]*\]\(([\w.-]+\.svg)\)", page.read_text(encoding="utf-8"))
    with beside(page) as folder:
        for picture in shown:
            (folder / picture).unlink(missing_ok=True)

        names: dict[str, object] = {}

        def redo(block: re.Match[str]) -> str:
            body = block["body"]
            if block["language"] == "pycon":
                return f"```pycon\n{session(body, names)}```"
            if named := NAMED.match(body):
                (folder / named["name"]).write_text(body, encoding="utf-8")
            if block["language"] != "console":
                return block[0]
            shown = "".join(again(part) for part in re.split(r"^(?=\$ )", body, flags=re.MULTILINE) if part)
            return f"```console\n{shown}```"

        text = BLOCK.sub(redo, page.read_text(encoding="utf-8"))
        return Performed(text, {page.parent / one: (folder / one).read_bytes() for one in shown})


if __name__ == "__main__":
    for one in PAGES:
        now = performed(one)
        one.write_text(now.text, encoding="utf-8")
        for path, content in now.pictures.items():
            path.write_bytes(content)
