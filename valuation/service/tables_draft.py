"""The draft of the shop's next tables: entered by several people, looked at, put in force or let go.

Beside `valuation.service`. What is entered is on the disk when a call returns; nothing of it counts before it is put
in force.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from uuid import uuid4

from valuation.engine.rows import Tables
from valuation.errors import Problem, StoreError, TableError, quoted
from valuation.files.faults import did_you_mean, file_of
from valuation.files.plain_text import decode_text
from valuation.record import one_line
from valuation.record.shop_tables import Row, TablesChange, TablesEdit, why_not_edit
from valuation.rules.draft import TABLES, Clash, Draft, RowChange, changes_between, clash_problem, fold
from valuation.rules.kept_tables import FILES
from valuation.rules.load import MOST_BYTES, tables_of
from valuation.rules.table_rows import SETTINGS, Cells, key_of, line_keys, rows_of_text
from valuation.service.shop_tables import InForce, put_in_force
from valuation.store import Store, shop_tables

__all__ = [
    "Clash",
    "Draft",
    "Drafted",
    "RowChange",
    "choose",
    "draft_of",
    "drop",
    "enter",
    "enter_files",
    "enter_row",
    "faults_by_row",
    "new_edit",
    "put_draft_in_force",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class Drafted:
    """The draft with what comes of it.

    Attributes
    ----------
    seen : InForce
        What it changes.
    tables : Tables or None
        What it makes; None as long as it can't be used.
    texts : dict of table to text
        The same as it would stand; those in force where it can't be written.
    problems : tuple of Problem
        Why it can't be used.
    """

    seen: InForce
    draft: Draft
    tables: Tables | None
    texts: Mapping[str, str]
    problems: tuple[Problem, ...]


def draft_of(store: Store, seen: InForce) -> Drafted:
    """Return the draft as it stands."""
    with store.reading() as connection:
        draft = fold(seen.texts, shop_tables.edits(connection))
    if not draft.edits:
        return Drafted(seen=seen, draft=draft, tables=seen.tables, texts=seen.texts, problems=())
    try:
        texts = draft.texts()
    except TableError as error:
        return Drafted(seen=seen, draft=draft, tables=None, texts=seen.texts, problems=error.problems)
    tables, problems = _read(tuple(texts.items()))
    told = tuple(map(clash_problem, draft.clashes))
    return Drafted(seen=seen, draft=draft, tables=None if told else tables, texts=texts, problems=(*told, *problems))


def enter(store: Store, edits: Iterable[TablesEdit]) -> int:
    """Put edits into the draft; return how many are new.

    Raises
    ------
    StoreError
        If one of them can't be stored; then none is.
    """
    edits = list(edits)
    problems = [Problem(file_of(e.table), 0, "", fault) for e in edits if (fault := why_not_edit(e) or _moves_key(e))]
    if problems:
        raise StoreError(problems)
    with store.writing() as connection:
        shop_tables.lock(connection)
        return shop_tables.add_edits(connection, edits)


def enter_row(
    store: Store,
    table: str,
    row: Row,
    before: Cells | None,
    after: Cells | None,
    *,
    who: str,
    now: datetime,
    edit_id: str = "",
) -> None:
    """Put one row into the draft: `before` is what whoever enters has seen of it, `after` what is to stand there."""
    enter(store, [new_edit(table, row, before, after, who=who, now=now, edit_id=edit_id)])


def enter_files(
    store: Store, drafted: Drafted, files: Mapping[str, bytes], *, who: str, now: datetime
) -> list[tuple[str, Row]]:
    """Put into the draft all rows in which files differ from it, and return them; with a fault, nothing.

    Parameters
    ----------
    drafted : Drafted
        The draft that is changed.
    files : mapping of str to bytes
        Some of the files of a folder of tables, by name.

    Raises
    ------
    TableError
        If a file is no table, or can't be used beside the others: with every fault.
    """
    texts, problems = {}, []
    for name, data in files.items():
        if name not in FILES:
            problems.append(Problem(one_line(name)[:80], 0, "", f"it is no table{did_you_mean(name, FILES)}"))
        elif len(data) > MOST_BYTES:
            problems.append(Problem(name, 0, "", f"it has more than {MOST_BYTES:,} bytes; is it the right one?"))
        else:
            text, faults = decode_text(data, name)
            texts[FILES[name]] = text
            problems += faults
    if problems:
        raise TableError(problems)
    found = [
        new_edit(table, row, was, new, who=who, now=now)
        for table, text in texts.items()
        for row, was, new in changes_between(table, drafted.texts[table], text)
    ]
    problems = [Problem(file_of(e.table), 0, "", fault) for e in found if (fault := why_not_edit(e))]
    if problems:
        raise TableError(problems)
    tables_of(dict(drafted.texts) | texts)  # refuses what the reader refuses, before anything is stored
    enter(store, found)
    return [(edit.table, edit.row) for edit in found]


def drop(store: Store, edits: Iterable[str]) -> None:
    """Let edits go: the rows are as they were before them. They are kept as let go."""
    with store.writing() as connection:
        shop_tables.lock(connection)
        shop_tables.close_edits(connection, list(edits), shop_tables.DROPPED)


def choose(store: Store, drafted: Drafted, clash: Clash, *, wanted: bool, who: str, now: datetime) -> None:
    """Settle a clash: what the edit wants, or what stands there. The other is kept as let go."""
    edit = clash.edit
    new = []
    if wanted:
        there = drafted.draft.rows.get(edit.table, {}).get(edit.row)
        if clash.column and there is not None:
            columns = {c.column for c in drafted.draft.clashes if c.edit.id == edit.id}
            before = {column: there.get(column, "") for column in columns}
            after = {column: (edit.after or {})[column] for column in columns}
            new = [new_edit(edit.table, edit.row, before, after, who=who, now=now)]
        else:
            was = None if there is None else dict(there)
            will = None if edit.after is None else dict(there or _in_force(drafted, edit)) | edit.after
            new = [new_edit(edit.table, edit.row, was, will, who=who, now=now)]
    with store.writing() as connection:
        shop_tables.lock(connection)
        shop_tables.close_edits(connection, [edit.id], shop_tables.DROPPED)
        shop_tables.add_edits(connection, new)


def faults_by_row(drafted: Drafted, table: str) -> dict[Row, str]:
    """Return what is wrong with rows of a table of the draft, at the cell, by row."""
    keys = line_keys(table, drafted.texts[table])
    found: dict[Row, str] = {}
    for problem in drafted.problems:
        if problem.file == file_of(table) and problem.line in keys:
            row = keys[problem.line]
            told = f"{problem.where}: {problem.message}" if problem.where else problem.message
            found[row] = f"{found[row]}; {told}" if row in found else told
    return found


def put_draft_in_force(
    store: Store, drafted: Drafted, *, from_day: date, today: date, who: str, why: str, now: datetime, request: str
) -> TablesChange:
    """Put the draft in force; see `valuation.service.shop_tables.put_in_force`."""
    if not drafted.draft.edits:
        raise StoreError([Problem("tables", 0, "", "the draft is empty; nothing would change")])
    if drafted.problems:
        raise TableError(drafted.problems)
    return put_in_force(
        store, drafted.texts, seen=drafted.seen, from_day=from_day, today=today, who=who, why=why, now=now,
        request=request, edits=[edit.id for edit in drafted.draft.edits],
    )  # fmt: skip


def _in_force(drafted: Drafted, edit: TablesEdit) -> Cells:
    rows = rows_of_text(edit.table, drafted.seen.texts[edit.table])
    return next((cells for cells in rows if key_of(edit.table, cells) == edit.row), dict(edit.row))


def new_edit(
    table: str, row: Row, before: Cells | None, after: Cells | None, *, who: str, now: datetime, edit_id: str = ""
) -> TablesEdit:
    """Return an edit under a fresh id where none is given."""
    return TablesEdit(
        id=edit_id or uuid4().hex, table=table, row=row, before=before, after=after, at=now, who=one_line(who)
    )


def _moves_key(edit: TablesEdit) -> str:
    """Return why an edit can't be, where it would give a row another name."""
    if edit.table not in TABLES:
        return f"{quoted(edit.table)} is no table{did_you_mean(edit.table, TABLES)}"
    if edit.table == SETTINGS and (edit.before is None or edit.after is None):
        return "a setting is always there; change its value"
    names = dict(edit.row)
    moved = [c for c, words in (edit.after or {}).items() if c in names and words != names[c]]
    if moved and edit.before is not None:
        return f"{quoted(moved[0])} tells the row from the others; take the row out and add another"
    return f"{quoted(moved[0])} is not what the row is told by" if moved else ""


@lru_cache(maxsize=8)
def _read(texts: tuple[tuple[str, str], ...]) -> tuple[Tables | None, tuple[Problem, ...]]:
    try:
        return tables_of(dict(texts)), ()
    except TableError as error:
        return None, error.problems
