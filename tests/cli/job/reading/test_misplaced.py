"""Entries of the file's top that stand under a table are found, and those that belong there are left alone."""

from __future__ import annotations

import tomllib

import pytest
from tallstack.cli.job.reading.misplaced import below_the_top, first_header, is_rows


def test_what_belongs_above_is_found_under_any_table() -> None:
    found = below_the_top(tomllib.loads('[stack]\ncylinder = 1\nunits = "mm"\n[[train]]\nformat = 1\n'))
    assert found == ((("stack", "units"), "mm"), (("train", 0, "format"), 1))


def test_what_is_there_above_too_is_not_asked_for_below() -> None:
    document = tomllib.loads(
        'format = 1\ntitle = "x"\nwritten_for = "0.6"\nunits = "mm"\n[stack]\nunits = "mm"\n'
    )
    assert below_the_top(document) == ()


@pytest.mark.parametrize(
    ("text", "header"),
    [("[stack]\na = 1", "[stack]"), ("[[train]]\na = 1", "[[train]]"), ("[lobe.intake]\na = 1", "[lobe.intake]"), ("x = 1\n[lobe]\nb = 2", "[lobe]")],
)  # fmt: skip
def test_the_first_header(text: str, header: str) -> None:
    assert first_header(tomllib.loads(text)) == header


def test_rows_are_lists_of_tables() -> None:
    assert is_rows([{}])
    assert not is_rows([])
    assert not is_rows([1, 2])
    assert not is_rows({})
