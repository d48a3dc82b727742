"""A job file with entries set in it: what is typed comes back, remarks stay."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from tallstack.cli.guide.guide import Guide
from tallstack.cli.job.editing import Edited

from ...sessions import told


def test_comments_and_order_of_a_hand_written_file_stay() -> None:
    text = (
        '# mine\nformat = 1\nunits = "in"\n\n[stack] # bench 2\ncylinder = ""   # Bob measures\n'
        'head_gasket = "0.04 in"\n[[cylinder]]\nname = "a"\n\n[[train]]\ncylinder = "a"\nport = "intake"\n'
        'lifter = { kind = "hydraulic", preload = "" }\n'
    )
    guide = Guide(Path("x.toml"), text)
    answers = {"title": "title", "stack.cylinder": "4.31 in", "train.0.lifter.preload": "0.04 in"}
    while guide.asked is not None:
        told(guide, [answers.get(guide.asked.key, "")])
    wanted = text.replace('cylinder = ""   # Bob', 'cylinder = "4.31 in"  # Bob')
    wanted = wanted.replace('preload = "" }', 'preload = "0.04 in", plunger_travel = ""}')
    lines = [line for line in wanted.splitlines() if line]
    assert [line for line in guide.text.splitlines() if line in lines] == lines


@pytest.mark.parametrize(
    "value", ['0.030"', "it's", "4.310 ± 0.001 in", "=x", "both \" and '", "\\", "#", "3 15/16 in"]
)
def test_whatever_is_typed_comes_back(value: str) -> None:
    edited = Edited('title = "x" # kept\n')
    edited.put(("title",), value)
    assert tomllib.loads(edited.text) == {"title": value}
    assert edited.text.endswith("# kept\n")
