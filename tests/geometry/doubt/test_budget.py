"""The linear budget against `uncertainties`, a package that carries doubts through a formula by itself."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.pushrod.ordering import orders
from uncertainties import ufloat, umath

JOB = """format = 1
units = "mm"
[stack]
cylinder = "141.30 +/- 0.03"
head_gasket = "1.20 +/- 0.05"
[[cylinder]]
name = "one"
[[train]]
cylinder = "one"
port = "intake"
lifter = { kind = "hydraulic", preload = 1.2 }
[train.measured_pushrod]
length = "270.00 +/- 0.05 (1 sigma)"
as = "centres"
plunger = "top"
lean = "4 +/- 1.5"
stack = { cylinder = "136.10 +/- 0.02" }
"""


def test_a_pushrod_carried_to_a_taller_stack(tmp_path: Path) -> None:
    """The law of cosines, the gasket that was the same then and now taken once."""
    path = tmp_path / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    job = load(path)
    (order,) = orders(job.mapping, job.quantities, job.doubts)
    assert order.budget is not None
    assert order.required is not None
    flat = math.sqrt(3.0)
    now, then = ufloat(141.30, 0.03 / flat), ufloat(136.10, 0.02 / flat)
    gasket = ufloat(1.20, 0.05 / flat)
    read, lean = ufloat(270.00, 0.05), ufloat(math.radians(4.0), math.radians(1.5) / flat)
    taller = (now + gasket) - (then + gasket)
    carried = umath.sqrt(read**2 + 2 * read * taller * umath.cos(lean) + taller**2)
    assert float(order.required.lengths["centres"]) == pytest.approx(carried.nominal_value + 1.2, abs=1e-3)
    assert order.budget.standard == pytest.approx(carried.std_dev, rel=1e-3)
    whole = carried.std_dev**2
    for variable, entry in ((read, "one.intake.measured_pushrod.length"), (now, "stack.cylinder")):
        share = (carried.derivatives[variable] * variable.std_dev) ** 2 / whole
        assert order.budget.shares[entry] == pytest.approx(share, rel=1e-3)


def test_the_end_gauge() -> None:
    """JCGM 100:2008, H.1, as `tests/published/test_gum.py` has it from its budget."""
    standard, difference = ufloat(50000623.0, 25.0), ufloat(215.0, 9.681941953967707)
    alpha, theta = ufloat(0.0, 1e-6 / math.sqrt(3.0)), ufloat(0.0, 0.05 / math.sqrt(3.0))
    length = standard + difference - standard * (alpha * -0.1 + 11.5e-6 * theta)
    assert length.nominal_value == pytest.approx(50000838.0)
    assert length.std_dev == pytest.approx(31.663879111008633, rel=1e-9)
