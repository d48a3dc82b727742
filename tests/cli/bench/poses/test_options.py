from __future__ import annotations

import pytest
from tallstack.cli.bench.poses.options import PICTURES, picture_of
from tallstack.cli.guide.told import WORDS

from .looking import read

EVERY = [(question, option) for question, (_, _, options) in PICTURES.items() for option in options]


@pytest.mark.parametrize(("question", "option"), EVERY)
def test_a_picture_stands_for_itself(question: str, option: str) -> None:
    found = picture_of(question, option)
    assert found is not None
    root = read(found)
    assert root.get("viewBox") == "0 0 96 72"
    assert root.get("aria-hidden") == "true"
    assert not {"id", "style"} & {name for one in root.iter() for name in one.keys()}


@pytest.mark.parametrize("question", ["as", "plunger", "meets"])
def test_every_word_of_a_choice_has_its_own_picture(question: str) -> None:
    found = [picture_of(question, option) for option in WORDS[question]]
    assert None not in found
    assert len(set(found)) == len(found)


def test_what_has_no_picture_has_none() -> None:
    assert picture_of("another", "top") is None
    assert picture_of("plunger", "another") is None
    assert picture_of("lifter.kind", "hydraulic") != picture_of("lifter.kind", "solid")
