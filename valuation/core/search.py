"""Finding the best plan of each class by the exact net: from the best where benefits add up, by steepest ascent.

The client's net multiplies over the parts (a new soundboard is worth little over a failed block), so the benefits
are straightened about two plans, the one that keeps all and the dearest; from the best plans found there single
changes are tried until none helps.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from valuation.core.expect import Expectations, Payoff
from valuation.core.options import PARTIAL, REBUILD, Rules
from valuation.core.stages import best_of_class, frontier
from valuation.core.work import Workshop, distinct

_STARTS = 4
"""The climb begins from so many of the best starts."""


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
    shop, budget = expected.shop, expected.stakes.budget
    found: dict[str, Found] = {}
    for option in (REBUILD, PARTIAL):
        starts = _best_straightened(expected, work, price, rules, option)
        if option == PARTIAL:
            near = [_one_change_from(shop, best.plan, rules) for best in found.values()]
            starts = np.concatenate([starts, *near, _least(expected, work, rules)])
        starts = distinct(starts[are_of(shop, starts, rules, option)])
        if len(starts):
            best_first = np.argsort(-work.of(expected.means(starts)), kind="stable")[:_STARTS]
            tops = ascend(expected, work, starts[best_first], rules, option)
            found[option] = _best_of(expected, work, price, tops)
    if budget is not None:
        for option in [option for option, best in found.items() if best.price > budget]:
            found[option] = _within_budget(expected, work, price, rules, found[option], option)
    return found


def _best_straightened(expected: Expectations, work: Payoff, price: Payoff, rules: Rules, option: str) -> np.ndarray:
    """Return the best plans of a class with straightened benefits, shape (K, P)."""
    shop = expected.shop
    allowed, forced = rules.within(option)
    plans = []
    for about in (shop.keep_all, shop.first[1:] - 1):
        benefit = straightened(expected, work, price, about, allowed)
        plan = best_of_class(shop, benefit, expected.prices.expected, option)
        if plan is not None:
            plans.append(plan)
    return shop.complete(np.array(plans, dtype=int).reshape(-1, len(shop.parts)), forced)


def are_of(shop: Workshop, plans: np.ndarray, rules: Rules, option: str) -> np.ndarray:
    """Tell which plans are of a class, and may be done, shape (K, P) to (K,)."""
    return rules.are_open(shop, plans) & (shop.are_rebuilds(plans) == (option == REBUILD))


def _best_of(expected: Expectations, work: Payoff, price: Payoff, plans: np.ndarray) -> Found:
    means = expected.means(plans)
    nets = work.of(means)
    best = int(nets.argmax())
    return Found(plans[best], float(nets[best]), float(price.of(means)[best]), distinct(plans))


def _within_budget(
    expected: Expectations, work: Payoff, price: Payoff, rules: Rules, best: Found, option: str
) -> Found:
    """Return the best plan of the class that the budget allows: from the frontier about the best, then climbed."""
    budget = expected.stakes.budget
    plans = class_frontier(expected, work, price, best.plan, rules, option)
    plans = plans[price.of(expected.means(plans)) <= budget]
    if not len(plans):
        return best
    best_first = np.argsort(-work.of(expected.means(plans)), kind="stable")[: 2 * _STARTS]
    tops = ascend(expected, work, plans[best_first], rules, option, (price, budget))
    return _best_of(expected, work, price, tops)


def class_frontier(
    expected: Expectations, work: Payoff, price: Payoff, about: np.ndarray, rules: Rules, option: str
) -> np.ndarray:
    """Return the plans of a class that none of it beats in both cost and benefit, straightened about one, (K, P)."""
    shop = expected.shop
    allowed, forced = rules.within(option)
    points = frontier(shop, straightened(expected, work, price, about, allowed), expected.prices.expected)
    plans = np.array([point.plan for point in points if point.option == option], dtype=int)
    plans = shop.complete(plans.reshape(-1, len(shop.parts)), forced)
    return plans[are_of(shop, plans, rules, option)]


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
    plans = plans[are_of(shop, plans, rules, PARTIAL)]
    return plans[np.argsort(-work.of(expected.means(plans)), kind="stable")[:1]]


def _one_change_from(shop: Workshop, plan: np.ndarray, rules: Rules) -> np.ndarray:
    """Return the plans that change one part of a plan, and what that brings along, shape (K, P)."""
    return shop.complete(shop.with_choices(plan[None], np.flatnonzero(rules.allowed), rules.forced)[0], rules.forced)


def ascend(
    expected: Expectations,
    work: Payoff,
    plans: np.ndarray,
    rules: Rules,
    option: str,
    limit: tuple[Payoff, float] | None = None,
) -> np.ndarray:
    """Climb from each plan, changing the one part that helps most, until none helps.

    Parameters
    ----------
    plans : ndarray of int, shape (K, P)
    option : str
        Class in which each climb stays.
    limit : (Payoff, float), optional
        A reading, such as the price, that must not pass a figure.

    Returns
    -------
    ndarray of int, shape (K, P)
    """
    shop = expected.shop
    _, forced = rules.within(option)
    plans = plans.copy()
    nets = work.of(expected.means(plans))
    live = np.arange(len(plans))
    while len(live):
        neighbour = net_of_changes(expected, work, plans[live], rules, option, limit)
        step = neighbour.argmax(axis=1)
        gain = neighbour[np.arange(len(live)), step]
        up = gain > nets[live] + 1e-9 * (1 + abs(nets[live]))
        live, step, gain = live[up], step[up], gain[up]
        each = np.arange(len(live))
        plans[live] = shop.with_choices(plans[live], step, forced)[each, each]
        nets[live] = gain
    return shop.complete(plans, forced)


def net_of_changes(
    expected: Expectations,
    work: Payoff,
    plans: np.ndarray,
    rules: Rules,
    option: str,
    limit: tuple[Payoff, float] | None = None,
) -> np.ndarray:
    """Return the net of each plan with each choice taken in turn, -inf where it leaves the class, shape (K, C).

    Parameters
    ----------
    plans, option, limit
        As for `ascend`.
    """
    shop = expected.shop
    _, forced = rules.within(option)
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

    open_to = _may(shop, plans, rules, option)
    open_to[k, forcing[f]] &= are_of(shop, together[k, f], rules, option)
    if limit:
        open_to &= read(limit[0]) <= limit[1]
    return np.where(open_to, read(work), -np.inf)


def _may(shop: Workshop, plans: np.ndarray, rules: Rules, option: str) -> np.ndarray:
    """Tell which single changes stay in the class of the plans, shape (K, C)."""
    gives = shop.gives.astype(np.int8)
    givers = gives[plans].sum(axis=1)[:, None] - gives[plans[:, shop.part_of]] + gives
    is_rebuild = (givers > 0).all(axis=2)
    treated = plans != shop.keep_all
    last_treated = treated & (treated.sum(axis=1) == 1)[:, None]
    keeps_all = last_treated[:, shop.part_of] & (np.arange(len(shop.choices)) == shop.keep_all[shop.part_of])
    stays = is_rebuild if option == REBUILD else ~is_rebuild & ~keeps_all
    # A part can't be taken below what another part's choice forces on it.
    return stays & rules.within(option)[0] & ~shop.undercuts[plans].any(axis=1)
