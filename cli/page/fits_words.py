"""The fits of an engine, in words: each part with its figures, or with what is still to be measured."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.fits.judging import COMMON, LEFT_BY, MEETS, Judged, Limit
from tallstack.geometry.fits.part import Lacking

from ..job.contradicted import word
from ..job.entries.fields import INCH
from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.fits import Answered
from .wording import (
    COMMON_PRACTICE,
    PARTS_OWN,
    SET_YOUR_OWN,
    YOURS,
    at_top_centre,
    decimals,
    paragraph,
    steady,
)

LABELS = {
    "displacement": "displacement of the cylinder",
    "deck": "crown below the cylinder's top",
    "squish": "squish at rest",
    "gasket_for_squish_least": "head gasket for the least squish",
    "gasket_for_squish_most": "head gasket for the most squish",
    "gasket_for_ratio": "head gasket for the ratio wanted",
    "squish_with_gasket_for_ratio": "squish that gasket would leave",
    "deck_for_ratio": "or deck for it",
    "squish_with_deck_for_ratio": "squish that deck would leave",
    "conrod_stretch": "connecting rod's stretch at speed",
    "squish_at_speed": "squish left at that speed",
    "volume_at_top": "volume over the piston at the top",
    "crown_volume": "of it, what the crown adds",
    "sunk_volume": "of it, what sunk valves add",
    "compression_ratio": "compression ratio",
    "swing_forward": "connecting rod's swing towards +x",
    "swing_backward": "connecting rod's swing towards -x",
    "skirt_to_conrod": "skirt to connecting rod",
    "skirt_to_counterweight": "skirt to counterweight",
    "conrod_to_spigot": "connecting rod to its spigot",
    "conrod_to_mouth": "connecting rod to the case mouth",
    "skirt_hangs": "skirt below the spigot",
    "oil_ring_hangs": "oil ring below the spigot",
    "tube_length": "tube between its seats",
    "tube_to_shortest": "left to its shortest",
    "tube_to_longest": "left to its longest",
    "tube_room_at_rest": "pushrod in its tube, at rest",
    "tube_room": "pushrod in its tube, through the lift",
    "thread_in_nut": "thread in the head nuts",
    "thread_diameters": "in diameters of the stud",
    "base_gasket_crush": "base gasket crushed by",
    "head_gasket_crush": "head gasket crushed by",
    "spring_rate": "rate of its springs together",
    "spring_height": "springs' height, valve closed",
    "seat_force": "force on the seat",
    "shim_for_seat_force": "shim for the seat force wanted",
    "coil_bind_with_shim": "coil bind that shim would leave",
    "open_force": "force at full lift",
    "coil_bind": "left to coil bind",
    "coil_bind_pumped": "left to coil bind, lifter pumped up",
    "hot_room_to_bottom": "room to the plunger's bottom, hot",
    "retainer_to_seal_pumped": "left from retainer to seal, lifter pumped up",
    "retainer_to_seal": "left from retainer to seal or guide",
    "leaves_the_cam": "valve first leaves the cam",
    "load_at_seat": "pushrod's load, valve leaving the seat",
    "load_at_full_lift": "pushrod's load at full lift",
    "load_at_opening": "load, opening against the cylinder",
    "buckling_load": "load at which it would buckle",
    "buckling_margin": "margin against buckling, times",
    "pushrod_shortens": "it shortens under load by",
    "lift_lost": "valve lift lost by it",
    "contact_low": "greatest pressure, lower ball in cup",
    "contact_high": "greatest pressure, upper ball in cup",
    "hot_lash": "lash when hot",
    "hot_preload": "preload when hot",
    "lash_change": "lash gained by heat",
    "preload_change": "preload gained by heat",
    "cold_lash_for_it": "lash to set cold",
}
NOT_OFFERED = {  # suggestion → what stands in its place where it is not above zero, and why
    "gasket_for_squish_least": ("any", "the deck alone leaves that much"),
    "gasket_for_squish_most": ("not possible", "the deck alone is {} more than that"),
    "gasket_for_ratio": ("not possible", "it would be {} less than none; look at deck and chamber"),
    "shim_for_seat_force": ("none", "the springs press that hard already, they could stand {} taller"),
}
ROUNDED = {  # suggestion → which way it is rounded, so that what is typed from the screen keeps the limit
    "gasket_for_squish_least": 1.0,
    "gasket_for_squish_most": -1.0,
}
# figure → what its target would add to it, and that target
ON_REQUEST = {
    "squish": ("head gasket for a wanted squish", ("targets.squish_least", "targets.squish_most")),
    "compression_ratio": ("head gasket or deck for a wanted ratio", ("targets.compression_ratio",)),
    "tube_room_at_rest": ("pushrod to its tube against a limit of yours", ("targets.tube",)),
    "seat_force": ("shim for a wanted seat force", ("targets.seat_force",)),
    "hot_lash": ("lash to set cold for a wanted one hot", ("targets.hot_lash",)),
}
ROOM = ("room wanted while a cylinder is lowered", ("targets.lowering",))
FROM_MEMORY = ("skirt", "across", "coil_bind", "retainer", "stud_diameters")
LBF = 4.4482216152605
PSI = 6894.757293168361e-6  # N/mm²
SHOWN: dict[str, tuple[tuple[str, float, int], ...]] = {  # unit → how it is shown: name, size in it, decimals
    "mm": (("mm", 1.0, 2), ("in", INCH, 3)),
    "cc": (("cc", 1.0, 1), ("cu in", 16.387064, 2)),
    "deg": (("deg", 1.0, 2),),
    "n": (("N", 1.0, 0), ("lbf", LBF, 0)),
    "n_per_mm": (("N/mm", 1.0, 2), ("lbf/in", LBF / INCH, 0)),
    "mpa": (("MPa", 1.0, 0), ("psi", PSI, 0)),
    "rpm": (("rpm", 1.0, 0),),
    "g": (("g", 1.0, 1), ("oz", 28.349523125, 2)),
    "": (("", 1.0, 3),),
}


def part_lines(job: JobFile, answers: Sequence[Answered]) -> list[str]:
    """Return every part that could be worked out, then what is not measured."""
    lines: list[str] = []
    for title in dict.fromkeys(one.title for one in answers):
        alike: dict[tuple[str, ...], list[str]] = {}
        for one in answers:
            if one.title == title and not isinstance(one.found, Lacking):
                texts = (
                    text
                    for key, judged in one.found.items()
                    if is_told(key, one.found)
                    for text in _figure(job, key, judged)
                )
                alike.setdefault(tuple(texts), []).append(one.subject.replace(".", " "))
        if any(alike):
            lines += ["", title]
        for shown, subjects in alike.items():
            if shown:
                lines += [f"  {', '.join(subjects)}", *shown]
    return lines


def _figure(job: JobFile, key: str, judged: Judged) -> list[str]:
    doubt = judged.budget.expanded if judged.proved else 0.0
    way = ROUNDED.get(key, 0.0)
    shown = "".join(f"{_number(judged.value, unit, doubt, way):>14}" for unit in _units(job, judged))
    shown_verdict = word(judged.verdict, judged.look_again)
    verdict = f"  {shown_verdict}" if shown_verdict else ""
    refused = not_offered(job, key, judged.value)
    if refused is not None:
        shown, verdict = f"{refused[0]:>14}", ""
        return [f"    {LABELS[key]:<36}{shown}", paragraph(refused[1], 8, 2)]
    lines = [f"    {LABELS.get(key, key):<36}{shown}{verdict}".rstrip()]
    behind = [*falls_below(key, judged.value, judged.limits)]
    behind += [*_angle(judged), *_doubt(job, judged, doubt), *_limits(job, judged)]
    if judged.figure.note:
        behind.append(judged.figure.note)
    if behind:
        lines.append(paragraph("; ".join(behind), 8, 2))
    return lines


def falls_below(key: str, value: float, limits: Sequence[Limit]) -> list[str]:
    """Return what it means that a figure is below zero, or that what a suggestion leaves misses its limit."""
    if value < 0 and MEETS.get(key):
        return [MEETS[key]]
    told = []
    for limit in limits if key in LEFT_BY else ():
        at_most = limit.name.endswith("_most")
        if (value > limit.value) if at_most else (value < limit.value):
            told.append("too much" if at_most else "too little")
    return told


def not_offered(job: JobFile, key: str, value: float) -> tuple[str, str] | None:
    """Return what stands in place of a suggestion that is not above zero, and why; None where it is offered."""
    if key not in NOT_OFFERED or value > 0:
        return None
    instead, why = NOT_OFFERED[key]
    return instead, why.format(shown_as(job, -value, "mm"))


def is_told(key: str, found: Mapping[str, Judged]) -> bool:
    """Say whether a figure is told: not what a suggestion would leave that is not offered."""
    made = LEFT_BY.get(key)
    return made not in NOT_OFFERED or found[made].value > 0


def value_of(job: JobFile, key: str, value: float, unit: str) -> str:
    """Return a figure in both units, or what stands in its place."""
    refused = not_offered(job, key, value)
    return shown_as(job, value, unit) if refused is None else refused[0]


def _units(job: JobFile, judged: Judged) -> Sequence[tuple[str, float, int]]:
    units = SHOWN[judged.figure.unit]
    return units[::-1] if job.units == "in" else units


def _number(value: float, unit: tuple[str, float, int], doubt: float = 0.0, way: float = 0.0) -> str:
    """Return a number in a unit, with no more digits than its doubt supports.

    way : 1.0 to round up, -1.0 to round down, in place of to the nearest
    """
    name, size, places = unit
    places = decimals(doubt / size, places)
    nudged = value / size + way * (0.5 - 1e-4) * 10.0**-places
    return f"{steady(nudged):z.{places}f} {name}".rstrip()


def figure_in(job: JobFile, value: float, unit: str, doubt: float = 0.0) -> str:
    """Return a quantity in the job's unit alone."""
    return _number(value, SHOWN[unit][-1 if job.units == "in" else 0], doubt)


def shown_as(job: JobFile, value: float, unit: str, doubt: float = 0.0) -> str:
    """Return a quantity in the job's unit, with the other beside it."""
    units = SHOWN[unit][::-1] if job.units == "in" else SHOWN[unit]
    first, *rest = (_number(value, one, doubt) for one in units)
    return f"{first} ({rest[0]})" if rest else first


def _angle(judged: Judged) -> list[str]:
    if judged.figure.at is None:
        return []
    degrees = math.degrees(float(judged.figure.at))
    return [at_top_centre((degrees + 180.0) % 360.0 - 180.0)]


def _doubt(job: JobFile, judged: Judged, doubt: float) -> list[str]:
    if judged.proved:
        return [f"+/- {shown_as(job, doubt, judged.figure.unit, doubt)}"] if doubt > 0 else []
    names = list(judged.budget.undoubted)
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return [f"no +/- entered for {', '.join(names[:3])}{more}"]


def whose(limit: Limit) -> str:
    """Return who set a limit, in words."""
    if limit.is_set:
        return YOURS
    if limit.name in FROM_MEMORY:
        return f"common practice, from memory, {SET_YOUR_OWN}"
    if limit.name not in COMMON:
        return PARTS_OWN + (f", {SET_YOUR_OWN}" if limit.name else "")
    return COMMON_PRACTICE


def _limits(job: JobFile, judged: Judged) -> list[str]:
    words = []
    for limit in judged.limits:
        who = whose(limit)
        side = "at most" if limit.name and limit.name == judged.figure.most else "at least"
        entry = f" (targets.{limit.name})" if limit.name else ""
        words.append(f"{side} {shown_as(job, limit.value, judged.figure.unit)}: {who}{entry}")
    return words


def lacking_lines(answers: Sequence[Answered]) -> list[str]:
    """Return what is not measured, each part with its entries."""
    alike: dict[tuple[str, tuple[str, ...], str], list[str]] = {}
    for one in answers:
        if isinstance(one.found, Lacking):
            own = tuple(entry.removeprefix(f"{one.subject}.") for entry in one.found.entries)
            alike.setdefault((one.title, own, one.found.why), []).append(one.subject)
    if not alike:
        return []
    lines = ["", "NOT MEASURED"]
    for (title, entries, why), subjects in alike.items():
        needs = f"needs {', '.join(map(meant, entries))}" if entries else ""
        said = "; ".join(part for part in (why, needs) if part)
        who = ", ".join(subject.replace(".", " ") for subject in subjects)
        lines.append(paragraph(f"{title.lower()}, {who}: {said}", 2, 4))
    return lines


def not_asked_lines(mapping: Flat, answers: Sequence[Answered], lowered: bool) -> list[str]:
    """Return what a target that is not set would add; lowered : whether the lowering of a cylinder is told."""
    shown = {key for one in answers if not isinstance(one.found, Lacking) for key in one.found}
    more = [asked for key, asked in ON_REQUEST.items() if key in shown]
    more += [ROOM] if lowered else []
    open_ = [(what, targets) for what, targets in more if not any(one in mapping for one in targets)]
    lines = [paragraph(f"{what}: {' or '.join(targets)}", 2, 4) for what, targets in open_]
    return ["", "NOT ASKED, worked out once its target is set", *lines] if lines else []


def row(answers: Sequence[Answered], subject: str) -> dict[str, object]:
    """Return every figure of one cylinder or valve gear for JSON."""
    found: dict[str, object] = {}
    lacks: dict[str, object] = {}
    for one in answers:
        if one.subject != subject:
            continue
        if isinstance(one.found, Lacking):
            lacks[one.title.lower()] = list(one.found.entries)
            continue
        for key, judged in one.found.items():
            if not is_told(key, one.found):
                continue
            unit = judged.figure.unit
            found[f"{key}_{unit}" if unit else key] = judged.value
            if key in NOT_OFFERED:
                found[f"{key}_offered"] = judged.value > 0
            if judged.figure.at is not None:
                degrees = math.degrees(float(judged.figure.at))
                found[f"{key}_at_deg"] = (degrees + 180.0) % 360.0 - 180.0
            found[f"{key}_doubt_{unit}" if unit else f"{key}_doubt"] = judged.budget.expanded
            found[f"{key}_without_doubt"] = list(judged.budget.undoubted)
            if judged.verdict is not None or judged.look_again:
                found[f"{key}_look_again"] = list(judged.look_again)
            if judged.verdict is not None:
                found[f"{key}_verdict"] = judged.verdict.value
                found[f"{key}_limits"] = [[limit.name, limit.value, limit.is_set] for limit in judged.limits]
    return {**found, "not_measured": lacks}
