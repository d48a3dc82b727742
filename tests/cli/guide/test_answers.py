"""What a question takes: a bad answer is asked again with the reason."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from ...sessions import FULL, INTAKE, STACK, START, after, told


def test_an_answer_is_told_as_understood_in_both_units() -> None:
    guide = after(*START)
    assert told(guide, ["3 15/16 in"]) == ["  Understood: 3.9375 in = 100.0125 mm"]
    assert told(guide, ["30 thou"]) == ["  Understood: 0.03 in = 0.762 mm"]
    assert told(guide, ["0.043"]) == ["  Understood: 0.043 in = 1.0922 mm"]
    assert 'cylinder = "3 15/16 in"' in guide.text


@pytest.mark.parametrize(
    ("before", "line", "why"),
    [
        (START, "4,310", '"4,310": a comma means thousands to some'),
        (START, "4.310 furlong", '"furlong" is no unit of a length'),
        (START, "-3", "must be greater than 0"),
        (START, "100", "was it typed in mm?"),
        (START, '""', "no value between the quotes"),
        (START, '{ read = "4 in" }', "by is missing"),
        (START, "{ of = 4 }", "a table in braces where one value belongs"),
        (START, "4\x07", "characters that no job file can hold"),
        (START, "\udcff", "characters that no job file can hold"),
        (START, "=", "a reading is taken at every valve gear"),
        ((), "cm", '"cm" where "mm" or "in" belongs'),
        (START[:2], "rods", '"rods": one or more of pushrods, valves'),
        (START[:2], "p", '"p": one or more of pushrods, valves'),
        (START[:3], "both", '"both" where "bench" or "coordinates" belongs'),
        (START[:4], "2.5", '"2.5": a whole number from 1 to 12'),
        (START[:4], "0", "a whole number from 1 to 12"),
        (START[:5], "front cylinder", "a name takes letters, digits"),
        (START[:5], "stack", "the name of a table of the job file"),
        ((*START[:4], "3"), "a, b", "2 names for 3 cylinders"),
        ((*START[:4], "3"), "a, b, b", "is there twice"),
        ((*START[:4], "3", "", ""), "one-two-two", "name each cylinder once"),
        ((*START, *STACK, *INTAKE[:2]), "{ trns = 3 }", "did you mean turns"),
        ((*FULL[:17],), "-23, 64", "2 values where 3 belong"),
        ((*FULL[:17],), "-23, x, 5", "not a number"),
        ((*FULL[:17],), "3,5", 'a comma between two digits; write "3.5" if decimals are meant'),
    ],
)
def test_a_bad_answer_is_asked_again_with_the_reason(before: Sequence[str], line: str, why: str) -> None:
    guide = after(*before)
    text, key = guide.text, guide.asked
    reply = guide.say(line)
    assert not reply.taken
    assert why in " ".join(" ".join(reply.lines).split())
    assert (guide.asked, guide.text) == (key, text)
