"""A row of a spreadsheet into the text of a visit file, so that both are read and checked by the same code.

A column is a key of the visit file with its section: ``piano.kind``, ``client.budget``, ``findings.pin_hold``,
``findings.pin_torque.bass``. The section may be left out where only one section has that key. An empty cell is not
known, or not looked at. Several readings, or features, stand in one cell, separated by ';'.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache

from valuation.engine.rows import SECTIONS, Tables
from valuation.errors import Problem, quoted
from valuation.files.faults import did_you_mean, one_of

_KEYS = {
    "": ("title", "date", "technician", "place", "story", "humidity", "temperature"),
    "piano": ("kind", "size", "maker", "serial", "finish", "year", "year_is_about", "tier", "features"),
    "client": (
        "name",
        "purpose",
        "wishes",
        "wants_to_play",
        "premium",
        "to_have",
        "to_hear",
        "budget",
        "playing_year",
        "horizon_years",
    ),
    "finished_value": ("low", "likely", "high"),
}
_NEEDED = ("title", "date", "piano.kind")
_LISTS = ("piano.features",)
_PLAIN = {
    *("date", "humidity", "temperature", "piano.year", "piano.year_is_about"),
    *(f"client.{key}" for key in _KEYS["client"] if key not in ("name", "purpose", "wishes")),
    *(f"finished_value.{key}" for key in _KEYS["finished_value"]),
}
"""Keys whose value is a number, a day, or true or false; all others are text."""

_WORDS = {"yes": "true", "true": "true", "no": "false", "false": "false"}
_WHOLE = re.compile(r"[+-]?\d{1,15}")
_DECIMAL = re.compile(r"[+-]?\d{1,15}\.\d{1,15}")
_OF_A_CHECK = (*SECTIONS, "unit", "count", "note")


def check_columns(columns: Sequence[str], tables: Tables) -> list[tuple[str, str]]:
    """Return (column, message) for each column that is not known or stands twice, and for each that is missing."""
    faults = []
    known = known_columns(tables)
    if len(columns) == 1 and re.search(r"[;\t]", columns[0]):
        return [("", "the columns must be separated by commas; save the file as CSV with commas")]
    if "" in columns:
        faults.append(("", "a column has no name; name it or take it out"))
    for column in dict.fromkeys(filter(None, columns)):
        keys = known.get(column, ())
        if len(keys) > 1:
            faults.append((column, f"{quoted(column)} can mean two things; write {one_of(keys)}"))
        elif not keys:
            faults.append((column, f"{quoted(column)} is not a column known here{did_you_mean(column, known)}"))
    meant = Counter(keys[0] for column in columns if len(keys := known.get(column, ())) == 1)
    faults += [(key, f"{quoted(key)} has {n} columns; keep one") for key, n in meant.items() if n > 1]
    faults += [(key, f"the column {quoted(key)} is missing") for key in _NEEDED if key not in meant]
    return faults


@lru_cache(maxsize=4)
def known_columns(tables: Tables) -> dict[str, tuple[str, ...]]:
    """Return every column there can be, with the key of the visit file that it means; two where it is not clear."""
    found: dict[str, list[str]] = {}
    for section, keys in _KEYS.items():
        for key in keys:
            whole = f"{section}.{key}" if section else key
            for name in dict.fromkeys((whole, key)) if section in ("piano", "client") else (whole,):
                found.setdefault(name, []).append(whole)
    for part in tables.parts:
        found.setdefault(f"piano.renewed.{part.id}", []).append(f"piano.renewed.{part.id}")
    older = [*(old for row in tables.checks for old in row.replaces), *(row.old_check for row in tables.taken_over)]
    for check in dict.fromkeys((*(row.id for row in tables.checks), *older)):
        for key in (check, *(f"{check}.{of}" for of in _OF_A_CHECK)):
            found.setdefault(f"findings.{key}", []).append(f"findings.{key}")
            found.setdefault(key, []).append(f"findings.{key}")
    return {column: tuple(keys) for column, keys in found.items()}


def visit_text(cells: Mapping[str, str], tables: Tables) -> str:
    """Return the TOML text of one row; cells that can't be right are left for the reader of visit files to tell."""
    known = known_columns(tables)
    filled = {known[column][0]: cell for column, cell in cells.items() if cell}
    return "".join(f"{key} = {value}\n" for key, value in _values(filled))


def _values(filled: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for key, cell in filled.items():
        if key in _PLAIN or key.startswith("piano.renewed."):
            yield key, _plain(cell)
        elif not key.startswith("findings.") or key.endswith((".unit", ".note")):
            yield key, _list(cell) if key in _LISTS else _text(cell)
        elif key.endswith(tuple(f".{section}" for section in SECTIONS)):
            yield key, _list(cell)
        else:
            beside = any(f"{key}.{of}" in filled for of in _OF_A_CHECK)
            yield f"{key}.value" if beside else key, _list(cell) if ";" in cell else _text(cell)


def told_of_row(problem: Problem, file: str, line: int, columns: Sequence[str], tables: Tables) -> Problem:
    """Return a problem of the text that `visit_text` made, told as one of the row and the column it came from."""
    known = known_columns(tables)
    key = problem.where.removesuffix(".value")
    column = next((column for column in columns if known[column] == (key,)), key)
    return replace(problem, file=file, line=line, where=column)


def _plain(cell: str) -> str:
    if cell.lower() in _WORDS:
        return _WORDS[cell.lower()]
    if _WHOLE.fullmatch(cell):
        return str(int(cell))
    if _DECIMAL.fullmatch(cell):
        return str(float(cell))
    try:
        return date.fromisoformat(cell).isoformat()
    except ValueError:
        return _text(cell)


def _list(cell: str) -> str:
    return f"[{', '.join(_text(item.strip()) for item in cell.split(';'))}]"


def _text(cell: str) -> str:
    """Return a TOML string; JSON's escapes are TOML's too, but for DEL."""
    return json.dumps(cell, ensure_ascii=False).replace("\x7f", "\\u007f")
