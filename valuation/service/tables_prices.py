"""A new price from a day, entered into the draft: the row of before ends the day before, another begins.

Beside `valuation.service`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import get_type_hints

from valuation.engine.rows.row_keys import DATED
from valuation.errors import Problem, StoreError
from valuation.facts.columns import columns_of
from valuation.files.faults import file_of
from valuation.record.shop_tables import Row
from valuation.rules.table_rows import Cells, key_of, rows_of_text
from valuation.service.tables_draft import Drafted, enter, new_edit
from valuation.store import Store

__all__ = ["DATED", "Priced", "figure_columns", "first_day", "new_price", "priced"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """Something that has prices from days on.

    Attributes
    ----------
    key : Row
        What tells it from others, the day apart.
    now : dict of column to text, or None
        The row that holds today.
    later : tuple of rows
        Those that hold from later days, the first first.
    """

    key: Row
    name: str
    now: Cells | None
    later: tuple[Cells, ...]


def priced(table: str, texts: Mapping[str, str], on: date) -> list[Priced]:
    """Return all that has a price in a dated table, in the order in which it stands there."""
    by_key: dict[Row, list[Cells]] = {}
    for cells in rows_of_text(table, texts[table]):
        by_key.setdefault(_whose(table, cells), []).append(cells)
    found = []
    for key, rows in by_key.items():
        rows.sort(key=lambda cells: cells.get("valid_from", ""))
        name = rows[-1].get("name") or ", ".join(words for _, words in key)
        later = tuple(cells for cells in rows if cells.get("valid_from", "") > on.isoformat())
        found.append(Priced(key=key, name=name, now=_holding(rows, on), later=later))
    return found


def new_price(
    store: Store, drafted: Drafted, table: str, key: Row, figures: Cells, *, from_day: date, who: str, now: datetime
) -> None:
    """Enter a price that holds from a day into the draft.

    Parameters
    ----------
    drafted : Drafted
        The draft as it was seen.
    table : str
        One of `DATED`.
    key : Row
        Of what the price is.
    figures : dict of column to text
        As they are to stand in the row.

    Raises
    ------
    StoreError
        If no row holds on that day.
    """
    rows = [cells for cells in rows_of_text(table, drafted.texts[table]) if _whose(table, cells) == key]
    there = _holding(rows, from_day)
    if there is None:
        told = f"nothing holds on {from_day}; choose a day from {min(r.get('valid_from', '') for r in rows)} on"
        raise StoreError([Problem(file_of(table), 0, "valid_from", told)])
    row = key_of(table, there)
    edits: list[tuple[Row, Cells | None, Cells | None]]
    if there["valid_from"] == from_day.isoformat():
        edits = [(row, {column: there.get(column, "") for column in figures}, dict(figures))]
    else:
        ends = (from_day - timedelta(days=1)).isoformat()
        fresh = there | figures | {"valid_from": from_day.isoformat()}
        edits = [
            (row, {"valid_to": there.get("valid_to", "")}, {"valid_to": ends}),
            (key_of(table, fresh), None, fresh),
        ]
    enter(store, [new_edit(table, *edit, who=who, now=now) for edit in edits])


def figure_columns(row_class: type) -> tuple[str, ...]:
    """Return the columns of a dated table that hold money; where none does, all its figures, such as rates of tax."""
    columns, hints = columns_of(row_class), get_type_hints(row_class)
    money = tuple(name for name, (_, column) in columns.items() if column.unit.startswith("money"))
    return money or tuple(name for name in columns if hints[name] is float)


def first_day(changed: Sequence[Row], on: date) -> date:
    """Return the first day on which all new dated rows hold: an effect that is looked at earlier shows nothing."""
    days = [date.fromisoformat(words) for row in changed for column, words in row if column == "valid_from" and words]
    return max([on, *days])


def _whose(table: str, cells: Cells) -> Row:
    return tuple((column, cells.get(column, "")) for column in DATED[table])


def _holding(rows: Sequence[Cells], on: date) -> Cells | None:
    day = on.isoformat()
    return next((c for c in rows if c.get("valid_from", "") <= day <= (c.get("valid_to") or "9999")), None)
