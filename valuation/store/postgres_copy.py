"""Copying a PostgreSQL database by its own tools (pg_dump, pg_restore, psql), and proving that a dump is whole.

A dump is in the tools' own format, so it can be brought back without this program too. It is proven by unpacking it:
each row passes by and is counted.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory, TemporaryFile

from psycopg.conninfo import make_conninfo
from sqlalchemy.engine import URL

from valuation.errors import Problem, StoreError
from valuation.store.schema import VIEWS
from valuation.store.sqlite_copy import Held

MISSING = (
    "the program '{program}' is missing on this machine; install PostgreSQL's client programs, of the server's version"
    " or newer"
)
FAILED = "'{program}' could not do it: {told}"

_COPY = re.compile(rb'COPY (?:[a-z_]+\.)?"?([a-z_]+)"? \((.*)\) FROM stdin;')
_END = rb"\."


def dump(address: URL, to: Path) -> None:
    """Write a database as it is at one moment to a file."""
    _run("pg_dump", ["--format=custom", "--no-owner", "--no-privileges", f"--file={to}"], address)
    with to.open("rb") as written:
        os.fsync(written.fileno())


def bring_back(address: URL, path: Path, tables: Iterable[str]) -> None:
    """Put a dump in the place of what the database holds, all or nothing.

    Parameters
    ----------
    path : Path
        The dump.
    tables : iterable of str
        Those that go first, for the dump may be of a form of the tables that had fewer.
    """
    gone = f"DROP VIEW IF EXISTS {', '.join(VIEWS)}; DROP TABLE IF EXISTS {', '.join(tables)} CASCADE"
    with TemporaryDirectory() as place:
        script = Path(place) / "dump.sql"
        _run("pg_restore", ["--no-owner", "--no-privileges", f"--file={script}", str(path)])
        how = ["--no-psqlrc", "--quiet", "--single-transaction", "--set=ON_ERROR_STOP=1"]
        _run("psql", [*how, f"--command={gone}", f"--file={script}"], address)


def prove_dump(path: Path, place: str) -> Held:
    """Unpack a dump from end to end, and return what it holds; `StoreError` if it isn't whole.

    Parameters
    ----------
    path : Path
        The file.
    place : str
        What faults are told under.
    """
    rows: dict[str, int] = {}
    revision, photos = "", []
    for table, row in _rows(path, rows):
        if table == "alembic_version":
            revision = row["version_num"].decode()
        elif table == "photo":
            photos.append(row["hash"].decode())
        elif table == "paper" and _sha256(row["pdf"]) != row["pdf_hash"].decode():
            number = row["number"].decode()
            raise StoreError([Problem(place, 0, "", f"paper {number} of a visit is not the file that was made")])
    return Held(revision=revision, rows=dict(sorted(rows.items())), photos=tuple(sorted(photos)))


def _rows(path: Path, counts: dict[str, int]) -> Iterator[tuple[str, dict[str, bytes]]]:
    """Yield each row of a dump as the dump writes it, and count them by table."""
    with _unpacked(path) as lines:
        table = ""
        columns: list[str] = []
        for line in lines:
            line = line.rstrip(b"\n")
            if not table and (begins := _COPY.fullmatch(line)):
                table, columns = begins[1].decode(), begins[2].decode().replace('"', "").split(", ")
                counts[table] = 0
            elif table and line == _END:
                table = ""
            elif table:
                counts[table] += 1
                yield table, dict(zip(columns, line.split(b"\t"), strict=True))


@contextmanager
def _unpacked(path: Path) -> Iterator[Iterator[bytes]]:
    with TemporaryFile() as told:
        try:
            unpacking = subprocess.Popen(
                ["pg_restore", "--data-only", "--file=-", str(path)], stdout=subprocess.PIPE, stderr=told
            )
        except FileNotFoundError:
            raise StoreError([Problem("backups", 0, "", MISSING.format(program="pg_restore"))]) from None
        with unpacking:
            if unpacking.stdout is None:
                raise AssertionError("its output goes through a pipe")
            yield iter(unpacking.stdout)
        if unpacking.returncode:
            told.seek(0)
            raise _failed("pg_restore", told.read())


def _sha256(written: bytes) -> str:
    r"""Return the SHA-256 of bytes as a dump writes them: ``\\x`` and hexadecimal digits."""
    return hashlib.sha256(bytes.fromhex(written.removeprefix(rb"\\x").decode())).hexdigest()


def _run(program: str, words: list[str], address: URL | None = None) -> None:
    """Run one of the tools; the password goes by the environment, where no list of processes shows it."""
    secret: dict[str, str] = {}
    if address is not None:
        told = {"host": address.host, "port": address.port, "user": address.username, "dbname": address.database}
        given = {name: value for name, value in told.items() if value} | dict(address.query)
        place = make_conninfo("", **{name: str(value) for name, value in given.items()})
        words = ["--no-password", f"--dbname={place}", *words]
        secret = {"PGPASSWORD": str(address.password)} if address.password else {}
    try:
        subprocess.run([program, *words], env=os.environ | secret, capture_output=True, check=True)
    except FileNotFoundError:
        raise StoreError([Problem("backups", 0, "", MISSING.format(program=program))]) from None
    except subprocess.CalledProcessError as error:
        raise _failed(program, error.stderr) from None


def _failed(program: str, told: bytes) -> StoreError:
    lines = told.decode("utf-8", "replace").strip().splitlines() or ["it says nothing"]
    return StoreError([Problem("backups", 0, "", FAILED.format(program=program, told=lines[0]))])
