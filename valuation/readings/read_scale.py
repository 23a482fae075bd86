"""A scale that was measured, from a CSV file: one row a key."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

import numpy as np

from valuation.errors import Problem, UserError, quoted
from valuation.facts.keys import key_number
from valuation.facts.units import UnitError, parse_quantity
from valuation.files.faults import did_you_mean
from valuation.files.plain_text import decode_text
from valuation.measure.scale import Scale
from valuation.measure.wire import parse_wire_size

NEEDED = ("key", "length_mm", "wire", "outside_mm", "strings")
FLAT = "flat_cents"
MOST_BYTES = 200_000
MOST_ROWS = 88


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScaleRead:
    """What the file holds.

    Attributes
    ----------
    scale : Scale
        Keys, lengths, wire and strings.
    flat_cents : numpy.ndarray of shape (n,), or None
        How far each key is below pitch now, where the file says [cents].
    """

    scale: Scale
    flat_cents: np.ndarray | None


def read_scale(data: bytes, name: str, gauges: str = "") -> ScaleRead:
    """Return the scale that the bytes of a CSV file hold.

    Parameters
    ----------
    data : bytes
        Columns ``key`` (number or name such as A4), ``length_mm``, ``wire`` (with its unit, or a gauge number),
        ``outside_mm`` (over the winding, empty where plain), ``strings``, and perhaps ``flat_cents``. Lengths may
        carry a unit of their own, such as ``7 1/8 in``.
    name : str
        Name of the file, for messages.
    gauges : str
        How a bare wire number is meant: ``american`` or ``european``; empty where the file has none.

    Returns
    -------
    ScaleRead
        In rising order of keys.

    Raises
    ------
    UserError
        With every fault, each at its line.
    """
    if len(data) > MOST_BYTES:
        raise UserError([Problem(name, 0, "", f"there are more than {MOST_BYTES:,} bytes; is it the right one?")])
    text, problems = decode_text(data, name)
    if problems:
        raise UserError(problems)
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True, skipinitialspace=True)
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise UserError([Problem(name, reader.line_num, "", f"this isn't a CSV file ({error})")]) from None
    problems = _wrong_columns(tuple(reader.fieldnames or ()), name)
    if not problems and not 0 < len(rows) <= MOST_ROWS:
        problems = [Problem(name, 0, "", f"there are {len(rows)} rows; write one for each key, up to {MOST_ROWS}")]
    if problems:
        raise UserError(problems)
    read = [_read_row(row, line, name, gauges, problems) for line, row in rows]
    if problems:
        raise UserError(problems)
    read.sort(key=lambda numbers: numbers["key"])
    columns = {column: np.array([numbers[column] for numbers in read]) for column in read[0]}
    flat = columns.pop(FLAT, None)
    try:
        scale = Scale(**columns)
    except ValueError as fault:
        raise UserError([Problem(name, 0, "", str(fault))]) from None
    return ScaleRead(scale=scale, flat_cents=None if flat is None else flat)


def _wrong_columns(found: tuple[str, ...] | list[str], name: str) -> list[Problem]:
    known = (*NEEDED, FLAT)
    faults = [f"the column {quoted(c)} is missing" for c in NEEDED if c not in found]
    faults += [f"the column {quoted(c)} is not known{did_you_mean(c, known)}" for c in found if c not in known]
    faults += [f"the column {quoted(c)} stands twice" for c in dict.fromkeys(found) if found.count(c) > 1]
    return [Problem(name, 1, "", fault) for fault in faults]


def _read_row(row: dict, line: int, name: str, gauges: str, problems: list[Problem]) -> dict[str, float]:
    """Return the numbers of one row; what can't be read is added to the problems."""
    readers = {
        "key": _read_key,
        "length_mm": lambda cell: parse_quantity(cell, "mm"),
        "wire": lambda cell: _read_wire(cell, gauges),
        "outside_mm": lambda cell: parse_quantity(cell, "mm") if cell else 0.0,
        "strings": lambda cell: parse_quantity(cell, "count"),
        FLAT: lambda cell: parse_quantity(cell, "cents"),
    }
    if None in row or None in row.values():
        problems.append(Problem(name, line, "", "the row has more or fewer cells than the first line has columns"))
        return {}
    numbers = {}
    for column, cell in row.items():
        try:
            numbers["core_mm" if column == "wire" else column] = readers[column](cell.strip())
        except (ValueError, UnitError) as fault:
            problems.append(Problem(name, line, column, str(fault)))
    return numbers


def _read_key(cell: str) -> int:
    return key_number(int(cell) if cell.isdecimal() else cell)


def _read_wire(cell: str, gauges: str) -> float:
    if not gauges and re.fullmatch(r"#?\s*\d+(\.\d+)?", cell):
        raise ValueError(
            f"{quoted(cell)} may be an American or a European gauge: say which gauges are meant, or write '0.975 mm'"
        )
    return parse_wire_size(cell, gauges)
