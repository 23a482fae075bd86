"""Single cells of a table or settings file changed in its text; every other byte stays as it is.

A shop's file keeps its own order of columns, line endings, spaces, quotation marks and comments: whoever compares two
versions sees only what has changed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from valuation.errors import Problem, TableError, quoted
from valuation.files.faults import did_you_mean

_CELL = re.compile(r'(?:"(?:[^"]|"")*"|[^,\r\n]*)')
_VALUE = r"""(?:"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[^"'#\s][^#\n]*?)"""
_HEADER = re.compile(r"^[ \t]*\[([^\[\]\n]+)\][ \t]*(?:#.*)?\r?$", re.MULTILINE)

Key = tuple[tuple[str, str], ...]
"""Which row: columns and what stands in them."""

Cells = list[tuple[int, int]]
"""Where each cell of a row stands in the text."""


def rewrite_cells(text: str, file: str, changes: Mapping[Key, Mapping[str, str]]) -> str:
    """Return the text of a table with some of its cells replaced.

    Parameters
    ----------
    text : str
        The file's text, as read without translating line endings; a table that loads.
    file : str
        Name of the file, for the problems.
    changes : mapping of Key to mapping of column to text
        For each row, the new text of each cell, unquoted.

    Raises
    ------
    TableError
        If a row or a column is missing, or a key fits more than one row: then nothing is changed.
    """
    rows = _rows(text)
    header = [_plain(text[begin:end]) for begin, end in rows[0]] if rows else []
    problems, edits = [], []
    for key, cells in changes.items():
        row, faults = _row_with(text, file, rows, header, key, *cells)
        problems += faults
        if row:
            edits += [(*row[header.index(column)], new) for column, new in cells.items()]
    if problems:
        raise TableError(problems)
    return _edited(text, edits)


def delete_rows(text: str, file: str, keys: Sequence[Key]) -> str:
    """Return the text of a table without some of its rows.

    Raises
    ------
    TableError
        As `rewrite_cells`.
    """
    rows = _rows(text)
    header = [_plain(text[begin:end]) for begin, end in rows[0]] if rows else []
    problems, gone = [], []
    for key in keys:
        row, faults = _row_with(text, file, rows, header, key)
        problems += faults
        gone += [(row[0][0], _end_of_line(text, row[-1][1]))] if row else []
    if problems:
        raise TableError(problems)
    for begin, end in sorted(gone, reverse=True):
        text = text[:begin] + text[end:]
    return text


def append_row(text: str, file: str, cells: Mapping[str, str]) -> str:
    """Return the text of a table with one more row at its end; columns that `cells` leaves out stay empty.

    Raises
    ------
    TableError
        If the table lacks one of the columns.
    """
    rows = _rows(text)
    header = [_plain(text[begin:end]) for begin, end in rows[0]] if rows else []
    if missing := [column for column in cells if column not in header]:
        raise TableError([Problem(file, 1, name, f"{quoted(name)} is not a column of this table") for name in missing])
    end = "\r\n" if "\r\n" in text else "\n"
    lead = "" if text.endswith(("\n", "\r")) else end
    return f"{text}{lead}{','.join(_cell(cells.get(column, '')) for column in header)}{end}"


def add_columns(text: str, names: Sequence[str]) -> str:
    """Return the text of a table with columns more at its end, empty in every row."""
    for number, row in reversed(list(enumerate(_rows(text)))):
        place = row[-1][1]
        text = text[:place] + "".join(f",{'' if number else name}" for name in names) + text[place:]
    return text


def setting_text(text: str, name: str) -> str:
    """Return the part of a settings file that holds one setting; empty where it isn't there."""
    headers = [*_HEADER.finditer(text)]
    ends = [*(header.start() for header in headers[1:]), len(text)]
    return next((text[h.start() : end] for h, end in zip(headers, ends, strict=True) if h[1].strip() == name), "")


def rewrite_setting(text: str, file: str, name: str, parts: Mapping[str, str]) -> str:
    """Return the text of a settings file with parts of one setting replaced.

    Parameters
    ----------
    text : str
        A settings file that loads, with the setting under its own ``[name]``.
    file : str
        Name of the file, for the problems.
    name : str
        The setting.
    parts : mapping of str to str
        New text of ``value``, ``source`` or ``note``, as TOML writes it.

    Raises
    ------
    TableError
        If the setting, or one of the parts, doesn't stand on a line of its own: then nothing is changed.
    """
    headers = [*_HEADER.finditer(text)]
    ends = [*(header.start() for header in headers[1:]), len(text)]
    span = next(((h.end(), end) for h, end in zip(headers, ends, strict=True) if h[1].strip() == name), None)
    if span is None:
        raise TableError([Problem(file, 0, name, f"there is no [{name}] on a line of its own; write it so")])
    problems, edits = [], []
    for part, new in parts.items():
        line = re.compile(rf"^[ \t]*{part}[ \t]*=[ \t]*({_VALUE})[ \t]*(?:#.*)?\r?$", re.MULTILINE)
        found = line.search(text, *span)
        if found is None:
            message = "it can't be changed here; write it on one line of its own, as a plain value"
            problems.append(Problem(file, text.count("\n", 0, span[0]) + 1, f"{name}.{part}", message))
        else:
            edits.append((*found.span(1), new))
    if problems:
        raise TableError(problems)
    return _edited(text, edits, quote=False)


def _row_with(
    text: str, file: str, rows: Sequence[Cells], header: Sequence[str], key: Key, *columns: str
) -> tuple[Cells, list[Problem]]:
    """Return the one row that a key fits and that has the columns; no cells where there is none, and why."""
    named = [column for column, _ in key]
    if missing := [column for column in (*named, *columns) if column not in header]:
        told = (f"{quoted(name)} is not a column{did_you_mean(name, header)}" for name in missing)
        return [], [Problem(file, 1, name, message) for name, message in zip(missing, told, strict=True)]
    at = [header.index(column) for column in named]
    wanted = [value for _, value in key]
    found = [row for row in rows[1:] if len(row) == len(header)]
    found = [row for row in found if [_plain(text[slice(*row[i])]) for i in at] == wanted]
    if len(found) == 1:
        return found[0], []
    says = "there is no row for" if not found else f"{len(found)} rows stand for"
    return [], [Problem(file, 0, named[0], f"{says} {', '.join(wanted)}; there must be one")]


def _end_of_line(text: str, place: int) -> int:
    for end in ("\r\n", "\n", "\r"):
        if text.startswith(end, place):
            return place + len(end)
    return place


def _rows(text: str) -> list[list[tuple[int, int]]]:
    """Return where each cell of each row stands; blank lines are no rows."""
    rows: list[list[tuple[int, int]]] = []
    row: list[tuple[int, int]] = []
    place = 0
    while place <= len(text):
        cell = _CELL.match(text, place)
        assert cell is not None, "the pattern takes any text, an empty one too"
        row.append(cell.span())
        place = cell.end()
        if place < len(text) and text[place] == ",":
            place += 1
            continue
        if len(row) > 1 or row[0][0] < row[0][1]:
            rows.append(row)
        row = []
        place += 2 if text[place : place + 2] == "\r\n" else 1
    return rows


def _plain(raw: str) -> str:
    """Return what a cell says."""
    if raw.startswith('"'):
        raw = raw[1:-1].replace('""', '"')
    return raw.strip()


def _cell(words: str) -> str:
    """Return words as a cell, in quotation marks only where they need them."""
    if re.search(r'[,"\r\n]', words) or words != words.strip():
        doubled = words.replace('"', '""')
        return f'"{doubled}"'
    return words


def _edited(text: str, edits: Sequence[tuple[int, int, str]], *, quote: bool = True) -> str:
    edits = sorted(edits)
    edges = [0, *(place for begin, end, _ in edits for place in (begin, end)), len(text)]
    kept = [text[begin:end] for begin, end in list(pairwise(edges))[::2]]
    new = [_cell(words) if quote else words for *_, words in edits]
    return "".join(piece for pair in zip(kept, [*new, ""], strict=True) for piece in pair)
