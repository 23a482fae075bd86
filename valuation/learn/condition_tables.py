"""What visits and teardowns teach of priors and strengths: from all visits, opened or not.

Pianos are opened because of what was found, so counting the opened ones alone misleads: the good-looking ones that
nobody opened would be left out. Here every visit counts. What teardown showed is known, the rest is shared out over
the states by how well each explains the findings, and the tables count as so many visits of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import beta

from valuation.engine.rows import EXPOSURES, SEVERITIES, STATES, Tables
from valuation.learn.cases import Case, Lot, explain, lots
from valuation.learn.rising import nearest_rising
from valuation.learn.shares import LEVEL

STRENGTH_COUNTS_AS = 12
"""As many findings as each row of a strength table counts for."""

PRIOR_COUNTS_AS = 20
"""As many visits as each row of the priors counts for."""

LEAST_PRIOR = 0.005
"""No prior share may be smaller: a state thought impossible could never be found."""

_DONE_WITHIN = 2e-4
_MOST_ROUNDS = 200


@dataclass(frozen=True, eq=False)
class LearnedTable:
    """One strength table, or the priors of one part and age, as learned.

    Attributes
    ----------
    shares : ndarray, shape (rows, 4)
        Rows add up to 1 and rise in ratio.
    low, high : ndarray, shape (rows, 4)
        Between which limits each share lies in about 9 of 10 cases [-].
    findings : int
        Findings that a strength table was learned from; visits, for priors.
    opened : int
        Those of them on parts whose true state teardown showed.
    """

    shares: np.ndarray
    low: np.ndarray
    high: np.ndarray
    findings: int
    opened: int


@dataclass(frozen=True, eq=False)
class ConditionLearned:
    """What all cases teach.

    Attributes
    ----------
    strengths : dict of str to LearnedTable
        By id; tables nothing was found with, views, and those about how a piano has lived are left as they are:
        teardown doesn't show them.
    priors : dict of (part, age) to LearnedTable
    visits, opened : int
        Visits in all, and those of them with any teardown.
    told : tuple of float
        Logarithm of how likely all was, with the tables' own share, round by round; it never falls.
    """

    strengths: dict[str, LearnedTable]
    priors: dict[tuple[str, str], LearnedTable]
    visits: int
    opened: int
    told: tuple[float, ...]


def learn_condition(cases: Sequence[Case], tables: Tables) -> ConditionLearned:
    """Learn priors and strengths.

    Parameters
    ----------
    cases : sequence of Case
        Every visit the shop has made, also those that came to nothing.
    tables : Tables
        What is thought before any visit: see `valuation.learn.taken_in.before_learning`.

    Returns
    -------
    ConditionLearned

    Raises
    ------
    ValueError
        As `lots` says.

    Notes
    -----
    Expectation and maximisation [1]_, each table's likelihood maximised among those that rise in ratio
    (`nearest_rising`). Limits take each finding for as many as the square of how sure its state is, which is the
    diagonal of Louis's correction for what stays hidden [2]_; they leave out that the tables are learned together.

    References
    ----------
    .. [1] Dempster, Laird and Rubin, Journal of the Royal Statistical Society B 39 (1977) 1.
    .. [2] Louis, Journal of the Royal Statistical Society B 44 (1982) 226.
    """
    all_lots = lots(cases, tables)
    state = _State.of(tables, all_lots)
    told: list[float] = []
    for _ in range(_MOST_ROUNDS):
        counts = _count(all_lots, state)
        told.append(counts.told + state.thought())
        new = state.after(counts)
        moved = new.away_from(state)
        state = new
        if moved < _DONE_WITHIN:
            break
    counts = _count(all_lots, state)
    return ConditionLearned(
        strengths={
            id_: _learned(state.strengths[id_], counts.strength_sure[id_], STRENGTH_COUNTS_AS, *counts.made[id_])
            for id_ in state.learned
            if counts.made[id_][0]
        },
        priors={
            key: _learned(state.priors[key], counts.prior_sure[key], PRIOR_COUNTS_AS, *counts.visits[key])
            for key in state.priors
            if counts.visits[key][0]
        },
        visits=len(cases),
        opened=sum(bool(case.teardown) for case in cases),
        told=tuple(told),
    )


def with_condition(tables: Tables, learned: ConditionLearned) -> Tables:
    """Return tables with the learned shares in the place of the old ones; for trying them, not for writing."""
    rows = []
    for row in tables.strengths:
        if row.id in learned.strengths:
            shares = learned.strengths[row.id].shares[STATES.index(row.given)]
            row = replace(row, **dict(zip(SEVERITIES, map(float, shares), strict=True)))
        rows.append(row)
    priors = []
    for row in tables.priors:
        if (row.part, row.age) in learned.priors:
            shares = learned.priors[row.part, row.age].shares[EXPOSURES.index(row.exposure)]
            row = replace(row, **dict(zip(STATES, map(float, shares), strict=True)))
        priors.append(row)
    return replace(tables, strengths=tuple(rows), priors=tuple(priors))


def teardown_scores(cases: Sequence[Case], tables: Tables) -> np.ndarray:
    """Return the logarithm of the odds that the findings gave each state which teardown then showed.

    Parameters
    ----------
    cases : sequence of Case
    tables : Tables

    Returns
    -------
    ndarray
        One for each part shown; nearer to 0 is better.
    """
    hidden = [Case(visit=case.visit) for case in cases]
    scores = []
    for shut, opened in zip(lots(hidden, tables), lots(cases, tables), strict=True):
        state = _State.of(tables, (shut,))
        thought = explain(shut, state.prior_of(shut), state.strengths_of(shut)).states
        scores.append(np.log((thought * opened.possible).sum(axis=2)[opened.opened]))
    return np.concatenate(scores) if scores else np.zeros(0)


@dataclass(frozen=True, eq=False)
class _Counts:
    """Expected counts of one round; `sure`: the same with each visit squared, over the share it is counted for."""

    told: float
    strengths: dict[str, np.ndarray]
    strength_sure: dict[str, np.ndarray]
    made: dict[str, tuple[int, int]]
    priors: dict[tuple[str, str], np.ndarray]
    prior_sure: dict[tuple[str, str], np.ndarray]
    visits: dict[tuple[str, str], tuple[int, int]]


@dataclass(frozen=True, eq=False)
class _State:
    """The tables of one round, with what they started from."""

    strengths: dict[str, np.ndarray]
    priors: dict[tuple[str, str], np.ndarray]
    learned: tuple[str, ...]
    ages: tuple[str, ...]
    first_strengths: dict[str, np.ndarray]
    first_priors: dict[tuple[str, str], np.ndarray]

    @classmethod
    def of(cls, tables: Tables, all_lots: Sequence[Lot]) -> _State:
        rows: dict[str, dict[str, list[float]]] = {}
        for row in tables.strengths:
            rows.setdefault(row.id, {})[row.given] = [getattr(row, grade) for grade in SEVERITIES]
        strengths = {
            id_: np.array([given[name] for name in (STATES if "sound" in given else EXPOSURES)])
            for id_, given in rows.items()
        }
        priors = {(part.id, age.id): np.empty((3, 4)) for part in tables.parts for age in tables.ages}
        for row in tables.priors:
            priors[row.part, row.age][EXPOSURES.index(row.exposure)] = [getattr(row, s) for s in STATES]
        views = {family.view for family in tables.families}
        used = {check.strength for lot in all_lots for check in lot.net.checks.values()}
        learned = tuple(id_ for id_, table in strengths.items() if len(table) == 4 and id_ in used - views)
        ages = tuple(row.id for row in tables.ages)
        return cls(strengths, priors, learned, ages, strengths, priors)

    def prior_of(self, lot: Lot) -> np.ndarray:
        return np.array([[self.priors[part.id, age] for age in self.ages] for part in lot.net.parts])

    def strengths_of(self, lot: Lot) -> list[np.ndarray]:
        return [self.strengths[check.strength] for check in lot.net.checks.values()]

    def thought(self) -> float:
        """Return what the tables' own share adds to the likelihood."""
        pairs = [(STRENGTH_COUNTS_AS, self.first_strengths[id_], self.strengths[id_]) for id_ in self.learned]
        pairs += [(PRIOR_COUNTS_AS, first, self.priors[key]) for key, first in self.first_priors.items()]
        return float(sum(weight * (first * np.log(now)).sum() for weight, first, now in pairs))

    def after(self, counts: _Counts) -> _State:
        strengths = {
            id_: nearest_rising(STRENGTH_COUNTS_AS * self.first_strengths[id_] + counts.strengths[id_])
            for id_ in self.learned
            if counts.strengths[id_].any()
        }
        priors = {
            key: nearest_rising(PRIOR_COUNTS_AS * self.first_priors[key] + seen, least=LEAST_PRIOR)
            for key, seen in counts.priors.items()
            if seen.any()
        }
        return replace(self, strengths=self.strengths | strengths, priors=self.priors | priors)

    def away_from(self, other: _State) -> float:
        pairs = [(self.strengths, other.strengths), (self.priors, other.priors)]
        return max(float(np.abs(mine[key] - theirs[key]).max()) for mine, theirs in pairs for key in mine)


def _count(all_lots: Sequence[Lot], state: _State) -> _Counts:
    told = 0.0
    strengths = {id_: np.zeros((4, 4)) for id_ in state.learned}
    strength_sure = {id_: np.zeros((4, 4)) for id_ in state.learned}
    made = dict.fromkeys(state.learned, (0, 0))
    priors = {key: np.zeros((3, 4)) for key in state.priors}
    prior_sure = {key: np.zeros((3, 4)) for key in state.priors}
    visits = dict.fromkeys(state.priors, (0, 0))
    for lot in all_lots:
        thought = explain(lot, state.prior_of(lot), state.strengths_of(lot))
        told += float(thought.told.sum())
        for c, (check, family) in enumerate(lot.net.check_family.items()):
            id_, here = lot.net.checks[check].strength, lot.made[:, c]
            if id_ not in strengths or not here.any():
                continue
            table = state.strengths[id_]
            share = thought.views[here, family] / thought.columns[here, c]
            each = share[:, :, None] * table * lot.grades[here, c][:, None, :]
            strengths[id_] += each.sum(axis=0)
            strength_sure[id_] += (each**2).sum(axis=0) / table
            opened = lot.opened[here, lot.net.family_part[family]]
            made[id_] = (made[id_][0] + len(each), made[id_][1] + int(opened.sum()))
        joint = thought.exposure[:, None, :, None] * thought.given
        for p, part in enumerate(lot.net.parts):
            for a, age in enumerate(state.ages):
                here = lot.ages[:, p] == a
                if here.any():
                    key = (part.id, age)
                    priors[key] += joint[here, p].sum(axis=0)
                    prior_sure[key] += (joint[here, p] ** 2).sum(axis=0) / state.priors[key]
                    opened = int(lot.opened[here, p].sum())
                    visits[key] = (visits[key][0] + int(here.sum()), visits[key][1] + opened)
    return _Counts(told, strengths, strength_sure, made, priors, prior_sure, visits)


def _learned(shares: np.ndarray, sure: np.ndarray, counts_as: float, findings: int, opened: int) -> LearnedTable:
    weight = counts_as + sure
    low, high = (beta.ppf(tail, shares * weight, (1 - shares) * weight) for tail in ((1 - LEVEL) / 2, (1 + LEVEL) / 2))
    return LearnedTable(shares=shares, low=low, high=high, findings=findings, opened=opened)
