"""What tax law demands of the agreed job of somebody who is forgotten: what was agreed on, and the papers about it."""

from __future__ import annotations

import io
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date
from uuid import uuid4
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from sqlalchemy import Connection, delete, select

from valuation.record import by_field, present, printed_number
from valuation.record.card import line
from valuation.record.job_card import AGREEMENT, CHANGE, FOUND, MONEY, agreed_of, events_entered
from valuation.store import entries, papers
from valuation.store.schema import kept_by_law
from valuation.store.stones import Forgotten

_FACTS = ("title", "date", "client.name", "place", "piano.kind", "piano.maker", "piano.serial", "piano.year")
_OF_THE_JOB = (AGREEMENT, FOUND, CHANGE, MONEY)
_ORDER = "quotation"
_FIRST_MOMENT = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a zip can hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptByLaw:
    """What is kept of one job.

    Attributes
    ----------
    mark : str
        That of the visit.
    name : str
        Whose it was.
    day, until : str
        When it was set apart, and the last day on which it is kept.
    law : str
        Which law demands it.
    content : bytes
        A zip: ``agreed.json`` and the quotations that became orders.
    """

    id: str
    mark: str
    name: str
    day: str
    until: str
    law: str
    content: bytes


def take_what_law_keeps(connection: Connection, name: str, stone: Forgotten) -> KeptByLaw | None:
    """Return what tax law demands of a visit's job; None where it demands nothing, or that is set apart already."""
    there = select(kept_by_law.c.id).where(kept_by_law.c.mark == stone.mark)
    if not stone.until or connection.execute(there).first():
        return None
    fields = by_field(entries.entries_of(connection, name))
    values = {field: head.value for field in fields if (head := present(fields[field]))}
    events, _ = events_entered(fields)
    options = {event.agreed.get("option") for event in events if event.agreed}
    options.add(agreed_of(fields, events).get("option"))
    orders = [made for made in papers.of_visit(connection, name) if made.what == _ORDER and made.option in options]
    told = {field: values[field] for field in _FACTS if values.get(field) not in (None, "")}
    told["ledger"] = {field: value for field, value in sorted(values.items()) if field.startswith(_OF_THE_JOB)}
    told["steps"] = [{"day": e.day.isoformat(), "stage": e.stage, "agreed": e.agreed} for e in events]
    written = io.BytesIO()
    with ZipFile(written, "w", ZIP_DEFLATED) as file:
        _add(file, "agreed.json", json.dumps(told, indent=1, ensure_ascii=True).encode())
        for made in orders:
            pdf = papers.pdf_of(connection, made.id)
            _add(file, f"quotation-{printed_number(name, made.number)}.pdf", pdf or b"")
    whose = line(values.get("client.name")) or line(values.get("title"))
    return KeptByLaw(
        id=uuid4().hex, mark=stone.mark, name=whose, day=stone.day, until=stone.until, law=stone.law,
        content=written.getvalue(),
    )  # fmt: skip


def _add(file: ZipFile, name: str, content: bytes) -> None:
    file.writestr(ZipInfo(name, _FIRST_MOMENT), content, compress_type=ZIP_DEFLATED)


def all_kept(connection: Connection) -> list[KeptByLaw]:
    """Return all that is kept by law, what goes first coming first."""
    order = (kept_by_law.c.until, kept_by_law.c.name, kept_by_law.c.id)
    return [KeptByLaw(**row._asdict()) for row in connection.execute(select(kept_by_law).order_by(*order))]


def let_go(connection: Connection, today: date) -> int:
    """Remove what is kept no longer; return how much that was."""
    return connection.execute(delete(kept_by_law).where(kept_by_law.c.until < today.isoformat())).rowcount


def add_new(connection: Connection, kept: Iterable[KeptByLaw]) -> int:
    """Add what is kept by law and isn't here yet; return how much is new."""
    here = set(connection.execute(select(kept_by_law.c.mark)).scalars())
    rows = [asdict(one) for one in kept if one.mark not in here]
    return entries.insert_new(connection, kept_by_law, rows, "id")
