"""A file of comparable sales into checked rows, with every fault and every likely duplicate told at once."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from valuation.engine.rows import Tables
from valuation.errors import Problem, UserError, quoted
from valuation.facts.columns import columns_of
from valuation.files.plain_cells import unguarded
from valuation.files.read_csv import read_table
from valuation.sales.check_sales import Rules, check_sale, pairs_alike
from valuation.sales.sale import Sale
from valuation.sales.settings import SalesSettings, load_sales_settings
from valuation.sales.sheets import read_sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Duplicate:
    """Two sales that look like one piano told twice; both are kept until a person decides."""

    first: str
    second: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SalesRead:
    """What was read of a file of sales.

    Attributes
    ----------
    sales : tuple of Sale
        The rows without fault, in the order of the file.
    problems : tuple of Problem
        Every fault of the other rows.
    duplicates : tuple of Duplicate
        Likely duplicates among `sales`.
    lines : mapping of id to int
        Line on which each sale begins.
    """

    sales: tuple[Sale, ...]
    problems: tuple[Problem, ...]
    duplicates: tuple[Duplicate, ...]
    lines: dict[str, int] = field(default_factory=dict)


def read_sales(path: Path, tables: Tables, *, today: date, settings: SalesSettings | None = None) -> SalesRead:
    """Read comparable sales.

    Parameters
    ----------
    path : Path
        A ``.csv`` or ``.xlsx`` file with one row for each sale and the columns of `Sale`, in any order.
    tables : Tables
        The shop's tables, for its currency, tiers and sizes.
    today : date
        No sale can be later.
    settings : SalesSettings, optional
        What counts as a duplicate; the packaged settings if left out.

    Returns
    -------
    SalesRead
        The good rows and what is wrong with the others, so that a person can choose to go on with the good ones.

    Raises
    ------
    UserError
        If the file as a whole can't be used: unreadable, of another sort, or with a wrong line of column names.
    """
    return parse_sales(read_sheet(path), path.name, tables, today=today, settings=settings)


def parse_sales(
    text: str, name: str, tables: Tables, *, today: date, settings: SalesSettings | None = None
) -> SalesRead:
    """Return the sales that a text of comma-separated lines holds; as `read_sales`.

    Parameters
    ----------
    text : str
        As `valuation.sales.sheets.sheet_text` gives it.
    name : str
        Name of the file, under which faults are told.
    tables : Tables
        The shop's tables.
    today : date
        No sale can be later.
    settings : SalesSettings, optional
        The packaged settings if left out.

    Returns
    -------
    SalesRead
        The good rows and what is wrong with the others.

    Raises
    ------
    UserError
        If the line of column names is wrong.
    """
    rows, problems = read_table(text, name, Sale)
    header_line = 1 + len(text) - len(text.lstrip("\r\n"))
    if whole := [problem for problem in problems if problem.line <= header_line]:
        raise UserError(whole)
    problems = [_say_formula(problem) for problem in problems]
    settings = load_sales_settings() if settings is None else settings
    rules, good = Rules(tables, today), []
    lines: dict[str, int] = {}
    for line, row in rows:
        sale = _unguarded(row) if name.lower().endswith(".csv") else row
        faults = list(check_sale(sale, rules))
        if sale.id in lines:
            faults.append(("id", f"{quoted(sale.id)} stands on line {lines[sale.id]} already; give each sale its own"))
        problems += (Problem(name, line, where, message) for where, message in faults)
        if not faults:
            good.append(sale)
        lines.setdefault(sale.id, line)
    return SalesRead(
        sales=tuple(good),
        problems=tuple(sorted(problems)),
        duplicates=find_duplicates(good, lines, settings),
        lines={sale.id: lines[sale.id] for sale in good},
    )


def find_duplicates(sales: list[Sale], lines: dict[str, int], settings: SalesSettings) -> tuple[Duplicate, ...]:
    """Return the pairs of sales that look like one piano told twice, earlier sale first."""
    pairs = pairs_alike(sales, settings)
    return tuple(Duplicate(first=first, second=second, line=lines[second]) for first, second in pairs)


def _unguarded(sale: Sale) -> Sale:
    """Return the sale with its texts as they were before they were written to CSV."""
    texts: dict[str, Any] = {
        name: unguarded(value) for name in columns_of(Sale) if isinstance(value := getattr(sale, name), str)
    }
    return replace(sale, **texts)


def _say_formula(problem: Problem) -> Problem:
    """Say of a formula in a column that can't hold one that it is one."""
    if not problem.message.startswith("'="):
        return problem
    message = "this is a formula, and formulas are not computed; write the figure or the word itself"
    return Problem(problem.file, problem.line, problem.where, message)
