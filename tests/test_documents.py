"""Every code block of the README and of the worked examples does what it says."""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path

import pytest

from .commands import tallstack
from .documents import BLOCK, PAGES, ROOT, files_shown, performed

EVERY = [block for page in PAGES for block in BLOCK.finditer(page.read_text(encoding="utf-8"))]
README = (ROOT / "README.md").read_text(encoding="utf-8")
CI = (ROOT / ".ci" / "run").read_text(encoding="utf-8")


# the gate runs them under another kernel
LONG = (
    "sheet_for_the_job_folder",
    "pocket_to_be_cut_deeper",
    "valves_too_close_to_each_other",
    "how_sure_and_what_to_read_again",
    "which_cylinder_first",
    "twin_by_dial_and_protractor",
    "on_paper_and_on_the_screen",
    "single_with_lifter_screws",
    "writing_down_what_was_set",
    "worn_pair_bored_anew",
)


@pytest.mark.parametrize(
    "page",
    [pytest.param(one, marks=pytest.mark.wide) if one.parent.name in LONG else one for one in PAGES],
    ids=lambda page: page.parent.name if page.name == "page.md" else page.name,
)
def test_every_command_of_a_page_prints_what_the_page_shows(page: Path) -> None:
    now = performed(page)
    assert now.text == page.read_text(encoding="utf-8")
    for path, content in now.pictures.items():
        assert path.read_bytes() == content, path


def test_every_block_of_a_page_is_of_a_kind_that_is_run_or_checked() -> None:
    kinds = {block["language"] for block in EVERY}
    assert kinds == {"sh", "bat", "toml", "csv", "console", "pycon", "text"}  # text: a session, see test_new


def test_job_files_shown_in_the_pages_are_toml() -> None:
    blocks = [block["body"] for block in EVERY if block["language"] == "toml"]
    assert blocks
    for body in blocks:
        tomllib.loads(body)


def test_no_two_pages_show_one_file_in_two_ways() -> None:
    shown: dict[str, str] = {}
    for page in PAGES:
        for name, body in files_shown(page).items():
            assert shown.setdefault(name, body) == body, f"{page}: {name}"


def test_readme_and_developers_are_short_and_the_readme_leads_to_every_page() -> None:
    assert len(README.splitlines()) <= 200
    assert len((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()) <= 150
    there, links = {ROOT / "README.md"}, [ROOT / "README.md"]
    while links:
        page = links.pop()
        new = {
            page.parent / link
            for link in re.findall(r"\]\(([^)#:]+\.md)\)", page.read_text(encoding="utf-8"))
        }
        new = {one.resolve() for one in new} - there
        there |= new
        links += sorted(new)
    assert set(PAGES) <= there


def test_the_shelf_and_the_solid_lifter_shown_in_the_pages_work(tmp_path: Path) -> None:
    blocks = [(block["language"], block["body"]) for block in EVERY]
    job = next(body for language, body in blocks if body.startswith("# single.toml"))
    shelf = next(body for language, body in blocks if language == "csv" and body.startswith("label,kind"))
    solid = next(body for language, body in blocks if language == "toml" and '"solid"' in body)
    (tmp_path / "shelf.csv").write_text(shelf, encoding="utf-8")
    (tmp_path / "single.toml").write_text(job, encoding="utf-8")
    fitted = tallstack("pushrods", tmp_path / "single.toml", "--shelf", tmp_path / "shelf.csv")
    assert fitted.status == 0, fitted.err
    assert "THE SET" in fitted.out
    (tmp_path / "solid.toml").write_text(job[: job.index("[[train]]")] + solid, encoding="utf-8")
    lashed = tallstack("pushrods", tmp_path / "solid.toml")
    assert lashed.status == 0, lashed.err
    assert "gives the wanted lash of 0.004 in (0.10 mm) at the valve" in lashed.out


def test_the_two_lines_are_the_ones_that_the_gate_runs() -> None:
    (lines,) = [block["body"] for block in BLOCK.finditer(README) if block["language"] == "sh"]
    run, test = lines.splitlines()
    assert shlex.split(run)[-2:] == [".venv/bin/tallstack", "demo"]
    assert test == "python3 -m venv .venv && .venv/bin/pip install '.[test]' && .venv/bin/python -m pytest"
    assert "grep -F \"'.[test]'\" README.md" in CI


def test_the_windows_lines_do_the_same() -> None:
    (lines,) = [block["body"] for block in BLOCK.finditer(README) if block["language"] == "bat"]
    (posix,) = [block["body"] for block in BLOCK.finditer(README) if block["language"] == "sh"]
    same = lines.replace("\\", "/").replace("Scripts", "bin").replace("py -m", "python3 -m")
    assert same == posix.replace("'", "")


def test_links_of_every_page_lead_somewhere() -> None:
    for page in (*PAGES, ROOT / "DEVELOPERS.md"):
        for link in re.findall(r"\]\((?!https?:)([^)#]+)\)", page.read_text(encoding="utf-8")):
            assert (page.parent / link).exists(), f"{page}: {link}"


def test_the_top_level_holds_only_the_agreed_names() -> None:
    import subprocess

    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:  # an unpacked archive has no git to ask
        return
    names = {line.split("/")[0] for line in listed.stdout.splitlines()}
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "geometry", "cli", "tests", "worked_examples"}
    assert {name for name in names if not name.startswith(".")} <= agreed
