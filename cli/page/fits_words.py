"""The fits of an engine, in words: each part with its figures, or with what is still to be measured."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache

from tallstack.geometry.core.answer import Figure, Missing
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.targets import LOWERING
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.before import STEM
from tallstack.geometry.fits import groups

from ..job.contradicted import LOOK_AGAIN, word
from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.fits import Answered, Fits
from .band import shortfall
from .model import Block, Cell, Column, Form, Heading, Row, Table, Words, under
from .quantity import cell, shown_as, units_of
from .text import lines, shown
from .wording import MEET, VERDICTS, at_top_centre, whose

NAMED_ALWAYS = (VERDICTS[Verdict.SHORT], VERDICTS[Verdict.TIGHT])  # however many there are
FEW = 3  # valve gears or cylinders that are named
ROOM = ("room wanted while a cylinder is lowered", (LOWERING,))
COLUMNS = (Column(room=40), Column(room=14, right=True), Column(room=14, right=True), Column())


def _brief_columns(finer: bool) -> tuple[Column, ...]:
    """Return the columns of the fits for one screen; finer : where something is told with more digits than lengths are."""
    title, worth, limit = (42, 12, 7) if finer else (45, 11, 6)
    return (
        Column("FITS, the least of each", title, own_line=True),
        Column("", worth, right=True),
        Column("limit", limit, right=True),
        Column("+/-", limit, right=True),
        Column(),
    )


def brief_table(job: JobFile, found: Sequence[Result]) -> Table:
    """Return the fits for one screen: of each figure what is nearest to its limit, and all that misses it.

    Where the others of a figure leave more they are in its row, with the worst word that is said of any of them.
    """
    kinds: dict[str, list[Result]] = {}
    for one in found:
        if one.verdict is not None or one.figure.headline:
            kinds.setdefault(one.figure.title, []).append(one)
    rows = []
    for title, each in kinds.items():
        alike: dict[tuple[str, ...], tuple[tuple[Cell, ...], list[str]]] = {}
        ranked = sorted(each, key=shortfall if each[0].verdict else _value)
        for one in ranked:
            row = _brief(job, one)
            alike.setdefault(tuple(map(shown, row)), (row, []))[1].append(one.of.replace(".", " "))
        rows_of = list(alike.values())
        named = [row for place, row in enumerate(rows_of) if place == 0 or row[0][-1] in NAMED_ALWAYS]
        left = [row for row in rows_of if row not in named]
        for place, (cells, of) in enumerate(named):
            every = [*of, *(one for _, names in left for one in names)] if place == 0 else of
            who = ", ".join(every) if len(every) < FEW else f"{every[0]} and {len(every) - 1} more"
            again = place == 0 and any(others[-1] == LOOK_AGAIN for others, _ in left)
            word_of_all = LOOK_AGAIN if again and cells[-1] not in NAMED_ALWAYS else cells[-1]
            rows.append(Row((f"{title}, {who}", *cells[:-1], word_of_all)))
    finer = any(one.figure.finer for each in kinds.values() for one in each)
    return Table(_brief_columns(finer), tuple(rows), 0)


def half_asked(job: JobFile, answers: Sequence[Answered]) -> list[str]:
    """Return what was begun in a job, or has a limit of its own, and cannot be told yet: with what it needs, in a sentence each."""
    told: dict[tuple[str, str], list[str]] = {}
    begun = _begun(job, answers)
    for one in answers:
        said = _lacks(one)
        if said and (one in begun or _is_limited(job, one)):
            told.setdefault((one.group.title.lower(), said), []).append(one.subject.replace(".", " "))
    return [
        f"NOT KNOWN: {', '.join(of) if len(of) < FEW else f'{of[0]} and {len(of) - 1} more'}, {title}: {needs}"
        for (title, needs), of in told.items()
    ]


def has_limit_untold(job: JobFile, answers: Sequence[Answered]) -> bool:
    """Say whether a job sets a limit for what cannot be told yet."""
    return any(_lacks(one) and _is_limited(job, one) for one in answers)


def _begun(job: JobFile, answers: Sequence[Answered]) -> list[Answered]:
    """Return the answers of which something is entered that asks for them."""
    entered: dict[str, list[str]] = {}  # by whose they are; of all: by nothing
    every = {*job.names["cylinders"], *job.names["trains"]}
    for path in job.entries:
        steps = path.split(".")
        gear = ".".join(steps[:2])
        owner = gear if gear in every else steps[0] if steps[0] in every else ""
        if not path.startswith(STEM):
            entered.setdefault(owner, []).append(f".{path}")
    found = []
    for one in answers:
        owners = dict.fromkeys(("", one.subject.partition(".")[0], one.subject))
        own = (path for owner in owners for path in entered.get(owner, ()))
        if any(part in path for path in own for part in one.group.asked_by):
            found.append(one)
    return found


def _lacks(one: Answered) -> str:
    """Return what an answer needs before it can be told, in words."""
    if not isinstance(one.found, Missing):
        return ""
    needs = [entry.removeprefix(f"{one.subject}.") for entry in one.found.entries]
    return "; ".join(part for part in (one.found.why, f"needs {', '.join(needs)}" if needs else "") if part)


def _is_limited(job: JobFile, one: Answered) -> bool:
    """Say whether a job sets a limit of an answer that is not another's first of all."""
    of = _first_limited()
    limits = (limit for each in one.group.figures.values() for limit in each.limits(job.mapping, one.subject))
    return any(
        limit is not None and limit.is_set and of.get(limit.name) == one.group.title for limit in limits
    )


@cache
def _first_limited() -> dict[str, str]:
    """Return the group that each limit is of first of all, by its title; those of pushrods are of none."""
    from tallstack.geometry.pushrod.ordering import PRELOAD, ROOM

    found = dict.fromkeys(_targets((PRELOAD, ROOM)), "")
    for group in groups.GROUPS:
        for name in _targets(group.figures.values()):
            found.setdefault(name, group.title)
    return found


def _targets(figures: Iterable[Figure]) -> list[str]:
    """Return the limits of the figures that are lacking where their group cannot be worked out."""
    main = [each for each in figures if each.main and not each.left_by]
    return [one.name for each in main for one in (each.least, each.most) if one is not None]


def to_watch(answers: Sequence[Answered]) -> list[str]:
    """Return what is to be watched of figures that nothing limits, in a sentence each."""
    told: dict[str, list[str]] = {}
    for one in answers:
        for each in one.told.values():
            if each.figure.watched and each.verdict is None and each.value <= each.budget.expanded:
                told.setdefault(each.figure.watched, []).append(one.subject.replace(".", " "))
    return [f"{', '.join(of)}: {words}" for words, of in told.items()]


def _value(one: Result) -> float:
    return round(one.value, 9)


def _brief(job: JobFile, one: Result) -> tuple[Cell, ...]:
    unit, finer = units_of(job, one.figure.unit)[0], one.figure.finer
    doubt = one.doubt or 0.0
    limit: Cell = "" if one.nearer_bound is None else cell(one.nearer_bound, unit, bare=True, finer=finer)
    sure: Cell = cell(doubt, unit, doubt, bare=True, finer=finer) if one.proved and doubt else ""
    worth: Cell = MEET if one.meets else cell(one.value, unit, doubt, one.figure.rounded, finer=finer)
    return worth, limit, "" if one.meets else sure, word(one.verdict, one.look_again)


SET = (
    Column("figure", wide=True),
    Column("of", wide=True),
    Column(),
    Column(),
    Column("+/-"),
    Column("limit"),
    Column("", strong=True),
)


def set_table(job: JobFile, answers: Sequence[Answered]) -> Table:
    """Return every fit in one table for paper, those that read alike in one row."""
    alike: dict[tuple[str, ...], tuple[list[str], tuple[Cell, ...], str]] = {}
    for title in dict.fromkeys(one.group.title for one in answers):
        for one in answers:
            if one.group.title != title or isinstance(one.found, Missing):
                continue
            for figure in one.told.values():
                cells, behind = _set(job, figure)
                key = (title, figure.figure.title, *map(shown, cells), behind)
                alike.setdefault(key, ([], cells, behind))[0].append(one.subject.replace(".", " "))
    rows: list[Row | Words] = []
    order = list(dict.fromkeys(key[:2] for key in alike))
    for (_, figure_title, *_), (of, cells, behind) in sorted(
        alike.items(), key=lambda one: order.index(one[0][:2])
    ):
        rows.append(Row((figure_title, ", ".join(of), *cells)))
        rows += [Words(behind, 2)] if behind else []
    return Table(SET, tuple(rows))


def _set(job: JobFile, one: Result) -> tuple[tuple[Cell, ...], str]:
    doubt, figure = one.doubt or 0.0, one.figure
    refused = not_offered(job, figure, one.value)
    if refused is not None:
        return (refused[0], "", "", "", ""), refused[1]
    units = units_of(job, figure.unit)
    both = [cell(one.value, unit, doubt, figure.rounded, finer=figure.finer) for unit in units]
    sure: Cell = cell(doubt, units[0], doubt, finer=figure.finer) if one.proved and doubt else ""
    limits = [
        (side, limit) for side, limit in (("least", one.least), ("most", one.most)) if limit is not None
    ]
    bounds = ", ".join(
        f"{cell(limit.value, units[0], finer=figure.finer).shown()} at {side}" for side, limit in limits
    )
    who = dict.fromkeys(whose(limit) for _, limit in limits)
    bare = [] if one.proved else _doubt(job, one, doubt)
    behind = [*one.means, *_angle(one), *bare, *who, *([one.note] if one.note else [])]
    stands = word(one.verdict, one.look_again)
    return (*both, *([""] * (2 - len(both))), sure, bounds, stands), "; ".join(behind)


def part_blocks(job: JobFile, answers: Sequence[Answered]) -> list[Block]:
    """Return every part that could be worked out, cylinders and valve gears that read alike together."""
    blocks: list[Block] = []
    for title in dict.fromkeys(one.group.title for one in answers):
        alike: dict[tuple[str, ...], tuple[list[str], list[Row | Words]]] = {}
        for one in answers:
            if one.group.title == title and not isinstance(one.found, Missing):
                rows = [row for figure in one.told.values() for row in _figure(job, figure)]
                if rows:
                    read = tuple(lines([Table(COLUMNS, tuple(rows))]))
                    alike.setdefault(read, ([], rows))[0].append(one.subject.replace(".", " "))
        blocks += [Heading(title)] if alike else []
        for subjects, rows in alike.values():
            blocks += [Words(", ".join(subjects), 1), Table(COLUMNS, tuple(rows))]
    return blocks


def _figure(job: JobFile, one: Result) -> list[Row | Words]:
    doubt, figure = one.doubt or 0.0, one.figure
    refused = not_offered(job, figure, one.value)
    if refused is not None:
        return [Row((figure.title, refused[0], "", ""), 2), Words(refused[1], 4)]
    shown = (
        cell(one.value, unit, doubt, figure.rounded, finer=figure.finer)
        for unit in units_of(job, figure.unit)
    )
    behind = [*one.means, *_angle(one), *_doubt(job, one, doubt), *_limits(job, one)]
    behind += [one.note] if one.note else []
    row = Row((figure.title, *shown, word(one.verdict, one.look_again)), 2)
    return [row, Words("; ".join(behind), 4)] if behind else [row]


def not_offered(job: JobFile, figure: Figure, value: float) -> tuple[str, str] | None:
    """Return what stands in place of a suggestion that is not above zero, and why; None where it is offered."""
    if figure.refused is None or value > 0:
        return None
    return figure.refused.instead, figure.refused.why.format(shown_as(job, -value, "mm"))


def value_of(job: JobFile, figure: Figure, value: float) -> str:
    """Return a figure in both units, or what stands in its place."""
    refused = not_offered(job, figure, value)
    return shown_as(job, value, figure.unit, finer=figure.finer) if refused is None else refused[0]


def _angle(one: Result) -> list[str]:
    if one.at is None:
        return []
    return [at_top_centre((math.degrees(one.at) + 180.0) % 360.0 - 180.0)]


def _doubt(job: JobFile, one: Result, doubt: float) -> list[str]:
    if one.proved:
        return [f"+/- {shown_as(job, doubt, one.figure.unit, doubt, one.figure.finer)}"] if doubt > 0 else []
    told = []
    for said, of in ("not known without", False), ("no +/- entered for", True):
        names = [entry for entry in one.budget.undoubted if (entry in job.mapping) is of]
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        told += [f"{said} {', '.join(names[:3])}{more}"] if names else []
    return told


def _limits(job: JobFile, one: Result) -> list[str]:
    words = []
    for side, limit in (("at least", one.least), ("at most", one.most)):
        if limit is not None:
            entry = f" ({limit.target.path})" if limit.target is not None else ""
            words.append(
                f"{side} {shown_as(job, limit.value, one.figure.unit, finer=one.figure.finer)}: {whose(limit)}{entry}"
            )
    return words


def titles_of(lacking: Iterable[str], most: int) -> str:
    """Return the titles of what is not measured, and how many more; one with a comma in it reads as no two things."""
    lacks = list(dict.fromkeys(one.lower() for one in lacking))
    more = f" and {len(lacks) - most} more" if len(lacks) > most else ""
    named = [f'"{one}"' if "," in one else one for one in lacks[:most]]
    return f"{', '.join(named)}{more}"


def lacking_blocks(answers: Sequence[Answered]) -> list[Block]:
    """Return what is not measured, each part with its entries."""
    alike: dict[tuple[str, tuple[str, ...], str], list[str]] = {}
    for one in answers:
        if isinstance(one.found, Missing):
            own = tuple(entry.removeprefix(f"{one.subject}.") for entry in one.found.entries)
            alike.setdefault((one.group.title, own, one.found.why), []).append(one.subject)
    told = []
    for (title, entries, why), subjects in alike.items():
        needs = f"needs {', '.join(map(meant, entries))}" if entries else ""
        said = "; ".join(part for part in (why, needs) if part)
        who = ", ".join(subject.replace(".", " ") for subject in subjects)
        told.append(Words(f"{title.lower()}, {who}: {said}", 1, Form.ITEM))
    return under("NOT MEASURED", told)


def not_asked_blocks(mapping: Flat, found: Fits) -> list[Block]:
    """Return what a target that is not set would add."""
    shown = {key: one.figure for answered in found.answers for key, one in answered.told.items()}
    every = [
        (key, figure) for group in groups.GROUPS for key, figure in group.figures.items() if key in shown
    ]
    more = [figure.more for _, figure in every if figure.more is not None]
    more += [ROOM] if found.crossing.drop_on else []
    open_ = [(what, targets) for what, targets in more if all(one.set_in(mapping) is None for one in targets)]
    told = (
        Words(f"{what}: {' or '.join(one.path for one in targets)}", 1, Form.ITEM) for what, targets in open_
    )
    return under("NOT ASKED, worked out once its target is set", told)


def row(answers: Iterable[Answered]) -> dict[str, object]:
    """Return every figure of one cylinder or valve gear for JSON."""
    found: dict[str, object] = {}
    lacks: dict[str, object] = {}
    for one in answers:
        if isinstance(one.found, Missing):
            lacks[one.group.title.lower()] = list(one.found.entries)
        for each in one.told.values():
            found |= _row(each)
    return {**found, "not_measured": lacks}


def _row(one: Result) -> dict[str, object]:
    key, unit = one.key, one.figure.suffix
    found: dict[str, object] = {f"{key}{unit}": one.value}
    if one.figure.refused is not None:
        found[f"{key}_offered"] = one.offered
    if one.at is not None:
        found[f"{key}_at_deg"] = (math.degrees(one.at) + 180.0) % 360.0 - 180.0
    found[f"{key}_doubt{unit}"] = one.budget.expanded
    found[f"{key}_without_doubt"] = list(one.budget.undoubted)
    if one.verdict is not None or one.look_again:
        found[f"{key}_look_again"] = list(one.look_again)
    if one.verdict is not None:
        found[f"{key}_verdict"] = one.verdict.value
        found[f"{key}_limits"] = [[limit.name, limit.value, limit.is_set] for limit in one.limits]
    return found
