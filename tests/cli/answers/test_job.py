"""A job as a program holds it: what it is asked in vain, what was tried in it."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tallstack as ts

from ...commands import DEMO
from ...job_texts import TWO
from ...test_library import GASKETS


@pytest.mark.parametrize(
    ("answer", "of", "said"),
    [
        ("overall", "", "overall: say of what: single.intake, single.exhaust"),
        ("nothing", "", "nothing: no such answer; there are centres, theoretical, overall"),
        (
            "squish",
            "single.intake",
            "squish: there is none of single.intake; did you mean single|it is of single",
        ),
    ],
)
def test_what_is_asked_for_in_vain_is_said(job: ts.Job, answer: str, of: str, said: str) -> None:
    with pytest.raises(LookupError, match=said):
        job.find(answer, of)


@pytest.mark.parametrize("given", [None, 3, b"x", ["overall"], len, np.array([1.0, 2.0])])
def test_what_is_no_text_is_said(job: ts.Job, given: Any) -> None:
    for name, asked in (
        ("answer", lambda: job.find(given)),
        ("of", lambda: job.find("overall", given)),
        ("of", lambda: job.draw(given)),
        ("group", lambda: job.answers(given)),
        ("path", lambda: ts.load(given)),
        ("path", lambda: job.draw().save(given)),
    ):
        with pytest.raises(TypeError, match=f"^{name}=.*: give "):
            asked()


@pytest.mark.parametrize("variations", [None, 3, [3], {"stack.cylinder", "x"}, b"x"])
def test_what_are_no_variations_is_said(variations: Any) -> None:
    with pytest.raises(TypeError, match="^variations="):
        ts.load(GASKETS, variations)


@pytest.mark.parametrize("path", ["\x00", "a\ud800.toml"])
def test_a_name_that_no_file_can_have_is_said(path: str) -> None:
    with pytest.raises(ts.JobError, match="no file can have such a name"):
        ts.load(path)


def test_what_was_tried_is_said(job: ts.Job) -> None:
    demo = ts.load(DEMO, "stack.cylinder=5.4 in")
    tried = demo.with_({"front.intake.lifter.preload": "0.05 in"})
    for shown in (str(tried), tried._repr_html_()):
        assert "TRIED, and not in the file: stack.cylinder=5.4 in" in shown
        assert (
            "TRIED, and not in the file: front.intake.lifter.preload=0.05 in; front exhaust and rear intake"
            in shown
        )
    assert "ASSUMED, because it was not entered" in tried._repr_html_()


def test_a_name_that_is_not_there_is_answered_with_those_that_are(job: ts.Job) -> None:
    from tallstack.geometry.fits.volume import squish

    with pytest.raises(KeyError, match="single.intak: no such valve gear; there are single.intake"):
        ts.build(job.mapping).train("single.intak")
    with pytest.raises(KeyError, match="singel: no such cylinder; there are single"):
        squish(job.mapping, "singel")
    with pytest.raises(
        LookupError, match=r"overall: there is none of single.intak; did you mean single.intake\?"
    ):
        job.find("overall", "single.intak")
    with pytest.raises(LookupError, match=r"overal: no such answer; did you mean overall\?"):
        job.find("overal")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (lambda job: job.with_("stack.cylinder=1"), "give a mapping of entries"),
        (lambda job: job.with_({"stack.cylinder": np.ones(2)}), "For many engines at once vary the mapping"),
        (lambda job: job.with_({"stack.cylinder": None}), "None is no value"),
        (lambda job: job.compare("job.toml"), "'job.toml' is no job; load it first"),
    ],
)
def test_what_is_no_value_or_no_job_is_said(job: ts.Job, wrong: Any, said: str) -> None:
    with pytest.raises(TypeError, match=said):
        wrong(job)


def test_a_job_is_shown_in_a_line_copied_and_pickled(job: ts.Job) -> None:
    tried = job.with_({"stack.head_gasket": 1.0})
    assert (
        repr(tried)
        == f"<Job 'Single, eleven head gaskets on the table' from {str(GASKETS)!r}, 2 valve gears>"
    )
    for again in (copy.deepcopy(tried), pickle.loads(pickle.dumps(tried))):
        assert again.find("squish").row() == tried.find("squish").row()
    assert len(repr(job.draw())) < 400


STOOD = """
[before]
same = ["lifter", "pushrod", "gaskets"]
stack.cylinder = 118.5
"""


def test_what_stood_before_is_a_job_too_and_compared_without_another(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(TWO.replace("stack = { cylinder = 118.5 }", 'on = "before"') + STOOD, encoding="utf-8")
    job = ts.load(path)
    assert [one.change for one in job.compare()] == pytest.approx([3.2, 3.2], abs=0.02)
    was = job.before
    assert was is not None
    assert was.mapping["stack.cylinder"] == 118.5
    assert pickle.loads(pickle.dumps(was)).mapping["stack.cylinder"] == 118.5
    varied = was.with_({"stack.cylinder": 117.5})
    assert varied.mapping["stack.cylinder"] == 117.5
    path.write_text(TWO, encoding="utf-8")
    with pytest.raises(ValueError, match="says nothing of what stood before"):
        ts.load(path).compare()
