"""A reading taken on the engine as it was is worked out from all that stood there.

Second method: the same reading with every part of then written beside it, and the same check in a job of the engine
before alone.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import understood
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.clearance.bench_drop import DropReading, drop_reading
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine.alternatives import case_deck
from tallstack.geometry.engine.before import (
    engine_before,
    has_before,
    is_same,
    not_said,
    quantities_before,
    renamed,
)
from tallstack.geometry.engine.engine import MEASURED, train_of
from tallstack.geometry.pushrod.pushrods import required
from tallstack.geometry.sure import bench_checks

from ...clearance_jobs import by_coordinates

NAME = "one.intake"
THEN = {
    "stack.base_gasket": 0.8,
    "stack.cylinder": 119.2,
    "stack.head_gasket": 1.4,
    "stack.case_cut": 0.1,
    "crank.stroke": 88.0,
    "crank.conrod_length": 170.0,
    "piston.compression_height": 33.5,
    "piston.pin_offset": 0.4,
}
JOB = """
format = 1
units = "mm"
[crank]
stroke = 96.0
conrod_length = 176.0
[piston]
compression_height = 34.0
pin_offset = 0.8
[stack]
base_gasket = 0.4
cylinder = 125.2
head_gasket = 1.1
case_cut = 0.3
DECK
[[cylinder]]
name = "one"
[[train]]
cylinder = "one"
port = "intake"
[train.lifter]
kind = "hydraulic"
preload = 1.0
plunger_travel = 3.5
lowered = 0.3
[train.rocker]
ratio = 1.6
[train.valve]
sink = 0.4
[train.measured_pushrod]
length = 270.0
as = "centres"
plunger = "top"
lean = 2.0
PUSHROD
[train.measured_drop]
drop = 4.0
lean = 12.0
meets = "crown"
DROP
"""


def tables(paths: dict[str, float], stem: str = "") -> str:
    return "\n".join(f"{stem}{path} = {value}" for path, value in paths.items())


def job_of(deck: str, pushrod: str, drop: str, stood: str = "") -> JobFile:
    text = JOB.replace("DECK", deck).replace("PUSHROD", pushrod).replace("DROP", drop)
    return understood(Path("job.toml"), text + stood)


@pytest.fixture(scope="module")
def both() -> tuple[JobFile, JobFile]:
    """Return a job whose readings were taken on what stood before, and the same with all of that written beside each."""
    stood = f"""
[before]
{tables(THEN)}
[[before.train]]
cylinder = "one"
port = "intake"
lifter.lowered = 0.1
valve.sink = 0.15
"""
    on = 'on = "before"'
    word = job_of("measured_deck = { below = 1.7, on = 'before' }", on, on, stood)
    stack = {path: value for path, value in THEN.items() if path.startswith("stack.")}
    own = job_of(
        "[stack.measured_deck]\nbelow = 1.7",
        f"{tables(stack)}\nlifter.lowered = 0.1\nvalve.sink = 0.15",
        f"{tables(THEN)}\nvalve.sink = 0.15",
    )
    return word, own


def test_a_pushrod_read_before_is_carried_from_all_that_stood_there(both: tuple[JobFile, JobFile]) -> None:
    found = [float(required(train_of(job.mapping, NAME)).lengths["centres"]) for job in both]
    assert found[0] == pytest.approx(found[1], abs=1e-9)
    measured = train_of(both[0].mapping, NAME).measured
    assert measured is not None
    assert float(measured.growth) == pytest.approx(125.2 - 119.2 + 0.4 - 0.8 + 1.1 - 1.4 - 0.3 + 0.1)


def test_a_drop_read_before_is_carried_from_crank_and_piston_too(both: tuple[JobFile, JobFile]) -> None:
    found = [drop_reading(job.mapping, NAME) for job in both]
    growths = [float(one.measured.growth) for one in found if isinstance(one, DropReading)]
    assert len(growths) == 2
    assert growths[0] == pytest.approx(growths[1], abs=1e-9)
    assert abs(growths[0]) > 1.0


def test_a_deck_read_before_stands_on_the_parts_of_then() -> None:
    """The bridge on paper: with a central pin, crank centre to deck = rod + throw + height + below + cut - gasket - cylinder."""
    straight = {**THEN, "piston.pin_offset": 0.0}
    deck = 'measured_deck = { below = 1.7, on = "before" }'
    job = job_of(deck, 'on = "before"', 'on = "before"', f"[before]\n{tables(straight)}")
    reader = Reader(job.mapping, ("one.", ""))
    told = 170.0 + 44.0 + 33.5 + 1.7 + 0.1 - 0.8 - 119.2
    assert float(case_deck(reader)) == pytest.approx(told, abs=1e-9)
    was = Reader(engine_before(job.mapping), ("one.", ""))
    assert float(case_deck(was)) == pytest.approx(told, abs=1e-9)


def test_what_stood_is_not_said_is_lacking_and_never_as_it_is_now() -> None:
    on = 'on = "before"'
    job = job_of('measured_deck = { below = 1.7, on = "before" }', on, on, "[before]\nstack.cylinder = 119.2")
    train = train_of(job.mapping, NAME)
    assert train.lacks[MEASURED] == ("before.stack.base_gasket", "before.stack.head_gasket")
    lacks = drop_reading(job.mapping, NAME)
    assert isinstance(lacks, tuple)
    assert {"before.crank.stroke", "before.piston.pin_offset"} <= set(lacks)
    reader = Reader(job.mapping, ("one.", ""))
    case_deck(reader)
    assert "before.crank.stroke" in reader.missing
    alone = job_of("", on, on)  # nothing is said of what stood before
    assert not has_before(alone.mapping)
    assert "before.stack.cylinder" in train_of(alone.mapping, NAME).lacks[MEASURED]


def test_a_bottomed_plunger_read_before_is_that_of_then() -> None:
    text = JOB.replace('plunger = "top"', 'plunger = "bottomed"')
    on = 'on = "before"'
    text = text.replace("DECK", "").replace("PUSHROD", on).replace("DROP", on)
    lifter = '[[before.train]]\ncylinder = "one"\nport = "intake"\nlifter.plunger_travel = 2.9\n'
    said = understood(Path("job.toml"), f"{text}[before]\n{tables(THEN)}\n{lifter}")
    measured = train_of(said.mapping, NAME).measured
    assert measured is not None
    assert float(measured.plunger_down) == 2.9
    unsaid = understood(Path("job.toml"), f"{text}[before]\n{tables(THEN)}\n")
    assert train_of(unsaid.mapping, NAME).lacks[MEASURED] == (f"before.{NAME}.lifter.plunger_travel",)


STOOD = """
[before]
same = ["lifter", "rocker", "valve", "pushrod", "pocket", "lobe", "cam", "stack.bore", "stack.case_deck", "stack.base_gasket", "head"]
crank = { stroke = 94.0, conrod_length = "176.0 +/- 0.05", turns = "forward" }
piston = { compression_height = "34.4 +/- 0.05", pin_offset = 0.2 }
stack = { cylinder = "124.1 +/- 0.02", head_gasket = "1.2 +/- 0.05" }
"""


@pytest.mark.parametrize(
    ("kind", "rest"),
    [
        ("deck", 'cylinder = "one"\nvalue = "1.0 +/- 0.05"'),
        ("drop", 'train = "one.intake"\nvalue = "4.0 +/- 0.1"'),
        ("clay", 'train = "one.intake"\nvalue = "2.0 +/- 0.1"'),
        ("valve to valve", 'cylinder = "one"\nvalue = "3.0 +/- 0.1"'),
        ("pushrod", 'train = "one.exhaust"\nas = "centres"\nplunger = "top"\nvalue = "270.0 +/- 0.1"'),
    ],
)
def test_a_check_made_before_is_foretold_by_the_engine_as_it_was(
    kind: str, rest: str, tmp_path: Path
) -> None:
    """Second method: the same check in a job that is of the engine before alone."""
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    check = f'[[reading]]\nof = "{kind}"\n{rest}\n'
    whole = understood(tmp_path / "job.toml", f'{text}{STOOD}{check}on = "before"\n')
    old = text
    for was, now in (
        ('"96.0 +/- 0.02"', "94.0"),
        ('"34.0 +/- 0.05"', '"34.4 +/- 0.05"'),
        ('"0.8 +/- 0.05"', "0.2"),
        ('"125.2 +/- 0.02"', '"124.1 +/- 0.02"'),
        ('"1.05 +/- 0.05"', '"1.2 +/- 0.05"'),
    ):
        assert was in old
        old = old.replace(was, now, 1)
    alone = understood(tmp_path / "old.toml", f"{old}{check}")
    found = []
    for job in (whole, alone):
        made = bench_checks.checks(job.mapping, Tables())
        assert not made.lacks
        (row,) = bench_checks.rows(made.checks, job.mapping, Tables(), job.quantities, job.doubts)
        found.append(row)
    assert found[0].excess == pytest.approx(found[1].excess, abs=1e-9)
    moving = [{name.removeprefix("before."): slope for name, slope in row.slopes.items()} for row in found]
    assert moving[0].keys() == moving[1].keys()
    assert moving[0] == pytest.approx(moving[1], abs=1e-6)


def test_a_check_made_before_says_what_is_not_said_of_it(tmp_path: Path) -> None:
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    check = '[[reading]]\nof = "deck"\ncylinder = "one"\nvalue = 1.0\non = "before"\n'
    job = understood(tmp_path / "job.toml", f'{text}[before]\nsame = ["piston"]\n{check}')
    lacks = bench_checks.checks(job.mapping, Tables()).lacks["reading.0"]
    assert "before.stack.cylinder" in lacks
    assert "before.crank.stroke" in lacks


# The names of quantities.


def test_one_part_is_one_quantity_in_both() -> None:
    every = {
        "stack.cylinder": {"stack.cylinder": 1.0, "before.stack.cylinder": 1.0},
        "before.crank.stroke": {"before.crank.stroke": 1.0},
    }
    found = quantities_before(every)
    assert found == {"stack.cylinder": {"stack.cylinder": 1.0}, "before.crank.stroke": {"crank.stroke": 1.0}}
    assert renamed(found) == {"stack.cylinder": "stack.cylinder", "before.crank.stroke": "crank.stroke"}
    clash = {"stack.cylinder": {"x": 1.0}, "before.stack.cylinder": {"stack.cylinder": 1.0}}
    assert renamed(clash)["before.stack.cylinder"] == "before.stack.cylinder"


def test_the_same_part_is_found_by_table_entry_and_owner() -> None:
    flat = {"before_same": ("crank", "one.intake.valve", "stack.cylinder")}
    assert is_same(flat, "one", "crank.stroke")
    assert is_same(flat, "one.intake", "valve.sink")
    assert not is_same(flat, "one.exhaust", "valve.sink")
    assert not is_same(flat, "one", "stack.cylinder_free")
    assert (
        not_said(flat, "one", "measured_pushrod", ("stack.head_gasket",), ()) == ()
    )  # taken on the engine as it is
