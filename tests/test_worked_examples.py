"""The worked examples' expected answers, worked out a second way from what the job files say.

Pushrods by coordinates: general root finding on the raw loop (`oracles/raw_loop`). By the bench route: plain
arithmetic on the typed numbers, with fractions for the units. Clearances: by looking everywhere, at every
crank angle and every point of valve and piston (below); from a dial reading, plain arithmetic on a lobe that
is known exactly. Hot lash: the raw loop with every part grown as its table says. Lowering a cylinder: a collision library at every
crank angle. All share no code with the answers.

Figures, measured on two cores with CPython 3.11:

- least clearances of three worked examples against an independent march along stem and crank angle: within 1e-4
  mm, one at a pocket's edge 0.001 mm; limit: 0.01 mm
- hot lash of a worked example against the raw loop with every part grown by hand: within 1e-6 mm; limit: 0.01 mm
"""

from __future__ import annotations

import json
import math
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cache, partial
from pathlib import Path
from shutil import copytree
from typing import Any, NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.clearance.clearances import clearances

from .commands import EXAMPLES, tallstack
from .known_lobes import rise_4567
from .oracles import grown_loop, raw_loop, spigot_mesh
from .seeded import few

Array = NDArray[np.float64]

FOLDERS = sorted(
    path.parent for path in EXAMPLES.glob("*/job.toml")
)  # the others are chapters, whose page is all
CLOSE_MM = 0.002  # expected answers are written to 0.01 mm; half of that is for rounding
INCH = Fraction(254, 10)


def expected_of(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "expected.json").read_text(encoding="utf-8"))
    return found


WITH_PUSHRODS = [folder for folder in FOLDERS if "overall_mm" in expected_of(folder)]
WITH_CLEARANCES = [folder for folder in FOLDERS if "clearances" in expected_of(folder)]
HOT = EXAMPLES / "hot_lash_lost"
LOWERED = EXAMPLES / "which_cylinder_first"
READINGS = EXAMPLES / "cam_known_from_36_readings"


def millimetres(typed: object, units: str) -> float:
    """Return a typed length in mm."""
    text = str(typed).split("+/-")[0].strip() if isinstance(typed, str) else str(typed)
    inches = units == "in" or "in" in str(typed)
    number = text.removesuffix("in").removesuffix("mm").strip()
    whole, _, fraction = number.rpartition(" ") if "/" in number else (number, "", "0")
    return float((Fraction(whole or 0) + Fraction(fraction)) * (INCH if inches else 1))


def plain(typed: object) -> float:
    return float(str(typed).split("+/-")[0])


def beyond(ends: dict[str, Any], convention: str, gauge: object, units: str) -> float:
    """Return what both ball ends add to the length between centres."""
    total = 0.0
    for side in ("low", "high"):
        radius = millimetres(ends[f"ball_diameter_{side}"], units) / 2
        flat = {"overall": ends[f"hole_{side}"], "gauge": gauge}.get(convention)
        total += radius if flat is None else math.sqrt(radius**2 - (millimetres(flat, units) / 2) ** 2)
    return total


def by_hand(document: dict[str, Any], cylinder: str, train: dict[str, Any]) -> float:
    """Return the overall length that a bench reading asks for, as one would on a box lid."""
    units = document["units"]
    first = document["train"][0]
    lifter = {**first.get("lifter", {}), **train.get("lifter", {})}
    ends = {**first.get("pushrod", {}), **train.get("pushrod", {})}
    read = train["measured_pushrod"]
    if "checking_rod" in read:
        rod = read["checking_rod"]
        length = millimetres(rod["closed"], units) + plain(rod["turns"]) * 25.4 / rod["threads_per_inch"]
    else:
        length = millimetres(read["length"], units)
    if "stack" not in read:  # read on this very stack: only the lash is left to take off
        rocker = train["rocker"]
        ratio = plain(rocker["valve_arm"]) / plain(rocker["pushrod_arm"])
        return length - millimetres(lifter["lash"], units) / ratio
    own = next(one for one in document["cylinder"] if one["name"] == cylinder).get("stack", {})
    now = {**document["stack"], **own}
    grown = sum(
        millimetres(now[part], units) - millimetres(before, units) for part, before in read["stack"].items()
    )
    centres = length - beyond(ends, read["as"], ends.get("gauge"), units)
    lean = math.radians(plain(read["lean"]))
    taller = math.hypot(centres * math.sin(lean), centres * math.cos(lean) + grown)
    down = (
        millimetres(lifter["preload"], units)
        if lifter["kind"] == "hydraulic"
        else -lash_at_pushrod(lifter, {**first.get("rocker", {}), **train.get("rocker", {})}, units)
    )
    return taller + down + beyond(ends, "overall", None, units)


def lash_at_pushrod(lifter: dict[str, Any], rocker: dict[str, Any], units: str) -> float:
    """Return the lash that is wanted at the valve, as it is at the pushrod."""
    return millimetres(lifter["lash"], units) / plain(rocker["ratio"])


@pytest.mark.parametrize("folder", WITH_PUSHRODS, ids=lambda folder: folder.name)
def test_expected_answers(folder: Path) -> None:
    expected = expected_of(folder)["overall_mm"]
    rows = tallstack("pushrods", folder / "job.toml", "--json").json["pushrods"]
    assert {row["train"] for row in rows} == expected.keys()
    for row in rows:
        assert row["overall_mm"] == pytest.approx(expected[row["train"]], abs=0.005 + CLOSE_MM)


@pytest.mark.parametrize("folder", WITH_PUSHRODS, ids=lambda folder: folder.name)
def test_expected_answers_a_second_way(folder: Path) -> None:
    expected = expected_of(folder)["overall_mm"]
    path = folder / "job.toml"
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    for train in document["train"]:
        name = f"{train['cylinder']}.{train['port']}"
        if "measured_pushrod" in train:
            again = by_hand(document, train["cylinder"], train)
        else:
            job = load(path)
            ends = {
                key: job.mapping[f"{name}.pushrod.{key}"]
                for key in ("ball_diameter_low", "hole_low", "ball_diameter_high", "hole_high")
            }
            again = raw_loop.length(job.mapping, name) + beyond(ends, "overall", None, "mm")
        assert again == pytest.approx(expected[name], abs=0.005 + CLOSE_MM), name


@pytest.mark.parametrize("folder", few(FOLDERS, 4), ids=lambda folder: folder.name)
def test_every_folder_is_whole(folder: Path) -> None:
    assert {"page.md", "job.toml", "expected.json"} <= {path.name for path in folder.iterdir()}
    assert tallstack("check", folder / "job.toml").status == 0


def test_what_has_no_job_is_a_chapter_and_nothing_but_its_page() -> None:
    for folder in {path for path in EXAMPLES.iterdir() if path.is_dir()} - {*FOLDERS}:
        page = (folder / "page.md").read_text(encoding="utf-8")
        pictures = re.findall(r"!\[[^]]*\]\(([\w-]+\.png)\)", page)  # as a browser shows them
        assert sorted(path.name for path in folder.iterdir()) == sorted(["page.md", *pictures]), folder


def test_the_two_routes_of_one_engine_agree_within_the_stated_doubt() -> None:
    bench, coordinates = (
        {
            row["train"]: row
            for row in tallstack("pushrods", EXAMPLES / name / "job.toml", "--json").json["pushrods"]
        }
        for name in ("taller_twin_by_bench", "taller_twin_by_coordinates")
    )
    assert bench.keys() == coordinates.keys()
    for name, row in bench.items():
        assert abs(row["overall_mm"] - coordinates[name]["overall_mm"]) < row["doubt_mm"]


# Clearances, by looking everywhere. Cylinder axes, z from the crown plane at the piston's highest point; the
# piston stands still and the heads rise over it by what it has gone down. Millimetres; crank degrees.

Flat = Mapping[str, Any]


class Disc(NamedTuple):
    """A valve's head where it stands, or the floor of a pocket."""

    centre: Array
    axis: Array  # unit: along the stem, or out of the crown
    radius: float
    margin: float = 0.0

    def ring(self, count: int, share: float = 1.0, up: float = 0.0) -> Array:
        """Return points on a ring of the face, or above it."""
        across = np.cross(self.axis, [0.0, 1.0, 0.0])
        across /= np.linalg.norm(across)
        turn = np.linspace(0, 2 * np.pi, count, endpoint=False)[:, None]
        around = np.cos(turn) * across + np.sin(turn) * np.cross(self.axis, across)
        return self.centre + up * self.axis + share * self.radius * around

    def far(self, seen: Array) -> Array:
        """Return how far points are from the disc, or from the short cylinder it is with its margin."""
        along = (seen - self.centre) @ self.axis
        out = np.sqrt(np.maximum(((seen - self.centre) ** 2).sum(axis=-1) - along**2, 0.0))
        above = np.maximum(np.maximum(-along, along - self.margin), 0.0)
        return np.hypot(above, np.maximum(out - self.radius, 0.0))

    def over(self, seen: Array) -> NDArray[np.bool_]:
        """Say which points lie in the endless cylinder that stands on the disc."""
        along = (seen - self.centre) @ self.axis
        out = ((seen - self.centre) ** 2).sum(axis=-1) - along**2
        return (along > 1e-9) & (out < self.radius**2 - 1e-9)


def leaning(mapping: Flat, entry: str) -> Array:
    found = np.array([math.tan(mapping[f"{entry}.x"]), math.tan(mapping[f"{entry}.y"]), 1.0])
    return found / np.linalg.norm(found)


def lifted(mapping: Flat, train: str, crank: float, pumped: bool = False) -> float:
    """Return how far a valve is lifted, by a 4-5-6-7 lobe and a rocker of one ratio."""
    port = train.split(".")[1]
    law = {part: mapping[f"lobe.{port}.law.{part}"] for part in ("name", "peak", "degrees")}
    assert law["name"] == "4-5-6-7"
    nose = math.degrees(mapping[f"lobe.{port}.centreline"]) * (1 if port == "intake" else -1)
    away = abs((crank - nose + 360) % 720 - 360)
    lobe = law["peak"] * float(rise_4567(np.array(1 - 2 * away / math.degrees(law["degrees"]))))
    ratio = mapping[f"{train}.rocker.ratio"]
    if mapping[f"{train}.lifter.kind"] == "solid":
        assert mapping[f"{train}.lifter.lash_at"] == "valve"
        return max(lobe * ratio - mapping[f"{train}.lifter.lash"], 0.0)
    return (lobe + (mapping[f"{train}.lifter.preload"] if pumped else 0.0)) * ratio


def gone_down(mapping: Flat, crank: float) -> float:
    """Return how far a piston with a central pin stands below its highest point."""
    assert mapping.get("piston.pin_offset", 0.0) == 0
    throw, rod = mapping["crank.stroke"] / 2, mapping["crank.conrod_length"]
    turned = math.radians(crank)
    return throw + rod - throw * math.cos(turned) - math.sqrt(rod**2 - (throw * math.sin(turned)) ** 2)


def head(mapping: Flat, train: str, crank: float, pumped: bool = False) -> Disc:
    """Return a valve's head at a crank angle."""
    stack = [mapping[f"stack.{part}"] for part in ("case_deck", "base_gasket", "cylinder", "head_gasket")]
    cut = mapping["stack.case_cut"] + mapping["stack.head_cut"]
    crown = (
        mapping["crank.stroke"] / 2 + mapping["crank.conrod_length"] + mapping["piston.compression_height"]
    )
    face = np.array([mapping[f"{train}.valve.face.{axis}"] for axis in "xyz"])
    face[2] += sum(stack) - cut - crown + gone_down(mapping, crank)
    stem = leaning(mapping, f"{train}.valve.lean")
    return Disc(
        face - lifted(mapping, train, crank, pumped) * stem,
        stem,
        mapping[f"{train}.valve.head_diameter"] / 2,
        mapping[f"{train}.valve.margin"],
    )


def floors(mapping: Flat) -> list[Disc]:
    """Return the floor of every pocket: its lowest point `depth` below the crown plane."""
    found = []
    for path in mapping:
        if path.endswith(".pocket.depth"):
            cut = path.removesuffix(".depth")
            axis, radius = leaning(mapping, f"{cut}.lean"), mapping[f"{cut}.diameter"] / 2
            middle = -mapping[path] + radius * math.hypot(axis[0], axis[1])
            foot = np.array([mapping[f"{cut}.centre.x"], mapping[f"{cut}.centre.y"], 0.0])
            found.append(Disc(foot + middle / axis[2] * axis, axis, radius))
    return found


def metal(cuts: Sequence[Disc], seen: Array) -> NDArray[np.bool_]:
    """Say which points lie inside the piston."""
    solid: NDArray[np.bool_] = seen[..., 2] < -1e-9
    for one in cuts:
        solid = solid & ~one.over(seen)
    return solid


def drop(cuts: Sequence[Disc], valve: Disc) -> float:
    """Return how far a head goes along its stem before one of its points is in metal, tenth by tenth; 12 at most."""
    points = np.concatenate([valve.ring(720), valve.ring(90, 0.7), valve.ring(90, 0.4)])
    ways = np.arange(0.0, 12.0, 0.1)
    met = metal(cuts, points[:, None] - ways[:, None] * valve.axis)
    first = np.where(met.any(axis=1), met.argmax(axis=1), len(ways) - 1)
    near = first <= first.min()
    high = ways[first[near]]
    low = high - 0.1
    for _ in range(20):
        middle = (low + high) / 2
        inside = metal(cuts, points[near] - middle[:, None] * valve.axis)
        low, high = np.where(inside, low, middle), np.where(inside, middle, high)
    return float(high.min())


Patch = tuple[Callable[[Array, Array], Array], tuple[float, float], tuple[float, float]]


def patches(cuts: Sequence[Disc], bore: float) -> Iterator[Patch]:
    """Yield the crown plane, with floor and wall of every pocket, each over two numbers."""
    yield (lambda x, y: np.stack([x, y, 0 * x], axis=-1)), (-bore / 2, bore / 2), (-bore / 2, bore / 2)
    for one in cuts:
        across = np.cross(one.axis, [0.0, 1.0, 0.0])
        across /= np.linalg.norm(across)
        aside = np.cross(one.axis, across)

        def at(out: Array, turn: Array, up: Array, one=one, across=across, aside=aside) -> Array:  # type: ignore[no-untyped-def]
            around = np.cos(turn)[..., None] * across + np.sin(turn)[..., None] * aside
            return one.centre + out[..., None] * around + up[..., None] * one.axis  # type: ignore[no-any-return]

        yield (lambda out, turn, at=at: at(out, turn, 0 * out)), (0.0, one.radius), (0.0, 2 * np.pi)
        yield (
            (lambda turn, up, at=at, one=one: at(0 * up + one.radius, turn, up)),
            (0.0, 2 * np.pi),
            (0.0, one.radius),
        )


def gap(cuts: Sequence[Disc], valve: Disc, bore: float) -> float:
    """Return the least distance from a valve's face to the piston's surface, looked at closer and closer."""
    face = valve._replace(margin=0.0)
    nearest = math.inf
    for surface, first, second in patches(cuts, bore):
        ends = np.array([first, second])
        middle, half = ends.mean(axis=1), (ends[:, 1] - ends[:, 0]) / 2
        for count in (81, 31, 31, 31, 31, 31, 31):
            low, high = np.maximum(middle - half, ends[:, 0]), np.minimum(middle + half, ends[:, 1])
            u, v = np.meshgrid(*np.linspace(low, high, count).T, indexing="ij")
            seen = surface(u, v)
            there = seen[..., 2] <= 1e-9
            for cut in cuts:
                there = there & ~cut.over(seen)
            far = np.where(there, face.far(seen), np.inf)
            at = np.unravel_index(int(far.argmin()), far.shape)
            nearest = min(nearest, float(far[at]))
            middle, half = np.array([u[at], v[at]]), half * 0.25
    return nearest


def apart(one: Disc, other: Disc) -> float:
    """Return the least distance between two heads, from points of each to the whole of the other."""
    return min(
        float(second.far(first.ring(1440, 1.0, up * first.margin)).min())
        for first, second in ((one, other), (other, one))
        for up in (0.0, 0.25, 0.5, 0.75, 1.0)
    )


def least(value: Callable[[float], float], reach: float) -> float:
    """Return the least value over the crank angles up to a reach, from every fourth to every twentieth degree."""
    middle, found = 0.0, math.inf
    for half, step in ((reach, 4.0), (4.0, 0.5), (0.5, 0.05)):
        crank = middle + np.arange(-half, half + step / 2, step)
        values = [value(float(one)) for one in crank]
        middle, found = float(crank[int(np.argmin(values))]), min(values)
    return found


def of_piston(mapping: Flat, train: str) -> dict[str, float]:
    """Return one valve's least clearances to the piston."""
    cuts, bore = floors(mapping), mapping["stack.bore"]
    return {
        f"{train} drop": least(lambda crank: drop(cuts, head(mapping, train, crank)), 40),
        f"{train} gap": least(lambda crank: gap(cuts, head(mapping, train, crank), bore), 40),
    }


def between(mapping: Flat, trains: Sequence[str], pumped: bool = False) -> float:
    """Return the least distance between two valves."""
    return least(lambda crank: apart(*(head(mapping, one, crank, pumped) for one in trains)), 360)


def looked_for(mapping: Flat) -> dict[str, float]:
    """Return every least clearance of an engine by coordinates that has one cylinder."""
    trains = [path.removesuffix(".valve.margin") for path in mapping if path.endswith(".valve.margin")]
    found = {name: value for train in trains for name, value in of_piston(mapping, train).items()}
    found["valve to valve"] = between(mapping, trains)
    if mapping[f"{trains[0]}.lifter.kind"] == "hydraulic":
        found["valve to valve, pumped up"] = between(mapping, trains, True)
    return found


CASES = [
    pytest.param(folder, case, id=" ".join([folder.name, *case["with"]]))
    for folder in WITH_CLEARANCES
    for case in expected_of(folder)["clearances"]
]


@cache
def answered(path: Path, *words: str) -> Any:
    """Return what the command line answers; one answer is looked at by several tests."""
    return tallstack("clearance", path, "--json", *words).json


def told(folder: Path, *words: str) -> dict[str, float]:
    """Return every least clearance that the command line tells."""
    answer = answered(folder / "job.toml", *words)
    found = {
        f"{valve['train']} {what}": valve[f"{what}_mm"]
        for valve in answer["valves"]
        for what in ("drop", "gap", "drop_pumped")
    }
    for pair in answer["pairs"]:
        found["valve to valve"] = pair["valve_to_valve_mm"]
        found["valve to valve, pumped up"] = pair["valve_to_valve_pumped_mm"]
    return {name: value for name, value in found.items() if value is not None}


@pytest.mark.parametrize(("folder", "case"), CASES)
def test_expected_clearances(folder: Path, case: dict[str, Any]) -> None:
    found = told(folder, *(word for one in case["with"] for word in ("--with", one)))
    noise = NOISE_MM if folder == READINGS else 0.005 + CLOSE_MM
    for name, value in case["mm"].items():
        assert found[name] == pytest.approx(value, abs=noise), name


@pytest.mark.wide
@pytest.mark.parametrize(("folder", "case"), [one for one in CASES if one.values[0] != READINGS])
def test_expected_clearances_a_second_way(folder: Path, case: dict[str, Any]) -> None:
    again = looked_for(load(folder / "job.toml", case["with"]).mapping)
    assert again.keys() == case["mm"].keys()
    for name, value in case["mm"].items():
        assert again[name] == pytest.approx(value, abs=0.005 + CLOSE_MM), name


@pytest.mark.wide
def test_the_deeper_pocket_is_as_deep_as_it_must_be_and_no_deeper() -> None:
    path = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"
    metal_now = ("--with", "piston.crown_thickness=0.262", "--with", "piston.ring_land=0.275")
    valve = next(one for one in answered(path, *metal_now)["valves"] if one["train"] == "barrel.intake")
    cut = next(one for one in valve["remedies"] if one["kind"] == "pocket")
    depth = cut["value_mm"]
    assert cut["metal_under_mm"] == pytest.approx(0.262 * 25.4 - depth, abs=1e-6)
    assert cut["metal_to_ring_groove_mm"] == pytest.approx(0.275 * 25.4 - depth, abs=1e-6)
    enough, too_little = (
        min(of_piston(load(path, [f"barrel.intake.pocket.depth={one} mm"]).mapping, "barrel.intake").values())
        for one in (depth, depth - 0.0254)
    )
    assert too_little < valve["target_mm"] <= enough
    assert cut["gives_mm"] == pytest.approx(enough, abs=CLOSE_MM)


@pytest.mark.wide
def test_the_wider_lobe_is_as_far_from_overlap_as_it_must_be_and_no_further() -> None:
    path = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"
    (pair,) = answered(path)["pairs"]
    (turned,) = [one for one in pair["remedies"] if one["entry"] == "lobe.intake.centreline"]
    at = turned["value_deg"]
    enough, too_little = (
        between(load(path, [f"lobe.intake.centreline={one}"]).mapping, ("left.intake", "left.exhaust"))
        for one in (at, at - 0.5)
    )
    assert too_little < pair["target_mm"] <= enough
    assert turned["gives_mm"] == pytest.approx(enough, abs=CLOSE_MM)


@pytest.mark.wide
def test_turning_the_cam_moves_the_valves_against_the_piston_and_not_against_each_other() -> None:
    path = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"
    rows = answered(path, "--timing", "8")["timing"]
    assert [row["advance_deg"] for row in rows] == pytest.approx([-8, -6, -4, -2, 0, 2, 4, 6, 8])
    for row in (rows[0], rows[-1]):
        earlier = row["advance_deg"]
        again = looked_for(
            load(
                path,
                [f"lobe.intake.centreline={102 - earlier}", f"lobe.exhaust.centreline={105 + earlier}"],
            ).mapping
        )
        assert row["pairs"][0]["valve_to_valve_mm"] == pytest.approx(again["valve to valve"], abs=CLOSE_MM)
        for valve in row["valves"]:
            nearest = min(again[f"{valve['train']} drop"], again[f"{valve['train']} gap"])
            assert valve["least_mm"] == pytest.approx(nearest, abs=CLOSE_MM)
    between = [row["pairs"][0]["valve_to_valve_mm"] for row in rows]
    assert max(between) - min(between) < 1e-4


# The cam that is known only from readings, as nobody in the example knows it: the lobes that the readings
# were made from, peak in inches, half of the cam degrees that it lifts, where its nose stood on the wheel.
NOISE_IN = 0.001  # standard deviation of one reading, which was noted to half a thousandth
NOISE_MM = NOISE_IN * 25.4 * 1.55  # at the valve
LOBES = {"intake": (0.318, 84.0, 183.4), "exhaust": (0.312, 86.0, 171.7)}


def known(port: str, cam: Array) -> Array:
    """Return the lift of a lobe in inches, cam degrees from its nose: a cosine to the third power."""
    peak, half, _ = LOBES[port]
    away = np.abs((cam + 180) % 360 - 180)
    return peak * np.cos(np.pi / 2 * np.minimum(away / half, 1.0)) ** 3


def by_dial(document: dict[str, Any], port: str) -> dict[str, float]:
    """Return the least clearances that a dial reading at top centre tells, as one would on a box lid."""
    mm = partial(millimetres, units="in")
    train = next(one for one in document["train"] if one["port"] == port)
    read, first = train["measured_drop"], document["train"][0]
    throw, rod = mm(document["crank"]["stroke"]) / 2, mm(document["crank"]["conrod_length"])
    crank = np.arange(-20.0, 20.0, 0.005)
    turned = np.radians(crank)
    down = throw + rod - throw * np.cos(turned) - np.sqrt(rod**2 - (throw * np.sin(turned)) ** 2)
    parted = down + mm(document["stack"]["head_gasket"]) - mm(read["stack"]["head_gasket"])
    centreline = plain(document["lobe"][port]["centreline"]) * (1 if port == "intake" else -1)
    ratio = plain(first["rocker"]["ratio"])
    lift = 25.4 * known(port, (crank - centreline) / 2) * ratio
    cosine = math.cos(math.radians(plain(read["lean"])))
    way = cosine if read["meets"] == "pocket" else 1 / cosine
    drop = float((mm(read["drop"]) + parted * way - lift).min())
    found = {"drop": drop, "drop_pumped": drop - mm(first["lifter"]["preload"]) * ratio}
    if read["meets"] == "crown":
        found["gap"] = drop * cosine
    return {f"single.{port} {what}": value for what, value in found.items()}


def test_a_cam_from_readings_is_as_near_to_the_cam_as_its_readings_are() -> None:
    document = tomllib.loads((READINGS / "job.toml").read_text(encoding="utf-8"))
    (case,) = expected_of(READINGS)["clearances"]
    again = {**by_dial(document, "intake"), **by_dial(document, "exhaust")}
    assert again.keys() == case["mm"].keys()
    for name, value in case["mm"].items():
        assert again[name] == pytest.approx(value, abs=0.005 + CLOSE_MM), name
    rows = answered(READINGS / "job.toml")["valves"]
    for row in rows:
        assert abs(row["drop_mm"] - again[f"{row['train']} drop"]) < row["doubt_mm"]


@pytest.mark.parametrize("port", LOBES)
def test_the_readings_are_of_the_lobe_that_they_were_made_from(port: str) -> None:
    lines = (READINGS / f"{port}.csv").read_text(encoding="utf-8").splitlines()
    angle, lift = np.array([line.split(",") for line in lines[1:]], dtype=float).T
    assert angle == pytest.approx(np.arange(0, 360, 10))
    off = lift - known(port, angle - LOBES[port][2])
    assert np.abs(off).max() < 3 * NOISE_IN
    assert 0.5 * NOISE_IN < off.std() < 1.5 * NOISE_IN


def test_without_noise_the_same_readings_give_the_cam(tmp_path: Path) -> None:
    folder = tmp_path / "quiet"
    copytree(READINGS, folder)
    angle = np.arange(0, 360, 10)
    for port, (_, _, nose) in LOBES.items():
        rows = zip(angle, known(port, angle - nose), strict=True)
        text = "".join(f"{at},{lift:.7f}\n" for at, lift in rows)
        (folder / f"{port}.csv").write_text(f"angle,lift\n{text}", encoding="utf-8")
    found = told(folder)
    doubts = [[row["doubt_mm"] for row in answered(one / "job.toml")["valves"]] for one in (folder, READINGS)]
    assert all(quiet < noisy for quiet, noisy in zip(*doubts, strict=True))
    document = tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
    for port in LOBES:
        for name, value in by_dial(document, port).items():
            assert found[name] == pytest.approx(value, abs=0.01), name


# What heat does: expansions of W. D. Callister, Fundamentals of Materials Science and Engineering, Table B.6,
# millionths per kelvin; a lifter is of steel and stands on its cam, whose axis the case carries.
EXPANSIONS = {
    "aluminium": 23.6,
    "cast aluminium": 21.5,
    "grey iron": 11.4,
    "steel": 12.3,
    "stainless steel": 17.2,
}
ABOVE_CAM_MM = 70.0  # cam's axis up to the lifter's seat, where nobody read it


def hot_lash(mapping: Flat, train: str) -> float:
    """Return what is left of the lash when every part has grown."""

    def grown(part: str, material: str) -> float:
        warmer = mapping[f"running.hot_{part}"] - mapping["running.cold"]
        return float(EXPANSIONS[material] * 1e-6 * warmer)

    entered = ("case", "cylinder", "head", "valve", "rocker")
    shares = {part: grown(part, mapping[f"materials.{part}"]) for part in entered}
    shares["lifter"] = EXPANSIONS["steel"] * 1e-6 * (mapping["running.hot_case"] - mapping["running.cold"])
    shares["pushrod"] = grown("pushrod", mapping[f"{train}.pushrod.material"])
    rod = raw_loop.length(mapping, train) * (1 + shares["pushrod"])
    return raw_loop.lash(grown_loop.grown(mapping, train, shares, ABOVE_CAM_MM), train, rod).lash_mm


@pytest.mark.parametrize("case", expected_of(HOT)["hot_lash"], ids=lambda case: " ".join(case["with"]))
def test_hot_lash_two_ways(case: dict[str, Any]) -> None:
    words = [word for one in case["with"] for word in ("--with", one)]
    (row,) = tallstack("fits", HOT / "job.toml", *words, "--json").json["trains"]
    assert row["hot_lash_mm"] == pytest.approx(case["mm"], abs=0.005 + CLOSE_MM)
    again = hot_lash(load(HOT / "job.toml", case["with"]).mapping, "single.exhaust")
    assert row["hot_lash_mm"] == pytest.approx(again, abs=1e-6)


IN_LINE = EXAMPLES / "in_line_with_lash_for_hot"
BY_HAND = EXAMPLES / "twin_by_dial_and_protractor"


def shares_by_hand(document: dict[str, Any], valve_as: str = "valve") -> dict[str, float]:
    """Return by what share each part grows, from a file's own words; valve_as : whose temperature the valve has."""
    running, stuffs = document["running"], document["materials"]

    def celsius(part: str) -> float:
        value, _, unit = running[part].replace("+/-", " ").partition(" ")
        warm = float(value)
        return (warm - 32) / 1.8 if running[part].endswith("F") else warm

    made_of = {**stuffs, "pushrod": document["train"][0]["pushrod"]["material"], "lifter": "steel"}
    as_hot_as = {"lifter": "case", "valve": valve_as}
    return {
        part: EXPANSIONS[stuff] * 1e-6 * (celsius(f"hot_{as_hot_as.get(part, part)}") - celsius("cold"))
        for part, stuff in made_of.items()
    }


def lost_by_hand(document: dict[str, Any], shares: dict[str, float]) -> float:
    """Return what heat takes from a first valve gear's setting at the lifter, on a box lid [mm]."""
    units, train, stack = document["units"], document["train"][0], document["stack"]

    def of(table: str, name: str) -> float | None:
        return millimetres(train[table][name], units) if name in train[table] else None

    rod = millimetres(train["measured_pushrod"]["length"], units)
    ends = beyond(train["pushrod"], "overall", None, units)
    then = train["measured_pushrod"].get("stack", {})
    rod += sum(millimetres(stack[part], units) - millimetres(one, units) for part, one in then.items()) - ends
    if train["lifter"]["kind"] == "hydraulic":
        rod += millimetres(train["lifter"]["preload"], units)
    high = {part: millimetres(stack[part], units) for part in ("base_gasket", "cylinder", "head_gasket")}
    below, ratio = of("lifter", "below_deck"), plain(train["rocker"]["ratio_at_seat"])
    assert below is not None
    above = of("rocker", "cup_above_gasket") or rod - sum(high.values()) - below
    cup, tip = of("rocker", "shaft_above_cup") or 0.0, of("rocker", "shaft_above_tip") or 0.0
    valve = of("valve", "length")
    assert valve is not None
    e = shares
    return (
        ABOVE_CAM_MM * (e["case"] - e["lifter"])
        + below * e["case"]
        + high["cylinder"] * e["cylinder"]
        + above * e["head"]
        + cup * (e["head"] - e["rocker"])
        + (valve * (e["head"] - e["valve"]) + tip * (e["head"] - e["rocker"])) / ratio
        - rod * e["pushrod"]
    )


def test_lash_set_cold_for_hot_by_hand() -> None:
    expected = expected_of(IN_LINE)
    document = tomllib.loads((IN_LINE / "job.toml").read_text(encoding="utf-8"))
    (row, *_) = tallstack("fits", IN_LINE / "job.toml", "--json").json["trains"]
    train = document["train"][0]
    sinks, ratio = plain(train["valve"]["sits_lower_hot"]), plain(train["rocker"]["ratio_at_seat"])
    lash = float(train["lifter"]["lash"])
    hot, stopped = (
        lash + sinks + ratio * lost_by_hand(document, shares_by_hand(document, as_hot))
        for as_hot in ("valve", "head")
    )
    for key, value in (("hot_lash_mm", hot), ("stopped_lash_mm", stopped)):
        assert row[key] == pytest.approx(value, abs=0.004)  # the pushrod's lean, taken as none
        assert row[key] == pytest.approx(expected[key], abs=0.005 + CLOSE_MM)
    assert row["cold_lash_for_it_mm"] == pytest.approx(lash + 0.20 - hot, abs=0.004)
    assert row["cold_lash_for_it_mm"] == pytest.approx(expected["cold_lash_for_it_mm"], abs=0.005 + CLOSE_MM)


def test_a_plungers_two_ends_and_putting_its_pushrod_in_by_hand() -> None:
    expected = expected_of(BY_HAND)
    document = tomllib.loads((BY_HAND / "job.toml").read_text(encoding="utf-8"))
    (row, *_) = tallstack("fits", BY_HAND / "job.toml", "--json").json["trains"]
    train, units = document["train"][0], document["units"]
    preload, travel = (millimetres(train["lifter"][one], units) for one in ("preload", "plunger_travel"))
    cup = max(millimetres(train["pushrod"][f"cup_depth_{end}"], units) for end in ("low", "high"))
    shares = shares_by_hand(document)
    early = {part: share if part in ("valve", "pushrod") else 0.0 for part, share in shares.items()}
    sits_lower = 0.025  # mm, an intake whose head nobody looked at
    spare = travel - preload - cup - 0.3
    by_hand = {
        "hot_preload_mm": preload
        - lost_by_hand(document, shares)
        - sits_lower / plain(train["rocker"]["ratio_at_seat"]),
        "first_minutes_room_mm": travel - preload + lost_by_hand(document, early),
        "goes_in_mm": spare,
        "valve_to_open_mm": -spare * plain(train["rocker"]["ratio_at_seat"]),
    }
    for key, value in by_hand.items():
        assert row[key] == pytest.approx(value, abs=0.006), key
        assert row[key] == pytest.approx(expected[key], abs=0.005 + CLOSE_MM), key


def test_two_valves_by_their_edges_against_every_pair_of_lifts() -> None:
    """Brute force: where the heads may be, on a grid of how much further each may open, at every angle."""
    document = tomllib.loads((BY_HAND / "job.toml").read_text(encoding="utf-8"))
    job = load(BY_HAND / "job.toml", [])
    here = clearances(job.mapping, Tables(), {}, {})
    rows = {row["cylinder"]: row for row in answered(BY_HAND / "job.toml")["pairs"]}
    crank = np.radians(np.arange(-60.0, 60.0, 0.5))
    for cylinder in document["cylinder"]:
        name, touch = cylinder["name"], cylinder["valves_touch"]
        lifts = [here.situations[name].lifts[f"{name}.{port}"].at(crank) for port in ("intake", "exhaust")]
        edges = [
            millimetres(touch[f"edge_{port}"].removeprefix("none up to "), "in")
            for port in ("intake", "exhaust")
        ]
        between, spread = (math.radians(plain(touch[one])) for one in ("between_stems", "spread_off"))
        more = np.concatenate([[0.0], np.geomspace(1e-3, 12.0, 400)])
        first, second = np.meshgrid(more, more)
        least = np.inf
        for intake, exhaust in zip(*lifts, strict=True):
            s, r = edges[0] - intake + first, edges[1] - exhaust + second
            if (edges[0] - intake <= 0) and (edges[1] - exhaust <= 0):
                least = 0.0
                continue
            s, r = np.maximum(s, edges[0] - intake), np.maximum(r, edges[1] - exhaust)
            least = min(least, float(np.sqrt(s**2 + r**2 - 2 * s * r * math.cos(between)).min()))
        assert rows[name]["valve_to_valve_mm"] == pytest.approx(least * math.cos(spread), abs=0.01)
        told = expected_of(BY_HAND)["valve_to_valve_mm"][name]
        assert rows[name]["valve_to_valve_mm"] == pytest.approx(told, abs=0.005 + CLOSE_MM)


def room_beside(mapping: Flat, fitted: str, mesh: object, degrees: float) -> float:
    """Return how far a lowered spigot is from the fitted piston and connecting rod, by a collision library."""
    lean, turned = mapping[f"{fitted}.lean"], math.radians(degrees)
    throw, rod = mapping["crank.stroke"] / 2, mapping["crank.conrod_length"]
    up, along = (
        np.array([math.sin(lean), 0.0, math.cos(lean)]),
        np.array([math.cos(lean), 0.0, -math.sin(lean)]),
    )
    pin = throw * (math.cos(turned) * up + math.sin(turned) * along)
    wrist = (throw * math.cos(turned) + math.sqrt(rod**2 - (throw * math.sin(turned)) ** 2)) * up
    below, above = mapping["piston.skirt_below_pin"], mapping["piston.compression_height"]
    piston = spigot_mesh.to_round(mesh, wrist - below * up, up, mapping["piston.diameter"] / 2, below + above)
    return min(piston, spigot_mesh.to_bar(mesh, pin, wrist, mapping["crank.conrod_beam_width"] / 2))


@pytest.mark.parametrize(
    "index", [0, pytest.param(1, marks=pytest.mark.wide)], ids=["front first", "rear first"]
)
def test_when_a_cylinder_can_be_lowered_two_ways(index: int) -> None:
    case = expected_of(LOWERED)["lowering"][index]
    row = answered_fits()["drop_on"][index]
    assert {key: row[key] for key in ("fitted", "lowered")} == {
        key: case[key] for key in ("fitted", "lowered")
    }
    assert row["margin_mm"] == pytest.approx(case["most_mm"], abs=0.005 + CLOSE_MM)
    assert np.array(row["windows_deg"]).ravel() == pytest.approx(
        np.array(case["windows_deg"]).ravel(), abs=0.06
    )
    mapping = load(LOWERED / "job.toml").mapping
    deck, lowered = mapping["stack.case_deck"], case["lowered"]
    mesh = spigot_mesh.spigot(
        mapping["stack.bore"] / 2,
        mapping[f"{lowered}.spigot.outer_diameter"] / 2,
        deck - mapping[f"{lowered}.spigot.length"],
        deck + 200.0,
        [],
        mapping[f"{lowered}.lean"],
        0.0,
    )
    wanted = mapping["targets.lowering"]
    scan = {degrees: room_beside(mapping, case["fitted"], mesh, degrees) for degrees in range(-180, 180, 3)}
    roomy = {degrees for degrees, room in scan.items() if room > wanted}
    assert roomy == {one for begins, ends in case["windows_deg"] for one in scan if begins < one < ends}
    assert max(scan.values()) == pytest.approx(case["most_mm"], abs=0.02)
    assert max(scan, key=lambda one: scan[one]) == pytest.approx(case["at_deg"], abs=3)
    for begins, ends in row["windows_deg"]:
        for end, inwards in ((begins, 0.1), (ends, -0.1)):
            assert room_beside(mapping, case["fitted"], mesh, end + inwards) > wanted
            assert room_beside(mapping, case["fitted"], mesh, end - inwards) < wanted


def test_nothing_touches_whichever_cylinder_goes_on_first() -> None:
    document = answered_fits()
    for row in document["across"]:
        assert row["gap_mm"] > row["target_mm"]
        assert row["conrod"]["gap_mm"] > row["conrod"]["target_mm"]
    assert all(one["meets"] for one in answered(LOWERED / "job.toml")["valves"])


@cache
def answered_fits() -> Any:
    return tallstack("fits", LOWERED / "job.toml", "--json").json


# A worn pair: readings of a gauge, sums of what gives way, and the card's own angles.

WORN = EXAMPLES / "worn_pair_bored_anew"


def worn(document: dict[str, Any], cylinder: str) -> dict[str, float]:
    """Return what a bore's readings and the pistons on offer come to, as on the lid of a box."""
    of = {one["name"]: one["bore_readings"] for one in document["cylinder"]}
    boring, piston = document["oversize"], plain(document["piston"]["diameter"])
    rows = {
        height: [plain(of[cylinder][f"{height}_{one}"]) for one in ("across", "along", "largest")]
        for height in ("top", "middle", "bottom")
    }
    every = [one for row in rows.values() for one in row]
    new = plain(of[cylinder]["new_size"])
    sure = {
        name: plain(each["new_size"])
        + 4 * (max(plain(each[one]) for one in each if one.endswith("_largest")) - plain(each["new_size"]))
        + 0.05
        for name, each in of.items()
    }
    clearance = plain(boring["clearance"])
    offers = sorted(plain(one["diameter"]) for one in boring["piston"])
    taken = next(one for one in offers if one + clearance >= max(sure.values()))
    outer = plain(document["cylinder"][0]["spigot"]["outer_diameter"])
    finished = taken + clearance
    return {
        "piston_clearance": min(every) - piston,
        "piston_clearance_loosest": max(every) - piston,
        "bore_taper": max(max(column) - min(column) for column in zip(*rows.values(), strict=True)),
        "bore_out_of_round": max(max(row) - min(row) for row in rows.values()),
        "bore_wear": max(every) - new,
        "cleans_up_from": sure[cylinder],
        "cannot_clean_below": max(every) + 0.05,
        "oversize_piston": taken,
        "oversize_bore": finished,
        "bore_to": finished - plain(boring["hone"]),
        "wall_after": (outer - finished) / 2 - (max(every) - new),
    }


def test_a_worn_pair_by_hand() -> None:
    expected = expected_of(WORN)
    document = tomllib.loads((WORN / "job.toml").read_text(encoding="utf-8"))
    rows = {one["cylinder"]: one for one in tallstack("fits", WORN / "job.toml", "--json").json["cylinders"]}
    for name in ("front", "rear"):
        by_hand_too = worn(document, name)
        for key, value in expected[f"{name}_mm"].items():
            assert by_hand_too[key] == pytest.approx(value, abs=5e-4), (name, key)
            assert rows[name][f"{key}_mm"] == pytest.approx(value, abs=5e-4), (name, key)
    throw, rod, omega = 54.0, 186.0, 5800 * 2 * math.pi / 60
    pull = 0.540 * (1 + throw / rod) + 0.240 * (0.5 + throw / rod / 3)
    stretch = pull * throw / 1000 * omega**2 * rod / (207000 * 235)
    play, crank = 0.035 + 0.015 + 0.020, 0.05 * (5800 / 6000) ** 2
    rock = (89.064 - 88.930) / 42 * 44.5
    rest = 137.60 - 0.95 + 0.50 + 128.40 - (throw + rod) - 25.70 + 1.10
    left = rest - stretch - play - crank - rock
    assert left == pytest.approx(expected["squish_at_least_mm"], abs=5e-4)
    for row in rows.values():
        if row["cylinder"] == "front":
            assert row["squish_at_least_mm"] == pytest.approx(left, abs=5e-4)
            assert row["squish_at_least_verdict"] == "ok"


def test_what_a_worn_pair_traps_lies_between_the_cards_own_angles() -> None:
    """At 1.27 mm and at 0.3 mm of the lobe, halfway about 106 degrees: 40 and 63 after bottom centre."""
    rows = {one["train"]: one for one in tallstack("fits", WORN / "job.toml", "--json").json["trains"]}
    intake = rows["front.intake"]
    assert 40 < intake["intake_closes_050_deg"] < intake["intake_closes_020_deg"] < 63
    area, throw, rod = math.pi / 4 * 89.0**2, 54.0, 186.0
    top = 76000 + 3000 + area * -0.15 + math.pi / 4 * 90.0**2 * 1.10
    for closes, key in (
        (intake["intake_closes_020_deg"], "trapped_ratio"),
        (intake["intake_closes_050_deg"], "trapped_ratio_050"),
    ):
        angle = math.radians(180 + closes)
        high = throw * math.cos(angle) + math.sqrt(rod**2 - (throw * math.sin(angle)) ** 2)
        assert intake[key] == pytest.approx((top + area * (throw + rod - high)) / top, rel=1e-6)
    assert intake["cranking_low_kpa"] == pytest.approx(101.325 * (intake["trapped_ratio"] ** 1.2 - 1))
