"""What contradicts the rest of the file in a check made on the bench, or is missing in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tallstack.geometry.sure.check_kinds import BETWEEN, KINDS, OF_TRAIN

from ..entries.fields import did_you_mean
from ..faults import Fault, Loc, in_words
from ..reading.document import Leaf, Reading
from ..reading.values import Blank

NEEDS = {  # kind → entries beside where it was read and what, each with an example
    "pushrod": {"as": '"overall"'},
    "valve lift": {"lifter_lift": '"0.200 in"'},
    "port gap": {"other": '"rear"', "face": '"intake"'},
}
ALSO = {  # kind → further entries that may stand with it
    "pushrod": ("plunger",),
    "valve lift at overlap": ("at",),
    "drop": ("at",),
    BETWEEN: ("at",),
}


def of_readings(reading: Reading) -> Iterator[Fault]:
    """Yield every reading that says too little, too much, or names what the file does not have."""
    rows: dict[int, dict[str, Leaf]] = {}
    for leaf in reading.leaves:
        if leaf.loc[0] == "reading" and isinstance(leaf.loc[1], int):
            rows.setdefault(leaf.loc[1], {})[leaf.path.split(".", 2)[2]] = leaf
    document = reading.document.get("reading")
    for index in range(len(document) if isinstance(document, list) else 0):
        yield from _of_one(reading, index, rows.get(index, {}))


def _of_one(reading: Reading, index: int, row: Mapping[str, Leaf]) -> Iterator[Fault]:
    def missing(name: str, example: str) -> Iterator[Fault]:
        if name not in row and not reading.unsure(f"reading.{index}.{name}"):
            yield _fault(reading, ("reading", index, name), f"missing; write for example {name} = {example}")

    if "of" not in row:
        yield from missing("of", f'"{KINDS[0]}", or one of {", ".join(KINDS[1:])}')
        return
    kind = row["of"].value
    if isinstance(kind, Blank) or not isinstance(kind, str):
        return
    where = "train" if kind in OF_TRAIN else "cylinder"
    what = "volume" if kind == "chamber" else "value"
    yield from missing(what, '"88.0 +/- 0.5 cc"' if kind == "chamber" else '"0.090 +/- 0.003 in"')
    if kind != "chamber":
        yield from missing(where, '"front.intake"' if where == "train" else '"front"')
    for name, example in NEEDS.get(kind, {}).items():
        yield from missing(name, example)
    if kind == "pushrod" and _hydraulic(reading, row) and not any(name.startswith("plunger") for name in row):
        yield from missing("plunger", '"top"')
    fits = {"of", where, what, "stack", "on", "plunger", *NEEDS.get(kind, ()), *ALSO.get(kind, ())}
    fits -= {"plunger"} if kind != "pushrod" else set()
    for name, leaf in row.items():
        if name.split(".")[0] not in fits:
            yield _fault(reading, leaf.loc, f'does not belong to a reading of "{kind}"; take it out')
    yield from _named(reading, row)


def _hydraulic(reading: Reading, row: Mapping[str, Leaf]) -> bool:
    """Say whether the lifter at a reading is a hydraulic one, by its valve gear or the one that it copies."""
    train = row["train"].value if "train" in row else ""
    gears = {gear.name: gear for gear in reading.gears}
    seen: list[str] = []
    while isinstance(train, str) and train in gears and train not in seen:
        seen.append(train)
        for leaf in reading.leaves:
            if leaf.path == f"{train}.lifter.kind":
                return leaf.value == "hydraulic"
        train = gears[train].like
    return False


def _named(reading: Reading, row: Mapping[str, Leaf]) -> Iterator[Fault]:
    """Yield every valve gear or cylinder that a reading names and the file does not have."""
    known = {
        "train": [gear.name for gear in reading.gears if gear.sure],
        "cylinder": [name for name, _ in reading.cylinders],
        "other": [name for name, _ in reading.cylinders],
    }
    for name, names in known.items():
        said = row[name].value if name in row else None
        if (
            not isinstance(said, str)
            or said in names
            or reading.unsure(name if name != "other" else "cylinder")
        ):
            continue
        what = "valve gear" if name == "train" else "cylinder"
        hint = did_you_mean(said, names) or f"; there are {', '.join(names) or 'none'}"
        yield _fault(reading, row[name].loc, f'"{said}": no such {what} in this job{hint}')
    ends = [row[name].value for name in ("cylinder", "other") if name in row]
    if len(ends) == 2 and ends[0] == ends[1]:
        yield _fault(
            reading, row["other"].loc, f'"{ends[1]}" is the same cylinder; name the one on the other side'
        )


def _fault(reading: Reading, loc: Loc, message: str) -> Fault:
    return Fault(loc, in_words(reading.document, loc), message)
