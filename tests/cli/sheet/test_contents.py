"""What stands on each page of a sheet, and in which order."""

from __future__ import annotations

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Part, Table, Tag, flat
from tallstack.cli.sheet.contents import letter_of, sheet
from tallstack.cli.sheet.work import Work, work

from ...commands import COORDINATES


@pytest.fixture(scope="module")
def found() -> Work:
    return work(load(COORDINATES), None, 100)


def test_every_entry_stands_as_typed_with_its_letter(found: Work) -> None:
    page = next(one for one in sheet(found, "foot").rest if one.name == "entries")
    (table,) = (one for one in flat(page.blocks) if isinstance(one, Table))
    typed = {row.cells[2] for row in table.rows}  # type: ignore[union-attr]
    assert {one.typed for one in found.entered.entries.values() if not one.is_taken} == typed
    assert letter_of("stack.cylinder", found)


def test_head_cautions_and_assumptions_are_said_once_for_all_answers(found: Work) -> None:
    pages = sheet(found, "foot").rest
    kept = [block for page in pages for block in page.blocks if isinstance(block, Part)]
    assert not [one for one in kept if one.tag in (Tag.HEAD, Tag.CAUTION, Tag.ASSUMED)]
    assert [page.name for page in pages][-2:] == ["entries", "assumed"]
