"""A job begun by a form is the one that a guided session begins with the same answers."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from tallstack.cli.bench.beginning import Asked, NotBegunError, asked, begin, copy
from tallstack.cli.guide.guide import Guide
from tallstack.cli.job.loading import load

from .jobs import twin

FORM = {one.key: one.default for one in asked()}


def test_one_tap_takes_every_default(tmp_path: Path) -> None:
    assert begin(tmp_path, FORM) == "job"
    job = load(tmp_path / "job.toml")
    assert job.names["cylinders"] == ("front", "rear")
    assert len(job.names["trains"]) == 4
    assert job.wanted == ("pushrods", "valves")
    assert not any(one.startswith("stack") for one in job.entries)  # nothing was made up


def test_it_is_the_file_of_a_guided_session(tmp_path: Path) -> None:
    said = {
        **FORM,
        "file": "one",
        "units": "mm",
        "count": "2",
        "names": "left, right",
        "leans": "20, -25 +/- 0.5",
        "alike": "mirrored",
    }
    begin(tmp_path, said)
    guide = Guide(tmp_path / "other.toml")
    for line in (
        "mm",
        "one",
        "pushrods, valves",
        "bench",
        "2",
        "left",
        "right",
        "20",
        "-25 +/- 0.5",
        "both",
        "hydraulic",
        "mirrored",
        "no",
        "none",
    ):
        assert guide.say(line).taken, line
    assert (tmp_path / "one.toml").read_text(encoding="utf-8") == guide.text


@pytest.mark.parametrize(
    ("form", "field"),
    [
        ({"file": "../x"}, "file"),
        ({"file": ""}, "file"),
        ({"file": ".hidden"}, "file"),
        ({"count": "many"}, "count"),
        ({"count": "99"}, "count"),
        ({"find out": "nonsense"}, "find out"),
        ({"names": "a b, c"}, "names"),
        ({"leans": "far, -3"}, "leans"),
        ({"units": "ft"}, "units"),
    ],
)
def test_what_cannot_be_taken_is_told_at_its_field_and_nothing_is_written(
    tmp_path: Path, form: dict[str, str], field: str
) -> None:
    with pytest.raises(NotBegunError) as refused:
        begin(tmp_path, {**FORM, **form})
    assert list(refused.value.faults) == [field]
    assert list(tmp_path.iterdir()) == []


def test_more_cylinders_stand_otherwise_where_nobody_says_that_they_are_upright(tmp_path: Path) -> None:
    begin(tmp_path, {**FORM, "file": "six", "count": "6"})
    rows = tomllib.loads((tmp_path / "six.toml").read_text(encoding="utf-8"))["cylinder"]
    assert [row["lean"] for row in rows] == [""] * 6
    begin(tmp_path, {**FORM, "file": "line", "count": "4", "leans": "0, 0, 0, 0"})
    rows = tomllib.loads((tmp_path / "line.toml").read_text(encoding="utf-8"))["cylinder"]
    assert [row["lean"] for row in rows] == [0] * 4


def test_a_copy_has_the_parts_and_none_of_the_readings(tmp_path: Path) -> None:
    of = twin(tmp_path)
    assert copy(tmp_path, of, "second") == "second"
    was, now = (
        tomllib.loads((tmp_path / f"{one}.toml").read_text(encoding="utf-8")) for one in ("twin", "second")
    )
    assert now["title"] == "second"
    assert now["train"][0]["rocker"] == was["train"][0]["rocker"]
    assert now["train"][0]["measured_drop"]["drop"] == ""
    assert now["train"][0]["measured_pushrod"]["checking_rod"]["closed"] == ""
    load(tmp_path / "second.toml")


def test_every_field_of_the_form_has_its_words() -> None:
    assert all(isinstance(one, Asked) and one.asks for one in asked())
