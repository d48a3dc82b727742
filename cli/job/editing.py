"""A job file as its owner wrote it, with single entries set in it: comments and order stay as they are.

What is written anew is written as a person would: each entry with its meaning beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Set
from functools import wraps
from itertools import pairwise
from typing import Any, Concatenate, ParamSpec

import tomlkit
from tomlkit.items import AoT, Array, Comment, InlineTable, Item, Null, Table

from .faults import Loc
from .reading.values import Typed

P = ParamSpec("P")
BEGUN = "begun"  # stands in a table while it is begun
COMMENT_AT = 30  # the column at which an entry's meaning begins


def _changing(method: Callable[Concatenate[Edited, P], None]) -> Callable[Concatenate[Edited, P], None]:
    """Return a method that changes the document, whose text and plain form are then made anew."""

    @wraps(method)
    def changed(edited: Edited, /, *args: P.args, **kwargs: P.kwargs) -> None:
        try:
            method(edited, *args, **kwargs)
        finally:
            edited._touch()

    return changed


class Edited:
    """A job file's document, to be changed entry by entry."""

    def __init__(self, text: str) -> None:
        self._document = tomlkit.parse(text)
        self._text: str | None = None  # both kept until something is changed
        self._plain: dict[str, Any] | None = None

    @property
    def document(self) -> tomlkit.TOMLDocument:
        """The document, with its remarks and its layout."""
        return self._document

    @document.setter
    def document(self, found: tomlkit.TOMLDocument) -> None:
        self._document = found
        self._touch()

    @property
    def text(self) -> str:
        """The file as it now reads."""
        if self._text is None:
            self._text = tomlkit.dumps(self._document)
        return self._text

    @property
    def plain(self) -> Mapping[str, Any]:
        """The document without its layout."""
        if self._plain is None:
            self._plain = self._document.unwrap()
        return self._plain

    def _touch(self) -> None:
        self._text = self._plain = None

    def get(self, loc: Loc) -> Any:
        """Return what stands at a place, None where nothing does."""
        found: Any = self.document
        for step in loc:
            if isinstance(step, int):
                if not isinstance(found, (AoT, list)) or step >= len(found):
                    return None
                found = found[step]
            elif isinstance(found, Mapping) and step in found:
                found = found[step]
            else:
                return None
        return found

    @_changing
    def put(self, loc: Loc, value: object, meaning: str = "") -> None:
        """Set an entry, in a table made for it where there is none; meaning : told beside one that is new."""
        if not isinstance(self.get(loc[:-1]), Mapping):
            self._begin(loc[:-1])
        table = self._table(loc[:-1])
        key = str(loc[-1])
        item = _item(value)
        if key in table:
            before = table[key]
            if isinstance(before, Item) and not isinstance(before, (Table, InlineTable)):
                _keep_comment(before, item)
            table[key] = item
            return
        if meaning and not isinstance(table, InlineTable):
            item.comment(meaning)
            item.trivia.comment_ws = " " * max(2, COMMENT_AT - len(f"{key} = {item.as_string()}"))
        free = _free(table) if isinstance(table, Table) else []
        table[key] = item
        for one in free:
            table.add(one)

    def _begin(self, loc: Loc) -> None:
        """Begin a table, with a line free before every header that it comes before."""
        close = set(pairwise(tomlkit.dumps(self._document).splitlines()))
        self._table(loc)[BEGUN] = 0
        lines = _behind(tomlkit.dumps(self._document).splitlines(keepends=True), close)
        for index in range(len(lines) - 1, 0, -1):
            pair = lines[index - 1].rstrip("\r\n"), lines[index].rstrip("\r\n")
            if (
                pair[1].startswith("[")
                and pair[0].strip()
                and not pair[0].startswith("#")
                and pair not in close
            ):
                lines.insert(index, "\n")
        self.document = tomlkit.parse("".join(lines))
        del self._table(loc)[BEGUN]

    @_changing
    def row(self, name: str, entries: Mapping[str, object]) -> None:
        """Add one [[name]] with its first entries."""
        table = tomlkit.table()
        for key, value in entries.items():
            table.add(key, _item(value))
        rows = self.document.get(name)
        if not isinstance(rows, AoT):
            rows = tomlkit.aot()
            self._apart()
            self.document.add(name, rows)
        rows.append(table)

    @property
    def remarks(self) -> list[str]:
        """Every line that is a comment."""
        return [line for line in self.text.splitlines() if line.lstrip().startswith("#")]

    @_changing
    def remark(self, loc: Loc, text: str) -> None:
        """Add a comment below the last entry of a table's own, or of the file's where `loc` is empty."""
        table: Any = self._table(loc) if loc else self.document
        if isinstance(table, InlineTable):
            return
        body = table.value.body if isinstance(table, Table) else table.body
        own = [item for key, item in body if key is not None and not isinstance(item, (Table, AoT))]
        if own:
            own[-1].trivia.trail += f"# {text}\n"
            self.document = tomlkit.parse(tomlkit.dumps(self._document))
        else:
            table.add(tomlkit.comment(text))

    @_changing
    def remark_beside(self, loc: Loc, text: str) -> None:
        """Put a comment behind an entry, in place of the one that stands there."""
        table, found = self.get(loc[:-1]), self.get(loc)
        if isinstance(found, Item) and not isinstance(table, InlineTable):
            found.comment(text)
            found.trivia.comment_ws = found.trivia.comment_ws or "  "

    @_changing
    def forget_beside(self, loc: Loc, begins: str) -> None:
        """Take the comment behind an entry away where it begins so."""
        found = self.get(loc)
        if isinstance(found, Item) and found.trivia.comment.lstrip("# ").startswith(begins):
            found.trivia.comment = found.trivia.comment_ws = ""

    @_changing
    def another(self, loc: Loc, entries: Mapping[str, tuple[object, str]]) -> None:
        """Add a row behind a table that stood alone, or behind other rows; entries : name → value and meaning."""
        rows = self.get(loc)
        if isinstance(rows, Mapping):
            only: Any = rows
            rows = tomlkit.array() if isinstance(only, InlineTable) else tomlkit.aot()
            rows.append(only)
            parent = self.get(loc[:-1])
            del parent[loc[-1]]
            parent.append(loc[-1], rows)
        row: Any = tomlkit.inline_table() if isinstance(rows, Array) else tomlkit.table()
        free = [] if isinstance(rows, Array) else _free(rows[-1])
        rows.append(row)
        for name, (value, meaning) in entries.items():
            self.put((*loc, len(rows) - 1, name), value, meaning)
        for one in free:
            rows[-1].add(one)

    def remarked(self, loc: Loc, text: str) -> bool:
        """Say whether a comment stands in a table."""
        table = self.get(loc)
        return isinstance(table, Table) and any(
            isinstance(item, Comment) and text in item.as_string() for _, item in table.value.body
        )

    @_changing
    def forget(self, loc: Loc, text: str) -> None:
        """Take a remark out of a table again."""
        body = self.get(loc).value.body
        for index, (_, item) in enumerate(body):
            if isinstance(item, Comment) and text in item.as_string():
                body[index] = (None, Null())

    @_changing
    def drop(self, loc: Loc) -> None:
        """Take an entry or a table out, where it is there; remarks above the table behind it stay there."""
        table = self.get(loc[:-1])
        if table is None or loc[-1] not in table:
            return
        gone = table[loc[-1]]
        if not isinstance(gone, Table):
            del table[loc[-1]]
            return
        every, last = list(_tables(self.document.body)), [gone, *_tables(gone.value.body)][-1]
        behind = every[next(place for place, one in enumerate(every) if one is last) + 1 :]
        free = "".join(one.as_string() for one in _free(last))
        del table[loc[-1]]
        if behind:
            behind[0].trivia.indent = free + behind[0].trivia.indent
        self.document = tomlkit.parse(tomlkit.dumps(self._document) + ("" if behind else free))

    def _table(self, loc: Loc) -> Any:
        found: Any = self.document
        for index, step in enumerate(loc):
            if isinstance(step, int):
                found = found[step]
                continue
            if step not in found:
                if isinstance(found, InlineTable):
                    found[step] = tomlkit.inline_table()
                else:
                    if index == 0:
                        self._apart()
                    nested = index + 1 < len(loc) and isinstance(loc[index + 1], str)
                    found[step] = tomlkit.table(is_super_table=nested)
            found = found[step]
        return found

    def _apart(self) -> None:
        """Leave a line free before a new table."""
        body = self.document.body
        if body and not tomlkit.dumps(self._document).endswith("\n\n"):
            self.document.add(tomlkit.nl())


def _behind(lines: list[str], close: Set[tuple[str, str]]) -> list[str]:
    """Return the lines with remarks that stand above the table that is begun put behind it, where another one follows.

    close : lines that stood right below one another before
    """
    last = next(index for index, line in enumerate(lines) if line.startswith(f"{BEGUN} = "))
    above = last - 1
    while above and (not lines[above - 1].strip() or lines[above - 1].startswith("#")):
        above -= 1
    remarks = "".join(lines[above : last - 1]).strip()
    behind = next((index for index in range(last + 1, len(lines)) if lines[index].strip()), len(lines))
    if not remarks or behind == len(lines):
        return lines
    apart = above if not lines[above].strip() else above + 1  # a remark right below an entry stays with it
    moved = lines[apart : last - 1]
    if not "".join(moved).strip():
        return lines
    above_next = moved[-1]
    while not moved[-1].strip():
        moved.pop()
    if (moved[-1].rstrip("\r\n"), lines[behind].rstrip("\r\n")) not in close and not above_next.strip():
        moved.append(above_next)
    return [*lines[:apart], "\n", *lines[last - 1 : last + 1], *moved, *lines[last + 1 :]]


def _free(table: Any) -> list[Item]:
    """Take off what stands in a table behind its last entry: free lines and remarks, those of the table behind it among them."""
    body, found = table.value.body, []
    while body and body[-1][0] is None:
        found.append(body.pop()[1])
    return [
        one for one in reversed(found) if not isinstance(one, Null)
    ]  # which stands where something was taken out


def _tables(body: Any) -> Iterator[Table]:
    """Yield every table in the order in which it stands in the text."""
    for _, item in body:
        for one in item if isinstance(item, AoT) else [item]:
            if isinstance(one, Table):
                yield one
                yield from _tables(one.value.body)


def _keep_comment(before: Item, item: Item) -> None:
    """Carry a comment over to a new value, at the column where it began if that was set apart."""
    space = before.trivia.comment_ws
    if space.isspace() and len(space) > 1:
        space = " " * max(2, len(space) + len(before.as_string()) - len(item.as_string()))
    item.trivia.comment_ws, item.trivia.comment = space, before.trivia.comment


def _item(value: object) -> Item:
    """Return a value to be written: numbers as they were typed, tables in braces."""
    if isinstance(value, Typed):
        return tomlkit.value(value.typed)
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, inner in value.items():
            table[str(key)] = _item(inner)
        return table
    if isinstance(value, (list, tuple)):
        array = tomlkit.array()
        for inner in value:
            array.append(_item(inner))
        return array
    if isinstance(value, str) and '"' in value and "'" not in value:
        return tomlkit.string(value, literal=True)
    return tomlkit.item(value)
