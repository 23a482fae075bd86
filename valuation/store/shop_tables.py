"""Rows of `tables_change` and `tables_edit`, in and out, each within the transaction of the caller."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from datetime import date

from sqlalchemy import Connection, Row, select, text, update

from valuation.record import value_text
from valuation.record.shop_tables import TAKEN_BACK, TablesChange, TablesEdit
from valuation.store import entries
from valuation.store.schema import tables_change, tables_edit

DROPPED = "dropped"

_LOCK = 7_103_922_519
"""Any number: whoever writes to the shop's tables in a PostgreSQL database holds it."""


def lock(connection: Connection) -> None:
    """Keep others from changing the tables or their draft until the transaction ends; SQLite has one writer."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})


def changes(connection: Connection) -> list[TablesChange]:
    """Return all that was put in force, the first first."""
    return [_change(row) for row in connection.execute(select(tables_change).order_by(tables_change.c.seq))]


def add_change(connection: Connection, change: TablesChange) -> TablesChange:
    """Add a change and return it as stored; the one that is there where its id was used before."""
    row = {
        "id": change.id,
        "hash": change.hash,
        "instead_of": change.instead_of,
        "from_day": change.from_day.isoformat(),
        "at": entries.moment(change.at),
        "who": change.who,
        "why": change.why,
        "state": change.state,
    }
    entries.insert_new(connection, tables_change, [row], "id")
    return _change(connection.execute(select(tables_change).where(tables_change.c.id == change.id)).one())


def take_back(connection: Connection, change: str) -> None:
    """Let tables never be in force that were to be from a later day."""
    connection.execute(update(tables_change).where(tables_change.c.id == change).values(state=TAKEN_BACK))


def edits(connection: Connection) -> list[TablesEdit]:
    """Return what stands in the draft, the first first."""
    wanted = select(tables_edit).where(tables_edit.c.done == "").order_by(tables_edit.c.seq)
    return [_edit(row) for row in connection.execute(wanted)]


def all_edits(connection: Connection) -> list[tuple[TablesEdit, str]]:
    """Return all that was ever entered into the draft, and what became of each: see the schema."""
    rows = connection.execute(select(tables_edit).order_by(tables_edit.c.seq))
    return [(_edit(row), row.done) for row in rows]


def add_edits(connection: Connection, new: Sequence[TablesEdit]) -> int:
    """Add those edits that aren't there; return how many."""
    return entries.insert_new(connection, tables_edit, [_edit_row(edit) for edit in new], "id")


def close_edits(connection: Connection, ids: Collection[str], done: str) -> None:
    """Take edits out of the draft: into a change, or dropped."""
    for name in ids:
        connection.execute(
            update(tables_edit).where(tables_edit.c.id == name, tables_edit.c.done == "").values(done=done)
        )


def _edit_row(edit: TablesEdit) -> dict[str, str]:
    return {
        "id": edit.id,
        "name": edit.table,
        "row": value_text(edit.row),
        "before": value_text(edit.before),
        "after": value_text(edit.after),
        "at": entries.moment(edit.at),
        "who": edit.who,
        "done": "",
    }


def _change(row: Row) -> TablesChange:
    told = row._asdict()
    return TablesChange(**told | {"from_day": date.fromisoformat(row.from_day), "at": entries.read_moment(row.at)})


def _edit(row: Row) -> TablesEdit:
    return TablesEdit(
        id=row.id,
        table=row.name,
        row=tuple((column, cell) for column, cell in json.loads(row.row)),
        before=json.loads(row.before),
        after=json.loads(row.after),
        at=entries.read_moment(row.at),
        who=row.who,
        seq=row.seq,
    )
