"""One job as its file says it: its entries, what is open in it, and what is assumed for what is absent."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from tallstack.geometry.core.mapping import Frozen
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.before import (
    SHARED,
    STEM,
    engine_before,
    has_before,
    is_same,
    quantities_before,
    renamed,
    stood,
)
from tallstack.geometry.engine.defaults import Assumed, completed

from .contents import Entries, Open, is_nothing, is_reading
from .entries.fields import FileName

if TYPE_CHECKING:
    from tallstack.geometry.doubt.readings import Tied


@dataclass(frozen=True, eq=False)
class JobFile:
    """One job: its entries, what is open in it, and what is assumed for what is absent; it keeps what it worked out."""

    path: Path
    title: str
    units: str  # "mm" or "in"
    entries: Entries
    names: dict[str, tuple[str, ...]]  # "cylinders" and "trains"
    blanks: tuple[Open, ...]
    assumed: tuple[Assumed, ...]
    warnings: tuple[str, ...]
    variations: tuple[str, ...]  # what --with tried in place of the file's own
    moves: Mapping[str, float] = field(default_factory=dict)  # entry → by how much readings move it
    written_for: str = ""  # the version of tallstack that it was written for; nothing: before that was said
    tied: Tied | None = None  # how readings tie the doubts together
    source: str = ""  # its text
    memory: dict[Hashable, Any] = field(default_factory=dict)  # what its mappings keep, see `mapping.Frozen`
    assumed_before: tuple[Assumed, ...] = ()  # of what stood before
    warnings_before: tuple[str, ...] = ()
    whole: JobFile | None = None  # of what stood before: the job that says so

    @property
    def files(self) -> tuple[Path, ...]:
        """The files that it is: its own, and the tables that it names."""
        named = [str(entry.value) for entry in self.entries.values() if isinstance(entry.kind, FileName)]
        return (self.path, *(self.path.parent / one for one in named))

    def _replace(self, **more: Any) -> Self:
        """Return the job with other fields."""
        return replace(self, **more)

    @cached_property
    def mapping(self) -> Frozen:
        """The flat mapping that the geometry builds an engine from, defaults included, as readings leave it."""
        written_down = {**self.names, **{path: entry.value for path, entry in self.entries.items()}}
        if has_before(written_down):
            was, _ = completed(engine_before(written_down))
            left_out = (*SHARED, *self.names)
            further = {f"{STEM}{path}": one for path, one in was.items() if not path.startswith(left_out)}
            written_down = {**further, **written_down}
        full, _ = completed(Frozen(written_down, self.memory))
        moved = {
            path: full[path] + by for path, by in self.moves.items() if isinstance(full.get(path), float)
        }
        moved |= {
            path: by for path, by in self.moves.items() if path not in full
        }  # the shape of a card's lobe
        if any(path.startswith("running.hot_") for path in self.entries):
            from tallstack.geometry.fits.heat import hot_gains

            moved |= hot_gains({**full, **moved}, self.names["trains"])
        return full.with_(moved) if moved else full

    def lacks_of(self, found: Iterable[Result]) -> tuple[str, ...]:
        """Return the entries that move answers and are not entered at all, so that the answers are told too large.

        The lash that a lift was read with is one: it only takes away.
        """
        unsaid = dict.fromkeys(entry for one in found for entry in one.budget.undoubted)
        known = self.mapping if unsaid else {}
        return tuple(entry for entry in unsaid if entry not in known)

    def moved(self, moves: Mapping[str, float]) -> Self:
        """Return the job with entries moved by so much."""
        return self._replace(moves=moves)

    @cached_property
    def doubts(self) -> Mapping[str, Doubt]:
        """Every stated doubt, by the entry it was stated for, and those of assumptions.

        Of what stood before they are those of the whole job, by the names that they have in it alone.

        A length of exactly 0 says that something is not there (no cut, no hole, no gasket): it has none. Where
        readings tie them together the mapping says how, see `geometry.doubt.readings`.
        """
        if self.whole is not None:
            named = renamed(quantities_before(self.whole.quantities))
            return {named[name]: doubt for name, doubt in self.whole.doubts.items() if name in named}
        stated = {
            path: entry.doubt
            for path, entry in self.entries.items()
            if entry.doubt is not None and (not entry.follows or not is_reading(entry))
        }  # a wish that was copied is set anew for each
        wide = {one.entry: Doubt(one.half_width) for one in self.assumed if one.half_width is not None}
        wide |= {
            f"{STEM}{one.entry}": Doubt(one.half_width)
            for one in self.assumed_before
            if one.half_width is not None
        }
        none = {path: Doubt(0.0) for path, entry in self.entries.items() if is_nothing(entry)}
        common = {f"instrument.{name}.zero": Doubt(zero) for name, zero in self.instruments.items()}
        every = {**none, **stated, **wide, **common}
        if self.tied is None:
            return every
        from tallstack.geometry.doubt.readings import Doubts

        return Doubts(every, self.tied)

    @property
    def instruments(self) -> dict[str, float]:
        """How far the zero of each instrument may be off [mm], by its name."""
        found: dict[str, float] = {}
        for path, entry in self.entries.items():
            if not path.startswith("instrument."):
                continue
            zero = self.entries.get(f"{path.removesuffix('.name')}.zero")
            if path.endswith(".name") and zero is not None:
                found[str(entry.value)] = float(zero.value)
        return found

    @cached_property
    def quantities(self) -> Mapping[str, Mapping[str, float]]:
        """Every measured quantity: its entry, and all entries that move with it.

        A copy made by like, and what a reading took from the stack it was made on, follow the entry
        they came from; so does every value assumed with a doubt of its own.
        """
        if self.whole is not None:
            found = quantities_before(self.whole.quantities)
            named = renamed(found)
            return {named[name]: paths for name, paths in found.items()}
        groups: dict[str, dict[str, float]] = {}
        instruments = self.instruments
        for path, entry in self.entries.items():
            if isinstance(entry.value, float) and is_reading(entry):
                root = entry.follows or path
                groups.setdefault(root, {})[path] = entry.sign
            if isinstance(entry.value, float) and is_reading(entry) and entry.by in instruments:
                groups.setdefault(f"instrument.{entry.by}.zero", {})[path] = entry.sign
        for one in self.assumed:
            if one.half_width is not None:
                groups[one.entry] = {one.entry: 1.0}
        for one in self.assumed_before:
            if one.half_width is not None:
                root = one.entry if one.entry in groups and self._is_one(one.entry) else f"{STEM}{one.entry}"
                groups.setdefault(root, {})[f"{STEM}{one.entry}"] = 1.0
        return groups

    def _is_one(self, entry: str) -> bool:
        """Say whether what nobody entered is of one part, or of one reading, now and before."""
        if ".measured_pushrod." in entry:
            stem = f"{STEM}{entry.rpartition('.')[0]}."
            own = [one for path, one in self.entries.items() if path.startswith(stem)]
            return bool(own) and all(one.is_taken for one in own)
        steps = entry.split(".")
        owner = ".".join(steps[:2])
        return is_same(self.names, owner, entry) or is_same(self.names, owner, ".".join(steps[2:]))

    @property
    def named(self) -> str:
        """What it is called beside another one: its file; of what stood before, where that is said."""
        return f"[before] of {self.path}" if self.whole is not None else str(self.path)

    @property
    def before(self) -> Self | None:
        """What stood before, as a job of its own, or None where nothing is said of it.

        How sure it is by itself is what the job says of its parts; what both are together, `swap` asks the whole job.
        """
        if not has_before(self.names):
            return None
        names = {key: self.names[key] for key in ("cylinders", "trains")}
        blanks = (
            one._replace(path=one.path.removeprefix(STEM)) for one in self.blanks if one.path.startswith(STEM)
        )
        return self._replace(
            title=f"{self.title}, as it was",
            entries=stood(self.entries),
            names=names,
            blanks=tuple(blanks),
            assumed=self.assumed_before,
            warnings=self.warnings_before,
            moves=stood(self.moves),
            memory={},
            assumed_before=(),
            warnings_before=(),
            whole=self,
        )
