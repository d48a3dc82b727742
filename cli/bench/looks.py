"""A page as its template takes it: what one screen shows of a job, and which of its pieces are sent anew."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from markupsafe import Markup

from ..commands import folder as jobs_of
from ..commands.folder import State
from ..guide.finding import matches
from ..guide.layout import is_blank
from ..guide.needs import path_of
from ..job.document import leaves
from ..job.entries.catalogue import kind_at
from ..page.wording import CAUTION
from . import pages, setting
from .desk import FIXED, OpenJob
from .fields import Shown, offers_of, whose
from .fields import field as field_of
from .places import home, owners
from .posing import posed
from .screens import ALL, GEARS, NEXT, SCREENS, SET, STACK, Of, Part, Screen
from .view import (
    Answers,
    Item,
    Shelf,
    Stopping,
    address,
    answered,
    fields_of,
    heard,
    next_card,
    shelves,
    stopping,
    strip,
    tabs,
)
from .working import Built, Clearance, Whole

BEFORE = "for the value before"
UNREAD = "of the file as it was last read"
BEING_SET = "The sheet is being set; it takes some seconds."
NOT_READ = "the file cannot be read as it stands; what is shown is of before"
FOUND_MOST = 40  # entries that a search shows


class Listed(NamedTuple):
    """One job of the folder."""

    name: str
    title: str
    href: str
    word: str  # how it stands; nothing: not worked out yet
    open: int
    told: str


def folder(where: Path, states: Mapping[str, State]) -> dict[str, Any]:
    """Return the jobs of a folder; states : as they were last told. One whose name no address can hold is listed with other files."""
    found, rest = jobs_of.jobs(where)
    others = [os.fsencode(one).decode("utf-8", "replace") for one in rest]
    listed = []
    for path in found:
        name = path.name.removesuffix(".toml")
        if not _is_text(name):
            shown = os.fsencode(path.name).decode("utf-8", "replace")
            others.append(f"{shown} (its name is no text; give it another)")
            continue
        state = states.get(name)
        told = "" if state is None or not state.told else state.told[0]
        title = "" if state is None else state.title
        listed.append(
            Listed(
                name,
                title,
                address(name, STACK),
                "" if state is None else state.word,
                0 if state is None else len(state.open),
                told,
            )
        )
    shown_as = os.fsencode(where.name or str(where)).decode("utf-8", "replace")
    return {"folder": shown_as, "jobs": listed, "others": others}


def _is_text(name: str) -> bool:
    """Say whether a file's name is text as pages and addresses hold it."""
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True


def screen(
    name: str, found: OpenJob, here: Screen, owner: str, told: Answers, find: str = ""
) -> dict[str, Any]:
    """Return what a page shows."""
    of = found.shown
    orders = found.orders()
    if of is None:
        return _unreadable(name, found, here)
    text = "" if found.broken else found.hash  # what was told is of no file that cannot be read
    every = owners(here, of.plain)
    parts = _all(of, find) if here is ALL else shelves(of, here, owner)
    fields = fields_of(parts)
    rows = answered(name, of, orders, told, text, owner)
    stops = stopping(of.job, orders, told, text)
    place = every.index(owner) if owner in every else 0
    after = _after(name, of, here, owner)
    whole, clear = told.of("whole", Whole), told.of("clearance", Clearance)
    built: Built | None = told.of("built", Built)
    return {
        "name": name,
        "title": str(of.plain.get("title") or name),
        "hash": found.version,
        "screen": here,
        "owner": owner,
        "find": find,
        "tabs": tabs(name, of, here, owner),
        "strip": strip(name, of, here, owner, orders, () if built is None else built.rows),
        "parts": parts,
        "fields": fields,
        "rows": rows,
        "stops": _marked(stops._replace(stop=(*_unused(of), *stops.stop)), found),
        "stale_word": UNREAD if found.broken else BEFORE,
        "before": UNREAD if found.broken else "",
        "faults": [] if of.job is not None else _faults(name, of),
        "broken": found.broken,
        "pose": posed(here, owner, of, fields, orders, dict(clear.curves) if clear is not None else {}),
        "heard": NOT_READ if found.broken else heard(rows, stops),
        "would_undo": found.would_undo,
        "after": after,
        "first": next_card(name, of, told) if here is NEXT else None,
        "whole": whole,
        "is_working": not told.is_of("whole", text) and of.job is not None and not found.broken,
        "failed": told.failed("whole"),
        "sheet": sheet_told(found, told),
        "units": "" if of.job is None else of.job.units,
        "is_written": told.found.get("sheet", ("", None))[1] == "",
        "mends": [one for one in told.of("mends", tuple) or () if one[0] in (owner, owner.partition(".")[0])],
        "caution": CAUTION,
        "set": _set(found, owner, told) if here is SET else None,
        "is_all": here is ALL,
        "is_next": here is NEXT,
        "is_set": here is SET,
        "is_gears": here is GEARS,
        "place": place,
    }


def _set(found: OpenJob, owner: str, told: Answers) -> setting.Seen:
    """Return what SET shows of its owner."""
    built: Built | None = told.of("built", Built)
    rows, moved = ((), ()) if built is None else built
    is_now = told.is_of("built", found.hash) and not found.broken
    failed = told.failed("built")
    return setting.seen(found.job, owner, found.record, found.orders(), rows, moved, is_now, failed)


def _marked(stops: Stopping, found: OpenJob) -> Stopping:
    """Return what stops the work, as of the file before where that cannot be read now."""
    return Stopping((), stops.watch, (*stops.stop, *stops.before)) if found.broken else stops


def sheet_told(found: OpenJob, told: Answers) -> str:
    """Return what there is to say of the sheet: that it was written, of the value before, or why not."""
    hash_, failed = told.found.get("sheet", ("", None))
    out = f"{found.path.name.removesuffix('.toml')}.sheet.pdf"
    if failed is None:
        return ""
    if failed:
        return str(failed)
    return f"{out} is written beside the job" + ("" if hash_ == found.hash else f", {BEFORE}")


def _unreadable(name: str, found: OpenJob, here: Screen) -> dict[str, Any]:
    """Return a page of a file that cannot be read at all."""
    empty: tuple[Any, ...] = ()
    return {
        **dict.fromkeys(("tabs", "strip", "parts", "fields", "rows", "faults", "mends"), empty),
        **dict.fromkeys(("pose", "first", "whole", "after", "set"), None),
        **dict.fromkeys(("heard", "would_undo", "failed", "sheet", "owner", "find", "units"), ""),
        **dict.fromkeys(("is_working", "is_written", "is_all", "is_next", "is_set", "is_gears"), False),
        **{"name": name, "title": name, "hash": found.version, "screen": here, "stops": Stopping((), (), ())},
        **{"stale_word": UNREAD, "before": UNREAD, "broken": found.broken, "caution": CAUTION, "place": 0},
    }


def pieces(seen: Mapping[str, Any]) -> dict[str, Any]:
    """Return what may have changed on a page: its regions, and all of its fields."""
    made: dict[str, Markup] = {
        "band": pages.piece(
            "band",
            rows=seen["rows"],
            stale_word=seen["stale_word"],
            faults=seen["faults"],
            broken=seen["broken"],
        ),
        "stop": pages.piece(
            "stop", stops=seen["stops"], stale_word=seen["stale_word"], broken=seen["broken"]
        ),
        "strip": pages.piece("strip", tabs=seen["strip"]),
        "owners": pages.piece("strip", tabs=seen["tabs"]),
        "draw": pages.piece("drawing", pose=seen["pose"]),
        "undo": pages.piece("undo", would=seen["would_undo"]),
        "more": pages.piece("more", **{key: seen[key] for key in MORE}),
    }
    of_set = seen["set"]
    if of_set is not None:
        made["set-plan"] = pages.piece("plan", "setting", seen=of_set, stale_word=seen["stale_word"])
        made["set-lines"] = pages.piece("lines", "setting", seen=of_set)
    shape = [(one.key, tuple(_shape(item) for item in one.items)) for one in seen["parts"]]
    return {
        "hash": seen["hash"],
        "before": seen["before"],
        "parts": made,
        "shape": str(shape),
        "fields": pages.piece("fields", parts=seen["parts"]),
        "heard": seen["heard"],
        "form": None if of_set is None else _form(of_set),
    }


def _form(of_set: setting.Seen) -> dict[str, str]:
    """Return the fields of SET; they are only put in place of others where their shape is another."""
    shape = f"{of_set.form.shape if of_set.form else ''}|{bool(of_set.why)}"
    return {"shape": shape, "html": pages.piece("form", "setting", seen=of_set)}


def whole(seen: Mapping[str, Any], key: str) -> str:
    """Return a whole page; key : of the session, by which it asks."""
    made = pieces(seen)
    return pages.page(
        "screen",
        **{**seen, "key": key, "made": made["parts"], "fields_made": made["fields"], "late": BEFORE},
        **{"shape": made["shape"], "form": made["form"]},
    )


MORE = (
    "screen",
    "rows",
    "first",
    "whole",
    "is_working",
    "failed",
    "sheet",
    "is_written",
    "mends",
    "name",
    "units",
)


def _shape(one: Item) -> object:
    """Return which fields there are, whatever stands in them."""
    if one.field is not None:
        return one.field.key
    assert one.chosen is not None
    return one.chosen.key, one.chosen.option.word, tuple(_shape(inner) for inner in one.fields)


def _faults(name: str, of: Shown) -> list[tuple[str, str]]:
    """Return what is wrong with a job, each with the way to its field."""
    found = []
    for loc, message in of.faults.items():
        one = field_of(of, loc, "") if loc else None
        if one is None:
            found.append((message, ""))
            continue
        at = home(loc, of.plain)
        found.append((f"{one.path}: {message}", f"{address(name, at.screen, at.owner)}#{one.key}"))
    return found


def _unused(of: Shown) -> tuple[str, ...]:
    """Return which tables cannot be used, where the rest of the job can be."""
    if of.job is None:
        return ()
    return tuple(f"NOT USED: {path_of(loc, of.plain)}: {message}" for loc, message in of.faults.items())


def _after(name: str, of: Shown, here: Screen, owner: str) -> tuple[str, str] | None:
    """Return what comes after a screen: the same of the next owner, else the next screen."""
    every = owners(here, of.plain)
    if owner in every and every.index(owner) + 1 < len(every):
        following = every[every.index(owner) + 1]
        return f"{here.title}, {following.replace('.', ' ')}", address(name, here, following)
    order = list(SCREENS.values())
    if here in (NEXT, ALL):
        return None
    to = order[order.index(here) + 1]
    there = owners(to, of.plain)
    return to.title, address(name, to, there[0] if there else "")


def _all(of: Shown, find: str) -> tuple[Shelf, ...]:
    """Return every entry that the job has, by table; find : those that hold these words, whether it has them or not."""
    if find.strip():
        locs = [one.loc for one in matches(of.plain, find)[:FOUND_MOST]]
        title = (
            f"Entries with “{find.strip()}”"
            if locs
            else f"No entry has “{find.strip()}” in its name or its meaning"
        )
        return (_shelf(of, title, locs, 0),)
    tables: dict[str, list[Any]] = {}
    for loc, value in leaves(of.plain):
        if loc in FIXED or kind_at(loc) is None or (is_blank(value) and value != ""):
            continue
        tables.setdefault(_table(of, loc), []).append(loc)
    return tuple(_shelf(of, title, locs, place) for place, (title, locs) in enumerate(tables.items()))


def _table(of: Shown, loc: Sequence[str | int]) -> str:
    from ..guide.words import whose

    return whose(of.plain, tuple(loc)) or "the job"


def _shelf(of: Shown, title: str, locs: Sequence[tuple[str | int, ...]], place: int) -> Shelf:
    part = Part(title, Of.ENGINE, ())
    items = []
    for loc in locs:
        one = field_of(of, loc, whose(loc, of.plain))
        if one is not None:
            items.append(Item(one, offers_of(of, one)))
    return Shelf(part, "", f"part-{place}", tuple(items), True)
