"""The pages of a job: what is drawn, what has to be said beside it, and the bytes of a file."""

from __future__ import annotations

import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.job.loading import load
from tallstack.cli.page.wording import number

from ...commands import BENCH, COORDINATES
from ...drawn import job_of, labels, order_of, page


def test_a_cylinder_without_crank_or_deck_says_why_it_is_not_drawn() -> None:
    job = load(COORDINATES, ())
    whole = pages.of_cylinder(job, "front")
    assert whole is not None
    assert not [one for one in labels(whole) if pages.UNDRAWN in one]
    bare = pages.of_cylinder(load(BENCH, ()), "front")
    assert bare is not None
    assert [one for one in labels(bare) if pages.UNDRAWN in one]


def test_without_a_crank_the_engine_is_drawn_not_to_scale() -> None:
    drawn = pages.of_engine(load(BENCH), 0.0)
    assert drawn is not None
    assert "not to scale" in drawn.description


def test_what_a_gears_coordinates_lack_is_named_and_the_rest_counted() -> None:
    order = order_of(job_of(BENCH), "front.intake")
    assert "are not entered" in pages.no_coordinates(order)
    lacks = tuple(f"front.intake.rocker.{one}" for one in "abcdefghijk")
    some = order._replace(train=order.train._replace(lacks={"coordinates": lacks}))
    said = pages.no_coordinates(some)
    named = [one.removeprefix("front.intake.") for one in lacks if one.removeprefix("front.intake.") in said]
    assert len(named) == pages.SHOWN_LACKS
    assert f"and {len(lacks) - len(named)} more" in said


def test_the_value_drawn_is_the_one_that_is_ordered_with_its_doubt() -> None:
    job = job_of(COORDINATES)
    order = order_of(job, "front.intake")
    assert order.required is not None
    assert order.budget is not None
    shown = pages.subject_of(job, order).required_value
    long, doubt = float(order.required.lengths[order.convention]), order.budget.expanded
    assert shown == (number(long, "mm", doubt), number(long, "in", doubt))


@pytest.mark.parametrize(
    ("kind", "begins"),
    [
        (".svg", b"<"),
        pytest.param(".png", b"\x89PNG\r\n", marks=pytest.mark.wide),
        pytest.param(".pdf", b"%PDF-", marks=pytest.mark.wide),
    ],
)
def test_a_drawing_as_the_bytes_of_a_file(kind: str, begins: bytes) -> None:
    written = pages.written(page("front.intake", path=BENCH), kind)
    assert written.startswith(begins)
