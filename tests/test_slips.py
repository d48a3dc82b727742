"""Forty slips that people make, each put into a whole job: what it ends in, and why at most six pass in silence.

A job that holds two valve gears built alike, a card with more than it needs, a gasket before it is pressed or a spring by
its heights tells a slip in one of them by the others. Alone, a number that could be another engine's is taken.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import understood

from .commands import EXAMPLES, tallstack

FOLDER = EXAMPLES / "twin_by_dial_and_protractor"
JOB = FOLDER / "job.toml"
DEMO = Path(__file__).parent.parent / "cli" / "demo"
MORE = (  # what the example lacks of a whole job
    (
        'head_gasket = "0.043 +/- 0.002"                # as compressed',
        'head_gasket = "0.043 +/- 0.002"\nbore = "3.440 +/- 0.001"\nmeasured_deck = { below = "0.010 +/- 0.002" }\n'
        'head_gasket_free = "0.050 +/- 0.002"',
    ),
    (
        'conrod_length = "7.440 +/- 0.005"',
        'conrod_length = "7.440 +/- 0.005"\ncounterweight_radius = "3.0 +/- 0.02"\nconrod_beam_width = "0.9 +/- 0.02"',
    ),
    (
        "[targets]",
        '[piston]\ncompression_height = "1.5 +/- 0.005"\nskirt_below_pin = "1.2 +/- 0.01"\ndiameter = "3.437 +/- 0.0005"\n'
        'crown_volume = "3 +/- 0.5 cc"\n[chamber]\nvolume = "62 +/- 0.5 cc"\ngasket_bore = "3.46 in"\n[targets]',
    ),
    (
        'cup_depth_high = "0.118 +/- 0.003"\n',
        'cup_depth_high = "0.118 +/- 0.003"\n[train.spring]\ninstalled = "1.850 +/- 0.010"\nrate = "300 +/- 10 lbf/in"\n'
        'free_length = "2.30 +/- 0.01"\nsolid_height = "1.1 +/- 0.01"\n',
    ),
)
FAULT, TOLD, SILENT = "refused", "asked about", "silent"


def slipped(text: str, *changes: tuple[str, str]) -> str:
    """Return a text with single places changed, the first of each; all of them were there before."""
    for place, (before, _) in enumerate(changes):
        assert before in text
        text = text.replace(before, f"\0{place}\0", 1)
    for place, (_, after) in enumerate(changes):
        text = text.replace(f"\0{place}\0", after)
    return text


@cache
def whole() -> str:
    return slipped(JOB.read_text(encoding="utf-8"), *MORE)


def ending(path: Path, text: str) -> tuple[str, tuple[str, ...]]:
    """Return what a job ends in before any answer: its faults, or what is asked about in it."""
    try:
        job = understood(path, text).settled
    except InputFaultsError as error:
        return FAULT, tuple(one.message for one in error.faults)
    return TOLD, job.warnings


ROD = 'length = "10.484 +/- 0.003"'
LEAN_INTAKE = 'lean = "26 +/- 1"\nmeets = "pocket"\nroom = "0.090'
SLIPS: dict[str, tuple[tuple[tuple[str, str], ...], str, str]] = {  # what, how, what it ends in, by which words or why not
    "millimetres in a job of inches": ((('stroke = "4.000', 'stroke = "101.6'),), FAULT, "was it typed in mm"),
    "thou for inches, a drop": ((('drop = "0.308', 'drop = "308'),), FAULT, "was it typed in mm"),
    "thou for inches, a gasket": ((('head_gasket = "0.043 +/- 0.002"\nbore', 'head_gasket = "43"\nbore'),), FAULT, "no stack changes so much"),
    "a decimal point": ((('cylinder = "4.957 +/- 0.001"\nhead', 'cylinder = "49.57 +/- 0.001"\nhead'),), FAULT, "no stack changes so much"),
    "a wish in millimetres": ((('pumped = "0.060"', 'pumped = "0.060"\ndrop_intake = "2.0"'),), TOLD, "was it typed in millimetres"),
    "degrees Celsius for Fahrenheit": ((("360 +/- 20 F", "360 +/- 20 C"),), TOLD, "hot_head"),
    "newtons a millimetre for pounds an inch": ((("300 +/- 10 lbf/in", "52 +/- 2 lbf/in"),), TOLD, "presses with"),
    "the stacks before and after exchanged": (
        (('cylinder = "4.957 +/- 0.001"\nhead', 'cylinder = "4.757 +/- 0.001"\nhead'), ('stack = { cylinder = "4.757', 'stack = { cylinder = "4.957')),
        TOLD, "are then and now swapped",
    ),
    "the stack of one reading forgotten": ((('stack = { cylinder = "4.757 +/- 0.001", head_gasket = "0.030 +/- 0.002" }\n[train.measured_drop]', "[train.measured_drop]"),), TOLD, "is it forgotten"),
    "exhaust for intake, two rods": (((ROD, 'length = "10.462"'), ('length = "10.462 +/- 0.003"', 'length = "10.484"')), TOLD, "exchanged?"),
    "exhaust for intake, two centrelines": ((('centreline = "104', 'centreline = "108'), ('centreline = "108', 'centreline = "104')), TOLD, "does not go with"),
    "cam degrees for crank degrees, a duration": ((('degrees = "226 +/- 1"', 'degrees = "113 +/- 1"'),), FAULT, "cannot go with duration 113"),
    "cam degrees for crank degrees, a centreline": ((('centreline = "104', 'centreline = "52'),), FAULT, "cannot go with"),
    "a valve's lift for the lobe's": ((('peak = "0.310', 'peak = "0.504'),), TOLD, "at the valve"),
    "a radius for a bore": ((('bore = "3.440', 'bore = "1.720'),), FAULT, "does not go into a bore"),
    "a diameter for a radius": ((('counterweight_radius = "3.0', 'counterweight_radius = "6.0'),), TOLD, "most engines lie between"),
    "the throw for the stroke": ((('stroke = "4.000', 'stroke = "2.000'),), TOLD, "whether that is the throw"),
    "a ball's radius for its diameter": ((('ball_diameter_low = "0.3125', 'ball_diameter_low = "0.15625'),), TOLD, "most engines lie between"),
    "a cylinder's lean of the wrong sign": ((("lean = -26", "lean = 26"),), TOLD, "the same way"),
    "a stem's lean of the wrong sign": (((LEAN_INTAKE, LEAN_INTAKE.replace("26", "-26")),), FAULT, "must be 0 or more"),
    "a stem's lean a tenth": (((LEAN_INTAKE, LEAN_INTAKE.replace("26", "2.6")),), TOLD, "look at all three"),
    "a rod's lean from the horizontal": ((('lean = "2 +/- 1"', 'lean = "88 +/- 1"'),), FAULT, "must be between -45 and 45"),
    "half of the angle between two stems": ((('between_stems = "52', 'between_stems = "26'),), TOLD, "look at all three"),
    "a gasket before it is pressed": ((('head_gasket = "0.043 +/- 0.002"\nbore', 'head_gasket = "0.050 +/- 0.002"\nbore'),), FAULT, "cannot be"),
    "a dial losing a turn, a drop": ((('drop = "0.308', 'drop = "0.208'),), TOLD, "a turn of the dial"),
    "a dial losing a turn, a lobe": ((('peak = "0.310', 'peak = "0.210'),), TOLD, "did the dial lose a turn"),
    "a dial losing a turn, a plunger": ((('plunger_travel = "0.190', 'plunger_travel = "0.090'),), FAULT, "whole travel"),
    "two digits exchanged": (((ROD, 'length = "10.448 +/- 0.003"'),), TOLD, "is one of them a digit"),
    "a rod read in a gauge, said overall": ((('as = "overall"', 'as = "gauge"'),), TOLD, "was one of them read as the other"),
    "a plunger bottomed, said at its top": ((('plunger = "top"', 'plunger = "bottomed"'),), TOLD, "was one of them read as the other"),
    "a preload in turns": ((('preload = "0.125"', 'preload = "0.75"'),), FAULT, "whole travel"),
    "a ratio the wrong way round": ((('ratio = "1.625', 'ratio = "0.615'),), TOLD, "most engines lie between"),
    "two columns of a card exchanged": ((('degrees = "226 +/- 1" }, seat = { at = "0.006 in", degrees = "268', 'degrees = "268 +/- 1" }, seat = { at = "0.006 in", degrees = "226'),), FAULT, "is not shorter"),
    "installed height and free length exchanged": ((('installed = "1.850', 'installed = "2.30'), ('free_length = "2.30', 'free_length = "1.850')), FAULT, "cannot stand"),
    "a rod over the outsides of its eyes": ((('conrod_length = "7.440', 'conrod_length = "8.440'),), TOLD, "is it from centre to centre"),
    "a cut counted twice": (
        (('base_gasket = "0.020 +/- 0.001"\n', 'base_gasket = "0.020 +/- 0.001"\nhead_cut = "0.020"\n'),),
        SILENT, "nothing in the job says what the head was before: the rods may well have been read before the cut",
    ),
    "a dome's volume for a dish's": ((('crown_volume = "3', 'crown_volume = "-3'),), SILENT, "a crown with neither dome nor dish entered may have either"),
    "a deck above, typed as below": ((('below = "0.010', 'below = "-0.010'),), SILENT, "pistons stand on either side, and case deck and rod are not both entered"),
    "the room in a pocket on its diameter": ((('room = "0.090', 'room = "0.180'),), SILENT, "pockets are as wide as somebody cut them, and nothing else tells this one"),
    "two edges exchanged": ((('edge_intake = "0.243', 'edge_intake = "0.232'), ('edge_exhaust = "0.232', 'edge_exhaust = "0.243')), SILENT, "either valve may be the lower one; opened together they read the same"),
}  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_ends_as_it_is_told(slip: str) -> None:
    changes, ends, words = SLIPS[slip]
    found, said = ending(JOB, slipped(whole(), *changes))
    if ends == SILENT:
        assert (found, said) == (TOLD, ()), "it is told now: say so here"
        return
    assert found == ends
    assert any(words in one for one in said), said


def test_the_job_without_a_slip_is_quiet() -> None:
    assert ending(JOB, whole()) == (TOLD, ())


def test_so_many_slips_and_so_few_in_silence() -> None:
    ends = [one for _, one, _ in SLIPS.values()]
    assert len(ends) + len(ELSEWHERE) >= 40
    assert ends.count(SILENT) <= 6


ELSEWHERE = ("swapped columns of a table", "opened together less than alone")


def test_a_table_whose_columns_are_swapped_is_refused(tmp_path: Path) -> None:
    head, *rows = (DEMO / "exhaust.csv").read_text(encoding="utf-8").splitlines()
    swapped = [",".join(reversed(row.split(","))) for row in rows]
    (tmp_path / "exhaust.csv").write_text("\n".join([head, *swapped]) + "\n", encoding="utf-8")
    ended = tallstack("lobe", tmp_path / "exhaust.csv", "--units", "in")
    assert ended.status == 2
    assert "exhaust.csv:2:1: these lifts look like angles; are the two columns exchanged?" in ended.err


def test_valves_opened_together_less_than_either_alone_leave_no_gap_met(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(
        slipped(whole(), ('together = "0.247', 'together = "0.147')), encoding="utf-8"
    )
    told = " ".join(tallstack("clearance", tmp_path / "job.toml").out.split())
    assert "LOOK AGAIN" in told
