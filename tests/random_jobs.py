"""Job files of random engines, written in either unit, with doubts, some of their gears measured too."""

from __future__ import annotations

import numpy as np

from .oracles.random_trains import Entries
from .random_engines import CROWNS, KINDS, PLAIN, TRAINS, engines, picked

INCH = 25.4
ENDS = {"ball_diameter_low": 7.9375, "ball_diameter_high": 7.9375, "hole_low": 1.6, "hole_high": 1.6}
ROD = {"as": "overall", "plunger": "top", "lean": 0.045}

Written = dict[
    str, tuple[object, float | None]
]  # path: value in mm or rad or a word, half-width of its doubt


def drawn_job(rng: np.random.Generator, twin: bool = True) -> Written:
    """Return a random engine's entries with their doubts, by coordinates, some of its gears measured too."""
    kind = rng.choice(KINDS)
    engine = picked(engines(rng, 1, rng.choice(CROWNS), kind, twin), 0)
    if twin:
        way = 1.0 if engine["crank.turns"] == "forward" else -1.0
        behind = float(str(engine["two.lean"])) - float(str(engine["one.lean"]))
        engine["two.fires_at"] = way * behind % (2 * np.pi)
    engine |= {"targets.drop_intake": float(rng.uniform(1, 3)), "targets.wall": float(rng.uniform(0.5, 2))}
    for name in TRAINS:
        engine |= {f"{name}.pushrod.{entry}": value for entry, value in ENDS.items()}
        if rng.random() < 0.5:
            rod: Entries = {f"{name}.measured_pushrod.{entry}": value for entry, value in ROD.items()}
            length = float(rng.uniform(262, 270))
            engine |= rod | {f"{name}.measured_pushrod.length": length}
            if kind != "hydraulic":
                del engine[f"{name}.measured_pushrod.plunger"]
    return {path: (value, _doubt(rng, path, value)) for path, value in engine.items() if value is not None}


def job_text(job: Written, units: str, rng: np.random.Generator, foreign: float = 0.0) -> str:
    """Return a job file.

    units   : "mm" or "in"
    foreign : how many of the lengths are written in the other unit, which they then name
    """
    rows: dict[str, list[str]] = {"": [], **{name: [] for name in ("one", "two", *TRAINS)}}
    points: dict[tuple[str, str], list[str]] = {}
    for path, (value, doubt) in job.items():
        if isinstance(value, tuple):
            continue
        row = next((one for one in (*TRAINS, "one", "two") if path.startswith(f"{one}.")), "")
        entry = path.removeprefix(f"{row}.") if row else path
        other = "in" if units == "mm" else "mm"
        said = _said(path, value, doubt, units, other if rng.random() < foreign else None)
        if entry.endswith((".x", ".y", ".z")):
            points.setdefault((row, entry[:-2]), []).append(said)
        else:
            rows[row].append(f"{entry} = {said}")
    for (row, entry), components in points.items():
        rows[row].append(f"{entry} = [{', '.join(components)}]")
    lines = ["format = 1", 'title = "drawn at random"', f'units = "{units}"', *rows[""]]
    for name in np.atleast_1d(job["cylinders"][0]):  # type: ignore[call-overload]
        lines += ["[[cylinder]]", f'name = "{name}"', *rows[name]]
    for name in TRAINS:
        cylinder, _, port = name.rpartition(".")
        lines += ["[[train]]", f'cylinder = "{cylinder}"', f'port = "{port}"', *rows[name]]
    return "\n".join(lines) + "\n"


def _doubt(rng: np.random.Generator, path: str, value: object) -> float | None:
    if not isinstance(value, float) or path.endswith((".direction.x", ".direction.y", ".direction.z")):
        return None
    if rng.random() < 0.3:
        return None
    return float(np.radians(rng.uniform(0.2, 1))) if path.endswith(PLAIN) else float(rng.uniform(0.005, 0.1))


def _said(path: str, value: object, doubt: float | None, units: str, other: str | None) -> str:
    """Return a value as TOML has it."""
    if isinstance(value, str):
        return f'"{value}"'
    number = float(str(value))
    if path.endswith((".direction.x", ".direction.y", ".direction.z")):
        return repr(number)
    if path.endswith(PLAIN):
        number, doubt, other = np.degrees(number), None if doubt is None else np.degrees(doubt), None
        per = 1.0
    else:
        per = INCH if (other or units) == "in" else 1.0
    words = _digits(number / per) + ("" if doubt is None else f" +/- {_digits(doubt / per)}")
    if other:
        return f'"{words} {other}"'
    return words if doubt is None else f'"{words}"'


def _digits(number: float) -> str:
    return np.format_float_positional(number, trim="0")
