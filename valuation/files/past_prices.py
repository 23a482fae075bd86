"""A price list from a spreadsheet: prices of materials and hours of operations, each row into a change of a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from valuation.errors import Problem, quoted
from valuation.files.old_lists import OldList, PastRow, Row, Wrong, read_cells, read_rows, read_sum
from valuation.files.past_hours import read_worked
from valuation.language import later, say

PRICES = OldList(
    targets={
        "what": later("Material or operation"),
        "price": later("Price of a material, before tax"),
        "unit": later("Unit of that price"),
        "hours": later("Hours of an operation"),
    },
    needed=("what",),
    names={
        "price": ("price", "cost", "preis", "netto", "ek", "betrag"),
        "unit": ("unit", "per", "einheit", "je"),
        "hours": ("hours", "stunden", "std", "zeit"),
        "what": ("what", "article", "item", "material", "operation", "name", "artikel", "bezeichnung", "arbeit"),
    },
)
"""A list of prices, one row for a material or an operation."""

_THREE = {"price": ("price_low", "price_likely", "price_high"), "hours": ("hours_low", "hours_likely", "hours_high")}
_LACKS = {
    "price": later("it is a material; write its price"),
    "hours": later("it is an operation; write its hours"),
}
_EMPTY = {
    "price": later("it is a material; leave this cell empty"),
    "hours": later("it is an operation; leave this cell empty"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What a price list may name: rows of one table that go by one name.

    Attributes
    ----------
    table : str
        ``materials`` or ``operations``.
    unit : tuple of str
        What the unit of a material goes by, without capitals.
    rows : tuple of mappings
        Cells of each row by column.
    """

    table: str
    unit: tuple[str, ...]
    rows: tuple[Mapping[str, str], ...]


def past_prices(
    rows: Sequence[Row],
    head: Sequence[str],
    columns: Mapping[str, int],
    file: str,
    *,
    listed: Mapping[str, Listed | None],
) -> tuple[list[PastRow], list[Problem]]:
    """Return the changes of a table that each row comes to, and every fault; arguments as for `read_rows`.

    Parameters
    ----------
    listed : mapping of str to Listed or None
        What materials and operations go by, without capitals; a row whose name has None is left out.

    Returns
    -------
    rows : list of PastRow
        ``table`` and ``changes``: for each row of the table its cells as they are, and those that change. Low and
        high move by as much as likely does.
    problems : list of Problem
    """

    def read(target: str, text: str) -> Any:
        if target == "what":
            if text.casefold() not in listed:
                raise ValueError(
                    say("{text} is no material or operation; say below the columns which one it is", text=quoted(text))
                )
            return listed[text.casefold()]
        if target == "price":
            price = read_sum(text)
            if price <= 0:
                raise ValueError(
                    say("{text}: a price is more than 0; leave the cell empty where there is none", text=quoted(text))
                )
            return price
        return read_worked(text) if target == "hours" else text.casefold()

    def facts(told: Mapping[str, str], wrong: Wrong) -> dict[str, Any]:
        values = read_cells(told, wrong, read)
        one = values.get("what")
        if wrong or one is None:
            return {}
        figure, other = ("price", "hours") if one.table == "materials" else ("hours", "price")
        if figure not in values:
            target = figure if figure in columns else "what"
            wrong.append((target, say(_LACKS[figure])))
        elif other in values:
            wrong.append((other, say(_EMPTY[figure])))
        elif figure == "price" and values.get("unit", one.unit[0]) not in one.unit:
            unit = one.unit[-1]  # as it is said
            wrong.append(("unit", say("our table has it by the unit '{unit}'; write the price of that", unit=unit)))
        elif figure == "hours" and not any(float(row["hours_likely"]) for row in one.rows):
            wrong.append(("hours", say("nobody at the bench works on it: it has no hours in our table")))
        if wrong:
            return {}
        moved = [(row, _moved(row, _THREE[figure], values[figure])) for row in one.rows]
        return {"table": one.table, "changes": [(row, cells) for row, cells in moved if cells]}

    return read_rows(rows, head, columns, file, PRICES, facts)


def _moved(row: Mapping[str, str], three: tuple[str, str, str], likely: float) -> dict[str, str]:
    """Return the cells of a row that change where its likely figure is another one."""
    old = float(row[three[1]])
    if not old:  # on this kind of piano it takes none
        return {}
    made = {column: f"{round(float(row[column]) * likely / old, 2):.10g}" for column in three}
    return {column: text for column, text in made.items() if float(text) != float(row[column])}
