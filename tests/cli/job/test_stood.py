"""What stood before, told in one file, is what two files tell; and one part in both is one quantity.

Held against the same engines spelled as two files (`swap --from`), and against draws of every doubted part (seed 1, 40,000
builds), a part that is the same drawn once and two that were measured apart drawn twice.
"""

from __future__ import annotations

import copy
import re
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit
from tallstack.cli.commands import swap
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load, understood
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.job.stood import called
from tallstack.geometry.doubt.draws import draws
from tallstack.geometry.engine.before import engine_before
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.pushrod.pushrods import required

from ...clearance_jobs import by_coordinates
from ...commands import BENCH, COORDINATES, EXAMPLES
from ...job_texts import TWO, faults_of, six_in_line

TABLES = ("materials", "crank", "piston", "stack", "chamber", "studs", "cylinder", "lobe", "cam", "train")
SEED, BUILDS = 1, 40_000


def one_file(after: dict[str, Any], before: dict[str, Any], ticked: bool = False) -> dict[str, Any]:
    """Return two jobs as one; ticked : what both say alike is said to be the same part."""
    found = copy.deepcopy(after)
    stood = {name: copy.deepcopy(before[name]) for name in TABLES if name in before}
    same = []
    for name in [one for one in stood if one not in ("cylinder", "train", "stack")] if ticked else ():
        if after.get(name) == before[name]:
            same.append(name)
            del stood[name]
    if ticked:
        for entry, value in before.get("stack", {}).items():
            if after["stack"].get(entry) == value:
                same.append(f"stack.{entry}")
                del stood["stack"][entry]
    found["before"] = {**({"same": same} if same else {}), **stood}
    return found


def written(path: Path, document: dict[str, Any]) -> Path:
    path.write_text(tomlkit.dumps(document), encoding="utf-8")
    return path


def plain(document: object) -> object:
    """Return an answer without what only one of the two ways to say it has: which file, how sure, who says it."""
    if isinstance(document, dict):
        left_out = (
            "from",
            "from_file",
            "change_doubt_mm",
            "change_rests_on",
            "warnings",
            "notes",
            "job",
            "why_not",
            "assumed",
        )
        return {key: plain(value) for key, value in document.items() if key not in left_out}
    if isinstance(document, list):
        return [plain(one) for one in document]
    if isinstance(document, str):
        return re.sub(r" \((\[before\] of )?[^()]*\.toml\)", "", document)
    return document


def furthest(one: object, other: object, at: str = "") -> float:
    """Return by how much two documents of one shape differ in any number."""
    assert type(one) is type(other), at
    if isinstance(one, dict) and isinstance(other, dict):
        assert one.keys() == other.keys(), at
        return max((furthest(one[key], other[key], f"{at}.{key}") for key in one), default=0.0)
    if isinstance(one, list) and isinstance(other, list):
        assert len(one) == len(other), at
        return max((furthest(*both, at) for both in zip(one, other, strict=True)), default=0.0)
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other)
    assert one == other, at
    return 0.0


def changed(text: str, *swaps: tuple[str, str]) -> str:
    for was, now in swaps:
        assert was in text
        text = text.replace(was, now)
    return text


SHELF = EXAMPLES / "pushrods_from_the_shelf"
PAIRS = {  # the engine after, and changes that make the one before of it; one is there as a file of its own
    "bench": (BENCH, (('cylinder = "5.563', 'cylinder = "5.362'),)),
    "coordinates": (COORDINATES, (('\ncylinder = "141.30', '\ncylinder = "138.10'),)),
    "shelf": (SHELF / "job.toml", ()),
}


@pytest.mark.parametrize("ticked", [False, True])
@pytest.mark.parametrize("name", ["bench", "coordinates", "shelf"])
def test_one_file_tells_what_two_tell(name: str, ticked: bool, tmp_path: Path) -> None:
    path, swaps = PAIRS[name]
    text = path.read_text(encoding="utf-8")
    old = changed(text, *swaps) if swaps else (path.parent / "before.toml").read_text(encoding="utf-8")
    for one in path.parent.glob("*.csv"):
        (tmp_path / one.name).write_bytes(one.read_bytes())
    after, before = tomllib.loads(text), tomllib.loads(old)
    single = written(tmp_path / "one.toml", one_file(after, before, ticked))
    two = swap.answer(
        load(written(tmp_path / "after.toml", after)), load(written(tmp_path / "before.toml", before))
    )
    one = swap.answer(load(single))
    assert furthest(plain(one.document), plain(two.document)) <= 1e-9
    assert one.status == two.status
    assert any(row["change_mm"] for row in one.document["trains"])


STOOD = """
[before]
same = ["lifter", "pushrod", "stack.base_gasket"]
stack = { cylinder = "118.5 +/- 0.02", head_gasket = "1.1 +/- 0.05" }
"""
DOUBTED = changed(
    TWO,
    ("stack = { cylinder = 118.5 }", 'on = "before"'),
    ("cylinder = 121.7", 'cylinder = "121.7 +/- 0.02"'),
    ("base_gasket = 0.4", 'base_gasket = "0.4 +/- 0.03"'),
    ("head_gasket = 1.2", 'head_gasket = "1.2 +/- 0.05"'),
    ("lean = 3\n", 'lean = "3 +/- 0.5"\n'),
)


def job_of(text: str, *variations: str) -> JobFile:
    return understood(Path("job.toml"), text, variations)


def drawn(job: JobFile, name: str) -> tuple[float, float]:
    """Return by how much a pushrod's change scatters as draws tell it, and what its budget says [mm]."""
    off = draws(job.doubts, BUILDS, SEED)
    varied = {
        path: job.mapping[path]
        + sum(
            group[path] * off[root] for root, group in job.quantities.items() if path in group and root in off
        )
        for path in {one for group in job.quantities.values() for one in group}
    }
    flat = job.mapping.with_(varied)
    lengths = [required(train_of(side, name)).lengths["overall"] for side in (flat, engine_before(flat))]
    found = swap.answer(job).document["trains"]  # type: ignore[arg-type]
    (row,) = [one for one in found if one["train"] == name]
    return float(np.std(lengths[0] - lengths[1])), row["change_doubt_mm"] / 2


ENDS = 'pushrod = { ball_diameter_low = "8 +/- 0.02", ball_diameter_high = "8 +/- 0.02", hole_low = 0, hole_high = 0 }\n'
WITH_ENDS = DOUBTED.replace("[train.lifter]", f"{ENDS}[train.lifter]")


@pytest.mark.parametrize(
    "same", ['"lifter", "pushrod", "stack.base_gasket"', '"lifter", "pushrod", "gaskets"']
)
def test_the_doubt_of_a_change_is_what_draws_say(same: str) -> None:
    stood = STOOD.replace('"lifter", "pushrod", "stack.base_gasket"', same)
    stood = stood.replace(', head_gasket = "1.1 +/- 0.05"', "") if "gaskets" in same else stood
    scatter, told = drawn(job_of(WITH_ENDS + stood), "front.intake")
    assert told == pytest.approx(scatter, rel=0.02)
    assert told == pytest.approx(
        np.sqrt(2 * 0.02**2 + (0 if "gaskets" in same else 2 * 0.05**2)) / np.sqrt(3), rel=0.02
    )


def test_two_parts_that_were_measured_apart_do_not_cancel() -> None:
    apart = STOOD.replace(', "stack.base_gasket"', "").replace(
        "1.1 +/- 0.05", '1.1 +/- 0.05", base_gasket = "0.4 +/- 0.03'
    )
    one, two = (drawn(job_of(WITH_ENDS + stood), "front.intake") for stood in (STOOD, apart))
    assert two[1] == pytest.approx(two[0], rel=0.02)
    assert two[1] ** 2 - one[1] ** 2 == pytest.approx(2 * 0.03**2 / 3, rel=0.02)


# What is not said is lacking.


def test_what_is_neither_said_nor_the_same_is_lacking() -> None:
    job = job_of(DOUBTED + STOOD.replace(', "stack.base_gasket"', ""))
    found = swap.answer(job)  # type: ignore[arg-type]
    assert all(row["change_mm"] is None for row in found.document["trains"])
    assert any("the base gasket before is not said" in one for one in found.document["notes"])
    assert found.status == 1


def test_a_part_nobody_entered_can_be_the_same() -> None:
    text = DOUBTED.replace('base_gasket = "0.4 +/- 0.03"\n', "")
    found = swap.answer(job_of(text + STOOD))  # type: ignore[arg-type]
    assert [row["change_mm"] for row in found.document["trains"]] == pytest.approx([3.3, 3.3], abs=0.02)


@pytest.mark.parametrize(
    "gone", ['"lifter", ', '"pushrod", ', ', "stack.base_gasket"', 'cylinder = "118.5 +/- 0.02", ']
)
def test_nothing_left_out_of_what_stood_before_makes_a_change_surer(gone: str) -> None:
    whole, less = (swap.answer(job_of(WITH_ENDS + stood)) for stood in (STOOD, STOOD.replace(gone, "")))  # type: ignore[arg-type]
    was, now = (one.document["trains"][0] for one in (whole, less))
    assert was["change_doubt_mm"] is not None
    if gone == '"pushrod", ':  # only the convention is lost: the change is told between ball centres
        assert now["change_doubt_mm"] is None or now["change_doubt_mm"] >= was["change_doubt_mm"] - 1e-4
    else:
        assert (now["change_mm"], now["change_doubt_mm"]) == (None, None)
        assert less.status == 1


@pytest.mark.wide
def test_a_clearance_s_change_is_as_sure_as_what_is_not_the_same(tmp_path: Path) -> None:
    """By hand: the stem leans 22 degrees, and the straight gap opens by the cosine of that for a cylinder that is taller."""
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    same = '"lifter", "head", "pushrod", "pocket", "lobe", "cam", "crank", "piston", "stack.bore", "case", "gaskets"'
    told = {}
    for stood in (
        f'[before]\nsame = [{same}]\nstack.cylinder = "124.2 +/- 0.20"\n',
        f'[before]\nsame = [{same}, "cylinder"]\n',
    ):
        text_of = stood.replace('"stack.bore", ', "") if '"cylinder"]' in stood else stood
        rows = swap.answer(job_of(text + text_of)).document["trains"]  # type: ignore[arg-type]
        told[text_of] = next(row for row in rows if row["train"] == "one.intake")
    apart, one = told.values()
    opened = apart["clearance"]["after"]["least_mm"] - apart["clearance"]["before"]["least_mm"]
    assert opened == pytest.approx(np.cos(np.radians(22)), rel=0.02)
    by_hand = 2 * opened * np.sqrt(0.2**2 + 0.02**2) / np.sqrt(3)
    assert apart["clearance"]["change_doubt_mm"] == pytest.approx(by_hand, rel=0.02)
    assert (one["change_mm"], one["change_doubt_mm"], one["clearance"]["change_doubt_mm"]) == (0.0, 0.0, 0.0)


def test_what_is_taken_for_an_entry_that_the_engine_says_otherwise_is_told() -> None:
    job = job_of(
        DOUBTED.replace(
            "[stack]", "[piston]\npin_offset = 0.8\n[crank]\nstroke = 90\nconrod_length = 170\n[stack]"
        )
        + STOOD.replace("[before]", "[before]\ncrank = { stroke = 90, conrod_length = 170 }")
    )
    assert any(
        one.startswith("before.piston.pin_offset is not said, and the pin taken as central; it is 0.8 now")
        for one in job.warnings_before
    )


def test_a_rod_that_was_read_with_another_rocker_is_to_be_read_again() -> None:
    other = '[[before.train]]\ncylinder = "front"\nport = "intake"\nrocker.ratio = 1.5\n'
    job = job_of(DOUBTED + STOOD + other)
    assert [one for one in job.warnings if "front.intake's pushrod was read with another rocker" in one]
    assert not any("another rocker" in one for one in job_of(DOUBTED + STOOD).warnings)


# Trying other parts.


def test_another_value_is_tried_of_what_stood_before_by_its_path() -> None:
    gear = '[[before.train]]\ncylinder = "front"\nport = "intake"\nlifter.preload = 1.2\n[[before.train]]\ncylinder = "rear"\nport = "intake"\nlike = "front.intake"\n'
    text = WITH_ENDS + STOOD.replace('"lifter", ', '"lifter.kind", "lifter.plunger_travel", ') + gear
    job = job_of(text, "before.front.intake.lifter.preload=1.4 mm", "before.rear.intake.pushrod.hole_low=0.5")
    assert job.entries["before.rear.intake.lifter.preload"].value == 1.4  # like the front's
    assert job.entries["before.rear.intake.pushrod.hole_low"].value == 0.5
    assert job.entries["rear.intake.pushrod.hole_low"].value == 0.0
    with pytest.raises(InputFaultsError, match="did you mean before.front.intake.lifter.preload"):
        job_of(text, "before.front.intake.lifter.preloda=1.4 mm")


def test_a_part_that_is_the_same_stays_where_another_one_is_tried() -> None:
    job = job_of(DOUBTED + STOOD, "stack.base_gasket=0.9")
    assert job.entries["before.stack.base_gasket"].value == 0.4
    assert job.entries["front.intake.measured_pushrod.stack.base_gasket"].value == 0.4
    assert swap.answer(job).document["trains"][0]["change_mm"] == pytest.approx(3.8, abs=0.02)  # type: ignore[arg-type]


def test_what_a_reading_took_from_what_stood_before_follows_it() -> None:
    job = job_of(
        DOUBTED + STOOD, "before.stack.cylinder=117.5 +/- 0.02", "before.stack.base_gasket=0.5 +/- 0.01"
    )
    reading = "front.intake.measured_pushrod.stack"
    assert job.entries[f"{reading}.cylinder"].value == 117.5
    assert job.entries[f"{reading}.base_gasket"].value == 0.5
    assert job.quantities["before.stack.cylinder"].keys() >= {"before.stack.cylinder", f"{reading}.cylinder"}


def test_a_stack_beside_a_reading_says_what_differs_for_it_alone() -> None:
    text = DOUBTED.replace('on = "before"', 'on = "before"\nstack = { head_gasket = 1.5 }', 1) + STOOD
    job = job_of(text)
    assert job.entries["front.intake.measured_pushrod.stack.head_gasket"].value == 1.5
    assert job.entries["front.intake.measured_pushrod.stack.cylinder"].value == 118.5
    assert job.entries["rear.intake.measured_pushrod.stack.head_gasket"].value == 1.1


# What is wrong.


@pytest.mark.parametrize(
    ("stood", "place", "told"),
    [
        ('same = ["crnak"]', "before.same.0", '"crnak": no such part; did you mean crank?'),
        ('same = ["targets"]', "before.same.0", "no such part"),
        (
            'same = ["piston", "stack"]\nstack.cylinder = 118',
            "before.same.1",
            "before.stack.cylinder is entered",
        ),
        ('same = ["block"]\nstack.cylinder = 118', "before.same.0", "before.stack.cylinder is entered"),
        ('same = "crank"', "before.same", "where a list of names belongs"),
        ('[[before.cylinder]]\nname = "midle"', "before.cylinder.0.name", "no such cylinder in this job"),
        (
            '[[before.train]]\ncylinder = "front"\nport = "exhaust"',
            "before.train.0.port",
            "no such valve gear in this job",
        ),
        ("stack.cylindre = 3", "before.stack.cylindre", "did you mean cylinder?"),
        (
            "crank = { stroke = 90, conrod_length = 30 }",
            "before.crank.conrod_length",
            "such a crank cannot turn",
        ),
    ],
)
def test_what_is_wrong_with_what_stood_before(stood: str, place: str, told: str) -> None:
    found = faults_of(f"{TWO}\n[before]\n{stood}\n")
    assert list(found) == [place]
    assert told in found[place]


def test_no_cylinder_is_called_before() -> None:
    found = faults_of(TWO.replace('"front"', '"before"').replace('"front.', '"before.'))
    assert "that is the name of a table of the job file" in found["cylinder.0.name"]
    old = faults_of(
        TWO.replace('"front"', '"before"')
        .replace('"front.', '"before.')
        .replace("format = 1", 'format = 1\nwritten_for = "0.3"')
    )
    assert "cylinder.0.name" in old


def test_a_block_that_is_the_same_had_no_base_gasket_either() -> None:
    text = six_in_line(1).replace('stack = { head_gasket = "1.30 +/- 0.05" }', 'on = "before"')
    stood = '[before]\nsame = ["block", "head", "lifter", "pushrod"]\nstack.head_gasket = "1.30 +/- 0.05"\n'
    row, _ = swap.answer(job_of(text + stood)).document["trains"]  # type: ignore[arg-type]
    assert row["change_mm"] == pytest.approx(-0.4, abs=0.002)  # the gasket, and what the block was decked by
    assert row["change_doubt_mm"] == pytest.approx(
        2 * np.sqrt(2 * 0.05**2 + 2 * 0.02**2) / np.sqrt(3), rel=0.02
    )
    parts = job_of(text + stood).names["before_same"]
    assert called(parts) == ["block", "head", "lifter", "pushrod", "stack.base_gasket"]
    apart = stood.replace('"block"', '"case", "stack.bore"')
    assert swap.answer(job_of(text + apart)).document["trains"][0]["change_mm"] is None  # type: ignore[arg-type]


BESIDE_ON = "stack = { cylinder = 118.5 }"


def looked_again(text: str) -> list[str]:
    return [str(one) for one in understood(Path("x.toml"), text).warnings if isinstance(one, LookAgain)]


def test_a_reading_that_does_not_say_on_which_of_two_stacks_it_was_taken_is_told() -> None:
    """It counts as read on the one that will be built: 3.2 mm of cylinder, and nothing else would tell."""
    silent = changed(TWO, (BESIDE_ON, ""))
    assert looked_again(silent) == []
    told = looked_again(silent + STOOD)
    assert len(told) == 2
    assert all("does not say on which of the two stacks it was read" in one for one in told)
    for said in ('on = "now"', "stack = { cylinder = 118.5, head_gasket = 1.1 }"):
        assert looked_again(changed(TWO, (BESIDE_ON, said)) + STOOD) == []


def test_a_reading_on_the_engine_it_will_be_built_with_assumes_no_stack() -> None:
    def assumed(said: str) -> list[str]:
        job = understood(Path("x.toml"), changed(TWO, (BESIDE_ON, said)))
        return [one.entry for one in job.assumed if one.entry.endswith("measured_pushrod.stack")]

    assert len(assumed("")) == 2
    assert assumed('on = "now"') == []


def test_a_reading_carried_over_with_parts_that_nobody_said_are_the_same_is_told() -> None:
    before = changed(TWO, (BESIDE_ON, 'on = "before"'))
    told = looked_again(before + STOOD)
    assert len(told) == 2
    assert all("that its head, case and lobe are the same now is not said" in one for one in told)
    whole = changed(STOOD, ('"pushrod"', '"pushrod", "head", "case", "lobe"'))
    assert looked_again(before + whole) == []
    one = changed(STOOD, ('"pushrod"', '"pushrod", "rocker", "case", "lobe"'))
    assert all("that its head is the same" in each for each in looked_again(before + one))


def test_a_deck_that_does_not_say_on_which_of_two_engines_it_was_read_is_told() -> None:
    deck = changed(TWO, ("base_gasket = 0.4", "base_gasket = 0.4\nmeasured_deck.below = 0.5"))
    assert any("the crown below the top face does not say" in one for one in looked_again(deck + STOOD))
    said = changed(deck, ("below = 0.5", 'below = 0.5\nmeasured_deck.on = "now"'))
    assert not any("the crown" in one for one in looked_again(said + STOOD))
