"""Slips in one value: each is told with what to write, and what is to be written can be read."""

from __future__ import annotations

import re
import tomllib

import pytest
from tallstack.cli.job.reading.value_slips import inch_mark_within, of_value, straight, without_comment


@pytest.mark.parametrize(
    ("value", "right"),
    [
        ("4.935 in", '"4.935 in"'),
        ("1/8", '"1/8"'),
        ('"4.935', '"4.935"'),
        ('4.935"', '"4.935"'),
        ("4.9O5", "4.905"),
        ("4,9", "4.9"),
        (".5", "0.5"),
        ("5.", "5.0"),
        ("-.5", "-0.5"),
        ("007", "7"),
        ("True", "true"),
        ("overall", '"overall"'),
        ('"4.9" in', '"4.9 in"'),
        ('"4.9""', "'4.9\"'"),
        ('"5.9"50 +/- 0.001"', '"5.950 +/- 0.001"'),
        ('"5.9"50 +/- 0.001', '"5.950 +/- 0.001"'),
        ('5.9"50 +/- 0.001', '"5.950 +/- 0.001"'),
        ('5.9" +/- 0.001', '"5.9 +/- 0.001 in"'),
        ('5.9" deep', "'5.9\" deep'"),
    ],
)
def test_what_is_to_be_written_is_told_and_can_be_read(value: str, right: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError):
        tomllib.loads(f"x = {value}\n")
    said = of_value("x", value)
    assert right in said
    tomllib.loads(f"x = {right}\n")


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("", 'while it is not measured yet, write x = ""'),
        ("1 y = 2", "two entries in one line"),
        ('"C:\\jobs"', "a \\ has a meaning of its own"),
        ("9" * 1001, "too large for anything in a workshop"),
        ("=", "cannot be read"),
    ],
)
def test_slips_without_one_right_form_say_what_they_are(value: str, said: str) -> None:
    assert said in of_value("x", value)


def test_an_inch_mark_within_brackets_is_placed() -> None:
    found = inch_mark_within('[1, "4.9"", 3]')
    assert found is not None
    at, said = found
    assert '[1, "4.9"", 3]'[at] == '"'
    (right,) = re.findall(r"or ('[^']*')", said)
    assert tomllib.loads(f"x = {right}")["x"] == '4.9"'
    assert inch_mark_within('[1, "4.9 in", 3]') is None


def test_curly_quotes_come_with_a_line_that_can_be_read() -> None:
    found = straight("title", "\u201cTwin\u201d")
    assert found is not None
    assert tomllib.loads(found[1]) == {"title": "Twin"}
    assert straight("title", '"Twin"') is None
    assert straight("x", "4.9\u201d") is None  # an inch mark, told as one


@pytest.mark.parametrize(
    ("value", "bare"),
    [('"a # b" # c', '"a # b"'), ("1 # two", "1"), ('"a"', '"a"'), ('"4.9"" # x', '"4.9""')],
)
def test_a_remark_is_left_out_and_a_sign_within_quotes_is_none(value: str, bare: str) -> None:
    assert without_comment(value) == bare
