"""A simulated workshop whose truth is known: its pianos, its clients, its jobs. Everything in it is invented.

What the shop believes are the packaged tables. How things truly are is drawn for each shop: odds of faults tilted,
checks sharper or blunter, hours longer or shorter. Who opens a piano depends on what was found and what the work would
cost.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from finished_jobs import finished_job, true_ratios
from random_visits import in_words, live
from scipy.special import expit

from valuation.engine.condition import Condition, assess
from valuation.engine.network import network_of
from valuation.engine.rows import LEVELS_OF_CAUSE, SEVERITIES, Tables
from valuation.facts.visit import Piano, Range, Visit
from valuation.jobs.expected import expected_hours
from valuation.jobs.records import EstimatedHours, Evaluation, Job, JobEvent, Teardown
from valuation.learn.cases import Case
from valuation.learn.rising import nearest_rising
from valuation.rules import load_tables

TODAY = date(2026, 6, 1)
PER_HOUR = 90.0
TIER = "ordinary"
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
    severities : list of ndarray
        True severity of each fault of each piano.
    chance : ndarray, shape (n,)
        True chance of each to become a job.
    """

    believed: Tables
    truth: Truth
    visits: list[Visit]
    severities: list[np.ndarray]
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
            Case(visit=v, teardown=whole(self.believed, v, s))
            for v, s in zip(self.visits, self.severities, strict=True)
        ]


def faults_of(tables: Tables, visit: Visit):
    """Return the faults that such a piano can have."""
    return network_of(tables, visit.piano.kind, (), visit.piano.tier).faults


def whole(tables: Tables, visit: Visit, severities: np.ndarray) -> tuple[Teardown, ...]:
    faults = faults_of(tables, visit)
    return tuple(Teardown(fault=row.id, severity=SEVERITIES[s]) for row, s in zip(faults, severities, strict=True))


def draw_truth(believed: Tables, rng: np.random.Generator) -> Truth:
    """Draw how things truly are: like the believed tables, but off."""
    of_causes = {level for levels in LEVELS_OF_CAUSE.values() for level in levels}
    readings = []
    for id_ in dict.fromkeys(row.id for row in believed.readings):
        rows = [row for row in believed.readings if row.id == id_]
        shares = np.array([[getattr(row, s) for s in SEVERITIES] for row in rows])
        if rows[0].given not in of_causes:
            shares = shares ** rng.uniform(0.55, 1.5) * np.exp(0.3 * rng.standard_normal(shares.shape))
            shares = nearest_rising(np.maximum(shares / shares.sum(axis=1, keepdims=True), 0.0005))
        readings += [
            replace(row, **dict(zip(SEVERITIES, map(float, own), strict=True)))
            for row, own in zip(rows, shares, strict=True)
        ]
    tilts = {
        fault: np.exp(0.7 * rng.standard_normal() * np.array([-1.0, -0.3, 0.4, 0.9]))
        for fault in dict.fromkeys(row.fault for row in believed.fault_odds)
    }
    odds = []
    for row in believed.fault_odds:
        shares = np.array([getattr(row, s) for s in SEVERITIES]) * tilts[row.fault]
        odds.append(replace(row, **dict(zip(SEVERITIES, map(float, 100 * shares / shares.sum()), strict=True))))
    tables = replace(believed, readings=tuple(readings), fault_odds=tuple(odds))
    return Truth(tables=tables, ratios=true_ratios(believed, rng))


def believed_tables() -> Tables:
    """Return the packaged tables, every check answered in words."""
    return in_words(load_tables())


def simulate(
    rng: np.random.Generator, *, believed: Tables, truth: Truth | None = None, n: int = 400, months: int = 36
) -> Shop:
    """Draw a shop: about four in ten of its evaluations have become finished jobs."""
    truth = truth or draw_truth(believed, rng)
    visits, severities, evaluations, plans = [], [], [], []
    kinds = ["grand" if rng.random() < 0.3 else "upright" for _ in range(n)]
    for i, kind in enumerate(kinds):
        piano = Piano(kind=kind, year=int(rng.integers(1880, 1975)), tier=TIER)
        lived = live(truth.tables, piano, 1, rng, made=0.5)
        on = TODAY - timedelta(days=int(rng.uniform(0, 30.4 * months)))
        visit = replace(lived.visit(0, rng), title=f"v{i}", on=on)
        plan = _plan(believed, piano.kind, assess(believed, visit, on))
        visits.append(visit)
        severities.append(lived.severities[0])
        plans.append(plan)
        evaluations.append(_evaluation(believed, visit, plan, rng))
    chance = np.array([_chance(e, truth.ratios) for e in evaluations])
    yes = rng.random(n) < chance
    events, jobs = _what_became(believed, truth, visits, severities, plans, yes, rng)
    return Shop(believed, truth, visits, severities, evaluations, chance, yes, events, jobs)


def _plan(tables: Tables, kind: str, found: Condition) -> list[str]:
    """Renew or mend the parts that look bad, and do what must come after."""
    rows = tables.of_kind("operations", kind)
    chosen: dict[str, None] = {}
    for part, states in zip(found.network.parts, found.states, strict=True):
        level = "large" if states[2:].sum() > 0.6 else "small" if states[2:].sum() > 0.4 else ""
        fitting = (row for row in rows.values() if row.part == part.id and row.level == level and not row.only_with)
        if (row := next(fitting, None)) is not None:
            chosen |= dict.fromkeys((row.id, *(name for name in row.followed_by if name in rows)))
    return sorted(chosen)


def _estimate(tables: Tables, kind: str, plan: list[str], pieces=None) -> tuple[EstimatedHours, ...]:
    """Return what the shop believes that a plan takes; ten pieces of what goes by the piece, where nobody counts."""
    found = []
    for name in plan:
        cured = next((cure.fault for cure in tables.cures if cure.operation == name), "")
        found.append(expected_hours(tables, kind, (), name, (pieces or {}).get(name, {cured: 10.0})))
    return tuple(found)


def _hours(tables: Tables, kind: str, plan: list[str]) -> float:
    return sum(line.likely for line in _estimate(tables, kind, plan))


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
    odds = -0.4 - 0.8 * dear + 1.0 * evaluation.referred + 1.2 * (evaluation.premium > 0)
    return float(expit(odds))


def _what_became(believed, truth: Truth, visits, severities, plans, yes, rng):
    events, jobs = [], []

    def event(visit: Visit, stage: str, after: float) -> date:
        day = visit.on + timedelta(days=int(after))
        if day <= TODAY:
            events.append(JobEvent(id=f"{visit.title}-{stage}", visit=visit.title, day=day, stage=stage))
        return day

    for visit, severity, plan, will in zip(visits, severities, plans, yes, strict=True):
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
        treated = {rows[name].part for name in plan}
        parts = {fault.id: fault.part for fault in faults_of(believed, visit)}
        also = {part for part in sorted(set(parts.values())) if rng.random() < 0.5}
        shown = tuple(t for t in whole(believed, visit, severity) if parts[t.fault] in treated | also)
        finished = done <= TODAY
        jobs.append(
            replace(
                job,
                estimate=_estimate(believed, visit.piano.kind, plan, job.pieces),
                delivered=done if finished else None,
                work=job.work if finished else (),
                teardown=shown if finished else (),
            )
        )
    return events, jobs
