"""Which engine a job is compared with, and what is said where both are there or something of it is lacking."""

from __future__ import annotations

from pathlib import Path

from tallstack.cli.job.earlier import earlier, lacking, which
from tallstack.cli.job.loading import understood

from ...commands import tallstack
from ...job_texts import TWO

STOOD = """
[before]
same = ["lifter", "pushrod", "gaskets"]
stack.cylinder = 118.5
"""
ON = TWO.replace("stack = { cylinder = 118.5 }", 'on = "before"')


def test_its_own_words_go_unless_another_job_is_named() -> None:
    job, other = understood(Path("job.toml"), ON + STOOD), understood(Path("old.toml"), TWO)
    own = earlier(job, None)
    assert own is not None
    assert own.named == "[before] of job.toml"
    assert earlier(job, other) is other
    assert earlier(other, None) is None


def test_both_given_say_which_is_used_and_in_what_they_disagree() -> None:
    job = understood(Path("job.toml"), ON + STOOD)
    other = understood(Path("old.toml"), TWO.replace("cylinder = 121.7", "cylinder = 119.0"))
    used, apart = which(job, other)
    assert used == "compared with old.toml, as --from says; [before] of job.toml is not used"
    assert apart == "LOOK AGAIN: [before] and old.toml disagree in cylinder"
    assert which(job, None) == which(other, job) == []


def test_what_is_lacking_is_told_by_its_part_with_the_tick_that_says_it() -> None:
    job = understood(Path("job.toml"), ON + STOOD)
    told = lacking(("before.crank.stroke", "before.crank.conrod_length"), job)
    assert (
        told
        == 'the crank before is not said: enter it under [before], or same = ["crank"] if it is the same part'
    )
    told = lacking(("front.intake.valve.face", "stack.bore"), job)
    assert told.startswith("the valve, bore before are not said")
    assert 'same = ["valve", "stack.bore"]' in told


def test_the_commands_use_it_by_themselves_and_say_so(tmp_path: Path) -> None:
    path, old = tmp_path / "job.toml", tmp_path / "old.toml"
    path.write_text(ON + STOOD, encoding="utf-8")
    old.write_text(TWO.replace("cylinder = 121.7", "cylinder = 119.0"), encoding="utf-8")
    alone = tallstack("swap", path)
    assert "in place of [before] of" in alone.out
    assert alone.status == 0
    both = " ".join(tallstack("swap", path, "--from", old).out.split())
    assert "as --from says; [before] of" in both
    assert "disagree in cylinder" in both
    refused = tallstack("swap", old)
    assert refused.status == 2
    assert "nothing is said of what stood before; enter it under [before]" in refused.err
    out = tmp_path / "sheet.html"
    assert tallstack("sheet", path, "-o", out, "--date", "2024-12-31").status in (0, 1)
    assert "What changed" in out.read_text(encoding="utf-8")


def test_ports_move_from_what_stood_before(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    face = "intake_face = { centre = [40, 0, 30], normal = [1, 0, 0] }\n"
    text = ON.replace('name = "front"\n', f'name = "front"\n{face}')
    path.write_text(text + STOOD.replace('"gaskets"', '"gaskets", "head", "case"'), encoding="utf-8")
    (row,) = tallstack("fits", path, "--json").json["faces"]
    assert row["moved_mm"][2] > 2.8
    text = text.replace("[stack]", "[crank]\nstroke = 90.0\nconrod_length = 170.0\n[stack]", 1)
    path.write_text(text + STOOD, encoding="utf-8")
    assert (
        "before.front.intake_face.centre" in tallstack("fits", path, "--full").out
    )  # the head before is not said
