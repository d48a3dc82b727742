"""What the parts are made of: growth with heat, elastic modulus, yield strength.

Linear expansion at room temperature from W. D. Callister, Fundamentals of Materials Science and Engineering,
Appendix B, Table B.6; other sources differ by 5 to 10 percent, and SPREAD of it is carried as doubt. Moduli and
strengths are usual values of the trade's alloys, from memory.

Expansions are entries, by default those of the tables, so that hot lash has an honest doubt.
"""

from __future__ import annotations

from typing import NamedTuple


class Material(NamedTuple):
    """One material."""

    expansion: float  # 1/K
    modulus: float  # N/mm²
    strength: float  # N/mm², yield
    what: str
    poisson: float = 0.3


PER_MILLION = 1e-6  # of which expansions are entered in
SPREAD = 0.07  # of an expansion, half-width between sources
MATERIALS = {
    "aluminium": Material(23.6e-6, 69000.0, 275.0, "6061", 0.33),
    "cast aluminium": Material(21.5e-6, 72000.0, 165.0, "356.0, cast", 0.33),
    "grey iron": Material(11.4e-6, 100000.0, 200.0, "G1800 to G4000", 0.26),
    "ductile iron": Material(11.2e-6, 170000.0, 300.0, "60-40-18", 0.28),
    "steel": Material(12.3e-6, 207000.0, 650.0, "alloy steel 4140, 4340"),
    "mild steel": Material(11.7e-6, 207000.0, 250.0, "1020"),
    "stainless steel": Material(17.2e-6, 193000.0, 205.0, "304"),
    "titanium": Material(8.6e-6, 110000.0, 830.0, "Ti-6Al-4V", 0.34),
}
