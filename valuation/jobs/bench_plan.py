"""When work is done: the jobs in hand and the people at the bench, played through many times.

Each time draws what every operation still takes, by what its hours say and what the job has shown so far. People take
the jobs in the order of the queue, one operation after another; while glue or varnish rests, the next job is taken up.
Days come out as odds: a date to promise is one that is kept nine times in ten.

    hours of an operation = likely * exp(job + own),   job ~ N(0, job_spread), the same for all of one job

What is finished of a job tells its factor (normal, conjugate); an operation begun takes more than it has taken so far.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from valuation.engine.arrays import Floats, Ints
from valuation.engine.money import log_spread
from valuation.jobs.people import Person
from valuation.jobs.records import EstimatedHours, Job

DRAWS = 400
HORIZON_DAYS = 3 * 365
"""Whatever isn't done by then is told as done then or later."""

SURE = 0.9
"""A date is promised that is kept so often [-]."""

_LEAST_OWN = 0.05
"""Hours are noted in quarters: no operation is surer than that [-]."""

_AHEAD = 32
"""So many jobs of the queue are looked at first: one that is ready is nearly always among them."""

_TRIES = 60
"""Draws for an operation that is begun, until one is longer than it has taken so far; then the tail's own figure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One operation that is still to do.

    Attributes
    ----------
    done : float
        Booked on it so far [h].
    rests : float
        Days that the piano rests after it, for glue, varnish or strings [days].
    """

    operation: str
    hours: EstimatedHours
    done: float
    rests: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Queued:
    """One job in the queue.

    Attributes
    ----------
    tasks : tuple of Task
        In the order of the work.
    shown : tuple of float
        log(done / likely) of each operation that is finished, beside its own spread: what the job has shown so far.
    not_before : date or None
        Day on which the piano comes in.
    only : str
        Name of the person who alone works on it; where that is none of those at the bench, anybody does.
    """

    visit: str
    tasks: tuple[Task, ...]
    shown: tuple[tuple[float, float], ...] = ()
    not_before: date | None = None
    only: str = ""


def queued(
    visit: str,
    job: Job,
    rests: Mapping[str, float],
    *,
    job_spread: float,
    not_before: date | None = None,
    only: str = "",
) -> Queued:
    """Return a job as it waits at the bench.

    Parameters
    ----------
    rests : mapping of operation to days
        How long the piano rests after it.
    job_spread : float
        Spread that all hours of a job share, standard deviation of the logarithm [-].
    not_before, only : date, str, optional
        As for `Queued`.
    """
    done = job.hours_by_operation
    tasks, shown = [], []
    for line in job.estimate:
        hours = done.get(line.operation, 0.0)
        if line.operation in job.finished:
            if hours > 0 and line.likely > 0:
                shown.append((math.log(hours / line.likely), own_spread(line, job_spread)))
        else:
            tasks.append(Task(operation=line.operation, hours=line, done=hours, rests=rests.get(line.operation, 0.0)))
    return Queued(visit=visit, tasks=tuple(tasks), shown=tuple(shown), not_before=not_before, only=only)


def own_spread(line: EstimatedHours, job_spread: float) -> float:
    """Return an operation's spread beside the job's [-]."""
    if line.likely == 0:
        return 0.0
    spread = log_spread(line.low, line.likely, line.high)
    return math.sqrt(max(spread**2 - job_spread**2, _LEAST_OWN**2))


@dataclass(frozen=True, eq=False, kw_only=True)
class Dates:
    """Days on which one job may be done, one a draw, as days after `on`."""

    visit: str
    on: date
    days: Floats

    def by(self, share: float) -> date:
        """Return the first day by which it is done in such a share of the draws."""
        rank = min(math.ceil(share * len(self.days) - 1e-9), len(self.days)) - 1
        return self.on + timedelta(days=int(np.sort(self.days)[max(rank, 0)]))

    def odds(self, day: date) -> float:
        """Return how likely it is done by a day [-]."""
        return float(np.mean(self.days <= (day - self.on).days))

    @property
    def beyond(self) -> bool:
        """Whether the date to promise lies beyond what was played through: nobody works enough hours."""
        return bool(np.sort(self.days)[math.ceil(SURE * len(self.days) - 1e-9) - 1] >= HORIZON_DAYS)


def play(
    queue: Sequence[Queued],
    people: Sequence[Person],
    *,
    on: date,
    job_spread: float,
    seed: int = 1,
    draws: int = DRAWS,
) -> tuple[Dates, ...]:
    """Return when each job of a queue may be done.

    Parameters
    ----------
    queue : sequence of Queued
        The first is taken up first.
    on : date
        The first day of work.

    Returns
    -------
    tuple of Dates
        In the order of the queue.
    """
    rng = np.random.default_rng(seed)
    hours = [_hours(job, job_spread, draws, rng) for job in queue]
    calendar = [worked_by(person, on) for person in people]
    days = np.full((len(queue), draws), HORIZON_DAYS)
    if queue and people:
        names = [person.name for person in people]
        may = np.array([[job.only in ("", name) or job.only not in names for name in names] for job in queue])
        days = _days(queue, hours, calendar, may, on)
    return tuple(Dates(visit=job.visit, on=on, days=own) for job, own in zip(queue, days, strict=True))


def worked_by(person: Person, on: date) -> Floats:
    """Return the hours that a person has worked by the end of each day from `on` [h]."""
    return np.cumsum([person.hours_on(on + timedelta(days=n)) for n in range(HORIZON_DAYS)])


def _hours(job: Queued, job_spread: float, draws: int, rng: np.random.Generator) -> Floats:
    """Draw what each task of a job still takes [h]; one row a task."""
    precision = 1 / job_spread**2 if job_spread else math.inf
    weighted = 0.0
    for log_ratio, own in job.shown:
        precision += 1 / own**2
        weighted += log_ratio / own**2
    factor = rng.normal(weighted / precision, math.sqrt(1 / precision), draws) if job_spread else np.zeros(draws)
    left = np.zeros((len(job.tasks), draws))
    for place, task in enumerate(job.tasks):
        own = own_spread(task.hours, job_spread)
        whole = task.hours.likely * np.exp(factor + own * rng.standard_normal(draws))
        for _ in range(_TRIES if task.done > 0 and own else 0):
            short = whole <= task.done
            if not short.any():
                break
            again = task.hours.likely * np.exp(factor[short] + own * rng.standard_normal(int(short.sum())))
            whole[short] = again
        left[place] = np.maximum(whole - task.done, 0.0)
    return left


def _days(
    queue: Sequence[Queued], hours: Sequence[Floats], calendar: Sequence[Floats], may: NDArray[np.bool_], on: date
) -> Floats:
    """Play all draws at once: whoever is free first takes the first task of the queue that waits for nothing.

    Parameters
    ----------
    queue : sequence of Queued, length n
    hours : sequence of ndarray
        What each task of each job still takes in each draw [h].
    calendar : sequence of ndarray
        Hours that each person has worked by the end of each day [h].
    may : ndarray, shape (n, people)
        Who may work on which job.
    on : date

    Returns
    -------
    ndarray, shape (n, draws)
        Day on which each job is done, counted from `on`.
    """
    draws, tasks = hours[0].shape[1], np.array([len(job.tasks) for job in queue])
    left = np.zeros((len(queue), max(tasks.max(), 1), draws))
    rests = np.zeros(left.shape[:2], dtype=int)
    for j, (one, own) in enumerate(zip(queue, hours, strict=True)):
        left[j, : len(one.tasks)] = own
        rests[j, : len(one.tasks)] = [math.ceil(task.rests) for task in one.tasks]
    comes = [max((one.not_before - on).days, 0) if one.not_before else 0 for one in queue]
    ready = np.repeat(np.array(comes)[:, None], draws, axis=1)
    next_task = np.zeros_like(ready)
    waits = np.repeat(tasks[:, None] > 0, draws, axis=1)
    done = np.where(waits, HORIZON_DAYS, np.minimum(ready, HORIZON_DAYS))
    bench = _Bench(calendar, draws)
    front = waits.argmax(axis=0)  # of each draw the first job that waits, or one before it
    jobs_left = waits.sum(axis=0)
    while (going := np.flatnonzero((jobs_left > 0) & (bench.free.min(axis=0) < HORIZON_DAYS))).size:
        who = bench.free[:, going].argmin(axis=0)
        job, works = _first(waits, ready, front, going, bench.free[who, going], may[:, who])
        if not works.all():
            idle = going[~works]
            can = waits[:, idle] & may[:, who[~works]]
            bench.go_on(who[~works], idle, np.where(can, ready[:, idle], HORIZON_DAYS).min(axis=0))
        who, job, at = who[works], job[works], going[works]
        task = next_task[job, at]
        through = bench.work(who, at, left[job, task, at])
        bench.go_on(who, at, through)
        ready[job, at] = through + rests[job, task]
        next_task[job, at] += 1
        last = next_task[job, at] == tasks[job]
        done[job[last], at[last]] = np.minimum(ready[job[last], at[last]], HORIZON_DAYS)
        waits[job[last], at[last]] = False
        jobs_left[at[last]] -= 1
        front[at] += (~waits[front[at], at]) & (front[at] < len(queue) - 1)
    return done


def _first(
    waits: NDArray[np.bool_], ready: Ints, front: Ints, draws: Ints, day: Ints, may: NDArray[np.bool_]
) -> tuple[Ints, NDArray[np.bool_]]:
    """Return the first job of some draws that waits, is ready by a day and may be taken, and whether there is one."""
    place = np.arange(len(draws))
    rows = np.minimum(front[draws] + np.arange(_AHEAD)[:, None], len(waits) - 1)
    can = waits[rows, draws] & (ready[rows, draws] <= day) & may[rows, place]
    job, found = rows[can.argmax(axis=0), place], can.any(axis=0)
    if not found.all() and len(waits) > _AHEAD:
        far = np.flatnonzero(~found)
        can = waits[:, draws[far]] & (ready[:, draws[far]] <= day[far]) & may[:, far]
        job[far], found[far] = can.argmax(axis=0), can.any(axis=0)
    return job, found


class _Bench:
    """What each person has worked in each draw [h], and the day on which they have time again."""

    def __init__(self, calendar: Sequence[Floats], draws: int) -> None:
        self.calendar = np.array(calendar)
        self.worked = np.zeros((len(calendar), draws))
        # one after the other, so that one search finds the days of all people at once
        self._most = float(self.calendar.max()) + 1
        self._row = (self.calendar + self._most * np.arange(len(calendar))[:, None]).ravel()
        first = self._reached(np.arange(len(calendar)), np.full(len(calendar), 1e-9))
        self.free = np.repeat(first[:, None], draws, axis=1)

    def work(self, who: Ints, at: Ints, hours: Floats) -> Ints:
        """Let people work so many hours in some draws, and return the days on which they are through."""
        self.worked[who, at] += hours
        return self._reached(who, self.worked[who, at] - 1e-9)

    def go_on(self, who: Ints, at: Ints, day: Ints) -> None:
        """Let people have time again on some day, or the first one after on which they work: idle hours are lost."""
        later = (day > 0) & (day < HORIZON_DAYS)
        person, draw = who[later], at[later]
        self.worked[person, draw] = np.maximum(self.worked[person, draw], self.calendar[person, day[later] - 1])
        then = self._reached(who, self.worked[who, at] + 1e-9)
        self.free[who, at] = np.where(day < HORIZON_DAYS, then, HORIZON_DAYS)

    def _reached(self, who: Ints, hours: Floats) -> Ints:
        """Return the day by whose end each has worked so many hours."""
        within = np.minimum(hours, self._most - 0.5)
        return np.searchsorted(self._row, self._most * who + within) - self.calendar.shape[1] * who
