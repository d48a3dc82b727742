"""Slips in a value on one line: quotes, units without them, commas, a figure that is a letter."""

from __future__ import annotations

import re
import tomllib

from .hints import CURLY, digits_meant, straightened
from .values import echo

NUMBER_FIRST = re.compile(r"[+-]?[.\d]")
WORDS_ONLY = re.compile(r"[A-Za-z][\w ./-]*$")
SECOND_ENTRY = re.compile(r"[^\s=]\s+[A-Za-z_][\w.-]*\s*=")
INCH_MARKS = re.compile(r'[^"]*\d"([^"]*\d"|[^"]*)')
QUOTE_WITHIN = re.compile(r'(?<=\d)"(?=\d+(?![\d/]))')
FIGURES = re.compile(r"[\d\s./±+-]+")
INCH_MARK_WITHIN = re.compile(r'"([^"]*\d")"')


def of_value(name: str, value: str) -> str:
    """Return what is wrong with a value on one line, and how to write it."""
    bare = echo(value.strip("\"' "))
    if not value:
        return f'no value after =; while it is not measured yet, write {name} = ""'
    if SECOND_ENTRY.search(re.sub(r'"[^"]*"', '""', value)):
        return "two entries in one line; write each on a line of its own"
    if QUOTE_WITHIN.search(bare):
        return f'a quote stands among the figures; write "{QUOTE_WITHIN.sub("", bare)}"'
    if value[0] in "\"'":
        return _of_quotes(value, bare)
    if value[-1] in "\"'":
        return f"the quote in front of the value is missing; write {_quoted(bare)}"
    meant = digits_meant(bare, "volume" not in name)
    if meant is not None and NUMBER_FIRST.match(meant[1]):
        right = meant[1] if re.fullmatch(r"[+-]?\d+(\.\d+)?", meant[1]) else f'"{meant[1]}"'
        return f"{meant[0]}; write {right}"
    if re.fullmatch(r"[+-]?\d+,\d+", value):
        return f"a comma; write {value.replace(',', '.')} if decimals are meant"
    if re.fullmatch(r"[+-]?(\.\d+|\d+\.|0\d+(\.\d+)?)", value):
        sign, figures = (value[0], value[1:]) if value[0] in "+-" else ("", value)
        whole, point, decimals = figures.partition(".")
        right = f"{sign}{whole.lstrip('0') or '0'}" + (f".{decimals or '0'}" if point else "")
        if len(whole) > 1 and whole[0] == "0":
            return f"a number begins without a 0 too many; write {right}"
        return f"figures stand on both sides of the point; write {right}"
    if len(value) > 1000:
        return "a number of so many digits is too large for anything in a workshop"
    if value.lower() in ("true", "false"):
        return f"write {value.lower()}, in small letters"
    if NUMBER_FIRST.match(value):
        return f"a unit, a fraction or a +/- makes it text, and text stands in quotes; write {_quoted(bare)}"
    if WORDS_ONLY.match(value):
        return f'text stands in quotes; write "{bare}"'
    return f'cannot be read; text stands in quotes, for example {name} = "4.935 in"'


def _quoted(bare: str) -> str:
    """Return a value in quotes that hold it whole, whatever marks it has within."""
    if '"' not in bare:
        return f'"{bare}"'
    plain = bare.replace('"', "").strip()
    return f'"{plain} in"' if FIGURES.fullmatch(plain) else f"'{bare}'"


def _of_quotes(value: str, bare: str) -> str:
    quote = value[0]
    rest = value[1:].partition(quote)
    if not rest[1]:
        return f"the quote in front of the value is not closed; write {quote}{bare}{quote}"
    within = value[1:-1]
    if quote == '"' == value[-1] and INCH_MARKS.fullmatch(within):
        return _of_inch_marks(within)
    if quote == '"' and "\\" in value:
        return "a \\ has a meaning of its own in double quotes; write / in its place, or single quotes around"
    if '"' in rest[2] or "'" in rest[2]:
        return "the quotes do not pair; one stands at each end of a value"
    after = echo(rest[2].strip())
    return f'"{after}" stands behind the closing quote; write "{rest[0]} {after}" if it belongs to the value'


def _of_inch_marks(within: str) -> str:
    """Return how to write what has inch marks and stands in double quotes."""
    plain = within.replace('"', "").strip()
    if FIGURES.fullmatch(plain):
        return f'an inch mark in double quotes ends them; write "{echo(plain)} in" or \'{echo(plain)}"\''
    return f"an inch mark in double quotes ends them; write '{echo(within)}', in single quotes"


def inch_mark_within(value: str) -> tuple[int, str] | None:
    """Return where a value within brackets has an inch mark in double quotes, and how to write it."""
    found = INCH_MARK_WITHIN.search(value)
    return None if found is None else (found.start(), _of_inch_marks(found[1]))


def straight(name: str, value: str) -> tuple[str, str] | None:
    """Return what is wrong where curly quotes stand around a value, and its line with straight ones."""
    if not CURLY.search(value) or NUMBER_FIRST.match(value):
        return None
    told = "curly quotes, as a word processor makes them; use straight ones"
    meant = straightened(value)
    if meant is None:
        return None
    bare = CURLY.sub("", value).strip("\"' ")
    for right in (f"{name} = {meant}", f'{name} = "{bare}"'):
        try:
            tomllib.loads(right)
        except ValueError:
            continue
        return f"{told}: {echo(right)}", right
    return f'{told}, for example "4.935 in"', f'{name} = ""'


def without_comment(value: str) -> str:
    """Return a value without the comment behind it; a # within quotes is none."""
    quoted = False
    for index, character in enumerate(value):
        if character == '"':
            quoted = not quoted
        if character == "#" and not quoted:
            return value[:index].rstrip()
    if value.count('"') >= 3 and "#" in value[value.rindex('"') :]:  # an inch mark among the quotes
        return value[: value.index("#", value.rindex('"'))].rstrip()
    return value
