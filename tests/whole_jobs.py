"""Whole job files drawn at random: every arrangement, route, lifter, crown and spelling, every entry of the catalogue in some of them.

A job is a document as TOML holds it, each number a `Said` in millimetres, degrees or the unit that `SHOWN_UNIT` names,
so that what is done to an engine is done to its document; the unit in which a number is typed is chosen as it is
written. Gears and pistons are those of `random_engines`, which go together; the rest is drawn about what most engines
have, and need not agree with them: a rod or a drop measured beside coordinates may contradict them, and be told.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from tallstack.cli.entry_paths import ENTRIES
from tallstack.cli.job.entries.catalogue import meaning_at
from tallstack.cli.job.entries.fields import Parts, Quantity
from tallstack.cli.job.entries.wanted import WANTED
from tallstack.cli.job.reading.values import UNITS, Dimension
from tallstack.geometry.core.targets import TARGETS
from tallstack.geometry.crank.firing import places
from tallstack.geometry.engine.defaults import HEATED, UNDER_HEAT
from tallstack.geometry.piston.bore_entries import DIRECTIONS, HEIGHTS, LARGEST
from tallstack.geometry.sure.check_kinds import KINDS as CHECKS

from .oracles import raw_loop
from .oracles.random_trains import Entries
from .random_engines import CROWNS, KINDS, Crown, engines, picked
from .random_jobs import INCH

Document = dict[str, Any]
Loc = tuple[str | int, ...]

WORDS = {path: words for path, *words in map(shlex.split, ENTRIES.splitlines())}  # entry → those it takes
SYSTEMS: dict[str, dict[Dimension, tuple[str, ...]]] = {  # the units that somebody types who works in one
    "mm": {
        Dimension.LENGTH: ("mm",),
        Dimension.VOLUME: ("cc", "ml"),
        Dimension.AREA: ("mm2",),
        Dimension.MASS: ("g", "kg"),
        Dimension.FORCE: ("N",),
        Dimension.RATE: ("N/mm",),
        Dimension.PRESSURE: ("bar", "MPa"),
        Dimension.MODULUS: ("GPa", "N/mm2"),
        Dimension.TEMPERATURE: ("C",),
        Dimension.SPEED: ("rpm",),
        Dimension.HEIGHT: ("m",),
    },
    "in": {
        Dimension.LENGTH: ("in", "thou", '"'),
        Dimension.VOLUME: ("cu in",),
        Dimension.AREA: ("sq in",),
        Dimension.MASS: ("oz", "lb"),
        Dimension.FORCE: ("lbf",),
        Dimension.RATE: ("lbf/in",),
        Dimension.PRESSURE: ("psi",),
        Dimension.MODULUS: ("psi",),
        Dimension.TEMPERATURE: ("F",),
        Dimension.SPEED: ("rev/min",),
        Dimension.HEIGHT: ("ft",),
    },
}
SHOWN = {  # the unit of a `Said`, as `UNITS` counts it
    Dimension.LENGTH: "mm",
    Dimension.ANGLE: "deg",
    Dimension.VOLUME: "cc",
    Dimension.AREA: "mm2",
    Dimension.MASS: "g",
    Dimension.FORCE: "n",
    Dimension.RATE: "n/mm",
    Dimension.PRESSURE: "bar",
    Dimension.MODULUS: "gpa",
    Dimension.TEMPERATURE: "c",
    Dimension.SPEED: "rpm",
    Dimension.HEIGHT: "m",
}
ZERO_C_IN_F = 32.0
NAMES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
COUNTS = {  # arrangement → cylinders it may have, the fewer ones oftener
    "single": (1,),
    "in line": (2, 2, 3, 4, 6),
    "v": (2, 2, 2, 4, 8, 12),
    "opposed": (2, 2, 4, 6),
    "radial": (3, 3, 5, 7, 9),
}
ROD_ENDS = ("ball_diameter_low", "ball_diameter_high", "hole_low", "hole_high")
PORTS = ("intake", "exhaust")


class Said(NamedTuple):
    """A number as it is entered: in mm, degrees or the unit of `SHOWN`, with the half-width of its ±."""

    value: float
    half: float | None = None
    form: str = "{}"  # what is written round it: "none up to {}"


class Drawn(NamedTuple):
    """One job: its document, and the text of the files that it names."""

    document: Document
    files: dict[str, str]
    arrangement: str
    units: str


class Pen:
    """Draws numbers and words; sure : how many of the numbers carry a ±."""

    def __init__(self, rng: np.random.Generator, sure: float) -> None:
        self.rng = rng
        self.sure = sure

    def may(self, share: float) -> bool:
        """Say yes so often."""
        return bool(self.rng.random() < share)

    def number(self, low: float, high: float, doubt: float = 0.05, digits: int = 3) -> Said:
        """Return a number between two, with up to so much of a ±."""
        return self.said(float(self.rng.uniform(low, high)), doubt, digits)

    def said(self, value: float, doubt: float = 0.05, digits: int = 6) -> Said:
        """Return a number with up to so much of a ±, where it has one."""
        half = float(f"{doubt * self.rng.uniform(0.2, 1):.2g}") if doubt and self.may(self.sure) else None
        return Said(round(value, digits), half)

    def word(self, path: str) -> str:
        """Return one of the words that an entry takes."""
        return str(self.rng.choice(WORDS[path]))

    def one(self, *of: Any) -> Any:
        """Return one of some things."""
        return of[int(self.rng.integers(len(of)))]

    def table(self, share: float, **entries: Any) -> Document:
        """Return a table, each entry in it so often; one that is callable is called then."""
        return {
            name: entry() if callable(entry) else entry for name, entry in entries.items() if self.may(share)
        }


def whole_job(seed: int, most: int = 12, full: float | None = None) -> Drawn:
    """Return one whole job.

    most : cylinders
    full : how much of what is optional is there; None: that is drawn too
    """
    rng = np.random.default_rng([seed, 2711])
    pen = Pen(rng, float(rng.choice([0.0, 0.5, 0.9, 1.0], p=[0.1, 0.3, 0.3, 0.3])))
    return _Engine(pen, most, full).drawn()


class _Engine:
    """One engine as it is drawn."""

    def __init__(self, pen: Pen, most: int, full: float | None) -> None:
        self.pen = pen
        drawn = float(pen.rng.choice([0.1, 0.5, 0.9]))
        self.full = drawn if full is None else full
        self.kind = pen.one(*KINDS)
        self.crown: Crown = pen.one(*CROWNS)
        self.block = pen.may(0.15)
        self.arrangement = pen.one("single", "single", "in line", "v", "v", "opposed", "radial")
        counts = [one for one in COUNTS[self.arrangement] if one <= most] or [1]
        self.names = list(NAMES[: int(pen.rng.choice(counts))])
        self.base = picked(engines(pen.rng, 1, self.crown, self.kind), 0)
        self.turns = str(self.base["crank.turns"])
        self.files: dict[str, str] = {}
        self.has_before = pen.may(0.3)
        self.ports = PORTS if pen.may(0.9) else ("intake",)

    def drawn(self) -> Drawn:
        pen = self.pen
        units = str(pen.one("mm", "in"))
        top: Document = {
            "format": 1,
            "title": "drawn at random",
            "written_for": pen.one(*VERSIONS),
            "units": units,
        }
        top = {name: one for name, one in top.items() if name in ("format", "units") or pen.may(0.7)}
        top |= pen.table(0.3, wanted=lambda: [str(one) for one in pen.rng.permutation(list(WANTED))[:3]])
        top |= self.with_files(units)
        top |= self.engine(units)
        top |= pen.table(self.full, targets=self.targets, running=self.running, cam=self.cam)
        top |= pen.table(self.full * 0.7, oversize=self.oversize, reading=self.readings)
        top |= {
            "instrument": [{"name": "mic A", "zero": Said(0.0127)}, {"name": "dial", "zero": Said(0.005)}]
        }
        if not pen.may(self.full):
            del top["instrument"]
        if self.has_before:
            top["before"] = self.before(units)
        if "instrument" in top:
            self.by_instrument(top)
        return Drawn(_tidy(top), self.files, self.arrangement, units)

    def with_files(self, units: str) -> Document:
        found = {}
        if self.pen.may(0.15):
            self.files["shelf.csv"] = SHELF
            found["shelf"] = "shelf.csv"
        if self.pen.may(0.1):
            found["record"] = "set.csv"
        return found

    def by_instrument(self, top: Document) -> None:
        """Say of some lengths which instrument read them, of some every reading."""
        for table, entry in (
            (top["stack"], "cylinder"),
            (top["stack"], "head_gasket"),
            (top["crank"], "stroke"),
        ):
            value = table.get(entry)
            if isinstance(value, Said) and self.pen.may(0.5):
                table[entry] = {"read": value, "by": self.pen.one("mic A", "dial")}
            elif isinstance(value, Said) and self.pen.may(0.5):
                table[entry] = [Said(round(value.value + off, 4)) for off in (-0.01, 0.0, 0.012)]

    def of(self, path: str, doubt: float) -> Said:
        """Return an entry of the base engine."""
        value = float(str(self.base[path]))
        return self.pen.said(value, doubt)

    def engine(self, units: str) -> Document:
        """Return the tables that what stood before has too."""
        pen = self.pen
        found: Document = {
            "crank": self.crank(1.0 if pen.may(0.8) else self.full),
            "piston": self.piston(),
            "stack": self.stack(),
        }
        found |= pen.table(self.full, chamber=self.chamber, studs=self.studs, materials=self.materials)
        found["cylinder"] = self.cylinders(found)
        if pen.may(0.9):
            found["lobe"] = self.lobes(units)
        found["train"] = self.trains(found)
        self.cut_by_then(found)
        return found

    def cut_by_then(self, found: Document) -> None:
        """Say of some chambers what was already cut off the head as they were measured."""
        cuts = [_cut(found, 0.0)]
        cuts += [_cut(row, cuts[0]) for row in found["cylinder"]]
        for table, most in zip((found, *found["cylinder"]), (min(cuts), *cuts[1:]), strict=True):
            if "chamber" in table and self.pen.may(self.full * 0.5):
                table["chamber"]["head_cut"] = self.pen.number(0, most, 0.01)

    def before(self, units: str) -> Document:
        pen = self.pen
        files = dict(self.files)
        found = self.engine(units)
        self.files |= files
        found |= pen.table(0.5, cam=self.cam)
        same = [
            name for name in ("crank", "piston", "stack", "chamber", "studs", "materials") if pen.may(0.4)
        ]
        same += ["head"] if pen.may(0.1) and "chamber" not in same else []
        for name in same:
            if name == "head":
                found.pop("chamber", None)
                found["train"] = [
                    {key: one for key, one in row.items() if key not in ("rocker", "valve")}
                    for row in found["train"]
                ]
                parts = ("intake_face", "exhaust_face", "points", "valves_touch", "chamber")
                found["cylinder"] = [
                    {key: one for key, one in row.items() if key not in parts} for row in found["cylinder"]
                ]
            else:
                found.pop(name, None)
                found["cylinder"] = [
                    {key: one for key, one in row.items() if key != name} for row in found["cylinder"]
                ]
        if "stack" in same:
            for table in (found, *found["cylinder"]):
                table.get("chamber", {}).pop("head_cut", None)
        return {"same": same, **found} if same else found

    def crank(self, share: float) -> Document:
        pen = self.pen
        must = {
            "stroke": self.of("crank.stroke", 0.03),
            "conrod_length": self.of("crank.conrod_length", 0.05),
            "turns": self.turns,
        }
        if share < 1.0 and pen.may(0.3):
            must = pen.table(0.6, **must)
        more = pen.table(
            self.full,
            counterweight_radius=lambda: self.of("crank.counterweight_radius", 0.2),
            conrod_beam_width=lambda: self.of("crank.conrod_beam_width", 0.1),
            conrod_area=lambda: pen.number(150, 300, 8),
            conrod_modulus=lambda: pen.number(70, 210, 3),
            conrod_beam_mass=lambda: pen.number(100, 400, 10),
            big_end_clearance=lambda: pen.number(0.02, 0.08, 0.005),
            main_clearance=lambda: pen.number(0.02, 0.08, 0.005),
        )
        if pen.may(self.full):
            if pen.may(0.5):
                more["bending"], more["bending_at"] = pen.number(0.05, 0.3, 0.03), pen.number(3000, 8000, 0)
            else:
                more["just_touched"] = {
                    "squish": pen.number(0.7, 1.2, 0.05),
                    "speed": pen.number(5000, 8000, 0),
                }
        return {**must, **more}

    def piston(self) -> Document:
        pen = self.pen
        found: Document = {
            "compression_height": self.of("piston.compression_height", 0.05),
            "pin_offset": self.of("piston.pin_offset", 0.05),
        }
        if pen.may(0.1):
            found = pen.table(0.5, **found)
        bore = float(str(self.base["stack.bore"]))
        found |= pen.table(
            self.full,
            crown_thickness=lambda: pen.number(8, 11, 0.3),
            ring_land=lambda: pen.number(5, 9, 0.1),
            diameter=lambda: pen.number(bore - 0.2, bore - 0.03, 0.005),
            skirt_below_pin=lambda: self.of("piston.skirt_below_pin", 0.2),
            skirt_inner=lambda: self.of("piston.skirt_inner", 0.2),
            arch_width=lambda: pen.number(40, 70, 0.3),
            arch_height=lambda: pen.number(5, 15, 0.3),
            boss_below_pin=lambda: pen.number(10, 17, 0.2),
            oil_ring=lambda: pen.number(18, 28, 0.1),
            mass=lambda: pen.number(300, 600, 5),
            pin_clearance=lambda: pen.number(0.01, 0.03, 0.004),
            skirt_clearance=lambda: pen.number(0.03, 0.1, 0.01),
            skirt_contact_length=lambda: pen.number(30, 50, 1),
            crown_volume=lambda: pen.number(-10, 10, 0.3),
        )
        if self.crown in ("dome", "dish"):
            size = "height" if self.crown == "dome" else "depth"
            parts = (size, "diameter")
            found[self.crown] = {one: self.of(f"piston.{self.crown}.{one}", 0.1) for one in parts}
        elif self.crown == "plain" and pen.may(0.3):
            self.files["crown.csv"] = _crown(pen.rng)
            found["crown_table"] = "crown.csv"
        return found

    def gaskets(self) -> Document:
        pen = self.pen
        return {
            "base_gasket": "none" if pen.may(0.1) else self.of("stack.base_gasket", 0.03),
            "cylinder": self.of("stack.cylinder", 0.05),
            "head_gasket": "none" if pen.may(0.05) else self.of("stack.head_gasket", 0.05),
        }

    def stack(self) -> Document:
        pen = self.pen
        found: Document = {
            **self.gaskets(),
            "bore": self.of("stack.bore", 0.03),
            "case_deck": self.of("stack.case_deck", 0.05),
        }
        found |= {one: self.of(f"stack.{one}", 0.02) for one in ("case_cut", "head_cut") if pen.may(0.6)}
        if self.block:
            deck = sum(
                float(str(self.base[f"stack.{one}"])) for one in ("case_deck", "cylinder", "base_gasket")
            )
            found["cylinder"] = "block"
            del found["base_gasket"]
            if pen.may(0.2):
                found["base_gasket"] = "none"
            del found["case_deck"]
            found["block_deck"] = pen.said(deck, 0.05)
        if pen.may(0.3):
            found.pop("case_deck", None)
            found.pop("block_deck", None)
            found["measured_deck"] = {"below": pen.number(0.0, 1.5, 0.03)}
            if self.has_before or pen.may(0.3):
                found["measured_deck"]["on"] = pen.one("now", "before") if self.has_before else "now"
        free = {"base_gasket": 0.1, "head_gasket": 0.2}
        for gasket, more in free.items():
            if isinstance(found.get(gasket), Said) and pen.may(self.full * 0.5):
                found[f"{gasket}_free"] = pen.said(found[gasket].value + more, 0.02)
        found |= pen.table(
            self.full * 0.6,
            mouth_width=lambda: pen.number(104, 112, 0.2),
            mouth_below=lambda: pen.number(10, 35, 0.5),
        )
        return found

    def chamber(self) -> Document:
        pen = self.pen
        found = pen.table(
            0.8, volume=lambda: pen.number(60, 110, 0.5), gasket_bore=lambda: pen.number(92.5, 95, 0.1)
        )
        if pen.may(0.3):
            found |= pen.one(
                {"release_closes": pen.number(30, 120, 2)}, {"release_hole": pen.number(1, 4, 0.1)}
            )
        return found

    def studs(self) -> Document:
        pen = self.pen
        return pen.table(
            0.9,
            stands=lambda: pen.number(185, 195, 0.2),
            head_seat=lambda: pen.number(20, 45, 0.2),
            washer=lambda: pen.number(1, 3, 0.1),
            nut_height=lambda: pen.number(10, 16, 0.2),
            diameter=lambda: pen.number(8, 11, 0.05),
        )

    def materials(self) -> Document:
        pen = self.pen
        parts = (*HEATED, *UNDER_HEAT)
        words = {part: (lambda part=part: pen.word(f"materials.{part}")) for part in (*parts, "liner")}
        found = pen.table(self.full, **words)
        for part in parts:
            if pen.may(self.full * 0.2):
                found.pop(part, None)
                found[f"expansion_{part}"] = pen.number(10, 24, 1)
        return found

    def running(self) -> Document:
        pen = self.pen
        speeds = pen.table(
            0.6,
            speed=lambda: pen.number(4000, 7000, 0, 0),
            growth=lambda: pen.number(0.1, 0.5, 0.05),
            play_was=lambda: pen.word("running.play_was"),
            deck_read=lambda: pen.word("running.deck_read"),
            altitude=lambda: pen.number(0, 2500, 0, 0),
            cranking_speed=lambda: pen.number(150, 400, 0, 0),
            pressure_at_opening=lambda: pen.number(2, 9, 0.5),
            cold=lambda: pen.number(12, 25, 2, 1),
        )
        hot = {f"hot_{part}": (lambda: pen.number(80, 220, 15, 1)) for part in (*HEATED, *UNDER_HEAT)}
        return speeds | pen.table(self.full, **hot)

    def cam(self) -> Document:
        pen = self.pen
        found = pen.table(
            0.5, advance=lambda: pen.number(-5, 5, 0.5), backlash=lambda: pen.number(0, 1.5, 0.2)
        )
        if pen.may(0.5):
            found.pop("backlash", None)
            found |= {"gear_backlash": pen.number(0.03, 0.2, 0.02), "gear_radius": pen.number(30, 60, 0.5)}
        return found

    def oversize(self) -> Document:
        pen = self.pen
        return {
            "piston": [
                {"diameter": pen.number(92.3, 92.45, 0.003)},
                {"diameter": pen.number(92.55, 92.7, 0.003)},
            ]
        } | pen.table(
            0.8,
            clearance=lambda: pen.number(0.03, 0.08, 0),
            cut_least=lambda: pen.number(0.05, 0.12, 0),
            hone=lambda: pen.number(0.02, 0.05, 0),
            bar=lambda: pen.word("oversize.bar"),
        )

    def targets(self) -> Document:
        pen = self.pen
        found: Document = {}
        for one in TARGETS:
            if not pen.may(self.full * 0.6):
                continue
            low, high = one.usual
            found[one.name] = Said(round(float(pen.rng.uniform(low, (low + high) / 2)), 3))
            if one.words_too and pen.may(0.4):
                found[one.name] = pen.one(*one.words_too)
            elif one.share_of and pen.may(0.4):
                found[one.name] = Said(float(pen.rng.integers(5, 40)), form="{} %")
        for stem in ("preload", "squish", "piston_clearance"):
            least, most = found.get(f"{stem}_least"), found.get(f"{stem}_most")
            if (
                least is not None
                and most is not None
                and (least.form != "{}" or most.form != "{}" or least.value > most.value)
            ):
                del found[f"{stem}_least"]
        return found

    def cylinders(self, found: Document) -> list[Document]:
        pen = self.pen
        rows = []
        for index, name in enumerate(self.names):
            lean, pin = self.stands(index)
            row: Document = {"name": name}
            if self.arrangement != "in line" or pen.may(0.3):
                row["lean"] = pen.said(lean, 0.1)
            if (
                index
                and self.arrangement in ("in line", "v", "opposed")
                and (index > 1 or self.arrangement != "v")
            ):
                row["offset"] = pen.number(80 + 70 * index, 90 + 70 * index, 0.2)
            if pin or pen.may(0.1):
                row["pin"] = pen.said(pin, 0)
            row |= pen.table(
                self.full * 0.8,
                spigot=self.spigot,
                intake_face=lambda: self.face(-1),
                exhaust_face=lambda: self.face(1),
                points=lambda: {"plug": self.point((5, 3, 40), 0.3), "stud_1": self.point((50, 45, 20), 0.3)},
            )
            row |= pen.table(
                self.full * 0.4, valves_touch=self.touching, bore_readings=self.bores, liner=self.liner
            )
            if len(self.names) > 1 and pen.may(0.35):
                row |= pen.table(0.5, stack=self.stack, chamber=self.chamber, studs=self.studs)
                if "stack" in row and DECKS.isdisjoint(found["stack"]) != DECKS.isdisjoint(row["stack"]):
                    del row["stack"]  # one deck said twice
                if pen.may(0.3):
                    row["piston"] = self.piston() | {
                        "pin_offset": found["piston"].get("pin_offset", Said(0.0))
                    }
            rows.append(row)
        if len(rows) > 1 and pen.may(0.8):
            self.fires(rows)
        return rows

    def stands(self, index: int) -> tuple[float, float]:
        """Return a cylinder's lean and its pin's angle [deg]."""
        count = len(self.names)
        if self.arrangement == "v":
            return (25.0, -25.0)[index % 2], (720.0 / max(count, 4) * (index // 2)) % 360
        if self.arrangement == "opposed":
            return (90.0, -90.0)[index % 2], 180.0 * (index % 2)
        if self.arrangement == "radial":
            lean = 360.0 / count * index
            return (lean - 360 if lean > 180 else lean), 0.0
        return 0.0, (720.0 / count * index) % 360 if count > 1 else 0.0

    def fires(self, rows: list[Document]) -> None:
        """Say when each cylinder fires: on one of its top centres."""
        flat: dict[str, Any] = {"cylinders": tuple(self.names), "crank.turns": self.turns}
        for row in rows:
            for entry in ("lean", "pin"):
                if entry in row:
                    flat[f"{row['name']}.{entry}"] = math.radians(row[entry].value)
        for row, one in list(zip(rows, places(flat), strict=True))[1:]:
            row["fires_at"] = Said(math.degrees(one.top_centre) + self.pen.one(0.0, 360.0))

    def point(self, about: Sequence[float], doubt: float) -> list[Said]:
        return [self.pen.number(at - 2, at + 2, doubt) for at in about]

    def face(self, side: int) -> Document:
        pen = self.pen
        normal = pen.one(
            [pen.said(side * 0.94, 0.01), Said(0.0), pen.said(-0.34, 0.01)],
            {
                "around": pen.number(80 * side, 100 * side, 1) if side > 0 else pen.number(-100, -80, 1),
                "up": pen.number(-30, 30, 1),
            },
            [pen.number(side * 50 - 10, side * 50 + 10, 1), pen.number(-5, 5, 1)],
        )
        return {"centre": self.point((58 * side, 0, 53), 0.5), "normal": normal}

    def spigot(self) -> Document:
        pen = self.pen
        found = {
            "length": self.of("one.spigot.length", 0.3),
            "outer_diameter": self.of("one.spigot.outer_diameter", 0.1),
            **pen.table(self.full, chamfer=lambda: pen.number(0, 2, 0.1)),
        }
        if pen.may(self.full * 0.6):
            found["reliefs"] = [
                {
                    "at": pen.number(at - 5, at + 5, 1),
                    "width": pen.number(25, 35, 0.3),
                    "height": pen.number(5, 15, 0.3),
                }
                for at in (0.0, 180.0)[: int(pen.rng.integers(1, 3))]
            ]
        return found

    def touching(self) -> Document:
        pen = self.pen
        found = {
            edge: Said(round(float(pen.rng.uniform(8, 11)), 2), form="none up to {}")
            if pen.may(0.2)
            else pen.number(4, 8, 0.1)
            for edge in ("edge_intake", "edge_exhaust")
        }
        found |= {"between_stems": pen.number(40, 48, 1), "spread_off": pen.number(0, 10, 1)}
        return found | pen.table(0.3, together=lambda: pen.number(4.5, 6, 0.1))

    def bores(self) -> Document:
        pen = self.pen
        found: Document = {}
        for height in HEIGHTS:
            for way in (*DIRECTIONS, LARGEST):
                if pen.may(0.8):
                    high = 92.05 if way == LARGEST else 92.03
                    found[f"{height}_{way}"] = pen.number(high - 0.01, high, 0.003, 4)
        return found | pen.table(
            0.5,
            bore_temperature=lambda: pen.number(18, 24, 1, 1),
            piston_temperature=lambda: pen.number(18, 24, 1, 1),
            lay_together=lambda: pen.word("CYLINDER.bore_readings.lay_together"),
            new_size=lambda: Said(92.0),
            gap_top=lambda: pen.number(0.35, 0.6, 0.01),
            gap_bottom=lambda: pen.number(0.3, 0.35, 0.01),
            plated=lambda: pen.word("CYLINDER.bore_readings.plated"),
        )

    def liner(self) -> Document:
        return {
            "outer_diameter": self.pen.number(97, 99, 0.1),
            "jacket_diameter": self.pen.number(106, 112, 0.3),
        }

    def lobes(self, units: str) -> Document:
        return {port: self.lobe(port, units) for port in PORTS}

    def lobe(self, port: str, units: str) -> Document:
        pen = self.pen
        way = pen.one("card", "card", "law", "table")
        found: Document = {"centreline": pen.number(102, 112, 1)}
        peak, wide = float(pen.rng.uniform(7, 9)), float(pen.rng.uniform(280, 310))
        if way == "law":
            found["law"] = {
                "name": pen.word("lobe.LOBE.law.name"),
                "peak": pen.said(peak, 0.02),
                "degrees": pen.said(wide, 1),
            }
            found |= pen.table(0.2, measured_at="lifter")
        elif way == "card":
            found["card"] = self.card(peak, port, found)
        else:
            self.table_of(port, peak, wide, units, found)
        return found

    def card(self, peak: float, port: str, lobe: Document) -> Document:
        """Return a timing card: that of a law, read off it."""
        pen = self.pen
        ratio, lash = (1.5, 0.1) if pen.may(0.25) else (1.0, 0.0)
        at_valve = ratio > 1
        flank, wide, middle = 0.5, float(pen.rng.uniform(250, 270)), lobe["centreline"].value

        def degrees(lift: float) -> float:  # a rounded nose on flanks: open the longer the lower
            return float(wide * (1 - (lift / peak) ** flank * 0.62))

        def lift(at: float) -> Said:
            return pen.said(at * ratio - lash, 0.002, 4)

        def duration(at: float, doubt: float = 1) -> Document:
            return {"at": lift(at), "degrees": pen.said(degrees(at), doubt, 1)}

        found: Document = {"peak": pen.said(peak * ratio - lash, 0.02, 3)}
        if pen.may(0.75):
            found["duration"] = pen.one(duration(1.27), [duration(1.27), duration(2.54)])
            if pen.may(0.7):
                found["seat"] = duration(0.25, 2)
        else:
            open_ = degrees(1.27)
            del lobe["centreline"]
            if port == "intake":
                opens, closes = open_ / 2 - middle, middle + open_ / 2 - 180
            else:
                opens, closes = middle + open_ / 2 - 180, open_ / 2 - middle
            found["events"] = {
                "at": lift(1.27),
                "opens": pen.said(opens, 1, 1),
                "closes": pen.said(closes, 1, 1),
            }
        if "duration" in found and pen.may(0.3 * self.full):
            found["top_centre"] = lift(peak * ((1 - 2 * middle / wide) / 0.62) ** (1 / flank))
        if pen.may(0.2 * self.full):
            way = 1 if port == "intake" else -1
            rows = [
                {"angle": pen.said(way * (middle - degrees(up) / 2), 1, 1), "at": lift(up)}
                for up in (2.9, 4.1)
            ]
            found["lift"] = pen.one(rows[0], rows)
        if pen.may(0.2 * self.full):
            for flank_of, word in (("opening", "opens"), ("closing", "closes")):
                first = (flank_of == "opening") == (port == "intake")
                rows = [
                    {
                        "at": lift(up),
                        word: pen.said(
                            degrees(up) / 2 - middle if first else middle + degrees(up) / 2 - 180, 1, 1
                        ),
                    }
                    for up in (2.5, 3.5)
                ]
                found[flank_of] = pen.one(rows[0], rows)
        found |= pen.table(0.2 * self.full, top_dwells=lambda: pen.word("lobe.LOBE.card.top_dwells"))
        if at_valve:
            found |= {"ratio": pen.said(ratio, 0.01), "lash": pen.said(lash, 0.01)}
            lobe["measured_at"] = "valve"
        if "centreline" in lobe and pen.may(0.4):
            lobe["centreline_by"] = pen.word("lobe.LOBE.centreline_by")
        return found

    def table_of(self, port: str, peak: float, wide: float, units: str, lobe: Document) -> None:
        """Write a lobe's readings, and say of them what is to be said."""
        pen = self.pen
        lobe["angle"], lobe["units"] = pen.word("lobe.LOBE.angle"), pen.word("lobe.LOBE.units")
        lobe["zero"] = pen.word("lobe.LOBE.zero")
        at_valve = pen.may(0.35)
        lobe["measured_at"] = "valve" if at_valve else "lifter"
        if at_valve:
            if self.kind != "hydraulic":
                lobe |= pen.table(0.5, lash_read=lambda: pen.number(0, 0.2, 0.01))
            else:
                lobe |= pen.table(0.4, bled=lambda: pen.number(0.005, 0.04, 0.005))
            lobe |= pen.table(0.5, read_on_springs=lambda: pen.word("lobe.LOBE.read_on_springs"))
            if pen.may(0.4):
                pairs = [
                    {"lifter": pen.said(up, 0.02), "valve": pen.said(up * 1.6 - 0.15, 0.02)}
                    for up in (peak / 2, peak)
                ]
                lobe["dialled"] = pen.one(pairs[1], pairs)
        elif pen.may(0.5):
            lobe["read_with"] = pen.one(
                "flat",
                "the engine's own follower",
                {"tip": pen.number(1, 2, 0.02)},
                {"roller": pen.number(8, 11, 0.05)},
            )
            lobe["base_radius"] = pen.number(14, 18, 0.1)
            lobe |= pen.table(0.5, ground_for=lambda: pen.word("lobe.LOBE.ground_for"))
            if lobe["read_with"] != "the engine's own follower":
                lobe |= pen.table(0.3, read_offset=lambda: pen.number(-2, 2, 0.1))
        self.files[f"{port}.csv"] = _lobe_table(pen.rng, port, peak * (1.6 if at_valve else 1), wide, lobe)
        lobe["table"] = f"{port}.csv"
        if lobe["zero"] == "top centre":
            del lobe["centreline"]

    def trains(self, found: Document) -> list[Document]:
        pen = self.pen
        rows: list[Document] = []
        for index, name in enumerate(self.names):
            mirror = pen.may(0.3)
            for port in self.ports:
                row: Document = {"cylinder": name, "port": port}
                if index and pen.may(0.75 if index < 4 else 0.97):
                    row["like"] = f"{self.names[0]}.{port}"
                    if mirror or pen.may(0.1):
                        row["mirror"] = mirror
                    row |= pen.table(0.3, valve=lambda: {"sink": pen.number(0, 0.3, 0.02)})
                else:
                    gear = self.base if index == 0 else picked(engines(pen.rng, 1, self.crown, self.kind), 0)
                    row |= self.gear(gear, port)
                row |= self.measured(row, found)
                if found.get("lobe") and pen.may(0.1):
                    row["lobe"] = port
                rows.append(row)
        return rows

    def gear(self, base: Entries, port: str) -> Document:
        """Return one valve gear, by coordinates or by what a bench tells of it."""
        pen = self.pen
        stem = f"one.{port}."

        def of(entry: str, doubt: float) -> Said:
            value = float(str(base[stem + entry]))
            if ".lean." in entry or entry.endswith("arm_angle"):
                value = math.degrees(value)
            return pen.said(value, doubt)

        def row(entry: str, axes: str, doubt: float) -> list[Said]:
            return [of(f"{entry}.{axis}", doubt) for axis in axes]

        by_coordinates = pen.may(0.6)
        lifter = self.lifter(base, stem)
        rocker: Document = {}
        valve: Document = {}
        found: Document = {}
        if by_coordinates:
            seat = row("lifter.seat", "xyz", 0.3)
            if self.block:
                down = float(str(base["stack.cylinder"])) + float(str(base["stack.base_gasket"]))
                seat[2] = seat[2]._replace(value=round(seat[2].value - down, 6))
            lifter |= {
                "seat": seat,
                "lean": row("lifter.lean", "xy", 0.5),
                "lowered": of("lifter.lowered", 0.05),
            }
            rocker = self.rocker(base, stem, of, row)
            valve = {"face": row("valve.face", "xyz", 0.2), "lean": row("valve.lean", "xy", 0.5)}
            if pen.may(0.3):
                slant = math.sqrt(1 + sum(math.tan(math.radians(one.value)) ** 2 for one in valve["lean"]))
                height = valve["face"][2].value + float(str(base[f"{stem}valve.length"])) / slant
                valve["tip_height"] = pen.said(height, 0.2)
            else:
                valve["length"] = of("valve.length", 0.1)
            valve |= pen.table(
                0.9,
                head_diameter=lambda: of("valve.head_diameter", 0.05),
                margin=lambda: of("valve.margin", 0.1),
            )
            if self.crown == "pockets":
                found["pocket"] = self.pocket(base, stem, of, row)
        else:
            rocker |= pen.table(0.8, ratio=lambda: pen.number(1.5, 1.7, 0.02))
            rocker |= pen.table(
                self.full,
                ratio_at_seat=lambda: pen.number(1.45, 1.6, 0.02),
                cup_above_gasket=lambda: pen.number(100, 120, 0.5),
                shaft_above_cup=lambda: pen.number(3, 8, 1),
                shaft_above_tip=lambda: pen.number(-5, 5, 1),
            )
            lifter |= pen.table(self.full, below_deck=lambda: pen.number(5, 20, 0.5))
            valve |= pen.table(0.8, length=lambda: of("valve.length", 0.1))
        lifter |= pen.table(self.full * 0.5, above_cam=lambda: pen.number(60, 90, 1))
        valve |= pen.table(
            self.full,
            sink=lambda: of("valve.sink", 0.02),
            stem_diameter=lambda: pen.number(7, 9, 0.02),
            sits_lower_hot=lambda: pen.number(0, 0.05, 0.03),
            retainer_to_seal=lambda: pen.number(13, 17, 0.2),
        )
        rocker |= pen.table(max(self.full, 0.3), adjuster=self.adjuster)
        if pen.may(self.full * 0.4):
            lifter["follower"] = pen.one("flat", {"roller": pen.number(8, 11, 0.05)})
            if isinstance(lifter["follower"], dict):
                lifter |= pen.table(0.5, follower_offset=lambda: pen.number(-2, 2, 0.1))
            else:
                lifter |= pen.table(0.6, foot_width=lambda: pen.number(24, 30, 0.2))
        found |= {"lifter": lifter, "rocker": rocker, "valve": valve}
        found |= pen.table(
            max(self.full, 0.4),
            pushrod=self.pushrod,
            spring=lambda: pen.one(self.spring(0), [self.spring(0), self.spring(1)]),
        )
        return found | pen.table(
            self.full * 0.7,
            masses=lambda: pen.table(
                0.9,
                **{
                    one: (lambda: pen.number(50, 110, 3, 1))
                    for one in ("valve", "springs", "rocker", "pushrod", "lifter")
                },
            ),
            tube=lambda: self.tube(base, stem),
            nose_lift=lambda: {
                "checking": pen.number(11.9, 12.0, 0.02),
                "checking_force": pen.number(10, 50, 2),
                "running": pen.number(11.5, 11.8, 0.02),
                "running_force": pen.number(700, 1200, 20),
            },
            assembly=self.assembly,
        )

    def assembly(self) -> Document:
        pen = self.pen
        return pen.table(
            0.7,
            rocker_box=lambda: pen.word("TRAIN.assembly.rocker_box"),
            valve_opened=lambda: pen.number(0, 4, 0),
            adjuster_back=lambda: pen.number(0, 4, 0),
        )

    def lifter(self, base: Entries, stem: str) -> Document:
        pen = self.pen
        if self.kind == "hydraulic":
            found = {"kind": "hydraulic", "preload": pen.said(float(str(base[f"{stem}lifter.preload"])), 0.1)}
            travel = float(str(base[f"{stem}lifter.plunger_travel"]))
            return found | pen.table(0.85, plunger_travel=lambda: pen.said(travel, 0.1))
        lash = pen.said(float(str(base[f"{stem}lifter.lash"])), 0.02)
        return {"kind": "solid", "lash": lash, "lash_at": self.kind}

    def rocker(
        self,
        base: Entries,
        stem: str,
        of: Callable[[str, float], Said],
        row: Callable[[str, str, float], list[Said]],
    ) -> Document:
        """Return a rocker by coordinates, in one of the ways that its arms and its shaft's direction can be said."""
        pen = self.pen
        found: Document = {"shaft": row("rocker.shaft", "xyz", 0.2)}
        slope = [float(str(base[f"{stem}rocker.direction.{axis}"])) for axis in "xyz"]
        flat = math.hypot(slope[0], slope[1])
        found["direction"] = pen.one(
            [pen.said(one, 0.003) for one in slope],
            {
                "around": pen.said(math.degrees(math.atan2(slope[0], slope[1])), 0.3),
                "up": pen.said(math.degrees(math.atan2(slope[2], flat)), 0.3),
            },
        )
        found |= {one: of(f"rocker.{one}", 0.2) for one in ("valve_arm", "valve_station", "tip_radius")}
        way = pen.one("angle", "angle", "span", "ratio", "other ratio", "cup")
        long, short, angle = (
            float(str(base[f"{stem}rocker.{one}"])) for one in ("valve_arm", "pushrod_arm", "arm_angle")
        )
        if way == "cup":
            mapping = {**base, f"{stem}valve.sink": 0.0}
            name = stem[:-1]
            place = raw_loop.closed_angle(mapping, name).U - raw_loop.points(mapping, name).P
            in_head = [float(str(base[f"{stem}rocker.shaft.{axis}"])) for axis in "xyz"]
            found["cup"] = [pen.said(float(at), 0.2) for at in place + in_head]
            return found
        found["pushrod_station"] = of("rocker.pushrod_station", 0.2)
        if way == "other ratio":
            del found["valve_arm"]
        if way != "ratio":
            found["pushrod_arm"] = of("rocker.pushrod_arm", 0.2)
        if "ratio" in way:
            found["ratio"] = pen.said(long / short, 0.01)
        if way == "span":
            across = math.hypot(long - short * math.cos(angle), short * math.sin(angle))
            droops = (angle < math.pi) != pen.may(0.1)  # taken the wrong way round: parts that do not meet
            found |= {"span": pen.said(across, 0.2), "arms": "droop" if droops else "rise"}
        else:
            found["arm_angle"] = of("rocker.arm_angle", 1)
        return found

    def pocket(
        self,
        base: Entries,
        stem: str,
        of: Callable[[str, float], Said],
        row: Callable[[str, str, float], list[Said]],
    ) -> Document:
        pen = self.pen
        found: Document = {"lean": row("pocket.lean", "xy", 0.5)}
        found |= {"diameter": of("pocket.diameter", 0.1), "depth": of("pocket.depth", 0.05)}
        found["deepest" if pen.may(0.3) else "centre"] = row("pocket.centre", "xy", 0.2)
        return found

    def adjuster(self) -> Document:
        pen = self.pen
        kind = pen.word("TRAIN.rocker.adjuster.kind")
        found: Document = {"kind": kind}
        if kind == "eccentric shaft":
            return found | {"eccentricity": pen.number(1, 2, 0.05), "eccentric_at": pen.number(-60, 60, 3)}
        if kind == "none":
            return found
        found |= pen.one({"pitch": Said(1.0)}, {"threads_per_inch": Said(24.0)})
        return found | pen.table(
            0.6,
            flats=Said(6.0),
            axis=lambda: [pen.number(-4, 4, 1), pen.number(-4, 4, 1)],
            turns_in=lambda: pen.number(1, 5, 0.2),
            turns_out=lambda: pen.number(1, 5, 0.2),
        )

    def ends(self, share: float) -> Document:
        pen = self.pen
        found: Document = {
            one: pen.number(7.9, 8.0, 0.01) if "ball" in one else pen.number(1.4, 1.8, 0.05)
            for one in ROD_ENDS
            if pen.may(share)
        }
        if pen.may(0.25):
            found["end_high"] = pen.word("TRAIN.pushrod.end_high")
            found |= pen.table(0.5, end_low=lambda: pen.word("TRAIN.pushrod.end_low"))
            found |= pen.table(0.7, cup_rim=lambda: pen.number(0.5, 2, 0.05))
        return found | pen.table(0.2, gauge=lambda: pen.number(4, 5, 0.01))

    def pushrod(self) -> Document:
        pen = self.pen
        found = self.ends(0.95) | pen.table(
            self.full,
            diameter=lambda: pen.number(7.8, 9.6, 0.05),
            wall=lambda: pen.number(1.2, 2.2, 0.05),
            cup_depth_low=lambda: pen.number(1.5, 3.5, 0.2),
            cup_depth_high=lambda: pen.number(1.5, 3.5, 0.2),
            cup_radius_low=lambda: pen.number(4.1, 4.4, 0.05),
            cup_radius_high=lambda: pen.number(4.1, 4.4, 0.05),
        )
        stuff = {"material": pen.word("TRAIN.pushrod.material"), "expansion": pen.number(11, 24, 1)}
        return found | pen.table(self.full * 0.6, **{(one := pen.one("material", "expansion")): stuff[one]})

    def spring(self, nested: int) -> Document:
        pen = self.pen
        wire, coils = (4.0, 32.0) if nested == 0 else (2.8, 22.0)
        free, rate = 58.0, 79300 * wire**4 / (8 * coils**3 * 5.5)
        found: Document = {"installed": pen.number(44, 46, 0.2)}
        way = pen.one("rate", "force", "wire", "all", "rate and force")
        if way in ("rate", "all", "rate and force"):
            found["rate"] = pen.said(rate, 0.5, 2)
        if way in ("force", "all", "rate and force"):
            found |= {"force": pen.said(rate * (free - 41), 10, 1), "force_at": pen.said(41.0, 0.1)}
        if way != "rate and force":
            found["free_length"] = pen.said(free, 0.2)
        if way in ("wire", "all"):
            found |= {
                "wire": pen.said(wire, 0.02),
                "mean_diameter": pen.said(coils, 0.1),
                "active_coils": pen.said(5.5, 0.1),
            }
            found |= pen.table(0.4, shear_modulus=lambda: pen.number(78, 81, 1))
        return found | pen.table(0.8, solid_height=lambda: pen.number(26, 31, 0.2))

    def tube(self, base: Entries, stem: str) -> Document:
        pen = self.pen
        seat, shaft = (
            [float(str(base[f"{stem}{of}.{axis}"])) for axis in "xyz"]
            for of in ("lifter.seat", "rocker.shaft")
        )
        found = {
            "seat_low": [pen.said(at, 0.3, 3) for at in (*seat[:2], 20.0)],
            "seat_high": [pen.said(at, 0.3, 3) for at in (0.6 * shaft[0], 55.0, 5.0)],
        }
        return found | pen.table(
            0.8,
            shortest=lambda: pen.number(95, 105, 0.5),
            longest=lambda: pen.number(112, 125, 0.5),
            inner_diameter=lambda: pen.number(16, 30, 0.2),
        )

    def then(self, found: Document, share: float) -> Document:
        """Return the stack of a reading, of the parts that the job has."""
        pen = self.pen
        now = found["stack"]
        if self.block:
            return pen.table(
                share,
                cylinder="block",
                base_gasket="none",
                head_gasket=lambda: self.pen.number(0.9, 1.6, 0.05),
                head_cut=lambda: Said(0.0),
            )
        then: Document = {
            part: pen.said(float(str(self.base[f"stack.{part}"])) - off, 0.05, 3)
            for part, off in (("cylinder", 5.0), ("head_gasket", -0.1), ("base_gasket", 0.0))
            if part in now and pen.may(share)
        }
        then |= {part: "none" for part in ("base_gasket", "head_gasket") if part in then and pen.may(0.1)}
        return then | pen.table(
            share * 0.4, case_cut=lambda: pen.number(0, 0.1, 0.02), head_cut=lambda: pen.number(0, 0.1, 0.02)
        )

    def on(self) -> Document:
        if not self.pen.may(0.2):
            return {}
        return {"on": self.pen.one("now", "before") if self.has_before else "now"}

    def measured(self, row: Document, found: Document) -> Document:
        """Return what was read at one valve gear: its rod, its drop."""
        pen = self.pen
        has_coordinates = "seat" in row.get("lifter", {})
        told: Document = {}
        if pen.may(0.3 if has_coordinates else 0.9):
            told["measured_pushrod"] = self.rod(found)
        if pen.may(0.3 if has_coordinates else 0.6):
            drop: Document = {
                "drop": pen.number(3, 7, 0.05),
                "lean": pen.number(19, 25, 1),
                "meets": pen.word("TRAIN.measured_drop.meets"),
            }
            if drop["meets"] == "pocket":
                drop |= pen.table(0.7, room=lambda: pen.number(1.5, 3, 0.2))
            drop |= pen.table(0.4, stack=lambda: self.then(found, 0.7))
            if pen.may(0.15):
                drop |= {"crank": self.crank(0.5), "piston": self.piston()}
                drop["piston"].pop("crown_table", None) if pen.may(0.3) else None
            drop |= pen.table(0.2, valve=lambda: {"sink": pen.number(0, 0.2, 0.02)})
            told["measured_drop"] = drop | self.on()
        return told

    def rod(self, found: Document) -> Document:
        pen = self.pen
        rod: Document = {"as": pen.word("TRAIN.measured_pushrod.as")}
        length = float(pen.rng.uniform(262, 268))
        if pen.may(0.35):
            turns = float(pen.rng.uniform(2, 9))
            thread = pen.one({"pitch": Said(1.0)}, {"threads_per_inch": Said(20.0)})
            by = 1.0 if "pitch" in thread else INCH / 20
            rod["checking_rod"] = {
                "closed": pen.said(length - turns * by, 0.05, 3),
                "turns": pen.said(turns, 0.05, 2),
                **thread,
            }
        else:
            rod["length"] = pen.said(length, 0.1, 3)
        if self.kind == "hydraulic":
            rod["plunger"] = pen.one(
                *WORDS["TRAIN.measured_pushrod.plunger"], "top", {"down": pen.number(0, 1, 0.05)}
            )
        rod["lean"] = pen.one(pen.number(1, 5, 1), [pen.number(-3, 3, 1), pen.number(-3, 3, 1)])
        if rod["as"] == "gauge":
            rod["gauge"] = pen.number(4, 5, 0.01)
        if pen.may(0.1):
            del rod["lean"]
        rod |= pen.table(0.4, stack=lambda: self.then(found, 0.8))
        if pen.may(0.2):
            rod = {**self.ends(0.9), **rod}
        rod |= pen.table(
            0.15,
            valve=lambda: {"sink": pen.number(0, 0.2, 0.02)},
            lifter=lambda: {"lowered": pen.number(0, 0.2, 0.02)},
        )
        return rod | self.on()

    def readings(self) -> list[Document]:
        pen = self.pen
        return [self.reading(str(pen.one(*CHECKS))) for _ in range(int(pen.rng.integers(1, 4)))]

    def reading(self, of: str) -> Document:
        pen = self.pen
        name = str(pen.one(*self.names))
        train = {"train": f"{name}.intake"}
        cylinder = {"cylinder": name}
        found: Document = {"of": of}
        if of == "pushrod":
            found |= train | {"value": pen.number(262, 268, 0.1), "as": pen.word("reading.#.as")}
            if self.kind == "hydraulic":
                found["plunger"] = pen.one(*WORDS["reading.#.plunger"], {"down": pen.number(0, 1, 0.05)})
        elif of == "valve lift":
            found |= train | {"value": pen.number(9, 11, 0.1), "lifter_lift": pen.number(6, 6.5, 0.05)}
        elif of == "valve lift at overlap":
            found |= (
                train
                | {"value": pen.number(1, 3, 0.1)}
                | pen.table(0.5, at=lambda: Said(float(pen.rng.integers(-10, 10))))
            )
        elif of == "drop":
            found |= (
                train
                | {"value": pen.number(3, 7, 0.05)}
                | pen.table(0.5, at=lambda: Said(float(pen.rng.integers(-10, 10))))
            )
        elif of in ("clay", "stem tip"):
            found |= train | {"value": pen.number(1, 3, 0.1) if of == "clay" else pen.number(110, 118, 0.2)}
        elif of == "deck":
            found |= cylinder | {"value": pen.number(0, 1.5, 0.03)}
        elif of == "port gap":
            if len(self.names) == 1:
                return self.reading("deck")
            other = self.names[1] if name == self.names[0] else self.names[0]
            found |= cylinder | {
                "other": other,
                "face": pen.word("reading.#.face"),
                "value": pen.number(60, 200, 0.3),
            }
        elif of == "chamber":
            found |= cylinder | {"volume": pen.number(60, 110, 0.5)}
        else:
            found |= (
                cylinder
                | {"value": pen.number(1, 4, 0.1)}
                | pen.table(0.5, at=lambda: Said(float(pen.rng.integers(-10, 10))))
            )
        if pen.may(0.25):
            found["stack"] = {
                part: pen.said(float(str(self.base[f"stack.{part}"])), 0.05, 3)
                for part in ("cylinder", "head_gasket", "base_gasket", "case_cut", "head_cut")
                if pen.may(0.7)
            }
            found["stack"] |= {part: "none" for part in ("base_gasket", "head_gasket") if pen.may(0.1)}
            if self.block:
                found["stack"] |= {"cylinder": "block", "base_gasket": "none"}
        return found | self.on()


def _cut(table: Document, otherwise: float) -> float:
    """Return what was cut off a head [mm]; otherwise : where nothing of its own is said."""
    cut = table.get("stack", {}).get("head_cut", Said(otherwise))
    return float(cut.value)


DECKS = {"case_deck", "block_deck"}
VERSIONS = ("0.1", "0.2", "0.3", "0.4", "0.5", "0.6")
SHELF = """\
label,kind,length,shortest,longest,as,units,ball_diameter,threads_per_inch,flats,diameter,wall,count
A,fixed,10.42,,,overall,in,5/16,,,5/16,0.080,4
B,adjustable,,10.3,10.7,overall,in,5/16,24,6,3/8,0.083,2
C,fixed,265.1,,,overall,mm,7.94,,,8.0,1.6,12
"""


def _crown(rng: np.random.Generator) -> str:
    """Return a measured crown: two shallow hollows, their depth drawn."""
    across = np.linspace(-45.5, 45.5, 15)
    x, y = (one.ravel() for one in np.meshgrid(across, across))
    within = np.hypot(x, y) < 45.6
    x, y = x[within], y[within]
    deep = rng.uniform(1, 5)
    z = -deep * (np.exp(-((x - 18) ** 2 + y**2) / 300) + np.exp(-((x + 18) ** 2 + y**2) / 300))
    lines = [",".join(f"{one:.3f}" for one in place) for place in zip(x, y, z, strict=True)]
    return "\n".join(["x,y,height", *lines]) + "\n"


def _lobe_table(rng: np.random.Generator, port: str, peak: float, wide: float, lobe: Document) -> str:
    """Return a lobe's readings, round the whole of it."""
    crank = lobe["angle"] == "crank"
    top = lobe["centreline"].value * (1 if port == "intake" else -1) if lobe["zero"] == "top centre" else 0.0
    angle = np.arange(-180, 180, 5.0) if not crank else np.arange(-360, 360, 10.0)
    half = wide / 2 if crank else wide / 4
    top = top if crank else top / 2
    lift = peak * (1 - np.clip(np.abs(angle) / half, 0, 1) ** 2) ** 3
    lift = np.where(lift > 0.001, lift + rng.normal(0, 0.002, len(angle)), 0.0)
    per = INCH if lobe["units"] == "in" else 1.0
    lines = [f"{at + top:.3f},{max(one, 0) / per:.5f}" for at, one in zip(angle, lift, strict=True)]
    return "\n".join(["angle,lift", *lines]) + "\n"


def _tidy(table: Document) -> Document:
    """Return a document less its empty tables."""
    found = {name: _tidy(one) if isinstance(one, dict) else one for name, one in table.items()}
    return {name: one for name, one in found.items() if one not in ({}, [])}


def numbers(part: Any, loc: Loc = ()) -> Iterator[tuple[Loc, Said, Dimension]]:
    """Yield every number of a document, with where it stands and what it measures; of a row the row's place and its index."""
    if isinstance(part, Said):
        yield loc, part, dimension(loc)
    elif isinstance(part, (dict, list)):
        for key, one in part.items() if isinstance(part, dict) else enumerate(part):
            yield from numbers(one, (*loc, key))


def entry_of(loc: Loc) -> Loc:
    """Return the place of the entry that a number is part of: a row's, a reading's."""
    while meaning_at(loc) is None or isinstance(loc[-1], int):
        loc = loc[:-1]
    return loc


def dimension(loc: Loc) -> Dimension:
    """Return what a number measures."""
    kind = meaning_at(entry_of(loc))
    if isinstance(kind, Parts):
        return kind.dimension
    assert isinstance(kind, Quantity), loc
    return kind.dimension


def changed(part: Any, how: Callable[[Loc, Any], Any], loc: Loc = ()) -> Any:
    """Return a document with every leaf, and every row of numbers, changed."""
    if isinstance(part, dict):
        return {key: changed(one, how, (*loc, key)) for key, one in part.items()}
    if isinstance(part, list) and part and isinstance(part[0], dict):
        return [changed(one, how, (*loc, index)) for index, one in enumerate(part)]
    return how(loc, part)


def text(document: Document, rng: np.random.Generator, units: str, foreign: float = 0.2) -> str:
    """Return a document as TOML; foreign : how many numbers are typed in units of the other system."""
    pen = _Typist(rng, units, foreign)
    return "\n".join(_lines(document, (), (), pen)) + "\n"


class _Typist(NamedTuple):
    rng: np.random.Generator
    units: str
    foreign: float

    def typed(self, one: Any, loc: Loc) -> str:
        """Return a leaf as TOML has it."""
        if isinstance(one, bool):
            return str(one).lower()
        if isinstance(one, str):
            return f'"{one}"'
        if isinstance(one, Said):
            return self.number(one, dimension(loc), loc)
        if isinstance(one, dict):
            return (
                "{ "
                + ", ".join(f"{name} = {self.typed(part, (*loc, name))}" for name, part in one.items())
                + " }"
            )
        if isinstance(one, list):
            return f"[{', '.join(self.typed(part, (*loc, index)) for index, part in enumerate(one))}]"
        return repr(one)

    def number(self, one: Said, of: Dimension, loc: Loc) -> str:
        if of in (Dimension.ANGLE, Dimension.NUMBER) or one.form == "{} %":
            words = one.form.format(_digits(one.value)) + _half(one.half, 1.0)
            return words if one.half is None and one.form == "{}" else f'"{words}"'
        system = self.units
        if self.rng.random() < self.foreign:
            system = "in" if system == "mm" else "mm"
        unit = str(self.rng.choice(SYSTEMS[system][of]))
        per = float(UNITS[of][unit.lower()] / UNITS[of][SHOWN[of]])
        zero = ZERO_C_IN_F if unit == "F" else 0.0
        words = one.form.format(_digits(one.value / per + zero)) + _half(one.half, per)
        if of is Dimension.LENGTH and unit == self.units and one.form == "{}" and self.rng.random() < 0.7:
            return words if one.half is None else f'"{words}"'
        return f"'{words} {unit}'" if unit == '"' else f'"{words} {unit}"'


def _half(half: float | None, per: float) -> str:
    return "" if half is None else f" +/- {_digits(half / per)}"


def _digits(number: float) -> str:
    return np.format_float_positional(number, trim="0")


def _lines(table: Document, path: tuple[str, ...], loc: Loc, pen: _Typist) -> Iterator[str]:
    """Yield the lines of a table, its own entries first."""
    inner = {}
    for name, one in table.items():
        is_rows = isinstance(one, list) and one and isinstance(one[0], dict)
        if is_rows or (isinstance(one, dict) and "by" not in one):
            inner[name] = one
        else:
            yield f"{_key(name)} = {pen.typed(one, (*loc, name))}"
    for name, one in inner.items():
        below, header = (*loc, name), (*path, _key(name))
        for index, row in enumerate(one if isinstance(one, list) else [one]):
            brackets = "[[{}]]" if isinstance(one, list) else "[{}]"
            yield brackets.format(".".join(header))
            yield from _lines(row, header, (*below, index) if isinstance(one, list) else below, pen)


def _key(name: str) -> str:
    return name if name.replace("_", "").isalnum() else f'"{name}"'


def written(
    drawn: Drawn, folder: Path, name: str = "job", units: str = "", foreign: float = 0.2, seed: int = 0
) -> Path:
    """Write a job with the files that it names, and return its path; units : of its bare numbers."""
    units = units or drawn.units
    for file, said in drawn.files.items():
        (folder / file).write_text(_in_units(said, units) if file == "crown.csv" else said, encoding="utf-8")
    path = folder / f"{name}.toml"
    rng = np.random.default_rng([seed, 41])
    path.write_text(text({**drawn.document, "units": units}, rng, units, foreign), encoding="utf-8")
    return path


def _in_units(said: str, units: str) -> str:
    """Return a table of lengths in the job's units; said : in mm."""
    if units == "mm":
        return said
    head, *rows = said.splitlines()
    return (
        "\n".join([head, *(",".join(repr(float(one) / INCH) for one in row.split(",")) for row in rows)])
        + "\n"
    )
