"""What every plot has in common: both units on one axis, the same bytes each time, words that can be printed."""

from __future__ import annotations

import re

import pytest
from matplotlib.figure import Figure
from tallstack.cli.drawing.plots.plotting import METADATA, both_units, file_bytes, scale_of, showable


def drawn() -> Figure:
    figure = Figure(figsize=(3, 2))
    axes = figure.add_subplot()
    axes.plot([0.0, 1.0], [0.0, 1.0 / 3.0], color="black", label="line")
    return figure


@pytest.mark.parametrize("kind", sorted(METADATA))
def test_the_same_plot_is_the_same_bytes_without_a_date(kind: str) -> None:
    first, second = file_bytes(drawn, kind), file_bytes(drawn, kind)
    assert first == second
    assert not re.search(rb"CreationDate|<dc:date>", first)


def test_numbers_of_an_svg_have_three_digits_and_its_parts_are_still_found() -> None:
    text = file_bytes(drawn, ".svg").decode("utf-8")
    for number in re.findall(r"-?\d+\.(\d+)", re.sub(r"scale\([^)]*\)", "", text.partition("<svg")[2])):
        assert len(number) <= 3 or not number.strip("0123456789")
    names = set(re.findall(r' id="([^"]*)"', text))
    assert set(re.findall(r'url\(#([^)]*)\)|href="#([^"]*)"', text)) <= {
        pair for name in names for pair in ((name, ""), ("", name))
    }


@pytest.mark.parametrize(
    ("inches", "factor", "first", "second"), [(True, 25.4, "in", "mm"), (False, 1 / 25.4, "mm", "in")]
)
def test_the_other_unit_stands_on_the_right(inches: bool, factor: float, first: str, second: str) -> None:
    figure = Figure()
    axes = figure.add_subplot()
    axes.set_ylim(0.0, 2.0)
    both_units(axes, "lift", "", inches)
    figure.draw_without_rendering()
    assert axes.get_ylabel().endswith(first)
    (other,) = axes.child_axes
    assert other.get_ylabel() == second
    assert other.get_ylim()[1] == pytest.approx(2.0 * factor)
    assert scale_of(inches) == (25.4 if inches else 1.0)


def test_what_cannot_be_printed_is_a_question_mark() -> None:
    assert showable("twin\x07 \u00b0") == "twin? \u00b0"
