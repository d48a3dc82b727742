"""What the house looks like from outside: modules, packages, circles, imports, where one entry is named, lines of code.

    python tests/benchmarks/house.py [CHECKOUT ...]      one column for each checkout, this one where none is named

An import counts wherever it stands, within a function too. A module is a room of an entry where it holds the entry's path, or
its last part, as a text of its own. Lines of code are those that hold a token other than a comment or a docstring.
"""

from __future__ import annotations

import ast
import sys
import tokenize
from collections.abc import Callable, Mapping
from pathlib import Path

HERE = Path(__file__).parent.parent.parent
PACKAGES = ("geometry", "cli")
LIBRARY = "cli.library"  # is the package above both
ENTRIES = ("stack.cylinder", "lifter.preload", "lobe.intake.centreline")

Modules = Mapping[str, Path]


def modules_of(checkout: Path) -> dict[str, Path]:
    """Return every module of a checkout by its dotted name: geometry.core.frames."""
    found = {}
    for package in PACKAGES:
        for path in sorted((checkout / package).rglob("*.py")):
            parts = path.relative_to(checkout).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imported(name: str, modules: Modules) -> list[tuple[str, bool, bool]]:
    """Return every module of the checkout that one imports, whether absolutely, and whether within a function."""
    tree = ast.parse(modules[name].read_text(encoding="utf-8"))
    package = name.split(".") if modules[name].name == "__init__.py" else name.split(".")[:-1]
    inner = {
        id(one)
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
        for one in ast.walk(function)
    }
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.ImportFrom):
            continue
        stem = node.module or ""
        if node.level:
            stem = ".".join([*package[: len(package) - node.level + 1], *filter(None, [node.module])])
        stem = stem.removeprefix("tallstack.")
        for one in node.names:
            target = f"{stem}.{one.name}" if f"{stem}.{one.name}" in modules else stem
            if target in modules and target != name:
                found.append((target, not node.level, id(node) in inner))
    return found


def circles(modules: Modules) -> int:
    """Return in how many groups modules need one another."""
    needs = {name: {one for one, *_ in imported(name, modules)} for name in modules}

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        left = [start]
        while left:
            for one in needs[left.pop()] - seen:
                seen.add(one)
                left.append(one)
        return seen

    reach = {name: reached(name) for name in needs}
    groups = {
        frozenset(one for one in reach[name] if name in reach[one]) for name in needs if name in reach[name]
    }
    return len(groups)


def absolute(modules: Modules) -> int:
    """Return how many imports within a package are absolute."""
    return sum(
        is_absolute and one.split(".")[0] == name.split(".")[0]
        for name in modules
        if name != LIBRARY
        for one, is_absolute, _ in imported(name, modules)
    )


def flat(modules: Modules) -> int:
    """Return how many modules lie in no package within geometry/ or cli/."""
    return sum(name.count(".") == 1 and path.name != "__init__.py" for name, path in modules.items())


def in_functions(modules: Modules) -> int:
    """Return how many imports stand within a function."""
    return sum(inner for name in modules for *_, inner in imported(name, modules))


def rooms(entry: str) -> Callable[[Modules], int]:
    """Return what counts the modules in which an entry is named."""
    names = {entry, entry.rpartition(".")[2]}

    def count(modules: Modules) -> int:
        found = 0
        for path in modules.values():
            tree = ast.parse(path.read_text(encoding="utf-8"))
            texts = {one.value for one in ast.walk(tree) if isinstance(one, ast.Constant)}
            keywords = {one.arg for one in ast.walk(tree) if isinstance(one, ast.keyword)}
            found += bool(names & {str(one) for one in texts}) or entry.rpartition(".")[2] in keywords
        return found

    return count


def lines(modules: Modules) -> int:
    """Return how many lines hold code."""
    total = 0
    for path in modules.values():
        source = path.read_text(encoding="utf-8")
        texts = {
            line
            for one in ast.walk(ast.parse(source))
            if isinstance(one, ast.Expr)
            and isinstance(one.value, ast.Constant)
            and isinstance(one.value.value, str)
            for line in range(one.lineno, (one.end_lineno or one.lineno) + 1)
        }
        with path.open("rb") as file:
            kept = (tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT)
            held = {
                line
                for one in tokenize.tokenize(file.readline)
                if one.type not in (*kept, tokenize.ENCODING, tokenize.ENDMARKER)
                for line in range(one.start[0], one.end[0] + 1)
            }
        total += len(held - texts)
    return total


ROWS: tuple[tuple[str, Callable[[Modules], int]], ...] = (
    ("modules", len),
    ("packages", lambda modules: sum(path.name == "__init__.py" for path in modules.values())),
    ("modules that lie flat in geometry/ and cli/", flat),
    ("circles of modules", circles),
    ("absolute imports within a package", absolute),
    ("imports within a function", in_functions),
    *((f"modules that name {entry}", rooms(entry)) for entry in ENTRIES),
    ("lines of code", lines),
)


if __name__ == "__main__":
    houses = [modules_of(Path(one)) for one in sys.argv[1:]] or [modules_of(HERE)]
    for title, count in ROWS:
        print(f"{title:<46}", *(f"{count(one):>8,}" for one in houses))
