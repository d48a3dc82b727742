"""Prints a constraints file that pins every dependency to the lower bound pyproject.toml states."""

from __future__ import annotations

import tomllib
from pathlib import Path

PROJECT = Path(__file__).parent.parent / "pyproject.toml"


def pins() -> list[str]:
    """Return "name==lowest" for each dependency."""
    stated = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["dependencies"]
    return [one.replace(">=", "==") for one in stated]


if __name__ == "__main__":
    print("\n".join(pins()))
