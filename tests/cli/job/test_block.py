"""A block said in its own words is the stack that it stands for.

Second method: the same engine as a case with a cylinder on it and no gasket between, whose points count from the case deck.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.commands import clearance, fits, pushrods
from tallstack.cli.job.block import is_block
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import understood

from ...clearance_jobs import by_coordinates
from ...commands import tallstack
from ...job_texts import TWO, changed, faults_of, six_in_line

HIGH = 125.2  # mm, the cylinder of the engine by coordinates


def spelled(text: str, path: Path) -> Job:
    return understood(path, text)


def without_cylinder(text: str) -> str:
    """Return the engine by coordinates as a block: its deck one figure, its lifters' seats counted from there."""
    text = changed(
        text,
        ('case_deck = "131.9 +/- 0.05"\n', f'block_deck = "{131.9 + HIGH} +/- 0.05"\n'),
        ('base_gasket = "0.45 +/- 0.03"\n', ""),
        ('cylinder = "125.2 +/- 0.02"\n', ""),
    )
    for high in (57.0, 55.5):
        assert f'"{high:.1f} +/- 0.3", "-14.0 +/- 0.3"]' in text
    return text.replace('"-14.0 +/- 0.3"]', f'"{-14.0 - HIGH:.1f} +/- 0.3"]')


def numbers(document: object, at: str = "") -> dict[str, float]:
    """Return every number of a document by its place, but for what counts how sure it is."""
    if isinstance(document, dict):
        kept = [
            (key, one)
            for key, one in document.items()
            if key not in ("assumed", "warnings", "budget", "moved_by")
        ]
        return {where: one for key, each in kept for where, one in numbers(each, f"{at}.{key}").items()}
    if isinstance(document, list):
        return {
            where: one
            for key, each in enumerate(document)
            for where, one in numbers(each, f"{at}.{key}").items()
        }
    return (
        {at: float(document)} if isinstance(document, (int, float)) and not isinstance(document, bool) else {}
    )


@pytest.mark.parametrize("command", [pushrods, pytest.param(clearance, marks=pytest.mark.wide), fits])
def test_a_block_and_a_cylinder_without_a_gasket_give_the_same_answers(
    command: object, tmp_path: Path
) -> None:
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    apart = changed(
        text, ('base_gasket = "0.45 +/- 0.03"', 'base_gasket = "none"'), ('"125.2 +/- 0.02"', "125.2")
    )
    jobs = [spelled(apart, tmp_path / "a.toml"), spelled(without_cylinder(text), tmp_path / "b.toml")]
    assert [is_block(job) for job in jobs] == [False, True]
    answers = [numbers(command.answer(job).document) for job in jobs]  # type: ignore[attr-defined]
    same = {
        where for where in answers[0] if not any(one in where for one in ("doubt", "saves", "remedies"))
    }  # a gasket mends one alone
    assert len(same) > 5
    for where in same:
        assert answers[1][where] == pytest.approx(answers[0][where], abs=1e-6), where


def test_its_deck_is_one_figure_and_no_gasket_is_an_answer() -> None:
    text = changed(
        TWO,
        ("cylinder = 121.7\nbase_gasket = 0.4\n", 'block_deck = "251.2 +/- 0.05"\n'),
        ("{ cylinder = 118.5 }", "{ head_gasket = 1.0 }"),
        ("{ cylinder = 118.5 }", "{ head_gasket = 1.0 }"),
    )
    job = understood(Path("job.toml"), text)
    assert job.entries["stack.case_deck"].value == 251.2
    assert (job.entries["stack.cylinder"].value, job.entries["stack.cylinder"].typed) == (0.0, "block")
    assert (job.entries["stack.base_gasket"].value, job.entries["stack.base_gasket"].typed) == (0.0, "none")
    assert job.doubts["stack.base_gasket"].half_width == 0.0
    assert not any(one.entry == "stack.base_gasket" for one in job.assumed)
    tried = understood(Path("job.toml"), text, ["stack.block_deck=250.9 +/- 0.1"])
    assert tried.entries["stack.case_deck"].value == 250.9
    absent = understood(Path("job.toml"), TWO.replace("base_gasket = 0.4\n", ""))
    assert "stack.base_gasket" not in absent.entries  # nothing entered is not the same as none
    assert any("base_gasket" in one.entry for one in absent.assumed)


def test_one_reading_of_a_deck_counts_for_a_bank_and_one_of_each_by_itself(tmp_path: Path) -> None:
    text = six_in_line(3)
    job = understood(tmp_path / "job.toml", text)
    decks = {name: group for name, group in job.quantities.items() if name.endswith("measured_deck.below")}
    assert len(decks) == 3
    one = "\n".join(line for line in text.splitlines() if "measured_deck" not in line)
    one = one.replace("[stack]", "[stack]\nmeasured_deck.below = '0.45 +/- 0.02'", 1)
    bank = understood(tmp_path / "bank.toml", one)
    assert [name for name in bank.quantities if name.endswith("measured_deck.below")] == [
        "stack.measured_deck.below"
    ]
    found = fits.answer(bank).document["cylinders"]
    assert len({row["deck_mm"] for row in found}) == 1


def test_a_decked_block_brings_the_head_down_by_what_was_cut(tmp_path: Path) -> None:
    text = six_in_line(1)
    lengths = []
    for cut in ("0.20 +/- 0.02", "0.50 +/- 0.02"):
        job = understood(
            tmp_path / "job.toml", text.replace('case_cut = "0.20 +/- 0.02"', f'case_cut = "{cut}"')
        )
        lengths.append(pushrods.answer(job, False, None).document["pushrods"][0]["centres_mm"])
    assert lengths[0] - lengths[1] == pytest.approx(0.3, abs=0.002)


def test_cylinders_that_fire_in_pairs_are_set_two_at_one_top_centre(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(six_in_line(), encoding="utf-8")
    out = " ".join(tallstack("pushrods", path).out.split())
    assert "from one turn on 120 degrees to five; from five turn on 120 degrees to three" in out
    assert "from four turn on 120 degrees to one" in out
    wrong = six_in_line().replace("fires_at = 360", "fires_at = 300")
    assert any("fires_at" in place for place in faults_of(wrong))


@pytest.mark.parametrize(
    ("beside", "place", "told"),
    [
        ("case_deck = 130.0", "stack.case_deck", "stands beside block_deck"),
        ("cylinder = 121.7", "stack.cylinder", 'write cylinder = "block"'),
        ("base_gasket = 0.4", "stack.base_gasket", 'write base_gasket = "none"'),
    ],
)
def test_a_block_has_no_cylinder_case_or_base_gasket_of_its_own(beside: str, place: str, told: str) -> None:
    text = TWO.replace("cylinder = 121.7\nbase_gasket = 0.4\n", f"block_deck = 251.2\n{beside}\n")
    text = text.replace("stack = { cylinder = 118.5 }", "")
    found = faults_of(text)
    assert told in found[place]


def test_the_words_agree_with_the_figures() -> None:
    text = TWO.replace(
        "cylinder = 121.7\nbase_gasket = 0.4\n",
        'block_deck = 251.2\ncylinder = "block"\nbase_gasket = "none"\n',
    )
    assert faults_of(text.replace("stack = { cylinder = 118.5 }", "")) == {}


def test_a_block_named_as_the_same_by_its_own_word_is_the_same_by_any() -> None:
    """`block_deck` stands for a case deck with neither cylinder nor base gasket upon it, then as now."""
    text = changed(
        TWO,
        ("cylinder = 121.7\nbase_gasket = 0.4\n", 'block_deck = "251.2 +/- 0.05"\n'),
        ("{ cylinder = 118.5 }", "{ head_gasket = 1.0 }"),
        ("{ cylinder = 118.5 }", "{ head_gasket = 1.0 }"),
    )
    for same in ('["stack.block_deck"]', '["stack.case_deck", "stack.cylinder", "stack.base_gasket"]'):
        mapping = understood(Path("job.toml"), f"{text}[before]\nsame = {same}\n").mapping
        for entry in ("case_deck", "cylinder", "base_gasket"):
            assert mapping[f"before.stack.{entry}"] == mapping[f"stack.{entry}"]
