"""Who may load what: geometry computes alone, --help is light, pushrods loads no drawing of proofs."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from .clearance_jobs import by_coordinates
from .seeded import few

ROOT = Path(__file__).parent.parent
OUTSIDE = {"typer", "rich", "pydantic", "matplotlib", "tree_sitter", "tree_sitter_toml"}
SERVES = {"starlette", "uvicorn", "h11", "anyio", "asyncio"}  # what the bench page alone is served with
ALONE = {
    "geometry.pushrod.derive": {"sympy"},
    "geometry.piston.table": {"scipy"},
    "geometry.doubt.distributions": {"scipy"},
}  # the modules that may load it


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


def name_of(path: Path) -> str:
    """Return a file's dotted name within the checkout: geometry.core.frames, or geometry.core for its __init__."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def imports(path: Path) -> set[str]:
    """Return every module that a file imports, anywhere in it; those of its own package by their names in the checkout."""
    found: set[str] = set()
    package = name_of(path).split(".")
    if path.name != "__init__.py":
        package = package[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and not node.level:
            found.add(node.module or "")
        elif isinstance(node, ast.ImportFrom):
            stem = ".".join([*package[: len(package) - node.level + 1], *filter(None, [node.module])])
            inner = {f"{stem}.{alias.name}" for alias in node.names}
            found |= {one if one in MODULES else stem for one in inner}
    return found


GEOMETRY = sorted((ROOT / "geometry").rglob("*.py"))
CLI = sorted((ROOT / "cli").rglob("*.py"))
MODULES = {name_of(path): path for path in (*GEOMETRY, *CLI)}
FLOORS = (  # each stands on those before it alone
    "core", "gear", "crank", "engine", "doubt", "piston", "cam", "pushrod", "clearance", "fits", "sure",
)  # fmt: skip


def test_each_package_of_geometry_stands_on_those_before_it() -> None:
    assert {name.split(".")[1] for name in MODULES if name.startswith("geometry.")} == set(FLOORS)
    for name, path in MODULES.items():
        if name.count(".") < 2 or not name.startswith("geometry."):
            continue
        floor = FLOORS.index(name.split(".")[1])
        for other in imports(path):
            if other.startswith("geometry."):
                assert FLOORS.index(other.split(".")[1]) <= floor, f"{name} imports {other}"


def test_no_circle_of_modules_in_geometry() -> None:
    """Not even one that an import within a function hides."""
    left = {
        name: imports(path) & set(MODULES) for name, path in MODULES.items() if name.startswith("geometry")
    }
    while free := {name for name, needs in left.items() if not needs & set(left)}:
        left = {name: needs for name, needs in left.items() if name not in free}
    assert not left


LIBRARY = ROOT / "cli" / "library" / "__init__.py"  # is `tallstack` itself, above both


@pytest.mark.parametrize("path", [one for one in (*GEOMETRY, *CLI) if one != LIBRARY], ids=name_of)
def test_what_a_package_has_itself_is_imported_relatively(path: Path) -> None:
    own = f"tallstack.{name_of(path).partition('.')[0]}"
    assert not any(name == own or name.startswith(f"{own}.") for name in imports(path))


@pytest.mark.parametrize("path", GEOMETRY, ids=name_of)
def test_geometry_imports_the_standard_library_numpy_and_itself(path: Path) -> None:
    roots = {name.split(".")[0] for name in imports(path)}
    allowed = set(sys.stdlib_module_names) | {"numpy"} | ALONE.get(name_of(path), set())
    assert roots <= allowed | {"geometry"}


@pytest.mark.parametrize("path", GEOMETRY, ids=name_of)
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


@pytest.mark.parametrize("words", [("--help",), ("pushrods", "--help"), ("bench", "--help")])
def test_help_loads_no_numpy(words: tuple[str, ...]) -> None:
    assert not loaded(command(*words)) & {"numpy", "sympy", "matplotlib", "rich", *SERVES}


@pytest.mark.parametrize("name", ["taller_twin_by_bench", "taller_twin_by_coordinates"])
def test_pushrods_loads_neither_sympy_nor_pictures_nor_the_syntax_tree(name: str) -> None:
    job = ROOT / "worked_examples" / name / "job.toml"
    found = loaded(command("pushrods", str(job)))
    assert "numpy" in found
    assert not found & {"sympy", "scipy", "matplotlib", "rich", "tree_sitter", "tomlkit", *SERVES}
    assert not found & {"typer", "pydantic", "numpy.random", "numpy.ma", "numpy.fft", "email"}
    assert not found & {"statistics", "shutil"}  # for readings, and for a terminal
    assert "tallstack.geometry.piston.over_piston" not in found  # what reads tables, where there are none
    assert (
        "tallstack.cli.guide.told" not in found
    )  # what a person does at the bench, shown by new and check alone


def test_readings_laid_beside_the_entries_load_no_scipy_and_a_plain_line_no_typer() -> None:
    found = loaded(command("clearance", str(ROOT / "cli" / "demo" / "twin.toml")))
    assert "tallstack.geometry.doubt.readings" in found
    assert not found & {"scipy", "sympy", "matplotlib", "typer", "pydantic", "numpy.random", "numpy.ma"}


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


@pytest.mark.parametrize("words", few([("bench", "none.toml"), ("sheet", "job.toml", "-o", "sheet.html")], 1))
def test_only_a_page_that_is_served_loads_what_serves_it(
    words: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_coordinates(tmp_path).replace(tmp_path / "job.toml")
    monkeypatch.chdir(tmp_path)
    assert not loaded(command(*words)) & SERVES
    serving = {
        name for name, path in MODULES.items() if {one.split(".")[0] for one in imports(path)} & SERVES
    }
    assert {name.rpartition(".")[0] for name in serving} == {"cli.bench"}


def test_whether_an_entry_was_taken_from_another_is_asked_in_one_room() -> None:
    rooms = [
        one for one in (ROOT / "cli").rglob("*.py") if 'startswith("as ' in one.read_text(encoding="utf-8")
    ]
    assert [one.name for one in rooms] == []
