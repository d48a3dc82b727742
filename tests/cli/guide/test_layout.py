"""What a guided job is to hold: what does not go with an answer is taken out and told, blanks are written once."""

from __future__ import annotations

import tomllib

import pytest
from tallstack.cli.guide.layout import (
    BESIDE,
    MOST,
    NAMES,
    NUMBERS,
    RefusedError,
    blank_places,
    blanks,
    is_blank,
    lay_out,
    left_out,
)
from tallstack.cli.guide.questions import COUNT, KIND, PORTS, Question
from tallstack.cli.job.editing import Edited
from tallstack.cli.job.entries.catalogue import entries_of

GEAR = """format = 1
units = "mm"
[[cylinder]]
name = "front"
[[train]]
cylinder = "front"
port = "intake"
lifter = { kind = "solid", preload = "1.0", plunger_travel = "" }
measured_pushrod = { length = "276 mm", plunger = "top" }
"""


def test_what_does_not_go_with_a_solid_lifter_is_taken_out_and_told() -> None:
    edited = Edited(GEAR)
    held = left_out(edited, Question(KIND), "solid")
    assert held == (
        "front.intake.lifter.preload = 1.0",
        "front.intake.measured_pushrod.plunger = top",
    )  # a blank held nothing
    (train,) = tomllib.loads(edited.text)["train"]
    assert train["lifter"] == {"kind": "solid"}
    assert train["measured_pushrod"] == {"length": "276 mm"}
    assert left_out(Edited(GEAR), Question(KIND), "hydraulic") == ()


def test_what_goes_beside_no_answer_is_an_entry_of_a_gear_or_a_lobe() -> None:
    places = (
        ("train", 0),
        ("lobe", "intake"),
        ("train", 0, "measured_drop"),
        ("train", 0, "measured_pushrod"),
    )
    known = {name for place in places for name in entries_of(place)}
    for names in BESIDE.values():
        for name in names:
            assert name.split(".")[0] in known, name


def test_blanks_are_written_once_and_found_again() -> None:
    edited = Edited(GEAR)
    blanks(edited, ("stack",), ("cylinder", "head_gasket"))
    edited.put(("stack", "cylinder"), "100 mm")
    blanks(edited, ("stack",), ("cylinder", "head_gasket"))
    assert tomllib.loads(edited.text)["stack"] == {"cylinder": "100 mm", "head_gasket": ""}
    found = set(blank_places(tomllib.loads(edited.text)))
    assert found == {("stack", "head_gasket"), ("train", 0, "lifter", "plunger_travel")}


@pytest.mark.parametrize(
    ("found", "blank"),
    [("", True), (" ", True), ("0", False), (["", ""], True), (["", 1], False), ([], False), (0, False)],
)
def test_what_is_blank(found: object, blank: bool) -> None:
    assert is_blank(found) is blank


def test_cylinders_get_names_and_gears_their_ports() -> None:
    edited = Edited("format = 1\n")
    lay_out(edited, Question(COUNT), "2")
    lay_out(edited, Question(PORTS), "both")
    document = tomllib.loads(edited.text)
    assert tuple(one["name"] for one in document["cylinder"]) == NAMES[2]
    assert [(one["cylinder"], one["port"]) for one in document["train"]] == [
        (name, port) for name in NAMES[2] for port in ("intake", "exhaust")
    ]
    assert len(NUMBERS) == MOST


@pytest.mark.parametrize("said", ["0", "13", "two", "1.5", "-1", "\u0662"])
def test_what_is_no_number_of_cylinders_is_refused(said: str) -> None:
    with pytest.raises(RefusedError):
        lay_out(Edited("format = 1\n"), Question(COUNT), said)
