"""What is judged differently in a job than the version it was written for judged it: told once, by `check`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple

from tallstack.geometry.engine.before import STEM, has_before

from .entries.model import VERSIONS
from .entries.wanted import VALVES

if TYPE_CHECKING:
    from .file import JobFile


class Change(NamedTuple):
    """One change of what answers say of a file that stayed as it was."""

    version: str  # from which on
    concerns: Callable[[JobFile], bool]
    words: str


def _has(*parts: str) -> Callable[[JobFile], bool]:
    """Say of a job whether any of its entries holds one of these in its path."""
    return lambda job: any(
        part in path for path in job.entries if not path.startswith(STEM) for part in parts
    )


def _both(*tests: Callable[[JobFile], bool]) -> Callable[[JobFile], bool]:
    return lambda job: all(test(job) for test in tests)


def _word(ending: str, word: str) -> Callable[[JobFile], bool]:
    return lambda job: any(path.endswith(ending) and one.value == word for path, one in job.entries.items())


def _lacks(ending: str) -> Callable[[JobFile], bool]:
    return lambda job: not any(path.endswith(ending) for path in job.entries)


def _looks_wrong(*parts: str) -> Callable[[JobFile], bool]:
    """Say of a job whether an entry that holds one of these in its path is to be looked at again."""
    return lambda job: any(
        part in about for one in job.warnings for about in getattr(one, "about", ()) for part in parts
    )


def _says_stack(job: JobFile) -> bool:
    """Say whether a reading says, at least in part, on which stack it was taken."""
    return any(
        not one.is_taken
        for path, one in job.entries.items()
        if ".stack." in path.removeprefix(STEM) and ("measured_" in path or path.startswith("reading."))
    )


def _stands_before(job: JobFile) -> bool:
    return has_before(job.mapping)


HYDRAULIC = _word("lifter.kind", "hydraulic")
COORDINATES = _has(".rocker.shaft.")
CHANGES = (
    Change(
        "0.2",
        HYDRAULIC,
        "a preload is held against the room left below the plunger too, with its doubt; without plunger_travel it is UNPROVED",
    ),
    Change(
        "0.2",
        _has(".spring.", ".retainer_to_seal", ".masses.", ".tube."),
        "what is left at full lift has the doubt of ratio, lobe and lift in it, and is told with the lifter pumped up",
    ),
    Change(
        "0.2",
        _both(_has("running.hot_"), COORDINATES),
        "parts grow when hot however they were entered, the rocker's pad too: hot lash and preload differ a little",
    ),
    Change(
        "0.2",
        _both(COORDINATES, _has(".measured_pushrod.", ".measured_drop.")),
        "what was measured and contradicts the coordinates is to be looked at again, and no answer on either is OK",
    ),
    Change(
        "0.2",
        _both(_has(".measured_drop."), _has(".valve.face.")),
        "a drop that was read corrects its own valve's distance to the piston alone, not the distance between two valves",
    ),
    Change(
        "0.2",
        _both(_has("stack.bore"), _has(".valve.face.")),
        "a valve's head is held against the wall and the top of its cylinder too",
    ),
    Change(
        "0.2",
        _has(".pocket."),
        "the straight gap is looked for through the whole cycle, and a wall all along the head's margin",
    ),
    Change(
        "0.2",
        _has("piston.pin_offset"),
        "each piston's own top centre counts where wrist pin offsets differ",
    ),
    Change(
        "0.2",
        _both(_word("measured_at", "valve"), _has("lobe.")),
        "lifts read at the valve count with the lash they were read with; unknown with a solid lifter, they prove nothing",
    ),
    Change(
        "0.2",
        _has(".card."),
        "a card's lobe is the most probable one, and how far lobes with the same card differ counts in every doubt",
    ),
    Change(
        "0.2",
        _has(".intake_face.", ".exhaust_face."),
        "a deck or gasket known of one build alone is left out of both, or lacking; it is no longer taken for nothing",
    ),
    Change(
        "0.2",
        _both(_has("chamber.volume"), _lacks("chamber.gasket_bore")),
        "a gasket bore, crown or washer that was taken for something is said, and proves nothing",
    ),
    Change(
        "0.2",
        _has("adjuster.eccentric"),
        "an eccentric shaft is set by degrees between its highest and its lowest place",
    ),
    Change(
        "0.3",
        _both(HYDRAULIC, _has(".plunger_travel")),
        "a preload nobody set limits for is to leave a tenth of the plunger's travel at either end, no longer 0.51 to 1.52 mm",
    ),
    Change(
        "0.3",
        _both(HYDRAULIC, _has("lobe.")),
        "pumped up, a preload that no measured pushrod gives and that has no +/- of its own proves nothing",
    ),
    Change(
        "0.3",
        _has("running.hot_"),
        "lifter and cam, of steel, stand on a cam axis that the case carries: hot, lash and preload differ by up to 0.18 mm",
    ),
    Change(
        "0.3",
        _both(_has("running.hot_"), HYDRAULIC),
        "hot and just stopped, a preload has the limits that it has cold, and what heat adds to it counts pumped up",
    ),
    Change(
        "0.3",
        _both(_has(".tube."), _lacks("targets.tube")),
        "a pushrod is to keep 0.76 mm (0.030 in) from its tube, from memory, where no limit of your own is set",
    ),
    Change(
        "0.4",
        _has("spigot.length"),
        "two spigots are held against each other, in their seats and while one is lowered; not measured, they prove nothing",
    ),
    Change(
        "0.4",
        _both(_has("spigot.length"), _has("piston.oil_ring")),
        "the oil ring is to stay 1.52 mm above the end of the bore, which a relief in the spigot and its chamfer raise",
    ),
    Change(
        "0.5",
        _both(_has(".between_stems"), _has(".measured_drop.lean")),
        "two stems further apart or closer than their leans to the cylinder allow leave no distance between the valves met",
    ),
    Change(
        "0.6",
        _has(".measured_pushrod.on", ".measured_drop.on"),
        "a reading that says whether it was made now or before is not asked for the stack it was made on",
    ),
    Change(
        "0.6",
        _both(_stands_before, _has(".measured_pushrod.", ".measured_drop.", "measured_deck.below")),
        "with [before] in a job, a reading is to say whether it was made before, and the parts it is carried over with are to be "
        "named as the same; one that does not is LOOK AGAIN",
    ),
    Change(
        "0.6",
        _says_stack,
        "a reading that says a part of the stack it was taken on, and not another one that [before] has otherwise or another "
        "reading says, is LOOK AGAIN",
    ),
    Change(
        "0.6",
        _says_stack,
        "metal that was gone when something was read, and by what is entered now is not, is LOOK AGAIN for all that rests on it",
    ),
    Change(
        "0.6",
        _looks_wrong(".lifter.lash", ".lifter.preload", ".plunger_travel", "bore_readings", "targets."),
        "a lash, a preload, a limit or another wish that looks wrong leaves nothing met that it moves or that is held against it",
    ),
    Change(
        "0.6",
        lambda job: VALVES in job.wanted,
        "a clearance that is wanted and cannot be worked out is told at the top as NOT KNOWN, though nothing of it is entered",
    ),
)


def changes(job: JobFile) -> Iterator[str]:
    """Yield what is judged differently since the version that a job was written for."""
    written = VERSIONS.index(job.written_for) if job.written_for in VERSIONS else 0
    for one in CHANGES:
        if VERSIONS.index(one.version) > written and one.concerns(job):
            yield one.words
