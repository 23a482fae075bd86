"""Sales out of the tool again: the same columns, and no cell that a spreadsheet would compute."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from valuation.disk import write_whole
from valuation.facts.columns import columns_of
from valuation.files.plain_cells import guarded, is_formula
from valuation.sales.sale import Sale


def write_sales(sales: Sequence[Sale], path: Path) -> None:
    """Write sales so that `read_sales` gives the same ones back.

    Parameters
    ----------
    sales : sequence of Sale
        Line ends within a text become line feeds in CSV, blanks when a workbook is read again.
    path : Path
        Ends in ``.csv`` or ``.xlsx``, which says the sort of file; an existing file is replaced.

    Raises
    ------
    ValueError
        If the path ends otherwise.
    UserError
        If the disk refuses.
    """
    write_whole(path, to_bytes(sales, path.suffix))


def to_bytes(sales: Sequence[Sale], suffix: str) -> bytes:
    """Return the content of a file of sales.

    Parameters
    ----------
    sales : sequence of Sale
        As for `write_sales`.
    suffix : str
        ``.csv`` or ``.xlsx``.

    Raises
    ------
    ValueError
        If the suffix is another one.
    """
    columns = list(columns_of(Sale))
    rows = [[getattr(sale, name) for name in columns] for sale in sales]
    match suffix.lower():
        case ".csv":
            return _to_csv(columns, rows).encode("utf-8")
        case ".xlsx":
            out = io.BytesIO()
            _to_workbook(columns, rows).save(out)
            return out.getvalue()
        case other:
            raise ValueError(f"sales are written as .csv or .xlsx, not as '{other}'")


def cells_of(sale: Sale) -> dict[str, str]:
    """Return a sale as it is typed: column to text, empty where nothing is known."""
    values = {name: getattr(sale, name) for name in columns_of(Sale)}
    return {name: value if isinstance(value, str) else _plain(value) for name, value in values.items()}


def _to_csv(columns: list[str], rows: list[list[Any]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([guarded(cell) if isinstance(cell, str) else _plain(cell) for cell in row])
    return out.getvalue()


def _plain(value: float | date | None) -> str:
    if value is None:
        return ""
    return str(int(value) if isinstance(value, float) and value.is_integer() else value)


def _to_workbook(columns: list[str], rows: list[list[Any]]) -> Workbook:
    book = Workbook()
    sheet = book.active
    sheet.title = "sales"
    sheet.append(columns)
    for line, row in enumerate(rows, start=2):
        for place, value in enumerate(row, start=1):
            cell = sheet.cell(line, place, value)
            if isinstance(value, str):
                cell.data_type = "s"  # the library would store a text that begins with = as a formula
                cell.quotePrefix = is_formula(value)
    return book
