"""The job file to fill in: every entry blank, each with its meaning and where most engines lie.

The bench route comes first and is all that has to be filled in; whatever else a job can hold
follows as comments, to be brought in by removing the mark in front.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from tallstack.geometry.engine.before import BEFORE

from ..job.entries.catalogue import entries_of, is_rows, kind_at, meaning_at, table_at
from ..job.entries.fields import INCH, SHOWN_UNIT, Choice, Kind, Parts, Quantity, Several
from ..job.entries.letters import letters_of
from ..job.entries.model import JOB, NOW, VERSIONS
from ..job.entries.tables import Together
from ..job.faults import Loc
from ..job.reading.values import Dimension

WIDTH = 96


TIED = {"cylinder": ("name",), "train": ("cylinder", "port")}  # entries that stand in the file already
WITHIN = {"cylinder": ("stack", "piston", "chamber", "studs")}  # laid over the engine's


@dataclass(frozen=True, slots=True)
class Section:
    """One table of the blank file."""

    header: str  # "[stack]"
    loc: Loc
    entries: tuple[str, ...]  # to fill in
    told: str = ""  # above the table
    given: tuple[tuple[str, str], ...] = ()  # entries already written
    later: tuple[str, ...] = ()  # commented out


OPENING = "# A job file for tallstack: what was measured on one engine, and what is wanted from it.\n"
NAMED = '# The cylinder is called "front" below; call it what you like, in all three places.\n'
WRITING = """\
#
# Write each reading between the quotes, with its unit and, if you know it, its doubt:
#     "4.935 in"   "98.4 mm"   "3 15/16 in"   "30 thou"   "4.935 +/- 0.002 in"
# A number without a unit counts in the units below; angles are degrees. What stands after +/- is the
# most you could be wrong by. Leave the quotes empty for what is not measured yet, and put a # in front
# of what this engine does not have. A line that begins with # is not read.
# Masses, forces, rates, temperatures, volumes, areas, pressures, moduli and speeds need their own unit.
# What was read several times may stand as a list: ["4.935 in", "4.936 in", "4.9345 in"].
# A letter before a meaning is the entry's in every drawing and list.
#
#     tallstack check FILE       says what is still blank and what moves the answers most
#     tallstack pushrods FILE    works out the lengths
#     tallstack clearance FILE   works out how close the valves come
#     tallstack fits FILE        works out the rest of the stack
"""

BENCH = (
    Section(
        "[stack]",
        ("stack",),
        ("base_gasket", "cylinder", "head_gasket", "case_cut", "head_cut"),
        "The stack as the engine will be built: what stands between case and head, and what was cut off either since "
        "anything below was read; 0 where nothing was.",
        later=("bore",),
    ),
    Section(
        "[[cylinder]]",
        ("cylinder", 0),
        (),
        "One such table for each cylinder.",
        (("name", '"front"'),),
        ("lean",),
    ),
)


def _gear(port: str) -> tuple[Section, ...]:
    told = (
        f"The {port} valve gear. Mock the engine up on any stack you have, valve closed, lifter on the base "
        "circle. Turn a checking rod out until it just touches, with no up-and-down shake and no load on the "
        "plunger, and read it."
    )
    return (
        Section("[[train]]", ("train", 0), (), told, (("cylinder", '"front"'), ("port", f'"{port}"'))),
        Section(
            "[train.lifter]",
            ("train", 0, "lifter"),
            ("kind", "preload", "plunger_travel"),
            "A solid lifter has no preload and no plunger: put a # in front of both and write lash instead. "
            "Lash at the valve needs the rocker's ratio too.",
            later=("lash", "lash_at", "lean", "lowered", "follower", "follower_offset", "foot_width"),
        ),
        Section("[train.rocker]", ("train", 0, "rocker"), (), later=("ratio",)),
        Section(
            "[train.measured_pushrod]",
            ("train", 0, "measured_pushrod"),
            ("length", "as", "plunger", "lean"),
            "The rod as it was read. Without the convention, as, a length means nothing.",
            later=("checking_rod",),
        ),
        Section(
            "[train.measured_pushrod.stack]",
            ("train", 0, "measured_pushrod", "stack"),
            ("cylinder", "base_gasket", "head_gasket"),
            "What was in place when the rod was read; leave the table out where it was the stack above. Metal "
            "that [stack] says was cut counts as cut after the reading; say here if it was cut before.",
            later=("case_cut", "head_cut"),
        ),
        Section(
            "[train.pushrod]",
            ("train", 0, "pushrod"),
            ("ball_diameter_low", "ball_diameter_high", "hole_low", "hole_high"),
            "The ends of the pushrod to be ordered, which turn one convention into another.",
            later=(
                *("gauge", "end_low", "end_high", "cup_rim", "cup_radius_low", "cup_radius_high"),
                *("diameter", "wall", "material", "expansion"),
            ),
        ),
    )


LATER = (
    Section("", ("cylinder", 0), (), "More of each cylinder: under its name, in its [[cylinder]] above."),
    Section("[crank]", ("crank",), (), "The crank, for clearances and for the rest of the stack."),
    Section("[piston]", ("piston",), ()),
    Section(
        "",
        ("train", 0),
        (),
        "More of each valve gear: under its [[train]] above, in front of its other tables. By like it is a copy of another one.",
    ),
    Section("", ("train", 0, "lifter"), (), "More of each lifter: under its [train.lifter] above."),
    Section(
        "",
        ("train", 0, "measured_pushrod"),
        (),
        "More of each rod that was read: the ends it had, under its [train.measured_pushrod] above; and how lifter and valve "
        "stood then.",
    ),
    Section(
        "",
        ("train", 0, "pushrod"),
        (),
        "More of each pushrod that is ordered: under its [train.pushrod] above; how deep its cups are, where it is put in with the rocker on its shaft.",
    ),
    Section("", ("stack",), (), "Under [stack] above; measured_deck, by a bridge, stands for case_deck."),
    Section("[chamber]", ("chamber",), ()),
    Section("[lobe.intake]", ("lobe", "intake"), (), "One such table for each lobe, and lobe.exhaust."),
    Section("[cam]", ("cam",), ()),
    Section(
        "[train.rocker]",
        ("train", 0, "rocker"),
        (),
        "Full geometry, under its [[train]]: points from the case deck and the head's gasket face, x forward, "
        "y along the crankshaft, z up the cylinder's axis. Add seat and lean to [train.lifter].",
    ),
    Section("[train.valve]", ("train", 0, "valve"), ()),
    Section("[train.pocket]", ("train", 0, "pocket"), (), "The cut in the crown under this valve."),
    Section(
        "[train.measured_drop]",
        ("train", 0, "measured_drop"),
        (),
        "Valve closed, piston at top centre: push the valve down until it touches.",
    ),
    Section("[train.tube]", ("train", 0, "tube"), (), "The tube around this valve gear's pushrod."),
    Section(
        "[train.spring]",
        ("train", 0, "spring"),
        (),
        "This valve's spring, by its rate or by its wire; nested springs are [[train.spring]] each.",
    ),
    Section("[train.masses]", ("train", 0, "masses"), (), "What moves, each part weighed."),
    Section("[studs]", ("studs",), ()),
    Section(
        "[[instrument]]",
        ("instrument", 0),
        (),
        'An instrument whose zero may be off; a reading by it: { read = "4.935 +/- 0.001 in", by = "mic A" }.',
    ),
    Section(
        "[[reading]]",
        ("reading", 0),
        (),
        "A check made on the bench beside what is entered; `tallstack risk` compares them. One such table for each; "
        "which entries it takes depends on what it is of.",
    ),
    Section(
        "[oversize]",
        ("oversize",),
        (),
        "The next oversize: one [[oversize.piston]] for each piston that could be had, and how it is bored.",
    ),
    Section(
        "[before]",
        ("before",),
        (),
        "The engine as it was before the change, for `tallstack swap`, `fits` and `sheet`. Every table of the engine may stand "
        "here once more, as [before.stack], [before.crank] or [[before.train]] with its cylinder and port; what is the same part "
        'is named in same, as ["crank", "piston", "head", "stack.base_gasket"]. What is in neither is lacking.',
    ),
    Section("[running]", ("running",), (), "The engine as it runs, for estimates alone."),
    Section("[materials]", ("materials",), ()),
    Section(
        "[targets]",
        ("targets",),
        (),
        "Your own limits, and what is wanted: a squish, compression_ratio, seat_force or hot_lash set here makes "
        "`tallstack fits` say which gasket, deck, shim or cold lash gives it.",
    ),
)


def blank_job(units: str) -> str:
    """Return the text of a blank job file."""
    wanted = JOB.parts["wanted"]
    assert isinstance(wanted, Several)
    lines = [
        OPENING + NAMED + WRITING,
        "format = 1",
        'title = ""',
        f'written_for = "{VERSIONS[-1]}"',
        f'units = "{units}"   # of numbers without a unit: "mm" or "in"',
        *_comment(f"wanted = {wanted.example}   # {wanted.words}: {', '.join(wanted.options)}"),
        *_entry((), "shelf", "# "),
        *_entry((), "record", "# "),
    ]
    for section in (*BENCH, *_gear("intake"), *_gear("exhaust")):
        lines += _section(section)
    lines += [
        "",
        *_comment(
            "A second cylinder's valve gear that is built like another one can be written as a copy: "
            'like = "front.intake" and, on the other side of a twin, mirror = true. Readings are never copied.'
        ),
        "",
        "# " + "-" * 40,
        *_comment(
            "Everything below is for later, and is kept with the job. Remove the # in front of a table's line "
            "and of its entries. A table whose name begins with train is of the [[train]] above it: here that is the last "
            "one, the exhaust's. For the intake move it up, in front of the second [[train]]."
        ),
    ]
    for section in LATER:
        without = (
            tuple(NOW.parts) if section.loc == (BEFORE,) else () if section.header else _above(section.loc)
        )
        lines += ["", *_told(section.told), *_commented(section.header, section.loc, without)]
    return "\n".join(lines) + "\n"


def _above(loc: Loc) -> tuple[str, ...]:
    """Return what stands of a table before everything that is for later, or in a section of its own."""
    every = (*BENCH, *_gear("intake"))
    here = [name for one in every if one.loc == loc for name in (*one.entries, *one.later)]
    below = [str(one.loc[-1]) for one in (*every, *LATER) if one.loc[:-1] == loc]
    return (*here, *below)


def _section(section: Section) -> Iterator[str]:
    yield ""
    yield from _told(section.told)
    yield section.header if section.entries or section.given else f"# {section.header}"
    for entry, value in section.given:
        yield f"{entry} = {value}"
    for entry in section.entries:
        yield from _entry(section.loc, entry, "")
    for entry in section.later:
        yield from _entry(section.loc, entry, "# ")
    for entry in section.later:
        if table_at((*section.loc, entry)) is not None and meaning_at((*section.loc, entry)) is None:
            yield from _commented(f"[{section.header.strip('[]')}.{entry}]", (*section.loc, entry))


def _entry(loc: Loc, entry: str, mark: str) -> Iterator[str]:
    """Yield the line of an entry; a table within the table has no line of its own."""
    kind = meaning_at((*loc, entry))
    if kind is not None:
        told = f"{mark}{entry} = {_empty(kind)}"
        yield f"{told:<30} # {meaning((*loc, entry), kind)}"
        inside = entries_of((*loc, entry))
        joint = "with" if isinstance(table_at((*loc, entry)), Together) else ""
        for place, name in enumerate(inside):  # of a table that can stand in the word's place
            inner = kind_at((*loc, entry, name))
            if inner is not None:
                told = f'#   or {entry} = {{ {name} = "" }}'
                if joint:
                    told = f'#   {joint if place else "or"} {entry}.{name} = ""'
                yield f"{told:<30} # {meaning((*loc, entry, name), inner)}"


def _commented(header: str, loc: Loc, without: tuple[str, ...] = ()) -> Iterator[str]:
    """Yield a table and the tables within it, all as comments; without a header its entries alone."""
    if header:
        yield f"# {header}"
    inner = []
    for entry in entries_of(loc):
        if entry in without:
            continue
        if loc[0] in TIED and len(loc) == 2 and entry in TIED[str(loc[0])]:
            continue
        yield from _entry(loc, entry, "# ")
        if meaning_at((*loc, entry)) is not None:
            continue  # written as one word, though it can be a table
        one = meaning_at((*loc, entry, "NAME"))
        if one is not None and entries_of((*loc, entry)) == ():  # entries under names of the user's own
            yield f"# [{loc[0]}.{entry}]"
            told = f"# NAME = {_empty(one)}"
            yield f"{told:<30} # {one.words}"
            continue
        if table_at((*loc, entry)) is not None and (len(loc) > 2 or entry not in WITHIN.get(str(loc[0]), ())):
            inner.append(entry)
    for entry in inner:
        path = (
            f"{header.strip('[]') or '.'.join(str(one) for one in loc if not isinstance(one, int))}.{entry}"
        )
        yield from _commented(f"[[{path}]]" if is_rows((*loc, entry)) else f"[{path}]", (*loc, entry))


def _empty(kind: Kind | None) -> str:
    if isinstance(kind, Parts) and not kind.may_be_one:
        return "[" + ", ".join(['""'] * max(kind.counts)) + "]"
    return '""'


def letter_at(loc: Loc) -> str:
    """Return the letter that stands for an entry in every drawing and list, or nothing."""
    return letters_of(".".join(str(one) for one in (loc[2:] if loc[0] in TIED else loc)))


def meaning(loc: Loc, kind: Kind) -> str:
    """Return an entry's letter and what it means, with the words it takes or the range in which most engines lie."""
    letter = letter_at(loc)
    letter = f"{letter}: " if letter else ""
    if isinstance(kind, Choice):
        return f"{letter}{kind.words}: {', '.join(kind.options)}"
    usual = usually(kind)
    return f"{letter}{kind.words}; usually {usual}" if usual else f"{letter}{kind.words}"


def usually(kind: Kind) -> str:
    """Return the range in which most engines lie, lengths in both units; nothing where none is known."""
    if not isinstance(kind, Quantity) or kind.usual is None:
        return ""
    low, high = kind.usual
    if kind.dimension is Dimension.LENGTH:
        return f"{low:g} to {high:g} mm, {low / INCH:.2g} to {high / INCH:.2g} in"
    return f"{low:g} to {high:g}{SHOWN_UNIT[kind.dimension]}"


def _told(text: str) -> list[str]:
    return _comment(text) if text else []


def _comment(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="# ", subsequent_indent="# ")
