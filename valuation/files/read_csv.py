"""The text of one table into rows, each with its line, and every fault of a cell."""

from __future__ import annotations

import csv
import io
from typing import Any, get_type_hints

from valuation.errors import Problem, quoted
from valuation.facts.columns import columns_of
from valuation.files.cells import CellError, read_cell
from valuation.files.faults import did_you_mean

_WRONG_SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars"}


def read_table(text: str, file: str, row_class: type) -> tuple[list[tuple[int, Any]], list[Problem]]:
    """Read the rows of one table.

    Parameters
    ----------
    text : str
        The file's text: a line of column names, then one line for each row; blank lines are passed over.
    file : str
        Name of the file, for the problems.
    row_class : type
        Class of its rows; its fields are the columns, in any order.

    Returns
    -------
    rows : list of (line, row)
        The rows without fault, with the line on which each begins.
    problems : list of Problem
        Every fault of the header, of a row's length or of a cell.
    """
    lines, problems = _split_lines(text, file)
    if not lines:
        return [], problems
    (header_line, header), *body = lines
    wrong = _check_header(header, list(columns_of(row_class)))
    problems += (Problem(file, header_line, where, message) for where, message in wrong)
    if len(header) == 1 or len(set(header)) < len(header):
        return [], problems  # the cells can't be told apart
    rows, hints = [], get_type_hints(row_class)  # looked up once: it takes longer than reading a row
    for line, cells in body:
        row, faults = _read_row(header, cells, row_class, hints)
        problems += (Problem(file, line, where, message) for where, message in faults)
        if row is not None:
            rows.append((line, row))
    return rows, problems


def _split_lines(text: str, file: str) -> tuple[list[tuple[int, list[str]]], list[Problem]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    lines, begins = [], 1
    try:
        for cells in reader:
            if cells:
                lines.append((begins, [cell.strip() for cell in cells]))
            begins = reader.line_num + 1  # a cell may span several lines
    except csv.Error as error:
        message = f"the row can't be split into cells ({error}); check its quotation marks"
        return lines, [Problem(file, begins, "", message)]
    return lines, []


def _check_header(header: list[str], known: list[str]) -> list[tuple[str, str]]:
    if len(header) == 1:
        for separator, name in _WRONG_SEPARATORS.items():
            if separator in header[0]:
                return [("", f"the columns are separated by {name}; save the file as comma-separated")]
    missing = [name for name in known if name not in header]
    faults = [(name, "the column is missing; add it to the first line, and its cell to each row") for name in missing]
    for name in dict.fromkeys(header):
        if name not in known:
            faults.append((name, f"{quoted(name)} is not a column of this table{did_you_mean(name, missing or known)}"))
        if header.count(name) > 1:
            faults.append((name, "the column stands twice; delete one"))
    return faults


def _read_row(
    header: list[str], cells: list[str], row_class: type, hints: dict[str, Any]
) -> tuple[Any, list[tuple[str, str]]]:
    if not any(cells):
        return None, [("", "the row is empty; delete it")]
    if len(cells) != len(header):
        fewer = "fewer" if len(cells) < len(header) else "more"
        hint = (
            "put cells that hold a comma in quotation marks" if fewer == "more" else "add a comma for each empty cell"
        )
        return None, [("", f"the row has {len(cells)} cells, {fewer} than the {len(header)} columns; {hint}")]
    columns = columns_of(row_class)
    values, faults = {}, []
    for name, cell in zip(header, cells, strict=True):
        if name not in columns:
            continue  # told with the header
        try:
            values[name] = read_cell(cell, hints[name], columns[name])
        except CellError as fault:
            faults.append((name, str(fault)))
    return (row_class(**values) if len(values) == len(columns) else None), faults
