"""What stands where it hardly can is told: a crown, a pocket, a rocker."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import load
from tallstack.cli.job.unusual.places import of_neighbours
from tallstack.geometry.engine.engine import build
from tallstack.geometry.pushrod.pushrods import required

from ....clearance_jobs import by_coordinates
from ....commands import screen
from ....job_texts import swapped, warned


def placed(tmp_path: Path, *variations: str, more: str = "") -> tuple[str, ...]:
    """Return what is told of a single by coordinates, which is usual, with other values tried."""
    return load(by_coordinates(tmp_path, more=more), variations).warnings


def test_usual_single_by_coordinates_is_quiet(tmp_path: Path) -> None:
    assert placed(tmp_path) == ()


OF_CROWN = "look at crank.stroke, crank.conrod_length, piston.compression_height and the entries of [stack]"


@pytest.mark.parametrize(
    ("deck", "told"),
    [(131.29, True), (131.31, False), (137.34, False), (137.36, True), (147.36, True)],
)
def test_crown_far_out_of_its_cylinder_or_far_down(tmp_path: Path, deck: float, told: bool) -> None:
    # By hand: the crown at top centre is sqrt((176 + 48)^2 - 0.8^2) + 34 = 257.99857 above the crank; the cylinder's
    # top is deck + 0.45 + 125.2, so with 131.9 the crown is 0.44857 out of it under a gasket of 1.05.
    found = placed(tmp_path, f"stack.case_deck={deck}")
    below = deck + 0.45 + 125.2 - 257.99857
    if not told:
        assert found == ()
    elif below < 0:
        out = f"{-below:.3f} mm ({-below / 25.4:.4f} in)"
        assert found == (
            f"at top centre the crown stands {out} out of its cylinder, further than the head gasket's 1.050 mm "
            f"(0.0413 in): it would meet a flat head; {OF_CROWN}",
        )
    else:
        down = f"{below:.3f} mm ({below / 25.4:.4f} in)"
        assert found == (
            f"at top centre the crown stands {down} below its cylinder's top; most stand within a millimetre or two of "
            f"it: {OF_CROWN}",
        )


def test_crown_is_told_only_where_everything_is_entered_and_once_for_alike_cylinders(tmp_path: Path) -> None:
    text = by_coordinates(tmp_path).read_text(encoding="utf-8").replace("131.9 +/- 0.05", "128.9")
    text = text.replace("[[cylinder]]", '[[cylinder]]\nname = "two"\n[[cylinder]]')
    assert [one[:31] for one in warned(tmp_path, text)] == ["at top centre the crown stands "]
    own = text.replace('name = "two"', 'name = "two"\nstack.cylinder = 128.2')
    assert warned(tmp_path, own) == ()  # the first cylinder is "two" here, and "one" is like no other
    own = text.replace('name = "one"\n[lobe', 'name = "one"\nstack.cylinder = 121.2\n[lobe')
    assert [one.split(" stands")[0] for one in warned(tmp_path, own)] == [
        "at top centre the crown",
        "at top centre one's crown",
    ]
    for line in ('base_gasket = "0.45 +/- 0.03"\n', 'compression_height = "34.0 +/- 0.05"\n'):
        assert warned(tmp_path, swapped(text, line, "")) == ()


@pytest.mark.parametrize(("centre", "told"), [(-22.1, False), (-22.3, True)])
def test_pocket_that_runs_out_of_the_bore(tmp_path: Path, centre: float, told: bool) -> None:
    # By hand: the rim's ellipse is 46 / 2 / cos 22 deg = 24.80629 long towards the wall, the bore's radius is 46.
    found = placed(tmp_path, f"one.intake.pocket.centre=[{centre}, 0]")
    past = -centre + 23 / math.cos(math.radians(22)) - 46
    shown = f"{past:.3f} mm ({past / 25.4:.4f} in)"
    sentence = (
        f"one.intake's pocket runs {shown} past the bore's wall: look at pocket.centre, pocket.lean and "
        "pocket.diameter"
    )
    assert found == ((sentence,) if told else ())


def test_rim_of_a_pocket_is_looked_at_all_round_and_only_where_it_is_cut(tmp_path: Path) -> None:
    aside = placed(tmp_path, "one.intake.pocket.centre=[-19.6, 18]")
    turns = np.radians(np.arange(0, 360, 0.01))
    across = -19.6 + 23 / math.cos(math.radians(22)) * np.cos(turns)
    past = float(np.hypot(across, 18 + 23 * np.sin(turns)).max()) - 46
    assert f"pocket runs {past:.3f} mm" in " ".join(aside)
    # On its other side the cutter has left the crown before it comes to the wall.
    assert not any("past the bore" in one for one in placed(tmp_path, "one.intake.pocket.centre=[24, 0]"))
    deep = placed(tmp_path, "one.intake.pocket.centre=[24, 0]", "one.intake.pocket.depth=19")
    assert any("past the bore" in one for one in deep)


def test_rocker_that_misses_its_stem(tmp_path: Path) -> None:
    def across(*variations: str) -> float:
        mapping = load(by_coordinates(tmp_path), variations).mapping
        found = required(build(mapping).train("one.intake")).across
        assert found is not None
        return float(found)

    for arm, way in (("31.2", "towards"), ("39.2", "away from")):
        tried = f"one.intake.rocker.valve_arm={arm}"
        off = abs(across(tried))
        assert 3 < off < 6
        shown = f"{off:.3f} mm ({off / 25.4:.4f} in)"
        near, beyond = (f"one.intake.valve.stem_diameter={2 * off + more}" for more in (0.01, -0.01))
        assert placed(tmp_path, tried, near) == ()
        radius = f"{off - 0.005:.3f} mm ({(off - 0.005) / 25.4:.4f} in)"
        assert placed(tmp_path, tried, beyond) == (
            f"with the valve closed one.intake's rocker bears {shown} off the centre of the stem's tip, {way} the shaft, "
            f"and the stem's radius is {radius}: it misses the tip; look at rocker.shaft, rocker.valve_arm and where the "
            "valve stands",
        )
    text = by_coordinates(tmp_path).read_text(encoding="utf-8").replace("stem_diameter = 8.0\n", "")
    (told,) = warned(tmp_path, text, "one.intake.rocker.valve_arm=25")
    assert "and no stem's radius is more than 6.000 mm" in told
    assert warned(tmp_path, text, "one.intake.rocker.valve_arm=31.2") == ()


def test_what_is_at_fault_is_told_as_a_fault_not_stumbled_over(tmp_path: Path) -> None:
    for tried in (
        "crank.conrod_length=40",
        "one.intake.rocker.span=200",
        "one.intake.rocker.direction=[0, 0, 0]",
        "piston.pin_offset=300",
    ):
        with pytest.raises(InputFaultsError):
            placed(tmp_path, tried)


def test_what_cannot_be_put_together_is_told_whatever_a_pushrod_was_read(tmp_path: Path) -> None:
    """A rod that was read gives its length without a coordinate, and is no better for those that cannot be so."""
    rod = '[train.measured_pushrod]\nlength = "262.0 +/- 0.05"\nas = "overall"\nplunger = "top"\nlean = "3 +/- 1"\n'
    path = by_coordinates(tmp_path, more=rod)
    assert not any("cannot meet" in one for one in load(path).warnings)
    text = path.read_text(encoding="utf-8")
    path.write_text(swapped(text, 'length = "118.1', 'length = "198.1'), encoding="utf-8")
    (told,) = [one for one in load(path).warnings if "the rocker cannot meet the stem tip" in one]
    said = " ".join(screen("pushrods", path).out.split())
    assert f"LOOK AGAIN: {told}" in said
    (row,) = [line for line in screen("pushrods", path).out.splitlines() if line.startswith("  one exhaust")]
    assert row.endswith(" 2.70  LOOK AGAIN")
    bare = by_coordinates(tmp_path)
    bare.write_text(
        swapped(bare.read_text(encoding="utf-8"), 'length = "118.1', 'length = "198.1'), encoding="utf-8"
    )
    said = " ".join(screen("pushrods", bare).out.split())
    assert f"CANNOT BE ASSEMBLED: {told}" in said
    assert said.count(told) == 1  # said once


@pytest.mark.parametrize(
    ("volume", "more", "told"),
    [
        ("2", "", None),  # both pockets, by the square cut's share of a cylinder at most 8.3 cc
        ("-6", "", "make a volume of "),
        ("30", "", "make a volume of "),
        ("-2", "[piston.dome]\nheight = 3\ndiameter = 70\n", None),  # less what both pockets take away of it
        ("-12", "[piston.dome]\nheight = 3\ndiameter = 70\n", "make a volume of "),
    ],
)
def test_a_crowns_volume_is_held_against_its_shape(
    tmp_path: Path, volume: str, more: str, told: str | None
) -> None:
    """By hand: a dome of 3 by 70 holds pi 3 (3 x 35^2 + 3^2) / 6 = 5787 mm³; a pocket 46 across and 5 deep at most 8310."""
    path = by_coordinates(tmp_path)
    text = swapped(
        path.read_text(encoding="utf-8"),
        "[stack]\n",
        f'crown_volume = "{volume} +/- 0.2 cc"\n{more}[stack]\n',
    )
    path.write_text(text, encoding="utf-8")
    found = [one for one in load(path).warnings if "piston.crown_volume is" in one]
    assert bool(found) is (told is not None)
    assert all(told in one for one in found if told)


def test_a_pocket_that_nobody_entered_may_be_there(tmp_path: Path) -> None:
    """Of a dish alone its own volume is the least, and nothing the most."""
    path = by_coordinates(tmp_path, pockets=False)
    text = path.read_text(encoding="utf-8")
    for volume, is_told in (("20", False), ("0.5", True)):
        dish = f'crown_volume = "{volume} +/- 0.2 cc"\n[piston.dish]\ndepth = 2\ndiameter = 60\n[stack]\n'
        path.write_text(swapped(text, "[stack]\n", dish), encoding="utf-8")
        assert any("make a volume of at least 2.8 cc" in one for one in load(path).warnings) is is_told
        # by hand: pi 2 (3 x 30^2 + 2^2) / 6 = 2832 mm³


def test_two_pushrods_do_not_stand_in_one_place(tmp_path: Path) -> None:
    """The exhaust's gear given the intake's coordinates, and beside it: by hand, both rods as thick as was entered."""
    mapping = dict(load(by_coordinates(tmp_path)).mapping)
    assert not list(of_neighbours(mapping))
    own = {path: value for path, value in mapping.items() if path.startswith("one.intake.")}
    for aside, apart in ((0.0, True), (7.9, True), (8.1, False)):
        same = {path.replace("intake", "exhaust"): value for path, value in own.items()}
        for path in ("lifter.seat.y", "rocker.shaft.y"):
            same[f"one.exhaust.{path}"] = float(str(own[f"one.intake.{path}"])) + aside
        same |= {f"one.{port}.pushrod.diameter": 8.0 for port in ("intake", "exhaust")}
        found = list(of_neighbours({**mapping, **same}))
        assert bool(found) is apart
        for one in found:
            assert set(one.about) == {"one.intake", "one.exhaust"}  # type: ignore[attr-defined]
            across = 7.9 if aside else 0.0
            assert f"stand {across:.3f} mm" in one or aside, one
