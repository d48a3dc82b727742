"""What heat does to the lash or the preload: the engine with every part grown as its material and temperature say.

Cylinder, case, head, valve, rocker and pushrod each grow by 1 + α·(hot - cold), as parts of the engine that was
built, however each was entered. What is left of the case after a cut grows about the crank centre, what is left of
the head about its gasket face, a rocker with its arms, stations and the radius of its pad or roller; gaskets stay.
The pushrod that gives the wanted setting cold is then put into the hot engine. Expansions are entries, by default
those of the materials.

Source: linear expansion; the closures of `train` solved for the lifter, see `pushrods.fit`.
"""

from __future__ import annotations

import numpy as np

from ..core.answer import TRAIN, Figure, Found, Missing, Value, answers, of_cylinder
from ..core.errors import GeometryError
from ..core.frames import Array, point
from ..core.mapping import Flat, Reader
from ..core.targets import HOT_LASH
from ..engine.alternatives import case_deck, head_face, valve_length
from ..engine.defaults import HEATED, completed
from ..engine.engine import COORDINATES, train_of
from ..gear.train import Drawn
from ..pushrod.pushrods import by_coordinates, fit, setting_lacks

PER_MILLION = 1e-6


@answers(
    TRAIN,
    "COLD TO HOT",
    hot_lash=Figure(
        "lash when hot",
        least=HOT_LASH,
        below_zero="",
        more=("lash to set cold for a wanted one hot", (HOT_LASH,)),
    ),
    hot_preload=Figure("preload when hot", below_zero=""),
    lash_change=Figure("lash gained by heat", main=False),
    preload_change=Figure("preload gained by heat", main=False),
    hot_room_to_bottom=Figure(
        "room to the plunger's bottom, hot", below_zero="the plunger bottoms when hot", zero=True, main=False
    ),
    cold_lash_for_it=Figure("lash to set cold", main=False),
)
def hot(mapping: Flat, train: str) -> Found:
    """Return the lash or preload of a hot engine whose pushrod gives the wanted one cold."""
    full, _ = completed(mapping)
    shares = _growth(full, train)
    gear = train_of(full, train)
    lacks = [] if isinstance(shares, dict) else list(shares.entries)
    if gear.drawn is None:
        lacks += gear.lacks.get(
            COORDINATES, (f"{train}.lifter.seat", f"{train}.rocker.shaft", f"{train}.valve.face")
        )
    wanted = gear.lifter.preload if gear.lifter.kind == "hydraulic" else gear.lifter.lash
    lacks += setting_lacks(gear)
    if lacks or wanted is None or not isinstance(shares, dict):
        return Missing.of(lacks)
    try:
        there = _setting(full, train, shares)
    except GeometryError as error:
        return Missing.of((), str(error))
    kind = "preload" if gear.lifter.kind == "hydraulic" else "lash"
    found = {
        f"hot_{kind}": Value(there, note=_held_open(there, kind)),
        f"{kind}_change": Value(there - wanted, note="from cold to hot"),
    }
    travel = gear.lifter.plunger_travel
    if kind == "preload" and travel is not None:
        found["hot_room_to_bottom"] = Value(travel - there, note="above the plunger's bottom, hot")
    target = Reader(full, ("targets.",)).find("hot_lash")
    if kind == "lash" and target is not None:
        cold = wanted + target - there
        note = "to be set cold for the hot lash wanted"
        if np.ndim(cold) == 0 and cold < 0:
            note = "less than none: heat alone gives more lash than is wanted hot"
        found["cold_lash_for_it"] = Value(cold, note=note)
    return found


def _held_open(there: Array, kind: str) -> str:
    if np.ndim(there) or there > 0:
        return ""
    if kind == "lash":
        return "none left: the valve is held off its seat when hot"
    return "none left: there is slack when hot"


def _setting(full: Flat, train: str, shares: dict[str, Array]) -> Array:
    """Return the hot setting [mm]."""
    cold = train_of(full, train)._replace(measured=None)
    drawn = cold.drawn
    assert drawn is not None
    length = by_coordinates(cold).lengths["centres"]
    warm = cold._replace(drawn=_grown(full, train, drawn, shares))
    found = fit(warm, length * (1.0 + shares["pushrod"]))
    setting = found.preload if cold.lifter.kind == "hydraulic" else found.lash
    assert setting is not None
    return setting


def _grown(full: Flat, train: str, cold: Drawn, shares: dict[str, Array]) -> Drawn:
    """Return a valve gear's coordinates with every part grown; shares : part → by what share of its size."""
    own, holder = Reader(full, (f"{train}.",)), of_cylinder(full, train.rpartition(".")[0])
    more = {part: 1.0 + share for part, share in shares.items()}
    deck = case_deck(holder) - holder.number("stack.case_cut")
    face = head_face(holder) + holder.number("stack.head_cut")
    risen = face + shares["case"] * deck + shares["cylinder"] * holder.number("stack.cylinder")

    def of_head(spot: Array) -> Array:
        return (spot - point(0.0, 0.0, face)) * more["head"][..., None] + point(0.0, 0.0, risen)

    stem = valve_length(own)[..., None] * cold.stem
    return cold._replace(
        seat=cold.seat * more["case"][..., None],
        shaft=of_head(cold.shaft),
        tip=of_head(cold.tip - stem) + stem * more["valve"][..., None],
        valve_arm=cold.valve_arm * more["rocker"],
        pushrod_arm=cold.pushrod_arm * more["rocker"],
        valve_station=cold.valve_station * more["rocker"],
        pushrod_station=cold.pushrod_station * more["rocker"],
        tip_radius=cold.tip_radius * more["rocker"],
    )


def expansion_of(mapping: Flat, train: str, part: str) -> Array | None:
    """Return how a part of a valve gear's engine grows, millionths per kelvin; None where nobody said."""
    own = Reader(mapping, (f"{train}.",)).find("pushrod.expansion") if part == "pushrod" else None
    return Reader(mapping, ("materials.",)).find(f"expansion_{part}") if own is None else own


def _growth(mapping: Flat, train: str) -> dict[str, Array] | Missing:
    """Return by what share each part grows from cold to hot."""
    running = Reader(mapping, ("running.",))
    cold = running.number("cold")
    shares: dict[str, Array] = {}
    lacks: list[str] = []
    for part in HEATED:
        expansion = expansion_of(mapping, train, part)
        if expansion is None:
            lacks.append(f"materials.{part}")
            continue
        shares[part] = expansion * PER_MILLION * (running.number(f"hot_{part}") - cold)
    lacks += running.missing
    return Missing.of(lacks) if lacks else shares
