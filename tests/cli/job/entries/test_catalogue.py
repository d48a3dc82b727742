"""One declaration of an entry is read in every room: schema, blank file, questions, lists, faults, check, --with, drawings."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tallstack.cli.commands import check, draw
from tallstack.cli.drawing.lines import Text
from tallstack.cli.guide.blank import blank_job
from tallstack.cli.guide.guide import Guide
from tallstack.cli.guide.measuring import to_measure
from tallstack.cli.job.entries.catalogue import meaning_at, usual_at
from tallstack.cli.job.entries.fields import Asked, Kind
from tallstack.cli.job.entries.letters import lettered, next_free
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.entries.schema import json_schema
from tallstack.cli.job.entries.tables import Either, Named, Part, Rows, Table, millimetres
from tallstack.cli.job.faults import InputFaultsError, Loc
from tallstack.cli.job.loading import load, understood
from tallstack.geometry.pushrod.ordering import orders
from tallstack.geometry.sure.what_next import WITH

from ....commands import BENCH

TOOLS = (
    *(
        "micrometer",
        "calipers",
        "depth gauge",
        "height gauge",
        "bore gauge",
        "radius gauge",
        "thread gauge",
        "protractor",
    ),
    *(
        "bridge",
        "dial",
        "wheel",
        "feeler",
        "drill shank",
        "scale",
        "clay",
        "wire",
        "marking blue",
        "square",
        "straightedge",
        "checking rod",
    ),
    *("burette", "spring tester", "thermometer"),
)


def declared(part: Part = JOB, loc: Loc = ()) -> Iterator[tuple[Loc, Kind]]:
    """Yield every entry of the model with a place of the document where it may stand."""
    if isinstance(part, Kind):
        yield loc, part
    elif isinstance(part, Table):
        for name, inner in part.parts.items():
            yield from declared(inner, (*loc, name))
    elif isinstance(part, Rows):
        yield from declared(part.table, (*loc, 0))
    elif isinstance(part, Named):
        yield from declared(part.part, (*loc, "intake"))
    elif isinstance(part, Either):
        yield from declared(part.table, loc)
        yield from declared(part.other, loc)


# Letters.


# One more entry, in one declaration.

SHIM = "shim under the spring, as one stands on it"


@pytest.fixture(params=["stack", "train.lifter", "cylinder.spigot", "train.tube"])
def more(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[str, str]]:
    """Declare one more entry in a table; yield the table and the letter."""
    lettered.cache_clear()
    letter = next_free()
    table: Part = JOB
    for name in request.param.split("."):
        assert isinstance(table, Table)
        table = table.parts[name]
        table = table.table if isinstance(table, Rows) else table
    assert isinstance(table, Table)
    shim = millimetres(SHIM, 0.1, 3, letters=letter, tool="micrometer over the shim", asked=Asked.IN_ANY_CASE)
    monkeypatch.setitem(table.parts, "shim", shim)
    lettered.cache_clear()
    yield request.param, letter
    monkeypatch.undo()
    lettered.cache_clear()


def with_shim(above: str, value: str) -> str:
    """Return a job with that entry in its first cylinder or valve gear."""
    text = BENCH.read_text(encoding="utf-8")
    head, row, table = "", *above.partition(".")[::2]
    if not table:
        return text.replace("[stack]", f"[stack]\nshim = {value}", 1)
    head = f"[[{row}]]"
    place = text.index(head) + len(head)
    there = re.search(rf"^{table} = {{ ", text[place:], re.MULTILINE)
    if there is not None:
        place += there.end()
        return f"{text[:place]}shim = {value}, {text[place:]}"
    return f"{text[:place]}\n{table} = {{ shim = {value} }}{text[place:]}"


def path_of(above: str) -> str:
    """Return the path of that entry."""
    owner = {"stack": "", "train": "front.intake.", "cylinder": "front."}[above.partition(".")[0]]
    return f"{owner}{above.partition('.')[2] or above}.shim"


def test_an_entry_is_declared_once_and_read_in_every_room(more: tuple[str, str], tmp_path: Path) -> None:
    above, letter = more
    path = path_of(above)
    properties = json_schema()
    for name in above.split("."):
        properties = properties["properties"][name]
        properties = properties.get("items", properties)
    assert properties["properties"]["shim"]["description"] == SHIM

    blank = next(line for line in blank_job("mm").splitlines() if "shim = " in line)
    assert blank.split("# ", 2)[-1] == f"{letter}: {SHIM}; usually 0.1 to 3 mm, 0.0039 to 0.12 in"

    file = tmp_path / "job.toml"
    job = understood(file, with_shim(above, '""'))
    rows = [row for group in to_measure(job, ("pushrods",)) for row in group.asked if row.entry == path]
    assert [(row.letter, row.words, row.tool) for row in rows] == [(letter, SHIM, "micrometer over the shim")]
    assert f"{path}: {letter}: {SHIM}" in " ".join(check.answer(job).text.split())

    with pytest.raises(InputFaultsError) as faults:
        understood(file, with_shim(above, '"-1 mm"'))
    (fault,) = faults.value.faults
    assert fault.entry.endswith(f"shim ({letter})")
    assert "must be greater than 0" in fault.message

    file.write_text(with_shim(above, '"1.5 +/- 0.1 mm"'), encoding="utf-8")
    assert f"  {path}\n      1.5 +/- 0.1 mm  ->  " in check.answer(load(file, ())).text
    tried = load(file, (f'{path}="0.7 mm"',))
    assert tried.entries[path].value == pytest.approx(0.7)
    assert any(path in one for one in load(file, (f'{path}="40 mm"',)).warnings)

    page = draw.drawing(tried, orders(tried.mapping, tried.quantities, tried.doubts)[0])
    legend = [
        mark.words
        for view in page.views
        if view.name == "legend"
        for mark in view.items
        if isinstance(mark, Text)
    ]
    assert legend[legend.index(letter) + 1 :][:2] == [
        path.rpartition(".")[2],
        "0.028",
    ]


# Tools.


def tools(words: str) -> set[str]:
    """Return the tools that are named."""
    return {one for one in TOOLS if re.search(rf"\b{one}s?\b", words.lower())}


def place(entry: str) -> Loc:
    """Return a place of the document for an entry as the words at the bench are found by."""
    above, *rest = entry.split(".")
    if above == "lobe":
        return (above, "intake", *rest)
    if above == "cylinder":
        return (above, 0, *rest)
    return (above, *rest) if above in JOB.parts else ("train", 0, above, *rest)


def test_every_tool_of_a_declaration_is_known_above() -> None:
    others = {kind.tool for _, kind in declared() if kind.tool and not tools(kind.tool)}
    assert others == {
        *("count the turns out", "the card", "the maker's drawing", "its maker's figure, or a gauge block"),
        *("the lifter maker's figure", "the cam maker's figure", "the maker's figure"),
        "worked out from head, seat and temperatures",
    }


@pytest.mark.parametrize(
    ("check_of", "entry"),
    [
        ("pushrod", "measured_pushrod.length"),
        ("drop", "measured_drop.drop"),
        ("deck", "stack.measured_deck.below"),
    ],
)
def test_a_check_is_read_with_the_tool_of_the_entry_it_is_of(check_of: str, entry: str) -> None:
    kind = meaning_at(place(entry))
    assert kind is not None
    assert WITH[check_of].name.replace("a ", "") == kind.read_with


# Wishes.


# Paths.


# What is chosen, and what was cut.


# Usual ranges.


def test_what_is_unusual_is_told_by_the_declared_range(tmp_path: Path) -> None:
    """A stem that no rocker is thought to bear on, were it not entered, is an unusual one where it is."""
    text = BENCH.read_text(encoding="utf-8").replace(
        "[[train]]", '[[train]]\nvalve.stem_diameter = "13 mm"', 1
    )
    (told,) = [one for one in understood(tmp_path / "job.toml", text).warnings if "stem_diameter" in one]
    assert (
        f"most engines lie between 4 and {usual_at(('train', 0, 'valve', 'stem_diameter'))[1]:g} mm" in told
    )


@pytest.mark.parametrize(
    ("more", "route"),
    [("stack", "bench"), ("train.lifter", "coordinates"), ("cylinder.spigot", "bench")],
    indirect=["more"],
)
def test_a_guided_session_asks_for_it(more: tuple[str, str], route: str, tmp_path: Path) -> None:
    above, letter = more
    guide = Guide(tmp_path / "job.toml")
    for line in ("in", "One more", route, "1", "", "both", "h"):
        guide.say(line)
    while guide.asked is not None and guide.asked.loc[-1:] != ("shim",) and guide.asked.name != "clearances":
        guide.say("")
    assert guide.asked is not None
    assert guide.asked.loc[-1] == "shim"
    said = " ".join(" ".join(guide.question()).split())
    assert f"{SHIM}?" in said
    assert "Usually: 0.1 to 3 mm" in said
    assert f"{letter} in every drawing and list" in " ".join(" ".join(guide.say("?").lines).split())
    assert "Understood: 0.01969 in = 0.5 mm" in " ".join(guide.say("0.5 mm").lines)
