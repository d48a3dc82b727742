"""What a gauge reads when an engine is cranked, and the air that it begins with.

- calculatorlib.com, "Compression ratio to PSI calculator" (read 2026): 14.7 psi, exponent 1.3: 9:1 gives 255.76 psi
  absolute and 241.06 psi by gauge.
- 7.5^1.3 x 14.7 = 201.8 psi absolute, 187.1 psi by gauge: a worked example of the trade's pages, from memory.
- ISO 2533:1975, Standard atmosphere, pressures at geopotential heights of 1,000, 2,000 and 3,000 m: 898.746, 794.952 and
  701.085 hPa, from memory; half of the digit before their last, since the law's constants are told to six digits.
- A ring's gap grows by 0.003 in for each 0.001 in of bore: common practice.
"""

from __future__ import annotations

import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.fits.trapped import HIGH, air


@pytest.mark.parametrize(("ratio", "absolute", "gauge"), [(9.0, 255.76, 241.06), (7.5, 201.8, 187.1)])
def test_a_polytropic_compression(ratio: float, absolute: float, gauge: float) -> None:
    """As the cranking pressure is worked out, of air at 14.7 psi."""
    digit = 0.05 if ratio == 7.5 else 0.005
    assert 14.7 * ratio**HIGH == pytest.approx(absolute, abs=digit)
    assert 14.7 * (ratio**HIGH - 1) == pytest.approx(gauge, abs=digit)


@pytest.mark.parametrize(
    ("height", "hectopascals"), [(0, 1013.25), (1000, 898.746), (2000, 794.952), (3000, 701.085)]
)
def test_the_standard_atmosphere(height: float, hectopascals: float) -> None:
    assert float(air(array(height))) * 10 == pytest.approx(hectopascals, abs=0.005)
