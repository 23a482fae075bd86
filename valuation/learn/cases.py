"""Visits as the condition model sees them, many at once: what was found, and what teardown showed where there was one.

The tree is the core's own (`valuation.engine.condition`), summed over the same hidden causes in the same way; only that
the visits of one kind of piano go through it together, and that a state which teardown showed is no longer hidden.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from valuation.engine.condition import Net, age_bands, net_for, see
from valuation.engine.rows import EXPOSURES, STATES, Tables
from valuation.facts.visit import Visit
from valuation.jobs.records import Teardown


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One visit, and what taking the piano apart showed; nothing where it was never opened."""

    visit: Visit
    teardown: tuple[Teardown, ...] = ()


@dataclass(frozen=True, eq=False)
class Lot:
    """Visits to pianos that have the same parts and checks. n visits, P parts, C checks, F families.

    Attributes
    ----------
    net : Net
    ages : ndarray of int, shape (n, P)
    made : ndarray of bool, shape (n, C)
        Whether a check was made and says something.
    grades : ndarray, shape (n, C, 4)
        How much each finding counts for each grade; all 1 where none was made.
    possible : ndarray, shape (n, P, 4)
        1 where a state is possible: all of them until teardown shows one.
    place : ndarray of int, shape (n,)
        Position of each visit among all.
    """

    net: Net
    ages: np.ndarray
    made: np.ndarray
    grades: np.ndarray
    possible: np.ndarray
    place: np.ndarray

    @property
    def opened(self) -> np.ndarray:
        """Whether teardown showed the state of each part, shape (n, P)."""
        return self.possible.sum(axis=2) == 1


@dataclass(frozen=True, eq=False)
class Explained:
    """What is then thought of a lot, n visits.

    Attributes
    ----------
    told : ndarray, shape (n,)
        Logarithm of how likely the findings and teardowns were.
    exposure : ndarray, shape (n, 3)
    given : ndarray, shape (n, P, 3, 4)
        Odds of each part's state, given the exposure.
    states : ndarray, shape (n, P, 4)
    views : ndarray, shape (n, F, 4)
        Odds of what each family could see; of a family about how the piano has lived it means nothing.
    columns : ndarray, shape (n, C, 4)
        Chance of each finding, given the view.
    """

    told: np.ndarray
    exposure: np.ndarray
    given: np.ndarray
    states: np.ndarray
    views: np.ndarray
    columns: np.ndarray


def lots(cases: Iterable[Case], tables: Tables) -> tuple[Lot, ...]:
    """Return the cases by kind and parts of the piano.

    Raises
    ------
    ValueError
        If a teardown names a part that the piano does not have, or one part twice.
    """
    groups: dict[tuple[str, tuple[str, ...]], list[tuple[int, Case]]] = {}
    for place, case in enumerate(cases):
        piano = case.visit.piano
        groups.setdefault((piano.kind, tuple(sorted(piano.features))), []).append((place, case))
    return tuple(_lot(net_for(tables, *key), group, tables) for key, group in groups.items())


def _lot(net: Net, group: Sequence[tuple[int, Case]], tables: Tables) -> Lot:
    n, parts, checks = len(group), len(net.parts), list(net.checks)
    column = {id_: c for c, id_ in enumerate(checks)}
    made, grades = np.zeros((n, len(checks)), dtype=bool), np.ones((n, len(checks), 4))
    possible = np.ones((n, parts, 4))
    ages = np.empty((n, parts), dtype=int)
    for i, (_, case) in enumerate(group):
        seen = see(net, case.visit)
        which = [column[check] for check in seen.checks]
        made[i, which], grades[i, which] = True, seen.grades
        ages[i] = age_bands(tables, net, case.visit.piano, case.visit.on.year)
        for part, state in _states(net, case):
            possible[i, part] = np.eye(4)[state]
    place = np.array([place for place, _ in group])
    return Lot(net=net, ages=ages, made=made, grades=grades, possible=possible, place=place)


def _states(net: Net, case: Case) -> list[tuple[int, int]]:
    index = {row.id: p for p, row in enumerate(net.parts)}
    found: dict[int, int] = {}
    for shown in case.teardown:
        where = f"teardown of '{case.visit.title}'"
        if shown.part not in index:
            raise ValueError(f"{where}: this piano has no '{shown.part}'; its parts are {', '.join(index)}")
        if index[shown.part] in found:
            raise ValueError(f"{where}: '{shown.part}' stands twice; keep the last word on it")
        found[index[shown.part]] = STATES.index(shown.state)
    return list(found.items())


def explain(lot: Lot, prior: np.ndarray, strength: Sequence[np.ndarray]) -> Explained:
    """Return what is thought of the visits of a lot, given tables.

    Parameters
    ----------
    lot : Lot
    prior : ndarray, shape (P, ages, 3, 4)
    strength : sequence of ndarray, length C
        For each check in the net's order, shape (4, 4); of one about how the piano has lived, shape (3, 4).
    """
    net = lot.net
    about_history = net.family_part < 0
    family_of = np.array(list(net.check_family.values()), dtype=int)
    columns = np.zeros((*lot.made.shape, 4))
    for c, table in enumerate(strength):
        columns[:, c, : len(table)] = lot.grades[:, c] @ table.T
    family_seen = np.ones((len(lot.made), len(net.family_part), 4))
    for c, f in enumerate(family_of):
        family_seen[:, f] *= columns[:, c]
    message = np.einsum("fsv,nfv->nfs", net.view, family_seen)
    likelihood = lot.possible.copy()
    for f in np.flatnonzero(~about_history):
        likelihood[:, net.family_part[f]] *= message[:, f]
    history = family_seen[:, about_history, : len(EXPOSURES)].prod(axis=1)
    joint = prior[np.arange(len(net.parts)), lot.ages] * likelihood[:, :, None, :]
    chance = joint.sum(axis=3)
    log_exposure = np.log(net.exposure_prior * history) + np.log(chance).sum(axis=1)
    top = log_exposure.max(axis=1, keepdims=True)
    weights = np.exp(log_exposure - top)
    total = weights.sum(axis=1, keepdims=True)
    exposure = weights / total
    given = joint / chance[..., None]
    states = np.einsum("nh,nphs->nps", exposure, given)
    before = np.divide(states[:, net.family_part], message, out=np.zeros_like(message), where=message > 0)
    views = np.einsum("nfs,fsv->nfv", before, net.view) * family_seen
    return Explained(
        told=(top + np.log(total))[:, 0],
        exposure=exposure,
        given=given,
        states=states,
        views=views,
        columns=columns,
    )
