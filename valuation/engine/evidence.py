"""Evidence: findings into likelihoods, one vector over four severities for each.

In: a network and the findings of a visit. Out: `Evidence`. The formula:

    likelihood of severity s  =  sum over what it may read r:  P(reads r | s)  *  how much the finding speaks for r

A worded answer speaks for one reading. A number is spread over the cut points by how well it repeats. Pieces read
one by one (tuning pins) speak through how pieces read at each severity, to a power that says how alike pieces of one
piano are. 'Not looked at' and 'can't be seen' leave no trace here, and neither does a piece that was tried because it
felt soft: it says nothing of the others.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.network import Network, Pieces
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.words import CAUSES, SEVERITIES
from valuation.facts.visit import Finding, Reading, Visit

LEAST_IN_A_SECTION = 3
"""A section with fewer readings has no typical figure of its own."""


@dataclass(frozen=True, eq=False)
class Evidence:
    """The findings that say something, in the order of the walk. n findings.

    Attributes
    ----------
    checks : tuple of str, length n
    weights : ndarray, shape (n, 4)
        How much each finding speaks for each reading.
    numbers : tuple of float or None, length n
        The number that was graded, in the check's unit.
    faults : ndarray of int, shape (n,)
        Fault that each reads; -1 for a hidden cause.
    columns : tuple of ndarray, length n
        Likelihood of the finding: over the severities, shape (4,), or over the joint causes, shape (9,).
    family : tuple of str, length n
        Word of its family, its own id where it has none.
    """

    checks: tuple[str, ...]
    weights: Floats
    numbers: tuple[float | None, ...]
    faults: Ints
    columns: tuple[Floats, ...]
    family: tuple[str, ...]


def read_findings(network: Network, visit: Visit, usual_humidity: float) -> Evidence:
    """Return what the findings of a visit say.

    Parameters
    ----------
    usual_humidity : float
        Relative humidity that the tables' readings are meant for [%].
    """
    found = {finding.check: finding for finding in visit.findings if not finding.cannot_see}
    off = 0.0 if visit.humidity is None else (visit.humidity - usual_humidity) / 10
    checks, weights, numbers, faults, columns, family = [], [], [], [], [], []
    for id_, check in network.checks.items():
        finding = found.get(check.readings_of or id_)
        if finding is None or not (finding.grade or finding.readings):
            continue
        read = _read(network, check, finding, check.per_ten_humidity * off)
        if read is None:
            continue
        speaks, number = read
        checks.append(id_)
        weights.append(speaks)
        numbers.append(number)
        faults.append(-1 if check.reads in CAUSES else network.index[check.reads])
        columns.append(network.sureness[id_] @ speaks)
        family.append(f"{check.reads}:{check.family or id_}")
    return Evidence(
        checks=tuple(checks),
        weights=np.array(weights).reshape(-1, 4),
        numbers=tuple(numbers),
        faults=np.array(faults, dtype=np.intp),
        columns=tuple(columns),
        family=tuple(family),
    )


def _read(network: Network, check: CheckRow, finding: Finding, shift: float) -> tuple[Floats, float | None] | None:
    """Return how much a finding speaks for each reading, and the number behind it; None where it says nothing."""
    if check.answer == "choice":
        return np.array([float(finding.grade == severity) for severity in SEVERITIES]), None
    readings = tuple(reading for reading in finding.readings if not reading.soft)
    if not readings:
        return None
    if check.summary == "pieces":
        values = np.array([reading.value - shift for reading in readings])
        return speak_for(network.pieces[check.id], values), statistics.median(values.tolist())
    if check.summary.startswith("share"):
        return sampled_share(check, readings), 100 * _beyond(check, readings) / len(readings)
    number = summarise(check, readings)
    if number is None:
        return None
    return soft_cuts(check, number - shift), number


def summarise(check: CheckRow, readings: tuple[Reading, ...]) -> float | None:
    """Return the one number that the readings come to, in the check's unit; None where they are too few for it."""
    values = [reading.value for reading in readings]
    match check.summary:
        case "median":
            return statistics.median(values)
        case "mean" | "":
            return statistics.fmean(values)
        case "least":
            return min(values)
        case "greatest":
            return max(values)
        case "spread":
            return max(values) - min(values) if len(values) > 1 else None
        case "worst_section":
            return _worst_section(check, readings)
    raise ValueError(f"no such summary: {check.summary}")


def _worst_section(check: CheckRow, readings: tuple[Reading, ...]) -> float | None:
    by_section: dict[str, list[float]] = {}
    for reading in readings:
        if reading.section:
            by_section.setdefault(reading.section, []).append(reading.value)
    medians = [statistics.median(values) for values in by_section.values() if len(values) >= LEAST_IN_A_SECTION]
    if len(medians) < 2:
        return None  # one section alone is the field, and its readings speak there
    return min(medians) if check.better == "high" else max(medians)


def _beyond(check: CheckRow, readings: tuple[Reading, ...]) -> int:
    limit = check.limit if check.limit is not None else 0.0
    if check.summary == "share_below":
        return sum(reading.value < limit for reading in readings)
    return sum(reading.value > limit for reading in readings)


def soft_cuts(check: CheckRow, number: float) -> Floats:
    """Spread a number over the four readings: normal error, one standard deviation = `repeats_within`.

    Returns
    -------
    ndarray, shape (4,)
        Weights of none, slight, marked, severe; they add to 1 [-].
    """
    within = check.repeats_within or 1e-9
    sign = 1.0 if check.better == "high" else -1.0
    cuts = (check.cut_slight, check.cut_marked, check.cut_severe)
    beyond = [0.0 if cut is None else 0.5 * math.erfc(sign * (number - cut) / (within * math.sqrt(2))) for cut in cuts]
    # Rounding could make them cross.
    return np.array([max(above - below, 0.0) for above, below in pairwise((1.0, *beyond, 0.0))])


def sampled_share(check: CheckRow, readings: tuple[Reading, ...]) -> Floats:
    """Tell how well a share seen on a sample fits each reading that the whole may have.

    Of `of_all` pieces some were tried. Within a reading every number of bad ones in all is equally likely; the
    hypergeometric law says how likely it makes what was seen. How wide a reading is must not count: one firm piece
    speaks for 'none', though most numbers of bad ones would be severe.
    """
    tried, bad = len(readings), _beyond(check, readings)
    whole = max(check.of_all or tried, tried)
    in_all = np.arange(bad, whole - (tried - bad) + 1)
    log_ways = np.array([_log_choose(n, bad) + _log_choose(whole - n, tried - bad) for n in in_all.tolist()])
    likely = np.zeros(whole + 1)
    likely[in_all] = np.exp(log_ways - log_ways.max())
    cuts = np.array([check.cut_slight, check.cut_marked, check.cut_severe], dtype=float)
    reads = np.searchsorted(cuts, 100 * np.arange(whole + 1) / whole, side="right")
    fit = np.bincount(reads, likely, minlength=4) / np.maximum(np.bincount(reads, minlength=4), 1)
    return np.asarray(fit / fit.sum(), dtype=np.float64)


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def speak_for(pieces: Pieces, values: Floats) -> Floats:
    """Return how much pieces read one by one speak for each severity, shape (4,), adding to 1.

    n pieces of one piano are worth ``n / (1 + alike (n - 1))`` independent ones.
    """
    logs = np.stack([np.interp(values, pieces.middles, row) for row in pieces.log_shares])
    total = logs.sum(axis=1) / (1 + pieces.alike * (len(values) - 1))
    weights = np.exp(total - total.max())
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def likelihoods(network: Network, evidence: Evidence, view: Floats | None) -> tuple[Floats, Floats]:
    """Return the likelihood of all findings: of each fault's severities, and of the joint causes.

    Checks of one fault that look at the same thing share a view of it: together they can't tell more than the thing.

    Parameters
    ----------
    view : ndarray, shape (4, 4), or None
        Chance of each view, given the severity, for families of more than one finding; None where it is perfect.

    Returns
    -------
    of_faults : ndarray, shape (F, 4)
    of_causes : ndarray, shape (9,)
    """
    of_faults, of_causes = np.ones((len(network.faults), 4)), np.ones(9)
    by_fault: dict[int, list[int]] = {}
    for i, fault in enumerate(evidence.faults.tolist()):
        by_fault.setdefault(fault, []).append(i)
    for i in by_fault.pop(-1, []):
        of_causes *= evidence.columns[i]
    for fault, findings in by_fault.items():
        of_faults[fault] = fault_likelihood(evidence, findings, view)
    return of_faults, of_causes


def fault_likelihood(evidence: Evidence, findings: list[int], view: Floats | None) -> Floats:
    """Return the likelihood of some findings about one fault, of each of its severities, shape (4,)."""
    if len(findings) == 1:
        return evidence.columns[findings[0]]
    families: dict[str, list[int]] = {}
    for i in findings:
        families.setdefault(evidence.family[i], []).append(i)
    likelihood = np.ones(4)
    for members in families.values():
        if len(members) == 1:
            likelihood *= evidence.columns[members[0]]
        else:
            message = np.prod([evidence.columns[i] for i in members], axis=0)
            likelihood *= message if view is None else view @ message
    return likelihood
