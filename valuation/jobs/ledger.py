"""The ledger of one job: what was agreed on by the line, what became of if-found lines, money, and returns.

Read from the history, never from today's tables: what somebody signed doesn't move with a price list.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from valuation.facts.kinds import day_of
from valuation.jobs.records import EstimatedHours
from valuation.record import Entry, job_card
from valuation.record.card import line
from valuation.record.ledger import answers_of, values_of

DONE_AS_FOUND, REFUSED, NOT_NEEDED = "yes", "no", "not_needed"
DEPOSIT, INVOICE, PAYMENT, BOUGHT_IN = "deposit", "invoice", "payment", "bought_in"


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreedLine:
    """One fixed line as it was agreed on: expected hours [h], and money before tax.

    Attributes
    ----------
    with_it : tuple of str
        Operations whose hours and amounts are in this line too.
    """

    operation: str
    part: str
    with_it: tuple[str, ...]
    hours: float
    labour: float
    materials: float
    outside: float


@dataclass(frozen=True, slots=True, kw_only=True)
class IfFoundLine:
    """One if-found line as it was agreed on, and what became of it.

    Attributes
    ----------
    key : str
        Its own within the agreement.
    chance : float or None
        That it is needed, as it was told [-].
    price : float
        By how much the price then rises, with tax.
    hours : EstimatedHours or None
        None where hours go by the piece.
    answer : str
        'yes', 'no', 'not_needed'; empty as long as nobody knows.
    on : date or None
        Day of the answer.
    """

    key: str
    operation: str
    part: str
    chance: float | None
    price: float
    hours: EstimatedHours | None
    answer: str
    on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """Money that was asked for or paid; `what` is one of `valuation.facts.words.MONEY_KINDS`."""

    field: str
    what: str
    amount: float
    day: date
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change of what was agreed on: by how much the price moves, with tax, and the hours [h]."""

    field: str
    what: str
    day: date
    price: float
    hours: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A piano that came back: why, which part, what it took [h] and cost; `days` since delivery, None if not known."""

    field: str
    day: date
    cause: str
    part: str
    hours: float
    cost: float
    who: str
    note: str
    days: int | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Ledger:
    """The ledger of one job.

    Attributes
    ----------
    agreed_on : date or None
        None where nothing was agreed on.
    option : str
        The way that was agreed on.
    price : float or None
        What was really agreed on for the fixed lines, with tax.
    quoted : float or None
        What the lines added up to, with tax; None in older records.
    tax : float or None
        Share of tax in force that day; None in older records.
    lines : tuple of AgreedLine
        None in older records.
    finished : frozenset of str
        Operations on which nothing more will be done.
    person : str
        Who alone works on it; empty where anybody may.
    fee : float or None
        What the evaluation visit was charged, with tax.
    """

    agreed_on: date | None
    option: str
    price: float | None
    quoted: float | None
    tax: float | None
    lines: tuple[AgreedLine, ...]
    if_found: tuple[IfFoundLine, ...]
    changes: tuple[Change, ...]
    money: tuple[Moved, ...]
    returns: tuple[Return, ...]
    finished: frozenset[str]
    promised: date | None
    person: str
    fee: float | None

    @property
    def price_now(self) -> float | None:
        """What the client owes in all, with tax: as agreed, with if-found lines that were done, and changes."""
        if self.price is None:
            return None
        found = sum(row.price for row in self.if_found if row.answer == DONE_AS_FOUND)
        return self.price + found + sum(change.price for change in self.changes)

    def in_all(self, *kinds: str) -> float:
        """Return the money of some kinds."""
        return sum(moved.amount for moved in self.money if moved.what in kinds)

    @property
    def still_owed(self) -> float | None:
        """What of the price is not paid yet, with tax."""
        return None if self.price_now is None else self.price_now - self.in_all(DEPOSIT, PAYMENT)


def to_ledger(fields: Mapping[str, Sequence[Entry]], agreed: Mapping[str, Any]) -> Ledger:
    """Return the ledger that the entries of a job come to.

    Parameters
    ----------
    fields : mapping of field to its entries
        Of one visit.
    agreed : mapping
        As `valuation.record.job_card.agreed_of` gives it.
    """
    values = {name: (value, first) for name, value, first in values_of(fields)}

    def of(beginning: str) -> list[tuple[str, Any, str]]:
        return [(name, value, first.who) for name, (value, first) in values.items() if name.startswith(beginning)]

    promised = values.get(job_card.PROMISED)
    person, fee = values.get(job_card.PERSON), values.get(job_card.FEE)
    return Ledger(
        agreed_on=day_of(agreed.get("day")),
        option=line(agreed.get("option")),
        price=_figure(agreed.get("price")),
        quoted=_figure(agreed.get("quoted")),
        tax=_figure(agreed.get("tax")),
        lines=tuple(_line(row) for row in agreed.get("lines") or ()),
        if_found=tuple(_if_found(row, answers_of(fields)) for row in agreed.get("if_found") or ()),
        changes=tuple(
            Change(
                field=name,
                what=line(value["what"]),
                day=date.fromisoformat(value["day"]),
                price=float(value.get("price") or 0.0),
                hours=float(value.get("hours") or 0.0),
            )
            for name, value, _ in of(job_card.CHANGE)
        ),
        money=tuple(
            Moved(
                field=name,
                what=value["what"],
                amount=float(value["amount"]),
                day=date.fromisoformat(value["day"]),
                note=value.get("note") or "",
            )
            for name, value, _ in of(job_card.MONEY)
        ),
        returns=tuple(_return(name, value, who) for name, value, who in of(job_card.RETURN)),
        finished=frozenset(name.removeprefix(job_card.FINISHED) for name, *_ in of(job_card.FINISHED)),
        promised=date.fromisoformat(promised[0]["day"]) if promised else None,
        person=line(person[0]) if person else "",
        fee=float(fee[0]) if fee else None,
    )


def _figure(value: Any) -> float | None:
    return None if value is None else float(value)


def _line(row: Mapping[str, Any]) -> AgreedLine:
    figures = {name: float(row.get(name) or 0.0) for name in ("hours", "labour", "materials", "outside")}
    return AgreedLine(
        operation=row["operation"], part=row.get("part") or "", with_it=tuple(row.get("with_it") or ()), **figures
    )


def _if_found(row: Mapping[str, Any], answers: Mapping[str, tuple[str, date | None]]) -> IfFoundLine:
    answer, on = answers.get(row["key"], ("", None))
    low, likely, high = row.get("hours") or (0, 0, 0)
    rising = 0 < low <= likely <= high
    return IfFoundLine(
        key=row["key"],
        operation=row["operation"],
        part=row.get("part") or "",
        chance=_figure(row.get("chance")),
        price=float(row["price"]),
        hours=EstimatedHours(operation=row["operation"], low=low, likely=likely, high=high) if rising else None,
        answer=answer,
        on=on,
    )


def _return(name: str, value: Mapping[str, Any], who: str) -> Return:
    day, delivered = date.fromisoformat(value["day"]), day_of(value.get("delivered"))
    return Return(
        field=name,
        day=day,
        cause=value["cause"],
        part=value.get("part") or "",
        hours=float(value.get("hours") or 0.0),
        cost=float(value.get("cost") or 0.0),
        who=line(value.get("who")) or who,
        note=value.get("note") or "",
        days=(day - delivered).days if delivered else None,
    )
