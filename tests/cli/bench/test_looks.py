"""What is sent of a page: its regions and fields, the faults with the way to them, and what comes after a screen."""

from __future__ import annotations

from pathlib import Path

from tallstack.cli.bench import looks
from tallstack.cli.bench.desk import OpenJob
from tallstack.cli.bench.places import owners
from tallstack.cli.bench.screens import ALL, CAM, NEXT, ROD, SCREENS, STACK
from tallstack.cli.bench.view import Answers

from .jobs import HALF, half, twin


def seen(path: Path, screen: object = STACK, owner: str = "", find: str = "") -> dict[str, object]:
    one = next(each for each in SCREENS.values() if each is screen)
    return looks.screen(path.stem, OpenJob(path), one, owner, Answers(), find)


def test_pieces_have_their_places_on_the_page(tmp_path: Path) -> None:
    found = seen(twin(tmp_path), ROD, "front.intake")
    page = looks.whole(found, "key")
    for region in looks.pieces(found)["parts"]:
        if region != "owners":
            assert f'id="{region}"' in page
    assert 'content="key"' in page
    for one in found["fields"]:  # type: ignore[attr-defined]
        assert page.count(f'id="f-{one.key}"') == 1


def test_the_shape_changes_with_the_fields_and_not_with_their_values(tmp_path: Path) -> None:
    path = half(tmp_path)
    first = looks.pieces(seen(path))["shape"]
    path.write_text(HALF.replace("109.5", "110.5"), encoding="utf-8")
    assert looks.pieces(seen(path))["shape"] == first
    path.write_text(HALF.replace('base_gasket = ""', 'case_deck = ""'), encoding="utf-8")
    assert looks.pieces(seen(path))["shape"] != first


def test_done_leads_through_every_owner_and_every_screen(tmp_path: Path) -> None:
    path = twin(tmp_path)
    job = OpenJob(path)
    assert job.shown is not None
    visited, screen, owner = [], STACK, ""
    for _ in range(40):
        visited.append((screen.key, owner))
        after = looks.screen("twin", job, screen, owner, Answers())["after"]
        if after is None:
            break
        parts = after[1].split("/")
        screen, owner = SCREENS[parts[3]], parts[4] if len(parts) > 4 else ""
        assert owner in owners(screen, job.shown.plain)
    assert [key for key, _ in visited] == [
        "stack",
        "gears",
        *["rod"] * 4,
        *["drop"] * 4,
        *["cam"] * 2,
        *["set"] * 6,
        "next",
    ]


def test_all_shows_what_stands_there_and_finds_what_does_not(tmp_path: Path) -> None:
    path = half(tmp_path)
    keys = {one.key for one in seen(path, ALL)["fields"]}  # type: ignore[attr-defined]
    assert {"stack-cylinder", "stack-base_gasket", "train-0-lifter-preload"} <= keys
    assert "units" not in keys
    found = seen(path, ALL, find="skirt inner")
    assert {one.key for one in found["fields"]} >= {"piston-skirt_inner", "cylinder-0-piston-skirt_inner"}  # type: ignore[attr-defined]
    (none,) = seen(path, ALL, find="unheard of")["parts"]  # type: ignore[misc]
    assert "No entry has" in none.part.title


def test_a_file_that_cannot_be_read_shows_why_on_every_screen(tmp_path: Path) -> None:
    path = half(tmp_path)
    path.write_text(HALF.replace("[stack]", "[stack"), encoding="utf-8")
    for screen, owner in ((STACK, ""), (ROD, "front.intake"), (CAM, "intake"), (NEXT, "")):
        page = looks.whole(seen(path, screen, owner), "")
        assert "half.toml:5" in page


def test_what_was_worked_out_before_a_file_broke_is_marked(tmp_path: Path) -> None:
    path = twin(tmp_path)
    job = OpenJob(path)
    before = looks.screen("twin", job, STACK, "", Answers())
    path.write_text(path.read_text(encoding="utf-8").replace('"5.342 ', '"5.3"42 '), encoding="utf-8")
    assert job.refresh()
    now = looks.screen("twin", job, STACK, "", Answers())
    assert before["rows"][0].length == now["rows"][0].length
    assert (before["before"], now["before"]) == ("", looks.UNREAD)
    assert now["hash"] != before["hash"]  # so that a page that is open looks again
    assert now["heard"] == looks.NOT_READ
    assert now["stops"].stop == ()
    page = looks.whole(now, "")
    for region in ("band", "draw", "more", "parts"):
        assert f'<div id="{region}" data-before="{looks.UNREAD}"' in page


def test_an_option_and_a_field_that_nobody_entered_are_marked_in_words(tmp_path: Path) -> None:
    path = half(tmp_path)
    page = looks.whole(seen(path, ROD, "front.exhaust"), "")
    taken = page[page.index('class="word reckoned" data-option="hydraulic" aria-pressed="true"') :]
    assert '<span class="mark">as front intake</span>' in taken[: taken.index("</button>")].split("</svg>")[1]
    assert 'placeholder="1 mm"' in page
    path.write_text(HALF.replace('"109.5 +/- 0.1"', '""'), encoding="utf-8")
    page = looks.whole(seen(path), "")
    taken = page[page.index('class="word assumed" data-option="case" aria-pressed="true"') :]
    assert '<span class="mark">assumed</span>' in taken[: taken.index("</button>")]


def test_the_jobs_of_a_folder(tmp_path: Path) -> None:
    half(tmp_path)
    (tmp_path / "notes.toml").write_text("a = 1\n", encoding="utf-8")
    found = looks.folder(tmp_path, {})
    assert [(one.name, one.href, one.word) for one in found["jobs"]] == [("half", "/jobs/half/stack", "")]
    assert found["others"] == ["notes.toml"]


def test_a_table_that_is_gone_takes_nothing_else_with_it(tmp_path: Path) -> None:
    path = twin(tmp_path)
    text = path.read_text(encoding="utf-8").replace(
        "[lobe.intake]", '[lobe.spare]\ntable = "gone.csv"\n[lobe.intake]'
    )
    path.write_text(text, encoding="utf-8")
    found = seen(path, ROD, "front.intake")
    assert found["faults"] == []
    assert [one.length for one in found["rows"]] == ["11.056 in", "10.983 in", "11.063 in", "10.992 in"]  # type: ignore[attr-defined]
    assert found["stops"].stop[0].startswith("NOT USED: lobe.spare.table: ")  # type: ignore[attr-defined]
