"""What a database or a disk complains of, in words that say what to do."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from valuation.errors import Problem, StoreError

FULL = "the disk is full; nothing was saved. Make room on it, then enter this again"
READ_ONLY = "it can't be written; nothing was saved. Allow this user to write the file and its folder, then try again"
LOCKED = (
    "another program keeps it locked, or an import still runs; nothing was saved. Wait until it is done or close it,"
    " then try again"
)
DAMAGED = (
    "the database is damaged. Stop the program and run 'python -m valuation restore', which brings back the last sound"
    " copy and keeps the damaged file, of which much may be saved"
)
DISK = (
    "the disk refuses to be written or read; nothing was saved. It may be full, over a limit, or failing: see to the"
    " disk, then enter this again"
)
NOT_OPENED = "it can't be opened; see that the folder is there and that this user may write it"
UNREACHABLE = (
    "the database can't be reached; nothing was saved unless it is there when it is back. See that the PostgreSQL"
    " server runs, then enter this again"
)
READ_ONLY_DATABASE = "the database may only be read; nothing was saved. Allow the user of DATABASE_URL to write to it"
NO_ROOM = "the database server takes no more at the moment; nothing was saved. Wait a little, then try again"
REFUSED = "the database refuses the user or the password; see DATABASE_URL"
NO_DATABASE = "there is no such database on the server; make it, or see DATABASE_URL"

_SQLITE = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_BUSY: LOCKED,
    sqlite3.SQLITE_LOCKED: LOCKED,
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_NOTADB: DAMAGED,
    sqlite3.SQLITE_IOERR: DISK,
    sqlite3.SQLITE_CANTOPEN: NOT_OPENED,
    sqlite3.SQLITE_PERM: READ_ONLY,
    sqlite3.SQLITE_PROTOCOL: LOCKED,
}
"""By the primary code of SQLite's error (https://www.sqlite.org/rescode.html)."""

_POSTGRES = {
    "08": UNREACHABLE,
    "57": UNREACHABLE,
    "57014": LOCKED,
    "53100": FULL,
    "53": NO_ROOM,
    "58": DISK,
    "55P03": LOCKED,
    "40P01": LOCKED,
    "40001": LOCKED,
    "25006": READ_ONLY_DATABASE,
    "42501": READ_ONLY_DATABASE,
    "28": REFUSED,
    "3D": NO_DATABASE,
    "XX001": DAMAGED,
    "XX002": DAMAGED,
}
"""By SQLSTATE or its class (PostgreSQL 15 documentation, appendix A)."""

_DISK = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EFBIG: DISK,
    errno.EIO: DISK,
    errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY,
    errno.ENOENT: NOT_OPENED,
    errno.ENOTDIR: NOT_OPENED,
    errno.EEXIST: NOT_OPENED,
}


@contextmanager
def in_plain_words(place: str, *, disk: bool = True) -> Iterator[None]:
    """Turn the faults of disk and database that a person can mend into a `StoreError`; let all others through.

    Parameters
    ----------
    place : str
        What the fault is told under: name of a file, folder or database.
    disk : bool
        Whether faults of files are meant, too; else only those that the database tells.
    """
    try:
        yield
    except PoolTimeout:
        raise StoreError([Problem(place, 0, "", NO_ROOM)]) from None
    except (DBAPIError, sqlite3.Error, OSError) as error:
        if (disk or not isinstance(error, OSError)) and (message := message_of(error)):
            raise StoreError([Problem(place, 0, "", message)]) from None
        raise


def message_of(error: Exception) -> str:
    """Return what to say of an error, empty where it is a defect of the tool."""
    if isinstance(error, OSError):
        return _DISK.get(error.errno or 0, "")
    cause = error.orig if isinstance(error, DBAPIError) else error
    if isinstance(cause, sqlite3.Error):
        return _SQLITE.get(getattr(cause, "sqlite_errorcode", 0) & 0xFF, "")
    state = getattr(cause, "sqlstate", None)
    if state is None:  # psycopg's own: no answer from a server
        words = str(cause).lower()
        if "password" in words or "authentication" in words or "role " in words:
            return REFUSED
        if "does not exist" in words:
            return NO_DATABASE
        return UNREACHABLE if type(cause).__name__ in ("OperationalError", "InterfaceError") else ""
    return _POSTGRES.get(state) or _POSTGRES.get(state[:2], "")
