"""Which errors are put in: those of a cosmic-ray session, less those that no run of the program can show."""

from __future__ import annotations

import ast
import json
import random
import sqlite3
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from cosmic_ray.mutating import mutate_code  # type: ignore[import-not-found]
from cosmic_ray.plugins import get_operator  # type: ignore[import-not-found]

Place = tuple[int, int]  # line from 1, column from 0


class PutIn(NamedTuple):
    """One error: an operator of cosmic-ray at one of the places where it can act."""

    path: str  # from the repository's root
    operator: str
    arguments: str  # JSON
    occurrence: int
    begins: Place
    ends: Place

    def source(self, root: Path) -> str:
        """Return the module's text with the error in it."""
        arguments = json.loads(self.arguments)
        operator = get_operator(self.operator)(
            **(json.loads(arguments) if isinstance(arguments, str) else arguments)
        )
        source = (root / self.path).read_text(encoding="utf-8")
        changed = str(mutate_code(source, operator, self.occurrence))
        if changed == source:
            message = f"{self.name}: nothing is changed by it; make the session anew"
            raise ValueError(message)
        return changed

    @property
    def name(self) -> str:
        """What it is and where, for a list."""
        return f"{self.path}:{self.begins[0]}:{self.begins[1]} {self.operator.partition('/')[2]} {self.occurrence}"


def of_session(session: Path, root: Path) -> tuple[list[PutIn], int]:
    """Return the errors of a session that can be seen when the module runs, and how many cannot.

    What is only read by a type checker, annotations and what stands under TYPE_CHECKING, never runs.
    """
    columns = "module_path, operator_name, operator_args, occurrence, start_pos_row, start_pos_col, end_pos_row, end_pos_col"
    rows = (
        sqlite3.connect(session)
        .execute(f"select {columns} from mutation_specs order by 1, 5, 6, 2, 4")
        .fetchall()
    )
    found = [PutIn(*row[:4], (row[4], row[5]), (row[6], row[7])) for row in rows]
    seen = [
        one for one in found if not any(low <= one.begins < high for low, high in _never_run(root / one.path))
    ]
    return seen, len(found) - len(seen)


def sample(found: list[PutIn], count: int, seed: int) -> list[PutIn]:
    """Return so many of them, the same for the same seed."""
    return random.Random(seed).sample(found, min(count, len(found)))


@cache
def _never_run(path: Path) -> tuple[tuple[Place, Place], ...]:
    return tuple(_spans(ast.parse(path.read_text(encoding="utf-8"))))


def _spans(tree: ast.AST) -> Iterator[tuple[Place, Place]]:
    for node in ast.walk(tree):
        parts: list[ast.AST | None] = []
        if isinstance(node, ast.FunctionDef):
            parts.append(node.returns)
        elif isinstance(node, (ast.arg, ast.AnnAssign)):
            parts.append(node.annotation)
        elif isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            parts += node.body
        for part in parts:
            if isinstance(part, (ast.expr, ast.stmt)):
                assert part.end_lineno is not None
                assert part.end_col_offset is not None
                yield (part.lineno, part.col_offset), (part.end_lineno, part.end_col_offset)
