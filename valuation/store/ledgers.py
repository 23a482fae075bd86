"""Questions over the ledgers of all jobs, and what the evaluation visits took and brought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

from valuation.store.entries import RESTRICTED
from valuation.store.schema import job, visit

_AT_ONCE = 400


@dataclass(frozen=True, eq=False, kw_only=True)
class Visited:
    """Evaluation visits within some days.

    Attributes
    ----------
    visits : frozenset of str
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
