"""Who may load what: geometry computes alone, --help is light, pushrods loads no drawing of proofs."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from .clearance_jobs import by_coordinates
from .seeded import few

ROOT = Path(__file__).parent.parent
OUTSIDE = {"typer", "rich", "pydantic", "matplotlib", "tree_sitter", "tree_sitter_toml"}
ALONE = {"derive.py": {"sympy"}, "crown_table.py": {"scipy"}}  # the one module that may load it


def loaded(code: str) -> set[str]:
    """Return the names of the modules that a fresh interpreter has loaded after running code."""
    ended = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print('LOADED', *sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    return set(ended.stdout.rpartition("LOADED")[2].split())


def command(*words: str) -> str:
    """Return code that runs the command line and goes on."""
    return (
        f"import sys; sys.argv = {['tallstack', *words]!r}\n"
        "from tallstack.cli.app import main\n"
        "try: main()\nexcept SystemExit: pass"
    )


def imports(path: Path) -> set[str]:
    """Return every module that a file imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


GEOMETRY = sorted((ROOT / "geometry").rglob("*.py"))
CLI = sorted((ROOT / "cli").rglob("*.py"))


@pytest.mark.parametrize("path", GEOMETRY, ids=lambda path: path.name)
def test_geometry_imports_the_standard_library_numpy_and_itself(path: Path) -> None:
    roots = {name.split(".")[0] for name in imports(path)}
    allowed = set(sys.stdlib_module_names) | {"numpy"} | ALONE.get(path.name, set())
    assert not any(name.startswith("tallstack.cli") for name in imports(path))
    assert roots <= allowed | {"tallstack"}


@pytest.mark.parametrize("path", GEOMETRY, ids=lambda path: path.name)
def test_geometry_reads_and_prints_nothing(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not names & {"print", "open", "input"}


def test_geometry_loads_nothing_a_person_sees() -> None:
    assert not loaded("import tallstack.geometry.pushrod.ordering") & (OUTSIDE | {"sympy"})


@pytest.mark.parametrize("words", [("--help",), ("pushrods", "--help"), ("demo", "--help")])
def test_help_loads_no_numpy(words: tuple[str, ...]) -> None:
    assert not loaded(command(*words)) & {"numpy", "sympy", "matplotlib", "rich"}


@pytest.mark.parametrize("name", ["taller_twin_by_bench", "taller_twin_by_coordinates"])
def test_pushrods_loads_neither_sympy_nor_pictures_nor_the_syntax_tree(name: str) -> None:
    job = ROOT / "worked_examples" / name / "job.toml"
    found = loaded(command("pushrods", str(job)))
    assert "numpy" in found
    assert not found & {"sympy", "scipy", "matplotlib", "rich", "tree_sitter", "tomlkit"}


@pytest.mark.parametrize(
    "words", few([("check", "job.toml"), ("record", "job.toml"), ("new", "b.toml", "--blank")], 1)
)
def test_only_a_guided_session_loads_what_edits_a_file(
    words: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_coordinates(tmp_path).replace(tmp_path / "job.toml")
    monkeypatch.chdir(tmp_path)
    assert "tomlkit" not in loaded(command(*words))
    assert "tomlkit" in loaded("import tallstack.cli.guide.guide")


@pytest.mark.parametrize("words", few(["check", "clearance"], 1))
def test_without_measured_heights_no_clearance_loads_what_joins_them(words: str, tmp_path: Path) -> None:
    found = loaded(command(words, str(by_coordinates(tmp_path))))
    assert "tallstack.geometry.piston.cycle" in found
    assert not found & {"tallstack.geometry.piston.table", "scipy", "sympy", "matplotlib", "tree_sitter"}


@pytest.mark.parametrize("path", [*GEOMETRY, *CLI], ids=lambda path: path.name)
def test_no_module_grows_past_five_hundred_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 500


def test_whether_an_entry_was_taken_from_another_is_asked_in_one_room() -> None:
    rooms = [
        one for one in (ROOT / "cli").rglob("*.py") if 'startswith("as ' in one.read_text(encoding="utf-8")
    ]
    assert [one.name for one in rooms] == []
