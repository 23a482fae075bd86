"""The texts of the shop's tables as rows of plain text, and rows changed, added and taken out in them.

Nothing is read beyond the cells: a text that no reader would take has rows all the same, so that it can be mended.
"""

from __future__ import annotations

import csv
import io
import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any, get_type_hints

from valuation.engine.rows import Settings
from valuation.engine.rows.row_keys import key_columns
from valuation.facts.columns import columns_of
from valuation.files.faults import file_of
from valuation.files.toml_text import lines_of_keys
from valuation.record.shop_tables import Row
from valuation.rules.table_writer import append_row, delete_rows, rewrite_cells, rewrite_setting

SETTINGS = "settings"
SETTING_COLUMNS = ("name", "value", "unit", "source", "note")
Cells = dict[str, str]
"""Column to text."""

_TOML_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?", re.ASCII)


def rows_of_text(table: str, text: str) -> list[Cells]:
    r"""Return the rows of a table; no rows where it can't be split into cells.

    Examples
    --------
    >>> rows_of_text("tiers", "id,rank\nplain,1\n")
    [{'id': 'plain', 'rank': '1'}]
    """
    if table == SETTINGS:
        return _settings(text)
    try:
        lines = [[cell.strip() for cell in line] for line in csv.reader(io.StringIO(text, newline="")) if line]
    except csv.Error:
        return []
    header, *body = lines or [[]]
    return [dict(zip(header, cells, strict=False)) for cells in body]


def line_keys(table: str, text: str) -> dict[int, Row]:
    """Return which row begins on which line, as the reader tells its faults."""
    if table == SETTINGS:
        lines = lines_of_keys(text)
        rows = _settings(text)
        return {
            line: key_of(table, row)
            for row in rows
            for path, line in lines.items()
            if path.split(".")[0] == row["name"]
        }
    try:
        reader = csv.reader(io.StringIO(text, newline=""))
        begins, found = 1, {}
        header: list[str] = []
        for cells in reader:
            line, begins = begins, reader.line_num + 1
            if cells and not header:
                header = [cell.strip() for cell in cells]
            elif cells:
                found[line] = key_of(table, dict(zip(header, (cell.strip() for cell in cells), strict=False)))
    except csv.Error:
        return {}
    return found


def key_of(table: str, cells: Mapping[str, str]) -> Row:
    """Return what tells a row from the others of its table."""
    return tuple((column, cells.get(column, "")) for column in key_columns(table))


def columns_of_table(table: str, row_class: type) -> tuple[str, ...]:
    """Return the columns of a table, in its order."""
    return SETTING_COLUMNS if table == SETTINGS else tuple(columns_of(row_class))


def change_row(table: str, text: str, row: Row, cells: Mapping[str, str]) -> str:
    """Return the text with some cells of a row changed; `TableError` where there is no such row or column."""
    if table != SETTINGS:
        return rewrite_cells(text, file_of(table), {row: cells})
    name = dict(row)["name"]
    parts = {part: _toml(name, words) if part == "value" else _quoted(words) for part, words in cells.items()}
    return rewrite_setting(text, file_of(table), name, parts)


def add_row(table: str, text: str, cells: Mapping[str, str]) -> str:
    """Return the text with one more row at its end."""
    return append_row(text, file_of(table), cells)


def take_row_out(table: str, text: str, row: Row) -> str:
    """Return the text without a row."""
    return delete_rows(text, file_of(table), [row])


def _settings(text: str) -> list[Cells]:
    try:
        found = tomllib.loads(text)
    except ValueError:
        return []
    rows = []
    for name, setting in found.items():
        parts = setting if isinstance(setting, dict) else {"value": setting}
        rows.append(
            {"name": name} | {part: _plain(parts.get(part, "")) for part in SETTING_COLUMNS[1:]},
        )
    return rows


def _plain(value: Any) -> str:
    return ";".join(map(str, value)) if isinstance(value, list) else str(value)


def _toml(name: str, words: str) -> str:
    """Return what was typed for a setting as TOML has it; what is no number stays text, and the reader says so."""
    hint = get_type_hints(Settings).get(name, str)
    if hint in (int, float) and _TOML_NUMBER.fullmatch(words):
        return words
    if hint == tuple[str, ...]:
        return json.dumps([item.strip() for item in words.split(";") if item.strip()], ensure_ascii=False)
    return _quoted(words)


def _quoted(words: str) -> str:
    return json.dumps(words, ensure_ascii=False)
