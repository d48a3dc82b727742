"""The symbolic derivation of one valve gear's pushrod length, a chain of named steps.

From coordinates everything about the rocker is an angle about its shaft, counted from the stem as
it is seen along the shaft. Cylinder frame, positive angles right-handed about the direction a:

          q = a × m              contact centre at +φ or -φ:  n·(d + rv·e) = ρ,  cos φ = (ρ - n·d)/(rv·k)
          │  ╱ valve arm         cup at γ, the arm angle ψ further on by way of the underside
          │ ╱ φ
        a ⊙───── m               lash at the valve: the same with ρ + lash for ρ, on the same side
           ╲ γ
            ╲ pushrod arm        U = P + yp·a + rp·(m·cos γ + q·sin γ),   L = |U - B|

From a measured pushrod only cosines are needed: of its whole lean and of its angle to the lifter.

Every step is an expression in entries of the flat mapping and in symbols of earlier steps, with
its value for the engine at hand. Two choices are not algebra and are taken from that engine's
numbers: the side of the stem the contact stands on, and the sense of the turn that opens.

Source: derived here from the conditions above, apart from the closed forms in `train` and `bench`,
so that each is a check of the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import sympy as sp  # type: ignore[import-untyped]

from ..core.errors import UnreachableError
from ..core.frames import array
from ..core.mapping import ANGLES, Flat, Reader
from ..engine.alternatives import lobe_name, ratio
from ..engine.before import STEM, was_read_before
from ..engine.defaults import STACK, completed, signed
from ..engine.engine import MEASURED, train_of
from ..gear.at_valve import DIALLED
from .assembly import obstacles
from .pushrods import required

AXES = "xyz"
UP = sp.ImmutableMatrix([0, 0, 1])


@dataclass(frozen=True, slots=True)
class Step:
    """One symbol of the derivation; a vector has three components, named x, y and z."""

    symbol: str
    words: str
    unit: str  # "mm", "rad" or "" for a pure number
    expression: sp.Expr | sp.ImmutableMatrix  # in entries and earlier symbols
    value: float | tuple[float, float, float]  # for the engine at hand

    @property
    def names(self) -> tuple[str, ...]:
        """The names by which later expressions call this step: its own, or one for each component."""
        if isinstance(self.value, tuple):
            return tuple(f"{self.symbol}_{axis}" for axis in AXES)
        return (self.symbol,)


@dataclass(frozen=True, slots=True)
class Derivation:
    """A pushrod's length derived step by step; the last step is the length."""

    train: str
    basis: str  # engine.COORDINATES or engine.MEASURED
    convention: str  # of the length: "centres", or as read where the ends were not measured
    steps: tuple[Step, ...]
    entries: dict[str, float]  # every entry that enters: mm, rad or plain

    def length(self) -> sp.Expr:
        """Return the last step in entries alone: every earlier symbol replaced by what it stands for."""
        known: dict[sp.Symbol, sp.Expr] = {}
        for step in self.steps:
            for name, part in zip(step.names, _parts(step.expression), strict=True):
                known[sp.Symbol(name, real=True)] = part.xreplace(known)
        return known[sp.Symbol(self.steps[-1].symbol, real=True)]


def derivation(mapping: Flat, name: str, ordered_as: str = "centres") -> Derivation:
    """Return the derivation of one valve gear's pushrod, by the route that stands behind it.

    mapping : one engine, every number a scalar;  name : of the valve gear, "front.intake"
    ordered_as : the convention of the last step, where the length between ball centres is known
    Refuses what `pushrods.required` refuses, with its MissingEntryError.

    Raises:
        TypeError: where an entry holds more than one number.
        UnreachableError: where the closed valve gear cannot be assembled from its coordinates.
    """
    for path, value in mapping.items():
        if not isinstance(value, (str, tuple)) and array(value).ndim:
            message = f"{path} is not one number"
            raise TypeError(message)
    gear = train_of(mapping, name)
    answer = required(gear)
    measured = answer.basis == MEASURED
    why = () if measured else obstacles(gear)
    if why and answer.reach is not None:
        raise UnreachableError(why[0], float(answer.reach))
    chain = _Chain(completed(mapping)[0])
    train = Reader(chain.mapping, (f"{name}.",))
    cylinder = Reader(chain.mapping, (f"{name.rpartition('.')[0]}.", ""))
    (_by_measurement if measured else _by_coordinates)(chain, train, cylinder)
    convention = "centres" if "centres" in answer.lengths else next(iter(answer.lengths))
    if convention == "centres" and ordered_as != "centres" and ordered_as in answer.lengths:
        convention = ordered_as
        _ordered(chain, train, ordered_as)
    return Derivation(name, answer.basis, convention, tuple(chain.steps), chain.entries)


def entry_symbol(path: str) -> sp.Symbol:
    """Return the symbol that stands for an entry in every expression."""
    return sp.Symbol(path, real=True)


@dataclass(slots=True)
class _Chain:
    """The steps so far, with the values of every symbol used in them."""

    mapping: Flat
    steps: list[Step] = field(default_factory=list)
    entries: dict[str, float] = field(default_factory=dict)
    values: dict[sp.Symbol, sp.Float] = field(default_factory=dict)

    def find(self, reader: Reader, path: str) -> sp.Symbol | None:
        """Return an entry's symbol and note its number, or None when it was not given."""
        return None if reader.find(path) is None else self.number(reader, path)

    def number(self, reader: Reader, path: str) -> sp.Symbol:
        """Return an entry's symbol and note its number; `required` has seen that there is one."""
        full = reader.path(path)
        self.entries[full] = float(reader.number(path))
        self.values[entry_symbol(full)] = sp.Float(self.entries[full])
        return entry_symbol(full)

    def point(self, reader: Reader, path: str) -> sp.ImmutableMatrix:
        return sp.ImmutableMatrix([self.number(reader, f"{path}.{axis}") for axis in AXES])

    def lean(self, reader: Reader, path: str) -> sp.ImmutableMatrix:
        """Return the unit direction of a lean pair."""
        across, along = (sp.tan(self.number(reader, f"{path}.{axis}")) for axis in "xy")
        return sp.ImmutableMatrix([across, along, 1]) / sp.sqrt(1 + across**2 + along**2)

    def step(self, symbol: str, words: str, unit: str, expression: sp.Expr) -> sp.Expr:
        """Add a step and return what later expressions call it: a symbol, or a vector of three."""
        numbers = [float(part.xreplace(self.values)) for part in _parts(expression)]
        value = numbers[0] if len(numbers) == 1 else (numbers[0], numbers[1], numbers[2])
        self.steps.append(Step(symbol, words, unit, expression, value))
        for name, number in zip(self.steps[-1].names, numbers, strict=True):
            self.values[sp.Symbol(name, real=True)] = sp.Float(number)
        return self[symbol]

    def numeric(self, expression: sp.Expr) -> float:
        return float(expression.xreplace(self.values))

    def __contains__(self, symbol: str) -> bool:
        return any(step.symbol == symbol for step in self.steps)

    def __getitem__(self, symbol: str) -> sp.Expr:
        """Return what later expressions call an earlier step."""
        names = next(step.names for step in self.steps if step.symbol == symbol)
        symbols = [sp.Symbol(name, real=True) for name in names]
        return symbols[0] if len(symbols) == 1 else sp.ImmutableMatrix(symbols)


def _by_coordinates(chain: _Chain, train: Reader, cylinder: Reader) -> None:
    step = chain.step
    u = step("u", "direction in which the lifter rises", "", chain.lean(train, "lifter.lean"))
    n = step("n", "direction of the valve's stem, out of the chamber", "", chain.lean(train, "valve.lean"))
    a = _shaft_direction(chain, train)
    deck = step("D", "case deck above the crank centre, as it was", "mm", _case_deck(chain, cylinder))
    parts = [signed(part) * chain.number(cylinder, f"stack.{part}") for part in STACK]
    face = step("H", "what head points are counted from, above the crank centre", "mm", deck + sum(parts))
    seat = chain.point(train, "lifter.seat") - chain.number(train, "lifter.lowered") * u
    seat = step("S", "lifter's ball centre, on the base circle, plunger up", "mm", seat + deck * UP)
    shaft = step("P", "point on the rocker shaft", "mm", chain.point(train, "rocker.shaft") + face * UP)
    height = step("l", "valve's face to its stem tip", "mm", _valve_length(chain, train))
    base = chain.point(train, "valve.face") + face * UP
    tip = base + (height + chain.number(train, "valve.sink")) * n
    tip = step("T", "centre of the stem tip, valve closed", "mm", tip)

    k = step("k", "share of the stem's direction square to the shaft", "", sp.sqrt(1 - n.dot(a) ** 2))
    m = step("m", "the stem's direction as seen along the shaft", "", (n - n.dot(a) * a) / k)
    q = step("q", "direction square to that and to the shaft", "", a.cross(m))
    long, short, station = _arms(chain, train)
    foot = shaft + chain.number(train, "rocker.valve_station") * a - tip
    d = step("d", "from the stem tip to the centre on which the valve arm turns", "mm", foot)
    rho = step("ρ", "radius of the rocker's tip", "mm", chain.number(train, "rocker.tip_radius"))
    wanted = step("w", "how high the contact stands above that centre, along the stem", "mm", rho - n.dot(d))
    phi = step("φ", "angle of the valve arm from m, valve closed", "rad", sp.acos(wanted / (long * k)))

    near = 1 if chain.numeric(d.dot(q)) <= 0 else -1  # the root that puts the contact nearest the tip
    arm_turning = q * sp.cos(phi) - near * m * sp.sin(phi)  # where a positive turn carries the valve arm
    opening = -1 if chain.numeric(arm_turning[2]) > 0 else 1  # towards -z
    side = step("σ", "side of the stem the contact stands on, nearest its tip", "", sp.Integer(near))
    psi = _arm_angle(chain, train, opening)

    kind, lash, turned = train.word("lifter.kind"), sp.Integer(0), phi
    if kind == "solid":
        lash = chain.number(train, "lifter.lash")
        if train.word("lifter.lash_at", "valve") == "valve":
            aloft, lash = sp.acos((wanted + lash) / (long * k)), sp.Integer(0)
            turned = step("φ_lash", "the same, turned back to leave the lash at the valve", "rad", aloft)
    gamma = step("γ", "angle of the pushrod arm from m", "rad", side * turned + psi)
    arm = short * (m * sp.cos(gamma) + q * sp.sin(gamma))
    cup = step("U", "the rocker cup's ball centre", "mm", shaft + station * a + arm)
    down = chain.number(train, "lifter.preload") if kind == "hydraulic" else sp.Integer(0)
    ball = step("B", "the lifter's ball centre, valve closed", "mm", seat - down * u)
    step("L", "pushrod, ball centre to ball centre", "mm", sp.sqrt((cup - ball).dot(cup - ball)) - lash)


def _by_measurement(chain: _Chain, train: Reader, cylinder: Reader) -> None:
    step, own = chain.step, "measured_pushrod"
    rod = step("R", "the measured pushrod, as read", "mm", _reading(chain, train))
    beyond = _beyond(chain, train)
    if beyond is not None:  # else the length as read stands for the one between centres
        beyond = step("b", "what both ends reach beyond their ball centres", "mm", beyond)
        rod = step("c", "the same between ball centres", "mm", rod - beyond)
    growth = sum(
        (
            signed(part) * (chain.number(cylinder, f"stack.{part}") - before)
            for part in STACK
            if (before := chain.find(train, f"{own}.stack.{part}")) is not None
        ),
        sp.Integer(0),
    )
    growth = step("Δ", "how much taller the stack is now", "mm", growth)
    in_views = train.has(f"{own}.lean.x")
    was = chain.lean(train, f"{own}.lean") if in_views else None
    cosine = sp.cos(chain.number(train, f"{own}.lean")) if was is None else was[2]
    cosine = step("cos λ", "of the pushrod's whole lean to the cylinder axis, then", "", cosine)
    grown = sp.sqrt(rod**2 + 2 * rod * growth * cosine + growth**2)
    grown = step("c_1", "between ball centres on the stack of today", "mm", grown)

    along = sp.Integer(1)
    if train.has("lifter.lean.x"):
        u = step("u", "direction in which the lifter rises", "", chain.lean(train, "lifter.lean"))
        # Of two whole leans the cosine lies between cos(λ - μ) and cos(λ + μ): the middle is cos λ · cos μ.
        upright = (rod * cosine + growth) * u[2]
        along = (upright if was is None else rod * was.dot(u) + growth * u[2]) / grown
    along = step("cos θ", "of the angle between pushrod and lifter", "", along)
    down = _since(chain, train, "lifter.lowered") - _plunger_then(chain, train)
    down = step("p", "how much further down the ball is now, plunger up", "mm", down)
    straight = sp.sqrt(grown**2 + 2 * grown * down * along + down**2)
    along = step("cos θ_1", "of the same angle, plunger up", "", (grown * along + down) / straight)
    sunk = _since(chain, train, "valve.sink")
    straight -= sunk / _ratio(chain, train) if sunk != 0 and ratio(train) is not None else 0
    straight = step("c_2", "pushrod that just touches, plunger up", "mm", straight)
    if train.word("lifter.kind") == "hydraulic":
        preload = chain.number(train, "lifter.preload")
        wanted = sp.sqrt(straight**2 + 2 * straight * preload * along + preload**2)
    else:
        lash = chain.number(train, "lifter.lash")
        at_valve = train.word("lifter.lash_at", "valve") == "valve"
        wanted = straight - (lash / _ratio(chain, train) if at_valve else lash)
    words = "as read" if beyond is None else "ball centre to ball centre"
    step("L", f"pushrod with the wanted preload or lash, {words}", "mm", wanted)


def _shaft_direction(chain: _Chain, train: Reader) -> sp.ImmutableMatrix:
    if "a" in chain:
        return chain["a"]
    if train.has("rocker.direction.z"):
        given = chain.point(train, "rocker.direction")
        given = given / sp.sqrt(given.dot(given))
    elif train.has("rocker.direction.around"):
        around, up = (chain.number(train, f"rocker.direction.{one}") for one in ANGLES)
        given = sp.ImmutableMatrix([sp.cos(up) * sp.sin(around), sp.cos(up) * sp.cos(around), sp.sin(up)])
    else:
        given = chain.lean(train, "rocker.direction")
    return chain.step("a", "direction of the rocker shaft", "", given)


def _cup(chain: _Chain, train: Reader) -> sp.ImmutableMatrix:
    if "C" in chain:
        return chain["C"]
    offset = chain.point(train, "rocker.cup") - chain.point(train, "rocker.shaft")
    return chain.step("C", "from the point on the shaft to the cup, as it was measured", "mm", offset)


def _arms(chain: _Chain, train: Reader) -> tuple[sp.Expr, sp.Expr, sp.Expr]:
    """Add valve arm, pushrod arm and the pushrod arm's station, from whichever entries say them."""
    long, station = chain.find(train, "rocker.valve_arm"), chain.find(train, "rocker.pushrod_station")
    short = _given_pushrod_arm(chain, train)
    if long is None:
        long = chain.number(train, "rocker.ratio") * short
    if short is None:
        short = long / chain.number(train, "rocker.ratio")
    if station is None:
        station = _cup(chain, train).dot(_shaft_direction(chain, train))
    return (
        chain.step("rv", "valve arm, shaft axis to contact centre", "mm", long),
        chain.step("rp", "pushrod arm, shaft axis to the cup's ball centre", "mm", short),
        chain.step("yp", "the cup's station along the shaft", "mm", station),
    )


def _given_pushrod_arm(chain: _Chain, train: Reader) -> sp.Expr | None:
    arm = chain.find(train, "rocker.pushrod_arm")
    if arm is not None or not train.has("rocker.cup"):
        return arm
    square = _cup(chain, train).cross(_shaft_direction(chain, train))
    return sp.sqrt(square.dot(square))


def _arm_angle(chain: _Chain, train: Reader, opening: int) -> sp.Expr:
    """Add the arm angle, from whichever entries say it, and return it counted about +a.

    opening : +1 where the valve opens by a positive turn about a, -1 by a negative one
    """
    sense = chain.step("τ", "sense of the turn that opens the valve", "", sp.Integer(opening))
    angle = chain.find(train, "rocker.arm_angle")
    if angle is None and train.has("rocker.span"):
        long, short, span = chain["rv"], chain["rp"], chain.number(train, "rocker.span")
        angle = sp.acos((long**2 + short**2 - span**2) / (2 * long * short))
        angle = 2 * sp.pi - angle if train.word("rocker.arms") == "rise" else angle
    elif angle is None:
        cup, long = _cup(chain, train), chain["rv"]
        place = sp.atan2(cup.dot(chain["q"]), cup.dot(chain["m"]))
        place = chain.step("χ", "angle of the cup from m, as it was measured", "rad", place)
        then = sp.acos((chain["w"] - chain.number(train, "valve.sink")) / (long * chain["k"]))
        then = chain.step("φ_then", "angle of the valve arm from m, valve not sunk", "rad", then)
        angle = sense * (place - chain["σ"] * then)
        angle += 2 * sp.pi if chain.numeric(angle) < 0 else 0
    return sense * chain.step("ψ", "angle between the arms, on the underside", "rad", angle)


def _case_deck(chain: _Chain, cylinder: Reader) -> sp.Expr:
    for prefix in cylinder.prefixes:  # a cylinder's own reading goes before the engine's entry
        nearest = Reader(cylinder.mapping, (prefix,))
        entered = chain.find(nearest, "stack.case_deck")
        if entered is not None:
            return entered
        if nearest.has("stack.measured_deck.below"):
            break

    def then(entry: str) -> sp.Symbol:
        was = chain.find(cylinder, f"stack.measured_deck.{entry}")
        return chain.number(cylinder, entry) if was is None else was

    reach, aside = then("crank.conrod_length") + then("crank.stroke") / 2, then("piston.pin_offset")
    top = sp.sqrt(reach**2 - aside**2) + then("piston.compression_height")
    top = chain.step("Z", "crown at its highest, above the crank centre, then", "mm", top)
    below = chain.number(cylinder, "stack.measured_deck.below")
    return top + below + then("stack.case_cut") - then("stack.base_gasket") - then("stack.cylinder")


def _valve_length(chain: _Chain, train: Reader) -> sp.Expr:
    entered = chain.find(train, "valve.length")
    if entered is not None:
        return entered
    height = chain.number(train, "valve.tip_height") - chain.number(train, "valve.face.z")
    return height / chain["n"][2]


def _reading(chain: _Chain, train: Reader) -> sp.Expr:
    own = "measured_pushrod"
    entered = chain.find(train, f"{own}.length")
    if entered is not None:
        return entered
    pitch = chain.find(train, f"{own}.checking_rod.pitch")
    if pitch is None:
        pitch = sp.Rational(254, 10) / chain.number(train, f"{own}.checking_rod.threads_per_inch")
    turned = chain.number(train, f"{own}.checking_rod.turns") * pitch
    return chain.number(train, f"{own}.checking_rod.closed") + turned


def _beyond(chain: _Chain, train: Reader) -> sp.Expr | None:
    """Return what both ends of the measured rod reach beyond their ball centres; None: not known."""
    name, convention = train.prefixes[0], train.word("measured_pushrod.as")
    rod = Reader(train.mapping, (f"{name}measured_pushrod.", f"{name}pushrod."))
    ends = [_end(chain, rod, side, convention) for side in ("low", "high")]
    return None if ends[0] is None or ends[1] is None else ends[0] + ends[1]


def _end(chain: _Chain, rod: Reader, side: str, convention: str) -> sp.Expr | None:
    """Return how far one end reaches beyond its ball centre: a ball cut off at the hole or the gauge."""
    if convention == "centres":
        return sp.Integer(0)
    cup = rod.word(f"end_{side}", "ball") == "cup"
    if cup and convention != "theoretical":
        return chain.find(rod, "cup_rim") if convention == "overall" else None
    diameter = chain.find(rod, f"ball_diameter_{side}")
    if diameter is None or convention == "theoretical":
        return None if diameter is None else (-diameter if cup else diameter) / 2
    flat = chain.find(rod, f"hole_{side}" if convention == "overall" else "gauge")
    return None if flat is None else sp.sqrt((diameter / 2) ** 2 - (flat / 2) ** 2)


def _ordered(chain: _Chain, train: Reader, convention: str) -> None:
    """Add what the ends of the pushrod to be ordered reach beyond their ball centres."""
    rod = Reader(train.mapping, (f"{train.prefixes[0]}pushrod.",))
    reach = [_end(chain, rod, side, convention) or sp.Integer(0) for side in ("low", "high")]
    ends = chain.step("E", "what both its ends reach beyond their ball centres", "mm", reach[0] + reach[1])
    chain.step("M", f"the same pushrod, as {convention}", "mm", chain["L"] + ends)


def _plunger_then(chain: _Chain, train: Reader) -> sp.Expr:
    down = chain.find(train, "measured_pushrod.plunger.down")
    if down is None and train.word("measured_pushrod.plunger") == "bottomed":
        before = STEM if was_read_before(train, "measured_pushrod") else ""  # of the lifter that stood there
        return chain.number(Reader(train.mapping, (f"{before}{train.prefixes[0]}",)), "lifter.plunger_travel")
    return sp.Integer(0) if down is None else down


def _since(chain: _Chain, train: Reader, entry: str) -> sp.Expr:
    if train.find(entry) is None or train.find(f"measured_pushrod.{entry}") is None:
        return sp.Integer(0)
    return chain.number(train, entry) - chain.number(train, f"measured_pushrod.{entry}")


def _ratio(chain: _Chain, train: Reader) -> sp.Expr:
    if "i" in chain:
        return chain["i"]
    found, words = chain.find(train, "rocker.ratio"), "rocker ratio, valve arm over pushrod arm"
    if found is None:
        long, short = chain.find(train, "rocker.valve_arm"), _given_pushrod_arm(chain, train)
        if long is None or short is None:
            words = "rocker ratio, valve's whole lift over the lifter's as dialled"
            found = _ratio_dialled(chain, train)
        else:
            found = long / short
    return chain.step("i", words, "", found)


def _ratio_dialled(chain: _Chain, train: Reader) -> sp.Expr:
    """Return the valve's whole lift over the lifter's at the higher of the places where both were dialled."""
    job, lobe = Reader(train.mapping, ("",)), lobe_name(train)
    tables = [f"lobe.{lobe}.{table}" for table in DIALLED]
    high = max(
        tables, key=lambda table: -1.0 if (lift := job.find(f"{table}.valve")) is None else float(lift)
    )
    lash = chain.find(job, f"lobe.{lobe}.lash_read")
    lift = chain.number(job, f"{high}.valve") + (sp.Integer(0) if lash is None else lash)
    return lift / chain.number(job, f"{high}.lifter")


def _parts(expression: sp.Expr | sp.ImmutableMatrix) -> Sequence[sp.Expr]:
    return list(expression) if isinstance(expression, sp.MatrixBase) else [sp.sympify(expression)]
