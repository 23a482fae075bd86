"""All evaluations and what became of them as a file for the owner's own tools: CSV, XLSX, Parquet.

The columns are those of the view ``evaluations`` in the database. No cell is a formula.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from valuation.disk import require_place, write_whole
from valuation.files.plain_cells import guarded, is_formula
from valuation.service.visits import Shop
from valuation.store import job_lines

__all__ = ["COLUMNS", "ENDINGS", "file_of", "write_file"]

COLUMNS: dict[str, type] = {
    "visit": str,  # id in the store
    "invented": bool,  # of the demo
    "title": str,
    "client": str,
    "place": str,
    "kind": str,  # upright, grand
    "maker": str,
    "serial": str,
    "year": int,  # built
    "visited_on": date,
    "technician": str,  # who made the evaluation
    "source": str,  # where the client came from
    "referred": bool,  # sent by someone they trust
    "evaluated_on": date,  # day on which the client had it
    "verdict": str,  # rebuild, partial_repair, keep, retire
    "price_low": float,  # of the work that the verdict talks about, tax included, in money; 8 in 10 lie between
    "price_likely": float,
    "price_high": float,
    "value_after": float,  # what the piano would then be worth, in money
    "premium": float,  # what having and hearing this very piano is worth to the client, in money
    "hours_low": float,  # of that work, in h
    "hours_likely": float,
    "hours_high": float,
    "stage": str,  # id of today's stage
    "stage_since": date,
    "reason": str,  # id of the reason given for it, or in words
    "next_step": str,  # set by hand
    "next_day": date,
    "agreed_on": date,  # day on which the work was agreed on
    "agreed_option": str,
    "agreed_scope": str,
    "price_quoted": float,  # of the fixed lines, with tax, in money
    "price_agreed": float,  # what was really agreed on for them
    "promised_on": date,
    "hours_priced": float,  # expected hours of the fixed lines, in h
    "hours_estimated": float,  # of the work agreed on, likely, in h; expected ones are more
    "hours_done": float,  # entered so far, in h
    "minutes": float,  # at the piano, in min
    "fee": float,  # charged for the visit, with tax, in money
    "parts_opened": int,  # parts of which teardown showed the truth
    "changed_at": str,  # last entry, UTC
}
"""Column -> type of what stands in it; the same as in the view."""

ENDINGS = (".csv", ".xlsx", ".parquet")

_AT_ONCE = 2000


def write_file(shop: Shop, path: Path) -> int:
    """Write the file, which is there whole or not at all, and return how many evaluations are in it.

    Parameters
    ----------
    shop : Shop
    path : Path
        Ends in one of `ENDINGS`; an existing file is replaced.

    Raises
    ------
    UserError
        If it ends otherwise or can't be written.
    """
    database = [shop.store.database] if shop.store.database else []
    require_place(path, ENDINGS, "evaluations are", inputs=database)
    rows = list(_rows(shop))
    write_whole(path, _content(rows, path.suffix.lower()))
    return len(rows)


def file_of(shop: Shop, ending: str) -> bytes:
    """Return the content of the file with one of `ENDINGS`."""
    return _content(list(_rows(shop)), ending)


def _content(rows: Sequence[tuple], ending: str) -> bytes:
    match ending:
        case ".csv":
            return _csv(rows).encode("utf-8")
        case ".xlsx":
            return _xlsx(rows)
        case ".parquet":
            return _parquet(rows)
    raise ValueError(f"evaluations are written as {', '.join(ENDINGS)}, not as '{ending}'")


def _rows(shop: Shop) -> Iterator[tuple]:
    with shop.store.reading() as connection:
        for row in job_lines.evaluations(connection):
            yield tuple(_typed(getattr(row, name), kind) for name, kind in COLUMNS.items())


def _typed(value: Any, kind: type) -> Any:
    """Return a cell as its column has it; SQLite has neither truth values nor days."""
    if value is None or (kind is not str and value == ""):
        return None
    if kind is date:
        try:
            return date.fromisoformat(value)
        except ValueError:
            return None  # what was entered as the day of a visit is none
    return kind(value)


def _csv(rows: Sequence[tuple]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_plain(cell) for cell in row] for row in rows)
    return out.getvalue()


def _plain(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return guarded(cell)
    return str(cell).lower() if isinstance(cell, bool) else str(cell)


def _xlsx(rows: Sequence[tuple]) -> bytes:
    # here, not above: only this file needs it
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    book = Workbook(write_only=True)
    sheet = book.create_sheet("evaluations")
    sheet.freeze_panes = "A2"
    sheet.append(list(COLUMNS))

    def cell(value: Any) -> Any:
        if not isinstance(value, str):
            return value
        value = _allowed(value)
        if not is_formula(value):
            return value
        kept = WriteOnlyCell(sheet, value)
        kept.data_type, kept.quotePrefix = "s", True  # the library would store it as a formula
        return kept

    for row in rows:
        sheet.append([cell(value) for value in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _allowed(text: str) -> str:
    """Return a text without the letters that a workbook can't hold."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    return ILLEGAL_CHARACTERS_RE.sub(" ", text)


def _parquet(rows: Sequence[tuple]) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    types = {str: pa.string(), float: pa.float64(), int: pa.int64(), bool: pa.bool_(), date: pa.date32()}
    schema = pa.schema([(name, types[kind]) for name, kind in COLUMNS.items()])
    out = io.BytesIO()
    with pq.ParquetWriter(out, schema) as writer:
        for start in range(0, max(len(rows), 1), _AT_ONCE):
            part = [dict(zip(COLUMNS, row, strict=True)) for row in rows[start : start + _AT_ONCE]]
            writer.write_table(pa.Table.from_pylist(part, schema=schema))
    return out.getvalue()
