"""Bringing in what a shop had before: clients and old jobs, their hours, and a price list, from a spreadsheet.

A row brought in twice is there once: its id follows from what stands in it. So a file that was broken off is simply
brought in again. Prices go into the draft of the shop's tables, where they are looked at before they count.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from valuation.engine.rows import Tables
from valuation.files.old_lists import PastRow, cells_of_text
from valuation.files.past_prices import Listed
from valuation.jobs.recorded_job import done_value
from valuation.language import say
from valuation.record.job_card import DONE
from valuation.rules.table_rows import key_of, rows_of_text
from valuation.sales.sheets import sheet_text
from valuation.service.store import new_entry, start
from valuation.service.tables_draft import Drafted, enter, new_edit
from valuation.service.tables_prices import DATED, new_price, priced
from valuation.service.visits import Shop
from valuation.store import entries, job_lines, visits
from valuation.waiting import Heard, nobody

_PAST = UUID("0d9f6b52-2a43-4c83-8a0c-6a5cf4a31b90")
"""Drawn once; with it a row is the same visit whenever it is brought in."""

_AT_ONCE = 200
"""Rows stored in one go."""


def read_past(data: bytes, name: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Return the head and the rows of a CSV or XLSX file; `UserError` if it can't be read, with what to do."""
    return cells_of_text(sheet_text(data, name))


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtIn:
    """How many rows were new, how many were there already, and how many may not come back: they were forgotten here."""

    new: int
    there: int
    forgotten: int = 0


def bring_in(
    shop: Shop, rows: Sequence[PastRow], *, who: str, device: str, now: datetime, heard: Heard = nobody
) -> BroughtIn:  # fmt: skip
    """Enter pianos, each as a visit of its own.

    Parameters
    ----------
    rows : sequence of PastRow
        As `past_rows` reads them; those with faults are left out.
    who, device, now : str, str, datetime
        As for `Shop.put`.
    heard : callable
        Is told how far it is.
    """
    good, new, forgotten = [row.facts for row in rows if row.facts], 0, 0
    for some in _batches(good, heard):
        with shop.store.writing() as connection:
            for facts in some:
                visit = _named(facts)
                if entries.is_forgotten(connection, "visit", visit):
                    forgotten += 1
                else:
                    begun = {"title": facts["date"]} | facts
                    new += start(connection, visit, begun, who=who, device=device, at=now, demo=False)
    return BroughtIn(new=new, there=len(good) - new - forgotten, forgotten=forgotten)


def bring_in_hours(
    shop: Shop, rows: Sequence[PastRow], *, who: str, device: str, now: datetime, heard: Heard = nobody
) -> BroughtIn:  # fmt: skip
    """Enter hours into the ledgers of their jobs; as `bring_in`, for rows as `past_hours` reads them.

    The same hours twice in one file are two entries; the same file twice is one.
    """
    seen: Counter[str] = Counter()
    named = []
    for facts in (row.facts for row in rows if row.facts):
        seen[_named(facts)] += 1
        name = uuid5(_PAST, f"{_named(facts)}:{seen[_named(facts)]}").hex
        named.append((facts["visit"], f"{DONE}{facts['operation']}.{name}", facts))
    new = 0
    for some in _batches(sorted(named, key=lambda one: one[:2]), heard):
        with shop.store.writing() as connection:
            for visit, field, facts in some:
                if not visits.history(connection, visit, field):
                    value = done_value(facts["hours"], who=facts.get("who", ""), note=facts.get("note", ""))
                    value |= {"day": facts["day"]} if "day" in facts else {}
                    entry = new_entry(visit, field, value, who=who, device=device, now=now)
                    visits.put(connection, entry, None, None)
                    new += 1
    return BroughtIn(new=new, there=len(named) - new)


def _batches(rows: Sequence[Any], heard: Heard) -> Iterator[Sequence[Any]]:
    for first in range(0, len(rows), _AT_ONCE):
        heard(first / len(rows))
        yield rows[first : first + _AT_ONCE]


def bring_in_prices(shop: Shop, drafted: Drafted, rows: Sequence[PastRow], *, who: str, now: datetime) -> BroughtIn:
    """Enter prices into the draft of the tables; as `bring_in`, for rows as `past_prices` reads them.

    A price of a material holds from today on; those of before are kept.
    """
    good = [row.facts for row in rows if row.facts]
    today = now.astimezone().date()
    for facts in good:
        table = facts["table"]
        for row, cells in facts["changes"]:
            if table in DATED:
                key = tuple((column, row[column]) for column in DATED[table])
                new_price(shop.store, drafted, table, key, cells, from_day=today, who=who, now=now)
            else:
                before = {column: row[column] for column in cells}
                enter(shop.store, [new_edit(table, key_of(table, row), before, cells, who=who, now=now)])
    new = sum(bool(facts["changes"]) for facts in good)
    return BroughtIn(new=new, there=len(good) - new)


def pianos_by_name(shop: Shop) -> dict[str, tuple[str, ...]]:
    """Return the visits that names, clients and serial numbers go by, each without capitals; not the demo's."""
    found: dict[str, tuple[str, ...]] = {}
    with shop.store.reading() as connection:
        for visit, *names in job_lines.names(connection):
            for name in {text.casefold() for text in names if text}:
                found[name] = (*found.get(name, ()), visit)
    return found


def operations_by_name(book: Tables) -> dict[str, str]:
    """Return the ids of the operations by what they go by, in the language spoken too, without capitals."""
    return {name.casefold(): row.id for row in book.operations for name in (row.id, row.name, say(row.name))}


def listed(book: Tables, texts: Mapping[str, str], on: date) -> dict[str, Listed]:
    """Return materials and operations by what they go by, as `past_prices` wants them.

    Parameters
    ----------
    book : Tables
    texts : mapping of str to str
        Text of each table, as the draft has it.
    on : date
        Of a material the row that holds on that day counts.
    """
    found: dict[str, Listed] = {}
    operations: dict[str, list[Mapping[str, str]]] = {}
    for cells in rows_of_text("operations", texts["operations"]):
        operations.setdefault(cells["id"], []).append(cells)
    for rows in operations.values():
        one = Listed(table="operations", unit=("",), rows=tuple(rows))
        found |= {words.casefold(): one for row in rows for words in (row["id"], row["name"], say(row["name"]))}
    units = {row.id: (row.unit.casefold(), say(row.unit).casefold()) for row in book.materials}
    for material in priced("materials", texts, on):
        if (row := material.now) is not None:
            one = Listed(table="materials", unit=units.get(row["id"], (row["unit"].casefold(),)), rows=(row,))
            found |= {words.casefold(): one for words in (row["id"], row["name"], say(row["name"]))}
    return found


def _named(facts: Mapping[str, object]) -> str:
    return uuid5(_PAST, json.dumps(facts, sort_keys=True)).hex
