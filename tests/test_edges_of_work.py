"""Small exact cases at the edges of single functions that work on an engine: checks, plans, remedies, fits."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.clearance import timing
from tallstack.geometry.clearance.remedy import effects as remedy_effects
from tallstack.geometry.clearance.remedy import piston as by_piston
from tallstack.geometry.clearance.remedy import pocket as remedy_pocket
from tallstack.geometry.clearance.remedy import room as remedy_room
from tallstack.geometry.clearance.remedy.remedy import Case, Steps, solve
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget, Doubt
from tallstack.geometry.engine.materials import MATERIALS
from tallstack.geometry.fits import drop_on, heat, judging, spigot, springs, tubes, volume
from tallstack.geometry.fits.part import Figure, Lacking
from tallstack.geometry.piston.cycle import Minimum
from tallstack.geometry.sure import bench_checks, planned
from tallstack.geometry.sure.bench_checks import Check
from tallstack.geometry.sure.planned import Planned, Standing

from .clearance_jobs import by_coordinates
from .test_edges import PLAIN_ENGINE

NAME = "one.intake"
LEVER = 0.75


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


# Checks and plans


def test_checks_that_could_be_made_have_names_of_their_own(job: JobFile) -> None:
    found, _ = bench_checks.possible(job.mapping, Tables(), [])
    kinds = {(one.kind, one.of) for one in found}
    assert {("pushrod", NAME), ("stem tip", "one.exhaust"), ("deck", "one")} <= kinds
    assert len({one.name for one in found}) == len(found)
    assert all(one.own.startswith(f"{one.name}.") for one in found)
    made = [Check("reading.0", "pushrod", NAME, "reading.0.value")]
    less, _ = bench_checks.possible(job.mapping, Tables(), made)
    assert kinds - {(one.kind, one.of) for one in less} == {("pushrod", NAME)}


def test_a_check_was_made_on_the_stack_that_it_says() -> None:
    flat: Any = {"one.stack.head_gasket": 1.0}
    one = Check("reading.3", "drop", NAME, "reading.3.value")
    then: Any = {**flat, "reading.3.stack.head_gasket": 1.5}
    assert bench_checks._then(one, then)["one.stack.head_gasket"] == 1.5
    assert bench_checks._then(one, flat)["one.stack.head_gasket"] == 1.0


@pytest.mark.parametrize(
    ("built", "least", "most", "standing"),
    [
        (0.52, 0.5, 2.0, Standing.TIGHT),
        (1.02, 0.5, 2.0, Standing.AS_PLANNED),
        (1.02, 0.5, None, Standing.AS_PLANNED),
        (0.48, 0.5, None, Standing.MISSES),
        (1.02, None, 1.05, Standing.TIGHT),
        (1.5, 0.5, 2.0, Standing.BEYOND),
    ],
)
def test_how_a_value_stands(
    built: float, least: float | None, most: float | None, standing: Standing
) -> None:
    plan = Planned(1.0, 0.5 if built < 1 else 0.1, least=least, most=most)
    assert planned.standing_of(plan, built, Doubt(0.1)) == standing


def test_flats_that_were_counted_are_sure() -> None:
    assert planned.standing_of(Planned(3.0, 0.5), 3.0, planned.COUNTED) == Standing.AS_PLANNED
    assert planned.standing_of(Planned(3.0, 0.5), 4.0, planned.COUNTED) == Standing.BEYOND
    # A card's lobe may leave more room than it may take.
    assert planned.standing_of(Planned(3.0, 0.5, upward=1.2), 4.0, planned.COUNTED) == Standing.AS_PLANNED
    assert planned.standing_of(Planned(3.0, 0.5, upward=1.2), 2.4, planned.COUNTED) == Standing.BEYOND


@pytest.mark.parametrize(("what", "value"), [("drop", 1.0), ("gap", 0.6)])
def test_a_valve_is_planned_by_what_is_asked_of_it(job: JobFile, what: str, value: float) -> None:
    one: Any = SimpleNamespace(
        train=NAME,
        drop=(Minimum(1.0, 0.0), Minimum(1.5, 0.0)),
        gap=Minimum(0.6, 0.0),
        piston=SimpleNamespace(what=what, budget=None),
    )
    assert planned.of_valve(one, what, job.mapping, Tables(), {}, {}).value == value


def test_a_lift_is_as_sure_as_its_own_gear(job: JobFile) -> None:
    def doubt(name: str) -> float | None:
        quantities = {"arm": {f"{name}.rocker.valve_arm": 1.0}}
        return planned.of_lift(NAME, job.mapping, Tables(), quantities, {"arm": Doubt(0.2)}).doubt

    own, other = doubt(NAME), doubt("one.exhaust")
    assert own is not None
    assert own > 0.01
    assert other == 0.0


def test_a_length_in_another_convention_is_as_sure_as_its_direction(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing else in doubt; a half-width of 0.3 mm has a standard uncertainty of 0.3/√3, and twice that is told."""
    monkeypatch.setattr(planned, "derivatives", lambda *_: {NAME: {}})
    needed = SimpleNamespace(lengths={"centres": 250.0, "overall": 258.0}, along_doubt=array(0.3))
    order: Any = SimpleNamespace(
        required=needed,
        impossible=(),
        budget=None,
        convention="centres",
        train=SimpleNamespace(name=NAME),
        is_estimate=False,
    )
    found = planned.of_pushrod(order, "overall", {}, {}, {})
    assert found.value == 258.0
    assert found.doubt == pytest.approx(2 * 0.3 / np.sqrt(3.0))


def test_the_lobe_moves_a_lift_that_nothing_else_of_it_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    """A gear of a ratio of 1.5; the cam moves the lobe's lift by 2 mm to a unit, the gear's own part by 0.5."""
    monkeypatch.setattr(bench_checks, "derivatives", lambda *_: {"reading.0": {"both": 0.5}})
    monkeypatch.setattr(bench_checks, "by_the_cam", lambda *_: ({"both": 2.0, "noise": 2.0}, []))
    placed = SimpleNamespace(lift=lambda _: array(4.0))
    gear = SimpleNamespace(lobe=SimpleNamespace(placed=placed, card=None), at_lobe=lambda lift: 1.5 * lift)
    here: Any = SimpleNamespace(lifts={NAME: gear})
    one = Check("reading.0", "lift", NAME, "reading.0.value")
    found = bench_checks._of_lift(one, {}, here, Tables(), {}, {})
    assert found == pytest.approx({"both": 3.5, "noise": 3.0})


@pytest.mark.parametrize(
    ("from_closed", "turns", "doubt", "undoubted"), [(True, 7.0, 0.5, ("a",)), (False, 2.0, 0.0, ())]
)
def test_turns_from_closed_are_as_sure_as_the_length(
    from_closed: bool, turns: float, doubt: float, undoubted: tuple[str, ...]
) -> None:
    """A length known within 0.4 mm and a thread of 0.8 mm; zero lash is felt."""
    offer: Any = SimpleNamespace(turns=7.0, flats=42, turns_from_zero_lash=2.0, flats_from_zero_lash=12)
    order: Any = SimpleNamespace(budget=Budget(0.2, {}, ("a",)))
    found = planned.of_shelf(offer, order, 0.8, False, from_closed)
    assert (found.value, found.undoubted) == (turns, undoubted)
    assert found.doubt == pytest.approx(doubt)


# Remedies


def a_case(**more: Any) -> Any:
    steps = SimpleNamespace(length=0.1, angle=0.01)
    here = SimpleNamespace(cylinder="one")
    return SimpleNamespace(**{"name": "a", "mapping": {}, "steps": steps, "here": here, "now": -0.45, **more})


def test_a_pocket_is_widened_to_its_room_in_whole_steps() -> None:
    def over(mapping: dict[str, float]) -> Any:
        return SimpleNamespace(
            least_wall=lambda: SimpleNamespace(value=(mapping["a.pocket.diameter"] - 40.0) / 2)
        )

    mapping: Any = {"a.pocket.diameter": 40.0, "targets.wall": 1.27}
    assert remedy_pocket._wide_enough(a_case(over=over), mapping) == pytest.approx(
        {"a.pocket.diameter": 42.6}
    )
    enough: Any = {**mapping, "a.pocket.diameter": 43.0}
    assert remedy_pocket._wide_enough(a_case(over=over), enough) == {}


@pytest.mark.parametrize("clear_at", [0.2001, 0.2043, 0.2086])
def test_a_cutter_leaves_room_for_a_head_up_to_where_it_comes_clear(clear_at: float) -> None:
    """A head that leans by 0.1 rad and stays closed, its piston falling by 100 mm times the crank angle squared."""
    stem = array([np.sin(0.1), 0.0, np.cos(0.1)])
    high = 20.0 * np.sin(0.1) + 100.0 * clear_at**2  # of the upper side above the face's middle, there
    over: Any = SimpleNamespace(
        head=SimpleNamespace(stem=stem, centre=array([0.0, 0.0, 1.5 - high]), radius=array(20.0)),
        descent=lambda crank: 100.0 * crank**2,
        lift=SimpleNamespace(at=np.zeros_like),
        below=SimpleNamespace(crown=SimpleNamespace(top=0.0)),
    )
    short = SimpleNamespace(target=SimpleNamespace(least=1.5))
    found = remedy_pocket._beside_head(a_case(mapping={}, short=short), over)
    needed = 1.5 + 100.0 * clear_at**2 * np.sin(0.1)
    half_a_degree = 100.0 * ((clear_at + np.radians(0.5)) ** 2 - clear_at**2) * np.sin(0.1)
    assert needed <= found <= needed + half_a_degree


@pytest.fixture
def no_metal(monkeypatch: pytest.MonkeyPatch) -> None:
    left = SimpleNamespace(lacks=())
    monkeypatch.setattr(remedy_pocket, "metal", lambda *_: left)


@pytest.mark.usefixtures("no_metal")
def test_the_deepest_pocket_is_told_where_none_is_deep_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(remedy_pocket, "solved", lambda *_: None)
    monkeypatch.setattr(remedy_pocket, "_beside", lambda *_: None)
    case = a_case(mapping={"a.pocket.diameter": 40.0})
    found = remedy_pocket._cut(case, 5.0, {})
    assert found.why_not == "no pocket up to 17 mm deep is enough"


@pytest.mark.usefixtures("no_metal")
@pytest.mark.parametrize(("what", "deeper"), [("drop", 0.3), ("gap", 0.4)])
def test_a_cut_along_the_stem_gives_the_drop_itself_and_the_gap_its_share(what: str, deeper: float) -> None:
    measured = SimpleNamespace(lean=array(np.arccos(LEVER)), meets="pocket")
    over: Any = SimpleNamespace(reading=SimpleNamespace(measured=measured))
    short = SimpleNamespace(what=what, value=1.0)
    found = remedy_pocket._by_stem(a_case(short=short, pumped=None, spare=lambda _: -0.3), over)
    assert found.change == pytest.approx(deeper)
    assert found.gives == pytest.approx(1.3)


def test_less_preload_is_what_there_was_less_the_change(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(by_piston, "solved", lambda *_: -0.3)
    short = SimpleNamespace(value=2.0, target=SimpleNamespace(least=1.0))
    mapping = {"a.lifter.preload": 1.0}
    found = by_piston._preload(
        a_case(mapping=mapping, pumped=0.1, short=short, over=lambda _: None, gives=lambda _: 2.0)
    )
    assert found is not None
    assert (found.change, found.value) == pytest.approx((-0.3, 0.7))
    assert found.mapping == pytest.approx({"a.lifter.preload": 0.7})


class _Sloped:
    """A valve whose lift is a straight line over the crank."""

    def __init__(self, slope: float, by: float = 0.0) -> None:
        self.slope, self.by, self.lift = slope, by, self

    def at(self, angle: Array) -> Array:
        return 5.0 + self.slope * (angle + self.by)

    def advanced(self, by: float) -> _Sloped:
        return _Sloped(self.slope, by)

    def _replace(self, lift: _Sloped) -> _Sloped:
        return lift


def test_timing_tells_the_least_of_several_drops(monkeypatch: pytest.MonkeyPatch) -> None:
    drops = Minimum(1.0, 0.2), Minimum(2.0, -0.3)
    monkeypatch.setattr(timing, "nearest", lambda _: (drops, None))
    over = _Sloped(0.0)
    here: Any = SimpleNamespace(valves={NAME: over}, heads_apart=lambda: None)
    (row,) = timing.against_timing({"one": here}, [0.1])
    assert row.piston == {NAME: 1.0}


@pytest.mark.parametrize(("slope", "way"), [(10.0, -1.0), (-10.0, 1.0)])
def test_timing_goes_the_way_that_lets_the_valve_down_late_or_up_early(slope: float, way: float) -> None:
    short = SimpleNamespace(angle=0.1, value=1.0, target=SimpleNamespace(least=1.5))
    over = _Sloped(slope)
    found = by_piston._timing(
        a_case(
            short=short,
            over=lambda *_: over,
            spare=lambda one: -0.45 - one.slope * one.by,
            gives=lambda _: 1.5,
            cam=SimpleNamespace(advance=0.0),
        )
    )
    assert found.change == pytest.approx(0.05 * way)


@pytest.mark.parametrize(("slope", "first"), [(10.0, -0.05), (-10.0, 0.05), (0.1, -1.0)])
def test_timing_is_first_tried_by_what_lacks_over_how_fast_the_valve_moves(
    slope: float, first: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a millimetre lacks; a valve that hardly moves counts as one that moves by 0.5 mm a radian."""
    tried: list[float] = []
    monkeypatch.setattr(by_piston, "solve", lambda _, guess, *__: tried.append(guess))
    short = SimpleNamespace(angle=0.1, value=1.0, target=SimpleNamespace(least=1.5))
    assert by_piston._timing(a_case(short=short, over=lambda: _Sloped(slope))).change is None
    assert tried == pytest.approx([first])


def test_a_lobes_lift_then_is_what_it_was_less_the_change(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(remedy_room, "solve", lambda *_: -0.5)
    monkeypatch.setattr(remedy_room, "_apart", lambda *_: 1.2)
    lobe = SimpleNamespace(name="cam", peak=(0.0, 8.0))
    here: Any = SimpleNamespace(lifts={NAME: SimpleNamespace(lobe=lobe)})
    short: Any = SimpleNamespace(value=1.0, target=SimpleNamespace(least=1.2))
    found = remedy_room._lift(here, NAME, short, Steps(0.1, 0.01))
    assert (found.change, found.value, found.gives, found.scale) == (-0.5, 7.5, 1.2, 0.9375)


def test_a_valve_that_is_not_over_its_piston_has_no_room_to_spare() -> None:
    case = Case(*[cast("Any", None)] * 8)
    nowhere: Any = SimpleNamespace(least_drop=lambda: ())
    assert case.spare(None) == -np.inf
    assert case.spare(nowhere) == -np.inf


@pytest.mark.parametrize(("after", "change"), [(1.3, -0.7), (2.5, 0.5)])
def test_two_valves_come_nearer_by_the_difference(
    after: float, change: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(remedy_effects, "least_between", lambda value, _, **__: Minimum(value, 0.0))

    def valves(value: float) -> Any:
        return SimpleNamespace(cylinder="one", heads_apart=lambda: (value, None))

    (found,) = remedy_effects._between({}, valves(2.0), valves(after), {}, SimpleNamespace(change=1.0))
    assert (found.change, found.value) == (pytest.approx(change), after)


@pytest.mark.parametrize("after", [260.2, 259.7, 260.0001])
def test_a_pushrod_changes_by_the_difference_unless_that_is_nothing(
    after: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    def engine(length: float) -> Any:
        return SimpleNamespace(trains=(SimpleNamespace(cylinder="one", name=NAME),), train=lambda _: length)

    monkeypatch.setattr(remedy_effects, "build", engine)
    monkeypatch.setattr(remedy_effects, "required", lambda one: SimpleNamespace(lengths={"overall": one}))
    monkeypatch.setattr(remedy_effects, "ordering_convention", lambda *_: "overall")
    before: Any = 260.0
    then: Any = after
    found = remedy_effects._pushrods(before, then, "one")
    told = [] if after == 260.0001 else [(pytest.approx(after - 260.0), after)]
    assert [(one.change, one.value) for one in found] == told


def test_without_a_doubt_a_clearance_then_is_short_or_unproved() -> None:
    remedy: Any = SimpleNamespace(change=1.0)
    for value, verdict in ((0.9, Verdict.SHORT), (1.1, Verdict.UNPROVED)):
        effect = remedy_effects.Effect("piston", NAME, 0.5, value, None)
        assert remedy_effects._judged(effect, 1.0, None, remedy).verdict is verdict


def test_a_lobe_is_first_tried_an_eighth_of_a_radian_later_for_each_mm_that_lacks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried: list[float] = []
    monkeypatch.setattr(remedy_room, "solve", lambda _, guess, *__: tried.append(guess))
    here: Any = SimpleNamespace(lifts={NAME: SimpleNamespace(lobe=SimpleNamespace(name="cam"))})
    short: Any = SimpleNamespace(value=1.0, target=SimpleNamespace(least=1.5))
    assert remedy_room._centreline({}, here, NAME, short, Steps(0.1, 0.01)).change is None
    assert tried == pytest.approx([0.0625])


@pytest.mark.parametrize("guess", [0.0, np.nan, -np.inf])
def test_a_change_without_a_guess_is_first_tried_at_a_quarter_of_the_most(guess: float) -> None:
    """From steps of a hundredth of a µm it would not come to 3 mm in all its tries."""
    found = solve(lambda by: 1.0 if by <= -3.0 else -1.0, guess, -8.0, 1e-5)
    assert found == pytest.approx(-3.0, abs=1e-3)


# Fits


@pytest.mark.parametrize(
    ("there", "kind", "said"),
    [(0.1, "lash", ""), (0.1, "preload", ""), (0.0, "lash", "held off its seat"), (-0.1, "preload", "slack")],
)
def test_what_is_left_hot(there: float, kind: str, said: str) -> None:
    found = heat._held_open(array(there), kind)
    assert said in found
    assert bool(found) == bool(said)


def test_moduli_are_in_whole_giga_pascals_and_strengths_in_fives() -> None:
    for one in MATERIALS.values():
        assert one.modulus % 1000.0 == 0.0
        assert one.strength % 5.0 == 0.0
        assert one.expansion * 1e7 == pytest.approx(round(one.expansion * 1e7))


@pytest.mark.parametrize(("free", "height", "rate"), [(50.0, 43.0, 100.0 / 7.0), (50.0, 10.0, 2.5)])
def test_a_spring_is_as_stiff_as_its_force_over_what_it_was_pressed_by(
    free: float, height: float, rate: float
) -> None:
    found, _ = springs._rate(Reader({"force": 100.0, "free_length": free, "force_at": height}, ("",)))
    assert float(found) == pytest.approx(rate)


@pytest.mark.parametrize(("slope", "undoubted"), [(1e-4, ()), (1e-3, ("piston.mass",))])
def test_a_mass_without_a_doubt_matters_where_a_hundredth_of_it_does(
    slope: float, undoubted: tuple[str, ...]
) -> None:
    """Of 400 g that is 4 g: they move the figure by 0.4 or 4 thousandths, of which one is enough."""
    found = judging.judge_figure(
        {"piston.mass": 400.0}, "x", Figure(array(1.0), "mm"), {"piston.mass": slope}, {}
    )
    assert found.budget.undoubted == undoubted


def test_a_tube_has_its_room_at_rest_where_nothing_lifts(job: JobFile) -> None:
    mapping: Any = {**job.mapping, f"{NAME}.tube.inner_diameter": 16.0, f"{NAME}.pushrod.diameter": 8.0}
    for end, (x, y, z) in {"low": (-20.0, 56.0, 20.0), "high": (-19.0, 52.0, -10.0)}.items():
        mapping |= {f"{NAME}.tube.seat_{end}.{axis}": at for axis, at in zip("xyz", (x, y, z), strict=True)}
    found = tubes.tube_room(mapping, NAME, 0.0)
    assert not isinstance(found, Lacking)
    assert float(found["tube_room_at_rest"].value) == float(found["tube_room"].value)
    lifted = tubes.tube_room(mapping, NAME, 8.0)
    assert not isinstance(lifted, Lacking)
    assert float(lifted["tube_room"].value) < float(lifted["tube_room_at_rest"].value)


TUBE: Any = {
    f"{NAME}.tube.inner_diameter": 16.0,
    f"{NAME}.pushrod.diameter": 8.0,
    **{f"{NAME}.tube.seat_low.{axis}": at for axis, at in zip("xyz", (-20.0, 56.0, 20.0), strict=True)},
    **{f"{NAME}.tube.seat_high.{axis}": at for axis, at in zip("xyz", (-19.0, 52.0, -10.0), strict=True)},
}


def test_a_solid_lifter_without_lash_stands_as_a_hydraulic_one_at_its_stop(job: JobFile) -> None:
    lifter = f"{NAME}.lifter"
    found = [
        tubes.tube_room({**job.mapping, **TUBE, **more}, NAME, 8.0)
        for more in (
            {f"{lifter}.kind": "solid", f"{lifter}.lash": 0.0, f"{lifter}.lash_at": "valve"},
            {f"{lifter}.kind": "hydraulic", f"{lifter}.preload": 0.0},
        )
    ]
    rooms = [{key: float(one.value) for key, one in each.items()} for each in found if isinstance(each, dict)]
    assert rooms[0] == pytest.approx(rooms[1])


@pytest.mark.parametrize("drawn", [True, False])
def test_a_tube_lacks_the_setting_where_the_gear_is_drawn(job: JobFile, drawn: bool) -> None:
    left_out = {f"{NAME}.lifter.preload"} | (set() if drawn else {f"{NAME}.rocker.valve_arm"})
    found = tubes.tube_room(
        {path: value for path, value in {**job.mapping, **TUBE}.items() if path not in left_out}, NAME, 8.0
    )
    assert isinstance(found, Lacking)
    assert found.entries == (f"{NAME}.lifter.preload" if drawn else f"{NAME}.rocker.valve_arm",)


@pytest.mark.parametrize("at", [0.0, 0.2, 0.5, 0.7, 1.0])
def test_golden_cuts_close_in_from_either_side(at: float) -> None:
    found = spigot._golden(lambda share: np.abs(share - at), (1,), spigot.FINE)
    assert found == pytest.approx([0.0], abs=1e-6)


def test_a_relief_grows_as_far_to_the_sides_as_up(monkeypatch: pytest.MonkeyPatch) -> None:
    begun = spigot.Relief(0.0, 0.2, 3.0)
    body = SimpleNamespace(distance=lambda seen: np.zeros(seen.shape[:-1]))
    fitted: Any = SimpleNamespace(piston=lambda _: body, rod=lambda _: body)
    rooms = iter([0.1, 0.2, 2.0])
    monkeypatch.setattr(drop_on, "relief_around", lambda *_: begun)
    monkeypatch.setattr(drop_on, "clearance", lambda *_: array([next(rooms)]))
    lowered = spigot.Spigot(50.0, 53.0, 80.0, 120.0, (), 0.0, 0.0)
    found = drop_on._relief(fitted, lowered, 0.0, 1.0)
    assert found is not None
    up, aside = found.height - begun.height, (found.half - begun.half) * lowered.inner
    assert up > 0
    assert aside == pytest.approx(up)


def test_windows_are_whole_across_bottom_centre(monkeypatch: pytest.MonkeyPatch) -> None:
    """Clear from 350 degrees of the row to its 10th, and from the 100th to the 120th."""
    monkeypatch.setattr(drop_on, "_closed_in", lambda _, __, clear, *___: clear)
    angles = np.linspace(-np.pi, np.pi, drop_on.ROW)
    gaps = np.full(drop_on.ROW, -1.0)
    gaps[[*range(350, 361), *range(11), *range(100, 121)]] = 1.0
    nothing: Any = None
    found = drop_on._windows(nothing, nothing, angles, gaps, 0.0)
    ends = [(angles[100], angles[120]), (angles[350], angles[10] + 2 * np.pi)]
    assert [(one.begins, one.ends) for one in found] == [pytest.approx(one) for one in ends]


@pytest.mark.parametrize("deck", [0.3, 0.0, -0.3])
def test_the_gasket_for_a_squish_makes_up_for_a_piston_that_stands_out(deck: float) -> None:
    """Where the crown plane is 239 mm above the crank."""
    mapping: Any = {
        **PLAIN_ENGINE,
        "stack.case_deck": 239.0 - 100.5 + deck,
        "targets.squish_least": 1.2,
        "targets.squish_most": 1.5,
    }
    found = volume.squish(mapping, "one")
    assert not isinstance(found, Lacking)
    assert float(found["squish"].value) == pytest.approx(1.0 + deck)
    assert float(found["gasket_for_squish_least"].value) == pytest.approx(1.2 - deck)
    assert float(found["gasket_for_squish_most"].value) == pytest.approx(1.5 - deck)


def test_a_valve_leaves_a_harmonic_lobe_at_its_nose_wherever_that_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A lobe of 4·(1 + cos), its nose three quarters of a turn on; a valve that opens by s + s³/1000.

    At the nose nothing moves: ω² is spring force times h' over (M + m·h'²) times 4 mm; h is 8.512 mm and h' 1.192.
    """
    nose = 1.5 * np.pi
    lobe = SimpleNamespace(
        lift=lambda turn: 4.0 * (1.0 + np.cos(turn - nose)),
        velocity=lambda turn: -4.0 * np.sin(turn - nose),
        acceleration=lambda turn: -4.0 * np.cos(turn - nose),
    )
    lift = SimpleNamespace(at_lobe=lambda risen: risen + risen**3 / 1000.0)
    monkeypatch.setattr(springs, "ValveLift", SimpleNamespace)
    monkeypatch.setattr(springs, "valve_lift", lambda *_: lift)
    monkeypatch.setattr(springs, "train_of", lambda *_: None)
    one = springs.Spring(array(5.0), array(46.0), array(106.0), None, "", "")
    monkeypatch.setattr(springs, "springs_of", lambda *_: (one,))
    monkeypatch.setattr(springs, "masses_of", lambda *_: springs.Masses(array(0.2), array(0.3)))
    on_cam: Any = SimpleNamespace(
        at_valve=False,
        name="one",
        source="table",
        peak=(nose, 8.0),
        placed=SimpleNamespace(lobe=lobe, at=1.9, middle=nose - 0.1),
        card=None,
        carried=None,
        gear=None,
    )
    found = springs.leaves_the_cam({}, NAME, on_cam)
    assert not isinstance(found, Lacking)
    force, slope = 5.0 * (60.0 + 8.512), 1.192
    cam = np.sqrt(force * slope * 1000.0 / ((0.3 + 0.2 * slope**2) * 4.0))
    assert float(found["leaves_the_cam"].value) == pytest.approx(2 * cam * 60 / (2 * np.pi), rel=1e-7)
    assert found["leaves_the_cam"].at == pytest.approx(1.9 + 2 * 0.1)
