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

from valuation.engine.arrays import Floats
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
    """

    visit: str
    tasks: tuple[Task, ...]
    shown: tuple[tuple[float, float], ...] = ()
    not_before: date | None = None


def queued(
    visit: str, job: Job, rests: Mapping[str, float], *, job_spread: float, not_before: date | None = None
) -> Queued:
    """Return a job as it waits at the bench.

    Parameters
    ----------
    rests : mapping of operation to days
        How long the piano rests after it.
    job_spread : float
        Spread that all hours of a job share, standard deviation of the logarithm [-].
    not_before : date, optional
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
    return Queued(visit=visit, tasks=tuple(tasks), shown=tuple(shown), not_before=not_before)


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
    calendar = [_worked_by(person, on) for person in people]
    days = np.full((len(queue), draws), float(HORIZON_DAYS))
    if people:
        for draw in range(draws):
            days[:, draw] = _one(queue, [own[:, draw] for own in hours], calendar, on)
    return tuple(Dates(visit=job.visit, on=on, days=own) for job, own in zip(queue, days, strict=True))


def _worked_by(person: Person, on: date) -> Floats:
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


def _one(queue: Sequence[Queued], hours: Sequence[Floats], calendar: Sequence[Floats], on: date) -> Floats:
    """Play one draw: whoever is free first takes the first task of the queue that waits for nothing."""
    ready = [max((job.not_before - on).days, 0) if job.not_before else 0 for job in queue]
    next_task = [0] * len(queue)
    done = np.array([float(ready[j]) if not job.tasks else math.inf for j, job in enumerate(queue)])
    worked = [0.0] * len(calendar)
    free = [int(np.searchsorted(own, 1e-9)) for own in calendar]
    open_jobs = [j for j, job in enumerate(queue) if job.tasks]
    while open_jobs:
        p = min(range(len(calendar)), key=lambda one: (free[one], one))
        today = free[p]
        if today >= HORIZON_DAYS:
            break
        j = next((j for j in open_jobs if ready[j] <= today), None)
        if j is None:
            free[p] = _at_work(calendar[p], worked, p, min(ready[j] for j in open_jobs))
            continue
        last = _work(calendar[p], worked, p, float(hours[j][next_task[j]]))
        rests = queue[j].tasks[next_task[j]].rests
        ready[j] = last + math.ceil(rests) if rests else last
        next_task[j] += 1
        free[p] = _at_work(calendar[p], worked, p, last)
        if next_task[j] == len(queue[j].tasks):
            done[j] = min(ready[j], HORIZON_DAYS)
            open_jobs.remove(j)
    return np.minimum(done, HORIZON_DAYS)


def _work(own: Floats, worked: list[float], p: int, hours: float) -> int:
    """Let a person work so many hours, and return the day on which they are through."""
    worked[p] += hours
    return int(np.searchsorted(own, worked[p] - 1e-9))


def _at_work(own: Floats, worked: list[float], p: int, day: int) -> int:
    """Return the day, from one on, on which a person has time; the hours of the days that went by idle are lost."""
    if day >= HORIZON_DAYS:
        return HORIZON_DAYS
    before = float(own[day - 1]) if day > 0 else 0.0
    worked[p] = max(worked[p], before)
    return int(np.searchsorted(own, worked[p] + 1e-9))
