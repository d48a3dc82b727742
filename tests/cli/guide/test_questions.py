"""What is asked for a new job: everything once, on either route."""

from __future__ import annotations

from tallstack.cli.guide.questions import ROUTES, questions


def test_nothing_is_asked_twice() -> None:
    train = {"cylinder": "a", "port": "intake", "lifter": {"kind": "hydraulic"}, "measured_pushrod": {}}
    job = {"cylinder": [{"name": "a"}], "train": [train], "crank": {}, "lobe": {"intake": {"card": {}}}}
    for route in ROUTES.values():
        asked = [one.key for one in questions(job, [route])]
        assert len({*asked}) == len(asked)
