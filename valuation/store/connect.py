"""Opening the store, and the two ways to use it: to read, and to write all or nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import Any

from platformdirs import user_data_path
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from valuation.errors import Problem, StoreError
from valuation.store.copies import SQLITE_FILE
from valuation.store.faults import LOCKED, in_plain_words
from valuation.store.migrate import bring_up_to_date

WAITS = 5.0
"""How long one waits for another program that is writing [s]."""

WAITS_FOR_TURN = 30.0
"""How long a thread waits for its turn: those before it are many at times, but each is soon done [s]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Store:
    """An open store. May be used by several threads at once.

    Attributes
    ----------
    folder : Path
        Holds the photos, the backups, and the database where it is SQLite.
    database : Path or None
        File of the SQLite database; None for PostgreSQL.
    place : str
        What its faults are told under.
    """

    folder: Path
    database: Path | None
    place: str
    engine: Engine
    _turn: Any = field(default_factory=Lock)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees the store as it is at one moment."""
        with in_plain_words(self.place, disk=False), self.engine.connect() as connection:
            connection = connection.execution_options(reading=True)
            if self.database is None:
                connection = connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection whose changes are all on the disk when the block ends, or none if it fails."""
        with in_plain_words(self.place, disk=False), self.one_at_a_time(), self.engine.begin() as connection:
            yield connection

    @contextmanager
    def one_at_a_time(self) -> Iterator[None]:
        """Let the threads that write take turns where the database has one writer: quicker than to try again."""
        if self.database is None:
            yield
        elif self._turn.acquire(timeout=WAITS_FOR_TURN):
            try:
                yield
            finally:
                self._turn.release()
        else:
            raise StoreError([Problem(self.place, 0, "", LOCKED)])

    def close(self) -> None:
        """Give back all connections."""
        self.engine.dispose()


def open_store(url: str = "", folder: Path | None = None) -> Store:
    """Open the store, making it where there is none, and bring its tables up to date.

    Parameters
    ----------
    url : str, optional
        Address of a PostgreSQL database such as ``postgresql://user@host/name``; a SQLite file in the folder if
        left out.
    folder : Path, optional
        Where photos and the SQLite file are kept; the user's own data folder if left out.

    Raises
    ------
    StoreError
        If it can't be opened or written, is damaged, or was made by a newer version of this program.
    """
    folder = usual_folder() if folder is None else folder
    with in_plain_words(str(folder.name)):
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)  # clients' names are in it
    address = address_of(url, folder)
    engine = engine_of(address)
    if address.get_backend_name() == "sqlite":
        database = Path(address.database or "")
        place = database.name
    else:
        database = None
        place = f"PostgreSQL database {address.database or ''}".strip()  # no address: it may hold a password
    store = Store(folder=folder, database=database, place=place, engine=engine)
    try:
        with in_plain_words(place):
            bring_up_to_date(engine, database, folder, place)
    except BaseException:
        store.close()
        raise
    return store


def usual_folder() -> Path:
    """Return the folder of the store where none is given: in the user's own data."""
    return user_data_path("valuation", appauthor=False)


def engine_of(address: URL) -> Engine:
    """Return what talks to a database, whatever form its tables have."""
    return _sqlite(address) if address.get_backend_name() == "sqlite" else _postgres(address)


def address_of(url: str, folder: Path) -> URL:
    """Return where the database is; refuses what is neither SQLite nor PostgreSQL."""
    if not url:
        return URL.create("sqlite", database=str(folder / SQLITE_FILE))
    advice = "write it like postgresql://user@host/name, or leave it out for a file on this machine"
    try:
        address = make_url(url)
    except (ArgumentError, ValueError):
        raise StoreError([Problem("DATABASE_URL", 0, "", f"it is no address of a database; {advice}")]) from None
    kind = address.get_backend_name() if address.drivername != "postgres" else "postgresql"
    if kind == "postgresql":
        return address.set(drivername="postgresql+psycopg")
    if kind == "sqlite" and address.database not in (None, "", ":memory:"):
        return address.set(drivername="sqlite")
    raise StoreError([Problem("DATABASE_URL", 0, "", f"it must lead to PostgreSQL; {advice}")])


def _sqlite(address: URL) -> Engine:
    engine = create_engine(
        address, connect_args={"timeout": WAITS}, pool_size=20, max_overflow=40, hide_parameters=True
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _: Any) -> None:
        connection.isolation_level = None  # we begin transactions ourselves, see below
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # who will write takes the lock at once: a reader that turns writer would have seen what is no more
        reading = connection.get_execution_options().get("reading")
        connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")

    return engine


def _postgres(address: URL) -> Engine:
    waits = {"connect_timeout": int(WAITS), "tcp_user_timeout": int(2000 * WAITS)}
    pool = {"pool_pre_ping": True, "pool_size": 5, "max_overflow": 15, "pool_timeout": WAITS}
    engine = create_engine(address, connect_args=waits, hide_parameters=True, **pool)

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute("SET synchronous_commit TO on")  # 'saved' means on the disk
            cursor.execute(f"SET lock_timeout TO '{WAITS:g}s'")
        connection.commit()

    return engine


def from_environment(environ: Mapping[str, str]) -> tuple[str, Path | None]:
    """Return the url and folder that ``DATABASE_URL`` and ``VALUATION_DATA`` give."""
    folder = environ.get("VALUATION_DATA", "").strip()
    return environ.get("DATABASE_URL", "").strip(), Path(folder).expanduser().resolve() if folder else None


def folder_from_environment(environ: Mapping[str, str]) -> Path:
    """Return the folder of the store that ``VALUATION_DATA`` names, else the user's own data folder."""
    return from_environment(environ)[1] or usual_folder()
