"""Estimate against actual: how far off, and how unevenly, for each operation, component and whole job.

Hours done are held against the hours that were priced: expected ones. Held against a sum of middle figures, a shop that
estimates without fault would seem to be a tenth off, for hours run over farther than under. The bias is a ratio of
sums; how unevenly, the spread of the logarithm.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from valuation.engine.rows import Tables
from valuation.jobs.records import Job
from valuation.jobs.remaining import expected_of
from valuation.learn.ratios import LEAST_JOBS, ratio_of
from valuation.learn.shares import Share, share_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """How estimates of one thing compare with what was done.

    Attributes
    ----------
    of : str
        Id of an operation or component; empty for whole jobs.
    estimated, done : float
        Hours of all of them together, as priced and as entered [h].
    bias, bias_low, bias_high : float or None
        What they took over what was expected, and between which limits that lies; 1.2 is a fifth too little. None where
        there are too few jobs.
    spread : float or None
        How unevenly: standard deviation of the logarithm [-].
    within : Share or None
        Jobs of an operation whose hours lay between the estimate's low and high: 8 of 10 should. None for components
        and whole jobs, whose estimates are sums.
    """

    of: str
    jobs: int
    estimated: float
    done: float
    bias: float | None = None
    bias_low: float | None = None
    bias_high: float | None = None
    spread: float | None = None
    within: Share | None = None

    @property
    def is_told(self) -> bool:
        """Whether there are enough jobs for a figure."""
        return self.bias is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All estimates against all that was done."""

    operations: tuple[Accuracy, ...]
    components: tuple[Accuracy, ...]
    whole: Accuracy


def compare_estimates(jobs: Iterable[Job], tables: Tables) -> Comparison:
    """Hold what was done against what had been estimated.

    Parameters
    ----------
    jobs : iterable of Job
        Finished ones: an operation half done would look quick.
    tables : Tables
        Say which component an operation belongs to.

    Returns
    -------
    Comparison
        Operations and components in the order of the tables; those without any job are left out.

    Notes
    -----
    A ratio of sums with the interval of `ratio_of`, and the standard deviation of the log ratios: jobs are taken as
    independent, which is why each gives only one ratio.
    """
    component, spread = _components(tables), tables.settings.job_spread
    pairs = [_pairs(job) for job in jobs]
    by_operation: dict[str, list[tuple[float, float]]] = {}
    by_component: dict[str, list[tuple[float, float]]] = {}
    inside: dict[str, list[bool]] = {}
    whole = []
    for paired in pairs:
        sums: dict[str, list[float]] = {}
        for line, hours in paired:
            expected = expected_of(line, spread)
            by_operation.setdefault(line.operation, []).append((expected, hours))
            inside.setdefault(line.operation, []).append(line.low <= hours <= line.high)
            total = sums.setdefault(component.get(line.operation, ""), [0.0, 0.0])
            total[0] += expected
            total[1] += hours
        for name, (estimated, done) in sums.items():
            by_component.setdefault(name, []).append((estimated, done))
        if paired:
            whole.append((sum(expected_of(line, spread) for line, _ in paired), sum(hours for _, hours in paired)))
    return Comparison(
        operations=tuple(
            _accuracy(name, by_operation[name], share_of(sum(inside[name]), len(inside[name])))
            for name in dict.fromkeys(row.id for row in tables.operations)
            if name in by_operation
        ),
        components=tuple(
            _accuracy(row.id, by_component[row.id]) for row in tables.components if row.id in by_component
        ),
        whole=_accuracy("", whole),
    )


def _components(tables: Tables) -> Mapping[str, str]:
    of_part = {row.id: row.component for row in tables.parts}
    return {row.id: of_part[row.part] for row in tables.operations if row.part}


def _pairs(job: Job):
    done = job.hours_by_operation
    return [
        (line, done[line.operation]) for line in job.estimate if line.likely > 0 and done.get(line.operation, 0.0) > 0
    ]


def _accuracy(of: str, ratios: list[tuple[float, float]], within: Share | None = None) -> Accuracy:
    n = len(ratios)
    estimated, done = sum(e for e, _ in ratios), sum(d for _, d in ratios)
    if n < LEAST_JOBS:
        return Accuracy(of=of, jobs=n, estimated=estimated, done=done, within=within)
    sd = float(np.log([d / e for e, d in ratios]).std(ddof=1))
    bias = ratio_of([d for _, d in ratios], [e for e, _ in ratios])
    return Accuracy(
        of=of,
        jobs=n,
        estimated=estimated,
        done=done,
        bias=bias.value,
        bias_low=bias.low,
        bias_high=bias.high,
        spread=sd,
        within=within,
    )
