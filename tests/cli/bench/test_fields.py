"""A field says what stands in the file, how it is understood, and how it came there, in the words of its declaration."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.bench.fields import (
    ASSUMED,
    FAULTY,
    LACKING,
    RECKONED,
    TYPED,
    Field,
    entry_at,
    field,
    offers_of,
    option_of,
    shown,
    standing,
)
from tallstack.cli.bench.places import loc_of
from tallstack.cli.bench.screens import ROD, STACK, Part, Screen, Way
from tallstack.cli.guide.told import ENTRIES
from tallstack.cli.job.document import Document, Kept, leaves
from tallstack.cli.job.entries.catalogue import kind_at
from tallstack.cli.job.faults import Loc
from tallstack.cli.page.wording import entry_value

from ...commands import COORDINATES, DEMO
from .jobs import HALF

PATH = Path("job.toml")


def of(text: str, loc: Loc) -> Field:
    found = field(shown(Document(PATH, Kept(text))), loc, "")
    assert found is not None
    return found


def test_it_carries_what_its_declaration_says() -> None:
    one, kind = of(HALF, ("stack", "cylinder")), kind_at(("stack", "cylinder"))
    assert kind is not None
    assert (one.letter, one.called, one.words, one.tool) == ("B", "cylinder", kind.words, kind.read_with)
    assert one.value == "109.5 +/- 0.1"
    assert one.was == '"109.5 +/- 0.1"'
    assert (one.state, one.decimal, one.unit) == (TYPED, True, "mm")
    assert one.path == "stack.cylinder"


@pytest.mark.parametrize("path", [DEMO, COORDINATES], ids=lambda one: one.stem)
def test_every_value_of_a_job_is_understood_as_the_commands_say_it(path: Path) -> None:
    seen = shown(Document(path, Kept(path.read_text(encoding="utf-8"))))
    assert seen.job is not None
    by_loc = {one.loc: one for one in seen.job.entries.values() if not one.follows}
    checked = 0
    for loc, value in leaves(seen.plain):
        if loc in by_loc and value not in ("", []) and entry_at(loc) is not None:
            one = field(seen, loc, "")
            assert one is not None
            assert one.state == TYPED
            assert entry_value(by_loc[loc], seen.job.units) in one.understood
            checked += 1
    assert checked > 40


def test_a_copy_a_default_and_a_blank_are_told_apart() -> None:
    copied = of(HALF, ("train", 1, "lifter", "preload"))
    assert (copied.state, copied.value) == (RECKONED, "")
    assert "as front intake lifter preload" in copied.understood[1]
    assumed = of(HALF, ("stack", "case_cut"))
    assert assumed.state == ASSUMED
    assert "no metal removed from that face" in assumed.understood[1]
    assert of(HALF, ("stack", "base_gasket")).state == LACKING
    assert of(HALF, ("crank", "stroke")).state == LACKING
    assert of(HALF, ("train", 1, "measured_pushrod", "length")).state == LACKING  # never a copy


def test_what_is_wrong_stands_at_its_field() -> None:
    one = of(HALF.replace("276.0 +/- 0.2", "276.0 kg"), ("train", 0, "measured_pushrod", "length"))
    assert one.state == FAULTY
    assert "kg" in one.fault
    assert of(HALF.replace("276.0 +/- 0.2", "276.0 kg"), ("stack", "cylinder")).state == TYPED


def way_of(screen: Screen, key: str) -> tuple[Way, Part]:
    return next(
        (one, part)
        for part in screen.parts
        for one in part.entries
        if isinstance(one, Way) and one.key == key
    )


def standing_of(text: str, screen: Screen, key: str, owner: str = "") -> tuple[str, str, str]:
    seen = shown(Document(PATH, Kept(text)))
    way, part = way_of(screen, key)

    def place(entry: str) -> Loc | None:
        return loc_of(part, entry, owner, seen.plain)

    option, _ = option_of(way, seen, place)
    return option.word, *standing(way, option, seen, place)


def test_a_choice_says_whether_anybody_made_it() -> None:
    blank = HALF.replace('"109.5 +/- 0.1"', '""')
    assert standing_of(blank, STACK, "form") == ("case", ASSUMED, "")
    assert standing_of(HALF, STACK, "form") == ("case", TYPED, "")
    assert standing_of(HALF, STACK, "deck") == ("bridge", LACKING, "")
    turned = HALF.replace(
        'length = "276.0 +/- 0.2"', 'checking_rod = { closed = "", turns = "", pitch = "" }'
    )
    assert standing_of(turned, ROD, "read", "front.intake") == ("turns_mm", TYPED, "")
    assert standing_of(HALF, ROD, "lifter", "front.intake") == ("hydraulic", TYPED, "")
    assert standing_of(HALF, ROD, "lifter", "front.exhaust") == ("hydraulic", RECKONED, "as front intake")


def test_what_nobody_typed_stands_in_its_field_with_where_it_comes_from() -> None:
    copied = of(HALF, ("train", 1, "lifter", "preload"))
    assert (copied.stood, copied.origin) == ("1 mm", "as front intake lifter preload")
    assumed = of(HALF, ("stack", "case_cut"))
    assert (assumed.stood, assumed.origin) == ("0 mm", "assumed")
    typed = of(HALF, ("stack", "cylinder"))
    assert (typed.stood, typed.origin) == ("", "")


def test_no_field_speaks_of_the_keys_of_a_terminal() -> None:
    told = {one.how: one.without for one in ENTRIES.values()}
    assert not [how for how in told if "Enter" in how]
    one = of(HALF, ("train", 0, "measured_drop", "meets"))
    assert one.how.endswith("Without it: not looked; the room to a pocket's wall is needed then.")


def test_no_entry_no_field() -> None:
    seen = shown(Document(PATH, Kept(HALF)))
    assert field(seen, ("stack",), "") is None
    assert field(seen, ("cylinder", 0, "name"), "") is None
    assert entry_at(("before", "same")) is not None


def test_what_a_drawing_shows_fits_it() -> None:
    assert of(HALF, ("stack", "cylinder")).shown == "109.5"
    long = HALF.replace("109.5 +/- 0.1", "4 5/16 in +/- 0.001 in")
    assert of(long, ("stack", "cylinder")).shown == "4 5/16 in"
    assert of(HALF, ("crank", "stroke")).shown == ""


def test_offers_are_those_of_the_file() -> None:
    seen = shown(Document(PATH, Kept(HALF)))
    as_ = field(seen, ("train", 1, "measured_pushrod", "as"), "")
    assert as_ is not None
    assert [one.typed for one in offers_of(seen, as_)] == ["="]
    gasket = field(seen, ("stack", "head_gasket"), "")
    assert gasket is not None
    assert offers_of(seen, gasket) == ()  # nothing was read with a micrometer yet: no ± is made up
    text = (
        HALF.replace('base_gasket = ""', 'base_gasket = "0.5 +/- 0.02"')
        + '\n[[instrument]]\nname = "mic A"\nzero = 0.01\n'
    )
    seen = shown(Document(PATH, Kept(text)))
    gasket = field(seen, ("stack", "head_gasket"), "")
    assert gasket is not None
    assert [(one.more, one.by) for one in offers_of(seen, gasket)] == [(" +/- 0.02", ""), ("", "mic A")]


def test_the_way_that_the_job_goes_is_the_one_that_stands() -> None:
    def said(text: str, key: str) -> str:
        seen = shown(Document(PATH, Kept(text)))
        way, part = way_of(ROD, key)
        return option_of(way, seen, lambda entry: loc_of(part, entry, "front.intake", seen.plain))[0].word

    assert said(HALF, "read") == "length"
    assert said(HALF, "lifter") == "hydraulic"
    assert said(HALF, "plunger") == "top"
    turned = HALF.replace(
        'length = "276.0 +/- 0.2"', 'checking_rod = { closed = "", turns = "", pitch = "" }'
    )
    assert said(turned, "read") == "turns_mm"
    assert said(HALF.replace("hydraulic", "solid").replace("preload", "lash"), "lifter") == "solid"
    assert said(HALF.replace('plunger = "top"', 'plunger = { down = "1 mm" }'), "plunger") == "down"
