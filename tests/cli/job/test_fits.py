"""Every fit of a job with its doubts: what is told of whom, and what moves a valve gear's beside the readings."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.job.fits import beside, crossing_of, known_gears
from tallstack.cli.job.loading import load
from tallstack.cli.page.across_words import one_way
from tallstack.cli.tables.jobtables import with_tables
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.core.answer import CYLINDER, Missing
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result, results
from tallstack.geometry.fits.across import MOST_CYLINDERS
from tallstack.geometry.fits.across_doubt import LOWERED, PISTON, SEATED
from tallstack.geometry.fits.groups import GROUPS
from tallstack.geometry.fits.springs import retainer

from ...commands import BENCH, EXAMPLES
from ...growth_jobs import cylinders

LOWERING = EXAMPLES / "which_cylinder_first" / "job.toml"


def test_every_group_is_asked_of_everything_that_it_is_of() -> None:
    job = load(BENCH)
    asked = [(one.group, one.subject) for one in job.fits.answers]
    assert len(asked) == len(set(asked))
    for group in GROUPS:
        names = job.names["cylinders" if group.of == CYLINDER else "trains"]
        assert [subject for one, subject in asked if one is group] == list(names)
    assert {one.subject for one in job.fits.of("front")} == {"front"}


def test_what_is_missing_is_not_told() -> None:
    for one in load(BENCH).fits.answers:
        if isinstance(one.found, Missing):
            assert one.told == {}


def test_a_cylinder_alone_has_nothing_across() -> None:
    assert crossing_of(load(EXAMPLES / "hot_lash_lost" / "job.toml")).sure == {}
    found = crossing_of(load(LOWERING))
    assert not found.unseen("front", "rear")
    assert [one.cylinders for one in found.spigots] == [("front", "rear")]


def test_more_cylinders_than_are_held_against_each_other_are_told_so(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(cylinders(MOST_CYLINDERS + 1, spigots=True), encoding="utf-8")
    found = crossing_of(load(path))
    assert not (found.across)
    assert not (found.spigots)
    assert not (found.sure)
    assert not (found.asked)
    (told,) = one_way(found)
    assert "5 cylinders, at most 4 are held against each other; write a job of those" in told


def test_without_springs_tubes_or_seals_no_lobe_is_asked_for() -> None:
    def refused() -> Tables:
        pytest.fail("no table is needed")

    job = load(BENCH)
    assert known_gears(job, refused) == {}
    assert beside(job, {}, "front.intake") == {
        wish: job.doubts[wish]
        for wish in ("front.intake.lifter.preload",)
        if job.doubts.get(wish, None) is not None and job.doubts[wish].half_width > 0
    }


SPIGOTS = (SEATED, "front", "rear")


AT_VALVE = """
format = 1
title = "lifts at the valve, a solid lifter"
units = "mm"
[[cylinder]]
name = "one"
[lobe.intake]
measured_at = "valve"
centreline = "106 +/- 1"
LOBE
[[train]]
cylinder = "one"
port = "intake"
lifter = { kind = "solid", lash = "0.4 +/- 0.01" }
rocker = { ratio = "1.6 +/- 0.001" }
valve = { retainer_to_seal = "14.0 +/- 0.05" }
"""
CARD = (
    'card = { peak = "12.0 +/- 0.02", ratio = "1.6 +/- 0.001", '
    'duration = { at = "1.27 +/- 0.01", degrees = "230 +/- 1" } }'
)
TABLE = 'table = "lobe.csv"\nangle = "cam"\n'


def retainers(folder: Path, lobe: str) -> Result:
    """Return what is left between retainer and seal of a solid lifter's valve, its lifts read at the valve."""
    lifts = [12.0 * math.cos(min(abs(at - 180) / 60, 1.0) * math.pi / 2) ** 2 for at in range(0, 360, 5)]
    rows = [f"{5 * row},{lift:.3f}" for row, lift in enumerate(lifts)]
    (folder / "lobe.csv").write_text("\n".join(["angle,lift", *rows]), encoding="utf-8")
    path = folder / "job.toml"
    path.write_text(AT_VALVE.replace("LOBE", lobe), encoding="utf-8")
    job, tables = with_tables(load(path))
    gears = known_gears(job, lambda: tables)
    more = beside(job, gears, "one.intake")
    found = results(
        job.mapping, retainer, "one.intake", job.quantities, job.doubts, gears["one.intake"], more
    )
    assert not isinstance(found, Missing)
    return found["retainer_to_seal"]


@pytest.mark.parametrize("lobe", [CARD, TABLE])
def test_a_lash_that_lifts_were_read_with_and_nobody_said_leaves_them_unproved(
    tmp_path: Path, lobe: str
) -> None:
    entry = "card.lash" if lobe == CARD else "lash_read"
    said = lobe.replace("card = {", "card = { lash = 0.4,") if lobe == CARD else f"{lobe}lash_read = 0.4\n"
    left_out = retainers(tmp_path, lobe)
    assert left_out.verdict is Verdict.UNPROVED
    assert left_out.budget.undoubted == (f"lobe.intake.{entry}",)
    told = retainers(tmp_path, said.replace("0.4", '"0.4 +/- 0.01"'))
    assert told.verdict is Verdict.OK
    assert told.value <= left_out.value
    wide = retainers(tmp_path, said.replace("0.4", '"0.4 +/- 0.2"'))
    assert wide.budget.standard**2 - told.budget.standard**2 == pytest.approx(
        (0.2**2 - 0.01**2) / 3, rel=1e-3
    )


def test_a_spigot_that_was_not_measured_is_not_none(tmp_path: Path) -> None:
    text = LOWERING.read_text(encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text(text.replace(', outer_diameter = "104.0 +/- 0.1" }', " }", 1), encoding="utf-8")
    job = load(path)
    found = crossing_of(job)
    assert found.unseen("front", "rear")
    assert found.unseen("rear", "front")
    assert SPIGOTS not in found.sure
    (drop,) = found.drop_on  # the other way round nothing is known of what is lowered
    assert drop.past is None
    assert found.sure[LOWERED, drop.fitted, drop.lowered].verdict in (Verdict.UNPROVED, Verdict.SHORT)
    assert "front.spigot.outer_diameter" in found.asked


def test_spigots_that_meet_go_on_in_no_order() -> None:
    long = [f"{name}.spigot.length=48 +/- 0.2 mm" for name in ("front", "rear")]
    found = crossing_of(load(LOWERING, variations=long))
    sure = found.sure[SPIGOTS]
    assert sure.meets
    assert sure.verdict is Verdict.SHORT
    assert dict(sure.slopes) == {}
    assert [one.blocked for one in found.drop_on] == [True, True]
    assert all(not one.windows and one.safest is None and not one.always for one in found.drop_on)
    assert {found.sure[LOWERED, one.fitted, one.lowered].verdict for one in found.drop_on} == {Verdict.SHORT}
    assert found.cuts["front", "rear"] is not None


def test_spigots_in_one_place_meet() -> None:
    """Cylinders that lean alike have their spigots in each other; what rounding leaves between them is no room."""
    alike = ["rear.lean=25", "rear.fires_at=0", "rear.spigot.length=28 mm", "rear.offset=0 mm"]
    found = crossing_of(load(LOWERING, variations=alike))
    sure = found.sure[SPIGOTS]
    assert abs(sure.value) < 1e-9
    assert sure.meets
    assert sure.verdict is Verdict.SHORT
    assert [one.blocked for one in found.drop_on] == [True, True]


@pytest.mark.wide
def test_what_is_cut_from_spigots_that_meet_is_enough(tmp_path: Path) -> None:
    long = [f"{name}.spigot.length=48 +/- 0.2 mm" for name in ("front", "rear")]
    found = crossing_of(load(LOWERING, variations=long))
    cuts = found.cuts["front", "rear"]
    assert cuts is not None
    text = LOWERING.read_text(encoding="utf-8")
    for long, one in zip(("28.0", "40.0"), cuts, strict=True):
        relief = f"at = {math.degrees(one.at)}, width = {96.0 * math.sin(one.half)}, height = {one.height}"
        text = text.replace(f'length = "{long} +/- 0.2"', f'length = "48.0", reliefs = [{{ {relief} }}]')
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    cut = crossing_of(load(path))
    assert cut.sure[SPIGOTS].value == pytest.approx(found.wanted, abs=1e-5)
    assert not any(one.blocked for one in cut.drop_on)


@pytest.mark.wide
def test_a_limit_of_ones_own_for_spigots() -> None:
    plain = load(LOWERING).fits.crossing
    assert plain.sure[SPIGOTS].limit.value == 0.0
    assert plain.wanted == pytest.approx(1.524)
    own = load(LOWERING, variations=["targets.spigots=0.8 mm"]).fits.crossing
    assert own.sure[SPIGOTS].limit.is_set
    assert own.sure[SPIGOTS].verdict is Verdict.SHORT
    assert own.wanted == 0.8
    assert own.cuts["front", "rear"] is not None
    assert all(one.windows or one.relief is not None for one in own.drop_on)  # it can still be put together


@pytest.mark.wide
def test_an_arch_leaves_more_only_with_its_doubt() -> None:
    """It has to be entered whole, and each of its numbers with a +/-."""
    solid = load(LOWERING).fits.crossing
    key = (PISTON, "front", "rear")
    assert solid.across[0].solid
    tried = ["piston.arch_width=38 +/- 0.5 mm", "piston.arch_height=9 +/- 0.5 mm"]
    half = load(LOWERING, variations=tried[:1]).fits.crossing
    assert half.across[0].solid
    assert half.sure[key].value == solid.sure[key].value
    arched = crossing_of(load(LOWERING, variations=tried))
    assert not arched.across[0].solid
    assert arched.sure[key].value > solid.sure[key].value + 0.5
    assert arched.sure[key].verdict is Verdict.OK
    bare = load(
        LOWERING, variations=["piston.arch_width=38 mm", "piston.arch_height=9 +/- 0.5 mm"]
    ).fits.crossing
    assert bare.sure[key].verdict is Verdict.UNPROVED
    assert "piston.arch_width" in bare.sure[key].budget.undoubted
    for one, other in zip(arched.drop_on, solid.drop_on, strict=True):
        assert one.margin >= other.margin - 1e-6
