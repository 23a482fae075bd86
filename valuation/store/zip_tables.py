"""Which of the shop's tables were in force, and their draft, into the JSON of an export and back, with suspicion."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import Connection

from valuation.record.shop_tables import Row, TablesChange, TablesEdit, why_not_change, why_not_edit
from valuation.store import shop_tables
from valuation.store.entries import moment
from valuation.store.zip_papers import moment_of, text_of

_CHANGE = ("id", "hash", "instead_of", "who", "why", "state")


def shop_tables_to_plain(connection: Connection) -> dict[str, Any]:
    """Return all that was put in force, and all that was entered into the draft, as the export has it."""
    return {
        "changes": [
            {name: getattr(change, name) for name in _CHANGE}
            | {"from_day": change.from_day.isoformat(), "at": moment(change.at)}
            for change in shop_tables.changes(connection)
        ],
        "draft": [
            {
                "id": edit.id,
                "table": edit.table,
                "row": [list(pair) for pair in edit.row],
                "before": edit.before,
                "after": edit.after,
                "at": moment(edit.at),
                "who": edit.who,
                "done": done,
            }
            for edit, done in shop_tables.all_edits(connection)
        ],
    }


def changes_from_plain(content: Any) -> list[TablesChange]:
    """Return what was put in force, as an export holds it; `ValueError`, `KeyError` or `TypeError` where it is none."""
    found = []
    for row in content:
        words: dict[str, Any] = {name: text_of(row[name]) for name in _CHANGE}
        day = date.fromisoformat(text_of(row["from_day"]))
        change = TablesChange(**words, from_day=day, at=moment_of(row["at"]))
        if fault := why_not_change(change):
            raise ValueError(fault)
        found.append(change)
    return found


def edits_from_plain(content: Any) -> list[tuple[TablesEdit, str]]:
    """Return what was entered into the draft, and what became of it; faults as `changes_from_plain`."""
    found = []
    for row in content:
        edit = TablesEdit(
            id=text_of(row["id"]),
            table=text_of(row["table"]),
            row=_row(row["row"]),
            before=_cells(row["before"]),
            after=_cells(row["after"]),
            at=moment_of(row["at"]),
            who=text_of(row["who"]),
        )
        if fault := why_not_edit(edit):
            raise ValueError(fault)
        found.append((edit, text_of(row["done"])))
    return found


def _row(content: Any) -> Row:
    return tuple((text_of(column), text_of(cell)) for column, cell in content)


def _cells(content: Any) -> dict[str, str] | None:
    return None if content is None else {text_of(column): text_of(cell) for column, cell in content.items()}
