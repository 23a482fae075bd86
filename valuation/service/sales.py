"""What can be done with the shop's own sales, for the command line and the screens: beside `valuation.service`.

Kept apart, and imported only where sales are asked for: an appraisal from the band table alone needs no spreadsheet
reader. Raises `UserError` for what a person can mend, and `NotInForce` where the tables hold nothing for the day.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path

from valuation.engine.rows import Tables
from valuation.errors import UserError
from valuation.facts.columns import columns_of
from valuation.files.plain_cells import guarded
from valuation.files.plain_text import decode_text
from valuation.sales import (
    Duplicate,
    Market,
    PriceIndex,
    Sale,
    SalesModel,
    SalesRead,
    fit_sales,
    look_at_market,
    parse_price_index,
    parse_sales,
    read_price_index,
    read_sales,
    to_bytes,
    write_sales,
)
from valuation.sales.sheets import sheet_text

__all__ = [
    "DEMO",
    "Market",
    "SalesBook",
    "check_row",
    "fit_kind",
    "look_at_market",
    "make_book",
    "open_sales",
    "parse_index_bytes",
    "read_sales",
    "read_sales_bytes",
    "to_bytes",
    "write_sales",
]

DEMO = Path(__file__).resolve().parents[2] / "data_demo" / "sales" / "sales.csv"
"""The sales of the invented market."""

INDEX_NAME = "price_index.csv"
"""Name of the price index, where there is one beside the file of sales."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SalesBook:
    """The shop's sales as they are used.

    Attributes
    ----------
    name : str
        Name of the file they came from.
    sales : tuple of Sale
        Checked.
    index : PriceIndex
        How prices moved.
    hash : str
        Another one as soon as a sale or the index is another.
    """

    name: str
    sales: tuple[Sale, ...]
    index: PriceIndex
    hash: str


def open_sales(path: Path, tables: Tables, today: date, *, keep_good: bool = False) -> tuple[SalesBook, SalesRead]:
    """Open a file of sales, with the price index beside it if there is one.

    Parameters
    ----------
    path : Path
        A ``.csv`` or ``.xlsx`` file.
    tables : Tables
        The shop's tables.
    today : date
        No sale can be later.
    keep_good : bool
        Go on with the rows without fault where others have one: the person said so.

    Returns
    -------
    book : SalesBook
        The sales to be used.
    read : SalesRead
        What was found in the file: the faults that were passed over, and likely duplicates.

    Raises
    ------
    UserError
        With every fault of the index, and of the sales unless the good ones are to be kept.
    """
    read = read_sales(path, tables, today=today)
    if read.problems and not keep_good:
        raise UserError(read.problems)
    beside = path.with_name(INDEX_NAME)
    index = read_price_index(beside) if beside.exists() else PriceIndex()
    return make_book(path.name, read.sales, index), read


def make_book(name: str, sales: Sequence[Sale], index: PriceIndex) -> SalesBook:
    """Return checked sales as a book."""
    content = repr((sales, index))
    stamp = sha256(content.encode("utf-8", "surrogatepass")).hexdigest()
    return SalesBook(name=name, sales=tuple(sales), index=index, hash=stamp)


def read_sales_bytes(data: bytes, name: str, tables: Tables, today: date) -> SalesRead:
    """Return what an uploaded file of sales holds; raises `UserError` where it can't be used as a whole."""
    return parse_sales(sheet_text(data, name), name, tables, today=today)


def parse_index_bytes(data: bytes, name: str) -> PriceIndex:
    """Return an uploaded price index, or raise `UserError` with every fault in it."""
    text, problems = decode_text(data, name)
    if problems:
        raise UserError(problems)
    return parse_price_index(text, name)


def check_row(
    cells: Mapping[str, str], others: Sequence[Sale], tables: Tables, today: date
) -> tuple[Sale | None, tuple[str, ...], tuple[Duplicate, ...]]:
    """Read one sale from what was typed, by the reader that takes a file.

    Parameters
    ----------
    cells : mapping of column to text
        As they would stand in the file; columns left out are empty.
    others : sequence of Sale
        The sales beside which it will stand.
    tables : Tables
        The shop's tables.
    today : date
        No sale can be later.

    Returns
    -------
    sale : Sale or None
        None where there is a fault.
    faults : tuple of str
        Each as ``column: what is wrong``.
    duplicates : tuple of Duplicate
        Sales among the others that look like the same piano told twice.
    """
    columns = list(columns_of(Sale))
    row = io.StringIO(newline="")
    csv.writer(row, lineterminator="\n").writerow([guarded(cells.get(name, "")) for name in columns])
    text = to_bytes(others, ".csv").decode("utf-8")
    line = text.count("\n") + 1
    read = parse_sales(text + row.getvalue(), "sales.csv", tables, today=today)
    faults = tuple(f"{p.where}: {p.message}" if p.where else p.message for p in read.problems if p.line == line)
    sale = next((sale for sale in read.sales if read.lines[sale.id] == line), None)
    return sale, faults, tuple(d for d in read.duplicates if sale and sale.id in (d.first, d.second))


def fit_kind(book: SalesBook, tables: Tables, kind: str, on: date) -> SalesModel:
    """Fit the prices of one kind of piano on a day.

    Parameters
    ----------
    book : SalesBook
        The shop's sales.
    tables : Tables
        The shop's tables.
    kind : str
        ``upright`` or ``grand``.
    on : date
        Day to which prices are brought.

    Returns
    -------
    SalesModel
        Without a sale of the kind it is the band table.

    Raises
    ------
    NotInForce
        If a band row is not in force on that day.
    """
    return fit_sales(book.sales, tables, kind=kind, on=on, index=book.index)
