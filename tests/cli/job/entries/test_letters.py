"""Letters of entries: given once and never anew, the same in every list."""

from __future__ import annotations

import re
from pathlib import Path

from tallstack.cli.guide.blank import blank_job
from tallstack.cli.guide.measuring import to_measure
from tallstack.cli.job.entries.letters import ALPHABET, letter_at, letter_of, lettered, order_of
from tallstack.cli.job.entries.meanings import meant
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.faults import Loc
from tallstack.cli.job.loading import understood

from ....cli.job.entries.test_catalogue import with_shim


def test_letters_run_on_after_the_last() -> None:
    assert [letter_at(index) for index in (0, 7, 8, 23, 24, 47, 48)] == ["A", "H", "J", "Z", "AA", "AZ", "BA"]
    assert len(ALPHABET) == 24


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


def place(entry: str) -> Loc:
    """Return a place of the document for an entry as the words at the bench are found by."""
    above, *rest = entry.split(".")
    if above == "lobe":
        return (above, "intake", *rest)
    if above == "cylinder":
        return (above, 0, *rest)
    return (above, *rest) if above in JOB.parts else ("train", 0, above, *rest)


def test_every_letter_is_called_by_words_of_its_own() -> None:
    """As a person says them: no path, no word of the file, and no two alike."""
    rows = list(lettered().values())
    assert len({one.called for one in rows}) == len(rows)
    for one in rows:
        assert re.fullmatch(r"[a-z][a-z' ,0-9]*", one.called), one
        assert len(one.called) <= 32
    called = {one.entry: one.called for one in rows}
    assert called["rocker.valve_arm"] == "valve arm"
    assert called["valve.lean.y"] == "valve's lean, y"
    assert called["spigot.reliefs.1.width"] == "relief's width 2"
    assert called["measured_drop.stack.head_gasket"] == "head gasket, drop's reading"
