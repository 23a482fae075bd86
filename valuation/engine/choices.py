"""Choices: every ladder of every part weighed on one piano, exactly.

In: a condition, the menus, prices, market, moments. Out: for each part a `Weighed` menu: chance of each rung and
state, the terms that multiply over parts, the price, and what it leaves undone. The formula stands in `remedies`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from valuation.engine.arrays import Bools, Floats, Ints, all_but_one
from valuation.engine.catalogue import Catalogue
from valuation.engine.condition import Condition
from valuation.engine.market import Market
from valuation.engine.money import Prices
from valuation.engine.outlook import Moments, kinds_of, service_by_kind
from valuation.engine.remedies import Menu, menu_of, small_repairs
from valuation.engine.rows.tables import Settings
from valuation.engine.rows.words import SEVERITIES

STATE_COLUMNS = [0, 1, 2, 3, 7, 8, 9, 10]
"""Columns of a rung that tell the states it leaves, under m_k and under m_{k-1}."""


@dataclass(frozen=True, eq=False)
class Weighed:
    """The ladders of one part on one piano. N ladders, R rungs, 9 joint causes, T terms, G faults.

    Attributes
    ----------
    states : ndarray, shape (R, 9, 4)
        Chance of the rung and of the state it leaves, given the cause.
    kind : ndarray of int, shape (R,)
        Kind of each rung, D in all: those of one kind are alike in all that comes after.
    weights : ndarray, shape (D, 4, T)
        What a state left by a kind of rung brings: value, playing at the moments, service at the moments.
    left : ndarray, shape (N, 9, D, 4)
        Chance of the kind of rung and of the state it leaves, by ladder, given the cause.
    moved : int
        So many terms, the first, can differ from 1.
    labour, other : ndarray, shape (N,)
        Expected amounts with tax.
    undone : ndarray, shape (N, 3)
        Chance that something at a stop, broken, or worn is left.
    open : ndarray of bool, shape (N,)
        Allowed by what was found in the part itself.
    chance : ndarray, shape (R,)
        Chance that it comes to a rung.
    need : ndarray, shape (N,)
        Chance that the fixed remedy is needed; 1 where none is fixed.
    treated : ndarray, shape (G, 4, kinds)
        How likely a severity of a fault is what a small repair meets, by kind of rung, see `Menu.small_first`.
    """

    menu: Menu
    states: Floats
    kind: Ints
    weights: Floats
    left: Floats
    moved: int
    labour: Floats
    other: Floats
    undone: Floats
    open: Bools
    need: Floats
    chance: Floats
    rung_labour: Floats
    rung_other: Floats
    repair_labour: Floats
    repair_other: Floats
    treated: Floats

    @property
    def width(self) -> int:
        """How many terms there are."""
        return int(self.weights.shape[2])

    def terms(self, ladders: Ints | list[int]) -> Floats:
        """Return the terms of some ladders that differ from 1, shape (n, 9, moved).

        They are value, playing at the moments, service at the moments: expectations given the cause.
        """
        left, table = self.left[ladders], self.weights[:, :, : self.moved].reshape(-1, self.moved)
        return (left.reshape(9 * len(left), len(table)) @ table).reshape(len(left), 9, self.moved)


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
    index = condition.network.index
    return frozenset(
        name
        for name, rows in catalogue.forbidden.items()
        if any(
            condition.at_least[index[row.fault], SEVERITIES.index(row.since)] >= settings.forbidden_from
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
    each = np.ascontiguousarray(product.T)[menu.column_of[:, STATE_COLUMNS]]  # (R, 8, 9)
    states = np.ascontiguousarray((each[:, :4] - each[:, 4:]).transpose(0, 2, 1))  # at most, then just so
    states[:, :, 1:] -= states[:, :, :-1].copy()
    mixed = condition.causes @ product
    each = mixed[menu.column_of]
    chances = each[:, :7] - each[:, 7:]  # (R, 7)
    chance = chances[:, 3]
    kind, kinds = kinds_of(catalogue, menu)
    rung_labour, rung_other = rung_prices(menu, prices)
    repair_labour, repair_other = _repair_prices(menu, prices, extent.pieces[faults])
    labour = _by_ladder(chance * rung_labour, menu)
    other = _by_ladder(chance * rung_other, menu)
    treated = _treated(menu, given, condition.causes)
    if len(menu.small_rungs):
        np.add.at(labour, menu.rung_of[menu.small_rungs], _repairs_expected(menu, treated, repair_labour))
        np.add.at(other, menu.rung_of[menu.small_rungs], _repairs_expected(menu, treated, repair_other))
    return Weighed(
        menu=menu,
        states=states,
        kind=kind,
        weights=_weights(catalogue, menu, market.factor[menu.part], moments),
        left=_left_by_kind(states, kind, len(kinds), menu),
        moved=_moved(moments, ends_service=network.parts[menu.part].ends_service),
        labour=labour,
        other=other,
        undone=1.0 - _by_ladder(chances[:, 4:], menu),
        open=_open(menu, condition, settings),
        need=1.0 - mixed[menu.need],
        chance=chance,
        rung_labour=rung_labour,
        rung_other=rung_other,
        repair_labour=repair_labour,
        repair_other=repair_other,
        treated=treated,
    )


def _weights(catalogue: Catalogue, menu: Menu, factor: Floats, moments: Moments) -> Floats:
    """Return what each kind of rung makes of a state: value, playing and service, shape (D, 4, T)."""
    keeps = np.array([share for _, share in kinds_of(catalogue, menu)[1]])
    worth = keeps[:, None] * factor
    return np.concatenate([worth[:, :, None], service_by_kind(catalogue, menu, moments)], axis=2)


def _left_by_kind(states: Floats, kind: Ints, kinds: int, menu: Menu) -> Floats:
    """Return the chance of each kind of rung with each state that it leaves, by ladder, shape (N, 9, D, 4)."""
    left = np.zeros((len(menu.ladders), 9, kinds, 4))
    for ladders, rungs in menu.steps:
        left[ladders, :, kind[rungs]] += states[rungs]
    return left


def _moved(moments: Moments, *, ends_service: bool) -> int:
    """Return how many terms a part moves: value and playing stand first, and service only those that end it."""
    return 1 + (1 + ends_service) * len(moments.times)


def at_moments(
    catalogue: Catalogue, weighed: tuple[Weighed, ...], market: Market, moments: Moments
) -> tuple[Weighed, ...]:
    """Return weighed menus at other moments: all but what a state brings stays."""
    return tuple(
        replace(
            menu,
            weights=_weights(catalogue, menu.menu, market.factor[p], moments),
            moved=_moved(moments, ends_service=catalogue.network.parts[p].ends_service),
        )
        for p, menu in enumerate(weighed)
    )


def _by_ladder(of_rungs: Floats, menu: Menu) -> Floats:
    """Add up what stands rung by rung over each ladder, along the first axis."""
    total = of_rungs[menu.first[:-1]]
    for ladders, rungs in menu.steps[1:]:
        total[ladders] += of_rungs[rungs]
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


def _treated(menu: Menu, given: Floats, causes: Floats) -> Floats:
    """Return how likely each severity of each fault is there and calls for no rung above, shape (G, 4, kinds).

    Of each kind of rung with small repairs that is alike, see `Menu.small_first`.
    """
    rungs = menu.small_rungs
    masks = np.concatenate([menu.mask[:, :, rungs], menu.before[:, :, rungs]], axis=2)[:, :, menu.small_first]
    rest = all_but_one(np.matmul(given, masks)) * causes[:, None]
    return np.asarray(np.matmul(given.transpose(0, 2, 1), rest) * masks, dtype=np.float64)


def _repairs_expected(menu: Menu, treated: Floats, amount: Floats) -> Floats:
    """Return the expected amount of small repairs by rung: that under m_k less that under m_{k-1}."""
    count = len(menu.small_rungs)
    total = np.einsum("gsk,kgs->k", treated, amount[menu.small_first % count])[menu.small_same]
    return np.asarray(total[:count] - total[count:], dtype=np.float64)


def _open(menu: Menu, condition: Condition, settings: Settings) -> Bools:
    """Return which ladders nothing found in the part itself forbids."""
    first = condition.network.first[menu.part]
    ladder, fault, since = menu.bars
    allowed = np.ones(len(menu.ladders), dtype=bool)
    allowed[ladder[condition.at_least[first + fault, since] >= settings.forbidden_from]] = False
    return allowed


def repair_chances(menu: Weighed, n: int, pieces: Floats) -> dict[int, tuple[float, float]]:
    """Return for each cure that a ladder uses as a small repair: the chance that it is needed, and pieces expected.

    Parameters
    ----------
    n : int
        Ladder.
    pieces : ndarray, shape (G, 4)
        Of the part's faults.
    """
    g, s, under, below, cures = small_repairs(menu.menu, n)
    shares = menu.treated[g, s, under] - menu.treated[g, s, below]
    found: dict[int, tuple[float, float]] = {}
    for cure, share, counted in zip(cures, shares.tolist(), (shares * pieces[g, s]).tolist(), strict=True):
        chance, count = found.get(cure, (0.0, 0.0))
        found[cure] = chance + share, count + counted
    return found
