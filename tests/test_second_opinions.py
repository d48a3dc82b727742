"""Answers that came late, held against methods that share no code with them; what they found stands in the report.

Tubes by points along rod and tube with the raw loop's poses, trapped compression and a hole's leak by plain trigonometry
and SciPy's integrator, what is left at speed over a fine row of angles. Others stand beside what they are of: two valves'
edges, the hot loop, followers, worn bores, visits.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp  # type: ignore[import-untyped, unused-ignore]
from tallstack.cli.job.loading import load
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.fits import tubes
from tallstack.geometry.fits.trapped import Cylinder, air, through_hole

from .geometry.fits.test_valves_at_speed import READ
from .hydraulic_gears import some
from .measured import Told
from .oracles import raw_loop, slider

ALONG = 4001


@pytest.mark.parametrize("many", [6, pytest.param(150, marks=pytest.mark.study)])
def test_a_pushrod_in_its_tube_by_points_along_both(many: int, measured: Told) -> None:
    """Where both run beside one another every point of the rod's axis is so far from the tube's."""
    off = []
    for gear in some("built", 25, many):
        name, rng = gear.train, gear.rng
        rest = raw_loop.closed_angle(gear.mapping, name)
        at = raw_loop.points(gear.mapping, name)
        deck, face = (
            float(str(gear.mapping["stack.case_deck"])),
            at.P[2] - float(str(gear.mapping[f"{name}.rocker.shaft.z"])),
        )
        low, high = (at.S + share * (rest.U - at.S) + rng.uniform(-2, 2, 3) for share in (0.12, 0.85))
        entries = {f"{name}.tube.inner_diameter": 24.0, f"{name}.pushrod.diameter": 9.0}
        for end, spot, plane in (("low", low, deck), ("high", high, face)):
            entries |= {
                f"{name}.tube.seat_{end}.{axis}": float(x) for axis, x in zip("xy", spot[:2], strict=True)
            }
            entries[f"{name}.tube.seat_{end}.z"] = float(spot[2] - plane)
        peak = float(rng.uniform(6, 9))
        ours = tubes.tube_room({**gear.mapping, **entries}, name, peak)
        assert not isinstance(ours, Missing)
        off += [
            float(ours["tube_room"].value) - room_by_points(gear.mapping, name, low, high, peak),
            float(ours["tube_room_at_rest"].value) - room_by_points(gear.mapping, name, low, high, 0.0),
        ]
    # the points miss the very ends of what both share
    measured("pushrod in its tube", "points along both, raw loop", off, 2e-4, least=-2e-3)


def room_by_points(
    mapping: dict[str, object], name: str, low: np.ndarray, high: np.ndarray, peak: float
) -> float:
    """Return the least room of a rod of 9 mm in a tube of 24 [mm]; `_Gear` alone tells where the raw loop's cup stands."""
    length = raw_loop.length(mapping, name)
    gear, at = raw_loop._Gear(mapping, name), raw_loop.points(mapping, name)
    lifts = np.linspace(0.0, peak, 60 if peak else 1)
    _, turns = raw_loop.motion(mapping, name, lifts, length)
    depth = float(str(mapping[f"{name}.lifter.preload"]))
    along, far = (high - low) / np.linalg.norm(high - low), np.linalg.norm(high - low)
    least = np.inf
    for lift, turn in zip(lifts, turns, strict=True):
        ball, cup = at.S + (lift - depth) * at.u, gear.cup(float(turn))
        spots = ball + np.linspace(0.0, 1.0, ALONG)[:, None] * (cup - ball)
        on = (spots - low) @ along
        stray = np.linalg.norm(spots - low - on[:, None] * along, axis=1)
        least = min(least, 12.0 - 4.5 - stray[(on >= 0) & (on <= far)].max())
    return float(least)


def test_what_is_trapped_and_what_a_hole_lets_out_by_an_integrator(measured: Told) -> None:
    """The gas keeps p·(V/m)^n; its mass leaves by a nozzle, choked or not; SciPy takes the steps."""
    rng, ratio, gauge, outside = np.random.default_rng(25), [], [], []
    for _ in range(6):
        throw, rod, bore = rng.uniform(35, 60), rng.uniform(150, 210), rng.uniform(70, 105)
        at_top, closes = rng.uniform(6e4, 1.3e5), np.radians(rng.uniform(30, 80))
        height, hole, flow = rng.uniform(0, 2500), rng.uniform(1, 5), rng.uniform(0.6, 0.8)
        speed = rng.uniform(150, 500) * np.pi / 30
        area = np.pi / 4 * bore**2
        ours = Cylinder(
            Crank(array(throw), array(rod), array(0.0), array(0.0)), True, array(at_top), array(area)
        )

        def volume(angle: float, throw=throw, rod=rod, at_top=at_top, area=area) -> float:  # type: ignore[no-untyped-def]
            return float(at_top + area * slider.descent(np.asarray(angle), throw, rod)) / 1e9

        begins = np.pi + closes
        ratio.append(float(ours.trapped(array(closes))) / (volume(begins) * 1e9 / at_top) - 1)
        around = slider.sea_level_air(height) * 1000
        outside.append(float(air(array(height))) - around / 1000)
        first = around * volume(begins) / (287.0 * 300.0)

        def pressure(
            angle: float, mass: float, first=first, begins=begins, around=around, volume=volume
        ) -> float:  # type: ignore[no-untyped-def]
            return around * float((mass / first) / (volume(angle) / volume(begins))) ** 1.25

        def leaves(
            angle: float,
            mass: np.ndarray,
            pressure=pressure,
            volume=volume,
            hole=hole,
            flow=flow,
            speed=speed,
            around=around,
        ) -> list[float]:  # type: ignore[no-untyped-def]
            now = pressure(angle, float(mass[0]))
            warm = now * volume(angle) / (float(mass[0]) * 287.0)
            return [-slider.nozzle(now, around, warm, np.pi / 4 * (hole / 1000) ** 2, flow) / speed]

        ends = 2 * np.pi + np.radians(15)
        done = solve_ivp(
            leaves,
            (begins, ends),
            [first],
            rtol=1e-9,
            atol=1e-12,
            max_step=np.radians(2.0),
            dense_output=True,
        )
        angles = np.linspace(begins, ends, 4001)
        theirs = max(
            pressure(float(one), float(mass)) for one, mass in zip(angles, done.sol(angles)[0], strict=True)
        )
        told = through_hole(ours, array(begins), air(array(height)), array(hole), flow, array(speed))
        gauge.append(float(told) - (theirs - around) / 1000)
    measured("trapped ratio", "plain trigonometry", ratio, 1e-12, "")
    measured("air by its height", "standard atmosphere by its lapse rate", outside, 2e-3, "kPa")
    measured("gauge through a hole", "SciPy's integrator", gauge, 1.5, "kPa")


@pytest.mark.parametrize("many", [3, pytest.param(40, marks=pytest.mark.study)])
def test_what_is_left_at_speed_over_a_fine_row_of_angles(tmp_path: Path, many: int, measured: Told) -> None:
    """A drop that was read, the crown so much higher, the lobe so much earlier: the least over a row, all by hand."""
    rng, off = np.random.default_rng(26), []
    for _ in range(many):
        stroke, rod, peak = rng.uniform(85, 115), rng.uniform(165, 205), rng.uniform(8, 12.9)
        degrees, centre, lean = rng.uniform(270, 310), rng.uniform(98, 112), rng.uniform(10, 30)
        drop, growth, play = rng.uniform(3.5, 6), rng.uniform(0.1, 0.5), rng.uniform(0.0, 1.0)
        text = READ
        for was, now in (
            ("112.4 +/-", f"{stroke!r} +/-"),
            ("196 +/-", f"{rod!r} +/-"),
            ("12.9 +/-", f"{peak!r} +/-"),
            ("300 +/-", f"{degrees!r} +/-"),
            ("104 +/-", f"{centre!r} +/-"),
            ("25 +/-", f"{lean!r} +/-"),
            ("4.0 +/-", f"{drop!r} +/-"),
        ):
            assert text.count(was) == 1
            text = text.replace(was, now)
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        tried = (
            "running.speed=6000 rpm",
            f"running.growth={growth!r} +/- 0.02 mm",
            f"cam.backlash={play!r} +/- 0.1",
        )
        fast = load(path, tried).clearances.valves[0].at_speed
        assert fast is not None
        assert fast.drop is not None
        crank = np.radians(np.arange(-60.0, 80.0, 0.002))
        # In the file's order: the play of the drive lets the cam come earlier or later by all of it, whichever is nearer.
        theirs = []
        for earlier in (np.radians(play), -np.radians(play)):
            lift = slider.polynomial_lift(crank + earlier - np.radians(centre), peak, np.radians(degrees))
            fallen = slider.descent(crank, stroke / 2, rod) - growth
            theirs.append(np.min(drop + fallen * np.cos(np.radians(lean)) - lift))
        off.append(float(fast.drop.value) - min(theirs))
    measured("drop left at speed", "a row of angles by hand", off, 2e-4)
