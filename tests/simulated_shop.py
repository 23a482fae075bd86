"""A simulated workshop whose truth is known: its pianos, its clients, its jobs. Everything in it is invented.

What the shop believes are the packaged tables. How things truly are is drawn for each shop: priors tilted, strengths
sharper or blunter, hours longer or shorter. Who opens a piano depends on what was found and what the work would cost.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from finished_jobs import finished_job, true_ratios
from random_pianos import in_words, live
from random_workshops import charged
from scipy.special import expit

from valuation.engine.condition import age_bands, assess, net_for, see
from valuation.engine.rows import EXPOSURES, GRADES, STATES, Tables
from valuation.facts.visit import Piano, Range, Visit
from valuation.jobs.records import EstimatedHours, Evaluation, Job, JobEvent, Teardown
from valuation.learn.cases import Case
from valuation.learn.rising import nearest_rising
from valuation.rules import load_tables

TODAY = date(2026, 6, 1)
PER_HOUR = 90.0
YES_DAYS, NO_DAYS = (35, 0.9), (50, 0.9)
"""Median and spread of the logarithm of how long a yes and a no take."""


@dataclass(frozen=True, eq=False)
class Truth:
    """How things are, which nobody in the shop knows."""

    tables: Tables
    ratios: dict[str, float]
    job_spread: float = 0.2
    stretch: float = 1.2


@dataclass(frozen=True, eq=False)
class Shop:
    """n evaluations, and what became of each.

    Attributes
    ----------
    states : list of ndarray
        True state of each part of each piano.
    chance : ndarray, shape (n,)
        True chance of each to become a job.
    """

    believed: Tables
    truth: Truth
    visits: list[Visit]
    states: list[np.ndarray]
    evaluations: list[Evaluation]
    chance: np.ndarray
    will_be_yes: np.ndarray
    events: list[JobEvent]
    jobs: list[Job]

    @property
    def finished(self) -> list[Job]:
        return [job for job in self.jobs if job.delivered is not None]

    @property
    def cases(self) -> list[Case]:
        """Every visit, with the teardown of those whose job is finished."""
        shown = {job.visit: job.teardown for job in self.finished}
        return [Case(visit=v, teardown=shown.get(v.title, ())) for v in self.visits]

    @property
    def all_opened(self) -> list[Case]:
        """Every visit as if every piano had been taken apart."""
        return [
            Case(visit=v, teardown=whole(self.believed, v, s)) for v, s in zip(self.visits, self.states, strict=True)
        ]


def whole(tables: Tables, visit: Visit, states: np.ndarray) -> tuple[Teardown, ...]:
    parts = net_for(tables, visit.piano.kind, ()).parts
    return tuple(Teardown(part=row.id, state=STATES[s]) for row, s in zip(parts, states, strict=True))


def draw_truth(believed: Tables, rng: np.random.Generator) -> Truth:
    """Draw how things truly are: like the believed tables, but off."""
    strengths = {}
    for id_ in dict.fromkeys(row.id for row in believed.strengths):
        rows = [row for row in believed.strengths if row.id == id_]
        shares = np.array([[getattr(row, grade) for grade in GRADES] for row in rows])
        if len(rows) == 4 and not id_.startswith("view"):
            shares = shares ** rng.uniform(0.55, 1.5) * np.exp(0.3 * rng.standard_normal(shares.shape))
            shares = np.maximum(shares / shares.sum(axis=1, keepdims=True), 0.003)
        strengths[id_] = nearest_rising(shares)
    priors = {}
    for part in believed.parts:
        tilt = np.exp(0.7 * rng.standard_normal() * np.array([-1.0, -0.3, 0.4, 0.9]))
        for age in believed.ages:
            rows = [row for row in believed.priors if (row.part, row.age) == (part.id, age.id)]
            shares = np.array([[getattr(row, s) for s in STATES] for row in rows]) * tilt
            priors[part.id, age.id] = nearest_rising(shares / shares.sum(axis=1, keepdims=True), least=0.005)
    seen: dict[str, int] = {}
    rows = []
    for row in believed.strengths:
        shares = strengths[row.id][seen.setdefault(row.id, 0)]
        seen[row.id] += 1
        rows.append(replace(row, **dict(zip(GRADES, map(float, shares), strict=True))))
    prior_rows = [
        replace(
            row,
            **dict(zip(STATES, map(float, priors[row.part, row.age][EXPOSURES.index(row.exposure)]), strict=True)),
        )
        for row in believed.priors
    ]
    tables = replace(believed, strengths=tuple(rows), priors=tuple(prior_rows))
    return Truth(tables=tables, ratios=true_ratios(believed, rng))


def believed_tables() -> Tables:
    """Return the packaged tables, every check answered in words."""
    return in_words(load_tables())


def simulate(
    rng: np.random.Generator, *, believed: Tables, truth: Truth | None = None, n: int = 400, months: int = 36
) -> Shop:
    """Draw a shop: about four in ten of its evaluations have become finished jobs."""
    truth = truth or draw_truth(believed, rng)
    visits, states, evaluations, plans = [], [], [], []
    for i in range(n):
        piano = Piano(kind="grand" if rng.random() < 0.3 else "upright", year=int(rng.integers(1880, 1975)))
        lived = live(truth.tables, piano, 1, rng, made=0.5)
        on = TODAY - timedelta(days=int(rng.uniform(0, 30.4 * months)))
        visit = replace(lived.visit(0), title=f"v{i}", on=on)
        net = net_for(believed, piano.kind, ())
        odds = assess(net, see(net, visit), age_bands(believed, net, piano, on.year)).states
        plan = _plan(believed, piano.kind, odds)
        visits.append(visit)
        states.append(lived.states[0])
        plans.append(plan)
        evaluations.append(_evaluation(believed, visit, plan, rng))
    chance = np.array([_chance(e, truth.ratios) for e in evaluations])
    yes = rng.random(n) < chance
    events, jobs = _what_became(believed, truth, visits, states, plans, yes, rng)
    return Shop(believed, truth, visits, states, evaluations, chance, yes, events, jobs)


def _plan(tables: Tables, kind: str, odds: np.ndarray) -> list[str]:
    """Treat what looks bad, and all that this brings along."""
    rows = tables.of_kind("operations", kind)
    chosen = []
    for part, states in zip(net_for(tables, kind, ()).parts, odds, strict=True):
        level = "replace" if states[2:].sum() > 0.6 else "repair" if states[2:].sum() > 0.4 else ""
        chosen += [name for name, row in rows.items() if row.part == part.id and row.level == level][:1]
    return sorted(charged(rows, chosen))


def _hours(tables: Tables, kind: str, plan: list[str]) -> float:
    rows = tables.of_kind("operations", kind)
    return sum(rows[name].hours_likely for name in plan)


def _evaluation(tables: Tables, visit: Visit, plan: list[str], rng: np.random.Generator) -> Evaluation:
    hours = _hours(tables, visit.piano.kind, plan)
    price = PER_HOUR * hours * 1.3
    value = float(np.exp(rng.normal(8.6 if visit.piano.kind == "grand" else 7.6, 0.7)))
    return Evaluation(
        visit=visit.title,
        on=visit.on,
        kind=visit.piano.kind,
        verdict="keep" if not plan else "partial_repair" if hours < 60 else "rebuild",
        price=Range(low=price / 1.3, likely=price, high=price * 1.3) if hours else None,
        value_after=value,
        hours=Range(low=hours / 1.3, likely=hours, high=hours * 1.3) if hours else None,
        technician=str(rng.choice(["Ada", "Jo"])),
        source=str(rng.choice(["friends", "teacher", "found us"])),
        referred=bool(rng.random() < 0.4),
        premium=float(rng.choice([0, 0, 1500])),
    )


def _chance(evaluation: Evaluation, ratios: dict[str, float]) -> float:
    if evaluation.price is None:
        return 0.05
    dear = np.log(evaluation.price.likely / evaluation.value_after)
    odds = 0.55 - 0.8 * dear + 1.0 * evaluation.referred + 1.2 * (evaluation.premium > 0)
    return float(expit(odds))


def _what_became(believed, truth: Truth, visits, states, plans, yes, rng):
    events, jobs = [], []

    def event(visit: Visit, stage: str, after: float) -> date:
        day = visit.on + timedelta(days=int(after))
        if day <= TODAY:
            events.append(JobEvent(id=f"{visit.title}-{stage}", visit=visit.title, day=day, stage=stage))
        return day

    for visit, state, plan, will in zip(visits, states, plans, yes, strict=True):
        event(visit, "asked", -10)
        event(visit, "evaluated", 0)
        if not will:
            if rng.random() < 0.45:
                event(visit, "declined", NO_DAYS[0] * np.exp(NO_DAYS[1] * rng.standard_normal()))
            continue
        days = YES_DAYS[0] * np.exp(YES_DAYS[1] * rng.standard_normal())
        if event(visit, "accepted", days) > TODAY or not plan:
            continue
        done = event(visit, "delivered", days + rng.uniform(40, 120))
        rows = believed.of_kind("operations", visit.piano.kind)
        job = finished_job(
            believed,
            rng,
            truth.ratios,
            visit.title,
            kind=visit.piano.kind,
            operations=plan,
            job_spread=truth.job_spread,
            stretch=truth.stretch,
        )
        estimate = tuple(
            EstimatedHours(
                operation=name, low=rows[name].hours_low, likely=rows[name].hours_likely, high=rows[name].hours_high
            )
            for name in plan
        )
        treated = {rows[name].part for name in plan}
        shown = tuple(t for t in whole(believed, visit, state) if t.part in treated or rng.random() < 0.5)
        finished = done <= TODAY
        jobs.append(
            replace(
                job,
                estimate=estimate,
                delivered=done if finished else None,
                work=job.work if finished else (),
                teardown=shown if finished else (),
            )
        )
    return events, jobs
