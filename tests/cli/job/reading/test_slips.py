"""Slips in the way a file is written: all of them at once, each line only once, and the rest of it read."""

from __future__ import annotations

import tomllib

import pytest
from tallstack.cli.job.reading.slips import parse

SOUND = 'units = "mm"\n[stack]\ncylinder = 100\nhead_gasket = 1\n'


def test_a_sound_text_has_none() -> None:
    document, text, slips = parse(SOUND)
    assert document == tomllib.loads(SOUND)
    assert (text, slips) == (SOUND, ())


@pytest.mark.parametrize(
    ("wrong", "line", "said"),
    [
        ("cylinder: 100", 3, "="),
        ("cylinder = 100 mm", 3, '"100 mm"'),
        ('cylinder = { read = "5.3"42 in", by = "mic" }', 3, "a quote stands among the figures"),
        ("cylinder =", 3, 'cylinder = ""'),
        ("cylinder", 3, ""),
        ("[crank", 3, "[crank]"),
    ],
)
def test_a_slip_is_told_in_its_line_and_the_rest_is_read(wrong: str, line: int, said: str) -> None:
    source = SOUND.replace("cylinder = 100", wrong)
    document, text, slips = parse(source)
    assert [one.line for one in slips] == [line]
    assert said in slips[0].message
    assert len(text.split("\n")) == len(source.split("\n"))
    assert document is not None
    assert document["units"] == "mm"
    flat = {
        **document,
        **document.get("stack", {}),
        **{k: v for one in document.values() if isinstance(one, dict) for k, v in one.items()},
    }
    assert flat["head_gasket"] == 1


def test_many_slips_are_told_at_once() -> None:
    source = "units = mm\n[stack]\ncylinder = 4,9\nhead_gasket = .5\nbase_gasket = 1\n"
    document, _, slips = parse(source)
    assert [one.line for one in slips] == [1, 3, 4]
    assert document is not None
    assert document["stack"]["base_gasket"] == 1


def test_an_entry_twice_names_the_line_of_the_first() -> None:
    _, _, slips = parse("[stack]\ncylinder = 1\nhead_gasket = 2\ncylinder = 3\n")
    (one,) = slips
    assert one.line == 4
    assert "line 2" in one.message


def test_a_character_that_is_no_text_is_placed() -> None:
    document, _, slips = parse('units = "mm"\ntitle = "a\x07b"\n')
    assert document is None
    assert [(one.line, one.column) for one in slips] == [(2, 11)]
