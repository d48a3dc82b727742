"""What leads from a table to the engine's lobe, each number varied by its own doubt."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.commands import lobe
from tallstack.cli.lobe_leads import Rides, led_by
from tallstack.geometry.gear.at_valve import by_places

from ..geometry.cam.test_follower import ARCS
from ..known_lobes import Array, cubed, written

CAM = np.arange(-180.0, 180.0, 2.0)


RIDES = {"read_with": (1.5, 0.1, "tip {} mm"), "follower": (10.0, 0.3, "roller {} mm"), "base_radius": (14.0, 0.25, "{} mm"), "follower_offset": (0.5, 0.4, "{} mm")}  # fmt: skip


LASH = {"lash": (0.25, 0.03, "{} mm"), "first": (3.30, 0.03, "{}"), "second": (6.60, 0.03, "{}")}


def asked_of(numbers: dict[str, str]) -> lobe.Asked:
    """Return what is asked of a lobe by numbers as they are typed."""
    if "lash" not in numbers:
        return lobe.Asked(rides=Rides(**numbers))
    dialled = (f"{numbers['first']} mm, 4.85 mm", f"{numbers['second']} mm, 10.20 mm")
    return lobe.Asked(measured_at="valve", dialled=dialled, lash=numbers["lash"])


def test_each_number_that_leads_to_a_lobe_is_varied_by_its_own_doubt() -> None:
    led = led_by(asked_of({"lash": "0.25 +/- 0.03 mm", "first": "3.30", "second": "6.60"}))
    ((up, down),) = led.varied
    assert up.at_valve is not None
    assert down.at_valve is not None
    assert float(up.at_valve.lash) == pytest.approx(0.25 + 0.03 / np.sqrt(3))
    assert float(down.at_valve.lash) == pytest.approx(0.25 - 0.03 / np.sqrt(3))
    assert led.bare == ("--dialled",)
    rides = {
        "read_with": "tip 1.5 +/- 0.1 mm",
        "follower": "roller 10 mm",
        "base_radius": "14 +/- 0.2 mm (2 sigma)",
    }
    led = led_by(asked_of(rides))
    assert [
        one.riding.base for ends in led.varied for one in ends if one.riding is not None
    ] == pytest.approx([14.0, 14.0, 14.1, 13.9])
    assert led.bare == ("--follower",)


def test_a_duration_s_doubt_holds_that_of_the_radii(tmp_path: Path) -> None:
    """A tip of 1.5 +/- 0.5 mm: what a tip as much larger and as much smaller as its standard uncertainty makes of it."""
    path = written(tmp_path / "tip.csv", CAM, ARCS(CAM, 1.5), places=5)
    told = {}
    for tip in ("1.5 mm", "1.5 +/- 0.5 mm", "1.78868 mm", "1.21132 mm"):
        asked = asked_of({"read_with": f"tip {tip}", "follower": "roller 10 mm", "base_radius": "14 mm"})
        told[tip] = lobe.examined(path, asked, (), led_by(asked)).events[-1]
    bare, stated, large, small = told.values()
    apart = abs(large.opens + large.closes - small.opens - small.closes)
    assert stated.lasts == pytest.approx(np.hypot(bare.lasts, apart), rel=1e-3)
    assert apart > 2 * bare.lasts


def test_a_duration_s_doubt_holds_that_of_the_ratio(tmp_path: Path) -> None:
    path = written(tmp_path / "valve.csv", CAM, 1.6 * ARCS(CAM, 10.0), places=5)
    told = {}
    for ratio in ("1.6", "1.6 +-0.05", "1.628868", "1.571132"):
        asked = lobe.Asked(measured_at="valve", ratio=ratio, lash="0")
        led = led_by(asked)
        assert led.bare == (() if "+-" in ratio else ("--ratio",))
        told[ratio] = lobe.examined(path, asked, (), led).events[-1]
    bare, stated, large, small = told.values()
    apart = abs(large.opens + large.closes - small.opens - small.closes)
    assert stated.lasts == pytest.approx(np.hypot(bare.lasts, apart), rel=1e-3)
    assert apart > 2 * bare.lasts
    plus = led_by(lobe.Asked(measured_at="valve", ratio="1.6±0.05", lash="0"))
    assert plus.varied == led_by(lobe.Asked(measured_at="valve", ratio="1.6 +-0.05", lash="0")).varied


def test_a_diameter_on_the_command_line_is_asked_about() -> None:
    rides = {"read_with": "tip 3 mm", "follower": "roller 10 mm", "base_radius": "14 mm"}
    (why,) = led_by(asked_of(rides)).unlikely
    assert why.startswith("--read-with tip 3 mm reads as a radius of 3.000 mm")


@pytest.mark.study
@pytest.mark.parametrize("stated", [RIDES, LASH], ids=["followers", "lash"])
def test_the_doubt_of_what_leads_to_a_lobe_against_draws(
    tmp_path: Path, stated: dict[str, tuple[float, float, str]]
) -> None:
    """Each number evenly anywhere within its +/-, every one of 60 strata of it once."""
    if stated is LASH:
        gear = by_places([(3.30, 4.85), (6.60, 10.20)], 0.25)
        path = written(
            tmp_path / "v.csv", CAM, np.maximum(gear.valve(cubed(CAM) * 6.6 / 8.08), 0.0), places=5
        )
    else:
        path = written(tmp_path / "tip.csv", CAM, ARCS(CAM, 1.5), places=5)

    def told(numbers: dict[str, str]) -> Array:
        asked = asked_of(numbers)
        events = lobe.examined(path, asked, (), led_by(asked)).events
        return np.array(
            [(one.opens, one.closes, one.opens + one.closes, one.doubt, one.lasts) for one in events]
        )

    rng, count = np.random.default_rng(3), 60
    off = {name: 2 * (rng.permutation(count) + rng.random(count)) / count - 1 for name in stated}
    many = np.array(
        [
            told(
                {name: form.format(value + by * off[name][row]) for name, (value, by, form) in stated.items()}
            )
            for row in range(count)
        ]
    )
    sure = told({name: form.format(value) for name, (value, _, form) in stated.items()})
    doubtful = told({name: form.format(f"{value} +/- {by}") for name, (value, by, form) in stated.items()})
    more = np.sqrt(doubtful[:, 3:] ** 2 - sure[:, 3:] ** 2)
    spread = 2 * many[:, :, :3].std(axis=0)
    np.testing.assert_allclose(more[:, 1], spread[:, 2], rtol=0.12)
    assert (more[:, 0] > 0.88 * spread[:, :2].max(axis=1)).all()
    assert led_by(asked_of({name: form.format(value) for name, (value, _, form) in stated.items()})).bare
