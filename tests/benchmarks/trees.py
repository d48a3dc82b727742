"""Checkouts of the project side by side, each as the package `tallstack` in a folder of its own."""

from __future__ import annotations

import compileall
import os
import shutil
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from .timing import AS_STARTED

NOT_CODE = shutil.ignore_patterns("__pycache__")


class Tree(NamedTuple):
    """One checkout as it is measured."""

    called: str  # "before" or "after"; alone "now"
    site: Path  # the folder in which the package stands

    @property
    def env(self) -> dict[str, str]:
        """The environment in which Python imports it."""
        return {**AS_STARTED, "PYTHONPATH": str(self.site)}


def planted(checkout: Path, called: str, folder: Path) -> Tree:
    """Return a checkout copied into a folder as its `pyproject.toml` maps it, compiled as an installation is."""
    said = tomllib.loads((checkout / "pyproject.toml").read_text(encoding="utf-8"))
    site = folder / called
    for package, where in sorted(said["tool"]["setuptools"]["package-dir"].items()):
        into = site.joinpath(*package.split("."))
        shutil.copytree(checkout / where, into, dirs_exist_ok=True, ignore=NOT_CODE)
    compileall.compile_dir(site, quiet=2, workers=os.cpu_count() or 1)
    return Tree(called, site)


def trees(checkout: Path, against: Path | None, folder: Path) -> Sequence[Tree]:
    """Return the checkout alone, or one that it is held against and it."""
    if against is None:
        return [planted(checkout, "now", folder)]
    return [planted(against, "before", folder), planted(checkout, "after", folder)]
