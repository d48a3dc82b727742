"""What is asked for a new job: everything once, on either route."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.guide.guide import Guide
from tallstack.cli.guide.questions import ROUTES, questions

SHIM = "shim under the spring, as one stands on it"


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
