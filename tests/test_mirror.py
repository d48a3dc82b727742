"""Tests stand where the modules stand that they are about, each by its name, and reach into no private part without saying why."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

TESTS = Path(__file__).parent
ROOT = TESTS.parent
PACKAGES = ("geometry", "cli")
BY_ITSELF = {"__init__", "__main__"}  # of these a package, or a process, is the test
PUBLIC = {"_replace", "_fields", "_asdict", "_make", "_exit"}  # of named tuples and of the system


def modules() -> list[Path]:
    """Return every module's path from the root."""
    found = [path.relative_to(ROOT) for package in PACKAGES for path in (ROOT / package).rglob("*.py")]
    return sorted(path for path in found if path.stem not in BY_ITSELF)


def test_of(module: Path) -> Path:
    """Return where a module's test file stands."""
    return TESTS / module.parent / f"test_{module.stem}.py"


test_of.__test__ = False  # type: ignore[attr-defined]


def test_every_module_has_its_test_file_by_name() -> None:
    assert len(modules()) > 200
    assert [str(one) for one in modules() if not test_of(one).exists()] == []


def test_no_test_file_is_named_after_a_module_that_is_not_there() -> None:
    there = {test_of(one) for one in modules()}
    files = {path for package in PACKAGES for path in (TESTS / package).rglob("test_*.py")}
    assert sorted(str(one.relative_to(TESTS)) for one in files - there) == []


def test_every_folder_of_tests_is_a_package() -> None:
    """So that two test files of one name are two modules."""
    for package in PACKAGES:
        for path in (TESTS / package).rglob("test_*.py"):
            assert (path.parent / "__init__.py").exists(), path


def is_private(name: str) -> bool:
    """Say whether a name is a module's own; those that end in _ are asked for by others, such as a notebook."""
    return name.startswith("_") and not name.endswith("_") and name not in PUBLIC


def reached(node: ast.AST) -> Iterator[str]:
    """Yield the private names that a piece of a test imports, reads or puts something in place of."""
    for part in ast.walk(node):
        if isinstance(part, ast.ImportFrom) and (part.module or "").startswith("tallstack"):
            yield from (alias.name for alias in part.names if is_private(alias.name))
        elif isinstance(part, ast.Attribute) and is_private(part.attr):
            if not (isinstance(part.value, ast.Name) and part.value.id == "self"):
                yield part.attr
        elif (
            isinstance(part, ast.Call) and ast.unparse(part.func).endswith(".setattr") and len(part.args) > 1
        ):
            name = part.args[1]
            if isinstance(name, ast.Constant) and isinstance(name.value, str) and is_private(name.value):
                yield name.value


def unexplained(path: Path) -> Iterator[str]:
    """Yield every private name that a file reaches for outside a function whose docstring names it."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        said = (ast.get_docstring(node) or "") if isinstance(node, (ast.FunctionDef, ast.ClassDef)) else ""
        for name in dict.fromkeys(reached(node)):
            if f"`{name}`" not in said:
                yield f"{path.relative_to(TESTS)}: {getattr(node, 'name', 'at the top')}: {name}"


def test_a_test_that_reaches_into_a_private_part_says_why() -> None:
    """In the docstring of the test, naming it: what is seen there and nowhere else."""
    files = [path for path in TESTS.rglob("*.py") if "faults" not in path.parts]
    assert [one for path in sorted(files) for one in unexplained(path)] == []
