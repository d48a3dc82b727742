"""`tallstack swap`: what a change does, what it leaves short, and whom else it moves."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ...clearance_jobs import by_coordinates
from ...commands import BENCH, COORDINATES, tallstack


def test_a_job_swapped_with_itself_changes_nothing() -> None:
    document = tallstack("swap", COORDINATES, "--from", COORDINATES, "--json").json
    assert all(row["change_mm"] == 0 and row["parts"] == [] for row in document["trains"])


def test_the_naive_sum_is_called_below_measurement_when_it_is(tmp_path: Path) -> None:
    before = tmp_path / "before.toml"
    text = BENCH.read_text(encoding="utf-8")
    before.write_text(text.replace('cylinder = "5.563', 'cylinder = "5.362'), encoding="utf-8")
    out = " ".join(tallstack("swap", BENCH, "--from", before).out.split())
    assert (
        "adding the cylinder's whole 0.201 in (5.11 mm) for it would be +0.1 thou off: below what can be measured"
        in out
    )
    assert out.index("which convention") < out.index("adding the cylinder's whole")


def test_where_the_rocker_bears_is_told_in_both_units() -> None:
    out = " ".join(tallstack("swap", COORDINATES, "--from", COORDINATES).out.split())
    assert "contact off the stem tip's centre -0.23 mm (-0.009 in) before, -0.23 mm (-0.009 in) after" in out


FITTED = """
format = 1
title = "a single"
units = "mm"
[crank]
stroke = 92.0
conrod_length = 168.0
[piston]
compression_height = 32.0
[stack]
case_deck = 126.0
bore = 88.0
base_gasket = 0.4
cylinder = 120.2
head_gasket = 1.1
[[cylinder]]
name = "one"
[[train]]
cylinder = "one"
port = "intake"
lifter = { kind = "hydraulic", preload = 1.0 }
measured_pushrod = { length = 250.0, as = "centres", plunger = "top", lean = 2.0, stack = { cylinder = 120.2 } }
"""


def test_a_fit_that_the_change_leaves_short_is_marked_and_counts(tmp_path: Path) -> None:
    before, after = tmp_path / "before.toml", tmp_path / "after.toml"
    before.write_text(FITTED, encoding="utf-8")
    after.write_text(
        FITTED.replace("compression_height = 32.0", "compression_height = 34.5"), encoding="utf-8"
    )
    ended = tallstack("swap", after, "--from", before)
    assert ended.status == 1
    assert (
        "squish at rest: 1.70 mm (0.067 in) before, -0.80 mm (-0.031 in) after, SHORT of its limit, "
        "the crown stands past the head's gasket face" in " ".join(ended.out.split())
    )
    rows = {
        row["figure"]: row["verdict"]
        for row in tallstack("swap", after, "--from", before, "--json").json["rest"]
    }
    assert rows["squish"] == "short"
    assert rows["deck"] is None
    assert tallstack("swap", before, "--from", after).status == 0
    own = tallstack("swap", before, "--from", after, "--with", "targets.squish_least=1.9")
    assert "1.70 mm (0.067 in) after, SHORT of its limit" in " ".join(own.out.split())
    assert own.status == 1


@pytest.mark.wide
def test_a_clearance_that_the_change_leaves_short_counts_too(tmp_path: Path) -> None:
    before = by_coordinates(tmp_path)
    after = tmp_path / "after.toml"
    text = before.read_text(encoding="utf-8")
    after.write_text(text.replace('"34.0 +/- 0.05"', '"36.0 +/- 0.05"'), encoding="utf-8")
    ended = tallstack("swap", after, "--from", before)
    assert "SHORT of its limit" in " ".join(ended.out.partition("THE REST")[0].split())
    assert ended.status == 1
    met = ("--with", "targets.drop_exhaust=1.5")
    assert tallstack("swap", before, "--from", before, *met).status == 0


@pytest.mark.parametrize("command", ["swap", "fits"])
def test_jobs_in_different_units_are_looked_at_again(tmp_path: Path, command: str) -> None:
    text = COORDINATES.read_text(encoding="utf-8")
    wrong = tmp_path / "before.toml"
    assert text.count('\ncylinder = "141.30 +/- 0.02"') == 1
    wrong.write_text(text.replace('cylinder = "141.30 +/- 0.02"', 'cylinder = "60 mm"'), encoding="utf-8")
    for before, unlike in ((wrong, True), (COORDINATES, False)):
        document = tallstack(command, COORDINATES, "--from", before, "--json").json
        told = [one for one in document["warnings"] if "in the job before" in one]
        assert any("stack.cylinder" in one for one in told) is unlike


def test_what_is_tried_says_whom_it_moves_besides() -> None:
    out = " ".join(
        tallstack("pushrods", COORDINATES, "--with", "front.intake.rocker.ratio=1.628").out.split()
    )
    copies = re.search(r"ratio=1.628; (.*) with it, as `like` says", out)
    assert copies is not None
    assert "rear intake" in copies[1]
    assert "with it" not in tallstack("pushrods", COORDINATES, "--with", "stack.cylinder=5.6 in").out


def test_cylinders_that_one_job_has_alone_are_said_to_be_compared_with_nothing(tmp_path: Path) -> None:
    before, after = tmp_path / "before.toml", tmp_path / "after.toml"
    before.write_text(FITTED, encoding="utf-8")
    after.write_text(FITTED.replace('"one"', '"uno"'), encoding="utf-8")
    ended = tallstack("swap", after, "--from", before)
    assert ended.status == 1
    told = " ".join(ended.out.partition("PUSHROD,")[0].split())
    assert f"NOT COMPARED: uno: no such cylinder in {before}, which has one;" in told
    assert f"NOT COMPARED: one: no such cylinder in {after}, which has uno;" in told
    document = tallstack("swap", after, "--from", before, "--json").json
    assert document["rest"] == []
    assert any(one.startswith("NOT COMPARED: uno") for one in document["notes"])
    more = tmp_path / "more.toml"
    more.write_text(
        FITTED.replace('name = "one"', 'name = "one"\n[[cylinder]]\nname = "two"'), encoding="utf-8"
    )
    both = tallstack("swap", more, "--from", after.with_name("before.toml"))
    assert "NOT COMPARED: two" in both.out
    assert tallstack("sheet", after, "--from", before, "-o", tmp_path / "sheet.pdf").status in (0, 1)


def test_what_cannot_be_put_together_after_a_swap_stops_it_as_in_fits(tmp_path: Path) -> None:
    """Longer spigots alone: no pushrod and no clearance of a valve says it."""
    from ...commands import EXAMPLES

    text = (EXAMPLES / "which_cylinder_first" / "job.toml").read_text(encoding="utf-8")
    after = tmp_path / "after.toml"
    longer = re.sub(r'(spigot = \{ length = ")[0-9.]+', r"\g<1>60.0", text)
    assert longer != text
    after.write_text(longer, encoding="utf-8")
    before = tmp_path / "before.toml"
    before.write_text(text, encoding="utf-8")
    said = " ".join(tallstack("swap", after, "--from", before).out.split())
    assert "THE SPIGOTS MEET" in said
    assert "CANNOT BE ASSEMBLED" in said


BURETTE = """
[chamber]
volume = "60 cc"
gasket_bore = 89.0
"""
BEFORE = """
[before]
same = ["lifter", "case", "cylinder", "crank", "gaskets", "head", "stack.cylinder"]
piston = { compression_height = 31.0 }
"""


def ratio_of(path: Path, *more: str | Path) -> dict[str, object]:
    rows = tallstack("swap", path, *more, "--json").json["rest"]
    (row,) = (one for one in rows if one["figure"] == "compression_ratio")
    return dict(row)


def test_a_ratio_is_not_known_on_the_side_that_has_no_crown(tmp_path: Path) -> None:
    """A crown that was entered for one side alone is not flat on the other."""
    job, flat = tmp_path / "job.toml", FITTED + BURETTE
    job.write_text(flat + BEFORE, encoding="utf-8")
    row = ratio_of(job)
    assert row["before"] is not None  # a crown entered for neither counts alike on both
    assert row["why_not"] is None
    job.write_text(
        (flat + BEFORE).replace("height = 32.0", 'height = 32.0\ncrown_volume = "3 cc"'), encoding="utf-8"
    )
    row = ratio_of(job)
    assert row["before"] is None
    assert row["after"] is not None
    assert row["why_not"] == "piston.crown_volume before is not entered"
    out = " ".join(tallstack("swap", job).out.split())
    assert "compression ratio: NOT KNOWN before, " in out
    assert "NOT COMPARED: compression ratio (one): piston.crown_volume before is not entered" in out
    other = tmp_path / "other.toml"
    other.write_text(flat, encoding="utf-8")
    assert ratio_of(other, "--from", job)["after"] is None


def test_a_chamber_of_after_the_cut_is_not_that_of_before(tmp_path: Path) -> None:
    """One volume for both sides of a cut head is right for one of them at most; the deck does not rest on it."""
    job = tmp_path / "job.toml"
    text = (FITTED + BURETTE + BEFORE).replace(
        "head_gasket = 1.1", "head_gasket = 1.1\ncase_cut = 0\nhead_cut = 0.8"
    )
    job.write_text(text, encoding="utf-8")
    row = ratio_of(job)
    assert row["before"] is None
    assert row["after"] is not None
    assert "counts as read after the head was cut" in str(row["why_not"])
    decks = [
        one for one in tallstack("swap", job, "--json").json["rest"] if one["figure"] in ("deck", "squish")
    ]
    assert decks
    assert all(one["before_mm"] is not None for one in decks)
    own = (
        text.replace('"head", ', '"rocker", "valve", ')
        + '[before.chamber]\nvolume = "65 cc"\ngasket_bore = 89.0\n'
    )
    job.write_text(own, encoding="utf-8")
    assert ratio_of(job)["before"] is not None


def test_a_chamber_copied_over_a_cut_from_another_job_is_not_compared_either(tmp_path: Path) -> None:
    before, after = tmp_path / "before.toml", tmp_path / "after.toml"
    before.write_text(FITTED + BURETTE, encoding="utf-8")
    cut = (FITTED + BURETTE).replace("head_gasket = 1.1", "head_gasket = 1.1\nhead_cut = 0.8")
    after.write_text(cut, encoding="utf-8")
    assert ratio_of(after, "--from", before)["before"] is None
    out = " ".join(tallstack("swap", after, "--from", before).out.split())
    assert f"enter what it held before in {before}" in out
    after.write_text(cut.replace("60 cc", "56 cc"), encoding="utf-8")
    assert ratio_of(after, "--from", before)["why_not"] is None
