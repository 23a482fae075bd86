"""What visits and teardowns teach of the odds of faults and of how sure checks are: from all visits, opened or not.

Pianos are opened because of what was found, so counting the opened ones alone misleads: the good-looking ones that
nobody opened would be left out. Here every visit counts. What teardown showed is known, the rest is shared out over
the severities by how well each explains the findings, and the tables count as so many visits of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import beta

from valuation.engine.rows import SEVERITIES, Tables
from valuation.learn.cases import Case, Explained, FaultOdds, Seen, explain, see
from valuation.learn.odds_by_age import OddsByAge
from valuation.learn.rising import nearest_rising
from valuation.learn.shares import LEVEL
from valuation.waiting import Heard, nobody

READINGS_COUNT_AS = 12
"""As many findings as each row of how sure a check is counts for."""

ODDS_COUNT_AS = 20
"""As many pianos as the odds of each fault and age count for."""

LEAST_OPENED = 5
"""Odds of a fault are learned once teardown showed it, or that it was not there, so often; until then they stand."""

LEAST_READ = 60
"""How sure a check is, once teardown showed what so many findings were about: fewer are mostly noise."""

_DONE_WITHIN = 2e-4
_MOST_ROUNDS = 200


@dataclass(frozen=True, eq=False)
class LearnedTable:
    """How sure one sort of check is, or the odds of one fault by age, as learned.

    Attributes
    ----------
    shares : ndarray, shape (rows, 4)
        Rows add up to 1; those of a check rise in ratio.
    low, high : ndarray, shape (rows, 4)
        Between which limits each share lies in about 9 of 10 cases [-].
    findings : int
        Findings that a check's table was learned from; pianos, for odds.
    opened : int
        Those of them on faults whose true severity teardown showed.
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
    readings : dict of str to LearnedTable
        By how sure a check is, where teardown showed enough; it shows nothing of how a piano has lived.
    odds : dict of (fault, build) to LearnedTable
        The same; a row for each age, the youngest first.
    visits, opened : int
        Visits in all, and those of them with any teardown.
    told : tuple of float
        Logarithm of how likely all was, with the tables' own share, round by round; it never falls.
    """

    readings: dict[str, LearnedTable]
    odds: dict[FaultOdds, LearnedTable]
    visits: int
    opened: int
    told: tuple[float, ...]


def learn_condition(cases: Sequence[Case], tables: Tables, heard: Heard = nobody) -> ConditionLearned:
    """Learn the odds of faults, and how sure checks are.

    Parameters
    ----------
    cases : sequence of Case
        Every visit the shop has made, also those that came to nothing. A year that is only about counts as if it were
        sure; where nobody knows a part's age, its faults teach nothing of odds, and only their findings count.
    tables : Tables
        The prior, before any visit: see `valuation.learn.taken_in.before_learning`.
    heard : callable
        Is told how far it is.

    Raises
    ------
    ValueError
        As `see` says.

    Notes
    -----
    Expectation and maximisation [1]_; a check's table maximised among those that rise in ratio (`nearest_rising`), so
    that a worse finding still never makes anything look better. Odds need no such bound: causes tilt them in order
    whatever they are. Limits take each case for as much as it tells, which is the diagonal of Louis's correction for
    what stays hidden [2]_; they leave out that the tables are learned together.

    References
    ----------
    .. [1] Dempster, Laird and Rubin, Journal of the Royal Statistical Society B 39 (1977) 1.
    .. [2] Louis, Journal of the Royal Statistical Society B 44 (1982) 226.
    """
    seen = see(cases, tables)
    state = _State.of(tables, seen)
    told: list[float] = []
    first = 0.0
    for _ in range(_MOST_ROUNDS):
        posterior = explain(seen, state.prior(), state.readings)
        told.append(float(posterior.told.sum()) + state.log_prior())
        new = state.after(posterior)
        moved = new.away_from(state)
        state = new
        if moved < _DONE_WITHIN:
            break
        first = max(first, moved, 2 * _DONE_WITHIN)
        heard(np.log(first / moved) / np.log(first / _DONE_WITHIN))  # it nears the end by about one factor a round
    posterior = explain(seen, state.prior(), state.readings)
    return ConditionLearned(
        readings={seen.surenesses[k]: _reading(state, posterior, k) for k in state.learned},
        odds={name: _odds(state, posterior, k) for k, name in enumerate(state.names)},
        visits=len(cases),
        opened=sum(bool(case.teardown) for case in cases),
        told=tuple(told),
    )


def ages_of(tables: Tables, name: FaultOdds) -> list[float]:
    """Return the ages that the odds of a fault and build have rows for, the youngest first [years]."""
    return sorted(row.age for row in tables.fault_odds if (row.fault, row.build) == name)


@dataclass(frozen=True, eq=False)
class _State:
    """The tables of one round, with what they started from.

    Attributes
    ----------
    readings : list of ndarray
        For each of `seen.surenesses`.
    learned : tuple of int
        Which of them are learned.
    names : tuple of FaultOdds
        Odds that are learned.
    members : tuple of ndarray
        For each of them, which of the pianos' faults have these odds.
    """

    seen: Seen
    readings: list[np.ndarray]
    first_readings: list[np.ndarray]
    learned: tuple[int, ...]
    names: tuple[FaultOdds, ...]
    odds: list[np.ndarray]
    by_age: tuple[OddsByAge, ...]
    members: tuple[np.ndarray, ...]

    @classmethod
    def of(cls, tables: Tables, seen: Seen) -> _State:
        given = {(row.id, row.given): [getattr(row, s) for s in SEVERITIES] for row in tables.readings}
        readings = [np.array([given[name, severity] for severity in SEVERITIES]) for name in seen.surenesses]
        shown = np.bincount(seen.reading[seen.shown[seen.pair]], minlength=len(readings))
        members = {name: np.flatnonzero(seen.odds == k) for k, name in enumerate(seen.names)}
        members = {name: here for name, here in members.items() if seen.shown[here].sum() >= LEAST_OPENED}
        by_name: dict[FaultOdds, list] = {}
        for row in tables.fault_odds:
            by_name.setdefault((row.fault, row.build), []).append(row)
        by_age = []
        for name, here in members.items():
            rows = sorted(by_name[name], key=lambda row: row.age)
            shares = np.array([[getattr(row, s) for s in SEVERITIES] for row in rows])
            shares = shares / shares.sum(axis=1, keepdims=True)
            ages = np.array([row.age for row in rows])
            by_age.append(OddsByAge.of(ages, shares, ODDS_COUNT_AS, seen.age[here], seen.tilt[here]))
        return cls(
            seen=seen,
            readings=readings,
            first_readings=readings,
            learned=tuple(np.flatnonzero(shown >= LEAST_READ).tolist()),
            names=tuple(members),
            odds=[one.first for one in by_age],
            by_age=tuple(by_age),
            members=tuple(members.values()),
        )

    def prior(self) -> np.ndarray:
        """Return the odds of each piano's faults, given the joint cause."""
        prior = self.seen.prior.copy()
        for here, one, shares in zip(self.members, self.by_age, self.odds, strict=True):
            prior[here] = one.prior(shares)
        return prior

    def log_prior(self) -> float:
        """Return what the tables' own share adds to the likelihood."""
        pairs = zip(self.first_readings, self.readings, strict=True)
        own = sum(READINGS_COUNT_AS * (first * np.log(now)).sum() for first, now in pairs)
        return float(own + sum(one.log_prior(now) for one, now in zip(self.by_age, self.odds, strict=True)))

    def each(self, posterior: Explained, k: int) -> np.ndarray:
        """Return the odds of severity and reading together for the findings of one sureness, shape (., 4, 4)."""
        here = self.seen.reading == k
        severity = posterior.joint.sum(axis=1)[self.seen.pair[here]]
        return (severity / posterior.columns[here])[:, :, None] * self.readings[k] * self.seen.speaks[here][:, None, :]

    def after(self, posterior: Explained) -> _State:
        """Return the tables of the next round."""
        readings = list(self.readings)
        for k in self.learned:
            readings[k] = nearest_rising(
                READINGS_COUNT_AS * self.first_readings[k] + self.each(posterior, k).sum(axis=0)
            )
        odds = [
            one.better(now, posterior.joint[here])
            for one, now, here in zip(self.by_age, self.odds, self.members, strict=True)
        ]
        return replace(self, readings=readings, odds=odds)

    def away_from(self, other: _State) -> float:
        pairs = [*zip(self.readings, other.readings, strict=True), *zip(self.odds, other.odds, strict=True)]
        return max((float(np.abs(mine - theirs).max()) for mine, theirs in pairs), default=0.0)


def _reading(state: _State, posterior: Explained, k: int) -> LearnedTable:
    shares, each = state.readings[k], state.each(posterior, k)
    truth = each.sum(axis=2, keepdims=True)
    # What one finding tells of a share: what it would if its severity were known, less what stays open about it.
    mean = each - truth * shares
    hidden = each * (1 - shares) ** 2 + (truth - each) * shares**2 - mean**2
    told = (truth * shares * (1 - shares) - hidden).sum(axis=0)
    here = state.seen.reading == k
    opened = int(state.seen.shown[state.seen.pair[here]].sum())
    return _learned(shares, told, READINGS_COUNT_AS, int(here.sum()), opened)


def _odds(state: _State, posterior: Explained, k: int) -> LearnedTable:
    one, shares, here = state.by_age[k], state.odds[k], state.members[k]
    prior = np.einsum("ph,phs->ps", posterior.causes[state.seen.case[here]], one.prior(shares))
    severity = posterior.joint[here].sum(axis=1)
    told = (one.nearness**2).T @ (prior * (1 - prior) - severity * (1 - severity))
    return _learned(shares, told, ODDS_COUNT_AS, len(here), int(state.seen.shown[here].sum()))


def _learned(shares: np.ndarray, told: np.ndarray, counts_as: float, findings: int, opened: int) -> LearnedTable:
    """Return a table with its limits; `told` is how much the cases tell of the logarithm of each share's odds."""
    weight = counts_as + np.maximum(told, 0.0) / (shares * (1 - shares))
    # Half a case more either way (Jeffreys): of what was hardly ever seen, nobody knows how rare it is.
    yes, no = shares * weight + 0.5, (1 - shares) * weight + 0.5
    low, high = (beta.ppf(tail, yes, no) for tail in ((1 - LEVEL) / 2, (1 + LEVEL) / 2))
    return LearnedTable(
        shares=shares,
        low=np.minimum(low, shares),
        high=np.maximum(high, shares),
        findings=findings,
        opened=opened,
    )
