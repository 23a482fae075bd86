"""TOML text into plain values, with the line on which each key stands."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from valuation.errors import Problem

_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_DOTTED = rf"{_KEY}(?:[ \t]*\.[ \t]*{_KEY})*"
_HEADER = re.compile(rf"[ \t]*\[\[?[ \t]*({_DOTTED})[ \t]*\]")
_SETS = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=")
_NAME = re.compile(_KEY)
_TOO_DEEP = re.compile(rf"^[ \t]*(?:{_KEY}[ \t]*\.[ \t]*){{9}}", re.MULTILINE)
_PLACE = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)$")


def parse_toml(text: str, file: str) -> tuple[dict[str, Any], list[Problem]]:
    """Parse TOML; where it is not TOML the mapping is empty and one problem says what and where."""
    if deep := _TOO_DEEP.search(text):
        # the parser's time grows with the square of a key's length
        line = text.count("\n", 0, deep.start()) + 1
        return {}, [
            Problem(file, line, "", "the key is nested too deeply; no file of ours needs more than four levels")
        ]
    try:
        found = tomllib.loads(text)
    except RecursionError:
        return {}, [Problem(file, 0, "", "brackets are nested too deeply; no file of ours needs more than four levels")]
    except ValueError as error:  # TOMLDecodeError, and a plain ValueError for a number of thousands of digits
        message = f"this is not TOML: {error}; texts need quotation marks, decimals a point"
        return {}, [Problem(file, _line_of_error(str(error), text), "", message)]
    if _holds_a_number_too_long(found):
        return {}, [Problem(file, 0, "", "a whole number has more than 18 digits; is it meant?")]
    return found, []


def _line_of_error(said: str, text: str) -> int:
    place = _PLACE.search(said)
    if place is None:
        return 0
    return int(place[1]) if place[1] else text.rstrip("\n").count("\n") + 1


def _holds_a_number_too_long(found: dict[str, Any]) -> bool:
    waiting: list[Any] = [found]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            waiting.extend(value.values())
        elif isinstance(value, list):
            waiting.extend(value)
        elif isinstance(value, int) and value.bit_length() > 63:
            return True
    return False


def lines_of_keys(text: str) -> dict[str, int]:
    r"""Return the line of each key and table header by its dotted path, found by a simple scan.

    Keys inside inline tables are not found; see `line_of`.

    Examples
    --------
    >>> lines_of_keys('title = "x"\n[piano]\nyear = 1912')
    {'title': 1, 'piano': 2, 'piano.year': 3}
    """
    found: dict[str, int] = {}
    table, open_mark = "", ""
    for number, line in enumerate(text.split("\n"), start=1):
        if open_mark:
            open_mark = "" if open_mark in line else open_mark
            continue
        if line.lstrip().startswith("#"):
            continue
        if header := _HEADER.match(line):
            table = _path(header[1])
            found.setdefault(table, number)
        elif key := _SETS.match(line):
            found.setdefault(f"{table}.{_path(key[1])}" if table else _path(key[1]), number)
        for mark in ('"""', "'''"):
            if line.count(mark) % 2:
                open_mark = mark
    return found


def line_of(path: str, lines: dict[str, int]) -> int:
    """Return the line of a key, else of the nearest table around it, else 0."""
    while path:
        if path in lines:
            return lines[path]
        path = path.rpartition(".")[0]
    return 0


def _path(dotted: str) -> str:
    return ".".join(name.strip("\"'") for name in _NAME.findall(dotted))
