"""The largest first, whatever rounding says of equals."""

from __future__ import annotations

import itertools
import os
import subprocess
import sys
from pathlib import Path

import pytest
from tallstack.geometry.core.ranking import ranked

from ...commands import EXAMPLES


def test_equals_keep_their_order_whatever_rounding_says() -> None:
    names = ["first", "second", "large", "third", "small"]
    for noise in itertools.product((-1e-12, 0.0, 1e-12), repeat=3):
        sizes = {
            "first": 2.0 + noise[0],
            "second": 2.0 + noise[1],
            "third": 2.0 + noise[2],
            "large": 3.0,
            "small": 0.0,
        }
        assert ranked(names, sizes.__getitem__) == ["large", "first", "second", "third", "small"]
    again = {"first": 1.0, "second": 2.0, "third": 2.0 + 1e-9, "large": 0.0, "small": 0.0}
    assert ranked(names, lambda one: 1.0, again.__getitem__) == ["second", "third", "first", "large", "small"]
    assert ranked([], lambda one: 1.0) == []


def _under(kernel: dict[str, str], folder: Path) -> bytes:
    """Return everything that two jobs answer where numbers are worked out in another way."""
    words = (("risk", "--json", "--draws", "300"), ("check",), ("clearance", "--json"))
    out = b""
    for name in ("in_line_with_pivot_nuts", "valves_too_close_to_each_other"):
        for command, *options in words:
            job = EXAMPLES / name / "job.toml"
            ran = subprocess.run(
                [sys.executable, "-m", "tallstack.cli", command, str(job), *options],
                env={**os.environ, **kernel},
                cwd=folder,
                capture_output=True,
                check=False,
            )
            assert ran.returncode in (0, 1, 2), ran.stderr
            out += ran.stdout
    return out


@pytest.mark.wide
def test_the_same_bytes_under_another_kernel(tmp_path: Path) -> None:
    """Prescott has no fused multiplication; without AVX numpy's own loops go another way."""
    first = _under({"OPENBLAS_CORETYPE": "Prescott"}, tmp_path)
    assert first
    other = {"OPENBLAS_CORETYPE": "Haswell", "NPY_DISABLE_CPU_FEATURES": "X86_V3 AVX2 FMA3"}
    assert _under(other, tmp_path) == first
