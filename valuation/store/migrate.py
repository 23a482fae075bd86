"""Bringing the tables of a store up to date, forward only, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, select, text

from valuation.errors import Problem, StoreError
from valuation.store.backups import back_up, sqlite_file
from valuation.store.copies import any_copies
from valuation.store.entries import renew_job
from valuation.store.schema import REVISIONS, VIEWS, visit

MIGRATIONS = Path(__file__).with_name("migrations")

LEDGER_SINCE = "0006"
"""Older stores have no ledger yet: it is worked out from what they hold."""

_LOCK = 7_103_922_518
"""Any number: whoever brings the tables of a PostgreSQL database up to date holds it."""

NEWER = (
    "it was made by a newer version of this program, and is left as it is. Update this program, or give another folder"
)
GONE = (
    "the database is missing or empty, but there are backups of it. Run 'python -m valuation restore', or move the"
    " folder 'backups' away to start a new one"
)
NOT_OURS = "the database holds tables of another program; give this one a database of its own"


def bring_up_to_date(engine: Engine, database: Path | None, folder: Path, place: str) -> None:
    """Make the tables, or change them to today's form; a SQLite database that holds any is copied first.

    Parameters
    ----------
    engine : Engine
        Of the store.
    database : Path or None
        The SQLite file; None for PostgreSQL.
    folder : Path
        Where the copy goes.
    place : str
        What faults are told under.

    Raises
    ------
    StoreError
        If the tables are another program's or of a newer version of this one.
    """
    with engine.connect().execution_options(reading=True) as connection, connection.begin():
        if revision(connection) == REVISIONS[-1]:
            return
    with engine.begin() as connection:
        if database is None:
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
        now = revision(connection)
        if now == REVISIONS[-1]:
            return  # another process was quicker
        if now and now not in REVISIONS:
            raise StoreError([Problem(place, 0, "", NEWER)])
        if not now and inspect(connection).get_table_names():
            raise StoreError([Problem(place, 0, "", NOT_OURS)])
        if not now and database and any_copies(folder):
            raise StoreError([Problem(place, 0, "", GONE)])
        if now and database:
            back_up(sqlite_file(database), folder, None, f"before {REVISIONS[-1]}")
        upgrade(connection)
        if now and now < LEDGER_SINCE:
            for name in connection.execute(select(visit.c.id)).scalars().all():
                renew_job(connection, name)


def revision(connection: Connection) -> str:
    """Return the form in which the tables are, empty where there are none."""
    if not inspect(connection).has_table("alembic_version"):
        return ""
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or ""


def upgrade(connection: Connection, to: str = "head") -> None:
    """Go the steps up to a form of the tables, within the transaction of the connection.

    The views for the owner's own tools are taken away first and made anew: a step may change what they rest on.
    """
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    for view in VIEWS:
        connection.execute(text(f"DROP VIEW IF EXISTS {view}"))
    command.upgrade(config, to)
    if revision(connection) == REVISIONS[-1]:
        for made in VIEWS.values():
            connection.execute(text(made))
