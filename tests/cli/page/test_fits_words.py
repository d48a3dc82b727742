"""Figures in words: the job's unit first."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
from tallstack.cli.job.loading import load
from tallstack.cli.page.fits_words import SET, half_asked, has_limit_untold, titles_of
from tallstack.cli.page.model import Page, Row, Sheet, Table
from tallstack.cli.page.pdf import pdf
from tallstack.cli.page.quantity import shown_as

from ...commands import EXAMPLES, screen


def test_a_job_in_inches_says_inches_first() -> None:
    job = load(EXAMPLES / "sheet_for_the_job_folder" / "job.toml")
    assert [shown_as(job._replace(units=one), 25.4, "mm", 0.1) for one in ("in", "mm")] == [
        "1.000 in (25.40 mm)",
        "25.40 mm (1.000 in)",
    ]


def test_a_limit_of_what_is_not_known_is_to_be_watched_and_ends_with_1(tmp_path: Path) -> None:
    """A temperature left out does not turn a lash that is SHORT when hot into nothing to look at."""
    source = (EXAMPLES / "in_line_with_lash_for_hot" / "job.toml").read_text(encoding="utf-8")
    path = tmp_path / "job.toml"
    without = "".join(line for line in source.splitlines(keepends=True) if "hot_pushrod" not in line)
    for text, status in ((without, 1), (without.replace("hot_lash = 0.20", ""), 0)):
        path.write_text(text, encoding="utf-8")
        ended = screen("overview", path)
        assert ended.status == status
        assert "NOT KNOWN: one exhaust and 2 more, cold to hot: needs running.hot_pushrod" in " ".join(
            ended.out.split()
        )


def test_a_limit_that_several_answers_share_asks_for_the_first_of_them_alone() -> None:
    """A preload's limit holds cold; that nobody entered temperatures is nothing that was asked."""
    job = load(EXAMPLES / "taller_twin_by_bench" / "job.toml", ["targets.preload_least=0.5 mm"])
    assert half_asked(job, job.fits.answers) == []
    assert not has_limit_untold(job, job.fits.answers)
    for target, title in (
        ("squish_least", "deck and squish"),
        ("coil_bind", "coil bind"),
        ("retainer", "retainers"),
    ):
        asked = load(EXAMPLES / "taller_twin_by_bench" / "job.toml", [f"targets.{target}=0.9 mm"])
        (told,) = half_asked(asked, asked.fits.answers)
        assert f", {title}: needs " in told
        assert has_limit_untold(asked, asked.fits.answers)


def test_on_paper_no_word_of_a_figure_is_broken() -> None:
    """Its column gives way no further than the one that says of what it is."""
    many = ", ".join(("left intake", "left exhaust", "right intake", "right exhaust"))
    row = Row(
        (
            "displacement of the cylinder",
            many,
            "541.3 cc",
            "33.03 cu in",
            "0.4 cc",
            "1.00 mm at least, yours",
            "SHORT",
        )
    )
    page = Page("fits", "FITS", (Table(SET, (row,)),))
    content = pdf(Sheet("", "mm", Page("first", "", ()), (page,), "FOOT"), "a4")
    printed = pypdf.PdfReader(io.BytesIO(content)).pages[1].extract_text().split()
    assert {"displacement", "cylinder", "exhaust,"} <= set(printed)


def test_a_title_with_a_comma_in_it_reads_as_no_two_things() -> None:
    lacks = ("SQUISH, COLD TO HOT", "STUDS", "SQUISH, COLD TO HOT", "COIL BIND")
    assert titles_of(lacks, 1) == '"squish, cold to hot" and 2 more'
    assert titles_of(lacks, 3) == '"squish, cold to hot", studs, coil bind'
