"""The inch, and the volumes that follow from it.

Reference: A. Thompson, B. N. Taylor, Guide for the Use of the International System of Units, NIST
Special Publication 811, 2008, appendix B.8: 1 in = 2.54 E-02 m exactly; 1 in³ = 1.638 706 4 E-05 m³.
How it was read: from memory; the exact inch VERIFIED in the public package scipy 1.17,
`constants/_constants.py`, `inch = 0.0254`, which is read here again.

Tolerance: none. The inch is exact, its cube has seven exact digits after the point in cm³.
"""

from __future__ import annotations

import math

import pytest
from scipy import constants  # type: ignore[import-untyped, unused-ignore]
from tallstack.cli.job.reading.values import Dimension, Value, read


def number(raw: object, dimension: Dimension, units: str = "mm") -> float:
    value = read(raw, dimension, units)
    assert isinstance(value, Value)
    return value.number


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("1 in", 25.4),
        ('1"', 25.4),
        ("1000 thou", 25.4),
        ("1 mm", 1.0),
        ("1 1/2 in", 38.1),
        ("5/16 in", 7.9375),
    ],
)
def test_inch(typed: str, mm: float) -> None:
    assert number(typed, Dimension.LENGTH) == mm


def test_bare_numbers_in_the_files_units() -> None:
    assert number(1, Dimension.LENGTH, "in") == 25.4
    assert number(1, Dimension.LENGTH, "mm") == 1.0


def test_against_the_package() -> None:
    assert number("1 in", Dimension.LENGTH) == constants.inch * 1000
    assert number("1 cu in", Dimension.VOLUME) == pytest.approx(constants.inch**3 * 1e9, rel=1e-15)


def test_cubic_inch() -> None:
    assert number("1 cu in", Dimension.VOLUME) == 16387.064
    assert number("1 cc", Dimension.VOLUME) == 1000.0
    assert number("16.387064 cc", Dimension.VOLUME) == number("1 cu in", Dimension.VOLUME)


def test_degree() -> None:
    assert number(180, Dimension.ANGLE) == math.pi
