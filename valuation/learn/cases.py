"""Visits as the engine sees them, many at once: what was found, and what teardown showed where there was one.

The network is the engine's own (`valuation.engine.network`), summed over the same nine joint causes in the same way;
only that all visits go through it together, and that a severity which teardown showed is no longer hidden. A fault of
which a piano shows nothing leaves no trace: it is left out of that piano.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from valuation.engine.condition import prior_of, view_of
from valuation.engine.evidence import read_findings
from valuation.engine.network import OLDEST, Network, builds_of, network_of, odds_rows
from valuation.engine.rows import SEVERITIES, Tables
from valuation.facts.visit import Visit
from valuation.jobs.records import Teardown

FaultOdds = tuple[str, str]
"""Fault and build: the odds that are learned together, a row for each age."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One visit, and what taking the piano apart showed; nothing where it was never opened."""

    visit: Visit
    teardown: tuple[Teardown, ...] = ()


@dataclass(frozen=True, eq=False)
class Seen:
    """All cases as arrays. n cases; m faults of single pianos, of which something was found or shown; q findings.

    Attributes
    ----------
    hidden : ndarray, shape (9,)
        Logarithm of the odds of the joint causes.
    of_causes : ndarray, shape (n, 9)
        Logarithm of the likelihood of what was found out about the causes.
    case : ndarray of int, shape (m,)
        Which case; those of one case stand together.
    odds : ndarray of int, shape (m,)
        Which odds it has by its build, as a position in `names`; -1 where its age is not known: it keeps `prior`.
    age : ndarray, shape (m,)
        [years].
    tilt : ndarray, shape (m, 9)
    prior : ndarray, shape (m, 9, 4)
        Odds as the tables have them.
    fixed : ndarray, shape (m, 4)
        Likelihood of what doesn't change while learning: findings that share a look, and what teardown showed.
    shown : ndarray of bool, shape (m,)
        Teardown showed its severity.
    pair : ndarray of int, shape (q,)
        Which of the m a finding is about; rising.
    check : tuple of str, length q
    reading : ndarray of int, shape (q,)
        How sure its check is, as a position in `surenesses`.
    speaks : ndarray, shape (q, 4)
        How much it speaks for each reading.
    """

    cases: int
    hidden: np.ndarray
    of_causes: np.ndarray
    case: np.ndarray
    fault: tuple[str, ...]
    odds: np.ndarray
    age: np.ndarray
    tilt: np.ndarray
    prior: np.ndarray
    fixed: np.ndarray
    shown: np.ndarray
    pair: np.ndarray
    check: tuple[str, ...]
    reading: np.ndarray
    speaks: np.ndarray
    names: tuple[FaultOdds, ...]
    surenesses: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Explained:
    """The posterior of all cases.

    Attributes
    ----------
    told : ndarray, shape (n,)
        Logarithm of how likely findings and teardowns were.
    causes : ndarray, shape (n, 9)
    joint : ndarray, shape (m, 9, 4)
        Odds of cause and severity together.
    columns : ndarray, shape (q, 4)
        Chance of each finding, given the severity.
    """

    told: np.ndarray
    causes: np.ndarray
    joint: np.ndarray
    columns: np.ndarray


@dataclass(eq=False)
class _Rows:
    """The arrays while they are gathered."""

    of_causes: list[np.ndarray]
    pairs: list[tuple]
    findings: list[tuple]


def see(cases: Iterable[Case], tables: Tables) -> Seen:
    """Return the cases as arrays, in their order.

    Raises
    ------
    ValueError
        If a teardown names a fault that the piano can't have, or one fault twice.
    """
    cases = tuple(cases)
    usual = next(row.id for row in tables.tiers if row.usual)
    names: dict[FaultOdds, int] = {}
    sures: dict[str, int] = {}
    rows = _Rows([np.zeros(9)] * len(cases), [], [])

    def sort(case: Case) -> tuple[str, tuple[str, ...], str]:
        piano = case.visit.piano
        return piano.kind, tuple(sorted(piano.features)), piano.tier or usual

    # Networks are kept for a few sorts of piano only: each sort goes through in one go.
    for i in sorted(range(len(cases)), key=lambda i: sort(cases[i])):
        _gather(
            rows, i, cases[i], network_of(tables, *sort(cases[i])), tables, names, sures, builds_of(*sort(cases[i]))
        )
    case, fault, odds, age, tilt, prior, fixed, shown = zip(*rows.pairs, strict=True) if rows.pairs else [()] * 8
    pair, check, reading, speaks = zip(*rows.findings, strict=True) if rows.findings else [()] * 4
    hidden = network_of(tables, "upright", (), usual).hidden
    return Seen(
        cases=len(cases),
        hidden=np.log(hidden),
        of_causes=np.array(rows.of_causes).reshape(-1, 9),
        case=np.array(case, dtype=np.intp),
        fault=tuple(fault),
        odds=np.array(odds, dtype=np.intp),
        age=np.array(age, dtype=float),
        tilt=np.array(tilt).reshape(-1, 9),
        prior=np.array(prior).reshape(-1, 9, 4),
        fixed=np.array(fixed).reshape(-1, 4),
        shown=np.array(shown, dtype=bool),
        pair=np.array(pair, dtype=np.intp),
        check=tuple(check),
        reading=np.array(reading, dtype=np.intp),
        speaks=np.array(speaks).reshape(-1, 4),
        names=tuple(names),
        surenesses=tuple(sures),
    )


def _gather(
    rows: _Rows,
    i: int,
    case: Case,
    network: Network,
    tables: Tables,
    names: dict[FaultOdds, int],
    sures: dict[str, int],
    builds: tuple[str, ...],
) -> None:
    """Add what one case holds."""
    visit = case.visit
    evidence = read_findings(network, visit, tables.settings.usual_humidity)
    view = view_of(tables)
    shared = {name for name in evidence.family if view is not None and evidence.family.count(name) > 1}
    truth = dict(_truths(network, case))
    prior = prior_of(tables, network, visit.piano, visit.on.year)
    found: dict[int, list[int]] = {}
    for k, f in enumerate(evidence.faults.tolist()):
        if f < 0:
            rows.of_causes[i] = rows.of_causes[i] + np.log(evidence.columns[k])
        else:
            found.setdefault(f, []).append(k)
    renewed = dict(visit.piano.renewed)
    for f in sorted({*found, *truth}):
        row = network.faults[f]
        fixed = np.eye(4)[truth[f]] if f in truth else np.ones(4)
        for name in dict.fromkeys(evidence.family[k] for k in found.get(f, ()) if evidence.family[k] in shared):
            columns = [evidence.columns[k] for k in found[f] if evidence.family[k] == name]
            fixed = fixed * (view @ np.prod(columns, axis=0))
        place, at = -1, np.nan
        built = visit.piano.year
        if built is not None or row.part in renewed:
            since = max(renewed.get(row.part, built or 0), built or 0)
            at = float(np.clip(visit.on.year - since, 0, OLDEST))
            build = odds_rows(tables, row.id, builds)[0].build
            place = names.setdefault((row.id, build), len(names))
        n = len(rows.pairs)
        rows.pairs.append((i, row.id, place, at, network.tilt[f], prior[f], fixed, f in truth))
        rows.findings += [
            (n, evidence.checks[k], sures.setdefault(network.checks[evidence.checks[k]].sureness, len(sures)), speaks)
            for k in found.get(f, ())
            if evidence.family[k] not in shared
            for speaks in [evidence.weights[k]]
        ]


def _truths(network: Network, case: Case) -> Iterator[tuple[int, int]]:
    told: set[str] = set()
    for shown in case.teardown:
        where = f"teardown of '{case.visit.title}'"
        if shown.fault not in network.index:
            raise ValueError(f"{where}: this piano can't have '{shown.fault}'; take it out, or see what sort it is")
        if shown.fault in told:
            raise ValueError(f"{where}: '{shown.fault}' stands twice; keep the last word on it")
        told.add(shown.fault)
        yield network.index[shown.fault], SEVERITIES.index(shown.severity)


def explain(seen: Seen, prior: np.ndarray, readings: Sequence[np.ndarray]) -> Explained:
    """Return the posterior of all cases, given tables.

    Parameters
    ----------
    prior : ndarray, shape (m, 9, 4)
        Odds of each severity, given the joint cause.
    readings : sequence of ndarray
        For each of `seen.surenesses`, shape (4, 4).
    """
    columns = np.zeros((len(seen.pair), 4))
    for k, table in enumerate(readings):
        here = seen.reading == k
        columns[here] = seen.speaks[here] @ table.T
    message = np.ones((len(seen.case), 4))
    first = np.flatnonzero(np.diff(seen.pair, prepend=-1))
    if len(first):
        message[seen.pair[first]] = np.multiply.reduceat(columns, first, axis=0)
    joint = prior * (message * seen.fixed)[:, None, :]
    chance = joint.sum(axis=2)
    log_causes = seen.hidden + seen.of_causes
    first = np.flatnonzero(np.diff(seen.case, prepend=-1))
    if len(first):
        log_causes[seen.case[first]] += np.add.reduceat(np.log(chance), first, axis=0)
    told = logsumexp(log_causes, axis=1)
    causes = np.exp(log_causes - told[:, None])
    return Explained(
        told=told,
        causes=causes,
        joint=joint * (causes[seen.case] / chance)[:, :, None],
        columns=columns,
    )
