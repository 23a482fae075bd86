"""What finished jobs teach of hours: a ratio for each family of operations, shrunk by how little is known.

    log(hours done / hours in the tables) = shop + family + job + the operation's own luck

Hours in the tables are set-up and pieces together, for as many pieces as were counted when the work was agreed on.
Families share what holds for the whole shop, so one with few jobs leans on the others; a job that ran over as a whole
moves all its operations together and counts once, not once for each. Before any job all ratios are 1, give or take.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.optimize import brentq
from scipy.special import logsumexp, ndtr

from valuation.engine.money import log_spread
from valuation.engine.rows import OperationRow, Tables
from valuation.jobs.expected import expected_hours
from valuation.jobs.records import EstimatedHours, Job
from valuation.learn.shares import LEVEL

SHOP_SPREAD = 0.25
"""How far the whole shop may lie off the tables before any job: standard deviation of the logarithm [-]."""

FAMILY_SPREADS = (0.02, 0.05, 0.1, 0.15, 0.22, 0.3, 0.42, 0.6)
FAMILY_SPREAD_SCALE = 0.25
"""How far families may differ from one another: these are weighed, half-normal with this scale, by what jobs show."""

JOB_SPREADS = (0.02, 0.06, 0.1, 0.14, 0.18, 0.24, 0.32, 0.45)
OWN_STRETCHES = (0.4, 0.55, 0.7, 0.85, 1.0, 1.2, 1.45, 1.8, 2.3)
"""How far jobs run over as a whole, and by how much the tables' own spreads must be stretched: weighed the same way."""

_FURTHEST = 0.5
"""Logarithms of the two above lie within so much of the tables: one standard deviation of the prior."""

_LEAST_OWN_SPREAD = 0.05
"""Hours are noted in quarters: no operation is surer than that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyRatio:
    """What one family of operations takes over what the tables say.

    Attributes
    ----------
    ratio, low, high : float
        Learned, and between which limits it lies in 9 of 10 cases [-].
    raw : float
        The plain mean of the logarithms, unheld, for comparison [-].
    """

    family: str
    ratio: float
    low: float
    high: float
    raw: float
    jobs: int
    observations: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursLearned:
    """What all jobs teach of hours.

    Attributes
    ----------
    families : tuple of FamilyRatio
        Those with jobs, by name.
    job_spread, job_spread_low, job_spread_high : float
        How whole jobs run over or under, standard deviation of the logarithm [-].
    unknown : tuple of str
        Operations that were done but that the tables don't have for that kind of piano.
    uncounted : tuple of str
        Operations whose hours go by the piece, where neither pieces nor an estimate were kept.
    """

    families: tuple[FamilyRatio, ...]
    job_spread: float
    job_spread_low: float
    job_spread_high: float
    jobs: int
    unknown: tuple[str, ...]
    uncounted: tuple[str, ...]


def family_of(row: OperationRow, tables: Tables) -> str:
    """Return the family of an operation: the component that it treats, or what sort of work it is.

    Examples
    --------
    >>> from valuation.rules import load_tables
    >>> tables = load_tables()
    >>> rows = tables.of_kind("operations", "grand")
    >>> [family_of(rows[name], tables) for name in ("new_block", "restring", "plate_out", "tune")]
    ['block', 'block', 'access', 'service']
    """
    if not row.part:
        return row.level
    return next(part.component for part in tables.parts if part.id == row.part)


def learn_hours(jobs: Iterable[Job], tables: Tables) -> HoursLearned:
    """Learn the ratio of each family from finished jobs.

    Parameters
    ----------
    jobs : iterable of Job
        Finished ones. Hours are held against `tables`, not against what was estimated for them: only where hours go by
        the piece and nobody counted, as in older records, the estimate stands in.
    tables : Tables
        The prior, before any job: see `valuation.learn.taken_in.before_learning`.

    Notes
    -----
    Normal throughout, so exact once the three spreads are known; they are summed over a grid with their weights. The
    job's share is integrated out. A family's ratio is a mixture of normals over that grid, and so is its interval [1]_.
    An operation's own spread is the tables' three-point figure less the job's share, as in `valuation.engine.money`,
    times a stretch that all share.

    References
    ----------
    .. [1] Gelman, Carlin, Stern, Dunson, Vehtari and Rubin, "Bayesian Data Analysis", 3rd edition, 2013, section 5.4.
    """
    seen = _Seen.of(jobs, tables)
    job_prior = _log_normal(JOB_SPREADS, max(tables.settings.job_spread, JOB_SPREADS[0]))
    stretch_prior = _log_normal(OWN_STRETCHES, 1.0)
    family_prior = _half_normal(FAMILY_SPREADS, FAMILY_SPREAD_SCALE)
    grid = list(product(range(len(FAMILY_SPREADS)), range(len(JOB_SPREADS)), range(len(OWN_STRETCHES))))
    weights, means, sds = np.empty(len(grid)), [], []
    for i, (f, j, s) in enumerate(grid):
        told, mean, sd = seen.given(FAMILY_SPREADS[f], JOB_SPREADS[j], OWN_STRETCHES[s])
        weights[i] = told + family_prior[f] + job_prior[j] + stretch_prior[s]
        means.append(mean)
        sds.append(sd)
    weights = np.exp(weights - logsumexp(weights))
    mean, sd = np.array(means), np.array(sds)
    job_weights = np.bincount([j for _, j, _ in grid], weights)
    low, high = _between(JOB_SPREADS, job_weights)
    return HoursLearned(
        families=tuple(
            seen.family(k, weights, mean[:, k], sd[:, k]) for k in range(len(seen.names)) if seen.observations[k]
        ),
        job_spread=float(np.exp(job_weights @ np.log(JOB_SPREADS))),
        job_spread_low=low,
        job_spread_high=high,
        jobs=seen.jobs,
        unknown=seen.unknown,
        uncounted=seen.uncounted,
    )


def _prior_hours(job: Job, operation: str, tables: Tables) -> EstimatedHours | None:
    """Return what an operation of a job should take by the tables, or was estimated at; None where nobody can say."""
    hours = expected_hours(tables, job.kind, job.features, operation, job.pieces.get(operation))
    return hours or next((line for line in job.estimate if line.operation == operation), None)


@dataclass(frozen=True, eq=False)
class _Seen:
    """Log ratios, added up so that a spread's worth of them costs one small matrix. J jobs, F families.

    Sums are over a job's operations, each weighed by one over its own variance as the tables have it.
    """

    names: tuple[str, ...]
    weight: np.ndarray  # (J, F)
    weighted: np.ndarray  # (J, F): times the log ratio
    square: float  # times its square, over all
    n: int
    log_weights: float
    observations: np.ndarray  # (F,)
    in_jobs: np.ndarray  # (F,)
    raw: np.ndarray  # (F,)
    jobs: int
    unknown: tuple[str, ...]
    uncounted: tuple[str, ...]

    @classmethod
    def of(cls, jobs: Iterable[Job], tables: Tables) -> _Seen:
        rows = {kind: tables.of_kind("operations", kind) for kind in ("upright", "grand")}
        names = tuple(sorted({family_of(row, tables) for row in tables.operations}))
        index = {name: k for k, name in enumerate(names)}
        weight, weighted = [], []
        logs: list[list[float]] = [[] for _ in names]
        square = log_weights = 0.0
        unknown: dict[str, None] = {}
        uncounted: dict[str, None] = {}
        for job in jobs:
            w, wy = np.zeros(len(names)), np.zeros(len(names))
            for name, hours in job.hours_by_operation.items():
                row = rows[job.kind].get(name)
                if row is None:
                    unknown[name] = None
                    continue
                prior = _prior_hours(job, name, tables)
                if prior is None:
                    uncounted[name] = None
                elif hours > 0 and prior.likely > 0:
                    k, y = index[family_of(row, tables)], math.log(hours / prior.likely)
                    precision = 1 / _own_variance(prior, tables.settings.job_spread)
                    w[k] += precision
                    wy[k] += precision * y
                    square += precision * y * y
                    log_weights += math.log(precision)
                    logs[k].append(y)
            if w.any():
                weight.append(w)
                weighted.append(wy)
        shape = (-1, len(names))
        weight_ = np.array(weight).reshape(shape)
        return cls(
            names=names,
            weight=weight_,
            weighted=np.array(weighted).reshape(shape),
            square=square,
            n=sum(map(len, logs)),
            log_weights=log_weights,
            observations=np.array([len(y) for y in logs]),
            in_jobs=(weight_ > 0).sum(axis=0),
            raw=np.array([np.mean(y) if y else 0.0 for y in logs]),
            jobs=len(weight),
            unknown=tuple(unknown),
            uncounted=tuple(uncounted),
        )

    def given(self, family_spread: float, job_spread: float, stretch: float):
        """Return the logarithm of how well these spreads explain the jobs, and mean and sd of each family's ratio."""
        scale = stretch**-2
        w, wy = self.weight * scale, self.weighted * scale
        total, total_y = w.sum(axis=1), wy.sum(axis=1)
        shared = 1 / (total + job_spread**-2)  # of a job's own share, once its operations are seen
        seen = np.diag(w.sum(axis=0)) - (w * shared[:, None]).T @ w
        pull = wy.sum(axis=0) - (shared * total_y) @ w
        covariance_before = family_spread**2 * np.eye(len(self.names)) + SHOP_SPREAD**2
        prior = np.linalg.inv(covariance_before)
        covariance = np.linalg.inv(prior + seen)
        mean = covariance @ pull
        fit = self.square * scale - (shared * total_y) @ total_y - pull @ mean
        log_det = np.log1p(job_spread**2 * total).sum() - self.log_weights - self.n * math.log(scale)
        log_det += np.linalg.slogdet(covariance_before)[1] - np.linalg.slogdet(covariance)[1]
        return -(log_det + fit) / 2, mean, np.sqrt(np.diag(covariance))

    def family(self, k: int, weights, mean, sd) -> FamilyRatio:
        middle = float(weights @ mean)

        def beyond(log_ratio: float, share: float) -> float:
            return float(weights @ ndtr((log_ratio - mean) / sd)) - share

        far = 8 * float(sd.max()) + float(np.ptp(mean))
        tails = ((1 - LEVEL) / 2, (1 + LEVEL) / 2)
        low, high = (brentq(beyond, middle - far, middle + far, args=(tail,)) for tail in tails)
        return FamilyRatio(
            family=self.names[k],
            ratio=math.exp(middle),
            low=math.exp(low),
            high=math.exp(high),
            raw=math.exp(float(self.raw[k])),
            jobs=int(self.in_jobs[k]),
            observations=int(self.observations[k]),
        )


def _own_variance(hours: EstimatedHours, job_spread: float) -> float:
    spread = log_spread(hours.low, hours.likely, hours.high)
    return max(spread**2 - job_spread**2, _LEAST_OWN_SPREAD**2)


def _half_normal(grid: tuple[float, ...], scale: float) -> np.ndarray:
    return -((np.array(grid) / scale) ** 2) / 2 + np.log(np.gradient(grid))


def _log_normal(grid: tuple[float, ...], middle: float) -> np.ndarray:
    logs = np.log(grid)
    return -(((logs - math.log(middle)) / _FURTHEST) ** 2) / 2 + np.log(np.gradient(logs))


def _between(grid: tuple[float, ...], weights: np.ndarray) -> tuple[float, float]:
    """Return the limits of 9 in 10, the weights spread evenly about their points on the logarithmic scale."""
    logs = np.log(grid)
    edges = np.concatenate([[logs[0]], (logs[1:] + logs[:-1]) / 2, [logs[-1]]])
    marks = np.concatenate([[0.0], np.cumsum(weights)])
    low, high = np.interp(((1 - LEVEL) / 2, (1 + LEVEL) / 2), marks, edges)
    return float(np.exp(low)), float(np.exp(high))
