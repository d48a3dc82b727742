"""What was tried with --with and changes nothing says so, and why; every entry of the catalogue is taken or refused clearly."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tallstack.cli.commands.trying import trying
from tallstack.cli.job.entries.fields import SHOWN_UNIT, Choice, FileName, Kind, Parts, Quantity, YesNo
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.entries.tables import Either, Named, Part, Rows, Table
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import understood
from tallstack.cli.job.reading.values import Dimension

from ...commands import BENCH, COORDINATES, DEMO, screen, tallstack

UNCLEAR = ("no such entry", "text where")  # of an entry that is there, its value legal


SMALL = """format = 1
units = "in"
[stack]
cylinder = "5.342 in"
[[cylinder]]
name = "front"
[[train]]
cylinder = "front"
port = "intake"
"""  # beside the demo's tables


def entries(part: Part, path: str = "") -> Iterator[tuple[str, Kind]]:
    """Yield every entry of the catalogue by its path, of the demo's first cylinder and intake."""
    if isinstance(part, Kind):
        yield path, part
    elif isinstance(part, Table):
        for name, inner in part.parts.items():
            yield from entries(inner, f"{path}.{name}" if path else name)
    elif isinstance(part, Rows):
        owner = {"cylinder": "front", "train": "front.intake"}.get(path)
        yield from entries(part.table, owner or f"{path}.0")
    elif isinstance(part, Named):
        yield from entries(part.part, f"{path}.intake")
    elif isinstance(part, Either):
        yield from entries(part.table, path)
        yield from entries(part.other, path)


def legal(kind: Kind) -> str:
    """Return a value that an entry of a kind can take by itself."""
    if isinstance(kind, Choice):
        return f'"{kind.options[0]}"'
    if isinstance(kind, YesNo):
        return "true"
    if isinstance(kind, FileName):
        return '"intake.csv"'
    if isinstance(kind, Parts):
        return kind.example
    if isinstance(kind, Quantity):
        low, high = kind.usual or (1.0, 2.0)
        bare = kind.dimension in (Dimension.LENGTH, Dimension.ANGLE, Dimension.NUMBER)
        unit = "mm" if kind.dimension is Dimension.LENGTH else "" if bare else SHOWN_UNIT[kind.dimension]
        return f'"{round((low + high) / 2, 3) or 0.5} {unit.strip()}"'.replace(' "', '"')
    return '"front.intake"'


def test_with_takes_or_refuses_in_words_every_entry_of_the_catalogue() -> None:
    taken, refused = 0, {}
    for path, kind in entries(JOB):
        try:
            job = understood(DEMO, SMALL, (f"{path}={legal(kind)}",))
        except InputFaultsError as error:
            refused[path] = error.report()
            continue
        origins = [one.origin for at, one in job.entries.items() if f"{at}.".startswith(f"{path}.")]
        assert any(one.startswith("--with") for one in origins), path
        taken += 1
    assert taken > 300
    for path, told in refused.items():
        asks_for_rows = path.startswith("reading.0.") and "no such entry of a reading in the file" in told
        assert asks_for_rows or not any(one in told for one in UNCLEAR), told
        assert len(told.splitlines()[0]) > 40


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("units=mm", "change units in the file"),
        ("front.name=rear", "change name in the file"),
        ("front.intake.like=rear.intake", "change like in the file"),
        ('stack.cylinder={ read = "5.3 in", by = "mic A" }', 'by = "mic A": no such instrument'),
        ("front.intake.measured_pushrod.lean=[1,2,3]", "write for example [1.0, -1.5]"),
    ],
)
def test_what_is_not_tried_says_why(typed: str, told: str) -> None:
    assert told in screen("pushrods", DEMO, "--with", typed).err


def idle(*words: str | Path) -> list[str | None]:
    return [one["changes_nothing"] for one in tallstack(*words, "--json").json["tried"]]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("pushrods", BENCH, "--with", "stack.cylinder=5.0 in"), None),
        (("pushrods", BENCH, "--with", "front.intake.lifter.kind=hydraulic"), "the file says so already"),
        (("pushrods", BENCH, "--with", "crank.conrod_area=300 mm2"), "rests on it yet"),
    ],
)
def test_a_trial_that_changes_nothing_says_so_and_why(words: tuple[str, ...], why: str | None) -> None:
    (found,) = idle(*words)
    assert (found is None) if why is None else (found is not None and why in found), found


def test_where_it_counts_is_said() -> None:
    both = (
        "--with",
        "crank.stroke=4 in",
        "--with",
        "stack.bore=3.5 in",
        "--with",
        "crank.conrod_length=7 in",
    )
    assert all("it counts in `tallstack fits`" in str(one) for one in idle("pushrods", BENCH, *both))
    assert idle("fits", BENCH, *both) == [None, None, None]


def test_what_stands_over_an_entry_is_named() -> None:
    own = [part for name in ("front", "rear") for part in ("--with", f"{name}.stack.cylinder=5.0 in")]
    *first, last = idle("pushrods", BENCH, *own, "--with", "stack.cylinder=5.4 in")
    assert first == [None, None]
    assert last == "front.stack.cylinder, rear.stack.cylinder stand over it"
    assert idle("pushrods", BENCH, "--with", "stack.cylinder=5.4 in") == [None]


def test_another_of_the_same_entry_behind_it_is_told() -> None:
    first, last = idle(
        "pushrods", BENCH, "--with", "stack.cylinder=5.40 in", "--with", "stack.cylinder=5.36 in"
    )
    assert first is not None
    assert "stands behind it" in first
    assert last is None


def test_it_stands_at_the_head_of_the_answer(tmp_path: Path) -> None:
    tried = ("--with", "crank.conrod_area=300 mm2")
    assert "CHANGES NOTHING here" in " ".join(screen("pushrods", BENCH, *tried).out.split())
    assert "CHANGES NOTHING" in screen("draw", BENCH, *tried, "-o", tmp_path / "gear.svg").out


@pytest.mark.wide
def test_the_sheet_says_on_its_first_page_what_was_tried(tmp_path: Path) -> None:
    out = tmp_path / "s.html"
    assert "TRIED" in screen("sheet", COORDINATES, "--with", "crank.stroke=100 mm", "-o", out).out
    page = out.read_text(encoding="utf-8")
    assert page.index("TRIED, and not in the file") < page.index("BEFORE IT TURNS")


def test_nothing_is_worked_out_twice_without_a_trial() -> None:
    asked = []

    def work_out(job):  # type: ignore[no-untyped-def]
        asked.append(job)
        return tuple(job.entries)

    trying(DEMO, (), work_out)
    assert len(asked) == 1
