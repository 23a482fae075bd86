"""Proving copies of the store, and bringing one back: what was there is set aside, and what came back is counted."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, func, inspect, select, table
from sqlalchemy.engine import URL

from valuation.errors import Problem, StoreError
from valuation.store import copies, photos
from valuation.store.backups import TABLES
from valuation.store.connect import address_of, engine_of
from valuation.store.copies import BACKUPS, DUMP_FILE, Copy
from valuation.store.faults import in_plain_words
from valuation.store.postgres_copy import bring_back, prove_dump
from valuation.store.schema import metadata
from valuation.store.sqlite_copy import prove_sqlite

REPLACED = "replaced"
"""Folder for what a copy took the place of: a damaged database may still hold what no copy does."""

IN_USE = "it is in use; stop the program first, then bring the copy back"
NOTHING_SOUND = "there is no sound copy; nothing was changed"
ANOTHER_KIND = "copy {number} is one of {other}; it can't be brought back into {this}"
NOT_ALL = "copy {number} was put back, but '{table}' has {now:,} rows where the copy had {told:,}; look at both"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What came of reading a copy from end to end.

    Attributes
    ----------
    faults : tuple of str
        Why it can't be brought back; empty if it can.
    photos_lost : tuple of str
        Photos that it should hold, and that are missing or damaged there.
    """

    copy: Copy
    faults: tuple[str, ...]
    photos_lost: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RestoreReport:
    """What was brought back.

    Attributes
    ----------
    passed_over : tuple of Proof
        Newer copies that aren't sound.
    rows : dict of str to int
        Rows of each table, counted after it was back: those of the copy.
    photos_there, photos_back : int
        Photos that were here, and that came from the copies.
    photos_lost : tuple of str
        Neither here nor among the copies.
    tables_back : bool
        The shop's own tables were others, or missing, and came back too.
    set_aside : Path or None
        Where what was replaced lies now.
    """

    copy: Copy
    passed_over: tuple[Proof, ...]
    rows: dict[str, int]
    photos_there: int
    photos_back: int
    photos_lost: tuple[str, ...]
    tables_back: bool
    set_aside: Path | None


def prove(folder: Path, copy: Copy) -> Proof:
    """Read a copy from end to end: its files, its database, its rows, its photos."""
    faults = [f"{name} is missing or damaged" for name in copies.changed_files(copy)]
    if not faults:
        try:
            held = (prove_dump if copy.database == DUMP_FILE else prove_sqlite)(copy.path, copy.database)
        except StoreError as fault:
            faults += [str(problem) for problem in fault.problems]
        else:
            if held.rows != copy.rows:
                faults.append(f"it holds other numbers of rows than when it was made: {held.rows}")
    names = () if faults else copies.photos_of(copy)
    lost = [name for name in names if not _is_whole(copies.photo_place(folder, name), name)]
    return Proof(copy=copy, faults=tuple(faults), photos_lost=tuple(lost))


def restore(url: str, folder: Path, number: int | None = None) -> RestoreReport:
    """Bring a copy back in the place of the store.

    Parameters
    ----------
    url : str
        As for `open_store`.
    folder : Path
        The folder of the store.
    number : int, optional
        Which copy; the newest sound one if left out.

    Raises
    ------
    StoreError
        If there is no such copy, it isn't sound, or the store is in use; nothing was changed then.
    """
    address = address_of(url, folder)
    is_sqlite = address.get_backend_name() == "sqlite"
    copy, passed_over = _chosen(folder, number, DUMP_FILE if not is_sqlite else copies.SQLITE_FILE)
    with in_plain_words(BACKUPS):
        if is_sqlite:
            aside = _put_in_place(copy, Path(address.database or ""), folder)
        else:
            aside = None
            bring_back(address, copy.path, [*metadata.tables, "alembic_version"])
        there, back, lost = _photos_back(folder, copy)
        tables_back, aside = _tables_back(folder, copy, aside)
        rows = _counted(address, copy)
    return RestoreReport(
        copy=copy, passed_over=passed_over, rows=rows, photos_there=there, photos_back=back, photos_lost=lost,
        tables_back=tables_back, set_aside=aside,
    )  # fmt: skip


def _counted(address: URL, copy: Copy) -> dict[str, int]:
    """Return how many rows each table of a copy has in the store now; `StoreError` if not as many as the copy."""
    engine = engine_of(address)
    try:
        with engine.connect().execution_options(reading=True) as connection, connection.begin():
            there = inspect(connection).get_table_names()
            now = {name: _count(connection, name) if name in there else 0 for name in copy.rows}
    finally:
        engine.dispose()
    for name, told in copy.rows.items():
        if now[name] != told:
            message = NOT_ALL.format(number=copy.number, table=name, now=now[name], told=told)
            raise StoreError([Problem(BACKUPS, 0, "", message)])
    return now


def _count(connection: Connection, name: str) -> int:
    return connection.execute(select(func.count()).select_from(table(name))).scalar_one()


def _chosen(folder: Path, number: int | None, file: str) -> tuple[Copy, tuple[Proof, ...]]:
    there = [copy for copy in copies.copies(folder) if number in (None, copy.number)]
    if number is not None and not there:
        raise copies.no_copy(number)
    passed_over: list[Proof] = []
    for copy in reversed(there):
        proof = prove(folder, copy)
        if copy.database != file:
            kinds = {copies.SQLITE_FILE: "SQLite", DUMP_FILE: "PostgreSQL"}
            told = ANOTHER_KIND.format(number=copy.number, other=kinds[copy.database], this=kinds[file])
            proof = Proof(copy=copy, faults=(told,), photos_lost=())
        if not proof.faults:
            return copy, tuple(passed_over)
        passed_over.append(proof)
    each = [f"copy {proof.copy.number}: {fault}" for proof in passed_over for fault in proof.faults]
    raise StoreError([Problem(BACKUPS, 0, "", message) for message in (*each, NOTHING_SOUND)])


def _put_in_place(copy: Copy, database: Path, folder: Path) -> Path | None:
    """Put a copy in the place of a SQLite file; return where what was there lies now."""
    _refuse_if_in_use(database)
    folder.mkdir(parents=True, exist_ok=True)
    fresh = database.with_name(f"{database.name}.unfinished")
    shutil.copyfile(copy.path, fresh)
    with fresh.open("rb") as written:
        os.fsync(written.fileno())
    aside = None
    for path in (database.with_name(f"{database.name}{ending}") for ending in ("", "-wal", "-shm", "-journal")):
        if path.exists():
            aside = aside or _new_place(folder)
            path.rename(aside / path.name)
    fresh.replace(database)
    return aside


def _refuse_if_in_use(database: Path) -> None:
    """Refuse a SQLite file that another connection has open: only the last one may leave the write-ahead log."""
    if not database.exists():
        return
    with closing(sqlite3.connect(database, timeout=1.0)) as connection:
        try:
            connection.execute("PRAGMA journal_mode=DELETE").close()
        except sqlite3.OperationalError as fault:
            if fault.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                raise StoreError([Problem(database.name, 0, "", IN_USE)]) from None
            raise
        except sqlite3.DatabaseError as fault:
            if fault.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
                raise  # one that is damaged is in the way, and goes aside


def _new_place(folder: Path) -> Path:
    place = folder / REPLACED
    place.mkdir(exist_ok=True)
    number = 1 + max((int(path.name) for path in place.iterdir() if path.name.isdecimal()), default=0)
    (place / f"{number:06}").mkdir()
    return place / f"{number:06}"


def _photos_back(folder: Path, copy: Copy) -> tuple[int, int, tuple[str, ...]]:
    there, back, lost = 0, 0, []
    for name in (*copies.photos_of(copy), *copy.lost_photos):
        kept = copies.photo_place(folder, name)
        if photos.is_whole(folder, name):
            there += 1
        elif _is_whole(kept, name):
            photos.write_whole(photos.path_of(folder, name), kept.read_bytes())
            back += 1
        else:
            lost.append(name)
    return there, back, tuple(lost)


def _tables_back(folder: Path, copy: Copy, aside: Path | None) -> tuple[bool, Path | None]:
    """Put the shop's own tables back if they are others than those of the copy; a copy without any changes nothing."""
    held = copy.place / TABLES
    if not held.is_dir() or _same(held, folder / TABLES):
        return False, aside
    fresh = folder / f"{TABLES}.unfinished"
    shutil.rmtree(fresh, ignore_errors=True)
    shutil.copytree(held, fresh)
    if (folder / TABLES).exists():
        aside = aside or _new_place(folder)
        (folder / TABLES).rename(aside / TABLES)
    fresh.rename(folder / TABLES)
    return True, aside


def _same(one: Path, other: Path) -> bool:
    def content(place: Path) -> dict[str, bytes]:
        return {path.relative_to(place).as_posix(): path.read_bytes() for path in place.rglob("*") if path.is_file()}

    return other.is_dir() and content(one) == content(other)


def _is_whole(path: Path, name: str) -> bool:
    return path.is_file() and copies.checksum(path) == name
