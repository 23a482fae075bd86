"""Dates to promise against a workshop that is played day by day by other code: kept in 9 of 10.

The twin below is a plain clock: each day, each person, quarter hours. It shares with the tool only the truth that hours
are drawn from.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from valuation.jobs.bench_plan import SURE, play, queued
from valuation.jobs.people import Person
from valuation.jobs.records import EstimatedHours, Job, WorkDone

ON = date(2026, 6, 1)
JOB_SPREAD, OWN_SPREAD = 0.18, 0.25
Z90 = 1.2815515655446004
REST = {"o1": 2.0, "o4": 5.0}
PEOPLE = (
    Person(name="Ada", hours_a_week=32, leave=((date(2026, 6, 15), date(2026, 6, 26)),)),
    Person(name="Jo", hours_a_week=20),
)


def line(name: str, likely: float) -> EstimatedHours:
    reach = math.exp(Z90 * math.hypot(JOB_SPREAD, OWN_SPREAD))
    return EstimatedHours(operation=name, low=likely / reach, likely=likely, high=likely * reach)


def day_by_day(hours: list[list[float]], only: list[str] | None = None) -> list[int]:
    """Days after `ON` on which each job is done, the first of the queue first: a clock of quarter hours."""
    only = only or [""] * len(hours)
    left = [list(own) for own in hours]
    rest_until, done = [0] * len(hours), [0] * len(hours)
    holds: dict[int, int] = {}
    for day in range(2000):
        for p, person in enumerate(PEOPLE):
            quarters = round(person.hours_on(ON + timedelta(days=day)) * 4)
            while quarters:
                j = holds.get(p)
                if j is None:
                    free = (
                        k for k, own in enumerate(left)
                        if own and rest_until[k] <= day and k not in holds.values() and only[k] in ("", person.name)
                    )  # fmt: skip
                    j = next(free, None)
                    if j is None:
                        break
                    holds[p] = j
                left[j][0] -= 0.25
                quarters -= 1
                if left[j][0] <= 0:
                    task = len(hours[j]) - len(left[j])
                    left[j].pop(0)
                    del holds[p]
                    rest_until[j] = day + math.ceil(REST.get(f"o{task}", 0.0))
                    if not left[j]:
                        done[j] = rest_until[j]
        if not any(left):
            return done
    raise AssertionError("nobody got through")


@pytest.fixture(scope="module")
def kept() -> list[bool]:
    """Whether each of many promises was kept, over shops with queues of their own."""
    rng = np.random.default_rng(11)
    found = []
    for shop in range(150):
        jobs, truth = [], []
        for j in range(4):
            lines = [line(f"o{n}", float(rng.uniform(4, 14))) for n in range(6)]
            factor = JOB_SPREAD * rng.standard_normal()
            hours = [row.likely * math.exp(factor + OWN_SPREAD * rng.standard_normal()) for row in lines]
            finished = int(rng.integers(0, 3)) if j == 0 else 0
            work = tuple(WorkDone(operation=f"o{n}", hours=hours[n]) for n in range(finished))
            done = frozenset(f"o{n}" for n in range(finished))
            jobs.append(Job(visit=f"v{j}", kind="grand", estimate=tuple(lines), work=work, finished=done))
            truth.append((hours, finished))
        only = ["", "Jo", "Ada", ""] if shop % 3 == 0 else [""] * 4
        queue = [queued(job.visit, job, REST, job_spread=JOB_SPREAD, only=o) for job, o in zip(jobs, only, strict=True)]
        dates = play(queue, PEOPLE, on=ON, job_spread=JOB_SPREAD, seed=shop)
        came = day_by_day([hours[finished:] for hours, finished in truth], only)
        found += [own.by(SURE) >= ON + timedelta(days=days) for own, days in zip(dates, came, strict=True)]
    return found


def test_promised_dates_are_kept_in_nine_of_ten(kept):
    assert len(kept) == 600
    assert 0.88 <= np.mean(kept) <= 0.92


def test_what_a_job_has_shown_so_far_moves_its_date():
    lines = tuple(line(f"o{n}", 10.0) for n in range(6))

    def by(hours: float) -> date:
        work = tuple(WorkDone(operation=f"o{n}", hours=hours) for n in range(3))
        done = frozenset(f"o{n}" for n in range(3))
        job = Job(visit="v", kind="grand", estimate=lines, work=work, finished=done)
        return play([queued("v", job, {}, job_spread=JOB_SPREAD)], PEOPLE, on=ON, job_spread=JOB_SPREAD)[0].by(0.9)

    assert by(7.0) < by(10.0) < by(15.0)


def test_leave_and_rest_put_a_date_off_and_nobody_at_the_bench_none():
    job = Job(visit="v", kind="grand", estimate=tuple(line(f"o{n}", 10.0) for n in range(6)))
    alone = [Person(name="Ada", hours_a_week=30)]
    away = [Person(name="Ada", hours_a_week=30, leave=((ON, ON + timedelta(days=13)),))]

    def by(people, rests) -> date:
        return play([queued("v", job, rests, job_spread=0.1)], people, on=ON, job_spread=0.1)[0].by(0.9)

    assert by(away, {}) == by(alone, {}) + timedelta(days=14)
    assert by(alone, REST) > by(alone, {})
    assert play([queued("v", job, {}, job_spread=0.1)], [], on=ON, job_spread=0.1)[0].beyond


def test_a_job_waits_for_the_one_person_who_works_on_it_and_for_nobody_who_has_left():
    job = Job(visit="v", kind="grand", estimate=tuple(line(f"o{n}", 10.0) for n in range(6)))
    people = [Person(name="Ada", hours_a_week=30), Person(name="Jo", hours_a_week=5)]

    def by(only: str) -> date:
        return play([queued("v", job, {}, job_spread=0.1, only=only)], people, on=ON, job_spread=0.1)[0].by(0.9)

    assert by("Jo") > by("Ada") + timedelta(days=60)
    assert by("somebody who left") == by("")
