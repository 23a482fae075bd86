"""What finished jobs earned an hour, and on what the shop loses: by operation, person, and where the client came from.

Earned is what a job leaves for the hours: the price really agreed on, with if-found lines that were done and changes,
less tax, materials and bought-in work. It is shared out over the operations as the lines priced their labour, and over
people by the hours that each worked on an operation. Lost is what those hours would have brought at the rate of the
lines, less what they earned.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from valuation.jobs.ledger import BOUGHT_IN, DONE_AS_FOUND, Ledger
from valuation.jobs.records import Job
from valuation.jobs.remaining import expected_of
from valuation.learn.ratios import Ratio, ratio_of

ALL = ""


@dataclass(frozen=True, eq=False, kw_only=True)
class Booked:
    """One job with its ledger; `source` is where the client came from, `told` what they were told."""

    title: str
    job: Job
    ledger: Ledger
    source: str = ""
    told: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Hours of one job that belong to one operation, person or source [h], what they earned, and at the lines' rate."""

    of: str
    hours: float
    money: float
    at_rate: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Earned:
    """What one operation, person or source earned over all jobs.

    Attributes
    ----------
    of : str
        Its id or name; empty for all.
    hours, money : float
        Hours [h], and what they earned.
    per_hour : Ratio
        Money over hours.
    rate : float
        What the lines were priced at [money/h].
    lost : float
        What those hours would have brought at that rate, less what they earned; below 0 where they brought more.
    """

    of: str
    jobs: int
    hours: float
    money: float
    per_hour: Ratio
    rate: float
    lost: float

    @property
    def says(self) -> bool:
        """Whether the jobs tell that it earns another rate than the lines'."""
        return self.per_hour.differs_from(self.rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobMoney:
    """What one job came to, before tax.

    Attributes
    ----------
    price : float
        What the client pays.
    materials, bought_in : float
        What they cost where that was entered, else as priced.
    returns : float
        What returns cost, beside their hours.
    earned : float
        What is left for the hours of the job, before returns.
    hours, return_hours : float
        [h]
    rate : float
        At which the lines priced an hour.
    """

    price: float
    materials: float
    bought_in: float
    returns: float
    earned: float
    hours: float
    return_hours: float
    rate: float


def money_of(booked: Booked, *, tax: float, job_spread: float) -> JobMoney | None:
    """Return what a job came to; None where no price was agreed on or no hour was entered.

    Parameters
    ----------
    tax : float
        Share of tax where the agreement doesn't tell.
    job_spread : float
        As for `expected_of`.
    """
    ledger, job = booked.ledger, booked.job
    hours = sum(entry.hours for entry in job.work)
    if ledger.price_now is None or not hours:
        return None
    less = 1 + (tax if ledger.tax is None else ledger.tax)
    price = ledger.price_now / less
    used = sum(entry.cost for entry in job.work)
    bought = ledger.in_all(BOUGHT_IN) / less
    materials = used or sum(line.materials for line in ledger.lines)
    bought_in = bought or sum(line.outside for line in ledger.lines)
    earned = price - materials - bought_in
    priced_hours = sum(line.hours for line in ledger.lines) or sum(expected_of(e, job_spread) for e in job.estimate)
    labour = sum(line.labour for line in ledger.lines) or earned
    return JobMoney(
        price=price,
        materials=materials,
        bought_in=bought_in,
        returns=sum(back.cost for back in ledger.returns),
        earned=earned,
        hours=hours,
        return_hours=sum(back.hours for back in ledger.returns),
        rate=labour / priced_hours if priced_hours else earned / hours,
    )


def weights_of(booked: Booked, *, tax: float, job_spread: float) -> dict[str, float]:
    """Return how much of the labour that was priced belongs to each operation [money, or h in older records].

    A line's labour is shared out over the operations in it by their expected hours.
    """
    expected: dict[str, float] = {}
    for line in booked.job.estimate:
        expected[line.operation] = expected.get(line.operation, 0.0) + expected_of(line, job_spread)
    if not booked.ledger.lines:
        return expected
    found: dict[str, float] = {}
    for row in booked.ledger.lines:
        names = (row.operation, *row.with_it)
        whole = sum(expected.get(name, 0.0) for name in names)
        for name in names:
            share = expected.get(name, 0.0) / whole if whole else float(name == row.operation)
            found[name] = found.get(name, 0.0) + share * row.labour
    less = 1 + (tax if booked.ledger.tax is None else booked.ledger.tax)
    for extra in booked.ledger.if_found:
        if extra.answer == DONE_AS_FOUND:
            found[extra.operation] = found.get(extra.operation, 0.0) + extra.price / less
    return found


def parts_of(booked: Booked, money: JobMoney, by: str, *, tax: float, job_spread: float) -> list[Part]:
    """Return the parts of one job by ``operation``, ``person`` or ``source``.

    The parts by operation and by person add up to the job's own hours, and to what it earned but for operations that
    were priced and not done. By source, returns are in it.
    """
    if by == "source":
        hours = money.hours + money.return_hours
        earned = money.earned - money.returns
        return [Part(of=booked.source, hours=hours, money=earned, at_rate=money.rate * hours)]
    weights = weights_of(booked, tax=tax, job_spread=job_spread)
    whole = sum(weights.values())
    done = booked.job.hours_by_operation
    each = {
        name: money.earned * (weights.get(name, 0.0) / whole if whole else hours / money.hours)
        for name, hours in done.items()
    }
    if by == "operation":
        return [Part(of=n, hours=h, money=each[n], at_rate=money.rate * h) for n, h in done.items() if h > 0]
    people: dict[str, list[float]] = {}
    for entry in booked.job.work:
        if entry.hours:
            sums = people.setdefault(entry.who, [0.0, 0.0])
            sums[0] += entry.hours
            sums[1] += each[entry.operation] * entry.hours / done[entry.operation]
    return [Part(of=who, hours=h, money=m, at_rate=money.rate * h) for who, (h, m) in people.items()]


def earned_by(found: Iterable[list[Part]]) -> tuple[Earned, ...]:
    """Return what each operation, person or source earned, the most lost first; one list of parts a job."""
    groups: dict[str, list[Part]] = {}
    for parts in found:
        for part in parts:
            groups.setdefault(part.of, []).append(part)
    made = [_earned(name, own) for name, own in groups.items()]
    return tuple(sorted(made, key=lambda one: (-one.lost, one.of)))


def _earned(of: str, parts: list[Part]) -> Earned:
    hours, money = sum(p.hours for p in parts), sum(p.money for p in parts)
    at_rate = sum(p.at_rate for p in parts)
    return Earned(
        of=of,
        jobs=len(parts),
        hours=hours,
        money=money,
        per_hour=ratio_of([p.money for p in parts], [p.hours for p in parts]),
        rate=at_rate / hours if hours else 0.0,
        lost=at_rate - money,
    )


@dataclass(frozen=True, eq=False, kw_only=True)
class Earnings:
    """What finished jobs earned.

    Attributes
    ----------
    jobs : tuple of (Booked, JobMoney)
    without : tuple of Booked
        Those without a price or without hours, of which nothing can be told.
    by : dict of str to tuple of Earned
        By ``operation``, ``person`` and ``source``, the most lost first.
    margin : float or None
        What is left of the price when the hours are paid [-]; None where nobody said what an hour costs the shop.
    """

    jobs: tuple[tuple[Booked, JobMoney], ...]
    without: tuple[Booked, ...]
    whole: Earned
    by: dict[str, tuple[Earned, ...]]
    margin: float | None


def earnings(
    jobs: Iterable[Booked], *, tax: float, job_spread: float, cost_an_hour: Callable[[str], float | None]
) -> Earnings:
    """Return what finished jobs earned.

    Parameters
    ----------
    tax, job_spread : float
        As for `money_of`.
    cost_an_hour : callable
        What an hour of a person costs the shop; None where nobody said.
    """
    by_the_tables = {"tax": tax, "job_spread": job_spread}
    pairs = [(booked, money_of(booked, **by_the_tables)) for booked in jobs]
    told = [(booked, money) for booked, money in pairs if money is not None]

    def by(what: str) -> list[list[Part]]:
        return [parts_of(booked, money, what, **by_the_tables) for booked, money in told]

    whole = [[Part(of=ALL, hours=p.hours, money=p.money, at_rate=p.at_rate) for p in parts] for parts in by("source")]
    return Earnings(
        jobs=tuple(told),
        without=tuple(booked for booked, money in pairs if money is None),
        whole=next(iter(earned_by(whole)), _earned(ALL, [])),
        by={what: earned_by(by(what)) for what in ("operation", "person", "source")},
        margin=_margin(told, cost_an_hour),
    )


def _margin(told: list[tuple[Booked, JobMoney]], cost_an_hour: Callable[[str], float | None]) -> float | None:
    price = sum(money.price for _, money in told)
    costs: list[float] = []
    for booked, money in told:
        for who, hours in _by_person(booked).items():
            each = cost_an_hour(who)
            if each is None:
                return None
            costs.append(each * hours)
        costs.append(money.materials + money.bought_in + money.returns)
    return 1 - sum(costs) / price if price else None


def _by_person(booked: Booked) -> dict[str, float]:
    worked: dict[str, float] = {}
    for who, hours in [
        *((entry.who, entry.hours) for entry in booked.job.work),
        *((back.who, back.hours) for back in booked.ledger.returns),
    ]:
        worked[who] = worked.get(who, 0.0) + hours
    return {who: hours for who, hours in worked.items() if hours}
