"""Rows of the tables `paper` and `tables_version`, in and out, each within the transaction of the caller.

They are only ever added: what a client got stays as it was.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select

from valuation.errors import Problem, StoreError
from valuation.record import Paper, value_text
from valuation.store import entries
from valuation.store.schema import paper, tables_version
from valuation.store.visits import no_visit, shut

QUOTATION = "quotation"

_NAMES = tuple(field.name for field in fields(Paper))
_WITHOUT_FILE = [paper.c[name] for name in _NAMES]


def keep(connection: Connection, made: Paper, pdf: bytes) -> Paper | None:
    """Add a paper with its file, under the number that it bears.

    Returns
    -------
    Paper or None
        The paper; the one that is there where its id was used before; None where its number isn't the next any more,
        because somebody else was quicker: then it must be made anew.
    """
    kept_as = entries.lock_visit(connection, made.visit)
    if kept_as is None:
        raise no_visit(made.visit)
    if kept_as != entries.OPEN:
        raise shut(kept_as)
    if there := with_id(connection, made.id):
        return there
    if made.number != next_number(connection, made.visit):
        return None
    add(connection, made, pdf)
    return made


def add(connection: Connection, made: Paper, pdf: bytes) -> None:
    """Add a paper with its file, whatever its number is."""
    connection.execute(insert(paper).values(**_row(made), pdf=pdf))


def next_number(connection: Connection, visit: str) -> int:
    """Return the number that the next paper of a visit bears."""
    return 1 + (connection.execute(select(func.max(paper.c.number)).where(paper.c.visit == visit)).scalar() or 0)


def of_visit(connection: Connection, visit: str) -> list[Paper]:
    """Return the papers of a visit, the first one first."""
    order = (paper.c.number, paper.c.made_at, paper.c.id)
    return [
        _paper(row) for row in connection.execute(select(*_WITHOUT_FILE).where(paper.c.visit == visit).order_by(*order))
    ]


def last_quotations(connection: Connection) -> dict[str, Paper]:
    """Return the last quotation of each visit that has one, the newest first."""
    wanted = select(*_WITHOUT_FILE).where(paper.c.what == QUOTATION)
    rows = connection.execute(wanted.order_by(paper.c.made_at.desc(), paper.c.number.desc(), paper.c.id))
    found: dict[str, Paper] = {}
    for made in map(_paper, rows):
        found.setdefault(made.visit, made)
    return found


def with_id(connection: Connection, name: str) -> Paper | None:
    """Return a paper, None where there is none of this id."""
    row = connection.execute(select(*_WITHOUT_FILE).where(paper.c.id == name)).one_or_none()
    return _paper(row) if row else None


def ids(connection: Connection) -> Sequence[str]:
    """Return the ids of all papers, in order."""
    return connection.execute(select(paper.c.id).order_by(paper.c.id)).scalars().all()


def pdf_of(connection: Connection, name: str) -> bytes | None:
    """Return the file of a paper, None where there is none of this id."""
    return connection.execute(select(paper.c.pdf).where(paper.c.id == name)).scalar()


def keep_tables(connection: Connection, name: str, files: Mapping[str, str], at: datetime) -> bool:
    """Add the files of the shop's tables as they were, under their hash; return whether they are new here."""
    packed = zlib.compress(value_text(files).encode("ascii"), level=9)
    row = {"hash": name, "kept_at": entries.moment(at), "files": packed}
    return entries.insert_new(connection, tables_version, [row], "hash") == 1


def has_tables(connection: Connection, name: str) -> bool:
    """Tell whether the tables of a hash are kept."""
    return connection.execute(select(tables_version.c.hash).where(tables_version.c.hash == name)).scalar() is not None


def tables_kept(connection: Connection) -> Sequence[str]:
    """Return the hashes of all tables that are kept, in order."""
    return connection.execute(select(tables_version.c.hash).order_by(tables_version.c.hash)).scalars().all()


def files_of_tables(connection: Connection, name: str) -> dict[str, str]:
    """Return the files of the tables of a hash, by name.

    Raises
    ------
    StoreError
        If they aren't kept, or are damaged.
    """
    packed = connection.execute(select(tables_version.c.files).where(tables_version.c.hash == name)).scalar()
    try:
        return json.loads(zlib.decompress(packed or b""))
    except (zlib.error, ValueError):
        told = f"the tables kept as {name[:8]} are damaged; take them from a backup or an export"
        raise StoreError([Problem("tables", 0, "", told)]) from None


def _row(made: Paper) -> dict[str, Any]:
    row = {name: getattr(made, name) for name in _NAMES}
    row |= {name: value_text(row[name]) for name in ("given", "figures")}
    row |= {name: row[name].isoformat() for name in ("written_on", "priced_on")}
    return row | {"made_at": entries.moment(made.made_at), "photos": " ".join(made.photos)}


def _paper(row: Row) -> Paper:
    told = row._asdict()
    told |= {name: json.loads(told[name]) for name in ("given", "figures")}
    told |= {name: date.fromisoformat(told[name]) for name in ("written_on", "priced_on")}
    return Paper(**told | {"made_at": entries.read_moment(row.made_at), "photos": tuple(row.photos.split())})
