"""Condition: from evidence to the odds of every fault and of every part's state, exactly.

In: a network, the parts' ages, the evidence. Out: a `Condition`. The formula, given the joint cause h:

    P(part at most in state t | h)  =  product over its faults of  sum over s that make at most t:  P(s | h, findings)

A part is as bad as its worst fault. Summing over the nine causes makes it exact; there is nothing to draw.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from valuation.engine.arrays import Floats, all_but_one_of
from valuation.engine.evidence import Evidence, fault_likelihood, likelihoods, read_findings
from valuation.engine.network import OLDEST, Network, network_of
from valuation.engine.rows.tables import Tables
from valuation.facts.visit import Piano, Visit

BAND = (0.1, 0.9)
_Z = 1.2815515655446004
_TINY = 1e-300
_YEAR_NODES = np.array([-1.0, 0.0, 1.0]) * np.sqrt(3.0)
_YEAR_WEIGHTS = np.array([1.0, 4.0, 1.0]) / 6
"""Three points that stand for a normal spread of years (Gauss and Hermite)."""
_UNKNOWN_YEAR = 3.0
"""A year that nobody knows is spread so many times as wide as one that is 'about'."""


@dataclass(frozen=True, eq=False)
class Condition:
    """What the findings say. P parts, F faults, 9 joint causes.

    Attributes
    ----------
    prior : ndarray, shape (F, 9, 4)
        Odds of each severity given the cause, before anything was found.
    causes : ndarray, shape (9,)
        Odds of the joint causes.
    faults_given : ndarray, shape (F, 9, 4)
        Odds of each severity, given the cause.
    states_given : ndarray, shape (P, 9, 4)
    likelihood : ndarray, shape (F, 4)
        Of all findings, for each fault's severities.
    """

    network: Network
    evidence: Evidence
    prior: Floats
    likelihood: Floats
    of_causes: Floats
    causes: Floats
    faults_given: Floats
    states_given: Floats
    view: Floats | None

    @cached_property
    def states(self) -> Floats:
        """Odds of each part's state, shape (P, 4)."""
        return np.tensordot(self.causes, self.states_given, axes=(0, 1))

    @cached_property
    def severities(self) -> Floats:
        """Odds of each fault's severity, shape (F, 4)."""
        return np.tensordot(self.causes, self.faults_given, axes=(0, 1))

    @cached_property
    def at_least(self) -> Floats:
        """Odds that each fault has at least each severity, shape (F, 4)."""
        return np.cumsum(self.severities[:, ::-1], axis=1)[:, ::-1]

    @cached_property
    def scores(self) -> Floats:
        """Expected score of each part, shape (P,) [0-100]."""
        return self.states @ self.network.middles


def assess(tables: Tables, visit: Visit, on: date) -> Condition:
    """Return the exact odds of every fault and part.

    Parameters
    ----------
    on : date
        Day whose year the ages are counted to.
    """
    piano = visit.piano
    tier = piano.tier or next(row.id for row in tables.tiers if row.usual)
    network = network_of(tables, piano.kind, tuple(sorted(piano.features)), tier)
    evidence = read_findings(network, visit, tables.settings.usual_humidity)
    return infer(network, prior_of(tables, network, piano, on.year), evidence, view_of(tables))


def view_of(tables: Tables) -> Floats | None:
    """Return how well one look at a thing shows it, for checks that share a look; the rows 'view' of the readings."""
    rows = {row.given: [row.none, row.slight, row.marked, row.severe] for row in tables.readings if row.id == "view"}
    return np.array([rows[given] for given in ("none", "slight", "marked", "severe")]) if rows else None


def prior_of(tables: Tables, network: Network, piano: Piano, year: int) -> Floats:
    """Return the odds of each severity given the joint cause, on a visit in `year`, shape (F, 9, 4)."""
    built = piano.year if piano.year is not None else tables.settings.usual_year
    spread = 0.0
    if piano.year is None:
        spread = _UNKNOWN_YEAR * tables.settings.about_years
    elif piano.year_is_about:
        spread = tables.settings.about_years
    renewed = dict(piano.renewed)
    known = np.array([row.id in renewed for row in network.parts])
    age = np.array([year - max(renewed.get(row.id, built), built) for row in network.parts], dtype=float)
    ages = age[:, None] + np.where(known[:, None], 0.0, spread * _YEAR_NODES)
    plain = _odds_at(network, ages[network.part_of]) if spread else _odds_at(network, age[network.part_of][:, None])
    plain = np.tensordot(_YEAR_WEIGHTS, plain, axes=(0, 1)) if spread else plain[:, 0]
    tilted = plain[:, None, :] * np.exp(np.arange(4) * network.tilt[:, :, None])
    return np.asarray(tilted / tilted.sum(axis=2, keepdims=True), dtype=np.float64)


def _odds_at(network: Network, ages: Floats) -> Floats:
    """Return the odds of each severity at ages, shape (F, K) to (F, K, 4): straight in the logarithm between years."""
    at = np.clip(ages, 0, OLDEST - 1e-9)
    below = at.astype(np.intp)
    part = (at - below)[:, :, None]
    fault = np.arange(len(network.faults))[:, None]
    odds = np.exp(network.log_odds[fault, below] * (1 - part) + network.log_odds[fault, below + 1] * part)
    return np.asarray(odds / odds.sum(axis=2, keepdims=True), dtype=np.float64)


def infer(network: Network, prior: Floats, evidence: Evidence, view: Floats | None = None) -> Condition:
    """Return the posterior: Bayes' rule for each fault given the cause, then for the cause."""
    likelihood, of_causes = likelihoods(network, evidence, view)
    joint = prior * likelihood[:, None, :]
    chance = joint.sum(axis=2)
    causes = _normal(network.hidden * of_causes * _product(chance))
    given = joint / chance[:, :, None]
    return Condition(
        network=network,
        evidence=evidence,
        prior=prior,
        likelihood=likelihood,
        of_causes=of_causes,
        causes=causes,
        faults_given=given,
        states_given=states_of(network, given),
        view=view,
    )


def states_of(network: Network, given: Floats) -> Floats:
    """Return the odds of each part's state given the cause, from those of its faults, (F, 9, 4) to (P, 9, 4)."""
    at_most = np.multiply.reduceat(np.matmul(given, network.makes_at_most), network.first[:-1], axis=0)
    states = np.diff(at_most, axis=2, prepend=0.0)
    return np.asarray(states, dtype=np.float64)


def _normal(weights: Floats) -> Floats:
    return np.asarray(weights / weights.sum(axis=-1, keepdims=True), dtype=np.float64)


def _product(chance: Floats) -> Floats:
    """Multiply over the faults without running out of floating-point range."""
    return np.asarray((chance / chance.max(axis=1, keepdims=True)).prod(axis=0), dtype=np.float64)


def band(states: Floats, stretches: Floats) -> tuple[float, float]:
    """Return the 10 and 90 % points of a score whose state has these odds.

    Each state's odds are spread evenly over its stretch of the scale, so that the band moves smoothly.
    """
    order = np.argsort(stretches[:, 0])
    edges = np.concatenate([[0.0], np.cumsum(states[order])])
    marks = np.concatenate([stretches[order, 0], [stretches[order[-1], 1]]])
    low, high = np.interp(BAND, edges / edges[-1], marks)
    return float(low), float(high)


def weighted_band(condition: Condition, weights: Floats) -> tuple[float, float, float]:
    """Return score, low and high of several parts together.

    The spread is exact (parts are independent once the cause is known, and share it); its shape is taken as normal.

    Parameters
    ----------
    weights : ndarray, shape (P,)
        Weight of each part; need not add to 1.
    """
    share = weights / weights.sum()
    low, high = condition.network.stretches[:, 0], condition.network.stretches[:, 1]
    middle, within = (low + high) / 2, (high - low) ** 2 / 12
    mean_given = condition.states_given @ middle
    square_given = condition.states_given @ (middle**2 + within)
    mean = share @ mean_given
    variance = condition.causes @ ((share**2) @ (square_given - mean_given**2)) + (
        condition.causes @ mean**2 - (condition.causes @ mean) ** 2
    )
    score, reach = float(condition.causes @ mean), _Z * float(np.sqrt(max(variance, 0.0)))
    return score, max(score - reach, 0.0), min(score + reach, 100.0)


def scores_without(condition: Condition) -> Floats:
    """Return what the score of each finding's part would be had the finding not been made, shape (n,) [0-100].

    For a finding about a hidden cause it is the plain mean over all parts.
    """
    network, evidence = condition.network, condition.evidence
    result = np.empty(len(evidence.checks))
    overall = (condition.states_given @ network.middles).mean(axis=0)
    for i in np.flatnonzero(evidence.faults < 0).tolist():
        result[i] = _normal(condition.causes / np.maximum(evidence.columns[i], _TINY)) @ overall
    own = np.flatnonzero(evidence.faults >= 0)
    fault = evidence.faults[own]
    rest = [np.flatnonzero((evidence.faults == evidence.faults[i]) & (np.arange(len(result)) != i)) for i in own]
    likelihood = np.array([fault_likelihood(evidence, of.tolist(), condition.view) for of in rest]).reshape(-1, 1, 4)
    joint = condition.prior[fault] * likelihood  # (n, 9, 4)
    before = (condition.prior[fault] * condition.likelihood[fault][:, None]).sum(axis=2)
    causes = _normal(condition.causes * joint.sum(axis=2) / np.maximum(before, _TINY))
    at_most = np.matmul(condition.faults_given, network.makes_at_most)
    others = np.concatenate(all_but_one_of(np.split(at_most, network.first[1:-1])))
    states = np.diff(others[fault] * np.matmul(_normal(joint), network.makes_at_most[fault]), axis=2, prepend=0.0)
    result[own] = ((states @ network.middles) * causes).sum(axis=1)
    return result
