"""What is asked for a new job: everything once, on either route."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tallstack.cli.guide.guide import Guide
from tallstack.cli.guide.questions import ROUTES, questions
from tallstack.cli.job.entries.fields import Asked
from tallstack.cli.job.entries.letters import lettered, next_free
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.entries.tables import Part, Rows, Table, millimetres

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


def test_nothing_is_asked_twice() -> None:
    train = {"cylinder": "a", "port": "intake", "lifter": {"kind": "hydraulic"}, "measured_pushrod": {}}
    job = {"cylinder": [{"name": "a"}], "train": [train], "crank": {}, "lobe": {"intake": {"card": {}}}}
    for route in ROUTES.values():
        asked = [one.key for one in questions(job, [route])]
        assert len({*asked}) == len(asked)
