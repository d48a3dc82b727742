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
from tallstack.cli.guide.measuring import ANSWERS, CUT, to_measure
from tallstack.cli.guide.questions import ROUTES, questions
from tallstack.cli.guide.told import ENTRIES
from tallstack.cli.job.entries.catalogue import meaning_at, owned, usual_at
from tallstack.cli.job.entries.fields import Asked, Kind
from tallstack.cli.job.entries.letters import letter_of, lettered, next_free, order_of
from tallstack.cli.job.entries.meanings import meant
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.entries.schema import json_schema
from tallstack.cli.job.entries.tables import Either, Named, Part, Rows, Table, millimetres
from tallstack.cli.job.faults import InputFaultsError, Loc
from tallstack.cli.job.loading import load, understood
from tallstack.cli.page.wording import DECIDED
from tallstack.geometry.pushrod.ordering import orders
from tallstack.geometry.sure.what_next import WITH

from ....commands import BENCH, tallstack

GIVEN = """
    A=stack.base_gasket B=stack.cylinder C=stack.head_gasket D=stack.case_cut E=stack.head_cut F=stack.bore
    G=measured_pushrod.length H=measured_pushrod.checking_rod.closed J=measured_pushrod.checking_rod.turns
    K=measured_pushrod.checking_rod.threads_per_inch L=measured_pushrod.checking_rod.pitch M=measured_pushrod.lean
    N=measured_pushrod.plunger.down P=pushrod.ball_diameter_low Q=pushrod.hole_low R=pushrod.ball_diameter_high
    S=pushrod.hole_high T=pushrod U=crank.stroke V=crank.conrod_length W=piston.compression_height
    X=piston.pin_offset Y=stack.case_deck Z=stack.measured_deck.below AA=lifter.seat.x AB=lifter.seat.y
    AC=lifter.seat.z AD=lifter.lean.x AE=lifter.lean.y AF=lifter.lowered AG=rocker.shaft.x AH=rocker.shaft.y
    AJ=rocker.shaft.z AK=rocker.direction AL=rocker.valve_arm AM=rocker.pushrod_arm AN=rocker.arm_angle
    AP=rocker.valve_station AQ=rocker.pushrod_station AR=rocker.tip_radius AS=valve.face.x AT=valve.face.y
    AU=valve.face.z AV=valve.lean.x AW=valve.lean.y AX=valve.length AY=valve.head_diameter AZ=valve.margin
    BA=valve.stem_diameter BB=valve.sink BC=rocker.ratio BD=rocker.span BE=rocker.cup.x BF=rocker.cup.y
    BG=rocker.cup.z BH=valve.tip_height BJ=measured_pushrod.stack.base_gasket BK=measured_pushrod.stack.cylinder
    BL=measured_pushrod.stack.head_gasket BM=measured_pushrod.stack.case_cut BN=measured_pushrod.stack.head_cut
    BP=measured_pushrod.lean.x BQ=measured_pushrod.lean.y BR=lifter.plunger_travel BS=lifter.preload BT=lifter.lash
    BU=pushrod.cup_rim BV=pushrod.gauge BW=pushrod.diameter BX=piston.diameter BY=piston.skirt_below_pin
    BZ=piston.skirt_inner CA=piston.oil_ring CB=crank.conrod_beam_width CC=crank.counterweight_radius
    CD=spigot.length CE=spigot.outer_diameter CF=stack.mouth_width CG=stack.mouth_below CH=chamber.gasket_bore
    CJ=studs.stands CK=studs.head_seat CL=studs.washer CM=studs.nut_height CN=studs.diameter CP=intake_face.centre.x
    CQ=intake_face.centre.y CR=intake_face.centre.z CS=exhaust_face.centre.x CT=exhaust_face.centre.y
    CU=exhaust_face.centre.z CV=spigot.reliefs.0.at CW=spigot.reliefs.0.width CX=spigot.reliefs.0.height
    CY=spigot.reliefs.1.at CZ=spigot.reliefs.1.width DA=spigot.reliefs.1.height DB=spigot.reliefs.2.at
    DC=spigot.reliefs.2.width DD=spigot.reliefs.2.height DE=spigot.reliefs.3.at DF=spigot.reliefs.3.width
    DG=spigot.reliefs.3.height DH=valve.retainer_to_seal DJ=spring.installed DK=spring.free_length
    DL=spring.solid_height DM=spring.wire DN=spring.mean_diameter DP=spring.0.installed DQ=spring.0.free_length
    DR=spring.0.solid_height DS=spring.0.wire DT=spring.0.mean_diameter DU=spring.1.installed
    DV=spring.1.free_length DW=spring.1.solid_height DX=spring.1.wire DY=spring.1.mean_diameter DZ=tube.seat_low.x
    EA=tube.seat_low.y EB=tube.seat_low.z EC=tube.seat_high.x ED=tube.seat_high.y EE=tube.seat_high.z
    EF=tube.shortest EG=tube.longest EH=tube.inner_diameter EJ=pushrod.wall EK=pushrod.cup_radius_low
    EL=pushrod.cup_radius_high EM=pocket.centre.x EN=pocket.centre.y EP=pocket.lean.x EQ=pocket.lean.y
    ER=pocket.diameter ES=pocket.depth ET=measured_drop.drop EU=measured_drop.lean EV=measured_drop.room
    EW=measured_drop.stack.base_gasket EX=measured_drop.stack.cylinder EY=measured_drop.stack.head_gasket
"""
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


def test_letters_that_were_given_stay_and_none_is_given_twice() -> None:
    given = dict(reversed(one.split("=")) for one in GIVEN.split())
    now = {entry: one.letter for entry, one in lettered().items()}
    assert {entry: now.get(entry) for entry in given} == given
    assert len({*now.values()}) == len(now)
    assert not set("".join(now.values())) & set("IO")
    last = max(order_of(one) for one in given.values())
    assert all(order_of(now[entry]) > last for entry in now.keys() - given.keys())
    places = [order_of(one) for one in now.values()]
    assert places == sorted(places)


def test_what_stood_when_a_reading_was_taken_has_no_letter_of_the_engine() -> None:
    assert letter_of("stack.cylinder") == "B"
    assert letter_of("measured_pushrod.stack.cylinder") == "BK"
    for entry in ("measured_drop.crank.stroke", "measured_drop.piston.diameter", "reading.0.stack.cylinder"):
        assert letter_of(entry) == ""


def test_a_point_has_the_letters_of_its_parts_in_every_list(tmp_path: Path) -> None:
    """As its faults have them, so that what is drawn as AA, AB and AC is found under them."""
    letters = "AA, AB, AC"
    assert meant("front.intake.lifter.seat", "front.intake").startswith(f"lifter.seat ({letters}: ")
    assert re.search(rf"^# seat = .*# {letters}: ", blank_job("mm"), re.MULTILINE)
    job = understood(tmp_path / "job.toml", with_shim("train.lifter", '""').replace("shim = ", "seat = ", 1))
    rows = [one for group in to_measure(job, ("pushrods",)) for one in group.asked]
    assert next(one.letter for one in rows if one.entry == "front.intake.lifter.seat") == letters


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
        "0.028 in (0.70 mm)",
        path.removeprefix("front.intake.").removeprefix("front."),
    ]


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


def test_every_entry_stands_in_the_blank_file() -> None:
    rows = set[tuple[str, str]]()
    for line in blank_job("mm").splitlines():
        entry, _, words = line.removeprefix("# ").removeprefix("#").partition("# ")
        rows |= {(name, re.sub("^[A-Z, ]+: ", "", words)) for name in re.findall(r"(\w+) = ", entry)}
    for loc, kind in declared():
        if loc[0] == "cylinder" and len(loc) > 3 and loc[2] in JOB.parts:
            continue  # laid over the engine's
        name = "NAME" if loc[-2:] == ("points", "intake") else loc[-1]
        if kind.tool == "" and name in (
            "format",
            "title",
            "written_for",
            "units",
            "name",
            "cylinder",
            "port",
        ):
            continue  # they are filled in
        assert any(one == name and words.startswith(kind.words) for one, words in rows), loc


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


def test_every_tool_of_a_declaration_is_known_above() -> None:
    others = {kind.tool for _, kind in declared() if kind.tool and not tools(kind.tool)}
    assert others == {
        *("count the turns out", "the card", "the maker's drawing", "its maker's figure, or a gauge block"),
        *("the lifter maker's figure", "the cam maker's figure"),
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


def test_no_wish_is_listed_as_a_reading(tmp_path: Path) -> None:
    """Blank, lacking or with a ±: a wish is decided. What names the job is neither."""
    wishes = {loc for loc, kind in declared() if kind.wish}
    assert {
        ("targets", "drop_intake"),
        ("train", 0, "lifter", "preload"),
        ("train", 0, "lifter", "lash_at"),
    } <= wishes
    limits = "".join(f'{loc[1]} = ""\n' for loc in sorted(wishes, key=str) if loc[0] == "targets")
    text = blank_job("in").replace('preload = ""', 'preload = "0.040 +/- 0.020 in"', 1)
    text = f"{text}\n[targets]\n{limits}"
    groups = to_measure(understood(tmp_path / "job.toml", text), ANSWERS)
    readings = {one.entry for group in groups if group.title != DECIDED for one in group.asked}
    decided = {one.entry for group in groups if group.title == DECIDED for one in group.asked}
    assert {"targets.drop_intake", "front.exhaust.lifter.preload"} <= decided
    assert not {one.partition(".")[2] for one in decided} & {one.partition(".")[2] for one in readings}
    assert not any(
        one.startswith("targets.") or one.endswith((".preload", ".lash", "title")) for one in readings
    )
    assert "stack.cylinder" in readings


# Paths.


@pytest.mark.parametrize(
    ("path", "owner", "words"),
    [
        ("front.spigot.length", "front", "CD: spigot below the case deck"),
        ("spigot.length", "", "CD: spigot below the case deck"),
        ("front.intake_face.centre", "front", "CP, CQ, CR: centre of the port's face, head frame"),
        ("front.spigot.reliefs.0.width", "front", "CW: chord at the bore"),
        ("front.stack.cylinder", "front", "B: cylinder, base face to top face"),
        ("front.intake.lifter.lash", "front.intake", "BT: wanted lash of a solid lifter"),
        ("front.intake.spring.1.rate", "front.intake", "rate"),
        ("lifter.lash", "", "BT: wanted lash of a solid lifter"),
        ("instrument.mic A.zero", "", "how far its zero may be off"),
        ("reading.0.stack.cylinder", "", "cylinder, base face to top face"),
        ("materials.case", "", "material of the case"),
    ],
)
def test_an_entry_has_its_words_by_its_path_with_and_without_its_owner(
    path: str, owner: str, words: str
) -> None:
    assert owned(path)[0] == owner
    assert meant(path) == f"{path} ({words})"


def test_what_the_fits_lack_has_words_a_tool_and_its_cylinder() -> None:
    rows = {one.entry: one for group in to_measure(load(BENCH), ANSWERS) for one in group.asked}
    assert rows["rear.spigot.length"].letter == "CD"
    assert rows["rear.spigot.length"].tool == "calipers or depth gauge"
    assert "spigot.length" not in rows
    assert not [one.entry for one in rows.values() if not one.words]
    assert rows["front.intake.pushrod.material"].choices == rows["materials.pushrod"].choices


def test_a_pushrod_is_made_of_what_the_other_parts_are_made_of() -> None:
    schema = json_schema()["properties"]
    of_tube = schema["train"]["items"]["properties"]["pushrod"]["properties"]["material"]
    assert of_tube["enum"] == schema["materials"]["properties"]["pushrod"]["enum"]


# What is chosen, and what was cut.


def test_what_is_chosen_is_not_asked_with_a_doubt() -> None:
    rows = {one.entry: one for group in to_measure(load(BENCH), ANSWERS) for one in group.asked}
    assert not rows["lobe.intake.card.duration.at"].doubt
    assert rows["lobe.intake.card.duration.degrees"].doubt
    assert rows["crank.conrod_modulus"].doubt  # looked up, and as doubtful as the maker's figure
    assert rows["running.speed"].wish
    text = tallstack("measure", BENCH, "--for", "fits").out
    assert text.index(DECIDED) < text.index("running.speed")
    lines = tallstack("measure", "--for", "clearance").out.splitlines()
    assert [one.endswith("__ +/- ________") for one in lines if ".card.seat." in one] == [False, True] * 2


def test_the_centreline_reads_rightly_for_either_lobe() -> None:
    assert meant("lobe.exhaust.centreline").endswith(
        "(crank degrees of an intake after, of an exhaust before overlap top centre)"
    )


def solid(text: str) -> str:
    return text.replace('kind = ""', 'kind = "solid"')


def test_lash_or_preload_is_to_be_decided_by_the_lifters_kind(tmp_path: Path) -> None:
    blank = blank_job("mm")
    for text, wish in ((blank, "preload"), (solid(blank), "lash")):
        groups = to_measure(understood(tmp_path / "job.toml", text), ANSWERS)
        wishes = {one.entry for group in groups if group.title == DECIDED for one in group.asked}
        assert {one for one in wishes if "lifter" in one} == {
            f"front.{port}.lifter.{wish}" for port in ("intake", "exhaust")
        }


def test_check_puts_a_wish_under_the_heading_of_the_measuring_list(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(blank_job("mm"), encoding="utf-8")
    measured, _, decided = tallstack("check", job).out.partition("STILL TO BE MEASURED")[2].partition(DECIDED)
    assert "lifter.kind" in measured
    assert "lifter.preload" not in measured
    assert "lifter.preload" in decided
    job.write_text(solid(blank_job("mm")), encoding="utf-8")
    text = tallstack("check", job).out
    assert "preload" not in text
    assert "plunger" not in text


@pytest.mark.parametrize("answers", [("pushrods",), ("clearance",), ("fits",), ANSWERS])
def test_what_was_cut_stands_under_one_heading(answers: tuple[str, ...], tmp_path: Path) -> None:
    job = understood(tmp_path / "job.toml", blank_job("mm"))
    where = {one.entry: group.title for group in to_measure(job, answers) for one in group.asked}
    assert {where["stack.case_cut"], where["stack.head_cut"]} == {CUT}


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
