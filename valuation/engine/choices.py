"""Choices: every ladder of every part weighed on one piano, exactly.

In: a condition, the menus, prices, market, moments. Out: for each part a `Weighed` menu: chance of each rung and
state, the terms that multiply over parts, the price, and what it leaves undone. The formula stands in `remedies`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from valuation.engine.arrays import Bools, Floats, Ints
from valuation.engine.catalogue import Catalogue
from valuation.engine.condition import Condition
from valuation.engine.market import Market
from valuation.engine.money import Prices
from valuation.engine.outlook import Moments, rung_keeps, rung_service, service_of
from valuation.engine.remedies import Menu, menu_of
from valuation.engine.rows.tables import Settings
from valuation.engine.rows.words import SEVERITIES


@dataclass(frozen=True, eq=False)
class Weighed:
    """The ladders of one part on one piano. N ladders, R rungs, 9 joint causes, T terms, G faults.

    Attributes
    ----------
    states : ndarray, shape (R, 9, 4)
        Chance of the rung and of the state it leaves, given the cause.
    terms : ndarray, shape (N, 9, T)
        Value, playing at the moments, service at the moments: expectations given the cause.
    labour, other : ndarray, shape (N,)
        Expected amounts with tax.
    labour_given, other_given : ndarray, shape (N, 9)
        The same, given the cause.
    undone : ndarray, shape (N, 3)
        Chance that something at a stop, broken, or worn is left.
    open : ndarray of bool, shape (N,)
        Allowed by what was found in the part itself.
    need : ndarray, shape (N,)
        Chance that the fixed remedy is needed; 1 where none is fixed.
    """

    menu: Menu
    states: Floats
    weights: Floats
    terms: Floats
    labour: Floats
    other: Floats
    undone: Floats
    open: Bools
    need: Floats
    rung_labour: Floats
    rung_other: Floats
    repair_labour: Floats
    repair_other: Floats


@dataclass(frozen=True, eq=False)
class Extent:
    """How many pieces each fault has at each severity: as counted at the visit, else as usual, shape (F, 4)."""

    pieces: Floats


def extents(catalogue: Catalogue, condition: Condition, counted: dict[str, float]) -> Extent:
    """Return the pieces of each fault; what was counted holds for every severity.

    Parameters
    ----------
    counted : dict of str to float
        Fault to number of pieces.
    """
    pieces = catalogue.usual_extent.copy()
    for fault, count in counted.items():
        if fault in condition.network.index and count > 0:
            pieces[condition.network.index[fault], 1:] = count
    return Extent(pieces)


def barred_remedies(catalogue: Catalogue, condition: Condition, settings: Settings) -> frozenset[str]:
    """Return the remedies that what was found forbids: what forbids them is at least as likely as the setting says."""
    severities, index = condition.severities, condition.network.index
    return frozenset(
        name
        for name, rows in catalogue.forbidden.items()
        if any(
            severities[index[row.fault], SEVERITIES.index(row.since) :].sum() >= settings.forbidden_from
            for row in rows
            if row.fault in index
        )
    )


def weigh(
    catalogue: Catalogue,
    condition: Condition,
    prices: Prices,
    market: Market,
    moments: Moments,
    extent: Extent,
    settings: Settings,
) -> tuple[Weighed, ...]:
    """Return the ladders of every part, weighed on one piano."""
    barred = barred_remedies(catalogue, condition, settings)
    return tuple(
        _weigh_part(
            catalogue,
            menu_of(catalogue, p, barred & frozenset(catalogue.small.get(part.id, ()))),
            condition, prices, market, moments, extent, settings,
        )
        for p, part in enumerate(condition.network.parts)
    )  # fmt: skip


def _weigh_part(
    catalogue: Catalogue,
    menu: Menu,
    condition: Condition,
    prices: Prices,
    market: Market,
    moments: Moments,
    extent: Extent,
    settings: Settings,
) -> Weighed:
    network = condition.network
    faults = slice(network.first[menu.part], network.first[menu.part + 1])
    given = condition.faults_given[faults]  # (G, 9, 4)
    product = np.matmul(given, menu.columns).prod(axis=0)  # (9, U)
    each = product[:, menu.column_of]  # (9, R, 14)
    mass = (each[:, :, :7] - each[:, :, 7:]).transpose(1, 0, 2)  # (R, 9, 7)
    states = np.diff(mass[:, :, :4], axis=2, prepend=0.0)
    # Value by state and what the remedy leaves of it, then playing and service.
    worth = rung_keeps(catalogue, menu)[:, None] * market.factor[menu.part]
    weights = np.concatenate([worth[:, :, None], rung_service(catalogue, menu, moments)], axis=2)
    terms = _terms(states, weights, menu.first, ends_service=network.parts[menu.part].ends_service)
    within = by_ladder(mass[:, :, 4:], menu.first)  # (N, 9, 3)
    rung_labour, rung_other = rung_prices(menu, prices)
    repair_labour, repair_other = _repair_prices(menu, prices, extent.pieces[faults])
    rungs_given = mass[:, :, 3] @ condition.causes
    labour = by_ladder(rungs_given * rung_labour, menu.first)
    other = by_ladder(rungs_given * rung_other, menu.first)
    if len(menu.small_rungs):
        small_labour, small_other = _repairs_expected(menu, condition, given, repair_labour, repair_other)
        np.add.at(labour, menu.rung_of[menu.small_rungs], small_labour)
        np.add.at(other, menu.rung_of[menu.small_rungs], small_other)
    return Weighed(
        menu=menu,
        states=states,
        weights=weights,
        terms=terms,
        labour=labour,
        other=other,
        undone=1.0 - np.tensordot(within, condition.causes, axes=(1, 0)),
        open=_open(menu, condition, settings),
        need=1.0 - condition.causes @ product[:, menu.need],
        rung_labour=rung_labour,
        rung_other=rung_other,
        repair_labour=repair_labour,
        repair_other=repair_other,
    )


def _terms(states: Floats, weights: Floats, first: Ints, *, ends_service: bool) -> Floats:
    """Return the terms of each ladder; service is moved only by parts that end it."""
    terms = np.ones((len(first) - 1, 9, weights.shape[2]))
    moved = slice(weights.shape[2] if ends_service else (weights.shape[2] + 1) // 2)
    terms[:, :, moved] = by_ladder(np.matmul(states, weights[:, :, moved]), first)
    return terms


def at_moments(
    catalogue: Catalogue, weighed: tuple[Weighed, ...], moments: Moments, ladders: Sequence[Ints]
) -> tuple[Weighed, ...]:
    """Return weighed menus with the terms of some ladders of each part at other moments; all other terms are NaN."""
    result = []
    for menu, some in zip(weighed, ladders, strict=True):
        rungs = np.concatenate([np.arange(menu.menu.first[n], menu.menu.first[n + 1]) for n in some])
        own = service_of(catalogue, menu.menu, [menu.menu.ladders[n] for n in some], moments)
        weights = np.concatenate([menu.weights[rungs, :, :1], own], axis=2)
        first = np.concatenate([[0], np.cumsum(np.diff(menu.menu.first)[some])])
        terms = np.full((len(menu.menu.ladders), 9, weights.shape[2]), np.nan)
        ends_service = catalogue.network.parts[menu.menu.part].ends_service
        terms[some] = _terms(menu.states[rungs], weights, first, ends_service=ends_service)
        result.append(replace(menu, terms=terms))
    return tuple(result)


def by_ladder(of_rungs: Floats, first: Ints) -> Floats:
    """Add up what stands rung by rung over each ladder, along the first axis: most have one rung, none many."""
    total = of_rungs[first[:-1]]
    counts = np.diff(first)
    for k in range(1, int(counts.max())):
        more = np.flatnonzero(counts > k)
        total[more] += of_rungs[first[more] + k]
    return total


@lru_cache(maxsize=4096)
def rung_prices(menu: Menu, prices: Prices) -> tuple[Floats, Floats]:
    """Return what each rung's larger remedy costs, with what it brings, shape (R,) each."""
    labour, other = [], []
    for ladder in menu.ladders:
        for rung in ladder.rungs:
            names = (*rung.further, rung.operation) if rung.operation else ()
            labour.append(prices.labour(names))
            other.append(prices.other(names))
    return np.array(labour), np.array(other)


def _repair_prices(menu: Menu, prices: Prices, pieces: Floats) -> tuple[Floats, Floats]:
    """Return what small repairs cost by rung, fault and severity, shape (rungs with small repairs, G, 4) each."""
    cure = menu.small[menu.small_rungs]
    return (
        prices.setup_labour[cure] + prices.piece_labour[cure] * pieces,
        prices.setup_other[cure] + prices.piece_other[cure] * pieces,
    )


def _repairs_expected(
    menu: Menu, condition: Condition, given: Floats, labour: Floats, other: Floats
) -> tuple[Floats, Floats]:
    """Return the expected amounts of small repairs by rung: in each product one fault's mass carries its price."""
    rungs = menu.small_rungs
    masks = np.concatenate([menu.mask[:, :, rungs], menu.before[:, :, rungs]], axis=2)[:, :, menu.small_first]
    at = menu.small_first % len(rungs)
    rest = all_but_one(np.matmul(given, masks))  # one fault's mass carries its price, all others theirs
    result = []
    for amount in (labour, other):
        each = np.matmul(given, masks * amount[at].transpose(1, 2, 0))
        total = (condition.causes @ (rest * each).sum(axis=0))[menu.small_same]
        result.append(total[: len(rungs)] - total[len(rungs) :])
    return result[0], result[1]


def all_but_one(mass: Floats) -> Floats:
    """Return, along the first axis, the product of all others: by what stands before and after, since some are 0."""
    rest = np.empty_like(mass)
    rest[0] = 1.0
    for i in range(1, len(mass)):
        np.multiply(rest[i - 1], mass[i - 1], out=rest[i])
    after = mass[-1].copy()
    for i in range(len(mass) - 2, -1, -1):
        rest[i] *= after
        after *= mass[i]
    return rest


def _open(menu: Menu, condition: Condition, settings: Settings) -> Bools:
    """Return which ladders nothing found in the part itself forbids."""
    first = condition.network.first[menu.part]
    beyond = np.cumsum(condition.severities[:, ::-1], axis=1)[:, ::-1]
    ladder, fault, since = menu.bars
    allowed = np.ones(len(menu.ladders), dtype=bool)
    allowed[ladder[beyond[first + fault, since] >= settings.forbidden_from]] = False
    return allowed


def repair_chances(
    condition: Condition, menu: Weighed, n: int, pieces: Floats, none: int
) -> dict[int, tuple[float, float]]:
    """Return for each cure that a ladder uses as a small repair: the chance that it is needed, and pieces expected.

    Parameters
    ----------
    n : int
        Ladder.
    pieces : ndarray, shape (F, 4)
    none : int
        Index that stands for no cure.
    """
    network, part = condition.network, menu.menu.part
    first = network.first[part]
    given = condition.faults_given[first : network.first[part + 1]]
    found: dict[int, tuple[float, float]] = {}
    for r in range(menu.menu.first[n], menu.menu.first[n + 1]):
        used = np.argwhere(menu.menu.small[r] < none).tolist()
        for mask, sign in ((menu.menu.mask[:, :, r], 1.0), (menu.menu.before[:, :, r], -1.0)):
            if not used or not mask.any():
                continue
            rest = all_but_one(np.matmul(given, mask[:, :, None])[:, :, 0])
            weight = np.einsum("gh,ghs,h->gs", rest, given * mask[:, None, :], condition.causes)
            for g, s in used:
                cure = int(menu.menu.small[r, g, s])
                chance, count = found.get(cure, (0.0, 0.0))
                share = sign * float(weight[g, s])
                found[cure] = chance + share, count + share * float(pieces[first + g, s])
    return found
