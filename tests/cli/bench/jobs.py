"""Jobs in a folder, for the page to show."""

from __future__ import annotations

from pathlib import Path

from ...commands import DEMO

OTHERS = ("intake.csv", "exhaust.csv")
HALF = """\
# begun, and not gone on with
format = 1
units = "mm"

[stack]
cylinder = "109.5 +/- 0.1"    # read in three places
base_gasket = ""

[[cylinder]]
name = "front"

[[train]]
cylinder = "front"
port = "intake"
lifter = { kind = "hydraulic", preload = "1.0 mm" }   # on one line
[train.measured_pushrod]
length = "276.0 +/- 0.2"  # by calipers
as = "overall"
plunger = "top"

[[train]]
cylinder = "front"
port = "exhaust"
like = "front.intake"
"""


def twin(folder: Path, name: str = "twin") -> Path:
    """Write the demo's twin with its tables; return its file."""
    for one in OTHERS:
        (folder / one).write_bytes((DEMO.parent / one).read_bytes())
    path = folder / f"{name}.toml"
    path.write_bytes(DEMO.read_bytes())
    return path


def half(folder: Path, name: str = "half") -> Path:
    """Write a job that is begun; return its file."""
    path = folder / f"{name}.toml"
    path.write_text(HALF, encoding="utf-8")
    return path
