"""What comes closest, on one screen: of each valve, the two valves, and the least of what leaves more."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.page.closest_words import closest_blocks, every, worst
from tallstack.cli.page.text import lines
from tallstack.geometry.core.verdict import Verdict

from ...commands import EXAMPLES

CLOSE = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"
JOB = load(CLOSE).settled
FOUND = JOB.clearances


def test_every_clearance_is_shown_or_is_larger_than_the_one_of_its_kind_that_is() -> None:
    told = " ".join(" ".join(lines(closest_blocks("CLOSEST", "mm", FOUND))).split())
    whole = " ".join(" ".join(lines(closest_blocks("CLOSEST", "mm", FOUND, is_full=True))).split())
    for one in every(FOUND):
        name = f"{one.of.replace('.', ' ')}, {one.figure.title}"
        assert name in whole
        kind = [each for each in every(FOUND) if each.figure.title == one.figure.title]
        assert name in told or min(kind, key=worst) is not one or one.of.replace(".", " ") in told


def test_what_is_short_is_shown_and_comes_first() -> None:
    first = lines(closest_blocks("CLOSEST", "mm", FOUND, worst_first=True))[1]
    (short,) = (one for one in every(FOUND) if one.verdict is Verdict.SHORT)
    assert first.startswith(f"  {short.of}, {short.figure.title}")
    assert "SHORT" in first


def test_a_limit_that_nobody_set_is_marked_by_who_says_it() -> None:
    told = lines(closest_blocks("CLOSEST", "mm", FOUND, is_full=True))
    assert told[-1].startswith("  * common practice, set your own; ** common practice, from memory")
    assert any("1.02**" in line for line in told)
    assert any("2.03*" in line and "2.03**" not in line for line in told)
