"""What is usual by itself and not beside its like: asked about at the limits, never said of what is alike enough."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.job.unusual.beside import DROP_MM, EXCHANGED_MM, PEAK_MM, ROD_MM, of_beside

NAMES = {"cylinders": ("a", "b"), "trains": ("a.intake", "a.exhaust", "b.intake", "b.exhaust")}
ROD, DROP = "measured_pushrod.length", "measured_drop.drop"


def told(**entries: object) -> list[str]:
    return list(of_beside({**NAMES, **{key.replace("__", "."): one for key, one in entries.items()}}))


def four(entry: str, *values: float) -> dict[str, object]:
    return {f"{name}.{entry}": value for name, value in zip(NAMES["trains"], values, strict=True)}


@pytest.mark.parametrize(("entry", "most"), [(ROD, ROD_MM), (DROP, DROP_MM)])
def test_two_of_one_port_may_differ_so_far(entry: str, most: float) -> None:
    assert not list(of_beside({**NAMES, **four(entry, 250.0, 255.0, 250.0 + most - 0.01, 255.0)}))
    (one,) = of_beside({**NAMES, **four(entry, 250.0, 255.0, 250.0 + most + 0.01, 255.0)})
    assert one.startswith(f"a.intake.{entry} ")
    assert not isinstance(one, LookAgain)


def test_of_many_the_one_that_stands_apart_is_named() -> None:
    names = tuple(f"{one}.intake" for one in "abcdef")
    values = (250.0, 250.2, 249.9, 253.0, 250.1, 250.3)
    mapping = {"cylinders": tuple("abcdef"), "trains": names}
    (one,) = of_beside(
        {**mapping, **{f"{name}.{ROD}": value for name, value in zip(names, values, strict=True)}}
    )
    assert one.startswith("d.intake.")


def test_ports_are_exchanged_where_that_would_bring_them_together() -> None:
    apart = EXCHANGED_MM / 2 + 0.01
    (one,) = of_beside({**NAMES, **four(ROD, 250.0, 250.0 + apart, 250.0 + apart, 250.0)})
    assert "exchanged?" in one
    assert not list(
        of_beside({**NAMES, **four(ROD, 250.0, 249.98 + EXCHANGED_MM / 2, 249.98 + EXCHANGED_MM / 2, 250.0)})
    )


def test_rods_are_compared_as_they_come_to_on_one_stack() -> None:
    """One read on the stack as it is and one on the stack before, 5 mm lower, are alike where they differ by as much."""
    stack = {"stack.cylinder": 105.0, "b.intake.measured_pushrod.stack.cylinder": 100.0}
    assert not list(of_beside({**NAMES, **four(ROD, 250.0, 255.0, 245.0, 255.0), **stack}))
    (one,) = of_beside({**NAMES, **four(ROD, 250.0, 255.0, 250.0, 255.0), **stack})
    assert isinstance(one, LookAgain)
    assert one.about == ("a.intake", "b.intake")


def test_a_rod_read_by_turns_stands_beside_one_that_was_read_whole() -> None:
    rod = "measured_pushrod.checking_rod"

    def turned(turns: float) -> dict[str, object]:
        whole = {"a.exhaust." + ROD: 255.0, "b.intake." + ROD: 250.0, "b.exhaust." + ROD: 255.0}
        return {
            **whole,
            **{
                f"a.intake.{rod}.{one}": value
                for one, value in (("closed", 240.0), ("turns", turns), ("pitch", 1.0))
            },
        }

    assert not list(of_beside({**NAMES, **turned(10.0)}))
    (one,) = of_beside({**NAMES, **turned(14.0)})
    assert one.startswith(f"a.intake.{rod}.turns comes, at zero lash on the stack as it is, to 254.000 mm")
    assert isinstance(one, LookAgain)
    without = turned(14.0)
    del without[f"a.intake.{rod}.pitch"]
    assert not list(of_beside({**NAMES, **without}))


def test_lobes_may_differ_so_far_and_where_they_were_read_counts() -> None:
    peaks = {"lobe.intake.card.peak": 8.0, "lobe.exhaust.card.peak": 8.0 + PEAK_MM + 0.01}
    assert len(list(of_beside({**NAMES, **peaks}))) == 1
    assert not list(of_beside({**NAMES, **peaks, "lobe.exhaust.measured_at": "valve"}))


@pytest.mark.parametrize(
    ("between", "ends"), [(52.0, None), (1.0, None), (26.0, "asked"), (66.0, "look again")]
)
def test_stems_stand_apart_as_they_lean(between: float, ends: str | None) -> None:
    leans = {f"a.{port}.measured_drop.lean": math.radians(26.0) for port in ("intake", "exhaust")}
    found = list(of_beside({**NAMES, **leans, "a.valves_touch.between_stems": math.radians(between)}))
    assert len(found) == (ends is not None)
    assert [isinstance(one, LookAgain) for one in found] == [ends == "look again"] * len(found)


def test_crank_and_leans_and_springs() -> None:
    assert not told(crank__stroke=100.0, crank__conrod_length=200.0)
    assert "is it from centre to centre" in told(crank__stroke=100.0, crank__conrod_length=215.0)[0]
    lean = math.radians(26.0)
    assert "the same way" in list(of_beside({**NAMES, "a.lean": lean, "b.lean": lean}))[0]
    assert "the same way" in list(of_beside({**NAMES, "a.lean": math.pi, "b.lean": -math.pi}))[0]
    assert not list(of_beside({**NAMES, "a.lean": lean, "b.lean": -lean}))
    spring = {"a.intake.spring.free_length": 50.0, "a.intake.spring.installed": 45.0}
    assert not list(of_beside({**NAMES, **spring, "a.intake.spring.rate": 40.0}))
    assert "presses with 50 N" in list(of_beside({**NAMES, **spring, "a.intake.spring.rate": 10.0}))[0]


def test_rods_that_were_read_in_two_ways_are_compared_as_they_just_touch() -> None:
    """A plunger 1 mm down makes the rod 1 mm longer; a lean of nothing leaves that as it is. Overall less both ends is centres."""
    ends = {"ball_diameter_low": 8.0, "ball_diameter_high": 8.0, "hole_low": 0.0, "hole_high": 0.0}
    usual: dict[str, object] = {
        f"{name}.{entry}": value
        for name in NAMES["trains"]
        for entry, value in (
            *((f"pushrod.{one}", size) for one, size in ends.items()),
            ("measured_pushrod.as", "overall"),
            ("measured_pushrod.plunger", "top"),
            ("measured_pushrod.lean", 0.0),
            ("lifter.kind", "hydraulic"),
        )
    }
    usual |= {"stack.base_gasket": 0.5, "stack.cylinder": 100.0, "stack.head_gasket": 1.0}
    down = {"b.intake.measured_pushrod.plunger": "", "b.intake.measured_pushrod.plunger.down": 1.0}
    down |= {"b.intake.measured_pushrod.as": "centres"}
    centres = 250.0 - 8.0
    assert not list(of_beside({**NAMES, **usual, **four(ROD, 250.0, 255.0, centres + 1.0, 255.0), **down}))
    for off, is_wrong in ((ROD_MM + 0.01, False), (4.3, True)):
        (one,) = of_beside({**NAMES, **usual, **four(ROD, 250.0, 255.0, centres + 1.0 - off, 255.0), **down})
        assert f"to {centres:.3f} mm" in one
        assert f"b.intake's {centres - off:.3f} mm" in one
        assert isinstance(one, LookAgain) is is_wrong
