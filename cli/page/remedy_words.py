"""What would mend a clearance that falls short, in words and for JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import budget
from tallstack.geometry.engine.metal import ENTRIES

from ..job.entries.meanings import called_together, meant
from ..job.variations import copied_to
from .model import Form, Row, Words
from .wording import VERDICTS, length, number

if TYPE_CHECKING:
    from tallstack.geometry.clearance.remedy.effects import Effect
    from tallstack.geometry.clearance.remedy.remedy import Remedy
    from tallstack.geometry.doubt.result import Result

    from ..job.file import JobFile

SMALL_MM = 0.01  # a doubt not worth another number
CUT_FIRST = "MEASURE BEFORE CUTTING"
GASKET = (
    "a gasket is tried with --with; before another one is written into the file, write down what the drop was read "
    "on, or it counts as read on the new one"
)
FULLER = "a lobe with less lift and the durations of its card is fuller than that and gives less: try it with --with {}"
NAMES = {"piston": "piston to valve", "between": "valve to valve"}


class Mended(NamedTuple):
    """A remedy with what it does elsewhere."""

    remedy: Remedy
    effects: tuple[Effect, ...]


def remedy_blocks(job: JobFile, found: Sequence[Mended], judged: Result, judged_of: str) -> list[Words]:
    """Return every remedy of one clearance, of a valve gear or of a cylinder."""
    units = job.units
    doubt = 0.0 if judged.budget is None else judged.budget.expanded
    missed = judged.value < judged.limit.value
    limit = "to the limit itself" if missed else "so that it clears pumped up by its doubt"
    blocks = [Words(f"what would mend it, each alone, {limit}:", 1)]
    for one in found:
        first, *more = _texts(one, job)
        blocks += [Words(first, 2, Form.ITEM), *(Words(text, 3) for text in more)]
    if doubt >= SMALL_MM and missed:
        text = f"to be clear of the doubt too, ask for {length(judged.limit.value + doubt, units)}: targets.{judged.limit.name}"
        blocks.append(Words(text, 2))
    taken = f"{judged_of}.measured_drop.stack"
    if any(one.entry == taken for one in job.assumed) and any("gasket" in one.remedy.kind for one in found):
        blocks.append(Words(f"{GASKET} ({taken})", 2))
    return blocks


def brief_rows(job: JobFile, found: Sequence[Mended]) -> list[Row]:
    """Return remedies for one screen, a row each: what to change, and what else moves."""
    rows = []
    for one in found:
        remedy, metal = one.remedy, one.remedy.metal
        if metal is not None and metal.lacks:
            rows.append(Row((_name(remedy), f"measure first: {called_together(metal.lacks)}")))
            continue
        if remedy.change is None or remedy.gives is None or (metal is not None and metal.cut_through):
            continue
        rows.append(Row((_in_brief(remedy, job.units), _moves(one.effects, job.units))))
    return rows


def _moves(found: Sequence[Effect], units: str) -> str:
    """Return what else a remedy moves: clearances as they are then, what else by how much."""
    alike: dict[str, list[str]] = {}
    for effect in found:
        alike.setdefault(_moved_by(effect, units), []).append(_what_moves(effect))
    return ", ".join(f"{', '.join(dict.fromkeys(names))} {by}" for by, names in alike.items())


def _in_brief(remedy: Remedy, units: str) -> str:
    """Return what to change, in the job's unit alone, as its head names it."""
    assert remedy.change is not None
    by = number(abs(remedy.change), units)
    value = "" if remedy.value is None else number(remedy.value, units)
    if remedy.kind in ("head gasket", "base gasket"):
        return f"{remedy.kind} +{by}, to {value}"
    if remedy.kind == "cam timing":
        return f"cam {_turn(remedy.change)} {'earlier' if remedy.change > 0 else 'later'}"
    if remedy.kind.endswith("overlap"):
        lobe = remedy.kind.partition(" further")[0]
        return f"{lobe} {_turn(remedy.change)} {'earlier' if lobe.startswith('exhaust') else 'later'}"
    if remedy.kind.endswith("lobe lift"):
        return f"{remedy.kind} {by} less"
    if remedy.kind == "preload":
        return f"preload {by} less, {value}"
    if remedy.kind == "valve sink":
        return f"{_sunk(remedy)} sunk {by}"
    if remedy.kind == "pocket diameter":
        return f"pocket {by} wider"
    wide = _wider(remedy)
    if wide is not None and _no_deeper(remedy):
        return f"pocket to {number(float(remedy.also[wide]), units)} across"
    if _is_new(remedy):
        return f"a pocket, {value or by} deep"
    return f"a pocket cut {by} deeper"


def _turn(change: float) -> str:
    by = f"{math.degrees(abs(change)):g}"
    return f"{by} degree{'' if by == '1' else 's'}"


def _what_moves(effect: Effect) -> str:
    names = {
        "piston": effect.name.rpartition(".")[2],
        "between": "the two valves",
        "spring height": "springs",
    }
    return names.get(effect.what, effect.what)


def _moved_by(effect: Effect, units: str) -> str:
    if effect.what in NAMES:
        assert effect.value is not None
        stands = " SHORT" if effect.verdict is Verdict.SHORT else " TIGHT" if effect.close else ""
        return f"{number(effect.value, units)}{stands}"
    if effect.change is None:
        return "down"
    return f"{'-' if effect.change < 0 else '+'}{number(abs(effect.change), units)}"


def _texts(one: Mended, job: JobFile) -> list[str]:
    remedy, units = one.remedy, job.units
    if remedy.metal is not None and remedy.metal.lacks:
        measure = ", ".join(meant(entry, _train(entry)) for entry in remedy.metal.lacks)
        return [f"{_name(remedy)}: {CUT_FIRST}, no number without {measure}"]
    if remedy.change is None or remedy.gives is None:
        return [f"{_name(remedy)}: {remedy.why_not}"]
    if remedy.metal is not None and remedy.metal.cut_through:
        return [f"{_name(remedy)}: no; {_left(remedy, job)}"]
    up = "" if remedy.pumped is None else f", and {length(remedy.pumped, units)} pumped up"
    texts = [f"{_change(remedy, units)}: then {length(remedy.gives, units)}{up}"]
    if remedy.kind.endswith("lobe lift") and f"{remedy.entry}.card.peak" in job.entries:
        texts.append(FULLER.format(f"{remedy.entry}.card.peak"))
    if remedy.metal is not None:
        texts.append(_left(remedy, job))
    written = _written(remedy)
    copies = dict.fromkeys(
        name.replace(".", " ") for path in written for name in copied_to(job.entries, path)
    )
    if copies:
        verb = "moves" if len(written) == 1 else "move"
        texts.append(
            f"{' and '.join(written)} written into the file {verb} {' and '.join(copies)} with it, as `like` says"
        )
    elsewhere = _elsewhere(one.effects, units)
    return [*texts, f"elsewhere: {elsewhere}"] if elsewhere else texts


def _written(remedy: Remedy) -> tuple[str, ...]:
    """Return the entries that a remedy changes: of a pocket that is cut wider where it is, its diameter too."""
    wide = _wider(remedy)
    if wide is None:
        return (remedy.entry,)
    return (wide,) if _no_deeper(remedy) else (remedy.entry, wide)


def _wider(remedy: Remedy) -> str | None:
    """Return the diameter's entry of a pocket that is there and is cut wider; None of all else."""
    if remedy.kind != "pocket" or _is_new(remedy):
        return None
    return next((path for path in remedy.also if path.endswith(".diameter")), None)


def _is_new(remedy: Remedy) -> bool:
    """Say whether a pocket is cut where there is none."""
    return any(".centre." in path for path in remedy.also)


def _no_deeper(remedy: Remedy) -> bool:
    """Say whether a pocket that is there is cut wider and no deeper."""
    return _wider(remedy) is not None and remedy.change is not None and remedy.change < SMALL_MM / 2


def _train(entry: str) -> str:
    """Return the valve gear an entry belongs to, or nothing."""
    return "" if entry.startswith("piston.") else ".".join(entry.split(".")[:2])


def _name(remedy: Remedy) -> str:
    if remedy.kind.startswith("pocket"):
        if _is_new(remedy):
            return "a pocket"
        return "a wider pocket" if remedy.kind == "pocket diameter" else "a deeper pocket"
    return f"{_sunk(remedy)} sunk into the head" if remedy.kind == "valve sink" else remedy.kind


def _change(remedy: Remedy, units: str) -> str:
    """Return what to change, by how much and to what."""
    assert remedy.change is not None
    by = length(abs(remedy.change), units)
    if remedy.kind in ("head gasket", "base gasket"):
        assert remedy.value is not None
        free = "".join(f", {length(one, units)} before it is pressed" for one in remedy.also.values())
        return f"{remedy.kind} {by} thicker, {length(remedy.value, units)} as compressed{free}"
    if remedy.kind == "cam timing" or remedy.kind.endswith("overlap"):
        by = _turn(remedy.change).replace("degree", "crank degree")
        if remedy.kind == "cam timing":
            way = "earlier" if remedy.change > 0 else "later"
            return f"cam {by} {way} ({remedy.entry} = {_degrees(remedy.value)})"
        return f"{remedy.kind} by {by} ({remedy.entry} = {_degrees(remedy.value)})"
    if remedy.kind.endswith("lobe lift"):
        assert remedy.value is not None
        return f"{remedy.kind} of at most {length(remedy.value, units)} at this timing, {by} less, the whole lobe scaled down by that"
    if remedy.kind == "preload":
        assert remedy.value is not None
        return f"preload {by} less, {length(remedy.value, units)}"
    if remedy.kind == "valve sink":
        return f"{_sunk(remedy)} sunk {by} further into the head along its stem"
    return _cut(remedy, by, units)


def _sunk(remedy: Remedy) -> str:
    cylinder, port = remedy.entry.split(".")[:2]
    return f"{cylinder} {port} valve"


def _cut(remedy: Remedy, by: str, units: str) -> str:
    if remedy.kind == "pocket along the stem":
        if remedy.also:
            across = length(next(iter(remedy.also.values())), units)
            return (
                f"a pocket cut {by} into the crown along the valve's stem, the piston at top centre, from where a "
                f"cutter {across} across first touches it, its floor square to the stem"
            )
        return f"pocket cut {by} deeper along the valve's stem, its floor square to the stem"
    assert remedy.value is not None
    if remedy.kind == "pocket diameter":
        return f"pocket {by} wider, {length(remedy.value, units)} across"
    wide = next((value for path, value in remedy.also.items() if path.endswith(".diameter")), None)
    place = [remedy.also.get(f"{remedy.entry.rpartition('.')[0]}.centre.{axis}") for axis in "xy"]
    if place[0] is None or place[1] is None:
        wider = "" if wide is None else f" and {length(wide, units)} across"
        if wide is not None and _no_deeper(remedy):
            return f"pocket widened to {length(wide, units)} across, no deeper"
        return f"pocket cut {by} deeper, to {length(remedy.value, units)}{wider}"
    assert wide is not None
    at = ", ".join(number(float(one), units) for one in place if one is not None)
    return (
        f"a new pocket {length(remedy.value, units)} deep at its deepest, {length(wide, units)} across, its axis "
        f"along the stem and through the crown plane at [{at}] {units}"
    )


def _degrees(value: float | None) -> str:
    return "" if value is None else f"{math.degrees(value) + 0.0:.4g}"


def _left(remedy: Remedy, job: JobFile) -> str:
    """Return the metal that a cut leaves, with its doubt; the piston maker has the last word."""
    metal = remedy.metal
    assert metal is not None
    assert metal.under is not None
    assert metal.land is not None
    if metal.cut_through:
        return "the cut would leave no metal under the crown or above the top ring groove"
    under, land = (_doubt_of(job, remedy, entry) for entry in ENTRIES)
    text = (
        f"metal left: {_sure(metal.under, under, job)} under it where the crown is thinnest, "
        f"{_sure(metal.land, land, job)} down to the level of the top ring groove"
    )
    if metal.under <= (under or 0.0) or metal.land <= (land or 0.0):
        return f"{text}: within the doubt THE CUT GOES THROUGH; measure again before anything is cut"
    return f"{text}; whether that is enough is the piston maker's word"


def _sure(left: float, doubt: float | None, job: JobFile) -> str:
    if doubt is None:
        return f"{length(left, job.units)} (no +/- entered)"
    return f"{length(left, job.units)} +/- {number(doubt, job.units)} {job.units}"


def _doubt_of(job: JobFile, remedy: Remedy, entry: str) -> float | None:
    """Return the doubt of the metal left from one entry [mm], or None where it has none."""
    path = f"{remedy.entry.split('.')[0]}.{entry}"
    measured = job.doubts.get(_root(job, path if path in job.entries else entry))
    depth = job.doubts.get(_root(job, remedy.entry))
    if measured is None:
        return None
    both = {"metal": measured, **({} if depth is None else {"depth": depth})}
    return budget({part: 1.0 for part in both}, both, {}).expanded


def _root(job: JobFile, path: str) -> str:
    """Return the entry that another one copies, or that one itself."""
    entry = job.entries.get(path)
    return entry.follows or path if entry is not None else path


def _elsewhere(found: Sequence[Effect], units: str) -> str:
    return "; ".join(_effect(one, units) for one in found)


def _effect(one: Effect, units: str) -> str:
    name = one.name.replace(".", " ")
    if one.what in NAMES:
        assert one.value is not None
        verdict = f" ({VERDICTS[one.verdict]})" if one.verdict is Verdict.SHORT else ""
        verdict = " (within its +/- of the limit)" if one.close else verdict
        return f"{name} {NAMES[one.what]} then {length(one.value, units)}{verdict}"
    if one.what == "compression":
        return "compression falls"
    assert one.change is not None
    if one.what == "pushrod":
        return f"{name} pushrod {_signed(one.change, units)}"
    if one.what == "squish":
        then = (
            "" if one.value is None else f", the head's face then {length(one.value, units)} over the crown"
        )
        return f"squish opens by {length(one.change, units)}{then}"
    if one.what == "stem tip":
        return f"{name} stem tip stands {length(one.change, units)} higher: its pushrod has to be worked out anew"
    return f"{name} springs stand {length(one.change, units)} taller: less seat force, to be shimmed"


def _signed(value: float, units: str) -> str:
    return f"{length(abs(value), units)} {'longer' if value > 0 else 'shorter'}"


def remedy_row(one: Mended) -> dict[str, Any]:
    """Return a remedy for JSON; angles in degrees."""
    remedy = one.remedy
    turned = remedy.kind == "cam timing" or remedy.kind.endswith("overlap")
    scale, unit = (180 / math.pi, "deg") if turned else (1.0, "mm")
    cut = remedy.metal
    if cut is not None and (cut.lacks or cut.cut_through):
        scale, change, value, gives = 1.0, None, None, None
    else:
        change, value, gives = remedy.change, remedy.value, remedy.gives
    return {
        "kind": remedy.kind,
        "entry": remedy.entry,
        f"change_{unit}": None if change is None else change * scale,
        f"value_{unit}": None if value is None else value * scale,
        "gives_mm": gives,
        "gives_pumped_mm": None if gives is None else remedy.pumped,
        "also": {} if gives is None else {path: _shown(path, number) for path, number in remedy.also.items()},
        "why_not": _why_not(remedy),
        "metal_under_mm": None if cut is None else cut.under,
        "metal_to_ring_groove_mm": None if cut is None else cut.land,
        "measure_first": [] if cut is None else list(cut.lacks),
        "elsewhere": [
            {
                "what": effect.what,
                "name": effect.name,
                "change_mm": effect.change,
                "then_mm": effect.value,
                "verdict": None if effect.verdict is None else effect.verdict.value,
            }
            for effect in one.effects
        ],
    }


def _why_not(remedy: Remedy) -> str | None:
    if remedy.metal is not None and remedy.metal.lacks:
        return CUT_FIRST
    if remedy.metal is not None and remedy.metal.cut_through:
        return "the cut would leave no metal"
    return remedy.why_not or None


def _shown(path: str, value: float) -> float:
    return math.degrees(value) if ".lean." in path else value
