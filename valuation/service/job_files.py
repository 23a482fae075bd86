"""All evaluations and what became of them as a file for the owner's own tools: CSV, XLSX, Parquet.

The columns are those of the view ``evaluations`` in the database; a workbook has a sheet for each further view too. No
cell is a formula.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Any

from valuation.disk import require_place, write_whole
from valuation.files.plain_cells import guarded
from valuation.service.visits import Shop
from valuation.service.workbook import LEDGER_SHEETS, typed, workbook
from valuation.store import job_lines, ledgers

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
    "tax": float,  # share of tax in these
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
    path : Path
        Ends in one of `ENDINGS`; an existing file is replaced.

    Raises
    ------
    UserError
        If it ends otherwise or can't be written.
    """
    database = [shop.store.database] if shop.store.database else []
    require_place(path, ENDINGS, "evaluations are", inputs=database)
    write_whole(path, file_of(shop, path.suffix.lower()))
    with shop.store.reading() as connection:
        return ledgers.count_of(connection)


def file_of(shop: Shop, ending: str, *, decimal: str = ".") -> bytes:
    """Return the content of the file with one of `ENDINGS`.

    Parameters
    ----------
    decimal : str
        What parts decimals in a CSV file. Where that is a comma, a semicolon parts cells, as spreadsheets there expect.
    """
    match ending:
        case ".csv":
            return _csv(_rows(shop), decimal).encode("utf-8")
        case ".xlsx":
            return workbook(_sheets(shop))
        case ".parquet":
            return _parquet(_rows(shop))
    raise ValueError(f"evaluations are written as {', '.join(ENDINGS)}, not as '{ending}'")


def _rows(shop: Shop) -> Iterator[tuple]:
    with shop.store.reading() as connection:
        for row in job_lines.evaluations(connection):
            yield tuple(typed(getattr(row, name), kind) for name, kind in COLUMNS.items())


def _sheets(shop: Shop) -> Iterator[tuple[str, dict[str, type], Iterator[tuple]]]:
    yield "evaluations", COLUMNS, _rows(shop)
    for sheet, columns in LEDGER_SHEETS.items():
        yield sheet, columns, _rows_of(shop, sheet, columns)


def _rows_of(shop: Shop, view: str, columns: dict[str, type]) -> Iterator[tuple]:
    with shop.store.reading() as connection:
        for row in ledgers.rows_of(connection, view):
            yield tuple(typed(getattr(row, name), kind) for name, kind in columns.items())


def _csv(rows: Iterable[tuple], decimal: str) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n", delimiter=";" if decimal == "," else ",")
    writer.writerow(COLUMNS)
    writer.writerows([_plain(cell, decimal) for cell in row] for row in rows)
    return out.getvalue()


def _plain(cell: Any, decimal: str) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float):
        return str(cell).replace(".", decimal)
    if isinstance(cell, str):
        return guarded(cell)
    return str(cell).lower() if isinstance(cell, bool) else str(cell)


def _parquet(rows: Iterator[tuple]) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    types = {str: pa.string(), float: pa.float64(), int: pa.int64(), bool: pa.bool_(), date: pa.date32()}
    schema = pa.schema([(name, types[kind]) for name, kind in COLUMNS.items()])
    out = io.BytesIO()
    with pq.ParquetWriter(out, schema) as writer:
        while part := [dict(zip(COLUMNS, row, strict=True)) for row in islice(rows, _AT_ONCE)]:
            writer.write_table(pa.Table.from_pylist(part, schema=schema))
    return out.getvalue()
