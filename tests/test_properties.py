"""What must hold of every engine: symmetries, scale, inverses, batches, on random ones.

Each example that hypothesis draws is a seed, and stands for a batch that numpy draws from it: 150 valve gears
leaning every way (`oracles.random_trains`), or 30 engines of two valves (`random_engines`), each batch with one
kind of lifter and one kind of crown. So many are covered in the plain run, and in the study, `-m study`:

    mirrored, turned, scaled; a longer pushrod, the one asked for, one read elsewhere   1,200 gears each   30,000
    a batch of one; a batch in another order                                              900 gears        22,500
    clearances and fits: mirrored, turned, scaled, with more head gasket                  120 engines each  3,000
    clearances of a batch against each engine's                                            90 engines       2,400
    least clearances against the curve at 400 angles and more around the least              8 engines         150
    twins leant over as a whole, and scaled, the cylinders against each other               2 twins each       60

Figures, measured on two cores with CPython 3.11:

- 1,200 random valve gears mirrored, turned, scaled, measured back: the same answers; `-m study`, 30,000: within
  1e-9 mm; limit: 1e-9 mm
- 120 random engines mirrored, turned, scaled: the same clearances and fits; `-m study`, 3,000: within 1e-6 mm;
  limit: 1e-6 mm
"""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry import build, fit, required
from tallstack.geometry.core.frames import array, norm
from tallstack.geometry.gear.train import closed
from tallstack.geometry.piston.cycle import between_at, least_between

from .engine_answers import (
    Answers,
    flat,
    least_of,
    of_crossing,
    of_engines,
    of_gears,
    power,
    valves,
    wall_told,
)
from .oracles import raw_loop
from .oracles.random_trains import TRAIN, Entries
from .random_engines import CROWNS, KINDS, TRAINS, changed, engines, gears, mirrored, picked, scaled, turned
from .seeded import held

CLOSE_MM = 1e-9
LAST_BITS_MM = 1e-11
FOLLOWED_MM = 1e-6  # a place on a rim or a crank angle is closed in on
GEARS, ENGINES = 150, 30  # to a batch


def drawn_gears(seed: int) -> Entries:
    rng = np.random.default_rng(seed)
    return gears(rng, GEARS, rng.choice(KINDS))


def drawn_engines(seed: int, *, twin: bool = False, many: int = ENGINES) -> Entries:
    rng = np.random.default_rng(seed)
    return engines(rng, many, rng.choice(CROWNS), rng.choice(KINDS), twin)


def same(found: Answers, expected: Answers, within: float, by: float = 1.0) -> None:
    """Fail unless two sets of answers are equal, the second so many times as large."""
    assert found.keys() == expected.keys()
    for name, value in expected.items():
        scale = by ** power(name)
        np.testing.assert_allclose(found[name], value * scale, rtol=0, atol=within * scale, err_msg=name)


@held(2, 200)
def test_a_mirrored_gear_gives_mirrored_answers(seed: int) -> None:
    mapping = drawn_gears(seed)
    same(of_gears(mirrored(mapping)), of_gears(mapping), CLOSE_MM)


@held(2, 100)
def test_a_mirrored_engine_has_the_same_clearances(seed: int) -> None:
    """Pin offset and direction of turning stay, or are reversed together: the piston moves alike."""
    mapping = drawn_engines(seed)
    image = mirrored(mapping)
    expected = of_engines(mapping)
    same(of_engines(image), expected, FOLLOWED_MM)
    reversed_too = changed(image, "piston.pin_offset", np.negative) | {
        "crank.turns": "backward" if mapping["crank.turns"] == "forward" else "forward"
    }
    swings = {"swing_forward": expected["swing_backward"], "swing_backward": expected["swing_forward"]}
    same(of_engines(reversed_too), expected | swings, FOLLOWED_MM)


@held(2, 200)
def test_a_gear_turned_about_its_cylinder_stays_what_it_is(seed: int) -> None:
    mapping, angle = drawn_gears(seed), np.random.default_rng(seed + 1).uniform(-np.pi, np.pi)
    same(of_gears(turned(mapping, angle)), of_gears(mapping), CLOSE_MM)


@held(2, 100)
def test_valves_turned_about_their_cylinder_have_the_same_clearances(seed: int) -> None:
    mapping, angle = drawn_engines(seed), np.random.default_rng(seed + 1).uniform(-np.pi, np.pi)
    same(of_engines(turned(mapping, angle)), of_engines(mapping), FOLLOWED_MM)


@held(1, 60)
def test_a_twin_leant_over_as_a_whole_stays_what_it_is(seed: int) -> None:
    mapping = picked(drawn_engines(seed, twin=True, many=1), 0)
    by = np.random.default_rng(seed + 1).uniform(-0.5, 0.5)
    leant = changed(changed(mapping, "one.lean", lambda lean: lean + by), "two.lean", lambda lean: lean + by)
    same(of_engines(leant), of_engines(mapping), CLOSE_MM)
    same(of_crossing(leant), of_crossing(mapping), FOLLOWED_MM)


@held(2, 200)
def test_a_gear_so_many_times_as_large_has_so_many_times_the_lengths(seed: int) -> None:
    mapping, by = drawn_gears(seed), float(np.exp(np.random.default_rng(seed + 1).uniform(-1.5, 1.5)))
    same(of_gears(scaled(mapping, by), by), of_gears(mapping), CLOSE_MM, by)


@held(2, 100)
def test_an_engine_so_many_times_as_large_has_so_many_times_the_clearances(seed: int) -> None:
    mapping, by = drawn_engines(seed), float(np.exp(np.random.default_rng(seed + 1).uniform(-0.7, 0.7)))
    same(of_engines(scaled(mapping, by)), of_engines(mapping), FOLLOWED_MM, by)


@held(1, 60)
def test_a_twin_so_many_times_as_large_has_so_many_times_the_least_clearances(seed: int) -> None:
    mapping = picked(drawn_engines(seed, twin=True, many=1), 0)
    by = float(np.exp(np.random.default_rng(seed + 1).uniform(-0.7, 0.7)))
    for answers in (least_of, of_crossing):
        same(answers(scaled(mapping, by)), answers(mapping), FOLLOWED_MM, by)


@held(2, 200)
def test_a_longer_pushrod_moves_preload_or_lash_as_the_loop_closes(seed: int) -> None:
    """A shorter one as well; the loop is closed again with raw vectors, for some by the second solver."""
    mapping, by = drawn_gears(seed), np.random.default_rng(seed + 1).uniform(-0.4, 0.4, GEARS)
    train = build(flat(mapping)).train(TRAIN)
    assert train.drawn is not None
    length = required(train).lengths["centres"] + by
    found = fit(train, length)
    if found.preload is not None:
        ball = train.drawn.seat - found.preload[:, None] * train.drawn.lift_axis
        np.testing.assert_allclose(norm(closed(train.drawn).cup - ball), length, rtol=0, atol=CLOSE_MM)
        at_the_wanted = fit(train, length - by).preload
        assert at_the_wanted is not None
        assert (np.sign(found.preload - at_the_wanted) == np.sign(by)).all()
    for one in range(0, GEARS, GEARS // 10):
        alone = picked(mapping, one)
        if found.preload is not None:
            expected = raw_loop.preload(alone, TRAIN, length[one])
            assert found.preload[one] == pytest.approx(expected, abs=CLOSE_MM)
            continue
        assert found.lash is not None
        assert found.held_open is not None
        play = raw_loop.lash(alone, TRAIN, length[one])
        assert found.held_open[one] == pytest.approx(play.held_mm, abs=CLOSE_MM)
        if play.held_mm == 0.0:
            assert found.lash[one] == pytest.approx(play.lash_mm, abs=CLOSE_MM)


@held(2, 200)
def test_a_pushrod_of_the_length_worked_out_gives_the_setting_asked_for(seed: int) -> None:
    mapping = drawn_gears(seed)
    train = build(flat(mapping)).train(TRAIN)
    found = fit(train, required(train).lengths["centres"])
    for measured, wanted in ((found.preload, train.lifter.preload), (found.lash, train.lifter.lash)):
        assert (measured is None) == (wanted is None)
        if measured is not None and wanted is not None:
            np.testing.assert_allclose(measured, wanted, rtol=0, atol=CLOSE_MM)


@held(2, 200)
def test_a_rod_measured_on_another_stack_leads_to_the_length_by_coordinates(seed: int) -> None:
    """The zero-lash rod of a lower or higher stack, with its lean in two views, carried to the stack of today."""
    rng = np.random.default_rng(seed)
    kind = rng.choice(("hydraulic", "pushrod"))  # lash at the valve is carried by a ratio, not exactly
    mapping = gears(rng, GEARS, kind)
    then = changed(mapping, "stack.cylinder", lambda cylinder: cylinder + rng.uniform(-6, 6, GEARS))
    drawn = build(flat(then)).train(TRAIN).drawn
    assert drawn is not None
    rod = closed(drawn).cup - drawn.seat
    reading = {
        "length": norm(rod),
        "as": "centres",
        "plunger": "top",
        "lean.x": np.arctan(rod[:, 0] / rod[:, 2]),
        "lean.y": np.arctan(rod[:, 1] / rod[:, 2]),
        "stack.cylinder": then["stack.cylinder"],
        **{entry: mapping[entry] for entry in ("stack.case_cut", "stack.head_cut")},  # all of it done before
        **{entry: mapping[f"{TRAIN}.{entry}"] for entry in ("lifter.lowered", "valve.sink")},
    }
    both = mapping | {f"{TRAIN}.measured_pushrod.{entry}": value for entry, value in reading.items()}
    needed = required(build(flat(both)).train(TRAIN))
    assert needed.basis == "measured pushrod"
    expected = required(build(flat(mapping)).train(TRAIN)).lengths["centres"]
    np.testing.assert_allclose(needed.lengths["centres"], expected, rtol=0, atol=CLOSE_MM)


@held(2, 100)
def test_more_head_gasket_never_takes_from_the_drop_over_a_plain_crown(seed: int) -> None:
    rng = np.random.default_rng(seed)
    mapping, more = engines(rng, ENGINES, "plain", rng.choice(KINDS)), rng.uniform(0.01, 2.0, ENGINES)
    thicker = changed(mapping, "stack.head_gasket", lambda gasket: gasket + more)
    before, after = of_engines(mapping), of_engines(thicker)
    for name, over in zip(TRAINS, valves(mapping), strict=True):
        gained = after[f"{name} drop"] - before[f"{name} drop"]
        assert (gained > 0).all()
        lifted = (
            after[f"{name} lift"] - before[f"{name} lift"]
        )  # the pushrod is another one, and stands otherwise
        grown = (more / over.head.stem[:, 2])[:, None]
        np.testing.assert_allclose(
            gained + lifted, np.broadcast_to(grown, gained.shape), rtol=0, atol=CLOSE_MM
        )


def test_more_head_gasket_can_take_from_the_drop_over_a_deep_pocket() -> None:
    """A stem of 15 degrees, a pocket 11 mm deep around the valve's way with 0.3 mm of room, walled on every side.

    The head goes up along the cylinder, aside of the pocket's axis by the sine of the lean: 1 mm uses up 0.26 of the
    room, and half a millimetre more puts the rim on the pocket's lip instead of down its wall.
    """
    mapping = picked(engines(np.random.default_rng(0), 1, "pockets", "hydraulic"), 0)
    lean, valve, pocket = np.radians(-15.0), f"{TRAINS[0]}.valve", f"{TRAINS[0]}.pocket"
    numbers = {
        f"{valve}.lean.x": lean,
        f"{valve}.lean.y": 0.0,
        f"{valve}.face.y": 0.0,
        f"{valve}.head_diameter": 38.0,
    }
    numbers |= {f"{pocket}.lean.x": lean, f"{pocket}.lean.y": 0.0, f"{pocket}.centre.y": 0.0}
    mapping |= numbers | {f"{pocket}.diameter": 38.6, f"{pocket}.depth": 11.0}
    face = valves(mapping)[0].head.centre
    mapping[f"{pocket}.centre.x"] = float(face[0] + face[2] * np.tan(-lean))

    def at_top(thicker: float) -> float:
        over = valves(changed(mapping, "stack.head_gasket", lambda gasket: gasket + thicker))[0]
        return float(over.drop(array(0.0), over.lift.at(array(0.0))))

    drops = [at_top(thicker) for thicker in (0.0, 0.5, 1.0, 1.5)]
    assert drops[0] < drops[1] < drops[2]
    assert drops[3] < drops[2] - 1.5


@held(2, 150)
def test_a_least_clearance_is_nowhere_undercut(seed: int) -> None:
    mapping = picked(drawn_engines(seed, many=1), 0)
    least, pair = least_of(mapping), valves(mapping)
    crank = np.radians(np.random.default_rng(seed + 1).uniform(-360, 360, 400))
    for name, over in zip(TRAINS, pair, strict=True):
        at = over.least_drop()[0].angle
        near = at + np.radians(np.linspace(-24, 24, 97))
        for angles in (crank, near):
            assert (over.drop(angles, over.lift.at(angles)) >= least[f"{name} drop"] - FOLLOWED_MM).all()
            wall = wall_told(over, angles, over.lift.at(angles))
            assert not (wall < least[f"{name} wall"] - FOLLOWED_MM).any()
        assert (over.gap(near, over.lift.at(near)) >= least[f"{name} gap"] - FOLLOWED_MM).all()
        assert over.drop(array([at]), over.lift.at(array([at])))[0] == pytest.approx(
            least[f"{name} drop"], abs=FOLLOWED_MM
        )
    heads = (pair[0].valve, pair[1].valve)
    close = least_between(*heads).angle + np.radians(np.linspace(-3, 3, 121))
    for angles in (crank, close):
        assert (between_at(*heads, angles) >= least["between"] - FOLLOWED_MM).all()
    assert between_at(*heads, close).min() == pytest.approx(least["between"], abs=FOLLOWED_MM)


@held(2, 150)
def test_a_batch_of_one_is_the_engine_alone_and_a_batch_in_another_order_the_same(seed: int) -> None:
    mapping = drawn_gears(seed)
    whole, order = of_gears(mapping), np.random.default_rng(seed + 1).permutation(GEARS)
    same(
        of_gears(picked(mapping, order)), {name: value[order] for name, value in whole.items()}, LAST_BITS_MM
    )
    for one in order[:5]:
        of_one, alone = of_gears(picked(mapping, np.array([one]))), of_gears(picked(mapping, int(one)))
        for name, value in whole.items():
            np.testing.assert_array_equal(of_one[name].ravel(), alone[name].ravel(), err_msg=name)
            np.testing.assert_allclose(alone[name].ravel(), value[one].ravel(), rtol=0, atol=LAST_BITS_MM)


@held(2, 80)
def test_clearances_of_a_batch_are_those_of_each_engine(seed: int) -> None:
    mapping = drawn_engines(seed)
    whole, order = of_engines(mapping), np.random.default_rng(seed + 1).permutation(ENGINES)
    permuted = {name: value[order] for name, value in whole.items()}
    same(of_engines(picked(mapping, order)), permuted, FOLLOWED_MM)
    for one in order[:2]:
        alone = of_engines(picked(mapping, int(one)))
        for name, value in whole.items():
            np.testing.assert_allclose(
                alone[name].ravel(), value[one].ravel(), rtol=0, atol=FOLLOWED_MM, err_msg=name
            )
