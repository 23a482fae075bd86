"""Condition: from findings to the odds of each part's state, exactly.

The model is a small tree. How the piano has lived (exposure, hidden) makes its parts' states likely or not; a part's
state is seen through the view of each family of checks; the checks of a family see that view. Summing over the
three exposures makes the answer exact; there is nothing to draw.

    exposure -> state of each part -> view of each family -> grade of each check
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from valuation.core.grading import grade_weights
from valuation.core.rows import EXPOSURES, GRADES, HISTORY, STATES, CheckRow, PartRow, Tables
from valuation.core.visit import Finding, Piano, Reading, Visit

BAND = (0.1, 0.9)
_Z = 1.2815515655446004
_TINY = 1e-300


@dataclass(frozen=True, eq=False)
class Net:
    """The tree for one kind of piano, as arrays. P parts, F families, C checks.

    Attributes
    ----------
    parts : tuple of PartRow, length P
    checks : dict of str to CheckRow
        In the order of the walk.
    prior : ndarray, shape (P, ages, 3, 4)
        Odds of each state, given age band and exposure.
    exposure_prior : ndarray, shape (3,)
    family_part : ndarray, shape (F,)
        Index of the part a family tells about; -1 for how the piano has lived.
    view : ndarray, shape (F, 4, 4)
        Chance of each view, given the state. Unused for families about how the piano has lived.
    check_family : dict of str to int
    strength : dict of str to ndarray
        Chance of each grade, given the view, shape (4, 4); or given the exposure, shape (3, 4).
    """

    parts: tuple[PartRow, ...]
    checks: dict[str, CheckRow]
    prior: np.ndarray
    exposure_prior: np.ndarray
    family_part: np.ndarray
    family_name: tuple[str, ...]
    view: np.ndarray
    check_family: dict[str, int]
    strength: dict[str, np.ndarray]
    stretches: np.ndarray

    def part_index(self, part: str) -> int:
        """Return the position of a part."""
        return next(i for i, row in enumerate(self.parts) if row.id == part)


@lru_cache(maxsize=32)
def net_for(tables: Tables, kind: str, features: tuple[str, ...]) -> Net:
    """Return the tree for pianos of one kind with these features; made once and kept."""
    parts = tuple(row for row in tables.parts if row.present == "always" or row.present in features)
    index = {row.id: i for i, row in enumerate(parts)}
    ages = {row.id: i for i, row in enumerate(tables.ages)}
    prior = np.zeros((len(parts), len(ages), 3, 4))
    for row in tables.priors:
        if row.part in index:
            prior[index[row.part], ages[row.age], EXPOSURES.index(row.exposure)] = [getattr(row, s) for s in STATES]
    tables_by_id: dict[str, dict[str, list[float]]] = {}
    for row in tables.strengths:
        tables_by_id.setdefault(row.id, {})[row.given] = [getattr(row, grade) for grade in GRADES]
    families = [row for row in tables.families if row.part == HISTORY or row.part in index]
    family_index = {row.id: i for i, row in enumerate(families)}
    checks = {id_: row for id_, row in tables.of_kind("checks", kind).items() if row.family in family_index}
    strength = {}
    for id_, row in checks.items():
        given = EXPOSURES if families[family_index[row.family]].part == HISTORY else STATES
        strength[id_] = np.array([tables_by_id[row.strength][g] for g in given])
    return Net(
        parts=parts,
        checks=checks,
        prior=prior,
        exposure_prior=np.array([row.odds for row in tables.exposures]),
        family_part=np.array([index.get(row.part, -1) for row in families]),
        family_name=tuple(row.name for row in families),
        view=np.array(
            [
                np.eye(4) if row.part == HISTORY else [tables_by_id[row.view][state] for state in STATES]
                for row in families
            ]
        ),
        check_family={id_: family_index[row.family] for id_, row in checks.items()},
        strength=strength,
        stretches=np.array([(row.score_low, row.score_high) for row in tables.states]),
    )


@dataclass(frozen=True, eq=False)
class Seen:
    """Findings turned into likelihoods, in the order of the walk. n findings that say something.

    Attributes
    ----------
    checks : tuple of str, length n
    grades : ndarray, shape (n, 4)
        How much each finding counts for each grade.
    columns : ndarray, shape (n, 4)
        Chance of the finding, given the view; for one about how the piano has lived, given the exposure (last is 0).
    families : ndarray, shape (n,)
    """

    checks: tuple[str, ...]
    grades: np.ndarray
    columns: np.ndarray
    families: np.ndarray


@dataclass(frozen=True, eq=False)
class Condition:
    """What the findings say of the parts.

    Attributes
    ----------
    net : Net
    exposure : ndarray, shape (3,)
        Odds of how the piano has lived.
    given : ndarray, shape (P, 3, 4)
        Odds of each part's state, given the exposure.
    states : ndarray, shape (P, 4)
        Odds of each part's state.
    seen : Seen
    family_seen : ndarray, shape (F, 4)
        Likelihood of each family's view, from its findings so far.
    """

    net: Net
    exposure: np.ndarray
    given: np.ndarray
    states: np.ndarray
    seen: Seen
    family_seen: np.ndarray
    prior: np.ndarray

    @cached_property
    def scores(self) -> np.ndarray:
        """Expected score of each part, shape (P,) [0-100]."""
        return self.states @ self.net.stretches.mean(axis=1)


def see(net: Net, visit: Visit) -> Seen:
    """Return the findings as likelihoods; 'not looked at' and 'can't be seen' leave no trace here."""
    found = {f.check: f for f in visit.findings if not f.cannot_see}
    checks, grades, columns, families = [], [], [], []
    for id_, check in net.checks.items():
        source = check.readings_of or id_
        finding = found.get(source)
        if finding is None or not (finding.grade or finding.readings):
            continue
        if check.summary == "spread" and len(finding.readings) < 2:
            continue  # one reading has no spread; it would read as good
        weights = grade_weights(check, finding, finding.readings)
        column = net.strength[id_] @ weights
        checks.append(id_)
        grades.append(weights)
        columns.append(column if len(column) == 4 else [*column, 0.0])
        families.append(net.check_family[id_])
    return Seen(
        checks=tuple(checks),
        grades=np.array(grades).reshape(-1, 4),
        columns=np.array(columns).reshape(-1, 4),
        families=np.array(families, dtype=int),
    )


def assess(net: Net, seen: Seen, ages: np.ndarray) -> Condition:
    """Return the exact odds of every part's state.

    Parameters
    ----------
    net : Net
    seen : Seen
    ages : ndarray of int, shape (P,)
        Age band of each part, as a position in the table.
    """
    prior = net.prior[np.arange(len(net.parts)), ages]
    family_seen = np.ones((len(net.family_part), 4))
    np.multiply.at(family_seen, seen.families, seen.columns)
    about_history = net.family_part < 0
    message = np.matmul(net.view, family_seen[:, :, None])[:, :, 0]
    likelihood = np.ones((len(net.parts), 4))
    np.multiply.at(likelihood, net.family_part[~about_history], message[~about_history])
    history = family_seen[about_history, :3].prod(axis=0)
    joint = prior * likelihood[:, None, :]
    chance = joint.sum(axis=2)
    exposure = _normal(net.exposure_prior * history * _product(chance))
    given = joint / chance[:, :, None]
    return Condition(
        net=net,
        exposure=exposure,
        given=given,
        states=np.matmul(exposure, given),
        seen=seen,
        family_seen=family_seen,
        prior=prior,
    )


def _normal(weights: np.ndarray) -> np.ndarray:
    return weights / weights.sum(axis=-1, keepdims=True)


def _product(chance: np.ndarray) -> np.ndarray:
    """Multiply over the parts without running out of floating-point range."""
    return (chance / chance.max(axis=1, keepdims=True)).prod(axis=0)


def age_bands(tables: Tables, net: Net, piano: Piano, year: int) -> np.ndarray:
    """Return the age band of each part on a visit in `year`, from when it was made or last renewed, shape (P,)."""
    built = piano.year if piano.year is not None else tables.settings.usual_year
    renewed = dict(piano.renewed)
    edges = np.array([row.from_years for row in tables.ages])
    age = np.array([year - max(renewed.get(row.id, built), built) for row in net.parts])
    return np.clip(np.searchsorted(edges, age, side="right") - 1, 0, len(edges) - 1)


def band(states: np.ndarray, stretches: np.ndarray) -> tuple[float, float]:
    """Return the 10 and 90 % points of a score whose state has these odds.

    Each state's odds are spread evenly over its stretch of the scale, so that the band moves smoothly.
    """
    order = np.argsort(stretches[:, 0])
    edges = np.concatenate([[0.0], np.cumsum(states[order])])
    marks = np.concatenate([stretches[order, 0], [stretches[order[-1], 1]]])
    low, high = np.interp(BAND, edges / edges[-1], marks)
    return float(low), float(high)


def weighted_band(condition: Condition, weights: np.ndarray) -> tuple[float, float, float]:
    """Return score, low and high of several parts together.

    The spread is exact (parts are independent once the exposure is known, and share it); its shape is taken as
    normal.

    Parameters
    ----------
    condition : Condition
    weights : ndarray, shape (P,)
        Weight of each part; need not add to 1.
    """
    share = weights / weights.sum()
    low, high = condition.net.stretches[:, 0], condition.net.stretches[:, 1]
    middle, within = (low + high) / 2, (high - low) ** 2 / 12
    mean_given = condition.given @ middle
    square_given = condition.given @ (middle**2 + within)
    mean = share @ mean_given
    variance = condition.exposure @ ((share**2) @ (square_given - mean_given**2)) + (
        condition.exposure @ mean**2 - (condition.exposure @ mean) ** 2
    )
    score, reach = float(condition.exposure @ mean), _Z * float(np.sqrt(max(variance, 0.0)))
    return score, max(score - reach, 0.0), min(score + reach, 100.0)


def scores_without(condition: Condition) -> np.ndarray:
    """Return what the score of each finding's part would be had the finding not been made, shape (n,) [0-100].

    For a finding about how the piano has lived it is the plain mean over all parts.
    """
    net, seen = condition.net, condition.seen
    if not seen.checks:
        return np.zeros(0)
    logs = np.log(np.maximum(seen.columns, _TINY))
    others = (seen.families[:, None] == seen.families) & ~np.eye(len(seen.checks), dtype=bool)
    family_without = np.exp(others @ logs)
    part = net.family_part[seen.families]
    middle = net.stretches.mean(axis=1)
    about_part = part >= 0
    score = np.empty(len(seen.checks))
    # The message of the finding's family, replaced within its part's likelihood.
    message = np.matmul(net.view, condition.family_seen[:, :, None])[:, :, 0]
    likelihood = np.ones((len(net.parts), 4))
    tells = net.family_part >= 0
    np.multiply.at(likelihood, net.family_part[tells], message[tells])
    i = np.flatnonzero(about_part)
    if len(i):
        view = net.view[seen.families[i]]
        changed = np.matmul(view, family_without[i][:, :, None])[:, :, 0]
        with_it, p = message[seen.families[i]], part[i]
        old = condition.prior[p] * likelihood[p][:, None, :]
        new = condition.prior[p] * (likelihood[p] * changed / np.maximum(with_it, _TINY))[:, None, :]
        exposure = _normal(condition.exposure * new.sum(axis=2) / old.sum(axis=2))
        score[i] = np.einsum("ih,ihs,s->i", exposure, _normal(new), middle)
    i = np.flatnonzero(~about_part)
    if len(i):
        exposure = _normal(condition.exposure / np.maximum(seen.columns[i, :3], _TINY))
        score[i] = np.einsum("ih,phs,s->i", exposure, condition.given, middle) / len(net.parts)
    return score


def readings_for(check: CheckRow, findings: dict[str, Finding]) -> tuple[Reading, ...]:
    """Return the readings a check is graded by: its own, or those of the check it derives from."""
    finding = findings.get(check.readings_of or check.id)
    return finding.readings if finding else ()
