"""Where an entry stands: line and column of every key, of rows by their numbers, counted in characters."""

from __future__ import annotations

import pytest
from tallstack.cli.job.reading.locate import Keys, Places

TEXT = """\
units = "mm"
"größe" = 1 # a remark with = and [brackets]
[stack]
  cylinder = "4.9 in"
[[train]]
port = "intake"
[train.rocker]
shaft = [-23, 64,
  -12]
[[train]]
valve = { face = [1, 2, 3], "length" = 99 }
a.b.c = 1
"""
FOUND = Places(TEXT)


@pytest.mark.parametrize(
    ("loc", "place"),
    [
        (("units",), (1, 1)),
        (("größe",), (2, 1)),
        (("stack",), (3, 1)),
        (("stack", "cylinder"), (4, 3)),
        (("train", 0, "port"), (6, 1)),
        (("train", 0, "rocker", "shaft", 2), (9, 3)),
        (("train", 1), (10, 1)),
        (("train", 1, "valve", "face", 1), (11, 22)),
        (("train", 1, "valve", "length"), (11, 29)),
        (("train", 1, "a", "b", "c"), (12, 1)),
    ],
)
def test_every_entry_has_its_place(loc: Keys, place: tuple[int, int]) -> None:
    assert FOUND.nearest(loc) == place


def test_what_is_not_there_is_told_at_what_is_around_it() -> None:
    assert FOUND.nearest(("stack", "head_gasket")) == (3, 1)
    assert FOUND.nearest(("train", 1, "valve", "lean")) == (11, 1)
    assert FOUND.nearest(("crank", "stroke")) == (1, 1)


def test_columns_count_characters_and_not_bytes() -> None:
    assert Places('a = { "öö" = 1, b = 2 }').nearest(("a", "b")) == (1, 17)


def test_what_begins_in_a_line() -> None:
    assert FOUND.in_line(4) == ("stack", "cylinder")
    assert FOUND.in_line(11) == ("train", 1, "valve")
    assert FOUND.in_line(99) == ()


def test_a_text_that_is_not_sound_has_places_all_the_same() -> None:
    assert Places("[stack]\ncylinder = = 4\nhead_gasket = 1\n").nearest(("stack", "head_gasket")) == (3, 1)
