"""Pairs of sizes of which one must be the larger: every rule is told where it is broken, and not where it is kept."""

from __future__ import annotations

import pytest
from tallstack.cli.job.checks.fits import OF_CYLINDER, OF_GEAR, OF_SPRING, Rule

from ....job_texts import TWO, faults_of

RULES = [
    *((rule, "front.intake.") for rule in OF_GEAR),
    *((rule, "front." if rule[0].startswith("spigot.") else "") for rule in OF_CYLINDER),
    *((rule, "front.intake.spring.") for rule in OF_SPRING),
]


def tried(rule: Rule, stem: str, large: float, small: float) -> dict[str, str]:
    """Return what is wrong where the two sizes of a rule are entered."""
    more = {f"{stem}{rule[0]}": large, f"{stem}{rule[1]}": small}
    if rule[1] == "force_at":
        return faults_of(TWO, *(f"{path}={value} mm" for path, value in more.items()), f"{stem}force=300 N")
    return faults_of(TWO, *(f"{path}={value} mm" for path, value in more.items()))


@pytest.mark.parametrize(
    ("rule", "stem"), RULES, ids=lambda one: one if isinstance(one, str) else f"{one[0]} {one[1]}"
)
def test_a_rule_is_told_where_it_is_broken(rule: Rule, stem: str) -> None:
    found = tried(rule, stem, 1.2, 1.6)
    told = rule[2].format(large="1.200 mm (0.0472 in)", small="1.600 mm (0.0630 in)")
    assert any(told in one for one in found.values()), found
    assert not [
        one
        for one in tried(rule, stem, 1.6, 1.2).values()
        if told.partition(" ")[0] in one and rule[3] in one
    ]


def test_a_force_without_its_height_is_asked_for_it() -> None:
    found = faults_of(TWO, "front.intake.spring.force=300 N")
    assert any("force_at" in f"{loc} {one}" for loc, one in found.items()), found


def test_an_arch_ends_below_the_oil_ring() -> None:
    tried = ("piston.skirt_below_pin=20 mm", "piston.compression_height=30 mm", "piston.oil_ring=18 mm")
    found = faults_of(TWO, *tried, "piston.arch_height=33 mm")
    assert any("reaches the oil ring, 32.000 mm" in one for one in found.values()), found
    assert not any("arch" in one for one in faults_of(TWO, *tried, "piston.arch_height=31 mm").values())
    found = faults_of(TWO, *tried[:2], "piston.arch_height=51 mm")
    assert any("reaches the crown, 50.000 mm" in one for one in found.values()), found
    found = faults_of(TWO, *tried[:2], "piston.oil_ring=50.5 mm", "stack.base_gasket_free=2 mm")
    assert any("is off a piston 50.000 mm" in one for one in found.values()), found
