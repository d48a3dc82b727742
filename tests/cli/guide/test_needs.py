"""What wanted answers lack: each of them belongs to something that can be wanted, and what is given is asked no more."""

from __future__ import annotations

import tomllib
from pathlib import Path

from tallstack.cli.guide.needs import ANSWERS, HANDS, Known, own_tables
from tallstack.cli.job.editing import Edited
from tallstack.cli.job.faults import Loc
from tallstack.cli.job.loading import understood
from tallstack.geometry.fits.groups import GROUPS

from ...commands import EXAMPLES

TEXT = (EXAMPLES / "taller_twin_by_bench" / "job.toml").read_text(encoding="utf-8")


def needs(text: str, *wanted: str, known: Known | None = None) -> dict[Loc, tuple[str, ...]]:
    job = understood(Path("job.toml"), text)
    return {one.loc: one.answers for one in (known or Known()).needs(job, tomllib.loads(text), wanted)}


def test_every_answer_belongs_to_one_thing_that_can_be_wanted() -> None:
    every = [group.title for groups in ANSWERS.values() for group in groups]
    assert sorted(every) == sorted(group.title for group in GROUPS)


def test_what_is_given_is_asked_no_more_and_says_which_answers_waited() -> None:
    before = needs(TEXT, "compression")
    assert before["chamber", "volume"] == ("COMPRESSION", "TRAPPED COMPRESSION")
    edited = Edited(TEXT)
    edited.put(("chamber", "volume"), "60 cc")
    edited.put(("crank", "stroke"), "100 mm")
    after = needs(edited.text, "compression")
    assert {*before} - {*after} == {("chamber", "volume"), ("crank", "stroke")}
    assert not {*after} - {*before}


def test_an_answer_that_lacked_nothing_is_not_worked_out_again_until_something_goes() -> None:
    text = (EXAMPLES / "sheet_for_the_job_folder" / "job.toml").read_text(encoding="utf-8")
    known = Known()
    needs(text, "springs", known=known)
    whole = dict(known.whole)
    assert whole
    gone = text.replace("[crank]", "[crank]\n# a remark", 1)
    needs(gone, "springs", known=known)
    assert known.whole == whole
    known.forget()
    assert not known.whole


def test_a_copy_lacks_what_its_original_lacks() -> None:
    assert [one.get("like") for one in tomllib.loads(TEXT)["train"]] == [None, *["front.intake"] * 3]
    assert {loc[1] for loc in needs(TEXT, "springs") if loc[0] == "train"} == {0}
    apart = TEXT.replace('like = "front.intake"', "", 1)
    assert {loc[1] for loc in needs(apart, "springs") if loc[0] == "train"} == {0, 1}


def test_needs_come_in_the_order_of_the_hands() -> None:
    found = [
        next(str(one) for one in loc if one in HANDS)
        for loc in needs(TEXT, "compression", "hot")
        if loc[0] != "train"
    ]
    places = [HANDS.index(one) for one in found]
    assert places == sorted(places)


def test_a_deck_read_at_each_cylinder_makes_no_stack_of_its_own() -> None:
    assert own_tables({"stack": {"measured_deck": {"below": "1"}}, "piston": {"mass": ""}}) == ("piston",)
