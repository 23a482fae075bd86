"""The shop's tables in its store: which are in force on a day, what was before, and other ones put in force.

Beside `valuation.service`. There is always a last good version: tables that can't be read are set aside with the
reason, and those before them are in force. Never reads the clock: days and times come in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from uuid import uuid4

from sqlalchemy import Connection

from valuation import service
from valuation.engine.rows import Tables
from valuation.errors import Problem, StoreError, TableError, UserError
from valuation.files.faults import file_of
from valuation.files.plain_text import read_text
from valuation.language import later
from valuation.record import one_line, value_text
from valuation.record.shop_tables import (
    BROUGHT,
    COUNTS,
    MOST_WHY,
    TablesChange,
    in_force_on,
    waiting_on,
    why_not_change,
)
from valuation.rules import load
from valuation.rules.kept_tables import FILES, brought_up, files_of, tables_of
from valuation.rules.load import MOST_BYTES, PACKAGED, load_tables
from valuation.store import Store, papers, shop_tables

__all__ = [
    "BROUGHT",
    "COUNTS",
    "PACKAGED_WHY",
    "InForce",
    "SetAside",
    "TablesChange",
    "before",
    "go_back",
    "history",
    "in_force",
    "put_in_force",
    "read_folder",
    "tables_of_change",
    "take_back",
    "take_over",
    "write_folder",
]

PACKAGED_WHY = later("The tables that the tool ships with.")
FOLDER_WHY = later("Taken over from the shop's folder of tables.")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """Tables that were put in force and can't be read, with the reason."""

    change: TablesChange
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class InForce:
    """The tables in force on a day.

    Attributes
    ----------
    texts : dict of table to text
        The same as they stand.
    change : TablesChange or None
        Which put them in force; None for the packaged ones of a shop that never had others.
    set_aside : tuple of SetAside
        Later ones that can't be read.
    waiting : TablesChange or None
        What is to be in force from a later day.
    added : tuple of str
        What today's version of the program added to them from the packaged ones.
    mark : str
        Another one as soon as anything is put in force, or taken back.
    """

    tables: Tables
    texts: Mapping[str, str]
    change: TablesChange | None = None
    set_aside: tuple[SetAside, ...] = ()
    waiting: TablesChange | None = None
    added: tuple[str, ...] = ()
    mark: str = ""


@dataclass(frozen=True, slots=True)
class _Read:
    """Kept tables as they were read: without tables there is a fault."""

    tables: Tables | None = None
    texts: Mapping[str, str] = field(default_factory=dict)
    added: tuple[str, ...] = ()
    fault: str = ""


def in_force(store: Store, on: date) -> InForce:
    """Return the tables in force on a day; the same object of `Tables` as long as nothing changes."""
    with store.reading() as connection:
        changes = shop_tables.changes(connection)
    aside: list[SetAside] = []
    mark, waiting = _mark(changes), waiting_on(changes, on)
    for change in in_force_on(changes, on):
        read = _read(store, change.hash)
        if read.tables is not None:
            return InForce(
                tables=read.tables, texts=read.texts, change=change, set_aside=tuple(aside), waiting=waiting,
                added=read.added, mark=mark,
            )  # fmt: skip
        aside.append(SetAside(change=change, why=read.fault))
    tables, texts = _packaged()
    return InForce(tables=tables, texts=texts, set_aside=tuple(aside), waiting=waiting, mark=mark)


def history(store: Store) -> list[TablesChange]:
    """Return all that was put in force or brought in, the first first."""
    with store.reading() as connection:
        return shop_tables.changes(connection)


def before(store: Store, on: date) -> list[Tables]:
    """Return all tables that were in force before those of a day and can be read, the first first."""
    held = in_force_on(history(store), on)[1:]
    read = [_read(store, change.hash).tables for change in reversed(held)]
    return [tables for tables in read if tables is not None]


def tables_of_change(store: Store, change: TablesChange) -> tuple[Tables, dict[str, str]]:
    """Return the tables of a change, and their texts; raises `TableError` where today's program can't read them."""
    read = _read(store, change.hash)
    if read.tables is None:
        raise TableError([Problem("tables", 0, "", read.fault)])
    return read.tables, dict(read.texts)


def put_in_force(
    store: Store,
    texts: Mapping[str, str],
    *,
    seen: InForce,
    from_day: date,
    today: date,
    who: str,
    why: str,
    now: datetime,
    request: str = "",
    edits: Sequence[str] | None = None,
) -> TablesChange:
    """Put tables in force from a day, whole or not at all; those before them are kept.

    Parameters
    ----------
    texts : mapping of table to text
        All of them; they are read and checked first.
    seen : InForce
        What whoever decided has seen in force.
    from_day, today : date
        From today on at the earliest.
    who, why : str
        Kept with them.
    now : datetime
        With its zone.
    request : str, optional
        32 hexadecimal digits: asked for twice under one id it is done once.
    edits : sequence of str, optional
        Ids of all that stands in the draft of which they were made: it is empty afterwards.

    Raises
    ------
    TableError
        If they don't make sound tables.
    StoreError
        If the day is past, nothing would change, or something else was put in force or entered meanwhile.
    """
    tables = load.tables_of(texts)
    if from_day < today:
        told = f"{from_day} is past; choose today or a later day, for what was worked out then rests on other tables"
        raise StoreError([Problem("tables", 0, "", told)])
    files = {file_of(table): text for table, text in texts.items()}
    change = TablesChange(
        id=request or uuid4().hex, hash=tables.hash, instead_of=seen.tables.hash, from_day=from_day, at=now,
        who=one_line(who), why=_reason(why),
    )  # fmt: skip
    if fault := why_not_change(change):
        raise StoreError([Problem("tables", 0, "", fault)])
    with store.writing() as connection:
        shop_tables.lock(connection)
        changes = shop_tables.changes(connection)
        if there := next((old for old in changes if old.id == change.id), None):
            return there
        _check_unmoved(connection, changes, seen, today, edits)
        if tables.hash == seen.tables.hash:
            raise StoreError([Problem("tables", 0, "", "they are in force already; nothing would change")])
        if not changes:
            _keep_packaged(connection, now)
        papers.keep_tables(connection, tables.hash, files, now)
        stored = shop_tables.add_change(connection, change)
        shop_tables.close_edits(connection, edits or (), change.id)
    return stored


def go_back(
    store: Store,
    change: TablesChange,
    *,
    seen: InForce,
    today: date,
    who: str,
    why: str,
    now: datetime,
    request: str = "",
) -> TablesChange:
    """Put tables that were in force before, or were brought in, in force again from today."""
    _, texts = tables_of_change(store, change)
    return put_in_force(
        store, texts, seen=seen, from_day=today, today=today, who=who, why=why, now=now, request=request
    )


def take_back(store: Store, change: TablesChange, *, today: date) -> None:
    """Let tables never be in force that were to be from a later day.

    Raises
    ------
    StoreError
        If their day has come.
    """
    with store.writing() as connection:
        shop_tables.lock(connection)
        there = next((old for old in shop_tables.changes(connection) if old.id == change.id), None)
        if there is None or there.from_day <= today:
            raise StoreError([Problem("tables", 0, "", "they are in force by now; put those before in force again")])
        shop_tables.take_back(connection, change.id)


def read_folder(folder: Path) -> dict[str, str]:
    """Return the texts of a folder of tables, checked.

    Raises
    ------
    TableError
        With every fault in it.
    """
    load_tables(folder)
    return {table: read_text(folder / name, most_bytes=MOST_BYTES)[0] for name, table in FILES.items()}


def write_folder(texts: Mapping[str, str]) -> dict[str, bytes]:
    """Return the files of a folder of tables."""
    return {name: texts[table].encode("utf-8") for name, table in FILES.items()}


def take_over(store: Store, folder: Path, *, now: datetime) -> bool:
    """Take a folder of tables with its versions, as earlier versions of this program kept them, into an empty history.

    What can't be read comes in too and is set aside, so that the last good ones are in force.

    Returns
    -------
    bool
        Whether anything was taken over.
    """
    found = [*_versions(folder), (date.max, _texts_in(folder))]
    with store.writing() as connection:
        shop_tables.lock(connection)
        if shop_tables.changes(connection):
            return False
        before = _keep_packaged(connection, now)
        begins = date.min
        for until, files in found:
            change = TablesChange(
                id=uuid4().hex, hash=_kept_name(files), instead_of=before, from_day=begins, at=now, who="",
                why=FOLDER_WHY,
            )  # fmt: skip
            papers.keep_tables(connection, change.hash, files, now)
            shop_tables.add_change(connection, change)
            before, begins = change.hash, until
    return True


def _versions(folder: Path) -> list[tuple[date, dict[str, str]]]:
    """Return the earlier versions of a folder: until when each was in force, and its files."""
    places = sorted((folder / "versions").glob("????-??-??T??????Z_*"))
    kept = [place for place in places if place.is_dir() and not place.suffix]
    return [(date.fromisoformat(place.name[:10]), _texts_in(place)) for place in kept]


def _texts_in(folder: Path) -> dict[str, str]:
    """Return the files of a folder by name, whatever they hold; those that can't be read at all are left out."""
    files = {}
    for name in FILES:
        if (folder / name).is_file():
            files[name] = (folder / name).read_bytes().decode("utf-8", "surrogateescape")
    return files


def _kept_name(files: Mapping[str, str]) -> str:
    """Return the hash under which files are kept: that of the tables in them, or of the texts where they hold none."""
    try:
        return load.tables_of(brought_up(files)[0]).hash
    except TableError:
        return hashlib.sha256(value_text(dict(files)).encode("ascii")).hexdigest()


def _check_unmoved(
    connection: Connection, changes: Sequence[TablesChange], seen: InForce, today: date, edits: Sequence[str] | None
) -> None:
    if _mark(changes) != seen.mark:
        last = changes[-1]
        told = f"{last.who or 'somebody'} put other tables in force meanwhile; look at the effect once more"
        raise StoreError([Problem("tables", 0, "", told)])
    if waiting := waiting_on(changes, today):
        told = f"others are to be in force from {waiting.from_day}; take those back first, or wait for that day"
        raise StoreError([Problem("tables", 0, "", told)])
    if edits is not None and [edit.id for edit in shop_tables.edits(connection)] != list(edits):
        told = "somebody entered more into the draft meanwhile; look at the effect once more"
        raise StoreError([Problem("tables", 0, "", told)])


def _keep_packaged(connection: Connection, now: datetime) -> str:
    """Begin the history with the packaged tables, so that one can go back to them; return their hash."""
    tables, _ = _packaged()
    papers.keep_tables(connection, tables.hash, files_of(None, tables), now)
    shop_tables.add_change(
        connection,
        TablesChange(
            id=uuid4().hex, hash=tables.hash, instead_of=tables.hash, from_day=date.min, at=now, who="",
            why=PACKAGED_WHY,
        ),
    )  # fmt: skip
    return tables.hash


@lru_cache(maxsize=1)
def _packaged() -> tuple[Tables, dict[str, str]]:
    return service.load_shop(), read_folder(PACKAGED)


@lru_cache(maxsize=16)
def _read(store: Store, name: str) -> _Read:
    try:
        with store.reading() as connection:
            files = papers.files_of_tables(connection, name)
        return _Read(tables_of(files, name), *brought_up(files))
    except (TableError, StoreError) as error:
        return _Read(fault=error.problems[0].message)


def _mark(changes: Sequence[TablesChange]) -> str:
    return " ".join(f"{change.seq}{change.state}" for change in changes)


def _reason(why: str) -> str:
    reason = " ".join("".join(letter if letter.isprintable() else " " for letter in why).split())
    if not reason:
        raise UserError([Problem("tables", 0, "", "say why, in a few words: it is kept with the tables")])
    return reason[:MOST_WHY]
