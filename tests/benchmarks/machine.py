"""On what the figures were measured."""

from __future__ import annotations

import ctypes
import os
import platform
from pathlib import Path
from typing import Any

import numpy as np


def header() -> str:
    """Return in a line what counts for a figure: numpy, its BLAS, Python, cores and processor."""
    blas: Any = np.show_config(mode="dicts")["Build Dependencies"]["blas"]
    threads = _threads()
    told = "threads not told" if threads is None else f"{threads} thread{'s' if threads > 1 else ''}"
    return (
        f"numpy {np.__version__}, {blas.get('name', 'no BLAS')} {blas.get('version', '')} ({told}); "
        f"{platform.python_implementation()} {platform.python_version()}; {os.cpu_count()} cores, {platform.machine()}"
        f"{_processor()}; {platform.system()}"
    )


def _threads() -> int | None:
    """Return how many threads numpy's own OpenBLAS multiplies with, where it is that and says so."""
    folders = [Path(np.__file__).parents[1] / "numpy.libs", Path(np.__file__).parent / ".dylibs"]
    for path in (one for folder in folders if folder.is_dir() for one in folder.iterdir()):
        if "openblas" not in path.name:
            continue
        library = ctypes.CDLL(str(path))
        for name in (
            "scipy_openblas_get_num_threads64_",
            "openblas_get_num_threads64_",
            "openblas_get_num_threads",
        ):
            if hasattr(library, name):
                return int(getattr(library, name)())
    return None


def _processor() -> str:
    """Return what the system calls the processor, where it says so."""
    told = Path("/proc/cpuinfo")
    lines = told.read_text(encoding="utf-8").splitlines() if told.exists() else []
    return next(
        (f", {line.partition(':')[2].strip()}" for line in lines if line.startswith("model name")), ""
    )
