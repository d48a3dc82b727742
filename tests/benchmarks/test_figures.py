"""The page of figures: how it is said, what it asks for, and a few of its figures measured in earnest."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from ..commands import DEMO
from .figures import TABLES, main, page
from .heads import prices
from .machine import header
from .of_commands import Setting, against_plain, heads
from .table import NOT_KNOWN, Table, ratio, seconds
from .timing import AS_STARTED, ROOT, process
from .trees import Tree, planted

UNIX = pytest.mark.skipif(not hasattr(os, "wait4"), reason="the system does not say what a process used")
MAPPED = """
[tool.setuptools.package-dir]
"tallstack" = "cli/library"
"tallstack.cli" = "cli"
"""


def test_a_table_in_markdown() -> None:
    found = Table("Fits", "1.00 is one.", ["command", "now"], [["`fits`", "1.25"]]).text()
    assert found.splitlines() == [
        "## Fits",
        "",
        "1.00 is one.",
        "",
        "| command | now |",
        "| --- | --: |",
        "| `fits` | 1.25 |",
    ]


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        (1.0, 3.0, "0.33"),
        (25.0, 2.0, "12.5"),
        (4e3, 1.0, "4,000"),
        (None, 1.0, NOT_KNOWN),
        (1.0, 0.0, NOT_KNOWN),
    ],
)
def test_ratios(one: float | None, other: float, said: str) -> None:
    assert ratio(one, other) == said


@pytest.mark.parametrize(("one", "said"), [(1.5, "1.5 s"), (0.25, "250 ms"), (3e-6, "3 us"), (2e-9, "2 ns")])
def test_seconds(one: float, said: str) -> None:
    assert seconds(one) == said


def test_the_page_says_first_what_it_measures_and_on_what() -> None:
    lines = page([Table("T", "S.", ["a", "b"], [])], header(), 90.0).splitlines()
    assert lines[0] == "# Figures"
    assert "processor time" in lines[2]
    assert re.search(r"1\.5 minutes on: numpy [\d.]+, .*Python [\d.]+; \d+ cores, ", lines[4])


def test_help_names_every_table(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    told = capsys.readouterr().out
    assert ended.value.code == 0
    assert "--against CHECKOUT" in told
    assert all(name in told for name in TABLES)


@UNIX
def test_a_command_and_one_that_a_checkout_does_not_know(tmp_path: Path) -> None:
    """One tree is what is installed, the other a package that cannot answer."""
    (tmp_path / "other" / "tallstack").mkdir(parents=True)
    (tmp_path / "other" / "tallstack" / "__init__.py").touch()
    trees = [Tree("before", tmp_path / "other"), Tree("after", tmp_path / "nothing")]
    setting = Setting(trees, tmp_path, 1)
    (row,) = against_plain(setting, {"`pushrods`": ("pushrods", DEMO)}, 1)
    assert len(row) == len(heads(setting, "command"))
    assert row[:2] == ["`pushrods`", NOT_KNOWN]
    assert 0.1 < float(row[2]) < 10
    assert row[4].endswith(" MB")


@UNIX
def test_the_page_is_written_by_a_process_that_loads_no_numpy() -> None:
    """A child's most memory counts from that of its parent."""
    asked = "import sys; from tests.benchmarks import figures; print('numpy' in sys.modules)"
    assert process("-c", asked, env={**AS_STARTED, "PYTHONPATH": str(ROOT)}).out.split() == ["False"]


def test_a_checkout_stands_as_it_maps_its_package(tmp_path: Path) -> None:
    checkout = tmp_path / "checkout"
    (checkout / "cli" / "library").mkdir(parents=True)
    (checkout / "pyproject.toml").write_text(MAPPED, encoding="utf-8")
    (checkout / "cli" / "app.py").write_text("HERE = 1\n", encoding="utf-8")
    (checkout / "cli" / "library" / "__init__.py").write_text("TOP = 1\n", encoding="utf-8")
    tree = planted(checkout, "before", tmp_path)
    assert (tree.site / "tallstack" / "__init__.py").read_text(encoding="utf-8") == "TOP = 1\n"
    assert (tree.site / "tallstack" / "cli" / "app.py").exists()
    assert tree.env["PYTHONPATH"] == str(tree.site)
    assert not list(checkout.rglob("__pycache__"))


def test_the_collision_library_finds_what_tallstack_does() -> None:
    assert set(prices()) == {"two heads", "a head and a plain crown"}
