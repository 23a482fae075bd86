"""One workbook with a sheet for each thing: evaluations, lines, hours, materials, money, returns, teardown, papers.

The columns of a sheet are those of the view of that name in the database. Days and money are days and numbers; no cell
is a formula; the head stays in place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from valuation.files.plain_cells import is_formula

_THING: dict[str, type] = {"visit": str, "invented": bool, "title": str}

LEDGER_SHEETS: dict[str, dict[str, type]] = {
    "agreed_lines": _THING
    | {"operation": str, "part": str, "agreed_on": date, "hours": float, "labour": float}
    | {"materials": float, "outside": float, "amount": float},
    "if_found_lines": _THING
    | {"operation": str, "part": str, "chance": float, "price": float, "answer": str, "answered_on": date},
    "changes": _THING | {"what": str, "day": date, "price": float, "hours": float},
    "hours_worked": _THING | {"operation": str, "day": date, "person": str, "hours": float, "note": str},
    "materials_used": _THING
    | {"operation": str, "material": str, "quantity": float, "cost": float, "day": date, "person": str},
    "money_moved": _THING | {"what": str, "day": date, "amount": float, "note": str},
    "returned": _THING
    | {"day": date, "days_since_delivery": int, "cause": str, "part": str, "hours": float}
    | {"cost": float, "person": str, "note": str},
    "teardown": _THING | {"fault": str, "part": str, "severity": str},
    "papers": _THING
    | {"number": int, "what": str, "option": str, "language": str, "made_at": str, "made_by": str}
    | {"priced_on": date},
}
"""Sheet -> its columns, each with the type of what stands in it; the same as in the view of that name."""

_MONEY = {"amount", "price", "cost", "labour", "materials", "outside", "fee", "value_after", "premium"}
_MONEY_FORMAT, _HOURS_FORMAT, _DAY_FORMAT = "#,##0.00", "0.00", "yyyy-mm-dd"
_MOST_ROWS = 1_048_575
"""A sheet holds no more below its head."""

_LATIN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def typed(value: Any, kind: type) -> Any:
    """Return a cell as its column has it; SQLite has neither truth values nor days."""
    if value is None or (kind is not str and value == ""):
        return None
    if kind is date:
        try:
            return date.fromisoformat(value)
        except ValueError:
            return None  # what was entered as the day of a visit is none
    return kind(value)


def workbook(sheets: Iterable[tuple[str, dict[str, type], Iterator[tuple]]]) -> bytes:
    """Return a workbook.

    Parameters
    ----------
    sheets : iterable of (name, columns, rows)
        Rows come as they are read: none but the one being written is held. What doesn't fit into one sheet goes on in
        another of that name and a number.
    """
    # here, not above: only a workbook needs it
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    for name, columns, rows in sheets:
        _fill(book, name, columns, rows)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        book.save(path)
        return path.read_bytes()


def _fill(book: Any, name: str, columns: dict[str, type], rows: Iterator[tuple]) -> None:
    formats = [_format(column, kind) for column, kind in columns.items()]
    sheet, left, part = _begun(book, name, columns), _MOST_ROWS, 1
    for row in rows:
        if not left:
            part += 1
            sheet, left = _begun(book, f"{name}_{part}", columns), _MOST_ROWS
        sheet.append([_cell(sheet, value, form) for value, form in zip(row, formats, strict=True)])
        left -= 1


def _begun(book: Any, name: str, columns: dict[str, type]) -> Any:
    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    for place, column in enumerate(columns):
        sheet.column_dimensions[_letters(place)].width = max(12, len(column) + 2)
    sheet.append(list(columns))
    return sheet


def _letters(place: int) -> str:
    from openpyxl.utils import get_column_letter

    return get_column_letter(place + 1)


def _format(column: str, kind: type) -> str:
    if kind is date:
        return _DAY_FORMAT
    if kind is float:
        money = column in _MONEY or column.startswith("price_")
        return _MONEY_FORMAT if money else _HOURS_FORMAT if column.startswith("hours") else ""
    return ""


def _cell(sheet: Any, value: Any, form: str) -> Any:
    from openpyxl.cell import WriteOnlyCell

    if isinstance(value, str):
        value = _LATIN.sub(" ", value)  # letters that a workbook can't hold
        if not is_formula(value):
            return value
        kept = WriteOnlyCell(sheet, value)
        kept.data_type, kept.quotePrefix = "s", True  # the library would store it as a formula
        return kept
    if value is None or not form:
        return value
    kept = WriteOnlyCell(sheet, value)
    kept.number_format = form
    return kept
