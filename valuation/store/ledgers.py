"""Questions over the ledgers of all jobs, and what the evaluation visits took and brought."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, Row, func, select, text

from valuation.record import Entry, by_field, counted
from valuation.record.card import line
from valuation.record.history import unfit
from valuation.record.job_card import NEXT, next_step
from valuation.store.entries import OPEN, RESTRICTED, entries_of_fields
from valuation.store.schema import VIEWS, job, paper, visit

_AT_ONCE = 400
_ROWS_AT_ONCE = 2000


@dataclass(frozen=True, eq=False, kw_only=True)
class Visited:
    """Evaluation visits within some days.

    Attributes
    ----------
    minutes, timed : float, int
        Minutes at the piano [min], and of how many visits they are known.
    fees, charged : float, int
        What the visits were charged, with tax, and how many were.
    agreed : int
        Visits that became an agreement.
    """

    visits: frozenset[str]
    minutes: float
    timed: int
    fees: float
    charged: int
    agreed: int


def visited(connection: Connection, first: date, last: date, *, demo: bool | None = None) -> Visited:
    """Return what the visits from one day to another took and brought; not those that are restricted."""
    wanted = select(visit.c.id, job.c.minutes, job.c.fee, job.c.agreed_on).outerjoin(job, job.c.visit == visit.c.id)
    wanted = wanted.where(visit.c.day >= first.isoformat(), visit.c.day <= last.isoformat())
    wanted = wanted.where(visit.c.kept_as != RESTRICTED)
    if demo is not None:
        wanted = wanted.where(visit.c.demo == demo)
    rows = connection.execute(wanted).all()
    minutes = [row.minutes for row in rows if row.minutes is not None]
    fees = [row.fee for row in rows if row.fee is not None]
    return Visited(
        visits=frozenset(row.id for row in rows),
        minutes=sum(minutes),
        timed=len(minutes),
        fees=sum(fees),
        charged=len(fees),
        agreed=sum(row.agreed_on is not None for row in rows),
    )


def titles(connection: Connection, names: Sequence[str]) -> dict[str, str]:
    """Return what some visits are called."""
    found: dict[str, str] = {}
    for start in range(0, len(names), _AT_ONCE):
        wanted = select(visit.c.id, visit.c.title).where(visit.c.id.in_(names[start : start + _AT_ONCE]))
        found |= {row.id: row.title for row in connection.execute(wanted)}
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Client:
    """Who is to be rung about which piano."""

    title: str
    client: str
    phone: str
    place: str
    invented: bool


def clients(connection: Connection, names: Sequence[str]) -> dict[str, Client]:
    """Return whom some visits are about; not those that are restricted or nameless."""
    found: dict[str, Client] = {}
    for start in range(0, len(names), _AT_ONCE):
        some = list(names[start : start + _AT_ONCE])
        phones: dict[str, str] = {}
        held: dict[str, list[Entry]] = {}
        for entry in entries_of_fields(connection, ("client.phone",), some):
            held.setdefault(entry.visit, []).append(entry)
        for name, own in held.items():
            head = counted(by_field(own))[0].get("client.phone")
            phones[name] = line(head.value) if head else ""
        wanted = select(visit.c.id, visit.c.title, visit.c.client, visit.c.place, visit.c.demo)
        wanted = wanted.where(visit.c.id.in_(some), visit.c.kept_as == OPEN)
        found |= {
            row.id: Client(
                title=row.title,
                client=row.client,
                phone=phones.get(row.id, ""),
                place=row.place,
                invented=row.demo,
            )
            for row in connection.execute(wanted)
        }
    return found


def newest_quotations(connection: Connection) -> dict[str, date]:
    """Return the visits with a quotation, and the day on which the newest was written."""
    wanted = select(paper.c.visit, func.max(paper.c.written_on)).where(paper.c.what == "quotation")
    rows = connection.execute(wanted.group_by(paper.c.visit))
    return {name: date.fromisoformat(day) for name, day in rows}


def rows_of(connection: Connection, view: str) -> Iterator[Row]:
    """Yield the rows of one of `VIEWS`, visit by visit."""
    if view not in VIEWS:
        raise ValueError(f"there is no view '{view}'")
    wanted = text(f"SELECT * FROM {view} ORDER BY visit")
    yield from connection.execute(wanted, execution_options={"yield_per": _ROWS_AT_ONCE})


def count_of(connection: Connection) -> int:
    """Return how many visits there are that are not restricted."""
    return connection.execute(select(func.count()).where(visit.c.kept_as != RESTRICTED)).scalar_one()


def steps_ever_set(connection: Connection) -> dict[str, tuple[str, date]]:
    """Return what somebody last set as the next step of each visit, whether or not it is done by now."""
    found: dict[str, tuple[str, date]] = {}
    for entry in entries_of_fields(connection, (NEXT,)):
        what, on = next_step(entry.value)
        if on is not None and not unfit(entry):
            found[entry.visit] = (what, on)
    return found
