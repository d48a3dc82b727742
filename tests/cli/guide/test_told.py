"""How entries are measured: each told of an entry that is there, with no tool but its own."""

from __future__ import annotations

import re

import pytest
from tallstack.cli.guide.questions import questions
from tallstack.cli.guide.told import ENTRIES
from tallstack.cli.job.entries.catalogue import kind_at, meaning_at
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.faults import Loc

from ...cli.job.entries.test_catalogue import TOOLS


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


@pytest.mark.parametrize("entry", ENTRIES)
def test_what_is_done_at_the_bench_is_of_an_entry_and_names_no_other_tool(entry: str) -> None:
    kind = meaning_at(place(entry))
    assert kind is not None
    assert tools(ENTRIES[entry].how) <= tools(kind.read_with), (ENTRIES[entry].how, kind.read_with)
    for where in re.findall(r"\b(?:over|across|along|from) [a-z' ]+|\b\w+ to \w+", kind.read_with):
        assert where in ENTRIES[entry].how.lower(), (ENTRIES[entry].how, kind.read_with)
    if kind.wish:
        assert not tools(ENTRIES[entry].how)
        assert not tools(kind.read_with)


def test_whatever_can_be_asked_stands_in_the_model_with_its_meaning() -> None:
    rows = [
        {"cylinder": "a", "port": port, "lifter": {"kind": kind}}
        for port in ("intake",)
        for kind in ("solid", "hydraulic")
    ]
    lobes: list[dict[str, object]] = [
        {"card": {}, "table": "", "measured_at": "valve"},
        *({"table": "", "read_with": one} for one in ({"tip": ""}, {"roller": ""}, "flat")),
    ]
    seen: set[Loc] = set()
    both = [*rows, {**rows[1], "port": "exhaust"}]
    both = [{**one, "lifter": {**dict(one["lifter"]), "follower": {"roller": ""}}} for one in both]
    for remarks, lobe in (
        (remarks, lobe)
        for remarks in (["# By coordinates: where each part of the valve gear stands."], [])
        for lobe in lobes
    ):
        for measured in ({}, {"measured_pushrod": {"stack": {}}, "measured_drop": {"drop": 1, "stack": {}}}):
            job = {
                "cylinder": [{"name": "a", "valves_touch": {}}, {"name": "b"}],
                "train": [{**row, **measured} for row in both],
                "crank": {},
                "lobe": {"intake": lobe},
            }
            found = list(questions(job, remarks))
            assert len({one.key for one in found}) == len(found)
            seen |= {one.loc for one in found if one.loc and not one.options and one.name != "name"}
    for loc in seen:
        assert kind_at(loc) is not None, loc
    assert {_name(loc) for loc in seen} - {"title"} == ENTRIES.keys()


def _name(loc: Loc) -> str:
    """Return by which name an entry's words at the bench are found."""
    below = loc[2:] if loc[0] == "train" else (loc[0], *loc[2:]) if loc[0] in ("lobe", "cylinder") else loc
    return ".".join(map(str, below))
