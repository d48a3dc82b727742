"""Where in the text of a job file an entry stands: line and column, for messages only.

What the file means is decided by the standard library's reader; this walks the syntax tree beside
it, and is loaded only when there is something to complain about.
"""

from __future__ import annotations

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

Keys = tuple[str | int, ...]  # from the top of the document down, rows of tables by their numbers
Place = tuple[int, int]  # line and column, from 1; columns in bytes until `Places.nearest` counts characters


class Places:
    """Where in one text every key, table and list element stands."""

    def __init__(self, source: str) -> None:
        self.lines = source.encode().split(b"\n")
        self.places = _positions(source)

    def nearest(self, loc: Keys) -> Place:
        """Return the place of an entry, or of the innermost thing around it that the text has."""
        for length in range(len(loc), 0, -1):
            found = self.places.get(loc[:length]) or self.places.get((*loc[:length], 0))
            if found is not None:
                line, offset = found
                before = self.lines[line - 1][: offset - 1]
                return line, len(before.decode(errors="replace")) + 1
        return (1, 1)

    def in_line(self, line: int) -> Keys:
        """Return the entry or table that begins in a line, or nothing."""
        found = [loc for loc, (at, _) in self.places.items() if at == line]
        return min(found, key=len, default=())


def _positions(source: str) -> dict[Keys, Place]:
    tree = Parser(Language(tree_sitter_toml.language())).parse(source.encode())
    places: dict[Keys, Place] = {}
    counts: dict[Keys, int] = {}
    for child in tree.root_node.children:
        if child.type == "pair":
            _pair(child, (), places)
        elif child.type in ("table", "table_array_element"):
            path = _opened(_keys(child), counts)
            if child.type == "table_array_element":
                counts[path] = counts.get(path, -1) + 1
                path = (*path, counts[path])
            places.setdefault(path, _place(child))
            for inner in child.children:
                if inner.type == "pair":
                    _pair(inner, path, places)
    return places


def _opened(keys: tuple[str, ...], counts: dict[Keys, int]) -> Keys:
    """Return a header's path with the index of the element it is in: [train.rocker] is in the last train."""
    path: Keys = ()
    for index, key in enumerate(keys):
        path = (*path, key)
        if path in counts and index < len(keys) - 1:
            path = (*path, counts[path])
    return path


def _pair(pair: Node, base: Keys, places: dict[Keys, Place]) -> None:
    path: Keys = base
    for key in _keys(pair):
        path = (*path, key)
        places.setdefault(path, _place(pair))
    _value(pair.children[-1], path, places)


def _value(value: Node, path: Keys, places: dict[Keys, Place]) -> None:
    if value.type == "inline_table":
        for inner in value.children:
            if inner.type == "pair":
                _pair(inner, path, places)
    elif value.type == "array":
        elements = [one for one in value.named_children if one.type != "comment"]
        for index, element in enumerate(elements):
            places.setdefault((*path, index), _place(element))
            _value(element, (*path, index), places)


def _keys(node: Node) -> tuple[str, ...]:
    for child in node.children:
        if child.type in ("bare_key", "quoted_key", "dotted_key"):
            return tuple(_names(child))
    return ()


def _names(key: Node) -> list[str]:
    if key.type == "dotted_key":
        return [name for part in key.children for name in _names(part)]
    if key.type in ("bare_key", "quoted_key"):
        return [(key.text or b"").decode(errors="replace").strip("\"'")]
    return []


def _place(node: Node) -> Place:
    return node.start_point.row + 1, node.start_point.column + 1
