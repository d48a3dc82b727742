"""What is still to be measured: in which order, with what, and which of it is a wish."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from tallstack.cli.guide import measuring
from tallstack.cli.guide.blank import blank_job
from tallstack.cli.guide.measuring import CUT, to_measure
from tallstack.cli.job.loading import load, understood
from tallstack.cli.page.wording import DECIDED

from ...cli.job.entries.test_catalogue import declared
from ...commands import BENCH, tallstack

ANSWERS = ("pushrods", "clearance", "fits")


def test_no_wish_is_listed_as_a_reading(tmp_path: Path) -> None:
    """Blank, lacking or with a ±: a wish is decided. What names the job is neither."""
    wishes = {loc for loc, kind in declared() if kind.wish}
    assert {
        ("targets", "drop_intake"),
        ("train", 0, "lifter", "preload"),
        ("train", 0, "lifter", "lash_at"),
    } <= wishes
    limits = "".join(f'{loc[1]} = ""\n' for loc in sorted(wishes, key=str) if loc[0] == "targets")
    text = blank_job("in").replace('preload = ""', 'preload = "0.040 +/- 0.020 in"', 1)
    text = f"{text}\n[targets]\n{limits}"
    groups = to_measure(understood(tmp_path / "job.toml", text), ANSWERS)
    readings = {one.entry for group in groups if group.title != DECIDED for one in group.asked}
    decided = {one.entry for group in groups if group.title == DECIDED for one in group.asked}
    assert {"targets.drop_intake", "front.exhaust.lifter.preload"} <= decided
    assert not {one.partition(".")[2] for one in decided} & {one.partition(".")[2] for one in readings}
    assert not any(
        one.startswith("targets.") or one.endswith((".preload", ".lash", "title")) for one in readings
    )
    assert "stack.cylinder" in readings


def test_what_the_fits_lack_has_words_a_tool_and_its_cylinder() -> None:
    rows = {one.entry: one for group in to_measure(load(BENCH), ANSWERS) for one in group.asked}
    assert rows["rear.spigot.length"].letter == "CD"
    assert rows["rear.spigot.length"].tool == "calipers or depth gauge"
    assert "spigot.length" not in rows
    assert not [one.entry for one in rows.values() if not one.words]
    assert rows["front.intake.pushrod.material"].choices == rows["materials.pushrod"].choices


def test_what_is_chosen_is_not_asked_with_a_doubt() -> None:
    rows = {one.entry: one for group in to_measure(load(BENCH), ANSWERS) for one in group.asked}
    assert not rows["lobe.intake.card.duration.at"].doubt
    assert rows["lobe.intake.card.duration.degrees"].doubt
    assert rows["crank.conrod_modulus"].doubt  # looked up, and as doubtful as the maker's figure
    assert rows["running.speed"].wish
    text = tallstack("measure", BENCH, "--for", "fits").out
    assert text.index(DECIDED) < text.index("running speed")
    lines = tallstack("measure", "--for", "clearance").out.splitlines()
    assert [one.endswith("__ +/- ________") for one in lines if "card seat" in one] == [False, True] * 2


def solid(text: str) -> str:
    return text.replace('kind = ""', 'kind = "solid"')


def test_lash_or_preload_is_to_be_decided_by_the_lifters_kind(tmp_path: Path) -> None:
    blank = blank_job("mm")
    for text, wish in ((blank, "preload"), (solid(blank), "lash")):
        groups = to_measure(understood(tmp_path / "job.toml", text), ANSWERS)
        wishes = {one.entry for group in groups if group.title == DECIDED for one in group.asked}
        assert {one for one in wishes if "lifter" in one} == {
            f"front.{port}.lifter.{wish}" for port in ("intake", "exhaust")
        }


@pytest.mark.parametrize("answers", [("pushrods",), ("clearance",), ("fits",), ANSWERS])
def test_what_was_cut_stands_under_one_heading(answers: tuple[str, ...], tmp_path: Path) -> None:
    job = understood(tmp_path / "job.toml", blank_job("mm"))
    where = {one.entry: group.title for group in to_measure(job, answers) for one in group.asked}
    assert {where["stack.case_cut"], where["stack.head_cut"]} == {CUT}


def test_what_narrows_a_card_is_asked_under_one_heading(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a limit that lies between a lobe's ends, and by what it would save: two reasons, and two lobes.

    In place of `_narrowing`, so that each reason has a lobe of its own.
    """
    text = (
        'format = 1\nunits = "in"\n[lobe.intake]\ncentreline = 106\n'
        "card = { peak = 0.3, duration = { at = 0.05, degrees = 222 } }\n[lobe.exhaust]\ncentreline = 110\n"
        "card = { peak = 0.3, duration = { at = 0.05, degrees = 226 } }\n"
    )
    saving = SimpleNamespace(name="lobe.exhaust.card.top_centre", saves=0.5)
    sure = SimpleNamespace(answers=(), next=(saving,))
    monkeypatch.setattr(measuring, "_narrowing", lambda *_: ["lobe.intake.card.top_centre"])
    monkeypatch.setattr(measuring.risk_command, "worked_out", lambda *_, **__: (sure,))
    groups = measuring.to_measure(understood(Path("job.toml"), text), ANSWERS[:2])
    (narrows,) = [one for one in groups if one.title == measuring.NARROWS]
    assert [one.entry for one in narrows.asked] == [
        "lobe.intake.card.top_centre",
        "lobe.exhaust.card.top_centre",
    ]
