"""Finding the best plan of each class by the exact net: from the best where benefits add up, by steepest ascent.

The client's net multiplies over the parts (a new soundboard is worth little over a failed block), so the benefits
are straightened about two plans, the one that keeps all and the dearest; from the best plans found there single
changes are tried until none helps. Each sort of plan is climbed by itself, for no single change may lead from the best
of one to the best of another.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import numpy as np

from valuation.core.expect import Expectations, Payoff
from valuation.core.options import PARTIAL, REBUILD, Rules
from valuation.core.stages import best_with_core, frontier
from valuation.core.work import Workshop, distinct

_STARTS = 4
"""The climb begins from so many of the best starts."""


class Sort(Enum):
    """What a plan of work amounts to; the value is its class."""

    FULL = (REBUILD, True)
    """The core of a rebuild, and all of it expected to last."""
    SHORT = (PARTIAL, True)
    """The core, but something that is not expected to last."""
    LESS = (PARTIAL, False)
    """Some of the core is not done."""

    @property
    def option(self) -> str:
        """The class: 'rebuild' or 'partial_repair'."""
        return self.value[0]

    @property
    def core(self) -> bool:
        """Whether the core of a rebuild is done."""
        return self.value[1]


@dataclass(frozen=True, eq=False)
class Found:
    """The best plan of a class, with its exact net and expected price.

    Attributes
    ----------
    near : ndarray of int, shape (K, P)
        All plans of the class that no single change betters.
    """

    plan: np.ndarray
    net: float
    price: float
    near: np.ndarray


def best_plans(expected: Expectations, work: Payoff, price: Payoff, rules: Rules) -> dict[str, Found]:
    """Return the best plan of each class by the exact net, within the budget if there is one.

    Parameters
    ----------
    expected : Expectations
    work, price : Payoff
        Net worth, and price, of a plan of work.
    rules : Rules

    Returns
    -------
    dict
        A class without any plan that is allowed is left out; where none is within the budget, the best beyond it
        stands, marked as not affordable.
    """
    budget = expected.stakes.budget
    tops: dict[str, list[np.ndarray]] = {REBUILD: [], PARTIAL: []}
    best: list[np.ndarray] = []
    for sort in Sort:
        starts = _starts(expected, work, price, rules, sort, best)
        if len(starts):
            ends, nets = ascend(expected, work, starts, rules, sort)
            tops[sort.option].append(ends)
            best.append(ends[nets.argmax()])
    found = {option: _best_of(expected, work, price, np.concatenate(ends)) for option, ends in tops.items() if ends}
    if budget is not None:
        for option in [option for option, best in found.items() if best.price > budget]:
            found[option] = _within_budget(expected, work, price, rules, found[option], option)
    return found


def _starts(
    expected: Expectations, work: Payoff, price: Payoff, rules: Rules, sort: Sort, others: list[np.ndarray]
) -> np.ndarray:
    """Return plans to climb from, (K, P): the best with straightened benefits, and what is near that of other sorts."""
    shop = expected.shop
    allowed, forced = rules.within(sort.option)
    straight = []
    for about in (shop.keep_all, shop.first[1:] - 1):
        benefit = straightened(expected, work, price, about, allowed)
        plan = best_with_core(shop, benefit, expected.prices.expected, sort.core)
        if plan is not None:
            straight.append(shop.complete(plan[None], forced)[0])
    near = [_one_change_from(shop, plan, rules) for plan in (*others, *straight)] if sort is not Sort.FULL else []
    least = [_least(expected, work, rules)] if sort is Sort.LESS else []
    plans = distinct(np.concatenate([np.array(straight, dtype=int).reshape(-1, len(shop.parts)), *near, *least]))
    plans = plans[are_of(shop, plans, rules, sort)]
    return plans[np.argsort(-work.of(expected.means(plans)), kind="stable")[:_STARTS]]


def are_of(shop: Workshop, plans: np.ndarray, rules: Rules, sort: Sort) -> np.ndarray:
    """Tell which plans are of a sort, and may be done, shape (K, P) to (K,)."""
    core, lasting = shop.have_core(plans), rules.lasting[plans].all(axis=1)
    of_sort = {Sort.FULL: core & lasting, Sort.SHORT: core & ~lasting, Sort.LESS: ~core}[sort]
    return of_sort & rules.are_open(shop, plans)


def _best_of(expected: Expectations, work: Payoff, price: Payoff, plans: np.ndarray) -> Found:
    means = expected.means(plans)
    nets = work.of(means)
    best = int(nets.argmax())
    return Found(plans[best], float(nets[best]), float(price.of(means)[best]), distinct(plans))


def _within_budget(
    expected: Expectations, work: Payoff, price: Payoff, rules: Rules, best: Found, option: str
) -> Found:
    """Return the best plan of the class that the budget allows: from the frontier about the best, then climbed."""
    shop, budget = expected.shop, expected.stakes.budget
    plans = class_frontier(expected, work, price, best.plan, rules, option)
    plans = plans[price.of(expected.means(plans)) <= budget]
    tops = []
    for sort in Sort:
        starts = plans[are_of(shop, plans, rules, sort)]
        starts = starts[np.argsort(-work.of(expected.means(starts)), kind="stable")[: 2 * _STARTS]]
        if sort.option == option and len(starts):
            tops.append(ascend(expected, work, starts, rules, sort, (price, budget))[0])
    return _best_of(expected, work, price, np.concatenate(tops)) if tops else best


def class_frontier(
    expected: Expectations, work: Payoff, price: Payoff, about: np.ndarray, rules: Rules, option: str
) -> np.ndarray:
    """Return the plans of a class that none of it beats in both cost and benefit, straightened about one, (K, P)."""
    shop = expected.shop
    allowed, forced = rules.within(option)
    points = frontier(shop, straightened(expected, work, price, about, allowed), expected.prices.expected)
    plans = shop.complete(np.array([point.plan for point in points], dtype=int).reshape(-1, len(shop.parts)), forced)
    return plans[rules.are_open(shop, plans) & (rules.are_rebuilds(shop, plans) == (option == REBUILD))]


def straightened(expected, work, price, about, allowed) -> np.ndarray:
    """Return what each choice adds before costs, all other parts as in `about`, shape (C,)."""
    gross = work.coefficients + price.coefficients
    rest = expected.rest(about[None])[:, 0] * (gross[:, None] * expected.condition.exposure)
    benefit = np.einsum("cth,cth->c", expected.factor, rest[expected.shop.part_of])
    return np.where(allowed, benefit, -np.inf)


def _least(expected: Expectations, work: Payoff, rules: Rules) -> np.ndarray:
    """Return the best plan that does one thing beside what must be done, shape (1, P), if there is one."""
    shop = expected.shop
    must = shop.first[:-1] + [int(rules.allowed[a:b].argmax()) for a, b in pairwise(shop.first)]
    plans = _one_change_from(shop, must, rules)
    plans = plans[are_of(shop, plans, rules, Sort.LESS)]
    return plans[np.argsort(-work.of(expected.means(plans)), kind="stable")[:1]]


def _one_change_from(shop: Workshop, plan: np.ndarray, rules: Rules) -> np.ndarray:
    """Return the plans that change one part of a plan, and what that brings along, shape (K, P)."""
    return shop.complete(shop.with_choices(plan[None], np.flatnonzero(rules.allowed), rules.forced)[0], rules.forced)


def ascend(
    expected: Expectations,
    work: Payoff,
    plans: np.ndarray,
    rules: Rules,
    sort: Sort,
    limit: tuple[Payoff, float] | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Climb from each plan, changing the one part that helps most, until none helps.

    Parameters
    ----------
    plans : ndarray of int, shape (K, P)
    sort : Sort
        In which each climb stays.
    limit : (Payoff, float), optional
        A reading, such as the price, that must not pass a figure.

    Returns
    -------
    plans, nets : ndarray, shapes (K, P) and (K,)
    """
    shop = expected.shop
    _, forced = rules.within(sort.option)
    plans = plans.copy()
    nets = work.of(expected.means(plans))
    live = np.arange(len(plans))
    while len(live):
        neighbour = net_of_changes(expected, work, plans[live], rules, sort, limit)
        step = neighbour.argmax(axis=1)
        gain = neighbour[np.arange(len(live)), step]
        up = gain > nets[live] + 1e-9 * (1 + abs(nets[live]))
        live, step, gain = live[up], step[up], gain[up]
        each = np.arange(len(live))
        plans[live] = shop.with_choices(plans[live], step, forced)[each, each]
        nets[live] = gain
    return shop.complete(plans, forced), nets


def net_of_changes(
    expected: Expectations,
    work: Payoff,
    plans: np.ndarray,
    rules: Rules,
    sort: Sort,
    limit: tuple[Payoff, float] | None = None,
) -> np.ndarray:
    """Return the net of each plan with each choice taken in turn, -inf where it leaves the sort, shape (K, C).

    Parameters
    ----------
    plans, sort, limit
        As for `ascend`.
    """
    shop = expected.shop
    _, forced = rules.within(sort.option)
    forcing = np.flatnonzero((forced >= 0).any(axis=1))
    factor = expected.factor.reshape(len(shop.choices), -1)
    rest = expected.rest(plans).reshape(len(shop.parts), len(plans), -1)[shop.part_of]
    together = shop.with_choices(plans, forcing, forced)
    # Where a choice forces others along, the whole change counts, not the one part alone.
    k, f = np.nonzero((together != plans[:, None]).sum(axis=2) > 1)
    means = expected.means(together[k, f])

    def read(payoff: Payoff) -> np.ndarray:
        weight = (payoff.coefficients[:, None] * expected.condition.exposure).ravel()
        figures = payoff.constant + np.matmul(rest, (factor * weight)[:, :, None])[:, :, 0].T
        figures[k, forcing[f]] = payoff.of(means)
        return figures

    open_to = _may(shop, plans, rules, sort)
    open_to[k, forcing[f]] &= are_of(shop, together[k, f], rules, sort)
    if limit:
        open_to &= read(limit[0]) <= limit[1]
    return np.where(open_to, read(work), -np.inf)


def _may(shop: Workshop, plans: np.ndarray, rules: Rules, sort: Sort) -> np.ndarray:
    """Tell which single changes stay in the sort of the plans, shape (K, C)."""
    gives = shop.gives.astype(np.int8)
    givers = gives[plans].sum(axis=1)[:, None] - gives[plans[:, shop.part_of]] + gives
    core = (givers > 0).all(axis=2)
    # A part can't be taken below what another part's choice forces on it.
    allowed = rules.within(sort.option)[0] & ~shop.undercuts[plans].any(axis=1)
    if sort is Sort.FULL:
        return core & allowed
    if sort is Sort.SHORT:
        short = ~rules.lasting
        return core & allowed & (short[plans].sum(axis=1)[:, None] - short[plans[:, shop.part_of]] + short > 0)
    treated = plans != shop.keep_all
    last_treated = treated & (treated.sum(axis=1) == 1)[:, None]
    keeps_all = last_treated[:, shop.part_of] & (np.arange(len(shop.choices)) == shop.keep_all[shop.part_of])
    return ~core & allowed & ~keeps_all
